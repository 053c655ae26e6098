"""Drawings drawn oddly: what they say is read, what they leave open is refused with the place."""

from __future__ import annotations

import math
from pathlib import Path
from typing import Any

import pytest

from files.drawings import ROUNDED, drawn, rounded
from jawright.errors import JawrightError
from jawright.files.dxf import read_outline

STADIUM = 20.0 * 10.0 + math.pi * 25.0
"""Area of a 20 × 10 rectangle with round ends."""


def areas(path: Path) -> list[tuple[float, int]]:
    return [(round(r.area, 6), len(r.holes)) for r in read_outline(path)[0].regions]


def refused(path: Path) -> JawrightError:
    with pytest.raises(JawrightError) as e:
        read_outline(path)
    return e.value


@pytest.mark.parametrize("to", [10.0, 20.0])
def test_a_line_that_ends_on_a_closed_outline_is_a_branch_not_a_gap(tmp_path: Path, to: float) -> None:
    def draw(space: Any, _: Any) -> None:
        space.add_lwpolyline([(0, 0), (40, 0), (40, 20), (0, 20)], close=True)
        space.add_line((20, 0), (20, to))

    e = refused(drawn(tmp_path / "t.dxf", draw))
    assert e.code == "part-outline-crossing"
    assert "LINE #" in e.what and "ends on LWPOLYLINE #" in e.what and "(20.0000, 0.0000)" in e.what


def test_lines_that_lie_partly_on_one_another_are_refused_with_both_places(tmp_path: Path) -> None:
    corners = [
        ((0, 0), (25, 0)),
        ((15, 0), (40, 0)),
        ((40, 0), (40, 20)),
        ((40, 20), (0, 20)),
        ((0, 20), (0, 0)),
    ]
    e = refused(drawn(tmp_path / "o.dxf", lambda s, _: [s.add_line(a, b) for a, b in corners]))
    assert (
        e.code == "part-outline-crossing" and "(25.0000, 0.0000)" in e.what and "(15.0000, 0.0000)" in e.what
    )


def test_blocks_in_blocks_scaled_turned_and_mirrored(tmp_path: Path) -> None:
    def draw(space: Any, doc: Any) -> None:
        inner, outer = doc.blocks.new("A"), doc.blocks.new("B")
        inner.add_lwpolyline([(0, 0), (10, 0), (10, 5), (0, 5)], close=True)
        outer.add_blockref("A", (1, 1), dxfattribs={"xscale": 2, "yscale": 2, "rotation": 30})
        space.add_blockref("B", (5, 5), dxfattribs={"xscale": -1.5, "yscale": 1.5, "rotation": 45})

    assert areas(drawn(tmp_path / "b.dxf", draw)) == [(50.0 * 4 * 2.25, 0)]


def test_a_circle_in_a_turned_block_scaled_unequally_is_an_ellipse(tmp_path: Path) -> None:
    def draw(space: Any, doc: Any) -> None:
        inner, outer = doc.blocks.new("A"), doc.blocks.new("B")
        inner.add_circle((0, 0), 5)
        outer.add_blockref("A", (0, 0), dxfattribs={"rotation": 30})
        space.add_blockref("B", (5, 5), dxfattribs={"xscale": 2, "yscale": 1})

    ((area, holes),) = areas(drawn(tmp_path / "e.dxf", draw))
    assert area == pytest.approx(50 * math.pi, abs=1e-3 * 49) and holes == 0  # 1 µm along the ellipse


@pytest.mark.parametrize("version", ["R12", "R2000"])
@pytest.mark.parametrize("closed", ["flag", "coincidence", "both"])
def test_polylines_with_arcs_closed_in_either_way(tmp_path: Path, version: str, closed: str) -> None:
    points = [(0, 0, 0), (20, 0, 1), (20, 10, 0), (0, 10, 1)]
    points += [] if closed == "flag" else [(0, 0, 0)]

    def draw(space: Any, _: Any) -> None:
        add = space.add_polyline2d if version == "R12" else space.add_lwpolyline
        add(points, format="xyb", close=closed != "coincidence")

    assert areas(drawn(tmp_path / "p.dxf", draw, version=version)) == [(pytest.approx(STADIUM), 0)]


@pytest.mark.parametrize(("start", "end"), [(0, 360), (90, 90), (-720, -360), (30, 390)])
def test_arcs_that_go_all_the_way_round_are_circles(tmp_path: Path, start: float, end: float) -> None:
    path = drawn(tmp_path / "a.dxf", lambda s, _: s.add_arc((0, 0), 10, start, end))
    assert areas(path) == [(pytest.approx(100 * math.pi), 0)]


def test_two_half_circles_of_one_polyline_are_a_circle(tmp_path: Path) -> None:
    path = drawn(
        tmp_path / "c.dxf", lambda s, _: s.add_lwpolyline([(0, 0, 1), (20, 0, 1)], format="xyb", close=True)
    )
    assert areas(path) == [(pytest.approx(100 * math.pi), 0)]


def test_layers_frozen_off_and_locked(tmp_path: Path) -> None:
    def draw(space: Any, doc: Any) -> None:
        doc.layers.add("F").freeze()
        doc.layers.add("O").off()
        doc.layers.add("L").lock()
        rounded(space)
        for x, layer in ((10, "O"), (20, "F"), (30, "L")):
            space.add_circle((x, 10), 2, dxfattribs={"layer": layer})
        block = doc.blocks.new("X")
        block.add_circle((0, 0), 1)
        space.add_blockref("X", (20, 15), dxfattribs={"layer": "F"})

    path = drawn(tmp_path / "l.dxf", draw)
    assert areas(path) == [(pytest.approx(ROUNDED - 4 * math.pi), 1)]  # a locked layer is shown
    told = " ".join(f.what for f in read_outline(path)[1])
    assert '2 curves on layer "F", which is switched off' in told and '1 curves on layer "O"' in told


@pytest.mark.parametrize(
    ("draw", "says"),
    [
        (lambda s: s.add_3dface([(0, 0, 0), (40, 0, 0), (40, 20, 0), (0, 20, 0)]), "1 3DFACE"),
        (lambda s: s.add_solid([(0, 0), (40, 0), (0, 20), (40, 20)]), "1 SOLID"),
        (lambda s: [s.add_text("x"), s.add_mtext("y"), s.add_point((0, 0))], "1 points, 2 texts"),
        (lambda s: s.add_region(), "no outline"),
    ],
)
def test_drawings_without_curves_say_what_they_hold(tmp_path: Path, draw: Any, says: str) -> None:
    e = refused(drawn(tmp_path / "n.dxf", lambda s, _: draw(s)))
    assert e.code == "file-broken" and says in e.what


def test_a_level_polyline_in_space_is_an_outline(tmp_path: Path) -> None:
    corners = [(0, 0, 7), (40, 0, 7), (40, 20, 7), (0, 20, 7)]
    assert areas(drawn(tmp_path / "s.dxf", lambda s, _: s.add_polyline3d(corners, close=True))) == [
        (800.0, 0)
    ]


@pytest.mark.parametrize("code", [3, 7, 8, 10, 11, 12, 15, 20, 21, 99])
def test_units_no_shop_draws_in_are_asked(tmp_path: Path, code: int) -> None:
    e = refused(drawn(tmp_path / "u.dxf", lambda s, _: s.add_circle((0, 0), 10), unit=code))
    assert e.code == "part-unit-unknown" and f"({code})" in e.what


def test_feet_are_read_and_a_speck_is_asked(tmp_path: Path) -> None:
    path = drawn(tmp_path / "f.dxf", lambda s, _: s.add_circle((0, 0), 0.1), unit=2)
    assert areas(path) == [(pytest.approx(math.pi * 30.48**2), 0)]
    e = refused(drawn(tmp_path / "m.dxf", lambda s, _: s.add_circle((0, 0), 0.1), unit=13))
    assert e.code == "part-size" and "too small" in e.what


@pytest.mark.parametrize("line", ["HIDDEN", "Dashed2", "ACAD_CENTER"])
def test_a_broken_line_whose_type_is_only_named_is_no_outline(tmp_path: Path, line: str) -> None:
    def draw(m: Any, _: Any) -> None:
        m.add_lwpolyline([(0, 0), (40, 0), (40, 20), (0, 20)], close=True)
        m.add_circle((20, 10), 3, dxfattribs={"linetype": line})

    drawing, findings = read_outline(drawn(tmp_path / "a.dxf", draw))
    assert [len(r.holes) for r in drawing.regions] == [0]
    assert any("drawn broken" in f.what for f in findings)


def test_a_polyline_drawn_as_a_band_is_read_by_its_middle_and_told(tmp_path: Path) -> None:
    def draw(m: Any, _: Any) -> None:
        m.add_lwpolyline([(0, 0), (40, 0), (40, 20), (0, 20)], close=True, dxfattribs={"const_width": 2.0})

    drawing, findings = read_outline(drawn(tmp_path / "a.dxf", draw))
    assert drawing.regions[0].area == pytest.approx(800.0)
    assert any("their middle is read" in f.what for f in findings)
