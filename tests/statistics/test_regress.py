"""Least squares where it could go wrong."""

from __future__ import annotations

import numpy as np
import pytest

from jawright.statistics.regress import least_squares, line, polynomial


def test_too_few_rows_and_twin_columns_are_refused() -> None:
    with pytest.raises(ValueError, match="more than 2 rows"):
        line([1, 2], [1, 2])
    with pytest.raises(ValueError, match="told apart"):
        least_squares([[1, 2, 3, 4], [2, 4, 6, 8]], [1, 2, 3, 5])
    with pytest.raises(ValueError, match="zero throughout"):
        least_squares([[0, 0, 0, 0]], [1, 2, 3, 5])
    with pytest.raises(ValueError, match="all its values"):
        line([1, 2, np.nan], [1, 2, 3])


def test_against_lstsq() -> None:
    rng = np.random.default_rng(1)
    a, b = rng.normal(size=(2, 40))
    y = 3 - 2 * a + 0.5 * b + rng.normal(0, 0.1, 40)
    fit = least_squares([a, b], y)
    reference, rest, *_ = np.linalg.lstsq(np.column_stack([np.ones(40), a, b]), y, rcond=None)
    assert fit.coefficients == pytest.approx(reference, rel=1e-12)
    assert fit.residual_sd**2 * 37 == pytest.approx(float(rest[0]), rel=1e-12)


def test_interval_covers_as_often_as_it_says() -> None:
    rng = np.random.default_rng(2)
    x = np.linspace(0, 1, 12)
    hits = 0
    for _ in range(500):
        low, high = line(x, 2 * x + rng.normal(0, 0.3, 12)).interval(1, 0.9)
        hits += low <= 2 <= high
    assert abs(hits - 450) <= 4 * (500 * 0.09) ** 0.5


def test_polynomial_does_not_care_what_x_is_counted_in() -> None:
    x = np.linspace(1, 9, 12)
    y = 1 + 2 * x - 0.3 * x**2 + np.sin(7 * x)
    a, b = polynomial(x, y, 2), polynomial(1000 * x, y, 2)
    assert b.coefficients * [1, 1e3, 1e6] == pytest.approx(a.coefficients, rel=1e-10)
    assert b.errors * [1, 1e3, 1e6] == pytest.approx(a.errors, rel=1e-10)
