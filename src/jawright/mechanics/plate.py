"""Closed forms of elastic bodies: squeezed block, hole in a stressed plate, ring, thin wall. mm, N, MPa."""

from __future__ import annotations

import math

from jawright.errors import JawrightError

SOURCE = "Timoshenko and Goodier, Theory of Elasticity; Roark's Formulas for Stress and Strain"


def squeeze(force: float, *, area: float, length: float, E: float) -> tuple[float, float]:
    """Stress and shortening of a block pressed along ``length``: ``σ = F/A``, ``δ = σ L/E``.

    Parameters: ``force`` [N], ``area`` [mm²], ``length`` [mm], ``E`` [MPa]. Returns: (σ [MPa], δ [mm]).
    Raises: ``value-bad`` for an area or modulus not above zero. Valid for: even stress, elastic.
    Source: Hooke's law.

    >>> stress, short = squeeze(20e3, area=1000.0, length=80.0, E=68.9e3)
    >>> stress, round(short, 6)
    (20.0, 0.023222)
    """
    if area <= 0 or E <= 0:
        raise JawrightError(
            "value-bad", what="a block needs a section and a modulus above zero", where="part"
        )
    return force / area, force * length / (area * E)


def sideways(stress: float, *, width: float, E: float, nu: float) -> float:
    """Growth across a squeezed block: ``ν σ b/E``.

    Parameters: ``stress`` [MPa], ``width`` b [mm]. Returns: [mm]. Raises: nothing. Valid for: free sides.
    Source: Hooke's law.

    >>> round(sideways(20.0, width=50.0, E=68.9e3, nu=0.33), 6)
    0.00479
    """
    return nu * stress * width / E


def hole_release(stress: float, *, diameter: float, E: float) -> tuple[float, float]:
    """Change of the diameters of a hole made round in a squeezed plate, when the stress is let go.

    Along the load ``+3 σ D/E``, across it ``−σ D/E``.

    Parameters: ``stress`` [MPa], compression +; ``diameter`` [mm]. Returns: (along, across) [mm].
    Raises: nothing. Valid for: plane stress, hole small against its distance from edges and other holes.
    Source: Kirsch 1898; Timoshenko and Goodier, plate with a small circular hole.

    >>> [round(v, 5) for v in hole_release(20.0, diameter=10.0, E=68.9e3)]
    [0.00871, -0.0029]
    """
    return 3 * stress * diameter / E, -stress * diameter / E


def pinched_ring(
    load: float, *, radius: float, inertia: float, E: float, area: float = 0.0, nu: float = 0.3
) -> tuple[float, float]:
    """Ring pinched across a diameter: closing along the load and growth across it.

    ``D_V = (W R³/EI)(π k1/4 − 2 k2²/π)``, ``D_H = (W R³/EI)(2 k2²/π − k2 + k1/2)``,
    ``k1 = 1 − α + β``, ``k2 = 1 − α``, ``α = I/(A R²)``, ``β = 1.2·2(1+ν) I/(A R²)`` (rectangle).
    Without ``area`` the thin ring: α = β = 0.

    Parameters: ``load`` [N], mean ``radius`` [mm], ``inertia`` I of the wall section [mm⁴], its ``area``.
    Returns: (closing, growth) [mm], both positive. Raises: ``value-bad`` for sizes not above zero.
    Valid for: wall up to about a sixth of the radius without, a third with the ``area`` terms.
    Source: Roark's Formulas for Stress and Strain, table 9.2 case 1.

    >>> a, b = pinched_ring(10.0, radius=100.0, inertia=10 * 5**3 / 12, E=200e3)
    >>> round(a, 7), round(b, 7)
    (0.0714136, 0.0655775)
    """
    if radius <= 0 or inertia <= 0 or E <= 0:
        raise JawrightError("value-bad", what="a ring needs a radius, a wall and a modulus", where="part")
    alpha = inertia / (area * radius**2) if area > 0 else 0.0
    beta = 1.2 * 2 * (1 + nu) * alpha
    k1, k2 = 1 - alpha + beta, 1 - alpha
    unit = load * radius**3 / (E * inertia)
    closing = unit * (math.pi * k1 / 4 - 2 * k2**2 / math.pi)
    growth = unit * (2 * k2**2 / math.pi - k2 + k1 / 2)
    return closing, growth


def ring_moment(load: float, radius: float) -> float:
    """Bending moment under the load of a pinched thin ring: ``W R/π``.

    Parameters: ``load`` [N], mean ``radius`` [mm]. Returns: [N·mm]. Raises: nothing.
    Valid for: thin rings. Source: Roark, table 9.2 case 1.

    >>> round(ring_moment(100.0, 10.0), 3)
    318.31
    """
    return load * radius / math.pi


def ring_points(n: int) -> tuple[float, float]:
    """Thin ring under ``n`` equal radial loads: inward motion at a load, outward midway, over F R³/(EI).

    ``½[(θ + sin θ cos θ)/(2 sin²θ) − 1/θ]`` and ``¼[2/θ − 1/sin θ − θ cos θ/sin²θ]``, ``θ = π/n``.

    Parameters: ``n`` ≥ 2. Returns: two coefficients. Raises: ``value-bad`` below 2.
    Valid for: thin rings. Source: Roark, table 9.2 case 7.

    >>> [round(v, 7) for v in ring_points(2)]
    [0.0743892, 0.0683099]
    """
    if n < 2:
        raise JawrightError(
            "value-bad", what="a ring needs at least two loads to be in balance", where="part"
        )
    t = math.pi / n
    s, c = math.sin(t), math.cos(t)
    return ((t + s * c) / (2 * s * s) - 1 / t) / 2, (2 / t - 1 / s - t * c / (s * s)) / 4


def wall_bow(q: float, *, height: float, thickness: float, E: float, nu: float) -> tuple[float, float]:
    """Free-standing thin wall pressed along its top edge: deflection and root stress.

    ``w = q h³/(3 E' I')``, ``E' = E/(1 − ν²)``, ``I' = t³/12``; ``σ = 6 q h/t²``

    Parameters: ``q`` [N/mm], ``height``, ``thickness`` [mm]. Returns: (w [mm], σ [MPa]).
    Raises: ``value-bad`` for a thickness not above zero. Valid for: long walls, elastic: compare σ with the
    yield before the deflection is believed.
    Source: plane-strain cantilever, Timoshenko.

    >>> w, s = wall_bow(100.0, height=20.0, thickness=3.0, E=71.7e3, nu=0.33)
    >>> round(w, 3), round(s)
    (1.473, 1333)
    """
    if thickness <= 0:
        raise JawrightError("value-bad", what="a wall needs a thickness above zero", where="part")
    stiff = E / (1 - nu**2) * thickness**3 / 12
    return q * height**3 / (3 * stiff), 6 * q * height / thickness**2
