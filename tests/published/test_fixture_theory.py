"""Locating, form closure and closure with friction against published formulas and examples.

Sources, named beside each test. No public copy of the classical fixture papers prints full tables, so
where only the formula is published the expected numbers were worked out from it by hand (exact fractions).
"""

from __future__ import annotations

import math

import numpy as np
import pytest

from jawright.errors import JawrightError
from jawright.mechanics.closure import form_closure, plane_friction_closure, wrenches
from jawright.mechanics.locate import (
    best_base,
    covariance,
    determinacy,
    exact_plane_pose,
    exact_space_pose,
    moved,
    plane_jacobian,
    pose,
    sensitivity,
    space_jacobian,
)

# Two locators under the part and one at its end: x = 20 and 80 along the bottom, y = 30 at the left.
PLANE_POINTS = [(20.0, 0.0), (80.0, 0.0), (0.0, 30.0)]
PLANE_NORMALS = [(0.0, 1.0), (0.0, 1.0), (1.0, 0.0)]
PLANE_ERRORS = [0.0, 0.020, 0.010]

# 3-2-1: three under, two at the side, one at the end.
SPACE_POINTS = [(10, 10, 0), (90, 10, 0), (50, 70, 0), (20, 0, 15), (80, 0, 15), (0, 40, 15)]
SPACE_NORMALS = [(0, 0, 1), (0, 0, 1), (0, 0, 1), (0, 1, 0), (0, 1, 0), (1, 0, 0)]


def test_plane_pose_from_three_locator_errors() -> None:
    """Linear locating model J q = e: Cai, Hu and Yuan, J. Manuf. Sci. Eng. 119 (1997) 593-602 (formula)."""
    J = plane_jacobian(PLANE_POINTS, PLANE_NORMALS)
    q = pose(J, PLANE_ERRORS)
    assert abs(np.linalg.det(J)) == pytest.approx(60.0, abs=1e-9)
    assert q == pytest.approx([0.020, -0.02 / 3, 1 / 3000], abs=1e-12)
    assert moved(q, (100, 50)) == pytest.approx([1 / 300, 0.08 / 3], abs=1e-12)


def test_exact_plane_pose() -> None:
    """Closed form: the bottom lies on (20, 0) and (80, 0.02), the left side on (0.01, 30)."""
    dx, dy, turn = exact_plane_pose(PLANE_POINTS, PLANE_NORMALS, PLANE_ERRORS)
    assert turn == pytest.approx(math.atan(0.02 / 60), abs=1e-13)
    assert turn == pytest.approx(3.3333332e-4, abs=1e-11)
    x = math.cos(turn) * 100 - math.sin(turn) * 50 + dx - 100
    y = math.sin(turn) * 100 + math.cos(turn) * 50 + dy - 50
    assert (x, y) == pytest.approx((0.0033300, 0.0266706), abs=1e-7)
    linear = moved(pose(plane_jacobian(PLANE_POINTS, PLANE_NORMALS), PLANE_ERRORS), (100, 50))
    assert (x, y) == pytest.approx(tuple(linear), abs=5e-6)


def test_three_two_one_jacobian() -> None:
    """Rank test of Asada and By, IEEE J. Robotics Autom. 1 (1985); |det J| by hand."""
    d = determinacy(space_jacobian(SPACE_POINTS, SPACE_NORMALS))
    assert (d.rank, d.located, d.free) == (6, True, ())
    assert d.det == pytest.approx(288_000, rel=1e-12)


def test_one_base_locator_high() -> None:
    """Linear locating model (Cai, Hu and Yuan 1997): the first base locator stands 0.020 high."""
    J = space_jacobian(SPACE_POINTS, SPACE_NORMALS)
    q = pose(J, [0.020, 0, 0, 0, 0, 0])
    assert q[:3] == pytest.approx([-0.00375, -0.0025, 0.029 / 1.2], abs=1e-12)
    assert q[3:] == pytest.approx([-1 / 6000, 1 / 4000, 0], abs=1e-14)
    assert moved(q, (100, 80, 40)) == pytest.approx([0.00625, 0.005 / 1.2, -0.017 / 1.2], abs=1e-12)
    rotation, shift = exact_space_pose(SPACE_POINTS, SPACE_NORMALS, [0.020, 0, 0, 0, 0, 0])
    exact = rotation @ np.array([100.0, 80.0, 40.0]) + shift - [100.0, 80.0, 40.0]
    assert exact == pytest.approx([0.00625, 0.0041667, -0.0141667], abs=2e-5)
    assert rotation @ rotation.T == pytest.approx(np.eye(3), abs=1e-14)


@pytest.mark.parametrize(
    ("change", "words"),
    [
        ({2: ((50, 10, 0), (0, 0, 1))}, "turns about X"),
        ({5: ((0, 40, 15), (0, 1, 0))}, "slides along X"),
        ({3: ((20, 0, 5), (0, 1, 0)), 4: ((20, 0, 25), (0, 1, 0))}, "turns about"),
    ],
)
def test_layouts_that_do_not_locate_are_refused(change: dict, words: str) -> None:
    """Rank test of Asada and By 1985: base locators in line; end locator turned; side locators stacked."""
    points, normals = list(SPACE_POINTS), list(SPACE_NORMALS)
    for k, (p, n) in change.items():
        points[k], normals[k] = p, n
    J = space_jacobian(points, normals)
    d = determinacy(J)
    assert (d.rank, d.located) == (5, False)
    assert len(d.free) == 1
    assert words in d.free[0].words
    assert J @ np.array(d.free[0].move) == pytest.approx(np.zeros(6), abs=1e-9)
    with pytest.raises(JawrightError, match="do not fix the part"):
        pose(J, np.zeros(6))


def test_best_base_triangle() -> None:
    """Elementary; criterion of Wang and Pelinescu 2001: on 100 × 60 twice the area is at most 6000.

    It is reached with two rests at the ends of one side and the third anywhere on the opposite side.
    """
    rng = np.random.default_rng(8)
    for _ in range(20):
        _, twice = best_base(rng.uniform(size=(25, 2)) * [100.0, 60.0])
        assert twice < 6000.0
    border = [(x, y) for x in np.linspace(0, 100, 11) for y in np.linspace(0, 60, 7)]
    rests, twice = best_base(border)
    assert twice == pytest.approx(6000.0, abs=1e-9)
    at = np.array(border)[list(rests)]
    assert any((at[:, k] == side).sum() == 2 for k in (0, 1) for side in (at[:, k].min(), at[:, k].max()))
    for third in np.linspace(0, 100, 5):
        _, twice = best_base([(0, 0), (100, 0), (third, 60)])
        assert twice == pytest.approx(6000.0, abs=1e-9)
    rows = space_jacobian([(0, 0, 0), (100, 0, 0), (40, 60, 0)], [(0, 0, 1)] * 3)
    assert abs(np.linalg.det(rows[:, [2, 3, 4]])) == pytest.approx(6000.0, abs=1e-9)
    with pytest.raises(JawrightError, match="in line"):
        best_base([(0, 0), (10, 0), (20, 0)])


def test_pose_covariance() -> None:
    """J⁻¹ Σ J⁻ᵀ (Cai, Hu and Yuan 1997), and the same through the sensitivities of a point."""
    J = plane_jacobian(PLANE_POINTS, PLANE_NORMALS)
    sigma = np.array([0.004, 0.006, 0.003])
    cov = covariance(J, sigma)
    assert cov[2, 2] == pytest.approx((0.004**2 + 0.006**2) / 60**2, rel=1e-12)
    point = sensitivity(J, (100, 50)) * sigma
    at = np.array([[1, 0, -50], [0, 1, 100]])
    assert point @ point.T == pytest.approx(at @ cov @ at.T, abs=1e-15)


def test_form_closure_by_linear_program() -> None:
    """Lynch and Park, Modern Robotics (2017), example 12.7, as read in a public course script."""
    F = np.array([[0, 0, -1, 2], [-1, 0, 1, 0], [0, -1, 0, 1]])
    c = form_closure(F)
    assert c.closed
    assert c.rank == 3
    assert c.force == pytest.approx((2, 1, 2, 1), abs=1e-8)
    assert c.objective == pytest.approx(6, abs=1e-8)
    less = form_closure(F[:, :3])
    assert not less.closed
    assert not less.balanced


def test_form_closure_of_a_rectangle() -> None:
    """Linear program of Lynch and Park 2017; contacts set so that the moments balance by hand."""
    c = form_closure(wrenches([(20, 0), (80, 60), (0, 20), (100, 40)], [(0, 1), (0, -1), (1, 0), (-1, 0)]))
    assert c.closed
    assert np.array(c.force) / c.force[0] == pytest.approx([1, 1, 3, 3], abs=1e-8)


def test_opposed_centered_pairs_do_not_close() -> None:
    """The linear program has a solution but the wrenches have rank 2: the part still turns."""
    c = form_closure(wrenches([(50, 0), (50, 60), (0, 30), (100, 30)], [(0, 1), (0, -1), (1, 0), (-1, 0)]))
    assert c.balanced
    assert c.rank == 2
    assert not c.closed
    assert c.free[0].words == "turns about Z at (50.00, 30.00) mm"


# 8.5308 degrees is the angle whose tangent is 0.15; it is usually quoted as 8.53
@pytest.mark.parametrize(("degrees", "friction"), [(2, 0.03492), (5, 0.08749), (8.5308, 0.15), (10, 0.17633)])
def test_two_jaws_on_a_tapered_part(degrees: float, friction: float) -> None:
    """Antipodal condition of Nguyen, Int. J. Robotics Res. 7 (1988), from memory: closed if µ > tan β."""
    a = math.radians(degrees)
    points = [(0.0, -10.0), (0.0, 10.0)]
    normals = [(math.sin(a), math.cos(a)), (math.sin(a), -math.cos(a))]
    assert plane_friction_closure(points, normals, friction + 1e-5).closed
    assert not plane_friction_closure(points, normals, friction - 1e-5).closed


@pytest.mark.parametrize(("space", "needed"), [(2, 4), (3, 7)])
def test_contacts_needed_without_friction(space: int, needed: int) -> None:
    """Four contacts in the plane, seven in space: Markenscoff, Ni and Papadimitriou 1990.

    The count follows from the rank: a positive relation among wrenches that span needs one more than
    the dimension, so none of 80 random layouts with one fewer closes, and some with enough do.
    """
    rng = np.random.default_rng(7)
    closed = {needed - 1: 0, needed: 0}
    for count in closed:
        for _ in range(80):
            n = rng.normal(size=(count, space))
            p = -n / np.linalg.norm(n, axis=1, keepdims=True) + 0.6 * rng.normal(size=(count, space))
            closed[count] += form_closure(wrenches(p, n)).closed
    assert closed[needed - 1] == 0
    assert closed[needed] > 0
