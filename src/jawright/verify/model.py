"""What the independent reader found when it ran a program against the real blanks."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal


@dataclass(frozen=True, slots=True)
class NcFinding:
    """One thing found, by line of the text (1-based) and column (1-based, 0 whole line)."""

    level: Literal["refused", "fault", "caution", "noted"]
    line: int
    column: int
    what: str


@dataclass(frozen=True, slots=True)
class Load:
    """The deepest bite of one cutter: how much of its round is in metal, and how deep, on a line."""

    tool: int  # T number
    cutter: str  # id in the shop
    angle: float  # engaged, of half a turn at most [rad]
    depth: float  # of the metal there [mm]
    line: int


@dataclass(frozen=True, slots=True)
class Verification:
    """The comparison of what the program leaves with what was designed.

    ``verified`` is true only when the text was understood to the last word, nothing was
    refused, and every limit below holds. Lengths in mm; ``gouge_at`` and ``rest_at`` in program axes.
    """

    verified: bool
    moves: int
    minutes: float
    gouge: float  # deepest cut into metal that should stay
    gouge_at: tuple[float, float, float] | None
    rest: float  # thickest metal left that should be gone
    rest_at: tuple[float, float, float] | None
    wall_error: float  # largest distance between cut wall and designed wall on locating and gripping walls
    floor_error: float
    spacer_gap: float | None  # least distance from a cutting or rapid cutter to the spacers
    vise_gap: float | None
    findings: tuple[NcFinding, ...]
    levels: tuple[float, ...] = ()  # Z levels at which metal was compared
    loads: tuple[Load, ...] = ()  # of end mills and face mills, by T number
