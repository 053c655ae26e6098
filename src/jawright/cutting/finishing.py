"""Finish passes: pocket walls, tight corner reliefs, and the broken upper edge.

Lengths in mm, feeds in mm/min, speeds in rev/min.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass

import shapely
from shapely.geometry import LineString

from jawright.cutting.air import free, let_down, through
from jawright.cutting.metal import Metal, points, polygon
from jawright.cutting.paths import Trail, first, nearest, starting_at
from jawright.errors import JawrightError
from jawright.geometry.curve import Arc, Curve, Line, Point, right_normal
from jawright.geometry.profile import Profile, Region

Trip = tuple[Profile, int, float, list[Curve]]
"""A side trip: the chain, curve and share of it that it leaves from, and the moves there and back."""

LEAST_LEAD = 0.2
"""Smallest quarter arc [mm] that is worth leading on with."""

STUB = 1.0
"""Straight move [mm] on which compensation by wear is turned on or off: far longer than any wear."""

OVERLAP = 1.0
"""A finish pass runs on past its start by this much [mm], so that no line is left standing."""

RELIEF_SHARE = 0.4
"""Share of the finish feed into a relief, where the cutter is wrapped by metal."""

SHORTEST = 0.2
"""A side trip shorter than this [mm] is not worth making before the finish pass."""

SAME = 2e-3
"""A center farther than this [mm] from the path is not reached by it."""


@dataclass(frozen=True, slots=True)
class Tight:
    """An inside arc of the pocket that a path does not reach.

    ``room`` is the radius of the cutter's center path in it [mm]; ``spot`` is where the center
    stands when the cutter touches the middle of the arc.
    """

    center: Point
    room: float
    spot: Point


def tight_corners(pocket: Region, radius: float, allowed: Sequence[Region]) -> list[Tight]:
    """Inside arcs of the pocket which the path round ``allowed`` (where the center may go) does not reach.

    A relief as tight as the cutter, or one with a mouth narrower than the cutter's path, is
    joined to the rest of the path by a line without width, which an offset loses.
    """
    path = [LineString(points(p.curves, 0.5)) for g in allowed for p in (g.outer, *g.holes)]
    lines = shapely.union_all(path) if path else None
    found: list[Tight] = []
    for profile in (pocket.outer.counterclockwise(), *pocket.holes):
        for c in profile.curves:
            if not isinstance(c, Arc) or not c.ccw or c.radius < radius - SAME:
                continue
            room = max(0.0, c.radius - radius)
            mid = c.at(0.5)
            share = radius / c.radius
            spot = (mid[0] + (c.center[0] - mid[0]) * share, mid[1] + (c.center[1] - mid[1]) * share)
            off = math.inf if lines is None else lines.distance(shapely.Point(spot))
            known = any(math.dist(c.center, q.center) < SAME and math.dist(spot, q.spot) < 0.1 for q in found)
            if off > 0.01 + SAME and not known:
                found.append(Tight(c.center, room, spot))
    return found


def visits(pocket: Region, radius: float, allowed: Sequence[Region]) -> list[Trip]:
    """Side trips of the finish pass into corners that the path round ``allowed`` does not reach.

    Raises ``shop-no-cutter`` when a side trip would cut into the wall, which a pocket made for this
    cutter never asks for.
    """
    wall = polygon(pocket).buffer(0.003)
    chains = [p for g in allowed for p in (g.outer, *g.holes)]
    out: list[Trip] = []
    for corner in tight_corners(pocket, radius, allowed):
        found = _base(chains, corner.center)
        if found is None:
            raise _cannot(corner.center, radius)
        chain, i, t = found
        base = chain.curves[i].at(t)
        if corner.room > SAME:
            trip = _ring(base, corner.center, corner.room)
        else:
            trip = [Line(base, corner.center)] if math.dist(base, corner.center) > SAME else []
        trip += [c.reversed() for c in reversed([c for c in trip if isinstance(c, Line)])]
        if trip and not _inside(trip, radius, wall):
            raise _cannot(corner.center, radius)
        if trip:
            out.append((chain, i, t, trip))
    return out


def rough_visits(pocket: Region, radius: float, allowed: Sequence[Region], stock: float) -> list[list[Curve]]:
    """Moves into corners beside the path round ``allowed``, ``stock`` [mm] short of the finish, and back."""
    wall = polygon(pocket).buffer(-0.002)
    chains = [p for g in allowed for p in (g.outer, *g.holes)]
    out: list[list[Curve]] = []
    for corner in tight_corners(pocket, radius, allowed):
        found = _base(chains, corner.spot)
        if found is None:
            continue
        chain, i, t = found
        base = chain.curves[i].at(t)
        away = math.dist(base, corner.spot)
        if away - stock < SHORTEST:
            continue
        share = (away - stock) / away
        way = Line(
            base,
            (base[0] + share * (corner.spot[0] - base[0]), base[1] + share * (corner.spot[1] - base[1])),
        )
        if _inside(
            [way], radius, wall, least=1e-4
        ):  # a neck may not be touched by some microns; else the finish pass may get there by another way
            out.append([way, way.reversed()])
    return out


def _base(chains: Sequence[Profile], p: Point) -> tuple[Profile, int, float] | None:
    """The chain and place on it nearest to ``p``."""
    best: tuple[float, Profile, int, float] | None = None
    for chain in chains:
        i, t = nearest(chain.curves, p)
        d = math.dist(chain.curves[i].at(t), p)
        if best is None or d < best[0]:
            best = (d, chain, i, t)
    return None if best is None else best[1:]


def _inside(trip: Sequence[Curve], radius: float, wall: shapely.Geometry, *, least: float = 0.001) -> bool:
    swept = LineString(points(trip, 0.2)).buffer(radius, quad_segs=64)
    return bool(swept.difference(wall).area < least)


def _ring(base: Point, center: Point, room: float) -> list[Curve]:
    """To the ring of radius ``room`` round ``center`` and once round it."""
    away = math.dist(base, center)
    ux, uy = ((base[0] - center[0]) / away, (base[1] - center[1]) / away) if away > 1e-9 else (1.0, 0.0)
    near = (center[0] + room * ux, center[1] + room * uy)
    far = (center[0] - room * ux, center[1] - room * uy)
    ring: list[Curve] = [Arc(near, far, center, True), Arc(far, near, center, True)]
    return [Line(base, near), *ring] if math.dist(base, near) > 1e-6 else ring


def _cannot(center: Point, radius: float) -> JawrightError:
    return JawrightError(
        "shop-no-cutter",
        what=f"the finish cutter of radius {radius:.3f} mm cannot get into a corner of the pocket",
        where=f"at ({center[0]:.3f}, {center[1]:.3f}) mm",
        todo="add a smaller sharp-cornered end mill to the shop",
    )


def with_visits(curves: Sequence[Curve], chain: Profile, trips: Sequence[Trip]) -> list[tuple[Curve, bool]]:
    """The chain's curves with side trips put in where they leave; True marks curves of a trip."""
    out: list[tuple[Curve, bool]] = []
    mine = [(c.curves[i].at(t), trip) for c, i, t, trip in trips if c is chain]
    for c in curves:
        rest: Curve = c
        on = []
        for p, trip in mine:
            s = _share(c, p)
            if s is not None and s > 0.0:
                on.append((s, trip))
        done = 0.0
        for s, trip in sorted(on, key=lambda e: e[0]):
            t = (s - done) / (1.0 - done) if done < 1.0 else 1.0
            if t < 1.0 - 1e-9 and t > 1e-9:
                a, rest = _split(rest, t)
                out.append((a, False))
            elif t >= 1.0 - 1e-9 and done < 1.0:
                out.append((rest, False))
            done = s
            out.extend((x, True) for x in trip)
        if done < 1.0 - 1e-9:
            out.append((rest, False))
    return out


def _split(c: Curve, t: float) -> tuple[Curve, Curve]:
    p = c.at(t)
    if isinstance(c, Line):
        return Line(c.start, p), Line(p, c.end)
    return Arc(c.start, p, c.center, c.ccw), Arc(p, c.end, c.center, c.ccw)


def _share(c: Curve, p: Point) -> float | None:
    """Share of the curve's length at which ``p`` lies on it; None when it does not."""
    if math.dist(c.end, p) < 1e-6:
        return 1.0
    if math.dist(c.start, p) < 1e-6:
        return 0.0
    if isinstance(c, Line):
        t = sum((p[k] - c.start[k]) * (c.end[k] - c.start[k]) for k in (0, 1)) / c.length**2
    else:
        a = math.atan2(p[1] - c.center[1], p[0] - c.center[0]) - c.start_angle
        turn = a % (2 * math.pi) if c.ccw else -((-a) % (2 * math.pi))
        t = turn / c.sweep
    return t if 0 < t < 1 and math.dist(c.at(t), p) < 1e-6 else None


def starts(profile: Profile, gap: tuple[float, float]) -> list[tuple[int, float]]:
    """Where a finish pass may begin, best first: in the open gap (no wall is marked), on long lines."""
    middle = 0.5 * (gap[0] + gap[1])
    found: list[tuple[int, float, float, int, float]] = []
    for i, c in enumerate(profile.curves):
        for k in range(1, 32):
            p = c.at(k / 32)
            if gap[0] < p[1] < gap[1]:
                found.append((0, abs(p[1] - middle), 0.0, i, k / 32))
        rank = 1 if isinstance(c, Line) else 2
        found += [(rank, -c.length, abs(t - 0.5), i, t) for t in (0.5, 0.3, 0.7, 0.1, 0.9)]
    return [(i, t) for _, _, _, i, t in sorted(found)]


@dataclass(frozen=True, slots=True)
class _Lead:
    """A quarter arc on to (or off) a path at ``on``; ``off`` its other end, ``on`` itself when none fits."""

    on: Point
    off: Point
    center: Point
    straight: bool = False
    far: Point | None = None  # where the straight move before (or after) the arc begins (or ends)

    @property
    def fits(self) -> bool:
        return self.on != self.off


def lead(curve: Curve, t: float, room: shapely.Geometry, *, most: float, stub: float = 0.0) -> _Lead:
    """The largest quarter arc inside ``room`` that ends (t = 0) or begins (t = 1) at an end of ``curve``.

    It turns to the left of travel, away from the wall; ``most`` [mm] bounds its radius. With a ``stub`` a
    straight move of that length [mm] lies before (or after) it, on which compensation is turned on or off.
    """
    on, n, way = curve.at(t), right_normal(curve, t), curve.tangent(t)
    sign = -1.0 if t == 0.0 else 1.0
    radius = most
    while radius > LEAST_LEAD:
        center = (on[0] - radius * n[0], on[1] - radius * n[1])
        off = (center[0] + sign * radius * way[0], center[1] + sign * radius * way[1])
        arc = Arc(off, on, center, True) if t == 0.0 else Arc(on, off, center, True)
        far = (off[0] - stub * n[0], off[1] - stub * n[1])
        if room.covers(LineString([*points([arc], 0.1), off, far] if t else [far, *points([arc], 0.1)])):
            return _Lead(on, off, center, far=far if stub else None)
        radius *= 0.75
    return _Lead(on, on, on)


def _begin(
    profile: Profile,
    gap: tuple[float, float],
    *,
    radius: float,
    room: shapely.Geometry,
    free: Callable[[Point], bool] | None,
    stub: float = 0.0,
) -> tuple[list[Curve], _Lead]:
    """The chain from the best start whose lead-in begins where the cutter may be let down."""
    candidates = starts(profile, gap)
    for least in (0.15 * radius, 0.0):
        for index, t in candidates:
            loop = starting_at(profile.curves, index, t)
            on = lead(loop[0], 0.0, room, most=0.5 * radius, stub=stub)
            if on.fits and math.dist(on.on, on.center) > least and (free is None or free(on.far or on.off)):
                return loop, on
    for index, t in candidates:  # no arc: straight on from free room beside the path
        loop = starting_at(profile.curves, index, t)
        p, n = loop[0].start, right_normal(loop[0], 0.0)
        for k in range(1, 25):
            off = (p[0] - 0.1 * k * radius * n[0], p[1] - 0.1 * k * radius * n[1])
            if room.covers(LineString([off, p])) and (free is None or free(off)):
                return loop, _Lead(p, off, p, True)
    index, t = candidates[0]
    loop = starting_at(profile.curves, index, t)
    return loop, _Lead(loop[0].start, loop[0].start, loop[0].start)


def round_wall(
    trail: Trail,
    profile: Profile,
    *,
    radius: float,
    room: shapely.Geometry,
    gap: tuple[float, float],
    z: float,
    feed: float,
    passes: int = 1,
    trips: Sequence[Trip] = (),
    left: Metal | None = None,
    wear: int = 0,
) -> bool:
    """Finish passes along one chain: on and off in quarter arcs inside ``room`` (region of the center).

    ``left`` is the metal left in plan where the cutter is let down; None: it may be let down everywhere
    in ``room``, at ``feed`` because it may cut on its way. ``wear`` is the D number of radius compensation,
    0 for none. Returns False when there is no room to turn compensation on and off: then it is not.
    """
    able = None if left is None else (lambda p: free(left, p, radius))
    loop, on = _begin(profile, gap, radius=radius, room=room, free=able, stub=STUB if wear else 0.0)
    over = first(loop, OVERLAP)
    off = lead(over[-1], 1.0, room, most=0.5 * radius, stub=STUB if wear else 0.0)
    compensated = wear > 0 and on.far is not None and off.far is not None
    for _ in range(passes):
        _start(trail, on.far or on.off, z, room, feed, left=left, radius=radius)
        if on.far is not None:
            trail.compensate(on.off, feed, wear) if compensated else trail.line(on.off, feed)
        if on.straight:
            trail.line(on.on, feed)
        elif on.fits:
            trail.curve(Arc(on.off, on.on, on.center, True), feed)
        for curves, trip in _grouped(with_visits(loop, profile, trips)):
            if trip:
                for c in curves:
                    trail.curve(c, RELIEF_SHARE * feed)
            else:
                trail.chain(curves, feed, radius=radius)
        trail.chain(over, feed, radius=radius)
        if off.fits:
            trail.curve(Arc(off.on, off.off, off.center, True), feed)
        if compensated and off.far is not None:
            trail.compensate(off.far, feed, -1)
    return compensated or not wear


def _start(
    trail: Trail,
    p: Point,
    z: float,
    room: shapely.Geometry,
    feed: float,
    *,
    left: Metal | None,
    radius: float,
) -> None:
    if trail.at is not None and abs(trail.at[2] - z) < 1e-9 and room.covers(LineString([trail.xy, p])):
        if left is None:
            trail.line(p, feed)
        else:
            through(trail, left, p, radius=radius, feed=feed)
        return
    trail.hop(p)
    if left is None:
        trail.settle(z, 0.3 * feed, through=feed)
    else:
        let_down(trail, left, z=z, radius=radius, feed=feed, plunge=0.3 * feed)


def _grouped(items: Sequence[tuple[Curve, bool]]) -> list[tuple[list[Curve], bool]]:
    out: list[tuple[list[Curve], bool]] = []
    for c, trip in items:
        if out and out[-1][1] == trip:
            out[-1][0].append(c)
        else:
            out.append(([c], trip))
    return out
