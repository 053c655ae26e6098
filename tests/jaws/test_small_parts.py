"""A part too narrow for the shop's gaps: spacers are made for it, and its short stop is kept whole."""

from __future__ import annotations

import math
from dataclasses import replace

import pytest

from jawright import cost
from jawright.geometry.curve import Arc, Line
from jawright.geometry.profile import Profile, Region
from jawright.hold import resolve
from jawright.hold.stance import Turn
from jawright.hold.view import view
from jawright.jaws import soft
from jawright.jaws.design import Pair, design
from jawright.jaws.place import places
from jawright.jaws.spacers import NARROWEST, widths
from jawright.jaws.strips import THICKNESSES, strips
from jawright.job.model import Feature, HoldAsk, Pick
from jawright.part.plate import make_plate
from jaws.test_place import needs
from jaws.test_windows import JOB, SHOP
from samples import blank, parallels, vise

UP = (0.0, 0.0, 1.0)


def seat(half: float, long: float) -> Profile:
    """A plate with one round end, ``half`` its width."""
    return Profile(
        (
            Line((long, half), (0.0, half)),
            Line((0.0, half), (0.0, -half)),
            Line((0.0, -half), (long, -half)),
            Arc((long, -half), (long, half), (long, 0.0), True),
        )
    )


def drafted(outline: Profile, **ask: object) -> tuple[soft.Draft | soft.Lost, Pair | None]:
    part = make_plate(Region(outline), "mm", (), file="s.dxf", data=b"", thickness=5.0)
    top = Feature("top", "face", Pick((1.0, 0.0, 5.0), "top"), depth=0.3)
    job = replace(JOB, features=(top,), hold=HoldAsk(**ask))  # type: ignore[arg-type]
    asked = resolve.resolve(part, job)
    seen, v = view(part, job, asked, UP), SHOP.vises[0]
    made = soft.draft(seen, Turn(0.0, "test", 1), ask=asked, part=part, job=job, shop=SHOP, vise=v)
    if isinstance(made, soft.Lost):
        return made, None
    return made, design(made, seen, part=part, job=job, shop=SHOP, vise=v)


def test_a_narrow_part_stands_straight_on_spacers_that_are_made_for_it() -> None:
    """6 mm wide, and the workshop's thinnest parallels are 6 mm: 2 mm in each jaw, 2 mm between them."""
    assert min(w.gap for w in widths(SHOP.parallels)) == 6.0
    draft, pair = drafted(seat(3.0, 8.0))
    assert isinstance(draft, soft.Draft) and pair is not None
    stack = pair.jaws.stack
    assert stack.to_make and stack.width == pair.jaws.gap == 2.0
    assert {c.on for c in pair.hold.contacts if c.locates} == {"floor", "fixed", "stop"}
    assert stack.high <= pair.jaws.top - 1.0 and stack.low == 0.0


def test_a_relief_that_would_eat_a_short_stop_bites_into_the_long_locating_wall() -> None:
    draft, pair = drafted(seat(3.0, 8.0))
    assert isinstance(draft, soft.Draft) and pair is not None and draft.whole_stop
    stop = [z for z in pair.jaws.zones if z.purpose == "stop"]
    seats = [z for z in pair.jaws.zones if z.purpose == "locate"]
    assert sum(c.length for z in stop for c in z.curves) == pytest.approx(2.0, abs=0.05), "all of it"
    left = sum(c.length for z in seats for c in z.curves)
    bite = 2 * next(r.radius for r in pair.jaws.reliefs if r.center[1] > 0.0)
    assert left == pytest.approx(8.0 - bite, abs=0.1), "the relief's width and no more is lost"


def bone(cheek: float) -> Profile:
    """60 × 16 mm with a bay 4 mm deep in each end, that leaves two ``cheek`` long walls at each."""
    h = 16 - cheek
    p = [(0.0, 0.0), (60.0, 0.0), (60.0, cheek), (56.0, cheek), (56.0, h), (60.0, h)]
    p += [(60.0, 16.0), (0.0, 16.0), (0.0, h), (4.0, h), (4.0, cheek), (0.0, cheek)]
    p = [(x - 20.0, y - 8.0) for x, y in p]
    return Profile(tuple(Line(a, b) for a, b in zip(p, (*p[1:], p[0]), strict=True)))


@pytest.mark.parametrize("cheek", [2.2, 2.85, 4.0])
def test_a_stop_that_the_relief_would_eat_whole_stays_where_the_jaw_is_deep_enough_too(cheek: float) -> None:
    """The relief of the 6 mm end mill takes 6.5 mm of a wall: the part was left free to slide along X."""
    draft, pair = drafted(bone(cheek), kind="soft jaws")
    assert isinstance(draft, soft.Draft) and pair is not None and draft.cutter.diameter == 6.0
    assert draft.whole_stop and pair.hold.stop is not None
    stop = [z for z in pair.jaws.zones if z.purpose == "stop"]
    assert sum(c.length for z in stop for c in z.curves) == pytest.approx(cheek, abs=0.05), "all of it"


def test_a_wider_part_keeps_owned_spacers_and_its_locating_wall() -> None:
    draft, pair = drafted(seat(10.0, 30.0))
    assert isinstance(draft, soft.Draft) and pair is not None
    assert not pair.jaws.stack.to_make and not draft.whole_stop


def test_pinned_spacers_are_never_replaced() -> None:
    draft, _ = drafted(seat(3.0, 8.0), spacers=("S6x42",))
    assert isinstance(draft, soft.Lost) and "stand on both jaws" in draft.reason


def test_strips_only_fill_what_the_parallels_leave() -> None:
    made = strips(parallels(), [blank()])
    least = min(w.gap for w in widths(parallels()))
    assert {p.thickness for p in made} == {t for t in THICKNESSES if t < least}
    assert min(p.thickness for p in made) == NARROWEST and all(p.to_make for p in made)
    assert strips((), [blank()]) == ()
    narrow = needs(box=(0.0, 0.0, 20.0, 6.0), fixed_depth=2.0, floating_depth=2.0, least=(2.0, 2.0))
    place, refused = places(narrow, vise(), [blank()], parallels())
    assert place is None and refused[0].narrow
    place, _ = places(narrow, vise(), [blank()], made)
    assert place is not None and place.gap == 2.0


def test_a_sharp_corner_takes_of_the_stop_although_the_outline_has_arcs() -> None:
    """The corner at the stop counts, not the tightest arc elsewhere: else the stop has no land left."""
    _, pair = drafted(seat(12.0, 30.0))
    assert pair is not None
    land = sum(c.length for z in pair.jaws.zones if z.purpose == "stop" for c in z.curves)
    assert land >= 3.9
    assert not math.isclose(pair.jaws.reliefs[0].radius, 0.0)


def test_making_the_strips_is_in_the_cost() -> None:
    plain, with_strips = (cost.of_new(SHOP, SHOP.blanks[0], 5.0, strips=s) for s in (False, True))
    assert with_strips.minutes(1) - plain.minutes(1) == pytest.approx(cost.STRIPS)
