"""The plan's sources of scatter against a run's: which disagree, and what the shop's own value is.

What two features of the same part share along an axis came in when the part was clamped; what each has
for itself came from its cutter. So with two features measured the covariance of what is left of them,
when size, time and all else named is taken off, tells the clamping from the cutter. With one feature the
plan's larger source is taken, and it counts as told apart only where the other, within its own low and
high, cannot make up the difference.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from jawright.floor import chase
from jawright.floor.diagnose import inputs
from jawright.floor.expected import Expected, from_record
from jawright.floor.gauging import collapse
from jawright.floor.run import Run, Series
from jawright.floor.terms import choose
from jawright.jaws.kept import spread
from jawright.record import Record
from jawright.shop.model import Band3

Floats = NDArray[np.float64]
Source = Literal["drilled position", "bored position", "repeat of the clamping", "seat of a pair put back"]

LEAST = 20
"""Parts from which a spread is compared with the plan's: its interval is then about ± 30 %."""

Z_SURE = 2.576
"""Standard errors a source must differ from the plan's figure to be said to disagree (99 %)."""

Z_WITHIN = 1.960
"""Standard errors to the low and the high that are adopted (95 %)."""

MACHINE, REST = "the machine's repeat and the gauge", "heat, lift and walls"
AGREES, DISAGREES = "as planned", "they disagree"

KEYS: Mapping[Source, tuple[str, str]] = {
    "drilled position": ("scatter", "drilled_position"),
    "bored position": ("scatter", "bored_position"),
    "repeat of the clamping": ("vise", "repeat"),
    "seat of a pair put back": ("scatter", "jaw_reseat"),
}
"""Section and key of the shop file that hold a source."""


@dataclass(frozen=True, slots=True)
class Compared:
    """One source: the plan's figure and the measured one [mm].

    ``agrees`` is None when the run cannot tell. ``measured`` is None when there is nothing left for it.
    ``sure`` is False when it could not be told from another source. ``vise`` names the vise it is of.
    """

    source: Source
    planned: Band3
    measured: Band3 | None
    agrees: bool | None
    sure: bool
    parts: int
    sentence: str
    vise: str = ""


@dataclass(frozen=True, slots=True)
class _Left:
    """What is left of one series when everything named is taken off, by part."""

    series: Series
    plan: Expected
    kind: Source
    values: dict[str, float]
    freedom: int
    variance: float


def compare(run: Run, record: Record, *, gauge: float = 0.0) -> tuple[Compared, ...]:
    """Every source of the plan that the run can say something of.

    Parameters
    ----------
    run : as ``read_run`` gives it
    record : the plan it was made by
    gauge : one sigma of the gauge [mm]; it is taken off what each feature has for itself
    """
    left = _left(run, record)
    groups = [
        g for axis in ("x", "y") if (g := _group([r for r in left if r.series.axis == axis])) is not None
    ]
    if not groups:
        return tuple(_alone(r, record, gauge) for r in left)
    out = []
    for kind in sorted({k for g in groups for k in g.kinds}):
        seen = _pooled([(g, g.own(kind)) for g in groups if kind in g.kinds])
        known = record.shop.machine.repeat**2 + gauge**2
        out.append(_judged(kind, _band(record, kind), seen, known=known, sure=True, beside=MACHINE))
    seen = _pooled([(g, g.common()) for g in groups])
    assert record.hold is not None
    vise = record.hold.vise
    said = _judged(
        "repeat of the clamping", vise.repeat, seen, known=_rest(record, left), sure=True, beside=REST
    )
    return (*out, replace(said, vise=vise.id))


@dataclass(frozen=True, slots=True)
class _Group:
    """What is left of several features along one axis, on the parts where all were measured.

    ``spread`` (k, k) is its covariance with ``freedom`` degrees of freedom.
    """

    kinds: tuple[Source, ...]
    spread: Floats
    freedom: int

    def common(self) -> Floats:
        """Weights on the covariance that give what all features share: its mean off the diagonal."""
        k = len(self.kinds)
        return (np.ones((k, k)) - np.eye(k)) / (k * (k - 1))

    def own(self, kind: Source) -> Floats:
        """Weights that give what features of a kind have for themselves: variance less mean covariance."""
        k = len(self.kinds)
        mine = [i for i, name in enumerate(self.kinds) if name == kind]
        out = np.zeros((k, k))
        for i in mine:
            out[i, i] += 1.0
            for j in range(k):
                if j != i:
                    out[i, j] -= 0.5 / (k - 1)
                    out[j, i] -= 0.5 / (k - 1)
        return out / len(mine)


@dataclass(frozen=True, slots=True)
class _Seen:
    """A variance [mm²] with its standard error, and the parts it is from."""

    variance: float
    error: float
    parts: int


def _group(rows: Sequence[_Left]) -> _Group | None:
    """The features measured along one axis; None with fewer than two, or too few parts with all of them."""
    if len(rows) < 2:
        return None
    parts = [p for p in rows[0].values if all(p in r.values for r in rows)]
    if len(parts) < LEAST:
        return None
    table = np.array([[r.values[p] for r in rows] for p in parts])
    lost = len(parts) - min(r.freedom for r in rows)  # terms that were taken off, the mean among them
    freedom = len(parts) - max(1, lost)
    centered = table - table.mean(axis=0)
    return _Group(tuple(r.kind for r in rows), np.asarray(centered.T @ centered) / freedom, freedom)


def _pooled(found: Sequence[tuple[_Group, Floats]]) -> _Seen:
    """A linear function tr(A S) of each group's covariance, the groups taken as independent.

    Its variance for normal data is 2 tr(A S A S) / f. Source: T. W. Anderson, An Introduction to
    Multivariate Statistical Analysis, 7.3 (covariances of the Wishart distribution), from memory.
    """
    values = [float(np.trace(a @ g.spread)) for g, a in found]
    errors = [2 * float(np.trace(a @ g.spread @ a @ g.spread)) / g.freedom for g, a in found]
    n = len(found)
    return _Seen(sum(values) / n, math.sqrt(sum(errors)) / n, min(g.freedom for g, _ in found) + 1)


def _rest(record: Record, left: Sequence[_Left]) -> float:
    """Variance the plan has for heat, lift and walls: what is neither cutter, machine nor clamping [mm²]."""
    assert record.hold is not None
    rest = []
    for r in left:
        own = _band(record, r.kind).set ** 2 + record.shop.machine.repeat**2
        rest.append(max(0.0, (r.plan.sigma or 0.0) ** 2 - own - record.hold.vise.repeat.set**2))
    return float(np.mean(rest))


def reseating(seats: Sequence[tuple[float, float]], planned: Band3) -> Compared | None:
    """The shop's figure for a pair put back, against all re-seatings that were kept; None with too few."""
    own = spread(seats)
    if own is None:
        return None
    words = f"seat of a pair put back: the plan took {planned.set:.4f} mm, measured {own.set:.4f} mm"
    agrees = own.low <= planned.set <= own.high
    words += f" ({own.low:.4f} to {own.high:.4f}, {len(seats)} times): {AGREES if agrees else DISAGREES}"
    return Compared("seat of a pair put back", planned, own, agrees, True, len(seats), words)


def _left(run: Run, record: Record) -> list[_Left]:
    kinds = {f.name: f.kind for f in record.hold.features} if record.hold is not None else {}
    expected = from_record(record)
    out = []
    for series in run.measured:
        plan = next((e for e in expected if e.matches(series)), None)
        if plan is None or plan.sigma is None or series.axis not in ("x", "y"):
            continue
        rows, values = collapse(run.parts, series.values)
        replay = chase.replay(run, series, rows, values)
        model = choose(replay.natural if replay is not None else values, inputs(run, series, rows))
        if model.fit is None or model.fit.freedom < LEAST:
            continue
        names = [run.parts[int(rows[k])] for k in np.flatnonzero(model.kept)]
        kind: Source = "drilled position" if kinds.get(plan.feature) == "drill" else "bored position"
        residuals = dict(zip(names, model.fit.residuals.tolist(), strict=True))
        out.append(_Left(series, plan, kind, residuals, model.fit.freedom, model.fit.residual_sd**2))
    return out


def _band(record: Record, kind: Source) -> Band3:
    return record.shop.drilled_position if kind == "drilled position" else record.shop.bored_position


def _alone(r: _Left, record: Record, gauge: float) -> Compared:
    """One feature alone: what is more or less than planned is put down to the plan's larger source.

    It is sure when the other source, anywhere from its own low to its high, cannot make up the difference.
    """
    assert record.hold is not None and r.plan.sigma is not None
    vise = record.hold.vise
    placed = _band(record, r.kind)
    if placed.set >= vise.repeat.set:
        larger, planned, beside, other = r.kind, placed, vise.repeat, "the clamping"
    else:
        larger, planned, beside, other = "repeat of the clamping", vise.repeat, placed, "the cutter"
    rest = max(0.0, r.plan.sigma**2 - planned.set**2 - beside.set**2) + gauge**2
    seen = _Seen(r.variance, r.variance * math.sqrt(2 / r.freedom), r.freedom + 1)
    said = _judged(larger, planned, seen, known=rest + beside.set**2, sure=False, beside="all else")
    said = replace(said, vise="" if larger == r.kind else vise.id)
    if said.agrees:
        return replace(said, sentence=f"{said.sentence} (one feature along {r.series.axis.upper()})")
    wide = Z_SURE * seen.error
    sure = not (
        seen.variance - wide - rest - beside.high**2
        <= planned.set**2
        <= seen.variance + wide - rest - beside.low**2
    )
    band = f"{beside.low:.4f} to {beside.high:.4f} mm"
    if not sure or said.measured is None:
        words = (
            f"{said.sentence}; with one feature measured along {r.series.axis.upper()} it cannot be told "
            f"from {other} ({band}): measure a second feature"
        )
        return replace(said, sentence=words)
    low, high = (
        seen.variance + k * Z_WITHIN * seen.error - rest - b**2
        for k, b in ((-1, beside.high), (1, beside.low))
    )
    measured = replace(said.measured, low=math.sqrt(max(low, 0.0)), high=math.sqrt(max(high, 0.0)))
    words = (
        f"{said.sentence} ({measured.low:.4f} to {measured.high:.4f}), with one feature measured along "
        f"{r.series.axis.upper()}, as long as {other} is within the shop's {band}: a second one would tell"
    )
    return replace(said, measured=measured, sure=True, sentence=words)


def _judged(
    source: Source, planned: Band3, seen: _Seen, *, known: float, sure: bool, beside: str
) -> Compared:
    """The plan's figure against a variance, of which ``known`` [mm²] is that of what is ``beside`` it."""
    total = math.sqrt(planned.set**2 + known)
    agrees = abs(seen.variance - total**2) <= Z_SURE * seen.error
    low, high = (seen.variance + k * Z_WITHIN * seen.error for k in (-1, 1))
    found = [math.sqrt(max(v, 0.0)) for v in (seen.variance, low, high)]
    words = (
        f"{source}, with {beside}: the plan took {total:.4f} mm, measured {found[0]:.4f} mm "
        f"({found[1]:.4f} to {found[2]:.4f}): {AGREES if agrees else DISAGREES}"
    )
    if seen.variance <= known:
        words += "" if agrees else f"; it is less than {beside} alone, so the plan has too much of them"
        return Compared(source, planned, None, agrees, sure, seen.parts, words)
    basis = f"measured on {seen.parts} parts"
    own = [math.sqrt(max(v - known, 0.0)) for v in (low, seen.variance, high)]
    measured = Band3(own[0], own[1], own[2], basis)
    if not agrees:
        words += f"; by itself {own[1]:.4f} mm against {planned.set:.4f} mm"
    return Compared(source, planned, measured, agrees, sure, seen.parts, words)
