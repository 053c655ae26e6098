"""A point toward the floating jaw: its two flanks are held as in a V."""

from __future__ import annotations

import math
from dataclasses import replace

import pytest

from jawright import choose, trial
from jawright.geometry.curve import Line
from jawright.geometry.profile import Profile, Region
from jawright.hold.outline import Outline
from jawright.hold.resolve import resolve
from jawright.hold.walls import VEE, centers, choose_grips, choose_locators, vee
from jawright.jaws import soft
from jawright.job.model import DatumPick, Feature, Pick
from jawright.job.read import read_job
from jawright.part.plate import make_plate
from jawright.proof.body import wall_loads
from jawright.shop.read import read_shop
from test_conductor import DEMO


def polygon(*corners: tuple[float, float]) -> Profile:
    return Profile(tuple(Line(a, b) for a, b in zip(corners, (*corners[1:], corners[0]), strict=True)))


def gusset(left: float, right: float, wide: float = 64.0) -> Profile:
    """A flat top of ``wide`` and a point below it, its flanks ``left`` and ``right`` degrees off it."""
    a, b = (math.tan(math.radians(q)) for q in (left, right))
    deep = wide * a * b / (a + b)
    return polygon((0.0, 0.0), (deep / a, -deep), (wide, 0.0))


def outline(profile: Profile, letters: tuple[str, ...] = ()) -> Outline:
    n = len(profile.curves)
    return Outline(profile, tuple(range(n)), letters or ("",) * n)


@pytest.mark.parametrize(("left", "right"), [(64.4, 47.6), (60.0, 60.0), (68.0, 68.0), (40.0, 66.0)])
def test_a_point_between_two_flanks_is_held_as_in_a_v(left: float, right: float) -> None:
    o = outline(gusset(left, right))
    found = vee(o, choose_locators(o, ()))
    assert [(w.index, w.purpose, w.reason) for w in found] == [(0, "grip", VEE), (1, "grip", VEE)]


@pytest.mark.parametrize(
    ("shape", "why"),
    [
        (gusset(75.0, 60.0), "a flank this steep jams before it pushes home"),
        (gusset(44.0, 44.0), "flanks this flat grip by themselves"),
        (polygon((0, 0), (20, -40), (44, -40), (64, 0)), "the flat between the flanks grips"),
        (polygon((0, 0), (60, -52), (26, 0)), "both flanks lean the same way"),
        (polygon((0, 0), (3, -5), (0, -10), (60, -2), (60, 0)), "a flat slope grips"),
    ],
)
def test_what_is_no_v(shape: Profile, why: str) -> None:
    o = outline(shape)
    assert vee(o, choose_locators(o, ())) == [], why


def test_a_v_that_would_tip_the_part_off_its_seat_is_none() -> None:
    """The seat is the short flat on the left, the point stands far to the right of it."""
    o = outline(polygon((0, 0), (0, -6), (46, -6), (66, -40), (86, -6), (80, -4), (12, -4), (12, 0)))
    seats = [w for w in choose_locators(o, ()) if w.middle[0] < 12]
    assert seats and vee(o, seats) == []


def test_a_v_of_which_one_flank_lies_between_the_jaws_is_none() -> None:
    o = outline(gusset(64.4, 47.6))
    both = vee(o, choose_locators(o, ()))
    assert centers(both) and not centers(both[:1]) and not centers([])


def triangle(*letters: str) -> tuple[soft.Draft, ...]:
    """The best stances of a triangle 12 thick, its base datum ``letters[0]``, the first flank the next."""
    shape = gusset(64.4, 47.6)
    part = make_plate(Region(shape), "mm", (), file="gusset.dxf", data=b"", thickness=12.0)
    at = {"B": (30.0, 0.0, 6.0), "C": (*shape.curves[0].at(0.5), 6.0)}
    job = read_job(DEMO / "pawl.toml")
    picks = tuple(DatumPick(x, Pick(at[x], f"datum {x}")) for x in letters)
    top = Feature("top", "face", None, depth=0.5)
    job = replace(job, datums=picks, features=(top,), tolerances=(), up=(0.0, 0.0, 1.0), thickness=12.0)
    shop, ask = read_shop(DEMO / "shop.toml"), resolve(part, job)
    found = trial.candidates(part, job, shop, ask, trial.vises(part, job, shop))
    return tuple(c.draft for c in choose.ranked(found) if c.draft is not None)


def test_a_triangle_lies_with_its_datum_flat_on_the_fixed_jaw() -> None:
    """It was turned by up to 20° until one flank could be gripped alone, with a stop beside the jaws."""
    hold = triangle("B")[0].hold
    (datum,) = [d for d in hold.datums if d.letter == "B"]
    assert datum.seat == "fixed" and abs(datum.normal[0]) < 1e-6
    assert hold.side_stop is None
    floating = [c for c in hold.contacts if c.on == "floating"]
    assert min(c.normal[0] for c in floating) < -0.6 and max(c.normal[0] for c in floating) > 0.6


def test_the_flanks_push_each_other_back_along_x() -> None:
    """By hand, without friction: N1 sin 64.4° = N2 sin 47.6°, N1 cos 64.4° + N2 cos 47.6° = 1."""
    loads = wall_loads(triangle("B")[0].hold, 1e-6)
    assert loads is not None
    steep = sum(w.share for w in loads if w.contact.on == "floating" and abs(w.contact.normal[0]) > 0.8)
    flat = sum(w.share for w in loads if w.contact.on == "floating" and abs(w.contact.normal[0]) < 0.8)
    a, b = math.radians(64.4), math.radians(47.6)
    assert steep == pytest.approx(math.sin(b) / math.sin(a + b), rel=1e-3)
    assert flat == pytest.approx(math.sin(a) / math.sin(a + b), rel=1e-3)


def test_a_datum_on_a_flank_is_not_left_to_a_v() -> None:
    """It is stopped where it can be; in a V nothing but the play of the floating jaw would place it."""
    for draft in triangle("B", "C")[:5]:
        assert all(w.reason != VEE for w in draft.bearing)


def test_grips_are_chosen_as_before_where_there_is_no_v() -> None:
    o = outline(gusset(44.0, 44.0))
    assert [w.index for w in choose_grips(o, choose_locators(o, ()), None)] == [0, 1]
