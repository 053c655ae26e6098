"""What belongs to the jaws beside the pocket: wells, tooling hole, text, and the metal that is left.

Lengths in mm, angles in rad.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np
from shapely import MultiPolygon, Polygon, box
from shapely import Point as ShapePoint
from shapely.ops import unary_union

from jawright.geometry.boolean import intersection
from jawright.geometry.curve import Point
from jawright.geometry.offset import offset, opening
from jawright.geometry.polygon import to_polygon
from jawright.geometry.profile import Region, circle
from jawright.geometry.query import signed_distance
from jawright.hold.model import Hold, MadeFeature
from jawright.jaws.asked import WELL_BELOW, WELL_ROOM
from jawright.jaws.model import Jaw, ToolingHole, Well
from jawright.jaws.place import WEB
from jawright.shop.model import Cutter

TOOLING_SIZES = (8.0, 10.0, 6.0, 12.0)  # [mm] sizes tried for the bored tooling hole, best first
TOOLING_DEPTHS = (12.0, 9.0, 7.0)  # [mm] depths tried, deepest first (common practice, no source)
TOOLING_METAL = 5.0  # [mm] metal kept round the tooling hole (common practice, no source)
DRILL_UNDER = (0.15, 1.0)  # [mm] the drill before boring is this much under size
HOLE_ROOM = 0.25  # [mm] a round well is never less wider than its hole than this, per side (common practice)
WINDOW_OFF = 0.5  # [mm] room under a window stays this far off the pocket's walls, which locate and grip
TEXT_HEIGHTS = (4.0, 3.0, 2.5, 2.0)  # [mm] heights tried, largest first (common practice, no source)
TEXT_ASPECT = 0.8  # advance of one character over its height


def wells(hold: Hold, gap: float, pocket: Region, radius: float) -> tuple[Well, ...]:
    """Clearance under all that this operation makes right through, where there is jaw to be hit.

    ``radius`` is that of the pocket's cutter [mm]: the outline under a window is grown by at least as
    much, so that the same cutter makes its corners. It ends short of the walls of the ``pocket``, through
    which alone a cutter comes down to it; *clears* tells where that leaves too little.
    """
    reach = offset(pocket, -WINDOW_OFF)
    out = list(_under_holes(hold, gap, pocket, reach, radius))
    grow = max(WELL_ROOM, radius)
    for f in hold.features:
        if f.window is None:
            continue
        (region,) = offset(f.window, grow)
        box = region.outer.box
        if -gap <= box[1] and box[3] <= 0.0:
            continue  # wholly in the air between the jaws
        outline = Region(region.outer)  # an island would be a post under the chips
        for piece in opening([q for p in reach for q in intersection(outline, p)], radius):
            out.append(Well(piece, _ends(hold, f) - WELL_BELOW, hold.floor, f"clearance under {f.name}"))
    return tuple(out)


def _under_holes(
    hold: Hold, gap: float, pocket: Region, reach: Sequence[Region], radius: float
) -> tuple[Well, ...]:
    """Round clearances under through holes, narrower or cut short where a wall of the pocket is near."""
    out: list[Well] = []
    made: list[MadeFeature] = []
    holes = [f for f in hold.features if f.kind in ("drill", "bore", "ream") and f.through and f.diameter]
    for f in sorted(holes, key=lambda f: -(f.diameter or 0.0)):
        if f.diameter is None or any(
            _same_place(f, g) and g.diameter > f.diameter for g in holes if g.diameter
        ):
            continue  # the larger hole of the same axis has the well
        if any(_same_place(f, g) for g in made):
            continue
        r = f.diameter / 2 + WELL_ROOM
        x, y, _ = f.center
        if -gap + r <= y <= -r:
            continue  # wholly in the air between the jaws
        made.append(f)
        point = f.diameter / 2 / math.tan(math.radians(59))
        bottom = _ends(hold, f) - point - WELL_BELOW
        room = -float(signed_distance(pocket, np.array([(x, y)]))[0]) - WINDOW_OFF
        if room >= f.diameter / 2 + HOLE_ROOM:
            pieces: Sequence[Region] = (Region(circle((x, y), min(r, room))),)
        else:
            own = Region(circle((x, y), r))
            pieces = opening([q for p in reach for q in intersection(own, p)], min(radius, 0.6 * r))
        out += [Well(p, bottom, hold.floor, f"clearance under {f.name}") for p in pieces]
    return tuple(out)


def _ends(hold: Hold, f: MadeFeature) -> float:
    """Z at which a through feature comes out [mm]: the floor, or below it where the part reaches deeper."""
    return min(hold.floor, f.bottom) if hold.below else hold.floor


def _same_place(a: MadeFeature, b: MadeFeature) -> bool:
    return math.dist(a.center[:2], b.center[:2]) < 0.01


def tooling_hole(
    fixed: Jaw, pocket: Region, above: Sequence[Region], cutters: Sequence[Cutter]
) -> tuple[ToolingHole | None, str]:
    """A bored hole in the fixed jaw at round numbers, beside the pocket and not under the part.

    Returns the hole and "", or None and the reason in words.
    """
    made = _tooling_tools(cutters)
    if made is None:
        return None, "no tooling hole: the shop has no drill and boring cutter or end mill of a common size"
    diameter, drill = made
    room = diameter / 2 + TOOLING_METAL
    taken = unary_union([to_polygon(r, 0.05) for r in (pocket, *above)]).buffer(room)
    free = box(fixed.x0 + room, fixed.y0 + room, fixed.x1 - room, fixed.y1 - room).difference(taken)
    spots: list[Point] = []
    depth = TOOLING_DEPTHS[0]
    for depth in TOOLING_DEPTHS:
        lowest = fixed.height - depth - drill / 2 / math.tan(math.radians(59))
        spots = _spots(fixed, free.difference(_bolt_strips(fixed, diameter / 2, lowest)))
        if spots:
            break
    px0, _, px1, _ = pocket.outer.box
    middle = (fixed.y0 + fixed.y1) / 2
    if not spots:
        return None, "no tooling hole: no room beside the pocket"
    best = min(
        spots, key=lambda s: (_coarse(s), abs(s[1] - middle), min(abs(s[0] - px0), abs(s[0] - px1)), s)
    )
    return ToolingHole(best, diameter, drill, depth, fixed.height), ""


def _spots(jaw: Jaw, free: Polygon | MultiPolygon) -> list[Point]:
    """Whole-millimeter places in the free part of a jaw's top."""
    return [
        (float(x), float(y))
        for x in np.arange(math.ceil(jaw.x0), math.floor(jaw.x1) + 1, 1.0)
        for y in np.arange(math.ceil(jaw.y0), math.floor(jaw.y1) + 1, 1.0)
        if free.contains(ShapePoint(float(x), float(y)))
    ]


def _bolt_strips(jaw: Jaw, radius: float, lowest: float) -> Polygon | MultiPolygon:
    """Where a hole of ``radius`` down to ``lowest`` [mm] would come too near a bolt or its counterbore."""
    reach = max(jaw.blank.counterbore, jaw.blank.bolt_hole) / 2
    half = reach + jaw.blank.slot_length / 2 + radius + WEB
    return unary_union(
        [box(x - half, jaw.y0, x + half, jaw.y1) for x, z in jaw.bolts if lowest < z + reach + WEB]
    )


def _coarse(p: Point) -> int:
    """0 for coordinates in fives, 1 for whole numbers: what is typed most surely."""
    return 0 if p[0] % 5 == 0 and p[1] % 5 == 0 else 1


def _tooling_tools(cutters: Sequence[Cutter]) -> tuple[float, float] | None:
    for size in TOOLING_SIZES:
        drills = [
            c.diameter
            for c in cutters
            if c.kind == "drill" and DRILL_UNDER[0] <= size - c.diameter <= DRILL_UNDER[1]
        ]
        bores = [
            c
            for c in cutters
            if (c.kind == "boring bar" and c.diameter <= size)
            or (c.kind == "end mill" and c.diameter <= 0.8 * size)
        ]
        if drills and bores:
            return size, max(drills)
    return None


def metal_left(
    jaw: Jaw, pocket: Region, wells: Sequence[Well], floor: float, lowered: Sequence[Region] = ()
) -> tuple[float, str]:
    """The least metal between what is cut and the jaw's back, ends and bolts [mm], and where.

    Where the jaws are ``lowered`` beside the part nothing bears on them, and they may be cut right through.
    """
    beside = unary_union([to_polygon(r, 0.01) for r in lowered])
    cut = to_polygon(pocket, 0.01).intersection(box(jaw.x0, jaw.y0, jaw.x1, jaw.y1)).difference(beside)
    found: list[tuple[float, str]] = []
    if not cut.is_empty:
        x0, y0, x1, y1 = cut.bounds
        behind = jaw.y1 - y1 if jaw.side == "fixed" else y0 - jaw.y0
        found.append((behind, f"behind the pocket in the {jaw.side} jaw"))
        found.append((min(x0 - jaw.x0, jaw.x1 - x1), f"at the end of the {jaw.side} jaw"))
        found += _over_bolts(jaw, cut, floor, "the pocket")
    for w in wells:
        p = to_polygon(w.region, 0.01).intersection(box(jaw.x0, jaw.y0, jaw.x1, jaw.y1))
        if not p.is_empty:
            found += _over_bolts(jaw, p, w.bottom, w.purpose)
    return min(found) if found else (math.inf, "")


def _over_bolts(jaw: Jaw, cut: Polygon, bottom: float, what: str) -> list[tuple[float, str]]:
    """Distance from a cut to the bolts' counterbores (taken along the jaw's whole thickness)."""
    out = []
    reach = max(jaw.blank.counterbore, jaw.blank.bolt_hole) / 2
    for x, z in jaw.bolts:
        half = jaw.blank.slot_length / 2
        x0, _, x1, _ = cut.bounds
        dx = max(x - half - x1, x0 - x - half, 0.0)
        dz = max(bottom - z, 0.0)
        out.append((math.hypot(dx, dz) - reach, f"between {what} and the bolt at X {x:+.0f} mm"))
    return out


def text_spots(
    jaws: tuple[Jaw, Jaw], pocket: Region, hole: ToolingHole | None, text: tuple[str, str]
) -> tuple[tuple[Point, Point], float]:
    """Lower left corners of the identification on each jaw, and its height, 0 when it does not fit."""
    taken = to_polygon(pocket, 0.05).buffer(2.0)
    if hole is not None:
        taken = unary_union([taken, ShapePoint(hole.center).buffer(hole.diameter / 2 + 2.0)])
    for height in TEXT_HEIGHTS:
        spots = [
            _text_spot(jaw, taken, len(words) * height * TEXT_ASPECT, height)
            for jaw, words in zip(jaws, text, strict=True)
        ]
        if spots[0] is not None and spots[1] is not None:
            return (spots[0], spots[1]), height
    return ((0.0, 0.0), (0.0, 0.0)), 0.0


def _text_spot(jaw: Jaw, taken: Polygon, wide: float, high: float) -> Point | None:
    margin = 3.0
    away = [jaw.y1 - margin - high, (jaw.y0 + jaw.y1 - high) / 2, jaw.y0 + margin]
    for y in away if jaw.side == "fixed" else reversed(away):
        for x in (jaw.x0 + margin, jaw.x1 - margin - wide):
            if x < jaw.x0 + 1 or x + wide > jaw.x1 - 1:
                continue
            if not box(x, y, x + wide, y + high).intersects(taken):
                return (x, y)
    return None
