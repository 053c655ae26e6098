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
from shapely.geometry import LineString, Polygon

from jawright.geometry.curve import Arc, Curve, Point
from jawright.geometry.offset import offset
from jawright.geometry.profile import Region

CHORD = 0.002
"""Chord error [mm] of outlines turned to polygons here: far below the stock left in roughing."""

GRID = 1e-5
"""Grid [mm] that the plan is snapped to where floating point fails the polygon engine."""

RAYS = 64
"""Directions in which the cutter's front half is asked for metal."""


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


class Metal:
    """Metal in plan, eaten by passes of a round cutter."""

    def __init__(self, shape: shapely.Geometry, over: shapely.Geometry | None = None) -> None:
        self.shape = shape
        self.over = over  # what still stands at higher levels, in the way of the cutter's flank
        shapely.prepare(self.shape)

    def copy(self) -> Metal:
        """The same metal, to be cut on without touching this one."""
        return Metal(self.shape, self.over)

    def near(self, curves: Sequence[Curve], radius: float) -> Metal:
        """A copy of what is near the pass: enough to judge it, and quicker to cut."""
        x0, y0, x1, y1 = self.sweep(curves, radius).bounds
        return Metal(shapely.clip_by_rect(self.shape, x0 - 1.0, y0 - 1.0, x1 + 1.0, y1 + 1.0))

    def sweep(self, curves: Sequence[Curve], radius: float) -> shapely.Geometry:
        """What a cutter of ``radius`` sweeps along the curves."""
        return _swept(tuple(curves), radius)

    def cut(self, curves: Sequence[Curve], radius: float) -> None:
        """Take away what the cutter sweeps."""
        swept = self.sweep(curves, radius)
        try:
            self.shape = self.shape.difference(swept)
        except (
            shapely.errors.GEOSException
        ):  # nearly coincident edges: snapping to a grid always gives an answer
            self.shape = shapely.difference(self.shape, swept, grid_size=GRID)
        shapely.prepare(self.shape)

    def touches(self, curves: Sequence[Curve], radius: float, *, least: float = 0.02) -> bool:
        """True when the pass cuts more than ``least`` [mm²] of metal."""
        return bool(self.sweep(curves, radius).intersection(self.shape).area > least)

    def air(self, at: Sequence[Point], radius: float) -> np.ndarray:
        """Air [mm] (n,) between the metal and a cutter of ``radius`` that stands at each point, (n, 2)."""
        spots = shapely.points(np.asarray(at, float))
        here = np.asarray(shapely.distance(self.shape, spots))
        air: np.ndarray = np.fmin(here, self._above(spots)) - radius
        return air

    def air_above(self, at: Point, radius: float) -> float:
        """Air [mm] between a cutter at the point and what stands at higher levels alone."""
        return float(self._above(np.array([shapely.Point(at)]))[0]) - radius

    def _above(self, spots: np.ndarray) -> np.ndarray:
        if self.over is None or self.over.is_empty:
            return np.full(len(spots), np.inf)
        return np.asarray(shapely.distance(self.over, spots))

    def engagement(self, curves: Sequence[Curve], radius: float, *, step: float = 0.5) -> float:
        """Largest engaged angle [rad] along the pass, cutting as it goes; ``self`` is not changed.

        The engaged angle is the part of the cutter's front half, in plan, that is inside metal.
        """
        work = self.near(curves, radius)
        most = 0.0
        for c in curves:
            if c.length < 1e-9:
                continue
            n = max(1, math.ceil(c.length / step))
            share = (np.arange(n) + 0.5) / n
            at = np.array([c.at(float(t)) for t in share])
            way = np.array([c.tangent(float(t)) for t in share])
            most = max(most, work.front(at, way, radius))
            work.cut([c], radius)
        return most

    def front(self, at: np.ndarray, way: np.ndarray, radius: float) -> float:
        """Largest engaged angle [rad] at points ``at`` (n, 2) while moving along ``way`` (n, 2)."""
        a = (np.arange(RAYS) + 0.5) / RAYS * math.pi - math.pi / 2
        heading = np.arctan2(way[:, 1], way[:, 0])[:, None] + a[None, :]
        rim = radius * 0.999  # metal that only touches is not cut
        x = at[:, 0, None] + rim * np.cos(heading)
        y = at[:, 1, None] + rim * np.sin(heading)
        inside = shapely.contains_xy(self.shape, x.ravel(), y.ravel()).reshape(x.shape)
        return float(inside.sum(axis=1).max()) * math.pi / RAYS
