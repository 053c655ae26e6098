"""A torque window that a torque wrench can hit, or that is told to be too narrow for one."""

from __future__ import annotations

from dataclasses import replace

import pytest

import samples
from jawright.proof.model import Proof
from jawright.proof.window import shut_by, study
from jawright.proof.wrench import hit, lacking, narrow, width
from proof.sample_job import job
from proof.test_holds import prove


def test_deviation_is_the_standards() -> None:
    """ISO 6789-1:2017, setting torque wrenches, type II class A: ± 6 % up to 10 N·m, ± 4 % above.

    As a maker's manual quotes the standard for its own wrenches.
    """
    assert hit(10.0).share == 0.06 and hit(10.1).share == 0.04
    assert (hit(50.0).low, hit(50.0).high) == pytest.approx((48.0, 52.0))


def test_narrow_is_where_no_torque_in_the_window_can_be_hit() -> None:
    for least, most in ((4.0, 4.2), (4.0, 4.52), (4.0, 4.6), (20.0, 21.0), (20.0, 21.6), (20.0, 21.7)):
        tries = [least + (most - least) * k / 2000 for k in range(2001)]
        can = any(hit(t).within(least, most) for t in tries)
        assert narrow(least, most) == (not can), (least, most)


def test_what_lacks_runs_from_shut_to_wide_enough() -> None:
    p = Proof("holds", "torque window", "caution", "", 20.0, "N·m", low=20.0, set=20.0, high=20.0)
    assert lacking(p) == pytest.approx(1.0)
    assert lacking(replace(p, high=20.0 * (1.0 + (width(20.0) - 1.0) / 2))) == pytest.approx(0.5)
    assert lacking(replace(p, high=30.0)) == 0.0
    assert lacking(replace(p, unit="N")) == 0.0, "no wrench closes it"
    assert lacking(None) == 0.0


def narrowed(ratio: float) -> Proof:
    """The sample's window with tolerances of which the usual spring ends it at ``ratio`` times the least."""
    h = samples.hold()
    base = study(h, samples.jaws(), None, job(), samples.shop())  # type: ignore[arg-type]
    assert base.least is not None
    springs = min(t for t, why in base.ends if why.startswith("spring of"))
    k = ratio * base.least / springs
    return prove(replace(h, tolerances=tuple(replace(t, zone=k * t.zone) for t in h.tolerances)))[-1]


def test_a_window_too_narrow_for_a_wrench_is_a_caution_with_what_would_widen_it() -> None:
    got = narrowed(1.03)
    assert got.low is not None and got.high is not None
    assert got.high == pytest.approx(1.03 * got.low, rel=1e-3) and got.verdict == "caution"
    assert "too narrow for one" in got.sentence and "% of the load" in got.sentence
    load = next(v for n, v, _ in got.detail if n == "most before harm") / got.low
    assert load < width(got.low)
    wide = narrowed(1.5)
    assert "too narrow" not in wide.sentence


def test_a_torque_at_the_edge_of_a_wide_window_is_told_too() -> None:
    h = samples.hold()
    least = prove(h)[-1].low
    assert least is not None
    from_edge = replace(h, torque=1.01 * least, torque_why="test")
    got = prove(from_edge)[-1]
    assert got.verdict == "caution" and "nearer to the middle" in got.sentence


def test_what_shuts_a_window_is_told_by_its_numbers() -> None:
    h = samples.hold()
    tight = prove(replace(h, tolerances=tuple(replace(t, zone=t.zone / 50) for t in h.tolerances)))[-1]
    assert tight.verdict == "fail" and shut_by(tight) == {"spring"}
    blank = replace(tight, sentence="bruising")
    assert shut_by(blank) == {"spring"}, "whatever its words"
    assert shut_by(prove(h)[-1]) == frozenset()
    numbers = (("least to hold", 10.0, "N·m"), ("most before bruising at G1", 10.5, "N·m"))
    open_by_little = replace(tight, detail=numbers)
    assert shut_by(open_by_little) == frozenset() and shut_by(open_by_little, width=1.09) == {"bruise"}
