"""First slip with the contact forces that the elastic jaws leave, and whether the part creeps on from it.

Lengths in mm, angles in rad, forces in N, torques in N·m.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from jawright.beside import one_thread
from jawright.hold.model import Hold
from jawright.jaws.model import Jaws
from jawright.job.model import Job
from jawright.mechanics import ratchet, slip
from jawright.mechanics.cone import Array, Contacts
from jawright.part.model import Part
from jawright.proof import elastic
from jawright.proof.body import walls_alone
from jawright.proof.clamp import ClampForce
from jawright.proof.elastic_join import Held, Model
from jawright.proof.factor import Case
from jawright.proof.window import Study
from jawright.shop.model import Shop

ROUND = 16
"""Directions of a side load in one turn."""
SAME_FAR = 1e-3
"""Squares of distances [mm²] that differ by less are the same: which is nearer is rounding."""
CREEPS = 0.01
"""Motion left over after a turn, as a share of the give in it, that counts as creep."""


def pressed_forces(m: Model, held: Held, contacts: Contacts) -> Array | None:
    """Normal forces (n, 3) [N] of the clamp on ``contacts``, those of the wall patches nearest to each.

    One midway between two goes to both by halves. Only in balance along Y, to which they are scaled: what
    friction and stop take is left out. None where the walls of the elastic jaws do not lie where the
    contacts are.
    """
    out = np.zeros((len(contacts.points), 3))
    for side in ("fixed", "floating"):
        w = m.jaws[side].walls
        own = np.flatnonzero((contacts.driven == (side == "floating")) & (contacts.friction > 0))
        if not len(own):
            return None
        place = w.middle[:, None, :] - contacts.points[own][None, :, :]
        far = (place**2).sum(axis=2) - 1e3 * (w.normal @ -contacts.normals[own].T)
        near = far < far.min(axis=1, keepdims=True) + SAME_FAR
        share = near / near.sum(axis=1, keepdims=True)
        out[own] += (share.T @ held.force[side])[:, None] * contacts.normals[own]
    return out


@dataclass(frozen=True, slots=True)
class Slides:
    """``first`` is the factor on a case's load at which the first wall slides.

    ``walks`` is how far the part moves on in one turn of that load, over how far it goes to and fro in it:
    asked only where ``first`` is below 1, infinite where the walls alone let go.
    """

    first: float
    walks: float = 0.0

    @property
    def creeps(self) -> bool:
        """Whether the part goes on moving, turn after turn, and does not only bed in."""
        return self.walks > CREEPS


def slides(
    hold: Hold, jaws: Jaws | None, part: Part, job: Job, shop: Shop, *, s: Study, case: Case
) -> Slides | None:
    """When the first wall slides under the load of a case, and whether that goes on, at the bad end of clamp
    and friction.

    By the pressure of the elastic jaws where they serve, else by the stiffness of the walls. The floor is
    left out. None where neither is known. Source: as ``mechanics.slip`` and ``mechanics.ratchet``.
    """
    if s.force is None:
        return None
    found = walls_alone(hold, shop.friction.low)
    plain = None if case.first is None else Slides(case.first * s.force.low)
    m = elastic.model(hold, jaws, part, job.material)
    if found is None:
        return plain
    contacts, stiffness = found
    standing = None if m is None else _standing(m, hold, jaws, s.force, contacts)
    if standing is None:
        return plain
    force, at, spin = np.array(case.force), np.array(case.point), case.load.set.spin * 1000.0
    got = []
    for way in (spin, -spin) if spin else (0.0,):
        wrench = _wrench(force, at, way)
        got.append(slip.first_slip(contacts, stiffness, wrench, clamp=s.force.low, standing=standing))
    known = [g for g in got if g is not None]
    if not known:
        return plain
    first = min(known)
    if first >= 1.0:
        return Slides(first)
    walks = ratchet.walk_per_turn(
        contacts, stiffness, _turn(force, at, spin), clamp=s.force.low, standing=standing
    )
    return Slides(first, math.inf if walks is None else walks)


def _standing(m: Model, hold: Hold, jaws: Jaws | None, clamp: ClampForce, contacts: Contacts) -> Array | None:
    """Forces of the clamp alone on the contacts, by the elastic jaws at the low clamp force."""
    mounts = elastic.ends(hold.vise, "set")
    with one_thread():
        cut = elastic.cut_state(m, mounts, None if jaws is None else jaws.stack, clamp.set)
        if cut is None:
            return None
        held = elastic.used(m, mounts, cut, clamp.low)
    return pressed_forces(m, held, contacts)


def _wrench(force: Array, at: Array, spin: float) -> Array:
    return np.concatenate([force, np.cross(at, force) + np.array([0.0, 0.0, spin])])


def _turn(force: Array, at: Array, spin: float) -> Array:
    """The loads (k, 6) of one turn: a side load all round with its lift, then none; spin both ways."""
    side = math.hypot(force[0], force[1])
    start = math.atan2(force[1], force[0])
    rows = []
    for way in (spin, -spin) if spin else (0.0,):
        for k in range(ROUND if side > 0 else 1):
            a = start + 2 * math.pi * k / ROUND
            one = np.array([side * math.cos(a), side * math.sin(a), force[2]])
            rows.append(_wrench(one, at, way))
        rows.append(np.zeros(6))
    return np.array(rows)
