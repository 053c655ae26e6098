"""Vise screw, bolts and guide against textbook examples.

Sources: Hibbeler, Engineering Mechanics: Statics, 14th ed., problem 8-76 (read; the book rounds to 2.85 kN);
Shigley's Mechanical Engineering Design, power screws, example 8-1 (from memory, recomputed); ISO 898-1
stress areas and proof loads (from memory, recomputed); VDI-style torque law T = K F d. Rows marked
"derived" follow from those formulas by hand and were worked out with separate code.
"""

from __future__ import annotations

import math

import pytest

from jawright.errors import JawrightError
from jawright.mechanics.screw import (
    Screw,
    clamp_band,
    efficiency,
    force_from_table,
    force_from_torque,
    guide_couple,
    guide_rock,
    jaw_bolt_pull,
    preload_torque,
    self_locking,
    stress_area,
    thread_torque,
    torque_from_table,
    torque_to_clamp,
    torque_to_release,
)

VISE = Screw(lead=4.0, mean_diameter=18.0, flank_angle=math.radians(15), collar_diameter=24.0)


def test_hibbeler_8_76_handle_couple_to_clamp_force() -> None:
    """Hibbeler, Statics, 14th ed., problem 8-76: 2.85 kN (read)."""
    s = Screw(lead=8.0, mean_diameter=12.0)
    assert math.degrees(s.lead_angle) == pytest.approx(11.9808, abs=1e-4)
    assert math.degrees(math.atan(0.27)) == pytest.approx(15.1096, abs=1e-4)
    force = force_from_torque(s, 35.0 * 0.250, friction=0.27, collar_friction=0.0)
    assert force == pytest.approx(2851.01, rel=1e-5)
    assert round(force / 1000, 2) == 2.85  # as printed


def test_shigley_8_1_power_screw_with_collar() -> None:
    """Shigley's Mechanical Engineering Design, example 8-1: 26.18, 9.77, 0.311 (from memory, recomputed)."""
    s = Screw(lead=8.0, mean_diameter=30.0, collar_diameter=40.0)
    thread = thread_torque(s, 6400.0, friction=0.08)
    total = torque_to_clamp(s, 6400.0, friction=0.08, collar_friction=0.08)
    assert thread == pytest.approx(15.9370, rel=1e-4)
    assert total - thread == pytest.approx(10.2400, rel=1e-4)
    assert total == pytest.approx(26.1770, rel=1e-4)
    lower = torque_to_release(s, 6400.0, friction=0.08, collar_friction=0.08)
    assert lower == pytest.approx(9.7744, rel=1e-4)
    assert efficiency(s, friction=0.08, collar_friction=0.08) == pytest.approx(0.31129, rel=1e-4)
    bare = Screw(lead=8.0, mean_diameter=30.0)
    alone = torque_to_release(bare, 6400.0, friction=0.08, collar_friction=0.0)
    assert alone == pytest.approx(-0.4656, abs=1e-4)  # it runs back: not self-locking by the thread alone
    assert not self_locking(bare, friction=0.08)
    assert self_locking(bare, friction=0.09)


@pytest.mark.parametrize(
    ("mu", "force", "e"), [(0.10, 28.8e3, 0.229), (0.15, 20.7e3, 0.165), (0.20, 16.2e3, 0.129)]
)
def test_derived_trapezoidal_vise_screw(mu: float, force: float, e: float) -> None:
    """Power-screw formula, Tr20×4 with a collar (derived)."""
    assert force_from_torque(VISE, 80.0, friction=mu, collar_friction=mu) == pytest.approx(force, rel=1e-2)
    assert efficiency(VISE, friction=mu, collar_friction=mu) == pytest.approx(e, rel=1e-2)


def test_derived_frictionless_bound_and_friction_sensitivity() -> None:
    """2 π T/l, and what twice the friction costs (derived)."""
    free = force_from_torque(VISE, 80.0, friction=0.0, collar_friction=0.0)
    assert free == pytest.approx(2 * math.pi * 80.0 / 0.004, rel=1e-9)
    assert free == pytest.approx(125.66e3, rel=1e-4)
    low, mid, high = clamp_band(VISE, 80.0, frictions=(0.10, 0.15, 0.20))
    assert low < mid < high < free
    assert low / high == pytest.approx(0.56, abs=0.01)  # doubling the friction costs 44 % of the force


def test_force_and_torque_are_inverse() -> None:
    """Power-screw formula and its inverse (derived)."""
    for mu in (0.0, 0.08, 0.2):
        t = torque_to_clamp(VISE, 12345.0, friction=mu, collar_friction=mu)
        assert force_from_torque(VISE, t, friction=mu, collar_friction=mu) == pytest.approx(
            12345.0, rel=1e-12
        )


@pytest.mark.parametrize(
    ("d", "p", "area", "kn88", "kn129"),
    [
        (6, 1.0, 20.12, 11.7, 19.5),
        (8, 1.25, 36.61, 21.2, 35.5),
        (10, 1.5, 57.99, 33.6, 56.2),
        (12, 1.75, 84.27, 48.9, 81.7),
        (16, 2.0, 156.67, 90.9, 152.0),
    ],
)
def test_iso_898_1_stress_area_and_proof_load(
    d: float, p: float, area: float, kn88: float, kn129: float
) -> None:
    """ISO 898-1: π/4 (d - 0.938194 P)², 580 and 970 MPa (from memory, recomputed)."""
    assert stress_area(d, p) == pytest.approx(area, abs=0.005)
    assert stress_area(d, p) * 580 / 1000 == pytest.approx(kn88, rel=5e-3)
    assert stress_area(d, p) * 970 / 1000 == pytest.approx(kn129, rel=5e-3)


def test_torque_of_a_preloaded_bolt() -> None:
    """T = K F d (from memory)."""
    assert preload_torque(10.0, 20e3, nut_factor=0.2) == pytest.approx(40.0, rel=1e-9)


def test_jaw_bolts_of_an_overhanging_jaw_by_moments() -> None:
    """Moment about the jaw's edge (derived)."""
    assert jaw_bolt_pull(20e3, above_edge=12.0, bolt_below_edge=25.0) == pytest.approx(9600.0, rel=1e-9)
    assert jaw_bolt_pull(20e3, above_edge=-3.0, bolt_below_edge=25.0) == 0.0


def test_floating_jaw_rock_by_statics_and_geometry() -> None:
    """Couple on the guide, tilt by its play (derived)."""
    assert guide_couple(20e3, height=40.0, guide_length=120.0) == pytest.approx(20e3 / 3, rel=1e-9)
    tilt, shift = guide_rock(0.02, guide_length=120.0, height=40.0)
    assert tilt == pytest.approx(1 / 6000, rel=1e-9)
    assert shift == pytest.approx(1 / 150, rel=1e-9)


def test_measured_table_is_followed_and_not_left() -> None:
    """Straight lines between measured points, nothing beyond them (derived)."""
    table = ((40.0, 11000.0), (20.0, 6000.0))
    assert force_from_table(10.0, table) == pytest.approx(3000.0)
    assert force_from_table(20.0, table) == 6000.0
    assert force_from_table(40.1, table) is None
    assert torque_from_table(11000.0, table) == 40.0
    assert torque_from_table(11001.0, table) is None
    with pytest.raises(JawrightError):
        force_from_table(5.0, ((20.0, 6000.0), (40.0, 5000.0)))
    with pytest.raises(JawrightError):
        force_from_table(5.0, ())


@pytest.mark.parametrize("bad", [-0.1, 2.5, math.nan])
def test_implausible_friction_is_refused(bad: float) -> None:
    with pytest.raises(JawrightError):
        force_from_torque(VISE, 10.0, friction=bad, collar_friction=0.1)


def test_bad_screws_and_torques_are_refused() -> None:
    with pytest.raises(JawrightError):
        Screw(lead=0.0, mean_diameter=20.0)
    with pytest.raises(JawrightError):
        Screw(lead=5.0, mean_diameter=20.0, flank_angle=math.radians(80))
    with pytest.raises(JawrightError):
        force_from_torque(VISE, -1.0, friction=0.1, collar_friction=0.1)
    with pytest.raises(JawrightError):
        stress_area(2.0, 3.0)
