"""Steps, outliers, repeats and charts at their edges."""

from __future__ import annotations

import math

import numpy as np
import pytest
from scipy.special import stdtrit

from jawright.statistics.trend import (
    ewma,
    gauge_study,
    individuals,
    moving_range,
    outliers,
    repeat_sigma,
    signals,
)

ROSNER = [
    -0.25, 0.68, 0.94, 1.15, 1.20, 1.26, 1.26, 1.34, 1.38, 1.43, 1.49, 1.49, 1.55, 1.56, 1.58, 1.65, 1.69,
    1.70, 1.76, 1.77, 1.81, 1.91, 1.94, 1.96, 1.99, 2.06, 2.09, 2.10, 2.14, 2.15, 2.23, 2.24, 2.26, 2.35,
    2.37, 2.40, 2.47, 2.54, 2.62, 2.64, 2.90, 2.92, 2.92, 2.93, 3.21, 3.26, 3.30, 3.59, 3.68, 4.30, 4.64,
    5.34, 5.42, 6.01,
]  # fmt: skip


def test_three_outliers_of_rosner() -> None:
    """B. Rosner's data, e-Handbook 1.3.5.17.3 (from memory): three outliers at 5 %, up to ten sought."""
    found = outliers(ROSNER, most=10, chance=0.05)
    assert [ROSNER[i] for i in found] == [5.34, 5.42, 6.01]


def test_outliers_are_rare_where_there_are_none() -> None:
    rng = np.random.default_rng(1)
    alarms = sum(bool(outliers(rng.normal(size=40), chance=0.01)) for _ in range(300))
    assert alarms <= 10


def test_few_or_equal_values_have_no_outliers() -> None:
    assert outliers([0, 0, 9]) == ()
    assert outliers([1.0] * 20) == ()


def test_chart_limits_hold_what_they_should() -> None:
    rng = np.random.default_rng(4)
    assert len(individuals(rng.normal(size=2000)).outside) < 20
    chart = ewma(np.zeros(5), weight=0.2, center=0.0, sigma=1.0)
    assert chart.high[0] == pytest.approx(0.6)
    assert chart.high[-1] == pytest.approx(3 * np.sqrt(0.2 / 1.8 * (1 - 0.8**10)))
    with pytest.raises(ValueError, match="weight"):
        ewma([1.0], weight=0.0, center=0.0, sigma=1.0)
    with pytest.raises(ValueError, match="two values"):
        moving_range([1.0])


def test_a_spell_alarms_once() -> None:
    assert signals([4, 4, 4]) == ((0, "1 beyond 3 sigma"), (1, "2 of 3 beyond 2 sigma on one side"))
    assert signals([0.1, -0.1] * 10) == ()


def test_repeats_pool() -> None:
    sigma, freedom = repeat_sigma([[1.0, 3.0], [5.0], [2.0, 2.0, 2.0]])
    assert freedom == 3
    assert sigma == pytest.approx((2.0 / 3) ** 0.5)
    with pytest.raises(ValueError, match="twice"):
        repeat_sigma([[1.0], [2.0]])


def test_gauge_study_wants_its_shape() -> None:
    with pytest.raises(ValueError, match="people"):
        gauge_study(np.zeros((5, 2, 10)))


def _slowly(v: np.ndarray, *, most: int, chance: float) -> tuple[int, ...]:
    """The same test, every mean and deviation made anew from what is left."""
    left, found, count = list(range(len(v))), [], 0
    for i in range(1, most + 1):
        x = v[left]
        sd = x.std(ddof=1)
        if sd == 0:
            break
        off = np.abs(x - x.mean())
        worst = int(np.argmax(off))
        n = len(v)
        t = float(stdtrit(n - i - 1, 1 - chance / (2 * (n - i + 1))))
        found.append(left.pop(worst))
        if off[worst] / sd > (n - i) * t / math.sqrt((n - i - 1 + t * t) * (n - i + 1)):
            count = i
    return tuple(sorted(found[:count]))


def test_outliers_by_running_sums_are_those_of_the_plain_way() -> None:
    rng = np.random.default_rng(1)
    for k in range(200):
        v = rng.normal(rng.choice([0.0, 25.4, -1000.0]), 0.004, int(rng.integers(15, 80)))
        for i in rng.integers(0, len(v), int(rng.integers(0, 4))):
            v[i] += float(rng.choice([0.03, -0.5, 1e5, 230.0, -24.4]))
        assert outliers(v, most=8, chance=0.01) == _slowly(v, most=8, chance=0.01), k
