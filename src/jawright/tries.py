"""One stance tried, as steps that stop where they need the quick figures of a hold.

What is tried next depends on the figures, but only within one stance: the steps of many are taken abreast,
and the figures of all holds that are waited for are had at once, which costs far less than one by one.

Lengths in mm, angles in rad.
"""

from __future__ import annotations

from collections.abc import Callable, Generator, Sequence
from dataclasses import replace
from functools import lru_cache, partial
from typing import Literal

from jawright import choose, cost
from jawright.choose import Candidate
from jawright.geometry.frame import Vec3
from jawright.hold import hard as hard_jaws
from jawright.hold import stance
from jawright.hold.incoming import informed
from jawright.hold.model import Hold
from jawright.hold.outline import Outline
from jawright.hold.resolve import Ask
from jawright.hold.view import View
from jawright.jaws import soft as soft_jaws
from jawright.job.model import Job
from jawright.part.model import Part
from jawright.proof.everything import Figures, quick_all
from jawright.proof.outcome import PASS_YIELD
from jawright.same import Same
from jawright.shop.model import Blank, Shop, Vise
from jawright.told import told

FEWEST = 3  # points on walls and stop that locate a part in the plane
SWEPT = 3  # the kind of a turn of the sweep
ONE_ONLY = "and plain jaws grip the largest of several"
FILLS = 0.02  # [mm] parts that vary less fill a whole nest: half a feeler (common practice, no source)
Kind = Literal["hard jaws", "soft jaws"]
Waited = tuple[Hold, Job, Shop]
Trying = Generator[Waited, Figures, Candidate]
"""Steps of one try: gives the holds whose quick figures it needs, is sent them, and ends with a candidate."""


def together(tried: Sequence[Trying]) -> list[Candidate]:
    """The candidates of many tries, their steps taken abreast."""
    out: dict[int, Candidate] = {}
    sent: dict[int, Figures | None] = dict.fromkeys(range(len(tried)))
    while sent:
        waited: dict[int, Waited] = {}
        for k, figures in sent.items():
            try:
                waited[k] = next(tried[k]) if figures is None else tried[k].send(figures)
            except StopIteration as done:
                out[k] = done.value
        sent = dict(zip(waited, quick_all(list(waited.values())), strict=True))
    return [out[k] for k in range(len(tried))]


def alone(tried: Trying) -> Candidate:
    """The candidate of one try."""
    return together([tried])[0]


def each_way(
    stances: Sequence[tuple[View, stance.Turn]],
    *,
    part: Part,
    job: Job,
    shop: Shop,
    ask: Ask,
    vise_list: Sequence[Vise],
) -> list[list[Candidate]]:
    """Every stance in hard and in soft jaws, as far as the job allows either."""
    views = {id(seen): seen for seen, _ in stances}
    jobs = {k: informed(job, part, seen.up) for k, seen in views.items()}
    soft_too = job.hold.kind in ("", "soft jaws")
    outlines = soft_jaws.stand_all(stances) if soft_too else [None] * len(stances)
    ways = [
        _both(seen, turn, outline, part=part, job=jobs[id(seen)], shop=shop, ask=ask, vise_list=vise_list)
        for (seen, turn), outline in zip(stances, outlines, strict=True)
    ]
    found = iter(together([one for both in ways for one in both]))
    return [[next(found) for _ in both] for both in ways]


def _both(
    seen: View,
    turn: stance.Turn,
    outline: Outline | None,
    *,
    part: Part,
    job: Job,
    shop: Shop,
    ask: Ask,
    vise_list: Sequence[Vise],
) -> list[Trying]:
    out = []
    if job.hold.kind in ("", "hard jaws") and turn.kind != SWEPT:
        out.append(_first([hard(seen, turn, v, part=part, job=job, shop=shop, ask=ask) for v in vise_list]))
    if job.hold.kind in ("", "soft jaws"):
        with_soft = partial(soft, seen, turn, outline=outline, part=part, job=job, shop=shop, ask=ask)
        out.append(_first([with_soft(v) for v in vise_list]))
    return out


def _first(tried: Sequence[Trying]) -> Trying:
    """The first that lives, else the first refusal."""
    refused = None
    for one in tried:
        c = yield from one
        if not c.lost:
            return c
        refused = refused or c
    assert refused is not None  # there is at least one vise
    return refused


def hard(seen: View, turn: stance.Turn, vise: Vise, *, part: Part, job: Job, shop: Shop, ask: Ask) -> Trying:
    """One turn in hard jaws on parallels, with the quick proofs' figures; or lost, with the reason."""
    if job.hold.parts > 1:
        return lost("hard jaws", seen.up, turn, f"{job.hold.parts} parts are asked for at a time, {ONE_ONLY}")
    job = informed(job, part, seen.up)
    hold = hard_jaws.propose(seen, turn, ask=ask, part=part, job=job, shop=shop, vise=vise)
    if isinstance(hold, str):
        return lost("hard jaws", seen.up, turn, told(hold, job.units))
    return (yield from _alive("hard jaws", seen, turn, hold, None, job=job, shop=shop))


def soft(
    seen: View,
    turn: stance.Turn,
    vise: Vise,
    *,
    part: Part,
    job: Job,
    shop: Shop,
    ask: Ask,
    few: bool | None = None,
    wrap: bool = False,
    near: bool | None = None,
    outline: Outline | None = None,
) -> Trying:
    """One turn in soft jaws, with the quick proofs' figures; or lost, with the reason.

    ``few`` asks for two pads of a nest (True) or all of it (False); None leaves that to the figures.
    ``wrap`` asks for a nest that goes further round, ``near`` for a leg gripped at its far end alone (True)
    or further in (False); None leaves that to the figures. ``outline`` is what stands, where it is had.
    """
    job = informed(job, part, seen.up)
    growth = job.incoming.growth
    outline = outline or soft_jaws.stand(seen, turn, wrap=wrap)

    def with_pads(two: bool) -> Trying:
        draft = partial(soft_jaws.draft, seen, turn, few=two, wrap=wrap, outline=outline)
        return _in_soft(
            seen, turn, partial(draft, ask=ask, part=part, job=job, shop=shop, vise=vise),
            near=near, job=job, shop=shop,
        )  # fmt: skip

    if few is not None:
        return _told((yield from with_pads(few)), growth, few=few)
    order = (False, True) if growth <= FILLS else (True, False)
    first = yield from with_pads(order[0])
    if _enough(first) or (first.draft is not None and not first.draft.choice):
        return _told(first, growth, few=order[0])
    other = yield from with_pads(order[1])
    if other.lost or (not first.lost and choose.score(other) <= choose.score(first)):
        return _told(first, growth, few=order[0])
    return _told(other, growth, few=order[1])


def _enough(c: Candidate) -> bool:
    """Whether the part sits on all its locators as it varies, so that no other choice of them is needed."""
    if c.lost or c.hold is None or c.predicted == 0.0:
        return False
    return _points(c.hold) <= FEWEST or (c.air is not None and c.air <= choose.FEELER)


def _told(c: Candidate, growth: float, *, few: bool) -> Candidate:
    """With the reason for two pads instead of the whole nest in its notes."""
    if c.draft is None or c.hold is None or not few or not c.draft.fewest:
        return c
    note = (
        f"it bears on two pads of the fixed jaw: parts whose walls vary by ±{growth:.3f} mm do not fill "
        f"a nest over the whole outline (a feeler of {choose.FEELER:g} mm would go in)"
    )
    hold = replace(c.hold, notes=(*c.hold.notes, note))
    return replace(c, hold=hold, draft=replace(c.draft, hold=hold))


def _points(hold: Hold) -> int:
    """Points on walls that locate."""
    return sum(c.locates and c.on in ("fixed", "stop") for c in hold.contacts)


def _in_soft(
    seen: View,
    turn: stance.Turn,
    draft: Callable[..., soft_jaws.Draft | soft_jaws.Lost],
    *,
    near: bool | None,
    job: Job,
    shop: Shop,
) -> Trying:
    """One choice of locators; with a squarer stop where a datum's wall leans, a leg gripped either way.

    Where the stop is no datum and parts would be bad, a stop beside the jaws is tried: it may reach the
    datum, as on a wall that the jaws could not pass.
    """
    made = []
    ways = [(near is not False, False, False)]  # gripped near, free of a leaning stop, the stop outside
    for at_end, free, outside in ways:
        got = draft(near=at_end, free_stop=free, outside=outside)
        if isinstance(got, soft_jaws.Lost):
            made.append(lost("soft jaws", seen.up, turn, told(got.reason, job.units), thin=got.thin))
            continue
        made.append((yield from _alive("soft jaws", seen, turn, got.hold, got, job=job, shop=shop)))
        if got.leaning_stop and not free:
            ways.append((at_end, True, False))
        good = made[-1].predicted
        if got.left_out and not outside and good is not None and good < PASS_YIELD:
            ways.append((at_end, free, True))
        if got.near and near is None and (False, False, False) not in ways:
            ways.append((False, False, False))
    alive = [c for c in made if not c.lost]
    if len(alive) < 2:
        return alive[0] if alive else made[0]
    return max(alive, key=choose.score)


def _alive(
    kind: Kind,
    seen: View,
    turn: stance.Turn,
    hold: Hold,
    draft: soft_jaws.Draft | None,
    *,
    job: Job,
    shop: Shop,
) -> Trying:
    predicted, margin, air = yield hold, job, shop
    least = money = _money(Same(shop), job.quantity, None)
    if draft is not None:
        place = draft.place
        money = _money(Same(shop), job.quantity, Same(place.blank), strips=bool(place.stack.to_make))
    return Candidate(
        kind=kind,
        up=seen.up,
        turn=turn.angle,
        shift=hold.stance.shift,
        why_tried=told(turn.reason, job.units),
        rank_hint=turn.kind,
        hold=hold,
        draft=draft,
        view=seen,
        lost="",
        predicted=predicted,
        margin=margin,
        thrift=least / money if money > 0 else 1.0,
        money=money,
        air=air,
    )


@lru_cache(maxsize=64)
def _money(shop: Same[Shop], quantity: int, blank: Same[Blank] | None, *, strips: bool = False) -> float:
    """Cost of the lot in soft jaws cut in a blank, with or without strips to make; in hard jaws (None)."""
    if blank is None:
        return cost.hard_jaws(shop.it, quantity)[1]
    return cost.soft_jaws(shop.it, quantity, blank.it, None, strips=strips)[1]


def lost(kind: Kind, up: Vec3, turn: stance.Turn, reason: str, *, thin: bool = False) -> Candidate:
    """A stance that cannot be had, with the reason."""
    return Candidate(
        kind=kind,
        up=up,
        turn=turn.angle,
        shift=0.0,
        why_tried=turn.reason,
        rank_hint=turn.kind,
        hold=None,
        draft=None,
        view=None,
        lost=reason,
        thin=thin,
    )
