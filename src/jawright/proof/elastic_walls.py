"""The walls of a jaw that locate or grip, in patches.

Lengths in mm, angles in rad, forces in N, torques in N·m.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from itertools import pairwise
from typing import Literal

import numpy as np
import shapely

from jawright.geometry.curve import Curve, right_normal
from jawright.geometry.polygon import to_polygon
from jawright.hold.model import Hold
from jawright.hold.outline import sub
from jawright.jaws.model import Jaws
from jawright.mechanics.solid import Floats

Side = Literal["fixed", "floating"]
Patch = tuple[Floats, Floats, Floats]

CHORD = 0.02
ROWS = 3
"""Wall patches over the grip depth."""
RUN = 7.0
"""Longest wall patch along the wall [mm]."""
BEHIND = 0.3
"""This far behind a wall there must be metal [mm] ..."""
MOST = 0.9
"""... over this share of its area."""


@dataclass(frozen=True, slots=True, eq=False)
class Walls:
    """W patches of a jaw's walls: ``middle`` (W, 3), ``normal`` (W, 3) out of the part, ``area`` (W,)."""

    middle: Floats
    normal: Floats
    area: Floats
    length: Floats  # along the wall [mm]
    depth: float  # of the grip [mm]


def walls(hold: Hold, jaws: Jaws | None, side: Side, *, low: float, high: float) -> Walls | None:
    """The walls of one jaw that locate or grip, between two heights; None when there are none."""
    rows = np.linspace(low, high, ROWS + 1)
    middle, normal, area, lengths = [], [], [], []
    for curve in _curves(hold, jaws, side):
        n = max(1, math.ceil(curve.length / RUN))
        for i in range(n):
            t = (i + 0.5) / n
            nx, ny = right_normal(curve, t)
            for a, b in pairwise(rows):
                middle.append((*curve.at(t), (a + b) / 2))
                normal.append((nx, ny, 0.0))
                area.append(curve.length / n * (b - a))
                lengths.append(curve.length / n)
    if not middle:
        return None
    return Walls(np.array(middle), np.array(normal), np.array(area), np.array(lengths), high - low)


def on_metal(jaws: Jaws | None, side: Side, wall: Walls) -> bool:
    """True when there is metal behind the walls, as the pocket leaves it."""
    if jaws is None:
        return True
    jaw = jaws.fixed if side == "fixed" else jaws.floating
    behind = wall.middle + BEHIND * wall.normal
    x, y = behind[:, 0], behind[:, 1]
    good = (x > jaw.x0) & (x < jaw.x1) & (y > jaw.y0) & (y < jaw.y1) & (wall.middle[:, 2] < jaw.height)
    good &= ~shapely.contains_xy(to_polygon(jaws.pocket, CHORD), x, y)
    return float(wall.area[good].sum()) >= MOST * float(wall.area.sum())


def _curves(hold: Hold, jaws: Jaws | None, side: Side) -> list[Curve]:
    if jaws is not None:
        return [c for z in jaws.zones if z.jaw == side and z.purpose in ("locate", "grip") for c in z.curves]
    face, sign = (0.0, 1.0) if side == "fixed" else (-hold.gap, -1.0)
    mine = [
        c
        for i, c in enumerate(hold.outline.outer.curves)
        if i not in hold.bridges
        and abs(c.at(0.5)[1] - face) < 0.01
        and right_normal(c, 0.5)[1] * sign > 0.999
    ]
    return [p for c in mine if (p := _between(c, hold.vise.jaw_width / 2)) is not None]


def _between(c: Curve, half: float) -> Curve | None:
    """The run of a wall along X that hard jaws of that half length reach [mm]; the part may be longer."""
    a, b = c.start[0], c.end[0]
    if abs(b - a) < 1e-9:
        return c if abs(a) < half else None
    s, t = sorted((x - a) / (b - a) for x in (-half, half))
    s, t = max(0.0, s), min(1.0, t)
    return None if t - s < 1e-9 else c if (s, t) == (0.0, 1.0) else sub(c, s, t)


def wall_patches(wall: Walls) -> list[Patch]:
    """Each patch probed at 3 places along the wall and 2 up it."""
    out = []
    for m, n, length, area in zip(wall.middle, wall.normal, wall.length, wall.area, strict=True):
        t = np.array([-n[1], n[0], 0.0])
        du = np.array([-1 / 3, 0.0, 1 / 3]) * length
        dz = np.array([-0.25, 0.25]) * (area / length)
        p = m + (du[:, None, None] * t + dz[None, :, None] * np.array([0, 0, 1.0])).reshape(-1, 3)
        out.append((p, n, np.ones(len(p))))
    return out
