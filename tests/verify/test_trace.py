"""The tip's way as it is drawn is the way the reader carried out."""

from __future__ import annotations

import math
from itertools import pairwise

import pytest

import samples
from jawright.verify.reader import read
from jawright.verify.trace import ABOVE, CHORD, trace

TEXT = """G21
G17 G40 G49 G80 G90 G94
T{t} M6
S5000 M3
G54
G0 X0. Y0. Z100.
G0 Z5.
G1 Z-2. F100.
G1 X20. F400.
G3 X20. Y20. I0. J10.
G2 X0. Y0. I-10. J-10.
M30
"""


def steps(turned: bool):  # type: ignore[no-untyped-def]
    shop, jaws = samples.shop(), samples.jaws()
    cutter = shop.cutters[0]
    text = TEXT.format(t=cutter.number)
    return trace(text, origin=(3.0, 4.0, 44.0), turned=turned, jaws=jaws, shop=shop), text, cutter


@pytest.mark.parametrize("turned", [False, True])
def test_lines_and_arcs_in_the_vise_frame(turned: bool) -> None:
    got, text, cutter = steps(turned)
    s = -1.0 if turned else 1.0
    moves = [m for m in read(text).moves if None not in m.start[:2]]
    assert [g.line for g in got] == [m.line for m in moves]
    for g, m in zip(got, moves, strict=True):
        x, y = m.end[:2]
        assert g.points[-1][:2] == pytest.approx((3.0 + s * x, 4.0 + s * y))  # type: ignore[operator]
        assert g.cutter == cutter.id and g.diameter == cutter.diameter
        assert g.rapid == (m.kind == "rapid")
    arc = next(g for g, m in zip(got, moves, strict=True) if m.arc is not None)
    center = (3.0 + s * 20.0, 4.0 + s * 10.0)
    for p, q in pairwise(arc.points):
        middle = ((p[0] + q[0]) / 2, (p[1] + q[1]) / 2)
        assert math.dist(p[:2], center) == pytest.approx(10.0)
        assert 10.0 - math.dist(middle, center) <= CHORD + 1e-9
    assert arc.seconds == pytest.approx(60 * math.pi * 10.0 / 400.0)


def test_nothing_is_drawn_far_above_the_jaws() -> None:
    got, _, _ = steps(False)
    top = max(p[2] for g in got for p in g.points)
    jaws = samples.jaws()
    assert top <= max(jaws.top, jaws.fixed.height) + ABOVE
