"""The program's text: order, modal state, rounding, units, format options, errors."""

from __future__ import annotations

import math
import re
from dataclasses import replace
from functools import cache

import numpy as np
import pockets
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from nc_replay import replay

import samples
from jawright.cutting import program
from jawright.cutting.paths import Step
from jawright.cutting.words import Axes, Text, check_format, round_center
from jawright.errors import JawrightError
from jawright.job.model import HoldAsk

CASES = pockets.cases()
NAMES = sorted(CASES)


def text_of(name: str, **nc: object) -> str:
    return written(name, tuple(sorted(nc.items())))


@cache
def written(name: str, nc: tuple[tuple[str, object], ...]) -> str:
    jaws, shop = CASES[name]
    return program.write(jaws, replace(shop, nc=replace(shop.nc, **dict(nc))), pockets.job()).text  # type: ignore[arg-type]


FORMATS = [
    {"units": "mm", "decimals": 3},
    {"units": "inch", "decimals": 4, "split_arcs": True},
    {"units": "mm", "decimals": 4, "line_numbers": False, "split_arcs": True, "work_offset": "G56"},
]


@pytest.mark.parametrize("name", NAMES)
@pytest.mark.parametrize("nc", FORMATS)
def test_lines_are_short_plain_and_known(name: str, nc: dict[str, object]) -> None:
    """Only words of the neutral subset; comments without nesting; every line under 80 characters."""
    ok = re.compile(
        r"(N\d+ )?(?:\((?P<c>[^()]*)\)|(?:(?:G(?:0|1|2|3|17|20|21|40|43|49|53|5[4-9]|80|90|94)|"
        r"M(?:0|1|3|5|6|8|9|30)|"
        r"[ST]\d+|H\d+|[XYZIJ]-?\d+\.\d+|F\d+\.\d?)(?: |$))+)"
    )
    for line in text_of(name, **nc).splitlines():
        assert line.isascii() and len(line) < 80
        assert ok.fullmatch(line), line
        assert line == line.upper()


@pytest.mark.parametrize("name", NAMES)
@pytest.mark.parametrize("nc", FORMATS)
def test_arcs_after_rounding(name: str, nc: dict[str, object]) -> None:
    """NISTIR 6556 (Kramer, Proctor, Messina 2000), 3.5.3.2: the radii at an arc's two ends may differ
    by 0.002 mm or 0.0002 inch. Written arcs stay inside three quarters of that, and below half a turn."""
    limit = 0.0015 if nc["units"] == "mm" else 0.00015 * 25.4
    arcs = [m for m in replay(text_of(name, **nc)) if m.code >= 2]
    assert arcs
    for m in arcs:
        assert m.miss <= limit, m.line
        assert m.a[:2] != m.b[:2], m.line
        most = math.pi / 2 if nc.get("split_arcs") else math.radians(176)
        if math.dist(m.a[:2], m.center) > 0.05:  # the angle of a tiny rounded arc means little
            assert abs(m.sweep) <= most + 0.03, m.line


@pytest.mark.parametrize("name", NAMES)
def test_rapids_only_in_air(name: str) -> None:
    """G0 in plan only at 2 mm above all metal or higher; G0 down never below that."""
    jaws, _ = CASES[name]
    high = max(jaws.top, jaws.stack.high) - jaws.top
    for m in replay(text_of(name)):
        if m.code == 0:
            if m.a[:2] != m.b[:2]:
                assert min(m.a[2], m.b[2]) >= high + 2.0 - 1e-6, m.line
            if m.b[2] < m.a[2]:
                assert m.b[2] >= high + 2.0 - 1e-6, m.line


def test_order_and_state() -> None:
    """Units first and alone; safe state at the top and after each cutter; a stop before cutting; M30 last."""
    lines = [re.sub(r"^N\d+ ", "", x) for x in text_of("sample").splitlines()]
    assert lines[0] == "G21"
    words = [x for x in lines if not x.startswith("(")]
    assert words[1] == program.SAFE_STATE
    stop = lines.index("M0")
    assert lines.index("M6 T2") > stop
    assert any("SPACERS CLEAR BY 3.000 MM" in x for x in lines[:stop])
    assert "TORQUE" in " ".join(lines[:stop])
    changes = [i for i, x in enumerate(words) if x.startswith("M6")]
    assert len(changes) == 5
    for i in changes:
        n = words[i].split("T")[1]
        assert words[i + 1] == program.SAFE_STATE and words[i + 2] == "G54"
        assert re.fullmatch(r"S\d+ M3", words[i + 3])
        assert words[i + 4].startswith("G0 X") and words[i + 5].startswith(f"G43 H{n} Z25")
        assert words[i + 6] == "M8"
    assert words.count("M9") == words.count("M5") == 5
    assert words.count("M1") == 4
    assert words[-1] == "M30"
    assert words.count("G53 G0 Z0.000") == 6, "before each change and at the end"


def test_same_inputs_same_bytes() -> None:
    jaws, shop = CASES["tight reliefs, big cutter"]
    assert program.write(jaws, shop, pockets.job()) == program.write(jaws, shop, pockets.job())


@pytest.mark.parametrize("name", ["sample", "tight reliefs", "bumps", "wells"])
def test_inch_and_mm_describe_one_path(name: str) -> None:
    """The same moves in both units, apart by rounding only: 0.0005 mm and 0.00005 in per axis."""
    mm, inch = replay(text_of(name, units="mm", decimals=3)), replay(text_of(name, units="inch", decimals=4))
    a = np.vstack([m.points(0.05) for m in mm if m.code])
    b = np.vstack([m.points(0.05) for m in inch if m.code])
    from scipy.spatial import cKDTree  # noqa: PLC0415

    for p, q in ((a, b), (b, a)):
        far, _ = cKDTree(p).query(q)
        assert far.max() < 0.035  # sampling 0.05 apart, rounding below 0.002
    total = [sum(m.length for m in moves if m.code) for moves in (mm, inch)]
    assert total[0] == pytest.approx(total[1], rel=1e-4)
    assert [m.code for m in mm if m.code == 0] == [m.code for m in inch if m.code == 0]


def test_turned_program_is_the_same_path_turned() -> None:
    """With the fixed jaw at the front the program's X and Y run the other way and the pocket is the same."""
    jaws, shop = CASES["slanted"]
    vise = replace(shop.vises[0], fixed_jaw_rear=False)
    a = program.write(jaws, shop, pockets.job())
    b = program.write(jaws, replace(shop, vises=(shop.vises[0], vise)), pockets.job())
    assert a.text == b.text  # the first vise is used
    vise = replace(vise, id="V2")
    c = program.write(jaws, replace(shop, vises=(shop.vises[0], vise)), pockets.job(hold=HoldAsk(vise="V2")))
    assert c.turned and not a.turned
    mine = [m for m in replay(a.text) if m.remark.startswith("FINISH") and m.code]
    other = [m for m in replay(c.text) if m.remark.startswith("FINISH") and m.code]
    assert len(mine) == len(other)
    for m, n in zip(mine, other, strict=True):
        assert m.code == n.code
        x = (m.b[0] + a.origin[0], m.b[1] + a.origin[1], m.b[2])
        y = (c.origin[0] - n.b[0], c.origin[1] - n.b[1], n.b[2])
        assert x == pytest.approx(y, abs=1.1e-3)
    assert all(m.b[0] > 0 for m in other)  # zero is at the operator's left


def test_minutes_are_the_sum_of_moves_and_changes() -> None:
    jaws, shop = CASES["sample"]
    p = program.write(jaws, shop, pockets.job())
    total = 0.0
    for m in replay(p.text):
        total += m.length / (m.feed if m.code else shop.machine.rapid)
    total += len(p.cutters) * shop.machine.tool_change / 60
    assert p.minutes == pytest.approx(total, rel=0.01)
    assert p.minutes < 8


def test_speeds_stay_within_the_machine() -> None:
    jaws, shop = CASES["sample"]
    slow = replace(shop, machine=replace(shop.machine, spindle_max=4000.0, feed_max=900.0))
    p = program.write(jaws, slow, pockets.job())
    assert max(float(x) for x in re.findall(r"S(\d+)", p.text)) <= 4000
    assert max(m.feed for m in replay(p.text)) <= 900


def test_own_start_and_end_lines() -> None:
    lines = [
        re.sub(r"^N\d+ ", "", x)
        for x in text_of("sample", start_lines=("G64",), end_lines=("M19",)).splitlines()
    ]
    assert lines[:2] == ["G21", "G64"] and lines[-2:] == ["M19", "M30"]
    for bad in ("é", "x" * 90, "(open", "shut)", "G64 ; why", "%", "m 02", "M30", "G0 g20"):
        with pytest.raises(JawrightError, match="value-bad"):
            text_of("sample", start_lines=(bad,))
    check_format(replace(samples.shop().nc, end_lines=("M300", "G205 (M30, G20: not meant)")))
    for nc in ({"decimals": 2}, {"units": "inch", "decimals": 3}, {"work_offset": "G10"}):
        with pytest.raises(JawrightError, match="value-bad"):
            text_of("sample", **nc)


def without(*ids: str) -> pockets.Shop:
    s = samples.shop()
    return replace(s, cutters=tuple(c for c in s.cutters if c.id not in ids))


def test_missing_cutters_are_named() -> None:
    jaws = pockets.sample()
    with pytest.raises(JawrightError, match=r"EM10.*lacks.*shop-no-cutter"):
        program.write(jaws, without("EM10"), pockets.job())
    round_ = replace(jaws, cutter="EM10R1")
    with pytest.raises(JawrightError, match=r"corner radius of 1 mm.*sharp-cornered.*shop-no-cutter"):
        program.write(round_, samples.shop(), pockets.job())
    small = replace(
        jaws, wells=(replace(jaws.wells[0], region=pockets.Region(pockets.circle((13.0, -8.0), 2.0))),)
    )
    with pytest.raises(JawrightError, match=r"clearance under pivot bore.*shop-no-cutter"):
        program.write(small, samples.shop(), pockets.job())
    with pytest.raises(JawrightError, match=r"no drill.*shop-no-cutter"):
        program.write(jaws, without("D5.8"), pockets.job())
    with pytest.raises(JawrightError, match=r"boring bar.*shop-no-cutter"):
        program.write(jaws, without("BB6"), pockets.job())
    high = replace(jaws, stack=replace(jaws.stack, high=36.0))
    with pytest.raises(JawrightError, match=r"spacers.*clearance under pivot bore.*shop-no-spacer"):
        program.write(high, samples.shop(), pockets.job())


def test_what_the_shop_lacks_is_left_to_the_hand() -> None:
    p = program.write(pockets.sample(), without("SD6", "EN3"), pockets.job())
    flat = " ".join(p.text.split())
    assert "BREAK THE POCKET'S UPPER EDGE BY HAND" in flat.replace(") (", " ").replace(")(", " ")
    assert "STAMP BY HAND" in flat.replace(") (", " ")
    assert [c.cutter for c in p.cutters] == ["EM10", "D5.8", "BB6"]


def test_hole_circled_without_a_boring_bar() -> None:
    """An end mill of 4 mm circles the 6 mm hole to size: path radius 1."""
    s = without("BB6")
    s = replace(s, cutters=(*s.cutters, pockets.mill("EM4", 21, 4.0, reach=18.0, flute_length=13.0)))
    p = program.write(pockets.sample(), s, pockets.job())
    assert p.cutters[-2].cutter == "EM4" and "no boring bar" in p.cutters[-2].reason
    arcs = [m for m in replay(p.text) if m.tool == 21 and m.code >= 2]
    assert min(m.b[2] for m in arcs) == -12.0
    for m in arcs:
        assert math.dist(m.a[:2], m.center) == pytest.approx(1.0, abs=1e-3)
        assert m.center == pytest.approx((120.0, 14.0), abs=1e-3)


def test_edge_break_meets_wall_and_top_where_it_should() -> None:
    """A 90 degree point: its radius at the top less its distance from the wall is the chamfer."""
    jaws, shop = CASES["sample"]
    p = program.write(jaws, shop, pockets.job())
    path = [m for m in replay(p.text) if m.remark.startswith("BREAK") and m.code and m.a[2] == m.b[2] < 0]
    z = path[0].a[2]
    inside = [m for m in path if m.code == 1 and abs(m.a[1] - m.b[1]) < 1e-9 and abs(m.a[0] - m.b[0]) > 20]
    ys = {round(m.a[1] + p.origin[1], 4) for m in inside}
    away = {round(6.0 - max(ys), 4), round(min(ys) + 20.0, 4)}
    assert len(away) == 1
    w = away.pop()
    assert -z - w == pytest.approx(0.3, abs=2e-3)


@settings(max_examples=300, deadline=None)
@given(
    st.floats(-200, 200),
    st.floats(-200, 200),
    st.floats(0.02, 400),
    st.floats(-math.pi, math.pi),
    st.floats(0.01, 3.0),
    st.sampled_from([(1.0, 3, 0.0015), (1 / 25.4, 4, 0.00015)]),
)
def test_centers_round_well(
    x: float, y: float, r: float, a: float, s: float, unit: tuple[float, int, float]
) -> None:
    """Any arc: rounded ends and center miss the standard's limit by a margin, and the center hardly moves."""
    k, d, limit = unit
    c = (x * k, y * k)
    p = (round(c[0] + r * k * math.cos(a), d), round(c[1] + r * k * math.sin(a), d))
    q = (round(c[0] + r * k * math.cos(a + s), d), round(c[1] + r * k * math.sin(a + s), d))
    if p == q:
        return
    i, j = round_center(p, q, c, d)
    m = (round(p[0] + i, d + 2), round(p[1] + j, d + 2))
    assert abs(math.dist(p, m) - math.dist(q, m)) <= limit
    assert math.dist(m, c) <= 3.5 * 10**-d


def test_positions_do_not_drift() -> None:
    """A thousand steps of a third of a grid step end where they should."""
    nc = samples.shop().nc
    text = Text(nc, Axes((0.0, 0.0, 0.0), False))
    text.first(Step("rapid", (0.0, 0.0, 5.0)), 1)
    at = (0.0, 0.0, 5.0)
    for k in range(1, 1001):
        step = Step("line", (k / 3000.0, 0.0, 5.0), 100.0)
        text.write(at, step)
        at = step.end
    assert text.at is not None and text.at[0] == 0.333


def test_text_is_engraved_or_said() -> None:
    """Every letter stays on its jaw; a letter without strokes, a text without room, is left to the hand."""
    jaws, shop = CASES["sample"]
    p = program.write(replace(jaws, text=("A*1", "B 2")), shop, pockets.job())
    flat = " ".join(p.text.replace(")\n(", " ").split())
    assert '"*" OF "A*1" CANNOT BE ENGRAVED: ADD IT BY HAND' in flat
    cut = [m for m in replay(p.text) if m.tool == 8 and m.code and m.b[2] < 0]
    assert {round(m.b[2], 3) for m in cut} == {-0.15}
    for m in cut:
        x, y = m.b[0] + p.origin[0], m.b[1]
        assert -70.0 <= x <= -55.0 and (17.0 <= y <= 21.0 or -27.0 <= y <= -23.0), m.line
    long = program.write(replace(jaws, text=("W" * 80, "")), shop, pockets.job())
    assert "STAMP IT BY HAND" in " ".join(long.text.replace(")\n(", " ").split())
