"""Winding numbers of points in closed chains of lines and arcs, exact.

Lengths in mm, angles in rad.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike

from jawright.geometry.curve import Point
from jawright.geometry.profile import Profile, Region
from jawright.geometry.table import Bools, Floats, Ints, Row, Table, from_rows, row_of, tidy_chain


def middle_of(profile: Profile) -> Point:
    """Middle of the joints [mm]: the origin to work about, so that far-off outlines keep digits."""
    xs = [c.start[0] for c in profile.curves]
    ys = [c.start[1] for c in profile.curves]
    return (0.5 * (min(xs) + max(xs)), 0.5 * (min(ys) + max(ys)))


def chain_rows(profile: Profile, origin: Point) -> tuple[list[Row], list[int]]:
    """The outline as an exact closed chain about ``origin``, and the index of each row's curve."""
    return tidy_chain([row_of(c, origin) for c in profile.curves])


def loops_of(shape: Region | Profile) -> tuple[Profile, ...]:
    """The outlines of a shape, the outer one first."""
    return (shape,) if isinstance(shape, Profile) else (shape.outer, *shape.holes)


def shape_table(shape: Region | Profile, origin: Point) -> Table:
    """All outlines of a shape as exact closed chains about ``origin``."""
    rows: list[Row] = []
    for q in loops_of(shape):
        rows += chain_rows(q, origin)[0]
    return from_rows(rows, halved=True)


def columns(points: ArrayLike, origin: Point) -> tuple[Floats, Floats]:
    """Points (n, 2) as two columns about ``origin``."""
    p = np.asarray(points, dtype=np.float64).reshape(-1, 2)
    return p[:, 0] - origin[0], p[:, 1] - origin[1]


def winding_terms(t: Table, x: Floats, y: Floats) -> Ints:
    """What each curve of closed chains adds to the winding number of each point, shape ``(m, n)``.

    The chord by the half-open crossing rule on a ray to +X, and the piece of disk between chord
    and arc; both ask the same cross product, so the chord itself never shows.
    """
    px, py = x[:, None], y[:, None]
    dx, dy = t.x1 - t.x0, t.y1 - t.y0
    cross = dx * (py - t.y0) - dy * (px - t.x0)
    zero_is_left = (dy < 0) | ((dy == 0) & (dx > 0))
    left = (cross > 0) | ((cross == 0) & zero_is_left)
    up = (t.y0 <= py) & (py < t.y1)
    down = (t.y1 <= py) & (py < t.y0)
    out: Ints = (up & left).astype(np.int64) - (down & ~left)
    k = np.flatnonzero(t.arc)
    if len(k):
        inside = (px - t.cx[k]) ** 2 + (py - t.cy[k]) ** 2 < t.r[k] ** 2
        ccw = t.sweep[k] > 0
        out[:, k] += inside & ccw & ~left[:, k]
        out[:, k] -= inside & ~ccw & left[:, k]
    return out


def winding(shape: Region | Profile, points: ArrayLike) -> Ints:
    """Winding number of each of the ``points`` (n, 2) [mm]; a point on the border gets either side's."""
    origin = middle_of(loops_of(shape)[0])
    t = shape_table(shape, origin)
    x, y = columns(points, origin)
    out = np.zeros(len(x), dtype=np.int64)
    step = max(1, 400_000 // len(t))
    for k in range(0, len(x), step):
        out[k : k + step] = winding_terms(t, x[k : k + step], y[k : k + step]).sum(axis=1)
    return out


def inside(region: Region, points: ArrayLike) -> Bools:
    """Which of the ``points`` (n, 2) [mm] lie in the region's material, shape (n,)."""
    return np.asarray(winding(region, points) != 0, dtype=bool)


def inside_profile(profile: Profile, points: ArrayLike) -> Bools:
    """Which of the ``points`` (n, 2) [mm] lie within the outline, whichever way it runs, shape (n,)."""
    return np.asarray(winding(profile, points) != 0, dtype=bool)
