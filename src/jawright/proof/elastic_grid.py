"""Grid lines for the part's mesh: on its walls and floors, and close together about its bores.

A cell that a wall runs through is integrated over its metal, which is good enough where the wall is thick.
A wall thinner than its cell bends with the cube of what the probes in it see, 50 % off for 2 mm in cells
of 3.7 mm; so lines lie on the walls that run along the grid, and on level faces.

Lengths in mm.
"""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Iterable, Sequence
from itertools import pairwise

import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry

from jawright import kernel
from jawright.errors import JawrightError
from jawright.hold.model import Hold
from jawright.mechanics.solid import Floats
from jawright.part.model import Part
from jawright.proof.metal import cut_at

APART = 0.4
"""Lines on walls are no nearer to each other than this [mm]."""
MOST = 10
"""Walls each way that get a line of their own, the longest first."""
LEAST = 2.0
"""Shortest wall [mm] that gets one."""
SLAB, MOST_SLABS = 1.5, 14
"""Least height of a slab [mm], and how many there are at most between the part's own levels."""
NEAR = 0.3
GROWTH = 0.6
"""Cells across a bore [diameters], and how they grow away from it.

With even cells a bore of 4 mm in a block of 44 × 26 mm went oval by 22 % too little, of 2 mm by half.
"""


def crowded(
    a: float, b: float, size: float, holes: Sequence[tuple[float, float]], coarser: float,
    *, keys: Sequence[float] = (),
) -> Floats:  # fmt: skip
    """Grid lines from ``a`` to ``b`` through ``keys``, ``size`` apart and closer about ``holes``.

    Parameters [mm]: ``holes`` (center, cell there); cells grow by ``GROWTH`` of the way from what is about
    as wide as a bore. ``keys`` rise between ``a`` and ``b``. Returns rising lines, the keys among them.
    """
    x = np.linspace(a, b, 1 + 40 * math.ceil((b - a) / size) + 200 * len(holes))
    want = np.full(len(x), size)
    for center, cell in holes:
        away = np.maximum(np.abs(x - center) - cell / (2 * NEAR), 0.0)
        want = np.minimum(want, cell + GROWTH * away)
    density = 1 / want
    many = np.concatenate([[0.0], np.cumsum((density[1:] + density[:-1]) / 2 * np.diff(x))]) / coarser
    ends = np.array([a, *keys, b])
    at = np.interp(ends, x, many)
    lines = [np.array([a])]
    for k in range(len(ends) - 1):
        n = max(1, math.ceil(at[k + 1] - at[k] - 1e-9))
        inner = np.interp(at[k] + (at[k + 1] - at[k]) * np.arange(1, n) / n, many, x)
        lines += [inner, ends[k + 1 : k + 2]]
    return np.concatenate(lines)


def spread_out(found: Iterable[tuple[float, float]], a: float, b: float) -> list[float]:
    """Of places with their weights the heaviest, apart from each other and from both ends, rising."""
    kept = [a, b]
    for place, _ in sorted(found, key=lambda f: (-f[1], f[0])):
        if a < place < b and min(abs(place - k) for k in kept) >= APART:
            kept.append(place)
        if len(kept) == MOST + 2:
            break
    return sorted(kept[2:])


def wall_keys(shapes: Sequence[BaseGeometry], axis: int, a: float, b: float) -> list[float]:
    """Places along ``axis`` (0 x, 1 y) of walls that stand square to it, from the sections they are in."""
    length: dict[float, float] = defaultdict(float)
    for shape in shapes:
        for ring in shapely.get_rings(shapely.get_parts(shape)):
            p = shapely.get_coordinates(ring)
            d = np.abs(np.diff(p, axis=0))
            for k in np.flatnonzero((d[:, axis] < 1e-6) & (d[:, 1 - axis] > 0.1)):
                length[round(float(p[k, axis]), 2)] += float(d[k, 1 - axis])
    return spread_out([f for f in length.items() if f[1] >= LEAST], a, b)


def level_keys(part: Part, hold: Hold, low: float, high: float) -> list[float]:
    """Heights of the part's level faces between two heights, vise frame."""
    up = hold.stance.move
    found: dict[float, float] = defaultdict(float)
    for f in part.faces or kernel.faces(part.shape):
        if f.kind == "plane" and abs(up.direction(f.normal)[2]) > 1 - 1e-6:
            found[round(up.point(f.center)[2], 3)] += f.area
    return spread_out(found.items(), low, high)


def slabs(part: Part, hold: Hold) -> list[tuple[float, float, BaseGeometry]]:
    """The finished part from its floor to its top as prisms of sections: low, high [mm], section.

    A level face ends a slab; between them they are ``SLAB`` high or a ``MOST_SLABS``-th of the part. Grip,
    torque and shift along the jaws do not enter, so that holds tried one after the other share their cuts.
    Raises ``geometry`` when the part cannot be cut or has no metal above the floor.
    """
    low, high = hold.floor, hold.part_top
    size = max(SLAB, (high - low) / MOST_SLABS)
    lines = [low]
    for a, b in pairwise([low, *level_keys(part, hold, low, high), high]):
        n = max(1, math.ceil((b - a) / size - 1e-9))
        lines += [a + (b - a) * k / n for k in range(1, n + 1)]
    out = [(a, b, cut_at(part, hold, a + 0.503 * (b - a))) for a, b in pairwise(lines)]
    if all(s.is_empty for _, _, s in out):
        raise JawrightError("geometry", what="the part has no metal above the floor", where="part")
    return out
