"""A stop outside the pocket: where it touches, which of the shop's stops gets there, who carries it on."""

from __future__ import annotations

import math
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from jawright import choose, kernel, trial, tries
from jawright.geometry.curve import Arc, Line
from jawright.geometry.profile import Profile, Region, circle, rectangle
from jawright.hold.resolve import Ask, resolve
from jawright.hold.sidestop import Room, side_stop
from jawright.hold.stance import Turn
from jawright.hold.view import view
from jawright.jaws import soft
from jawright.jaws.design import design
from jawright.job.model import Feature, Job
from jawright.job.read import read_job
from jawright.part.model import Part
from jawright.part.plate import make_plate
from jawright.part.read import read_part
from jawright.proof.obstacles import obstacles
from jawright.proof.population import scene
from jawright.shop.model import Shop, Stop
from jawright.shop.read import read_shop
from test_conductor import DEMO

UP = (0.0, 0.0, 1.0)


def plate(outline: Profile, tall: float) -> tuple[Part, Job, Ask]:
    part = make_plate(Region(outline), "mm", (), file="plate.dxf", data=b"", thickness=tall)
    job = replace(
        read_job(DEMO / "pawl.toml"),
        datums=(),
        tolerances=(),
        features=(Feature("top", "face", None, depth=0.5),),
    )
    return part, job, resolve(part, job)


def shop(*stops: Stop) -> Shop:
    return replace(read_shop(DEMO / "shop.toml"), stops=stops)


def touch(outline: Profile, tall: float, room: Room, *stops: Stop, side: str = ""):  # type: ignore[no-untyped-def]
    return touch_part(plate(outline, tall), room, *stops, side=side)


def touch_part(of: tuple[Part, Job, Ask], room: Room, *stops: Stop, side: str = ""):  # type: ignore[no-untyped-def]
    part, job, ask = of
    job = replace(job, hold=replace(job.hold, stop=side))
    seen = view(part, job, ask, UP)
    return side_stop(
        seen,
        Turn(0.0, "test", 1),
        (0.0, 0.0),
        letters={},
        room=room,
        ask=ask,
        part=part,
        job=job,
        shop=shop(*stops),
    )


JAWS = Room(half=75.0, gap=6.0, floor=40.0, jaw_top=46.5, open_between=False)


def test_touches_the_middle_of_the_end_above_the_jaws() -> None:
    contact, stop = touch(rectangle(-20, -20, 30, 0), 30.0, JAWS, side="+X")
    assert contact.point[:2] == pytest.approx((30.0, -10.0))
    assert contact.normal == pytest.approx((-1.0, 0.0, 0.0))
    assert 46.5 < stop.at[2] < 70.0
    assert stop.where == "above the jaws" and stop.side == "+X"
    assert stop.reach == pytest.approx(75.0 - 30.0)
    assert stop.id == ""  # none listed: get one


def test_low_part_is_touched_in_the_gap_and_within_it() -> None:
    contact, stop = touch(rectangle(-20, -20, 30, 12), 9.0, JAWS, side="-X")
    assert stop.where == "between the jaws" and stop.side == "-X"
    assert -JAWS.gap < contact.point[1] < 0
    assert JAWS.floor < stop.at[2] < JAWS.jaw_top
    assert stop.tip <= JAWS.gap - 2


@pytest.mark.parametrize("tall", [4.0, 5.5, 8.0, 12.0])
def test_a_thin_part_in_hard_jaws_is_stopped_below_the_cutter(tall: float) -> None:
    """A face cut passes 1 mm over the stop at least: else a plate that hard jaws hold was given soft ones."""
    hard = Room(half=75.0, gap=32.0, floor=40.0, jaw_top=40.0 + tall - 2.0, open_between=True)
    contact, stop = touch(rectangle(-20, -32, 30, 0), tall, hard, side="-X")
    assert stop.where == "between the jaws"
    assert stop.at[2] + stop.tip / 2 <= 40.0 + tall - 1.0
    assert stop.at[2] - stop.tip / 2 >= 40.0 and contact.point[2] == stop.at[2]
    wide = Stop("ST8", low=0.0, high=90.0, reach=90.0, tip=8.0)
    _, owned = touch(rectangle(-20, -32, 30, 0), tall, hard, wide, side="-X")
    assert (owned.id == "ST8") == (tall >= 8.0), "its tip would stand in the cutter's way"


def test_round_part_is_touched_at_its_end() -> None:
    contact, _ = touch(circle((5.0, -15.0), 15.0), 30.0, JAWS, side="+X")
    assert contact.point[0] == pytest.approx(20.0, abs=1e-3)
    assert contact.normal[0] == pytest.approx(-1.0)
    assert contact.radius_part == pytest.approx(15.0)


@pytest.mark.parametrize("degrees", [5.0, 15.0, 24.0])
def test_a_leaning_wall_is_stopped_square_to_itself(degrees: float) -> None:
    """The gap shows a piece of a wall whose far end lies within the jaws: the push is square to the wall."""
    lean = 40.0 * math.tan(math.radians(degrees))
    points = [(-20.0, -35.0), (30.0, -35.0), (30.0 + lean, 5.0), (-20.0, 5.0)]
    outline = Profile(tuple(Line(p, q) for p, q in zip(points, (*points[1:], points[0]), strict=True)))
    contact, stop = touch(outline, 9.0, JAWS, side="+X")
    assert stop.where == "between the jaws" and -JAWS.gap < contact.point[1] < 0.0
    want = (-math.cos(math.radians(degrees)), math.sin(math.radians(degrees)))
    assert contact.normal[:2] == pytest.approx(want)


def test_a_pinned_side_is_stopped_though_the_other_end_has_the_better_wall() -> None:
    """A flat end and a round one: the round one is touched where the job asks for that side."""
    a, b = (20.0, -20.0), (20.0, 0.0)
    curves = (Line((-20.0, -20.0), a), Arc(a, b, (20.0, -10.0), True), Line(b, (-20.0, 0.0)))
    outline = Profile((*curves, Line((-20.0, 0.0), (-20.0, -20.0))))
    flat, _ = touch(outline, 30.0, JAWS)
    assert flat.point[0] == pytest.approx(-20.0)
    contact, stop = touch(outline, 30.0, JAWS, side="+X")
    assert stop.side == "+X" and contact.point[:2] == pytest.approx((30.0, -10.0), abs=1e-2)


def test_a_wall_that_leans_too_much_is_no_stop() -> None:
    points = [(-20.0, -35.0), (30.0, -35.0), (70.0, 5.0), (-20.0, 5.0)]
    outline = Profile(tuple(Line(p, q) for p, q in zip(points, (*points[1:], points[0]), strict=True)))
    assert isinstance(touch(outline, 9.0, JAWS, side="+X"), str)


def test_shops_stop_that_reaches_is_named_and_one_that_does_not_is_not() -> None:
    near = Stop("ST20", low=0.0, high=90.0, reach=20.0, tip=8.0)
    far = Stop("ST60", low=0.0, high=90.0, reach=60.0, tip=8.0)
    low = Stop("STLOW", low=0.0, high=30.0, reach=60.0, tip=8.0)
    _, stop = touch(rectangle(-20, -20, 30, 0), 30.0, JAWS, near, far, low, side="+X")
    assert stop.id == "ST60" and stop.tip == 8.0
    _, stop = touch(rectangle(-20, -20, 30, 0), 30.0, JAWS, near, low, side="+X")
    assert stop.id == ""


def test_no_room_for_a_stop_says_why() -> None:
    tight = replace(JAWS, gap=2.0)
    said = touch(rectangle(-20, -20, 30, 0), 9.0, tight)
    assert isinstance(said, str) and "no room for a stop" in said


def made(folder: Path, *bodies: bytes) -> tuple[Part, Job, Ask]:
    """A part of boxes, read from its file, with the job of the plates."""
    path = folder / "made.step"
    path.write_bytes(kernel.step_text({"made": kernel.fuse(*bodies)}, title="made"))
    part = read_part(path)
    _, job, _ = plate(rectangle(0, 0, 10, 10), 5.0)
    return part, job, resolve(part, job)


def block(x0: float, x1: float, low: float, high: float, *, y0: float = -20.0, y1: float = 12.0) -> bytes:
    return kernel.extrude(Region(rectangle(x0, y0, x1, y1)), low, high)


@pytest.mark.parametrize("side", ["-X", "+X"])
def test_a_stop_does_not_reach_through_one_leg_to_another(tmp_path: Path, side: str) -> None:
    """Two legs, the one at -X the larger: the stop ended on its inner wall, behind the small one."""
    legs = (block(-30, 0, 0.0, 6.0), block(20, 24, 0.0, 6.0))
    contact, stop = touch_part(made(tmp_path, block(-30, 24, 6.0, 9.0), *legs), JAWS, side=side)
    assert stop.where == "between the jaws" and JAWS.floor < stop.at[2] < JAWS.floor + 6.0
    assert contact.point[0] == pytest.approx(-30.0 if side == "-X" else 24.0)


@pytest.mark.parametrize(("out", "met"), [(0.3, True), (2.0, False)])
def test_a_lip_within_the_height_of_the_tip_is_met_first(tmp_path: Path, out: float, met: bool) -> None:
    """The tip is 4 mm high here and touches 3.2 mm above the floor: a lip from 4.5 mm on meets it first."""
    lip = block(-20 - out, 30 + out, 4.5, 9.0)
    got = touch_part(made(tmp_path, block(-20, 30, 0.0, 4.5), lip), JAWS, side="+X")
    if met:
        contact, _ = got
        assert contact.point[0] == pytest.approx(30.0)
    else:
        assert isinstance(got, str) and "stands out further" in got


@pytest.mark.parametrize(
    ("collars", "tip", "at"),
    [
        ([(13.0, 17.0)], 6.0, 30.0),  # the usual height would meet it: above it
        ([(9.8, 26.0)], 6.0, 36.0),  # the tip touches the collar itself
        ([(12.0, 15.0), (20.0, 24.0)], 2.0, 30.0),  # no room for the usual tip beside either
        ([(17.0, 18.0)], 6.0, 30.0),  # thinner than the tip
    ],
)
def test_a_collar_above_the_jaws_is_passed_or_touched(
    tmp_path: Path, collars: list[tuple[float, float]], tip: float, at: float
) -> None:
    """Collars stand out 6 mm above the jaws: the tip goes beside them, a thin one if it must, or on one."""
    bodies = [block(-26, 36, low, high) for low, high in collars]
    contact, stop = touch_part(made(tmp_path, block(-20, 30, 0.0, 30.0), *bodies), JAWS, side="+X")
    assert (stop.where, stop.tip) == ("above the jaws", tip)
    assert contact.point[0] == pytest.approx(at)
    bottom, top = (stop.at[2] + k * stop.tip / 2 - 40.0 for k in (-1, 1))
    assert bottom >= 6.5 + 0.9 and top <= 30.0 - 1.0
    if at == 30.0:
        assert all(top <= low or bottom >= high for low, high in collars)


def hexagon(across: float, low: float = 1.0) -> Profile:
    """A hexagon on its flat, ``low`` times as high: made lower its sides lean more than 30°."""
    r = across / math.sqrt(3)
    p = [(r * math.cos(math.radians(60 * k)), low * r * math.sin(math.radians(60 * k))) for k in range(6)]
    return Profile(tuple(Line(p[k], p[(k + 1) % 6]) for k in range(6)))


def test_flat_seat_without_a_stop_wall_in_reach_of_the_jaw_is_located_by_a_side_stop() -> None:
    """A small low hexagon on its flat: its sides lean too much to be stopped in the fixed jaw."""
    part, job, ask = plate(hexagon(14.0, 0.9), 9.0)
    job = replace(job, hold=replace(job.hold, kind="soft jaws", turn=0.0))
    (found,) = trial.candidates(part, job, shop(), ask, trial.vises(part, job, shop()))
    assert not found.lost
    hold = found.hold
    assert hold is not None and hold.side_stop is not None and hold.stop == hold.side_stop.at
    assert [c.on for c in hold.contacts].count("stop") == 1
    s = scene(hold, job, shop())
    assert s.seated(np.zeros((1, len(s.sources)))).located
    assert found.draft is not None and found.view is not None
    pair = design(found.draft, found.view, part=part, job=job, shop=shop(), vise=hold.vise)
    assert [c.on for c in pair.hold.contacts].count("stop") == 1  # kept through the design of the pocket
    assert not any(z.purpose == "stop" for z in pair.jaws.zones)
    assert any(o.name == "side stop" for o in obstacles(pair.hold, pair.jaws))
    assert choose.flat_seat(hold)


PRINT = """units = "mm"
[job]
name = "Knob with two flats"
quantity = 20
[part]
file = "plate.step"
material = "6061-T6"
[hold]
up = "+Z"
[[datum]]
letter = "A"
at = [0, -5, 0]
[[datum]]
letter = "B"
at = [0, 20, 3]
[[datum]]
letter = "C"
at = [{x:.6f}, {y:.6f}, 3]
[[feature]]
name = "hole"
kind = "drill"
at = [3, 0, 3]
[[tolerance]]
feature = "hole"
kind = "position"
zone = 0.2
datums = ["A", "B", "C"]
"""


@pytest.mark.parametrize("lean", [-6.0, 6.0])
def test_a_datum_the_jaws_could_not_pass_is_stopped_from_beside_them(lean: float, tmp_path: Path) -> None:
    """Two flats nearly square to one another: one that looks away from the fixed jaw is no wall of it.

    The stop was cut to the round side instead, where the part varies against the datum.
    """
    half, side = math.radians(35.0), math.radians(lean)
    ends = [math.pi / 2 + half, math.pi / 2 - half, side + half / 2, side - half / 2]
    radius = 20.0 / math.cos(half)
    at = [(radius * math.cos(a), radius * math.sin(a)) for a in ends]
    curves = tuple(
        Line(at[k], at[k + 1]) if k in (0, 2) else Arc(at[k], at[(k + 1) % 4], (0.0, 0.0), ccw=False)
        for k in (0, 1, 2, 3)
    )
    profile = Profile(curves).counterclockwise()
    hole = circle((0.0, 0.0), 3.0).reversed()
    shape = kernel.extrude(Region(profile, (hole,)), 0.0, 6.0)
    (tmp_path / "plate.step").write_bytes(kernel.step_text({"plate": shape}, title="plate"))
    far = radius * math.cos(half / 2)
    text = PRINT.format(x=far * math.cos(side), y=far * math.sin(side))
    (tmp_path / "job.toml").write_text(text, encoding="utf-8")
    job, owned = read_job(tmp_path / "job.toml"), read_shop(DEMO / "shop.toml")
    part = read_part(tmp_path / "plate.step")
    ask = resolve(part, job)
    turn = Turn(0.0, "datum B on the fixed jaw", 0)
    seen = view(part, job, ask, UP)
    one = tries.soft(seen, turn, owned.vises[0], part=part, job=job, shop=owned, ask=ask)
    (best,) = tries.together([one])
    assert best.hold is not None and not best.lost
    assert {d.letter: d.seat for d in best.hold.datums} == {"A": "floor", "B": "fixed", "C": "stop"}
    assert (best.hold.side_stop is not None) == (lean < 0)
    assert best.predicted is not None and best.predicted > 0.9973


@pytest.mark.parametrize("across", [14.0, 19.0, 36.0])
def test_a_hexagon_on_its_flat_is_stopped_in_the_pocket(across: float) -> None:
    """Its sides lean by 30°, which rounding told to be too much of some."""
    part, job, ask = plate(hexagon(across), 9.0)
    job = replace(job, hold=replace(job.hold, kind="soft jaws", turn=0.0))
    (found,) = trial.candidates(part, job, shop(), ask, trial.vises(part, job, shop()))
    hold = found.hold
    assert hold is not None and hold.side_stop is None
    s = scene(hold, job, shop())
    assert s.seated(np.zeros((1, len(s.sources)))).located
    assert found.draft is not None and found.view is not None
    pair = design(found.draft, found.view, part=part, job=job, shop=shop(), vise=hold.vise)
    assert [c.on for c in pair.hold.contacts].count("stop") == 1


def test_the_worst_of_all_stances_gets_its_side_stop_too(monkeypatch: pytest.MonkeyPatch) -> None:
    """No good part at all is a figure as any other: it was taken for none."""
    made = pinned_best()
    assert made.draft is not None
    asked: list[bool] = []

    def draft(*, outside: bool, **_: bool) -> soft.Draft:
        asked.append(outside)
        assert made.draft is not None
        return replace(made.draft, left_out=not outside, leaning_stop=False, near=False)

    def alive(*_: object, **__: object) -> tries.Trying:
        return replace(made, predicted=0.0)
        yield

    monkeypatch.setattr(tries, "_alive", alive)
    job, wares = read_job(DEMO / "pawl.toml"), read_shop(DEMO / "shop.toml")
    assert made.view is not None
    tries.alone(tries._in_soft(made.view, Turn(0.0, "test", 0), draft, near=None, job=job, shop=wares))
    assert asked == [False, True]


def pinned_best() -> choose.Candidate:
    """The demo pawl as it stands best with datum B on the fixed jaw."""
    job, wares = read_job(DEMO / "pawl.toml"), read_shop(DEMO / "shop.toml")
    job = replace(job, hold=replace(job.hold, turn=0.0, kind="soft jaws"))
    part = read_part(job.part_file, unit=job.part_unit)
    (found,) = trial.candidates(part, job, wares, resolve(part, job), trial.vises(part, job, wares))
    return found
