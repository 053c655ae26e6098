"""The metal that carries the clamp force: the part cut within the grip band, its openings and thin walls."""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from shapely import LineString, Polygon, get_parts, union_all
from shapely import Point as Dot
from shapely.geometry.base import BaseGeometry

from jawright import kernel
from jawright.geometry.polygon import to_polygon
from jawright.hold.model import Hold
from jawright.part.model import Part
from jawright.proof.body import carrying

CHORD = 0.005
LEVELS = (0.127, 0.513, 0.877)
"""Where the grip depth is cut, as shares of it: off its ends and middle, where faces like to lie."""

SMALLEST = 0.5
"""Openings below this area [mm²] are left out."""

THROUGH = 0.98
"""Share of a line across the jaws that must be metal for the line to count as solid."""

LINES = 61


@dataclass(frozen=True, slots=True, eq=False)
class Metal:
    """The part's section in the grip band when it is clamped, vise frame.

    ``shape`` is metal at every level cut, bores of this operation filled: they are made while
    it is clamped. ``openings`` are what is missing of the outline. ``solid`` is the share of the
    gripped length over which there is metal right across from jaw to jaw.
    """

    shape: BaseGeometry
    outline: Polygon
    openings: tuple[Polygon, ...]
    solid: float


@lru_cache(maxsize=8)
def metal(hold: Hold, part: Part | None) -> Metal:
    """Cut the part at three levels of the grip; without a part the hold's own region stands in.

    Raises ``geometry`` when the part cannot be cut.
    """
    outline = to_polygon(hold.outline.outer, CHORD)
    if isinstance(part, Part) and part.shape:
        cuts = []
        for share in LEVELS:
            z = hold.floor + share * hold.grip_depth
            found = kernel.section(part.shape, hold.stance.move, z)
            cuts.append(union_all([to_polygon(r, CHORD) for r in found.regions]))
        shape = cuts[0].intersection(cuts[1]).intersection(cuts[2])
    else:
        shape = to_polygon(hold.outline, CHORD)
    own = [
        Dot(f.center[0], f.center[1]).buffer(f.diameter / 2 + 2 * CHORD, quad_segs=32)
        for f in hold.features
        if f.diameter is not None and f.kind in ("drill", "bore", "ream")
    ]
    shape = union_all([shape, *own]).intersection(outline)
    gone = outline.difference(shape).buffer(-2 * CHORD).buffer(2 * CHORD)  # without slivers
    openings = [p for p in get_parts(gone) if isinstance(p, Polygon) and p.area > SMALLEST]
    openings.sort(key=lambda p: (-round(p.area, 6), p.bounds))
    return Metal(shape, outline, tuple(openings), _solid(shape, outline, hold))


def _solid(shape: BaseGeometry, outline: Polygon, hold: Hold) -> float:
    """Share of the gripped length that is metal right across."""
    spans = []
    for on in ("fixed", "floating"):
        own = [c for c in carrying(hold) if c.on == on]
        if not own:
            return 0.0
        spans.append((min(c.point[0] for c in own), max(c.point[0] for c in own)))
    low, high = max(a for a, _ in spans), min(b for _, b in spans)
    if high - low < 1.0:  # walls that do not face each other, or a single point: look at the whole part
        low, high = outline.bounds[0], outline.bounds[2]
    y0, y1 = outline.bounds[1] - 1.0, outline.bounds[3] + 1.0
    full = 0
    xs = low + (high - low) * (np.arange(LINES) + 0.5) / LINES
    for x in xs:
        line = LineString([(float(x), y0), (float(x), y1)])
        whole = float(line.intersection(outline).length)
        full += whole > 0 and float(line.intersection(shape).length) >= THROUGH * whole
    return full / LINES


def thin_wall(m: Metal, wall_least: float) -> str:
    """An opening whose wall to the outside is thinner than ``wall_least`` times its radius, in words."""
    for p in m.openings:
        r = math.sqrt(p.area / math.pi)
        wall = float(p.distance(m.outline.exterior))
        if CHORD * 4 < wall < r * wall_least:
            return f"a wall of {wall:.1f} mm beside an opening of about {2 * r:.1f} mm lies in the grip"
    return ""


def circle_of(p: Polygon) -> tuple[float, float, float] | None:
    """Center and radius (x, y, r) [mm] of an area that is one round disc within 1 %; else None."""
    x, y = float(p.centroid.x), float(p.centroid.y)
    away = [math.dist((x, y), q[:2]) for q in p.exterior.coords]
    if max(away) - min(away) > 0.01 * max(away) + 4 * CHORD:
        return None
    return x, y, (max(away) + min(away)) / 2
