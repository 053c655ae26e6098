"""The leg of an L or a T: gripped at its end in thin jaws, in thick ones further in as well."""

from __future__ import annotations

import math
from dataclasses import replace

import pytest

from jawright.geometry.curve import Line
from jawright.geometry.profile import Profile, Region, rectangle
from jawright.hold import resolve
from jawright.hold.stance import Turn
from jawright.hold.view import view
from jawright.jaws import soft
from jawright.jaws.design import Pair, design
from jawright.jaws.needs import Needs
from jawright.jaws.spacers import NARROWEST
from jawright.part.plate import make_plate
from jaws.test_place import needs
from jaws.test_properties import demo

UP = (0.0, 0.0, 1.0)


def tee(leg: float, broken: float = 0.0) -> Profile:
    """An arm 70 mm long and 12 mm wide; a leg hangs 40 mm below it, ``leg`` wide, its corners ``broken``."""
    h, b = leg / 2, broken
    pts = [(-35, 0), (-35, -12), (-h, -12), (-h, 2 * b - 52), (b - h, -52)]
    pts = [*pts, *((-x, y) for x, y in reversed(pts))]
    pts = [p for p, q in zip(pts, (*pts[1:], pts[0]), strict=True) if p != q]
    return Profile(tuple(Line(p, q) for p, q in zip(pts, (*pts[1:], pts[0]), strict=True)))


def held(outline: Profile, *, near: bool = True) -> tuple[soft.Draft, Pair]:
    job, shop = demo()
    part = make_plate(Region(outline), "mm", (), file="made.dxf", data=b"", thickness=12.0)
    ask = resolve.resolve(part, job)
    seen, vise = view(part, job, ask, UP), shop.vises[0]
    turn = Turn(0.0, "test", 1)
    made = soft.draft(seen, turn, near=near, ask=ask, part=part, job=job, shop=shop, vise=vise)
    assert isinstance(made, soft.Draft), made
    return made, design(made, seen, part=part, job=job, shop=shop, vise=vise)


def grips(pair: Pair) -> set[float]:
    """Depths below the part's upper edge at which the floating jaw touches [mm]."""
    top = pair.hold.outline.outer.box[3]
    return {round(top - c.point[1], 1) for c in pair.hold.contacts if c.on == "floating"}


def test_a_leg_with_an_end_long_enough_is_gripped_there_in_a_thin_blank() -> None:
    draft, pair = held(tee(16.0))
    assert draft.near and grips(pair) == {52.0}
    assert pair.jaws.fixed.blank.thickness <= 25.0


def test_the_same_leg_can_be_gripped_at_the_arm_as_well() -> None:
    draft, pair = held(tee(16.0), near=False)
    assert not draft.near and grips(pair) >= {12.0}
    assert pair.jaws.floating.blank.thickness >= 50.0


def test_an_end_too_short_is_not_enough() -> None:
    draft, pair = held(tee(12.0, broken=3.0))
    assert not draft.near and 12.0 in grips(pair)


def test_a_plain_bar_is_held_as_before() -> None:
    draft, _ = held(rectangle(-30, -40, 30, 0))
    assert not draft.near


@pytest.mark.parametrize("profile", [0.0, 0.2, 0.4])
@pytest.mark.parametrize("wide", [6.0, 8.0, 11.0])
def test_no_gap_is_chosen_that_the_smallest_part_would_shut(wide: float, profile: float) -> None:
    """1.5 mm stay between the jaws (common practice, no source) when both walls of the part lie inside."""
    job, shop = demo()
    zone = replace(job.incoming.profile, value=profile)
    job = replace(job, incoming=replace(job.incoming, profile=zone))
    part = make_plate(Region(rectangle(-25, -wide, 25, 0)), "mm", (), file="m.dxf", data=b"", thickness=12.0)
    ask = resolve.resolve(part, job)
    made = soft.draft(
        view(part, job, ask, UP),
        Turn(0.0, "test", 1),
        ask=ask,
        part=part,
        job=job,
        shop=shop,
        vise=shop.vises[0],
    )
    assert isinstance(made, soft.Draft) and made.place.gap >= NARROWEST + profile - 1e-9


@pytest.mark.parametrize(("gap", "deeper"), [(2.0, 2.7), (4.0, 0.7), (4.7, 0.0), (8.0, 0.0)])
def test_in_a_narrow_gap_walls_lie_behind_what_the_cutter_clears(gap: float, deeper: float) -> None:
    """An end mill of 8 goes 0.5 mm past a jaw's face with its center, and 0.2 mm are kept: plane geometry."""
    asked: Needs = replace(needs(fixed_depth=4.0, floating_depth=9.0), run_out=4.5, deepest=(3.0, 8.5))
    at = asked.at(gap)
    assert at.fixed_depth == pytest.approx(max(4.0, 3.0 + deeper))
    assert at.floating_depth == pytest.approx(max(9.0, 8.5 + deeper))
    assert math.isclose(asked.at(20.0).fixed_depth, 4.0)
