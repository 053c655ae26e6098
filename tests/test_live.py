"""Live answers agree with the proofs and the design they stand in for."""

from __future__ import annotations

import math
from dataclasses import replace
from functools import cache
from importlib import resources
from pathlib import Path

import numpy as np
import pytest

from jawright import record_json
from jawright.errors import JawrightError
from jawright.hold import hard
from jawright.hold import resolve as resolving
from jawright.hold.stance import Turn
from jawright.hold.view import view
from jawright.jaws import soft
from jawright.jaws.design import Pair, design
from jawright.job.read import read_job
from jawright.live import Bench
from jawright.part.read import read_part
from jawright.proof import everything, taper
from jawright.proof.elastic_join import SIDES
from jawright.proof.everything import window
from jawright.proof.metal import gripped
from jawright.proof.model import QUESTIONS
from jawright.proof.window import study
from jawright.record import Record
from jawright.shop.read import read_shop
from papers import sample

TURN = math.pi


@cache
def bench() -> Bench:
    """The demo's pawl, drafted and designed with its long flat on the fixed jaw, as if planned."""
    folder = Path(str(resources.files("jawright.data").joinpath("demo")))
    job, shop = read_job(folder / "pawl.toml"), read_shop(folder / "shop.toml")
    part = read_part(job.part_file)
    ask = resolving.resolve(part, job)
    assert job.up is not None
    seen = view(part, job, ask, job.up)
    vise = next(v for v in shop.vises if v.id == job.hold.vise)
    for turn in (0.0, TURN):
        drafted = soft.draft(seen, Turn(turn, "flat", 1), ask=ask, part=part, job=job, shop=shop, vise=vise)
        if isinstance(drafted, soft.Draft) and any(d.seat == "fixed" for d in drafted.hold.datums):
            pair: Pair = design(drafted, seen, part=part, job=job, shop=shop, vise=vise)
            return Bench(_record(replace(sample.good_record(), job=job, shop=shop, part=part), pair))
    raise AssertionError("the pawl no longer stands on its flat")


def _record(record: Record, pair: Pair) -> Record:
    torque = window(pair.hold, pair.jaws, record.part, record.job, record.shop)
    return replace(record, hold=pair.hold, jaws=pair.jaws, program=None, verification=None, torque=torque)


def test_the_taper_is_that_of_the_proof() -> None:
    r = bench().record
    assert r.hold is not None
    hold = gripped(r.hold, r.part)
    force = study(hold, r.jaws, r.part, r.job, r.shop).force
    assert force is not None
    proven = taper.walls(hold, r.jaws, r.job, force=force.set, part=r.part)
    assert proven is not None and proven.elastic
    left = bench().spacers()
    assert r.jaws is not None and left.height == r.jaws.stack.height
    assert left.taper == pytest.approx(proven.taper, abs=1e-12)
    assert left.shift == pytest.approx(proven.fixed.shift, abs=1e-12)


def test_a_record_read_again_keeps_its_torque() -> None:
    """The solid that the window came from is not in the file."""
    read = record_json.loads(record_json.dumps(bench().record))
    assert read.torque is not None
    assert Bench(read).spacers().torque == pytest.approx(read.torque[1])


def test_lower_spacers_and_more_torque_leave_more_taper() -> None:
    b = bench()
    room = b.heights()
    assert room.low < room.now.height <= room.high
    heights = [h for h, _ in room.curve]
    assert heights == sorted(heights) and heights[0] == room.low and heights[-1] == pytest.approx(room.high)
    assert abs(room.curve[0][1]) > abs(room.now.taper)
    assert b.spacers(height=room.low - 50.0).height == room.low  # stays where spacers can stand
    soft_one, hard_one = (b.spacers(height=room.low, torque=t) for t in (15.0, 45.0))
    assert abs(hard_one.taper) > abs(soft_one.taper) and hard_one.force > soft_one.force
    assert room.owned
    assert all(room.low <= o.height <= room.high for o in room.owned)


def test_a_torque_the_vise_does_not_take_is_refused() -> None:
    for torque in (0.0, -5.0, 1e4):
        with pytest.raises(JawrightError) as e:
            bench().spacers(torque=torque)
        assert e.value.where == "hold.torque"


def test_nothing_turned_is_the_very_same_design() -> None:
    b = bench()
    got = b.turned(b.record.job, asked=())
    assert got.record.jaws == b.record.jaws
    assert got.record.hold is not None and b.record.hold is not None
    assert got.record.hold.contacts == b.record.hold.contacts


def test_a_turned_part_is_designed_anew_and_asked_the_quick_questions() -> None:
    b = bench()
    assert b.record.hold is not None
    at = b.record.hold.stance.turn + math.radians(1.0)
    aside = round(b.record.hold.stance.shift) - 1.0
    job = replace(b.record.job, hold=replace(b.record.job.hold, turn=at, shift=aside))
    got = b.turned(job)
    assert got.record.hold is not None
    assert got.record.hold.stance.turn == at and got.record.hold.stance.shift == aside
    assert {p.question for p in got.record.proofs} == {"loads", "clears"}
    assert got.good is not None and got.margin is not None
    assert got.record.jaws != b.record.jaws
    assert not got.record.ready  # without a program and with two questions asked it is no plan


def test_what_cannot_be_held_says_why() -> None:
    b = bench()
    job = replace(b.record.job, hold=replace(b.record.job.hold, fixed_jaw_datum="A"))
    with pytest.raises(JawrightError) as e:
        b.turned(job)
    assert e.value.code == "hold-none" and "datum A" in e.value.what


def test_the_rooms_asked_one_by_one_are_all_the_proofs() -> None:
    """Turned by nothing and asked everything, a stance answers as the conductor's proofs do."""
    b = bench()
    r = b.record
    got = b.turned(r.job, asked=QUESTIONS).record
    assert got.hold is not None
    whole = everything.prove(got.hold, got.jaws, r.part, r.job, r.shop)
    assert sorted(p.name for p in got.proofs) == sorted(p.name for p in whole)
    assert {p.name: p.verdict for p in got.proofs} == {p.name: p.verdict for p in whole}


def test_jaws_and_part_bend_as_the_condensed_bodies_do() -> None:
    """The picture against the contact problem: patches agree, and walls that press stay on the part."""
    b = bench()
    bent = b.bent()
    assert bent.left < 1e-6
    _, m = b._model()
    left = b.spacers()
    for side in SIDES:
        w = m.jaws[side].walls
        moved = bent.at(side, w.middle)
        assert moved[:, 1].min() > 0  # the fixed jaw gives way, all else follows it
        apart = ((moved - bent.at("part", w.middle)) * w.normal).sum(axis=1)
        assert apart.min() > -3e-4 and apart.max() < 2e-3  # within half a patch of a contact
    fixed = m.jaws["fixed"].walls
    shift = float(np.average(bent.at("fixed", fixed.middle)[:, 1], weights=fixed.area))
    assert shift == pytest.approx(left.shift, abs=1e-3)


def test_hard_jaws_have_no_spacers_and_lean_all_the_same() -> None:
    """The cheek plate of the examples between two long flats."""
    folder = Path(__file__).resolve().parents[1] / "examples" / "cheek"
    job, shop = read_job(folder / "cheek.toml"), read_shop(folder / "shop.toml")
    part = read_part(job.part_file)
    ask = resolving.resolve(part, job)
    assert job.up is not None
    seen = view(part, job, ask, job.up)
    vise = next(v for v in shop.vises if v.id == (job.hold.vise or v.id))
    turns = [Turn(math.radians(a), "flat", 1) for a in (0, 90, 180, 270)]
    tried = [hard.propose(seen, t, ask=ask, part=part, job=job, shop=shop, vise=vise) for t in turns]
    hold = next(h for h in tried if not isinstance(h, str))
    held = replace(
        sample.good_record(),
        job=job,
        shop=shop,
        part=part,
        hold=hold,
        jaws=None,
        program=None,
        verification=None,
    )
    plain = Bench(held)
    with pytest.raises(JawrightError) as e:
        plain.spacers()
    assert e.value.code == "hold-none"
    bent = plain.bent()
    top = np.array([[0.0, 0.0, hold.vise.hard_jaw_height]])
    gives, follows = bent.at("fixed", top)[0, 1], bent.at("floating", top - [0, hold.gap, 0])[0, 1]
    assert 0 < gives < follows < 0.1
    aside = replace(job, hold=replace(job.hold, shift=hold.stance.shift + 2.0))
    assert plain.turned(aside, asked=()).record.jaws is None
