"""The conductor: from a job and a shop to a record. No arithmetic here; it reads like a table of contents."""

from __future__ import annotations

import datetime
from collections.abc import Callable, Sequence
from importlib.metadata import PackageNotFoundError, version

import jawright
from jawright import choose, clamping_choice, clamping_plans, cost, pins, trial, wanting, weigh
from jawright.begun import Begun, begin
from jawright.beside import one_thread, unswept
from jawright.carry import Progress, Proven, Work, best_of, words
from jawright.choose import Candidate
from jawright.decide import decide
from jawright.hold import stance
from jawright.hold.apart import apart
from jawright.hold.clampings import Clampings
from jawright.hold.incoming import informed
from jawright.hold.resolve import Ask
from jawright.hold.seen import seen
from jawright.jaws.kept import Kept, shop_with
from jawright.job.gaps import check_names
from jawright.job.model import Job
from jawright.made_blanks import made_blanks
from jawright.part.model import Part
from jawright.proof.everything import window
from jawright.proof.model import worst
from jawright.proof.pads import pressure_maps
from jawright.record import Attempt, BlankWork, Decision, DecisionKind, Pinned, Record, Rival, Whole
from jawright.shop.model import Shop

Shown = Callable[[Record], None]
LIBRARIES = ("numpy", "scipy", "shapely", "clarabel", "cadquery-ocp-novtk")


def plan(
    job: Job,
    shop: Shop,
    *,
    kept: Sequence[Kept] = (),
    progress: Progress | None = None,
    shown: Shown | None = None,
    made: str | None = None,
    begun: Begun | None = None,
) -> Record:
    """Plan how to hold a part: choose, design, prove, program and verify.

    Parameters
    ----------
    job, shop : as ``read_job`` and ``read_shop`` give them
    kept : pairs that exist and are tried as they are, from ``rack.stock.short_list``
    progress : called with one phrase at the start of each step
    shown : called with each design while it is proven: a record that holds what is known so far, whose
        verdict is `unknown`, and that is never ready
    made : the date to put on the record; today when None
    begun : of the same job and shop, from ``begun.begin``: its part and stances are taken, not found again

    Raises
    ------
    JawrightError
        For anything wrong with the inputs; a hold that cannot be had is not an error but a
        decision in the record, unless the shop simply lacks a vise, blank, parallel or cutter.
    """
    return whole(job, shop, kept=kept, progress=progress, shown=shown, made=made, begun=begun).record


def whole(
    job: Job,
    shop: Shop,
    *,
    kept: Sequence[Kept] = (),
    progress: Progress | None = None,
    shown: Shown | None = None,
    made: str | None = None,
    begun: Begun | None = None,
) -> Whole:
    """``plan``, with the plans of both clampings where a part takes two."""
    say, show = progress or (lambda _: None), shown or (lambda _: None)

    def one(own: Job, step: Progress) -> Record:
        return _plan(own, shop, (), say=step, shown=lambda _: None, made=made, begun=None)[0]

    with one_thread(), unswept():
        record, found, ask = _plan(job, shop, kept, say=say, shown=show, made=made, begun=begun)
        if found is None:
            return Whole(record)
        return clamping_plans.both(
            record, found, part=record.part, job=job, ask=ask, shop=shop, say=say, plan_one=one
        )


def _plan(
    job: Job,
    shop: Shop,
    pairs: Sequence[Kept],
    *,
    say: Progress,
    shown: Shown,
    made: str | None,
    begun: Begun | None,
) -> tuple[Record, Clampings | None, Ask]:
    """The record; two clampings where no one hold serves; and what the print asks."""
    check_names(
        job,
        vises=[v.id for v in shop.vises],
        blanks=[b.id for b in shop.blanks],
        cutters=[c.id for c in shop.cutters],
        parallels=[p.id for p in shop.parallels],
    )
    say("reading the part")
    begun = begun or begin(job, shop)
    part, ask = begun.part, begun.ask
    say("trying stances")
    candidates = begun.stances()
    candidates += trial.kept(pairs, part, job, shop, ask)

    def show(p: Proven) -> None:
        shown(_so_far(part, job, shop, candidates, p, made=made))

    best, attempts = best_of(candidates, Work(part, job, shop, ask, say, show))
    if best is None:
        wanting.refuse(candidates, part, job, shop, ask, say=say)
    pinned = pins.costs(
        job, shop, part=part, ask=ask, found=candidates, chosen=best.candidate if best else None
    )
    found, ask = (None, ask) if best else _clampings(part, job, ask, shop, say)
    record = _record(
        part, job, shop, candidates, best, found=found, attempts=attempts, pinned=pinned, made=made
    )
    return record, found, ask


def _record(
    part: Part,
    job: Job,
    shop: Shop,
    candidates: Sequence[Candidate],
    best: Proven | None,
    *,
    found: Clampings | None,
    attempts: tuple[Attempt, ...],
    pinned: tuple[Pinned, ...],
    made: str | None,
) -> Record:
    proofs = best.proofs if best else ()
    job = informed(job, part, best.candidate.up) if best else job
    in_pair = best.candidate.kept if best else None
    shop = shop_with(in_pair.kept, shop) if in_pair else shop
    minutes = best.program.minutes if best and best.program else None
    costs = weigh.costs(best.candidate if best else None, candidates, shop, minutes)
    decision = decide(
        best.candidate if best else None,
        candidates,
        proofs,
        job=job,
        shop=shop,
        cutting_minutes=minutes,
        attempts=attempts,
        clampings=found,
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
        homing=best.homing if best else None,
        pressure=pressure_maps(best.hold, best.jaws, part, job, shop) if best else (),
        scatter=best.scatter if best else (),
        attempts=attempts,
        pinned=pinned,
        reuse=weigh.reuse(in_pair),
        costs=costs,
        break_even=cost.pairs(costs),
        blank_work=_blank_work(best, job, shop),
        seen=seen(best.hold, part) if best else None,
    )


def _so_far(
    part: Part, job: Job, shop: Shop, candidates: Sequence[Candidate], p: Proven, *, made: str | None
) -> Record:
    """A design under proof as a record. Its verdict stays `unknown`: nothing is decided yet."""
    c, job = p.candidate, informed(job, part, p.candidate.up)
    own = shop_with(c.kept.kept, shop) if c.kept else shop
    kind: DecisionKind = c.kind if c.kept is None else "jaws from the rack"
    return Record(
        version=jawright.__version__,
        made=made or datetime.date.today().isoformat(),
        job=job,
        shop=own,
        part=part,
        decision=Decision(kind, f"Being proven: {c.kind}, {words(c)}.", None, None, shop.rates.currency, ()),
        rivals=_rivals(candidates, p),
        hold=p.hold,
        jaws=p.jaws,
        proofs=p.proofs,
        verdict="unknown",
        program=None,
        verification=None,
        torque=window(p.hold, p.jaws, part, job, own) if p.proofs else None,
        models=_versions(),
        homing=p.homing,
        scatter=p.scatter,
        reuse=weigh.reuse(c.kept) if c.kept else None,
        seen=seen(p.hold, part),
    )


def _clampings(part: Part, job: Job, ask: Ask, shop: Shop, say: Progress) -> tuple[Clampings | None, Ask]:
    """Two clampings of a part whose whole outline is milled, with the first face up that it goes with.

    With them what is asked wall by wall, as it is shared out between them.
    """
    for up in stance.ups(part, job.up, ask.datums):
        own = apart(ask, part, up)
        found = clamping_choice.two(part, job, own, up, shop, say=say)
        if found is not None:
            return found, own
    return None, ask


def _blank_work(best: Proven | None, job: Job, shop: Shop) -> tuple[BlankWork, ...]:
    """Programs of the blanks made from bar, where jaws are cut at all."""
    if best is None or best.jaws is None or best.program is None:
        return ()
    return made_blanks(best.jaws, shop, job, vise=best.hold.vise)


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
            reason=words(c) if c is chosen else _why(c, chosen),
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
