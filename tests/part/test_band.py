"""The grip band: prismatic, stepped, drafted, free-form; what stands on the floor; the plan outline."""

from __future__ import annotations

import math
from pathlib import Path

import numpy as np
import pytest

from jawright import kernel
from jawright.errors import JawrightError
from jawright.geometry.curve import Arc, Line
from jawright.geometry.frame import Move, standing
from jawright.geometry.profile import Profile, Region, circle, rectangle
from jawright.geometry.query import signed_distance
from jawright.part.band import bottom, grip_band, silhouette
from jawright.part.model import Part
from jawright.part.read import read_part
from part.shapes import block, pawl, turned, written
from samples import pawl_outline

UP = (0.0, 0.0, 1.0)


def read(folder: Path, shape: bytes) -> Part:
    return read_part(written(folder, "part.step", shape))


def total(regions: tuple[Region, ...]) -> float:
    return sum(r.area for r in regions)


def test_an_upright_part_is_prismatic_with_its_exact_outline(tmp_path: Path) -> None:
    part = read(tmp_path, pawl())
    band = grip_band(part, UP, 0.0, 6.5)
    assert band.kind == "prismatic" and band.draft == 0.0 and band.fit_bound == 0.0
    assert (band.z_low, band.z_high) == pytest.approx((0.0, 6.5), abs=1e-9)
    (region,) = band.outline
    assert region.area == pytest.approx(pawl_outline().area - 25 * math.pi, rel=1e-9)
    assert len(region.outer.curves) == 5
    for curve, source in zip(region.outer.curves, band.sources[0], strict=True):
        face = part.faces[source]
        assert face.kind == ("cylinder" if isinstance(curve, Arc) else "plane")
        assert kernel.distance(part.shape, source, (*curve.at(0.5), 3.0))[0] < 1e-9
    assert total(band.bottom) == pytest.approx(region.area, rel=1e-9)


def test_a_part_standing_on_another_face_has_the_coordinates_of_its_stance(tmp_path: Path) -> None:
    part = read(tmp_path, block(30.0, 20.0, 10.0, at=(100.0, 50.0, -7.0)))
    up = (0.0, -1.0, 0.0)
    band = grip_band(part, up, 2.0, 8.0)
    move = standing(up, turn=0.0, shift=(0.0, 0.0, 0.0))
    low = kernel.box(part.shape, move)
    assert (band.z_low, band.z_high) == pytest.approx((low[2] + 2.0, low[2] + 8.0), abs=1e-9)
    assert band.outline[0].outer.box == pytest.approx((low[0], low[1], low[3], low[4]), abs=1e-9)
    assert total(band.outline) == pytest.approx(300.0, rel=1e-9)


def test_a_shoulder_in_the_band_is_stepped_and_the_wider_outline_counts(tmp_path: Path) -> None:
    foot = block(30.0, 20.0, 4.0, at=(5.0, 5.0, 0.0))
    part = read(tmp_path, kernel.fuse(foot, block(40.0, 30.0, 6.0, at=(0.0, 0.0, 4.0))))
    assert grip_band(part, UP, 0.0, 3.9).kind == "prismatic"
    band = grip_band(part, UP, 0.0, 8.0)
    assert band.kind == "stepped"
    assert total(band.outline) == pytest.approx(1200.0, rel=1e-9)
    assert total(band.bottom) == pytest.approx(600.0, rel=1e-9)
    # all four walls of the outline belong to the wider block
    assert {round(part.faces[i].box[2], 6) for i in band.sources[0]} == {4.0}


def test_a_pocket_inside_does_not_make_it_stepped(tmp_path: Path) -> None:
    shape = kernel.cut(block(40.0, 30.0, 10.0), block(20.0, 10.0, 10.0, at=(10.0, 10.0, 3.0)))
    band = grip_band(read(tmp_path, shape), UP, 0.0, 8.0)
    assert band.kind == "prismatic"
    assert band.outline[0].outer.area == pytest.approx(1200.0, rel=1e-9)


def test_separate_feet_are_separate_outlines(tmp_path: Path) -> None:
    bridge = kernel.cut(block(60.0, 30.0, 20.0), block(30.0, 40.0, 12.0, at=(15.0, -5.0, -2.0)))
    part = read(tmp_path, bridge)
    band = grip_band(part, UP, 0.0, 5.0)
    assert band.kind == "prismatic" and len(band.outline) == 2 and len(band.sources) == 2
    assert total(band.bottom) == pytest.approx(900.0, rel=1e-9)
    assert total(silhouette(part, UP)) == pytest.approx(1800.0, rel=1e-9)


@pytest.mark.parametrize("degrees", [1.0, 3.0, 10.0])
def test_a_cone_wall_is_drafted_with_its_angle(tmp_path: Path, degrees: float) -> None:
    angle = math.radians(degrees)
    whole = kernel.cone((0.0, 0.0, 0.0), UP, 20.0, 20.0 / math.tan(angle))
    keep = block(80.0, 80.0, 10.0, at=(-40.0, -40.0, 0.0))
    big = 20.0 / math.tan(angle) + 50.0
    shape = kernel.cut(whole, block(200.0, 200.0, big, at=(-100.0, -100.0, 10.0)))
    assert kernel.volume(keep) > kernel.volume(shape)
    band = grip_band(read(tmp_path, shape), UP, 2.0, 8.0)
    assert band.kind == "drafted"
    assert band.draft == pytest.approx(angle, abs=1e-9)
    # the outermost outline is the one at the low end, 2 mm up (cut 1 µm above it)
    radius = 20.0 - 2.0 * math.tan(angle)
    assert math.sqrt(total(band.outline) / math.pi) == pytest.approx(radius, abs=2e-3 * math.tan(angle))


def test_a_chamfer_at_the_lower_edge_is_a_step_not_a_draft(tmp_path: Path) -> None:
    sharp = block(40.0, 30.0, 10.0)
    corners = [(0.0, 0.0), (0.3, 0.0), (0.0, 0.3)]  # in (y, z)
    edges = tuple(Line(a, b) for a, b in zip(corners, corners[1:] + corners[:1], strict=True))
    lying = Move("part", "part", ((0.0, 0.0, 1.0), (1.0, 0.0, 0.0), (0.0, 1.0, 0.0)), (0.0, 0.0, 0.0))
    shape = kernel.cut(sharp, kernel.moved(kernel.extrude(Region(Profile(edges)), 0.0, 40.0), lying))
    lost = kernel.volume(sharp) - kernel.volume(shape)
    assert lost == pytest.approx(0.5 * 0.3 * 0.3 * 40.0, rel=1e-6)
    band = grip_band(read(tmp_path, shape), UP, 0.0, 6.0)
    assert band.kind == "stepped" and band.draft == 0.0
    assert total(band.outline) == pytest.approx(1200.0, rel=1e-6)
    assert total(band.bottom) == pytest.approx(40.0 * 29.7, rel=1e-6)


def test_a_lying_bar_is_free_form_and_widest_at_its_axis(tmp_path: Path) -> None:
    bar = kernel.cylinder((0.0, 0.0, 0.0), (1.0, 0.0, 0.0), 10.0, 50.0)
    part = read(tmp_path, bar)
    low = grip_band(part, UP, 2.0, 6.0)
    assert low.kind == "free-form"
    half = math.sqrt(100.0 - 4.0**2)  # at 6 mm up, 4 below the axis
    assert total(low.outline) == pytest.approx(2 * half * 50.0, rel=1e-4)
    assert low.bottom == ()
    across = grip_band(part, UP, 2.0, 15.0)
    assert total(across.outline) == pytest.approx(1000.0, rel=1e-6)
    assert total(silhouette(part, UP)) == pytest.approx(1000.0, rel=1e-6)


def test_a_slanted_up_direction_is_cut_square_to_it(tmp_path: Path) -> None:
    shape = turned(block(30.0, 20.0, 10.0), 0.5, shift=(200.0, 300.0, -100.0))
    up = (0.0, -math.sin(0.5), math.cos(0.5))
    band = grip_band(read(tmp_path, shape), up, 0.0, 5.0)
    assert band.kind == "prismatic"
    assert total(band.outline) == pytest.approx(600.0, rel=1e-8)
    assert total(band.bottom) == pytest.approx(600.0, rel=1e-8)


def test_the_union_of_an_overhanging_band_covers_every_cut(tmp_path: Path) -> None:
    lower = kernel.extrude(Region(circle((0.0, 0.0), 15.0)), 0.0, 4.0)
    upper = kernel.extrude(Region(rectangle(-5.0, -12.0, 25.0, 12.0)), 4.0, 9.0)
    part = read(tmp_path, kernel.fuse(lower, upper))
    band = grip_band(part, UP, 0.0, 8.0)
    (region,) = band.outline
    for z in (2.0, 6.0):
        for r in kernel.section(part.shape, standing(UP, turn=0.0, shift=(0.0, 0.0, 0.0)), z).regions:
            points = np.array(r.outer.points(0.1))
            assert float(signed_distance(region, points).max()) < 1e-6
    assert -1 not in band.sources[0]
    kinds = [part.faces[i].kind for i in band.sources[0]]
    assert kinds.count("cylinder") >= 1 and kinds.count("plane") >= 3


def test_the_bottom_is_empty_when_only_an_edge_touches(tmp_path: Path) -> None:
    part = read(tmp_path, turned(block(30.0, 20.0, 10.0), 0.5))
    assert bottom(part, UP) == ()


def test_the_plan_outline_of_a_stepped_part(tmp_path: Path) -> None:
    shape = kernel.fuse(block(30.0, 20.0, 4.0), block(10.0, 40.0, 6.0, at=(10.0, -10.0, 4.0)))
    assert total(silhouette(read(tmp_path, shape), UP)) == pytest.approx(600.0 + 200.0, rel=1e-9)


@pytest.mark.parametrize(("low", "high"), [(5.0, 5.0), (-1.0, 4.0), (30.0, 40.0), (6.0, 2.0)])
def test_a_band_off_the_part_is_refused(tmp_path: Path, low: float, high: float) -> None:
    with pytest.raises(JawrightError) as e:
        grip_band(read(tmp_path, block(30.0, 20.0, 10.0)), UP, low, high)
    assert e.value.code == "value-bad"


def test_the_same_part_gives_the_same_band(tmp_path: Path) -> None:
    part = read(tmp_path, pawl())
    assert grip_band(part, UP, 0.0, 6.0) == grip_band(part, UP, 0.0, 6.0)
