"""One tolerance over a population: which parts are good, with the bonus and datum shift of the print.

Lengths in mm, angles in rad, forces in N, torques in N·m.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from jawright.job.model import ToleranceAsk
from jawright.proof.deviations import Ask, Judged
from jawright.proof.population import LOST
from jawright.proof.shift import Play, least_beyond
from jawright.statistics.capability import cp, cpk, wilson
from jawright.statistics.draw import normal_cut, stream
from jawright.statistics.tolerance import bonus

Floats = NDArray[np.float64]

PASS_YIELD = 0.9973
"""A process of Cpk 1 with both tails: ± 3 σ (e-Handbook 6.1.6)."""


@dataclass(frozen=True)
class Outcome:
    """One tolerance over a population."""

    share: float
    low: float
    high: float
    reach: float  # deviation that 99.73 % of parts stay within, bonus and shift taken off [mm]
    judged: Judged
    index: float | None  # Cpk, for plain distances
    potential: float | None  # Cp, for plain distances
    good: NDArray[np.bool_]  # (m,)
    extra: Floats | float = 0.0  # bonus of each part [mm]


def size_limits(size: ToleranceAsk, diameter: float) -> tuple[float, float]:
    """Smallest and largest size [mm] that a size tolerance allows."""
    lower, upper = size.limits
    return diameter + lower, diameter + upper


def bonus_of(
    ask: Ask, tolerances: Sequence[ToleranceAsk], count: int, salt: str
) -> tuple[Floats | float, str]:
    """Extra zone of each part by its own hole size, and the words for it."""
    t, f = ask.tolerance, ask.feature
    if t.material == "" or f is None:
        return 0.0, ""
    size = next((q for q in tolerances if q.feature == t.feature and q.kind in ("size", "diameter")), None)
    if size is None:
        return 0.0, f"no bonus counted: the size tolerance of {t.feature} is not given"
    across = f.diameter or f.across
    if across is None:
        return 0.0, f"no bonus counted: {t.feature} is not round"
    low, high = size_limits(size, across)
    half = (high - low) / 2
    actual = (low + high) / 2 + normal_cut(stream(f"{salt}/size {f.name}"), count, half=half, sigma=half / 3)
    extra = bonus(actual, low, high, feature="pin" if f.boss else "hole", condition=t.material)
    return extra, f"bonus from sizes spread over ± {half:g} mm about the middle of their limits"


def outcome_of(
    ask: Ask, judged: Judged, extra: Floats | float, lost: NDArray[np.bool_], free: Play
) -> Outcome:
    """Which parts are good in one tolerance, and how far 99.73 % of them are off.

    ``extra`` is the bonus of each part, ``lost`` marks those that do not seat, ``free`` is the datum shift.
    """
    value = judged.value
    if judged.ends is not None and not free.none and ask.feature is not None:
        bare = np.zeros(judged.ends.shape[:2])
        places = np.repeat(np.array([ask.feature.center[:2]]), judged.ends.shape[1], axis=0)
        value = 2 * least_beyond(np.nan_to_num(judged.ends), bare, places, free)
    value = np.where(lost, LOST, value)
    good = value <= judged.limit + extra
    y = wilson(int(good.sum()), len(value))
    reach = float(np.quantile(np.where(lost, LOST, np.maximum(value - extra, 0.0)), PASS_YIELD))
    index = potential = None
    if ask.measure in ("distance", "height") and ask.tolerance.kind == "distance" and not lost.any():
        one = judged.parts[:, 0]
        sd = float(one.std())
        if sd > 0:
            index = cpk(-judged.limit, judged.limit, mean=float(one.mean()), sigma=sd)
            potential = cp(-judged.limit, judged.limit, sd)
    return Outcome(y.share, y.low, y.high, reach, judged, index, potential, good, extra)


def patterns(asks: Sequence[Ask]) -> list[list[int]]:
    """Numbers of the tolerances that are one pattern: positions to the same datums in the same conditions.

    Source: simultaneous requirements (ASME Y14.5), which hold unless the print says otherwise.
    """
    groups: dict[tuple[tuple[str, ...], tuple[str, ...], bool], list[int]] = {}
    for i, a in enumerate(asks):
        if a.tolerance.kind == "position" and a.measure == "diameter" and a.tolerance.diametral:
            t = a.tolerance
            groups.setdefault((t.datums, t.boundary, t.composite), []).append(i)
    return [g for g in groups.values() if len(g) > 1]


def pattern_good(asks: Sequence[Ask], got: Sequence[Outcome], free: Play) -> NDArray[np.bool_]:
    """Which parts have one place on the gauge that brings every feature of the pattern into its zone (m,)."""
    off, room, places = [], [], []
    for a, o in zip(asks, got, strict=True):
        ends = o.judged.whole
        assert ends is not None and a.feature is not None
        off.append(ends)
        zone = np.broadcast_to((o.judged.limit + np.asarray(o.extra)) / 2, len(ends))
        room.append(np.repeat(zone[:, None], ends.shape[1], axis=1))
        places.append(np.repeat(np.array([a.feature.center[:2]]), ends.shape[1], axis=0))
    every = np.concatenate(off, axis=1)
    seated = np.isfinite(every).all(axis=(1, 2))
    beyond = least_beyond(np.nan_to_num(every), np.concatenate(room, axis=1), np.concatenate(places), free)
    return np.asarray(seated & (beyond <= 0.0))
