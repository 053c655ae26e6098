"""Least squares with the spread of its coefficients: a line, a polynomial, several regressors at once.

Values stand in any one unit, results in the same; shares, chances and indices are plain numbers.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy.linalg import qr, solve_triangular
from scipy.special import stdtr, stdtrit

Floats = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Fit:
    """Coefficients with their standard errors, and what is left over.

    ``coefficients`` and ``errors`` (p,) are in the order of the columns, the intercept first when there
    is one. ``r_squared`` is about the mean with an intercept, about zero without. ``inflation`` (p,) is
    1/(1 − r²) of each column on the others: how much worse its slope is told because they move
    together; nan for the intercept.
    """

    coefficients: Floats
    errors: Floats
    residuals: Floats
    residual_sd: float
    r_squared: float
    freedom: int
    inflation: Floats

    def interval(self, k: int, confidence: float = 0.95) -> tuple[float, float]:
        """Coefficient ``k`` with Student's interval (e-Handbook of Statistical Methods, 4.4.3)."""
        t = float(stdtrit(self.freedom, 0.5 + confidence / 2))
        c, e = float(self.coefficients[k]), float(self.errors[k])
        return c - t * e, c + t * e

    def chance(self, k: int) -> float:
        """Two-sided probability of a coefficient at least so far from zero when it is zero."""
        e = float(self.errors[k])
        if e == 0.0:
            return 0.0 if self.coefficients[k] != 0 else 1.0
        return float(2 * stdtr(self.freedom, -abs(float(self.coefficients[k])) / e))


def least_squares(columns: Sequence[ArrayLike], y: ArrayLike, *, intercept: bool = True) -> Fit:
    """Fit ``y`` (n,) by the ``columns`` (each (n,)), with a constant when ``intercept``.

    Householder QR of the columns scaled to unit length, one step of refinement. Standard errors
    s sqrt((AᵀA)⁻¹ₖₖ), s² = Σr²/(n − p). Source: Golub and Van Loan, Matrix Computations, 5.3; checked
    with certified data of the NIST Statistical Reference Datasets. Valid for more rows than columns.
    Raises ValueError for too few rows or columns that cannot be told apart.
    """
    v = np.asarray(y, dtype=float)
    n = len(v)
    cols = [np.asarray(c, dtype=float) for c in columns]
    a = np.column_stack(([np.ones(n)] if intercept else []) + cols) if cols or intercept else np.zeros((n, 0))
    p = a.shape[1]
    if n <= p or p == 0:
        raise ValueError(f"{p} coefficients need more than {p} rows, there are {n}")
    if not np.isfinite(a).all() or not np.isfinite(v).all():
        raise ValueError("every row needs all its values")
    scale = np.linalg.norm(a, axis=0)
    if (scale == 0).any():
        raise ValueError("a column is zero throughout")
    q, r = qr(a / scale, mode="economic")
    if np.abs(np.diag(r)).min() < 1e-11:
        raise ValueError("two columns cannot be told apart")
    b = solve_triangular(r, q.T @ v)
    b = b + solve_triangular(r, q.T @ (v - (a / scale) @ b))  # one step of refinement
    left = v - (a / scale) @ b
    freedom = n - p
    rss = float(left @ left)
    sd = float(np.sqrt(rss / freedom))
    root = solve_triangular(r, np.eye(p))
    variance = (root**2).sum(axis=1)
    about = v - v.mean() if intercept else v
    total = float(about @ about)
    return Fit(
        coefficients=b / scale,
        errors=sd * np.sqrt(variance) / scale,
        residuals=left,
        residual_sd=sd,
        r_squared=1.0 - rss / total if total > 0 else 0.0,
        freedom=freedom,
        inflation=_inflation(a, variance / scale**2, intercept),
    )


def _inflation(a: Floats, variance: Floats, intercept: bool) -> Floats:
    """(AᵀA)⁻¹ₖₖ against what it would be if column k were alone with the constant: 1/(1 − r²)."""
    out = np.full(a.shape[1], np.nan)
    for k in range(1 if intercept else 0, a.shape[1]):
        c = a[:, k] - a[:, k].mean() if intercept else a[:, k]
        out[k] = variance[k] * float(c @ c)
    return out


def polynomial(x: ArrayLike, y: ArrayLike, degree: int) -> Fit:
    """Fit a polynomial of the given degree, constant first.

    In powers of x over its largest size, so that the columns stay of one size whatever x is counted in.
    """
    u = np.asarray(x, dtype=float)
    top = float(np.abs(u).max())
    fit = least_squares([(u / top) ** k for k in range(1, degree + 1)], y)
    power = top ** np.arange(degree + 1)
    return Fit(
        fit.coefficients / power, fit.errors / power, fit.residuals, fit.residual_sd, fit.r_squared,
        fit.freedom, fit.inflation,
    )  # fmt: skip


def line(x: ArrayLike, y: ArrayLike) -> Fit:
    """Straight line: intercept, slope."""
    return least_squares([x], y)
