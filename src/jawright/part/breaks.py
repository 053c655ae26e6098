"""Broken edges: chamfers and rounds between two faces, and those at the edge a part is seated on.

Lengths in mm, angles in rad.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

from jawright.geometry.frame import Vec3, dot, unit
from jawright.part.model import EdgeBreak, Part, SeatEdge
from jawright.part.net import ON, SMOOTH, Net, minus, net_of

LEAN = math.radians(10)
"""A chamfer turns by at least this from each of its two faces. Common practice, no source."""
LARGEST = 10.0
"""Largest leg or radius [mm] of what still counts as a broken edge. Common practice, no source."""


def edge_breaks(net: Net) -> tuple[EdgeBreak, ...]:
    """Chamfers and rounds, by face: narrow faces that stand out between two larger ones."""
    return tuple(b for f in net.faces if (b := _break(net, f.index)) is not None)


def _break(net: Net, face: int) -> EdgeBreak | None:
    f = net.faces[face]
    length: dict[int, float] = {}
    for e in net.of[face]:
        if e.turn > -SMOOTH:
            length[e.other] = length.get(e.other, 0.0) + e.length
    # the two neighbors it runs along; at its ends it may meet others, over shorter edges
    sides = sorted(length, key=lambda i: (-length[i], i))[:2]
    if len(sides) < 2 or f.area > min(net.faces[i].area for i in sides) + ON:
        return None
    a, b = sides
    turns = [max(e.turn for e in net.of[face] if e.other == i) for i in sides]
    if not _opposite(net, face, a, b):
        return None
    if f.kind in ("plane", "cone") and all(t > LEAN for t in turns):
        legs = _legs(net, face, (a, b), turns)
        if max(legs) > LARGEST:
            return None
        return EdgeBreak("chamfer", face, (a, b), min(legs), legs)
    if f.kind in ("cylinder", "torus", "sphere") and not f.hollow and all(t < SMOOTH for t in turns):
        assert f.radius is not None
        if f.radius > LARGEST:
            return None
        return EdgeBreak("round", face, (a, b), f.radius, (f.radius, f.radius))
    return None


def _opposite(net: Net, face: int, a: int, b: int) -> bool:
    """Whether the edges to two neighbors lie across from one another, not end to end."""
    first, second = (max((e for e in net.of[face] if e.other == i), key=lambda e: e.length) for i in (a, b))
    ends = [(first.points[0], first.points[-1]), (second.points[0], second.points[-1])]
    if any(math.dist(*pair) < ON for pair in ends):
        return True  # whole circles
    return all(math.dist(p, q) > ON for p in ends[0] for q in ends[1])


def _legs(net: Net, face: int, sides: tuple[int, int], turns: list[float]) -> tuple[float, float]:
    """How far a chamfer cuts into each side [mm]: from its width and the angles, as a flat triangle.

    With width w between its edges and turns a and b towards its sides, the legs of the triangle
    cut off are w sin(b) / sin(a + b) on the first side and w sin(a) / sin(a + b) on the second.
    """
    width = math.hypot(*_step(net, face, *(_along(net, face, i) for i in sides)))
    a, b = turns
    whole = max(math.sin(a + b), 1e-9)
    return width * math.sin(b) / whole, width * math.sin(a) / whole


def _along(net: Net, face: int, other: int) -> list[Vec3]:
    """Points along the edges between two faces."""
    return [p for e in net.of[face] if e.other == other for p in e.points]


def _step(net: Net, face: int, first: Sequence[Vec3], second: Sequence[Vec3]) -> Vec3:
    """From one edge of a strip straight across to the other, as a vector [mm].

    Of a plane strip square to its edge, of a cone along its slope; else between the nearest points.
    """
    f = net.faces[face]
    if f.kind == "cone" and f.axis is not None and f.axis_point is not None:
        a = unit(f.axis)
        places = []
        for p in (first[0], second[0]):
            d = minus(p, f.axis_point)
            up = dot(d, a)
            places.append((math.sqrt(max(dot(d, d) - up * up, 0.0)), up))
        wide, high = places[1][0] - places[0][0], places[1][1] - places[0][1]
        out = unit(_square(minus(first[0], f.axis_point), a))
        return (wide * out[0] + high * a[0], wide * out[1] + high * a[1], wide * out[2] + high * a[2])
    if f.kind == "plane" and math.dist(first[0], first[-1]) > ON:
        return _square(minus(second[0], first[0]), unit(minus(first[-1], first[0])))
    p, q = min(((p, q) for p in first for q in second), key=lambda pair: math.dist(*pair))
    return minus(q, p)


def _square(v: Vec3, a: Vec3) -> Vec3:
    """The part of ``v`` square to the unit direction ``a``."""
    t = dot(v, a)
    return (v[0] - t * a[0], v[1] - t * a[1], v[2] - t * a[2])


def seat_edges(part: Part, up: Vec3) -> tuple[SeatEdge, ...]:
    """The edges round the flats the part stands on with ``up`` on top, and what is broken off there.

    A break is found as the part has it, whatever it is made of: its size is the smaller of how far
    in and how far up it reaches. Empty when the part stands on no flat. Openings in the underside
    are left out: nothing of the jaws stands in them.
    """
    net = net_of(part)
    way = unit(up)
    down = (-way[0], -way[1], -way[2])
    flats = [f.index for f in part.faces if net.level(f.index, down)]
    spans = {i: net.span(i, way)[0] for i in range(len(part.faces))}
    floor = min(spans.values(), default=0.0)
    lowest = [i for i in flats if spans[i] < floor + ON]
    out = []
    for i in lowest:
        for e in net.of[i]:
            if e.loop == 0 and e.other not in lowest:
                out.append(_seat_edge(net, i, e.other, e.length, way))
    return tuple(out)


def _seat_edge(net: Net, flat: int, beside: int, length: float, way: Vec3) -> SeatEdge:
    f = net.faces[beside]
    edge = [e for e in net.of[flat] if e.other == beside]
    turn = max(e.turn for e in edge)
    if net.upright(beside, way):
        return SeatEdge(beside, "sharp", 0.0, length)
    if turn < -SMOOTH:
        return SeatEdge(beside, "undercut", 0.0, length)
    above = sorted(
        {
            e.other
            for e in net.of[beside]
            if e.other != flat and e.turn > -SMOOTH and _opposite(net, beside, flat, e.other)
        },
        key=lambda i: (-sum(e.length for e in net.of[beside] if e.other == i), i),
    )
    wall = next((i for i in above if net.upright(i, way)), above[0] if above else beside)
    across = _step(net, beside, _along(net, beside, flat), _along(net, beside, wall)) if above else (0, 0, 0)
    rise = dot(across, way)
    inward = math.hypot(*_square(across, way))
    if f.kind in ("cylinder", "torus", "sphere") and not f.hollow and abs(turn) < SMOOTH:
        assert f.radius is not None
        return SeatEdge(wall, "round", min(f.radius, rise) if rise > 0 else f.radius, length)
    if f.kind in ("plane", "cone") and turn > LEAN and rise <= LARGEST and inward <= LARGEST:
        return SeatEdge(wall, "chamfer", min(rise, inward), length)
    return SeatEdge(beside, "sharp", 0.0, length)  # a drafted or free-form wall begins at the edge itself
