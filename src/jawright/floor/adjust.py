"""Measurements as they come: leave the offset alone, or move it, by the mean of three.

Turning an offset after every part follows the noise: for a process that is stable it doubles the
variance of the result (W. E. Deming's funnel, rule 2: Out of the Crisis, 1986, chapter 11). So an
offset moves only on the mean of three parts that were made since it was last moved, only when that
mean is further from the middle than the scatter of the three explains, and only when it is worth
moving.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

PARTS = 3
"""Parts an offset is judged by (common practice, no source)."""

RANGE_TO_SIGMA = 3.0 / math.sqrt(math.pi)
"""Mean range of three of a normal population over its sigma, exact: d2 = 1.693 of control charts."""

ERRORS = 2.0
"""Standard errors of the mean that the scatter of three may explain (about 95 % when sigma is known)."""

WORTH = 0.25
"""Share of half the tolerance below which a move is not worth it (common practice, no source)."""

Word = Literal["leave it alone", "move it", "measure more", "stop", "kept, not judged"]


@dataclass(frozen=True, slots=True)
class Characteristic:
    """One thing that is measured on every part; lengths in mm.

    ``low`` and ``high`` bound the reading, None when no limit is known. ``axes`` are the readings a
    person takes: ("X", "Y") for a position, whose two deviations lie within a circle of diameter
    ``high - low``; else one. ``follows`` says whether moving an offset moves the reading.
    """

    number: int
    feature: str
    what: str
    nominal: float
    low: float | None
    high: float | None
    axes: tuple[str, ...] = ("",)
    follows: bool = True


@dataclass(frozen=True, slots=True)
class Advice:
    """What to do after a part: the word, the offset's move for each axis [mm], and the numbers behind it."""

    word: Word
    moves: tuple[float, ...] = ()
    mean: tuple[float, ...] = ()
    scatter: tuple[float, ...] = ()  # sigma estimated from the three [mm]
    parts: int = 0  # parts since the offset was last moved
    outside: float = 0.0  # by how much the last part is outside [mm]


def outside(c: Characteristic, readings: Sequence[float]) -> float:
    """By how much one part's readings are outside the limits [mm]; 0 inside, or where none are known."""
    if c.low is None or c.high is None:
        return 0.0
    if len(c.axes) > 1:
        return max(math.hypot(*readings) - (c.high - c.low) / 2, 0.0)
    return max(c.low - readings[0], readings[0] - c.high, 0.0)


def advise(c: Characteristic, parts: Sequence[Sequence[float]]) -> Advice:
    """What to do, given the readings of the parts made since the offset was last moved, oldest first.

    Parameters
    ----------
    c : what is measured.
    parts : one row of readings a part, as many as ``c.axes`` [mm].

    Examples
    --------
    >>> c = Characteristic(1, "bore", "size", 10.0, 9.98, 10.02)
    >>> advise(c, [(10.012,), (10.011,), (10.013,)]).moves
    (-0.012,)
    """
    count = len(parts)
    if c.low is None or c.high is None:
        return Advice("kept, not judged", parts=count)
    if not parts:
        return Advice("measure more", parts=0)
    past = outside(c, parts[-1])
    if past > 0.0:
        return Advice("stop", parts=count, outside=past)
    if not c.follows:
        return Advice("leave it alone", parts=count)
    if count < PARTS:
        return Advice("measure more", parts=count)
    last = parts[-PARTS:]
    middle = 0.0 if len(c.axes) > 1 else (c.low + c.high) / 2
    half = (c.high - c.low) / 2
    columns = list(zip(*last, strict=True))
    mean = tuple(round(sum(v) / PARTS, 6) for v in columns)
    sigma = tuple((max(v) - min(v)) / RANGE_TO_SIGMA for v in columns)
    moves = tuple(
        round(middle - m, 6) if abs(m - middle) > max(ERRORS * s / math.sqrt(PARTS), WORTH * half) else 0.0
        for m, s in zip(mean, sigma, strict=True)
    )
    word: Word = "move it" if any(moves) else "leave it alone"
    return Advice(word, moves, mean, sigma, count)
