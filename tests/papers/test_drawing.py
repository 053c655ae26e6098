"""Drawings: exact arcs, honest cuts, letters that do not cover one another, and turning with the vise."""

from __future__ import annotations

import math
import re
from dataclasses import replace
from itertools import pairwise
from xml.etree import ElementTree

import pytest
from fontTools.ttLib import TTFont
from hypothesis import given
from hypothesis import strategies as st
from shapely import LineString, Polygon, box

import samples
from jawright.geometry.curve import Arc, Curve
from jawright.geometry.cuts import runs_at, split
from jawright.geometry.profile import Region, circle, rectangle
from jawright.papers.drawing import drawings
from jawright.papers.front_view import jaw_steps
from jawright.papers.ink import Ink, fit_scale, scale_words, spread, text_width
from jawright.papers.jaw_view import corners, jaw_view
from jawright.papers.measure import Reader
from jawright.record import Record
from papers import sample

SVG = "{http://www.w3.org/2000/svg}"
RECORDS = {
    "soft": sample.record(),
    "inch": sample.good_record("inch"),
    "hard": sample.hard_record(),
    "front": sample.record(fixed_jaw_rear=False),
}


def polygon(region: Region, chord: float = 1e-4) -> Polygon:
    return Polygon(region.outer.points(chord), [h.points(chord) for h in region.holes])


def end_of_svg_arc(
    start: tuple[float, float], radius: float, large: bool, sweep: bool, end: tuple[float, float]
) -> tuple[float, float]:
    """Center of an SVG arc, by the conversion of the SVG 2 recommendation, appendix B.2.4 (circles)."""
    x1, y1 = (start[0] - end[0]) / 2, (start[1] - end[1]) / 2
    d = math.hypot(x1, y1)
    k = math.sqrt(max(0.0, radius**2 - d**2)) / d
    if large == sweep:
        k = -k
    return (k * y1 + (start[0] + end[0]) / 2, -k * x1 + (start[1] + end[1]) / 2)


@pytest.mark.parametrize("mirror", [False, True])
@pytest.mark.parametrize("flip", [False, True])
@pytest.mark.parametrize("ccw", [False, True])
@pytest.mark.parametrize("sweep", [20.0, 90.0, 179.0, 200.0, 340.0])
def test_arcs_stay_arcs(mirror: bool, flip: bool, ccw: bool, sweep: float) -> None:
    a0 = math.radians(33.0)
    a1 = a0 + math.radians(sweep) * (1 if ccw else -1)
    center = (3.0, -2.0)
    arc = Arc(
        (center[0] + 5 * math.cos(a0), center[1] + 5 * math.sin(a0)),
        (center[0] + 5 * math.cos(a1), center[1] + 5 * math.sin(a1)),
        center,
        ccw,
    )
    ink = Ink(100.0, 100.0, "t", scale=2.0, zero=(50.0, 50.0), mirror=mirror, flip_x=flip)
    m = re.fullmatch(r"M(\S+) (\S+)A(\S+) (\S+) 0 ([01]) ([01]) (\S+) (\S+)", ink.d([arc]))
    assert m is not None
    n = [float(v) for v in m.groups()]
    found = end_of_svg_arc((n[0], n[1]), n[2], bool(n[4]), bool(n[5]), (n[6], n[7]))
    # coordinates on paper are rounded to a micrometer; near half a circle the center moves more than the ends
    assert math.dist(found, ink.put(center)) < 0.1
    assert n[2] == pytest.approx(10.0)
    assert bool(n[4]) == (sweep > 180.0)


@given(st.floats(-29.99, 24.99))
def test_runs_along_a_line_agree_with_a_polygon_library(x: float) -> None:
    region = Region(samples.pawl_outline(), (circle((-4.0, -4.0), 4.0).reversed(),))
    cut = polygon(region).intersection(LineString([(x + 1e-7, -100), (x + 1e-7, 100)]))
    parts = [g.bounds for g in getattr(cut, "geoms", [cut]) if g.length > 1e-3]
    want = sorted((b[1], b[3]) for b in parts)
    got = [r for r in runs_at(region, 0, x) if r[1] - r[0] > 1e-3]
    # the polygon's chords lie up to 0.1 µm inside the arcs, steeper where the line grazes one
    assert len(got) == len(want)
    for a, b in zip(got, want, strict=True):
        assert a == pytest.approx(b, abs=0.02)


def test_jaw_cut_leaves_as_much_metal_as_the_jaw_has() -> None:
    """The stepped cut at X = 0: 25 × 50 less the pocket, 6 wide and 6.5 deep, in the fixed jaw."""
    jaws = samples.jaws()
    steps = jaw_steps(jaws.fixed, jaws, 0.0)
    assert sum((b - a) * z for a, b, z in steps) == pytest.approx(25 * 50 - 6 * 6.5)
    assert steps[0] == (0.0, 6.0, 43.5)


def flat(chain: list[Curve]) -> list[tuple[float, float]]:
    return [c.at(k / 200) for c in chain for k in range(200)] + [chain[-1].end]


@pytest.mark.parametrize("side", ["fixed", "floating"])
def test_corner_table_tells_the_whole_pocket(side: str) -> None:
    """The wall replayed from the table encloses the area a polygon library cuts from the pocket."""
    jaws = samples.jaws()
    jaw = jaws.fixed if side == "fixed" else jaws.floating
    found = corners(jaw, jaws)
    chain = [c.next for c in found if c.next is not None]
    for a, b in pairwise(found):
        assert a.next is not None
        assert math.dist(a.next.end, b.at) < 1e-9
    want = polygon(jaws.pocket).intersection(box(jaw.x0, jaw.y0, jaw.x1, jaw.y1)).area
    assert Polygon(flat(chain)).area == pytest.approx(want, rel=1e-4)


def test_splitting_keeps_the_length() -> None:
    pocket = samples.jaws().pocket.outer
    pieces = split(pocket.curves, 1, (0.0, -6.0))
    assert math.fsum(c.length for c in pieces) == pytest.approx(pocket.perimeter)
    assert len(pieces) == len(pocket.curves) + 4


def letters(svg: str) -> list[tuple[str, tuple[float, float, float, float]]]:
    """Every group of letters with its box on paper, by the widths of the font itself."""
    out = []
    for t in ElementTree.fromstring(svg).iter(SVG + "text"):
        size = float(t.attrib["font-size"])
        x, y = float(t.attrib["x"]), float(t.attrib["y"])
        words = t.text or ""
        w = text_width(words, size, bold=t.attrib.get("font-weight") == "bold")
        left = {"middle": -w / 2, "end": -w}.get(t.attrib.get("text-anchor", ""), 0.0)
        if t.attrib.get("transform", "").startswith("rotate(180"):
            out.append((words, (x - w - left, y, x - left, y + 0.73 * size)))
        elif "transform" in t.attrib:
            mid = y - 0.365 * size
            out.append((words, (x - 0.4 * size, mid - w / 2, x + 0.4 * size, mid + w / 2)))
        else:
            out.append((words, (x + left, y - 0.73 * size, x + left + w, y)))
    return out


@pytest.mark.parametrize("record", RECORDS.values(), ids=RECORDS.keys())
def test_no_letters_cover_others_or_leave_the_paper(record: Record) -> None:
    for name, svg in drawings(record).items():
        root = ElementTree.fromstring(svg)
        _, _, width, height = map(float, root.attrib["viewBox"].split())
        found = letters(svg)
        assert found
        for words, b in found:
            assert min(b[0], b[1], width - b[2], height - b[3]) > -0.2, (name, words)
        for i, (one, a) in enumerate(found):
            for two, b in found[i + 1 :]:
                apart = a[2] <= b[0] + 0.1 or b[2] <= a[0] + 0.1 or a[3] <= b[1] + 0.1 or b[3] <= a[1] + 0.1
                assert apart, (name, one, two)


@pytest.mark.parametrize("record", RECORDS.values(), ids=RECORDS.keys())
def test_letters_are_large_enough_to_read(record: Record) -> None:
    """ISO 3098-1: lettering begins at 1.8 mm of capital height."""
    for svg in drawings(record).values():
        sizes = [float(t.attrib["font-size"]) for t in ElementTree.fromstring(svg).iter(SVG + "text")]
        assert min(sizes) * 0.73 >= 1.8


def height_of(svg: str, words: str) -> float:
    return next(
        float(t.attrib["y"]) for t in ElementTree.fromstring(svg).iter(SVG + "text") if t.text == words
    )


def test_the_plan_turns_with_the_vise() -> None:
    rear, front = drawings(RECORDS["soft"])["plan"], drawings(RECORDS["front"])["plan"]
    assert height_of(rear, "FIXED JAW") < height_of(rear, "FLOATING JAW")
    assert height_of(front, "FIXED JAW") > height_of(front, "FLOATING JAW")
    for svg in (rear, front):
        assert height_of(svg, "OPERATOR STANDS HERE") > height_of(svg, "FIXED JAW")


def test_zones_differ_in_more_than_color() -> None:
    root = ElementTree.fromstring(drawings(RECORDS["soft"])["plan"])
    zone = next(g for g in root.iter(SVG + "g") if g.attrib.get("class") == "zone")
    styles = {(p.attrib.get("stroke-dasharray"), p.attrib["stroke-width"]) for p in zone.iter(SVG + "path")}
    colors = {p.attrib["stroke"] for p in zone.iter(SVG + "path")}
    assert len(colors) == 4
    assert len(styles) == 4


def test_letter_widths_are_those_of_the_font() -> None:
    """Against the font file itself, read by a font library."""
    font = TTFont("src/jawright/data/fonts/DejaVuSansCondensed.ttf")
    table, widths, em = font.getBestCmap(), font["hmtx"], font["head"].unitsPerEm
    for word in ("OPERATOR STANDS HERE", "tooling hole Ø6.00 mm", "0.1250 in – ½"):
        want = sum(widths[table[ord(c)]][0] for c in word) / em
        assert text_width(word, 1.0) == pytest.approx(want, abs=0.001 * len(word))


def test_scales() -> None:
    assert fit_scale(150.0, 50.0, paper=(166.0, 105.0)) == 1.0
    assert fit_scale(74.0, 50.0, paper=(166.0, 105.0)) == 2.0
    assert fit_scale(180.0, 50.0, paper=(166.0, 105.0)) == 0.8
    assert fit_scale(330.0, 50.0, paper=(166.0, 105.0)) == 0.5
    assert scale_words(0.5) == "1 : 2"
    assert scale_words(2.0) == "2 : 1"


@given(st.lists(st.floats(0, 100), min_size=1, max_size=12))
def test_spread_keeps_order_and_distance(wanted: list[float]) -> None:
    got = spread(wanted, 3.0, 150.0)
    order = sorted(range(len(wanted)), key=lambda i: wanted[i])
    for i, j in pairwise(order):
        assert got[j] - got[i] >= 3.0 - 1e-6


def test_numbers_keep_and_add_no_zeros() -> None:
    mm, inch = Reader("mm"), Reader("inch")
    assert mm.size(12.7) == "12.70 mm"
    assert mm.size(9.525) == "9.525 mm"  # 3/8 in
    assert mm.size(17.9958) == "18.00 mm"
    assert inch.size(12.7) == "0.500 in"
    assert inch.size(25.4 * 0.3125) == "0.3125 in"
    assert inch.place(25.4 * 0.0005) == "0.0005 in"
    assert mm.place(-0.0001) == "0.000 mm"
    assert inch.torque(28.0) == "21 lbf·ft"  # 28 / 1.3558 = 20.65


def test_the_job_chooses_how_the_views_lie() -> None:
    """Third angle: the front face stands below the plan; first angle: above it."""
    third = sample.record()
    first = replace(third, job=replace(third.job, projection="first angle"))
    heights = []
    for r in (third, first):
        svg = jaw_view(r, "fixed")
        assert f"({r.job.projection} projection)" in svg
        # the tooling hole is drawn as a circle in the plan only
        heights.append(max(float(v) for v in re.findall(r'<circle[^>]*cy="([0-9.]+)"', svg)))
    assert heights[1] > heights[0] + 5.0, "in first angle the plan has moved down the sheet"


@pytest.mark.parametrize("rear", [True, False])
def test_a_small_pocket_is_drawn_once_more_enlarged(rear: bool) -> None:
    """Its corners carry their numbers in the detail only, where they can be told apart."""
    r = sample.record(fixed_jaw_rear=rear)
    assert r.jaws is not None
    assert "enlarged" not in jaw_view(r, "fixed")
    small = Region(rectangle(-4.0, -9.0, 5.0, 2.0))
    tiny = replace(r, jaws=replace(r.jaws, pocket=small, reliefs=(), wells=()))
    assert tiny.jaws is not None
    for side, jaw in (("fixed", tiny.jaws.fixed), ("floating", tiny.jaws.floating)):
        svg = jaw_view(tiny, side)
        assert "the pocket enlarged, scale 5 : 1" in svg
        numbers = [str(c.number) for c in corners(jaw, tiny.jaws)]
        said = [words for words, _ in letters(svg)]
        assert all(said.count(n) == 1 for n in numbers), said
        boxes = [b for w, b in letters(svg) if w in numbers]
        high = max(float(v) for v in re.findall(r'viewBox="0 0 [0-9.]+ ([0-9.]+)"', svg))
        assert all(b[1] >= 0.0 and b[3] <= high for b in boxes)
