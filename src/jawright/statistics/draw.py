"""Reproducible random numbers: a stable text names the draw, so that same inputs give the same bytes.

Values stand in any one unit, results in the same; shares, chances and indices are plain numbers.
"""

from __future__ import annotations

import hashlib
from collections.abc import Sequence
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray
from scipy.special import ndtr, ndtri

Floats = NDArray[np.float64]


def seed_of(text: str) -> int:
    """The seed a text stands for: the first 8 bytes of its SHA-256."""
    return int.from_bytes(hashlib.sha256(text.encode()).digest()[:8], "big")


def stream(text: str) -> np.random.Generator:
    """A PCG64 stream named by ``text``; the same text gives the same numbers on every machine."""
    return np.random.Generator(np.random.PCG64(seed_of(text)))


def normal(rng: np.random.Generator, count: int, sigma: float) -> Floats:
    """``count`` normal values of mean 0 and standard deviation ``sigma``."""
    return np.asarray(rng.standard_normal(count) * sigma)


def normal_cut(rng: np.random.Generator, count: int, *, half: float, sigma: float) -> Floats:
    """Normal values (mean 0, ``sigma`` before the cut) of parts sorted to within ± ``half``.

    By the inverse of the cut distribution: one uniform number per value. ``half`` 0 gives zeros.
    Raises ValueError for a negative half or sigma.
    """
    if half < 0 or sigma < 0:
        raise ValueError("half and sigma must not be negative")
    u = rng.random(count)
    if half == 0 or sigma == 0:
        return np.zeros(count)
    low = ndtr(-half / sigma)
    return np.asarray(np.clip(sigma * ndtri(low + u * (1 - 2 * low)), -half, half))


@lru_cache(maxsize=256)
def cut_sigma(half: float, sigma: float) -> float:
    """Standard deviation that is left after a normal distribution is cut at ± ``half``.

    σ² (1 − 2 a φ(a) / (2 Φ(a) − 1)), a = half/σ. Source: moments of the doubly truncated normal
    (Johnson, Kotz and Balakrishnan, Continuous Univariate Distributions 1, section 13.10.1).
    """
    if half == 0 or sigma == 0:
        return 0.0
    a = half / sigma
    density = np.exp(-(a**2) / 2) / np.sqrt(2 * np.pi)
    return float(sigma * np.sqrt(1 - 2 * a * density / (2 * ndtr(a) - 1)))


def uniform(rng: np.random.Generator, count: int, *, half: float) -> Floats:
    """Values spread evenly over ± ``half``."""
    return np.asarray((2 * rng.random(count) - 1) * half)


def resample(rng: np.random.Generator, count: int, *, values: Sequence[float], spread: float = 1.0) -> Floats:
    """Values drawn again from measured ones, each as likely; their deviation from the mean times ``spread``.

    Raises ValueError for none. Source: the empirical distribution (Efron, Ann. Stat. 7 (1979) 1-26).
    """
    if not len(values):
        raise ValueError("there are no values to draw from")
    known = np.sort(np.asarray(values, dtype=float))
    got = known[np.minimum((rng.random(count) * len(known)).astype(np.int64), len(known) - 1)]
    return np.asarray(known.mean() + (got - known.mean()) * spread)


def triangular(rng: np.random.Generator, count: int, *, low: float, mode: float, high: float) -> Floats:
    """Triangular values; a width of zero gives the mode."""
    u = rng.random(count)
    if high <= low:
        return np.full(count, float(mode))
    cut = (mode - low) / (high - low)
    left = low + np.sqrt(u * (high - low) * (mode - low))
    right = high - np.sqrt((1 - u) * (high - low) * (high - mode))
    return np.asarray(np.where(u < cut, left, right))
