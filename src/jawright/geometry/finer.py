"""A triangle mesh made finer, so that a bent surface can be drawn as bent."""

from __future__ import annotations

from typing import Any

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]

MOST = 60_000
"""Triangles at which no side is halved any more."""


def finer(
    points: NDArray[Any], corners: NDArray[Any], owner: NDArray[Any], *, longest: float
) -> tuple[Floats, Ints, Ints]:
    """Halve every side longer than ``longest`` [mm] until none is left.

    Parameters: ``points`` (n, 3) [mm], ``corners`` (m, 3) numbers of points, ``owner`` (m,) face of each
    triangle. Returns the same three, points first as they were. Raises: nothing. Valid for: any mesh; a
    side that two faces share is halved alike on both, so no gap opens. Source: red and green refinement.
    """
    points = np.asarray(points, dtype=np.float64)
    corners, owner = (np.asarray(v, dtype=np.int64) for v in (corners, owner))
    while len(corners) < MOST:
        ends = np.stack([corners, np.roll(corners, -1, axis=1)], axis=2)  # (m, 3 sides, 2)
        long_ = np.linalg.norm(points[ends[..., 0]] - points[ends[..., 1]], axis=2) > longest
        if not long_.any():
            break
        sides, number = np.unique(np.sort(ends[long_], axis=1), axis=0, return_inverse=True)
        middle = np.full(corners.shape, -1)
        middle[long_] = len(points) + number.ravel()
        points = np.concatenate([points, points[sides].mean(axis=1)])
        corners, owner = _split(corners, owner, middle)
    return points, corners, owner


def _split(corners: Ints, owner: Ints, middle: Ints) -> tuple[Ints, Ints]:
    """Each triangle cut at the middles of its long sides (-1: a side stays whole)."""
    halved = middle >= 0
    count = halved.sum(axis=1)
    # turned so that with one long side it is the first, and with two the short one is the last
    first = np.where(count == 2, np.argmin(halved, axis=1) + 1, np.argmax(halved, axis=1))
    at = (first[:, None] + np.arange(3)) % 3
    c, m = np.take_along_axis(corners, at, axis=1), np.take_along_axis(middle, at, axis=1)
    a, b, d, p, q, r = *c.T, *m.T
    cut = {
        0: [(a, b, d)],
        1: [(a, p, d), (p, b, d)],
        2: [(p, b, q), (a, p, q), (a, q, d)],
        3: [(a, p, r), (p, b, q), (r, q, d), (p, q, r)],
    }
    made, of = [], []
    for k, triangles in cut.items():
        own = count == k
        for t in triangles:
            made.append(np.stack([x[own] for x in t], axis=1))
            of.append(owner[own])
    return np.concatenate(made), np.concatenate(of)
