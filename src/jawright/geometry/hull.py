"""Convex hulls of outlines of lines and arcs, as lines and arcs. Exact."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from jawright.errors import JawrightError
from jawright.geometry.curve import Arc, Curve, Line, Point
from jawright.geometry.profile import Profile
from jawright.geometry.table import Floats

SEEN = 1e-9
"""What stands out less than this [mm] changes no hull; shorter curves are left out."""
PITCH = math.radians(0.5)
"""Pitch of the directions that are looked along first; between them the search goes on by itself."""


@dataclass(frozen=True, slots=True)
class _Rounds:
    """All that can touch a hull: corners (radius 0) and outward arcs with the directions they face."""

    x: Floats
    y: Floats
    r: Floats
    start: Floats  # direction of the first normal [rad]; corners face all ways
    sweep: Floats

    def farthest(self, angle: float) -> tuple[int, float]:
        """Which one reaches farthest along a direction, and how far [mm]."""
        facing = (angle - self.start) % (2 * math.pi) <= self.sweep
        reach = self.x * math.cos(angle) + self.y * math.sin(angle) + self.r
        reach[~facing] = -math.inf
        k = int(np.argmax(reach))
        return k, float(reach[k])

    def reach(self, k: int, angle: float) -> float:
        return float(self.x[k] * math.cos(angle) + self.y[k] * math.sin(angle) + self.r[k])

    def touch(self, k: int, angle: float) -> Point:
        return (
            float(self.x[k] + self.r[k] * math.cos(angle)),
            float(self.y[k] + self.r[k] * math.sin(angle)),
        )


def hull(profiles: Sequence[Profile]) -> Profile:
    """The convex hull of counter-clockwise outlines, counter-clockwise [mm].

    Each pair of neighbors on it is joined by their outer common tangent, looked up again until nothing
    stands out by more than 1e-9 mm. Raises ``geometry`` when the outlines have no area.
    """
    rounds = _rounds(profiles)
    n = round(2 * math.pi / PITCH)
    seeds = sorted({k * PITCH for k in range(n)} | {a % (2 * math.pi) for a in rounds.start.tolist()})
    first = rounds.farthest(seeds[0])[0]
    passes: list[tuple[int, float]] = []  # each touched in turn, and the normal at which it is left
    at, here = seeds[0], first
    for angle in [*seeds[1:], 2 * math.pi]:
        there = rounds.farthest(angle)[0] if angle < 2 * math.pi else first
        passes += _between(rounds, (at, here), (angle, there), 0)
        at, here = angle, there
    return _drawn(rounds, passes)


def _rounds(profiles: Sequence[Profile]) -> _Rounds:
    rows: list[tuple[float, float, float, float, float]] = []
    for p in profiles:
        for c in p.curves:
            rows.append((*c.start, 0.0, 0.0, 7.0))
            if isinstance(c, Arc) and c.ccw:
                rows.append((*c.center, c.radius, c.start_angle % (2 * math.pi), c.sweep))
    t = np.array(rows, dtype=float)
    return _Rounds(*(np.ascontiguousarray(t[:, k]) for k in range(5)))


def _between(
    rounds: _Rounds, a: tuple[float, int], b: tuple[float, int], deep: int
) -> list[tuple[int, float]]:
    """What is touched from direction ``a`` to ``b``: (which, normal at which the hull leaves it)."""
    (low, i), (high, j) = a, b
    if i == j:
        return []
    dx, dy = float(rounds.x[j] - rounds.x[i]), float(rounds.y[j] - rounds.y[i])
    size = math.hypot(dx, dy)
    if size < SEEN:
        return [(i, low)]
    c = max(-1.0, min(1.0, float(rounds.r[i] - rounds.r[j]) / size))
    normal = math.atan2(dy, dx) - math.acos(c)
    normal += 2 * math.pi * round((0.5 * (low + high) - normal) / (2 * math.pi))
    normal = max(low, min(high, normal))
    k, far = rounds.farthest(normal)
    if k in (i, j) or far <= rounds.reach(i, normal) + SEEN or deep > 60:
        return [(i, normal)]
    middle = (normal, k)
    return [*_between(rounds, a, middle, deep + 1), *_between(rounds, middle, b, deep + 1)]


def _drawn(rounds: _Rounds, passes: Sequence[tuple[int, float]]) -> Profile:
    if len(passes) < 2 and not (passes and rounds.r[passes[0][0]] > 0):
        raise JawrightError("geometry", what="the outlines have no area to put a hull round")
    curves: list[Curve] = []
    last = passes[-1][1] - 2 * math.pi
    for n, (k, normal) in enumerate(passes):
        here, there = rounds.touch(k, last), rounds.touch(k, normal)
        here = curves[-1].end if curves else here
        if rounds.r[k] > 0 and math.dist(here, there) > SEEN:
            curves.append(Arc(here, there, (float(rounds.x[k]), float(rounds.y[k])), True))
        follows = passes[(n + 1) % len(passes)][0]
        onward = rounds.touch(follows, normal)
        at = curves[-1].end if curves else there
        if math.dist(at, onward) > SEEN:
            curves.append(Line(at, onward))
        last = normal
    return Profile(_closed(curves))


def _closed(curves: list[Curve]) -> tuple[Curve, ...]:
    """The same chain, its last curve ending exactly where the first begins."""
    end, start = curves[-1], curves[0].start
    if end.end != start:
        curves[-1] = (
            Line(end.start, start) if isinstance(end, Line) else Arc(end.start, start, end.center, True)
        )
    return tuple(curves)
