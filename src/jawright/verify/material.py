"""Metal in the vise, and what a program takes away, level by level. Vise frame, mm.

Metal is cut in the plan at heights between the program's own depths. There the area a
flat cutter has swept is constant, so an area is exact for the whole interval; pointed and
rounded cutters, ramps and helices are cut at the interval's middle with the radius they
have there.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, field
from itertools import pairwise

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.geometry.base import BaseGeometry

from jawright.jaws.model import Jaw, Jaws
from jawright.verify.place import Frame, Path
from jawright.verify.sweep import Ring, Run, polygons, swept, taper
from jawright.verify.tool import Body
from jawright.verify.words import LIMITS

_CHORD = 0.002  # helices of cutters that are not flat are divided into chords this close [mm]
_GROWTH = (0.02, 0.08, 0.2, 0.4, 0.7, 1.0)  # shares of a point's or corner's height where levels are set
EMPTY: BaseGeometry = shapely.Polygon()


@dataclass(frozen=True, slots=True)
class Level:
    """An interval of height in which the comparison is made at ``at``."""

    low: float
    high: float

    @property
    def at(self) -> float:
        """Height at which the level's metal is judged [mm]."""
        return (self.low + self.high) / 2


def bolt_holes(jaw: Jaw, z: float) -> list[BaseGeometry]:
    """Plan at height ``z`` of the bolt holes or slots and of their counterbores, which run along Y."""
    b = jaw.blank
    front, back = (jaw.y0, jaw.y1) if jaw.side == "fixed" else (jaw.y1, jaw.y0)
    deep = front + math.copysign(b.counterbore_depth, back - front)
    out = []
    for x, zc in jaw.bolts:
        for diameter, y in ((b.bolt_hole, back), (b.counterbore, deep)):
            half = _half_width(diameter, z - zc)
            if half > 0.0:
                w = half + b.slot_length / 2
                out.append(shapely.box(x - w, min(front, y), x + w, max(front, y)))
    return out


def _half_width(diameter: float, dz: float) -> float:
    return math.sqrt(max(0.0, (diameter / 2) ** 2 - dz**2))


def uncut(jaws: Jaws, spans: Sequence[Level]) -> list[BaseGeometry]:
    """Plan of both uncut blanks at each level; levels that are alike share one object."""
    known: dict[object, BaseGeometry] = {}
    out = []
    for span in spans:
        parts: list[tuple[tuple[float, ...], tuple[tuple[float, ...], ...]]] = []
        for jaw in (jaws.fixed, jaws.floating):
            if 0.0 < span.at < jaw.height:
                holes = tuple(tuple(h.bounds) for h in bolt_holes(jaw, span.at))
                parts.append(((jaw.x0, jaw.y0, jaw.x1, jaw.y1), holes))
        key = tuple(parts)
        if key not in known:
            known[key] = _blocks(parts)
        out.append(known[key])
    return out


def _blocks(parts: Sequence[tuple[tuple[float, ...], tuple[tuple[float, ...], ...]]]) -> BaseGeometry:
    out = []
    for block, holes in parts:
        shape: BaseGeometry = shapely.box(*block)
        if holes:
            shape = shapely.difference(shape, shapely.union_all([shapely.box(*h) for h in holes]))
        out.append(shape)
    joined: BaseGeometry = shapely.union_all(out) if out else EMPTY
    return joined


def rings(run: Run, body: Body, z: float) -> list[Ring]:
    """Rings of what a run sweeps at height ``z``; sloped runs are cut where they pass ``z``.

    On a straight ramp the radius of a cone changes linearly, so its area is exact; a round
    nose is divided finely, and a helix of a cutter that is not flat becomes short ramps.
    """
    low = run.below(z)
    if low is None:
        return []
    if low.length == 0.0:
        return swept(Run(low.start, low.start, low.low, low.low), body.at(z - low.low))
    if body.full == 0.0 or low.z0 == low.z1 or z - max(low.z0, low.z1) >= body.full:
        return swept(low, body.radius if body.full == 0.0 else body.at(z - low.low))
    out = []
    for part in _divided(low, body, z):
        r0, r1 = body.at(z - part.z0), body.at(z - part.z1)
        if max(r0, r1) > 0.0:
            out.append(taper(part.start, part.end, r0, r1))
    return out


def _divided(run: Run, body: Body, z: float) -> list[Run]:
    """A sloped run divided where its cutter's radius at ``z`` stops being linear, and arcs into chords."""
    shares = {0.0, 1.0}
    for h in body.knees():
        t = (z - h - run.z0) / (run.z1 - run.z0)
        if 0.0 < t < 1.0:
            shares.add(t)
    if run.center is not None:
        n = max(
            8, math.ceil(abs(run.sweep) / (2 * math.acos(max(0.0, 1 - _CHORD / max(run.radius, _CHORD)))))
        )
        shares.update(k / n for k in range(1, n))
    ordered = sorted(shares)
    return [run.part(a, b) for a, b in pairwise(ordered)]


@dataclass(slots=True)
class Cuts:
    """All moves that reach below the metal's top, and the areas they sweep."""

    paths: list[Path]
    bodies: list[Body]
    top: float
    frame: Frame
    _cache: dict[tuple[int, float], BaseGeometry] = field(default_factory=dict)
    _full: dict[int, BaseGeometry] = field(default_factory=dict)
    _tree: shapely.STRtree | None = None
    _feeds: tuple[NDArray[np.object_], NDArray[np.float64]] | None = None

    def saturated(self, i: int, z: float) -> bool:
        """True when from ``z`` up the move sweeps its whole radius along its whole run."""
        path = self.paths[i]
        high = path.low if _plunge(path) else path.high
        return z - high >= self.bodies[i].full

    def area(self, i: int, z: float) -> BaseGeometry:
        """Plan swept by move ``i`` at height ``z``."""
        path, body = self.paths[i], self.bodies[i]
        if self.saturated(i, z):
            if i not in self._full:
                self._full[i] = _join(polygons([g for r in path.runs for g in swept(r, body.radius)]))
            return self._full[i]
        key = (i, z)
        if key not in self._cache:
            self._cache[key] = _join(polygons([g for r in path.runs for g in rings(r, body, z)]))
        return self._cache[key]

    def near(self, shape: BaseGeometry) -> NDArray[np.int64]:
        """Indices, ascending, of the moves whose box meets the shape."""
        if self._tree is None:
            boxes = []
            for p, b in zip(self.paths, self.bodies, strict=True):
                pts = np.array([q for r in p.runs for q in r.points(0.1)])
                grow = b.radius + 0.2
                boxes.append((*(pts.min(axis=0) - grow), *(pts.max(axis=0) + grow)))
            a = np.array(boxes).reshape(-1, 4)
            self._tree = shapely.STRtree(shapely.box(a[:, 0], a[:, 1], a[:, 2], a[:, 3]))
        return np.sort(self._tree.query(shape))

    def left(self, shape: BaseGeometry, metal: BaseGeometry, z: float, before: int) -> BaseGeometry:
        """Metal inside the shape at height ``z`` after the moves earlier than ``before``."""
        rest = shapely.intersection(shape, metal)
        if rest.is_empty:
            return rest
        for j in self.near(rest)[::-1]:
            i = int(j)
            if i >= before or self.paths[i].low >= z:
                continue
            rest = shapely.difference(rest, self.area(i, z))
            if rest.is_empty or rest.area < 1e-9:
                return EMPTY
        return rest

    def blame(self, x: float, y: float, z: float) -> int:
        """Line of the first move that swept the point; 0 when none did."""
        spot = shapely.Point(x, y)
        for j in self.near(spot):
            i = int(j)
            if self.paths[i].low < z and shapely.distance(self.area(i, z), spot) < 1e-6:
                return self.paths[i].move.line
        return 0

    def nearest(self, x: float, y: float, z: float) -> int:
        """Line of the feed move that came nearest to the point at that height or lower; 0 when none."""
        if self._feeds is None:
            feeds = [i for i, p in enumerate(self.paths) if p.move.kind == "feed"]
            self._feeds = (
                np.array([_chain(self.paths[i]) for i in feeds], dtype=object),
                np.array(
                    [[self.bodies[i].radius, self.paths[i].low, self.paths[i].move.line] for i in feeds]
                ),
            )
        chains, data = self._feeds
        if len(chains) == 0:
            return 0
        aside = np.maximum(0.0, shapely.distance(chains, shapely.Point(x, y)) - data[:, 0])
        far = np.hypot(aside, np.maximum(0.0, data[:, 1] - z))
        return int(data[int(np.argmax(far <= far.min() + 1e-9)), 2])


def _chain(path: Path) -> BaseGeometry:
    pts = [q for r in path.runs for q in r.points(0.05)]
    return shapely.LineString(pts) if len(set(pts)) > 1 else shapely.Point(pts[0])


def _join(parts: NDArray[np.object_]) -> BaseGeometry:
    if len(parts) == 0:
        return EMPTY
    if len(parts) == 1:
        one: BaseGeometry = parts[0]
        return one
    joined: BaseGeometry = shapely.union_all(parts)
    return joined


def _plunge(path: Path) -> bool:
    return all(r.length == 0.0 for r in path.runs)


def levels(cuts: Cuts, design: Sequence[float], low: float) -> list[Level]:
    """Height intervals between all depths that matter, from ``low`` to the metal's top."""
    sure = {z for z in design if low < z < cuts.top} | {low, cuts.top}
    more: set[float] = set()
    deepest: dict[object, float] = {}
    for p, b in zip(cuts.paths, cuts.bodies, strict=True):
        if _plunge(p):
            spot = (*p.runs[0].start, b)
            deepest[spot] = min(p.low, deepest.get(spot, math.inf))
    for k, p in enumerate(cuts.paths):
        flat = [r.z0 for r in p.runs if r.z0 == r.z1 and r.length > 0.0]
        sure.update(z for z in flat if z > low)
        if _plunge(p) and p.low > deepest[(*p.runs[0].start, cuts.bodies[k])]:
            continue  # a peck: the hole's bottom speaks for it
        if not flat:
            more.add(p.low)
        full = cuts.bodies[k].full
        if full > 0.0:
            more.update(p.low + full * s for s in _GROWTH)
    found = sorted(sure)
    extra = _thinned(sorted(z for z in more if low < z < cuts.top), sorted({low, cuts.top, *design}))
    room = max(0, LIMITS["reading"]["levels_max"] - len(found))
    if len(extra) > room:
        extra = [extra[round(k * (len(extra) - 1) / max(1, room - 1))] for k in range(room)]
    out: list[float] = []
    for z in sorted({*found, *extra}):
        if not out or z - out[-1] > 1e-7:
            out.append(z)
    return [Level(a, b) for a, b in pairwise(out)]


def _thinned(heights: Sequence[float], design: Sequence[float]) -> list[float]:
    """Lowest points of ramps and tips: all near heights of the design, the others thinned out.

    What a move sweeps at one height it sweeps above too, so a gouge between two levels shows in the next
    one up; only where a floor is measured must no height be left out.
    """
    near, apart = LIMITS["reading"]["levels_near"], LIMITS["reading"]["levels_apart"]
    ends = np.array(design)
    out: list[float] = []
    last = -math.inf
    for z in heights:
        if np.abs(ends - z).min() <= near or z - last >= apart:
            out.append(z)
            last = z
    return out
