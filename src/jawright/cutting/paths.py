"""Tool-center moves: the values a path is made of, and the trail that strings them together.

Everything is in the vise frame, mm and mm/min. Only ``words`` knows program axes and units.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from typing import Literal

from jawright.geometry.curve import Arc, Curve, Line, Point

SLOWEST = 0.3
"""Smallest share of the feed left on tight inside arcs and in inside corners (common practice, no source)."""

SETTLE = 0.5
"""Height [mm] above a cut floor from which the cutter is let down slowly."""

CORNER = math.radians(30)
"""A left turn sharper than this is treated as an inside corner: the feed drops before it."""


@dataclass(frozen=True, slots=True)
class Step:
    """One move of the tool center to ``end`` [mm]; arcs turn about ``center`` and may sink on the way."""

    kind: Literal["rapid", "line", "arc"]
    end: tuple[float, float, float]
    feed: float = 0.0  # [mm/min], 0 for rapids
    center: Point = (0.0, 0.0)
    ccw: bool = True
    comp: int = 0  # a straight move that turns radius compensation on with this D number, or off: -1


@dataclass(frozen=True, slots=True)
class Heights:
    """Z levels of safe moves [mm]: ``clear`` above everything, ``hop`` just above all metal."""

    clear: float
    hop: float


@dataclass(slots=True)
class Trail:
    """Moves in the order they are made. The first must be a rapid at the clear height."""

    heights: Heights
    link: float  # feed of moves through air below the clear height [mm/min]
    steps: list[Step] = field(default_factory=list)
    at: tuple[float, float, float] | None = None

    def _add(self, step: Step) -> None:
        if self.at is None or math.dist(self.at, step.end) > 1e-9 or step.kind == "arc":
            self.steps.append(step)
            self.at = step.end

    @property
    def xy(self) -> Point:
        """Where the cutter is in plan [mm]."""
        assert self.at is not None
        return self.at[0], self.at[1]

    def over(self, p: Point) -> None:
        """Go above ``p`` at the clear height, then down to just above the metal, all in air."""
        if self.at is not None:
            self._add(Step("rapid", (self.at[0], self.at[1], self.heights.clear)))
        self._add(Step("rapid", (*p, self.heights.clear)))
        self._add(Step("rapid", (*p, self.heights.hop)))

    def hop(self, p: Point) -> None:
        """Go above ``p`` just above the metal."""
        if self.at is None or self.at[2] > self.heights.hop + 1e-9:
            self.over(p)
            return
        self._add(Step("rapid", (self.at[0], self.at[1], self.heights.hop)))
        self._add(Step("rapid", (*p, self.heights.hop)))

    def up(self) -> None:
        """Back to the clear height."""
        if self.at is not None:
            self._add(Step("rapid", (self.at[0], self.at[1], self.heights.clear)))

    def down(self, z: float, feed: float) -> None:
        """Straight down (or up) at a feed."""
        assert self.at is not None
        self._add(Step("line", (self.at[0], self.at[1], z), feed))

    def settle(self, z: float, feed: float, *, through: float) -> None:
        """Straight down at feed ``through``, at ``feed`` for the last ``SETTLE``."""
        if self.at is not None and self.at[2] > z + SETTLE:
            self.down(z + SETTLE, through)
        self.down(z, feed)

    def line(self, p: Point, feed: float, z: float | None = None) -> None:
        """Straight to ``p`` at the present height, or sinking to ``z``."""
        assert self.at is not None
        self._add(Step("line", (*p, self.at[2] if z is None else z), feed))

    def compensate(self, p: Point, feed: float, d: int) -> None:
        """Straight to ``p``, turning radius compensation on with number ``d``, or off with -1."""
        assert self.at is not None
        self._add(Step("line", (*p, self.at[2]), feed, comp=d))

    def curve(self, c: Curve, feed: float, z: float | None = None) -> None:
        """Along a curve that starts where the tool is."""
        assert self.at is not None
        height = self.at[2] if z is None else z
        if isinstance(c, Line):
            self._add(Step("line", (*c.end, height), feed))
        else:
            self._add(Step("arc", (*c.end, height), feed, c.center, c.ccw))

    def chain(self, curves: Iterable[Curve], feed: float, *, radius: float) -> None:
        """Along curves at the present height; the feed drops on inside arcs and before inside corners."""
        for c, share in eased(list(curves), radius=radius):
            self.curve(c, feed * share)

    def sink(self, curves: Sequence[Curve], feed: float, z: float) -> None:
        """Along curves while sinking evenly to ``z``."""
        assert self.at is not None
        z0 = self.at[2]
        total = math.fsum(c.length for c in curves)
        done = 0.0
        for c in curves:
            done += c.length
            self.curve(c, feed, z0 + (z - z0) * done / total)

    def sink_eased(self, curves: Sequence[Curve], feed: float, z: float, *, radius: float) -> None:
        """Along curves while sinking evenly to ``z``, slower on inside arcs and before inside corners."""
        assert self.at is not None
        z0 = self.at[2]
        parts = eased(list(curves), radius=radius)
        total = math.fsum(c.length for c, _ in parts)
        done = 0.0
        for c, share in parts:
            done += c.length
            self.curve(c, feed * share, z0 + (z - z0) * done / total)


def eased(curves: list[Curve], *, radius: float) -> list[tuple[Curve, float]]:
    """Curves of a climb-cut path with the share of the feed each is run at.

    On an inside arc the cutting edge travels faster than the center: the center's feed is
    the edge's times rho / (rho + radius), rho the radius of the center's path (the plain ratio of
    the two circles), never below ``SLOWEST``. Before a sharp inside corner the last
    half radius is run slow, because the wall ahead comes into the cut there.
    """
    out: list[tuple[Curve, float]] = []
    for i, c in enumerate(curves):
        share = 1.0
        if isinstance(c, Arc) and c.ccw:
            share = max(SLOWEST, c.radius / (c.radius + radius))
        after = curves[i + 1] if i + 1 < len(curves) else None
        if after is not None and isinstance(c, Line) and _turn(c, after) > CORNER and c.length > 1e-6:
            keep = 1.0 - min(1.0, 0.5 * radius / c.length)
            a, b = split(c, keep) if keep > 1e-6 else (None, c)
            if a is not None:
                out.append((a, share))
            out.append((b, 0.5))
            continue
        out.append((c, share))
    return out


def _turn(a: Curve, b: Curve) -> float:
    """Left turn [rad] from the end of ``a`` to the start of ``b``."""
    (ax, ay), (bx, by) = a.tangent(1.0), b.tangent(0.0)
    return math.atan2(ax * by - ay * bx, ax * bx + ay * by)


def split(c: Curve, t: float) -> tuple[Curve, Curve]:
    """The curve in two at share ``t``."""
    p = c.at(t)
    if isinstance(c, Line):
        return Line(c.start, p), Line(p, c.end)
    return Arc(c.start, p, c.center, c.ccw), Arc(p, c.end, c.center, c.ccw)


def starting_at(curves: Sequence[Curve], index: int, t: float) -> list[Curve]:
    """The closed chain begun at share ``t`` of curve ``index``."""
    if t <= 1e-9:
        return [*curves[index:], *curves[:index]]
    if t >= 1 - 1e-9:
        return [*curves[index + 1 :], *curves[: index + 1]]
    a, b = split(curves[index], t)
    return [b, *curves[index + 1 :], *curves[:index], a]


def nearest(curves: Sequence[Curve], p: Point) -> tuple[int, float]:
    """Curve and share of the point of a chain that is nearest to ``p``."""
    best = (math.inf, 0, 0.0)
    for i, c in enumerate(curves):
        for t in (0.0, 1.0, _foot(c, p)):
            d = math.dist(c.at(t), p)
            if d < best[0] - 1e-9:
                best = (d, i, t)
    return best[1], best[2]


def _foot(c: Curve, p: Point) -> float:
    """Share at which the curve is nearest to ``p`` when that is not an end."""
    if c.length < 1e-9:
        return 0.0
    if isinstance(c, Line):
        (x, y), (u, v) = c.start, c.end
        along = (p[0] - x) * (u - x) + (p[1] - y) * (v - y)
        return min(1.0, max(0.0, along / c.length**2))
    turn = math.atan2(p[1] - c.center[1], p[0] - c.center[0]) - c.start_angle
    t = (turn % math.tau if c.ccw else -((-turn) % math.tau)) / c.sweep
    return t if t <= 1.0 else 0.0


def first(curves: Sequence[Curve], length: float) -> list[Curve]:
    """The beginning of a chain, ``length`` [mm] long (all of it when it is shorter)."""
    out: list[Curve] = []
    for c in curves:
        n = c.length
        if n >= length:
            if length > 1e-6:
                out.append(split(c, length / n)[0] if length < n - 1e-9 else c)
            break
        out.append(c)
        length -= n
    return out


def minutes(steps: Sequence[Step], *, rapid: float) -> float:
    """Time of the moves [min] at their feeds and the machine's rapid [mm/min], without acceleration."""
    total, at = 0.0, None
    for s in steps:
        if at is not None:
            total += length(at, s) / (rapid if s.kind == "rapid" else s.feed)
        at = s.end
    return total


def length(at: tuple[float, float, float], s: Step) -> float:
    """Length [mm] of the move from ``at``."""
    if s.kind != "arc":
        return math.dist(at, s.end)
    plan = Arc((at[0], at[1]), (s.end[0], s.end[1]), s.center, s.ccw).length
    return math.hypot(plan, s.end[2] - at[2])
