"""Doubts about a named cause: what is left over still moves slowly, or the readings come in coarse steps."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace

import numpy as np
from numpy.typing import NDArray
from scipy.special import ndtr

from jawright.floor.model import Cause, Named
from jawright.floor.run import Series
from jawright.floor.terms import Model

Floats = NDArray[np.float64]

SLOW = 0.0005
"""Chance by luck below which what is left over is said to move slowly."""

LEAST = 20
"""Parts from which that can be told."""

STEPS = 5
"""So few different readings in a run say that the gauge's step is as large as the scatter
(common practice, no source)."""

COURSES: tuple[Cause, ...] = ("warm-up", "drift", "step")


def slow(model: Model) -> float:
    """Chance by luck that neighbors among what is left over are so alike.

    Correlation r of each value with the next; (r + 1/n) √n is about standard normal for values in
    random order. Source: G. E. P. Box and G. M. Jenkins, Time Series Analysis (M. S. Bartlett's
    standard error 1/√n of a sample autocorrelation), from memory. 1 with fewer than ``LEAST`` values.
    """
    if model.fit is None or len(model.fit.residuals) < LEAST:
        return 1.0
    e = np.asarray(model.fit.residuals)
    e = e - e.mean()
    total = float(e @ e)
    if total <= 0:
        return 1.0
    n = len(e)
    r = float(e[:-1] @ e[1:]) / total
    return float(ndtr(-(r + 1.0 / n) * math.sqrt(n)))


def doubted(named: Sequence[Named], series: Series, model: Model) -> list[Named]:
    """The causes of one series, no course in time sure when what it leaves over still moves slowly."""
    if slow(model) > SLOW:
        return list(named)
    out = []
    seen = False
    for n in named:
        if n.cause in COURSES:
            seen = True
            more = "; what it leaves over still moves slowly, so this is not all of it"
            out.append(replace(n, sure=False, sentence=n.sentence + more))
        else:
            out.append(n)
    if not seen:
        out.append(
            Named(
                "drift",
                series.name,
                False,
                f"{series.name}: it wanders slowly up and down; a steady drift, one step or a warm-up do not "
                "describe it",
                "write down the time, the coolant and what was touched; measure on",
                "do not correct single parts",
            )
        )
    return out


def coarse(series: Series, values: Floats) -> list[Named]:
    """The gauge in doubt when a run shows only a few different readings."""
    v = values[np.isfinite(values)]
    kinds = np.unique(np.round(v, 9))
    if len(v) < 3 * STEPS or len(kinds) > STEPS:
        return []
    words = f"{series.name}: only {len(kinds)} different readings in {len(v)} parts"
    if len(kinds) > 1:
        words += f", in steps of {float(np.diff(kinds).min()):.4f} mm"
    return [
        Named(
            "gauge",
            series.name,
            False,
            f"{words}: the gauge is too coarse to show the scatter",
            "measure with a gauge that reads ten times finer",
            "do not judge the process by these readings",
        )
    ]
