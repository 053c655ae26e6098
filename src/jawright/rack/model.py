"""A pair of jaws on the rack, what is cut in its sides, and what was done to it. Vise frame, mm."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from jawright.geometry.profile import Region
from jawright.jaws.model import Jaws
from jawright.shop.model import Blank

Side = Literal["front", "back"]
Status = Literal["usable", "re-qualify", "skim", "dead"]
SIDES: tuple[Side, ...] = ("front", "back")
STATUSES: tuple[Status, ...] = ("usable", "re-qualify", "skim", "dead")


@dataclass(frozen=True, slots=True)
class Cut:
    """What is cut in one side of a pair, at the opening it was cut in.

    ``outline`` is the part's outline the pocket was cut for, None when only the pocket is known.
    ``program`` is the SHA-256 of the program that cut it, "" unknown.
    """

    side: Side
    part_number: str
    revision: str
    operation: str
    made: str  # date
    jaws: Jaws
    outline: Region | None
    grip_depth: float
    torque: float | None  # it was cut with [N·m]
    program: str


@dataclass(frozen=True, slots=True)
class Pair:
    """Two jaws that belong together; never swapped between sides or vises."""

    id: str
    blank: Blank
    height: float  # left now [mm]
    vise: str
    cuts: tuple[Cut, ...]
    place: str
    status: Status = "usable"
    why: str = ""
    out_to: str = ""
    out_since: str = ""
    picture: str = ""
    parts_run: int = 0
    note: str = ""

    @property
    def free_side(self) -> Side | None:
        """The side nothing is cut in yet; None when both are, or the blanks cannot be flipped."""
        used = {c.side for c in self.cuts}
        if not self.blank.reversible and used:
            return None
        return next((s for s in SIDES if s not in used), None)


@dataclass(frozen=True, slots=True)
class Change:
    """One line of a pair's history."""

    number: int
    at: str
    pair: str
    what: str
    before: str  # the columns that changed, as JSON


@dataclass(frozen=True, slots=True)
class Reseat:
    """Where the tooling hole was found when the pair was put back, against the kept work offset [mm].

    ``z`` is None where the height was not touched off.
    """

    at: str
    pair: str
    x: float
    y: float
    z: float | None
