"""Least-squares circles through measured points."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

Floats = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Circle:
    """Center, radius and the sum of squared distances that remains [mm, mm²]."""

    center: tuple[float, float]
    radius: float
    residual: float


def algebraic_circle(points: ArrayLike) -> Circle:
    """Circle of least algebraic residual ``a|x|² + b·x + c`` with a unit coefficient vector.

    Source: Gander, Golub and Strebel, BIT 34 (1994), section 2. Biased for short arcs; use it as a start.
    Raises ValueError for fewer than three points or points on a line.
    """
    p = _three(points)
    rows = np.column_stack([(p**2).sum(axis=1), p, np.ones(len(p))])
    a, b1, b2, c = np.linalg.svd(rows)[2][-1]
    if abs(a) < 1e-12:
        raise ValueError("the points lie on a straight line")
    center = np.array([-b1, -b2]) / (2 * a)
    radius = float(np.sqrt(center @ center - c / a))
    return _circle(p, center, radius)


def least_circle(points: ArrayLike) -> Circle:
    """Circle of least sum of squared distances (Gauss-Newton with a step limit, to 1e-13 of the size).

    Source: Gander, Golub and Strebel, BIT 34 (1994), section 3. Raises ValueError as
    ``algebraic_circle`` and when the steps do not settle.
    """
    p = _three(points)
    start = algebraic_circle(p)
    u = np.array([*start.center, start.radius])
    damping = 1e-3
    miss = _miss(p, u)
    for _ in range(500):
        off = u[:2] - p
        far = np.linalg.norm(off, axis=1)
        slope = np.column_stack([off / far[:, None], -np.ones(len(p))])
        normal = slope.T @ slope
        step = np.linalg.solve(normal + damping * np.diag(np.diag(normal)), -slope.T @ miss)
        tried = _miss(p, u + step)
        if tried @ tried <= miss @ miss:
            u, miss, damping = u + step, tried, damping / 10
            if np.abs(step).max() < 1e-13 * (1 + np.abs(u).max()):
                return _circle(p, u[:2], float(u[2]))
        else:
            damping *= 10
            if damping > 1e12:
                return _circle(p, u[:2], float(u[2]))
    raise ValueError("the circle fit did not settle")


def _three(points: ArrayLike) -> Floats:
    p = np.asarray(points, dtype=float)
    if p.ndim != 2 or p.shape[1] != 2 or len(p) < 3:
        raise ValueError("a circle needs at least three points (n, 2)")
    return p


def _miss(p: Floats, u: Floats) -> Floats:
    return np.asarray(np.linalg.norm(p - u[:2], axis=1) - u[2])


def _circle(p: Floats, center: Floats, radius: float) -> Circle:
    r = np.linalg.norm(p - center, axis=1) - radius
    return Circle((float(center[0]), float(center[1])), radius, float(r @ r))
