"""Runs whose cause is known: named rightly, never wrongly, and "not enough" when there is not."""

from __future__ import annotations

from collections import Counter
from dataclasses import replace

import numpy as np
import pytest

from floor.simulate import CAUSES, SIDE, judge, make
from jawright.floor import doubt
from jawright.floor.diagnose import diagnose
from jawright.floor.expected import from_record
from jawright.floor.run import Run, Series
from jawright.proof.model import Proof
from papers import sample


def tally(count: int, *, parts: int = 60) -> Counter[str]:
    seen: Counter[str] = Counter()
    for k in range(count):
        cause = CAUSES[k % len(CAUSES)]
        made = make(cause, f"test {k}", parts=parts)
        said = judge(made, diagnose(made.run))
        seen[said] += 1
        seen[f"{said} {cause}"] += 1
    return seen


def check(seen: Counter[str], count: int) -> None:
    assert seen["right"] >= 0.95 * count, seen
    assert seen["wrong"] <= 0.01 * count, seen
    for cause in CAUSES:  # no cause is carried by the others
        assert seen[f"right {cause}"] >= 0.80 * (count // len(CAUSES)), (cause, seen)


def test_two_hundred_runs_of_known_cause() -> None:
    check(tally(208), 208)


@pytest.mark.long
def test_two_thousand_runs_of_known_cause() -> None:
    check(tally(2002), 2002)


def test_few_parts_name_nothing_wrong() -> None:
    """Of runs of five parts nothing false is said, and most are told to measure more."""
    open_, wrong = 0, 0
    for k in range(130):
        made = make(CAUSES[k % len(CAUSES)], f"few {k}", parts=5)
        said = diagnose(made.run)
        wrong += judge(made, said) == "wrong"
        open_ += not said.enough
        if not said.enough:
            assert len(said.measure) == 2
    assert wrong <= 1
    assert open_ >= 0.9 * 130


def test_half_the_effect_is_left_open_rather_than_guessed() -> None:
    seen: Counter[str] = Counter()
    for k in range(78):
        cause = CAUSES[k % len(CAUSES)]
        made = make(cause, f"weak {k}", parts=25, strength=0.4)
        seen[judge(made, diagnose(made.run))] += 1
    assert seen["wrong"] <= 2, seen
    assert seen["unsure"] >= 15, seen


@pytest.mark.parametrize("cause", SIDE)
def test_slope_of_position_on_size_tells_the_locating_side(cause: str) -> None:
    """Length 100 with 0.030 mm, machining with 0.004 mm, 50 parts: slope 0, ½ or 1 within three errors."""
    made = make(cause, "slope", parts=50, noise=0.004)
    named = next(n for n in diagnose(made.run).named if n.cause == cause)
    assert named.value == pytest.approx(SIDE[cause], abs=3 * 0.019)
    assert named.low is not None and named.high is not None
    assert named.low < SIDE[cause] < named.high
    sd = float(np.std(made.run.measured[0].values, ddof=1))
    assert sd == pytest.approx(np.hypot(SIDE[cause] * 0.030, 0.004), rel=0.35)


def run_of(x: np.ndarray, **more: object) -> Run:
    base = Run(
        source="test",
        unit="mm",
        parts=tuple(f"P{k}" for k in range(len(x))),
        minutes=None,
        sizes=(),
        measured=(Series("x", "", "x", np.asarray(x, float)),),
        offsets=(),
        torque=None,
        nests=None,
        ignored=(),
    )
    return replace(base, **more)


def test_offset_change_only_when_due() -> None:
    rng = np.random.default_rng(3)
    noise = rng.normal(0, 0.004, 30)
    assert diagnose(run_of(noise - noise.mean())).corrections == ()
    due = diagnose(run_of(noise - noise.mean() + 0.01)).corrections
    assert len(due) == 1
    assert due[0].change == pytest.approx(-0.01, abs=1e-9)
    assert due[0].spread_after < due[0].spread_before
    assert due[0].spread_before == pytest.approx(np.hypot(0.01, np.std(noise, ddof=1)), rel=1e-9)


def test_offset_after_a_step_is_that_of_the_new_level() -> None:
    rng = np.random.default_rng(4)
    x = rng.normal(0, 0.002, 40) + 0.02 * (np.arange(40) >= 20)
    said = diagnose(run_of(x))
    assert "step" in said.causes
    assert said.corrections[0].change == pytest.approx(-0.02, abs=0.002)


def test_no_offset_change_for_measured_coordinates_or_a_drift() -> None:
    rng = np.random.default_rng(5)
    x = rng.normal(0, 0.002, 40)
    assert diagnose(run_of(25.0 + x)).corrections == ()
    drifting = diagnose(run_of(x + 0.05 * np.arange(40) / 40))
    assert "drift" in drifting.causes and drifting.corrections == ()


def test_replay_takes_the_corrections_back() -> None:
    made = make("chasing", "replay")
    named = next(n for n in diagnose(made.run).named if n.cause == "chasing")
    without = made.run.measured[0].values - np.cumsum(made.run.offsets[0].values)
    assert named.value == pytest.approx(
        np.std(made.run.measured[0].values, ddof=1) / np.std(without, ddof=1), rel=1e-9
    )
    assert named.value > 1.1


def test_corrections_that_did_good_are_not_called_chasing() -> None:
    """A process that wanders, corrected by what is measured: the spread falls and nobody is blamed."""
    rng = np.random.default_rng(6)
    level = np.cumsum(rng.normal(0, 0.01, 80))
    noise = rng.normal(0, 0.002, 80)
    made, out, total, change = [], [], 0.0, 0.0
    for k in range(80):
        total += change
        made.append(change)
        out.append(level[k] + noise[k] + total)
        change = -0.9 * out[-1]
    run = run_of(np.array(out), offsets=(Series("offset_x", "x", "x", np.array(made)),))
    assert "chasing" not in diagnose(run).causes


def test_the_logs_sign_may_be_the_other_way() -> None:
    made = make("chasing", "sign").run
    turned = replace(made, offsets=tuple(replace(o, values=-o.values) for o in made.offsets))
    assert "chasing" in diagnose(turned).causes


def test_a_chip_is_named_by_its_parts() -> None:
    made = make("chip", "parts")
    named = next(n for n in diagnose(made.run).named if n.cause == "chip")
    assert set(named.parts) == made.hit


def test_same_run_same_answer() -> None:
    made = make("step", "same").run
    assert diagnose(made) == diagnose(made)


def test_a_plan_says_what_was_to_be_expected() -> None:
    """Tolerance of a feature, and its scatter in one setup: what is the same for all parts is taken off."""
    record = sample.good_record()
    assert record.hold is not None
    ask = next(t for t in record.hold.tolerances if t.kind == "position")
    proof = Proof(
        "locates", f"{ask.feature}: position Ø", "pass", "", 0.99, "",
        detail=(
            ("spread by sampling, one sigma", 0.020 * 2**0.5, "mm"),  # of X and Y together
            ("share of wander of the drill", 0.64, ""),
            ("share of work offset pick-up (once per setup)", 0.36, ""),
            ("slope on size as held", 0.0, ""),
        ),
    )  # fmt: skip
    expected = next(e for e in from_record(replace(record, proofs=(proof,))) if e.feature == ask.feature)
    assert expected.sigma == pytest.approx(0.016)
    assert expected.half == pytest.approx(ask.zone / 2)
    assert expected.largest == "wander of the drill"
    column = ask.feature.replace(" ", "_")
    rng = np.random.default_rng(9)
    series = Series(f"{column}_x", column, "x", rng.normal(0, 0.016, 40))
    said = diagnose(run_of(np.zeros(40), measured=(series,)), expected=[expected])
    assert said.seen[0].expected_sd == pytest.approx(0.016)
    assert any("as planned" in n for n in said.notes)
    wide = replace(series, values=series.values * 2.5)
    said = diagnose(run_of(np.zeros(40), measured=(wide,)), expected=[expected])
    assert any("wander of the drill was the largest source" in n for n in said.notes)


def test_capability_of_deviations_and_not_of_sizes() -> None:
    """Cp, Cpk by hand, the interval by the formula of e-Handbook 6.1.6; none for sizes as measured."""
    made = make("scatter", "capability", parts=60)
    seen = diagnose(made.run, tolerance=0.05).seen[0]
    v = made.run.measured[0].values
    index = (0.05 - abs(v.mean())) / (3 * v.std(ddof=1))
    assert seen.cpk == pytest.approx(index) and seen.cp == pytest.approx(0.05 / (3 * v.std(ddof=1)))
    half = 1.959964 * (1 / (9 * 60) + index**2 / (2 * 59)) ** 0.5
    assert (seen.cpk_low, seen.cpk_high) == (pytest.approx(index - half), pytest.approx(index + half))
    few = make("scatter", "capability", parts=12)
    assert diagnose(few.run, tolerance=0.05).seen[0].cpk_low is None
    assert diagnose(made.run).seen[0].cpk is None
    sizes = replace(made.run, measured=tuple(replace(s, values=s.values + 10.0) for s in made.run.measured))
    assert diagnose(sizes, tolerance=0.05).seen[0].cpk is None


def test_a_value_typed_wrong_is_said_so() -> None:
    """In inches, with the other sign, with the point displaced; a plain outlier keeps its own words."""
    rng = np.random.default_rng(5)
    for factor, words in ((1 / 25.4, "inches"), (-1.0, "other sign"), (10.0, "decimal point"), (1.02, "")):
        v = rng.normal(25.4, 0.005, 30)
        v[[7, 19]] *= factor
        run = Run(
            "r",
            "mm",
            tuple(map(str, range(30))),
            None,
            (),
            (Series("d", "bore", "d", v),),
            (),
            None,
            None,
            (),
        )
        said = [n for n in diagnose(run).named if n.cause == "outlier"]
        assert len(said) == 1 and set(said[0].parts) == {"7", "19"}
        assert words in said[0].sentence and (": it would" in said[0].sentence) == bool(words)


def test_a_step_in_a_very_long_run_is_found_where_it_is() -> None:
    rng = np.random.default_rng(6)
    for at in (611, 2500, 7998):
        v = rng.normal(0.0, 0.004, 8000)
        v[at:] += 0.03
        run = Run(
            "r", "mm", tuple(map(str, range(8000))), None, (), (Series("x", "x", "x", v),), (), None, None, ()
        )
        said = [n for n in diagnose(run).named if n.cause in ("step", "outlier")]
        if at < 7990:
            assert [n.cause for n in said if n.sure] == ["step"]
            assert abs(int(said[0].sentence.split(" at part ")[1].split()[0]) - at) <= 1


def plain(x: np.ndarray, **more: object) -> Run:
    parts = tuple(f"P{k}" for k in range(len(x)))
    made: dict[str, object] = {
        "source": "r", "unit": "mm", "parts": parts, "minutes": None, "sizes": (),
        "measured": (Series("x", "", "x", x),), "offsets": (), "torque": None, "nests": None, "ignored": (),
    }  # fmt: skip
    return Run(**(made | more))  # type: ignore[arg-type]


@pytest.mark.parametrize("seed", range(5))
def test_causes_that_went_together_are_not_told_apart(seed: int) -> None:
    """A torque that rose with the run, nests one after the other, sizes that went one way: no sure name."""
    rng = np.random.default_rng(seed)
    n, o = 60, np.arange(60)
    torque = 20 + 20 * o / n + rng.normal(0, 0.3, n)
    said = diagnose(plain(rng.normal(0, 0.004, n) + 0.03 * o / n, torque=torque))
    assert not said.causes & {"spring", "drift"} and not said.enough
    blocks = tuple("A" if k < 30 else "B" for k in o)
    said = diagnose(plain(rng.normal(0, 0.004, n) + 0.03 * (o >= 30), nests=blocks))
    assert not said.causes & {"two nests", "step"} and not said.enough
    size = 0.05 * (2 * o / n - 1) + rng.normal(0, 0.001, n)
    said = diagnose(plain(rng.normal(0, 0.004, n) + 0.1 * o / n, sizes=(Series("size_x", "x", "x", size),)))
    assert not said.causes & {"located on the other side", "drift"} and not said.enough


@pytest.mark.parametrize("seed", range(5))
def test_nests_nobody_wrote_down(seed: int) -> None:
    rng = np.random.default_rng(seed)
    o = np.arange(60)
    for period in (3, 4):
        said = diagnose(plain(rng.normal(0, 0.004, 60) + 0.025 * (o % period == 1)))
        assert said.causes == {"two nests"}
        assert {3: "every third part", 4: "every fourth part"}[period] in said.named[0].sentence


@pytest.mark.parametrize("seed", range(5))
def test_what_is_not_plain_scatter_is_not_called_so(seed: int) -> None:
    """A spread that grows, two groups in no order, far-out values on either side; and no offset change."""
    rng = np.random.default_rng(seed)
    n = 80
    grows = rng.normal(0, 1, n) * np.linspace(0.002, 0.014, n)
    groups = rng.normal(0, 0.002, n) + 0.02 * rng.permutation(n // 2 * [0] + n // 2 * [1])
    for x, words in ((grows, "as the run goes on"), (groups, "in groups")):
        said = diagnose(plain(x))
        assert "scatter" not in said.causes and not said.enough
        assert any(words in k.sentence or "may follow" in k.sentence for k in said.named)


def test_form_of_normal_values() -> None:
    """Of normal values few look otherwise; D'Agostino and Stephens: A* of 0.752 has a chance of 0.05."""
    rng = np.random.default_rng(9)
    chances = [doubt.normal_chance(rng.normal(3.0, 2.0, 60)) for _ in range(4000)]
    assert sum(c < 0.05 for c in chances) == pytest.approx(200, abs=50)
    assert sum(c < 0.0005 for c in chances) <= 8
    assert doubt.normal_chance(np.r_[np.zeros(20), np.ones(20)]) < 1e-6
    assert doubt.normal_chance(np.ones(20)) == 1.0


def test_no_offset_change_of_what_wanders_or_of_coarse_readings() -> None:
    rng = np.random.default_rng(3)
    o = np.arange(80)
    wander = 0.01 + rng.normal(0, 0.003, 80) + 0.01 * np.sin(o / 6)
    assert diagnose(plain(wander)).corrections == ()
    assert diagnose(plain(np.full(30, 0.01))).corrections == ()
    assert len(diagnose(plain(0.01 + rng.normal(0, 0.003, 80))).corrections) == 1


@pytest.mark.parametrize("told", [True, False])
def test_nests_that_differ_get_an_offset_each(told: bool) -> None:
    """One offset for both would leave each off by half: only the nest that is off is moved."""
    rng = np.random.default_rng(3)
    second = np.arange(40) % 2
    nests = tuple("LR"[k] for k in second) if told else None
    said = diagnose(plain(rng.normal(0, 0.004, 40) + 0.03 * second, nests=nests))
    assert said.causes == {"two nests"}
    (due,) = said.corrections
    assert due.change == pytest.approx(-0.03, abs=0.004)
    assert "of that nest alone" in due.sentence
    assert ("nest R" if told else "come 2 of 2") in due.sentence


def test_few_parts_are_not_sent_for_hundreds_more() -> None:
    made = make("located on the other side", "ask", parts=4)
    said = diagnose(made.run)
    assert not said.enough
    asked = [int(m.split()[0]) for m in said.measure if "more parts" in m]
    assert asked and 10 <= asked[0] <= 30
