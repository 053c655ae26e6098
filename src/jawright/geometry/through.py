"""A smooth curve through given points, as tangent arcs."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from scipy.interpolate import CubicSpline

from jawright.errors import JawrightError
from jawright.geometry.curve import Line, Point
from jawright.geometry.fit import Fitted, fit_arcs
from jawright.geometry.table import Floats

SAME = 1e-9
"""Points nearer to one another than this [mm] are one."""
BESIDE = 64
"""Places between two points at which the course is compared with another one."""


def fit_through(
    points: Sequence[Point],
    *,
    ends: tuple[Point | None, Point | None] = (None, None),
    closed: bool = False,
    tol: float = 1e-3,
) -> tuple[Fitted, float]:
    """Arcs along the cubic spline through ``points`` (n, 2) [mm], and how far another course may lie off.

    The spline has continuous curvature; its parameter is the length of the chords between the
    points. ``ends`` are directions of travel at the first and the last point; an end without one
    has no curvature. A ``closed`` one comes back to the first point smoothly. The second result is
    the largest distance [mm] from the spline whose parameter is the root of the chords: what a
    program with another rule may draw between the points. Raises ``geometry`` for fewer than two points
    that differ. Source: L. Piegl, W. Tiller, The NURBS Book, 2nd ed. 1997, section 9.2: chord length and
    centripetal parameters, end derivatives.
    """
    p = _distinct(points, closed=closed)
    if len(p) < 2 or (closed and len(p) < 4):
        raise JawrightError("geometry", what="a smooth curve needs at least two points that differ")
    if len(p) == 2 and ends == (None, None):
        a, b = ((float(q[0]), float(q[1])) for q in p)
        return ((Line(a, b),), 0.0), 0.0
    curve, breaks = _spline(p, ends, closed=closed, power=1.0)
    other, _ = _spline(p, ends, closed=closed, power=0.5)
    slope = curve.derivative()
    fitted = fit_arcs(
        lambda t: np.asarray(curve(t), dtype=np.float64),
        slopes_at=lambda t: np.asarray(slope(t), dtype=np.float64),
        breaks=(float(breaks[0]), float(breaks[-1])),
        tol=tol,
    )
    return fitted, _beside(curve, other)


def _distinct(points: Sequence[Point], *, closed: bool) -> Floats:
    p = np.asarray(points, dtype=np.float64).reshape(-1, 2)
    if not np.isfinite(p).all():
        raise JawrightError("geometry", what="a smooth curve has a point that is no number")
    keep = np.ones(len(p), dtype=bool)
    keep[1:] = np.hypot(*np.diff(p, axis=0).T) > SAME
    p = p[keep]
    if closed and len(p) > 1:
        p = np.vstack([p if np.hypot(*(p[0] - p[-1])) > SAME else p[:-1], p[:1]])
    return p


def _spline(
    p: Floats, ends: tuple[Point | None, Point | None], *, closed: bool, power: float
) -> tuple[CubicSpline, Floats]:
    """The spline and the parameters of its points; end directions count as unit speed along the chords."""
    chords = np.hypot(*np.diff(p, axis=0).T) ** power
    t = np.concatenate([[0.0], np.cumsum(chords)])
    if closed:
        return CubicSpline(t, p, bc_type="periodic"), t
    speed = float(np.hypot(*np.diff(p, axis=0).T).sum() / t[-1])
    rules = []
    for end in ends:
        size = 0.0 if end is None else float(np.hypot(*end))
        if end is None or size == 0.0:
            rules.append((2, np.zeros(2)))
        else:
            rules.append((1, speed * np.asarray(end) / size))
    return CubicSpline(t, p, bc_type=(rules[0], rules[1])), t


def _beside(a: CubicSpline, b: CubicSpline) -> float:
    """Largest distance [mm] of points of one spline from the other, run by run between its points."""
    worst = 0.0
    s = np.linspace(0.0, 1.0, BESIDE + 1)
    for k in range(len(a.x) - 1):
        p = a(a.x[k] + s * (a.x[k + 1] - a.x[k]))
        q = b(b.x[k] + np.linspace(0.0, 1.0, 4 * BESIDE + 1) * (b.x[k + 1] - b.x[k]))
        gaps = np.hypot(p[:, None, 0] - q[None, :, 0], p[:, None, 1] - q[None, :, 1])
        worst = max(worst, float(gaps.min(axis=1).max()))
    return worst
