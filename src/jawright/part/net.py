"""The faces of a part and how they meet: what features are recognized from. Part frame.

Lengths in mm, angles in rad.
"""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Sequence
from functools import lru_cache

from jawright import kernel
from jawright.geometry.frame import Vec3, cross, dot, unit
from jawright.part.model import Face, Part

SMOOTH = math.radians(0.5)
"""Faces that turn by less than this run into one another: files write tangent faces to 1e-6 [rad] or so."""
LEVEL = 1e-6
"""Largest sine of the angle between directions that are the same."""
ON = 1e-3
"""Lengths that differ by less than this [mm] are the same."""


class Net:
    """Faces with their edges: what is beside what, and how they meet."""

    def __init__(self, shape: bytes, faces: Sequence[Face]) -> None:
        self.shape, self.faces = shape, faces
        self.of: dict[int, list[kernel.SolidEdge]] = defaultdict(list)
        for e in kernel.edges(shape):
            self.of[e.face].append(e)

    def points(self, face: int) -> list[Vec3]:
        """Points along the edges of a face."""
        return [p for e in self.of[face] for p in e.points] or [self.faces[face].center]

    def span(self, face: int, way: Vec3) -> tuple[float, float]:
        """Lowest and highest point of the edges of a face along ``way`` [mm]."""
        along = [dot(p, way) for p in self.points(face)]
        return min(along), max(along)

    def upright(self, face: int, way: Vec3) -> bool:
        """Whether a face is a wall that rises along ``way`` without leaning."""
        f = self.faces[face]
        if f.kind == "plane":
            return abs(dot(f.normal, way)) < LEVEL
        return f.kind == "cylinder" and f.axis is not None and abs(dot(f.axis, way)) > 1 - LEVEL

    def level(self, face: int, way: Vec3) -> bool:
        """Whether a face is a plane that faces along ``way``."""
        f = self.faces[face]
        return f.kind == "plane" and dot(f.normal, way) > 1 - LEVEL


@lru_cache(maxsize=8)
def net_of(part: Part) -> Net:
    """The part's faces and edges, worked out once."""
    return Net(part.shape, part.faces)


def back(v: Vec3) -> Vec3:
    """The opposite direction."""
    return (-v[0], -v[1], -v[2])


def minus(a: Vec3, b: Vec3) -> Vec3:
    """The way from ``b`` to ``a``."""
    return (a[0] - b[0], a[1] - b[1], a[2] - b[2])


def across(way: Vec3) -> tuple[Vec3, Vec3]:
    """Two directions square to ``way`` and to one another."""
    seed: Vec3 = (1.0, 0.0, 0.0) if abs(way[0]) < 0.9 else (0.0, 1.0, 0.0)
    x = unit(cross(way, cross(seed, way)))
    return x, cross(way, x)
