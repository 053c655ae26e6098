"""From small turns to real ones: the linear pose corrected so that touching contacts touch exactly.

Lengths in mm, angles in rad.
"""

from __future__ import annotations

from collections.abc import Sequence
from functools import partial

import numpy as np
from numpy.typing import NDArray

from jawright.mechanics.bases import Optima, in_chunks
from jawright.mechanics.problem import Problem

Floats = NDArray[np.float64]

SETTLED = 1e-11
"""Crossing [mm] of a touching contact at which the finite turn counts as solved."""
ROUNDS = 20
CHUNK = 8192
ABREAST = 32  # problems that turn together: few enough that what their bases do stays in the cache


def _bent(p: Problem, o: Optima) -> tuple[Floats, Floats, Floats, Floats]:
    """What turns add at each basis (G, 6), per cos − 1 and sin − angle: of the part, then of the jaw."""
    real = np.where(o.rows < p.n, 1.0, 0.0)
    rows = np.where(o.rows < p.n, o.rows, 0)
    n, arm, jaw = p.normals[rows] * real[:, :, None], (p.points - p.center)[rows], (p.points - p.pivot)[rows]
    ride = p.ride[rows]
    full = np.matmul(p.back[None], o.inverse)  # (G, 6, r)

    def push(along: Floats) -> Floats:
        return np.asarray(np.matmul(full, along[:, :, None])[:, :, 0])

    along, across = (n * arm).sum(axis=2), n[:, :, 1] * arm[:, :, 0] - n[:, :, 0] * arm[:, :, 1]
    jaw_along, jaw_across = (n * jaw).sum(axis=2), n[:, :, 1] * jaw[:, :, 0] - n[:, :, 0] * jaw[:, :, 1]
    return push(along), push(across), push(-ride * jaw_along), push(-ride * jaw_across)


def turn_fully(p: Problem, o: Optima, x: Floats) -> None:
    """Make the touching contacts touch under the finite turn.

    Their linear rows hold already. A turn a adds n·arm (cos a − 1) + (n × arm)(sin a − a) to each, so the
    answer is the linear one less what the basis makes of that: two angles to solve for, part and jaw.
    """
    cos_part, sin_part, cos_jaw, sin_jaw = _bent(p, o)
    rides = bool(np.abs(cos_jaw).max(initial=0.0) + np.abs(sin_jaw).max(initial=0.0) > 0) and p.limits > 0

    def settle(part: slice) -> None:
        k, y = o.basis[part], x[part]
        start, jaw_start = y[:, 2] / p.length, y[:, 4] / p.length
        turn, jaw = start, jaw_start
        ct, st = cos_part[k, 2] / p.length, sin_part[k, 2] / p.length
        for _ in range(ROUNDS):
            bend, lag = _bends(turn)
            now = start - ct * bend - st * lag
            if rides:
                jaw_bend, jaw_lag = _bends(jaw)
                now -= (cos_jaw[k, 2] * jaw_bend + sin_jaw[k, 2] * jaw_lag) / p.length
                jaw = jaw_start - (cos_part[k, 4] * bend + sin_part[k, 4] * lag) / p.length
                jaw -= (cos_jaw[k, 4] * jaw_bend + sin_jaw[k, 4] * jaw_lag) / p.length
            moved = float(np.nanmax(np.abs(now - turn), initial=0.0)) * p.length
            turn = now
            if moved < SETTLED:
                break
        bend, lag = _bends(turn)
        y -= cos_part[k] * bend[:, None] + sin_part[k] * lag[:, None]
        if rides:
            jaw_bend, jaw_lag = _bends(jaw)
            y -= cos_jaw[k] * jaw_bend[:, None] + sin_jaw[k] * jaw_lag[:, None]

    in_chunks([partial(settle, slice(a, a + CHUNK)) for a in range(0, len(x), CHUNK)])


def _bends(angle: Floats) -> tuple[Floats, Floats]:
    """cos − 1 and sin − angle."""
    half = np.sin(angle / 2)
    bend = -2.0 * half * half
    return bend, np.sin(angle) - angle


def turn_all_fully(problems: Sequence[Problem], optima: Sequence[Optima], x: Floats) -> None:
    """``turn_fully`` of each problem's samples, ``x`` (problems, m, 6), to the same last bit, all at once.

    Each problem takes as many rounds as it would by itself.
    """
    for a in range(0, len(problems), ABREAST):
        _turn_some(problems[a : a + ABREAST], optima[a : a + ABREAST], x[a : a + ABREAST])


def _turn_some(problems: Sequence[Problem], optima: Sequence[Optima], x: Floats) -> None:
    length = np.array([p.length for p in problems])
    bent = _bent_all(problems, optima)
    count = [len(o.rows) for o in optima]
    begin = np.cumsum(count) - count
    k = np.array([np.where(o.basis >= 0, o.basis + a, -1) for o, a in zip(optima, begin, strict=True)])
    (part_x, part_y), (jaw_x, jaw_y) = ([b[k] for b in two] for two in (bent[:2], bent[2:]))
    wide = length[:, None]
    start, jaw_start = x[:, :, 2] / wide, x[:, :, 4] / wide
    turn, jaw = start.copy(), jaw_start.copy()
    ct, st = part_x[:, :, 2] / wide, part_y[:, :, 2] / wide
    live = np.arange(len(problems))
    for _ in range(ROUNDS):
        far, bend, lag = wide[live], *_bends(turn[live])
        jaw_bend, jaw_lag = _bends(jaw[live])
        now = start[live] - ct[live] * bend - st[live] * lag
        now -= (jaw_x[live, :, 2] * jaw_bend + jaw_y[live, :, 2] * jaw_lag) / far
        swung = jaw_start[live] - (part_x[live, :, 4] * bend + part_y[live, :, 4] * lag) / far
        swung -= (jaw_x[live, :, 4] * jaw_bend + jaw_y[live, :, 4] * jaw_lag) / far
        moved = np.fmax.reduce(np.abs(now - turn[live]), axis=1, initial=0.0) * length[live]
        turn[live], jaw[live] = now, swung
        live = live[moved >= SETTLED]
        if not len(live):
            break
    for angle, by_cos, by_sin in ((turn, part_x, part_y), (jaw, jaw_x, jaw_y)):
        bend, lag = _bends(angle)
        x -= by_cos * bend[:, :, None] + by_sin * lag[:, :, None]


def _bent_all(problems: Sequence[Problem], optima: Sequence[Optima]) -> tuple[Floats, Floats, Floats, Floats]:
    """``_bent`` of all problems' bases in turn, of a jaw without play none; the last row is zeros."""
    found: list[tuple[Floats, Floats, Floats, Floats]] = []
    for p, o in zip(problems, optima, strict=True):
        part_x, part_y, jaw_x, jaw_y = _bent(p, o)
        if not (p.limits > 0 and (jaw_x.any() or jaw_y.any())):
            jaw_x, jaw_y = np.zeros_like(jaw_x), np.zeros_like(jaw_y)
        found.append((part_x, part_y, jaw_x, jaw_y))
    end = np.zeros((1, 6))
    first, second, third, fourth = (np.concatenate([*b, end]) for b in zip(*found, strict=True))
    return first, second, third, fourth
