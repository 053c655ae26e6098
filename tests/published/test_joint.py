"""Screwed joints after Shigley, thermal sizes, and loads on a half space after Boussinesq and Love."""

from __future__ import annotations

import math

import numpy as np
import pytest
from scipy.integrate import dblquad

from jawright import handbook
from jawright.errors import JawrightError
from jawright.mechanics import front, joint, screw
from jawright.mechanics.condense import joined, patterns
from jawright.mechanics.solid import build
from jawright.proof.rules import rule

E, NU = 205e3, 0.29


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
    assert grown == pytest.approx(0.01888, abs=2e-6)


def _sunk(
    load: np.ndarray, at: tuple[float, float], reads: list[tuple[float, float]], half: float
) -> np.ndarray:
    """How far points of the top of a large block sink [mm] under 1 N spread over the points ``load``."""
    step = half * np.array([0.0, 0.5, 1.0, 1.5, 2.5, 5.0, 10.0, 22.0])
    x = np.concatenate([-step[:0:-1], step])
    z = -step[::-1]
    s = build((x, x, z), E=E, nu=NU)
    down = np.array([0.0, 0.0, -1.0])
    flat = np.column_stack([load, np.zeros(len(load))])
    parts = [(flat, down, np.ones(len(flat)))]
    parts += [(np.array([[*p, 0.0]]), down, np.ones(1)) for p in reads]
    held = np.repeat(s.nodes[:, 2] <= z[0] + 1e-9, 3)
    assert at == (0.0, 0.0)
    return front.compliance(s, patterns(s, joined(parts)), held)[1:, 0]


@pytest.mark.parametrize("shape", ["disc", "square"])
def test_half_space_under_an_even_pressure(shape: str) -> None:
    """Boussinesq and Love (from memory): 100 MPa on a disc of 5 mm, nu 0.29, E 205 GPa: middle 0.004468, edge
    0.00284429 mm; on a square of side s 1.12220 and at its corner 0.56110 (1 − nu²) p s/E.

    Differences, as a block of 220 mm is no half space: within 3 %.
    """
    half = 5.0
    k = (np.arange(40) + 0.5) / 20 - 1
    u, v = (half * q.ravel() for q in np.meshgrid(k, k))
    if shape == "disc":
        inside = u**2 + v**2 < half**2
        load, area = np.column_stack([u[inside], v[inside]]), math.pi * half**2
        want = 0.00446780 - 0.00284429
        reads = [(0.0, 0.0), (half, 0.0)]
    else:
        load, area = np.column_stack([u, v]), 4 * half**2
        want = (1.12220 - 0.56110) * (1 - NU**2) * 100.0 * 2 * half / E
        reads = [(0.0, 0.0), (half, half)]
    got = _sunk(load, (0.0, 0.0), reads, half) * 100.0 * area
    assert got[0] - got[1] == pytest.approx(want, rel=0.03)


def test_loves_square_lies_at_the_low_end_of_the_local_give() -> None:
    """Love (from memory; integral recomputed): 1.12220 in the middle of a square; our band holds it."""
    half, _ = dblquad(lambda y, x: 1 / math.hypot(x, y), 0, 0.5, 0, lambda x: x)
    assert 8 * half / math.pi == pytest.approx(1.12220, abs=1e-4)
    band = rule("foundation_shape")
    assert band.low <= 1.12220 <= band.high


def test_thin_floor_simply_supported_square_plate() -> None:
    """Timoshenko, Woinowsky-Krieger (from memory): w = 0.00406235 q a⁴/D; shear at a/50 adds 0.2 %."""
    a, t = 50.0, 1.0
    x = np.linspace(0, a, 13)
    s = build((x, x, np.array([0.0, t])), E=E, nu=0.3)
    rim = np.isclose(s.nodes[:, 0], 0) | np.isclose(s.nodes[:, 0], a)
    rim |= np.isclose(s.nodes[:, 1], 0) | np.isclose(s.nodes[:, 1], a)
    held = np.zeros((len(s.nodes), 3), dtype=bool)
    held[rim & np.isclose(s.nodes[:, 2], t / 2), 2] = True  # the middle surface, free to turn
    corner = np.argmin(s.nodes.sum(axis=1))
    held[corner, :2] = True
    held[np.argmin(np.abs(s.nodes - [a, 0, 0]).sum(axis=1)), 1] = True
    k = (np.arange(24) + 0.5) / 24 * a
    u, v = (q.ravel() for q in np.meshgrid(k, k))
    down = np.array([0.0, 0.0, -1.0])
    even = (np.column_stack([u, v, np.full(576, t)]), down, np.ones(576))
    middle = (np.array([[a / 2, a / 2, t / 2]]), down, np.ones(1))
    c = front.compliance(s, patterns(s, joined([even, middle])), held.ravel())
    rigid = E * t**3 / (12 * (1 - 0.3**2))
    assert c[1, 0] * a**2 == pytest.approx(0.00406235 * a**4 / rigid, rel=0.02)
