"""A second way to remove metal, sharing nothing with the first: a grid of heights under a stamped cutter.

A move is walked in small steps; at each step every cell under the cutter is lowered to the
cutter's own surface there.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from itertools import pairwise

import numpy as np


@dataclass
class Grid:
    """Heights at cell centers."""

    x0: float
    y0: float
    x1: float
    y1: float
    cell: float
    top: float

    def __post_init__(self):
        self.x = np.arange(self.x0 + self.cell / 2, self.x1, self.cell)
        self.y = np.arange(self.y0 + self.cell / 2, self.y1, self.cell)
        self.h = np.full((len(self.x), len(self.y)), self.top)

    def stamp(self, x: float, y: float, z: float, surface, radius: float) -> None:
        """Lower the cells within ``radius`` of (x, y) to ``z + surface(distance)``."""
        i0, i1 = np.searchsorted(self.x, [x - radius, x + radius])
        j0, j1 = np.searchsorted(self.y, [y - radius, y + radius])
        if i0 == i1 or j0 == j1:
            return
        d = np.hypot(self.x[i0:i1, None] - x, self.y[None, j0:j1] - y)
        part = self.h[i0:i1, j0:j1]
        np.minimum(part, np.where(d <= radius, z + surface(np.minimum(d, radius)), np.inf), out=part)

    def walk(self, points, surface, radius: float, step: float) -> None:
        """Stamp along a chain of (x, y, z)."""
        for a, b in pairwise(points):
            n = max(1, math.ceil(math.dist(a, b) / step))
            for k in range(n + 1):
                t = k / n
                self.stamp(*(p + t * (q - p) for p, q in zip(a, b, strict=True)), surface, radius)


def flat(corner: float, radius: float):
    """Height of an end mill's underside over distance from its axis."""

    def surface(d):
        over = np.maximum(0.0, d - (radius - corner))
        return corner - np.sqrt(np.maximum(0.0, corner**2 - over**2))

    return surface


def pointed(full_angle: float, nose: float = 0.0):
    """Height of a point with a round nose over distance from its axis."""
    half = full_angle / 2
    edge = nose * math.cos(half)

    def surface(d):
        ball = nose - np.sqrt(np.maximum(0.0, nose**2 - d**2))
        cone = nose * (1 - math.sin(half)) + (d - edge) / math.tan(half)
        return np.where(d <= edge, ball, cone)

    return surface
