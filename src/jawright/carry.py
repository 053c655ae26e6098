"""Candidates carried through design, proofs and program until one stands, and what was tried on the way.

Lengths in mm, angles in rad.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace

from jawright import choose, trial, vary
from jawright.beside import Beside, Told
from jawright.choose import Candidate
from jawright.cutting.model import Program
from jawright.cutting.program import write
from jawright.errors import JawrightError
from jawright.hold.incoming import informed
from jawright.hold.model import Hold
from jawright.hold.resolve import Ask
from jawright.jaws.kept import shop_with
from jawright.jaws.model import Jaws
from jawright.job.model import Job
from jawright.part.model import Part
from jawright.proof.everything import answer, window
from jawright.proof.homing import region
from jawright.proof.keys import designed
from jawright.proof.model import QUESTIONS, Homing, Proof, Question, Scatter, worst
from jawright.proof.scatter import scatter
from jawright.proof.window import NAME as WINDOW
from jawright.proof.wrench import lacking
from jawright.record import Attempt
from jawright.shop.model import Shop
from jawright.told import told
from jawright.verify.check import check
from jawright.verify.model import Verification

Progress = Callable[[str], None]
STANCES = 3
"""How many unlike stances of one kind are proven in full, each with its changes, before the best is taken."""
CHANGES = 5
"""How many changes (torque, seat, spacers, blank, grip, cut) a stance gets whose proofs fail."""
KEPT = 2
"""Pairs from the rack that are proven in full as they are."""
MOST = 10
"""Most designs proven in full."""
CARRIED_ON = ("hold-none", "geometry")
HURT = ("grip depth", "opening of the vise", "drop-in room")
MARKS = ("bruise", "taper", "wall shift", "contact over the grip depth")
"""Proofs whose failure marks the part or takes of its tolerances, and can be lived with for one part."""
CAUSES = ("located", "grip depth")
"""Proofs whose failure brings others with it: a part that is not located or hardly touched."""
LOOSE = 1.0  # [mm] a feature that springs further is not held by the clamp at all
MARK = 0.3  # weight of such a failure beside one that spoils the part (common practice, no source)
SEATED: tuple[Question, ...] = ("sits", "locates")
"""Questions that share a population of seated parts, which the others do not need: for another core, once the
torque is known. Before that the program is on that core, and the torque waits for nobody."""
SOON = 0.5  # [s] answers are not shown by themselves where the whole sheet follows as soon
AFTER = 4
"""Most designs proven after one that stands, in a torque window too narrow for a wrench, to find a wider."""
AS_GOOD = 0.005  # and only of stances of at most so many fewer good parts
OF_THE_JOB = frozenset({"tolerances"})
"""Proofs that stay unknown for want of something in the job, whatever the stance."""


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
    homing: Homing | None = None
    scatter: tuple[Scatter, ...] = ()

    @property
    def stands(self) -> bool:
        """No proof fails or is open, and the program does what the design says."""
        read = self.verification is None or self.verification.verified
        return read and worst([p.verdict for p in self.proofs]) in ("pass", "caution")

    @property
    def tight(self) -> float:
        """How much too narrow for a wrench its torque window is: 0 where one hits it, 1 where it is shut."""
        return lacking(next((p for p in self.proofs if p.name == WINDOW), None))

    @property
    def open(self) -> tuple[Proof, ...]:
        """The proofs that fail, causes of others first, then those that are unknown."""
        bad = sorted((p for p in self.proofs if p.verdict == "fail"), key=lambda p: p.name not in CAUSES)
        return (*bad, *(p for p in self.proofs if p.verdict == "unknown"))

    @property
    def rank(self) -> tuple[float, float, int, int]:
        """Least that can hurt, then least that spoils the part, a program that verifies, fewest unknowns.

        What can hurt (it does not go in, slips, collides) is never outweighed by anything else.
        Each failure counts one and as much more as its figure misses its limit by, at most one.
        """
        fails = [p for p in self.proofs if p.verdict == "fail"]
        hurts = sum(_missed(p) for p in fails if dangerous(p))
        spoils = sum(_missed(p) * (MARK if p.name in MARKS else 1.0) for p in fails if not dangerous(p))
        unread = self.verification is not None and not self.verification.verified
        return (round(hurts, 3), round(spoils, 3), int(unread), len(self.open) - len(fails))


def dangerous(p: Proof) -> bool:
    """Whether a failure of this proof can hurt somebody or crash a cutter, and not only spoil a part.

    The proof says so itself where its failures differ: a torque window that is empty for bruising or spring
    only marks or bends the part. A spring of millimeters is none: the part gives way between its walls.
    """
    if p.harm:
        return p.harm == "hurts"
    if p.name.startswith("spring"):
        return p.value is not None and p.value > LOOSE
    return p.question in ("holds", "clears") or p.name in HURT


def _missed(p: Proof) -> float:
    """1 for a failure, and up to 1 more: how far its figure is past its limit, as a share of the limit."""
    if p.margin is None or not p.limit:
        return 2.0
    return 1.0 + min(1.0, max(0.0, -p.margin / abs(p.limit)))


@dataclass(frozen=True, slots=True)
class Work:
    """What a candidate is carried through for."""

    part: Part
    job: Job
    shop: Shop
    ask: Ask
    say: Progress
    show: Callable[[Proven], None] = lambda _: None
    """Called with each design before its proofs; again with them if one fails or the program takes long."""


def best_of(candidates: list[Candidate], work: Work) -> tuple[Proven | None, tuple[Attempt, ...]]:
    """Design and prove the best few in full, and changes of those that fail; with all that was tried.

    The first that stands wins, else the one whose failures weigh least. After one whose torque window is
    too narrow for a wrench a few more are tried, and the first that has a wider one wins. What cannot be
    designed is marked as lost in ``candidates``, and changed candidates that were tried are added to it.
    """
    tried: list[Proven] = []
    for candidate in _in_turn(candidates, tried, work):
        at = f"turn {math.degrees(candidate.turn):.1f}°"
        work.say(f"designing and proving: {candidate.kind}, {at}, {words(candidate)}")
        try:
            proven = _prove(candidate, work)
        except JawrightError as error:
            if error.code not in CARRIED_ON:
                raise
            why = told(error.what, work.job.units) if error.code == "hold-none" else trial.NO_OUTLINE
            _set(candidates, candidate, replace(candidate, lost=why))
            continue
        _set(candidates, candidate, candidate)
        tried.append(_with_program(proven) if not proven.open else proven)
        first = next((i for i, t in enumerate(tried) if t.stands), len(tried))
        enough = tried[-1].stands and not tried[-1].tight
        if enough or len(tried) >= min(MOST, first + 1 + AFTER):
            break
    if not tried:
        return None, ()
    best = min(range(len(tried)), key=lambda i: (*tried[i].rank, tried[i].tight, i))
    for i, t in enumerate(tried):
        if i != best and t.cutting is not None:
            t.cutting.drop()
    tried[best] = _with_program(tried[best])
    return tried[best], tuple(_attempt(t, chosen=i == best) for i, t in enumerate(tried))


def words(c: Candidate) -> str:
    """The candidate in a phrase: why the stance, and what was changed."""
    return f"{c.why_tried}, {c.changed}" if c.changed else c.why_tried


def _set(candidates: list[Candidate], old: Candidate, new: Candidate) -> None:
    """Put ``new`` in the place of ``old``, or at the end when it was not among them."""
    for i, c in enumerate(candidates):
        if c is old:
            candidates[i] = new
            return
    candidates.append(new)


def _in_turn(candidates: list[Candidate], tried: list[Proven], work: Work) -> Iterator[Candidate]:
    """Candidates in the order they should be proven, given what became of those before.

    A stance whose proofs fail is changed first, each change building on what stood best so far; then the
    next unlike stance comes, of either kind. What stays unknown on two stances alike is missing from the
    job or beyond the models, and no third stance is proven for it.
    """
    bench = vary.Bench(work.part, work.job, work.shop, work.ask)
    done: list[Candidate] = []
    unknown: list[frozenset[str]] = []
    for candidate in choose.ranked(candidates):
        alike = sum(d.kind == candidate.kind and (d.kept is None) == (candidate.kept is None) for d in done)
        if alike >= (STANCES if candidate.kept is None else KEPT):
            continue
        if any(choose.alike(candidate, d) for d in done):
            continue
        stands = next((t.candidate.predicted for t in tried if t.stands), None)
        if stands is not None and (candidate.predicted or 0.0) < stands - AS_GOOD:
            continue
        before = len(tried)
        yield candidate
        if len(tried) == before:
            continue
        done.append(candidate)
        made = 0
        while made < CHANGES:
            own = tried[before:]
            near = min(range(len(own)), key=lambda i: (own[i].rank, i))
            shown = [vary.Tried(t.candidate, t.hold, t.jaws, t.proofs) for t in own]
            change = vary.next_change(candidate, shown, near, bench)
            if change is None:
                break
            yield change
            made += 1
        best = min(tried[before:], key=lambda t: t.rank)
        if best.rank[:3] == (0, 0, 0) and best.open:
            names = frozenset(p.name for p in best.open)
            if names in unknown or names <= OF_THE_JOB:
                return
            unknown.append(names)


def _attempt(t: Proven, *, chosen: bool) -> Attempt:
    c = t.candidate
    narrow = [p for p in t.proofs if p.name == WINDOW and t.stands and t.tight]  # why others were tried
    unread = t.verification is not None and not t.verification.verified
    return Attempt(
        kind=c.kind,
        up=c.up,
        turn=c.turn,
        grip_depth=t.hold.grip_depth,
        blank=t.jaws.fixed.blank.id if t.jaws is not None else "",
        words=words(c),
        verdict="fail" if unread else worst([p.verdict for p in t.proofs]),
        chosen=chosen,
        open=tuple(f"{p.question}, {p.name}: {p.verdict}. {p.sentence}" for p in (*t.open, *narrow))
        + (("the program does not verify",) if unread else ()),
        changed=c.changed,
    )


def _with_program(t: Proven) -> Proven:
    """With its program written and read back, when there is one."""
    if t.cutting is None:
        return t
    program, verification = t.cutting.result()
    return replace(t, program=program, verification=verification, cutting=None)


def _prove(candidate: Candidate, work: Work) -> Proven:
    part, shop = work.part, work.shop
    job = informed(work.job, part, candidate.up)
    if candidate.kept is not None:
        own = shop_with(candidate.kept.kept, shop)
        return _answered(Proven(candidate, candidate.kept.hold, candidate.kept.jaws, ()), work, job, own)
    if candidate.draft is None:
        assert candidate.hold is not None
        return _answered(Proven(candidate, candidate.hold, None, ()), work, job, shop)
    assert candidate.view is not None
    vise = candidate.draft.hold.vise
    pair = designed(candidate.draft, candidate.view, part=part, job=job, shop=shop, vise=vise)
    torque: Told[float | None] = Told()
    # the program does not wait for the proofs, but lets them go first
    cutting = Beside(lambda: _cut(pair.hold, pair.jaws, torque, job, shop), patient=True)
    try:
        return _answered(
            Proven(candidate, pair.hold, pair.jaws, (), cutting=cutting), work, job, shop, torque
        )
    except BaseException:
        cutting.drop()
        raise


def _answered(
    p: Proven, work: Work, job: Job, shop: Shop, torque: Told[float | None] | None = None
) -> Proven:
    """With all six questions answered, on as many cores as there are; ``torque`` is told once it is known."""
    hold, jaws, part = p.hold, p.jaws, work.part
    work.show(p)

    def asked(*questions: Question) -> dict[Question, tuple[Proof, ...]]:
        return {q: answer(hold, jaws, part, job, shop, question=q) for q in questions}

    within = window(hold, jaws, part, job, shop)
    if torque is not None:
        torque.tell(within[1] if within is not None else None)
    located = Beside(lambda: (asked(*SEATED), region(hold, job, shop), scatter(hold, jaws, part, job, shop)))
    found = asked(*(q for q in QUESTIONS if q not in SEATED))
    seated, homing, clouds = located.result()
    found |= seated
    p = replace(p, proofs=tuple(x for q in QUESTIONS for x in found[q]), homing=homing, scatter=clouds)
    if p.open or (p.cutting is not None and not p.cutting.within(SOON)):
        work.show(p)
    return p


def _cut(
    hold: Hold, jaws: Jaws, torque: Told[float | None], job: Job, shop: Shop
) -> tuple[Program, Verification]:
    """Write the program of a pair and have it read back and carried out."""
    program = write(jaws, shop, job, vise=hold.vise, torque=torque.heard)
    verification = check(
        program.text,
        origin=program.origin,
        turned=program.turned,
        jaws=jaws,
        shop=shop,
        vise=hold.vise,
        wear=program.wear,
    )
    return program, verification
