"""Mount stiffness from readings. Source of the regression: NIST StRD, Norris, certified values."""

from __future__ import annotations

import numpy as np
import pytest
from scipy import stats

from jawright.errors import JawrightError
from jawright.mechanics.mount import calibrate, line

NORRIS_X = """0.2 337.4 118.2 884.6 10.1 226.5 666.3 996.3 448.6 777.0 558.2 0.4
0.6 775.5 666.9 338.0 447.5 11.6 556.0 228.1 995.8 887.6 120.2 0.3
0.3 556.8 339.1 887.2 999.0 779.0 11.1 118.3 229.2 669.1 448.9 0.5"""
NORRIS_Y = """0.1 338.8 118.1 888.0 9.2 228.1 668.5 998.5 449.1 778.9 559.2 0.3
0.1 778.1 668.8 339.3 448.9 10.8 557.7 228.3 998.0 888.8 119.6 0.3
0.6 557.6 339.3 888.0 998.5 778.9 10.2 117.6 228.9 668.4 449.2 0.2"""


def test_straight_line_of_norris() -> None:
    """NIST StRD Norris (read in Norris.dat): b0 -0.262323073774029 (0.232818234301152), b1 1.00211681802045
    (0.429796848199937e-3), residual standard deviation 0.884796396144373 (read).
    """
    x, y = (np.array([float(v) for v in t.split()]) for t in (NORRIS_X, NORRIS_Y))
    assert len(x) == len(y) == 36
    got = line(x, y)
    t = stats.t.ppf(0.975, 34)
    assert got.slope == pytest.approx(1.00211681802045, rel=1e-11)
    assert got.start == pytest.approx(-0.262323073774029, rel=1e-9)
    assert got.rest == pytest.approx(0.884796396144373, rel=1e-10)
    assert got.slope_half == pytest.approx(t * 0.429796848199937e-3, rel=1e-9)
    assert got.start_half == pytest.approx(t * 0.232818234301152, rel=1e-9)


def readings(tilt: float, push: float, noise: float, seed: int) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """What indicators at 10 and 42 would show with the bar at 25; 0.004 of play is taken up first."""
    rng = np.random.default_rng(seed)
    force = np.repeat(np.linspace(2000.0, 12000.0, 6), 2)
    at = [0.004 + force / push + force * 25.0 * z / tilt + rng.normal(0, noise, 12) for z in (10.0, 42.0)]
    return force, at[0], at[1]


def test_readings_give_back_what_made_them() -> None:
    """Statics: F/k + F h z/k_t at each indicator (derived)."""
    force, low, high = readings(8e8, 4e5, 0.0, 1)
    got = calibrate(force, low, high, heights=(10.0, 42.0), load_height=25.0)
    assert got.tilt.set == pytest.approx(8e8, rel=1e-9)
    assert got.push.set == pytest.approx(4e5, rel=1e-9)
    assert got.push_play[0] == pytest.approx(0.004, abs=1e-9)
    assert got.tilt_play[0] == pytest.approx(0.0, abs=1e-12)


def test_intervals_hold_the_truth_as_often_as_they_say() -> None:
    """Student's t: 95 of 100 intervals hold the true value; 200 draws, so 88 to 99 % (derived)."""
    inside = [0, 0]
    for seed in range(200):
        force, low, high = readings(8e8, 4e5, 0.0005, seed)
        got = calibrate(force, low, high, heights=(10.0, 42.0), load_height=25.0)
        inside[0] += got.tilt.low <= 8e8 <= got.tilt.high
        inside[1] += got.push.low <= 4e5 <= got.push.high
    assert all(176 <= n <= 198 for n in inside), inside


def test_band_of_the_force_widens_the_interval() -> None:
    """A load known within a band makes its stiffness known within that band (derived)."""
    """Stiffness is force over reading: a band of the force is a band of the stiffness (derived)."""
    force, low, high = readings(8e8, 4e5, 0.0005, 3)
    a = calibrate(force, low, high, heights=(10.0, 42.0), load_height=25.0)
    b = calibrate(force, low, high, heights=(10.0, 42.0), load_height=25.0, force_band=(0.7, 1.4))
    assert b.tilt.low == pytest.approx(0.7 * a.tilt.low)
    assert b.tilt.high == pytest.approx(1.4 * a.tilt.high)
    assert b.tilt.set == a.tilt.set


def test_readings_that_tell_nothing_are_refused() -> None:
    force, low, _ = readings(8e8, 4e5, 0.0, 1)
    with pytest.raises(JawrightError, match="scatter more"):
        calibrate(force, low, low, heights=(10.0, 42.0), load_height=25.0)
    with pytest.raises(JawrightError, match="do not tell a slope"):
        calibrate(force[:3], low[:3], low[:3], heights=(10.0, 42.0), load_height=25.0)
    with pytest.raises(JawrightError, match="above the lower"):
        calibrate(force, low, low, heights=(42.0, 10.0), load_height=25.0)
