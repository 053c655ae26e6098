"""A screwed joint: stiffness of what it clamps, share of a pull on its screw, pull that parts it. mm, N."""

from __future__ import annotations

import math

from jawright.errors import JawrightError

SOURCE = "Shigley, Mechanical Engineering Design, chapter 8: pressure cone of 30 degrees"
CONE = math.radians(30.0)


def frustum(diameter: float, washer: float, length: float, E: float) -> float:
    """Stiffness of a cone of clamped metal: ``k = π E d tan α / ln[(2 t tan α + D − d)(D + d)/...]``.

    ``... = (2 t tan α + D + d)(D − d)``.

    Parameters: hole ``diameter`` d, ``washer`` face D where the cone starts, ``length`` t [mm], ``E`` [MPa].
    Returns: [N/mm]. Raises: ``value-bad`` for sizes not above zero or a face no wider than the hole.
    Valid for: clamped metal wider than the cone. Source: Shigley, equation 8-20.

    >>> round(frustum(12.0, 18.0, 20.0, 207e3) / 2)
    2235068
    """
    if min(diameter, length, E) <= 0 or washer <= diameter:
        raise JawrightError(
            "value-bad", what="a screwed joint needs a face wider than its hole", where="screw"
        )
    grown = 2 * length * math.tan(CONE) + washer
    ratio = (grown - diameter) * (washer + diameter) / ((grown + diameter) * (washer - diameter))
    return math.pi * E * diameter * math.tan(CONE) / math.log(ratio)


def screw_share(screw: float, members: float) -> float:
    """Share of a pull on a tightened joint that its screw feels: ``C = k_b/(k_b + k_m)``.

    Parameters: stiffness of ``screw`` and ``members`` [N/mm]. Returns: 0..1. Raises: nothing.
    Valid for: a joint that has not parted. Source: Shigley, equation 8-24.

    >>> round(screw_share(436e3, 2235e3), 5)
    0.16323
    """
    return screw / (screw + members)


def parts_at(preload: float, share: float) -> float:
    """Pull at which a joint parts: ``P_0 = F_i/(1 − C)`` [N].

    Parameters: ``preload`` [N], ``share`` C. Returns: [N]. Raises: nothing. Valid for: as ``screw_share``.
    Source: Shigley, equation 8-30.

    >>> round(parts_at(36660.0, 0.16325))
    43812
    """
    return preload / (1 - share)
