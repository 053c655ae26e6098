"""Taking the bulk of the metal out of a region, level by level, with bounded engagement.

A pocket across the open gap is cleared from the gap outward: straight passes along X, climb
cut in both jaws, so that the cutter never works in a full slot. Other regions are cleared from
the inside out in offset loops. Every pass is tried against the metal left in plan first: a pass
through air is dropped, one that would be engaged beyond ``LIMIT`` is made as a ramp in thin
layers instead.

Lengths in mm, feeds in mm/min, speeds in rev/min.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from itertools import zip_longest

import numpy as np
import shapely
from shapely.geometry import LineString, Polygon

from jawright.cutting.air import (
    AIR,
    BEYOND,
    SHORT,
    TOUCH,
    along,
    approach,
    cutting_parts,
    free,
    let_down,
    through,
)
from jawright.cutting.metal import Metal, shrunk, union
from jawright.cutting.paths import Trail, nearest, starting_at
from jawright.cutting.rows import Row, columns, first_row, runs, spread
from jawright.geometry.curve import Curve, Line, Point, right_normal
from jawright.geometry.profile import Region

LIMIT = math.radians(125)
"""Largest engaged angle of a pass at full depth; beyond it: layers (common practice, no source)."""

RAMP = math.radians(3)
"""Steepest ramp into metal (common practice: 3 to 5 degrees, no source)."""

ABOVE = 0.3
"""A ramp starts this far above the metal [mm]."""

PULL_OFF = 0.5
"""Return moves keep this far from the wall just cut [mm]."""

SLANTS = (2.5, 2.0, 1.5)
"""Lengths, in cutter radii, of the slanted entry into a straight pass, tried in this order."""

SLACK = 0.0025
"""Allowance [mm] for outlines turned to polygons when a move is checked against the room it has."""

LEAST_DROP = 0.15
"""A ramp that would gain less per lap [mm] is replaced by a plunge of a center-cutting cutter."""


@dataclass(frozen=True, slots=True)
class Clearing:
    """How a region is cleared with one cutter."""

    radius: float
    step_over: float  # [mm]
    layer: float  # deepest layer of a pass engaged beyond the limit [mm]
    feed: float  # [mm/min]
    limit: float = LIMIT  # [rad]
    ramp: float = RAMP  # steepest ramp into metal [rad]
    pitch: float = 0.0  # a lap may drop this far [mm] however short it is
    ramp_share: float = 0.5  # of the feed, on ramps
    room: shapely.Geometry = field(default_factory=Polygon)  # where the cutter's center may go

    @property
    def ramp_feed(self) -> float:
        """Feed of a ramp [mm/min]."""
        return self.ramp_share * self.feed

    @property
    def plunge_feed(self) -> float:
        """Feed straight down [mm/min]."""
        return 0.2 * self.feed


def levels(top: float, bottom: float, most: float) -> list[float]:
    """Heights of even levels from ``top`` down to ``bottom``, each at most ``most`` deep [mm]."""
    n = max(1, math.ceil((top - bottom) / most - 1e-6))
    return [top + (bottom - top) * (i + 1) / n for i in range(n)]


def clear(
    trail: Trail,
    metal: Metal,
    how: Clearing,
    *,
    inner: Sequence[Region],
    outer: Sequence[Region],
    gap: tuple[float, float] | None,
    z: tuple[float, float],
) -> None:
    """One level: straight passes in ``inner``, then once round the edge of ``outer``.

    Both are regions of the cutter's center. ``gap`` is the open strip between the jaws in Y, None when
    the region must be entered from above. ``z`` is the metal's height before and after.
    """
    how = replace(how, room=union([*inner, *outer]).buffer(SLACK))
    if gap is not None:
        from_gap(trail, metal, how, regions=inner, gap=gap, z=z)
    else:
        from_inside(trail, metal, how, regions=inner, z=z)
    for region in outer:
        for profile in (region.outer, *region.holes):
            lap(trail, metal, how, profile.curves, z=z)
    left = union(outer).buffer(how.radius - 0.02).intersection(metal.shape)
    if left.area > 0.05:
        from_inside(trail, metal, how, regions=outer, z=z)


def from_gap(
    trail: Trail,
    metal: Metal,
    how: Clearing,
    *,
    regions: Sequence[Region],
    gap: tuple[float, float],
    z: tuple[float, float],
) -> None:
    """Passes along X from the open gap outward, first one jaw's, then the other's, climb cut in both."""
    for region in sorted(regions, key=lambda g: g.outer.box):
        shape = union([region])
        _, low, _, high = shape.bounds
        start = first_row(low, high, gap, how.radius)
        ups = columns(shape, start, spread(start, high, how.step_over))
        downs = columns(shape, start, spread(start, low, how.step_over))
        for a, b in runs(shape, start):
            _straight(trail, metal, how, a=(b, start), b=(a, start), back=None, z=z)
            for up, down in zip_longest(ups.pop((a, b), []), downs.pop((a, b), [])):
                if up is not None:
                    _one(trail, metal, how, up, way=1, z=z)
                if down is not None:
                    _one(trail, metal, how, down, way=-1, z=z)
        for way, rest in ((1, ups), (-1, downs)):
            for row in (r for rows in rest.values() for r in rows):
                _one(trail, metal, how, row, way=way, z=z)


def _one(trail: Trail, metal: Metal, how: Clearing, row: Row, *, way: int, z: tuple[float, float]) -> None:
    """A pass of the upper jaw (``way`` 1) toward -X, of the lower one toward +X: the metal on the right."""
    a, b = row.run[::-1] if way > 0 else row.run
    back = row.back if row.first else row.back - way * PULL_OFF
    _straight(trail, metal, how, a=(a, row.y), b=(b, row.y), back=back, z=z)


def _straight(
    trail: Trail,
    metal: Metal,
    how: Clearing,
    *,
    a: Point,
    b: Point,
    back: float | None,
    z: tuple[float, float],
) -> None:
    """A straight pass from ``a`` to ``b``, entered on a slant from the pass before it at Y ``back``."""
    run = Line(a, b)
    if run.length < how.radius:  # the pass along the edge takes it
        return
    if not metal.touches([run], how.radius):
        return
    run = _trimmed(metal, run, how.radius)
    a, b = run.start, run.end
    if back is not None:
        for slant in SLANTS:
            share = min(1.0, slant * how.radius / run.length)
            entry = Line((a[0] + share * (b[0] - a[0]), back), a)
            path = [entry, run]
            able = _stays(how, entry) and free(metal, entry.start, how.radius)
            if able and metal.engagement(path, how.radius) <= how.limit:
                _reach(trail, metal, entry.start, z=z[1], how=how)
                trail.chain(path, how.feed, radius=how.radius)
                metal.cut(path, how.radius)
                return
    _zigzag(trail, metal, how, run, z=z)
    metal.cut([run], how.radius)


def _trimmed(metal: Metal, run: Line, radius: float) -> Line:
    """The part of a straight pass along X that cuts, with room to come up to speed before and after."""
    x0, _, x1, _ = metal.sweep([run], radius).intersection(metal.shape).bounds
    (a, y), b = run.start, run.end[0]
    low, high = max(min(a, b), x0 - radius - BEYOND), min(max(a, b), x1 + radius + BEYOND)
    if high - low < 2.5 * radius or high - low > abs(b - a) - SHORT:
        return run
    return Line((low, y), (high, y)) if a < b else Line((high, y), (low, y))


def _zigzag(trail: Trail, metal: Metal, how: Clearing, run: Line, *, z: tuple[float, float]) -> None:
    """Down along a straight run, back and forth on a ramp, then once more flat."""
    high, low = z
    drop = min(run.length * math.tan(how.ramp), 0.5 * how.layer)  # at a turn the next run is two drops deep
    trail.hop(run.start)
    if drop < LEAST_DROP:
        approach(trail, metal, high + ABOVE, radius=how.radius, feed=how.feed, plunge=how.plunge_feed)
        trail.down(low, how.plunge_feed)
        trail.line(run.end, how.ramp_feed)
        return
    n = math.ceil((high + ABOVE - low) / drop)
    approach(trail, metal, high + ABOVE, radius=how.radius, feed=how.feed, plunge=how.plunge_feed)
    way: Curve = run
    for i in range(n):
        trail.sink([way], how.ramp_feed, high + ABOVE + (low - high - ABOVE) * (i + 1) / n)
        way = way.reversed()
    trail.curve(way, how.feed)


def from_inside(
    trail: Trail, metal: Metal, how: Clearing, *, regions: Sequence[Region], z: tuple[float, float]
) -> None:
    """Offset loops from the inside out, the innermost on a ramp."""
    how = replace(how, room=union(regions).buffer(SLACK))
    rings: list[Sequence[Region]] = [tuple(regions)]
    while len(rings) < 500:
        inner = [g for region in regions for g in shrunk(region, len(rings) * how.step_over)]
        if not inner:
            break
        rings.append(inner)
    for ring in reversed(rings):
        for region in ring:
            for profile in (region.outer, *region.holes):
                lap(trail, metal, how, profile.curves, z=z)


def lap(
    trail: Trail, metal: Metal, how: Clearing, curves: Sequence[Curve], *, z: tuple[float, float]
) -> None:
    """Once round a closed chain: entered on a slant from free room beside it, or on a ramp along it."""
    if not metal.touches(curves, how.radius):
        return
    parts = cutting_parts(metal, curves, how.radius)
    if parts is not None:
        for part in parts:
            _part(trail, metal, how, part, z=z)
        return
    found = _entry(trail, metal, how, curves)
    if found is not None:
        entry, loop = found
        _reach(trail, metal, entry.start, z=z[1], how=how)
        trail.chain([entry, *loop], how.feed, radius=how.radius)
        metal.cut([entry, *loop], how.radius)
        return
    _spiral(trail, metal, how, starting_at(curves, *_mouth(trail, metal, how, curves)), z=z)
    metal.cut(curves, how.radius)


def _mouth(trail: Trail, metal: Metal, how: Clearing, curves: Sequence[Curve]) -> tuple[int, float]:
    """Where a ramp along a closed chain begins: the nearest place with nothing standing over it, if any."""
    found = nearest(curves, trail.xy) if trail.at is not None else (0, 0.0)
    here = curves[found[0]].at(found[1])
    total = math.fsum(c.length for c in curves)
    places = [found, *(along(curves, total * k / 48) for k in range(48))]
    above = metal.air_above([curves[i].at(t) for i, t in places], how.radius + AIR)
    free_ = [place for place, clear in zip(places, above, strict=True) if clear]
    return min(free_, key=lambda p: math.dist(curves[p[0]].at(p[1]), here), default=found)


def _part(trail: Trail, metal: Metal, how: Clearing, way: list[Curve], *, z: tuple[float, float]) -> None:
    """A stretch that begins and ends in air: at full depth where the engagement allows it, else in layers."""
    if not metal.touches(way, how.radius):
        return
    if metal.engagement(way, how.radius) <= how.limit:
        _reach(trail, metal, way[0].start, z=z[1], how=how)
        trail.chain(way, how.feed, radius=how.radius)
    else:
        steps = levels(z[0], z[1], min(how.layer, z[0] - z[1]))
        _reach(trail, metal, way[0].start, z=steps[0], how=how)
        for layer in steps:
            trail.down(layer, how.feed)
            trail.chain(way, how.ramp_feed, radius=how.radius)
            way = [c.reversed() for c in reversed(way)]
    metal.cut(way, how.radius)


def _entry(
    trail: Trail, metal: Metal, how: Clearing, curves: Sequence[Curve]
) -> tuple[Line, list[Curve]] | None:
    """The slanted entry and the chain begun where it ends; None when no entry keeps to the limit."""
    ends: list[tuple[float, Line, int, float]] = []
    total = math.fsum(c.length for c in curves)
    slant = min(SLANTS[0] * how.radius, 0.25 * total)
    places = [along(curves, total * k / 24) for k in range(24)]
    for side in (how.step_over + 0.2, how.step_over * 0.6 + 0.2, 0.6):
        begins = []
        for i, t in places:
            n, p = right_normal(curves[i], t), curves[i].at(t)
            begins.append((p[0] - side * n[0], p[1] - side * n[1]))
        for k in np.flatnonzero(metal.air(begins, how.radius - TOUCH)):
            begin = begins[k]
            j, u = along(curves, (total * float(k) / 24 + slant) % total)
            way = 0.0 if trail.at is None else math.dist(trail.xy, begin)
            ends.append((way, Line(begin, curves[j].at(u)), j, u))
        if ends:
            break
    tried = 0
    for _, entry, j, u in sorted(ends, key=lambda e: e[0]):
        if entry.length < 1e-3 or not _stays(how, entry):
            continue
        loop = starting_at(curves, j, u)
        tried += 1
        if metal.engagement([entry, *loop], how.radius) <= how.limit:
            return entry, loop
        if tried == 6:
            break
    return None


def _spiral(trail: Trail, metal: Metal, how: Clearing, loop: list[Curve], *, z: tuple[float, float]) -> None:
    """Down along a closed chain on a ramp, then once round flat."""
    high, low = z
    total = math.fsum(c.length for c in loop)
    drop = min(max(total * math.tan(how.ramp), how.pitch), how.layer)
    trail.hop(loop[0].start)
    approach(trail, metal, high + ABOVE, radius=how.radius, feed=how.feed, plunge=how.plunge_feed)
    if drop < LEAST_DROP:
        trail.down(low, how.plunge_feed)
    else:
        n = math.ceil((high + ABOVE - low) / drop)
        drop = (high + ABOVE - low) / n
        feed = min(
            how.ramp_feed, how.plunge_feed * math.hypot(total, drop) / drop
        )  # no faster down than a plunge
        for i in range(n):
            trail.sink_eased(loop, feed, high + ABOVE - drop * (i + 1), radius=how.radius)
    trail.chain(loop, how.ramp_feed, radius=how.radius)


def _stays(how: Clearing, way: Line) -> bool:
    """True when the whole move keeps the cutter inside what may be cut."""
    return bool(how.room.covers(LineString([way.start, way.end])))


def _reach(trail: Trail, metal: Metal, p: Point, *, z: float, how: Clearing) -> None:
    """Get to ``p`` at height ``z`` through air: straight when nothing is in the way, else above."""
    if trail.at is not None and abs(trail.at[2] - z) < 1e-9:
        way = Line(trail.xy, p)
        if way.length < 1e-9:
            return
        if not metal.touches([way], how.radius):
            through(trail, metal, p, radius=how.radius, feed=how.feed)
            return
    trail.hop(p)
    let_down(trail, metal, z=z, radius=how.radius, feed=how.feed, plunge=how.plunge_feed)
