"""Stiffness and play of a sprung mount from indicator readings at two heights. mm, N, rad."""

from __future__ import annotations

import math
from collections.abc import Callable
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


STRAY = 1e-3
"""Chance that one of a set of good readings is called stray."""


def _refuse_stray(force: Floats, y: Floats, name: str, said: Callable[[float], str]) -> None:
    """Refuse a reading that lies off the line through the others, as a slip in writing does.

    By the studentized deleted residual (Cook and Weisberg, Residuals and Influence in Regression) at
    ``STRAY`` shared among the readings.
    """
    n = len(force)
    if n < FEWEST + 1 or np.ptp(force) <= 0:
        return
    x = np.column_stack([np.ones(n), force / force.max()])
    hat = np.einsum("ij,jk,ik->i", x, np.linalg.inv(x.T @ x), x)
    rest = y - x @ np.linalg.lstsq(x, y)[0]
    total = float(rest @ rest)
    left = np.maximum(total - rest**2 / (1 - hat), 1e-9 * max(total, 1e-18)) / (n - 3)
    deleted = np.abs(rest) / np.sqrt(left * (1 - hat))
    worst = int(np.argmax(deleted))
    off = abs(float(rest[worst] / (1 - hat[worst])))
    if deleted[worst] > stats.t.ppf(1 - STRAY / (2 * n), n - 3) and off > LEAST_STRAY:
        raise JawrightError(
            "value-bad",
            what=f"the {name} indicator of reading {worst + 1} lies {said(off)} off the line of the others",
            where="readings",
            todo="read it again, or leave that reading out",
        )


LEAST_STRAY = 0.001
"""Nothing closer to the line than an indicator's division [mm] is stray."""


def calibrate(
    force: Floats, low: Floats, high: Floats, *, heights: tuple[float, float], load_height: float,
    force_band: tuple[float, float] = (1.0, 1.0), said: Callable[[float], str] = "{:.4f} mm".format,
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
    for name, values in (("lower", low), ("upper", high)):
        _refuse_stray(force, values, name, said)
    lean = (high - low) / (z2 - z1)
    foot = low - lean * z1
    tilt = line(force * load_height, lean)
    if tilt.slope < -tilt.slope_half:
        raise JawrightError(
            "value-bad",
            what="the upper indicator moves less than the lower one: the jaw lifts, or they are swapped",
            where="readings",
            todo="count + where the jaw gives way, away from the bar, and check which reading is which",
        )
    push = line(force, foot)
    return Mount(
        stiffness(force * load_height, lean, what="the tilt stiffness", load_band=force_band),
        stiffness(force, foot, what="the push stiffness", load_band=force_band),
        (tilt.start, tilt.start_half),
        (push.start, push.start_half),
    )
