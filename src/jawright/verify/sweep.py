"""The area a round cutter sweeps in the plane, built directly as polygons.

A straight run sweeps a capsule, an arc a ring sector with round ends. Corners of the
polygons lie on the true outline, so a swept area is never too large, and too small by at
most ``SAGITTA``.

Lengths in mm, feeds in mm/min, speeds in rev/min.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cache

import numpy as np
import shapely
from numpy.typing import NDArray

from jawright.verify.words import LIMITS

SAGITTA: float = LIMITS["metal"]["sagitta"]
Flat = tuple[float, float]
Ring = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Run:
    """A stretch of tip path: a point, a line, or an arc about ``center``; tip height is linear in it."""

    start: Flat
    end: Flat
    z0: float
    z1: float
    center: Flat | None = None
    start_angle: float = 0.0
    sweep: float = 0.0

    @property
    def radius(self) -> float:
        """Radius of an arc, 0 for a line [mm]."""
        return 0.0 if self.center is None else math.dist(self.start, self.center)

    @property
    def low(self) -> float:
        """Lowest height of the move [mm]."""
        return min(self.z0, self.z1)

    @property
    def length(self) -> float:
        """Length in plan [mm]."""
        if self.center is None:
            return math.dist(self.start, self.end)
        return self.radius * abs(self.sweep)

    def at(self, t: float) -> Flat:
        """Place at share ``t`` of the run [mm]."""
        if self.center is None:
            return (
                self.start[0] + t * (self.end[0] - self.start[0]),
                self.start[1] + t * (self.end[1] - self.start[1]),
            )
        a, r = self.start_angle + t * self.sweep, self.radius
        return (self.center[0] + r * math.cos(a), self.center[1] + r * math.sin(a))

    def part(self, t0: float, t1: float) -> Run:
        """The stretch between two shares of the run."""
        dz = self.z1 - self.z0
        start = self.start if t0 == 0.0 else self.at(t0)
        end = self.end if t1 == 1.0 else self.at(t1)
        a = self.start_angle + t0 * self.sweep
        return Run(start, end, self.z0 + t0 * dz, self.z0 + t1 * dz, self.center, a, (t1 - t0) * self.sweep)

    def below(self, z: float) -> Run | None:
        """The stretch whose tip is lower than ``z`` [mm]; None when there is none."""
        if self.low >= z:
            return None
        if max(self.z0, self.z1) <= z:
            return self
        t = (z - self.z0) / (self.z1 - self.z0)
        return self.part(0.0, t) if self.z0 < z else self.part(t, 1.0)

    def points(self, chord: float = 0.002) -> list[Flat]:
        """Corners of a chain that stays within ``chord`` [mm] of the run."""
        if self.center is None:
            return [self.start, self.end]
        n = _steps(self.radius, abs(self.sweep), chord)
        return [self.at(k / n) for k in range(n + 1)]


def _steps(radius: float, angle: float, sagitta: float = SAGITTA) -> int:
    if radius <= sagitta:
        return max(1, math.ceil(angle / (math.pi / 2)))
    return max(1, math.ceil(angle / (2 * math.acos(1 - sagitta / radius))))


@cache
def _shares(n: int) -> NDArray[np.float64]:
    return np.arange(n + 1) / n


def arc_points(center: Flat, radius: float, a0: float, a1: float) -> Ring:
    """Points on an arc from angle ``a0`` to ``a1``, both ends included. Shape (n, 2) [mm]."""
    a = a0 + (a1 - a0) * _shares(_steps(radius, abs(a1 - a0)))
    out = np.empty((len(a), 2))
    np.cos(a, out=out[:, 0])
    np.sin(a, out=out[:, 1])
    out *= radius
    out += center
    return out


def disc(center: Flat, radius: float) -> Ring:
    """Ring of a full circle, shape (n, 2) [mm]."""
    return arc_points(center, radius, 0.0, 2 * math.pi)[:-1]


def capsule(start: Flat, end: Flat, radius: float) -> Ring:
    """Ring of the area within ``radius`` of a straight run, shape (n, 2) [mm]."""
    if start == end:
        return disc(start, radius)
    a = math.atan2(end[1] - start[1], end[0] - start[0])
    half = arc_points((0.0, 0.0), radius, a - math.pi / 2, a + math.pi / 2)
    return np.concatenate((half + end, start - half))


def taper(start: Flat, end: Flat, r0: float, r1: float) -> Ring:
    """Ring of all discs on a straight run, radius linear from ``r0`` to ``r1``, shape (n, 2) [mm]."""
    d = math.dist(start, end)
    if abs(r0 - r1) >= d - 1e-12:
        return disc(start, r0) if r0 >= r1 else disc(end, r1)
    a = math.atan2(end[1] - start[1], end[0] - start[0])
    q = math.acos((r0 - r1) / d)
    parts = [arc_points(end, r1, a - q, a + q)] if r1 > 0.0 else [np.array([end])]
    parts.append(arc_points(start, r0, a + q, a + 2 * math.pi - q) if r0 > 0.0 else np.array([start]))
    return np.concatenate(parts)


def sector(run: Run, radius: float) -> list[Ring]:
    """Rings whose union is the area within ``radius`` of an arc run, each simple. Shape (n, 2) [mm]."""
    assert run.center is not None
    rho = run.radius
    if abs(run.sweep) >= 2 * math.pi - 1e-12 and rho <= radius:
        return [disc(run.center, rho + radius)]
    n = max(1, math.ceil(abs(run.sweep) / math.pi - 1e-9))
    if rho > radius:
        return [_wide(run.part(k / n, (k + 1) / n), rho, radius) for k in range(n)]
    return [_tight(run.part(k / n, (k + 1) / n), rho, radius) for k in range(n)]


def _ordered(run: Run) -> tuple[float, float]:
    a, b = run.start_angle, run.start_angle + run.sweep
    return (a, b) if b >= a else (b, a)


def _place(center: Flat, rho: float, a: float) -> Flat:
    return (center[0] + rho * math.cos(a), center[1] + rho * math.sin(a))


def _wide(run: Run, rho: float, radius: float) -> Ring:
    """Half a turn or less, path radius larger than the cutter's: a ring sector with two round ends."""
    c, (lo, hi) = run.center or (0.0, 0.0), _ordered(run)
    return np.concatenate(
        (
            arc_points(c, rho + radius, lo, hi),
            arc_points(_place(c, rho, hi), radius, hi, hi + math.pi)[1:-1],
            arc_points(c, rho - radius, hi, lo),
            arc_points(_place(c, rho, lo), radius, lo + math.pi, lo + 2 * math.pi)[1:-1],
        )
    )


def _tight(run: Run, rho: float, radius: float) -> Ring:
    """Half a turn or less, path radius not larger than the cutter's: seen from the center a star.

    The two end circles meet on the inner bisector, at the angle computed here.
    """
    c, (lo, hi) = run.center or (0.0, 0.0), _ordered(run)
    half = (hi - lo) / 2
    mid = lo + half
    inward = math.sqrt(max(0.0, radius**2 - (rho * math.sin(half)) ** 2)) - rho * math.cos(half)
    meet = (c[0] - inward * math.cos(mid), c[1] - inward * math.sin(mid))
    e, s = _place(c, rho, hi), _place(c, rho, lo)
    to_meet = hi + (math.atan2(meet[1] - e[1], meet[0] - e[0]) - hi) % (2 * math.pi)
    from_meet = lo - (lo - math.atan2(meet[1] - s[1], meet[0] - s[0])) % (2 * math.pi)
    return np.concatenate(
        (
            arc_points(c, rho + radius, lo, hi),
            arc_points(e, radius, hi, to_meet)[1:],
            arc_points(s, radius, from_meet, lo)[1:-1],
        )
    )


def swept(run: Run, radius: float) -> list[Ring]:
    """Rings of the area within ``radius`` [mm] of the run's plan."""
    if radius <= 0.0:
        return []
    if run.center is None:
        return [capsule(run.start, run.end, radius)]
    return sector(run, radius)


def polygons(rings: Sequence[Ring]) -> NDArray[np.object_]:
    """Polygons of many rings at once."""
    if not rings:
        return np.empty(0, dtype=object)
    coords = np.concatenate(rings)
    index = np.repeat(np.arange(len(rings)), [len(r) for r in rings])
    out: NDArray[np.object_] = shapely.polygons(shapely.linearrings(coords, indices=index))
    return out
