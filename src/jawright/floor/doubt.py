"""Doubts about a named cause: what is left over still moves slowly, or the readings come in coarse steps.

Lengths in mm; shares and chances are plain numbers.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace

import numpy as np
from numpy.typing import NDArray
from scipy.special import log_ndtr, ndtr

from jawright.floor.model import Cause, Named
from jawright.floor.run import Series
from jawright.floor.terms import Model

Floats = NDArray[np.float64]

SLOW = 0.0005
"""Chance by luck below which what is left over is said to move slowly."""

FORM = 0.0002
"""Chance by luck below which the form of what is left over is said not to be that of plain scatter."""

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


def shape(model: Model) -> str:
    """What shows that the values left over are no plain scatter; "" when nothing does.

    Their size that goes with the order (Spearman's rank correlation, z = r sqrt(n - 1)); or a form that is
    not normal (Anderson and Darling's A², parameters estimated, D'Agostino and Stephens, Goodness-of-Fit
    Techniques, 1986, table 4.9, from memory). Values in few coarse steps are not judged by their form.
    """
    if model.fit is None or len(model.fit.residuals) < LEAST:
        return ""
    e = np.asarray(model.fit.residuals)
    n = len(e)
    z = float(np.corrcoef(_ranks(np.abs(e)), np.arange(n))[0, 1]) * math.sqrt(n - 1)
    if 2 * float(ndtr(-abs(z))) < SLOW:
        return (
            f"it spreads {'more' if z > 0 else 'less'} and {'more' if z > 0 else 'less'} as the run goes on"
        )
    if len(np.unique(np.round(e, 9))) < n / 2 or normal_chance(e) > FORM:
        return ""
    kurtosis = float(np.mean((e - e.mean()) ** 4) / np.var(e) ** 2)
    if kurtosis > 3.0:
        return "a few values lie far out on either side"
    return "its values lie in groups, or are cut off at an end"


def normal_chance(values: Floats) -> float:
    """Chance by luck that normal values (n,), n of 8 and more, look so little normal.

    A* = A² (1 + 0.75/n + 2.25/n²), p = exp(1.2937 - 5.709 A* + 0.0186 A*²) from A* = 0.6 on, else 1 is given.
    Source: as for ``shape``.
    """
    v = np.sort(np.asarray(values, dtype=float))
    n = len(v)
    sd = float(v.std(ddof=1))
    if n < 8 or sd == 0:
        return 1.0
    w = (v - v.mean()) / sd
    k = np.arange(1, n + 1)
    a = -n - float(np.mean((2 * k - 1) * (log_ndtr(w) + log_ndtr(-w[::-1]))))
    a *= 1 + 0.75 / n + 2.25 / n**2
    return 1.0 if a < 0.6 else min(1.0, math.exp(1.2937 - 5.709 * a + 0.0186 * a * a)) if a < 13 else 0.0


def _ranks(v: Floats) -> Floats:
    out = np.empty(len(v))
    out[np.argsort(v, kind="stable")] = np.arange(len(v), dtype=float)
    return out


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
    words = (
        f"{series.name}: only {len(kinds)} different reading{'s' if len(kinds) > 1 else ''} in {len(v)} parts"
    )
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
