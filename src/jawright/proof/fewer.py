"""Fewer parts in one pair of jaws: how many the torque window takes with room to spare.

Torques in N·m.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

from jawright.hold.model import Hold
from jawright.jaws.model import Jaws
from jawright.job.model import Job
from jawright.proof import clamp
from jawright.proof.window import Study, ends_of, least_of, to_set

COMFORT = 1.3
"""A row whose window is this wide, most over least, is closed without care (common practice, no source)."""


@dataclass(frozen=True, slots=True)
class Fewer:
    """So many parts at a time, and the window that they leave."""

    parts: int
    least: float
    torque: float
    most: float


def fewer(hold: Hold, jaws: Jaws | None, job: Job, s: Study) -> Fewer | None:
    """The most parts beside one another, fewer than now, whose torque window is comfortable.

    They stand where the first of the row do, the jaws closed on these alone. None for a part by itself, for
    a row that is comfortable as it is, and where no number of parts is. Valid for a vise closed by a wrench.
    """
    if s.row.parts < 2 or s.least is None or s.most is None or clamp.by_force(hold.vise):
        return None
    if s.least > 0.0 and s.most >= COMFORT * s.least:
        return None
    for n in range(s.row.parts - 1, 0, -1):
        row = replace(s.row, x=tuple(sorted(s.row.x)[:n]))
        least, _ = least_of(hold, s.cases, row)
        most, _ = ends_of(hold, jaws, job, row, (s.walls, s.springs))[0]
        if least is not None and least > 0.0 and math.isfinite(least) and most >= COMFORT * least:
            return Fewer(n, least, to_set(math.sqrt(least * most), least, most), most)
    return None


def words(found: Fewer | None, hold: Hold, job: Job) -> str:
    """What to know of fewer parts at a time, a sentence; "" for nothing."""
    if found is None:
        return ""
    least, at, most = (clamp.said(hold.vise, v, job.units) for v in (found.least, found.torque, found.most))
    many = NUMBERS.get(found.parts, str(found.parts))
    how = "One at a time has" if found.parts == 1 else f"{many} at a time have"
    return (
        f" {how} room to spare, {at} between {least} and {most}: [hold] parts = {found.parts} has the jaws "
        "cut for that."
    )


NUMBERS = {1: "One", 2: "Two", 3: "Three", 4: "Four", 5: "Five", 6: "Six", 7: "Seven", 8: "Eight"}
