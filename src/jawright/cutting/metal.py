"""What metal is left in plan while a path is being made: engagement, and whether a pass cuts at all.

This is the writer's own bookkeeping, good to some hundredths of a millimeter. It decides
what passes are worth making and how deep; it proves nothing.

Lengths in mm, feeds in mm/min, speeds in rev/min.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from functools import lru_cache

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.geometry import LineString, Polygon

from jawright.geometry.curve import Arc, Curve, Point
from jawright.geometry.offset import offset, opening
from jawright.geometry.profile import Region

Floats = NDArray[np.float64]
Bools = NDArray[np.bool_]
Pass = tuple[tuple[Curve, ...], float]
"""A chain of curves, and the radius of the cutter that runs along it."""

CHORD = 0.002
"""Chord error [mm] of outlines turned to polygons here: far below the stock left in roughing."""

GRID = 1e-5
"""Grid [mm] that the plan is snapped to where floating point fails the polygon engine."""

RAYS = 64
"""Directions in which the cutter's front half is asked for metal."""


@lru_cache(maxsize=1024)
def polygon(region: Region) -> Polygon:
    """The region as a polygon."""
    return Polygon(region.outer.points(CHORD), [h.points(CHORD) for h in region.holes])


def union(regions: Sequence[Region]) -> shapely.Geometry:
    """Several regions as one polygon geometry; empty for none."""
    return shapely.union_all([polygon(r) for r in regions]) if regions else Polygon()


def points(curves: Sequence[Curve], step: float) -> list[Point]:
    """Points along curves at most ``step`` [mm] apart, ends included."""
    out: list[Point] = []
    for c in curves:
        n = max(1, math.ceil(c.length / step))
        if isinstance(c, Arc):
            n = max(n, math.ceil(abs(c.sweep) / 0.15))
        out.extend(c.at(k / n) for k in range(n))
    out.append(curves[-1].end)
    return out


@lru_cache(maxsize=1024)
def _swept(curves: tuple[Curve, ...], radius: float) -> shapely.Geometry:
    """What a cutter sweeps; a pass is asked for again when it is tried, judged and at last made."""
    swept = LineString(points(curves, 2.0)).buffer(radius, quad_segs=32)
    if swept.is_valid:
        return swept
    # the polygon engine may fold a path that crosses itself: curve by curve it does not
    return shapely.union_all([LineString(points([c], 2.0)).buffer(radius, quad_segs=32) for c in curves])


@lru_cache(maxsize=1024)
def shrunk(region: Region, d: float) -> tuple[Region, ...]:
    """Where the center of a cutter of radius ``d`` [mm] may go in a region."""
    return offset(region, -d)


@lru_cache(maxsize=256)
def opened(regions: tuple[Region, ...], d: float) -> tuple[Region, ...]:
    """Regions with corners that point outward rounded to ``d`` [mm]."""
    return tuple(opening(regions, d))


class Standing:
    """Metal in plan at one moment, with what was asked of it: every level of a pocket asks the same again."""

    def __init__(self, shape: shapely.Geometry) -> None:
        shapely.prepare(shape)
        self.shape = shape
        self._met: dict[Pass, float] = {}
        self._engaged: dict[tuple[Pass, float], float] = {}
        self._after: dict[Pass, Standing] = {}

    def met(self, curves: Sequence[Curve], radius: float) -> float:
        """Area [mm²] of metal under a pass."""
        key = (tuple(curves), radius)
        if key not in self._met:
            self._met[key] = float(_swept(*key).intersection(self.shape).area)
        return self._met[key]

    def after(self, curves: Sequence[Curve], radius: float) -> Standing:
        """What stands after a pass."""
        key = (tuple(curves), radius)
        if key not in self._after:
            self._after[key] = Standing(_less(self.shape, _swept(*key)))
        return self._after[key]

    def engaged(self, curves: Sequence[Curve], radius: float, step: float) -> float:
        """Largest engaged angle [rad] along a pass."""
        key = ((tuple(curves), radius), step)
        if key not in self._engaged:
            self._engaged[key] = _engaged(self.shape, *key[0], step)
        return self._engaged[key]


class Metal:
    """Metal in plan, eaten by passes of a round cutter."""

    def __init__(self, shape: shapely.Geometry | Standing, over: shapely.Geometry | None = None) -> None:
        self._now = shape if isinstance(shape, Standing) else Standing(shape)
        self.under(over)  # what still stands at higher levels, in the way of the cutter's flank

    @property
    def shape(self) -> shapely.Geometry:
        """What stands."""
        return self._now.shape

    @property
    def over(self) -> shapely.Geometry | None:
        """What stands at higher levels."""
        return self._over

    def under(self, shape: shapely.Geometry | None) -> None:
        """From now on this stands at higher levels."""
        self._over = None if shape is None or shape.is_empty else shape
        if self._over is not None:
            shapely.prepare(self._over)

    def copy(self) -> Metal:
        """The same metal, to be cut on without touching this one."""
        return Metal(self._now, self.over)

    def becomes(self, shape: shapely.Geometry) -> None:
        """From now on it is this that stands."""
        self._now = Standing(shape)

    def sweep(self, curves: Sequence[Curve], radius: float) -> shapely.Geometry:
        """What a cutter of ``radius`` sweeps along the curves."""
        return _swept(tuple(curves), radius)

    def cut(self, curves: Sequence[Curve], radius: float) -> None:
        """Take away what the cutter sweeps."""
        self._now = self._now.after(curves, radius)

    def touches(self, curves: Sequence[Curve], radius: float, *, least: float = 0.02) -> bool:
        """True when the pass cuts more than ``least`` [mm²] of metal."""
        return self._now.met(curves, radius) > least

    def air(self, at: Sequence[Point], reach: float) -> Bools:
        """True (n,) where no metal is within ``reach`` [mm] of the point, (n, 2)."""
        spots = shapely.points(np.asarray(at, float))
        near = np.asarray(shapely.dwithin(self.shape, spots, reach))
        if self.over is not None:
            near = near | shapely.dwithin(self.over, spots, reach)
        return np.asarray(~near)

    def air_above(self, at: Sequence[Point], reach: float) -> Bools:
        """``air`` of what stands at higher levels alone."""
        if self.over is None:
            return np.ones(len(at), dtype=bool)
        return ~np.asarray(shapely.dwithin(self.over, shapely.points(np.asarray(at, float)), reach))

    def engagement(self, curves: Sequence[Curve], radius: float, *, step: float = 0.5) -> float:
        """Largest engaged angle [rad] along the pass, cutting as it goes; ``self`` is not changed.

        The engaged angle is the part of the cutter's front half, in plan, that is inside metal.
        """
        return self._now.engaged(curves, radius, step)


def _less(shape: shapely.Geometry, swept: shapely.Geometry) -> shapely.Geometry:
    try:
        return shape.difference(swept)
    except shapely.errors.GEOSException:  # nearly coincident edges: snapping to a grid always gives an answer
        return shapely.difference(shape, swept, grid_size=GRID)


def _engaged(shape: shapely.Geometry, curves: tuple[Curve, ...], radius: float, step: float) -> float:
    x0, y0, x1, y1 = _swept(curves, radius).bounds
    work = shapely.clip_by_rect(shape, x0 - 1.0, y0 - 1.0, x1 + 1.0, y1 + 1.0)  # enough, and quicker to cut
    most = 0.0
    for k, c in enumerate(curves):
        if c.length < 1e-9:
            continue
        n = max(1, math.ceil(c.length / step))
        share = (np.arange(n) + 0.5) / n
        at = np.array([c.at(float(t)) for t in share])
        way = np.array([c.tangent(float(t)) for t in share])
        shapely.prepare(work)
        most = max(most, _front(work, at, way, radius))
        if k + 1 < len(curves):
            work = _less(work, _swept((c,), radius))
    return most


def _front(shape: shapely.Geometry, at: Floats, way: Floats, radius: float) -> float:
    """Largest engaged angle [rad] at points ``at`` (n, 2) while moving along ``way`` (n, 2)."""
    a = (np.arange(RAYS) + 0.5) / RAYS * math.pi - math.pi / 2
    heading = np.arctan2(way[:, 1], way[:, 0])[:, None] + a[None, :]
    rim = radius * 0.999  # metal that only touches is not cut
    x = at[:, 0, None] + rim * np.cos(heading)
    y = at[:, 1, None] + rim * np.sin(heading)
    inside = shapely.contains_xy(shape, x.ravel(), y.ravel()).reshape(x.shape)
    return float(inside.sum(axis=1).max()) * math.pi / RAYS
