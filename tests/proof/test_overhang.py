"""The end of a long part beyond the hard jaws: a cantilever, against handbook formulas by hand."""

from __future__ import annotations

import math
from pathlib import Path

import pytest
import shapely

import jawright
from jawright import handbook, kernel
from jawright.geometry.profile import Region, rectangle
from jawright.proof.cutload import load_at
from jawright.proof.overhang import NAME, OF_JAWS, deflection, second_moments
from jawright.record import Record

DEMO = Path(jawright.__file__).parent / "data" / "demo"
JOB = """units = "mm"
[job]
name = "Rail"
part_number = "DW-24"
operation = "OP 20"
quantity = 10
[part]
file = "rail.step"
material = "6061-T6"
[hold]
up = "+Z"
kind = "hard jaws"
vise = "V150"
[[datum]]
letter = "A"
at = [0, 0, 0]
[[feature]]
name = "back face"
kind = "face"
at = [0, 5, {tall}]
depth = 0.5
[[tolerance]]
feature = "back face"
kind = "parallelism"
zone = "0.10 mm"
datums = ["A"]
"""


def rail(folder: Path, length: float, tall: float, drawn: float = 0.0, kind: str = "hard jaws") -> Record:
    outline = rectangle(-length / 2, -20.0, length / 2, 20.0).moved(turn=drawn)
    shape = kernel.extrude(Region(outline), 0.0, tall)
    (folder / "rail.step").write_bytes(kernel.step_text({"rail": shape}, title="rail"))
    (folder / "rail.toml").write_text(JOB.format(tall=tall).replace("hard jaws", kind), encoding="utf-8")
    job = jawright.read_job(folder / "rail.toml")
    return jawright.plan(job, jawright.read_shop(DEMO / "shop.toml"), made="2026-01-01")


def test_second_moments_of_shapes_in_every_handbook() -> None:
    """b h³/12 both ways; a tube π (D⁴ − d⁴)/64; a box with a window by subtraction."""
    u, v = second_moments(shapely.box(3.0, -2.0, 3.0 + 40.0, -2.0 + 16.0))
    assert (u, v) == (pytest.approx(40.0 * 16.0**3 / 12), pytest.approx(16.0 * 40.0**3 / 12))
    tube = (
        shapely.Point(5, 7).buffer(10, quad_segs=512).difference(shapely.Point(5, 7).buffer(6, quad_segs=512))
    )
    assert second_moments(tube)[0] == pytest.approx(math.pi * (20.0**4 - 12.0**4) / 64, rel=1e-4)


def test_a_steel_bar_gives_by_the_formula_of_the_handbook() -> None:
    """100 N at 100 mm on 20 × 10 steel: F L³/(3 E I) = 0.0952 mm at 210 GPa, and some microns of shear."""
    work = handbook.material("1018")
    second, area = 20.0 * 10.0**3 / 12, 200.0
    bend = 100.0 * 100.0**3 / (3 * work.E * second)
    got = deflection(100.0, 100.0, second=second, area=area, work=work)
    g = work.E / (2 * (1 + work.nu))
    assert got == pytest.approx(bend + 1.2 * 100.0 * 100.0 / (g * area), rel=2e-3)  # 6/5 of a rectangle
    assert bend == pytest.approx(0.0952 * 210000.0 / work.E, rel=1e-3)


def test_a_long_rail_is_told_and_a_short_one_is_not(tmp_path: Path) -> None:
    """Beyond jaws of 150 a rail of 240 hangs out by 45 at either end."""
    record = rail(tmp_path, 240.0, 20.0)
    assert record.jaws is None
    (p,) = [p for p in record.proofs if p.name == NAME]
    detail = {n: v for n, v, _ in p.detail}
    assert 30.0 < detail["overhang"] <= 45.0 + 1e-6
    assert detail["tolerance out there"] == pytest.approx(0.10) and p.limit == pytest.approx(0.01)
    assert p.set is not None and p.set > 0 and "back face" in p.sentence
    short = rail(tmp_path, 120.0, 20.0)
    assert not [p for p in short.proofs if p.name == NAME]


@pytest.mark.parametrize("length", [120.0, 140.0])
def test_a_part_within_the_jaws_hangs_nowhere_however_it_is_drawn(tmp_path: Path, length: float) -> None:
    """Drawn askew: the box round its face is longer than the part, which was said to hang out, unknown."""
    record = rail(tmp_path, length, 20.0, drawn=math.radians(30.0))
    assert record.hold is not None and record.hold.kind == "hard jaws"
    assert max(abs(p[0]) for f in record.hold.features for p in f.path) == pytest.approx(length / 2)
    assert not [p for p in record.proofs if p.name == NAME]


def test_soft_jaws_that_stand_out_of_their_vise_bend_as_beams(tmp_path: Path) -> None:
    """240 mm of rail in jaws 330 mm long in a vise 150 mm wide: 45 mm of it lie beyond on either side."""
    record = rail(tmp_path, 240.0, 20.0, kind="soft jaws")
    hold, jaws = record.hold, record.jaws
    assert hold is not None and jaws is not None and jaws.fixed.blank.length > hold.vise.span
    (proof,) = [p for p in record.proofs if p.name == OF_JAWS]
    numbers = {n: v for n, v, _ in proof.detail}
    assert numbers["overhang"] == pytest.approx((240.0 - 150.0) / 2)
    assert proof.verdict == "pass" and proof.set is not None
    load = load_at(hold.features[0], handbook.material("6061-T6"), "set")
    e, wide = handbook.material(jaws.fixed.blank.material).E, jaws.fixed.blank.thickness
    up = max(load.up, load.down) * 45.0**3 / (3 * e * (2 * wide * hold.floor**3 + 40.0 * 20.0**3) / 12)
    side = load.side * 45.0**3 / (3 * e * (2 * hold.floor * wide**3 + 20.0 * 40.0**3) / 12)
    bent = math.hypot(up, side)
    assert bent < proof.set < 3.0 * bent, "so short a beam gives by shear nearly as much as by bending"


def test_soft_jaws_within_their_vise_have_no_such_proof(tmp_path: Path) -> None:
    record = rail(tmp_path, 120.0, 20.0, kind="soft jaws")
    assert record.jaws is not None and not any(p.name == OF_JAWS for p in record.proofs)
