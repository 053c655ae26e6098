"""Where the pocket's wall meets its floor, and corner meets corner.

No published table was found for this job: the expected numbers are the closed forms of plane
geometry, worked out by hand beside each test; the wear criterion is that of ISO 8688-2.
"""

from __future__ import annotations

import math

import pytest

from jawright.mechanics.corner import (
    chamfer_to_clear,
    chip_tilt,
    equal_stand_off,
    floor_lift,
    pinch_stand_off,
    relief_center,
    sagitta,
    segments_for,
    wear_recession,
)


@pytest.mark.parametrize("r", [0.25, 0.5, 0.8, 1.0])
def test_sharp_edge_flush_on_the_wall_is_lifted_by_the_radius(r: float) -> None:
    """Plane geometry: lift r (derived)."""
    assert floor_lift(r) == pytest.approx(r, abs=1e-9)


@pytest.mark.parametrize(("r", "off"), [(0.25, 0.073223), (0.5, 0.146447), (0.8, 0.234315), (1.0, 0.292893)])
def test_equal_stand_off(r: float, off: float) -> None:
    """r (1 - 1/√2)."""
    assert equal_stand_off(r) == pytest.approx(off, abs=1e-6)
    # The same place by the general formula: a wall gap of this much leaves a lift of this much.
    assert floor_lift(r, wall_gap=equal_stand_off(r)) == pytest.approx(off, abs=1e-6)


@pytest.mark.parametrize(
    ("edge", "off", "lift"), [(0.1, 0.117157, 0.4), (0.25, 0.073223, 0.25), (0.5, 0.0, 0.0)]
)
def test_rounded_part_edge(edge: float, off: float, lift: float) -> None:
    """(r - R)(1 - 1/√2) in the middle, r - R flush; r 0.5."""
    assert equal_stand_off(0.5, edge_radius=edge) == pytest.approx(off, abs=1e-6)
    assert floor_lift(0.5, edge=edge, shape="radius") == pytest.approx(lift, abs=1e-6)
    assert floor_lift(0.5, edge=edge, wall_gap=off, shape="radius") == pytest.approx(off, abs=1e-6)


@pytest.mark.parametrize(("c", "lift"), [(0.1, 0.4), (0.25, 0.25), (0.4, 0.1), (0.5, 0.0)])
def test_chamfered_part_edge_flush_on_the_wall(c: float, lift: float) -> None:
    """r - c: the chamfer's end on the wall governs; r 0.5."""
    assert floor_lift(0.5, edge=c) == pytest.approx(lift, abs=1e-9)


def test_chamfer_line_alone() -> None:
    """r (2 - √2): the line x + y = c touches the fillet at 45°."""
    assert chamfer_to_clear(0.5) == pytest.approx(0.292893, abs=1e-6)


@pytest.mark.parametrize("gap", [0.0, 0.02, 0.1, 0.2, 0.4, 0.6])
@pytest.mark.parametrize("c", [0.0, 0.1, 0.2, 0.3, 0.6])
def test_lift_against_brute_force(gap: float, c: float) -> None:
    """The part's lower edge, point by point, must lie above the fillet's surface; r 0.5."""
    r = 0.5
    worst = 0.0
    for k in range(20001):
        x = gap + 1.2 * k / 20000
        fillet = r - math.sqrt(r * r - (r - x) ** 2) if x < r else 0.0
        part = max(0.0, c - (x - gap))  # height of the part's underside over its lowest plane
        worst = max(worst, fillet - part)
    assert floor_lift(r, edge=c, wall_gap=gap) == pytest.approx(worst, abs=1e-4)


def test_relief_circle_through_the_corner() -> None:
    """Center R/√2 from each wall: its distance from the corner is R."""
    a = relief_center(5.0)
    assert math.hypot(a, a) == pytest.approx(5.0, abs=1e-9)
    assert a == pytest.approx(5 / math.sqrt(2), abs=1e-9)


@pytest.mark.parametrize(("degrees", "factor"), [(90, 0.4142), (60, 1.0), (120, 0.1547)])
def test_pinch_factors(degrees: float, factor: float) -> None:
    """Stand-off over radius difference, 0.414 at 90°, 1.0 at 60°, 0.155 at 120° (common practice)."""
    stand, _ = pinch_stand_off(4.0, 1.0, half_angle=math.radians(degrees / 2))
    assert stand / 3.0 == pytest.approx(factor, abs=5e-5)


def test_pinch_of_a_sharp_corner() -> None:
    """0.037 in off each wall for a sharp corner and a 1/4 in cutter (common practice, recomputed)."""
    stand, opening = pinch_stand_off(0.125, 0.0, half_angle=math.pi / 4)
    assert opening == pytest.approx(0.0366, abs=5e-5)
    assert stand == pytest.approx(opening * math.sqrt(2), abs=1e-12)
    assert pinch_stand_off(4.0, 4.0, half_angle=0.7) == (0.0, 0.0)


@pytest.mark.parametrize(("degrees", "back"), [(6, 0.0315), (10, 0.0529), (12, 0.0638)])
def test_wear_makes_the_cutter_smaller(degrees: float, back: float) -> None:
    """VB tan(clearance) at the uniform wear criterion 0.3 mm of ISO 8688-2."""
    assert wear_recession(0.3, clearance=math.radians(degrees)) == pytest.approx(back, abs=1e-4)


def test_chord_error_of_a_polygon() -> None:
    """R (1 - cos(π/n)): 36 chords of R 10, and the count that keeps 1 µm."""
    assert sagitta(10.0, 36) == pytest.approx(0.0380530, abs=1e-6)
    assert segments_for(10.0, 0.001) == 223
    assert sagitta(10.0, 223) <= 0.001 < sagitta(10.0, 222)


def test_chip_under_one_edge() -> None:
    """A 0.003 in chip under one edge of a 2.5 in part tilts it 1.2 thou per inch (common practice)."""
    assert math.tan(chip_tilt(0.003, 2.5)) == pytest.approx(0.0012, abs=1e-12)
