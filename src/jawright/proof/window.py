"""The torque window: least that holds, most before harm, and the torque the setup sheet asks for."""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import lru_cache
from typing import Literal

from jawright.hold.model import Hold
from jawright.jaws.model import Jaws
from jawright.job.model import Job
from jawright.part.model import Part
from jawright.proof import clamp, factor, pressure, squeeze
from jawright.proof.body import WallLoad
from jawright.proof.metal import gripped
from jawright.proof.model import Proof
from jawright.proof.row import Row, row_of
from jawright.proof.rules import rule
from jawright.proof.wrench import hit
from jawright.shop.model import Shop


@dataclass(frozen=True, slots=True)
class Study:
    """What all the grip and hold proofs share, worked out once.

    ``least`` and ``most`` [N·m] bound the torque (None: not known), ``torque`` is the one to set;
    ``most_why`` and ``least_why`` say in words what bounds it. ``force`` is the clamp force there.
    """

    cases: tuple[factor.Case, ...] | None
    walls: tuple[WallLoad, ...] | None
    springs: tuple[squeeze.Spring, ...] | None
    least: float | None
    least_why: str
    most: float | None
    most_why: str
    torque: float
    torque_why: str
    force: clamp.ClampForce | None  # on the worst placed part
    total: clamp.ClampForce | None  # of one vise
    row: Row
    ends: tuple[tuple[float, str], ...] = ()  # every end of the window at which harm comes: torque, why
    sure: float = math.inf  # up to here no feature springs too far even with the best friction [N·m]

    @property
    def open(self) -> bool:
        """True when both ends are known and there is a torque between them."""
        return self.least is not None and self.most is not None and self.least <= self.most


def study(hold: Hold, jaws: Jaws | None, part: Part | None, job: Job, shop: Shop) -> Study:
    """The shared study of a hold; kept for the last few holds asked about."""
    return _study(hold, jaws, part, job, shop)


@lru_cache(maxsize=8)
def _study(hold: Hold, jaws: Jaws | None, part: Part | None, job: Job, shop: Shop) -> Study:
    f = shop.friction
    cases = factor.worst_cases(hold, job.material, f)
    walls = pressure.loads_of(hold, (f.low, f.set, f.high))
    springs = squeeze.springs(hold, part, job.material, jaws)
    together = row_of(hold, jaws, job, shop)
    least, least_why = least_of(hold, cases, together)
    ends = ends_of(hold, jaws, job, together, (walls, springs))
    most, most_why = ends[0]
    sure = _sure(hold, together, springs)
    torque, torque_why = _torque(hold, job, least, most, sure)
    total = clamp.clamp_force(hold.vise, torque)
    return Study(
        cases, walls, springs, least, least_why, most, most_why, torque, torque_why,
        together.on_part(total), total, together, ends, sure,
    )  # fmt: skip


def least_of(hold: Hold, cases: tuple[factor.Case, ...] | None, together: Row) -> tuple[float | None, str]:
    """The least torque [N·m] that holds every part of a row, and what asks for it."""
    if not cases:
        return None, "no cutting load is known"
    worst = max(cases, key=lambda c: (c.need, c.feature.name))
    if math.isinf(worst.need):
        return math.inf, f"no clamp force holds the part while {worst.feature.name} is cut"
    torque = clamp.torque_for_at_least(hold.vise, together.total_for_at_least(worst.need))
    if hold.beside and math.isinf(torque):
        return math.inf, "the smallest of the parts in the row gets no grip"
    return torque, f"{worst.feature.name}: it {worst.mode} first"


def ends_of(
    hold: Hold,
    jaws: Jaws | None,
    job: Job,
    together: Row,
    clamped: tuple[tuple[WallLoad, ...] | None, tuple[squeeze.Spring, ...] | None],
) -> tuple[tuple[float, str], ...]:
    """The vise's own limit, the bruise and each spring torque [N·m], the smallest first.

    A bruise is harm for good, so it is kept off with the best friction in the screw. A tenth of a tolerance
    is a rule of thumb: the window ends where the usual force reaches it, as the spring proof fails there.
    """
    ends = [(clamp.torque_limit(hold.vise), "the vise's largest torque")]
    if clamp.by_force(hold.vise):  # it is set as it is: only harm bounds it
        ends = [(math.inf, NO_HARM)]
    walls, springs = clamped

    def torque(on_part: float) -> float:
        return clamp.torque_for_at_most(hold.vise, together.total_for_at_most(on_part))

    if walls is not None:
        got = pressure.worst_pressure(
            walls, hold=hold, jaws=jaws, material=job.material, force=1.0, share=1.0, marks=job.marks_allowed
        )
        if got is not None and got.use > 0:
            bruise = 1.0 / got.use
            ends.append((torque(bruise), f"{BRUISING}{got.contact.name}"))
    for s in springs or ():
        if s.feature is None or s.tolerance is None or s.why_not or s.counted[1] <= 0:
            continue
        force = together.total_for_at_most(rule("spring_share").set * s.tolerance.zone / s.counted[1])
        ends.append((clamp.torque_for_usual(hold.vise, force), f"{SPRING}{s.feature.name}"))
    return tuple(sorted(ends))


NAME = "torque window"
NO_HARM = "no harm that is known"
BRUISING, SPRING = "bruising at ", "spring of "
BEFORE = "most before "
LEAST = "least to hold"
Shut = Literal["bruise", "spring"]


def shut_by(proof: Proof, *, width: float = 1.0) -> frozenset[Shut]:
    """What keeps a window from being open by ``width`` [most over least, 1], by its proof's numbers."""
    numbers = {n: v for n, v, _ in proof.detail}
    least = numbers.get(LEAST)
    if least is None:
        return frozenset()
    kinds: tuple[tuple[Shut, str], ...] = (("bruise", BRUISING), ("spring", SPRING))
    short = [n.removeprefix(BEFORE) for n, v in numbers.items() if n.startswith(BEFORE) and v < width * least]
    return frozenset(k for k, words in kinds for n in short if n.startswith(words))


def _sure(hold: Hold, together: Row, springs: tuple[squeeze.Spring, ...] | None) -> float:
    """Torque [N·m] up to which every feature's spring keeps its share even with the best friction."""
    out = math.inf
    for s in springs or ():
        if s.feature is None or s.tolerance is None or s.why_not or s.counted[2] <= 0:
            continue
        force = together.total_for_at_most(rule("spring_share").set * s.tolerance.zone / s.counted[2])
        out = min(out, clamp.torque_for_at_most(hold.vise, force))
    return out


def _torque(hold: Hold, job: Job, least: float | None, most: float | None, sure: float) -> tuple[float, str]:
    """The torque to set [N·m]: the job's own, else the geometric middle of the window, else the usual one."""
    if job.hold.torque is not None:
        return job.hold.torque, "torque given in the job"
    if hold.torque is not None and not clamp.by_force(hold.vise):
        return hold.torque, hold.torque_why
    top = clamp.torque_limit(hold.vise)
    if clamp.by_force(hold.vise):
        return top, "clamp force as the vise is set"
    if least is not None and most is not None and 0 < least <= min(most, sure):
        top_end = min(most, sure)
        return to_set(math.sqrt(least * top_end), least, top_end), "middle of the torque window"
    if least is not None and most is not None and 0 < least <= most:
        return to_set(math.sqrt(least * most), least, most), "middle of the torque window"
    usual = rule("usual_torque_n_m")
    if least is not None and least > 0 and math.isfinite(least):
        return min(least, top), "the window is empty: the least that holds is shown"
    return min(usual.set, most or top, top), f"usual torque: {usual.basis}"


def to_set(value: float, low: float, high: float) -> float:
    """A torque [N·m] to whole newton meters where a wrench set so stays in the window, else to tenths.

    As it is where neither lies between ``low`` and ``high`` [N·m].
    """
    near = [round(round(value / step) * step, 6) for step in (1.0, 0.1)]
    hits = [v for v in near if hit(v).within(low, high)]
    inside = [v for v in near if low <= v <= high]
    return (hits or inside or [value])[0]


def window(
    hold: Hold,
    jaws: Jaws | None,
    part: Part,
    job: Job,
    shop: Shop,
) -> tuple[float, float, float] | None:
    """Torque window of a hold: least to hold, set, most before harm [N·m].

    Returns None when the window is empty or cannot be known; the proofs then say why.
    A torque given in the job is the set one even where it lies outside the window. None as well for a
    vise that no wrench closes: its proof tells the window as a force.
    """
    if clamp.by_force(hold.vise):
        return None
    s = study(gripped(hold, part), jaws, part, job, shop)
    if s.least is None or s.most is None or s.least > s.most:
        return None
    return (s.least, s.torque, s.most)
