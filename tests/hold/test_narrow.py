"""How wide a cutter goes into what is milled: by the walls of a pocket and by its hollow corners."""

from __future__ import annotations

import math
from dataclasses import replace
from pathlib import Path

import pytest

from hold.plates import DEMO
from jawright import kernel
from jawright.begun import begin
from jawright.geometry.profile import Profile, Region, rectangle
from jawright.hold.features import choose_cutter
from jawright.hold.narrow import FREE, Narrow, narrow
from jawright.hold.resolve import resolve
from jawright.job.model import Feature, FeatureKind, Pick
from jawright.job.read import read_job
from jawright.part.model import Part
from jawright.part.read import read_part
from jawright.shop.read import read_shop
from jaws.shapes import rounded

UP = (0.0, 0.0, 1.0)
SHOP = read_shop(DEMO / "shop.toml")
TALL, DEEP = 20.0, 8.0


def cut_out(folder: Path, inner: Profile, *, through: bool = False, tall: float = TALL) -> Part:
    """A block of 100 × 60 with an opening from above, ``DEEP`` deep or right through."""
    block = kernel.extrude(Region(rectangle(0.0, 0.0, 100.0, 60.0)), 0.0, tall)
    low = -1.0 if through else tall - DEEP
    path = folder / "block.step"
    kernel.write_step({"block": kernel.cut(block, kernel.extrude(Region(inner), low, tall + 1.0))}, path)
    return read_part(path)


def pocket(wide: float, corner: float, long: float = 50.0) -> Profile:
    points = [(25.0, 20.0), (25.0 + long, 20.0), (25.0 + long, 20.0 + wide), (25.0, 20.0 + wide)]
    return rounded(points, [corner] * 4)


def room(part: Part, kind: FeatureKind, at: tuple[float, float, float]) -> Narrow:
    job = replace(
        read_job(DEMO / "pawl.toml"), features=(Feature("it", kind, Pick(at, "it")),),
        datums=(), tolerances=(), up=UP,
    )  # fmt: skip
    (feature,) = resolve(part, job).features
    return narrow(part, feature, UP)


@pytest.mark.parametrize(
    "at", [(50.0, 30.0, TALL - DEEP), (50.0, 20.0, TALL - DEEP / 2)], ids=["floor", "wall"]
)
def test_a_pocket_is_as_wide_as_its_walls_and_as_tight_as_its_corners(
    at: tuple[float, float, float], tmp_path: Path
) -> None:
    found = room(cut_out(tmp_path, pocket(24.0, 4.0)), "pocket", at)
    assert found == Narrow(pytest.approx(0.9 * 24.0), pytest.approx(8.0), pytest.approx(DEEP))
    assert choose_cutter(Feature("it", "pocket", None), None, SHOP, within=found) == (
        next(c for c in SHOP.cutters if c.kind == "end mill" and c.diameter == 8.0), "",
    )  # fmt: skip


def test_a_window_right_through_counts_from_top_to_bottom(tmp_path: Path) -> None:
    found = room(cut_out(tmp_path, pocket(24.0, 5.0), through=True), "pocket", (50.0, 20.0, 5.0))
    assert (found.corner, found.deep) == (pytest.approx(10.0), pytest.approx(TALL))


def test_a_slot_is_as_wide_as_its_cutter(tmp_path: Path) -> None:
    """Round ends: twice their radius is the width, so Ø10 for 10 wide."""
    found = room(cut_out(tmp_path, pocket(10.0, 4.99)), "slot", (50.0, 25.0, TALL - DEEP))
    assert found.wide == pytest.approx(10.0)
    cutter, note = choose_cutter(Feature("it", "slot", None), None, SHOP, within=found)
    assert cutter.diameter == 8.0 and not note, "corners of 4.99 are too tight for Ø10"


@pytest.mark.parametrize(("corner", "tall"), [(1.5, 40.0), (3.0, 12.0)], ids=["too deep", "thin"])
def test_tight_corners_are_left_to_a_thin_cutter_and_told(corner: float, tall: float, tmp_path: Path) -> None:
    """No Ø3 is 40 long; Ø6 would only pick out what a thicker left: the load is that of the thick one."""
    part = cut_out(tmp_path, pocket(24.0, corner), through=True, tall=tall)
    found = room(part, "pocket", (50.0, 20.0, tall / 2))
    assert found.corner == pytest.approx(2 * corner) and found.deep == pytest.approx(tall)
    cutter, note = choose_cutter(Feature("it", "pocket", None), None, SHOP, within=found)
    mills = [c.diameter for c in SHOP.cutters if c.kind == "end mill" and c.diameter <= found.wide]
    assert 2 * corner < cutter.diameter <= max(mills)
    assert note == f"{cutter.id} leaves its corners of radius {corner:.2f} mm to a thinner cutter"


def test_a_pocket_narrower_than_every_cutter_says_so(tmp_path: Path) -> None:
    found = room(cut_out(tmp_path, pocket(1.2, 0.5)), "pocket", (50.0, 20.6, TALL - DEEP))
    cutter, note = choose_cutter(Feature("it", "pocket", None), None, SHOP, within=found)
    assert cutter.diameter == min(c.diameter for c in SHOP.cutters if c.kind == "end mill")
    assert "wider than the 1.1 mm between the walls" in note


def test_a_cutter_named_in_the_job_is_taken_and_what_it_leaves_told(tmp_path: Path) -> None:
    found = room(cut_out(tmp_path, pocket(14.0, 4.0)), "pocket", (50.0, 27.0, TALL - DEEP))
    mills = {c.diameter: c.id for c in SHOP.cutters if c.kind == "end mill" and not c.corner_radius}

    def named(diameter: float) -> str:
        ask = Feature("it", "pocket", None, cutter=mills[diameter])
        cutter, note = choose_cutter(ask, None, SHOP, within=found)
        assert cutter.id == ask.cutter
        return note

    assert named(8.0) == ""
    assert named(12.0) == f"{mills[12.0]} leaves its corners of radius 4.00 mm to a thinner cutter"
    assert "wider than the 12.6 mm between the walls" in named(16.0)


def test_of_two_as_thick_the_sharp_one_mills_walls() -> None:
    """A rounded one leaves a root at the wall's foot: the demo shop has both in Ø12."""
    as_thick = [c for c in SHOP.cutters if c.kind == "end mill" and c.diameter == 12.0]
    assert {c.corner_radius > 0 for c in as_thick} == {True, False}
    cutter, _ = choose_cutter(Feature("w", "profile", None), None, SHOP, within=Narrow(corner=12.0))
    assert cutter.diameter == 12.0 and cutter.corner_radius == 0.0


def test_an_outer_wall_is_free(tmp_path: Path) -> None:
    """Nor does the fillet at a floor count, which lies: only corners that stand upright bound the cutter."""
    part = cut_out(tmp_path, pocket(24.0, 4.0))
    assert room(part, "profile", (0.0, 30.0, 10.0)) == Narrow(math.inf, math.inf, pytest.approx(TALL))
    assert room(part, "face", (5.0, 5.0, TALL)) == FREE
    step = kernel.extrude(Region(rectangle(0.0, 0.0, 100.0, 60.0)), 0.0, TALL)
    roll = kernel.cylinder((50.0, -1.0, TALL), (0.0, 1.0, 0.0), 6.0, 62.0)
    cut = kernel.cut(
        kernel.cut(step, roll), kernel.extrude(Region(rectangle(50.0, -1.0, 101.0, 61.0)), TALL - 6.0, 21.0)
    )
    path = tmp_path / "step.step"
    kernel.write_step({"step": cut}, path)
    found = room(read_part(path), "profile", (100.0, 30.0, 5.0))
    assert math.isinf(found.corner)


def test_the_cutter_of_a_plan_is_bounded(tmp_path: Path) -> None:
    """It was the thickest end mill of the shop, whatever was to be milled: Ø16 in a pocket with R4."""
    part = cut_out(tmp_path, pocket(24.0, 4.0))
    job = replace(
        read_job(DEMO / "pawl.toml"), part_file=tmp_path / "block.step", datums=(), tolerances=(), up=UP,
        features=(Feature("it", "pocket", Pick((50.0, 30.0, TALL - DEEP), "it")),),
    )  # fmt: skip
    holds = [c.hold for c in begin(job, SHOP, part=part).stances() if c.hold is not None]
    assert holds and {h.features[0].cutter.diameter for h in holds} == {8.0}
