"""The metal that carries the clamp force: the part cut within the grip band, its openings and thin walls.

Lengths in mm, angles in rad.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from functools import lru_cache

import numpy as np
from shapely import LineString, Polygon, get_parts, union_all
from shapely import Point as Dot
from shapely.affinity import translate
from shapely.geometry.base import BaseGeometry

from jawright import kernel
from jawright.errors import JawrightError
from jawright.geometry.frame import Move, Rows
from jawright.geometry.polygon import to_polygon
from jawright.hold.leaning import band
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

    ``shape`` is the fullest level cut, bores of this operation filled: they are made while it is
    clamped. ``openings`` are the holes of any level. ``solid`` is the mean share over the levels of the
    squeezed length (the gripped one and what the squeeze spreads to) with metal right across.
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
        heights = [hold.floor + share * hold.grip_depth for share in LEVELS]
        cuts = [cut_at(part, hold, z) for z in heights]
    else:
        cuts = [to_polygon(hold.outline, CHORD)]
    own = [
        Dot(f.center[0], f.center[1]).buffer(f.diameter / 2 + 2 * CHORD, quad_segs=32)
        for f in hold.features
        if f.diameter is not None and f.kind in ("drill", "bore", "ream")
    ]
    levels = [union_all([c, *own]).intersection(outline) for c in cuts]
    openings = _openings(levels, outline)
    solid = math.fsum(_solid(c, outline, hold) for c in levels) / len(levels)
    return Metal(max(levels, key=lambda c: float(c.area)), outline, tuple(openings), solid)


def _openings(levels: list[BaseGeometry], outline: Polygon) -> list[Polygon]:
    """Holes of any level, largest first; what reaches the outline is a step outside, not an opening."""
    inner = outline.buffer(-4 * CHORD)
    holes = []
    for c in levels:
        gone = outline.difference(c).buffer(-2 * CHORD).buffer(2 * CHORD)  # without slivers
        holes += [p for p in get_parts(gone) if p.area > SMALLEST and inner.contains(p)]
    merged = [p for p in get_parts(union_all(holes)) if isinstance(p, Polygon)] if holes else []
    return sorted(merged, key=lambda p: (-round(p.area, 6), p.bounds))


def cut_at(part: Part, hold: Hold, z: float) -> BaseGeometry:
    """The part's metal at height ``z`` [mm] of the vise frame, as polygons.

    Raises ``geometry`` when the part cannot be cut. Holds that differ by a shift share their cuts.
    """
    move = hold.stance.move
    x, y, up = move.shift
    found = _cut(part.shape, move.rotation, round(up - hold.floor, 9), round(z - hold.floor, 9))
    return translate(found, x, y)


@lru_cache(maxsize=256)
def _cut(shape: bytes, rotation: Rows, up: float, z: float) -> BaseGeometry:
    found = kernel.section(shape, Move("part", "vise", rotation, (0.0, 0.0, up)), z)
    return union_all([to_polygon(r, CHORD) for r in found.regions])


FINE = 12
"""Levels of the grip that are cut when the three above do not all show the walls."""

NEAR = 0.03
"""A cut reaches a wall contact when it passes this near [mm]: chords, fitted arcs and rounding."""


@lru_cache(maxsize=8)
def gripped(hold: Hold, part: Part | None) -> Hold:
    """The hold with the grip depth over which the part really has a wall for both jaws.

    A flange thinner than the grip, or a step, leaves less than the jaws reach over: grip depth and
    the height of the wall contacts are set to what is met. Leaning walls bear on the narrow band that is
    pressed in round the line on which they touch. Unchanged without a part, or where the part cannot be cut
    or shows its walls at every level.
    """
    leans = [c.lean for c in carrying(hold) if c.on in ("fixed", "floating") and c.lean]
    if leans:
        return replace(hold, grip_depth=min(band(a, hold.grip_depth) for a in leans))
    if not isinstance(part, Part) or not part.shape:
        return hold
    try:
        if all(_met(hold, cut_at(part, hold, hold.floor + s * hold.grip_depth)) for s in LEVELS):
            return hold
        heights = [hold.floor + (k + 0.503) / FINE * hold.grip_depth for k in range(FINE)]
        met = [z for z in heights if _met(hold, cut_at(part, hold, z))]
    except JawrightError:
        return hold  # the spring proof says that the part cannot be cut
    if not met or len(met) == FINE:
        return hold
    depth = hold.grip_depth * len(met) / FINE
    middle = math.fsum(met) / len(met)
    contacts = tuple(
        replace(c, point=(c.point[0], c.point[1], middle)) if c.on in ("fixed", "floating") else c
        for c in hold.contacts
    )
    return replace(hold, grip_depth=depth, contacts=contacts)


def _met(hold: Hold, level: BaseGeometry) -> bool:
    """True when both jaws find the part's wall at this level."""
    edge = level.boundary
    for on in ("fixed", "floating"):
        if not any(edge.distance(Dot(c.point[0], c.point[1])) <= NEAR for c in carrying(hold) if c.on == on):
            return False
    return True


def _solid(shape: BaseGeometry, outline: Polygon, hold: Hold) -> float:
    """Share of the gripped length that is metal right across."""
    spans = []
    for on in ("fixed", "floating"):
        own = [c for c in carrying(hold) if c.on == on]
        if not own:
            return 0.0
        spans.append((min(c.point[0] for c in own), max(c.point[0] for c in own)))
    low, high = max(a for a, _ in spans), min(b for _, b in spans)
    x0, y0, x1, y1 = outline.bounds
    spread = (y1 - y0) / 4  # the squeeze spreads at 45 degrees from both walls toward the middle
    low, high = max(min(low, high) - spread, x0), min(max(low, high) + spread, x1)
    full = 0
    xs = low + (high - low) * (np.arange(LINES) + 0.5) / LINES
    for x in xs:
        line = LineString([(float(x), y0 - 1.0), (float(x), y1 + 1.0)])
        whole = float(line.intersection(outline).length)
        full += whole > 0 and float(line.intersection(shape).length) >= THROUGH * whole
    return full / LINES


def thin_wall(m: Metal, wall_least: float) -> str:
    """An opening whose wall to the outside is thinner than ``wall_least`` times its radius, in words."""
    for p in m.openings:
        r = math.sqrt(p.area / math.pi)
        wall = float(p.distance(m.outline.exterior))
        if wall < r * wall_least:
            return f"a wall of {wall:.1f} mm beside an opening of about {2 * r:.1f} mm lies in the grip"
    return ""


def circle_of(p: Polygon) -> tuple[float, float, float] | None:
    """Center and radius (x, y, r) [mm] of an area that is one round disc within 1 %; else None."""
    x, y = float(p.centroid.x), float(p.centroid.y)
    away = [math.dist((x, y), q[:2]) for q in p.exterior.coords]
    if max(away) - min(away) > 0.01 * max(away) + 4 * CHORD:
        return None
    return x, y, (max(away) + min(away)) / 2
