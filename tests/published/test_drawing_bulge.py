"""Arcs of polylines in drawings.

Source: the drawing exchange format's reference, group code 42: the bulge of a segment is the tangent of
a quarter of its arc's angle (from memory); the radius over a chord c is c (1 + b²) / (4 b) (derived:
half chord c/2 = r sin(θ/2) with θ = 4 atan b).
"""

from __future__ import annotations

import math
from pathlib import Path

import ezdxf
import pytest

from jawright.files.dxf import read_outline
from jawright.files.outline_chain import bulged
from jawright.geometry.curve import Arc

TABLE = [(90.0, 0.4142136), (180.0, 1.0), (60.0, 0.2679492)]
"""Angle [deg] and bulge."""


@pytest.mark.parametrize(("angle", "bulge"), TABLE)
@pytest.mark.parametrize("sign", [1.0, -1.0])
def test_angle_of_a_bulge(angle: float, bulge: float, sign: float) -> None:
    """Bulges of 90°, 180° and 60°: from memory, computed again; an angle to the digits of its bulge."""
    arc = bulged((0.0, 0.0), (10.0, 0.0), sign * bulge)
    assert isinstance(arc, Arc)
    assert math.degrees(arc.sweep) == pytest.approx(sign * angle, abs=1e-5)


def test_radius_over_a_chord_of_ten() -> None:
    """Chord 10 and bulge 0.4142136 give radius 7.0710678: from memory, computed again."""
    arc = bulged((0.0, 0.0), (10.0, 0.0), 0.4142136)
    assert isinstance(arc, Arc)
    assert arc.radius == pytest.approx(7.0710678, abs=1e-6)  # the bulge has seven digits
    exact = bulged((0.0, 0.0), (10.0, 0.0), math.tan(math.radians(90) / 4))
    assert isinstance(exact, Arc)
    assert exact.radius == pytest.approx(7.0710678, abs=1e-7)
    assert math.dist(arc.end, arc.center) == pytest.approx(arc.radius, rel=1e-15)
    assert arc.center == pytest.approx((5.0, 5.0), abs=1e-6)  # to the left of a counter-clockwise arc's chord


def test_a_drawn_half_circle(tmp_path: Path) -> None:
    """A slot of two straight sides 30 long and two half circles (bulge 1): area 30·20 + π·10², derived."""
    doc = ezdxf.new("R2000")
    doc.header["$INSUNITS"] = 4
    points = [(0, 0, 0), (30, 0, 1), (30, 20, 0), (0, 20, 1)]
    doc.modelspace().add_lwpolyline(points, format="xyb", close=True)
    path = tmp_path / "slot.dxf"
    doc.saveas(path)
    region = read_outline(path)[0].regions[0]
    assert region.area == pytest.approx(600 + 100 * math.pi, rel=1e-12)
    assert region.outer.perimeter == pytest.approx(60 + 20 * math.pi, rel=1e-12)
    assert region.outer.box == pytest.approx((-10, 0, 40, 20), abs=1e-12)
