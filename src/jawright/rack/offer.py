"""What the rack offers for a job: each way with its proofs, its minutes and its money against new jaws."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, replace

from jawright import cost, trial
from jawright.errors import JawrightError
from jawright.geometry.profile import Region
from jawright.hold import resolve as resolving
from jawright.hold import stance
from jawright.hold.resolve import Ask
from jawright.hold.stance import Turn
from jawright.hold.view import ABOVE, GRIP_LEAST, View, view
from jawright.jaws import soft
from jawright.jaws.design import Pair as Designed
from jawright.jaws.design import design
from jawright.jaws.place import END_METAL
from jawright.job.model import Job
from jawright.part.model import Part
from jawright.part.read import read_part
from jawright.proof.everything import prove, quick
from jawright.proof.model import Proof, Verdict, worst
from jawright.rack import plain, recut, reuse, search
from jawright.rack.model import Pair
from jawright.rack.search import AsIs, Kind, Metal
from jawright.rack.store import Rack
from jawright.shop.model import Blank, Shop, Vise

FACING = 5.0
"""Minutes to face a pair clean of its old pocket (common practice, no source)."""

TRIES = 6
"""Pairs designed for each way before it is given up."""

Say = Callable[[str], None]


@dataclass(frozen=True, slots=True)
class Offer:
    """One way to use what exists. ``verdict`` is that of the proofs, "unknown" when none was made.

    ``minutes`` and ``money`` are of the whole lot; ``new_*`` those of a new pair, None when the shop
    has no blank for one. ``same_part`` says that the pocket was cut for this very outline.
    """

    kind: Kind
    pair: str
    side: str
    place: str
    sentence: str
    verdict: Verdict
    proofs: tuple[Proof, ...]
    recuts: int
    minutes: float
    money: float
    new_minutes: float | None
    new_money: float | None
    same_part: bool = False
    reseat: float | None = None  # largest miss of the tooling hole when it was put back [mm]


@dataclass(frozen=True, slots=True)
class Found:
    """Everything the rack offers: ways, pockets that fit but were not proven, blanks in stock."""

    offers: tuple[Offer, ...]
    further: tuple[AsIs, ...]
    blanks: tuple[Blank, ...]
    refused: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class _Task:
    """The job, read and resolved once."""

    part: Part
    job: Job
    shop: Shop
    ask: Ask
    vise: Vise
    views: tuple[tuple[View, tuple[Turn, ...]], ...]

    @property
    def new(self) -> tuple[float, float] | None:
        """Minutes and money with the cheapest blank of the shop that serves."""
        best = _best_draft(self, self.shop)
        if best is None:
            return None
        return cost.soft_jaws(self.shop, self.job.quantity, best[0].place.blank, None)


def find(rack: Rack, job: Job, shop: Shop, *, most: int = 2, say: Say = lambda _: None) -> Found:
    """Search the rack for a job and prove the best ``most`` of each way."""
    task = _task(job, shop)
    new = task.new
    say("searching the pockets")
    fits = [(v, turns, a) for v, turns in task.views for a in _fits(rack, v, turns)]
    fits.sort(key=lambda r: -(r[2].fit.fixed_land + r[2].fit.floating_land + r[2].fit.stop_land))
    refused: list[str] = []
    offers: list[Offer] = []
    for v, turns, a in fits[: most + TRIES]:
        if len(offers) == most:
            break
        say(f"proving {a.pair} as it is")
        got = _as_it_is(rack, task, v, turns[a.turn], a, new=new)
        offers += [got] if isinstance(got, Offer) else []
        refused += [got] if isinstance(got, str) else []
    done = {o.pair for o in offers}
    metal = [m for m in _metal(rack, task) if m.pair.id not in done]
    for way in (_free, _recut):
        made = 0
        for m in metal[:TRIES] if way is _free else sorted(metal, key=_smallest)[:TRIES]:
            if made == most:
                break
            say(f"designing in {m.pair.id}")
            result = way(task, m, new)
            if isinstance(result, Offer):
                offers.append(result)
                made += 1
            elif result:
                refused.append(f"{m.pair.id}: {result}")
    blanks = tuple(b for b in shop.blanks if b.stock >= 2)
    return Found(
        tuple(sorted(offers, key=_order)),
        tuple(a for _, _, a in fits if a.pair not in done),
        blanks,
        tuple(dict.fromkeys(refused)),
    )


def _order(o: Offer) -> tuple[bool, float, str]:
    return (o.verdict == "fail", o.money, o.pair)


def _smallest(m: Metal) -> float:
    return sum(recut.over(c) for c in m.pair.cuts)


def _task(job: Job, shop: Shop) -> _Task:
    part = read_part(job.part_file, unit=job.part_unit, thickness=job.thickness, body=job.body)
    ask = resolving.resolve(part, job)
    vise = trial.vises(part, job, shop)[0]
    views = []
    for up in stance.ups(part, job.up, ask.datums):
        try:
            seen = view(part, job, ask, up)
        except JawrightError as error:
            if error.code not in ("hold-none", "geometry"):
                raise
            continue
        turns = stance.turns(seen.outline, up, ask.datums, pinned=job.hold.turn)
        views.append((seen, tuple(t for t in turns if t.kind != 3)))
    return _Task(part, job, shop, ask, vise, tuple(views))


def _fits(rack: Rack, v: View, turns: Sequence[Turn]) -> list[AsIs]:
    depth = (GRIP_LEAST, v.tall - ABOVE)
    return search.as_they_are(rack, v.outline, [t.angle for t in turns], depth=depth)


def _as_it_is(
    rack: Rack, task: _Task, v: View, turn: Turn, a: AsIs, *, new: tuple[float, float] | None
) -> Offer | str:
    pair = rack.get(a.pair)
    cut = next(c for c in pair.cuts if c.side == a.side)
    jaws = reuse.opened(cut.jaws, a.fit.gap)
    deep = replace(task.job, hold=replace(task.job.hold, grip_depth=jaws.top - jaws.floor))
    try:
        seen = view(task.part, deep, task.ask, v.up)
        hold = reuse.hold_in(
            jaws, a.fit, seen, turn, ask=task.ask, part=task.part, job=deep, shop=task.shop, vise=task.vise
        )
    except JawrightError as error:
        if error.code not in ("hold-none", "geometry", "value-bad"):
            raise
        return f"{pair.id}: {error.what}"
    if hold is None:
        return f"{pair.id}: the walls that should bear do not touch"
    proofs = prove(hold, jaws, task.part, deep, task.shop)
    same = plain.outline_hash(Region(hold.outline.outer)) == plain.outline_hash(cut.outline)
    words = "cut for this part" if same else f"cut for {cut.part_number} {cut.revision}".rstrip()
    parted = f", jaws {a.fit.gap - cut.jaws.gap:+.2f} mm from where they were cut"
    sentence = f"use it as it is ({words}): {turn.reason}" + (
        parted if abs(a.fit.gap - cut.jaws.gap) > 0.05 else ""
    )
    offer = _offer("as it is", pair, a.side, sentence, proofs, task=task, new=new, cutting=None, same=same)
    seats = rack.reseats(pair.id)
    return replace(offer, reseat=max((math.hypot(s.x, s.y) for s in seats), default=None))


def _offer(
    kind: Kind,
    pair: Pair,
    side: str,
    sentence: str,
    proofs: tuple[Proof, ...],
    *,
    task: _Task,
    new: tuple[float, float] | None,
    cutting: float | None,
    same: bool = False,
) -> Offer:
    minutes, money = spend(task.shop, task.job.quantity, cutting)
    depth = task.views[0][0].grip_depth if task.views else GRIP_LEAST
    return Offer(
        kind=kind,
        pair=pair.id,
        side=side,
        place=pair.place,
        sentence=sentence,
        verdict=worst([p.verdict for p in proofs]),
        proofs=proofs,
        recuts=recut.left(pair, task.vise, depth),
        minutes=minutes,
        money=money,
        new_minutes=new[0] if new else None,
        new_money=new[1] if new else None,
        same_part=same,
    )


def spend(shop: Shop, quantity: int, cutting: float | None) -> tuple[float, float]:
    """(minutes, money) of the lot with jaws that exist: setup and loading, with ``cutting`` minutes
    when they are cut anew (then they are designed and programmed too); None: as they are."""
    r = shop.rates
    machine = r.setup_minutes_soft + r.load_seconds * quantity / 60.0 + (cutting or 0.0)
    desk = 0.0 if cutting is None else r.jaw_design_minutes
    return machine + desk, machine * r.machine_hour / 60.0 + desk * r.programmer_hour / 60.0


def _metal(rack: Rack, task: _Task) -> list[Metal]:
    if not task.views:
        return []
    v = task.views[0][0]
    x0, y0, x1, y1 = v.outline.box
    long = min(x1 - x0, y1 - y0) + 2 * END_METAL
    return search.metal(rack.all(), task.vise, long=long, depth=v.grip_depth)


def _with(shop: Shop, blank: Blank) -> Shop:
    return replace(shop, blanks=(blank,))


def _drafts(task: _Task, shop: Shop, job: Job) -> Iterator[tuple[soft.Draft, View, float]]:
    for v, turns in task.views:
        for t in turns:
            got = soft.draft(v, t, ask=task.ask, part=task.part, job=job, shop=shop, vise=task.vise)
            if isinstance(got, soft.Draft):
                good, grip = quick(got.hold, None, job, shop)
                yield got, v, 10 * (good or 0.0) + min(grip or 0.0, 2.0)


def _best_draft(task: _Task, shop: Shop) -> tuple[soft.Draft, View] | None:
    job = replace(task.job, hold=replace(task.job.hold, blank=""))
    best = max(_drafts(task, shop, job), key=lambda r: r[2], default=None)
    return None if best is None else (best[0], best[1])


def _design(task: _Task, blank: Blank) -> Designed | str:
    shop = _with(task.shop, blank)
    best = _best_draft(task, shop)
    if best is None:
        return "no stance of the part fits its blank"
    job = replace(task.job, hold=replace(task.job.hold, blank=""))
    try:
        return design(best[0], best[1], part=task.part, job=job, shop=shop, vise=task.vise)
    except JawrightError as error:
        if error.code not in ("hold-none", "geometry"):
            raise
        return error.what


def _free(task: _Task, m: Metal, new: tuple[float, float] | None) -> Offer | str:
    if m.free is None:
        return ""
    made = _design(task, recut.as_blank(m.pair, m.pair.height))
    if isinstance(made, str):
        return made
    clear, metal = recut.clear_of_back(made.jaws, m.pair)
    if not clear:
        return f"flipped, only {metal:.1f} mm would be left to what is cut in its other side"
    proofs = prove(made.hold, made.jaws, task.part, task.job, task.shop)
    words = f"flip it and cut its free {m.free} side: {metal:.1f} mm of metal stay to the other side's pocket"
    if not m.pair.cuts:
        words = f"nothing is cut in it yet: cut its {m.free} side"
    return _offer("free side", m.pair, m.free, words, proofs, task=task, new=new, cutting=cost.JAW_CUTTING)


def _recut(task: _Task, m: Metal, new: tuple[float, float] | None) -> Offer | str:
    if not m.pair.cuts:
        return ""
    old = m.pair.cuts[0]
    why = ""
    made = _design(task, recut.as_blank(m.pair, m.pair.height))
    if isinstance(made, Designed):
        taken, why = recut.swallows(made.jaws, old.jaws)
        if taken:
            proofs = prove(made.hold, made.jaws, task.part, task.job, task.shop)
            words = f"cut it anew at the same height: the new pocket takes the one of {old.part_number} away"
            return _offer(
                "re-cut", m.pair, old.side, words, proofs, task=task, new=new, cutting=cost.JAW_CUTTING
            )
    else:
        why = made
    if m.recuts < 1:
        return f"{why}; and no height is left to face it above screws and vise body"
    height = recut.faced(m.pair, recut.deepest(m.pair))
    made = _design(task, recut.as_blank(m.pair, height))
    if isinstance(made, str):
        return f"faced to {height:.1f} mm: {made}"
    proofs = prove(made.hold, made.jaws, task.part, task.job, task.shop)
    words = f"face it to {height:.2f} mm and cut it anew; {m.recuts} such re-cuts are left with this one"
    return _offer(
        "faced and re-cut",
        m.pair,
        old.side,
        words,
        proofs,
        task=task,
        new=new,
        cutting=cost.JAW_CUTTING + FACING,
    )
