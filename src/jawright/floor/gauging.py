"""Gauge noise against the variation of the parts, and a result judged with its measurement uncertainty.

Lengths in mm; shares and chances are plain numbers.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import NDArray
from scipy.special import fdtri

from jawright.floor.run import Series
from jawright.statistics.trend import GaugeStudy, gauge_study, repeat_sigma

Floats = NDArray[np.float64]
Judgment = Literal["in", "out", "not proven"]

TENTH = 0.1
"""A gauge should resolve a tenth of the tolerance (common practice, no source)."""


@dataclass(frozen=True, slots=True)
class GaugeShare:
    """One sigma of the gauge [mm], its share of the variance seen, with bounds at 99.5 % each."""

    sigma: float
    freedom: int
    share: float
    low: float
    high: float


def gauge_share(parts: tuple[str, ...], values: Floats) -> GaugeShare | None:
    """Gauge noise from parts measured more than once; None without at least five repeats.

    The share is s²(gauge) / s²(single readings); its bounds come from Fisher's F of the two.
    """
    groups: dict[str, list[float]] = {}
    for p, v in zip(parts, values, strict=True):
        if math.isfinite(v):
            groups.setdefault(p, []).append(float(v))
    many = [g for g in groups.values() if len(g) > 1]
    if sum(len(g) - 1 for g in many) < 5 or len(groups) < 5:
        return None
    sigma, freedom = repeat_sigma(many)
    single = np.array([g[0] for g in groups.values()])
    total = float(single.var(ddof=1))
    if total <= 0:
        return None
    share = sigma**2 / total
    k = len(single) - 1
    return GaugeShare(
        sigma,
        freedom,
        share,
        share / float(fdtri(freedom, k, 0.995)),
        share / float(fdtri(freedom, k, 0.005)),
    )


def collapse(parts: tuple[str, ...], values: Floats) -> tuple[NDArray[np.int64], Floats]:
    """Rows of the first reading of each part, and the mean of its readings."""
    first: dict[str, int] = {}
    sums: dict[str, list[float]] = {}
    for k, p in enumerate(parts):
        first.setdefault(p, k)
        if math.isfinite(values[k]):
            sums.setdefault(p, []).append(float(values[k]))
    rows = np.array(list(first.values()), dtype=np.int64)
    means = np.array([float(np.mean(sums[p])) if p in sums else math.nan for p in first])
    return rows, means


def study(parts: tuple[str, ...], who: tuple[str, ...] | None, values: Floats) -> GaugeStudy | None:
    """A gauge study, when every person has measured every part equally often; else None."""
    if who is None:
        return None
    people, names = sorted(set(who)), list(dict.fromkeys(parts))
    cells: dict[tuple[str, str], list[float]] = {}
    for w, p, v in zip(who, parts, values, strict=True):
        cells.setdefault((w, p), []).append(float(v))
    trials = {len(c) for c in cells.values()}
    if len(trials) != 1 or len(cells) != len(people) * len(names) or not np.isfinite(values).all():
        return None
    table = np.array([[cells[(w, p)] for p in names] for w in people]).transpose(0, 2, 1)
    try:
        return gauge_study(table)
    except ValueError:  # not 2 or 3 people, 2 or 3 trials, 2 to 10 parts
        return None


def study_words(parts: tuple[str, ...], who: tuple[str, ...] | None, series: Series) -> list[str]:
    """The gauge study in a sentence, when the run is one."""
    s = study(parts, who, series.values)
    if s is None:
        return []
    good = "good" if s.percent < 10 else "usable" if s.percent <= 30 else "not good enough"
    return [
        f"{series.name}: gauge study by averages and ranges: repeatability {s.repeatability:.4f} mm, "
        f"between people {s.reproducibility:.4f} mm, together {s.percent:.1f} % of the total variation, "
        f"{s.classes} classes told apart: {good} (10 and 30 %: Measurement Systems Analysis, 4th edition)"
    ]


def judge(value: float, low: float | None, high: float | None, *, uncertainty: float) -> Judgment:
    """Whether a result proves conformity: limits moved inward by the expanded ``uncertainty`` [mm].

    "in" within the reduced limits, "out" beyond the limits by more than the uncertainty, else
    "not proven" either way. Source: ISO 14253-1 (decision rules, from memory). None: no limit there.
    Raises ValueError for a negative uncertainty.
    """
    if uncertainty < 0:
        raise ValueError("an uncertainty is not negative")
    below = math.inf if low is None else value - low
    above = math.inf if high is None else high - value
    room = min(below, above)
    if room >= uncertainty:
        return "in"
    return "out" if room < -uncertainty else "not proven"


def gauge_words(resolution: float, width: float) -> str:
    """A warning when the gauge is too coarse for a tolerance ``width`` [mm]; "" when it is fine."""
    if width <= 0 or resolution <= TENTH * width * (1 + 1e-9):
        return ""
    return (
        f"the gauge resolves {resolution:.4g} mm, {resolution / width:.0%} of the tolerance: "
        "a tenth is wanted, a quarter is the worst that serves"
    )
