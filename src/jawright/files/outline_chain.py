"""Loose lines and arcs of a drawing to closed outlines: duplicates, joints, gaps, branches.

Lengths in mm, angles in rad.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass

import numpy as np
import shapely
from scipy.spatial import cKDTree

from jawright.errors import JawrightError
from jawright.geometry.curve import Arc, Curve, Line, Point, box

SAME = 1e-3
"""A curve that stays this close [mm] to another one over its whole length is drawn twice."""
ROUNDING = 1e-5
"""Gaps up to this [mm] are the rounding of numbers in the file, not worth a word."""
_NAMED = 3  # places named in a message

Note = tuple[str, str]
"""Level of a finding and its words."""
Say = Callable[[Point], str]
"""Words for a place [mm], in the drawing's own unit."""


@dataclass(frozen=True, slots=True)
class Run:
    """Curves that follow one another in one entity of the drawing, not empty; ``name`` tells which."""

    curves: tuple[Curve, ...]
    name: str

    @property
    def ends(self) -> tuple[Point, Point]:
        """Its first and its last point [mm]."""
        return self.curves[0].start, self.curves[-1].end

    @property
    def length(self) -> float:
        """Length of all its curves [mm]."""
        return math.fsum(c.length for c in self.curves)

    def samples(self) -> list[Point]:
        """Five points of each curve, ends included."""
        return [c.at(k / 4) for c in self.curves for k in range(5)]

    def off(self, p: Point) -> float:
        """Distance [mm] of a point from the run."""
        return min(_off(c, p) for c in self.curves)

    def reversed(self) -> tuple[Curve, ...]:
        """Its curves the other way round."""
        return tuple(c.reversed() for c in reversed(self.curves))


def _off(curve: Curve, p: Point) -> float:
    if isinstance(curve, Line):
        (x0, y0), (x1, y1) = curve.start, curve.end
        dx, dy = x1 - x0, y1 - y0
        n = dx * dx + dy * dy
        t = min(1.0, max(0.0, ((p[0] - x0) * dx + (p[1] - y0) * dy) / n)) if n else 0.0
        return math.hypot(p[0] - x0 - t * dx, p[1] - y0 - t * dy)
    angle = math.atan2(p[1] - curve.center[1], p[0] - curve.center[0]) - curve.start_angle
    along = angle % (2 * math.pi) if curve.ccw else -angle % (2 * math.pi)
    ends = min(math.dist(p, curve.start), math.dist(p, curve.end))
    on = abs(math.dist(p, curve.center) - curve.radius)
    return min(ends, on) if along <= abs(curve.sweep) else ends


def without_doubles(runs: Sequence[Run]) -> tuple[list[Run], list[Run]]:
    """Runs not drawn on top of another one, and those that are. The longer one, then the first, stays."""
    if not runs:
        return [], []
    boxes = [_box(r) for r in runs]
    tree = shapely.STRtree([shapely.box(*b) for b in boxes])
    middles = shapely.points([r.curves[len(r.curves) // 2].at(0.5) for r in runs])
    near: dict[int, list[int]] = {}
    for a, b in tree.query(middles).T.tolist():
        if a != b:
            near.setdefault(a, []).append(b)
    lengths = [r.length for r in runs]
    gone: set[int] = set()
    for i in sorted(near, key=lambda i: (lengths[i], -i)):
        points = runs[i].samples()
        for j in near[i]:
            if j in gone or lengths[j] < lengths[i] - SAME:
                continue
            if all(runs[j].off(p) <= SAME for p in points):
                gone.add(i)
                break
    kept = [r for i, r in enumerate(runs) if i not in gone]
    return kept, [runs[i] for i in sorted(gone)]


def _box(run: Run) -> tuple[float, float, float, float]:
    b = [box(c) for c in run.curves]
    x0, y0 = min(q[0] for q in b) - SAME, min(q[1] for q in b) - SAME
    return (x0, y0, max(q[2] for q in b) + SAME, max(q[3] for q in b) + SAME)


End = tuple[int, int]  # run, and 0 for its start or 1 for its end


def chain(
    runs: Sequence[Run], *, join: float, say: Say, closed: Sequence[Run] = ()
) -> tuple[list[tuple[Curve, ...]], list[Note]]:
    """Closed chains of the open runs, whose ends meet within ``join`` [mm], and what was mended.

    ``closed`` are the outlines that are closed by themselves: a loose end may lie on one.

    Raises ``part-outline-open`` naming the gaps, ``part-outline-crossing`` where more than two
    curves meet or one ends on another.
    """
    notes: list[Note] = []
    points = [p for r in runs for p in r.ends]
    partner: dict[End, End] = {}
    waiting: list[int] = []
    for g in _clusters(points, ROUNDING):  # joints that are drawn, before those that are only near
        if len(g) == 2 and not list(_tiny(g, runs, join)):
            _join(partner, _end(g[0]), _end(g[1]))
        else:
            waiting += g
    groups = [[waiting[k] for k in g] for g in _clusters([points[k] for k in waiting], join)]
    tiny = {i for g in groups for i in _tiny(g, runs, join)}
    if tiny:
        notes.append(("repaired", f"{len(tiny)} curves shorter than {join:g} mm were left out"))
    loose: list[End] = []
    for g in groups:
        for pair in _pairs([_end(k) for k in g if k // 2 not in tiny], runs, say):
            if len(pair) == 1:
                loose.append(pair[0])
            else:
                _join(partner, pair[0], pair[1])
    if loose:
        _refuse_loose(loose, runs, closed, join=join, say=say)
    loops, gaps = _walk(runs, partner, tiny)
    wide = [(g, p) for g, p in gaps if g > ROUNDING]
    if wide:
        worst, at = max(wide)
        notes.append(
            (
                "repaired",
                f"{len(wide)} gap{'s' * (len(wide) > 1)} of up to {worst:.4f} mm closed"
                f" (up to {join:g} mm is taken as drawn closed), the widest at {say(at)}",
            )
        )
    return loops, notes


def _end(k: int) -> End:
    return k // 2, k % 2


def _join(partner: dict[End, End], a: End, b: End) -> None:
    partner[a], partner[b] = b, a


def _clusters(points: Sequence[Point], reach: float) -> list[list[int]]:
    """Points that lie within ``reach`` of one another, directly or through others, as lists of indices."""
    if not points:
        return []
    root = list(range(len(points)))

    def find(i: int) -> int:
        while root[i] != i:
            root[i] = root[root[i]]
            i = root[i]
        return i

    for a, b in cKDTree(np.array(points)).query_pairs(reach, output_type="ndarray").tolist():
        ra, rb = find(a), find(b)
        root[max(ra, rb)] = min(ra, rb)
    groups: dict[int, list[int]] = {}
    for i in range(len(points)):
        groups.setdefault(find(i), []).append(i)
    return list(groups.values())


def _tiny(group: Sequence[int], runs: Sequence[Run], join: float) -> Iterable[int]:
    """Runs with both ends in one group that are too short to be a loop."""
    held = {k // 2 for k in group if k ^ 1 in group}
    return (i for i in held if runs[i].length <= 2 * join)


def _pairs(ends: Sequence[End], runs: Sequence[Run], say: Say) -> list[tuple[End, ...]]:
    """The ends of one group two by two; alone when there is one."""
    if len(ends) <= 2:
        return [tuple(ends)] if ends else []
    points = [runs[i].ends[side] for i, side in ends]
    close = _clusters(points, ROUNDING)  # joints that lie near each other may still be told apart
    if all(len(c) == 2 for c in close):
        return [(ends[c[0]], ends[c[1]]) for c in close]
    names = ", ".join(dict.fromkeys(runs[i].name for i, _ in ends[:4]))
    raise JawrightError(
        "part-outline-crossing",
        what=f"{len(ends)} curves end at one point, {say(points[0])} ({names}), so that the outline branches",
        todo="leave only the outline and the openings in the drawing, each as one closed chain",
    )


def _refuse_loose(
    loose: Sequence[End], runs: Sequence[Run], closed: Sequence[Run], *, join: float, say: Say
) -> None:
    """Say where chains are open, or end on another curve."""
    spots = [
        f"{runs[i].name} ends on {other.name} at {say(runs[i].ends[side])}"
        for i, side in loose[:50]
        for k, other in enumerate((*runs, *closed))
        if k != i and other.off(runs[i].ends[side]) <= join
    ]
    if spots:
        raise JawrightError(
            "part-outline-crossing",
            what=f"the outline branches or lies on itself: {'; '.join(spots[:_NAMED])}",
            todo="leave only the outline and the openings in the drawing, each as one closed chain",
        )
    points = [runs[i].ends[side] for i, side in loose]
    gaps = _nearest_gaps(points)
    listed = "; ".join(
        f"a gap of {math.dist(a, b):.4g} mm between {say(a)} and {say(b)}" for a, b in gaps[:_NAMED]
    )
    more = f" and {len(gaps) - _NAMED} more" if len(gaps) > _NAMED else ""
    raise JawrightError(
        "part-outline-open",
        what=f"the outline is open: {listed}{more}",
        todo=f"close it in the drawing (gaps up to {join:g} mm are closed here), or remove loose curves",
    )


def _nearest_gaps(points: Sequence[Point]) -> list[tuple[Point, Point]]:
    """Loose ends two by two, nearest first: there is an even number of them."""
    tree = cKDTree(np.array(points))
    few = min(len(points), 8)
    found = sorted(
        (float(d), i, int(j))
        for i, (ds, js) in enumerate(zip(*tree.query(np.array(points), k=few), strict=True))
        for d, j in zip(np.atleast_1d(ds), np.atleast_1d(js), strict=True)
        if i < int(j)
    )
    used: set[int] = set()
    out = []
    for _, i, j in found:
        if i not in used and j not in used:
            used |= {i, j}
            out.append((points[i], points[j]))
    return out


def _walk(
    runs: Sequence[Run], partner: dict[End, End], skip: set[int]
) -> tuple[list[tuple[Curve, ...]], list[tuple[float, Point]]]:
    """Closed chains in the order of their first run, gaps closed; and each gap with its place."""
    loops, gaps = [], []
    seen = set(skip)
    for first in range(len(runs)):
        if first in seen:
            continue
        curves: list[Curve] = []
        here, side = first, 1  # leave through the end of the run
        while True:
            seen.add(here)
            curves += runs[here].curves if side == 1 else runs[here].reversed()
            here, enter = partner[(here, side)]
            side = 1 - enter
            if here == first:
                break
        closed, found = closed_chain(curves)
        loops.append(closed)
        gaps += found
    return loops, gaps


def closed_chain(curves: Sequence[Curve]) -> tuple[tuple[Curve, ...], list[tuple[float, Point]]]:
    """The chain with each end made the next start, and each gap there was with its place."""
    curves = [half for c in curves for half in _halves(c)]
    starts: list[Point] = []
    gaps = []
    for before, after in zip([curves[-1], *curves[:-1]], curves, strict=True):
        gap = math.dist(before.end, after.start)
        starts.append(_meet(before, after) if gap else after.start)
        gaps.append((gap, after.start))
    ends = [*starts[1:], starts[0]]
    return tuple(_refitted(c, a, b) for c, a, b in zip(curves, starts, ends, strict=True)), gaps


def _halves(c: Curve) -> tuple[Curve, ...]:
    """An arc of more than half a turn as two: moving an end of a longer one would shift all of it."""
    if isinstance(c, Line) or abs(c.sweep) <= math.pi * (1 + 1e-9):
        return (c,)
    middle = c.at(0.5)
    return Arc(c.start, middle, c.center, c.ccw), Arc(middle, c.end, c.center, c.ccw)


def _meet(a: Curve, b: Curve) -> Point:
    """Where the end of ``a`` and the start of ``b`` become one point.

    Lines keep their direction, arcs their circle.
    """
    p, q = a.end, b.start
    if isinstance(a, Arc) != isinstance(b, Arc):
        return p if isinstance(a, Arc) else q
    if isinstance(a, Line) and isinstance(b, Line):
        u, v = a.tangent(), b.tangent()
        across = u[0] * v[1] - u[1] * v[0]
        if abs(across) > 0.1:
            t = ((q[0] - p[0]) * v[1] - (q[1] - p[1]) * v[0]) / across
            return (p[0] + t * u[0], p[1] + t * u[1])
    return (0.5 * (p[0] + q[0]), 0.5 * (p[1] + q[1]))


def _refitted(c: Curve, start: Point, end: Point) -> Curve:
    """The curve between ends moved a little; an arc keeps its angle, so that its ends stay on its circle."""
    if c.start == start and c.end == end:
        return c
    return Line(start, end) if isinstance(c, Line) else bulged(start, end, math.tan(c.sweep / 4))


def bulged(start: Point, end: Point, bulge: float) -> Curve:
    """The line or arc between two points whose bulge is the tangent of a quarter of its angle.

    Source: the drawing exchange format's own definition of group code 42; with half chord c/2 the
    center lies c (1 - b²) / (4 b) to the left of the chord's middle.
    """
    if abs(bulge) < 1e-12:
        return Line(start, end)
    k = (1.0 / bulge - bulge) / 4.0
    dx, dy = end[0] - start[0], end[1] - start[1]
    center = (0.5 * (start[0] + end[0]) - k * dy, 0.5 * (start[1] + end[1]) + k * dx)
    return Arc(start, end, center, bulge > 0)
