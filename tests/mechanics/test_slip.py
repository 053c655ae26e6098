"""First slip on elastic contacts: closed forms of Coulomb, and never above the limit factor."""

from __future__ import annotations

import math

import numpy as np
import pytest

from jawright.errors import JawrightError
from jawright.mechanics.cone import Contacts, load_factor
from jawright.mechanics.slip import first_slip

MU = 0.15


def block(mu: float = MU) -> Contacts:
    """Two contacts a side, 40 apart along X and at two heights, pressed along Y."""
    points, normals, driven = [], [], []
    for y, way in ((0.0, -1.0), (-30.0, 1.0)):
        for x in (-20.0, 20.0):
            for z in (2.0, 6.0):
                points.append((x, y, z))
                normals.append((0.0, way, 0.0))
                driven.append(way > 0)
    n = len(points)
    return Contacts(np.array(points), np.array(normals), np.full(n, mu), np.array(driven))


def test_even_pull_slides_at_coulombs_limit() -> None:
    """Coulomb: eight like contacts share a central pull, so all slide at once at 2 µ F."""
    c = block()
    force = np.array([100.0, 0.0, 0.0])
    wrench = np.concatenate([force, np.cross([0.0, -15.0, 4.0], force)])
    got = first_slip(c, np.ones(8), wrench, clamp=4000.0)
    assert got == pytest.approx(2 * MU * 4000.0 / 100.0, rel=1e-4)


def test_stiffer_contact_slides_first() -> None:
    c = block()
    force = np.array([100.0, 0.0, 0.0])
    wrench = np.concatenate([force, np.cross([0.0, -15.0, 4.0], force)])
    even = first_slip(c, np.ones(8), wrench, clamp=4000.0)
    uneven = first_slip(c, np.array([4.0, 1, 1, 1, 1, 1, 1, 1]), wrench, clamp=4000.0)
    assert uneven is not None and even is not None and uneven <= even


def test_never_above_the_limit_factor_and_falls_with_the_clamp() -> None:
    c = block()
    rng = np.random.default_rng(4)
    for _ in range(40):
        force = rng.normal(size=3) * 100
        wrench = np.concatenate([force, np.cross(rng.uniform(-20, 20, 3), force)])
        first = first_slip(c, np.ones(8), wrench, clamp=4000.0)
        assert first is not None
        assert first <= load_factor(c, wrench, clamp=4000.0) * (1 + 1e-4)
        half = first_slip(c, np.ones(8), wrench, clamp=2000.0)
        assert half is not None and (math.isinf(first) or half == pytest.approx(first / 2, rel=1e-3))


def test_without_friction_any_pull_along_the_jaws_slides() -> None:
    c = block(1e-9)
    force = np.array([100.0, 0.0, 0.0])
    got = first_slip(c, np.ones(8), np.concatenate([force, np.cross([0.0, -15.0, 4.0], force)]), clamp=4000.0)
    assert got == pytest.approx(0.0, abs=1e-4)
    with pytest.raises(JawrightError):
        first_slip(c, np.ones(8), np.zeros(6), clamp=0.0)


def test_standing_forces_by_taper_slide_first_where_they_are_least() -> None:
    """Coulomb at each contact: w of the even force at the top slips first, at w of 2 µ F (derived)."""
    c = block()
    force = np.array([100.0, 0.0, 0.0])
    wrench = np.concatenate([force, np.cross([0.0, -15.0, 4.0], force)])
    for weak in (1.0, 0.5, 0.2):
        share = np.where(c.points[:, 2] > 4.0, weak, 2.0 - weak) * 4000.0 / 4
        got = first_slip(c, np.ones(8), wrench, clamp=4000.0, standing=share[:, None] * c.normals)
        assert got == pytest.approx(weak * 2 * MU * 4000.0 / 100.0, rel=1e-3)


def test_spin_about_a_drilled_hole_slides_at_the_corners_first() -> None:
    """Torque T about the middle: each of 8 corner contacts carries T r/Σ r² (derived, Coulomb)."""
    c = block()
    turn = np.array([0, 0, 0, 0, 0, 1000.0])  # about Z through (0, 0)
    middle = np.array([0.0, -15.0])
    arm = c.points[:, :2] - middle
    got = first_slip(c, np.ones(8), np.array([*turn]), clamp=4000.0, standing=1000.0 * c.normals)
    # along the wall the contacts are SHEAR as stiff as into it
    shear = 0.8
    spring = arm[:, 1] ** 2 * shear + arm[:, 0] ** 2
    share = 1000.0 / spring.sum()
    along, into = share * shear * abs(arm[0, 1]), share * abs(arm[0, 0])
    assert got is not None
    assert got == pytest.approx(MU * 1000.0 / (along + MU * into), rel=1e-3)
