"""Textbook plane figures: section properties and the area of parallel bodies.

Sources: R. J. Roark, W. C. Young, Formulas for Stress and Strain, 5th ed. 1975, Table 1
(rectangle, circle, hollow circle, semicircle; formulas from memory, each derivable in two lines).
J. Steiner, "Über parallele Flächen", Monatsbericht Akad. Wiss. Berlin 1840, pp. 114-118:
a convex figure grown by d has the area A + P d + pi d² and the perimeter P + 2 pi d.
"""

from __future__ import annotations

import math

import numpy as np
import pytest

from jawright.geometry.curve import Arc, Line
from jawright.geometry.offset import offset
from jawright.geometry.profile import Profile, Region, circle, rectangle
from jawright.geometry.query import moments


def test_rectangle_b_h_cubed_over_12() -> None:
    """Roark and Young 1975, table 1: b h³/12 (from memory, derivable)."""
    m = moments(rectangle(10, 20, 40, 32))
    assert m.area == pytest.approx(30 * 12)
    assert m.center == pytest.approx((25, 26))
    assert m.ixx == pytest.approx(30 * 12**3 / 12)
    assert m.iyy == pytest.approx(12 * 30**3 / 12)
    assert m.ixy == pytest.approx(0.0, abs=1e-9)


def test_circle_and_hollow_circle() -> None:
    """Roark and Young 1975, table 1: π R⁴/4 (from memory, derivable)."""
    m = moments(circle((7, -3), 4))
    assert m.ixx == pytest.approx(math.pi * 4**4 / 4)
    assert m.iyy == pytest.approx(math.pi * 4**4 / 4)
    ring = moments(Region(circle((7, -3), 4), (circle((7, -3), 3).reversed(),)))
    assert ring.ixx == pytest.approx(math.pi * (4**4 - 3**4) / 4)
    assert ring.center == pytest.approx((7, -3))


def test_semicircle() -> None:
    """Center at 4 R / 3 pi from the diameter; I about it (pi/8 - 8/(9 pi)) R⁴ = 0.1098 R⁴."""
    r = 6.0
    m = moments(Profile((Line((-r, 0), (r, 0)), Arc((r, 0), (-r, 0), (0, 0), True))))
    assert m.area == pytest.approx(math.pi * r * r / 2)
    assert m.center == pytest.approx((0, 4 * r / (3 * math.pi)), abs=1e-12)
    assert m.ixx == pytest.approx((math.pi / 8 - 8 / (9 * math.pi)) * r**4)
    assert m.ixx == pytest.approx(0.1098 * r**4, rel=5e-4)
    assert m.iyy == pytest.approx(math.pi * r**4 / 8)


@pytest.mark.parametrize("d", [0.05, 1.0, 10.0])
def test_steiner_area_and_perimeter_of_grown_convex_figures(d: float) -> None:
    """Steiner 1840: A + P d + π d² (from memory, derivable)."""
    rng = np.random.default_rng(1)
    for _ in range(30):
        n = int(rng.integers(3, 20))
        a = np.sort(rng.uniform(0, 2 * math.pi, n))
        if np.diff(a, append=a[0] + 2 * math.pi).max() > 3.0 or np.diff(a).min() < 1e-3:
            continue
        p = [(20 * math.cos(v), 12 * math.sin(v)) for v in a]  # on an ellipse: convex
        figure = Profile(tuple(Line(p[k], p[(k + 1) % n]) for k in range(n)))
        (grown,) = offset(Region(figure), d)
        assert grown.holes == ()
        assert grown.area == pytest.approx(figure.area + figure.perimeter * d + math.pi * d * d, rel=1e-12)
        assert grown.outer.perimeter == pytest.approx(figure.perimeter + 2 * math.pi * d, rel=1e-12)
