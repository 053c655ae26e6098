"""Tolerances, capability and stacks against standards, handbooks and worked examples.

Rows whose source could not be opened are marked "from memory"; their arithmetic is exact.
"""

from __future__ import annotations

import math

import numpy as np
import pytest

from jawright.handbook import table
from jawright.mechanics.seat import seat
from jawright.statistics.capability import cp, cpk, defects_per_million, fraction_out, wilson
from jawright.statistics.circle import algebraic_circle, least_circle
from jawright.statistics.draw import stream
from jawright.statistics.tolerance import (
    bonus,
    fixed_fastener,
    floating_fastener,
    position,
    root_sum_square,
    virtual_size,
    worst_case,
)


def test_position_deviation() -> None:
    """ASME Y14.5 and ISO 1101: twice the distance from true position (from memory)."""
    assert float(position(0.08, 0.06)) == pytest.approx(0.200, abs=1e-12)
    assert float(position(0.003, 0.004)) == pytest.approx(0.010, abs=1e-12)


def test_position_at_maximum_material() -> None:
    """Open course page (actdenver.com/gd_and_t/frameR010.html): 0.5 at 10.25, 0.75 at 10.5 (read)."""
    extra = bonus(10.50, 10.25, 10.75, feature="hole", condition="maximum")
    assert 0.5 + float(extra) == pytest.approx(0.75, abs=1e-12)
    assert virtual_size(10.25, 10.75, 0.5, feature="hole", condition="maximum") == pytest.approx(
        9.75, abs=1e-12
    )


@pytest.mark.parametrize(
    ("feature", "condition", "expected"),
    [
        ("hole", "maximum", 0.03),  # size - lower limit
        ("hole", "least", 0.07),  # upper limit - size
        ("pin", "maximum", 0.07),
        ("pin", "least", 0.03),
        ("hole", "", 0.0),
    ],
)
def test_bonus_rule(feature: str, condition: str, expected: float) -> None:
    """All four cases as in a public forum thread (dimcax.com, thread 2593, read); clipped to the zone."""
    got = bonus(10.03, 10.0, 10.1, feature=feature, condition=condition)  # type: ignore[arg-type]
    assert float(got) == pytest.approx(expected, abs=1e-12)
    outside = bonus([9.9, 10.3], 10.0, 10.1, feature=feature, condition=condition)  # type: ignore[arg-type]
    grows = (feature == "hole") == (condition == "maximum")
    full = [0.0, 0.1] if grows else [0.1, 0.0]
    assert outside == pytest.approx(full if condition else [0.0, 0.0], abs=1e-12)


def test_straightness_of_a_pin_at_maximum_material() -> None:
    """Lecture slides on Y14.5M-1994, 6.4.1: Ø15.00 with 0.1 at maximum material, 0.25 at 14.85 (read)."""
    extra = bonus(14.85, 14.85, 15.00, feature="pin", condition="maximum")
    assert 0.1 + float(extra) == pytest.approx(0.25, abs=1e-12)


@pytest.mark.parametrize(
    ("how", "least", "most"), [("drilled_position", 0.05, 0.1), ("bored_position", 0.01, 0.02)]
)
def test_places_of_holes_by_how_they_are_made(how: str, least: float, most: float) -> None:
    """Common practice (no standard prints it): holes spotted and drilled on a numerically controlled mill lie
    within 0.05 to 0.1 mm, bored ones within 0.01 to 0.02. Within: 95 of 100 by Rayleigh's law, 2.448 σ.
    """
    usual = float(table("defaults")["scatter"][how]["value"][1].split()[0])
    assert least < 2.448 * usual < most


def test_fastener_formulas() -> None:
    """ASME Y14.5, appendix B (from memory): H - F, and (H - F)/2 each."""
    assert floating_fastener(6.6, 6.0) == pytest.approx(0.6, abs=1e-12)
    assert fixed_fastener(6.6, 6.0) == pytest.approx(0.3, abs=1e-12)


POINTS = [(1, 7), (2, 6), (5, 8), (7, 7), (9, 5), (3, 7)]


def test_geometric_least_squares_circle() -> None:
    """Gander, Golub and Strebel, BIT 34 (1994) 558-578: prints 4.7398, 2.9835, 4.7142 (from memory)."""
    c = least_circle(POINTS)
    assert c.center == pytest.approx((4.73978, 2.98353), abs=1e-5)
    assert c.radius == pytest.approx(4.71423, abs=1e-5)
    assert c.residual == pytest.approx(1.227599, abs=1e-5)


def test_algebraic_least_squares_circle() -> None:
    """Same paper: prints 5.3794, 7.2532, 3.0370 (from memory)."""
    c = algebraic_circle(POINTS)
    assert c.center == pytest.approx((5.37941, 7.25320), abs=1e-5)
    assert c.radius == pytest.approx(3.03704, abs=1e-5)


def test_worst_case_stack() -> None:
    """Shigley's Mechanical Engineering Design, example 1-7 (from memory) [in]."""
    sizes, halves = (1.750, -0.750, -0.120, -0.875), (0.003, 0.001, 0.005, 0.001)
    assert math.fsum(sizes) == pytest.approx(0.005, abs=1e-12)
    assert worst_case(halves) == pytest.approx(0.010, abs=1e-12)
    # The stack stays at 0.010 or more when d is made smaller by as much as is missing.
    d = 0.875 - (0.010 - (math.fsum(sizes) - worst_case(halves)))
    assert d == pytest.approx(0.860, abs=1e-12)


def test_root_sum_square_stack() -> None:
    """Same stack, statistically: sqrt(9 + 1 + 25 + 1) = 6 exactly (derived; formula: F. Scholz 1995)."""
    assert root_sum_square((0.003, 0.001, 0.005, 0.001)) == pytest.approx(0.006, abs=1e-12)


def test_capability_indices() -> None:
    """NIST/SEMATECH e-Handbook of Statistical Methods, 6.1.6 (from memory)."""
    assert cp(8, 20, 2) == pytest.approx(1.0, abs=1e-12)
    assert cpk(8, 20, mean=16, sigma=2) == pytest.approx(2 / 3, abs=1e-12)
    assert fraction_out(8, 20, mean=16, sigma=2) == pytest.approx(0.0227818, abs=1e-6)


@pytest.mark.parametrize(
    ("index", "ppm"),
    [
        (0.5, 133614),
        (0.75, 24448.9),
        (1, 2699.80),
        (1.2, 318.217),
        (1.33, 66.0733),
        (4 / 3, 63.3425),
        (1.5, 6.79535),
        (1.67, 0.544300),
        (5 / 3, 0.573303),
        (1.8, 0.0666409),
        (2, 0.00197318),
    ],
)
def test_capability_to_defects(index: float, ppm: float) -> None:
    """Both tails of the normal (derived); e-Handbook 6.1.6 prints 0.27 %, 64 ppm, 0.6 ppm, 2 ppb."""
    assert defects_per_million(index) == pytest.approx(ppm, rel=1e-4)


def test_six_sigma_after_a_shift() -> None:
    """Textbook: 3.4 ppm, one tail, 6 σ short term less a shift of 1.5 σ (from memory)."""
    assert defects_per_million(2.0, shift=1.5, both=False) == pytest.approx(3.39767, rel=1e-4)


def test_wilson_interval() -> None:
    """Newcombe, Statistics in Medicine 17 (1998) 857-872 (from memory): 81 of 263, 0 of 20; 95 %."""
    y = wilson(81, 263)
    assert (y.low, y.high) == pytest.approx((0.2553, 0.3662), abs=5e-5)
    y = wilson(0, 20)
    assert (y.low, y.high) == pytest.approx((0.0, 0.1611), abs=5e-5)


@pytest.mark.parametrize(
    ("ride_left", "ride_right", "slope", "sigma"),
    [
        (0.0, 1.0, 0.0, 0.004),
        (-1.0, 0.0, 1.0, math.sqrt(0.030**2 + 0.004**2)),
        (-0.5, 0.5, 0.5, math.sqrt(0.015**2 + 0.004**2)),
    ],
)
def test_located_on_the_datum_or_not(ride_left: float, ride_right: float, slope: float, sigma: float) -> None:
    """Kinematics: part length 100, σ 0.030; machining σ 0.004; hole dimensioned from the left end.

    Held against a left stop the size does not enter; against a right stop all of it does; between two
    jaws that close alike, half. σ by hypot: 0.004, 0.030265, 0.015524 (derived).
    """
    rng = stream("held on the datum")
    size = rng.normal(0, 0.030, 50_000)
    machine = rng.normal(0, 0.004, 50_000)
    # The length stands along Y: the datum end at Y = 0, the other at Y = -100.
    points = np.array([[-20.0, 0.0], [20.0, 0.0], [-20.0, -100.0], [20.0, -100.0], [-30.0, -50.0]])
    normals = np.array([[0.0, -1.0], [0.0, -1.0], [0.0, 1.0], [0.0, 1.0], [1.0, 0.0]])
    gaps = np.zeros((len(size), 5))
    gaps[:, 2] = gaps[:, 3] = -size  # a longer part has its far end further out
    ride = np.array([ride_left, ride_left, ride_right, ride_right, 0.0])
    seated = seat(points, normals, ride, gaps, push=(-0.05, 0.0))
    assert seated.located
    # The hole is made at a place of the machine: on the part it lies off by as much as the part moved.
    error = machine - seated.pose[:, 1]
    fit = np.polyfit(size, error, 1)[0]
    allowed = 3 * 0.004 / (0.030 * math.sqrt(len(size)))
    assert abs(fit) == pytest.approx(slope, abs=allowed)
    assert error.std() == pytest.approx(sigma, rel=0.02)
    # and without chance: a part 1 longer moves by the slope, spreads of one sigma add as squares
    longer = np.array([[0.0, 0.0, -1e-3, -1e-3, 0.0]])
    moved = float(seat(points, normals, ride, longer, push=(-0.05, 0.0)).pose[0, 1]) / 1e-3
    assert abs(moved) == pytest.approx(slope, abs=1e-9)
    assert root_sum_square((moved * 0.030, 0.004)) == pytest.approx(sigma, abs=1e-9)
