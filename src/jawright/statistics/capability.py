"""Yield with its interval, capability indices, fraction out of limits.

Source of the formulas: NIST/SEMATECH e-Handbook of Statistical Methods, sections 6.1.6 (capability)
and 7.2.4.1 (interval of a proportion).

Values stand in any one unit, results in the same; shares, chances and indices are plain numbers.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from scipy.special import ndtr, ndtri

ANGLES = 512
"""Angles of the midpoint rule round a circle."""
QUARTER = tuple(
    (math.cos(f), math.sin(f)) for f in ((k + 0.5) * 2 * math.pi / ANGLES for k in range(ANGLES // 4))
)


@dataclass(frozen=True, slots=True)
class Yield:
    """Share of good parts with its interval (from sampling alone)."""

    good: int
    count: int
    share: float
    low: float
    high: float


def wilson(good: int, count: int, *, confidence: float = 0.95) -> Yield:
    """Share ``good/count`` with Wilson's score interval.

    (p + z²/2n ± z sqrt(p(1−p)/n + z²/4n²)) / (1 + z²/n), z the two-sided normal quantile.
    Source: Wilson, J. Am. Stat. Assoc. 22 (1927) 209-212. Valid for any 0 <= good <= count, count > 0.
    """
    if count <= 0 or not 0 <= good <= count:
        raise ValueError("need 0 <= good <= count and at least one part")
    z = float(ndtri(0.5 + confidence / 2))
    p = good / count
    mid = p + z * z / (2 * count)
    half = z * math.sqrt(p * (1 - p) / count + z * z / (4 * count * count))
    scale = 1 + z * z / count
    low = 0.0 if good == 0 else (mid - half) / scale
    high = 1.0 if good == count else (mid + half) / scale
    return Yield(good, count, p, low, high)


def cp(low: float, high: float, sigma: float) -> float:
    """Capability ``(high − low) / 6σ``. Source: e-Handbook 6.1.6."""
    return (high - low) / (6 * sigma)


def cpk(low: float | None, high: float | None, *, mean: float, sigma: float) -> float:
    """Capability of the nearer limit ``min(high − mean, mean − low) / 3σ``; None: no limit on that side."""
    sides = [
        v
        for v in (None if high is None else high - mean, None if low is None else mean - low)
        if v is not None
    ]
    if not sides:
        raise ValueError("need at least one limit")
    return min(sides) / (3 * sigma)


def cpk_interval(index: float, count: int, *, confidence: float = 0.95) -> tuple[float, float]:
    """Approximate interval ``Cpk ± z sqrt(1/9n + Cpk²/2(n−1))``.

    Source: Bissell, Applied Statistics 39 (1990), as in e-Handbook 6.1.6. Valid for n above about 25.
    """
    z = float(ndtri(0.5 + confidence / 2))
    half = z * math.sqrt(1 / (9 * count) + index**2 / (2 * (count - 1)))
    return (index - half, index + half)


def fraction_out(low: float | None, high: float | None, *, mean: float, sigma: float) -> float:
    """Share of a normal population outside the limits."""
    above = 0.0 if high is None else float(ndtr((mean - high) / sigma))
    below = 0.0 if low is None else float(ndtr((low - mean) / sigma))
    return above + below


def defects_per_million(index: float, *, shift: float = 0.0, both: bool = True) -> float:
    """Parts per million out of limits for a normal process of capability ``index``.

    ``shift`` [σ] moves the mean toward one limit; ``both`` counts both tails.
    """
    near = float(ndtr(-(3 * index - shift)))
    far = float(ndtr(-(3 * index + shift))) if both else 0.0
    return 1e6 * (near + far)


def disc_share(sigma_long: float, sigma_short: float, radius: float) -> float:
    """Share of a centered two-dimensional normal population inside a circle.

    In polar coordinates ∫ (1 − exp(−R² q/2)) / q dφ / (2π σ₁ σ₂), q = cos²φ/σ₁² + sin²φ/σ₂², by the
    midpoint rule (spectral for a periodic integrand). ``sigma_*`` are the standard deviations along
    the principal axes [mm].
    """
    a, b = max(sigma_long, sigma_short), min(sigma_long, sigma_short)
    if radius <= 0:
        return 0.0
    if a == 0:
        return 1.0
    if b < 0.02 * a:  # so thin that the short axis does not matter at the rim
        return float(2 * ndtr(math.sqrt(max(radius**2 - b**2, 0.0)) / a) - 1)
    total, far, expm1 = 0.0, -(radius**2), math.expm1
    for c, s in QUARTER:  # a quarter turn, by symmetry
        q = (c / a) ** 2 + (s / b) ** 2
        total += -expm1(far * q / 2) / q
    return min(1.0, 4 * total / (ANGLES * a * b))
