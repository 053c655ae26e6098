"""Pockets, slots and steps: level floors with walls that rise from them, and openings right through.

Lengths in mm, angles in rad.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import replace
from typing import Literal

from jawright.geometry.frame import Vec3, cross, dot
from jawright.part.model import Drilled, Face, Recess
from jawright.part.net import LEVEL, ON, SMOOTH, Net, across, back, minus

WALLED = 0.999
"""Share of its boundary along which a closed recess has walls."""


def recesses(net: Net, drilled: Sequence[Drilled], way: Vec3 | None = None) -> tuple[Recess, ...]:
    """All recesses, by their first face; what is a round hole is none.

    Two faces that meet in an inner corner are a step to either side: the one with the larger floor
    is given. With ``way`` only those that open along it are looked for.
    """
    round_walls = {i for d in drilled for i in d.faces}
    through: list[Recess] = []
    taken: set[int] = set()
    for f in net.faces:
        if f.kind == "plane" and (way is None or abs(dot(f.normal, way)) > 1 - LEVEL):
            for r in _through(net, f, round_walls):
                if not taken & set(r.walls):
                    taken |= set(r.walls)
                    through.append(r if way is None else replace(r, opens=way))
    groups = [g for g in _floors(net) if way is None or net.level(g[0], way)]
    over = [_over(net, g, round_walls) for g in groups]
    floors = [o for o in over if o is not None and not taken & set(o.floor)]
    return tuple(sorted([*through, *_largest(net, floors)], key=lambda r: (min(r.faces), r.faces)))


def _largest(net: Net, found: Sequence[Recess]) -> list[Recess]:
    """Recesses whose floor is no wall of another one that is closed or has a larger floor."""

    def rank(r: Recess) -> tuple[bool, float, int]:
        return (r.closed, sum(net.faces[i].area for i in r.floor), -r.floor[0])

    out: list[Recess] = []
    for r in sorted(found, key=rank, reverse=True):
        if not any(set(r.floor) & set(o.walls) for o in out):
            out.append(r)
    return out


# ---- floors --------------------------------------------------------------------------------


def _floors(net: Net) -> Iterable[tuple[int, ...]]:
    """Planes, those that go on in the same plane together."""
    seen: set[int] = set()
    for f in net.faces:
        if f.kind != "plane" or f.index in seen:
            continue
        group, waiting = [], [f.index]
        while waiting:
            i = waiting.pop()
            if i in seen:
                continue
            seen.add(i)
            group.append(i)
            waiting += [
                e.other for e in net.of[i] if abs(e.turn) < SMOOTH and net.level(e.other, net.faces[i].normal)
            ]
        yield tuple(sorted(group))


def _over(net: Net, floor: tuple[int, ...], round_walls: set[int]) -> Recess | None:
    """The recess over a floor; None when nothing rises from its outer boundary, or it is a hole's bottom."""
    way = net.faces[floor[0]].normal
    level = dot(net.faces[floor[0]].center, way)
    walls: dict[int, float] = {}
    walled = whole = root = 0.0
    for e in (e for i in floor for e in net.of[i] if e.other not in floor and e.loop == 0):
        whole += e.length
        wall, radius = _wall_beyond(net, e.other, e.turn, floor)
        if wall is not None and net.span(wall, way)[1] > level + ON:
            walled += e.length
            walls[wall] = walls.get(wall, 0.0) + e.length
            root = max(root, radius)
    if not walls or set(walls) <= round_walls:
        return None
    walls |= {i: 0.0 for i in _more_walls(net, walls, way, floor) if i not in walls}
    closed = walled > WALLED * whole
    own = tuple(sorted(walls))
    boundary = [p for i in floor for e in net.of[i] if e.other not in floor and e.loop == 0 for p in e.points]
    at, length, width = _rectangle(boundary + (_feet(net, walls, way) if root > 0 else []), way)
    rise = level - dot(at, way)
    kind = _kind(net, own, (length, width), closed=closed)
    return Recess(
        kind=kind,
        opens=way,
        floor=floor,
        walls=own,
        center=(at[0] + rise * way[0], at[1] + rise * way[1], at[2] + rise * way[2]),
        depth=min(net.span(i, way)[1] for i, n in walls.items() if n > 0) - level,
        length=length,
        width=width,
        corner=_corner(net, own, way),
        root=root,
        through=False,
        closed=closed,
    )


def _feet(net: Net, walls: dict[int, float], way: Vec3) -> list[Vec3]:
    """Points along the lower ends of walls that stand on a fillet: the floor goes on under it."""
    out = []
    for i in (i for i, n in walls.items() if n > 0):
        low = net.span(i, way)[0]
        out += [p for p in net.points(i) if dot(p, way) < low + ON]
    return out


def _wall_beyond(net: Net, other: int, turn: float, floor: tuple[int, ...]) -> tuple[int | None, float]:
    """The wall that rises across an edge of a floor, and the radius of the fillet between them."""
    if turn < -SMOOTH:
        return other, 0.0
    f = net.faces[other]
    if abs(turn) > SMOOTH or not f.hollow or f.kind not in ("cylinder", "torus", "sphere"):
        return None, 0.0
    radius = f.radius or 0.0
    beyond = [e.other for e in net.of[other] if abs(e.turn) < SMOOTH and e.other not in floor]
    way = net.faces[floor[0]].normal
    upright = [i for i in beyond if net.upright(i, way)]
    return (upright or beyond or [other])[0], radius


def _more_walls(net: Net, walls: Iterable[int], way: Vec3, floor: tuple[int, ...]) -> set[int]:
    """Upright walls that go on from the walls of a floor without standing out: rounded inner corners."""
    found: set[int] = set()
    waiting = list(walls)
    low = dot(net.faces[floor[0]].center, way)
    while waiting:
        for e in net.of[waiting.pop()]:
            inner = e.turn < SMOOTH and net.upright(e.other, way)
            if (
                inner
                and e.other not in found
                and net.faces[e.other].hollow
                and net.span(e.other, way)[0] < low + 1
            ):
                found.add(e.other)
                waiting.append(e.other)
    return found


# ---- openings right through ----------------------------------------------------------------


def _through(net: Net, face: Face, round_walls: set[int]) -> Iterable[Recess]:
    """Openings in a plane that are no round holes and come out on the far side."""
    way = face.normal
    loops = sorted({e.loop for e in net.of[face.index]} - {0})
    for loop in loops:
        edge = [e for e in net.of[face.index] if e.loop == loop]
        if any(e.turn < SMOOTH for e in edge):
            continue  # a boss, with a fillet at its foot or not
        walls = _shaft(net, {e.other for e in edge}, way)
        if not walls or walls <= round_walls or not all(net.upright(i, way) for i in walls):
            continue
        ends = [net.span(i, way) for i in walls]
        low, high = min(a for a, _ in ends), max(b for _, b in ends)
        below = [e for i in walls for e in net.of[i] if max(dot(p, way) for p in e.points) < low + ON]
        if any(e.turn < SMOOTH for e in below if e.other not in walls):
            continue  # it has a floor
        at, length, width = _rectangle([p for e in edge for p in e.points], way)
        sink = low - dot(at, way)
        center = (at[0] + sink * way[0], at[1] + sink * way[1], at[2] + sink * way[2])
        own = tuple(sorted(walls))
        yield Recess(
            kind=_kind(net, own, (length, width), closed=True),
            opens=way if max(way, key=abs) > 0 else back(way),
            floor=(),
            walls=own,
            center=center,
            depth=high - low,
            length=length,
            width=width,
            corner=_corner(net, own, way),
            root=0.0,
            through=True,
            closed=True,
        )


def _shaft(net: Net, start: set[int], way: Vec3) -> set[int]:
    """The upright walls below an opening, over a broken edge or not."""
    walls = {i for i in start if net.upright(i, way)}
    for i in start - walls:
        walls |= {e.other for e in net.of[i] if net.upright(e.other, way)}
    waiting = list(walls)
    while waiting:
        for e in net.of[waiting.pop()]:
            if e.other not in walls and net.upright(e.other, way) and e.turn < SMOOTH:
                walls.add(e.other)
                waiting.append(e.other)
    return walls


# ---- measures ------------------------------------------------------------------------------


def _rectangle(points: Sequence[Vec3], way: Vec3) -> tuple[Vec3, float, float]:
    """Middle, length and width of the smallest rectangle round points, seen along ``way`` [mm].

    One side of the smallest rectangle lies along an edge of the hull of the points (Freeman and
    Shapira 1975).
    """
    x, y = across(way)
    flat = [(dot(p, x), dot(p, y)) for p in points]
    hull = _hull(flat)
    best = (math.inf, 0.0, 0.0, 0.0, 0.0, 0.0)
    for (ax, ay), (bx, by) in zip(hull, [*hull[1:], hull[0]], strict=True):
        n = math.hypot(bx - ax, by - ay)
        if n < ON:
            continue
        c, s = (bx - ax) / n, (by - ay) / n
        along = [c * u + s * v for u, v in hull]
        beside = [c * v - s * u for u, v in hull]
        a, b = max(along) - min(along), max(beside) - min(beside)
        if a * b < best[0] - 1e-9:
            mid = (0.5 * (max(along) + min(along)), 0.5 * (max(beside) + min(beside)))
            best = (a * b, a, b, c * mid[0] - s * mid[1], s * mid[0] + c * mid[1], 0.0)
    height = sum(dot(p, way) for p in points) / len(points)
    u, v = best[3], best[4]
    center = tuple(u * x[k] + v * y[k] + height * way[k] for k in range(3))
    return (center[0], center[1], center[2]), max(best[1:3]), min(best[1:3])


def _hull(points: Sequence[tuple[float, float]]) -> list[tuple[float, float]]:
    """Convex hull, counter-clockwise (monotone chain: Andrew 1979)."""
    left = sorted(set(points))
    if len(left) < 3:
        return left

    def half(run: Iterable[tuple[float, float]]) -> list[tuple[float, float]]:
        out: list[tuple[float, float]] = []
        for p in run:
            while len(out) > 1 and _area(out[-2], out[-1], p) <= 0:
                out.pop()
            out.append(p)
        return out[:-1]

    return half(left) + half(reversed(left))


def _area(a: tuple[float, float], b: tuple[float, float], c: tuple[float, float]) -> float:
    return (b[0] - a[0]) * (c[1] - a[1]) - (b[1] - a[1]) * (c[0] - a[0])


def _kind(
    net: Net, walls: Sequence[int], size: tuple[float, float], *, closed: bool
) -> Literal["pocket", "slot", "step"]:
    """A slot has two walls that face each other along it, a width apart; round ends when it is closed."""
    length, width = size
    planes = [net.faces[i] for i in walls if net.faces[i].kind == "plane"]
    ends = [f for i in walls if (f := net.faces[i]).kind == "cylinder" and f.hollow]
    facing = any(
        dot(a.normal, b.normal) < -1 + LEVEL
        and dot(a.normal, (b.center[0] - a.center[0], b.center[1] - a.center[1], b.center[2] - a.center[2]))
        > 0
        for k, a in enumerate(planes)
        for b in planes[:k]
    )
    if not closed:
        return "slot" if facing else "step"
    round_ended = len(ends) >= 2 and all(abs((f.radius or 0.0) - (ends[0].radius or 0.0)) < ON for f in ends)
    if (
        round_ended
        and facing
        and len(planes) == 2
        and abs(2 * (ends[0].radius or 0.0) - width) < 0.01 * width
    ):
        return "slot"
    return "slot" if _bent(net, walls) and length > width else "pocket"


def _bent(net: Net, walls: Sequence[int]) -> bool:
    """Whether the walls make a slot along an arc: two on one axis, and ends as wide as they are apart."""
    rounds = [(f, f.radius, f.axis_point) for i in walls if (f := net.faces[i]).kind == "cylinder"]
    if len(rounds) < max(4, len(walls)):
        return False
    for a, small, at in rounds:
        for b, large, other in rounds:
            if a.hollow or not b.hollow or not small or not large or at is None or other is None:
                continue
            if a.axis is None or math.hypot(*cross(minus(at, other), a.axis)) > ON:
                continue
            ends = [r for f, r, _ in rounds if f not in (a, b) and r is not None]
            if all(abs(2 * r - (large - small)) < 2 * ON for r in ends):
                return True
    return False


def _corner(net: Net, walls: Sequence[int], way: Vec3) -> float | None:
    """The smallest radius in which walls meet, 0 for a sharp inner corner, None when there is none."""
    own = set(walls)
    found = []
    for i in walls:
        f = net.faces[i]
        if f.kind == "cylinder" and f.hollow and f.radius is not None and net.upright(i, way):
            found.append(f.radius)
        if any(e.other in own and e.turn < -SMOOTH for e in net.of[i]):
            found.append(0.0)
    return min(found, default=None)
