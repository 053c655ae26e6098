"""What a body looks like to something that closes along Y: its upper and lower border over X. Exact."""

from __future__ import annotations

import itertools
import math
from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache

import numpy as np

from jawright.errors import JawrightError
from jawright.geometry.curve import Arc, Curve, Line, Point, started
from jawright.geometry.meet import meetings
from jawright.geometry.profile import Profile
from jawright.geometry.table import Ints, Table, from_rows, row_of

THIN = 1e-9
"""Slabs narrower and steps lower than this [mm] are not seen."""


@dataclass(frozen=True, slots=True)
class _Graph:
    """A piece of a curve that is a graph over X, from left to right."""

    curve: Curve
    source: int

    def y(self, x: float) -> float:
        a, b = self.curve.start, self.curve.end
        if x <= a[0]:
            return a[1]
        if x >= b[0]:
            return b[1]
        if isinstance(self.curve, Line):
            return a[1] + (x - a[0]) / (b[0] - a[0]) * (b[1] - a[1])
        (cx, cy), r = self.curve.center, self.curve.radius
        h = math.sqrt(max(0.0, (r - (x - cx)) * (r + (x - cx))))
        return cy - h if self.curve.ccw else cy + h

    def cut(self, x0: float, x1: float) -> Curve:
        a: Point = (max(x0, self.curve.start[0]), self.y(x0))
        b: Point = (min(x1, self.curve.end[0]), self.y(x1))
        if isinstance(self.curve, Line):
            return Line(a, b)
        return Arc(a, b, self.curve.center, self.curve.ccw)


def _graphs(profile: Profile) -> list[_Graph]:
    out: list[_Graph] = []
    for k, c in enumerate(profile.curves):
        for part in _x_monotone(c):
            g = part if part.start[0] <= part.end[0] else part.reversed()
            if g.end[0] - g.start[0] > THIN:
                out.append(_Graph(g, k))
    return out


def _x_monotone(c: Curve) -> list[Curve]:
    if isinstance(c, Line):
        return [c]
    a, sweep = c.start_angle, c.sweep
    step = 1 if sweep > 0 else -1
    cuts = []
    n = math.floor(a / math.pi) + (1 if step > 0 else 0) if a % math.pi else round(a / math.pi) + step
    while (n * math.pi - a) * step < abs(sweep) * (1 - 1e-12):
        if (n * math.pi - a) * step > 1e-12:
            cuts.append((c.center[0] + (c.radius if n % 2 == 0 else -c.radius), c.center[1]))
        n += step
    ends = [c.start, *cuts, c.end]
    return [Arc(p, q, c.center, c.ccw) for p, q in itertools.pairwise(ends) if p != q]


def _breaks(graphs: Sequence[Sequence[_Graph]]) -> list[list[float]]:
    """Of each outline's graphs the places along X where one ends or can pass another."""
    origins = [own[0].curve.start for own in graphs]
    t = from_rows([row_of(g.curve, o) for own, o in zip(graphs, origins, strict=True) for g in own])
    begin = list(itertools.accumulate((len(own) for own in graphs), initial=0))
    h = meetings(t, THIN, _close(t, begin) if len(graphs) > 1 else None)
    inside = np.arange(len(h.end))[~h.end]
    owner = np.searchsorted(begin, h.i[inside], side="right") - 1
    met: list[list[float]] = [[] for _ in graphs]
    for k, x in zip(owner.tolist(), h.x[inside].tolist(), strict=True):
        met[k].append(x + origins[k][0])
    return [
        _apart([*(p[0] for g in own for p in (g.curve.start, g.curve.end)), *more])
        for own, more in zip(graphs, met, strict=True)
    ]


def _close(t: Table, begin: Sequence[int]) -> tuple[Ints, Ints]:
    """As ``close_pairs``, of curves of one outline only: those from one of ``begin`` to the next."""
    boxes = t.boxes()
    count = np.diff(begin)
    each = np.full((len(count), int(count.max()), 4), np.nan)  # nothing is near what is not a number
    each[np.arange(each.shape[1]) < count[:, None]] = boxes
    lo, hi = each[:, :, :2] - THIN, each[:, :, 2:]
    near = (lo[:, :, None] <= hi[:, None, :]).all(axis=3) & (lo[:, None, :] <= hi[:, :, None]).all(axis=3)
    k, i, j = np.nonzero(near)
    half = i < j
    first = np.asarray(begin)[k[half]]
    return first + i[half], first + j[half]


def _apart(xs: list[float]) -> list[float]:
    """In order, those within ``THIN`` of the one before left out."""
    out: list[float] = []
    for x in sorted(xs):
        if not out or x - out[-1] > THIN:
            out.append(x)
    return out


Looked = tuple[tuple[_Graph, ...], tuple[float, ...]]
Border = tuple[tuple[Curve, int], ...]


def _looks(profiles: Sequence[Profile]) -> list[Looked]:
    """The graphs of each outline and where one can pass another."""
    graphs = [_graphs(p) for p in profiles]
    if not all(graphs):
        raise JawrightError("geometry", what="the outline has no width along X")
    return [(tuple(g), tuple(xs)) for g, xs in zip(graphs, _breaks(graphs), strict=True)]


@lru_cache(maxsize=2)
def _looked_at(profile: Profile) -> Looked:
    """``_looks`` of one outline: wanted from above and from below."""
    return _looks([profile])[0]


def borders(profiles: Sequence[Profile]) -> list[tuple[Border, Border]]:
    """``upper`` and ``lower`` of each outline, to the same last bit; quicker than one by one."""
    if not profiles:
        return []
    return [(_chain(look, 1.0), _chain(look, -1.0)) for look in _looks(profiles)]


def _chain(look: Looked, sign: float) -> Border:
    graphs, xs = look
    left = [g.curve.start[0] for g in graphs]
    right = [g.curve.end[0] for g in graphs]
    runs: list[tuple[int, float, float]] = []
    for x0, x1 in itertools.pairwise(xs):
        middle = 0.5 * (x0 + x1)
        live = [k for k, (a, b) in enumerate(zip(left, right, strict=True)) if a < middle < b]
        if not live:
            continue
        best = max(live, key=lambda k: (sign * graphs[k].y(middle), -k))
        if runs and runs[-1][0] == best and runs[-1][2] == x0:
            runs[-1] = (best, runs[-1][1], x1)
        else:
            runs.append((best, x0, x1))
    out: list[tuple[Curve, int]] = []
    for k, x0, x1 in runs:
        c = graphs[k].cut(x0, x1)
        if out:
            before = out[-1][0].end
            if math.dist(before, c.start) > THIN:
                c = started(c, (before[0], c.start[1]))
                out.append((Line(before, c.start), -1))
            else:
                c = started(c, before)
        out.append((c, graphs[k].source))
    return tuple(out)


def upper(profile: Profile) -> Border:
    """The border seen from +Y, left to right, with the index of each curve's source (-1: a jump along Y)."""
    return _chain(_looked_at(profile), 1.0)


def lower(profile: Profile) -> Border:
    """The border seen from -Y, left to right, with the index of each curve's source (-1: a jump along Y)."""
    return _chain(_looked_at(profile), -1.0)


def y_hull(profile: Profile) -> Profile:
    """Counter-clockwise outline of all points between the lower and the upper border [mm].

    Jumps of the borders become lines along Y. Raises ``geometry`` when the outline has no width.
    """
    low = [c for c, _ in lower(profile)]
    high = [c.reversed() for c, _ in reversed(upper(profile))]
    out = list(low)
    for part in (high, []):
        first = part[0] if part else low[0]
        last = out[-1].end
        if math.dist(last, first.start) > THIN:
            out.append(Line(last, (last[0], first.start[1])))
            last = out[-1].end
        if part and last != part[0].start:
            part[0] = started(part[0], last)
        out += part
    return Profile(tuple(out))
