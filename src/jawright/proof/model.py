"""A proof: one computed answer about a hold, with its number, limit, margin and assumptions."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

Verdict = Literal["pass", "caution", "fail", "unknown"]
Harm = Literal["", "hurts", "spoils"]
"""A failure can hurt somebody or break a cutter, or it only marks, bends or scraps a part."""
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
    harm: Harm = ""  # what a failure does, where it is not what failures of this question usually do


@dataclass(frozen=True, slots=True)
class Cloud:
    """One way of holding in a scatter picture: a few parts, by their size and by where a feature ends up."""

    held: str  # "as held", "located on the floating jaw", ...
    direction: tuple[float, float]  # of the deviation in plan (vise frame): where this way moves most
    slope: float  # deviation per size: 0 on the datum, 1/2 centered, 1 off the other side
    good: float  # share of good parts
    points: tuple[tuple[float, float], ...]  # (size off nominal across the part, deviation) [mm]


@dataclass(frozen=True, slots=True)
class Scatter:
    """How far one feature is off against the size of the part, as held and held otherwise.

    Deviations are signed, along each cloud's own direction; the first cloud is the hold itself.
    """

    feature: str
    title: str  # of the tolerance, as its proof is named
    half_zone: float  # the tolerance allows this much either way [mm]
    clouds: tuple[Cloud, ...]


@dataclass(frozen=True, slots=True)
class Start:
    """One start of the walk home: off its place by ``offset`` [mm], turned [rad], and how it ends."""

    offset: float
    turn: float
    end: Literal["home", "jams", "wedges", "escapes", "unsettled"]


@dataclass(frozen=True, slots=True)
class Homing:
    """From which starts the part goes home by itself while the jaw closes, at the set friction.

    ``away`` is the plan direction in which offsets are counted (off the stop). ``advice`` is what to do
    by hand, in words; empty where every start goes home.
    """

    friction: float
    away: tuple[float, float]
    starts: tuple[Start, ...]
    advice: str


@dataclass(frozen=True, slots=True)
class Pad:
    """A patch of a wall in use: its middle (vise frame), ``length`` along and ``height`` up the wall [mm].

    ``pressure`` [MPa] is nought where the wall does not touch.
    """

    middle: tuple[float, float, float]
    length: float
    height: float
    pressure: float


@dataclass(frozen=True, slots=True)
class WallPressure:
    """How one jaw presses the part in use, at the set clamp force and the set give of the vise.

    ``area_share`` of the wall's area touches; ``depth_share`` is the share of the grip depth that bears
    where the load goes through, as in *grips*. ``taper`` [mm] is the wall's, ``mesh_error`` [mm] that of
    both walls together by the mesh; None where it was not worked out.
    """

    jaw: Literal["fixed", "floating"]
    force: float  # along Y [N]
    taper: float
    mesh_error: float | None
    area_share: float
    depth_share: float
    pads: tuple[Pad, ...]


def worst(verdicts: list[Verdict]) -> Verdict:
    """The verdict that speaks for several: fail, then unknown, then caution, then pass; none is unknown."""
    for v in ("fail", "unknown", "caution", "pass"):
        if v in verdicts:
            return v
    return "unknown"
