"""Hertz contact of curved bodies: half width, peak pressure, depth of the peak shear, first yield.

Elastic half-space bodies, frictionless, small contact against the radii. mm, N, MPa.
"""

from __future__ import annotations

import math

from jawright.errors import JawrightError

SOURCE = "Johnson, Contact Mechanics, chapters 4 and 6 (Hertz)"

LINE_SHEAR_DEPTH = 0.786
"""Depth of the largest shear below a line contact, in half widths; size 0.3003 p0 (any Poisson ratio)."""
LINE_SHEAR = 0.3003
POINT_SHEAR_DEPTH = 0.481
"""Depth of the largest shear below a point contact, in radii; size 0.3100 p0 at Poisson ratio 0.3."""
POINT_SHEAR = 0.3100
LINE_YIELD = 1.665
"""p0 over the uniaxial yield stress at first yield below a line contact (Tresca; von Mises gives 1.794)."""
LINE_YIELD_MISES = 1.794
POINT_YIELD = 1.613
INDENTATION = 3.0
"""Mean pressure over yield at full, unconstrained indentation (Tabor; ± 10 %)."""


def contact_modulus(E1: float, nu1: float, E2: float, nu2: float) -> float:
    """Contact modulus of two bodies: ``1/E* = (1 − ν1²)/E1 + (1 − ν2²)/E2``.

    Parameters: moduli [MPa], Poisson ratios. Returns: E* [MPa].
    Raises: ``value-bad`` for a modulus not above zero. Valid for: isotropic elastic bodies.
    Source: Johnson, Contact Mechanics, eq. 4.20.

    >>> round(contact_modulus(210e3, 0.3, 70e3, 0.3), 1)
    57692.3
    """
    if E1 <= 0 or E2 <= 0:
        raise JawrightError("value-bad", what="a modulus of elasticity must be above zero", where="material")
    return 1.0 / ((1 - nu1**2) / E1 + (1 - nu2**2) / E2)


def blunt_wedge_pressure(slope: float, modulus: float) -> float:
    """Mean pressure of two flats that meet at a small angle, edge on, whatever the load.

    ``p = E* tan(slope) / 2``: a blunt wedge's band grows in proportion to its load, ``P = a E* tan(slope)``
    over the width 2a.

    Parameters: ``slope`` between the flats [rad], contact ``modulus`` [MPa]. Returns: p [MPa].
    Raises: nothing. Valid for: slopes well below 1, below the yield; the flat beside the edge takes the
    place of the wedge's other flank by symmetry. Source: Johnson, Contact Mechanics, section 5.2.

    >>> round(blunt_wedge_pressure(math.radians(3.0), 38462.0), 1)
    1007.9
    """
    return modulus * math.tan(slope) / 2.0


def relative_radius(radius_a: float, radius_b: float) -> float:
    """Relative radius of a wall against a part: ``1/R = |1/r_a − 1/r_b|``, a radius of 0 meaning flat.

    Both radii carry the part's sense: convex part +, and a wall that wraps it the same sign.
    Returns infinity for conforming or flat pairs.

    Parameters: radii [mm]. Returns: R [mm]. Raises: nothing. Valid for: parallel cylinder axes.
    Source: Johnson, Contact Mechanics, eq. 4.3.

    >>> relative_radius(12.0, 0.0)
    12.0
    """
    curvature = abs((1 / radius_a if radius_a else 0.0) - (1 / radius_b if radius_b else 0.0))
    return math.inf if curvature < 1e-12 else 1.0 / curvature


def line_contact(load: float, R: float, modulus: float) -> tuple[float, float]:
    """Cylinder on a flat (or nested cylinder): half width and peak pressure.

    ``a = sqrt(4 w R / (π E*))``, ``p0 = 2 w / (π a) = sqrt(w E* / (π R))``

    Parameters: ``load`` per length [N/mm], relative radius ``R`` [mm], contact ``modulus`` [MPa].
    Returns: (a [mm], p0 [MPa]). Raises: ``value-bad`` for a radius or modulus not above zero.
    Valid for: a well below R (within 5 % to about a/R = 0.3), long contact.
    Source: Johnson, Contact Mechanics, eq. 4.43 to 4.45.

    >>> a, p0 = line_contact(35e3, 50.0, contact_modulus(210e3, 0.3, 70e3, 0.3))
    >>> round(a, 4), round(p0, 1)
    (6.2146, 3585.4)
    """
    if R <= 0 or modulus <= 0 or load < 0:
        raise JawrightError("value-bad", what="a line contact needs a radius and a modulus", where="contact")
    if load == 0:
        return 0.0, 0.0
    a = math.sqrt(4 * load * R / (math.pi * modulus))
    return a, 2 * load / (math.pi * a)


def line_load_at(p0: float, R: float, modulus: float) -> float:
    """Load per length at which a line contact reaches the peak pressure ``p0``: ``w = π R p0² / E*``.

    Parameters: ``p0`` [MPa], ``R`` [mm], ``modulus`` [MPa]. Returns: load [N/mm].
    Raises: nothing. Valid for: as ``line_contact``. Source: Johnson, eq. 4.45.

    >>> round(line_load_at(3585.4, 50.0, contact_modulus(210e3, 0.3, 70e3, 0.3)) / 1e3, 2)
    35.0
    """
    return math.pi * R * p0**2 / modulus


def point_contact(load: float, R: float, modulus: float) -> tuple[float, float, float]:
    """Ball on a flat: contact radius, peak pressure, approach.

    ``a³ = 3 P R / (4 E*)``, ``p0 = 3 P / (2 π a²)``, ``δ = a² / R``

    Parameters: ``load`` [N], relative radius ``R`` [mm], ``modulus`` [MPa].
    Returns: (a [mm], p0 [MPa], approach [mm]). Raises: ``value-bad`` as ``line_contact``.
    Valid for: a well below R. Source: Johnson, Contact Mechanics, eq. 4.22 to 4.24.

    >>> a, p0, d = point_contact(100.0, 5.0, contact_modulus(205e3, 0.3, 205e3, 0.3))
    >>> round(a, 6), round(p0, 1), round(d, 6)
    (0.149319, 2141.5, 0.004459)
    """
    if R <= 0 or modulus <= 0 or load <= 0:
        raise JawrightError("value-bad", what="a point contact needs load, radius, modulus", where="contact")
    a = (3 * load * R / (4 * modulus)) ** (1 / 3)
    return a, 3 * load / (2 * math.pi * a**2), a**2 / R


def line_shear_below(depth: float) -> float:
    """Shear on the axis below a line contact, over p0: ``τ/p0 = s − s²/sqrt(1 + s²)``.

    Principal stresses there are ``σx = −p0((1+2s²)/sqrt(1+s²) − 2s)`` and ``σz = −p0/sqrt(1+s²)``.

    Parameters: ``depth`` in half widths. Returns: τ/p0. Raises: nothing. Valid for: depth from 0 up.
    Source: Johnson, Contact Mechanics, eq. 4.46.

    >>> round(line_shear_below(0.786), 4)
    0.3003
    """
    root = math.sqrt(1 + depth**2)
    return depth - depth**2 / root


def point_shear_below(depth: float, nu: float = 0.3) -> float:
    """Shear on the axis below a point contact, over p0, depth in contact radii.

    ``σr/p0 = −(1+ν)(1 − s atan(1/s)) + 1/(2(1+s²))``, ``σz/p0 = −1/(1+s²)``

    Parameters: ``depth`` in radii, above 0; Poisson ratio. Returns: τ/p0. Raises: nothing.
    Valid for: depth above 0. Source: Johnson, Contact Mechanics, eq. 3.45.

    >>> round(point_shear_below(0.481), 4)
    0.31
    """
    s = depth
    radial = -(1 + nu) * (1 - s * math.atan2(1.0, s)) + 1 / (2 * (1 + s**2))
    return abs(radial + 1 / (1 + s**2)) / 2
