"""What a machinist changes when a proof fails: a harder blank, a thicker one, a deeper grip."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import replace

from jawright import handbook, trial
from jawright.choose import Candidate
from jawright.errors import JawrightError
from jawright.hold.resolve import Ask
from jawright.hold.stance import Turn
from jawright.hold.view import ABOVE, GRIP_MOST, view
from jawright.job.model import Job
from jawright.part.model import Part
from jawright.proof.model import Proof
from jawright.shop.model import Blank, Shop

DEEPER = 1.5  # a grip that fails is deepened by this factor (common practice, no source)
LEAST_MORE = 0.5  # [mm] a smaller gain in grip depth is not worth another proof (common practice, no source)
Tried = tuple[Candidate, tuple[Proof, ...]]


def next_change(
    first: Candidate, tried: Sequence[Tried], *, part: Part, job: Job, shop: Shop, ask: Ask
) -> Candidate | None:
    """The next change of a stance worth proving, None when nothing is left that could help.

    ``tried`` holds the stance and its changes so far with the proofs that fail or are open. Changes
    build on the last one tried, so that a harder blank is also tried with a deeper grip. What the job
    pins is never changed.
    """
    bad = [p for p in tried[-1][1] if p.verdict == "fail"]
    if not bad:
        return None
    have = {_key(c) for c, _ in tried}
    for make in _ways(tried[-1][0], bad, job=job, shop=shop):
        found = make(part, ask)
        if found is not None and not found.lost and _key(found) not in have:
            return replace(found, why_tried=first.why_tried, rank_hint=first.rank_hint)
    return None


def _key(c: Candidate) -> tuple[str, float]:
    blank = c.draft.place.blank.id if c.draft else ""
    return (blank, round(c.hold.grip_depth, 3) if c.hold else 0.0)


Make = Callable[[Part, Ask], Candidate | None]


def _ways(last: Candidate, bad: Sequence[Proof], *, job: Job, shop: Shop) -> Iterator[Make]:
    """Changes that answer the failed proofs, the cheapest first."""
    assert last.hold is not None
    names = [p.name for p in bad]
    why = next(
        (n for n in names if n in ("torque window", "grip depth", "bruise") or n.startswith("load")), ""
    )
    window = [p.sentence for p in bad if p.name == "torque window"]
    marked = "bruise" in names or any("bruising" in s for s in window)
    slips = bool(window) or "grip depth" in names or any(n.startswith("load factor") for n in names)
    bends = "taper" in names or "contact over the grip depth" in names
    if last.draft is not None and job.hold.blank == "":
        now = last.draft.place.blank
        if marked and job.hold.jaw_material == "":
            yield _in_blanks(last, _harder(now, job, shop), job=job, shop=shop)
        if bends:
            thick = [
                b for b in shop.blanks if b.thickness > now.thickness + 1e-9 and b.material == now.material
            ]
            yield _in_blanks(last, thick, job=job, shop=shop)
    if (marked or slips) and job.hold.grip_depth is None:
        yield _deeper(last, why, job=job, shop=shop)
    if last.draft is not None and job.hold.blank == "" and slips:
        now = last.draft.place.blank
        high = [b for b in shop.blanks if b.height > now.height + 1e-9 and b.material == now.material]
        yield _deeper(last, why, job=job, shop=replace(shop, blanks=tuple(high)))


def _harder(now: Blank, job: Job, shop: Shop) -> list[Blank]:
    """Blanks of a metal that marks later, when it is the jaw that marks first."""
    work, jaw = handbook.material(job.material), handbook.material(now.material)
    if jaw.bruise_stress >= work.bruise_stress:
        return []
    return [b for b in shop.blanks if handbook.material(b.material).bruise_stress > jaw.bruise_stress + 1e-9]


def _in_blanks(last: Candidate, blanks: Sequence[Blank], *, job: Job, shop: Shop) -> Make:
    def make(part: Part, ask: Ask) -> Candidate | None:
        assert last.view is not None and last.hold is not None
        if not blanks:
            return None
        some = replace(shop, blanks=tuple(blanks))
        turn = Turn(last.turn, last.why_tried, last.rank_hint)
        found = trial.soft(last.view, turn, last.hold.vise, part=part, job=job, shop=some, ask=ask)
        if found.draft is None:
            return None
        b = found.draft.place.blank
        return replace(found, changed=_and(last.changed, f"blank {b.id} ({b.material})"))

    return make


def _deeper(last: Candidate, why: str, *, job: Job, shop: Shop) -> Make:
    def make(part: Part, ask: Ask) -> Candidate | None:
        assert last.view is not None and last.hold is not None
        now = last.hold.grip_depth
        most = min(last.view.tall - ABOVE, max(GRIP_MOST, now))
        want = min(DEEPER * now, most)
        if want < now + LEAST_MORE or not shop.blanks:
            return None
        asked = replace(job, hold=replace(job.hold, grip_depth=want))
        turn = Turn(last.turn, last.why_tried, last.rank_hint)
        try:
            seen = view(part, asked, ask, last.up)
        except JawrightError:
            return None
        seen = replace(seen, grip_reason=f"deepened from {now:.1f} mm, at which {why} failed")
        if last.kind == "hard jaws":
            found = trial.hard(seen, turn, last.hold.vise, part=part, job=asked, shop=shop, ask=ask)
        else:
            same = [
                b for b in shop.blanks if last.draft is None or b.material == last.draft.place.blank.material
            ]
            some = replace(shop, blanks=tuple(same))
            found = trial.soft(seen, turn, last.hold.vise, part=part, job=asked, shop=some, ask=ask)
        if found.hold is None or found.hold.grip_depth < now + LEAST_MORE:
            return None
        return replace(found, changed=_and(last.changed, f"gripped {found.hold.grip_depth:.1f} mm deep"))

    return make


def _and(before: str, more: str) -> str:
    """Changes in one phrase, a later one of the same kind in the place of the earlier."""
    head = more.split(maxsplit=1)[0]
    kept = [w for w in before.split(" and ") if w and not w.startswith(head)]
    return " and ".join([*kept, more])
