"""Smooth curves as tangent arcs within a stated bound.

Each run of the curve becomes a biarc: two arcs that share the end points and directions
of the run and meet in a common tangent (K. M. Bolton, "Biarc curves", Computer-Aided
Design 7 (1975) 89-92, with equal tangent lengths). Runs are as long as the bound lets
them be. The deviation is measured on the curve, not estimated.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Callable, Sequence

import numpy as np
from numpy.typing import ArrayLike
from scipy.interpolate import BSpline

from jawright.errors import JawrightError
from jawright.geometry.curve import Arc, Curve, Line, Point, started
from jawright.geometry.meet import distances
from jawright.geometry.table import Floats, table_of

Evaluate = Callable[[Floats], Floats]
"""Parameters of shape (n,) to points or derivatives of shape (n, 2)."""

STRAIGHT = 1e-6
"""A run that stays this close [mm] to its chord is a line."""

SAMPLES = 48
"""Points at which the deviation of one run is measured."""

Fitted = tuple[tuple[Curve, ...], float]
"""Curves, and the largest measured distance [mm] of the curve from them."""


def fit_arcs(
    points_at: Evaluate,
    *,
    slopes_at: Evaluate | None = None,
    breaks: Sequence[float] = (0.0, 1.0),
    tol: float = 1e-3,
) -> Fitted:
    """Tangent-continuous arcs and lines along a smooth curve, within ``tol`` [mm].

    ``points_at`` gives points [mm] for parameters; ``slopes_at`` its derivative (differences
    are taken without it). ``breaks`` are increasing parameters: the curve may turn sharply only
    there, and curves end there. Raises ``geometry`` when the curve is not smooth between breaks.
    """
    if not tol > 0:
        raise JawrightError("geometry", what=f"a fit needs a bound above zero, not {tol:g} mm")
    whole = breaks[-1] - breaks[0]
    out: list[Curve] = []
    worst = 0.0
    for lo, hi in itertools.pairwise(breaks):
        run = _Run(points_at, slopes_at, lo, hi)
        a, step = lo, hi - lo
        while a < hi:
            b, step, curves, off = _longest(run, (a, hi), step, tol)
            if b - a < 1e-9 * whole:
                p = run.points(np.array([a]))[0]
                raise JawrightError(
                    "geometry",
                    what="a curve is not smooth enough for arcs",
                    where=f"at ({p[0]:.4f}, {p[1]:.4f}) mm",
                )
            for c in curves:
                joins = out and math.dist(out[-1].end, c.start) < 1e-9
                _append(out, started(c, out[-1].end) if joins else c)
            worst = max(worst, off)
            a = b
    return tuple(out), worst


class _Run:
    """A smooth stretch with one-sided directions at its two ends."""

    def __init__(self, points: Evaluate, slopes: Evaluate | None, lo: float, hi: float) -> None:
        self._points, self._slopes, self._lo, self._hi = points, slopes, lo, hi

    def points(self, t: Floats) -> Floats:
        return np.asarray(self._points(t), dtype=np.float64)

    def direction(self, t: float) -> Floats:
        """Unit direction of travel at ``t``."""
        span = self._hi - self._lo
        if self._slopes is not None:
            inner = min(max(t, self._lo + 1e-12 * span), self._hi - 1e-12 * span)
            v = np.asarray(self._slopes(np.array([inner])), dtype=np.float64)[0]
            n = math.hypot(v[0], v[1])
            if n * span > 1e-6:
                return np.asarray(v / n)
        e = 1e-5 * span
        lo, hi = self._lo, self._hi
        if t - e < lo:
            q, w = np.array([t, t + e, t + 2 * e]), (-3.0, 4.0, -1.0)
        elif t + e > hi:
            q, w = np.array([t - 2 * e, t - e, t]), (1.0, -4.0, 3.0)
        else:
            q, w = np.array([t - e, t, t + e]), (-1.0, 0.0, 1.0)
        v = np.asarray(w) @ self.points(q)
        n = math.hypot(v[0], v[1])
        if n == 0.0:
            raise JawrightError("geometry", what="a curve stands still, so it has no direction there")
        return np.asarray(v / n)


def _longest(
    run: _Run, ends: tuple[float, float], step: float, tol: float
) -> tuple[float, float, list[Curve], float]:
    """The longest run from ``ends[0]`` within ``tol``: its end, its length, its curves, its deviation."""
    a, hi = ends
    good: tuple[float, list[Curve], float] | None = None
    bad = math.inf
    b = min(hi, a + step)
    for _ in range(60):
        fitted = _biarc(run, a, b)
        off = math.inf if fitted is None else fitted[1]
        if fitted is not None and off <= tol:
            good = (b, *fitted)
            if b == hi or off > 0.8 * tol:
                break
        else:
            bad = b
        low = a if good is None else good[0]
        if good is not None and bad - low < 0.02 * (bad - a):
            break
        # the deviation of a biarc grows with the cube of its length
        wish = a + (b - a) * min(4.0, max(0.3, (0.92 * tol / max(off, 1e-3 * tol)) ** (1 / 3)))
        b = min(hi, wish if low < wish < bad else 0.5 * (low + bad))
    if good is None:
        return a, step, [], 0.0
    return good[0], good[0] - a, good[1], good[2]


def _biarc(run: _Run, a: float, b: float) -> tuple[list[Curve], float] | None:
    """Biarc over the run and its measured deviation; None when the directions do not allow one."""
    t = a + (b - a) * np.arange(SAMPLES + 1) / SAMPLES
    p = run.points(t)
    p0, p1 = p[0], p[-1]
    v = p1 - p0
    chord = math.hypot(v[0], v[1])
    step = np.hypot(np.diff(p[:, 0]), np.diff(p[:, 1]))
    if chord < 1e-12 or step.max() > 0.25 * step.sum():  # a jump is not a curve
        return None
    off = np.abs((p[:, 0] - p0[0]) * v[1] - (p[:, 1] - p0[1]) * v[0]) / chord
    along = (p - p0) @ v
    if off.max() <= STRAIGHT and (np.diff(along) > 0).all() and off.max() < 1e-4 * chord:
        return [Line(_point(p0), _point(p1))], float(off.max())
    t0, t1 = run.direction(a), run.direction(b)
    if t0 @ v <= 0 or t1 @ v <= 0:
        return None
    qa = 2 * (1 - float(t0 @ t1))
    qb = 2 * float(v @ (t0 + t1))
    qc = float(v @ v)
    d = 2 * qc / (qb + math.sqrt(qb * qb + 4 * qa * qc))
    j = 0.5 * (p0 + d * t0 + p1 - d * t1)
    curves = [_tangent_arc(p0, t0, j, back=False), _tangent_arc(p1, t1, j, back=True)]
    dist, _ = distances(table_of(curves, _point(p0)), p[:, 0] - p0[0], p[:, 1] - p0[1])
    return curves, 1.02 * float(dist.max())  # between samples the deviation is at most 2 % larger


def _tangent_arc(p: Floats, direction: Floats, q: Floats, *, back: bool) -> Curve:
    """Arc from ``p`` to ``q`` leaving along ``direction``; ``back``: from ``q``, arriving along it."""
    n = np.array([-direction[1], direction[0]])
    v = q - p
    h = 2 * float(v @ n)
    a, b = (_point(q), _point(p)) if back else (_point(p), _point(q))
    sagitta = 0.125 * abs(h)
    if sagitta < 1e-9:
        return Line(a, b)
    r = float(v @ v) / h
    return Arc(a, b, _point(p + n * r), r > 0)


def _point(p: Floats) -> Point:
    return (float(p[0]), float(p[1]))


def _append(out: list[Curve], c: Curve) -> None:
    """Add a curve; a line that goes straight on lengthens the one before."""
    if out and isinstance(c, Line) and isinstance(out[-1], Line):
        a = out[-1]
        u, v = a.tangent(), c.tangent()
        turn = abs(u[0] * v[1] - u[1] * v[0])
        if u[0] * v[0] + u[1] * v[1] > 0 and turn * min(a.length, c.length) < 1e-9:
            out[-1] = Line(a.start, c.end)
            return
    out.append(c)


def fit_bspline(
    degree: int, knots: ArrayLike, control: ArrayLike, weights: ArrayLike | None = None, tol: float = 1e-3
) -> Fitted:
    """Arcs and lines along a B-spline, rational when ``weights`` (n,) are given.

    ``control`` (n, 2) [mm]; ``knots`` (n + degree + 1,) not decreasing. The curve runs over the
    parameters knots[degree] to knots[n]. Raises ``geometry`` when the numbers do not make a
    curve. Source: L. Piegl, W. Tiller, The NURBS Book, 2nd ed. 1997, ch. 3 and 4.
    """
    k = np.asarray(knots, dtype=np.float64).ravel()
    p = np.asarray(control, dtype=np.float64)
    if p.ndim != 2 or p.shape[1] != 2 or degree < 1 or len(p) <= degree or len(k) != len(p) + degree + 1:
        raise JawrightError(
            "geometry",
            what=f"a spline of degree {degree} with {len(p)} control points has {len(k)} knots",
            todo=f"give {len(p) + degree + 1} knots and more control points than the degree",
        )
    w = np.ones(len(p)) if weights is None else np.asarray(weights, dtype=np.float64).ravel()
    good = np.isfinite(k).all() and np.isfinite(p).all() and (np.diff(k) >= 0).all() and k[degree] < k[len(p)]
    if not good or len(w) != len(p) or not (w > 0).all():
        raise JawrightError(
            "geometry", what="a spline has knots that decrease or weights that are not positive"
        )
    if degree == 1:
        return tuple(Line(_point(a), _point(b)) for a, b in itertools.pairwise(p) if (a != b).any()), 0.0
    middle = 0.5 * (p.min(axis=0) + p.max(axis=0))
    whole = BSpline(k, np.column_stack([(p - middle) * w[:, None], w]), degree)
    slope = whole.derivative()

    def points_at(t: Floats) -> Floats:
        h = whole(t)
        return np.asarray(h[:, :2] / h[:, 2:] + middle)

    def slopes_at(t: Floats) -> Floats:
        h, s = whole(t), slope(t)
        return np.asarray((s[:, :2] - h[:, :2] / h[:, 2:] * s[:, 2:]) / h[:, 2:])

    breaks = _breaks(k[degree : len(p) + 1], degree, points_at)
    return fit_arcs(points_at, slopes_at=slopes_at, breaks=breaks, tol=tol)


def _breaks(inner: Floats, degree: int, points_at: Evaluate) -> list[float]:
    """Ends, knots where the spline may have a corner, and ends of straight spans."""
    values, count = np.unique(inner, return_counts=True)
    straight = []
    for a, b in itertools.pairwise(values):
        p = points_at(a + (b - a) * np.arange(17) / 16)
        v = p[-1] - p[0]
        n = math.hypot(v[0], v[1])
        off = np.abs((p[:, 0] - p[0, 0]) * v[1] - (p[:, 1] - p[0, 1]) * v[0])
        straight.append(n > 0 and bool(off.max() <= 1e-9 * max(1.0, n) * n))
    out = [float(values[0])]
    for n_knot in range(1, len(values) - 1):
        if count[n_knot] >= degree or straight[n_knot - 1] != straight[n_knot]:
            out.append(float(values[n_knot]))
    return [*out, float(values[-1])]


def fit_ellipse(
    center: Point, major: Point, ratio: float, a0: float = 0.0, a1: float = 2 * math.pi, *, tol: float = 1e-3
) -> Fitted:
    """Arcs along an ellipse from the parameter ``a0`` counter-clockwise to ``a1`` [rad].

    ``major`` is the half axis as a vector from ``center`` [mm], ``ratio`` the other half axis
    over it, 90° counter-clockwise from it. A circle (ratio 1) comes out exactly, in arcs of at
    most half a turn. Raises ``geometry`` for a size of zero.
    """
    size = math.hypot(*major)
    if not (size > 0 and ratio > 0 and math.isfinite(size * ratio)):
        raise JawrightError("geometry", what="an ellipse has an axis of no length")
    span = (a1 - a0) % (2 * math.pi)
    span = span if span > 1e-12 else 2 * math.pi
    mx, my = major
    m = np.array([[mx, my], [-my * ratio, mx * ratio]])

    def points_at(t: Floats) -> Floats:
        return np.asarray(np.column_stack([np.cos(t), np.sin(t)]) @ m + np.array(center))

    def slopes_at(t: Floats) -> Floats:
        return np.asarray(np.column_stack([-np.sin(t), np.cos(t)]) @ m)

    if ratio == 1.0:
        n = math.ceil(span / math.pi - 1e-12)
        p = [_point(q) for q in points_at(a0 + span * np.arange(n + 1) / n)]
        if span == 2 * math.pi:
            p[-1] = p[0]
        return tuple(Arc(a, b, center, True) for a, b in itertools.pairwise(p)), 0.0
    first = math.ceil(a0 / (0.5 * math.pi) + 1e-9)
    quarters = [q * 0.5 * math.pi for q in range(first, first + 5)]
    breaks = [a0, *(q for q in quarters if q < a0 + span - 1e-9), a0 + span]
    curves, bound = fit_arcs(points_at, slopes_at=slopes_at, breaks=breaks, tol=tol)
    return curves, bound
