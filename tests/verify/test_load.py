"""Time with acceleration, engagement against its closed form, and what a program leaves on at its end."""

from __future__ import annotations

import math

import pytest

import samples
from jawright.verify import clock
from jawright.verify.engaged import loads
from jawright.verify.place import Frame, place
from jawright.verify.reader import read
from jawright.verify.stage import pair
from verify.program import ORIGIN, good
from verify.test_check import run

HEAD = "G21 G17 G40 G49 G80 G90 G94 G54\nM3 S5000\nG0 X0 Y0 Z0\n"
A = 2000.0  # mm/s2, as in the limits


def seconds(lines: str) -> float:
    moves = read(HEAD + lines + "\nM5\nM30\n").moves
    return clock.minutes(moves, rapid=15000.0) * 60


def test_one_move_is_a_trapezoid():
    """v = 100 mm/s over 100 mm: ramps of v/a = 0.05 s and v²/2a = 2.5 mm each, 95 mm at speed: 1.05 s."""
    assert seconds("G1 X100 F6000") == pytest.approx(0.05 + 0.95 + 0.05, abs=1e-9)


def test_a_short_move_is_a_triangle():
    """2 mm never get to 100 mm/s: t = 2 sqrt(s / a)."""
    assert seconds("G1 X2 F6000") == pytest.approx(2 * math.sqrt(2.0 / A), abs=1e-9)


def test_moves_in_line_are_as_one():
    assert seconds("G1 X40 F6000\nX70\nX100") == pytest.approx(seconds("G1 X100 F6000"), abs=1e-9)


def test_a_reversal_stops():
    assert seconds("G1 X100 F6000\nX0") == pytest.approx(2 * seconds("G1 X100 F6000"), abs=1e-9)


def test_a_corner_slows():
    """At 90 degrees, h = 45: r = 0.01 c / (1 - c) = 0.02414 mm, v = sqrt(2000 r) = 6.949 mm/s."""
    c = math.cos(math.pi / 4)
    v = math.sqrt(A * 0.01 * c / (1 - c))
    assert v == pytest.approx(6.949, abs=1e-3)
    leg = (100 - v) / A + 0.05 + (100 - 2.5 - (100**2 - v**2) / (2 * A)) / 100
    assert seconds("G1 X100 F6000\nY100") == pytest.approx(2 * leg, abs=1e-9)


def test_an_arc_is_held_by_its_radius():
    """R 2 at 2000 mm/s2 allows sqrt(4000) = 63.2 mm/s, less than the 100 asked: longer than 2 pi 2 / 100."""
    t = seconds("G2 X0 Y0 I2 J0 F6000")
    v = math.sqrt(A * 2)
    assert t == pytest.approx(4 * math.pi / v + v / A, abs=1e-9)


def engaged(y: float, z: float = 45.0):
    """Peak of the 10 mm cutter along the fixed jaw's back edge: Y 25 is the edge."""
    text = HEAD.replace("M3", "T2 M6\nG43 H2\nM3").replace(" Z0", " Z60")
    text += f"G0 X-60 Y{y}\nZ{z}\nG1 X60 F500\nG0 Z60\nM5\nM30\n"
    paths = [place(m, Frame((0.0, 0.0, 0.0), False, 50.0)) for m in read(text).moves]
    known = [p for p in paths if p.known]
    cutter = next(c for c in samples.cutters() if c.number == 2)
    return loads(known, [cutter] * len(known), pair(samples.jaws(), samples.shop(), None).blocks)


@pytest.mark.parametrize("radial", [2.0, 5.0, 8.0])
def test_engaged_angle_of_a_side_cut(radial):
    """arccos(1 - 2 a / D) for a radial engagement a (plain geometry); the map's cell allows 0.25 mm of it."""
    depth = 25.0 + 5.0 - radial
    peaks, slots = engaged(depth)
    low = math.acos(1 - 2 * (radial - 0.3) / 10.0)
    high = math.acos(1 - 2 * min(5.0 * 2, radial + 0.3) / 10.0)
    assert low - 0.05 <= peaks[0].angle <= high + 0.09
    assert peaks[0].depth == pytest.approx(5.0)
    assert slots == []


def test_a_full_slot_is_told_by_its_depth():
    for z, level in ((46.5, None), (43.5, "caution"), (38.5, "fault")):
        peaks, slots = engaged(12.0, z)
        assert peaks[0].angle == pytest.approx(math.pi)
        assert slots[0].depth == pytest.approx(50.0 - z)
        text = good(spring=False).splitlines()
        k = next(n for n, line in enumerate(text) if line.startswith("T2 M6")) + 4
        y, x = 12.0 - ORIGIN[1], -50.0 - ORIGIN[0]
        cut = [f"G0 X{x} Y{y} Z10.", f"G1 Z{z - 50} F100.", f"X{x + 30} F500.", "G0 Z10."]
        v = run("\n".join([*text[:k], *cut, *text[k:], ""]))
        got = [f.level for f in v.findings if f.what.startswith("engagement")]
        assert got == ([level] if level else [])


@pytest.mark.parametrize(("lost", "says"), [("M5", "spindle turning"), ("M9", "coolant on")])
def test_what_is_left_on(lost, says):
    lines = good(spring=False).splitlines()
    v = run("\n".join(line for line in lines if line != lost) + "\n")
    assert v.verified
    assert [f.what for f in v.findings if says in f.what]


def test_a_program_must_not_end_down_in_the_jaws():
    text = good(spring=False)
    end = text.rindex("G53 G0 Z0")
    v = run(text[:end] + "G0 Z-0.5\n" + text[end + len("G53 G0 Z0\n") :])
    assert [f for f in v.findings if f.what.startswith("end:")]
    assert not v.verified
