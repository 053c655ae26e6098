"""The first steps of a plan: what can be done before anybody asks for it, and is the same when it is."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from jawright import trial
from jawright.beside import Beside, one_thread
from jawright.choose import Candidate
from jawright.hold.resolve import Ask, resolve
from jawright.job.model import Job
from jawright.part.model import Part
from jawright.part.read import read_part
from jawright.shop.model import Shop


@dataclass(frozen=True, slots=True)
class Begun:
    """The first steps of a plan: the part as read, and a call that gives its stances."""

    part: Part
    ask: Ask
    stances: Callable[[], list[Candidate]]


def begin(job: Job, shop: Shop, *, ahead: bool = False, part: Part | None = None) -> Begun:
    """Read the part of a job; its stances are tried when they are asked for, or ``ahead``, beside, patiently.

    ``part`` is the job's own where it was read just now. Raises ``JawrightError`` for a part that cannot be
    read, or that no vise takes.
    """
    part = part or read_part(job.part_file, unit=job.part_unit, thickness=job.thickness, body=job.body)
    open_wide = trial.vises(part, job, shop)
    ask = resolve(part, job)

    def tried() -> list[Candidate]:
        with one_thread():
            return trial.candidates(part, job, shop, ask, open_wide)

    return Begun(part, ask, Beside(tried, patient=True).result if ahead else tried)
