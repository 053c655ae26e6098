"""Undersides with several levels: on which the part stands, what is cut below it, and that nothing fights.

Judged by plain geometry of the parts as they were built, and by the reader that runs the program.
"""

from __future__ import annotations

import math
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest
import shapely

import jawright
from jawright import kernel, trial, tries
from jawright.choose import Candidate
from jawright.geometry.polygon import to_polygon
from jawright.hold import hard, resolve, stance
from jawright.hold.view import View, view
from jawright.jaws.design import design
from jawright.jaws.lower import BESIDE, CLEAR, LAND
from jawright.jaws.model import LOWER_FLOOR, ROOM_BELOW, Well
from jawright.jaws.row import spots_of
from jawright.part.read import read_part
from jawright.proof import twolevels, wrongway
from jawright.record import Record
from jaws.levels import asked, box

UP = (0.0, 0.0, 1.0)


def seen(name: str, folder: Path, floor: str = "", *, datums: bool = True) -> View:
    job, _ = asked(name, folder, floor, datums=datums)
    part = read_part(job.part_file)
    return view(part, job, resolve.resolve(part, job), UP)


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return tmp_path_factory.mktemp("levels")


@pytest.fixture(scope="module")
def plans(folder: Path) -> dict[str, Record]:
    return {n: jawright.plan(*asked(n, folder), made="2026-01-01") for n in ("cover", "step")}


def test_a_flange_stands_on_its_datum_and_its_hub_hangs_clear(folder: Path) -> None:
    v = seen("cover", folder)
    assert v.tall == pytest.approx(14.0)
    assert [(b.depth, b.soles) for b in v.below] == [(pytest.approx(5.0), ())]
    assert v.below[0].region.area == pytest.approx(math.pi * 12.0**2, rel=1e-6)
    assert "datum A" in v.level_reason


def test_a_hub_without_a_datum_above_it_carries_the_part_as_before(folder: Path) -> None:
    """The weight lies over the hub: the part stands on its lowest level when no datum asks for another."""
    v = seen("cover", folder, datums=False)
    assert v.below == () and v.tall == pytest.approx(19.0)


def test_one_level_can_be_asked_for(folder: Path) -> None:
    assert seen("cover", folder, "one level").below == ()


def test_two_levels_only_where_one_does_not_carry(folder: Path) -> None:
    """The lever's weight lies 23 mm from the middle of its deep boss, whose sole reaches 13."""
    v = seen("lever", folder)
    (b,) = v.below
    assert b.depth == pytest.approx(3.0) and len(b.soles) == 1
    assert v.tall == pytest.approx(13.0) and "tip" in v.level_reason


def test_parts_on_one_level_are_seen_as_before(tmp_path: Path, folder: Path) -> None:
    job, _ = asked("cover", folder)
    (tmp_path / "block.step").write_bytes(kernel.step_text({"b": box(0, 0, 40, 30, 0, 15)}, title="b"))
    part = read_part(tmp_path / "block.step")
    bare = replace(job, datums=(), features=(), part_file=tmp_path / "block.step")
    v = view(part, bare, resolve.resolve(part, bare), UP)
    assert v.below == () and v.level_reason == "" and v.low == pytest.approx(0.0)


def wells(record: Record, purpose: str) -> list[Well]:
    assert record.jaws is not None
    return [w for w in record.jaws.wells if w.purpose == purpose]


def test_the_hubs_room_clears_it_all_round_and_below(plans: dict[str, Record]) -> None:
    r = plans["cover"]
    assert r.hold is not None and r.jaws is not None
    (w,) = wells(r, ROOM_BELOW)
    assert w.bottom == pytest.approx(r.hold.floor - 5.0 - CLEAR)
    hub = to_polygon(r.hold.below[0].region, 0.001)
    assert to_polygon(w.region, 0.001).contains(hub.buffer(r.jaws.cutter_radius + BESIDE - LAND - 0.01))
    assert {c.point[2] for c in r.hold.contacts if c.on == "floor"} == {r.hold.floor}
    (p,) = [p for p in r.proofs if p.name == "room below the floor"]
    assert p.verdict == "pass" and p.low == pytest.approx(CLEAR - r.job.incoming.thickness.value)


def test_the_program_cuts_both_levels_and_is_read_back_to_the_micron(plans: dict[str, Record]) -> None:
    for r in plans.values():
        assert r.verification is not None and r.verification.verified
        assert r.verification.gouge < 0.005 and r.verification.rest < 0.005


def test_a_step_is_carried_on_both_levels_and_told_with_its_number(plans: dict[str, Record]) -> None:
    r = plans["step"]
    assert r.hold is not None and r.jaws is not None
    (w,) = wells(r, LOWER_FLOOR)
    assert w.bottom == pytest.approx(r.hold.floor - 4.0)
    levels = {round(c.point[2] - r.hold.floor, 6) for c in r.hold.contacts if c.on == "floor"}
    assert levels == {0.0, -4.0}
    deep = to_polygon(r.hold.below[0].region, 0.001)
    gap = shapely.box(-500, -r.jaws.gap, 500, 0)
    assert deep.difference(to_polygon(w.region, 0.001).buffer(0.01).union(gap)).area < 0.05
    (p,) = [p for p in r.proofs if p.name == "floor at two levels"]
    d = {n: v for n, v, _ in p.detail}
    # by hand: a difference of 0.1 over the distance, as a slope
    slope = 0.1 / d["distance over which it tips"]
    assert math.tan(math.radians(d["tilt"])) == pytest.approx(slope, rel=1e-3)
    assert {q.letter: q.seat for q in r.hold.datums}["A"] == "floor"


def test_the_step_takes_the_part_turned_round_no_more(plans: dict[str, Record]) -> None:
    """Turned by half a turn the deep side of the step would stand on the upper floor, 4 mm too high."""
    r = plans["step"]
    assert r.hold is not None and r.jaws is not None
    ways = wrongway.find(r.hold, r.jaws, None)
    assert all(w.flipped for w in ways)
    blind = replace(r.hold, below=())
    assert any(not w.flipped for w in wrongway.find(blind, r.jaws, None))


def test_the_shorter_way_over_which_two_levels_tip(plans: dict[str, Record]) -> None:
    r = plans["step"]
    assert r.hold is not None
    floor = [c for c in r.hold.contacts if c.on == "floor"]
    upper = [c.point[0] for c in floor if c.point[2] > r.hold.floor - 1]
    lower = [c.point[0] for c in floor if c.point[2] < r.hold.floor - 1]
    left = sum(lower) / len(lower) < sum(upper) / len(upper)
    ways = (
        (min(upper) - min(lower), max(upper) - max(lower))
        if left
        else (max(lower) - max(upper), min(lower) - min(upper))
    )
    assert twolevels.span(r.hold) == pytest.approx(min(ways), rel=0.05)


def test_parallels_do_not_stand_under_what_reaches_down(folder: Path) -> None:
    """The deep half of the step lies over both parallels: hard jaws do not hold it on its upper level."""
    job, shop = asked("step", folder)
    part = read_part(job.part_file)
    ask = resolve.resolve(part, job)
    v = view(part, job, ask, UP)
    turn = stance.Turn(0.0, "test", 1)
    said = hard.propose(v, turn, ask=ask, part=part, job=job, shop=shop, vise=shop.vises[0])
    assert isinstance(said, str) and "levels" in said


def test_a_part_that_finds_no_jaws_on_its_datums_level_is_tried_on_its_lowest(
    folder: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A shop without a blank for the deeper pocket; pinned to two levels it stays refused."""
    job, shop = asked("cover", folder)
    part = read_part(job.part_file)
    ask = resolve.resolve(part, job)
    each_way = tries.each_way

    def shallow(stances: list[tuple[View, stance.Turn]], **what: Any) -> list[list[Candidate]]:
        if any(seen.below for seen, _ in stances):
            return [[tries.lost("soft jaws", seen.up, t, "no blank is that high")] for seen, t in stances]
        return each_way(stances, **what)

    monkeypatch.setattr(tries, "each_way", shallow)
    found = trial.candidates(part, job, shop, ask, trial.vises(part, job, shop))
    alive = [c for c in found if not c.lost]
    assert alive and all(c.view is not None and not c.view.below for c in alive)
    assert any(c.lost == "no blank is that high" for c in found)
    two = replace(job, hold=replace(job.hold, floor="two levels"))
    assert all(c.lost for c in trial.candidates(part, two, shop, ask, trial.vises(part, two, shop)))


def test_each_part_of_a_row_has_its_own_room_below(folder: Path) -> None:
    job, shop = asked("cover", folder)
    two = replace(job, hold=replace(job.hold, parts=2, turn=0.0))
    part = read_part(job.part_file)
    found = trial.candidates(part, two, shop, resolve.resolve(part, two), trial.vises(part, two, shop))
    (c,) = [c for c in found if not c.lost]
    assert c.draft is not None and c.view is not None
    pair = design(c.draft, c.view, part=part, job=two, shop=shop, vise=c.draft.hold.vise)
    (spot,) = spots_of(pair.hold)
    one, other = (w for w in pair.jaws.wells if w.purpose == ROOM_BELOW)
    assert spot.region(one.region).outer.box == pytest.approx(other.region.outer.box, abs=1e-9)
    for place, well in ((pair.hold.below[0].region, one), (spot.region(pair.hold.below[0].region), other)):
        assert to_polygon(well.region, 0.01).buffer(0.02).covers(to_polygon(place, 0.01))
