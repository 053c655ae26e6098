"""The word-address language against its public-domain standard.

Source: T. Kramer, F. Proctor, E. Messina, "The NIST RS274NGC Interpreter - Version 3",
NISTIR 6556, 17 August 2000 (read). Section, table or program line stands beside each check.
"""

import math
import re
from pathlib import Path

import pytest

from jawright.verify.reader import Reading, read
from jawright.verify.state import Move
from jawright.verify.words import GROUP_OF, STANDARD
from verify.program import good
from verify.test_check import run as checked

PROGRAMS = Path(__file__).parent.parent / "nc"
START = "G21 G17 G40 G49 G80 G90 G94 G54 S1000 M3 F100\n"
ZERO = (0.0, 0.0, 0.0)


def run(text: str, **how) -> Reading:
    how.setdefault("start", ZERO)
    return read(START + text + "\nM2\n", **how)


def refused(reading: Reading) -> list[str]:
    return [f.what for f in reading.findings if f.level == "refused"]


def only_arc(reading: Reading) -> Move:
    assert refused(reading) == []
    (move,) = [m for m in reading.moves if m.arc is not None]
    return move


# -- 3.5.3 arcs ---------------------------------------------------------------------------------


@pytest.mark.parametrize(("units", "step"), [("G21", 0.002), ("G20", 0.0002)])
@pytest.mark.parametrize(("share", "fine"), [(0.95, True), (1.05, False)])
def test_center_format_radii_may_differ_by_the_stated_amount(units, step, share, fine):
    """3.5.3.2: an error beyond 0.002 mm or 0.0002 inch; 0.0019 passes, 0.0021 does not."""
    r = run(f"{units} G1 X0 Y0\nG2 X{10 + step * share:.6f} Y0 I5 J0 F10")
    assert (refused(r) == []) is fine


def test_i_and_j_are_offsets_from_the_start():
    """3.5.3.2: from (7, 7), G17 G2 X10 Y16 I3 J4 Z9: center (10, 11), radius 5."""
    m = only_arc(run("G1 X7 Y7 Z9\nG17 G2 x 10 y 16 i 3 j 4 z 9"))
    assert m.arc.center == (10.0, 11.0)
    assert m.arc.radius == pytest.approx(5.0, abs=1e-12)
    assert math.degrees(m.arc.sweep) == pytest.approx(-143.130102, abs=1e-5)
    assert m.length == pytest.approx(12.490458, abs=1e-5)


def test_radius_format():
    """3.5.3.1 and sample C.1 line n0490: from (64, 4) to (69, 4) with R4."""
    m = only_arc(run("G1 X64 Y4\nG2 X69 R4"))
    assert m.arc.center == pytest.approx((66.5, 0.8775010), abs=1e-6)
    assert math.degrees(m.arc.sweep) == pytest.approx(-77.3643749, abs=1e-6)
    assert m.length == pytest.approx(5.4010523, abs=1e-6)
    negative = only_arc(run("G1 X64 Y4\nG2 X69 R-4"))
    assert math.degrees(negative.arc.sweep) == pytest.approx(-(360 - 77.3643749), abs=1e-6)
    assert only_arc(run("G1 X0 Y0\nG3 X8 Y0 R4")).arc.sweep == pytest.approx(math.pi, abs=1e-9)


def test_full_circle():
    """3.5.3: start equal to end is a full turn in center format, an error in radius format."""
    m = only_arc(run("G1 X32.5\nG2 X32.5 J2.5"))
    assert m.arc.sweep == pytest.approx(-2 * math.pi, abs=1e-12)
    assert m.length == pytest.approx(5 * math.pi, abs=1e-9)
    assert refused(run("G1 X10 Y0\nG2 X10 R4"))


@pytest.mark.parametrize(
    ("line", "why"),
    [
        ("G2 I3 J4", "no axis word"),  # both axis words of the plane omitted
        ("G2 X10 Y16", "needs R, I or J"),  # both offsets omitted
        ("G18 G2 X1 Z1", "needs R, K or I"),
        ("G2 X30 R4", "too far"),  # chord longer than the diameter
    ],
)
def test_arc_errors(line, why):
    """3.5.3.1, 3.5.3.2: lists of errors."""
    assert any(why in w for w in refused(run("G1 X7 Y7\n" + line)))


@pytest.mark.parametrize(
    ("plane", "words", "end"),
    [
        ("G17", "G3 X0 Y1 I-1 J0", (0, 1, 0)),
        ("G18", "G3 X1 Z0 K-1 I0", (1, 0, 0)),
        ("G19", "G3 Z1 Y0 J-1 K0", (0, 0, 1)),
    ],
)
def test_planes(plane, words, end):
    """3.5.6: counter-clockwise is seen from the positive end of the axis square to the plane."""
    start = {"G17": "X1 Y0", "G18": "Z1 X0", "G19": "Y1 Z0"}[plane]
    m = only_arc(run(f"G1 {start}\n{plane} {words}"))
    assert m.end == pytest.approx(end)
    assert m.arc.sweep == pytest.approx(math.pi / 2)


# -- appendix C: sample programs ----------------------------------------------------------------


def test_sample_c1_reads_with_the_lengths_of_a_hand_calculation():
    """C.1 "Hello world": lengths by hand from the printed coordinates."""
    r = read((PROGRAMS / "nistir6556-c1.ngc").read_text(encoding="ascii"))
    assert refused(r) == []
    assert r.ended
    arcs = [m.length for m in r.moves if m.arc is not None]
    c = math.pi * 2.5
    assert arcs == pytest.approx([1.5 * c, 2 * c, 2 * c, 5.4010523, c], abs=1e-6)
    down = 12 * 2.5  # twelve plunges from z 2 to z -0.5
    plain = [m for m in r.moves if m.kind == "feed" and m.arc is None and m.start[2] == m.end[2]]
    w = math.hypot(2, 5) + math.hypot(1.5, 3) + math.hypot(1.5, 3) + math.hypot(2, 5)
    straight = (10 + 7 + 10) + (5 + 2.5) + 9 + 9 + w + (5 + 1) + 9 + (9 + 1.5 + 1.5)
    assert math.fsum(m.length for m in plain) == pytest.approx(straight, abs=1e-9)
    total = math.fsum(m.length for m in r.moves if m.kind == "feed")
    assert total == pytest.approx(straight + math.fsum(arcs) + down, abs=1e-9)


def test_sample_c2_expressions():
    """C.2: every value its comments state, to the digits printed."""
    text = (PROGRAMS / "nistir6556-c2.ngc").read_text(encoding="ascii")
    r = read(text, start=ZERO)
    assert refused(r) == []
    at = {m.line: m.end[0] for m in r.moves}
    said = 0
    for n, line in enumerate(text.splitlines(), 1):
        found = re.search(r"x should be (-?\d+(?:\.\d+)?)", line)
        if found:
            said += 1
            # rounded arguments: exp[2.3026] is 10.00015, atan[1.7321]/[1.0] is 60.0007
            rounded = "exp[2.3026]" in line or "[1.7321]" in line
            assert at[n] == pytest.approx(float(found[1]), abs=1e-3 if rounded else 1e-4), line
    assert said == 44
    assert at[17] == pytest.approx(6.2, abs=1e-12)
    assert at[46] == pytest.approx(2.000545, abs=1e-6)  # by hand: 2 + asin(0.131190)/(atan2(34.430, -18))²
    assert r.parameters[1] == 2.0
    assert r.parameters[2] == 0.375
    assert r.parameters[3] == 1.1


def test_sample_c3_canned_cycles():
    """C.3: parses; only G84, G87, G88 (and the lines that lean on a refused one) are refused, by name."""
    text = (PROGRAMS / "nistir6556-c3.ngc").read_text(encoding="ascii")
    r = read(text, start=(0.0, 0.0, 25.4))
    bad = {f.line for f in r.findings if f.level == "refused"}
    lines = text.splitlines()
    named = {n for n, line in enumerate(lines, 1) if re.search(r"g84|g87|g88", line)} - {5, 8}
    named = {n for n in named if re.match(r"n\d+ (g91 )?g8[478]", lines[n - 1])}
    leaning = {
        n for n, line in enumerate(lines, 1) if re.match(r"n0[135]35", line)
    }  # the line after each G87
    assert len(named) == 11
    assert bad == named | leaning
    holes = [m.end for m in r.moves if m.line == 4 and m.kind == "feed"]
    inch = 25.4
    assert [p[0] / inch for p in holes] == pytest.approx([4.0, 5.0, 6.0])  # three more, an inch apart
    assert [p[1] / inch for p in holes] == pytest.approx([4.0, 4.0, 4.0])
    assert r.ended


def test_cycle_examples_of_the_text():
    """3.5.16.2: both worked examples of G81, move by move."""
    r = run("G1 X1 Y2 Z3\nG90 G81 G98 X4 Y5 Z1.5 R2.8")
    assert [(m.kind, m.end) for m in r.moves[1:]] == [
        ("rapid", (4, 5, 3)),
        ("rapid", (4, 5, 2.8)),
        ("feed", (4, 5, 1.5)),
        ("rapid", (4, 5, 3)),
    ]
    r = run("G1 X1 Y2 Z3\nG91 G81 G98 X4 Y5 Z-0.6 R1.8 L3")
    ends = [m.end for m in r.moves[1:]]
    assert [m.kind for m in r.moves[1:]] == ["rapid"] + 3 * ["rapid", "feed", "rapid"]
    expected = [(1, 2, 4.8)]
    for x, y in ((5, 7), (9, 12), (13, 17)):
        expected += [(x, y, 4.8), (x, y, 4.2), (x, y, 4.8)]
    assert [v for p in ends for v in p] == pytest.approx([v for p in expected for v in p])


def test_keyboard_session_of_table_10():
    """Table 10: the helical arc and the repeated incremental cycle the session prints."""
    r = run("g1 x3 y1 f20.0\ng2 x[6-[4*3/2]] r 7.01 z0.5")
    arc = only_arc(r)
    assert arc.arc.center == pytest.approx((1.5, 7.8476), abs=5e-5)
    assert arc.arc.sweep < 0
    assert arc.end == pytest.approx((0.0, 1.0, 0.5))
    r = run("g1 x30 y1 z-0.5\ng91 g81 x3 y2 z-0.8 r1.5 l2")
    ends = [m.end for m in r.moves[1:]]
    printed = [(30, 1, 1), (33, 3, 1), (33, 3, 0.2), (33, 3, 1), (36, 5, 1), (36, 5, 0.2), (36, 5, 1)]
    assert [v for p in ends for v in p] == pytest.approx([v for p in printed for v in p])
    assert refused(run("g1 x asim[0.5]"))


def test_peck_drilling():
    """3.5.16.4: down by Q, out to the clear level, back to just above the bottom, until Z is reached."""
    r = run("G1 X0 Y0 Z5\nG83 G99 X1 Y1 Z-5 R1 Q2.5")
    downs = [m.end[2] for m in r.moves[1:] if m.kind == "feed"]
    assert downs == pytest.approx([-1.5, -4.0, -5.0])
    assert refused(run("G1 Z5\nG83 X1 Y1 Z-5 R1 Q0"))
    assert refused(run("G1 Z5\nG83 X1 Y1 Z-5 R1 Q-1"))


@pytest.mark.parametrize(
    "line",
    [
        "G81 Z-1 R1 X1 L0",  # L not a positive integer
        "G81 Z-1 R1 X1 L1.5",
        "G81 X1 R1",  # Z missing, cycle not active
        "G81 X1 Z2 R1",  # R below Z
        "G82 X1 Z-1 R1 P-1",
        "G93 G81 X1 Z-1 R1",  # inverse time
        "G81 R1",  # X, Y and Z all missing
    ],
)
def test_cycle_errors(line):
    """3.5.16: list of errors."""
    assert refused(run("G1 X0 Y0 Z5\n" + line))


# -- appendix B: cutter radius compensation -----------------------------------------------------

TABLE_12 = """G1 X0 Y6
N0010 G1 X1 Y5 (make first pre-entry move to C)
N0020 G41 D1 G1 Y4 (turn compensation on and make second pre-entry move to point B)
N0030 G3 X2 Y3 I1 (make entry move to point A)
N0040 G2 X3 Y2 J-1 (cut along arc at top)
N0050 G1 Y-1 (cut along right side)
N0060 G2 X2 Y-2 I-1 (cut along arc at bottom right)
N0070 G1 X-2 (cut along bottom side)
N0080 G2 X-2.6 Y-0.2 J1 (cut along arc at bottom left)
N0090 G1 X1.4 Y2.8 (cut along third side)
N0100 G2 X2 Y3 I0.6 J-0.8 (cut along arc at top of tool path)
N0110 G40 (turn compensation off)"""
TABLE_13 = """G1 X0 Y6
N0010 G1 X1.5 Y5 (make first pre-entry move to C)
N0020 G41 D1 G1 Y4 (turn compensation on and make second pre-entry move to point B)
N0030 G3 X2 Y3.5 I0.5 (make entry move to point A)
N0040 G2 X3.5 Y2 J-1.5 (cut along arc at top)
N0050 G1 Y-1 (cut along right side)
N0060 G2 X2 Y-2.5 I-1.5 (cut along arc at bottom right)
N0070 G1 X-2 (cut along bottom side)
N0080 G2 X-2.9 Y0.2 J1.5 (cut along arc at bottom left)
N0090 G1 X1.1 Y3.2 (cut along third side)
N0100 G2 X2 Y3.5 I0.9 J-1.2 (cut along arc at top of tool path)
N0110 G40 (turn compensation off)"""
FIRST_CONTOUR_LINE = 6  # N0040, counting START and the two lines before


def contour(reading: Reading) -> list[Move]:
    assert refused(reading) == []
    return [m for m in reading.moves if m.line >= FIRST_CONTOUR_LINE]


def area(moves: list[Move]) -> float:
    """Enclosed area by Green's theorem, clockwise positive, written out for lines and arcs."""
    total = 0.0
    for m in moves:
        total -= 0.5 * (m.start[0] * m.end[1] - m.end[0] * m.start[1])
        if m.arc:
            total -= 0.5 * m.arc.radius**2 * (m.arc.sweep - math.sin(m.arc.sweep))
    return total


def without(text: str) -> str:
    return text.replace("G41 D1 ", "")


def test_table_12_contour():
    """Table 12 as a contour: closed, area 18 + pi, perimeter 12 + 2 pi, radii exactly 1 (values computed)."""
    moves = contour(run(without(TABLE_12)))
    assert moves[0].start[:2] == pytest.approx(moves[-1].end[:2], abs=1e-12)
    assert area(moves) == pytest.approx(18 + math.pi, abs=1e-9)
    assert math.fsum(m.length for m in moves) == pytest.approx(12 + 2 * math.pi, abs=1e-9)
    assert [m.arc.radius for m in moves if m.arc] == pytest.approx([1.0] * 4, abs=1e-9)


def test_table_12_compensated_is_the_contour_of_table_13():
    """G41 with a tool of diameter 1 on table 12 runs the contour of table 13 (B.3, B.4)."""
    ours = contour(run(TABLE_12, diameters={1: 1.0}))
    nominal = contour(run(without(TABLE_13)))
    assert len(ours) == len(nominal) == 7
    for a, b in zip(ours, nominal, strict=True):
        assert a.end == pytest.approx(b.end, abs=1e-9)
        assert a.length == pytest.approx(b.length, abs=1e-9)
    assert area(ours) == pytest.approx(24 + 9 * math.pi / 4, abs=1e-9)
    assert math.fsum(m.length for m in ours) == pytest.approx(12 + 3 * math.pi, abs=1e-9)


def test_first_move_into_compensation():
    """B.6, figure 7: current, destination and programmed point form a right triangle at the destination."""
    r = run(TABLE_12, diameters={1: 1.0})
    (m,) = [m for m in r.moves if m.line == 4]
    assert m.start[:2] == (1.0, 5.0)
    assert math.dist(m.end[:2], (1.0, 4.0)) == pytest.approx(0.5, abs=1e-12)
    u = (m.end[0] - 1.0, m.end[1] - 5.0)
    v = (m.end[0] - 1.0, m.end[1] - 4.0)
    assert u[0] * v[0] + u[1] * v[1] == pytest.approx(0.0, abs=1e-12)
    assert v[0] > 0  # left of a tool that travels in -Y


def test_nominal_path_with_an_undersized_tool():
    """B.4: path made for diameter 1.0, actual 0.97: table value -0.03; the tool comes 0.015 nearer."""
    moves = contour(run(TABLE_13, diameters={1: -0.03}))
    assert [m.arc.radius for m in moves if m.arc and m.arc.radius > 0.1] == pytest.approx(
        [1.485] * 4, abs=1e-9
    )
    top = max(m.end[1] for m in moves)
    assert top == pytest.approx(3.485, abs=1e-9)


def test_compensation_on_the_right_mirrors_the_left():
    """3.5.10: G42 keeps the tool right: the mirror image of table 12 gives the mirror image of its path."""
    mirrored = re.sub(r"X(-?[\d.]+)", lambda m: f"X{-float(m[1])}", TABLE_12)
    mirrored = re.sub(r"I(-?[\d.]+)", lambda m: f"I{-float(m[1])}", mirrored)
    mirrored = (
        mirrored.replace("G41", "G42").replace("G2 ", "G# ").replace("G3 ", "G2 ").replace("G# ", "G3 ")
    )
    left, right = contour(run(TABLE_12, diameters={1: 1.0})), contour(run(mirrored, diameters={1: 1.0}))
    assert len(left) == len(right) == 7
    for a, b in zip(left, right, strict=True):
        assert (-b.end[0], b.end[1]) == pytest.approx(a.end[:2])


@pytest.mark.parametrize(
    ("lines", "why"),
    [
        # 10: figure 6 left, a corner that turns toward the tool
        ("G1 X0 Y-5\nG41 D1 X0 Y0\nX10\nY10", "concave corner"),
        # 16: figure 6 right, an arc too tight for the tool
        ("G1 X-10 Y0\nG41 D1 X0 Y0\nG3 X4 Y0 I2 J0", "not less than the arc's radius"),
        # 5: on while on
        ("G1 X0 Y0\nG41 D1 X10\nG42 D1 X20", "is on already"),
        ("G1 X0 Y0\nG41 D1 X10\nG41 D1 X20", "is on already"),
        # 11: destination inside the tool where compensation starts
        ("G1 X0 Y0\nG41 D1 X1 Y0", "gouging"),
        # 1, 2, 7, 8, 9, 4, 12, 14, 15
        ("G1 X0 Y0\nG41 D1 X10\nG92 X0", "G92 under"),
        ("G1 X0 Y0\nG41 D1 X10\nG20", "units under"),
        ("G1 X0 Y0\nG41 D1 X10\nG53 G0 Z0", "G53 under"),
        ("G1 X0 Y0\nG41 D1 X10\nG18", "G18 under"),
        ("G1 X0 Y0\nG41 D1 X10\nG19", "G19 under"),
        ("G18\nG1 G41 D1 X10", "outside the XY plane"),
        ("G1 X0 D1", "D word with no G41"),
        ("G1 G41 D-1 X10", "D number is negative"),
        ("G1 G41 D99 X10", "no cutter has the number"),
        ("G41 G42 D1 X10", "one modal group"),
        ("G1 X0 Y0\nG41 D1 X10\nG55", "G55 under"),
    ],
)
def test_compensation_errors_are_never_silent(lines, why):
    """B.5: list of errors, 17 of them; other controls "allow these errors silently"."""
    found = refused(run(lines, diameters={1: 6.0}))
    assert any(why in w for w in found), found


def test_compensation_off_makes_no_exit_move():
    """B.6: after G40 the next move starts where the tool is."""
    r = run("G1 X0 Y0\nG41 D1 X10 Y0\nX20\nG40 X30 Y0", diameters={1: 2.0})
    assert r.moves[-2].end == pytest.approx((20.0, 1.0, 0.0))
    assert r.moves[-1].start == r.moves[-2].end
    assert r.moves[-1].end == (30.0, 0.0, 0.0)


def test_convex_corner_gets_an_arc():
    """B.1, B.6: the tool walks round a convex corner in an arc of its own radius."""
    r = run("G1 X0 Y0\nG41 D1 X10 Y0\nX20\nY-10", diameters={1: 2.0})
    (corner,) = [m for m in r.moves if m.arc is not None and m.line == 5]
    assert corner.arc.center == (20.0, 0.0)
    assert corner.arc.radius == pytest.approx(1.0)
    assert corner.arc.sweep == pytest.approx(-math.pi / 2)


# -- 3.4 modal groups, 3.8 order ----------------------------------------------------------------


def test_table_4_is_complete():
    """Table 4: codes in force in each group; every code of tables 5 and 7 belongs to one."""
    assert sum(len(c) for c in STANDARD["g_groups"].values()) == 15 + 3 + 2 + 2 + 2 + 3 + 2 + 2 + 9 + 3 + 9
    assert sum(len(c) for c in STANDARD["m_groups"].values()) == 14
    assert len(GROUP_OF) == 66


@pytest.mark.parametrize("table", ["g_groups", "m_groups"])
def test_two_words_of_one_group_are_an_error(table):
    """3.3.5 and table 4: every pair of one group, on one line."""
    tried = 0
    for group, codes in STANDARD[table].items():
        for k, a in enumerate(codes):
            for b in codes[k + 1 :]:
                tried += 1
                found = refused(run(f"{a} {b}"))
                assert any(f"of one modal group ({group})" in w for w in found), (a, b)
    assert tried == {"g_groups": 191, "m_groups": 17}[table]


def test_order_of_execution():
    """Table 8: a line with everything runs in the table's order, whatever the order of its words."""
    order = [
        "comment",
        "feed mode",
        "feed rate",
        "spindle speed",
        "select tool",
        "tool change",
        "spindle",
        "coolant",
        "dwell",
        "plane",
        "units",
        "radius compensation",
        "length offset",
        "coordinate system",
        "path mode",
        "distance",
        "return mode",
        "motion",
        "stop",
    ]
    words = "M0 X1 G1 G98 G90 G61 G54 H1 G43 G40 G21 G17 P1 G4 M8 M3 M6 T1 S500 F90 G94 (all at once)"
    for line in (words, " ".join(reversed(words.replace(" (all at once)", "").split())) + "(x)"):
        r = run(line)
        assert refused(r) == []
        assert [what for n, what in r.events if n == 2] == order
    r = run("G4 P1 M48 M8")
    assert [what for n, what in r.events if n == 2] == ["coolant", "overrides", "dwell"]
    r = run("G1 X5\nG92 X0 M0 G90")
    assert [what for n, what in r.events if n == 3] == ["distance", "axis offsets", "stop"]


def test_order_matters_to_the_move():
    """Table 8: M6 stops the spindle before M3; units and distance mode hold for the line's own motion."""
    r = run("X1 G1 M3 S700 M6 T3 G91 G20")
    (m,) = r.moves
    assert m.spindle == 700
    assert m.tool == 3
    assert m.end[0] == pytest.approx(25.4)


def test_axis_words_for_two_masters():
    """3.4: a group 0 code with axis words suspends a motion in force and excludes one on its own line."""
    r = run("G1 X4\nG92 X7\nX7")
    assert refused(r) == []
    assert r.moves[-1].length == pytest.approx(0.0)
    assert refused(run("G1 X4\nG1 G92 X7"))


def test_axis_offsets():
    """3.5.18: the example G92 x7 at X 4: offset -3, parameter 5211; then x9: -5."""
    r = run("G1 X4\nG92 x7")
    assert r.parameters[5211] == pytest.approx(-3)
    r = run("G1 X4\nG92 x7\nG92 x9")
    assert r.parameters[5211] == pytest.approx(-5)
    r = run("G1 X4\nG92 x7\nG92.2\nG1 X4")
    assert r.moves[-1].length == pytest.approx(0.0)


def test_inverse_time():
    """3.5.19: F2.0 means half a minute; an F word on every line."""
    r = run("G93 G1 X10 F2.0")
    assert r.moves[-1].length / r.moves[-1].feed == pytest.approx(0.5)
    assert refused(run("G93 G1 X10 F2.0\nX20"))


def test_program_end_resets():
    """3.6.1: what M2 sets back."""
    s = run("G1 X4\nG18 G91 G93 G55 M8\nG92 X7").final
    assert (s.plane, s.distance, s.feed_mode, s.system, s.compensation) == ("G17", "G90", "G94", "G54", "G40")
    assert (s.turning, s.motion, s.coolant, s.axis_offset) == (0, "G1", frozenset(), (0.0, 0.0, 0.0))


# -- 3.3 format of a line -----------------------------------------------------------------------


def test_spaces_and_case_do_not_matter():
    """3.3: "g0x +0. 12 34y 7" is "g0 x+0.1234 y7"."""
    assert run("g0x +0. 12 34y 7").moves[-1].end == (0.1234, 7.0, 0.0)


@pytest.mark.parametrize(
    ("line", "column"),
    [
        ("N000009 G0 X1", 2),  # 3.3.1: five digits at most
        ("G0 N1 X1", 4),  # 3.3: the line number comes first
        ("G0 X", 5),  # a value is missing
        ("G0 X1.2.3", 8),  # 3.3.2.1: one decimal point
        ("G0 X1 X2", 7),  # 3.3.5: one word of a letter
        ("G0 X[1", 7),  # unbalanced bracket
        ("G0 X[1/0]", 7),
        ("G0 Xsqrt[-1]", 5),
        ("G0 X#5400", 6),  # 3.3.2.2: 1 to 5399
        ("G0 X#1.5", 6),
        ("G0 X1 (open", 7),  # 3.3.4
        ("G0 X1 (a (b) c)", 10),
        ("G0 X1 ; no", 7),
        ("E5 G0 X1", 1),  # table 3
        ("U5", 1),
        ("G5 X1", 1),
        ("G0 M98 X1", 4),
        ("G1.5", 1),
        ("G10 L2 P1 X0", 1),
        ("G38.2 Z-1", 1),
        ("G0 A90", 4),
        ("G80 X1", 5),  # 3.5.15
        ("T-1", 1),
        ("S-5", 1),
        ("G4 P-1", 4),
        ("G4", 1),
        ("G1 G43 X1", 4),
        ("H1", 1),
        ("G43 H1.5", 5),
        ("Q1", 1),
        ("M6", 1),
        ("M60", 1),
        ("G0 X1 P5", 7),
        ("G0 X1 é", 7),
    ],
)
def test_what_is_not_allowed_is_refused_by_line_and_column(line, column):
    """3.3 to 3.7: any input not explicitly allowed is illegal."""
    r = run(line)
    (f,) = [f for f in r.findings if f.level == "refused"]
    assert (f.line, f.column) == (2, column)


def test_long_line():
    """3.3: 256 characters at most."""
    assert refused(run("G0 X1 (" + "a" * 248 + ")")) == []
    assert refused(run("G0 X1 (" + "a" * 249 + ")"))


def test_block_delete():
    """3.3: a slash at the start of a line; what happens depends on the switch."""
    assert len(run("/G0 X1\nG0 X2").moves) == 2
    assert len(run("/G0 X1\nG0 X2", block_delete=True).moves) == 1


def test_percent_marks():
    """A.1: a second percent sign ends the program, one alone does not."""
    assert read("%\nG21\n%\nG0 X1\n").ended
    assert refused(read("G21\n%\n"))


def test_parameters_take_effect_after_the_line():
    """3.3.3: "#3=6 G1 x#3" with #3 = 15 moves to 15."""
    r = run("#3=15\n#3=6 G1 x#3")
    assert r.moves[-1].end[0] == 15
    assert r.parameters[3] == 6
    assert run("#3=15 #3=6").parameters[3] == 6


def test_tool_change():
    """3.6.3: the spindle stops; the last T word counts."""
    r = run("T1\nT2 M6\nG0 X1")
    assert r.moves[-1].tool == 2
    assert r.moves[-1].spindle == 0


HOME = "G21 G17 G40 G49 G80 G90 G94 G54\nG0 X10 Y20 Z50\n"


@pytest.mark.parametrize("code", ["G28", "G30"])
def test_home_by_way_of_a_point(code):
    """3.5.8: without axis words straight home; with them by way of that point, absolute or in steps."""

    def moves(line):
        r = read(HOME + line + "\nM2\n", start=(0.0, 0.0, 0.0))
        assert refused(r) == []
        assert any("differs between controls" in f.what for f in r.findings)
        return [m.end for m in r.moves[1:]], r.final.position

    gone = (None, None, None)
    assert moves(code) == ([gone], gone)
    assert moves(f"G91 {code} Z0") == ([gone], gone)
    assert moves(f"G91 {code} X0 Y0 Z5") == ([(10.0, 20.0, 55.0), gone], gone)
    assert moves(f"{code} Z60") == ([(10.0, 20.0, 60.0), gone], gone)
    assert moves(f"G20 G91 {code} Z1") == ([(10.0, 20.0, 75.4), gone], gone)


@pytest.mark.parametrize(
    ("line", "column"),
    [("G0 G28 Z0", 8), ("G28 A0", 5), ("G28 G92 X0", 5), ("G41 D1 G28 Z0", 8)],
)
def test_home_that_the_standard_refuses(line, column):
    """3.5.8: not on a line with another use of the axis words, nor under radius compensation."""
    r = read(HOME + line + "\nM2\n", start=(0.0, 0.0, 0.0), diameters={1: 6.0})
    (f,) = [f for f in r.findings if f.level == "refused"]
    assert (f.line, f.column) == (3, column), f


# -- appendix A: what the interpreter leaves to others ------------------------------------------


@pytest.mark.parametrize(
    ("old", "new", "says"),
    [
        ("G1 X-69.5000 Y-29.0000", "G1 X-695000 Y-29.0000", "travel: the program spans"),
        ("F800.0000", "F80000.0000", "feed: 80000 mm/min is over"),
        ("F800.0000", "F8000.0000", "mm per tooth for EM10"),
        ("S8000 M3", "S80000 M3", "speed: S80000 is over"),
        ("G1 X-33.0000 Z-6.5000", "G1 X-33.0000 Z-65.0000", "vise: "),
    ],
)
def test_what_the_interpreter_does_not_check_the_program_check_does(old: str, new: str, says: str):
    """Appendix A: axes driven beyond their travel, excessive feeds and speeds, and legal commands that do
    harm "such as machining a fixture" pass the interpreter; here each is a fault of a program else in order.
    """
    plain = good()
    assert old in plain
    changed = plain.replace(old, new)
    assert refused(read(changed)) == []  # legal as a text
    v = checked(changed)
    assert not v.verified
    assert any(says in f.what for f in v.findings if f.level == "fault"), [f.what for f in v.findings]
