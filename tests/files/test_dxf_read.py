"""Outlines from drawings: every release and kind of curve, units asked, clutter listed."""

from __future__ import annotations

import math
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from ezdxf.math import fit_points_to_cad_cv

from files.drawings import INCH, MM, ROUNDED, VERSIONS, clutter, drawn, rounded
from jawright.errors import JawrightError
from jawright.files.dxf import Drawing, read_outline
from jawright.files.findings import Finding
from jawright.geometry.query import moments, signed_distance
from jawright.part.read import read_part


def told(findings: tuple[Finding, ...], level: str) -> str:
    return " / ".join(f.what for f in findings if f.level == level)


def only(drawing: Drawing) -> Any:
    assert len(drawing.regions) == 1
    return drawing.regions[0]


# ---- releases and kinds of curves ----------------------------------------------------------


@pytest.mark.parametrize("as_soup", [True, False], ids=["soup", "polyline"])
@pytest.mark.parametrize("version", VERSIONS)
def test_every_release(tmp_path: Path, version: str, as_soup: bool) -> None:
    def draw(space: Any, _: Any) -> None:
        rounded(space, as_soup=as_soup)
        space.add_circle((20, 10), 4.0)
        clutter(space)

    drawing, findings = read_outline(drawn(tmp_path / "plate.dxf", draw, version=version))
    region = only(drawing)
    assert region.area == pytest.approx(ROUNDED - math.pi * 16.0, rel=1e-12)
    assert len(region.outer.curves) == 8 and len(region.holes) == 1
    assert region.outer.area > 0 > region.holes[0].area
    assert region.outer.box == pytest.approx((0.0, 0.0, 40.0, 20.0), abs=1e-12)
    assert drawing.unit == "mm" and drawing.fit_bound == 0.0
    ignored = told(findings, "ignored")
    assert "1 dimensions" in ignored and "2 points" in ignored and "1 texts" in ignored
    assert not told(findings, "repaired")


def test_ellipse_and_spline_become_arcs_within_a_micrometer(tmp_path: Path) -> None:
    def draw(space: Any, _: Any) -> None:
        space.add_ellipse((0, 0), (30, 0), ratio=0.5)
        w = math.sqrt(0.5)  # a full circle of radius 5 as a rational curve of degree 2
        ring = [(5, 0), (5, 5), (0, 5), (-5, 5), (-5, 0), (-5, -5), (0, -5), (5, -5), (5, 0)]
        knots = [0, 0, 0, 1, 1, 2, 2, 3, 3, 4, 4, 4]
        space.add_rational_spline(ring, [1, w, 1, w, 1, w, 1, w, 1], degree=2, knots=knots)

    drawing, findings = read_outline(drawn(tmp_path / "e.dxf", draw))
    region = only(drawing)
    assert 0 < drawing.fit_bound <= 1e-3
    assert region.outer.area == pytest.approx(math.pi * 30 * 15, abs=1e-3 * 150)  # bound times perimeter
    assert region.holes[0].area == pytest.approx(-math.pi * 25, abs=1e-3 * 32)
    assert "µm" in told(findings, "noted")


def test_half_ellipses_join_lines(tmp_path: Path) -> None:
    def draw(space: Any, _: Any) -> None:
        space.add_line((-20, 0), (-20, -30))
        space.add_line((20, -30), (-20, -30))
        space.add_line((20, -30), (20, 0))
        space.add_ellipse((0, 0), (20, 0), ratio=0.5, start_param=0.0, end_param=math.pi)

    region = only(read_outline(drawn(tmp_path / "e.dxf", draw))[0])
    assert region.area == pytest.approx(40 * 30 + math.pi * 200 / 2, abs=1e-3 * 60)


def test_curves_seen_from_below_are_turned_over(tmp_path: Path) -> None:
    """An entity with its normal down has its X mirrored (object coordinates of the format)."""

    def draw(space: Any, _: Any) -> None:
        down = {"extrusion": (0, 0, -1)}
        space.add_lwpolyline(
            [(0, 0, 0), (-40, 0, -1), (-40, 20, 0), (0, 20, 0)], format="xyb", close=True, dxfattribs=down
        )
        space.add_circle((-10, 10), 3, dxfattribs=down)
        space.add_arc((-30, 10), 4, 0, 180, dxfattribs=down)
        space.add_line((26, 10), (34, 10))

    region = only(read_outline(drawn(tmp_path / "d.dxf", draw))[0])
    assert region.outer.box == pytest.approx((0, 0, 50, 20), abs=1e-9)
    assert region.outer.area == pytest.approx(800 + math.pi * 50, rel=1e-12)
    assert sorted(h.box[0] for h in region.holes) == pytest.approx([7, 26], abs=1e-9)
    assert min(h.area for h in region.holes) == pytest.approx(-math.pi * 9, rel=1e-9)


def test_blocks_are_taken_apart_with_scale_turn_and_mirror(tmp_path: Path) -> None:
    def draw(space: Any, doc: Any) -> None:
        pin = doc.blocks.new("PIN")
        pin.add_circle((1, 0), 1.0)
        tab = doc.blocks.new("TAB")
        tab.add_blockref("PIN", (0, 0))
        tab.add_lwpolyline([(0, -1, 0), (2, -1, 0), (2, -3, 0), (0, -3, 0)], format="xyb", close=True)
        space.add_lwpolyline([(0, 0), (100, 0), (100, 60), (0, 60)], close=True)
        space.add_blockref("TAB", (20, 30), dxfattribs={"xscale": 3, "yscale": 3, "rotation": 90})
        space.add_blockref("PIN", (60, 30), dxfattribs={"xscale": -2, "yscale": 2})
        space.add_blockref("PIN", (80, 30), dxfattribs={"xscale": 2, "yscale": 4})

    drawing, findings = read_outline(drawn(tmp_path / "b.dxf", draw))
    region = only(drawing)
    areas = sorted(-h.area for h in region.holes)
    expected = sorted([36.0, 9 * math.pi, 4 * math.pi, 8 * math.pi])
    assert areas == pytest.approx(expected, abs=1e-3 * 20)
    boxes = sorted(h.box for h in region.holes)
    assert boxes[0] == pytest.approx((17, 30, 23, 36), abs=1e-9)  # the pin at (1, 0) × 3, turned by 90°
    assert boxes[1] == pytest.approx((23, 30, 29, 36), abs=1e-9)  # the tab beside it
    assert boxes[2] == pytest.approx((56, 28, 60, 32), abs=1e-9)  # mirrored
    assert "blocks were taken apart" in told(findings, "noted")


def test_an_array_of_blocks_is_repeated(tmp_path: Path) -> None:
    def draw(space: Any, doc: Any) -> None:
        doc.blocks.new("PIN").add_circle((0, 0), 1.0)
        space.add_lwpolyline([(0, 0), (100, 0), (100, 60), (0, 60)], close=True)
        counts = {"row_count": 2, "column_count": 3, "row_spacing": 20, "column_spacing": 10}
        space.add_blockref("PIN", (20, 20), dxfattribs=counts)

    region = only(read_outline(drawn(tmp_path / "b.dxf", draw))[0])
    assert len(region.holes) == 6
    assert max(h.box[2] for h in region.holes) == pytest.approx(41.0)


# ---- what is left out ----------------------------------------------------------------------


def test_what_is_no_outline_is_listed(tmp_path: Path) -> None:
    def draw(space: Any, doc: Any) -> None:
        rounded(space)
        doc.layers.add("NOTES").off()
        doc.linetypes.add("CENTER", [2.0, 1.25, -0.25, 0.25, -0.25])
        doc.layers.add("AXES", linetype="CENTER")
        space.add_line((0, 10), (40, 10), dxfattribs={"linetype": "CENTER"})
        space.add_line((20, 0), (20, 20), dxfattribs={"layer": "AXES"})
        space.add_circle((20, 10), 2, dxfattribs={"layer": "NOTES"})
        space.add_circle((10, 10), 2, dxfattribs={"layer": "Defpoints"})
        space.add_circle((30, 10), 2, dxfattribs={"invisible": 1})
        space.add_xline((0, 0), (1, 1))
        space.add_hatch().paths.add_polyline_path([(0, 0), (1, 0), (1, 1)], is_closed=True)

    drawing, findings = read_outline(drawn(tmp_path / "n.dxf", draw))
    assert only(drawing).area == pytest.approx(ROUNDED, rel=1e-12)
    ignored = told(findings, "ignored")
    for words in (
        "2 center lines",
        'layer "NOTES", which is switched off',
        "help layer",
        "1 curves that are not shown",
        "1 construction lines",
        "1 hatches",
    ):
        assert words in ignored


def test_a_drawing_of_notes_only_is_refused_with_what_it_holds(tmp_path: Path) -> None:
    def draw(space: Any, doc: Any) -> None:
        clutter(space)
        doc.layout("Layout1").add_circle((0, 0), 5)

    with pytest.raises(JawrightError, match="holds no outline, only 1 dimensions, 2 points, 1 texts") as e:
        read_outline(drawn(tmp_path / "n.dxf", draw))
    assert e.value.code == "file-broken" and "paper pages" in e.value.what


# ---- units and size ------------------------------------------------------------------------


@pytest.mark.parametrize("version", ["R12", "R2000", "R2018"])
def test_a_drawing_without_unit_asks_and_shows_both_sizes(tmp_path: Path, version: str) -> None:
    path = drawn(tmp_path / "u.dxf", lambda s, _: rounded(s), version=version, unit=None)
    with pytest.raises(JawrightError) as e:
        read_outline(path)
    assert e.value.code == "part-unit-unknown"
    assert "40 × 20 mm drawn in mm, 1016 × 508 mm drawn in inches" in e.value.what
    assert 'unit = "mm" or unit = "inch"' in e.value.todo
    assert only(read_outline(path, unit="mm")[0]).outer.box == pytest.approx((0, 0, 40, 20))
    assert only(read_outline(path, unit="inch")[0]).outer.box == pytest.approx((0, 0, 1016, 508))


@pytest.mark.parametrize("code", [0, 7, 20, 99])
def test_an_unknown_unit_code_is_asked_too(tmp_path: Path, code: int) -> None:
    with pytest.raises(JawrightError) as e:
        read_outline(drawn(tmp_path / "u.dxf", lambda s, _: rounded(s), unit=code))
    assert e.value.code == "part-unit-unknown"


@pytest.mark.parametrize(
    ("code", "word", "size"),
    [
        (1, "inch", 25.4),
        (2, "foot", 304.8),
        (4, "mm", 1.0),
        (5, "cm", 10.0),
        (6, "m", 1000.0),
        (14, "dm", 100.0),
    ],
)
def test_units_are_exact(tmp_path: Path, code: int, word: str, size: float) -> None:
    """The inch is exactly 25.4 mm (international yard and pound agreement, 1959)."""

    def draw(space: Any, _: Any) -> None:
        w, h = 60.0 / size, 30.0 / size
        space.add_lwpolyline([(0, 0), (w, 0), (w, h), (0, h)], close=True)

    drawing, _ = read_outline(drawn(tmp_path / "u.dxf", draw, unit=code))
    assert drawing.unit == word
    assert only(drawing).outer.box == pytest.approx((0.0, 0.0, 60.0, 30.0), rel=1e-15, abs=1e-15)


def test_the_size_is_always_shown_as_a_question(tmp_path: Path) -> None:
    def draw(space: Any, _: Any) -> None:
        space.add_lwpolyline([(0, 0), (76.2, 0), (76.2, 50.8), (0, 50.8)], close=True)

    _, findings = read_outline(drawn(tmp_path / "s.dxf", draw))
    assert "76.2 × 50.8 are read as mm" in told(findings, "noted")
    assert "(as inch it would be 1935.48 × 1290.32 mm)" in told(findings, "noted")


@pytest.mark.parametrize(("unit", "wide"), [(INCH, 76.2), (MM, 2.5), (6, 3.0)])
def test_an_unlikely_size_is_asked_and_an_answer_settles_it(tmp_path: Path, unit: int, wide: float) -> None:
    def draw(space: Any, _: Any) -> None:
        space.add_lwpolyline([(0, 0), (wide, 0), (wide, 0.6 * wide), (0, 0.6 * wide)], close=True)

    path = drawn(tmp_path / "s.dxf", draw, unit=unit)
    with pytest.raises(JawrightError, match="no likely size for a part in a vise") as e:
        read_outline(path)
    assert e.value.code == "part-size"
    drawing, findings = read_outline(path, unit="mm")
    assert only(drawing).outer.box[2] == pytest.approx(wide)
    if unit != MM:
        assert "the job says mm: the job is followed" in told(findings, "noted")


# ---- gaps, doubles, branches ---------------------------------------------------------------


def test_small_gaps_are_closed_and_told(tmp_path: Path) -> None:
    def draw(space: Any, _: Any) -> None:
        space.add_line((3, 0), (37.004, 0))
        space.add_line((40, 17), (40, 3))
        space.add_line((37, 20), (3, 20.006))
        space.add_line((0, 3), (0, 17))
        for c, start in (((37, 3), 270), ((3, 3), 180), ((37, 17), 0), ((3, 17), 90)):
            space.add_arc(c, 3.0, start, start + 90)

    drawing, findings = read_outline(drawn(tmp_path / "g.dxf", draw))
    assert only(drawing).area == pytest.approx(ROUNDED, abs=0.01 * 40)
    assert "2 gaps of up to 0.0060 mm closed (up to 0.01 mm" in told(findings, "repaired")
    assert "(3.0000, 20.0" in told(findings, "repaired")


@pytest.mark.parametrize("gap", [0.011, 0.35, 5.0])
def test_an_open_outline_names_both_ends_and_the_size(tmp_path: Path, gap: float) -> None:
    def draw(space: Any, _: Any) -> None:
        space.add_lwpolyline([(gap, 0), (40, 0), (40, 20), (0, 20), (0, 0)])

    with pytest.raises(JawrightError) as e:
        read_outline(drawn(tmp_path / "o.dxf", draw))
    assert e.value.code == "part-outline-open"
    assert f"a gap of {gap:g} mm between" in e.value.what
    assert "(0.0000, 0.0000)" in e.value.what and f"({gap:.4f}, 0.0000)" in e.value.what


def test_places_are_told_in_the_drawings_own_numbers(tmp_path: Path) -> None:
    def draw(space: Any, _: Any) -> None:
        space.add_lwpolyline([(0.5, 0), (4, 0), (4, 2), (0, 2), (0, 0)])

    with pytest.raises(JawrightError, match=r"a gap of 12.7 mm between .*\(0.5000, 0.0000\)"):
        read_outline(drawn(tmp_path / "o.dxf", draw, unit=INCH))


def test_doubles_are_dropped_and_told(tmp_path: Path) -> None:
    def draw(space: Any, _: Any) -> None:
        rounded(space)
        rounded(space)
        space.add_circle((20, 10), 4)
        space.add_circle((20, 10), 4)
        space.add_line((5, 0), (9, 0))  # lies on a longer one

    drawing, findings = read_outline(drawn(tmp_path / "d.dxf", draw))
    assert only(drawing).area == pytest.approx(ROUNDED - 16 * math.pi, rel=1e-9)
    assert "10 curves drawn twice left out" in told(findings, "repaired")


@pytest.mark.parametrize("polyline_first", [True, False])
def test_a_closed_polyline_drawn_over_by_lines_is_one(tmp_path: Path, polyline_first: bool) -> None:
    def draw(space: Any, _: Any) -> None:
        for as_soup in (False, True) if polyline_first else (True, False):
            rounded(space, as_soup=as_soup)

    drawing, findings = read_outline(drawn(tmp_path / "d.dxf", draw))
    assert only(drawing).area == pytest.approx(ROUNDED, rel=1e-9)
    assert "8 curves drawn twice" in told(findings, "repaired")


@pytest.mark.parametrize(
    ("lines", "words"),
    [
        ([((20, 0), (20, 20))], r"ends on LINE .* at \(20.0000, 0.0000\)"),
        ([((0, 0), (40, 20))], r"curves end at one point, \(0.0000, 0.0000\)"),
        ([((10, 20), (10, 26))], r"ends on LINE .* at \(10.0000, 20.0000\)"),
    ],
    ids=["divider", "diagonal", "stub"],
)
def test_branches_are_refused_with_the_place(tmp_path: Path, lines: Any, words: str) -> None:
    def draw(space: Any, _: Any) -> None:
        corners = [(0, 0), (40, 0), (40, 20), (0, 20)]
        for a, b in zip(corners, [*corners[1:], corners[0]], strict=True):
            space.add_line(a, b)
        for a, b in lines:
            space.add_line(a, b)

    with pytest.raises(JawrightError, match=words) as e:
        read_outline(drawn(tmp_path / "t.dxf", draw))
    assert e.value.code == "part-outline-crossing"


def test_a_crossing_outline_is_refused_with_the_place(tmp_path: Path) -> None:
    def draw(space: Any, _: Any) -> None:
        space.add_lwpolyline([(0, 0), (40, 20), (40, 0), (0, 20)], close=True)

    with pytest.raises(JawrightError, match=r"crosses itself at \(20.0000, 10.0000\)") as e:
        read_outline(drawn(tmp_path / "x.dxf", draw))
    assert e.value.code == "part-outline-crossing"


@pytest.mark.parametrize("at", [(38.0, 10.0), (20.0, 40.0)], ids=["through the edge", "no crossing"])
def test_an_opening_through_the_edge_is_refused(tmp_path: Path, at: tuple[float, float]) -> None:
    def draw(space: Any, _: Any) -> None:
        rounded(space)
        space.add_circle(at, 4)

    path = drawn(tmp_path / "x.dxf", draw)
    if at[1] == 10.0:
        with pytest.raises(JawrightError, match="two outlines cross") as e:
            read_outline(path)
        assert e.value.code == "part-outline-crossing"
    else:
        assert len(read_outline(path)[0].regions) == 2


def test_a_loop_run_there_and_back_has_no_area(tmp_path: Path) -> None:
    def draw(space: Any, _: Any) -> None:
        rounded(space, at=(0, 40))
        space.add_lwpolyline([(0, 0), (40, 0), (40, 0.0005)], close=True)

    with pytest.raises(JawrightError, match="has no area"):
        read_outline(drawn(tmp_path / "x.dxf", draw))


def test_parts_openings_and_islands_are_told_apart(tmp_path: Path) -> None:
    def draw(space: Any, _: Any) -> None:
        space.add_circle((0, 0), 3)  # an island in the opening of the ring
        space.add_circle((0, 0), 5)
        space.add_circle((0, 0), 20)
        rounded(space, at=(30, 0))

    drawing, _ = read_outline(drawn(tmp_path / "p.dxf", draw))
    areas = [r.area for r in drawing.regions]
    assert areas == pytest.approx([375 * math.pi, ROUNDED, 9 * math.pi], rel=1e-12)


def test_curves_shorter_than_the_join_are_kept_where_they_meet(tmp_path: Path) -> None:
    """A circle of radius 6 as 5,000 loose lines of 7.5 µm: its joints are drawn, not guessed."""
    n = 5000
    corners = [(6 * math.cos(2 * math.pi * k / n), 6 * math.sin(2 * math.pi * k / n)) for k in range(n)]

    def draw(space: Any, _: Any) -> None:
        for a, b in zip(corners, [*corners[1:], corners[0]], strict=True):
            space.add_line(a, b)

    drawing, findings = read_outline(drawn(tmp_path / "d.dxf", draw))
    assert len(only(drawing).outer.curves) == n and not told(findings, "repaired")
    assert only(drawing).area == pytest.approx(0.5 * n * 36 * math.sin(2 * math.pi / n), rel=1e-12)


def test_a_stray_speck_is_left_out_and_told(tmp_path: Path) -> None:
    def draw(space: Any, _: Any) -> None:
        rounded(space)
        space.add_line((3, 0), (3.003, 0.004))
        space.add_line((60, 0), (60, 0.000001))

    drawing, findings = read_outline(drawn(tmp_path / "d.dxf", draw))
    assert only(drawing).area == pytest.approx(ROUNDED, rel=1e-12)
    assert "2 curves shorter than 0.01 mm were left out" in told(findings, "repaired")


@pytest.mark.parametrize("gap", [0.0, 0.0035, 0.009], ids=["none", "within", "almost"])
def test_a_lone_arc_that_nearly_closes_is_a_circle(tmp_path: Path, gap: float) -> None:
    def draw(space: Any, _: Any) -> None:
        space.add_arc((20, 10), 4, math.degrees(gap / 4), 360)

    drawing, findings = read_outline(drawn(tmp_path / "d.dxf", draw))
    assert only(drawing).area == pytest.approx(16 * math.pi, abs=4 * 8 * math.pi * max(gap, 1e-12))
    assert ("gap" in told(findings, "repaired")) is (gap > 0)


@pytest.mark.parametrize("at", [(4.0, 10.0), (24.0, 10.0)], ids=["edge", "hole"])
def test_openings_that_touch_make_no_solid_and_say_so(tmp_path: Path, at: tuple[float, float]) -> None:
    def draw(space: Any, _: Any) -> None:
        rounded(space)
        space.add_circle((16, 10), 4)
        space.add_circle(at, 4)

    path = drawn(tmp_path / "t.dxf", draw)
    with pytest.raises(JawrightError, match="look for places where outlines touch") as e:
        read_part(path, thickness=10.0)
    assert e.value.code == "geometry" and e.value.where == "t.dxf"


def test_outlines_that_share_a_corner_or_an_edge_are_two_parts(tmp_path: Path) -> None:
    def draw(space: Any, _: Any) -> None:
        for x, y in ((0, 0), (20, 20), (40, 20)):
            space.add_lwpolyline([(x, y), (x + 20, y), (x + 20, y + 20), (x, y + 20)], close=True)

    path = drawn(tmp_path / "t.dxf", draw)
    assert len(read_outline(path)[0].regions) == 3
    with pytest.raises(JawrightError, match=r"3 separate outlines \(1: 20.0 × 20.0 mm, lower left at") as e:
        read_part(path, thickness=10.0)
    assert e.value.code == "part-several-solids" and "body = 1 to 3" in e.value.todo
    second = read_part(path, thickness=10.0, body=2)
    assert second.box[:3] == pytest.approx((20.0, 20.0, 0.0))
    assert "2 other outline(s) of the drawing" in told(second.findings, "ignored")
    for body in (0, 4):
        with pytest.raises(JawrightError, match="is not in the drawing") as e:
            read_part(path, thickness=10.0, body=body)
        assert e.value.code == "value-bad"


def test_a_drawing_needs_its_thickness(tmp_path: Path) -> None:
    path = drawn(tmp_path / "t.dxf", lambda s, _: rounded(s))
    with pytest.raises(JawrightError, match="thickness") as e:
        read_part(path)
    assert e.value.code == "key-missing"
    with pytest.raises(JawrightError) as e:
        read_part(path, thickness=0.0)
    assert e.value.code == "part-flat"


# ---- flat or not ---------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("draw", "words"),
    [
        (lambda s, _: s.add_line((0, 0, 0), (10, 0, 5)), "rises"),
        (lambda s, _: s.add_circle((0, 0), 5, dxfattribs={"extrusion": (0, 1, 0)}), "is tilted"),
        (lambda s, _: (s.add_circle((0, 0, 0), 15), s.add_circle((0, 0, 8), 5)), "lies at Z 0 and CIRCLE"),
        (lambda s, _: s.add_polyline3d([(0, 0, 0), (9, 0, 0), (9, 9, 4)], close=True), "rises"),
    ],
    ids=["rising line", "tilted circle", "two levels", "rising polyline"],
)
def test_a_wire_model_is_no_outline(tmp_path: Path, draw: Any, words: str) -> None:
    with pytest.raises(JawrightError, match=words) as e:
        read_outline(drawn(tmp_path / "z.dxf", draw))
    assert e.value.code == "geometry" and "not flat" in e.value.what


def test_a_flat_drawing_at_some_height_is_flat(tmp_path: Path) -> None:
    path = drawn(tmp_path / "z.dxf", lambda s, _: s.add_circle((1, 2, 50), 5))
    assert moments(only(read_outline(path)[0])).center == pytest.approx((1, 2))


THROUGH = [(0.0, 0.0), (9.0, 4.0), (20.0, 1.0), (31.0, 6.0), (40.0, 0.0)]


@pytest.mark.parametrize("tangents", [None, ((1.0, 2.0), (0.0, -1.0))])
def test_a_spline_of_points_on_its_way_is_read_as_other_programs_draw_it(
    tmp_path: Path, tangents: tuple[tuple[float, float], tuple[float, float]] | None
) -> None:
    """Against the interpolation of a general-purpose library, which copies what drawing programs do."""

    def draw(space: Any, _: Any) -> None:
        spline = space.add_spline(THROUGH)
        if tangents:
            spline.dxf.start_tangent, spline.dxf.end_tangent = tangents
        space.add_line((40, 0), (40, -10))
        space.add_line((40, -10), (0, -10))
        space.add_line((0, -10), (0, 0))

    drawing, findings = read_outline(drawn(tmp_path / "f.dxf", draw))
    outline = only(drawing).outer
    theirs = fit_points_to_cad_cv(THROUGH, tangents)
    points = [(p.x, p.y) for p in theirs.approximate(4000)]
    assert float(np.abs(signed_distance(outline, points)).max()) < 1e-3 + 1e-6
    assert 0 < drawing.fit_bound <= 1e-3
    told = " / ".join(f.what for f in findings)
    assert "a spline gives only points on the way" in told and "other programs may run up to" in told


def test_a_closed_spline_of_points_comes_back_smoothly(tmp_path: Path) -> None:
    ring = [(20 * math.cos(k * math.pi / 8), 12 * math.sin(k * math.pi / 8)) for k in range(16)]
    drawing, _ = read_outline(
        drawn(tmp_path / "f.dxf", lambda s, _: setattr(s.add_spline(ring), "closed", True))
    )
    outline = only(drawing).outer
    assert float(np.abs(signed_distance(outline, ring)).max()) < 2e-3
    assert outline.area == pytest.approx(math.pi * 240, rel=2e-3)
    turns = [
        math.dist(a.tangent(1.0), b.tangent(0.0))
        for a, b in zip(outline.curves, outline.curves[1:] + outline.curves[:1], strict=True)
    ]
    assert max(turns) < 1e-6


def test_splines_through_two_points_and_through_none(tmp_path: Path) -> None:
    def triangle(space: Any, _: Any) -> None:
        space.add_spline([(0, 0), (30, 0)])
        space.add_line((30, 0), (10, 20))
        space.add_line((10, 20), (0, 0))

    assert only(read_outline(drawn(tmp_path / "t.dxf", triangle))[0]).area == pytest.approx(300.0)
    with pytest.raises(JawrightError) as e:
        read_outline(drawn(tmp_path / "f.dxf", lambda s, _: s.add_spline([(0, 0)])))
    assert e.value.code == "geometry" and "two points" in e.value.what
