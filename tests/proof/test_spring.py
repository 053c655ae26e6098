"""Does it stay in shape when the vise opens."""

from __future__ import annotations

import math
from dataclasses import replace

import pytest

import samples
from jawright import kernel
from jawright.geometry.frame import Move
from jawright.geometry.profile import Region, circle, rectangle
from jawright.hold.model import Hold
from jawright.job.model import HoldAsk, ToleranceAsk
from jawright.mechanics import plate
from jawright.part.model import Part
from jawright.proof import spring
from jawright.proof.metal import gripped, metal
from jawright.proof.model import Proof
from jawright.proof.squeeze import section, springs
from proof.sample_job import job


def prove(held: Hold | None = None, *, torque: float = 29.0, **changes: object) -> dict[str, Proof]:
    ask = replace(job(), **{"hold": HoldAsk(torque=torque), **changes})  # type: ignore[arg-type]
    got = spring.prove(held or samples.hold(), samples.jaws(), None, ask, samples.shop())  # type: ignore[arg-type]
    return {p.name: p for p in got}


def with_tolerance(kind: str, zone: float, *, diametral: bool = False) -> Hold:
    t = ToleranceAsk("pivot bore", kind, zone, (), diametral)
    return replace(samples.hold(), tolerances=(t,))


def test_bore_moves_and_goes_oval_by_hooke_and_kirsch() -> None:
    h = samples.hold()
    small, _, large = section(h)
    assert small < large
    assert large == pytest.approx(55.0 * 12.0)
    got = springs(h, None, "6061-T6")
    assert got is not None
    bore = got[1]
    away = 6.0 + 8.0  # from the fixed jaw at y = 6 to the bore at y = -8
    assert bore.move[2] == pytest.approx(away / (small * 68.9e3))
    along, across = plate.hole_release(1.0 / small, diameter=10.0, E=68.9e3)
    assert bore.oval[2] == pytest.approx(along - across)
    assert bore.move[0] < bore.move[1] < bore.move[2]


def test_position_counts_the_move_twice_and_roundness_the_ovality() -> None:
    got = springs(with_tolerance("position", 0.1, diametral=True), None, "6061-T6")
    assert got is not None and got[1].counted[1] == pytest.approx(2 * got[1].move[1])
    got = springs(with_tolerance("roundness", 0.01), None, "6061-T6")
    assert got is not None and got[1].counted == got[1].oval
    got = springs(with_tolerance("distance", 0.1), None, "6061-T6")
    assert got is not None and got[1].counted == got[1].move


def test_an_even_squeeze_does_not_tilt_a_bore() -> None:
    position = ToleranceAsk("pivot bore", "position", 0.1, (), True)
    square = ToleranceAsk("pivot bore", "perpendicularity", 0.001, (), True)
    got = springs(replace(samples.hold(), tolerances=(square, position)), None, "6061-T6")
    assert got is not None and got[1].tolerance == position
    got = springs(replace(samples.hold(), tolerances=(square,)), None, "6061-T6")
    assert got is not None and got[1].tolerance is None


def test_the_tolerance_used_up_most_is_the_one_judged() -> None:
    position = ToleranceAsk("pivot bore", "position", 0.1, (), True)
    form = ToleranceAsk("pivot bore", "roundness", 0.05, (), False)
    got = springs(replace(samples.hold(), tolerances=(position, form)), None, "6061-T6")
    assert got is not None
    use = {t.kind: springs(replace(samples.hold(), tolerances=(t,)), None, "6061-T6")[1].counted[1] / t.zone  # type: ignore[index]
           for t in (position, form)}  # fmt: skip
    assert got[1].tolerance is not None and got[1].tolerance.kind == max(use, key=lambda k: use[k])


def test_verdict_against_a_tenth_of_the_tolerance() -> None:
    wide = prove(with_tolerance("position", 1.0, diametral=True))["spring, pivot bore"]
    assert wide.verdict == "pass" and wide.limit == pytest.approx(0.1)
    tight = prove(with_tolerance("position", 0.02, diametral=True))["spring, pivot bore"]
    assert tight.verdict == "fail"
    round_ = prove(with_tolerance("roundness", 0.02))["spring, pivot bore"]
    assert round_.verdict == "fail"
    for p in (wide, tight, round_):
        assert p.low <= p.set <= p.high  # type: ignore[operator]
        assert p.assumptions and p.where == samples.hold().features[1].center


def test_less_torque_springs_less() -> None:
    a = prove(torque=10.0)["spring, pivot bore"].set
    b = prove(torque=40.0)["spring, pivot bore"].set
    assert a * 4 == pytest.approx(b, rel=1e-6)  # type: ignore[operator]


def test_without_tolerance_the_general_one_stands_in_and_is_said() -> None:
    got = prove(replace(samples.hold(), tolerances=()))["spring, pivot bore"]
    assert got.limit == pytest.approx(0.1 * 2 * 0.2)  # ISO 2768-1 medium, over 6 up to 30: ± 0.2
    assert any("ISO 2768-1" in a for a in got.assumptions)


@pytest.mark.parametrize("zone", [None, 0.3])
def test_a_part_without_bores_says_which_tolerance_its_squeeze_is_held_to(zone: float | None) -> None:
    h = replace(samples.hold(), features=tuple(f for f in samples.hold().features if f.kind == "face"))
    (own, *_) = samples.hold().tolerances
    h = replace(h, tolerances=() if zone is None else (replace(own, kind="distance", zone=zone),))
    got = prove(h)["spring"]
    of = "the general tolerance of its width" if zone is None else "the tightest tolerance of place or size"
    assert f"a tenth of {of} is {got.limit:.3f} mm" in got.sentence
    assert zone is None or got.limit == pytest.approx(0.1 * zone)


def test_thin_wall_beside_a_bore_is_unknown() -> None:
    h = samples.hold()
    big = replace(h.features[1], diameter=18.0)
    got = prove(replace(h, features=(h.features[0], big)))["spring, pivot bore"]
    assert got.verdict == "unknown"
    assert "thinner than its radius" in got.sentence
    assert any("indicator" in s for s in got.supply)


def test_opening_in_the_grip_with_thin_walls_is_unknown() -> None:
    h = samples.hold()
    hollow = Region(h.outline.outer, (circle((0.0, -5.0), 9.0).reversed(),))
    got = prove(replace(h, outline=hollow))
    assert all(p.verdict == "unknown" for p in got.values())
    # the same opening made by this operation is still solid when it is clamped
    own = replace(h.features[1], center=(0.0, -5.0, 55.5), diameter=6.0)
    held = replace(
        h, outline=Region(h.outline.outer, (circle((0.0, -5.0), 3.0).reversed(),)), features=(own,)
    )
    assert prove(held)["spring, pivot bore"].verdict != "unknown"


def test_thin_plate_may_bow() -> None:
    h = samples.hold()
    wide = replace(
        h, outline=Region(rectangle(-30.0, -140.0, 30.0, 0.0)), features=(), tolerances=h.tolerances,
    )  # fmt: skip
    got = prove(wide)["spring"]
    assert got.verdict == "unknown" and "bow" in got.sentence


def test_ring_by_roark() -> None:
    # outside 60, inside 50: a ring pinched across
    h = samples.hold()
    ring = Region(circle((0.0, -30.0), 30.0), (circle((0.0, -30.0), 25.0).reversed(),))
    held = replace(h, outline=ring, features=())
    got = springs(held, None, "6061-T6")
    assert got is not None
    closing, _ = plate.pinched_ring(
        1.0, radius=27.5, inertia=12.0 * 5.0**3 / 12, E=68.9e3, area=60.0, nu=0.33
    )
    assert got[0].move == pytest.approx((closing,) * 3, rel=5e-3)  # read off a polygon
    assert prove(held)["spring"].verdict == "fail"  # it wants wrapping, not squeezing


def test_block_without_bores_against_the_tightest_tolerance() -> None:
    h = replace(samples.hold(), features=(samples.hold().features[0],))
    got = prove(h)["spring"]
    assert got.limit == pytest.approx(0.01)
    assert got.verdict in ("caution", "pass", "fail")
    bare = prove(replace(h, tolerances=()))["spring"]
    assert bare.limit == pytest.approx(0.1 * 2 * 0.2)  # 26 mm across the jaws


def test_missing_material_is_unknown() -> None:
    assert prove(material="unobtainium")["spring"].verdict == "unknown"


def cut_part(shape: bytes) -> Part:
    """A part that is nothing but its shape, in the vise frame already."""
    return Part("p", "p.step", "0", "step", "mm", shape, (), (), (0.0,) * 6, 1.0, 1.0, None, None)  # type: ignore[arg-type]


def in_vise(held: Hold) -> Hold:
    still = Move("part", "vise", ((1.0, 0.0, 0.0), (0.0, 1.0, 0.0), (0.0, 0.0, 1.0)), (0.0, 0.0, 0.0))
    return replace(held, stance=replace(held.stance, move=still))


def test_openings_are_found_in_the_solid_itself() -> None:
    h = in_vise(samples.hold())
    block = kernel.extrude(h.outline, h.floor, h.part_top)
    solid = metal(h, cut_part(block))
    assert solid.solid == 1.0 and not solid.openings
    bored = kernel.cut(block, kernel.cylinder((0.0, -4.0, h.floor), (0.0, 0.0, 1.0), 8.0, 20.0))
    found = metal(h, cut_part(bored))
    assert len(found.openings) == 1
    assert found.openings[0].area == pytest.approx(math.pi * 64.0, rel=1e-3)
    assert found.solid < 1.0
    got = springs(h, cut_part(bored), "6061-T6")
    assert got is not None and "wall" in got[0].why_not
    # the pivot bore of this operation is still solid metal when the part is clamped
    own = kernel.cut(block, kernel.cylinder((13.0, -8.0, h.floor), (0.0, 0.0, 1.0), 5.0, 20.0))
    assert not metal(h, cut_part(own)).openings


def test_blind_opening_below_the_grip_counts_and_above_it_does_not() -> None:
    h = in_vise(samples.hold())
    block = kernel.extrude(h.outline, h.floor, h.part_top)
    below = kernel.cut(block, kernel.cylinder((-10.0, -4.0, h.floor - 1.0), (0.0, 0.0, 1.0), 3.0, 5.0))
    above = kernel.cut(block, kernel.cylinder((-10.0, -4.0, h.floor + 7.0), (0.0, 0.0, 1.0), 3.0, 9.0))
    assert len(metal(h, cut_part(below)).openings) == 1
    assert not metal(h, cut_part(above)).openings


def test_hollow_between_the_jaws_is_no_block() -> None:
    h = in_vise(samples.hold())
    block = kernel.extrude(h.outline, h.floor, h.part_top)
    slot = kernel.extrude(Region(rectangle(-26.0, -4.0, 22.0, -2.0)), h.floor - 1.0, h.part_top + 1.0)
    m = metal(h, cut_part(kernel.cut(block, slot)))
    assert m.solid < 0.3
    got = springs(h, cut_part(kernel.cut(block, slot)), "6061-T6")
    assert got is not None and got[0].why_not


def test_flange_thinner_than_the_grip_is_gripped_only_there() -> None:
    h = in_vise(samples.hold())
    flange = kernel.extrude(h.outline, h.floor, h.floor + 3.25)
    hub = kernel.extrude(Region(rectangle(-5.0, -8.0, 5.0, 2.0)), h.floor + 3.0, h.part_top)
    got = gripped(h, cut_part(kernel.fuse(flange, hub)))
    assert got.grip_depth == pytest.approx(3.25, abs=6.5 / 12)
    walls = [c for c in got.contacts if c.on == "fixed"]
    assert walls[0].point[2] == pytest.approx(h.floor + got.grip_depth / 2, abs=0.05)
    assert gripped(h, cut_part(kernel.extrude(h.outline, h.floor, h.part_top))) is h
    assert gripped(h, None) is h
