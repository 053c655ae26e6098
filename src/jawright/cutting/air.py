"""Moves through air: what keeps off metal may be quick, and which part of a lap cuts at all.

Lengths in mm, feeds in mm/min, speeds in rev/min.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from itertools import pairwise

import numpy as np

from jawright.cutting.metal import Metal
from jawright.cutting.paths import Trail, first, starting_at
from jawright.geometry.curve import Curve, Line, Point

AIR = 0.1
"""Moves at the link feed keep the cutter this far [mm] from metal; nearer it runs at the cutting feed."""

TOUCH = 0.01
"""Metal [mm] that a cutter let down beside a wall may brush: more is a plunge."""

LOOK = 0.4
"""Distance [mm] between the places of a move that are checked for air."""

SHORT = 2.0
"""A faster stretch shorter than this [mm] is not worth the change of feed."""

PART = 0.6
"""A lap that cuts on less than this share of its length is run only where it cuts."""

BEYOND = 0.5
"""A pass is this much longer at each end [mm] than the metal it cuts asks for."""


def free(metal: Metal, p: Point, radius: float) -> bool:
    """True when a cutter standing at ``p`` meets no metal."""
    return bool(metal.air([p], radius - TOUCH)[0])


def fast(metal: Metal, p: Point, radius: float) -> bool:
    """True when a cutter standing at ``p`` keeps ``AIR`` off all metal."""
    return bool(metal.air([p], radius + AIR)[0])


def through(trail: Trail, metal: Metal, p: Point, *, radius: float, feed: float) -> None:
    """Straight to ``p`` at the present height: at the link feed where ``AIR`` is kept, else at ``feed``."""
    start = trail.xy
    way = Line(start, p)
    n = max(1, math.ceil(way.length / LOOK))
    air = metal.air([way.at(k / n) for k in range(n + 1)], radius + AIR + 0.5 * way.length / n)
    open_ = [bool(a and b) for a, b in pairwise(air)]
    k = 0
    while k < n:
        m = next((i for i in range(k, n) if open_[i] != open_[k]), n)
        if open_[k] and (m - k) * way.length / n < SHORT:
            open_[k:m] = [False] * (m - k)
        k = m
    for k in range(n):
        if k == n - 1 or open_[k + 1] != open_[k]:
            trail.line(p if k == n - 1 else way.at((k + 1) / n), trail.link if open_[k] else feed)


def approach(trail: Trail, metal: Metal, z: float, *, radius: float, feed: float, plunge: float) -> None:
    """Straight down to ``z`` above this level's metal, past what stands at higher levels."""
    quick, clear = (metal.air_above([trail.xy], reach)[0] for reach in (radius + AIR, radius - TOUCH))
    trail.down(z, trail.link if quick else feed if clear else plunge)


def let_down(trail: Trail, metal: Metal, *, z: float, radius: float, feed: float, plunge: float) -> None:
    """Straight down through air to ``z``: quick where ``AIR`` is kept, slow for the last bit."""
    trail.settle(z, plunge, through=trail.link if fast(metal, trail.xy, radius) else feed)


def along(curves: Sequence[Curve], s: float) -> tuple[int, float]:
    """Curve and share at arc length ``s`` [mm] of a chain."""
    for i, c in enumerate(curves):
        n = c.length
        if s <= n and n > 0:
            return i, s / n
        s -= n
    return len(curves) - 1, 1.0


def _spots(curves: Sequence[Curve], at: Sequence[float]) -> list[Point]:
    """Points at ascending arc lengths [mm] of a chain."""
    out: list[Point] = []
    i, done, n = 0, 0.0, curves[0].length
    for s in at:
        while s - done > n and i + 1 < len(curves):
            done += n
            i += 1
            n = curves[i].length
        out.append(curves[i].at(min(1.0, (s - done) / n) if n > 0 else 1.0))
    return out


def cutting_parts(metal: Metal, curves: Sequence[Curve], radius: float) -> list[list[Curve]] | None:
    """The parts of a closed chain that cut, begun and ended in air; None when all of it had better be run."""
    total = math.fsum(c.length for c in curves)
    n = max(8, math.ceil(total / LOOK))
    at = [total * k / n for k in range(n)]
    cuts = ~metal.air(_spots(curves, at), radius - TOUCH)
    reach = math.ceil((radius + BEYOND) * n / total)
    near = np.convolve(np.tile(cuts, 3), np.ones(2 * reach + 1), "same")[n : 2 * n] > 0.5
    if near.mean() > PART or not near.any():
        return None
    out = []
    for k in np.flatnonzero(near & ~np.roll(near, 1)):
        m = next(i for i in range(1, n) if not near[(k + i) % n])
        if cuts[k] or cuts[(k + m) % n]:
            return None
        out.append(first(starting_at(curves, *along(curves, at[k])), total * m / n))
    return [part for part in out if part]
