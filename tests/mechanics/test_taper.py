"""What the jaw model must say about spacers, torque and jaw height: the trade's rules come out of it."""

from __future__ import annotations

import math

import numpy as np
import pytest
from scipy.integrate import quad

from jawright.errors import JawrightError
from jawright.mechanics.beam import Cut, Grip, Mount, Plate, wall_state, wedge_pressure

MOUNT = Mount(tilt=3e8, push=2e5)
ALUMINUM = Plate(E=68.9e3, nu=0.33, base=44.0, thickness=25.0, width=100.0)
GRIP = Grip(low=43.5, high=50.0, length=50.0, foundation=4000.0, force=10e3)


def state(*, spacer: float, cut_force: float = 10e3, plate: Plate = ALUMINUM, grip: Grip = GRIP):
    return wall_state(plate, MOUNT, cut=Cut(cut_force, spacer), grip=grip)


def test_spacer_at_the_grip_and_the_same_torque_leaves_nothing() -> None:
    got = state(spacer=46.75)
    assert got.taper == pytest.approx(0.0, abs=1e-9)
    assert got.shift == pytest.approx(0.0, abs=1e-9)
    assert got.share == 1.0
    assert got.center == pytest.approx(46.75, abs=1e-6)
    assert got.peak == pytest.approx(10e3 / (50.0 * 6.5), rel=1e-6)


def test_low_spacers_open_the_top_and_high_ones_close_it() -> None:
    low, lower = state(spacer=30.0), state(spacer=10.0)
    high = state(spacer=55.0)
    assert 0 < low.taper < lower.taper
    assert 0 < low.shift < lower.shift
    assert high.taper < 0 and high.shift < 0


def test_cutting_at_the_clamp_force_beats_half_of_it_and_none() -> None:
    taper = [abs(state(spacer=46.75, cut_force=f).taper) for f in (10e3, 5e3, 0.0)]
    assert taper[0] < taper[1] < taper[2]


def test_soft_mount_tapers_more_than_a_stiff_one() -> None:
    soft = wall_state(ALUMINUM, Mount(1.5e8, 1e5), cut=Cut(10e3, 16.0), grip=GRIP)
    stiff = wall_state(ALUMINUM, Mount(6e8, 4e5), cut=Cut(10e3, 16.0), grip=GRIP)
    assert soft.taper > stiff.taper > 0


def test_tall_jaw_tapers_more_and_steel_less_by_the_ratio_of_moduli_on_a_rigid_mount() -> None:
    rigid = Mount(tilt=1e15, push=1e12)
    tall = Grip(low=70.0, high=76.5, length=50.0, foundation=1e9, force=10e3)
    short = Grip(low=50.0, high=56.5, length=50.0, foundation=1e9, force=10e3)
    steel = Plate(E=205e3, nu=0.33, base=44.0, thickness=25.0, width=100.0)
    a = wall_state(ALUMINUM, rigid, cut=Cut(0.0, 0.0), grip=tall)
    b = wall_state(ALUMINUM, rigid, cut=Cut(0.0, 0.0), grip=short)
    s = wall_state(steel, rigid, cut=Cut(0.0, 0.0), grip=tall)
    assert a.taper > b.taper > 0
    # a rigid foundation keeps the resultant at the foot of the grip for both
    assert a.taper / s.taper == pytest.approx(205.0 / 68.9, rel=0.02)


@pytest.mark.parametrize("angle", [0.0, 2e-4, 1e-3, 5e-3, -1e-3, -5e-3])
def test_wedge_pressure_carries_the_force_where_it_says(angle: float) -> None:
    share, center, peak = wedge_pressure(angle, GRIP)
    depth = share * GRIP.depth
    slope = GRIP.foundation * abs(angle)

    def p(s: float) -> float:  # from the end that touches
        return max(0.0, peak - slope * s)

    total, _ = quad(p, 0.0, depth)
    first, _ = quad(lambda s: s * p(s), 0.0, depth)
    assert total * GRIP.length == pytest.approx(GRIP.force, rel=1e-9)
    from_end = first / total
    assert center == pytest.approx(from_end if angle >= 0 else GRIP.depth - from_end, rel=1e-9)
    if share < 1.0:
        assert p(depth) == pytest.approx(0.0, abs=1e-6)


def test_resultant_and_lean_agree_with_each_other() -> None:
    stiff = Grip(low=43.5, high=50.0, length=50.0, foundation=20000.0, force=4e3)
    got = state(spacer=5.0, cut_force=4e3, grip=stiff)
    share, center, _ = wedge_pressure(got.taper / stiff.depth, stiff)
    assert share == pytest.approx(got.share, rel=1e-6)
    assert stiff.low + center == pytest.approx(got.center, abs=1e-6)
    assert got.share < 1.0
    assert got.center < 46.75


def test_softer_contact_takes_the_taper_up() -> None:
    shares = [state(spacer=5.0, grip=Grip(43.5, 50.0, 50.0, k, 10e3)).share for k in (1e3, 1e4, 1e5, 1e6)]
    assert shares == sorted(shares, reverse=True)
    assert shares[0] == 1.0 and shares[-1] < 0.3
    assert np.all(np.isfinite(shares))


def test_a_grip_without_depth_is_refused() -> None:
    with pytest.raises(JawrightError):
        state(spacer=10.0, grip=Grip(43.5, 43.5, 50.0, 4000.0, 10e3))
    assert math.isfinite(state(spacer=0.0).taper)
