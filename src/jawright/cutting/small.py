"""The tooling hole (spot, drill, bore), the broken upper edge, and the identification text.

Lengths in mm, feeds in mm/min, speeds in rev/min.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from functools import cache

import shapely

from jawright.cutting.finishing import round_wall
from jawright.cutting.metal import polygon, shrunk, union
from jawright.cutting.paths import Trail
from jawright.geometry.curve import Arc, Point
from jawright.geometry.offset import offset
from jawright.handbook import table
from jawright.jaws.model import Jaws, ToolingHole
from jawright.shop.model import Cutter

PECK = 1.0
"""Depth of a peck as a share of the diameter, once three diameters deep (common practice, no source)."""

PECK_START = 3.0
"""Diameters a drill goes in one push (common practice, no source)."""

ENGRAVE = 0.15
"""Depth of engraved text [mm] (common practice, no source)."""

ENGRAVE_DOWN = 0.5
"""Share of the feed at which the point goes in, which is shallow (common practice, no source)."""

NEAR = 0.1
"""Height [mm] above metal at which an engraver is slowed for its way in."""

TEXT_LEAST = 2.0
"""Lowest letters still read on a chip-scratched jaw [mm] (common practice, no source)."""

TEXT_AIR = 0.5
"""Least distance [mm] from text to an edge, a hole or the pocket."""

HALF_TIP = math.tan(math.radians(45))
"""Radius per height of a 90 degree point."""

CONE_SHARE = 0.3
"""Distance of the edge-breaking cutter's axis from the wall as a share of its diameter."""


def spot(trail: Trail, hole: ToolingHole, cutter: Cutter, feed: float) -> None:
    """Start the hole with a point a little smaller than the drill, so that the bore keeps its mouth."""
    width = 0.9 * min(hole.drill, cutter.diameter)
    depth = 0.5 * width / math.tan(0.5 * cutter.tip_angle)
    trail.hop(hole.center)
    trail.down(hole.top - depth, feed)
    trail.down(trail.heights.hop, trail.link)


def tip_length(cutter: Cutter) -> float:
    """Length [mm] of a drill's point."""
    return 0.0 if cutter.tip_angle == 0.0 else 0.5 * cutter.diameter / math.tan(0.5 * cutter.tip_angle)


def drill(trail: Trail, hole: ToolingHole, cutter: Cutter, feed: float) -> None:
    """Drill to full diameter at the hole's depth, the point below; pecks once three diameters deep."""
    end = hole.top - hole.depth - tip_length(cutter)
    trail.hop(hole.center)
    z = max(end, hole.top - PECK_START * cutter.diameter)
    trail.down(z, feed)
    while z > end + 1e-9:
        trail.down(trail.heights.hop, trail.link)
        trail.down(z + 0.5, trail.link)
        z = max(end, z - PECK * cutter.diameter)
        trail.down(z, feed)
    trail.down(trail.heights.hop, trail.link)


def bore(trail: Trail, hole: ToolingHole, feed: float) -> None:
    """One pass of a boring bar, fed in and fed out, so that the tool does not score the bore."""
    trail.hop(hole.center)
    trail.down(hole.top - hole.depth, feed)
    trail.down(trail.heights.hop, 2 * feed)


def mill_bore(trail: Trail, hole: ToolingHole, cutter: Cutter, feed: float) -> None:
    """The bore by circles of an end mill: down on a helix, round at depth, and a spring pass."""
    (x, y), rho = hole.center, 0.5 * (hole.diameter - cutter.diameter)
    right, left = (x + rho, y), (x - rho, y)
    ring = [Arc(right, left, hole.center, True), Arc(left, right, hole.center, True)]
    pitch = max(0.05, 2 * math.pi * rho * math.tan(math.radians(3)))
    n = math.ceil((hole.depth + 0.3) / pitch)
    trail.hop(hole.center)
    trail.down(hole.top + 0.3, trail.link)
    trail.line(right, feed)
    for i in range(n):
        trail.sink(ring, feed, hole.top + 0.3 - (hole.depth + 0.3) * (i + 1) / n)
    for c in (*ring, *ring):
        trail.curve(c, feed)
    trail.line(hole.center, feed)


def _cone(jaws: Jaws, cutter: Cutter) -> float:
    """Distance [mm] of the edge-breaking cutter's axis from the wall: its point stays off the floor."""
    return min(CONE_SHARE * cutter.diameter, jaws.top - jaws.floor - jaws.edge_break - 0.2)


def no_edge_break(jaws: Jaws, cutter: Cutter) -> str:
    """Why a 90 degree point cannot break the pocket's upper edge; "" when it can."""
    w = _cone(jaws, cutter)
    if w < 0.3:
        return "the pocket is too shallow for the point of the cutter"
    if w + jaws.edge_break > 0.5 * cutter.diameter:
        return "the cutter is too small"
    back = [g for r in shrunk(jaws.pocket, w) for g in offset(r, w)]
    if sum(g.area for g in back) < jaws.pocket.area - 0.05:
        return "a corner of the pocket is too tight for the cutter"
    return ""


def edge_break(trail: Trail, jaws: Jaws, cutter: Cutter, feed: float) -> None:
    """Break the pocket's upper edge with a 90 degree point.

    The cone's axis stays ``w`` inside the wall and its point ``w + edge_break`` below the top, so
    that the cone meets the wall ``edge_break`` below the top and the top ``edge_break`` outside the wall.
    """
    w = _cone(jaws, cutter)
    z = jaws.top - jaws.edge_break - w / HALF_TIP
    for region in shrunk(jaws.pocket, w):
        room = polygon(region).buffer(1e-3)
        for profile in (region.outer, *region.holes):
            round_wall(trail, profile, radius=w, room=room, gap=(-jaws.gap, 0.0), z=z, feed=feed)


@cache
def _letters() -> dict[str, tuple[tuple[Point, ...], ...]]:
    """Strokes of each letter on its grid: points from (0, 0) lower left."""
    out: dict[str, tuple[tuple[Point, ...], ...]] = {}
    for letter, text in table("strokes")["letters"].items():
        strokes = []
        for stroke in text.split(";"):
            pairs = [p.split(",") for p in stroke.split()]
            if pairs:
                strokes.append(tuple((float(x), float(y)) for x, y in pairs))
        out[letter] = tuple(strokes)
    return out


def unknown(text: str) -> str:
    """Letters of ``text`` that the stroke file does not have, each once."""
    return "".join(dict.fromkeys(c for c in text.upper() if c not in _letters()))


def strokes(text: str, *, at: Point, height: float, turned: bool) -> list[list[Point]]:
    """Pen strokes of ``text``, lower left corner ``at``, letters ``height`` [mm] high.

    ``turned`` turns the line half a turn about the middle of its box, for a reader at the other side.
    Letters that the stroke file does not have are left out of the line as a space.
    """
    data = table("strokes")
    unit = height / data["grid_height"]
    width = text_width(text, height)
    out: list[list[Point]] = []
    letters = _letters()
    for k, letter in enumerate(text.upper()):
        for stroke in letters.get(letter, ()):
            points = [(k * data["advance"] * unit + x * unit, y * unit) for x, y in stroke]
            if turned:
                points = [(width - x, height - y) for x, y in points]
            out.append([(at[0] + x, at[1] + y) for x, y in points])
    return out


def text_width(text: str, height: float) -> float:
    """Width [mm] of a line of text."""
    data = table("strokes")
    n = len(text)
    advance: float = data["advance"]
    grid: float = data["grid_width"]
    high: float = data["grid_height"]
    return (n * advance - (advance - grid)) * height / high


def text_height(text: str, at: Point, jaws: Jaws, *, side: int, width: float) -> float:
    """Largest letter height [mm], not above the asked one, that stays on metal; 0 when none does."""
    jaw = (jaws.fixed, jaws.floating)[side]
    blocked = [polygon(jaws.pocket).buffer(jaws.edge_break)]
    blocked += [union([w.region]) for w in jaws.wells]
    if jaws.tooling_hole is not None:
        blocked.append(shapely.Point(jaws.tooling_hole.center).buffer(0.5 * jaws.tooling_hole.diameter))
    no = shapely.union_all(blocked)
    edge = TEXT_AIR + 0.5 * width
    height = jaws.text_height
    while height >= TEXT_LEAST - 1e-9:
        x1, y1 = at[0] + text_width(text, height), at[1] + height
        box = shapely.box(at[0], at[1], x1, y1).buffer(edge, join_style="mitre")
        if shapely.box(jaw.x0, jaw.y0, jaw.x1, jaw.y1).covers(box) and not box.intersects(no):
            return height
        height -= 0.25
    return 0.0


def engrave(trail: Trail, lines: Sequence[list[Point]], *, top: float, feed: float) -> None:
    """Follow strokes ``ENGRAVE`` deep, hopping between them."""
    for stroke in lines:
        trail.hop(stroke[0])
        trail.down(top + NEAR, trail.link)
        trail.down(top - ENGRAVE, ENGRAVE_DOWN * feed)
        for p in stroke[1:]:
            trail.line(p, feed)
