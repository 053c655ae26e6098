"""From a run's measurements to named causes, or to the two things to measure.

Every cause has its own test and its own chance of a false alarm; a cause is named only when the
measurements tell it from the others. The locating side is told by the slope of position on size: 0
when the part sits on the datum, ½ when it is centered, 1 when it is pushed off the other side.

Lengths in mm; shares and chances are plain numbers.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace
from functools import cache

import numpy as np
from numpy.typing import NDArray

from jawright.floor import chase, doubt, naming, odd, offset
from jawright.floor.expected import Expected
from jawright.floor.gauging import collapse, gauge_share, study_words
from jawright.floor.model import Correction, Diagnosis, Named, Seen, Signal
from jawright.floor.run import Run, Series
from jawright.floor.terms import Inputs, Model, choose
from jawright.statistics.capability import cp, cpk, cpk_interval
from jawright.statistics.trend import RULES, ewma, ewma_run_length, individuals, run_length, signals

Floats = NDArray[np.float64]

ABSOLUTE = 2.0
"""Values whose middle is farther from zero than this [mm] are taken as measured, not as deviations."""

WEIGHT = 0.2
"""Of the newest value in the moving average (0.2 to 0.3: e-Handbook 6.3.2.4)."""

MOVING = "moving average beyond its limits"

INTERVAL_PARTS = 25
"""Parts from which the interval of a capability is worth stating (valid range of its formula)."""

LEAST_PARTS = 8
"""Fewer parts name nothing."""


def diagnose(
    run: Run,
    *,
    expected: Sequence[Expected] = (),
    gauge: float | None = None,
    tolerance: float | None = None,
) -> Diagnosis:
    """Say what a run's measurements mean.

    Parameters
    ----------
    run : as ``read_run`` gives it
    expected : what the plan predicted of each feature, from ``expected.from_record``
    gauge : one sigma of the gauge [mm], when known
    tolerance : ± of what is measured [mm], where the plan does not say
    """
    seen: list[Seen] = []
    named: list[Named] = []
    marks: list[Signal] = []
    due: list[Correction] = []
    notes: list[str] = [f"column '{c}' was not understood and is not used" for c in run.ignored]
    models: list[tuple[Series, Model]] = []
    for series in run.measured:
        rows, values = collapse(run.parts, series.values)
        parts = [run.parts[int(k)] for k in rows]
        if np.isfinite(values).sum() < 2:
            notes.append(f"{series.name} holds fewer than two values")
            continue
        replay = chase.replay(run, series, rows, values)
        natural = replay.natural if replay is not None else values
        model = choose(natural, inputs(run, series, rows))
        models.append((series, model))
        plan = next((e for e in expected if e.matches(series)), None)
        said = naming.name(series, model, parts, natural, known_size=size_of(run, series) is not None)
        named += doubt.doubted(said, series, model)
        named += doubt.coarse(series, values)
        named += _from_gauge(run, series, values, gauge)
        notes += study_words(run.parts, run.who, series)
        if replay is not None:
            named += replay.named(series)
        seen.append(_judged(_seen(series, values, model, plan), tolerance))
        marks += _signals(series, values, parts)
        nests = sorted(set(run.nests)) if run.nests is not None else ()
        due += offset.due(series, values, natural, model, absolute=_absolute(values), nests=nests)
        notes += _compared(series, model, plan)
    named = odd.together(named, models, run.parts)
    named += naming.nothing(named, models, run)
    measure = naming.to_measure(named, models, run)
    return Diagnosis(
        source=run.source,
        count=len(set(run.parts)),
        seen=tuple(seen),
        named=tuple(named),
        signals=tuple(marks),
        false_alarm=_false_alarm(),
        corrections=tuple(due),
        measure=tuple(measure),
        notes=tuple(dict.fromkeys(notes)),
        enough=not measure,
    )


@cache
def _false_alarm() -> float:
    return run_length(RULES)


def size_of(run: Run, series: Series) -> Series | None:
    """The size that belongs to a position: along the same axis, else the only one without an axis."""
    if series.axis not in ("x", "y"):
        return None
    same = [s for s in run.sizes if s.axis == series.axis]
    plain = [s for s in run.sizes if s.axis == ""]
    return next(iter(same or plain), None)


def inputs(run: Run, series: Series, rows: NDArray[np.int64]) -> Inputs:
    """What is known beside the values of a series, on the given rows."""
    size = size_of(run, series)
    order = np.arange(len(rows))
    clock = run.minutes[rows] if run.minutes is not None else None
    time = clock if clock is not None and np.isfinite(clock).all() else order.astype(float)
    nest = None
    if run.nests is not None:
        names = sorted(set(run.nests))
        nest = np.array([names.index(run.nests[int(k)]) for k in rows], dtype=np.int64)
    return Inputs(
        time=time,
        size=size.values[rows] if size is not None else None,
        torque=run.torque[rows] if run.torque is not None and np.isfinite(run.torque[rows]).all() else None,
        nest=nest,
        order=order,
    )


def _absolute(values: Floats) -> bool:
    return abs(float(np.nanmedian(values))) > ABSOLUTE


def _seen(series: Series, values: Floats, model: Model, plan: Expected | None) -> Seen:
    v = values[np.isfinite(values)]
    chart = individuals(v)
    return Seen(
        series=series.name,
        count=len(v),
        mean=float(v.mean()),
        sd=float(v.std(ddof=1)),
        low=float(v.min()),
        high=float(v.max()),
        center=chart.center,
        limit_low=float(chart.low[0]),
        limit_high=float(chart.high[0]),
        left_sd=model.fit.residual_sd if model.fit is not None else None,
        expected_sd=plan.sigma if plan else None,
        tolerance=plan.half if plan else None,
    )


def _judged(s: Seen, tolerance: float | None) -> Seen:
    """With its capability, when its tolerance is known and its values are deviations from nominal."""
    half = s.tolerance if s.tolerance is not None else tolerance
    if half is None or s.sd <= 0 or abs(s.mean) > ABSOLUTE:
        return replace(s, tolerance=half)
    index = cpk(-half, half, mean=s.mean, sigma=s.sd)
    low, high = cpk_interval(index, s.count) if s.count >= INTERVAL_PARTS else (None, None)
    return replace(s, tolerance=half, cp=cp(-half, half, s.sd), cpk=index, cpk_low=low, cpk_high=high)


def _signals(series: Series, values: Floats, parts: Sequence[str]) -> list[Signal]:
    """Run rules and patterns on the individuals chart, and the moving average beyond its limits."""
    where = np.flatnonzero(np.isfinite(values))
    v = values[where]
    if len(v) < LEAST_PARTS:
        return []
    chart = individuals(v)
    sigma = float(chart.high[0] - chart.center) / 3
    if sigma <= 0:
        return []
    found = list(signals((v - chart.center) / sigma))
    slow = ewma(v, weight=WEIGHT, center=chart.center, sigma=sigma)
    found += [(k, MOVING) for k in slow.outside[:1]]
    spacing = _spacing()
    return [Signal(series.name, parts[int(where[k])], rule, spacing[rule]) for k, rule in sorted(found)]


@cache
def _spacing() -> dict[str, float]:
    """Parts between two false alarms of each rule by itself."""
    return {r.name: run_length([r]) for r in RULES} | {MOVING: ewma_run_length(WEIGHT)}


def _from_gauge(run: Run, series: Series, values: Floats, given: float | None) -> list[Named]:
    share = gauge_share(run.parts, series.values)
    if share is not None:
        return naming.gauge(series, share.sigma, share.share, share.low, share.high)
    v = values[np.isfinite(values)]
    if given is None or len(v) < LEAST_PARTS:
        return []
    total = float(v.var(ddof=1))
    part = given**2 / total if total > 0 else math.inf
    return naming.gauge(series, given, part, part / 1.5, part * 1.5)


def _compared(series: Series, model: Model, plan: Expected | None) -> list[str]:
    if plan is None or plan.sigma is None or model.fit is None or model.fit.freedom < LEAST_PARTS:
        return []
    left = model.fit.residual_sd
    ratio = left / plan.sigma
    words = f"{series.name}: scatter {left:.4f} mm, the plan predicted {plan.sigma:.4f} mm"
    if ratio > 1.5:
        return [
            f"{words}: {ratio:.1f} times as much; {plan.largest} was the largest source in the plan; "
            '"jawright adopt" compares the sources one by one'
        ]
    if ratio < 0.5:
        return [f'{words}: the shop is better than the plan; "jawright adopt" takes its own values over']
    return [f"{words}: as planned"]
