"""Gauge noise against parts, and results judged with their uncertainty."""

from __future__ import annotations

import numpy as np
import pytest

from jawright.floor.gauging import collapse, gauge_share, gauge_words, judge


def test_a_result_proves_conformity_only_inside_the_reduced_limits() -> None:
    """ISO 14253-1: limits less the expanded uncertainty; beyond by more than it is proven out."""
    assert judge(10.04, 9.95, 10.05, uncertainty=0.005) == "in"
    assert judge(10.047, 9.95, 10.05, uncertainty=0.005) == "not proven"
    assert judge(10.053, 9.95, 10.05, uncertainty=0.005) == "not proven"
    assert judge(10.056, 9.95, 10.05, uncertainty=0.005) == "out"
    assert judge(0.09, None, 0.1, uncertainty=0.01) == "in"
    assert judge(9.94, 9.95, None, uncertainty=0.0) == "out"
    with pytest.raises(ValueError, match="negative"):
        judge(1, 0, 2, uncertainty=-1)


def test_gauge_share_needs_repeats() -> None:
    rng = np.random.default_rng(1)
    parts = tuple(f"P{k // 2}" for k in range(80))
    part = np.repeat(rng.normal(0, 0.003, 40), 2)
    read = part + rng.normal(0, 0.004, 80)
    share = gauge_share(parts, read)
    assert share is not None
    assert share.sigma == pytest.approx(0.004, rel=0.25)
    assert share.low < 0.004**2 / (0.004**2 + 0.003**2) < share.high
    assert gauge_share(tuple(map(str, range(80))), read) is None


def test_readings_of_one_part_are_averaged() -> None:
    rows, means = collapse(("A", "A", "B", "A"), np.array([1.0, 2.0, 5.0, np.nan]))
    assert rows.tolist() == [0, 2]
    assert means.tolist() == [1.5, 5.0]


def test_a_tenth_of_the_tolerance_is_wanted() -> None:
    assert gauge_words(0.01, 0.1) == ""
    assert "20%" in gauge_words(0.02, 0.1)
