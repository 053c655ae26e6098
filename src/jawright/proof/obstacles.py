"""What stands around the part while it is cut, as plan areas with a top; and what each cutter sweeps."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

from shapely import LineString, MultiPoint, Polygon, box, get_parts, union_all
from shapely import Point as Dot
from shapely.geometry.base import BaseGeometry

from jawright.geometry.curve import Arc, Curve, Line, Point
from jawright.geometry.polygon import to_polygon
from jawright.hold import milled
from jawright.hold.model import Hold, MadeFeature, SideStop
from jawright.jaws.model import Jaws
from jawright.proof.rules import rule
from jawright.shop.model import Vise

CHORD = 0.01
BODY_DEPTH = 80.0
"""How far the vise body is taken to reach behind a jaw [mm]."""

STOP_BAR = 15.0
"""How far the bar of a side stop is taken to reach beyond the jaw's end [mm]."""

INTO = 0.1
"""How far beside a wall [mm] its metal is looked for."""

ROUND = 32
"""Chords of a cutter's way round a corner: off by less than a hundredth of a millimeter."""

TOUCH = 1e-4
"""Overlap [mm²] below which two plan areas only touch."""


@dataclass(frozen=True, slots=True, eq=False)
class Obstacle:
    """A plan area whose metal reaches up to ``top`` [mm]. ``under``: it lies below the part."""

    name: str
    area: BaseGeometry
    top: float
    under: bool = False


@dataclass(frozen=True, slots=True, eq=False)
class Sweep:
    """What a cutter sweeps in plan, its lowest point, and its holder's plan and nose [mm].

    ``hole``: it makes a hole or a window, so that what stands under the part is met from above.
    """

    feature: MadeFeature
    area: BaseGeometry
    tip: float
    holder: BaseGeometry
    nose: float
    hole: bool


def point_length(f: MadeFeature) -> float:
    """Length of a drill's point [mm]; 0 for a flat cutter."""
    c = f.cutter
    if c.kind not in ("drill", "spot drill") or not 0 < c.tip_angle < math.pi:
        return 0.0
    return (f.diameter or c.diameter) / 2 / math.tan(c.tip_angle / 2)


def obstacles(hold: Hold, jaws: Jaws | None) -> tuple[Obstacle, ...]:
    """Jaws, floors, wells, parallels and vise body; a side stop unless it is swung away before."""
    out = list(_soft(jaws) if jaws is not None else _hard(hold))
    if hold.side_stop is not None and not hold.side_stop.away:
        out.append(_side_stop(hold.side_stop))
    v = hold.vise
    back = jaws.fixed.y1 if jaws else rule("hard_jaw_thickness_mm").set
    front = jaws.floating.y0 if jaws else -hold.gap - rule("hard_jaw_thickness_mm").set
    behind, before = _in_line(v, back, back + BODY_DEPTH), _in_line(v, front - BODY_DEPTH, front)
    out.append(Obstacle("vise body behind the fixed jaw", behind, v.body_height))
    out.append(Obstacle("vise body behind the floating jaw", before, v.body_height))
    return tuple(out)


def _in_line(v: Vise, y0: float, y1: float) -> BaseGeometry:
    """What is as wide as its jaws in each vise of a line, from ``y0`` to ``y1`` [mm]."""
    w = v.jaw_width / 2
    own = [box(m - w, y0, m + w, y1) for m in v.middles]
    return own[0] if len(own) == 1 else union_all(own)


def _side_stop(stop: SideStop) -> Obstacle:
    """The tip of a side stop and the bar behind it, out past the jaw's end."""
    x, y, z = stop.at
    half = stop.tip / 2
    out = x + (1.0 if stop.side == "+X" else -1.0) * (stop.reach + STOP_BAR)
    return Obstacle("side stop", box(min(x, out), y - half, max(x, out), y + half), z + half)


def _soft(jaws: Jaws) -> list[Obstacle]:
    out = []
    cut = to_polygon(jaws.pocket, CHORD)
    reliefs = [Dot(r.center).buffer(r.radius, quad_segs=32) for r in jaws.reliefs]
    cut = union_all([cut, *reliefs])
    wells = [to_polygon(w.region, CHORD) for w in jaws.wells]
    sunk = union_all(wells) if wells else Polygon()
    for jaw in (jaws.fixed, jaws.floating):
        plan = box(jaw.x0, jaw.y0, jaw.x1, jaw.y1)
        out.append(Obstacle(f"top of the {jaw.side} jaw", plan.difference(cut).difference(sunk), jaws.top))
        floor = plan.intersection(cut).difference(sunk)
        out.append(Obstacle(f"floor of the {jaw.side} jaw", floor, jaws.floor, under=True))
        for well, area in zip(jaws.wells, wells, strict=True):
            deeper = [a for w, a in zip(jaws.wells, wells, strict=True) if w.bottom < well.bottom]
            part = plan.intersection(area).difference(union_all(deeper))
            # where the pocket does not reach, a well is open only up to its own top
            name = f"bottom of the {well.purpose} in the {jaw.side} jaw"
            out.append(Obstacle(name, part, well.bottom, under=True))
    flat = [replace(o, area=_flat(o.area)) for o in out]
    return [o for o in flat if not o.area.is_empty]


def _flat(shape: BaseGeometry) -> BaseGeometry:
    """What of a shape has an area: cuts that only touch an edge leave lines."""
    if shape.geom_type in ("Polygon", "MultiPolygon"):
        return shape
    return union_all([p for p in get_parts(shape) if p.geom_type == "Polygon"])


def _hard(hold: Hold) -> list[Obstacle]:
    g, t = hold.gap, rule("hard_jaw_thickness_mm").set
    out = [
        Obstacle("top of the fixed jaw", _in_line(hold.vise, 0.0, t), hold.jaw_top),
        Obstacle("top of the floating jaw", _in_line(hold.vise, -g - t, -g), hold.jaw_top),
    ]
    for p in hold.parallels:
        half = p.length / 2
        sides = (("fixed", -p.thickness, 0.0), ("floating", -g, -g + p.thickness))
        for side, y0, y1 in sides:
            area = box(-half, y0, half, y1)
            out.append(Obstacle(f"parallel {p.id} at the {side} jaw", area, hold.floor, under=True))
    return out


def floors(hold: Hold, jaws: Jaws | None) -> list[Obstacle]:
    """What the part stands on: floors of the jaws without what is cut into them, or parallels."""
    under = _soft(jaws) if jaws is not None else _hard(hold)
    return [o for o in under if o.under and any(abs(o.top - z) < 1e-6 for z in levels_of(hold))]


def levels_of(hold: Hold) -> list[float]:
    """Z of every level the part stands on [mm], the upper one first."""
    return [hold.floor, *sorted({hold.floor - b.depth for b in hold.below if b.soles}, reverse=True)]


def sweep(f: MadeFeature, hold: Hold) -> Sweep:
    """What the cutter of a feature sweeps."""
    c = f.cutter
    r = c.diameter / 2
    hole = f.kind in ("drill", "bore", "ream")
    if hole:
        own = (f.diameter or c.diameter) / 2
        area = Dot(f.center[0], f.center[1]).buffer(own, quad_segs=32)
        centers: BaseGeometry = Dot(f.center[0], f.center[1])
        if c.kind == "end mill" and own > r:
            centers = centers.buffer(own - r, quad_segs=32)
        below = point_length(f) + (rule("through_travel_mm").set if f.through else 0.0)
        tip = f.bottom - below
    else:
        run = MultiPoint([(p[0], p[1]) for p in f.path]).convex_hull
        if f.kind == "face":  # milled in straight passes: the cutter goes over the whole box
            run = run.envelope
        plan = to_polygon(f.region, CHORD) if f.region is not None else run
        # a face is run over by the whole cutter; a wall is milled from outside; a pocket from inside
        grow = {"face": c.diameter, "profile": c.diameter, "chamfer": c.diameter, "slot": r}.get(f.kind, 0.0)
        area = plan.buffer(grow, quad_segs=32) if grow else plan
        if f.window is not None:
            area = to_polygon(f.window, CHORD)
        area = _beside_wall(f, hold) or area
        centers = area.buffer(-r, quad_segs=16)
        if centers.is_empty:
            centers = area.centroid
        tip = f.bottom - (rule("through_travel_mm").set if f.window is not None else 0.0)
    holder = centers.buffer(c.holder_diameter / 2, quad_segs=16)
    return Sweep(f, area, tip, holder, tip + c.reach, hole or f.window is not None)


def _beside_wall(f: MadeFeature, hold: Hold) -> Polygon | None:
    """What a cutter sweeps along a straight wall of the outline that it mills past the jaws' tops.

    From end to end and round its rounded corners, all of it out of the metal. None of any other feature.
    """
    if f.kind != "profile" or f.across is not None or f.wall is not None or f.bottom >= hold.jaw_top:
        return None
    (ax, ay, _), (bx, by, _) = f.path[0], f.path[-1]
    long = math.hypot(bx - ax, by - ay)
    if long < TOUCH:
        return None
    nx, ny = (by - ay) / long, (ax - bx) / long
    if any(abs((x - ax) * nx + (y - ay) * ny) > CHORD for x, y, _ in f.path):
        return None
    outline = to_polygon(hold.outline, CHORD)
    mx, my = (ax + bx) / 2, (ay + by) / 2
    sides = [outline.contains(Dot(mx + s * INTO * nx, my + s * INTO * ny)) for s in (1.0, -1.0)]
    if sides[0] == sides[1]:
        return None
    r = f.cutter.diameter / 2
    out = -r if sides[0] else r
    ends = [(ax, ay), (bx, by)]
    way = [(x + out * nx, y + out * ny) for x, y in (ends if out > 0 else reversed(ends))]
    before, after = _corners(hold.outline.outer.curves, (mx, my), r)
    first, last = before.cut_back, after.cut_back
    if first + last >= long:
        return None
    (sx, sy), (ex, ey) = way
    tx, ty = (ex - sx) / long, (ey - sy) / long
    way = [(sx + first * tx, sy + first * ty), (ex - last * tx, ey - last * ty)]
    return Polygon(LineString([*before.round, *way, *after.round]).buffer(r, quad_segs=32))


@dataclass(frozen=True, slots=True)
class _End:
    """How a cutter goes on past the end of a straight wall: its center's way round the corner, or how far
    short of the end it stops [mm], where a hollow corner is too tight for it."""

    round: tuple[Point, ...] = ()
    cut_back: float = 0.0


def _corners(curves: Sequence[Curve], at: Point, r: float) -> tuple[_End, _End]:
    """Both ends of the straight wall that runs by a point, for a cutter of radius ``r`` [mm]."""
    k = next((k for k, c in enumerate(curves) if isinstance(c, Line) and _on(c, at)), None)
    return (_End(), _End()) if k is None else (_end(curves, k, -1, r), _end(curves, k, 1, r))


def _end(curves: Sequence[Curve], wall: int, way: int, r: float) -> _End:
    corner = (wall + way) % len(curves)
    arc = curves[corner]
    if isinstance(arc, Arc) and milled.rounded(curves, corner):
        return _End(tuple(_beyond(arc, r).spread(i / ROUND for i in range(ROUND + 1))))
    if not milled.hollow(curves, wall, way):
        return _End()
    radius = milled.corner_radius(curves, wall, way)
    if isinstance(arc, Arc) and radius > r:
        return _End(tuple(_beyond(arc, -r).spread(i / ROUND for i in range(ROUND + 1))))
    own, other = curves[wall], curves[(corner + way) % len(curves)] if isinstance(arc, Arc) else arc
    one, two = (own, other) if way > 0 else (other, own)
    (ux, uy), (vx, vy) = one.tangent(1.0), two.tangent(0.0)
    turn = abs(math.atan2(ux * vy - uy * vx, ux * vx + uy * vy))
    return _End(cut_back=(r - radius) * math.tan(turn / 2))


def _beyond(arc: Arc, r: float) -> Arc:
    """The way of a cutter's center round an arc of the outline: ``r`` [mm] outside a convex one."""
    return Arc(_out(arc, arc.start, r), _out(arc, arc.end, r), arc.center, arc.ccw)


def _on(wall: Line, at: Point) -> bool:
    """Whether a point lies on a straight wall, within a chord [mm]."""
    (ax, ay), (tx, ty) = wall.start, wall.tangent(0.0)
    along, off = (at[0] - ax) * tx + (at[1] - ay) * ty, (at[0] - ax) * ty - (at[1] - ay) * tx
    return abs(off) <= CHORD and -CHORD <= along <= wall.length + CHORD


def _out(arc: Arc, p: Point, r: float) -> Point:
    """A point of an arc moved away from its center by ``r`` [mm]."""
    share = (arc.radius + r) / arc.radius
    return (arc.center[0] + share * (p[0] - arc.center[0]), arc.center[1] + share * (p[1] - arc.center[1]))


def overlaps(a: BaseGeometry, b: BaseGeometry) -> bool:
    """True when two plan areas share more than a touch."""
    return bool(a.intersects(b)) and float(a.intersection(b).area) > TOUCH


def nearest_of(a: BaseGeometry, b: BaseGeometry) -> tuple[float, float]:
    """A point of ``b`` where ``a`` and ``b`` meet or come nearest, (x, y) [mm]."""
    both = a.intersection(b)
    spot = both.representative_point() if not both.is_empty and both.area > 0 else None
    if spot is None:
        b = min(get_parts(b), key=a.distance)  # jaws that are cut down beside the part stand in pieces
        from_center = b.exterior if isinstance(b, Polygon) else b
        spot = from_center.interpolate(from_center.project(a.centroid)) if from_center.length else b.centroid
    return (float(spot.x), float(spot.y))
