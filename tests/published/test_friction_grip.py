"""Grip by friction against closed forms and a published cone program.

Sources: grasp.mod of the nonlinear model library at sor.princeton.edu/~rvdb/ampl/nlmodels/grasp (read; after
Lobo, Vandenberghe, Boyd and Lebret 1998; best known objective 0.49108896, 0.49109288 when smoothed);
Nguyen 1988, antipodal condition (from memory); Coulomb friction; area integrals of rectangle and disc.
"""

from __future__ import annotations

import math

import numpy as np
import pytest
from scipy.integrate import dblquad
from scipy.optimize import linprog

from jawright.mechanics import cone, friction

Array = np.ndarray


def grasp() -> cone.Contacts:
    t = 2 * np.pi * np.arange(5) / 5
    p1, p2 = 0.3 + np.cos(t), np.sin(t)
    normals = np.c_[-2 * p1, -2 * p2, np.ones(5)]
    normals /= np.linalg.norm(normals, axis=1)[:, None]
    return cone.Contacts(np.c_[p1, p2, p1**2 + p2**2], normals, np.full(5, 0.3), np.zeros(5, dtype=bool))


LOAD = np.array([0.0, 0.0, -1.0, 0.0, 0.0, 0.0])


def test_published_grasp_objective() -> None:
    """grasp.mod of the nonlinear model library, after Lobo et al. 1998: 0.49108896 (read)."""
    peak, forces = cone.smallest_peak(grasp(), LOAD)
    assert peak == pytest.approx(0.49108896, abs=1e-6)
    c = grasp()
    assert forces.sum(axis=0) + LOAD[:3] == pytest.approx([0, 0, 0], abs=1e-6)
    assert np.cross(c.points, forces).sum(axis=0) == pytest.approx([0, 0, 0], abs=1e-6)
    normal = np.einsum("ij,ij->i", forces, c.normals)
    slide = np.linalg.norm(forces - normal[:, None] * c.normals, axis=1)
    assert np.all(slide <= 0.3 * normal + 1e-6)
    assert normal.max() == pytest.approx(peak, abs=1e-6)


def pyramid(c: cone.Contacts, load: Array, m: int) -> float:
    """The same program with inscribed pyramids of m facets, by a linear program of another library."""
    cols, heights = [], []
    for p, n, mu in zip(c.points, c.normals, c.friction, strict=True):
        t = np.cross(n, (1.0, 0.0, 0.0))
        t /= np.linalg.norm(t)
        s = np.cross(n, t)
        own = []
        for k in range(m):
            a = 2 * math.pi * k / m
            f = n + mu * (math.cos(a) * t + math.sin(a) * s)
            cols.append(np.concatenate([f, np.cross(p, f)]))
            own.append(len(cols) - 1)
        heights.append(own)
    n = len(cols)
    equal = np.c_[np.array(cols).T, np.zeros(6)]
    top = np.zeros((len(heights), n + 1))
    for i, own in enumerate(heights):
        top[i, own], top[i, n] = 1.0, -1.0
    cost = np.zeros(n + 1)
    cost[n] = 1.0
    got = linprog(cost, A_ub=top, b_ub=np.zeros(len(heights)), A_eq=equal, b_eq=-load)
    assert got.status == 0
    return float(got.fun)


@pytest.mark.parametrize(("m", "value"), [(4, 0.58224), (8, 0.49162)])
def test_pyramids_bracket_the_cone(m: int, value: float) -> None:
    """The same problem by a linear program of another library (derived)."""
    exact, _ = cone.smallest_peak(grasp(), LOAD)
    got = pyramid(grasp(), LOAD, m)
    assert got == pytest.approx(value, abs=1e-4)
    assert exact <= got + 1e-9
    assert got <= exact / math.cos(math.pi / m)


@pytest.mark.parametrize("m", [6, 12, 24, 48])
def test_pyramids_of_more_facets_approach_the_cone(m: int) -> None:
    """Inscribed pyramids and shrunk cones bracket the cone (derived)."""
    c = grasp()
    exact, _ = cone.smallest_peak(c, LOAD)
    assert exact <= pyramid(c, LOAD, m) + 1e-9
    assert pyramid(c, LOAD, m) <= exact / math.cos(math.pi / m)
    # a cone shrunk by cos(π/m) lies inside the pyramid, so the pyramid is never worse than that cone
    shrunk = cone.Contacts(c.points, c.normals, c.friction * math.cos(math.pi / m), c.driven)
    assert pyramid(c, LOAD, m) <= cone.smallest_peak(shrunk, LOAD)[0] + 1e-9


def two_jaws(mu: float) -> cone.Contacts:
    points = np.array([[x, y, 0.0] for y in (0.0, -40.0) for x in (-25.0, 25.0)])
    normals = np.array([[0.0, -1.0, 0.0]] * 2 + [[0.0, 1.0, 0.0]] * 2)
    return cone.Contacts(points, normals, np.full(4, mu), np.array([False, False, True, True]))


@pytest.mark.parametrize(("factor", "clamp"), [(1.0, 2500.0), (2.0, 5000.0)])
def test_coulomb_vise_grip_along_the_jaws(factor: float, clamp: float) -> None:
    """Coulomb, two jaws: F = S Q/(2 µ) (derived)."""
    push = np.array([1000.0, 0.0, 0.0, 0.0, 0.0, 20.0 * 1000.0])  # at (0, -20): half way between the jaws
    got = cone.least_clamp(two_jaws(0.2), push)[0]
    assert factor * got.clamp == pytest.approx(clamp, rel=1e-6)
    assert cone.load_factor(two_jaws(0.2), push, clamp=clamp) == pytest.approx(factor, rel=1e-6)


@pytest.mark.parametrize(("degrees", "mu"), [(2.0, 0.03492), (5.0, 0.08749), (8.5308, 0.15), (10.0, 0.17633)])
def test_nguyen_tapered_part_between_two_jaws(degrees: float, mu: float) -> None:
    """Nguyen 1988, antipodal condition µ > tan β (from memory)."""
    beta = math.radians(degrees)
    assert friction.wedge_limit(beta) == pytest.approx(mu, abs=1e-5)
    # the part tapers toward +X, both faces by beta: the jaws squeeze it out toward +X below that friction
    out = np.array([1e-3, 0.0, 0.0, 0.0, 0.0, 1e-3 * 20.0])
    for share, held in ((1.02, True), (0.98, False)):
        c = two_jaws(share * math.tan(beta))
        normals = c.normals + np.array([math.tan(beta), 0.0, 0.0])
        normals = normals / np.linalg.norm(normals, axis=1)[:, None]
        tapered = cone.Contacts(c.points, normals, c.friction, c.driven)
        assert (cone.load_factor(tapered, out, clamp=1000.0) > 0) is held
        assert math.isfinite(cone.least_clamp(tapered, out)[0].clamp) is held


@pytest.mark.parametrize(
    ("a", "b", "rho"), [(60.0, 10.0, 15.4612), (50.0, 20.0, 14.1363), (1.0, 1.0, 0.382598)]
)
def test_friction_torque_of_a_rectangle(a: float, b: float, rho: float) -> None:
    """Area integral µ F ρ over a rectangle (derived)."""
    assert friction.patch_radius(a, b) == pytest.approx(rho, rel=1e-4)
    whole, _ = dblquad(lambda y, x: math.hypot(x, y), -a / 2, a / 2, -b / 2, b / 2)
    assert friction.patch_radius(a, b) == pytest.approx(whole / (a * b), rel=1e-6)
    assert friction.patch_torque(1000.0, friction=0.2, a=a, b=b) == pytest.approx(200.0 * rho, rel=1e-4)


def test_friction_torque_of_a_disc() -> None:
    """Area integral over a disc: 2 R/3 (derived)."""
    assert friction.disc_radius(6.0) == pytest.approx(4.0)


def test_cone_program_spins_many_points_as_the_integral_does() -> None:
    """The cone program against the area integral (derived)."""
    # the program may choose where a rigid patch presses, so an evenly pressed one spins no later than it says
    xs, zs = np.linspace(-28.5, 28.5, 20), np.linspace(-4.5, 4.5, 10)
    grid = [(x, z) for x in xs for z in zs]
    ring = sum(math.hypot(x, z) for x, z in grid) / len(grid)
    assert ring == pytest.approx(friction.patch_radius(60.0, 10.0), rel=0.01)
    pts = np.array([(x, y, z) for y in (0.0, -1e-3) for x, z in grid])
    nrm = np.array([[0.0, -1.0, 0.0]] * len(grid) + [[0.0, 1.0, 0.0]] * len(grid))
    drive = np.array([False] * len(grid) + [True] * len(grid))
    c = cone.Contacts(pts, nrm, np.full(len(pts), 0.2), drive)
    spin = np.array([0.0, 0.0, 0.0, 0.0, 1000.0, 0.0])
    limit = cone.load_factor(c, spin, clamp=1000.0)
    assert limit * 1000.0 >= 2 * 0.2 * 1000.0 * ring * 0.99  # rigid contact may press at the far ends only
    assert limit * 1000.0 <= 2 * 0.2 * 1000.0 * math.hypot(28.5, 4.5) * 1.001
