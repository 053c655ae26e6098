"""Loading proofs: room, opening, and wrong ways that are known by symmetry."""

from __future__ import annotations

import math
from dataclasses import replace

import pytest
import sample_block as block

import samples
from jawright.geometry.curve import Line
from jawright.geometry.profile import Profile, Region, circle, rectangle
from jawright.proof.loads import OPEN, ROOM, prove
from jawright.proof.model import Proof
from jawright.proof.wrongway import blocker, find, mirrored


def by_name(hold, jaws=None, job=None) -> dict[str, Proof]:  # type: ignore[no-untyped-def]
    found = prove(hold, jaws, None, job or block.job(), block.quiet_shop())
    assert all(p.question == "loads" for p in found)
    return {p.name: p for p in found}


def polygon(*points: tuple[float, float]) -> Profile:
    return Profile(tuple(Line(points[k], points[(k + 1) % len(points)]) for k in range(len(points))))


@pytest.mark.parametrize(
    ("allowance", "profile", "verdict"), [(0.2, 0.06, "pass"), (0.06, 0.06, "caution"), (0.02, 0.06, "fail")]
)
def test_room_by_hand(allowance: float, profile: float, verdict: str) -> None:
    """X room: allowance less the growth of both side walls, shared by two."""
    p = by_name(block.hold(), block.jaws(allowance=allowance), block.job(profile=profile))["drop-in room"]
    assert p.value == pytest.approx((allowance - profile) / 2, abs=1e-6)
    assert p.verdict == verdict
    assert p.limit == ROOM


def test_opening_is_a_sum() -> None:
    p = by_name(block.hold(), block.jaws())["opening of the vise"]
    assert p.value == pytest.approx(25 + 25 + 6 + OPEN)
    assert p.verdict == "pass"
    h = block.hold()
    small = replace(h, vise=replace(h.vise, opening=55.0))
    assert by_name(small, block.jaws())["opening of the vise"].verdict == "fail"
    hard = by_name(replace(h, kind="hard jaws"))["opening of the vise"]
    assert hard.value == pytest.approx(30 + 40 + OPEN)
    assert any("hard jaws" in a for a in hard.assumptions)


def test_rectangle_goes_in_turned_and_flipped() -> None:
    ways = find(block.hold(), block.jaws())
    assert {(round(math.degrees(w.turn)) % 360, w.flipped) for w in ways} == {
        (180, False),
        (0, True),
        (180, True),
    }
    p = by_name(block.hold(), block.jaws())["wrong way round"]
    assert p.verdict == "caution"
    assert "mark" in p.sentence


def test_turned_part_with_a_hole_in_the_middle_is_the_same_part() -> None:
    h = block.hold()
    middle = replace(h.features[1], center=(0.0, -15.0, 55.5))
    ways = find(replace(h, features=(h.features[0], middle)), block.jaws(allowance=0.0))
    turned = next(w for w in ways if not w.flipped)
    assert turned.harmless


LOPSIDED = polygon((-30, -30), (30, -30), (30, -14), (10, -14), (10, 0), (-30, 0))


def test_lopsided_part_goes_in_one_way() -> None:
    """An L in its own pocket: no turn and no flip of it fits, and nothing is said of it."""
    h = replace(block.hold(), outline=Region(LOPSIDED), face_of_curve=(0,) * 6)
    j = replace(block.jaws(), pocket=Region(LOPSIDED))
    assert find(h, j) == []
    assert by_name(h, j)["wrong way round"].verdict == "pass"


def test_l_in_a_roomy_pocket_is_stopped_by_a_pin() -> None:
    h = replace(block.hold(), outline=Region(LOPSIDED), face_of_curve=(0,) * 6)
    j = replace(block.jaws(), pocket=Region(rectangle(-30.1, -30.1, 30.1, 0.0)))
    ways = [w for w in find(h, j) if not w.harmless]
    assert len(ways) == 3
    for w in ways:
        spot = blocker(h, w)
        assert spot is not None
        x, y = spot
        assert x > 10 and y > -14  # in the notch of the right way
    p = by_name(h, j)["wrong way round"]
    assert "pin" in p.sentence


def test_round_part_cannot_be_told_apart() -> None:
    h = replace(block.hold(), outline=Region(circle((0.0, -15.0), 15.0)), face_of_curve=(0, 0))
    j = replace(block.jaws(), pocket=Region(circle((0.0, -15.0), 15.02)))
    assert [w for w in find(h, j) if not w.harmless]


def test_hard_jaws_take_a_flat_part_both_ways() -> None:
    h = replace(block.hold(), kind="hard jaws")
    ways = find(h, None)
    assert any(not w.flipped and abs(w.turn - math.pi) < 1e-6 for w in ways)
    assert by_name(h)["wrong way round"].verdict == "caution"


def test_mirrored_twice_is_the_same() -> None:
    a = samples.pawl_outline()
    b = mirrored(mirrored(a))
    assert b.area == pytest.approx(a.area, rel=1e-12)
    assert mirrored(a).area == pytest.approx(a.area, rel=1e-12)
    assert b.box == pytest.approx(a.box, abs=1e-12)
