"""Every stance tried: proposals with their quick proofs, before anything is designed."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import replace
from typing import Literal

from jawright import choose, cost
from jawright.beside import Beside
from jawright.choose import Candidate
from jawright.errors import JawrightError
from jawright.geometry.frame import Vec3
from jawright.hold import hard as hard_jaws
from jawright.hold import stance
from jawright.hold.incoming import informed
from jawright.hold.model import Hold
from jawright.hold.resolve import Ask
from jawright.hold.view import View, up_words, view
from jawright.jaws import soft as soft_jaws
from jawright.jaws.kept import InKept, Kept, in_kept, shop_with
from jawright.job.model import Job
from jawright.part.model import Part
from jawright.proof.everything import quick
from jawright.shop.model import Shop, Vise
from jawright.told import told

INCH = 25.4
NO_OUTLINE = "its free-form walls within the grip do not make one exact outline that jaws could be cut to"
FEWEST = 3  # points on walls and stop that locate a part in the plane
SWEPT = 3  # the kind of a turn of the sweep
BEST = 5  # so many regions of the sweep, the best ones, are looked at more finely
NEAR = math.radians(4.0)  # turns nearer than this lie in one region
LEVEL = 0.98  # and so are its other turns with this share of its points
FINER = tuple(math.radians(a) for a in (-1.5, -1.0, -0.5, 0.5, 1.0, 1.5))
FILLS = 0.02  # [mm] parts that vary less fill a whole nest: half a feeler (common practice, no source)
FEW = 16  # so few turns are not worth a second process
ROOMIER = 12  # so many stances, those that could gain most, are tried in dearer blanks as well
Kind = Literal["hard jaws", "soft jaws"]


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
    out: list[Candidate] = []
    todo: list[tuple[View, stance.Turn]] = []
    for up in stance.ups(part, job.up, ask.datums):
        try:
            seen = view(part, job, ask, up)
        except JawrightError as error:
            if error.code not in ("hold-none", "geometry"):
                raise
            why = told(error.what, job.units) if error.code == "hold-none" else NO_OUTLINE
            out.append(_lost("soft jaws", up, stance.Turn(0.0, f"{up_words(up)} up", 1), why))
            continue
        todo += [(seen, t) for t in stance.turns_of(seen, ask.datums, pinned=job.hold.turn)]

    def some(share: list[tuple[View, stance.Turn]]) -> list[list[Candidate]]:
        return [
            _both(seen, t, part=part, job=job, shop=shop, ask=ask, vise_list=vise_list) for seen, t in share
        ]

    def all_of(stances: list[tuple[View, stance.Turn]]) -> list[Candidate]:
        if len(stances) < FEW:
            return [c for both in some(stances) for c in both]
        other = Beside(lambda: some(stances[1::2]))
        mine, theirs = some(stances[0::2]), other.result()
        return [c for i in range(len(stances)) for c in (theirs if i % 2 else mine)[i // 2]]

    out += all_of(todo)
    out += all_of(_between(out))
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
    out: list[Candidate] = []
    for _, c in sorted(able, key=lambda x: (-x[0], x[1].rank_hint, x[1].turn))[:ROOMIER]:
        assert c.draft is not None and c.view is not None and c.hold is not None
        now = c.draft.place.blank
        dearer = tuple(b for b in shop.blanks if b.price > now.price and b.thickness > now.thickness)
        if not dearer:
            continue
        turn = stance.Turn(c.turn, c.why_tried, c.rank_hint)
        again = soft(
            c.view, turn, c.hold.vise, part=part, job=job, shop=replace(shop, blanks=dearer), ask=ask
        )
        if not again.lost and choose.score(again) > choose.score(c):
            out.append(_over(again, c))
    return out


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
        if c.rank_hint != SWEPT:
            continue
        mine = [r for r in regions if r.up == c.up and stance.apart(r.turn, c.turn) < NEAR]
        if not mine and len(regions) < BEST:
            regions.append(c)
            looked.append(c)
        elif any(choose.score(c) >= LEVEL * choose.score(r) for r in mine):
            looked.append(c)  # the region is level here: its best may lie beyond its edge
    out: list[tuple[View, stance.Turn]] = []
    for c in looked:
        for d in FINER:
            angle = (c.turn + d) % (2 * math.pi)
            known = any(v is c.view and stance.apart(t.angle, angle) < stance.SAME_TURN for v, t in out)
            if c.view is not None and not known:
                out.append((c.view, stance.Turn(angle, "sweep", SWEPT)))
    return out


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
        return _lost("soft jaws", views[0].up if views else (0.0, 0.0, 1.0), turn, why)
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


def _both(
    seen: View,
    turn: stance.Turn,
    *,
    part: Part,
    job: Job,
    shop: Shop,
    ask: Ask,
    vise_list: Sequence[Vise],
) -> list[Candidate]:
    out = []
    if job.hold.kind in ("", "hard jaws") and turn.kind != 3:
        out.append(_first(hard(seen, turn, v, part=part, job=job, shop=shop, ask=ask) for v in vise_list))
    if job.hold.kind in ("", "soft jaws"):
        out.append(_first(soft(seen, turn, v, part=part, job=job, shop=shop, ask=ask) for v in vise_list))
    return out


def _first(tried: Iterator[Candidate]) -> Candidate:
    """The first that lives, else the first refusal."""
    refused = None
    for c in tried:
        if not c.lost:
            return c
        refused = refused or c
    assert refused is not None  # there is at least one vise
    return refused


def hard(
    seen: View, turn: stance.Turn, vise: Vise, *, part: Part, job: Job, shop: Shop, ask: Ask
) -> Candidate:
    """One turn in hard jaws on parallels, with the quick proofs' figures; or lost, with the reason."""
    job = informed(job, part, seen.up)
    hold = hard_jaws.propose(seen, turn, ask=ask, part=part, job=job, shop=shop, vise=vise)
    if isinstance(hold, str):
        return _lost("hard jaws", seen.up, turn, told(hold, job.units))
    return _alive("hard jaws", seen, turn, hold, None, job=job, shop=shop)


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
) -> Candidate:
    """One turn in soft jaws, with the quick proofs' figures; or lost, with the reason.

    ``few`` asks for two pads of a nest (True) or all of it (False); None leaves that to the figures.
    ``wrap`` asks for a nest that goes further round.
    """
    job = informed(job, part, seen.up)
    growth = job.incoming.profile.value / 2 + job.incoming.wall_form.value
    if few is not None:
        only = _in_soft(seen, turn, vise, few=few, wrap=wrap, part=part, job=job, shop=shop, ask=ask)
        return _told(only, growth, few=few)
    order = (False, True) if growth <= FILLS else (True, False)
    first = _in_soft(seen, turn, vise, few=order[0], part=part, job=job, shop=shop, ask=ask)
    if _enough(first) or (first.draft is not None and not first.draft.choice):
        return _told(first, growth, few=order[0])
    other = _in_soft(seen, turn, vise, few=order[1], part=part, job=job, shop=shop, ask=ask)
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
    vise: Vise,
    *,
    few: bool,
    wrap: bool = False,
    part: Part,
    job: Job,
    shop: Shop,
    ask: Ask,
) -> Candidate:
    """One choice of locators; where a datum's wall is a leaning stop, with a squarer one if better."""
    made = []
    for free in (False, True):
        draft = soft_jaws.draft(
            seen, turn, few=few, wrap=wrap, free_stop=free, ask=ask, part=part, job=job, shop=shop, vise=vise
        )
        if isinstance(draft, soft_jaws.Lost):
            made.append(_lost("soft jaws", seen.up, turn, told(draft.reason, job.units), thin=draft.thin))
            break
        made.append(_alive("soft jaws", seen, turn, draft.hold, draft, job=job, shop=shop))
        if not draft.leaning_stop:
            break
    alive = [c for c in made if not c.lost]
    return max(alive, key=choose.score) if alive else made[0]


def _alive(
    kind: Kind,
    seen: View,
    turn: stance.Turn,
    hold: Hold,
    draft: soft_jaws.Draft | None,
    *,
    job: Job,
    shop: Shop,
) -> Candidate:
    predicted, margin, air = quick(hold, None, job, shop)
    least = cost.hard_jaws(shop, job.quantity)[1]
    place = None if draft is None else draft.place
    strips = place is not None and place.stack.to_make
    money = (
        least if place is None else cost.soft_jaws(shop, job.quantity, place.blank, None, strips=strips)[1]
    )
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


def _lost(kind: Kind, up: Vec3, turn: stance.Turn, reason: str, *, thin: bool = False) -> Candidate:
    return Candidate(
        kind=kind, up=up, turn=turn.angle, shift=0.0, why_tried=turn.reason, rank_hint=turn.kind,
        hold=None, draft=None, view=None, lost=reason, thin=thin,
    )  # fmt: skip
