"""Sharing of one clamp force: against hand figures and a small quadratic program."""

from __future__ import annotations

import math

import numpy as np
import pytest
from scipy.optimize import minimize

from jawright.errors import JawrightError
from jawright.mechanics.several import block_stiffness, closed, shares


def test_two_parts_and_a_jaw_that_turns_share_alike() -> None:
    got = shares(np.array([[0.02, -0.02]]), np.array([-30.0, 30.0]), stiffness=1e5, force=4e3, yaw=1e-2)
    assert got[0] == pytest.approx([0.5, 0.5], abs=1e-6)


def test_two_parts_and_a_jaw_that_cannot_turn() -> None:
    # 0.01 mm longer: squeezed s + 0.01 and s with 1e5 (2 s + 0.01) = 4000 N, s = 0.015
    got = shares(np.array([[0.01, 0.0]]), np.array([-30.0, 30.0]), stiffness=1e5, force=4e3, yaw=0.0)
    assert got[0] == pytest.approx([0.625, 0.375], abs=1e-9)


def test_a_small_part_gets_nothing() -> None:
    # the two long ones take 2000 N each with 0.02 mm of squeeze; the third is 0.05 mm shorter
    got = shares(
        np.array([[0.0, -0.05, 0.0]]), np.array([-40.0, 0.0, 40.0]), stiffness=1e5, force=4e3, yaw=0.0
    )
    assert got[0] == pytest.approx([0.5, 0.0, 0.5], abs=1e-9)


def test_a_jaw_at_the_end_of_its_play_leaves_the_small_part_with_the_air_that_is_left() -> None:
    """60 mm apart and 0.1 mm unequal: a turn takes up 0.06, the squeeze 0.01, 0.03 is left."""
    x = np.array([-30.0, 30.0])
    share, turn, air = closed(np.array([[-0.05, 0.05]]), x, stiffness=1e5, force=1e3, yaw=1e-3)
    assert turn[0] == pytest.approx(-1e-3, rel=1e-6)
    assert air[0] == pytest.approx([0.03, 0.0], abs=1e-6)
    assert share[0] == pytest.approx([0.0, 1.0])
    share, turn, air = closed(np.array([[-0.05, 0.05]]), x, stiffness=1e5, force=1e3, yaw=3e-3)
    assert turn[0] == pytest.approx(-0.1 / 60.0, rel=1e-6)  # within its play it lies on both alike
    assert (air == 0).all() and share[0] == pytest.approx([0.5, 0.5], abs=1e-4)


def test_against_a_quadratic_program() -> None:
    rng = np.random.default_rng(7)
    x = np.array([-45.0, -15.0, 15.0, 45.0])
    over = rng.normal(0.0, 0.012, (40, 4))
    k, force, yaw = 2.2e5, 9e3, 2.5e-4
    got = shares(over, x, stiffness=k, force=force, yaw=yaw)

    def energy(v: np.ndarray, o: np.ndarray) -> float:
        s = np.maximum(0.0, o + v[0] * 1e-2 + v[1] * 1e-4 * x)
        return float(0.5 * k * (s @ s) - force * v[0] * 1e-2)

    for o, mine in zip(over, got, strict=True):
        r = minimize(energy, [0.0, 0.0], args=(o,), bounds=[(-50, 50), (-2.5, 2.5)], tol=1e-14)
        s = np.maximum(0.0, o + r.x[0] * 1e-2 + r.x[1] * 1e-4 * x)
        assert mine == pytest.approx(k * s / force, abs=2e-3)
        assert math.fsum(mine) == pytest.approx(1.0, abs=1e-9)


def test_stiffness_of_a_block() -> None:
    # bar 20 long of 100 mm² in aluminum: 70000 * 100 / 20; punches on a half space add on both sides
    bar = 70000.0 * 100.0 / 20.0
    assert block_stiffness(E=70000.0, length=20.0, area=100.0, jaw_E=1e12, jaw_nu=0.3) == pytest.approx(
        bar, rel=1e-5
    )
    soft = block_stiffness(E=1e12, length=20.0, area=math.pi * 25.0, jaw_E=70000.0, jaw_nu=0.33)
    assert soft == pytest.approx(70000.0 * 5.0 / (1 - 0.33**2), rel=1e-5)
    with pytest.raises(JawrightError):
        block_stiffness(E=1.0, length=0.0, area=1.0, jaw_E=1.0, jaw_nu=0.3)
