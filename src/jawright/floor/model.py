"""What a run's measurements say: plain values that page, terminal and JSON share. Lengths mm."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

Cause = Literal[
    "located on the datum",
    "self-centering",
    "located on the other side",
    "mixed",
    "warm-up",
    "drift",
    "step",
    "two nests",
    "chip",
    "outlier",
    "spring",
    "chasing",
    "gauge",
    "scatter",
]


@dataclass(frozen=True, slots=True)
class Named:
    """A cause the measurements name, or one they cannot tell yet (``sure`` False).

    ``value`` with ``low`` and ``high`` (an interval of the stated ``confidence``) are in ``unit``;
    ``share`` is the part of the variance it explains.
    """

    cause: Cause
    series: str
    sure: bool
    sentence: str
    do: str
    leave: str  # what not to do
    value: float | None = None
    low: float | None = None
    high: float | None = None
    unit: str = "mm"
    confidence: float = 0.0
    share: float | None = None
    parts: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Signal:
    """A place where a run rule was met: the part, the rule, and how often it alarms by luck alone."""

    series: str
    part: str
    rule: str
    false_alarm: float  # parts between two alarms of this rule by luck, in a steady process


@dataclass(frozen=True, slots=True)
class Correction:
    """An offset change that is due: its size [mm] to add, its spread, and what it gains."""

    axis: str
    change: float
    spread: float  # one sigma of the change [mm]
    spread_before: float  # root mean square off nominal [mm]
    spread_after: float
    sentence: str


@dataclass(frozen=True, slots=True)
class Seen:
    """One measured series in figures."""

    series: str
    count: int
    mean: float
    sd: float
    low: float
    high: float
    center: float  # of the individuals chart
    limit_low: float
    limit_high: float
    left_sd: float | None  # what is left when the named terms are taken off
    expected_sd: float | None = None  # what the plan predicted
    tolerance: float | None = None  # ±
    cp: float | None = None  # with the tolerance, of deviations from nominal; None for sizes as measured
    cpk: float | None = None
    cpk_low: float | None = None  # 95 % interval, with 25 parts or more
    cpk_high: float | None = None


@dataclass(frozen=True, slots=True)
class Diagnosis:
    """Everything the measurements say, and the two things to measure when they do not say enough."""

    source: str
    count: int
    seen: tuple[Seen, ...]
    named: tuple[Named, ...]
    signals: tuple[Signal, ...]
    false_alarm: float  # parts between two false alarms of the run rules together, per series
    corrections: tuple[Correction, ...]
    measure: tuple[str, ...]  # what to measure next; empty when enough is known
    notes: tuple[str, ...]
    enough: bool

    @property
    def causes(self) -> frozenset[Cause]:
        """The causes named for sure."""
        return frozenset(n.cause for n in self.named if n.sure)
