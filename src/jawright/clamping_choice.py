"""Which two clampings: of the ways to hold a part that is milled all round, the one with the best stances.

Lengths in mm, angles in rad, stances in points of ``choose.score``.
"""

from __future__ import annotations

from pathlib import Path
from tempfile import TemporaryDirectory

from jawright import choose
from jawright.begun import begin
from jawright.carry import Progress
from jawright.clamping_jobs import NO_JOB, ClampingJob, jobs_of
from jawright.errors import JawrightError
from jawright.geometry.frame import Vec3
from jawright.hold import clampings
from jawright.hold.clampings import Clampings
from jawright.hold.found import Ask
from jawright.job.model import Job
from jawright.part.model import Part
from jawright.shop.model import Shop

MOST = 8
"""Ways that are weighed: which wall is on which jaw makes four of each two pairs of walls."""
NO_STANCE = 0.0
"""Points of a clamping for which the search finds no stance, or that is refused: its plan tells why."""


def two(
    part: Part, job: Job, ask: Ask, up: Vec3, shop: Shop, *, say: Progress | None = None
) -> Clampings | None:
    """The best two clampings of a part whose whole outline is milled; None where it is not, or none go.

    Both clampings of each way go through the search for stances (``choose.score``): a way counts as much as
    the worse of its two clampings; of equal ones the first counts, by ``clampings.ways``.
    """
    found = clampings.ways(part, job, ask, up, shop)[:MOST]
    if len(found) < 2:
        return found[0] if found else None
    (say or (lambda _: None))(f"weighing {len(found)} ways to hold it in two clampings")
    return max(found, key=lambda way: _points(way, part, job, ask, shop))


def _points(way: Clampings, part: Part, job: Job, ask: Ask, shop: Shop) -> tuple[float, ...]:
    """Points of the worse and of the better of both clampings."""
    try:
        made = jobs_of(way, part, job, ask, shop)
    except JawrightError as error:
        if error.code not in NO_JOB:
            raise
        return (NO_STANCE, NO_STANCE)
    if made is None:
        return (NO_STANCE, NO_STANCE)
    return tuple(sorted(round(_best(one, shop), 3) for one in made.jobs))


def _best(one: ClampingJob, shop: Shop) -> float:
    """Points of the best stance of one clamping."""
    with TemporaryDirectory() as place:
        try:
            found = begin(one.read_in(Path(place)), shop).stances()
        except JawrightError:
            return NO_STANCE
    return max((choose.score(c) for c in found if not c.lost), default=NO_STANCE)
