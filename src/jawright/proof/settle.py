"""Settling many outlines into one plan area: a distance map for all at once, exact walls for the few.

Lengths in mm, angles in rad.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np
import shapely
from numpy.typing import NDArray
from scipy.ndimage import distance_transform_edt
from scipy.optimize import linprog

from jawright.geometry.profile import Profile

Floats = NDArray[np.float64]

CELL = 0.5  # [mm] of the distance map
EXACT = 2.0  # [mm] from the border within which the map is exact; farther off it only leads there
NEAR = 0.8  # [mm] interference on the map with which an outline is looked at exactly
COARSE_ROUNDS = 40
FINE_ROUNDS = 25
CLOSE_ROUNDS = 20
CLOSE_STEP = 0.3  # [mm]
STEP = 2.0  # [mm] between points of an outline
MARGIN = 15.0  # [mm] of the map round the area


def outline_points(outline: Profile, step: float = STEP) -> Floats:
    """Points (k, 2) [mm] along an outline, corners included."""
    pts = np.array(outline.points(0.1))
    out = []
    for p, q in zip(pts, np.roll(pts, -1, axis=0), strict=True):
        n = max(1, math.ceil(float(np.hypot(*(q - p))) / step))
        out.append(p + (q - p) * np.arange(n)[:, None] / n)
    return np.vstack(out)


class DistanceMap:
    """Signed distance to the border of an area on a grid: positive outside (in a wall)."""

    def __init__(self, space: shapely.Geometry, box: tuple[float, float, float, float]) -> None:
        x0, y0, x1, y1 = box
        self.x0, self.y0 = x0 - MARGIN, y0 - MARGIN
        self.nx = math.ceil((x1 - x0 + 2 * MARGIN) / CELL) + 1
        self.ny = math.ceil((y1 - y0 + 2 * MARGIN) / CELL) + 1
        gx, gy = np.meshgrid(self.x0 + CELL * np.arange(self.nx), self.y0 + CELL * np.arange(self.ny))
        far = self._about(space)
        near = np.flatnonzero(far.ravel() < EXACT)
        far.ravel()[near] = shapely.distance(
            space.boundary, shapely.points(gx.ravel()[near], gy.ravel()[near])
        )
        shapely.prepare(space)
        self.far = np.where(shapely.contains_xy(space, gx, gy), -far, far)

    def _about(self, space: shapely.Geometry) -> Floats:
        """Distance to the border within a cell or so, at every grid point."""
        border = shapely.get_coordinates(shapely.segmentize(space.boundary, CELL))
        i = np.round((border[:, 0] - self.x0) / CELL).astype(np.int64)
        j = np.round((border[:, 1] - self.y0) / CELL).astype(np.int64)
        here = (i >= 0) & (i < self.nx) & (j >= 0) & (j < self.ny)
        if not here.any():
            return np.full((self.ny, self.nx), 1e3)
        free = np.ones((self.ny, self.nx), dtype=bool)
        free[j[here], i[here]] = False
        found: Floats = distance_transform_edt(free, sampling=CELL)
        return found

    def at(self, x: Floats, y: Floats) -> tuple[Floats, Floats, Floats]:
        """Distance and its slope by bilinear interpolation; beyond the map it grows by what is beyond."""
        u, v = (x - self.x0) / CELL, (y - self.y0) / CELL
        uc, vc = np.clip(u, 0, self.nx - 1.001), np.clip(v, 0, self.ny - 1.001)
        i, j = uc.astype(np.int64), vc.astype(np.int64)
        a, b = uc - i, vc - j
        f = self.far
        f00, f10, f01, f11 = f[j, i], f[j, i + 1], f[j + 1, i], f[j + 1, i + 1]
        value = f00 * (1 - a) * (1 - b) + f10 * a * (1 - b) + f01 * (1 - a) * b + f11 * a * b
        sx = ((f10 - f00) * (1 - b) + (f11 - f01) * b) / CELL
        sy = ((f01 - f00) * (1 - a) + (f11 - f10) * a) / CELL
        beyond = np.hypot(u - uc, v - vc) * CELL
        return value + beyond, sx, sy


def settle(
    space: shapely.Geometry, outlines: Sequence[Profile], right: tuple[float, float, float, float]
) -> list[tuple[int, Floats, float]]:
    """Outlines (centered on the origin) that come near to lying inside ``space``, each with its best start.

    All outlines move at once down the sum of squared depths in the walls (damped Gauss-Newton on a
    distance map), each from nine starts about the box ``right`` of the right way [mm]. Returns
    (number, shift (2,), small turn).
    """
    if not outlines:
        return []
    box = shapely.bounds(space)
    span = max(right[2] - right[0], right[3] - right[1])
    lo = (max(box[0], right[0] - span), max(box[1], right[1] - span))
    hi = (min(box[2], right[2] + span), min(box[3], right[3] + span))
    field = DistanceMap(space, (lo[0], lo[1], hi[0], hi[1]))
    clouds = [outline_points(p) for p in outlines]
    most = max(len(c) for c in clouds)
    pts = np.stack([np.vstack([c, np.repeat(c[-1:], most - len(c), axis=0)]) for c in clouds])
    mid = np.array([(right[0] + right[2]) / 2, (right[1] + right[3]) / 2])
    starts = []
    for sx in (-1.0, 0.0, 1.0):
        for sy in (-1.0, 0.0, 1.0):
            own = (pts.min(axis=1) + pts.max(axis=1)) / 2
            room = np.array([right[2] - right[0], right[3] - right[1]]) - np.ptp(pts, axis=1)
            starts.append(mid - own + np.array([sx, sy]) * room / 2)
    best = np.full(len(pts), np.inf)
    best_q = np.zeros((len(pts), 3))
    for s in starts:
        q = np.column_stack([s, np.zeros(len(pts))])
        deep, q = _descend(field, pts, q)
        better = deep < best
        best[better], best_q[better] = deep[better], q[better]
    return [(int(k), best_q[k, :2].copy(), float(best_q[k, 2])) for k in np.flatnonzero(best < NEAR)]


def _descend(field: DistanceMap, pts: Floats, q: Floats) -> tuple[Floats, Floats]:
    deepest = np.full(len(pts), np.inf)
    kept = q.copy()
    for _ in range(COARSE_ROUNDS):
        c, s = np.cos(q[:, 2:3]), np.sin(q[:, 2:3])
        ax, ay = c * pts[:, :, 0] - s * pts[:, :, 1], s * pts[:, :, 0] + c * pts[:, :, 1]
        value, gx, gy = field.at(ax + q[:, :1], ay + q[:, 1:2])
        deep = value.max(axis=1)
        better = deep < deepest
        deepest[better], kept[better] = deep[better], q[better]
        hit = np.maximum(value, 0.0)
        live = hit > 0
        rows = np.stack([gx * live, gy * live, (gy * ax - gx * ay) * live], axis=2)
        normal = np.einsum("kpi,kpj->kij", rows, rows)
        slope = np.einsum("kpi,kp->ki", rows, hit)
        size = np.einsum("kii->k", normal)
        if not (size > 0).any():
            break
        normal += np.eye(3) * (1e-3 * size + 1e-9)[:, None, None]
        step = -np.linalg.solve(normal, slope[:, :, None])[:, :, 0]
        q = q + np.clip(step, [-2.0, -2.0, -0.05], [2.0, 2.0, 0.05])
    return deepest, kept


def refine(pts: Floats, space: shapely.Geometry, shift: Floats, small: float) -> tuple[float, Floats, float]:
    """Least interference [mm] reached from a start, with the shift and small turn that reach it.

    Repeated linear programs against the nearest walls; 0 or less: it lies inside.
    """
    at = np.array(shift, dtype=float)
    left = math.inf
    best = (math.inf, at, small)
    for _ in range(FINE_ROUNDS):
        near = _nearest(pts, space, at, small)
        now = float(near.depth.max())
        if now < best[0]:
            best = (now, at, small)
        if now <= 0.0 or now > left - 1e-4:
            break
        left = now
        rows, depth, _ = near.close(at)
        answer = linprog(
            [0, 0, 0, 1.0],
            A_ub=np.column_stack([rows, -np.ones(len(rows))]),
            b_ub=-depth,
            bounds=[(-2.0, 2.0), (-2.0, 2.0), (-0.05, 0.05), (None, None)],
            method="highs",
        )
        if answer.status != 0:
            break
        at = at + answer.x[:2]
        small += float(answer.x[2])
    return best


@dataclass(frozen=True)
class _Near:
    here: Floats  # (k, 2) points of the outline
    foot: Floats  # (k, 2) nearest border points
    far: Floats  # (k,)
    inside: NDArray[np.bool_]

    @property
    def depth(self) -> Floats:
        """How far each point reaches into a wall (k,) [mm], negative outside walls."""
        return np.asarray(np.where(self.inside, -self.far, self.far))

    def close(self, about: Floats) -> tuple[Floats, Floats, Floats]:
        """For points within 3 mm of a wall: d(depth)/d(shift, turn about ``about``), depth, border points."""
        keep = np.flatnonzero((self.depth > -3.0) & (self.far > 1e-9))
        sign = np.where(self.inside[keep], 1.0, -1.0)
        way = (self.foot - self.here)[keep] / self.far[keep][:, None] * sign[:, None]  # into the wall
        arm = self.here[keep] - about
        turn = way[:, 1] * arm[:, 0] - way[:, 0] * arm[:, 1]
        return np.column_stack([way, turn]), self.depth[keep], self.foot[keep]


def _nearest(pts: Floats, space: shapely.Geometry, at: Floats, small: float) -> _Near:
    c, s = math.cos(small), math.sin(small)
    here = pts @ np.array([[c, s], [-s, c]]) + at
    geo = shapely.points(here)
    lines = shapely.get_coordinates(shapely.shortest_line(geo, space.boundary)).reshape(-1, 2, 2)
    foot = lines[:, 1]
    far = np.hypot(*(foot - here).T)
    return _Near(here, foot, far, shapely.contains(space, geo))


def close_up(
    pts: Floats,
    space_at: Callable[[float], shapely.Geometry],
    start: tuple[Floats, float],
    *,
    open_by: float,
    gap: float,
    slack: float,
) -> tuple[float, Floats, float]:
    """Close the floating jaw on an outline that lies between the jaws: (how far it stays open, shift, turn).

    ``space_at(e)`` is the free area with the jaw ``e`` [mm] open; ``slack`` [mm] is the interference that
    is pushed through. Repeated linear programs: the most closing that the nearest walls allow.
    """
    at, small = start[0].copy(), start[1]
    e = open_by
    for _ in range(CLOSE_ROUNDS):
        rows, depth, foot = _nearest(pts, space_at(e), at, small).close(at)
        moving = foot[:, 1] <= -gap - e + 1e-3
        most = min(CLOSE_STEP, e)
        answer = linprog(
            [0, 0, 0, -1.0],
            A_ub=np.column_stack([rows, np.where(moving, -rows[:, 1], 0.0)]),
            b_ub=np.maximum(slack - depth, 0.0),
            bounds=[(-0.5, 0.5), (-0.5, 0.5), (-0.03, 0.03), (0.0, most)],
            method="highs",
        )
        if answer.status != 0 or answer.x[3] < 1e-3:
            break
        at = at + answer.x[:2]
        small += float(answer.x[2])
        e -= float(answer.x[3])
        if e <= 1e-9:
            break
    return max(e, 0.0), at, small
