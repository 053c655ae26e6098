"""One plan from end to end: what it decides, that it repeats, and what it refuses."""

from __future__ import annotations

from dataclasses import replace
from functools import cache
from importlib import resources
from pathlib import Path
from unittest.mock import patch

import pytest

import jawright
from jawright.begun import begin
from jawright.beside import Beside
from jawright.errors import JawrightError
from jawright.job.model import Job
from jawright.papers import bundle
from jawright.papers.jaw_files import jaw_files
from jawright.proof.model import QUESTIONS
from jawright.record import Record
from jawright.record_json import dumps, loads
from jawright.shop.model import Shop
from jawright.units import show

DEMO = Path(str(resources.files("jawright.data").joinpath("demo")))
CHEEK = Path(__file__).resolve().parent.parent / "examples" / "cheek"
DAY = "2026-01-01"
SO_FAR: list[Record] = []
"""What was known while the demo was planned."""


@cache
def inputs() -> tuple[Job, Shop]:
    return jawright.read_job(DEMO / "pawl.toml"), jawright.read_shop(DEMO / "shop.toml")


@cache
def demo() -> Record:
    job, shop = inputs()
    with patch.object(Beside, "within", return_value=False):  # its program takes long
        return jawright.plan(job, shop, made=DAY, shown=SO_FAR.append)


def test_demo_is_held_in_soft_jaws_on_its_datums() -> None:
    record = demo()
    assert record.decision.kind in ("soft jaws", "soft jaws in a thicker blank")
    assert record.hold is not None and record.jaws is not None
    assert {d.letter: d.seat for d in record.hold.datums} == {"A": "floor", "B": "fixed", "C": "stop"}
    assert record.decision.minutes is not None and record.decision.money is not None


def test_all_six_questions_are_answered_with_numbers() -> None:
    record = demo()
    assert {p.question for p in record.proofs} == set(QUESTIONS)
    for p in record.proofs:
        assert p.sentence and p.model
        if p.verdict == "unknown":
            assert p.supply, p.name
        else:
            assert p.value is not None and p.assumptions is not None, p.name


def test_demo_is_ready() -> None:
    record = demo()
    assert record.verification is not None
    faults = [f for f in record.verification.findings if f.level in ("refused", "fault")]
    assert record.verification.verified, faults[:5]
    open_ = [(p.name, p.sentence) for p in record.proofs if p.verdict in ("fail", "unknown")]
    assert not open_
    assert record.ready


def test_larger_cutters_rough_before_the_small_one_finishes() -> None:
    record = demo()
    assert record.program is not None and record.jaws is not None
    size = {c.id: c.diameter for c in inputs()[1].cutters}
    # a tooling hole may be made before the pocket
    first = next(c for c in record.program.cutters if "rough" in c.purpose)
    assert size[first.cutter] > 2 * size[record.jaws.cutter]
    assert "saves" in first.reason


def test_chosen_stance_is_first_and_every_other_says_why_it_lost() -> None:
    record = demo()
    assert len(record.rivals) > 100
    assert [r.chosen for r in record.rivals].count(True) == 1
    assert record.rivals[0].chosen and record.rivals[0].rank == 1
    assert all(r.reason for r in record.rivals)


def test_same_inputs_same_bytes() -> None:
    """Also where its stances were found before anybody asked, as the page does."""
    job, shop = inputs()
    again = jawright.plan(job, shop, made=DAY, begun=begin(job, shop, ahead=True))
    assert dumps(again) == dumps(demo())
    first = bundle.files(demo(), jaw_files(demo()))
    second = bundle.files(again, jaw_files(again))
    assert first.keys() == second.keys()
    assert [n for n in first if first[n] != second[n]] == []


def test_inch_papers_change_no_verdict() -> None:
    job, shop = inputs()
    inch = jawright.plan(replace(job, units="inch"), shop, made=DAY)
    assert [(p.question, p.verdict, p.value, p.unit) for p in inch.proofs] == [
        (p.question, p.verdict, p.value, p.unit) for p in demo().proofs
    ]
    assert inch.jaws == demo().jaws


def test_two_long_flats_need_no_jaws() -> None:
    job = jawright.read_job(CHEEK / "cheek.toml")
    record = jawright.plan(job, jawright.read_shop(CHEEK / "shop.toml"), made=DAY)
    assert record.decision.kind == "hard jaws"
    assert record.jaws is None and record.program is None
    assert record.hold is not None and len(record.hold.parallels) == 2


def test_pinned_kind_and_turn_are_kept() -> None:
    job, shop = inputs()
    pinned = replace(job, hold=replace(job.hold, kind="soft jaws", turn=0.1))
    record = jawright.plan(pinned, shop, made=DAY)
    assert record.hold is not None
    assert record.hold.stance.turn == pytest.approx(0.1)
    assert {(r.kind, round(r.turn, 9)) for r in record.rivals} == {("soft jaws", 0.1)}  # and its changes


def test_pinned_hard_jaws_that_cannot_be_had_is_a_decision_not_an_error() -> None:
    job, shop = inputs()
    record = jawright.plan(replace(job, hold=replace(job.hold, kind="hard jaws")), shop, made=DAY)
    assert record.decision.kind == "not in a vise"
    assert record.hold is None and not record.ready
    assert record.verdict == "unknown"


@pytest.mark.parametrize(
    ("changes", "code"),
    [
        ({"blanks": ()}, "shop-no-blank"),
        ({"parallels": ()}, "shop-no-spacer"),
        ({"vises": ()}, "shop-no-vise"),
    ],
)
def test_a_shop_without_the_means_is_told_what_it_lacks(changes: dict[str, object], code: str) -> None:
    job, shop = inputs()
    free = replace(job, hold=replace(job.hold, vise=""))
    with pytest.raises(JawrightError) as caught:
        jawright.plan(free, replace(shop, **changes), made=DAY)  # type: ignore[arg-type]
    assert caught.value.code == code
    assert caught.value.todo


def test_blunt_cutters_too_thick_to_undercut_with_are_refused() -> None:
    job, shop = inputs()
    blunt = tuple(
        replace(c, corner_radius=1.0) for c in shop.cutters if c.kind == "end mill" and c.diameter > 8.0
    )
    blunt += tuple(c for c in shop.cutters if c.kind != "end mill")
    with pytest.raises(JawrightError) as caught:
        jawright.plan(job, replace(shop, cutters=blunt), made=DAY)
    assert caught.value.code == "shop-no-cutter"
    assert "sharp" in caught.value.what


def test_what_is_known_so_far_is_shown_and_never_ready() -> None:
    """First the design alone, then its proofs; the whole record has the very same ones."""
    whole = demo()
    assert [bool(r.proofs) for r in SO_FAR] == [False, True]
    for r in SO_FAR:
        assert r.verdict == "unknown" and not r.ready and r.program is None
        assert r.hold is not None and r.jaws is not None and r.decision.sentence.startswith("Being proven")
        assert loads(dumps(r)).verdict == "unknown"  # a reader of records takes it
    assert (SO_FAR[-1].proofs, SO_FAR[-1].torque) == (whole.proofs, whole.torque)
    assert whole.program is not None and whole.torque is not None
    said = show(whole.torque[1], "torque", "mm").replace("·", ".").upper()
    assert f"ON THE SPACERS AT {said}" in whole.program.text, "it is told the torque that the proofs found"
