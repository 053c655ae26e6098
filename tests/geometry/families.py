"""Seeded random outlines in families, all simple unless a name says otherwise."""

from __future__ import annotations

import math

import numpy as np

from jawright.geometry.curve import Arc, Curve, Line, Point
from jawright.geometry.profile import Profile


def bulge_curve(a: Point, b: Point, bulge: float) -> Curve:
    """Arc from ``a`` to ``b`` whose quarter sweep has the tangent ``bulge`` (positive counter-clockwise)."""
    if bulge == 0.0:
        return Line(a, b)
    k = (1 - bulge * bulge) / (4 * bulge)
    dx, dy = b[0] - a[0], b[1] - a[1]
    center = (0.5 * (a[0] + b[0]) - k * dy * 1.0, 0.5 * (a[1] + b[1]) + k * dx * 1.0)
    return Arc(a, b, center, bulge > 0)


def from_bulges(rows: list[tuple[float, float, float]]) -> Profile:
    p = [(x, y) for x, y, _ in rows]
    n = len(rows)
    return Profile(tuple(bulge_curve(p[k], p[(k + 1) % n], rows[k][2]) for k in range(n)))


def star(rng: np.random.Generator) -> Profile:
    """Corners on rays, every second edge or so an arc of any bow."""
    n = int(rng.integers(3, 17))
    a = 2 * math.pi * (np.arange(n) + rng.uniform(-0.3, 0.3, n)) / n
    r = rng.uniform(8, 30, n)
    bulge = np.where(rng.random(n) < 0.5, rng.uniform(-0.7, 0.7, n), 0.0)
    return from_bulges(
        [(float(r[k] * math.cos(a[k])), float(r[k] * math.sin(a[k])), float(bulge[k])) for k in range(n)]
    )


def filleted(rng: np.random.Generator) -> Profile:
    """A star polygon whose corners carry tangent fillets as large as their edges allow, or smaller."""
    n = int(rng.integers(3, 15))
    a = 2 * math.pi * (np.arange(n) + rng.uniform(-0.3, 0.3, n)) / n
    r = rng.uniform(10, 35, n)
    p = np.stack([r * np.cos(a), r * np.sin(a)], axis=1)
    curves: list[Curve] = []
    ends: list[tuple[Point, Point, Arc | None]] = []
    for k in range(n):
        q, prev, nxt = p[k], p[k - 1], p[(k + 1) % n]
        u, v = prev - q, nxt - q
        lu, lv = np.hypot(*u), np.hypot(*v)
        u, v = u / lu, v / lv
        half = 0.5 * math.acos(max(-1.0, min(1.0, float(u @ v))))
        most = 0.5 * min(lu, lv) * math.tan(half)
        radius = float(rng.choice([most, rng.uniform(0.05, 1.0) * most]))
        if rng.random() < 0.15 or half > 1.5:
            ends.append((tuple(q), tuple(q), None))
            continue
        cut = radius / math.tan(half)
        w = (u + v) / np.hypot(*(u + v))
        c = q + w * radius / math.sin(half)
        left = (u[0] * v[1] - u[1] * v[0]) < 0
        s, e = q + u * cut, q + v * cut
        ends.append(
            (
                tuple(map(float, s)),
                tuple(map(float, e)),
                Arc(tuple(map(float, s)), tuple(map(float, e)), tuple(map(float, c)), bool(left)),
            )
        )
    for k in range(n):
        if ends[k][2] is not None:
            curves.append(ends[k][2])
        a0, b0 = ends[k][1], ends[(k + 1) % n][0]
        if math.dist(a0, b0) > 1e-9:
            curves.append(Line(a0, b0))
        elif curves and curves[-1].end != b0 and ends[(k + 1) % n][2] is not None:
            c = ends[(k + 1) % n]
            ends[(k + 1) % n] = (a0, c[1], Arc(a0, c[1], c[2].center, c[2].ccw))
    return Profile(tuple(curves))


def comb(rng: np.random.Generator) -> Profile:
    """Teeth and slots on a 1 mm grid, some ends half circles: exact degeneracies at d = 0.5, 1, 1.5 ..."""
    n = int(rng.integers(2, 8))
    x = 0
    tops: list[tuple[float, float, float]] = []
    for k in range(n):
        w, h = int(rng.integers(1, 5)), int(rng.integers(4, 12))
        gap, low = int(rng.integers(1, 5)), int(rng.integers(1, 4))
        round_top, round_low = rng.random() < 0.3, rng.random() < 0.3
        tops.append((x, h, 1.0 if round_top else 0.0))  # walking right: a top bows up, clockwise
        tops.append((x + w, h, 0.0))
        if k < n - 1:
            tops.append((x + w, low, -1.0 if round_low else 0.0))
            tops.append((x + w + gap, low, 0.0))
        x += w + (gap if k < n - 1 else 0)
    depth = -float(rng.integers(1, 6))
    # counter-clockwise: bottom left to right, then the teeth from right to left
    rows = [(0.0, depth, 0.0), (float(x), depth, 0.0)]
    rev = tops[::-1]
    for k, (px, py, _) in enumerate(rev):
        bow = rev[k + 1][2] if k + 1 < len(rev) else 0.0
        b = bow if bow else 0.0
        rows.append((float(px), float(py), b))
    return from_bulges(rows)


def wave(rng: np.random.Generator, n: int = 500) -> Profile:
    """A closed wavy curve of ``n`` tangent arcs (biarcs between points of a smooth curve)."""
    m = n // 2
    t = 2 * math.pi * np.arange(m) / m
    r = 40.0 + np.zeros(m)
    dr = np.zeros(m)
    for k in range(2, 9):
        a, ph = rng.uniform(0, 5.0 / k), rng.uniform(0, 6.28)
        r += a * np.cos(k * t + ph)
        dr -= a * k * np.sin(k * t + ph)
    p = np.stack([r * np.cos(t), r * np.sin(t)], axis=1)
    d = np.stack([dr * np.cos(t) - r * np.sin(t), dr * np.sin(t) + r * np.cos(t)], axis=1)
    d /= np.hypot(d[:, 0], d[:, 1])[:, None]
    curves: list[Curve] = []
    for k in range(m):
        curves += biarc(p[k], d[k], p[(k + 1) % m], d[(k + 1) % m])
    fixed: list[Curve] = []
    for k, c in enumerate(curves):
        e = curves[(k + 1) % len(curves)].start
        fixed.append(Arc(c.start, e, c.center, c.ccw) if isinstance(c, Arc) else Line(c.start, e))
    return Profile(tuple(fixed))


def biarc(p0: np.ndarray, t0: np.ndarray, p1: np.ndarray, t1: np.ndarray) -> list[Curve]:
    """Two tangent arcs with equal tangent lengths between two points with directions."""
    v = p1 - p0
    s = t0 + t1
    a = 2 * (1 - float(t0 @ t1))
    b = 2 * float(v @ s)
    c = -float(v @ v)
    d = -c / b if a < 1e-12 else (-b + math.sqrt(b * b - 4 * a * c)) / (2 * a)
    j = 0.5 * (p0 + d * t0 + p1 - d * t1)
    return [_tangent_arc(p0, t0, j, False), _tangent_arc(p1, t1, j, True)]


def _tangent_arc(p: np.ndarray, t: np.ndarray, q: np.ndarray, back: bool) -> Curve:
    n = np.array([-t[1], t[0]])
    v = q - p
    h = 2 * float(v @ n)
    a, b = tuple(map(float, p)), tuple(map(float, q))
    if back:
        a, b = b, a
    if abs(h) < 1e-12:
        return Line(a, b)
    r = float(v @ v) / h
    c = tuple(map(float, p + n * r))
    return Arc(a, b, c, r > 0)


def far(rng: np.random.Generator) -> Profile:
    """One of the others, 10 to 20 m away from the origin and turned."""
    q = [star, filleted, comb][int(rng.integers(3))](rng)
    return q.moved(turn=float(rng.uniform(0, 6.28)), shift=(1e4, 2e4))


FAMILIES = {"star": star, "filleted": filleted, "comb": comb, "far": far}
