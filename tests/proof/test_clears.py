"""Does no cutter or holder meet a jaw, parallel, bolt or the vise: distances worked out by hand."""

from __future__ import annotations

import math
from dataclasses import replace

import pytest
from shapely import LineString

import samples
from jawright.geometry.profile import Region, rectangle
from jawright.hold.model import Hold, MadeFeature
from jawright.jaws.model import Jaws
from jawright.proof import clears
from jawright.proof.model import Proof
from jawright.proof.obstacles import obstacles
from proof.sample_job import job


def prove(held: Hold | None = None, jaws: Jaws | str | None = "soft") -> dict[str, Proof]:
    j = samples.jaws() if jaws == "soft" else jaws
    got = clears.prove(held or samples.hold(), j, None, job(), samples.shop())  # type: ignore[arg-type]
    return {p.name: p for p in got}


def drill(x: float, y: float, *, through: bool = True, bottom: float = 43.5) -> MadeFeature:
    d = samples.cutters()[5]
    return MadeFeature(
        "hole", "drill", (x, y, 55.5), (0.0, 0.0, 1.0), 5.8, bottom, through, (), d, 3000.0, 0.06, 2.9,
        12.0, ((x, y, 55.5), (x, y, bottom)), None, (),
    )  # fmt: skip


def only(f: MadeFeature, held: Hold | None = None) -> Hold:
    return replace(held or samples.hold(), features=(f,))


def test_face_passes_over_the_jaws() -> None:
    got = prove(only(samples.hold().features[0]))["cutter to jaw"]
    assert got.value == pytest.approx(5.5)  # 55.5 - 50
    assert got.limit == 1.0 and got.verdict == "pass"
    low = replace(samples.hold().features[0], bottom=50.6)
    assert prove(only(low))["cutter to jaw"].value == pytest.approx(0.6)
    assert prove(only(low))["cutter to jaw"].verdict == "fail"
    into = replace(samples.hold().features[0], bottom=49.0)
    hit = prove(only(into))["cutter to jaw"]
    assert hit.value == pytest.approx(-1.0) and "runs" in hit.sentence
    assert hit.where is not None and hit.where[2] == 50.0


def test_drill_over_its_well_has_room() -> None:
    point = 2.9 / math.tan(math.radians(59))
    got = prove(only(drill(13.0, -8.0)))["break-through"]
    assert got.value == pytest.approx(43.5 - point - 35.0)
    assert got.limit == 2.5 and got.verdict == "pass"


def test_drill_without_a_well_goes_into_the_floor() -> None:
    point = 2.9 / math.tan(math.radians(59))
    got = prove(only(drill(-20.0, -14.0)))["break-through"]
    assert got.value == pytest.approx(-point)
    assert got.verdict == "fail"
    assert "floor of the floating jaw" in got.sentence


def test_drill_that_only_half_meets_its_well_fails() -> None:
    got = prove(only(drill(13.0 + 6.0, -8.0)))["break-through"]
    assert got.verdict == "fail"


def test_drill_in_the_gap_between_the_jaws_runs_free() -> None:
    got = prove(only(drill(0.0, -3.0)))["break-through"]  # the gap is y -6 to 0, the drill 5.8
    assert got.verdict == "pass"
    assert "bed" in got.sentence


def test_blind_hole_needs_no_room() -> None:
    assert "break-through" not in prove(only(drill(-20.0, -14.0, through=False, bottom=48.0)))


def test_parallel_under_a_through_hole_in_hard_jaws_fails() -> None:
    h = replace(samples.hold(), kind="hard jaws", parallels=(samples.parallels()[1],), floor=32.0, gap=40.0)
    over = prove(only(drill(0.0, -3.0, bottom=32.0), h), None)["break-through"]
    assert over.verdict == "fail" and "parallel P6x32 at the fixed jaw" in over.sentence
    between = prove(only(drill(0.0, -20.0, bottom=32.0), h), None)["break-through"]
    assert between.verdict == "pass"
    other = prove(only(drill(0.0, -37.0, bottom=32.0), h), None)["break-through"]
    assert "floating" in other.sentence and other.verdict == "fail"


def test_side_milling_beside_a_jaw_top() -> None:
    base = samples.hold()
    mill = samples.cutters()[1]
    region = Region(rectangle(-28.0, -18.0, 23.0, 4.0))
    pocket = MadeFeature(
        "window", "pocket", (0.0, -7.0, 55.5), (0.0, 0.0, 1.0), None, 48.0, False, (), mill, 5000.0, 0.05,
        4.0, 5.0, tuple((x, y, 48.0) for x, y in region.outer.points()), region, (),
    )  # fmt: skip
    got = prove(only(pocket, base))["cutter to jaw"]
    # the walls are 2 mm away, the corners of the jaw pocket are rounded by 5.5: a corner is nearest
    assert got.value == pytest.approx(5.5 - math.hypot(3.5, 3.5), abs=0.01)
    assert got.limit == 0.5 and got.verdict == "pass"
    outside = replace(pocket, kind="profile")
    assert prove(only(outside, base))["cutter to jaw"].verdict == "fail"


def test_drill_near_a_bolt_head() -> None:
    # bolts at x ±50, z 22, counterbore 20 wide: their top is at 32
    deep = drill(48.0, 12.0, through=False, bottom=34.0)
    point = 2.9 / math.tan(math.radians(59))
    got = prove(only(deep))["bolts and bed"]
    assert got.value == pytest.approx(34.0 - point - 32.0)
    assert got.verdict == "fail" and "bolt of the fixed jaw" in got.sentence
    assert prove(only(drill(0.0, 12.0, through=False, bottom=34.0)))["bolts and bed"].verdict == "pass"


def test_holder_over_the_jaw_and_the_part() -> None:
    f = drill(13.0, -8.0)
    point = 2.9 / math.tan(math.radians(59))
    tip = 43.5 - point - 1.0
    got = prove(only(f))["holder"]
    assert got.value == pytest.approx(tip + 75.0 - (55.5 + 0.8))
    short = replace(f, cutter=replace(f.cutter, reach=12.0))
    assert prove(only(short))["holder"].verdict == "fail"


def test_flutes_must_reach() -> None:
    f = drill(13.0, -8.0)
    short = replace(f, cutter=replace(f.cutter, flute_length=10.0))
    got = prove(only(short))["flute length"]
    assert got.verdict == "fail" and "too short" in got.sentence
    tall = replace(samples.hold().features[0], axial=9.0)
    assert prove(only(tall))["flute length"].value == pytest.approx(8.0 - 9.0)


def test_bed_under_a_long_drill() -> None:
    h = replace(samples.hold(), floor=2.0)
    got = prove(only(drill(0.0, -3.0, bottom=2.0), h))["bolts and bed"]
    assert got.verdict == "fail" and "bed" in got.sentence


def test_no_feature_is_unknown() -> None:
    got = prove(replace(samples.hold(), features=()))
    assert len(got) == 5
    assert all(p.verdict == "unknown" and p.supply for p in got.values())


def test_every_answer_names_the_place_and_the_next_nearest() -> None:
    for p in prove().values():
        assert p.question == "clears"
        assert p.where is not None and p.detail and p.assumptions
        assert p.value == min(p.value, *(v for _, v, _ in p.detail)) or p.name == "cutter to jaw"


@pytest.mark.parametrize("x", [-120.0, 0.0, 120.0])
def test_each_vise_of_a_line_stands_in_the_way(x: float) -> None:
    """Two vises of 150 mm, 200 mm apart: jaws and bodies at X -175 to -25 and 25 to 175, air between."""
    held = samples.hold()
    line = replace(held, vise=replace(held.vise, in_line=2, pitch=200.0))
    for jaws, names in ((None, ("jaw", "vise body")), (samples.jaws(), ("vise body",))):
        around = [o for o in obstacles(line, jaws) if any(n in o.name for n in names) and not o.under]
        at = [o for o in around if o.area.intersects(LineString([(x, -300.0), (x, 300.0)]))]
        assert len(at) == (0 if x == 0.0 else 2 * len(names))
