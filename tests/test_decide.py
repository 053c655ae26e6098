"""The decision: which way, said in one sentence, with what it costs."""

from __future__ import annotations

from dataclasses import replace

from jawright.choose import Candidate
from jawright.decide import decide
from jawright.hold import milled
from jawright.job.model import Feature
from jawright.job.read import read_job
from jawright.proof.model import Proof
from jawright.record import Attempt
from samples import hold, shop
from test_conductor import DEMO

JOB = read_job(DEMO / "pawl.toml")


def candidate(kind: str = "hard jaws", lost: str = "") -> Candidate:
    held = replace(hold(), kind=kind, parallels=shop().parallels[:2])
    alive = None if lost else held
    return Candidate(kind, (0.0, 0.0, 1.0), 0.0, 0.0, "test", 0, alive, None, None, lost)  # type: ignore[arg-type]


def proof(name: str, verdict: str, sentence: str = "It moves 0.02 mm.") -> Proof:
    return Proof("grips", name, verdict, sentence, 1.0, "mm")  # type: ignore[arg-type]


def test_hard_jaws_that_serve_are_said_with_their_cost() -> None:
    best = candidate()
    said = decide(best, [best], [proof("taper", "pass")], job=JOB, shop=shop(), cutting_minutes=None)
    assert said.kind == "hard jaws"
    assert "P6x20" in said.sentence and said.minutes and said.money
    assert [o.kind for o in said.options if o.serves] == ["hard jaws"]


def test_only_sprung_features_ask_for_another_order() -> None:
    best = candidate()
    sprung = [proof("spring, pivot bore", "fail"), proof("taper", "pass")]
    said = decide(best, [best], sprung, job=JOB, shop=shop(), cutting_minutes=None)
    assert said.kind == "another order of operations"
    assert "pivot bore in the first operation" in said.sentence


def test_another_failure_beside_the_spring_does_not_ask_for_another_order() -> None:
    best = candidate()
    both = [proof("spring, pivot bore", "fail"), proof("located", "fail")]
    assert decide(best, [best], both, job=JOB, shop=shop(), cutting_minutes=None).kind == "hard jaws"


def test_an_outline_that_no_clamping_shares_out_is_milled_in_the_operation_before() -> None:
    lost = [candidate("soft jaws", milled.NO_WALL)]
    job = replace(JOB, features=(Feature("rim", "profile", None), *JOB.features))
    said = decide(None, lost, [], job=job, shop=shop(), cutting_minutes=None)
    assert said.kind == "another order of operations"
    assert said.sentence.startswith("Mill rim in the first operation") and "two clampings" in said.points[0]
    assert [o.kind for o in said.options if o.serves] == ["another order of operations", "not in a vise"]


def test_nothing_holds_is_an_answer_with_its_reason() -> None:
    lost = [candidate("hard jaws", "no two long parallel flats"), candidate("soft jaws", "it would tip")]
    said = decide(None, lost, [], job=JOB, shop=shop(), cutting_minutes=None)
    assert said.kind == "not in a vise"
    assert "it would tip" in said.sentence
    assert said.minutes is None


def attempt(verdict: str, *open_: str, chosen: bool = True) -> Attempt:
    return Attempt("hard jaws", (0.0, 0.0, 1.0), 0.0, 6.5, "", "test", verdict, chosen, open_)  # type: ignore[arg-type]


def test_a_design_that_fails_is_said_to_be_unproven_before_it_is_named() -> None:
    best = candidate()
    tried = [
        attempt("fail", chosen=False),
        attempt("fail", "grips, bruise: fail. It marks.", "holds, torque: None."),
    ]
    failed = [proof("bruise", "fail")]
    said = decide(best, [best], failed, job=JOB, shop=shop(), cutting_minutes=None, attempts=tried)
    assert said.sentence.startswith(
        "No hold is proven yet. The nearest of 2 designs: hold it in the hard jaws"
    )
    assert said.points == ("Open, grips: It marks.", "1 more stays open: see the six questions.")
    assert not any(o.serves for o in said.options)


def test_a_design_that_hardly_grips_is_no_way_to_go() -> None:
    """A plate on its edge, 1 mm of 355 in the jaws: that is told, and not the nearest design."""
    best = candidate()
    depth = replace(
        proof("grip depth", "fail", "The jaws grip 1.0 mm of 355 mm height."), set=1.0, limit=6.35
    )
    tried = Attempt(
        "soft jaws", (0, 0, 1), 0.0, 1.0, "A20", "edge", "fail", True, ("grips, grip depth: fail. x",)
    )
    said = decide(best, [best], [depth], job=JOB, shop=shop(), cutting_minutes=None, attempts=[tried])
    assert said.kind == "not in a vise" and "the jaws grip 1.0 mm of 355 mm" in said.sentence
    assert [o.kind for o in said.options if o.serves] == ["not in a vise"]
    half = replace(depth, set=3.0)
    said = decide(best, [best], [half], job=JOB, shop=shop(), cutting_minutes=None, attempts=[tried])
    assert said.sentence.startswith("No hold is proven yet")


def test_a_design_that_leaves_something_unknown_says_so_first() -> None:
    best = candidate()
    tried = [attempt("unknown", "locates, bore: Not judged.")]
    open_ = [proof("bore", "unknown")]
    said = decide(best, [best], open_, job=JOB, shop=shop(), cutting_minutes=None, attempts=tried)
    assert said.sentence.startswith("Not all is known yet. The hold: hold it in the hard jaws")
    assert [o.kind for o in said.options if o.serves] == ["hard jaws"]


def test_what_was_changed_is_said_with_what_failed_before() -> None:
    best = candidate()
    tried = [
        attempt("fail", "grips, bruise: fail. It marks by 0.1 mm. Grip deeper.", chosen=False),
        replace(attempt("pass"), grip_depth=9.0, changed="gripped 9.0 mm deep"),
    ]
    said = decide(best, [best], [], job=JOB, shop=shop(), cutting_minutes=None, attempts=tried)
    assert said.points == ("Gripped 9.0 mm deep, because without that it fails: It marks by 0.1 mm.",)


def test_hard_jaws_that_the_job_asks_for_say_why_they_do_not_serve() -> None:
    lost = [candidate(lost="no two long parallel flats")]
    job = replace(JOB, hold=replace(JOB.hold, kind="hard jaws"))
    said = decide(None, lost, [], job=job, shop=shop(), cutting_minutes=None)
    assert "no two long parallel flats. Without the pin [hold] kind more ways are tried." in said.sentence
    assert next(o for o in said.options if o.kind == "soft jaws").sentence.startswith("Not weighed")
