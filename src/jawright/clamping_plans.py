"""Plan both clampings of a part that takes two, each as a job of its own, and say what comes of them."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from tempfile import TemporaryDirectory

from jawright.carry import Progress
from jawright.clamping_jobs import NO_JOB, Both, ClampingJob, jobs_of
from jawright.errors import JawrightError
from jawright.hold.clampings import Clampings
from jawright.hold.found import Ask
from jawright.job.model import Job
from jawright.part.model import Part
from jawright.proof.model import Verdict, worst
from jawright.record import Clamping, Decision, Planned, Record, Whole
from jawright.shop.model import Shop
from jawright.told import told

PlanOne = Callable[[Job, Progress], Record]


def both(
    record: Record,
    found: Clampings,
    *,
    part: Part,
    job: Job,
    ask: Ask,
    shop: Shop,
    say: Progress,
    plan_one: PlanOne,
) -> Whole:
    """The record that decides for two clampings, with both of them planned.

    ``plan_one`` plans one job. A clamping that cannot be planned says why, and the other is planned
    all the same; the verdict is the worse of both, and `unknown` where tolerances lie between them.
    """
    made = _jobs(found, part, job, ask, shop)
    if isinstance(made, str):
        point = f"They are not planned here: {made}"
        return Whole(replace(record, decision=_with_points(record.decision, (point,))))
    planned: list[Planned] = []
    seen: list[Clamping] = []
    for n, one in enumerate(made.jobs, 1):
        result = _plan(one, _of(n, say), plan_one)
        own = result if isinstance(result, Record) else None
        planned.append(Planned(one.folder, own, one.files))
        seen.append(_clamping(one, result, job))
    verdicts: list[Verdict] = [_level(c) for c in seen]
    if made.between:
        verdicts.append("unknown")
    verdict = worst(verdicts)
    whole = replace(
        record,
        clampings=tuple(seen),
        between=made.between,
        verdict=verdict,
        decision=_decided(record.decision, planned),
    )
    return Whole(whole, tuple(planned))


def _of(n: int, say: Progress) -> Progress:
    return lambda step: say(f"clamping {n} of 2: {step}")


def _jobs(found: Clampings, part: Part, job: Job, ask: Ask, shop: Shop) -> Both | str:
    """Both jobs, or why there are none."""
    try:
        made = jobs_of(found, part, job, ask, shop)
    except JawrightError as error:
        if error.code not in NO_JOB:
            raise
        return f"{error.what}."
    return made or "one feature is milled in both; name each wall as a feature of its own."


def _plan(one: ClampingJob, say: Progress, plan_one: PlanOne) -> Record | JawrightError:
    """Its record, planned from the very files that are left for it, or the error that it ends in."""
    with TemporaryDirectory() as place:
        try:
            return plan_one(one.read_in(Path(place)), say)
        except JawrightError as error:
            return error


def _clamping(one: ClampingJob, result: Record | JawrightError, job: Job) -> Clamping:
    if isinstance(result, JawrightError):
        what = told(result.what, job.units)
        return Clamping(
            one.folder, one.turn, one.features, one.words, f"It could not be planned: {what}.", "unknown",
            False, (f"{what[:1].upper()}{what[1:]}; {told(result.todo, job.units)}.",),
        )  # fmt: skip
    bad = [p for p in result.proofs if p.verdict == "fail"] + [
        p for p in result.proofs if p.verdict == "unknown"
    ]
    still = tuple(f"{p.question.capitalize()}, {p.name}: {p.verdict}. {p.sentence}" for p in bad)
    v = result.verification
    if result.program is not None and (v is None or not v.verified):
        still += ("The jaw program did not verify.",)
    if not result.proofs:
        still += ("Nothing is proven.",)
    return Clamping(
        one.folder, one.turn, one.features, one.words, result.decision.sentence, result.verdict,
        result.ready, still,
    )  # fmt: skip


def _level(c: Clamping) -> Verdict:
    """What a clamping counts: one that is not ready is never better than `unknown`."""
    return c.verdict if c.ready or c.verdict in ("fail", "unknown") else "fail"


def _decided(d: Decision, planned: list[Planned]) -> Decision:
    """The decision with what both clampings take together, and where each is found."""
    points = [
        f"Clamping {n} is planned in {p.folder}: its job, jaws, program, proofs and sheet."
        if p.record is not None
        else f"Clamping {n} is not planned; {p.folder} holds its job."
        for n, p in enumerate(planned, 1)
    ]
    own = [p.record.decision for p in planned if p.record is not None]
    minutes = [o.minutes for o in own if o.minutes is not None]
    money = [o.money for o in own if o.money is not None]
    all_known = len(minutes) == len(money) == len(planned)
    options = tuple(
        replace(o, minutes=sum(minutes), money=sum(money)) if o.kind == d.kind and all_known else o
        for o in d.options
    )
    d = replace(d, options=options)
    if all_known:
        d = replace(d, minutes=sum(minutes), money=sum(money))
    return _with_points(d, tuple(points))


def _with_points(d: Decision, points: tuple[str, ...]) -> Decision:
    return replace(d, points=(*d.points, *points))
