"""A proof: one computed answer about a hold, with its number, limit, margin and assumptions."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

Verdict = Literal["pass", "caution", "fail", "unknown"]
Question = Literal["loads", "sits", "grips", "holds", "locates", "clears"]
QUESTIONS: tuple[Question, ...] = ("loads", "sits", "grips", "holds", "locates", "clears")

ASK: dict[Question, str] = {
    "loads": "Can it be put in, only the right way round?",
    "sits": "Does it go home on its locators, flush on the floor?",
    "grips": "Is it gripped evenly over the grip depth, unmarked and unsprung?",
    "holds": "Does it stay under the cutter?",
    "locates": "Are the print's tolerances met when parts vary?",
    "clears": "Does no cutter meet a jaw, spacer, bolt or vise?",
}


@dataclass(frozen=True, slots=True)
class Proof:
    """One answer.

    ``value``, ``limit``, ``margin`` and the window ``low``/``set``/``high`` are in ``unit``
    (a unit of ``units.py``; "" for plain numbers). ``margin`` is positive on the good side.
    A value is None only where ``verdict`` is ``unknown``; then ``supply`` says what to give.
    """

    question: Question
    name: str  # short, stable: "clamp window"
    verdict: Verdict
    sentence: str  # one sentence a machinist would say
    value: float | None
    unit: str
    limit: float | None = None
    margin: float | None = None
    low: float | None = None
    set: float | None = None
    high: float | None = None
    assumptions: tuple[str, ...] = ()
    supply: tuple[str, ...] = ()
    model: str = ""  # formula and its version: "coulomb-cone-1"
    source: str = ""  # published source of the formula
    where: tuple[float, float, float] | None = None  # vise frame, where it is worst
    detail: tuple[tuple[str, float, str], ...] = ()  # further (name, value, unit) numbers


def worst(verdicts: list[Verdict]) -> Verdict:
    """The verdict that speaks for several: fail, then unknown, then caution, then pass; none is unknown."""
    for v in ("fail", "unknown", "caution", "pass"):
        if v in verdicts:
            return v
    return "unknown"
