"""Stiffness and play of a sprung mount from indicator readings at two heights. mm, N, rad."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy import stats

from jawright.errors import JawrightError

Floats = NDArray[np.float64]

SOURCE = "least squares with Student's t, e.g. Draper and Smith, Applied Regression Analysis"
FEWEST = 4
"""Readings from which a slope with an interval is told."""
OPEN = 10.0
"""Where readings set no upper end to a stiffness, it is put this many times above the set value."""


@dataclass(frozen=True, slots=True)
class Line:
    """``y = start + slope x`` with half widths of both at the confidence asked for."""

    slope: float
    slope_half: float
    start: float
    start_half: float
    rest: float  # standard deviation of what is left


@dataclass(frozen=True, slots=True)
class Stiffness:
    """``low``, ``set``, ``high``; ``bounded`` False where the readings set no upper end."""

    low: float
    set: float
    high: float
    bounded: bool


@dataclass(frozen=True, slots=True)
class Mount:
    """``tilt`` [N·mm/rad] about the bed, ``push`` [N/mm]; ``tilt_play`` [rad], ``push_play`` [mm] ± half."""

    tilt: Stiffness
    push: Stiffness
    tilt_play: tuple[float, float]
    push_play: tuple[float, float]


def line(x: Floats, y: Floats, confidence: float = 0.95) -> Line:
    """Straight line through n points with intervals.

    Parameters: ``x``, ``y`` (n,). Returns: ``Line``. Raises: ``value-bad`` for fewer than ``FEWEST``
    points or all at one x. Valid for: equal scatter of y, exact x. Source: Draper and Smith.

    >>> fit = line(np.array([0.0, 1, 2, 3]), np.array([1.0, 3, 5, 7]))
    >>> round(fit.slope, 9), round(fit.start, 9)
    (2.0, 1.0)
    """
    n = len(x)
    if n < FEWEST or np.ptp(x) <= 0:
        raise JawrightError(
            "value-bad",
            what=f"{n} readings do not tell a slope with its interval",
            where="readings",
            todo=f"read at least {FEWEST} torque steps, loading and unloading",
        )
    mean = float(x.mean())
    spread = float(((x - mean) ** 2).sum())
    slope = float((x - mean) @ y) / spread
    start = float(y.mean()) - slope * mean
    rest = math.sqrt(float(((y - start - slope * x) ** 2).sum()) / (n - 2))
    t = float(stats.t.ppf(0.5 + confidence / 2, n - 2))
    return Line(
        slope, t * rest / math.sqrt(spread), start, t * rest * math.sqrt(1 / n + mean**2 / spread), rest
    )


def stiffness(x: Floats, y: Floats, *, what: str, load_band: tuple[float, float] = (1.0, 1.0)) -> Stiffness:
    """Load over motion with its interval: ``1/slope``; ``load_band`` the ends of the load over its set value.

    Parameters: ``x`` loads, ``y`` motions (n,). Returns: ``Stiffness``. Raises: ``value-bad`` when the
    motion does not grow with the load beyond the scatter of the readings. Valid for: as ``line``.
    Source: as ``line``.
    """
    fit = line(x, y)
    if fit.slope <= fit.slope_half / OPEN or fit.slope <= 0:
        raise JawrightError(
            "value-bad",
            what=f"{what} cannot be told: the readings scatter more than they grow with the load",
            where="readings",
            todo="use a finer indicator, more torque steps and a higher torque",
        )
    bounded = fit.slope - fit.slope_half > fit.slope / OPEN
    top = fit.slope - fit.slope_half if bounded else fit.slope / OPEN
    return Stiffness(load_band[0] / (fit.slope + fit.slope_half), 1 / fit.slope, load_band[1] / top, bounded)


def calibrate(
    force: Floats, low: Floats, high: Floats, *, heights: tuple[float, float], load_height: float,
    force_band: tuple[float, float] = (1.0, 1.0),
) -> Mount:  # fmt: skip
    """Mount from indicator readings at two heights.

    ``lean = (high − low)/(z2 − z1)`` grows with the moment ``F h`` about the bed, what is left at the
    bed with ``F``.

    Parameters: ``force`` (n,) [N] at ``load_height`` [mm]; readings ``low``, ``high`` (n,) [mm] at
    ``heights``, + where the jaw gives way; ``force_band`` ends of the force over its set value.
    Returns: ``Mount``; play is the reading a line through the steps leaves at no load. Raises:
    ``value-bad``. Valid for: a jaw stiff against its mount below the upper indicator.
    Source: statics; ``line``.
    """
    z1, z2 = heights
    if z2 - z1 <= 0 or load_height <= 0:
        raise JawrightError(
            "value-bad", what="the upper indicator must stand above the lower one", where="readings"
        )
    lean = (high - low) / (z2 - z1)
    foot = low - lean * z1
    tilt = line(force * load_height, lean)
    push = line(force, foot)
    return Mount(
        stiffness(force * load_height, lean, what="the tilt stiffness", load_band=force_band),
        stiffness(force, foot, what="the push stiffness", load_band=force_band),
        (tilt.start, tilt.start_half),
        (push.start, push.start_half),
    )
