"""Corner reliefs: where a round cutter cannot follow the part's corner, metal is taken beyond it.

Lengths in mm, angles in rad.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from jawright.geometry.curve import Arc, Line, Point
from jawright.geometry.profile import Profile, Region, circle
from jawright.hold.outline import Wall
from jawright.jaws.model import Relief

OVER = (
    0.25  # [mm] a relief is this much larger in radius than the cutter, so that the cutter can go round in it
)
HALF_ROUND = math.radians(1.0)
"""An arc that turns by half a circle within this is a round end between parallel walls, not a corner."""
LOCATE_FIRST, STOP_FIRST = ("locate", "stop", "grip"), ("stop", "locate", "grip")
"""Purposes of walls, the one a relief must leave whole first."""
PAST = 0.25  # [mm] a relief reaches this far past the part's corner (0.010 in; common practice, no source)


@dataclass(frozen=True, slots=True)
class Corner:
    """A convex corner of the outline, sharp or rounded: where it is and the two walls that meet there.

    ``into`` is the unit direction of the bisector, into the part. ``half`` is half the angle
    between the walls [rad]. ``first`` and ``second`` are the unit directions of travel of the
    wall before and the wall after (counter-clockwise).
    """

    at: Point
    into: Point
    half: float
    radius: float
    first: Point
    second: Point


def corners(profile: Profile, largest: float) -> list[Corner]:
    """Convex corners of less than ``largest`` [mm] radius; smaller arcs count as rounded corners."""
    out = []
    curves = profile.curves
    n = len(curves)
    for i, c in enumerate(curves):
        after = curves[(i + 1) % n]
        a, b = c.tangent(1.0), after.tangent(0.0)
        corner = _corner(c.end, a, b, 0.0)
        if corner is not None:
            out.append(corner)
        if isinstance(c, Arc) and c.ccw and c.radius < largest:
            arc = _corner(c.at(0.5), c.tangent(0.0), c.tangent(1.0), c.radius)
            if arc is not None:
                out.append(arc)
    return out


def _corner(at: Point, a: Point, b: Point, radius: float) -> Corner | None:
    turn = math.atan2(a[0] * b[1] - a[1] * b[0], a[0] * b[0] + a[1] * b[1])
    if not math.radians(3.0) <= turn <= math.pi - HALF_ROUND:
        return None
    bx, by = b[0] - a[0], b[1] - a[1]
    size = math.hypot(bx, by)
    if size < 1e-9:
        return None
    return Corner(at, (bx / size, by / size), (math.pi - turn) / 2, radius, a, b)


def stand_off(corner: Corner, cutter_radius: float) -> float:
    """How far the corner would stand off along the bisector in a corner left by the cutter [mm].

    (r_j - r_p)(1/sin α - 1), α half the angle between the walls; 0 when the part's radius is larger.
    *Source*: plane geometry of two circles tangent to the same two lines.
    """
    d = cutter_radius - corner.radius
    return max(0.0, d * (1.0 / math.sin(corner.half) - 1.0))


def on_bisector(corner: Corner, cutter_radius: float, growth: float) -> tuple[Relief, Region]:
    """A relief along the bisector: takes from both walls alike.

    ``growth`` is how far the largest part's corner lies outside the nominal one [mm].
    """
    big = cutter_radius + OVER
    past = PAST + growth / max(math.sin(corner.half), 0.2)
    depth = big - past
    center = _along(corner.at, corner.into, depth)
    start = max(depth, big / max(math.sin(corner.half), 0.1))
    inner = _along(corner.at, corner.into, start)
    return _relief(corner, center, big, cutter_radius), capsule(inner, center, big)


def relief_reach(
    outline: Profile,
    cutter_radius: float,
    growth: float,
    bearing: Sequence[Wall] = (),
    order: Sequence[str] = LOCATE_FIRST,
) -> float:
    """How far reliefs at the corners of an outline can reach beyond it along Y [mm], 0 without any."""
    _, y0, _, y1 = outline.box
    most = 0.0
    for c in corners(outline, cutter_radius + growth):
        relief, _ = at_corner(c, cutter_radius, growth, keep=keeps(c, bearing, order))
        y = relief.center[1]
        most = max(most, y + relief.radius - y1, y0 - y + relief.radius)
    return most


def at_corner(corner: Corner, cutter_radius: float, growth: float, *, keep: str) -> tuple[Relief, Region]:
    """The relief at a corner that leaves a wall whole ("first", "second"), or takes from both alike ("")."""
    if keep:
        return beside_wall(corner, cutter_radius, growth, keep=keep)
    return on_bisector(corner, cutter_radius, growth)


def keeps(corner: Corner, bearing: Sequence[Wall], order: Sequence[str]) -> str:
    """The wall to leave whole at a corner: the one whose purpose comes first, "" for both alike."""
    if corner.radius > 0.0:
        return ""
    before = [w for w in bearing if math.dist(w.curve.end, corner.at) < 1e-6]
    after = [w for w in bearing if math.dist(w.curve.start, corner.at) < 1e-6]
    rank = {p: len(order) - i for i, p in enumerate(order)}
    a = max((rank[w.purpose] for w in before if isinstance(w.curve, Line)), default=0)
    b = max((rank[w.purpose] for w in after if isinstance(w.curve, Line)), default=0)
    if a == b:
        return ""
    return "first" if a > b else "second"


def beside_wall(corner: Corner, cutter_radius: float, growth: float, *, keep: str) -> tuple[Relief, Region]:
    """A relief that leaves one wall whole and bites into the other.

    ``keep`` is "first" or "second": the wall (before or after the corner) that stays whole.
    """
    big = cutter_radius + OVER
    d = corner.first if keep == "first" else (-corner.second[0], -corner.second[1])
    inward = (-corner.first[1], corner.first[0]) if keep == "first" else (-corner.second[1], corner.second[0])
    past = PAST + growth
    at_corner = _along(corner.at, inward, big)
    center = _along(at_corner, d, past)
    back = big / math.tan(corner.half) + 0.5 * big
    inner = _along(at_corner, d, -back)
    return _relief(corner, center, big, cutter_radius), capsule(inner, center, big)


def _relief(corner: Corner, center: Point, big: float, cutter_radius: float) -> Relief:
    return Relief(center, big, corner.at, corner.radius, stand_off(corner, cutter_radius))


def _along(p: Point, d: Point, t: float) -> Point:
    return (p[0] + t * d[0], p[1] + t * d[1])


def capsule(a: Point, b: Point, radius: float) -> Region:
    """All points within ``radius`` [mm] of the run from ``a`` to ``b``."""
    length = math.dist(a, b)
    if length < 1e-9:
        return Region(circle(a, radius))
    ux, uy = (b[0] - a[0]) / length, (b[1] - a[1]) / length
    rx, ry = uy * radius, -ux * radius
    p0, p1 = (a[0] + rx, a[1] + ry), (b[0] + rx, b[1] + ry)
    p2, p3 = (b[0] - rx, b[1] - ry), (a[0] - rx, a[1] - ry)
    return Region(Profile((Line(p0, p1), Arc(p1, p2, b, True), Line(p2, p3), Arc(p3, p0, a, True))))
