"""Where a feature made here is judged in plan: its center, or points along its edge."""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

from jawright.geometry.curve import Line, right_normal
from jawright.geometry.profile import Region
from jawright.hold.model import MadeFeature
from jawright.proof.sense import HOLES

Floats = NDArray[np.float64]

ARC_STEP = 0.2  # [rad] between points on an arc: a shift is then seen to 0.5 %
MOST_POINTS = 64
CLOSES = 1.5
"""A run whose ends are no farther apart than so many of its longest steps is closed."""
SHARP = math.radians(20.0)
"""A turn beyond this between two steps of a run is a corner."""


def feature_points(f: MadeFeature) -> Floats:
    """Plan points (k, 2) [mm] at which a feature is judged: its center, or points along its edge."""
    return feature_edge(f)[0]


def feature_edge(f: MadeFeature) -> tuple[Floats, Floats]:
    """Plan points (k, 2) [mm] along a feature's edge, and directions square to it; one point for holes."""
    region = f.region or f.wall
    if f.kind in HOLES or (region is None and len(f.path) < 3):
        return np.array([f.center[:2]], dtype=float), np.array([[0.0, 1.0]])
    if region is not None:
        return _of_region(region)
    pts = np.array([p[:2] for p in f.path], dtype=float)
    straight = np.linalg.matrix_rank(pts - pts[0], tol=1e-6) == 1
    along = np.roll(pts, -1, axis=0) - np.roll(pts, 1, axis=0)
    if not straight and not _closed(pts):  # at the ends of an open run only what comes or went
        along[0], along[-1] = pts[1] - pts[0], pts[-1] - pts[-2]
    size = np.hypot(along[:, 0], along[:, 1])
    size[size == 0] = 1.0
    square = np.column_stack([along[:, 1], -along[:, 0]]) / size[:, None]
    if straight:  # one straight wall: one direction square to it
        square[:] = square[int(size.argmax())]
        return _few(pts, square)
    return _few(*_at_corners(pts, square))


def _of_region(region: Region) -> tuple[Floats, Floats]:
    """Both ends of every line, between which a shift and a turn are linear, and points along arcs."""
    points, normals = [], []
    for c in region.outer.curves:
        n = 1 if isinstance(c, Line) else math.ceil(abs(c.sweep) / ARC_STEP)
        for k in range(n + 1):
            points.append(c.at(k / n))
            normals.append(right_normal(c, k / n))
    return _few(np.array(points), np.array(normals))


def _few(points: Floats, normals: Floats) -> tuple[Floats, Floats]:
    keep = slice(None, None, max(1, math.ceil(len(points) / MOST_POINTS)))
    return points[keep], normals[keep]


def _closed(pts: Floats) -> bool:
    """Whether a run comes back to its start: its last step home is no longer than its others."""
    steps = np.hypot(*np.diff(pts, axis=0).T)
    return float(np.hypot(*(pts[0] - pts[-1]))) <= CLOSES * float(steps.max())


def _at_corners(pts: Floats, square: Floats) -> tuple[Floats, Floats]:
    """A corner of a run stands on two walls, and is off from either by itself: both directions count."""
    step = np.roll(pts, -1, axis=0) - pts  # step i goes from i to i + 1
    way = np.arctan2(step[:, 1], step[:, 0])
    sharp = np.abs((way - np.roll(way, 1) + math.pi) % (2 * math.pi) - math.pi) > SHARP
    if not _closed(pts):
        sharp[[0, -1]] = False
    at = np.flatnonzero(sharp)
    both = np.concatenate([step[at - 1], step[at]])
    size = np.hypot(both[:, 0], both[:, 1])
    size[size == 0] = 1.0
    corner = np.column_stack([both[:, 1], -both[:, 0]]) / size[:, None]
    return np.concatenate([pts[~sharp], pts[at], pts[at]]), np.concatenate([square[~sharp], corner])
