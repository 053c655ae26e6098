"""Changes that answer a failed proof: a gentler torque, a lighter cut, another seat, each proven alone."""

from __future__ import annotations

from dataclasses import replace
from functools import cache

import pytest

from jawright import choose, lighter, trial, vary
from jawright.choose import Candidate
from jawright.geometry.profile import Region, circle
from jawright.hold.model import Hold
from jawright.hold.resolve import Ask, resolve
from jawright.hold.stance import Turn
from jawright.jaws.design import design
from jawright.jaws.kept import InKept, Kept
from jawright.jaws.model import Jaws
from jawright.job.model import Feature, HoldAsk, Job
from jawright.part.model import Part
from jawright.part.plate import make_plate
from jawright.proof import window
from jawright.proof.holds import prove as prove_holds
from jawright.proof.metal import gripped
from jawright.proof.model import Proof
from jawright.proof.remedy import LOAD_SHARE
from jawright.shop.model import Shop
from test_carry import datum_stance, inputs


@cache
def pair() -> tuple[Candidate, Jaws]:
    """The demo pawl with datum B on the fixed jaw, its jaws designed."""
    job, shop, part, _ = inputs()
    c = datum_stance()
    assert c.draft is not None and c.view is not None
    made = design(c.draft, c.view, part=part, job=job, shop=shop, vise=c.draft.hold.vise)
    return replace(c, hold=made.hold, draft=replace(c.draft, hold=made.hold)), made.jaws


def failed(name: str, *, value: float, limit: float, model: str = "") -> Proof:
    return Proof(
        "grips",
        name,
        "fail",
        "It fails.",
        value,
        "",
        limit=limit,
        margin=limit - value,
        set=value,
        model=model,
    )


def window_of(c: Candidate, job: Job) -> tuple[float, float, float]:
    _, shop, part, _ = inputs()
    assert c.hold is not None
    got = window.window(c.hold, pair()[1], part, job, shop)
    assert got is not None
    return got


def test_a_torque_that_is_too_much_is_lowered_within_its_window_as_far_as_the_proof_asks() -> None:
    job, shop, part, _ = inputs()
    c, jaws = pair()
    least, now, _ = window_of(c, job)
    assert c.hold is not None
    some = [failed("spring, pin hole 2", value=1.0, limit=0.9)]
    got = lighter.torque(c.hold, jaws, some, part=part, job=job, shop=shop)
    assert got is not None
    assert least <= got.torque <= 0.9 * now
    much = [failed("bruise", value=100.0, limit=1.0, model="wall-pressure-1, line contact, first yield")]
    assert lighter.torque(c.hold, jaws, much, part=part, job=job, shop=shop) is None  # it would not hold
    uneven = [failed("contact over the grip depth", value=0.3, limit=0.66)]
    lowest = lighter.torque(c.hold, jaws, uneven, part=part, job=job, shop=shop)
    assert lowest is not None and lowest.torque == pytest.approx(least, abs=0.11)
    assert lowest.torque >= least
    set_now = c.with_hold(replace(c.hold, torque=got.torque, torque_why="to keep the pin hole round"))
    assert window_of(set_now, job)[1] == got.torque
    assert set_now.draft is not None and set_now.draft.hold.torque == got.torque


def test_what_more_force_would_not_break_asks_for_no_other_torque() -> None:
    job, shop, part, _ = inputs()
    c, jaws = pair()
    assert c.hold is not None
    located = [failed("located", value=1.0, limit=0.5)]
    assert lighter.torque(c.hold, jaws, located, part=part, job=job, shop=shop) is None
    bad = [failed("bruise", value=2.0, limit=1.0)]
    given = replace(job, hold=replace(job.hold, torque=25.0))
    assert lighter.torque(c.hold, jaws, bad, part=part, job=given, shop=shop) is None


def weak() -> tuple[Candidate, Job]:
    """Held in a vise whose screw gives less than the drills ask for: the window is empty."""
    job, shop, part, _ = inputs()
    c, jaws = pair()
    assert c.hold is not None
    s = window.study(gripped(c.hold, part), jaws, part, job, shop)
    assert s.least is not None
    tired = replace(c.hold, vise=replace(c.hold.vise, torque_max=0.9 * s.least))
    return c.with_hold(tired), job


def test_cuts_are_made_lighter_until_the_window_opens_and_say_so() -> None:
    c, job = weak()
    _, shop, part, _ = inputs()
    _, jaws = pair()
    assert c.hold is not None
    before = next(p for p in prove_holds(c.hold, jaws, part, job, shop) if p.name == "torque window")
    assert before.verdict == "fail"
    got = lighter.cuts(c.hold, jaws, [], part=part, job=job, shop=shop)
    assert got is not None and got.words.startswith("cut lighter: ")
    after = c.with_hold(replace(c.hold, features=got.features))
    assert after.hold is not None
    proof = next(p for p in prove_holds(after.hold, jaws, part, job, shop) if p.name == "torque window")
    assert proof.verdict in ("pass", "caution"), proof.sentence
    told = [a for f in after.hold.features for a in f.assumed if "so that the clamp holds it" in a]
    assert told, "the sheet's assumptions say what was made lighter"
    again = lighter.as_before(c.hold.features, after.hold.features)
    assert [(f.feed_per_tooth, f.axial) for f in again] == [
        (f.feed_per_tooth, f.axial) for f in after.hold.features
    ]


def test_feeds_that_the_job_gives_are_left_alone() -> None:
    c, job = weak()
    _, shop, part, _ = inputs()
    assert c.hold is not None
    own = tuple(replace(f, feed_per_tooth=0.1, axial=1.0) for f in job.features)
    given = replace(job, features=own)
    assert lighter.cuts(c.hold, pair()[1], [], part=part, job=given, shop=shop) is None


def test_changes_of_one_kind_take_each_others_place() -> None:
    c = datum_stance().with_change("gripped", "gripped 8.0 mm deep").with_change("blank", "blank A (steel)")
    c = c.with_change("gripped", "gripped 9.0 mm deep").with_change("tightened", "tightened to 20 N·m")
    assert c.changed == "blank A (steel), gripped 9.0 mm deep and tightened to 20 N·m"


def test_a_part_that_is_not_located_is_not_tinkered_with() -> None:
    job, shop, part, ask = inputs()
    c, jaws = pair()
    assert c.hold is not None
    bad = (failed("located", value=1.0, limit=0.0), failed("bruise", value=2.0, limit=1.0))
    assert (
        vary.next_change(c, [vary.Tried(c, c.hold, jaws, bad)], 0, vary.Bench(part, job, shop, ask)) is None
    )


@pytest.mark.parametrize(("share", "first"), [(0.97, "cut lighter"), (0.5, "gripped")])
def test_a_cut_that_is_hardly_too_heavy_is_made_lighter_first(
    share: float, first: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Nobody buys steel jaws or grips deeper for 3 % of a feed."""
    job, shop, part, ask = inputs()
    c, jaws = pair()
    assert c.hold is not None
    shut = replace(
        failed(window.NAME, value=1.0, limit=2.0),
        detail=((f"{LOAD_SHARE} pivot bore that would do", share, ""),),
    )
    made = lighter.Lighter(
        tuple(replace(f, feed_per_tooth=0.9 * f.feed_per_tooth) for f in c.hold.features), "cut lighter: all"
    )
    monkeypatch.setattr(lighter, "cuts", lambda *_, **__: made)
    found = vary.next_change(c, [vary.Tried(c, c.hold, jaws, (shut,))], 0, vary.Bench(part, job, shop, ask))
    assert found is not None and found.changed.startswith(first)


def test_a_change_that_leads_nowhere_is_left_and_the_first_design_changed_otherwise() -> None:
    """A nest on the whole outline closed the marks and cannot be filled: lighter, then, on the first seat."""
    job, shop, part, ask = inputs()
    c, jaws = pair()
    assert c.hold is not None
    marked = failed("bruise", value=2.0, limit=1.0)
    nested = c.with_hold(replace(c.hold, torque=17.0)).with_change("bearing", "bearing on its whole outline")
    assert nested.hold is not None
    off = failed("flush on the locators", value=0.05, limit=0.04)
    bench = vary.Bench(part, job, shop, ask)
    nowhere = [vary.Tried(nested, nested.hold, jaws, (off,))]
    assert vary.next_change(nested, nowhere, 0, bench) is None
    both = [vary.Tried(c, c.hold, jaws, (marked, off)), *nowhere]
    found = vary.next_change(c, both, 1, bench)
    assert found is not None and found.changed == "gripped 9.8 mm deep"


def test_a_part_that_springs_is_wrapped_further_round_and_cut_lighter() -> None:
    """A ring between two round nests: more of it bears on either jaw, in a blank thick enough for that."""
    part, job, shop, ask = ring()
    (c, *_) = choose.ranked(trial.candidates(part, job, shop, ask, trial.vises(part, job, shop)))
    assert c.draft is not None and c.view is not None
    made = design(c.draft, c.view, part=part, job=job, shop=shop, vise=c.draft.hold.vise)
    sprung = failed("spring", value=1.0, limit=0.1)
    bench = vary.Bench(part, job, shop, ask)
    found = vary.next_change(c, [vary.Tried(c, made.hold, made.jaws, (sprung,))], 0, bench)
    assert found is not None and found.draft is not None and found.hold is not None
    assert found.changed == "wrapped further round"

    def touched(hold: Hold) -> float:
        return sum(x.share for x in hold.contacts if x.on in ("fixed", "floating"))

    assert touched(found.hold) > 1.3 * touched(c.draft.hold)
    assert found.draft.place.blank.thickness > c.draft.place.blank.thickness


def ring() -> tuple[Part, Job, Shop, Ask]:
    outer, bore = circle((0.0, 0.0), 30.0), circle((0.0, 0.0), 25.0).reversed()
    part = make_plate(Region(outer, (bore,)), "mm", (), file="ring.dxf", data=b"", thickness=12.0)
    job, shop, _, _ = inputs()
    ask = replace(
        job, datums=(), tolerances=(), features=(Feature("top", "face", None, depth=0.5),),
        hold=HoldAsk(turn=0.0), up=(0.0, 0.0, 1.0),
    )  # fmt: skip
    return part, ask, shop, resolve(part, ask)


@pytest.mark.parametrize(
    ("own", "its", "says"),
    [
        (0.5, 0.8, "0.5 against 0.8"),
        (0.78, 0.81, "0.78 against 0.81"),
        (0.8004, 0.8012, "0.800 against 0.801"),
    ],
)
def test_a_weaker_grip_is_told_with_figures_that_differ(own: float, its: float, says: str) -> None:
    best = replace(datum_stance(), margin=its)
    assert choose.why_lost(replace(best, margin=own), best) == f"weaker grip: factor {says}"


def test_a_grip_that_is_weaker_by_nothing_is_no_reason() -> None:
    best = replace(datum_stance(), margin=0.80001)
    assert choose.why_lost(replace(best, margin=0.8), best) == "no better than the chosen one"


def test_cuts_made_lighter_twice_count_from_the_first() -> None:
    """Passes and feed are those of the cut first meant: twice half the depth is four passes, not two."""
    c, job = weak()
    assert c.hold is not None
    f = replace(next(x for x in c.hold.features if x.kind == "face"), axial=0.8)
    once = lighter._lighter(f, 0.6, job, lambda _: 1.0)
    assert once is not None and (once[0].passes, once[0].axial) == (2, pytest.approx(0.4))
    twice = lighter._lighter(once[0], 0.6, job, lambda _: 1.0)
    assert twice is not None and (twice[0].passes, twice[0].axial) == (4, pytest.approx(0.2))
    assert "in 4 passes of 0.20 mm" in twice[1]
    assert lighter._lighter(twice[0], 0.6, job, lambda _: 1.0) is None, "no more than the most passes"
    hole = next(x for x in c.hold.features if x.kind == "drill")
    slow = lighter._lighter(hole, 0.75, job, lambda _: 1.0)
    assert slow is not None and lighter.LEAST_FEED <= slow[0].slowed < 1.0
    again = lighter._lighter(slow[0], 0.75, job, lambda _: 1.0)
    assert again is None or again[0].slowed >= lighter.LEAST_FEED


def test_for_a_pair_that_exists_only_cut_and_torque_are_changed() -> None:
    """A pair from the rack was left, and new jaws cut, for 5 % of a facing depth."""
    c, job = weak()
    _, shop, part, ask = inputs()
    _, jaws = pair()
    assert c.hold is not None and c.view is not None
    kept = Kept("J-0001", "front", "", "", "DW-114 B OP 20", "2026-01-05", None, "", jaws)
    own = InKept(kept, jaws, c.hold, c.view, Turn(c.turn, "as it was cut", 0), same_part=True)
    old = replace(c, draft=None, kept=own)
    shut = next(p for p in prove_holds(c.hold, jaws, part, job, shop) if p.name == window.NAME)
    assert shut.verdict == "fail"
    bench = vary.Bench(part, job, shop, ask)
    found = vary.next_change(old, [vary.Tried(old, c.hold, jaws, (shut,))], 0, bench)
    assert found is not None and found.changed.startswith("cut lighter")
    assert found.kept is not None and found.kept.hold == found.hold != c.hold
    assert found.kept.jaws is jaws and found.draft is None
    marked = replace(failed("taper", value=2.0, limit=1.0), verdict="fail")
    second = vary.next_change(old, [vary.Tried(old, c.hold, jaws, (marked,))], 0, bench)
    assert second is None or second.changed.startswith(("tightened", "cut lighter"))
