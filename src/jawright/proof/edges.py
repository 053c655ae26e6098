"""Where a feature made here is judged in plan: its center, or points along its edge."""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

from jawright.geometry.curve import Line, right_normal
from jawright.hold.model import MadeFeature
from jawright.proof.sense import HOLES

Floats = NDArray[np.float64]

ARC_STEP = 0.2  # [rad] between points on an arc: a shift is then seen to 0.5 %
MOST_POINTS = 64


def feature_points(f: MadeFeature) -> Floats:
    """Plan points (k, 2) [mm] at which a feature is judged: its center, or points along its edge."""
    return feature_edge(f)[0]


def feature_edge(f: MadeFeature) -> tuple[Floats, Floats]:
    """Plan points (k, 2) [mm] along a feature's edge, and directions square to it; one point for holes."""
    if f.kind in HOLES or (f.region is None and len(f.path) < 3):
        return np.array([f.center[:2]], dtype=float), np.array([[0.0, 1.0]])
    if f.region is None:
        pts = np.array([p[:2] for p in f.path], dtype=float)
        along = np.roll(pts, -1, axis=0) - np.roll(pts, 1, axis=0)
        size = np.hypot(along[:, 0], along[:, 1])
        size[size == 0] = 1.0
        square = np.column_stack([along[:, 1], -along[:, 0]]) / size[:, None]
        if (
            np.linalg.matrix_rank(pts - pts[0], tol=1e-6) == 1
        ):  # one straight wall: one direction square to it
            square[:] = square[int(size.argmax())]
        keep = slice(None, None, max(1, len(pts) // MOST_POINTS))
        return pts[keep], square[keep]
    points, normals = [], []
    for c in f.region.outer.curves:
        n = 2 if isinstance(c, Line) else math.ceil(abs(c.sweep) / ARC_STEP)
        for k in range(n):
            points.append(c.at(k / n))
            normals.append(right_normal(c, k / n))
    keep = slice(None, None, max(1, len(points) // MOST_POINTS))
    return np.array(points)[keep], np.array(normals)[keep]
