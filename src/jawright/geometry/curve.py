"""Line and arc values: the only curves a profile is made of.

Points are plain ``(x, y)`` tuples [mm]. An arc keeps its two ends and its center, as
a G2/G3 block with I and J does, so that chains close exactly at shared points.
"""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass

Point = tuple[float, float]


@dataclass(frozen=True, slots=True)
class Line:
    """A straight run from ``start`` to ``end`` [mm]."""

    start: Point
    end: Point

    @property
    def length(self) -> float:
        """Length [mm]."""
        return math.dist(self.start, self.end)

    def tangent(self, t: float = 0.0) -> Point:  # noqa: ARG002 (same call for both curves)
        """Unit direction of travel at share ``t`` of the length."""
        n = self.length
        return ((self.end[0] - self.start[0]) / n, (self.end[1] - self.start[1]) / n)

    def at(self, t: float) -> Point:
        """Point at share ``t`` (0 at the start, 1 at the end) of the length [mm]."""
        return (
            self.start[0] + t * (self.end[0] - self.start[0]),
            self.start[1] + t * (self.end[1] - self.start[1]),
        )

    def spread(self, shares: Iterable[float]) -> list[Point]:
        """The points at these shares of the length [mm]."""
        return [self.at(t) for t in shares]

    def reversed(self) -> Line:
        """The same line from its end to its start."""
        return Line(self.end, self.start)


@dataclass(frozen=True, slots=True)
class Arc:
    """An arc of a circle from ``start`` to ``end`` about ``center`` [mm].

    ``ccw`` tells the direction of travel. Start and end must differ: a full circle is
    two arcs. The radius is measured at the start.
    """

    start: Point
    end: Point
    center: Point
    ccw: bool

    @property
    def radius(self) -> float:
        """Radius [mm]."""
        return math.dist(self.start, self.center)

    @property
    def start_angle(self) -> float:
        """Direction from the center to the start [rad], in (-pi, pi]."""
        return math.atan2(self.start[1] - self.center[1], self.start[0] - self.center[0])

    @property
    def sweep(self) -> float:
        """Signed swept angle [rad]: positive counter-clockwise, never zero."""
        return _turned(self)[1]

    @property
    def turned(self) -> tuple[float, float]:
        """``start_angle`` and ``sweep`` together [rad]."""
        return _turned(self)

    @property
    def length(self) -> float:
        """Length along the arc [mm]."""
        return self.radius * abs(self.sweep)

    def tangent(self, t: float = 0.0) -> Point:
        """Unit direction of travel at share ``t`` of the length."""
        first, sweep = _turned(self)
        a, s = first + t * sweep, 1.0 if self.ccw else -1.0
        return (-s * math.sin(a), s * math.cos(a))

    def at(self, t: float) -> Point:
        """Point at share ``t`` (0 at the start, 1 at the end) of the length [mm]."""
        if t == 0.0:
            return self.start
        if t == 1.0:
            return self.end
        (cx, cy), (sx, sy) = self.center, self.start
        first, sweep = _turned(self)
        a, r = first + t * sweep, math.dist((sx, sy), (cx, cy))
        return (cx + r * math.cos(a), cy + r * math.sin(a))

    def spread(self, shares: Iterable[float]) -> list[Point]:
        """The points at these shares of the length [mm]: ``at`` for each, bit for bit, only quicker."""
        (a, sweep), r, (cx, cy) = _turned(self), self.radius, self.center
        cos, sin = math.cos, math.sin
        every = list(shares)
        out = [(cx + r * cos(b), cy + r * sin(b)) for b in [a + t * sweep for t in every]]
        if every and every[0] == 0.0:
            out[0] = self.start
        if every and every[-1] == 1.0:
            out[-1] = self.end
        if 0.0 in every[1:] or 1.0 in every[:-1]:
            return [self.at(t) for t in every]
        return out

    def reversed(self) -> Arc:
        """The same arc from its end to its start."""
        return Arc(self.end, self.start, self.center, not self.ccw)


Curve = Line | Arc
FULL = 2 * math.pi
QUARTERS = tuple((k * math.pi / 2, (1, 0, -1, 0)[k], (0, 1, 0, -1)[k]) for k in range(4))


def _turned(arc: Arc) -> tuple[float, float]:
    """Start angle and signed sweep of an arc [rad], together: both are asked for very often."""
    (cx, cy), (sx, sy), (ex, ey) = arc.center, arc.start, arc.end
    a, b = math.atan2(sy - cy, sx - cx), math.atan2(ey - cy, ex - cx)
    if arc.ccw:
        return a, (b - a) % FULL or FULL
    return a, -((a - b) % FULL) or -FULL


def right_normal(curve: Curve, t: float) -> Point:
    """Unit normal to the right of travel: outward on a counter-clockwise chain."""
    tx, ty = curve.tangent(t)
    return (ty, -tx)


def started(curve: Curve, start: Point) -> Curve:
    """The curve with its start moved a hair, to close a chain exactly."""
    return (
        Line(start, curve.end) if isinstance(curve, Line) else Arc(start, curve.end, curve.center, curve.ccw)
    )


def move(curve: Curve, *, turn: float = 0.0, shift: Point = (0.0, 0.0)) -> Curve:
    """The curve turned by ``turn`` [rad] about the origin, then shifted [mm]."""
    return move_all((curve,), turn=turn, shift=shift)[0]


def move_all(curves: Iterable[Curve], *, turn: float = 0.0, shift: Point = (0.0, 0.0)) -> list[Curve]:
    """The curves turned by ``turn`` [rad] about the origin, then shifted [mm]."""
    c, s, (x, y) = math.cos(turn), math.sin(turn), shift
    out: list[Curve] = []
    for curve in curves:
        (ax, ay), (bx, by) = curve.start, curve.end
        start, end = (c * ax - s * ay + x, s * ax + c * ay + y), (c * bx - s * by + x, s * bx + c * by + y)
        if isinstance(curve, Line):
            out.append(Line(start, end))
        else:
            mx, my = curve.center
            out.append(Arc(start, end, (c * mx - s * my + x, s * mx + c * my + y), curve.ccw))
    return out


def box(curve: Curve) -> tuple[float, float, float, float]:
    """Smallest upright box ``(x_min, y_min, x_max, y_max)`` [mm] round the curve, exact for arcs."""
    (x0, y0), (x1, y1) = curve.start, curve.end
    if x1 < x0:
        x0, x1 = x1, x0
    if y1 < y0:
        y0, y1 = y1, y0
    if isinstance(curve, Line):
        return (x0, y0, x1, y1)
    (a, sweep), r, (cx, cy) = _turned(curve), curve.radius, curve.center
    for q, cos, sin in QUARTERS:
        along = (q - a) % FULL if sweep > 0 else (a - q) % FULL
        if along <= abs(sweep):
            x, y = cx + r * cos, cy + r * sin
            x0, y0, x1, y1 = min(x0, x), min(y0, y), max(x1, x), max(y1, y)
    return (x0, y0, x1, y1)
