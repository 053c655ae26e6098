"""Screwed joints after Shigley, thermal sizes, and loads on a half space after Boussinesq and Love."""

from __future__ import annotations

import math
from functools import cache

import numpy as np
import pytest
from scipy.integrate import dblquad

from jawright import handbook
from jawright.errors import JawrightError
from jawright.mechanics import front, joint, screw
from jawright.mechanics.condense import joined, patterns
from jawright.mechanics.gap import Problem, solve
from jawright.mechanics.solid import Floats, build
from jawright.proof.rules import rule

E, NU = 205e3, 0.29
DOWN = np.array([0.0, 0.0, -1.0])


def test_shigley_joint_constant_and_pull_that_parts_it() -> None:
    """Shigley ch. 8 (from memory): M12, grip 40, steel on steel, preload 0.75 of the proof load of 8.8."""
    proof = 580.0 * screw.stress_area(12.0, 1.75)
    assert 0.75 * proof == pytest.approx(36.66e3, rel=1e-3)
    share = joint.screw_share(436e3, 2235e3)
    assert share == pytest.approx(0.16325, rel=1e-3)
    assert joint.parts_at(0.75 * proof, share) == pytest.approx(43.81e3, rel=0.01)


def test_shigley_stiffness_of_the_clamped_members() -> None:
    """Shigley 8-20 to 8-23 (from memory): 30 degree cone 2.235e6 N/mm; exponential fit 2.361e6 within 6 %."""
    two = joint.frustum(12.0, 18.0, 20.0, 207e3) / 2  # two cones of half the grip, one on the other
    assert two == pytest.approx(2.235e6, rel=1e-3)
    fit = 0.78715 * 207e3 * 12.0 * math.exp(0.62873 * 12.0 / 40.0)
    assert fit == pytest.approx(2.361e6, rel=1e-3)
    assert two == pytest.approx(fit, rel=0.06)
    with pytest.raises(JawrightError, match="wider than its hole"):
        joint.frustum(12.0, 12.0, 20.0, 207e3)


def test_thermal_size_at_inspection() -> None:
    """Expansion of 6061 (handbook 23.6e-6 per kelvin): 80 mm, +10 K grow by 0.01888 mm (derived)."""
    grown = handbook.material("6061-T6").cte * 80.0 * 10.0
    assert grown == pytest.approx(0.01888, abs=1e-9)


HALF = 5.0


def _over(kind: str, inner: float, outer: float) -> tuple[Floats, Floats, Floats]:
    """A quarter of a ring or of a square about the middle, as a patch pressed down."""
    g, w = np.polynomial.legendre.leggauss(12)
    if kind == "square":
        u, v = (q.ravel() for q in np.meshgrid(outer / 2 * (1 + g), outer / 2 * (1 + g)))
        return np.column_stack([u, v, 0 * u]), DOWN, np.outer(w, w).ravel()
    r = (inner + outer) / 2 + (outer - inner) / 2 * g
    turn = (np.arange(48) + 0.5) / 48 * math.pi / 2
    u, v = (r[:, None] * f(turn) for f in (np.cos, np.sin))
    return np.column_stack([u.ravel(), v.ravel(), 0 * u.ravel()]), DOWN, np.repeat(w * r, 48)


@cache
def _ground() -> Floats:
    """Compliance of the top of a deep block, a quarter of it, between what ``_sunk`` and the stamp name."""
    step = HALF * np.array([0.0, 0.25, 0.5, 0.75, 1.0, 1.3, 1.9, 3.2, 5.6, 10.0, 40.0])
    deep = HALF * np.array([0.0, 0.2, 0.5, 1.0, 1.8, 3.2, 6.0, 13.0, 40.0])
    s = build((step, step, -deep[::-1]), E=E, nu=NU)
    held = np.zeros((len(s.nodes), 3), dtype=bool)
    held[:, :2] = s.nodes[:, :2] < 1e-9  # two planes of symmetry
    held[s.nodes[:, 2] <= -deep[-1] + 1e-9] = True
    rings = [_over("ring", HALF * k / 4, HALF * (k + 1) / 4) for k in range(4)]
    loads = [_over("ring", 0.0, HALF), _over("square", 0.0, HALF)]
    turn = (np.arange(48) + 0.5) / 48 * math.pi / 2
    about = np.column_stack([np.cos(turn), np.sin(turn), 0 * turn])
    reads = [
        (np.zeros((1, 3)), DOWN, np.ones(1)),
        (HALF * about, DOWN, np.ones(48)),
        (np.array([[HALF, HALF, 0.0]]), DOWN, np.ones(1)),
        (10 * HALF * about, DOWN, np.ones(48)),
    ]
    return front.compliance(s, patterns(s, joined([*rings, *loads, *reads])), held.ravel())


def _sunk(load: Floats, total: float) -> tuple[Floats, float]:
    """How far middle, rim, corner of the square and rings sink [mm] under ``total`` N shared as ``load`` (6,)
    says, told from ten radii off, as the block is no half space; and how far such a one sinks there.
    """
    c = _ground()
    down = c[:, :6] @ load * total / 4
    return np.concatenate([down[6:9], down[:4]]) - down[9], (1 - NU**2) * total / (math.pi * E * 10 * HALF)


def test_half_space_under_an_even_pressure() -> None:
    """Boussinesq (from memory, recomputed): 100 MPa on a disc of 5 mm, nu 0.29, E 205 GPa: middle
    2 (1 − nu²) p a/E = 0.00446780, rim 0.00284429 mm, here by the bricks, within 1 %.
    """
    got, far = _sunk(np.eye(6)[4], 100.0 * math.pi * HALF**2)
    far *= 1 + 1 / 800  # of a disc, as against a point
    assert got[0] + far == pytest.approx(0.00446780, rel=0.01)
    assert got[1] + far == pytest.approx(0.00284429, rel=0.01)


def test_half_space_under_a_square_pressure() -> None:
    """Love (from memory; integral recomputed): on a square of side s the middle sinks 1.12220 and the corner
    0.56110 times (1 − nu²) p s/E; by the bricks within 1 %.
    """
    unit = (1 - NU**2) * 100.0 * 2 * HALF / E
    got, far = _sunk(np.eye(6)[5], 100.0 * (2 * HALF) ** 2)
    far *= 1 + 1 / 600  # of a square, as against a point
    assert (got[0] + far) / unit == pytest.approx(1.12220, rel=0.01)
    assert (got[2] + far) / unit == pytest.approx(0.56110, rel=0.01)


def test_flat_stamp_on_a_half_space() -> None:
    """Boussinesq, rigid flat stamp of the same disc under the same load (from memory, recomputed):
    0.00350901 mm, by the contact solver over four rings, which miss the peak at the rim: within 2.5 %.
    """
    total = 100.0 * math.pi * HALF**2
    c = _ground()[:4, :4]
    one, none = -np.ones((4, 1)), np.zeros((1, 1))
    p = Problem(c, np.zeros(4), one, none, np.array([total / 4]), np.zeros(4, dtype=bool))
    force = solve(p).force
    got, far = _sunk(np.concatenate([force * 4 / total, np.zeros(2)]), total)
    assert got[3:] == pytest.approx(np.full(4, got[3]), rel=1e-9)  # it stays flat
    assert got[3] + far == pytest.approx(0.00350901, rel=0.025)
    pressure = force / np.array([1.0, 3.0, 5.0, 7.0])
    assert pressure[3] > 2 * pressure[:3].max()  # and presses hardest at its rim


def test_loves_square_lies_at_the_low_end_of_the_local_give() -> None:
    """Love (from memory; integral recomputed): 1.12220 in the middle of a square; our band holds it."""
    half, _ = dblquad(lambda y, x: 1 / math.hypot(x, y), 0, 0.5, 0, lambda x: x)
    assert 8 * half / math.pi == pytest.approx(1.12220, abs=1e-5)
    band = rule("foundation_shape")
    assert band.low <= 1.12220 <= band.high


def test_thin_floor_simply_supported_square_plate() -> None:
    """Timoshenko, Woinowsky-Krieger, and Roark (from memory): w = 0.00406235 q a⁴/D = 0.0443609 q a⁴/(E t³)
    for nu 0.3; shear at a/50, 0.0737 q a²/(κ G t), adds 0.2 %. Supports as Navier's: no edge twists.
    """
    a, t = 50.0, 1.0
    x = np.linspace(0, a, 13)
    s = build((x, x, np.array([0.0, t])), E=E, nu=0.3)
    ends = np.isclose(s.nodes[:, :2], 0) | np.isclose(s.nodes[:, :2], a)
    held = np.zeros((len(s.nodes), 3), dtype=bool)
    held[ends.any(axis=1) & np.isclose(s.nodes[:, 2], t / 2), 2] = True  # the middle surface, free to turn
    held[:, 1], held[:, 0] = ends[:, 0], ends[:, 1]
    k = (np.arange(24) + 0.5) / 24 * a
    u, v = (q.ravel() for q in np.meshgrid(k, k))
    down = np.array([0.0, 0.0, -1.0])
    even = (np.column_stack([u, v, np.full(576, t)]), down, np.ones(576))
    middle = (np.array([[a / 2, a / 2, t / 2]]), down, np.ones(1))
    c = front.compliance(s, patterns(s, joined([even, middle])), held.ravel())
    rigid = E * t**3 / (12 * (1 - 0.3**2))
    sheared = 0.07367 * a**2 / (5 / 6 * E / 2.6 * t)
    assert c[1, 0] * a**2 == pytest.approx(0.00406235 * a**4 / rigid + sheared, rel=0.005)
    assert c[1, 0] * a**2 == pytest.approx(0.0443609 * a**4 / (E * t**3) + sheared, rel=0.005)
