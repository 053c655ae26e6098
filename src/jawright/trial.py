"""Every stance tried: proposals with their quick proofs, before anything is designed."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace

from jawright import choose, cost, tries
from jawright.beside import Beside, unswept
from jawright.choose import Candidate
from jawright.errors import JawrightError
from jawright.hold import levels, stance
from jawright.hold.resolve import Ask
from jawright.hold.view import View, up_words, view
from jawright.jaws.kept import InKept, Kept, in_kept, shop_with
from jawright.jaws.soft import stand_all
from jawright.job.model import Job
from jawright.part.model import Part
from jawright.proof.everything import quick
from jawright.shop.model import Blank, Shop, Vise
from jawright.told import told
from jawright.units import show

INCH = 25.4
NO_OUTLINE = "its free-form walls within the grip do not make one exact outline that jaws could be cut to"
BEST = 5  # so many regions of the sweep, the best ones, are looked at more finely
NEAR = math.radians(4.0)  # turns nearer than this lie in one region
LEVEL = 0.98  # and so are its other turns with this share of its points
FINER = tuple(math.radians(a) for a in (-1.5, -1.0, -0.5, 0.5, 1.0, 1.5))
CLOSE = tuple(math.radians(a) for a in (-0.45, -0.3, -0.15, 0.15, 0.3, 0.45))
"""Finer turns round a datum or an edge on the fixed jaw: within what still counts as square."""
FEW = 16  # so few turns are not worth a second process
ROOMIER = 12  # so many stances, those that could gain most, are tried in dearer blanks as well


def vises(part: Part, job: Job, shop: Shop) -> list[Vise]:
    """The vises to consider: the one named in the job, else all that open wide enough for the part.

    Raises ``shop-no-vise``; or ``part-size`` when the size smells of inch read as millimeter
    or the other way round.
    """
    named = [v for v in shop.vises if job.hold.vise in ("", v.id)]
    if not named:
        raise JawrightError(
            "shop-no-vise",
            what=f'the shop has no vise "{job.hold.vise}"',
            where="[hold] vise",
            todo="known: " + ", ".join(v.id for v in shop.vises),
        )
    if job.hold.torque is not None and all(v.force is not None for v in named):
        raise JawrightError(
            "value-bad",
            what=f"no wrench closes vise {named[0].id}: its clamp force is set, so no torque can be",
            where="[hold] torque",
            todo="leave the torque out; the shop file has the force",
        )
    named = [v for v in named if job.hold.torque is None or v.force is None]
    if job.hold.torque is not None and all(job.hold.torque > v.torque_max for v in named):
        strong = max(named, key=lambda v: v.torque_max)
        asked, most = (show(t, "torque", job.units) for t in (job.hold.torque, strong.torque_max))
        raise JawrightError(
            "value-bad",
            what=f"a torque of {asked} is asked for, and vise {strong.id} takes {most} at the most",
            where="[hold] torque",
            todo=f"ask for {most} or less, or correct torque_max in the shop file",
        )
    small, large = sorted(part.size)[0], sorted(part.size)[2]
    middle = sorted(part.size)[1]
    widest = max(v.opening for v in named)
    fits = [v for v in named if small <= v.opening and _takes(middle, small, v)]
    if fits:
        return fits
    size = " × ".join(f"{s:.1f}" for s in part.size)
    if middle / INCH <= widest and large / INCH <= 3 * widest and middle > 4 * widest:
        raise JawrightError(
            "part-size",
            what=f"the part reads as {size} mm, larger than any vise opens ({widest:g} mm)",
            where=part.file,
            todo="if the file was drawn in inches and says mm (or the other way round), give its unit right",
        )
    raise JawrightError(
        "shop-no-vise",
        what=f"the part is {size} mm and the widest vise opens {widest:g} mm",
        where=part.file,
        todo="check the unit of the part file, or hold it on the table or a plate instead",
    )


def _takes(middle: float, small: float, vise: Vise) -> bool:
    """Some way of standing the part fits between the jaws at all."""
    return min(middle, small) <= vise.opening and middle <= 4 * vise.opening


def candidates(part: Part, job: Job, shop: Shop, ask: Ask, vise_list: Sequence[Vise]) -> list[Candidate]:
    """Every stance of every face that can be up, in hard and in soft jaws, with the quick proofs' figures."""
    with unswept():
        return _candidates(part, job, shop, ask, vise_list)


def _candidates(part: Part, job: Job, shop: Shop, ask: Ask, vise_list: Sequence[Vise]) -> list[Candidate]:
    out: list[Candidate] = []
    todo: list[tuple[View, stance.Turn]] = []
    for up in stance.ups(part, job.up, ask.datums):
        try:
            seen = view(part, job, ask, up)
        except JawrightError as error:
            if error.code not in ("hold-none", "geometry"):
                raise
            why = told(error.what, job.units) if error.code == "hold-none" else NO_OUTLINE
            out.append(tries.lost("soft jaws", up, stance.Turn(0.0, f"{up_words(up)} up", 1), why))
            continue
        todo += [(seen, t) for t in stance.turns_of(seen, ask.datums, pinned=job.hold.turn)]

    def some(share: list[tuple[View, stance.Turn]]) -> list[list[Candidate]]:
        return tries.each_way(share, part=part, job=job, shop=shop, ask=ask, vise_list=vise_list)

    def all_of(stances: list[tuple[View, stance.Turn]]) -> list[Candidate]:
        if len(stances) < FEW:
            return [c for both in some(stances) for c in both]
        other = Beside(lambda: some(stances[1::2]))
        mine, theirs = some(stances[0::2]), other.result()
        return [c for i in range(len(stances)) for c in (theirs if i % 2 else mine)[i // 2]]

    out += all_of(todo)
    out += all_of(_between(out))
    if not job.hold.floor and any(seen.below for seen, _ in todo) and all(c.lost for c in out):
        lowest = replace(job, hold=replace(job.hold, floor=levels.ONE))  # rather than no jaws at all
        return out + _candidates(part, lowest, shop, ask, vise_list)
    return out + _roomier(out, part=part, job=job, shop=shop, ask=ask)


def _roomier(found: Sequence[Candidate], *, part: Part, job: Job, shop: Shop, ask: Ask) -> list[Candidate]:
    """Stances once more in dearer blanks, where the part stands off its locators in the cheapest that fits.

    A thicker jaw takes more of the part, so that stop and grip lie elsewhere on it. Only stances are tried
    that would be the best of all if nothing stood off, those that could gain most first.
    """
    if job.hold.blank:
        return []
    best = max((choose.score(c) for c in found if not c.lost), default=0.0)
    hopes = [(choose.at_best(c), c) for c in found if c.draft is not None and c.air is not None]
    able = [(h, c) for h, c in hopes if c.air is not None and c.air > choose.FEELER and h > best]
    cheaper: list[Candidate] = []
    dearer: list[tuple[Blank, ...]] = []
    for _, c in sorted(able, key=lambda x: (-x[0], x[1].rank_hint, x[1].turn))[:ROOMIER]:
        assert c.draft is not None
        now = c.draft.place.blank
        more = tuple(b for b in shop.blanks if b.price > now.price and b.thickness > now.thickness)
        if more:
            cheaper.append(c)
            dearer.append(more)
    stances = [(c.view, stance.Turn(c.turn, c.why_tried, c.rank_hint)) for c in cheaper if c.view is not None]
    again = [
        tries.soft(
            seen, turn, c.hold.vise, outline=o, part=part, job=job, shop=replace(shop, blanks=more), ask=ask
        )
        for (seen, turn), o, c, more in zip(stances, stand_all(stances), cheaper, dearer, strict=True)
        if c.hold is not None
    ]
    pairs = zip(tries.together(again), cheaper, strict=True)
    return [_over(a, c) for a, c in pairs if not a.lost and choose.score(a) > choose.score(c)]


def _over(c: Candidate, cheaper: Candidate) -> Candidate:
    """With the reason for the dearer blank in its notes."""
    assert c.hold is not None and c.draft is not None and cheaper.draft is not None
    old = cheaper.draft.place.blank
    note = (
        f"blank {old.id} would take the part for less, but in it parts, as they vary, stand off their "
        f"locators by up to {cheaper.air:.2f} mm"
    )
    hold = replace(c.hold, notes=(*c.hold.notes, note))
    return replace(c, hold=hold, draft=replace(c.draft, hold=hold))


def _between(found: Sequence[Candidate]) -> list[tuple[View, stance.Turn]]:
    """Finer turns round the best of the sweep: between two of them other runs of the outline may bear."""
    regions: list[Candidate] = []
    looked: list[Candidate] = []
    for c in choose.ranked(found):
        if c.rank_hint != tries.SWEPT:
            continue
        mine = [r for r in regions if r.up == c.up and stance.apart(r.turn, c.turn) < NEAR]
        if not mine and len(regions) < BEST:
            regions.append(c)
            looked.append(c)
        elif any(choose.score(c) >= LEVEL * choose.score(r) for r in mine):
            looked.append(c)  # the region is level here: its best may lie beyond its edge
    looked += _could_gain(found, regions)
    out: list[tuple[View, stance.Turn]] = []
    for c in looked:
        for d in FINER if c.rank_hint == tries.SWEPT else CLOSE:
            angle = (c.turn + d) % (2 * math.pi)
            known = any(v.up == c.up and stance.apart(t.angle, angle) < stance.SAME_TURN for v, t in out)
            if c.view is not None and not known:
                out.append((c.view, stance.Turn(angle, "sweep", tries.SWEPT)))
    return out


def _could_gain(found: Sequence[Candidate], regions: Sequence[Candidate]) -> list[Candidate]:
    """Turns that would win if no part stood off its locators: half a degree on, or less, none may.

    Of the sweep those of other regions; and those with a datum or an edge on the fixed jaw in which a feeler
    finds air.
    """
    ranked = choose.ranked(found)
    swept: list[Candidate] = []
    others: list[Candidate] = []
    for c in sorted(ranked, key=lambda c: -round(choose.at_best(c), 3)):
        if choose.at_best(c) <= choose.score(ranked[0]):
            break
        mine, known = (swept, [*regions, *swept]) if c.rank_hint == tries.SWEPT else (others, others)
        near = [r for r in known if r.up == c.up and stance.apart(r.turn, c.turn) < NEAR]
        pinned = c.rank_hint < 0
        off = mine is swept or (c.air is not None and c.air > choose.FEELER and not pinned)
        if len(mine) < BEST and not near and off:
            mine.append(c)
    return [*swept, *others]


def kept(pairs: Sequence[Kept], part: Part, job: Job, shop: Shop, ask: Ask) -> list[Candidate]:
    """Pairs that exist, each as it is, in the view and turn that touch most of it; or lost, with the reason.

    None when the job asks for hard jaws, a blank, or a grip of its own.
    """
    if job.hold.kind == "hard jaws" or job.hold.blank or job.hold.grip_depth is not None:
        return []
    views = []
    for up in stance.ups(part, job.up, ask.datums):
        try:
            views.append(view(part, job, ask, up))
        except JawrightError as error:
            if error.code not in ("hold-none", "geometry"):
                raise
    return [_in_pair(k, views, part=part, job=job, shop=shop, ask=ask) for k in pairs]


def _in_pair(k: Kept, views: Sequence[View], *, part: Part, job: Job, shop: Shop, ask: Ask) -> Candidate:
    usable = [v for v in vises(part, job, shop) if k.vise in ("", v.id)]
    turn = stance.Turn(0.0, f"pair {k.pair} from the rack", 1)
    why = f"pair {k.pair} belongs to vise {k.vise}"
    best: InKept | None = None
    for seen in views if usable else ():
        turns = stance.turns_of(seen, ask.datums, pinned=job.hold.turn)
        got = in_kept(k, seen, turns, ask=ask, part=part, job=job, shop=shop, vise=usable[0])
        if isinstance(got, str):
            why = f"pair {k.pair}: {got}"
        elif best is None or got.same_part > best.same_part:
            best = got
    if best is None:
        return tries.lost("soft jaws", views[0].up if views else (0.0, 0.0, 1.0), turn, why)
    own = shop_with(k, shop)
    figures = quick(best.hold, best.jaws, job, own)
    least, money = cost.hard_jaws(shop, job.quantity)[1], cost.of_kept(shop).money(job.quantity)
    words = f"pair {k.pair} from the rack, {best.turn.reason}"
    return Candidate(
        kind="soft jaws", up=best.view.up, turn=best.turn.angle, shift=best.hold.stance.shift,
        why_tried=words, rank_hint=best.turn.kind, hold=best.hold, draft=None, view=best.view, lost="",
        predicted=figures[0], margin=figures[1], air=figures[2], thrift=least / money if money > 0 else 1.0,
        money=money,
        kept=best,
    )  # fmt: skip
