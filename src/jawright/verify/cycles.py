"""Canned cycles to plain moves.

Source: NISTIR 6556, section 3.5.16: preliminary motion, G81 to G89, repeats, return level.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from jawright.verify.words import LIMITS

StepKind = Literal["rapid", "feed", "dwell", "spindle stop", "spindle on"]
Level = tuple[float, float, float]
CYCLES = ("G81", "G82", "G83", "G85", "G86", "G89")
_DWELLS = ("G82", "G86", "G89")
_FEEDS_OUT = ("G85", "G89")


@dataclass(frozen=True, slots=True)
class Step:
    """One step: ``to`` along first, second and third axis of the plane [mm], or seconds of dwell."""

    kind: StepKind
    to: Level | None = None
    seconds: float = 0.0


@dataclass(frozen=True, slots=True)
class CycleAsk:
    """What a cycle line asks, resolved to the plane's axes and absolute positions [mm].

    ``step`` is added to first and second axis on each repeat (0 in absolute mode).
    """

    code: str
    first: float
    second: float
    step: tuple[float, float]
    retract: float  # R
    bottom: float  # Z of the XY plane
    clear: float  # where each repeat ends
    repeats: int
    dwell: float  # [s]
    peck: float  # [mm]


def expand(ask: CycleAsk, at: Level) -> list[Step]:
    """The steps from the place ``at`` [mm] to the end of the last repeat."""
    steps: list[Step] = []
    height = at[2]
    if height < ask.retract:
        height = ask.retract
        steps.append(Step("rapid", (at[0], at[1], height)))
    for k in range(ask.repeats):
        a, b = ask.first + k * ask.step[0], ask.second + k * ask.step[1]
        steps.append(Step("rapid", (a, b, height)))
        if height != ask.retract:
            steps.append(Step("rapid", (a, b, ask.retract)))
        steps += _down(ask, a, b)
        if ask.code in _DWELLS:
            steps.append(Step("dwell", seconds=ask.dwell))
        if ask.code == "G86":
            steps.append(Step("spindle stop"))
        steps.append(Step("feed" if ask.code in _FEEDS_OUT else "rapid", (a, b, ask.clear)))
        if ask.code == "G86":
            steps.append(Step("spindle on"))
        height = ask.clear
    return steps


def _down(ask: CycleAsk, a: float, b: float) -> list[Step]:
    if ask.code != "G83":
        return [Step("feed", (a, b, ask.bottom))]
    steps: list[Step] = []
    depth = ask.retract
    while True:
        depth = max(depth - ask.peck, ask.bottom)
        steps.append(Step("feed", (a, b, depth)))
        if depth <= ask.bottom:
            return steps
        steps.append(Step("rapid", (a, b, ask.clear)))
        steps.append(Step("rapid", (a, b, min(depth + LIMITS["cutting"]["peck_back"], ask.clear))))
