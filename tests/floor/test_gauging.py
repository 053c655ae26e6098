"""Gauge noise against parts, and results judged with their uncertainty."""

from __future__ import annotations

import numpy as np
import pytest

from jawright.floor.gauging import collapse, gauge_share, gauge_words, judge, study, study_words
from jawright.floor.run import Series


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


def test_a_run_by_several_people_is_a_gauge_study() -> None:
    """Two people, two trials, three parts; by hand: mean range 0.01, repeatability 0.01 × 0.8862."""
    rows = []
    for who, off in (("A", 0.0), ("B", 0.02)):
        for trial in (0.0, 0.01):
            rows += [(who, f"P{k}", 0.1 * k + off + trial) for k in range(3)]
    parts, who = tuple(r[1] for r in rows), tuple(r[0] for r in rows)
    values = np.array([r[2] for r in rows])
    found = study(parts, who, values)
    assert found is not None
    assert found.repeatability == pytest.approx(0.01 * 0.8862)
    ev2 = (0.01 * 0.8862) ** 2
    assert found.reproducibility == pytest.approx(((0.02 * 0.7071) ** 2 - ev2 / 6) ** 0.5)
    assert found.parts == pytest.approx(0.2 * 0.5231)
    assert "classes" in study_words(parts, who, Series("x", "", "x", values))[0]
    assert study(parts[:-1], who[:-1], values[:-1]) is None
    assert study(parts, None, values) is None
