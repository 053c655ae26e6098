"""Where lines and arcs meet: crossings, tangencies and ends that lie on another curve."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from jawright.geometry.curve import Curve, Point
from jawright.geometry.table import TWO_PI, Bools, Floats, Ints, Table, table_of


@dataclass(frozen=True, slots=True)
class Hits:
    """``n`` meetings: curve ``i`` at share ``s`` meets curve ``j`` at share ``t`` in ``(x, y)`` [mm].

    ``end`` marks meetings that are an end of one of the two; their point is that end exactly.
    """

    i: Ints
    s: Floats
    j: Ints
    t: Floats
    x: Floats
    y: Floats
    end: Bools


def close_pairs(t: Table, tol: float) -> tuple[Ints, Ints]:
    """All pairs ``i < j`` whose upright boxes come within ``tol`` [mm]."""
    b = t.boxes()
    n = len(b)
    if n <= 1200:
        lo, hi = b[:, :2] - tol, b[:, 2:]
        near = (
            (lo[:, None, 0] <= hi[None, :, 0])
            & (lo[None, :, 0] <= hi[:, None, 0])
            & (lo[:, None, 1] <= hi[None, :, 1])
            & (lo[None, :, 1] <= hi[:, None, 1])
        )
        i, j = near.nonzero()
        half = i < j
        return i[half], j[half]
    order = np.argsort(b[:, 0], kind="stable")
    s = b[order]
    last = np.searchsorted(s[:, 0], s[:, 2] + tol, side="right")
    parts_i, parts_j = [], []
    for k in range(n):
        c = np.arange(k + 1, last[k])
        c = c[(s[c, 1] <= s[k, 3] + tol) & (s[c, 3] >= s[k, 1] - tol)]
        parts_i.append(np.full(len(c), k))
        parts_j.append(c)
    a, c = order[np.concatenate(parts_i)], order[np.concatenate(parts_j)]
    return np.minimum(a, c), np.maximum(a, c)


def share(t: Table, i: Ints, x: Floats, y: Floats) -> Floats:
    """Share of the length of curve ``i`` at a point near its carrier (may leave [0, 1])."""
    x0, y0 = t.x0[i], t.y0[i]
    dx, dy = t.x1[i] - x0, t.y1[i] - y0
    s: Floats = ((x - x0) * dx + (y - y0) * dy) / np.maximum(dx * dx + dy * dy, 1e-300)
    (a,) = t.arc[i].nonzero()
    if len(a):
        k = i[a]
        cx, cy, sweep = t.cx[k], t.cy[k], t.sweep[k]
        ux, uy, vx, vy = x0[a] - cx, y0[a] - cy, x[a] - cx, y[a] - cy
        w = np.abs(sweep)
        turn = np.arctan2(ux * vy - uy * vx, ux * vx + uy * vy) * np.sign(sweep)
        # wrap so that the seam lies opposite the middle of the arc
        off = turn - 0.5 * w
        turn += TWO_PI * (off < -math.pi) - TWO_PI * (off > math.pi)
        s[a] = turn / w
    return s


def _line_line(t: Table, i: Ints, j: Ints, tol: float) -> tuple[Ints, Ints, Floats, Floats]:
    ax, ay = t.x1[i] - t.x0[i], t.y1[i] - t.y0[i]
    bx, by = t.x1[j] - t.x0[j], t.y1[j] - t.y0[j]
    den = ax * by - ay * bx
    la, lb = np.hypot(ax, ay), np.hypot(bx, by)
    k = np.flatnonzero(np.abs(den) > 0.25 * tol * np.maximum(la, lb))
    # else: parallel within the tolerance over their length; the ends tell where they run together
    i, j = i[k], j[k]
    s = ((t.x0[j] - t.x0[i]) * by[k] - (t.y0[j] - t.y0[i]) * bx[k]) / den[k]
    return i, j, t.x0[i] + s * ax[k], t.y0[i] + s * ay[k]


def _line_arc(t: Table, i: Ints, j: Ints, tol: float) -> tuple[Ints, Ints, Floats, Floats]:
    """``i`` are lines, ``j`` are arcs."""
    dx, dy = t.x1[i] - t.x0[i], t.y1[i] - t.y0[i]
    n = np.hypot(dx, dy)
    dx, dy = dx / n, dy / n
    px, py = t.cx[j] - t.x0[i], t.cy[j] - t.y0[i]
    h = dx * py - dy * px  # signed distance of the center from the line
    along = px * dx + py * dy
    fx, fy = t.x0[i] + along * dx, t.y0[i] + along * dy
    r = t.r[j]
    q = (r - h) * (r + h)
    touch = np.abs(np.abs(h) - r) <= tol
    w = np.where(touch, 0.0, np.sqrt(np.maximum(q, 0.0)))
    one = np.flatnonzero(touch | (q > 0))
    two = np.flatnonzero(~touch & (q > 0))
    return (
        np.concatenate((i[one], i[two])),
        np.concatenate((j[one], j[two])),
        np.concatenate((fx[one] + w[one] * dx[one], fx[two] - w[two] * dx[two])),
        np.concatenate((fy[one] + w[one] * dy[one], fy[two] - w[two] * dy[two])),
    )


def _arc_arc(t: Table, i: Ints, j: Ints, tol: float) -> tuple[Ints, Ints, Floats, Floats]:
    dx, dy = t.cx[j] - t.cx[i], t.cy[j] - t.cy[i]
    d = np.hypot(dx, dy)
    k = np.flatnonzero(d > tol)
    i, j, d = i[k], j[k], d[k]
    ux, uy = dx[k] / d, dy[k] / d
    ri, rj = t.r[i], t.r[j]
    touch = (np.abs(d - (ri + rj)) <= tol) | (np.abs(d - np.abs(ri - rj)) <= tol)
    a = 0.5 * (d + (ri - rj) * (ri + rj) / d)
    a = np.where(touch, np.where(a < 0, -ri, ri), a)
    q = (ri - a) * (ri + a)
    cross = ~touch & (q > 0)
    h = np.where(cross, np.sqrt(np.maximum(q, 0.0)), 0.0)
    one, two = np.flatnonzero(touch | cross), np.flatnonzero(cross)
    fx, fy = t.cx[i] + a * ux, t.cy[i] + a * uy
    return (
        np.concatenate((i[one], i[two])),
        np.concatenate((j[one], j[two])),
        np.concatenate((fx[one] - h[one] * uy[one], fx[two] + h[two] * uy[two])),
        np.concatenate((fy[one] + h[one] * ux[one], fy[two] - h[two] * ux[two])),
    )


def _ends(t: Table, i: Ints, j: Ints, tol: float) -> tuple[Ints, Floats, Ints, Floats, Floats]:
    """Ends of either curve of each pair on the carrier of the other: owner, 0 or 1, other, x, y."""
    n = len(i)
    owner, other = np.concatenate((i, i, j, j)), np.concatenate((j, j, i, i))
    x = np.concatenate((t.x0[i], t.x1[i], t.x0[j], t.x1[j]))
    y = np.concatenate((t.y0[i], t.y1[i], t.y0[j], t.y1[j]))
    at = np.repeat((0.0, 1.0, 0.0, 1.0), n)
    x0, y0 = t.x0[other], t.y0[other]
    dx, dy = t.x1[other] - x0, t.y1[other] - y0
    off = np.abs(dx * (y - y0) - dy * (x - x0)) / np.maximum(np.sqrt(dx * dx + dy * dy), 1e-300)
    vx, vy = x - t.cx[other], y - t.cy[other]
    off = np.where(t.arc[other], np.abs(np.sqrt(vx * vx + vy * vy) - t.r[other]), off)
    (k,) = (off <= tol).nonzero()
    return owner[k], at[k], other[k], x[k], y[k]


def meetings(t: Table, tol: float, pairs: tuple[Ints, Ints] | None = None) -> Hits:
    """All meetings of the curves of a table, or of the given pairs.

    Two curves that run together meet at the ends of the shared run. Curves that touch
    within ``tol`` [mm] without crossing meet once, at the tangency.
    """
    i, j = close_pairs(t, tol) if pairs is None else pairs
    swap = t.arc[i] & ~t.arc[j]
    i, j = np.where(swap, j, i), np.where(swap, i, j)
    ai, aj = t.arc[i], t.arc[j]
    found = []
    for mask, rule in ((~aj, _line_line), (~ai & aj, _line_arc), (ai, _arc_arc)):
        (k,) = mask.nonzero()
        if len(k):
            found.append(rule(t, i[k], j[k], tol))
    a, b, x, y = (np.concatenate(c) for c in zip(*found, strict=True)) if found else (i, j, t.x0[i], t.y0[i])
    owner, at, other, ex, ey = _ends(t, i, j, tol)
    n = len(a)
    length = t.length
    both = np.concatenate((a, b, other))
    s = share(t, both, np.concatenate((x, x, ex)), np.concatenate((y, y, ey)))
    slack = tol / np.maximum(length[both], tol)
    ok = (s >= -slack) & (s <= 1 + slack)
    (k,) = (ok[:n] & ok[n : 2 * n]).nonzero()
    (e,) = ok[2 * n :].nonzero()
    return Hits(
        np.concatenate((a[k], owner[e])),
        np.concatenate((s[k], at[e])),
        np.concatenate((b[k], other[e])),
        np.concatenate((s[n + k], s[2 * n + e])),
        np.concatenate((x[k], ex[e])),
        np.concatenate((y[k], ey[e])),
        np.arange(len(k) + len(e)) >= len(k),
    )


def crossings(a: Curve, b: Curve, tol: float = 1e-8) -> tuple[tuple[Point, float, float], ...]:
    """Meeting points of two curves with the share of each curve's length, in order along ``a``.

    A shared run is given by its two ends. ``tol`` [mm] decides touching.
    """
    ox, oy = a.start
    t = table_of((a, b), a.start)
    h = meetings(t, tol, (np.array([0]), np.array([1])))
    rows: list[tuple[float, float, Point]] = []
    clip = np.clip(np.stack([h.s, h.t]), 0.0, 1.0).tolist()
    for k, i in enumerate(h.i.tolist()):
        p = (float(h.x[k]) + ox, float(h.y[k]) + oy)
        rows.append((clip[i][k], clip[1 - i][k], p))
    rows.sort()
    out: list[tuple[Point, float, float]] = []
    for s, u, p in rows:
        if not any(math.dist(p, q) <= 4 * tol for q, _, _ in out):
            out.append((p, s, u))
    return tuple(out)


def distances(t: Table, x: Floats, y: Floats) -> tuple[Floats, Ints]:
    """Distance [mm] of each of ``m`` points from the nearest curve, and that curve's row, shape ``(m,)``."""
    best = np.full(len(x), np.inf)
    which = np.zeros(len(x), dtype=np.int64)
    step = max(1, 20_000 // max(1, len(t)))
    for k in range(0, len(x), step):
        d = distance_matrix(t, x[k : k + step], y[k : k + step])
        w = np.argmin(d, axis=1)
        which[k : k + step] = w
        best[k : k + step] = d[np.arange(len(w)), w]
    return best, which


def distance_matrix(t: Table, x: Floats, y: Floats) -> Floats:
    """Distances [mm] of ``m`` points from ``n`` curves, shape ``(m, n)``, exact."""
    out = np.empty((len(x), len(t)))
    px, py = x[:, None], y[:, None]
    (line,), (arc,) = (~t.arc).nonzero(), t.arc.nonzero()
    if len(line):
        dx, dy = t.x1[line] - t.x0[line], t.y1[line] - t.y0[line]
        qx, qy = px - t.x0[line], py - t.y0[line]
        s = (qx * dx + qy * dy) / np.maximum(dx * dx + dy * dy, 1e-300)
        np.clip(s, 0.0, 1.0, out=s)
        qx -= s * dx
        qy -= s * dy
        out[:, line] = np.sqrt(qx * qx + qy * qy)
    if len(arc):
        m = t.a0[arc] + 0.5 * t.sweep[arc]
        vx, vy = px - t.cx[arc], py - t.cy[arc]
        rho = np.sqrt(vx * vx + vy * vy)
        # inside the wedge of the arc? compare with the direction of its middle
        inside = vx * np.cos(m) + vy * np.sin(m) >= rho * np.cos(0.5 * np.abs(t.sweep[arc]))
        ax, ay, bx, by = px - t.x0[arc], py - t.y0[arc], px - t.x1[arc], py - t.y1[arc]
        ends = np.sqrt(np.minimum(ax * ax + ay * ay, bx * bx + by * by))
        out[:, arc] = np.where(inside, np.abs(rho - t.r[arc]), ends)
    return out


def nearest(curves: Sequence[Curve], p: Point) -> tuple[float, int, Point]:
    """Distance [mm] of ``p`` from the nearest of the curves, its index, and the nearest point on it."""
    t = table_of(curves, p)
    zero = np.zeros(1)
    d, w = distances(t, zero, zero)
    k = np.array([int(w[0])])
    s = np.clip(share(t, k, zero, zero), 0.0, 1.0)
    c = curves[int(w[0])]
    foot = c.at(float(s[0]))
    ends = min((c.start, c.end), key=lambda q: math.dist(q, p))
    best = min((foot, ends), key=lambda q: abs(math.dist(q, p) - float(d[0])))
    return float(d[0]), int(w[0]), best
