"""Designs are proven until one stands; what fails is changed first; pins are weighed."""

from __future__ import annotations

import math
from dataclasses import replace
from functools import cache

import pytest

from jawright import carry, choose, pins, trial, vary
from jawright.beside import Beside
from jawright.choose import Candidate
from jawright.errors import JawrightError
from jawright.hold.resolve import Ask, resolve
from jawright.job.model import Job
from jawright.job.read import read_job
from jawright.part.model import Part
from jawright.part.read import read_part
from jawright.proof.model import Proof
from jawright.shop.model import Shop
from jawright.shop.read import read_shop
from test_conductor import DEMO


@cache
def inputs() -> tuple[Job, Shop, Part, Ask]:
    job = read_job(DEMO / "pawl.toml")
    part = read_part(job.part_file, unit=job.part_unit)
    return job, read_shop(DEMO / "shop.toml"), part, resolve(part, job)


@cache
def datum_stance(material: str = "6061-T6") -> Candidate:
    """The demo pawl with datum B on the fixed jaw."""
    job, shop, part, ask = inputs()
    asked = replace(job, material=material, hold=replace(job.hold, turn=0.0, kind="soft jaws"))
    (found,) = trial.candidates(part, asked, shop, ask, trial.vises(part, asked, shop))
    return found


def failed(name: str, sentence: str = "It fails.") -> Proof:
    return Proof("grips", name, "fail", sentence, 1.0, "")


def change(c: Candidate, *bad: Proof, material: str = "6061-T6", **held: object) -> Candidate | None:
    job, shop, part, ask = inputs()
    held = {"torque": 30.0, **held}  # else a gentler torque comes first
    asked = replace(job, material=material, hold=replace(job.hold, **held))  # type: ignore[arg-type]
    assert c.hold is not None
    return vary.next_change(c, [vary.Tried(c, c.hold, None, bad)], 0, vary.Bench(part, asked, shop, ask))


def test_marked_aluminum_jaws_are_tried_in_steel_when_the_part_is_harder() -> None:
    found = change(datum_stance("1018 cold drawn"), failed("bruise"), material="1018 cold drawn")
    assert found is not None and found.draft is not None
    assert found.draft.place.blank.material == "1018 cold drawn"
    assert "blank S25x50" in found.changed


def test_a_soft_part_is_gripped_deeper_and_not_in_steel() -> None:
    """Harder jaws do not spare a part as soft as the jaws it is in."""
    c = datum_stance()
    found = change(c, failed("bruise"))
    assert found is not None and found.draft is not None and found.hold is not None and c.hold is not None
    assert found.draft.place.blank.material == "6061-T6"
    assert found.hold.grip_depth == pytest.approx(1.5 * c.hold.grip_depth)


def test_a_bending_jaw_is_tried_in_a_thicker_blank() -> None:
    c = datum_stance()
    found = change(c, failed("taper"))
    assert found is not None and found.draft is not None and c.draft is not None
    assert found.draft.place.blank.thickness > c.draft.place.blank.thickness


def test_what_the_job_pins_is_not_changed() -> None:
    c = datum_stance()
    assert change(c, failed("taper"), blank="A20x44") is None
    assert change(c, failed("bruise"), grip_depth=6.5) is None
    assert change(c, failed("located")) is None  # no blank and no depth locates a part


def work(said: list[str]) -> carry.Work:
    job, shop, part, ask = inputs()
    return carry.Work(part, job, shop, ask, said.append)


def test_when_every_design_fails_others_are_tried_and_all_are_told(monkeypatch: pytest.MonkeyPatch) -> None:
    """With a proof that always fails the loop ends by itself, within its bound, and says what it tried."""
    job, shop, part, ask = inputs()
    seen: list[Candidate] = []

    def fails(candidate: Candidate, _: carry.Work) -> carry.Proven:
        seen.append(candidate)
        assert candidate.hold is not None
        return carry.Proven(candidate, candidate.hold, None, (failed("bruise"),))

    monkeypatch.setattr(carry, "_prove", fails)
    asked = replace(job, hold=replace(job.hold, kind="soft jaws"))
    candidates = trial.candidates(part, asked, shop, ask, trial.vises(part, asked, shop))
    said: list[str] = []
    best, attempts = carry.best_of(candidates, work(said))
    assert best is not None
    assert 3 <= len(attempts) <= carry.MOST
    assert [a.chosen for a in attempts].count(True) == 1
    assert all(a.verdict == "fail" and a.open for a in attempts)
    assert any("gripped" in a.words for a in attempts)  # a change was tried
    assert len({(a.up, a.turn) for a in attempts}) > 1  # and another stance
    assert len(said) == len(attempts)


def test_the_first_that_stands_ends_it(monkeypatch: pytest.MonkeyPatch) -> None:
    job, shop, part, ask = inputs()
    asked = replace(job, hold=replace(job.hold, kind="soft jaws"))
    candidates = trial.candidates(part, asked, shop, ask, trial.vises(part, asked, shop))

    def second_stands(candidate: Candidate, _: carry.Work) -> carry.Proven:
        assert candidate.hold is not None
        ok = replace(failed("bruise"), verdict="pass")
        return carry.Proven(candidate, candidate.hold, None, (ok if candidate.changed else failed("bruise"),))

    monkeypatch.setattr(carry, "_prove", second_stands)
    best, attempts = carry.best_of(candidates, work([]))
    assert best is not None and best.candidate.changed
    assert [a.verdict for a in attempts] == ["fail", "pass"]
    assert best.candidate in candidates


def windowed(candidate: Candidate, most: float) -> carry.Proven:
    """Stands, with a torque window from 10 N·m to ``most``."""
    assert candidate.hold is not None
    ok = Proof("holds", "torque window", "caution", "Tight.", 10.0, "N·m", low=10.0, set=10.0, high=most)
    return carry.Proven(candidate, candidate.hold, None, (ok,))


def test_after_a_window_too_narrow_for_a_wrench_others_are_looked_at(monkeypatch: pytest.MonkeyPatch) -> None:
    """The first with a window that a wrench hits wins; where there is none, the widest, after few more."""
    job, shop, part, ask = inputs()
    asked = replace(job, hold=replace(job.hold, kind="soft jaws"))
    found = trial.candidates(part, asked, shop, ask, trial.vises(part, asked, shop))
    alike = [replace(c, predicted=1.0) for c in found]
    seen: list[Candidate] = []

    def prove(third: float, among: list[Candidate] = alike) -> carry.Proven | None:
        seen.clear()

        def tight(candidate: Candidate, _: carry.Work) -> carry.Proven:
            seen.append(candidate)
            return windowed(candidate, third if len(seen) == 3 else 10.1 + 0.01 * len(seen))

        monkeypatch.setattr(carry, "_prove", tight)
        best, attempts = carry.best_of(list(among), work([]))
        assert len(attempts) == len(seen) <= 1 + carry.AFTER
        told = [a for a in attempts if any("torque window: caution" in x for x in a.open)]
        assert len(told) == len(attempts) - (third > 12.0), "the record says why others were tried"
        return best

    best = prove(14.0)
    assert best is not None and best.candidate is seen[2] and len(seen) == 3
    assert len({(c.up, round(c.turn, 3)) for c in seen}) > 1, "another stance is among them"
    best = prove(10.5)
    assert best is not None and best.candidate is seen[2] and len(seen) >= 3
    prove(10.5, found)
    good = seen[0].predicted or 0.0  # of the one that stands
    assert len(seen) > 1 and min(c.predicted or 0.0 for c in found) < good - carry.AS_GOOD
    assert all((c.predicted or 0.0) >= good - carry.AS_GOOD for c in seen), "none that makes fewer good parts"


def test_a_pin_that_costs_says_so_and_one_that_does_not_too() -> None:
    job, shop, part, ask = inputs()
    for turn, dear in ((0.0, False), (0.6, True)):
        asked = replace(job, hold=replace(job.hold, turn=turn, kind="soft jaws", vise="V150"))
        found = trial.candidates(part, asked, shop, ask, trial.vises(part, asked, shop))
        told = {p.key: p for p in pins.costs(asked, shop, part=part, ask=ask, found=found, chosen=None)}
        turned = told["hold.turn"]
        assert turned.free_score is not None
        if dear:
            assert turned.score is None or turned.free_score > turned.score + 5
            assert "points" in turned.sentence or "nothing holds" in turned.sentence
            assert "datum B on the fixed jaw" in turned.free
        else:
            assert turned.score is not None and turned.score >= turned.free_score - pins.SAME
            assert "costs nothing" in turned.sentence


def test_a_pin_that_costs_nothing_but_money_says_how_much() -> None:
    job, shop, part, ask = inputs()
    asked = replace(job, hold=replace(job.hold, kind="soft jaws", vise="V150", turn=0.0, blank="A25x50"))
    found = trial.candidates(part, asked, shop, ask, trial.vises(part, asked, shop))
    best = choose.ranked(found)[0]
    assert best.money is not None
    for less, said in ((11.0, "costs 11 more for the lot"), (0.0, "costs nothing against")):
        told = pins._pinned("blank", asked, best, replace(best, money=best.money - less))
        assert said in told.sentence and told.score == told.free_score


def test_a_torque_no_vise_takes_is_refused_before_anything_is_tried() -> None:
    job, shop, part, _ = inputs()
    asked = replace(job, hold=replace(job.hold, vise="V150", torque=150.0))
    with pytest.raises(JawrightError, match=r"150.*V150 takes 80") as error:
        trial.vises(part, asked, shop)
    assert error.value.code == "value-bad"
    assert trial.vises(part, replace(asked, hold=replace(asked.hold, torque=80.0)), shop)


def test_datum_pinned_to_the_fixed_jaw() -> None:
    job, shop, part, ask = inputs()
    asked = replace(job, hold=replace(job.hold, fixed_jaw_datum="C"))
    vises = trial.vises(part, asked, shop)
    alive = choose.ranked(trial.candidates(part, asked, shop, ask, vises))
    assert alive
    for c in alive:
        assert c.hold is not None
        assert {d.letter: d.seat for d in c.hold.datums}["C"] == "fixed"
    told = pins.costs(asked, shop, part=part, ask=ask, found=alive, chosen=alive[0])
    fixed = next(p for p in told if p.key == "hold.fixed_jaw_datum")
    assert fixed.free == "datum B"


def test_score_is_the_sum_it_is_said_to_be() -> None:
    c = datum_stance()
    assert c.hold is not None and c.predicted is not None and c.margin is not None
    by_hand = 60 * c.predicted + 10 * choose.seats(c.hold) + 10 * min(c.margin / 2, 1)
    by_hand += 10 * choose.seat_share(c.hold) + 10 + 5 * c.thrift
    assert choose.score(c) == pytest.approx(by_hand, abs=1e-9)
    assert choose.score(replace(c, kind="hard jaws")) == pytest.approx(by_hand + 30, abs=1e-9)


def proven(*bad: Proof) -> carry.Proven:
    c = datum_stance()
    assert c.hold is not None
    return carry.Proven(c, c.hold, None, bad)


def miss(question: str, name: str, *, value: float, limit: float, sentence: str = "It fails.") -> Proof:
    margin = value - limit
    return Proof(question, name, "fail", sentence, value, "", limit=limit, margin=margin)  # type: ignore[arg-type]


def test_what_can_hurt_is_worse_than_any_number_of_marks() -> None:
    """A part that slips is worse than one that is bruised, tapered and off its datum."""
    slips = miss("holds", "load factor, top", value=1.9, limit=2.0)
    marked = [
        miss("grips", "bruise", value=0.2, limit=1.0),
        miss("grips", "taper", value=0.0, limit=1.0),
        miss("sits", "flush on the locators", value=0.0, limit=1.0),
    ]
    assert proven(*marked).rank < proven(slips).rank
    far = miss("holds", "load factor, top", value=0.5, limit=2.0)
    assert proven(slips).rank < proven(far).rank, "how far a figure misses counts too"
    assert proven(marked[0]).rank < proven(marked[2]).rank, "a mark is less than a part that does not sit"
    assert proven().rank == (0.0, 0.0, 0, 0)


def test_a_torque_window_closed_by_marks_hurts_nobody() -> None:
    """Told by the proof itself, whatever its sentence says."""
    closed = miss("holds", "torque window", value=1.0, limit=2.0)
    assert not carry.dangerous(replace(closed, harm="spoils"))
    assert carry.dangerous(replace(closed, harm="hurts", sentence="spring of the bruise"))
    assert carry.dangerous(closed), "not told: as every failure to hold"
    marked = miss("grips", "bruise", value=0.2, limit=1.0)
    assert not carry.dangerous(marked)
    assert carry.dangerous(replace(marked, harm="hurts"))


def test_a_datum_that_leans_on_the_fixed_jaw_is_half_a_seat() -> None:
    hold = datum_stance().hold
    assert hold is not None
    square = choose.seats(hold)
    a = math.radians(25)
    leaning = replace(
        hold,
        datums=tuple(
            replace(d, normal=(math.sin(a), math.cos(a), 0.0)) if d.seat == "fixed" else d
            for d in hold.datums
        ),
    )
    count = len(hold.datums[:3])
    assert choose.seats(leaning) == pytest.approx(square - 0.5 / count)
    assert [round(math.degrees(choose.lean(d))) for d in leaning.datums if choose.lean(d)] == [25]
    assert not any(choose.lean(d) for d in hold.datums)


def test_a_datum_along_the_jaw_wins_over_one_that_is_nearly_along_it() -> None:
    """Common practice, no source: half a degree saves nothing and is harder to cut and to check."""
    c = datum_stance()
    assert c.hold is not None
    wall = next(d for d in c.hold.datums if d.seat == "fixed")
    assert not choose.askew(c.hold)
    tiny = math.radians(0.4)
    off = replace(wall, normal=(math.sin(tiny), math.cos(tiny), 0.0))
    hold = replace(c.hold, datums=tuple(off if d is wall else d for d in c.hold.datums))
    near = replace(c, hold=hold)
    assert choose.lean(off) == 0.0  # within what counts as square
    assert choose.score(near) == pytest.approx(choose.score(c) - choose.ASKEW, abs=1e-9)
    assert choose.why_lost(near, c).startswith("its datum is a little off the direction of the fixed jaw")


def test_pinned_spacers_say_what_they_cost() -> None:
    job, shop, part, ask = inputs()
    free = datum_stance()
    assert free.draft is not None and free.hold is not None
    low = free.draft.place.stack.height - 8.0
    held = replace(job.hold, turn=0.0, kind="soft jaws", vise="V150")
    vises = trial.vises(part, replace(job, hold=held), shop)
    stood = []
    for h in range(12):  # some height the shop's parallels can make, lower than the best one
        asked = replace(job, hold=replace(held, spacer_height=low - h))
        found = trial.candidates(part, asked, shop, ask, vises)
        if any(not c.lost for c in found):
            told = {p.key: p for p in pins.costs(asked, shop, part=part, ask=ask, found=found, chosen=None)}
            stood.append(told["hold.spacer_height"].sentence)
            break
    assert stood, "no lower stack was found"
    assert "from the middle of the grip instead of" in stood[0]
    cutter = replace(job, hold=replace(held, jaw_cutter=free.draft.cutter.id))
    found = trial.candidates(part, cutter, shop, ask, vises)
    told = {p.key: p for p in pins.costs(cutter, shop, part=part, ask=ask, found=found, chosen=None)}
    assert "costs nothing" in told["hold.jaw_cutter"].sentence


def test_stances_are_told_in_the_units_of_the_job() -> None:
    job, shop, part, ask = inputs()
    inch = replace(job, units="inch", hold=replace(job.hold, kind="soft jaws"))
    found = trial.candidates(part, inch, shop, ask, trial.vises(part, inch, shop))
    said = [w for c in found for w in (c.lost, c.why_tried if c.hold is not None else "")]
    assert any(" in on the fixed jaw" in w or " in of " in w for w in said)
    assert not [w for w in said if " mm" in w]


@pytest.mark.parametrize(("soon", "bad", "shows"), [(True, (), 1), (False, (), 2), (True, (failed("x"),), 2)])
def test_answers_are_not_shown_alone_where_the_whole_sheet_follows_at_once(
    monkeypatch: pytest.MonkeyPatch, soon: bool, bad: tuple[Proof, ...], shows: int
) -> None:
    """A page drawn to be replaced half a second later is in vain; a design that fails is looked at."""
    job, shop, part, ask = inputs()
    c = datum_stance()
    assert c.hold is not None
    monkeypatch.setattr(carry, "window", lambda *_: None)
    monkeypatch.setattr(carry, "region", lambda *_: None)
    monkeypatch.setattr(carry, "scatter", lambda *_: ())
    monkeypatch.setattr(carry, "answer", lambda *_, question: bad if question == "grips" else ())
    monkeypatch.setattr(Beside, "within", lambda *_: soon)
    shown: list[carry.Proven] = []
    work = carry.Work(part, job, shop, ask, lambda _: None, shown.append)
    p = carry.Proven(c, c.hold, None, (), cutting=Beside(lambda: None))  # type: ignore[arg-type,return-value]
    carry._answered(p, work, job, shop)
    assert len(shown) == shows
    assert [bool(s.proofs) for s in shown[1:]] == [bool(bad)] * (shows - 1)
