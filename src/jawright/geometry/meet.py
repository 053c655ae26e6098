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
        i, j = np.nonzero(np.triu(near, 1))
        return i, j
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
    dx, dy = t.x1[i] - t.x0[i], t.y1[i] - t.y0[i]
    with np.errstate(divide="ignore", invalid="ignore"):
        s = ((x - t.x0[i]) * dx + (y - t.y0[i]) * dy) / (dx * dx + dy * dy)
    arc = t.arc[i]
    if arc.any():
        k = i[arc]
        ux, uy = t.x0[k] - t.cx[k], t.y0[k] - t.cy[k]
        vx, vy = x[arc] - t.cx[k], y[arc] - t.cy[k]
        w = np.abs(t.sweep[k])
        a = np.arctan2(ux * vy - uy * vx, ux * vx + uy * vy) * np.sign(t.sweep[k])
        # wrap so that the seam lies opposite the middle of the arc
        a = np.where(a < 0.5 * w - math.pi, a + TWO_PI, a)
        a = np.where(a > 0.5 * w + math.pi, a - TWO_PI, a)
        s[arc] = a / w
    return s


def _on_both(t: Table, i: Ints, j: Ints, xy: tuple[Floats, Floats], tol: float) -> Hits:
    x, y = xy
    s, u = share(t, i, x, y), share(t, j, x, y)
    length = t.length
    es, eu = tol / np.maximum(length[i], tol), tol / np.maximum(length[j], tol)
    ok = (s >= -es) & (s <= 1 + es) & (u >= -eu) & (u <= 1 + eu) & np.isfinite(x) & np.isfinite(y)
    k = np.flatnonzero(ok)
    return Hits(i[k], s[k], j[k], u[k], x[k], y[k], np.zeros(len(k), dtype=bool))


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


def _ends_on(t: Table, i: Ints, j: Ints, tol: float) -> list[Hits]:
    """Ends of the curves ``i`` that lie on the curves ``j``."""
    out = []
    for s, ex, ey in ((0.0, t.x0, t.y0), (1.0, t.x1, t.y1)):
        x, y = ex[i], ey[i]
        dx, dy = t.x1[j] - t.x0[j], t.y1[j] - t.y0[j]
        with np.errstate(divide="ignore", invalid="ignore"):
            off = np.abs(dx * (y - t.y0[j]) - dy * (x - t.x0[j])) / np.hypot(dx, dy)
        off = np.where(t.arc[j], np.abs(np.hypot(x - t.cx[j], y - t.cy[j]) - t.r[j]), off)
        k = np.flatnonzero(off <= tol)
        h = _on_both(t, i[k], j[k], (x[k], y[k]), tol)
        out.append(Hits(h.i, np.full(len(h.i), s), h.j, h.t, h.x, h.y, np.ones(len(h.i), dtype=bool)))
    return out


def meetings(t: Table, tol: float, pairs: tuple[Ints, Ints] | None = None) -> Hits:
    """All meetings of the curves of a table, or of the given pairs.

    Two curves that run together meet at the ends of the shared run. Curves that touch
    within ``tol`` [mm] without crossing meet once, at the tangency.
    """
    i, j = close_pairs(t, tol) if pairs is None else pairs
    ai, aj = t.arc[i], t.arc[j]
    swap = ai & ~aj
    i, j = np.where(swap, j, i), np.where(swap, i, j)
    ai, aj = t.arc[i], t.arc[j]
    found: list[Hits] = []
    for mask, rule in ((~aj, _line_line), (~ai & aj, _line_arc), (ai, _arc_arc)):
        k = np.flatnonzero(mask)
        if len(k):
            a, b, x, y = rule(t, i[k], j[k], tol)
            found.append(_on_both(t, a, b, (x, y), tol))
    found += _ends_on(t, i, j, tol) + [
        Hits(h.j, h.t, h.i, h.s, h.x, h.y, h.end) for h in _ends_on(t, j, i, tol)
    ]
    return Hits(
        *(np.concatenate([getattr(h, name) for h in found]) for name in ("i", "s", "j", "t", "x", "y", "end"))
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
    step = max(1, 400_000 // max(1, len(t)))
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
    line, arc = np.flatnonzero(~t.arc), np.flatnonzero(t.arc)
    if len(line):
        dx, dy = t.x1[line] - t.x0[line], t.y1[line] - t.y0[line]
        qx, qy = px - t.x0[line], py - t.y0[line]
        s = np.clip((qx * dx + qy * dy) / np.maximum(dx * dx + dy * dy, 1e-300), 0.0, 1.0)
        out[:, line] = np.hypot(qx - s * dx, qy - s * dy)
    if len(arc):
        cx, cy, r = t.cx[arc], t.cy[arc], t.r[arc]
        vx, vy = px - cx, py - cy
        rho = np.hypot(vx, vy)
        # inside the wedge of the arc? compare with the direction of its middle
        m = t.a0[arc] + 0.5 * t.sweep[arc]
        inside = vx * np.cos(m) + vy * np.sin(m) >= rho * np.cos(0.5 * np.abs(t.sweep[arc]))
        ends = np.minimum(np.hypot(px - t.x0[arc], py - t.y0[arc]), np.hypot(px - t.x1[arc], py - t.y1[arc]))
        out[:, arc] = np.where(inside, np.abs(rho - r), ends)
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
