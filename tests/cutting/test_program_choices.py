"""What decides unit, side and torque of a program's text, and what the command that verifies one says."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pockets
import pytest
import shapely

import samples
from jawright import record_json
from jawright.cutting import program
from jawright.cutting.blocks import EASY_PITCH, setup_of
from jawright.cutting.clearing import lap
from jawright.cutting.metal import Metal
from jawright.cutting.paths import Heights, Trail, length
from jawright.cutting.rates import rate
from jawright.doors.cli import main
from jawright.geometry.profile import circle
from papers import sample
from verify.program import good, jaws

UNIT_BY_DEFAULT = ("nc units: mm (the shop's own unit)", "nc decimals: 3 (common practice, no source)")


def text(**changes: object) -> str:
    shop = replace(samples.shop(), **{k: v for k, v in changes.items() if k != "units"})  # type: ignore[arg-type]
    return program.write(pockets.sample(), shop, pockets.job(units=changes.get("units", "mm"))).text


def test_unit_of_the_job_unless_the_shop_file_gives_one() -> None:
    assert "G21" in text(units="inch").split("\n")[0], "the shop file says mm for its programs"
    assert "G20" in text(units="inch", defaults_used=UNIT_BY_DEFAULT).split("\n")[0]
    assert "G21" in text(units="mm", defaults_used=UNIT_BY_DEFAULT).split("\n")[0]


def test_vise_of_the_hold_decides_the_side() -> None:
    shop = samples.shop()
    front = replace(shop.vises[0], fixed_jaw_rear=False)
    assert not program.write(pockets.sample(), shop, pockets.job()).turned
    assert program.write(pockets.sample(), shop, pockets.job(), vise=front).turned


def test_torque_stands_in_the_head() -> None:
    p = program.write(pockets.sample(), samples.shop(), pockets.job(), torque=24.0)
    assert "ON THE SPACERS AT 24.0 N.M." in p.text


def test_machine_top_can_be_left_out() -> None:
    shop = samples.shop()
    shop = replace(shop, nc=replace(shop.nc, machine_top=False))
    assert "G53" not in program.write(pockets.sample(), shop, pockets.job()).text


@pytest.fixture
def record(tmp_path: Path) -> Path:
    """A record of the shared pair, with the zero that the hand-written program has."""
    r = sample.record()
    assert r.program is not None and r.hold is not None
    r = replace(
        r,
        jaws=jaws(),
        shop=samples.shop(),
        hold=replace(r.hold, vise=samples.vise()),
        program=replace(r.program, origin=(45.0, 14.0, 50.0), turned=False),
    )
    path = tmp_path / "record.json"
    path.write_text(record_json.dumps(r), encoding="utf-8")
    return path


def test_the_command_verifies(record: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    nc = tmp_path / "edited.nc"
    nc.write_text(good())
    assert main.main(["verify", str(nc), "--record", str(record)]) == 0
    assert capsys.readouterr().out.rstrip().endswith("\nVERIFIED")
    nc.write_text(good().replace("G3 X-25.0000 Y-28.5000", "G1 X-25.0000 Y-28.5000", 1))
    assert main.main(["verify", str(nc), "--record", str(record)]) == 1
    out = capsys.readouterr().out
    assert "NOT VERIFIED" in out and "refused, line" in out
    nc.write_text(good().replace("G1 X-69.5000 Y-29.0000 F800.0000", "G1 X-69.5000 Y-29.4000 F800.0000", 1))
    assert main.main(["verify", str(nc), "--record", str(record), "--units", "inch"]) == 1
    out = " ".join(capsys.readouterr().out.split())
    assert "gouge: 0.0" in out and "of the program" in out and " mm" not in out
    assert main.main(["verify", str(tmp_path / "none.nc"), "--record", str(record)]) == 2
    assert "file-missing" in capsys.readouterr().err


def test_a_shallow_cut_does_not_bend_a_slender_cutter() -> None:
    """Stick-out takes the feed down, except where the cut is no deeper than a tenth of the diameter."""
    _, shop = pockets.cases()["sample"]
    mill = next(c for c in shop.cutters if c.kind == "end mill")
    slender = replace(mill, reach=8 * mill.diameter)
    how = {
        "material": "6061-T6",
        "machine": replace(shop.machine, feed_max=1e6),
        "radial": 0.7 * mill.diameter,
    }
    stout = rate(replace(mill, reach=3 * mill.diameter), **how).feed  # type: ignore[arg-type]
    assert rate(slender, **how).feed == pytest.approx(0.5 * stout, abs=10)  # type: ignore[arg-type]
    assert rate(slender, axial=0.1 * mill.diameter, **how).feed == stout  # type: ignore[arg-type]


def test_a_helix_in_a_narrow_well_drops_by_a_share_of_the_diameter() -> None:
    """Never faster than the layer, and never for a cutter that does not cut at its center."""
    jaws, shop = pockets.cases()["sample"]
    setup = setup_of(jaws, shop, Heights(80.0, 55.0), 4000.0)
    mill = next(c for c in shop.cutters if c.kind == "end mill" and c.center_cutting)
    assert setup.clearing(mill).pitch == pytest.approx(EASY_PITCH * mill.diameter)
    assert setup.clearing(mill).pitch < setup.clearing(mill).layer
    assert setup.clearing(replace(mill, center_cutting=False)).pitch == 0.0


def circled(edge_break: float) -> program.Program:
    """The shared pair with a tooling hole that only the pocket's own end mill can make to size."""
    jaws = replace(pockets.sample(), edge_break=edge_break)
    hole = replace(jaws.tooling_hole, diameter=12.0)
    return program.write(replace(jaws, tooling_hole=hole), samples.shop(), pockets.job())


def test_a_cutter_that_circles_the_hole_is_called_once() -> None:
    """Spot first where the point is not wanted again for the edge; else the order is the usual one."""
    once = circled(0.0)
    called = [u.cutter for u in once.cutters]
    assert len(called) == len(set(called)), called
    assert called[0] == "SD6"
    assert "breaks the edge" not in once.cutters[0].reason
    assert any(
        "circle the tooling hole" in u.purpose and "finish the walls" in u.purpose for u in once.cutters
    )
    both = circled(0.3)
    assert [u.cutter for u in both.cutters].index("SD6") > 0
    point = next(u for u in both.cutters if u.cutter == "SD6")
    assert "starts the drill" in point.reason and "breaks the edge" in point.reason


def test_a_steep_helix_sinks_no_faster_than_a_plunge() -> None:
    """In a hole 0.15 mm wider than the cutter the center's path is all but upright."""
    how = setup_of(*pockets.cases()["sample"], Heights(80.0, 55.0), 4000.0).clearing(samples.cutters()[1])
    trail = Trail(Heights(80.0, 55.0), 4000.0)
    loop = circle((0.0, 0.0), 0.075).curves
    metal = Metal(shapely.box(-20.0, -20.0, 20.0, 20.0))
    lap(trail, metal, how, loop, z=(50.0, 46.0))
    at, seen = None, 0
    for step in trail.steps:
        if at is not None and step.kind == "arc" and step.end[2] < at[2]:
            seen += 1
            assert step.feed * (at[2] - step.end[2]) / length(at, step) <= how.plunge_feed * 1.001
        at = step.end
    assert seen > 4
