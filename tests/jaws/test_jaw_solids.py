"""The designed pair as solids against volumes computed by hand."""

from __future__ import annotations

import dataclasses
import math

import pytest

import samples
from jawright import kernel
from jawright.geometry.frame import standing
from jawright.geometry.profile import Region, circle
from jawright.jaws.model import Well
from jawright.jaws.solid import build

BLOCK = 150.0 * 25.0 * 50.0
UP = standing((0.0, 0.0, 1.0), turn=0.0, shift=(0.0, 0.0, 0.0))


def slot_area(width: float, length: float) -> float:
    return math.pi * width**2 / 4 + width * length


BOLTS = 2 * (slot_area(13.0, 6.0) * (25.0 - 14.0) + slot_area(20.0, 6.0) * 14.0)
# pocket 55 × 28 with corners of 5.5, from y = -20 to 6, jaws at y > 0 and y < -6, 6.5 deep
CORNERS = 2 * (1 - math.pi / 4) * 5.5**2
# the well of radius 7 about (13, -8) reaches over y = -6 into the gap by 5 mm
OVER = 49.0 * math.acos(2.0 / 7.0) - 2.0 * math.sqrt(49.0 - 4.0)
FIXED_POCKET = 55.0 * 6.0 - CORNERS
FLOATING_POCKET = 55.0 * 14.0 - CORNERS


def test_volumes_of_both_jaws() -> None:
    fixed, floating = build(samples.jaws())
    tooling = math.pi * 3.0**2 * 12.0
    assert kernel.volume(fixed) == pytest.approx(BLOCK - BOLTS - FIXED_POCKET * 6.5 - tooling, rel=1e-9)
    # the well reaches down to z = 35: the bolts, below z = 32 and beyond x = 37, are not met
    well = (math.pi * 49.0 - OVER) * 8.5
    expected = BLOCK - BOLTS - FLOATING_POCKET * 6.5 - well
    assert kernel.volume(floating) == pytest.approx(expected, rel=1e-9)
    assert kernel.is_valid(fixed) and kernel.is_valid(floating)
    assert len(kernel.solids(fixed)) == len(kernel.solids(floating)) == 1


def test_jaws_stand_where_the_frame_says() -> None:
    fixed, floating = build(samples.jaws())
    assert kernel.box(fixed) == pytest.approx((-75.0, 0.0, 0.0, 75.0, 25.0, 50.0), abs=1e-6)
    assert kernel.box(floating) == pytest.approx((-75.0, -31.0, 0.0, 75.0, -6.0, 50.0), abs=1e-6)


def test_counterbores_open_toward_the_part() -> None:
    for jaw, front, back in zip(build(samples.jaws()), (0.0, -6.0), (25.0, -31.0), strict=True):
        inward = math.copysign(1.0, back - front)
        rim = (50.0, 22.0 + 8.0)  # between the hole's radius 6.5 and the counterbore's 10
        points = [(rim[0], front + inward * d, rim[1]) for d in (1.0, 13.0, 15.0, 24.0)]
        assert kernel.inside(jaw, points) == (False, False, True, True)
        through = [(50.0, front + inward * d, 22.0) for d in (1.0, 13.0, 15.0, 24.0)]
        assert not any(kernel.inside(jaw, through))


def test_the_pocket_is_cut_as_designed() -> None:
    fixed, _ = build(samples.jaws())
    above = kernel.section(fixed, UP, 47.0).regions
    assert sum(r.area for r in above) == pytest.approx(150.0 * 25.0 - FIXED_POCKET - math.pi * 9.0, rel=1e-9)


def test_a_pair_without_tooling_hole_and_wells() -> None:
    plain = dataclasses.replace(samples.jaws(), tooling_hole=None, wells=())
    fixed, _ = build(plain)
    assert kernel.volume(fixed) == pytest.approx(BLOCK - BOLTS - FIXED_POCKET * 6.5, rel=1e-9)


def test_a_well_that_misses_a_jaw_leaves_it_alone() -> None:
    far = Well(Region(circle((13.0, -12.0), 3.0)), 35.0, 43.5, "clearance")
    with_well = build(dataclasses.replace(samples.jaws(), wells=(far,)))[0]
    without = build(dataclasses.replace(samples.jaws(), wells=()))[0]
    assert kernel.volume(with_well) == pytest.approx(kernel.volume(without), rel=1e-12)


def test_round_bolt_holes() -> None:
    pair = samples.jaws()
    blank = dataclasses.replace(pair.fixed.blank, slot_length=0.0, counterbore_depth=0.0)
    fixed = dataclasses.replace(pair.fixed, blank=blank)
    jaw, _ = build(dataclasses.replace(pair, fixed=fixed, tooling_hole=None))
    holes = 2 * math.pi * 6.5**2 * 25.0
    assert kernel.volume(jaw) == pytest.approx(BLOCK - holes - FIXED_POCKET * 6.5, rel=1e-9)


def test_the_same_design_gives_the_same_solids() -> None:
    assert build(samples.jaws()) == build(samples.jaws())
