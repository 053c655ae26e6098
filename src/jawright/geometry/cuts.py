"""Where chains of lines and arcs meet an upright or level line: for sections and for front faces.

Lengths in mm, angles in rad.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from itertools import pairwise

from jawright.geometry.curve import Arc, Curve, Line
from jawright.geometry.profile import Profile, Region

NEAR = 1e-9


def crossings(curve: Curve, axis: int, value: float) -> list[float]:
    """Shares of the curve's length, ends left out, where coordinate ``axis`` (0 X, 1 Y) is ``value`` [mm]."""
    if isinstance(curve, Line):
        a, b = curve.start[axis], curve.end[axis]
        if abs(b - a) < NEAR:
            return []
        t = (value - a) / (b - a)
        return [t] if NEAR < t < 1 - NEAR else []
    d = (value - curve.center[axis]) / curve.radius
    if abs(d) >= 1:
        return []
    base = math.acos(d) if axis == 0 else math.asin(d)
    angles = (base, -base) if axis == 0 else (base, math.pi - base)
    out = []
    for a in angles:
        ahead = (a - curve.start_angle) % (2 * math.pi)
        t = ahead / curve.sweep if curve.sweep > 0 else (2 * math.pi - ahead) / -curve.sweep
        if NEAR < t < 1 - NEAR:
            out.append(t)
    return sorted(out)


def piece(curve: Curve, t0: float, t1: float) -> Curve:
    """The run of a curve between two shares of its length."""
    a, b = curve.at(t0), curve.at(t1)
    return Line(a, b) if isinstance(curve, Line) else Arc(a, b, curve.center, curve.ccw)


def split(curves: tuple[Curve, ...], axis: int, values: tuple[float, ...]) -> list[Curve]:
    """The chain with a joint wherever it crosses one of the lines."""
    out: list[Curve] = []
    for c in curves:
        ts = sorted({0.0, 1.0, *(t for v in values for t in crossings(c, axis, v))})
        out.extend(piece(c, a, b) for a, b in pairwise(ts))
    return out


def runs_at(region: Region, axis: int, value: float) -> list[tuple[float, float]]:
    """Ranges of the other coordinate in which the line ``axis`` = ``value`` lies inside the region [mm]."""
    shifted = value + 1e-7  # off any joint that lies just on the line
    hits: list[float] = []
    for p in (region.outer, *region.holes):
        hits += profile_hits(p, axis, shifted)
    hits.sort()
    return [(a, b) for a, b in zip(hits[::2], hits[1::2], strict=False)]


def profile_hits(profile: Profile, axis: int, value: float) -> list[float]:
    """Where an outline crosses a level of one axis: the other coordinate of each crossing [mm]."""
    return [c.at(t)[1 - axis] for c in profile.curves for t in crossings(c, axis, value)]


def skyline(
    lines: Sequence[float], cuts: Sequence[tuple[float, float, float]], top: float
) -> list[tuple[float, float, float]]:
    """Level pieces (from, to, height) of a top after ``cuts`` (from, to, bottom), between ``lines`` [mm]."""
    out: list[tuple[float, float, float]] = []
    for a, b in pairwise(lines):
        mid = (a + b) / 2
        z = min([top, *(bottom for lo, hi, bottom in cuts if lo < mid < hi)])
        if out and abs(out[-1][2] - z) < 1e-9:
            out[-1] = (out[-1][0], b, z)
        else:
            out.append((a, b, z))
    return out
