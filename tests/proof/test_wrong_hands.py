"""Wrong ways of a left and a right hand side by side, and of parts in pockets that are open along X."""

from __future__ import annotations

import math
from dataclasses import replace

import pytest
import sample_block as block

from jawright.geometry.profile import Region, circle, rectangle
from jawright.hold.model import Hold
from jawright.jaws.model import Jaws
from jawright.jaws.row import Spot
from jawright.part.plate import make_plate
from jawright.proof.alike import harmless
from jawright.proof.loads import wrong_way
from jawright.proof.say import Say
from jawright.proof.wrongway import find
from proof.test_loads import LOPSIDED, plate_and_hold, polygon


def lopsided(*beside: Spot) -> tuple[Hold, Jaws]:
    h = replace(block.hold(), outline=Region(LOPSIDED), face_of_curve=(0,) * 6)
    h = replace(h, beside=tuple(s.region(h.outline) for s in beside))
    return h, replace(block.jaws(), pocket=Region(LOPSIDED))


def test_a_hand_turned_over_goes_into_the_pocket_of_the_other() -> None:
    h, j = lopsided(Spot(80.0, mirrored=True))
    ways = find(h, j)
    assert [(w.flipped, w.hand, w.harmless) for w in ways] == [(True, True, False)]
    assert abs(math.remainder(ways[0].turn, 2 * math.pi)) < 1e-3 and ways[0].open < 0.05
    p = wrong_way(h, j, Say("mm"))
    assert p.verdict == "caution" and "flipped over, in the other hand's pocket" in p.sentence
    assert "mark the face that goes up" in p.sentence
    for alone in (lopsided(), lopsided(Spot(80.0))):
        assert find(*alone) == [], "beside its like, or by itself, it goes in one way"


def test_a_hand_turned_over_is_the_other_one_only_when_both_faces_are_alike() -> None:
    part, h = plate_and_hold((15.0, -8.0))
    assert not harmless(h, part, flip=True, turn=0.0) and harmless(h, part, flip=True, turn=0.0, hand=True)
    assert not harmless(replace(h, stock=0.8), part, flip=True, turn=0.0, hand=True), "it is faced here"
    assert not harmless(h, part, flip=False, turn=0.0, hand=True), "the hole would be on the other side"


@pytest.mark.parametrize("side", [-1.0, 1.0])
def test_in_a_pocket_open_along_x_a_wrong_way_is_pushed_to_the_stop_too(side: float) -> None:
    """A plate with a hole off its middle: turned by 180° it lies where the right one lies."""
    outline = rectangle(-30.0, -30.0, 30.0, 0.0)
    part = make_plate(Region(outline), "mm", (), file="p.dxf", data=b"", thickness=12.0)
    h = plate_and_hold()[1]
    bore = replace(h.features[0], center=(12.0, -15.0, 55.5))
    h = replace(h, features=(bore,), stop=(side * 30.0, -10.0, 55.0), contacts=())
    j = replace(block.jaws(), pocket=Region(rectangle(-75.0, -30.0, 75.0, 0.0)))
    turned = next(w for w in find(h, j, part) if not w.flipped)
    assert turned.shape.bounds == pytest.approx((-30.0, -30.0, 30.0, 0.0), abs=0.15)
    told = wrong_way(h, j, Say("mm"), part)
    assert told.verdict == "caution" and "at the far end" not in told.sentence


def test_a_turn_that_another_one_slid_into_is_judged_as_the_turn_it_is() -> None:
    """Where the pocket has room beside its walls the sweep's 170° ends at 180°: there it is the same part."""
    outline = rectangle(-25.0, -69.6, 25.0, 23.6)
    around = circle((0.0, -23.0), 6.0).reversed()
    part = make_plate(Region(outline, (around,)), "mm", (), file="p.dxf", data=b"", thickness=16.0)
    h = plate_and_hold()[1]
    bore = replace(h.features[0], center=(0.0, -23.0, 55.5))
    h = replace(h, outline=Region(outline), features=(bore,))
    pocket = polygon(
        (-42, -78.6), (-24, -78.6), (-24, -69.6), (24, -69.6), (24, -78.6), (42, -78.6),
        (42, 32.6), (24, 32.6), (24, 23.6), (-24, 23.6), (-24, 32.6), (-42, 32.6),
    )  # fmt: skip
    j = replace(block.jaws(), pocket=Region(pocket), gap=46.0)
    turned = [w for w in find(h, j, part) if not w.flipped]
    assert len(turned) == 1 and turned[0].harmless


def test_turns_that_end_at_one_way_are_counted_once() -> None:
    """In a wide pocket several turns of the sweep slide into one: the others were not looked at for it."""
    h = replace(plate_and_hold()[1], outline=Region(rectangle(-25.0, -60.0, 25.0, 20.0)))
    h = replace(h, features=(replace(h.features[0], center=(12.0, -20.0, 55.5)),))
    j = replace(block.jaws(), pocket=Region(rectangle(-45.0, -60.0, 45.0, 20.0)), gap=40.0)
    turns = [math.degrees(w.turn) for w in find(h, j) if not w.flipped]
    assert any(abs(t - 180.0) < 0.5 for t in turns)
