"""The linear program of one layout of contacts: what all parts held by it have in common.

Source of the program: the seating model of ``bases`` and ``locate``.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from jawright.mechanics.bases import FAR, Program
from jawright.mechanics.locate import Freedom, freedoms

Floats = NDArray[np.float64]

LIE = 1e-6
"""Share of the clamp force that lets the part lie on contacts that stand still, among poses else equal.

A tapered part between two stiff flats may rest on either; in a vise the floating jaw gives.
"""
LEVER = 1e-6
"""Share of the layout's size below which a lever arm is none: a round part in a round nest has no turn."""


@dataclass(frozen=True)
class Problem:
    """n contacts as a program of r unknowns: those that some contact or limit can take."""

    program: Program
    back: Floats  # (6, r) reduced unknowns to (dx, dy, turn·length, t, yaw·length, side)
    n: int
    limits: int  # rows of the jaw's own limits, after the contacts
    center: Floats
    length: float
    points: Floats
    normals: Floats
    ride: Floats
    pivot: Floats
    lost: tuple[Freedom, ...]  # freedoms no contact could ever take
    escapes: tuple[Freedom, ...]


def pose_problem(
    points: Floats,
    normals: Floats,
    ride: Floats,
    length: float,
    *,
    push: tuple[float, float],
    play: tuple[float, float],
    pivot: tuple[float, float],
    lie: float,
) -> Problem:
    """The program of contacts at ``points`` (n, 2) with inward unit ``normals`` (n, 2) and ``ride`` (n,).

    Parameters as in ``mechanics.seat.seat``; ``length`` [mm] scales turns, ``play`` is the jaw's own
    (yaw [rad], side [mm]). Unknowns nothing could ever take are projected out and listed.
    """
    n = len(points)
    center = np.add.reduce(points, axis=0) / n
    arm = points - center
    at = np.asarray(pivot, dtype=float)
    jaw_arm = points - at
    turn = normals[:, 1] * arm[:, 0] - normals[:, 0] * arm[:, 1]
    jaw_turn = normals[:, 1] * jaw_arm[:, 0] - normals[:, 0] * jaw_arm[:, 1]
    full = np.empty((n, 6))
    full[:, :2], full[:, 2], full[:, 3] = normals, turn / length, -ride * normals[:, 1]
    full[:, 4], full[:, 5] = -ride * jaw_turn / length, -ride * normals[:, 0]
    keep = [0, 1, 2, 3] + [4] * (play[0] > 0) + [5] * (play[1] > 0)
    full = full[:, keep]
    nv = len(keep)
    cost = np.zeros(nv)
    cost[:2], cost[3] = push, 1.0
    still = (ride == 0) & (np.abs(normals[:, 1]) > 0.5)
    if still.any():
        lying = full[still]
        cost -= lie * (np.add.reduce(lying, axis=0) / len(lying))
    limit_rows, limit_const = [], []
    for k, bound in ((4, play[0] * length), (5, play[1])):
        if k in keep:
            e = np.zeros(nv)
            e[keep.index(k)] = 1.0
            limit_rows += [e, -e]
            limit_const += [-bound, -bound]
    held = np.vstack([full, *limit_rows]) if limit_rows else full
    _, s, vt = np.linalg.svd(held, full_matrices=True)
    r = int((s > LEVER * max(1.0, s[0])).sum())
    back, null = vt[:r].T, vt[r:].T
    lost = freedoms(null[:3].T * [1.0, 1.0, 1.0 / length], center, length) if r < nv else ()
    driven = null @ (null.T @ cost) if r < nv else np.zeros(nv)
    gone: tuple[Freedom, ...] = ()
    if r < nv and np.abs(driven[:3]).max() > 1e-12:
        gone = freedoms(driven[None, :3] * [1.0, 1.0, 1.0 / length], center, length)
    elif driven[3] > 1e-12:
        gone = (Freedom((0.0, 0.0, 0.0), "is not touched by the floating jaw"),)
    rows = np.zeros((len(held) + 2 * r, r))
    rows[: len(held)] = held @ back
    each = np.arange(r)
    rows[len(held) + each, each], rows[len(held) + r + each, each] = 1.0, -1.0
    last = np.zeros(len(rows), dtype=bool)
    last[:n] = ride != 0  # among ties still contacts stay, so that the part lies on the fixed jaw
    full_back = np.zeros((6, r))
    full_back[keep] = back
    return Problem(
        program=Program(rows, np.concatenate([limit_const, np.full(2 * r, -FAR)]), back.T @ cost, n, last),
        back=full_back,
        n=n,
        limits=len(limit_rows),
        center=center,
        length=length,
        points=points,
        normals=normals,
        ride=ride,
        pivot=at,
        lost=lost,
        escapes=gone,
    )
