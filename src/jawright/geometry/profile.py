"""Closed chains of lines and arcs, and regions made of them."""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import cached_property

from jawright.errors import JawrightError
from jawright.geometry.curve import Arc, Curve, Line, Point, box, move_all

JOIN = 1e-6
"""Largest gap [mm] between one curve's end and the next one's start in a valid profile."""


@dataclass(frozen=True)
class Profile:
    """A closed chain of lines and arcs in the XY plane [mm].

    Each curve starts where the one before ends; the last ends where the first starts.
    Counter-clockwise chains bound material (outward normal to the right of travel).
    """

    curves: tuple[Curve, ...]

    def __post_init__(self) -> None:
        if len(self.curves) < 2:
            raise JawrightError("geometry", what="an outline needs at least two curves")
        for a, b in zip(self.curves, self.curves[1:] + self.curves[:1], strict=True):
            gap = math.dist(a.end, b.start)
            if gap > JOIN:
                raise JawrightError(
                    "geometry",
                    what=f"the outline has a gap of {gap:.6g} mm",
                    where=f"at ({a.end[0]:.4f}, {a.end[1]:.4f}) mm",
                )

    @property
    def area(self) -> float:
        """Signed area [mm²], positive counter-clockwise. Green's theorem, exact for arcs."""
        ox, oy = self.curves[0].start  # about a point of the chain, so far-off outlines keep digits
        total = 0.0
        for c in self.curves:
            (x0, y0), (x1, y1) = c.start, c.end
            total += 0.5 * ((x0 - ox) * (y1 - oy) - (x1 - ox) * (y0 - oy))
            if isinstance(c, Arc):
                s = c.sweep
                total += 0.5 * c.radius**2 * (s - math.sin(s))
        return total

    @property
    def perimeter(self) -> float:
        """Length round the chain [mm]."""
        return math.fsum(c.length for c in self.curves)

    @cached_property
    def box(self) -> tuple[float, float, float, float]:
        """``(x_min, y_min, x_max, y_max)`` [mm], exact; kept, as it is asked for again and again."""
        b = [box(c) for c in self.curves]
        return (min(q[0] for q in b), min(q[1] for q in b), max(q[2] for q in b), max(q[3] for q in b))

    def reversed(self) -> Profile:
        """The same outline run the other way."""
        return Profile(tuple(c.reversed() for c in reversed(self.curves)))

    def counterclockwise(self) -> Profile:
        """The same outline, run counterclockwise."""
        return self if self.area > 0 else self.reversed()

    def moved(self, *, turn: float = 0.0, shift: Point = (0.0, 0.0)) -> Profile:
        """Turned by ``turn`` [rad] about the origin, then shifted [mm]."""
        return Profile(tuple(move_all(self.curves, turn=turn, shift=shift)))

    def points(self, chord: float = 0.01) -> list[Point]:
        """Corners of a polygon whose arcs deviate at most ``chord`` [mm] (for drawing and coarse tests)."""
        out: list[Point] = []
        least = 1 if len(self.curves) > 2 else 3  # chords of an arc: a segment or a circle has corners too
        cos, sin = math.cos, math.sin
        for c in self.curves:
            if isinstance(c, Line):
                out.append(c.start)
                continue
            r, (a, sweep), (cx, cy) = c.radius, c.turned, c.center
            step = 2 * math.acos(max(-1.0, 1 - chord / r)) if chord < r else math.pi / 2
            n = max(least, math.ceil(abs(sweep) / step))
            out.append(c.start)
            # the same sums as ``Arc.at``: most of the time of a search went into these points
            out += [(cx + r * cos(b), cy + r * sin(b)) for b in [a + k / n * sweep for k in range(1, n)]]
        return out


@dataclass(frozen=True, slots=True)
class Region:
    """Material between one counter-clockwise outer profile and clockwise holes [mm]."""

    outer: Profile
    holes: tuple[Profile, ...] = ()

    @property
    def area(self) -> float:
        """Area [mm²]."""
        return self.outer.area + sum(h.area for h in self.holes)

    def moved(self, *, turn: float = 0.0, shift: Point = (0.0, 0.0)) -> Region:
        """Turned about the origin by ``turn`` [rad], then shifted [mm]."""
        return Region(
            self.outer.moved(turn=turn, shift=shift),
            tuple(h.moved(turn=turn, shift=shift) for h in self.holes),
        )


def rectangle(x0: float, y0: float, x1: float, y1: float) -> Profile:
    """Counter-clockwise upright rectangle [mm]."""
    p = [(x0, y0), (x1, y0), (x1, y1), (x0, y1)]
    return Profile(tuple(Line(p[i], p[(i + 1) % 4]) for i in range(4)))


def circle(center: Point, radius: float) -> Profile:
    """Counter-clockwise full circle as two arcs [mm]."""
    a, b = (center[0] + radius, center[1]), (center[0] - radius, center[1])
    return Profile((Arc(a, b, center, True), Arc(b, a, center, True)))
