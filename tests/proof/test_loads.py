"""Loading proofs: room, opening, and wrong ways that are known by symmetry."""

from __future__ import annotations

import math
from dataclasses import replace

import pytest
import sample_block as block
from shapely.affinity import affine_transform

import samples
from jawright.geometry.boolean import difference
from jawright.geometry.curve import Line
from jawright.geometry.frame import standing
from jawright.geometry.polygon import to_polygon
from jawright.geometry.profile import Profile, Region, circle, rectangle
from jawright.hold.model import Hold
from jawright.hold.resolve import resolve
from jawright.hold.stance import Turn
from jawright.hold.view import view
from jawright.jaws.design import design
from jawright.jaws.soft import Draft, draft
from jawright.job.read import read_job
from jawright.part.model import Part
from jawright.part.plate import make_plate
from jawright.proof.alike import harmless
from jawright.proof.keys import blocker, blocks, corner
from jawright.proof.loads import OPEN, ROOM, drop_in, prove
from jawright.proof.model import Proof
from jawright.proof.wrongway import find, mirrored, upside_down
from jawright.shop.read import read_shop
from test_conductor import DEMO


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


def plate_and_hold(*holes: tuple[float, float]) -> tuple[Part, Hold]:
    """The block as a plate with through holes of the first side, standing where the block's hold has it."""
    middle = (0.0, -15.0)
    around = tuple(circle(p, 3.0).reversed() for p in (middle, *holes))
    outline = Region(rectangle(-30.0, -30.0, 30.0, 0.0), around)
    part = make_plate(outline, "mm", (), file="plate.dxf", data=b"", thickness=12.0)
    h = block.hold()
    bore = replace(h.features[1], center=(*middle, 55.5), kind="drill", through=True)
    move = standing((0.0, 0.0, 1.0), turn=0.0, shift=(0.0, 0.0, h.floor))
    h = replace(h, features=(bore,), part_top=h.floor + 12.0, stock=0.0)
    return part, replace(h, stance=replace(h.stance, move=move))


@pytest.mark.parametrize(
    ("holes", "same"),
    [
        ((), True),
        (((15.0, -15.0), (-15.0, -15.0)), True),
        (((15.0, -15.0),), False),
        (((15.0, -8.0),), False),
    ],
)
def test_turned_part_is_the_same_only_when_the_holes_of_the_first_side_are(
    holes: tuple[tuple[float, float], ...], same: bool
) -> None:
    part, h = plate_and_hold(*holes)
    assert harmless(h, part, flip=False, turn=math.pi) is same
    ways = find(h, block.jaws(allowance=0.0), part)
    assert next(w for w in ways if not w.flipped).harmless is same


def test_a_plate_with_nothing_but_through_holes_may_lie_upside_down() -> None:
    part, h = plate_and_hold()
    assert harmless(h, part, flip=True, turn=0.0)
    assert harmless(h, part, flip=True, turn=math.pi)
    assert not harmless(replace(h, stock=0.5), part, flip=True, turn=0.0), "the stock would be below"
    blind = replace(h, features=(replace(h.features[0], through=False),))
    assert not harmless(blind, part, flip=True, turn=0.0)
    p = {q.name: q for q in prove(h, block.jaws(allowance=0.0), part, block.job(), block.quiet_shop())}
    told = p["wrong way round"]
    assert told.verdict == "pass" and "makes the same part" in told.sentence


def test_the_pin_stops_the_wrong_ways_and_lets_the_right_one_in() -> None:
    h = replace(block.hold(), outline=Region(LOPSIDED), face_of_curve=(0,) * 6)
    j = replace(block.jaws(), pocket=Region(rectangle(-30.1, -30.1, 30.1, 0.0)))
    ways = [w for w in find(h, j) if not w.harmless]
    spot = blocker(h, *ways, gap=j.gap)
    assert spot is not None and spot[1] < -j.gap, "a pin stands in a jaw"
    for w in ways:
        assert blocks(j, w, spot, radius=1.0)
    right = replace(ways[0], shape=to_polygon(LOPSIDED))
    assert not blocks(j, right, spot, radius=1.0)
    told = by_name(h, j)["wrong way round"].sentence
    assert told.count("pin") == 1 and "stops all" in told, "one pin serves all three"


def test_a_corner_left_standing_is_the_cheapest_fix_where_there_is_room() -> None:
    """The notch of an L in a square pocket: left uncut it costs nothing, and no wrong way is left."""
    ell = polygon((-40, -60), (40, -60), (40, -40), (10, -40), (10, 0), (-40, 0))
    h = replace(block.hold(), outline=Region(ell), face_of_curve=(0,) * 6)
    whole = Region(rectangle(-40.1, -60.1, 40.1, 0.0))
    j = replace(block.jaws(), pocket=whole, cutter_radius=3.0)
    ways = [w for w in find(h, j) if not w.harmless]
    assert len(ways) == 3
    left = corner(h, j, *ways)
    assert left is not None and left.at[0] - left.radius > 10 + 6.3 - 1e-6, "a cutter's width off the part"
    assert left.at[1] + left.radius < -j.gap and left.at[1] - left.radius > -40, "over the jaw, in the notch"
    told = by_name(h, j)["wrong way round"].sentence
    assert "left standing stops all" in told and "pin" not in told
    (x, y), r = left.at, 0.7 * left.radius
    (kept,) = difference(whole, [Region(rectangle(x - r, y - r, 50.0, y + r))])  # as it is left: to the wall
    assert not [w for w in find(h, replace(j, pocket=kept)) if not w.harmless]
    assert corner(h, replace(j, cutter_radius=15.0), *ways) is None, "no room for the cutter round the part"


def test_upside_down_a_part_is_its_own_outline_near_the_top() -> None:
    """A prismatic plate upside down is the mirrored outline, however it stands in the vise."""
    outline = polygon((-30, -30), (30, -30), (30, -14), (10, -14), (10, 0), (-30, 0))
    part = make_plate(Region(outline), "mm", (), file="ell.dxf", data=b"", thickness=12.0)
    h = plate_and_hold()[1]
    h = replace(h, outline=Region(outline), face_of_curve=(0,) * 6)
    a, b = to_polygon(upside_down(h, part)), to_polygon(mirrored(outline))
    assert a.symmetric_difference(b).area < 1e-6
    turned = standing((0.0, 0.0, 1.0), turn=0.7, shift=(3.0, -2.0, h.floor))
    there = outline.moved(turn=0.7, shift=(3.0, -2.0))
    h = replace(h, outline=Region(there), stance=replace(h.stance, move=turned))
    a, b = to_polygon(upside_down(h, part)), to_polygon(mirrored(there))
    (ax, ay), (bx, by) = (p.centroid.coords[0] for p in (a, b))
    moved = affine_transform(a, [1, 0, 0, 1, bx - ax, by - ay])
    assert moved.symmetric_difference(b).area < 1e-6


def test_a_cast_block_on_pads_goes_in_by_what_its_clear_walls_stand_off() -> None:
    """A part of ± 0.75 mm against pads: the stop takes all of it, the allowance across is left for the rest.

    A pad's edge and the fillet beside it are slid past: only the pad itself meets the flat.
    """
    job = read_job(DEMO / "pawl.toml")
    wide = replace(job.incoming, profile=replace(job.incoming.profile, value=1.5, basis="job"))
    job = replace(
        job, datums=(), tolerances=(), features=(), up=(0.0, 0.0, 1.0), thickness=14.0, incoming=wide
    )
    shop = read_shop(DEMO / "shop.toml")
    part = make_plate(
        Region(rectangle(0.0, 0.0, 50.0, 36.0)), "mm", (), file="b.dxf", data=b"", thickness=14.0
    )
    ask = resolve(part, job)
    seen = view(part, job, ask, (0.0, 0.0, 1.0))
    vise = shop.vises[0]
    made = draft(seen, Turn(0.0, "", 1), ask=ask, part=part, job=job, shop=shop, vise=vise)
    assert isinstance(made, Draft)
    pair = design(made, seen, part=part, job=job, shop=shop, vise=vise)
    assert any(z.purpose == "stop" for z in pair.jaws.zones)
    grown = 0.75 + job.incoming.wall_form.value + 2 * shop.jaw_cut.set
    p = drop_in(pair.hold, pair.jaws, job, shop)
    assert p.set == pytest.approx((made.allowance - 2 * grown) / 2, abs=1e-6)
    assert p.verdict == "pass"
