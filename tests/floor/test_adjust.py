"""The rule of three: when an offset moves, and what moving it after every part would do."""

from __future__ import annotations

import math

import numpy as np
import pytest

from jawright.floor.adjust import PARTS, RANGE_TO_SIGMA, Characteristic, advise, outside
from jawright.floor.measured import characteristics
from jawright.papers.inspection import checks
from papers import sample

BORE = Characteristic(1, "bore", "size", 10.0, 9.98, 10.02)
PLACE = Characteristic(2, "hole", "position", 0.0, -0.05, 0.05, axes=("X", "Y"))
RNG = np.random.default_rng(20)


def test_the_mean_range_of_three_against_a_simulated_one() -> None:
    """d2 of control charts for three is 1.693 (from memory: the usual table of factors)."""
    draws = RNG.normal(size=(400_000, 3))
    assert np.ptp(draws, axis=1).mean() == pytest.approx(RANGE_TO_SIGMA, rel=3e-3)
    assert pytest.approx(1.693, abs=5e-4) == RANGE_TO_SIGMA


@pytest.mark.parametrize("shift", [0.012, -0.012, 0.006])
def test_a_setting_that_is_off_is_moved_back_by_the_mean(shift: float) -> None:
    advice = advise(BORE, [(10.0 + shift + e,) for e in (-0.0005, 0.0, 0.0005)])
    assert advice.word == "move it"
    assert advice.moves[0] == pytest.approx(-shift)


def test_scatter_is_left_alone() -> None:
    assert advise(BORE, [(10.012,), (9.990,), (10.016,)]).word == "leave it alone"


def test_small_errors_are_not_worth_a_move() -> None:
    assert advise(BORE, [(10.004,), (10.004,), (10.004,)]).word == "leave it alone"


def test_nothing_is_due_on_fewer_than_three() -> None:
    assert advise(BORE, [(10.015,), (10.015,)]).word == "measure more"
    assert advise(BORE, []).word == "measure more"


def test_only_the_last_three_count() -> None:
    assert advise(BORE, [(9.985,)] * 5 + [(10.0,)] * PARTS).word == "leave it alone"


def test_a_part_outside_stops_whatever_the_mean_says() -> None:
    advice = advise(BORE, [(10.0,), (10.0,), (10.025,)])
    assert advice.word == "stop"
    assert advice.outside == pytest.approx(0.005)


def test_a_position_is_judged_in_its_circle() -> None:
    """ISO 1101: the axis lies within a cylinder whose diameter is the zone."""
    assert outside(PLACE, (0.03, 0.04)) == 0.0
    assert outside(PLACE, (0.04, 0.04)) == pytest.approx(math.hypot(0.04, 0.04) - 0.05)
    advice = advise(PLACE, [(0.02, 0.0), (0.021, 0.001), (0.022, -0.001)])
    assert advice.moves == pytest.approx((-0.021, 0.0))


def test_what_no_offset_changes_gets_no_move() -> None:
    flat = Characteristic(3, "face", "parallelism", 0.0, 0.0, 0.05, follows=False)
    assert advise(flat, [(0.04,)] * 3).word == "leave it alone"


def test_without_limits_nothing_is_judged() -> None:
    assert advise(Characteristic(4, "x", "diameter", 5.0, None, None), [(7.0,)]).word == "kept, not judged"


def test_a_stable_process_is_seldom_moved_and_chasing_it_doubles_its_variance() -> None:
    """W. E. Deming, Out of the Crisis (1986), chapter 11: rule 2 of the funnel gives twice the variance."""
    noise = RNG.normal(0.0, 0.004, 30_000)
    offset, chased = 0.0, []
    for e in noise:
        chased.append(e + offset)
        offset -= chased[-1]
    assert np.var(chased) / np.var(noise) == pytest.approx(2.0, rel=0.05)
    rows = noise[:9000].reshape(-1, 3)
    moved = sum(advise(BORE, [(10.0 + v,) for v in row]).word == "move it" for row in rows)
    assert moved / len(rows) < 0.05


def test_characteristics_are_the_rows_of_the_first_article_table() -> None:
    record = sample.good_record()
    rows, found = checks(record), characteristics(record)
    assert [(c.balloon, c.feature, c.characteristic) for c in rows] == [
        (c.number, c.feature, c.what) for c in found
    ]
    position = next(c for c in found if c.what == "position")
    assert (position.low, position.high, position.axes) == (-0.05, 0.05, ("X", "Y"))
    assert characteristics(sample.refused_record()) == ()
