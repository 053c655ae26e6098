"""What the print's tolerances mean for one measured deviation, and how tolerances add up.

Sources: ASME Y14.5-2018 and ISO 1101:2017 (zones), ISO 2692:2021 (material conditions);
E. Scholz-type stacks: F. Scholz, Tolerance Stack Analysis Methods (1995).

Values stand in any one unit, results in the same; shares, chances and indices are plain numbers.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Literal

import numpy as np
from numpy.typing import ArrayLike, NDArray

Floats = NDArray[np.float64]
Side = Literal["hole", "pin"]
Condition = Literal["", "maximum", "least"]


def position(dx: ArrayLike, dy: ArrayLike) -> Floats:
    """Position deviation as a diameter: ``2 hypot(dx, dy)`` [mm]. Source: ASME Y14.5, ISO 1101."""
    return np.asarray(2 * np.hypot(dx, dy))


def bonus(size: ArrayLike, low: float, high: float, *, feature: Side, condition: Condition) -> Floats:
    """Extra tolerance [mm] from the actual ``size`` within its limits ``low`` and ``high``.

    Maximum material: hole ``size − low``, pin ``high − size``; least material the other way round;
    clipped to the size tolerance; 0 regardless of feature size. Source: ISO 2692, ASME Y14.5.
    """
    s = np.asarray(size, dtype=float)
    if condition == "":
        return np.zeros_like(s)
    from_low = (feature == "hole") == (condition == "maximum")
    raw = s - low if from_low else high - s
    return np.asarray(np.clip(raw, 0.0, high - low))


def virtual_size(
    low: float, high: float, zone: float, *, feature: Side, condition: Literal["maximum", "least"]
) -> float:
    """Boundary a feature never crosses (maximum) or never withdraws from (least material) [mm].

    Hole: smallest size less the zone at maximum material, largest size plus the zone at least
    material; pin the other way round. Source: ISO 2692.
    """
    if condition == "maximum":
        return low - zone if feature == "hole" else high + zone
    return high + zone if feature == "hole" else low - zone


def floating_fastener(hole_smallest: float, fastener_largest: float) -> float:
    """Position tolerance of both clearance holes ``H − F`` [mm]. Source: ASME Y14.5, appendix B."""
    return hole_smallest - fastener_largest


def fixed_fastener(
    hole_smallest: float, fastener_largest: float, *, projected: float = 0.0, grip: float = math.inf
) -> float:
    """Position tolerance of clearance hole and tapped hole, shared equally [mm].

    ``H − F = 2T`` with a projected zone. Without one, the tapped hole may lean by its own tolerance
    over its depth and ``H − F = 2T (1 + P/D)`` holds: ``projected`` is the length P of fastener that
    stands out, ``grip`` the depth D in the tapped hole; the default (P = 0) is a projected zone.
    Source: ASME Y14.5, appendix B.
    """
    share = 0.0 if math.isinf(grip) else projected / grip
    return (hole_smallest - fastener_largest) / (2 * (1 + share))


def projected_deviation(
    near: tuple[float, float], far: tuple[float, float], *, length: float, projected: float
) -> float:
    """Largest position deviation (diameter) of an axis inside a projected zone [mm].

    ``near`` is the axis' offset at the face the part mates on, ``far`` its offset ``length`` deeper;
    the zone stands ``projected`` out of the near face. Source: ISO 10578, ASME Y14.5.
    """
    k = -projected / length
    out = (near[0] + k * (far[0] - near[0]), near[1] + k * (far[1] - near[1]))
    return 2 * max(math.hypot(*near), math.hypot(*out))


def worst_case(halves: Sequence[float]) -> float:
    """Sum of the ± halves: no assembly is worse. Source: Shigley's Mechanical Engineering Design, 1-15."""
    return math.fsum(abs(h) for h in halves)


def root_sum_square(halves: Sequence[float]) -> float:
    """Statistical stack ``sqrt(Σ h²)`` of independent ± halves. Source: Scholz 1995."""
    return math.hypot(*halves)


def shares(variances: Sequence[float]) -> tuple[float, ...]:
    """Share of each source in the total variance; zeros when nothing varies."""
    total = math.fsum(variances)
    return tuple(v / total if total > 0 else 0.0 for v in variances)
