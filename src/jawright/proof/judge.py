"""The one rule by which a number with a band becomes a verdict.

A proof is judged at the bad end of its band: ``pass`` when even the bad end keeps the limit,
``caution`` when the set value keeps it and the bad end does not, ``fail`` when the set value
does not. ``value`` and ``margin`` of the proof are those of the bad end; low, set and high show
the band. A missing input is ``unknown``, with what to supply.

Lengths in mm, angles in rad, forces in N, torques in N·m.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, field

from jawright.proof.model import Proof, Question, Verdict


@dataclass(frozen=True, slots=True)
class Band:
    """A result at the low, set and high end of its inputs, in this order of size."""

    low: float
    set: float
    high: float


@dataclass(frozen=True, slots=True)
class Basis:
    """Where a number comes from: model id, source, assumptions."""

    model: str
    source: str
    assumptions: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Extra:
    """What else a proof carries: the place where it is worst, further numbers, a cap on the verdict."""

    where: tuple[float, float, float] | None = None
    detail: tuple[tuple[str, float, str], ...] = ()
    at_best: Verdict = "pass"
    at_worst: Verdict = "fail"
    supply: tuple[str, ...] = field(default=())


_ORDER: tuple[Verdict, ...] = ("pass", "caution", "fail")


EQUAL = 1e-9
"""Differences below this share of the limit are rounding: a number that meets its limit exactly passes."""


def _slack(limit: float) -> float:
    return EQUAL * max(1.0, abs(limit))


def verdict_most(band: Band, limit: float) -> Verdict:
    """For a number that must not exceed ``limit``: the bad end is the high one."""
    top = limit + _slack(limit)
    return "pass" if band.high <= top else "caution" if band.set <= top else "fail"


def verdict_least(band: Band, limit: float) -> Verdict:
    """For a number that must reach ``limit``: the bad end is the low one."""
    least = limit - _slack(limit)
    return "pass" if band.low >= least else "caution" if band.set >= least else "fail"


def _held(verdict: Verdict, extra: Extra) -> Verdict:
    rank = _ORDER.index(verdict)
    return _ORDER[min(max(rank, _ORDER.index(extra.at_best)), _ORDER.index(extra.at_worst))]


def at_most(
    question: Question, name: str, sentence: str, *, band: Band, unit: str, limit: float, basis: Basis,
    extra: Extra | None = None,
) -> Proof:  # fmt: skip
    """Proof that a number stays under its limit, judged at the high end."""
    extra = extra or Extra()
    return Proof(
        question, name, _held(verdict_most(band, limit), extra), sentence, band.high, unit,
        limit=limit, margin=limit - band.high, low=band.low, set=band.set, high=band.high,
        assumptions=basis.assumptions, supply=extra.supply, model=basis.model, source=basis.source,
        where=extra.where, detail=extra.detail,
    )  # fmt: skip


def at_least(
    question: Question, name: str, sentence: str, *, band: Band, unit: str, limit: float, basis: Basis,
    extra: Extra | None = None,
) -> Proof:  # fmt: skip
    """Proof that a number reaches its limit, judged at the low end."""
    extra = extra or Extra()
    return Proof(
        question, name, _held(verdict_least(band, limit), extra), sentence, band.low, unit,
        limit=limit, margin=band.low - limit, low=band.low, set=band.set, high=band.high,
        assumptions=basis.assumptions, supply=extra.supply, model=basis.model, source=basis.source,
        where=extra.where, detail=extra.detail,
    )  # fmt: skip


def unknown(
    question: Question, name: str, sentence: str, *, unit: str, supply: tuple[str, ...], basis: Basis
) -> Proof:
    """Proof that cannot be given: an input is missing or a formula does not reach."""
    return Proof(
        question, name, "unknown", sentence, None, unit,
        assumptions=basis.assumptions, supply=supply, model=basis.model, source=basis.source,
    )  # fmt: skip


def finite(value: float, cap: float = 1e6) -> float:
    """``value`` held to ±``cap`` so that a record never carries an infinity."""
    assert not math.isnan(value)
    return max(-cap, min(cap, value))
