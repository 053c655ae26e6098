"""The conductor: from a job and a shop to a record. No arithmetic here; it reads like a table of contents."""

from __future__ import annotations

import datetime
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from importlib.metadata import PackageNotFoundError, version

import jawright
from jawright import choose, trial
from jawright.beside import Beside, one_thread
from jawright.choose import Candidate
from jawright.cutting.model import Program
from jawright.cutting.program import write
from jawright.decide import decide
from jawright.errors import JawrightError
from jawright.hold import resolve as resolving
from jawright.hold.model import Hold
from jawright.jaws.design import design
from jawright.jaws.model import Jaws
from jawright.job.gaps import check_names
from jawright.job.model import Job
from jawright.part.model import Part
from jawright.part.read import read_part
from jawright.proof.everything import prove, window
from jawright.proof.model import Proof, worst
from jawright.proof.scatter import scatter
from jawright.record import Record, Rival
from jawright.shop.model import Shop
from jawright.verify.check import check
from jawright.verify.model import Verification

Progress = Callable[[str], None]
FULL_TRIES = 3
"""How many of the best candidates are designed and proven in full before the best of them is taken."""

LIBRARIES = ("numpy", "scipy", "shapely", "clarabel", "cadquery-ocp-novtk")


@dataclass(frozen=True, slots=True)
class Proven:
    """A candidate carried through design, proofs, program and verification."""

    candidate: Candidate
    hold: Hold
    jaws: Jaws | None
    proofs: tuple[Proof, ...]
    program: Program | None = None
    verification: Verification | None = None
    cutting: Beside[tuple[Program, Verification]] | None = None


def plan(job: Job, shop: Shop, *, progress: Progress | None = None, made: str | None = None) -> Record:
    """Plan how to hold a part: choose, design, prove, program and verify.

    Parameters
    ----------
    job, shop : as ``read_job`` and ``read_shop`` give them
    progress : called with one phrase at the start of each step
    made : the date to put on the record; today when None

    Raises
    ------
    JawrightError
        For anything wrong with the inputs; a hold that cannot be had is not an error but a
        decision in the record, unless the shop simply lacks a vise, blank, parallel or cutter.
    """
    with one_thread():
        return _plan(job, shop, progress or (lambda _: None), made)


def _plan(job: Job, shop: Shop, say: Progress, made: str | None) -> Record:
    check_names(
        job,
        vises=[v.id for v in shop.vises],
        blanks=[b.id for b in shop.blanks],
        cutters=[c.id for c in shop.cutters],
        parallels=[p.id for p in shop.parallels],
    )
    say("reading the part")
    part = read_part(job.part_file, unit=job.part_unit, thickness=job.thickness, body=job.body)
    vises = trial.vises(part, job, shop)
    ask = resolving.resolve(part, job)
    say("trying stances")
    candidates = trial.candidates(part, job, shop, ask, vises)
    best = _prove_best(choose.ranked(candidates), candidates, part=part, job=job, shop=shop, say=say)
    if best is None:
        trial.refuse_for_want(candidates, part, job, shop)
        return _record(part, job, shop, candidates, None, made=made)
    if best.cutting is not None:
        say("writing the program and checking it")
        program, verification = best.cutting.result()
        best = replace(best, program=program, verification=verification)
    return _record(part, job, shop, candidates, best, made=made)


def _prove_best(
    order: Sequence[Candidate],
    candidates: list[Candidate],
    *,
    part: Part,
    job: Job,
    shop: Shop,
    say: Progress,
) -> Proven | None:
    """Design and prove the best few in full; the first without a failed proof wins, else the best of them."""
    tried: list[Proven] = []
    for candidate in order:
        if len(tried) == FULL_TRIES:
            break
        if any(choose.alike(candidate, t.candidate) for t in tried):
            continue
        say(f"designing and proving: {candidate.kind}, {candidate.why_tried}")
        try:
            proven = _prove(candidate, part, job, shop)
        except JawrightError as error:
            if error.code not in ("hold-none", "geometry"):
                raise
            at = candidates.index(candidate)
            why = error.what if error.code == "hold-none" else trial.NO_OUTLINE
            candidates[at] = replace(candidate, lost=why)
            continue
        tried.append(proven)
        if worst([p.verdict for p in proven.proofs]) != "fail":
            break
    best = min(tried, key=lambda t: _failures(t.proofs)) if tried else None
    for t in tried:
        if t is not best and t.cutting is not None:
            t.cutting.drop()
    return best


def _failures(proofs: Sequence[Proof]) -> int:
    return len([p for p in proofs if p.verdict == "fail"])


def _prove(candidate: Candidate, part: Part, job: Job, shop: Shop) -> Proven:
    if candidate.draft is None:
        assert candidate.hold is not None
        hold, jaws = candidate.hold, None
    else:
        assert candidate.view is not None
        pair = design(
            candidate.draft, candidate.view, part=part, job=job, shop=shop, vise=candidate.draft.hold.vise
        )
        hold, jaws = pair.hold, pair.jaws
    if jaws is None:
        return Proven(candidate, hold, None, prove(hold, None, part, job, shop))
    torque = window(hold, jaws, part, job, shop)
    cutting = Beside(lambda: _cut(hold, jaws, torque, job, shop))  # the program does not wait for the proofs
    try:
        return Proven(candidate, hold, jaws, prove(hold, jaws, part, job, shop), cutting=cutting)
    except BaseException:
        cutting.drop()
        raise


def _cut(
    hold: Hold, jaws: Jaws, torque: tuple[float, float, float] | None, job: Job, shop: Shop
) -> tuple[Program, Verification]:
    """Write the program of a pair and have it read back and carried out."""
    set_torque = torque[1] if torque is not None else None
    program = write(jaws, shop, job, vise=hold.vise, torque=set_torque)
    verification = check(
        program.text, origin=program.origin, turned=program.turned, jaws=jaws, shop=shop, vise=hold.vise
    )
    return program, verification


def _record(
    part: Part,
    job: Job,
    shop: Shop,
    candidates: Sequence[Candidate],
    best: Proven | None,
    *,
    made: str | None,
) -> Record:
    proofs = best.proofs if best else ()
    decision = decide(
        best.candidate if best else None,
        candidates,
        proofs,
        job=job,
        shop=shop,
        cutting_minutes=best.program.minutes if best and best.program else None,
    )
    return Record(
        version=jawright.__version__,
        made=made or datetime.date.today().isoformat(),
        job=job,
        shop=shop,
        part=part,
        decision=decision,
        rivals=_rivals(candidates, best),
        hold=best.hold if best else None,
        jaws=best.jaws if best else None,
        proofs=proofs,
        verdict=worst([p.verdict for p in proofs]),
        program=best.program if best else None,
        verification=best.verification if best else None,
        torque=window(best.hold, best.jaws, part, job, shop) if best else None,
        models=_versions(),
        scatter=scatter(best.hold, part, job, shop) if best else (),
    )


def _rivals(candidates: Sequence[Candidate], best: Proven | None) -> tuple[Rival, ...]:
    """Every stance tried, the chosen one first, then by score; with the reason each lost."""
    chosen = best.candidate if best else None
    order = choose.ranked(candidates)
    if chosen is not None:
        order = [chosen, *(c for c in order if c is not chosen)]
    order += [c for c in candidates if c.lost]
    return tuple(
        Rival(
            rank=i + 1,
            kind=c.kind,
            up=c.up,
            turn=c.turn,
            shift=c.shift,
            chosen=c is chosen,
            score=None if c.lost else choose.score(c),
            predicted_yield=c.predicted,
            grip_margin=c.margin,
            reason=c.why_tried if c is chosen else _why(c, chosen),
        )
        for i, c in enumerate(order)
    )


def _why(c: Candidate, chosen: Candidate | None) -> str:
    if chosen is None:
        return c.lost or "no candidate could be proven"
    return choose.why_lost(c, chosen)


def _versions() -> tuple[tuple[str, str], ...]:
    out = []
    for name in LIBRARIES:
        try:
            out.append((name, version(name)))
        except PackageNotFoundError:
            out.append((name, "unknown"))
    return tuple(out)
