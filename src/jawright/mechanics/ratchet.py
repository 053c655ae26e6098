"""Does a clamped body creep under a load that goes round? Springs that slide by Coulomb, turn after turn.

A wall with little pressure on it slides long before the body lets go; mostly it beds in, and no further
motion follows. Some loads walk a body on a little with every turn. Both come out of the same springs,
followed through a few turns. mm, N, N·mm.
"""

from __future__ import annotations

import numpy as np

from jawright.errors import JawrightError
from jawright.mechanics.cone import Array, Contacts
from jawright.mechanics.slip import SHEAR

TURNS = 40
"""Turns followed at most ..."""
STILL = 1e-3
"""... until the motion left over is so little a share of the give, or the same ..."""
SAME = 0.01
"""... within this share as two turns before."""
STEPS = 60
"""Newton steps at most for one load."""
NEAR = 1e-7
"""Balance of forces that is asked for, as a share of the clamp force."""


class _Springs:
    """Contacts as springs on a rigid body; ``q`` (7,) is its motion and the clamp's travel."""

    def __init__(self, c: Contacts, stiffness: Array, clamp: float) -> None:
        n = c.normals / np.linalg.norm(c.normals, axis=1)[:, None]
        self.n, self.mu, self.clamp = n, c.friction, clamp
        center = c.points.mean(axis=0)
        arm = c.points - center
        self.center, self.size = center, max(float(np.abs(arm).max()), 1.0)
        move = np.zeros((len(n), 3, 7))  # of the body's point at each contact against what it lies on
        for i in range(3):
            unit = np.zeros(3)
            unit[i] = 1.0
            move[:, i, i] = 1.0
            move[:, :, 3 + i] = np.cross(unit, arm) / self.size
        move[c.driven, :, 6] = -np.asarray(c.closing)
        self.move = move
        self.k = stiffness / stiffness.mean()
        self.kt = np.where(c.friction > 0, SHEAR, 0.0) * self.k

    def load(self, wrench: Array) -> Array:
        moment = wrench[3:] - np.cross(self.center, wrench[:3])
        return np.concatenate([wrench[:3], moment / self.size, [self.clamp]])

    def forces(self, q: Array, normal0: Array, held: Array) -> tuple[Array, Array, Array]:
        """Forces (n, 3) at ``q``, their slopes (n, 3, 3) by the contacts' motion, and tangential parts.

        ``normal0`` (n,) normal forces at rest, ``held`` (n, 3) tangential force at rest of a stuck spring.
        """
        u = self.move @ q
        un = np.einsum("ij,ij->i", u, self.n)
        normal = normal0 - self.k * un
        on = normal > 0
        normal = np.where(on, normal, 0.0)
        project = np.eye(3) - self.n[:, :, None] * self.n[:, None, :]
        trial = held - self.kt[:, None] * np.einsum("ijk,ik->ij", project, u)
        size = np.linalg.norm(trial, axis=1)
        most = self.mu * normal
        slides = size > most
        safe = np.where(size > 0, size, 1.0)
        way = trial / safe[:, None]
        t = np.where(slides[:, None], most[:, None] * way, trial)
        stick = -self.kt[:, None, None] * project
        across = project - way[:, :, None] * way[:, None, :]
        turned = -(self.kt * most / safe)[:, None, None] * across
        fading = -(self.mu * self.k * on)[:, None, None] * way[:, :, None] * self.n[:, None, :]
        slope = np.where(slides[:, None, None], turned + fading, stick)
        slope = slope - (self.k * on)[:, None, None] * self.n[:, :, None] * self.n[:, None, :]
        return normal[:, None] * self.n + t, slope, t

    def settle(self, q: Array, normal0: Array, held: Array, load: Array) -> Array | None:
        """Motion that balances a load; None when none is found."""
        soft = 1e-9 * np.eye(7)
        for _ in range(STEPS):
            f, slope, _ = self.forces(q, normal0, held)
            rest = np.einsum("ija,ij->a", self.move, f) + load
            off = float(np.abs(rest).max())
            if off < NEAR * self.clamp:
                return q
            tangent = np.einsum("ija,ijk,ikb->ab", self.move, slope, self.move)
            step = -np.linalg.solve(tangent - soft, rest)
            share = 1.0
            for _ in range(12):
                g, *_ = self.forces(q + share * step, normal0, held)
                now = float(np.abs(np.einsum("ija,ij->a", self.move, g) + load).max())
                if now < off or share < 1e-3:
                    break
                share /= 2
            q = q + share * step
        return None


def walk_per_turn(
    contacts: Contacts, stiffness: Array, wrenches: Array, *, clamp: float, standing: Array
) -> float | None:
    """How far a clamped body moves on in one turn of a load, over how far it goes to and fro in it.

    Each contact is a spring into and along its surface that slides at ``|t| = μ n`` and lets go at
    ``n = 0``; the clamp force stays. The loads are gone through one after the other, turn after turn, until
    the body rests or moves on by the same in every turn.

    Parameters: ``stiffness`` (n,) relative; ``wrenches`` (k, 6) the loads of one turn in their order, force
    [N] and moment about the origin [N·mm]; ``clamp`` [N]; ``standing`` (n, 3) [N] forces of the clamp alone.
    Returns: ratio, 0 where it stays; None where no balance is found: it lets go. Raises: ``value-bad`` for a
    clamp not above zero. Valid for: small motions. Source: Coulomb; shakedown and ratcheting of elastic
    contacts, e.g. Klarbring, Ciavarella and Barber 2007 (from memory).
    """
    if clamp <= 0:
        raise JawrightError("value-bad", what="the clamp force must be above zero", where="clamp force")
    s = _Springs(contacts, np.asarray(stiffness, dtype=float), clamp)
    normal0 = np.einsum("ij,ij->i", standing, s.n)
    held = np.zeros_like(standing)
    q: Array | None = np.zeros(7)
    loads = [s.load(np.asarray(w, dtype=float)) for w in wrenches]
    last: Array | None = None
    left: list[float] = []
    for _ in range(TURNS):
        path = []
        for load in loads:
            assert q is not None
            q = s.settle(q, normal0, held, load)
            if q is None:
                return None
            _, _, t = s.forces(q, normal0, held)
            # what slid is where it is now: the stuck spring is pulled on from here
            project = np.eye(3) - s.n[:, :, None] * s.n[:, None, :]
            held = t + s.kt[:, None] * np.einsum("ijk,ik->ij", project, s.move @ q)
            path.append(q[:6].copy())
        now = np.array(path)
        wide = float(np.linalg.norm(np.ptp(now, axis=0)))
        if last is not None:
            left.append(float(np.linalg.norm(now[-1] - last[-1])) / wide if wide > 0 else 0.0)
            if left[-1] < STILL or (len(left) > 2 and abs(left[-1] - left[-3]) < SAME * left[-1]):
                break
        last = now
    return left[-1]
