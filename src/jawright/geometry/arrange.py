"""Curves cut at all their meetings, and the boundary of what a winding rule calls inside.

Closed chains are split where they meet, pieces that run together become one piece that
remembers how many chains pass it each way, and for each piece the winding numbers left
and right of it are counted exactly: the piece itself is taken by rule, not by a point
beside it, so no sampling distance decides. A piece is on the boundary when the rule
answers differently for its two sides. Then the pieces are chained with the inside on
their left. A chain that does not close raises, it is never patched.

Lengths in mm, angles in rad.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from jawright.errors import JawrightError
from jawright.geometry.curve import Curve, Point
from jawright.geometry.meet import meetings
from jawright.geometry.profile import Profile, Region
from jawright.geometry.table import Bools, Floats, Ints, Table, curve_of
from jawright.geometry.winding import inside_profile, winding_terms

Rule = Callable[[Ints], Bools]
"""Winding numbers of shape ``(pieces, operands)`` to inside or not, shape ``(pieces,)``."""


@dataclass(frozen=True, slots=True)
class Pieces:
    """Distinct pieces between shared vertices, with the winding numbers right and left of each."""

    px: Floats  # vertices [mm]
    py: Floats
    start: Ints  # vertex of each piece
    end: Ints
    owner: Ints  # row of the table each piece is part of (one of those that run together)
    forward: Bools  # the piece runs as its owner does
    right: Ints  # (pieces, operands)
    left: Ints
    mx: Floats  # the middle of each piece
    my: Floats
    idle: Ints  # rows of the table, two by two, that run together and cancel each other out


def _refine(label: Ints, key: Floats | Ints, gap: float) -> None:
    """Give items of one label new labels where their sorted keys jump by more than ``gap``."""
    order = np.lexsort((key, label))
    k, g = key[order], label[order]
    fresh = np.zeros(len(k), dtype=np.int64)
    fresh[1:] = (k[1:] - k[:-1] > gap) | (g[1:] != g[:-1])
    label[order] = fresh.cumsum()


def _clusters(x: Floats, y: Floats, tol: float) -> Ints:
    """Number the points so that those within ``tol`` share a number."""
    label = np.zeros(len(x), dtype=np.int64)
    for key in (x, y, x, y):
        _refine(label, key, tol)
    return label


def _vertices(t: Table, tol: float) -> tuple[Floats, Floats, Ints, Floats, Ints]:
    """Vertices, and per split: owner row, share of its length, vertex."""
    h = meetings(t, tol)
    n = len(t)
    rows = np.arange(n)
    owner = np.concatenate((rows, rows, h.i, h.j))
    at = np.concatenate((np.zeros(n), np.ones(n), h.s, h.t))
    x = np.concatenate((t.x0, t.x1, h.x, h.x))
    y = np.concatenate((t.y0, t.y1, h.y, h.y))
    label = _clusters(x, y, 2 * tol)
    # the first of a cluster gives its place, and the ends of the curves come first
    _, first, vertex = np.unique(label, return_index=True, return_inverse=True)
    return x[first], y[first], owner, np.clip(at, 0.0, 1.0), vertex


def _split(t: Table, tol: float) -> tuple[Floats, Floats, Ints, Ints, Ints, Floats]:
    px, py, owner, at, vertex = _vertices(t, tol)
    order = np.lexsort((at, owner))
    owner, at, vertex = owner[order], at[order], vertex[order]
    k = np.flatnonzero((owner[1:] == owner[:-1]) & (vertex[1:] != vertex[:-1]))
    return px, py, owner[k], vertex[k], vertex[k + 1], 0.5 * (at[k] + at[k + 1])


def _merge(a: Ints, b: Ints, mx: Floats, my: Floats, tol: float) -> tuple[Ints, Ints]:
    """Group number of each piece (same two vertices, middles together), and a leader per group."""
    lo, hi = np.minimum(a, b), np.maximum(a, b)
    group = np.zeros(len(a), dtype=np.int64)
    for key, gap in ((lo, 0.5), (hi, 0.5), (mx, tol), (my, tol), (mx, tol), (my, tol)):
        _refine(group, key, gap)
    _, leader = np.unique(group, return_index=True)
    return group, leader


def _turned(t: Table) -> Table:
    """The table turned by a quarter clockwise: (x, y) becomes (y, -x)."""
    return Table(t.y0, -t.x0, t.y1, -t.x1, t.cy, -t.cx, t.r, t.a0 - 0.5 * math.pi, t.sweep, t.arc)


def _forced(t: Table, i: Ints, py: Floats, left: Bools) -> Ints:
    """The term of curve ``i`` for a point on it, taken an instant to its left or right."""
    arc, ccw = t.arc[i], t.sweep[i] > 0
    chord_left = np.where(arc, ~ccw, left)
    up = (t.y0[i] <= py) & (py < t.y1[i])
    down = (t.y1[i] <= py) & (py < t.y0[i])
    out = (up & chord_left).astype(np.int64) - (down & ~chord_left)
    out += arc & ccw & left
    out -= arc & ~ccw & ~left
    return out


def arrange(t: Table, operand: Ints, operands: int, tol: float) -> Pieces:
    """Split the closed chains of ``t`` and count the winding numbers of both sides of each piece.

    ``operand`` says which operand each row belongs to; each operand's rows form closed chains.
    """
    px, py, owner, a, b, middle = _split(t, tol)
    if not len(owner):
        empty = np.zeros((0, operands), dtype=np.int64)
        return Pieces(px, py, a, b, owner, owner > 0, empty, empty, px[:0], py[:0], a)
    mx, my = t.at(owner, middle)
    group, leader = _merge(a, b, mx, my, 8 * tol)
    same = a == a[leader][group]
    net = np.zeros((len(leader), operands), dtype=np.int64)
    np.add.at(net, (group, operand[owner]), np.where(same, 1, -1))
    gx, gy = mx[leader], my[leader]
    first = owner[leader]
    ang = t.a0[first] + middle[leader] * t.sweep[first]
    tx = np.where(t.arc[first], -np.sin(ang), t.x1[first] - t.x0[first])
    ty = np.where(t.arc[first], np.cos(ang), t.y1[first] - t.y0[first])
    steep = np.abs(ty) >= np.abs(tx)
    side = np.zeros((len(t), operands), dtype=np.int64)
    side[np.arange(len(t)), operand] = 1
    right = np.zeros((len(leader), operands), dtype=np.int64)
    live = np.asarray(net.any(axis=1), dtype=bool)
    for mask, table, qx, qy in ((steep, t, gx, gy), (~steep, _turned(t), gy, -gx)):
        rows = np.flatnonzero(mask & live)
        step = max(16, 20_000 // len(t))  # blocks that stay in the processor's cache
        for k in range(0, len(rows), step):
            r = rows[k : k + step]
            terms = winding_terms(table, qx[r], qy[r])
            where = np.full(len(leader), -1, dtype=np.int64)
            where[r] = np.arange(len(r))
            mine = np.flatnonzero(where[group] >= 0)
            g = group[mine]
            terms[where[g], owner[mine]] = _forced(table, owner[mine], qy[g], ~same[mine])
            right[r] = terms @ side
    keep = np.flatnonzero(live)
    leader = leader[keep]
    return Pieces(
        px, py, a[leader], b[leader], owner[leader], np.ones(len(keep), dtype=bool),
        right[keep], right[keep] + net[keep], gx[keep], gy[keep], _pairs(group, owner, ~live),
    )  # fmt: skip


def _pairs(group: Ints, owner: Ints, idle: Bools) -> Ints:
    """First and last owner of each group that cancels, flat."""
    gone = np.flatnonzero(idle)
    mine = [owner[group == g] for g in gone.tolist()]
    return np.array([(int(o[0]), int(o[-1])) for o in mine if len(o) > 1], dtype=np.int64).ravel()


Edge = tuple[int, int, int, bool]
"""start vertex, end vertex, owner row, runs as the owner does."""


def boundary(p: Pieces, rule: Rule) -> list[Edge]:
    """The pieces whose two sides the rule tells apart, inside on the left."""
    left, right = rule(p.left), rule(p.right)
    out: list[Edge] = []
    for k in np.flatnonzero(left != right):
        s, e, o = int(p.start[k]), int(p.end[k]), int(p.owner[k])
        out.append((s, e, o, True) if left[k] else (e, s, o, False))
    return out


def _heading(t: Table, p: Pieces, e: Edge, *, leaving: bool, reach: float) -> float:
    """Direction [rad] from a vertex to the point of the edge ``reach`` away along it."""
    s, v, o, fwd = e
    here, there = (s, v) if leaving else (v, s)
    if not t.arc[o]:
        return math.atan2(p.py[there] - p.py[here], p.px[there] - p.px[here])
    x, y = p.px[here] - t.cx[o], p.py[here] - t.cy[o]
    turn = math.copysign(1.0, t.sweep[o]) * (1.0 if fwd == leaving else -1.0)
    return math.atan2(y, x) + turn * (0.5 * math.pi + 0.5 * reach / float(t.r[o]))


def chain(t: Table, p: Pieces, edges: list[Edge]) -> list[list[Edge]]:
    """Closed loops, inside on the left, each touching itself nowhere.

    At a vertex where several loops touch, a loop goes on along the border of the corner of
    inside it came by, so parts that only touch come apart; then a loop that passes a vertex
    twice is cut there, so a hole that touches its outline becomes a loop of its own.

    Raises ``geometry`` when the pieces do not close.
    """
    outgoing: dict[int, list[int]] = {}
    incoming: dict[int, int] = {}
    for k, (s, e, _, _) in enumerate(edges):
        outgoing.setdefault(s, []).append(k)
        incoming[e] = incoming.get(e, 0) + 1
    for v in set(outgoing) | set(incoming):
        if len(outgoing.get(v, ())) != incoming.get(v, 0):
            raise JawrightError(
                "geometry",
                what="a chain of curves does not close",
                where=f"at ({p.px[v]:.6f}, {p.py[v]:.6f}) mm from the outline's own center",
            )
    used = [False] * len(edges)
    loops: list[list[Edge]] = []
    for k0 in range(len(edges)):
        if used[k0]:
            continue
        loop: list[int] = []
        k = k0
        while not used[k]:
            used[k] = True
            loop.append(k)
            k = _next(t, p, edges, k, outgoing[edges[k][1]])
        loops.extend(_cut_at_repeats([edges[i] for i in loop]))
    return loops


def _next(t: Table, p: Pieces, edges: list[Edge], k: int, choices: list[int]) -> int:
    if len(choices) == 1:
        return choices[0]
    sizes = [_size(p, edges[i]) for i in (k, *choices)]
    reach = 0.25 * min(sizes)
    back = _heading(t, p, edges[k], leaving=False, reach=reach)

    def clockwise(i: int) -> float:
        return (back - _heading(t, p, edges[i], leaving=True, reach=reach)) % (2 * math.pi)

    return min(choices, key=clockwise)


def edge_area(t: Table, p: Pieces, e: Edge) -> float:
    """What the edge adds to the area on its left [mm²]."""
    s, v, o, fwd = e
    x0, y0, x1, y1 = float(p.px[s]), float(p.py[s]), float(p.px[v]), float(p.py[v])
    out = 0.5 * (x0 * y1 - x1 * y0)
    if t.arc[o]:
        cx, cy = float(t.cx[o]), float(t.cy[o])
        a = math.atan2(
            (x0 - cx) * (y1 - cy) - (y0 - cy) * (x1 - cx), (x0 - cx) * (x1 - cx) + (y0 - cy) * (y1 - cy)
        )
        turn = math.copysign(1.0, t.sweep[o]) * (1.0 if fwd else -1.0)
        if a * turn < -0.5 * math.pi:
            a += turn * 2 * math.pi
        out += 0.5 * float(t.r[o]) ** 2 * (a - math.sin(a))
    return out


def _size(p: Pieces, e: Edge) -> float:
    return math.hypot(p.px[e[1]] - p.px[e[0]], p.py[e[1]] - p.py[e[0]])


def _cut_at_repeats(loop: list[Edge]) -> list[list[Edge]]:
    out: list[list[Edge]] = []
    stack: list[Edge] = []
    seen: dict[int, int] = {}
    for e in loop:
        if e[0] in seen:
            n = seen[e[0]]
            out.append(stack[n:])
            for q in stack[n:]:
                del seen[q[0]]
            del stack[n:]
        seen[e[0]] = len(stack)
        stack.append(e)
    if stack:
        out.append(stack)
    return out


def _joined(loop: list[Edge]) -> list[Edge]:
    """Runs of the same owner in one piece again, as its owner ran."""
    if len(loop) < 3:
        return loop
    first = next((k for k in range(len(loop)) if loop[k - 1][2] != loop[k][2]), 0)
    out: list[Edge] = []
    for e in loop[first:] + loop[:first]:
        if out and out[-1][2] == e[2] and out[-1][3] == e[3] and out[-1][1] == e[0]:
            out[-1] = (out[-1][0], e[1], e[2], e[3])
        else:
            out.append(e)
    return out


Loop = tuple[float, Profile]
"""A profile with its signed area [mm²]."""


def profiles(t: Table, p: Pieces, loops: list[list[Edge]], origin: Point, least: float) -> list[Loop]:
    """Loops as profiles, moved back by ``origin``; those under ``least`` [mm] mean width are left out."""
    ox, oy = origin
    out = []
    for loop in loops:
        if len(loop) < 2:
            continue
        curves: list[Curve] = []
        for s, e, o, fwd in _joined(loop):
            turn = 0.0 if not t.arc[o] else math.copysign(1.0, t.sweep[o]) * (1.0 if fwd else -1.0)
            curves.append(
                curve_of(
                    (float(p.px[s]) + ox, float(p.py[s]) + oy),
                    (float(p.px[e]) + ox, float(p.py[e]) + oy),
                    (float(t.cx[o]) + ox, float(t.cy[o]) + oy),
                    turn,
                )
            )
        q = Profile(tuple(curves))
        area = q.area
        if abs(area) > least * q.perimeter:
            out.append((area, q))
    return out


def regions(loops: list[Loop]) -> tuple[Region, ...]:
    """Outlines with the holes that lie in them. Raises ``geometry`` for a hole outside every outline."""
    outer = sorted(((a, q) for a, q in loops if a > 0), key=lambda v: v[0])
    holes: list[list[Profile]] = [[] for _ in outer]
    left = [a for a, _ in outer]
    for area, h in loops:
        if area > 0:
            continue
        middle = np.array([c.at(0.5) for c in h.curves])
        for k, (a, q) in enumerate(outer):
            if a > -area and np.mean(inside_profile(q, middle)) > 0.5:
                holes[k].append(h)
                left[k] += area
                break
        else:
            raise JawrightError("geometry", what="a hole lies outside every outline")
    found = [(-a, q.box, Region(q, tuple(hs))) for a, (_, q), hs in zip(left, outer, holes, strict=True)]
    return tuple(r for _, _, r in sorted(found, key=lambda v: v[:2]))
