"""Hertz contact against a contact benchmark and the textbook.

Sources: NAFEMS Advanced Finite Element Contact Benchmarks (2006), benchmark 1 (6.21 mm, 3585.37 MPa; from
memory, recomputed); Johnson, Contact Mechanics, chapters 4 and 6 (from memory, recomputed: shear
0.30 p0 at 0.78 a and 0.31 p0 at 0.48 a; first yield at 1.67, 1.79 and 1.60 Y); Tabor, full indentation.
"""

from __future__ import annotations

import math

import numpy as np
import pytest
from scipy.optimize import minimize_scalar

from jawright.errors import JawrightError
from jawright.handbook import material
from jawright.mechanics import hertz


def test_nafems_contact_benchmark_1() -> None:
    """NAFEMS Advanced Finite Element Contact Benchmarks (2006), no. 1 (from memory, recomputed)."""
    modulus = hertz.contact_modulus(210e3, 0.3, 70e3, 0.3)
    assert modulus == pytest.approx(57692, rel=1e-4)
    a, p0 = hertz.line_contact(35e3, 50.0, modulus)
    assert a == pytest.approx(6.2146, rel=1e-4)
    assert p0 == pytest.approx(3585.37, rel=1e-4)
    assert hertz.line_load_at(p0, 50.0, modulus) == pytest.approx(35e3, rel=1e-9)
    x = np.linspace(-1, 1, 20001)
    pressed = np.trapezoid(p0 * np.sqrt(np.maximum(0, 1 - x**2)), x) * a
    assert pressed == pytest.approx(35e3, rel=1e-5)  # the pressure carries the load


def test_ball_on_flat() -> None:
    """Hertz, point contact (derived; formula from memory)."""
    a, p0, d = hertz.point_contact(100.0, 5.0, hertz.contact_modulus(205e3, 0.3, 205e3, 0.3))
    assert a == pytest.approx(0.149319, rel=1e-5)
    assert p0 == pytest.approx(2141.45, rel=1e-5)
    assert d == pytest.approx(0.0044593, abs=5e-8)  # the digits given


def test_johnson_peak_shear_and_its_depth() -> None:
    """Johnson, Contact Mechanics: 0.30 p0 at 0.78 a, 0.31 p0 at 0.48 a (from memory, recomputed)."""
    line = minimize_scalar(lambda s: -hertz.line_shear_below(s), bounds=(0.2, 2.0), method="bounded")
    assert line.x == pytest.approx(0.786, abs=1e-3)
    assert -line.fun == pytest.approx(0.3003, abs=1e-4)
    point = minimize_scalar(lambda s: -hertz.point_shear_below(s, 0.3), bounds=(0.1, 2.0), method="bounded")
    assert point.x == pytest.approx(0.481, abs=1e-3)
    assert -point.fun == pytest.approx(0.3100, abs=1e-4)
    assert pytest.approx(line.x, abs=1e-3) == hertz.LINE_SHEAR_DEPTH
    assert pytest.approx(-line.fun, abs=1e-4) == hertz.LINE_SHEAR
    assert pytest.approx(point.x, abs=1e-3) == hertz.POINT_SHEAR_DEPTH
    assert pytest.approx(-point.fun, abs=1e-4) == hertz.POINT_SHEAR


def test_johnson_first_yield() -> None:
    """Johnson, Contact Mechanics: 1.67, 1.79, 1.60 Y (from memory, recomputed)."""
    line = minimize_scalar(lambda s: -hertz.line_shear_below(s), bounds=(0.2, 2.0), method="bounded")
    point = minimize_scalar(lambda s: -hertz.point_shear_below(s, 0.3), bounds=(0.1, 2.0), method="bounded")
    assert -0.5 / line.fun == pytest.approx(1.665, rel=1e-3)  # Tresca: shear is half of Y
    # on the axis of a point contact two of the principal stresses are alike: von Mises asks the same
    assert -0.5 / point.fun == pytest.approx(1.613, rel=1e-3)
    assert pytest.approx(1.665, rel=1e-3) == hertz.LINE_YIELD
    assert pytest.approx(1.794, rel=1e-3) == hertz.LINE_YIELD_MISES
    assert pytest.approx(1.613, rel=1e-3) == hertz.POINT_YIELD

    def mises(s: float, nu: float = 0.3) -> float:
        root = math.sqrt(1 + s * s)
        x, z = -((1 + 2 * s * s) / root - 2 * s), -1 / root
        y = nu * (x + z)
        return math.sqrt(((x - y) ** 2 + (y - z) ** 2 + (z - x) ** 2) / 2)

    worst = minimize_scalar(lambda s: -mises(s), bounds=(0.1, 2.0), method="bounded")
    assert -1 / worst.fun == pytest.approx(hertz.LINE_YIELD_MISES, rel=1e-3)


def test_steel_pin_dents_an_aluminum_jaw() -> None:
    """Hertz line contact (derived)."""
    soft = material("6061-T6")
    modulus = hertz.contact_modulus(205e3, 0.29, soft.E, soft.nu)
    a, p0 = hertz.line_contact(500.0, 10.0, 57468.0)
    assert a == pytest.approx(0.33283, rel=1e-4)
    assert p0 == pytest.approx(956.4, rel=1e-4)
    assert soft.yield_min == 241.0
    assert p0 / soft.yield_min == pytest.approx(3.97, abs=0.005)
    assert p0 / soft.yield_min > hertz.LINE_YIELD_MISES
    assert modulus == pytest.approx(57468.0, rel=1e-4)


def test_full_indentation() -> None:
    """Tabor (from memory): a mean pressure of about 3 Y dents for good; Prandtl's slip lines under a flat die
    give (2 + π) k, 2.97 Y with the shear yield of Mises (derived).
    """
    assert pytest.approx((2 + math.pi) / math.sqrt(3), rel=0.1) == hertz.INDENTATION


def test_curvatures_of_wrapped_and_facing_walls() -> None:
    """1/R = 1/R1 - 1/R2 for a wrapped wall (derived)."""
    assert hertz.relative_radius(12.0, 0.0) == pytest.approx(12.0)
    assert math.isinf(hertz.relative_radius(12.0, 12.0))
    assert math.isinf(hertz.relative_radius(0.0, 0.0))
    assert hertz.relative_radius(10.0, 12.0) == pytest.approx(60.0)
    assert hertz.relative_radius(0.0, 10.0) == pytest.approx(10.0)


def test_missing_curvature_or_modulus_is_refused() -> None:
    with pytest.raises(JawrightError):
        hertz.line_contact(100.0, 0.0, 50e3)
    with pytest.raises(JawrightError):
        hertz.point_contact(0.0, 5.0, 50e3)
    with pytest.raises(JawrightError):
        hertz.contact_modulus(0.0, 0.3, 70e3, 0.3)
    assert hertz.line_contact(0.0, 5.0, 50e3) == (0.0, 0.0)
