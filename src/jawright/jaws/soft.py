"""A soft-jaw hold in one stance: walls, blank, gap, contacts. No pocket is designed yet."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import partial

from jawright.geometry.curve import move as move_curve
from jawright.geometry.frame import dot, unit
from jawright.hold.assemble import Seating, assemble
from jawright.hold.contacts import jaw_floors, stands, wall_contacts
from jawright.hold.model import Hold
from jawright.hold.outline import SQUARE_ON, WRAP, Outline, Wall, cut_at_levels, mark, outlined
from jawright.hold.resolve import Ask
from jawright.hold.sidestop import Room, Stopped, stop_beside
from jawright.hold.stance import Turn
from jawright.hold.view import View
from jawright.hold.walls import (
    NESTS,
    centers,
    choose_locators,
    choose_stop,
    corners_clear,
    fewest_pads,
    grips_of,
    keeps,
    nests,
    normals,
)
from jawright.jaws import lower, pads
from jawright.jaws.asked import needs_of
from jawright.jaws.cutters import pocket_cutter
from jawright.jaws.grooves import Groove, along_wall, beside
from jawright.jaws.milled_past import Beside, milled_beside, with_room
from jawright.jaws.needs import Needs
from jawright.jaws.place import Place
from jawright.jaws.placed import SEAT, STOP_LAND_LEAST, no_blank, placed, relief_takes, stop_kept, stop_lost
from jawright.jaws.pocket import run_out
from jawright.jaws.row import ALONE, Row, arrange, middle_of_row, wells_beside
from jawright.job.model import Job
from jawright.part.model import Part
from jawright.shop.model import Blank, Cutter, Shop, Vise

ALLOWANCE = 0.18  # [mm] clear walls stand off by at least this (0.007 in; common practice, no source)
ALLOWANCE_OVER = 0.05  # [mm] and by this more than the largest part against the stop, jaws cut small
STOP_SQUARE = math.cos(math.radians(20.0))  # a datum's stop wall that leans more is compared with others


@dataclass(frozen=True, slots=True)
class Draft:
    """A stance in soft jaws, before its pocket is designed."""

    hold: Hold
    place: Place
    bearing: tuple[Wall, ...]  # seated, cut at the parting: locate, stop and grip
    unused: tuple[Wall, ...]  # the other runs that a jaw meets, not seated yet: to be kept clear
    cutter: Cutter
    allowance: float
    turn: Turn
    row: Row = ALONE
    fewest: bool = False  # only two pads of a nest locate, not its whole outline
    choice: bool = True  # there is such a choice: the outline nests and has more than two pads to bear on
    groove: Groove | None = None
    why_groove: str = ""  # or why there is none
    wraps: bool = False  # a nest that goes further round than usual
    near: bool = False  # the floating jaw grips the far end of a leg only
    whole_stop: bool = False  # the relief beside the stop bites into the locating wall instead of the stop
    leaning_stop: bool = False  # a datum's wall is the stop, and not square to X
    left_out: bool = False  # a datum is on the fixed jaw, and the stop is no datum though there is one more
    lowered: tuple[Beside, ...] = ()  # walls milled past the jaws, which are cut down beside them
    metal_why: str = ""  # why the jaws are of this metal, where a proof asked for it

    @property
    def walls(self) -> tuple[Wall, ...]:
        """All walls, seated, cut at the parting: locate, stop, grip and clear."""
        return (*self.bearing, *_seated(self.unused, self.place))


@dataclass(frozen=True, slots=True)
class Lost:
    """Why a stance cannot be had."""

    reason: str
    thin: bool = False


def stand(view: View, turn: Turn, *, wrap: bool = False) -> Outline:
    """The part's outline turned as it will stand; one serves all drafts of a turn with the same ``wrap``."""
    round_as = WRAP if wrap else SQUARE_ON
    turned = view.outline.moved(turn=turn.angle)
    return Outline(turned, view.faces, view.letters, round_as, view.bridges, view.milled)


def stand_all(stances: Sequence[tuple[View, Turn]]) -> list[Outline]:
    """``stand`` of many stances; what is seen of them from either jaw is found for all at once."""
    found = [stand(view, turn) for view, turn in stances]
    outlined(found)
    return found


def _reached(outline: Outline, view: View, ask: Ask, part: Part, shop: Shop) -> Outline:
    """The outline with how far cutters reach over the walls beside corners that they go round, or into."""
    past = milled_beside(view, ask, part, shop)
    reach = tuple((b.index, b.cutter / 2) for b in past if any((*b.rounds, *b.hollows)))
    if reach == outline.reach:
        return outline
    return outline.once(("reach", reach), lambda: replace(outline, reach=reach))


def draft(
    view: View,
    turn: Turn,
    *,
    few: bool = False,
    wrap: bool = False,
    free_stop: bool = False,
    outside: bool = False,
    near: bool = True,
    outline: Outline | None = None,
    ask: Ask,
    part: Part,
    job: Job,
    shop: Shop,
    vise: Vise,
) -> Draft | Lost:
    """Try one stance in soft jaws: the cheapest blank and best gap that take it, or why not.

    With ``few`` an outline that nests bears on two pads of the fixed jaw only; with ``wrap`` its arcs bear
    further round and nearly all of them lies in the jaws; with ``free_stop`` no leaning wall is the stop,
    with ``outside`` none in the jaws is; with ``near`` the far end of a leg is gripped alone where it is long
    enough. A stance whose stop wall has no room in the jaws, or that has none, gets a side stop outside the
    pocket. ``outline`` is what ``stand`` gives for this turn, where it is had already.
    """
    outline = _reached(outline or stand(view, turn, wrap=wrap), view, ask, part, shop)
    wanted, pinned = _side_letters(ask, view), job.hold.fixed_jaw_datum
    seats = (pinned,) if pinned else wanted
    locators = outline.once(("locators", seats), lambda: choose_locators(outline, seats))
    if not locators:
        return Lost("no wall square enough to the closing direction for the fixed jaw")
    if pinned and locators[0].datum != pinned:
        return Lost(f"datum {pinned} does not lie square on the fixed jaw")
    whole = locators
    two = whole
    if whole[0].reason == NESTS and not pads.wanted(job):
        two = outline.once(("two", seats), lambda: fewest_pads(whole, job.incoming.growth))
    locators = two if few else whole
    fewest, choice = len(locators) < len(whole), two != whole
    used = {w.datum for w in locators if w.datum}
    rest, square = tuple(x for x in wanted if x not in used), STOP_SQUARE if free_stop else 0.0
    nested = nests(locators) and not pads.wanted(job)
    find_stop = partial(choose_stop, outline, rest, side=job.hold.stop, nested=nested, square=square)
    stop = None
    if not outside:
        stop = outline.once(("stop", rest, job.hold.stop, nested, square), find_stop)
    tried = partial(
        _with_stop, view, turn, outline, near=near, ask=ask, part=part, job=job, shop=shop, vise=vise
    )
    made = tried((locators, stop))
    if stop is not None and _stopless(made, job.incoming.growth):
        bitten = tried((locators, stop), whole_stop=True)
        made = bitten if isinstance(bitten, Draft) else made
    if stop is not None and _stopless(made, job.incoming.growth):
        without = tried((locators, None))
        if isinstance(without, Draft) and without.hold.side_stop is not None:
            made, stop = without, None
        elif isinstance(without, Draft) and isinstance(made, Draft):
            made = replace(made, hold=replace(made.hold, no_stop=without.hold.no_stop))
    if isinstance(made, Lost):
        return made
    leans = stop is not None and stop.datum != "" and abs(stop.normal[0]) < STOP_SQUARE
    other = stop is not None and stop.datum == "" and rest != () and not nests(locators)
    left_out = other and locators[0].datum != "" and made.row.beside == ()
    return replace(made, fewest=fewest, choice=choice, wraps=wrap, leaning_stop=leans, left_out=left_out)


def _stopless(made: Draft | Lost, growth: float) -> bool:
    """Whether a stance is lost, or the relief at the corner and a narrow gap's run-out take its stop wall."""
    if isinstance(made, Lost):
        return True
    outline, out = made.hold.outline.outer, run_out(made.place.gap, made.cutter.diameter / 2)
    for w in made.bearing:
        if w.purpose != "stop":
            continue
        need = min(STOP_LAND_LEAST, w.curve.length / 2)
        left = sum(c.length for c in cut_at_levels(w.curve, (out,)) if c.at(0.5)[1] > out) - need
        # a long wall spares looking for the corner
        if left >= relief_takes(made.cutter) or (made.whole_stop and left >= 0.0):
            return False
        if not made.whole_stop and left >= stop_lost(outline, w, made.cutter, growth):
            return False
    return True


def _blanks(job: Job, shop: Shop) -> list[Blank] | Lost:
    """The shop's blanks that the job leaves open, by name and metal; or why there is none."""
    named = [b for b in shop.blanks if job.hold.blank in ("", b.id)]
    found = [b for b in named if job.hold.jaw_material in ("", b.material)]
    if not found and named and job.hold.blank:
        return Lost(f"no blank {named[0].id} of {job.hold.jaw_material}: it is of {named[0].material}")
    if not found and shop.blanks:
        return Lost(f"no blank of {job.hold.jaw_material} in the shop")
    return found


def _with_stop(
    view: View,
    turn: Turn,
    outline: Outline,
    located: tuple[list[Wall], Wall | None],
    *,
    whole_stop: bool = False,
    near: bool = True,
    ask: Ask,
    part: Part,
    job: Job,
    shop: Shop,
    vise: Vise,
) -> Draft | Lost:
    """The stance with its locators and a stop wall in the pocket, or (None) one outside when it needs one."""
    chosen = _bearing(outline, located, job, pads.length_on(view.band.kind))
    if isinstance(chosen, Lost):
        return chosen
    locators, stop, grips = chosen
    bearing = [*locators, *([stop] if stop else []), *grips]
    growth = job.incoming.growth
    cutter = pocket_cutter(
        shop.cutters, bearing, depth=view.grip_depth + lower.deepest(view.below),
        edge_break=job.incoming.edge_break.value, outline=outline.profile, growth=growth,
        only=job.hold.jaw_cutter,
    )  # fmt: skip
    allowance = max(ALLOWANCE, 2 * growth + 4 * shop.jaw_cut.high + ALLOWANCE_OVER)
    needs = needs_of(
        view, turn, outline, chosen, ask=ask, job=job, cutter=cutter, allowance=allowance, near=near
    )
    past = milled_beside(view, ask, part, shop)
    needs = with_room(needs, outline.profile, past, cutter.diameter / 2)
    if whole_stop:
        bitten = stop_kept(needs, outline.profile, chosen, cutter, growth)
        if bitten is None:
            return Lost("the locating wall is too short to take the relief beside the stop")
        needs = bitten
    row = arrange(
        job, ask, outline.profile,
        cutter_diameter=cutter.diameter, allowance=allowance, shop=shop, narrows=dict(view.narrows),
    )  # fmt: skip
    if row.beside:
        needs = _needs_of_row(needs, row)
    blanks = _blanks(job, shop)
    if isinstance(blanks, Lost):
        return blanks
    groove, why_groove = along_wall(job, shop.cutters, cutter, depth=view.grip_depth)
    if groove is not None and view.below:
        groove, why_groove = None, "no burr groove beside a lower floor: stone the part's lower edges"
    found, refusals = placed(needs if groove is None else beside(needs, groove), vise, blanks, shop)
    if found is None and groove is not None and not groove.up:
        groove, why_groove = None, "no burr groove: no blank has room for it; stone the part's lower edge"
        found, refusals = placed(needs, vise, blanks, shop)
    if found is None:
        return Lost(no_blank(refusals, blanks), any(r.thin for r in refusals))
    walls = _without_scraps(_seated(bearing, found), stop)
    seats = [w for w in walls if w.purpose == "locate"]
    if not seats or not any(w.purpose == "grip" for w in walls):
        return Lost("the walls that should bear lie in the gap between the jaws")
    outside = stop is None and not (nests(locators) and keeps(normals(seats))) and not centers(walls)
    hold = _hold(view, turn, walls, found, outside=outside, ask=ask, part=part, job=job, shop=shop, vise=vise)
    if not stands(hold.contacts, hold.stance.move.point(view.center)[:2]):
        return Lost(view.tips)
    row = row.moved(found.shift)
    if row.beside and hold.side_stop is not None:
        return Lost("each of several parts needs its stop wall in the pocket")
    if row.beside:
        hold = replace(hold, beside=tuple(s.region(hold.outline) for s in row.beside))
    unused = _unused(outline, bearing)
    return Draft(
        hold, found, walls, unused, cutter, allowance, turn, row,
        groove=groove, why_groove=why_groove, whole_stop=whole_stop, lowered=past, near=needs.near,
    )  # fmt: skip


def _without_scraps(walls: tuple[Wall, ...], stop: Wall | None) -> tuple[Wall, ...]:
    """The walls without the scraps of a nest, where only they make it one and there is no stop.

    A relief or the run-out at the jaw's face takes a land shorter than ``SEAT``, and nothing would stop the
    part along X then.
    """
    seats = [w for w in walls if w.purpose == "locate"]
    lasting = [w for w in seats if w.curve.length >= SEAT or w.pad]
    if stop is not None or not lasting or not nests(seats) or keeps(normals(lasting)):
        return walls
    return tuple(w for w in walls if w.purpose != "locate" or w in lasting)


def _bearing(
    outline: Outline, located: tuple[list[Wall], Wall | None], job: Job, pad: float
) -> tuple[list[Wall], Wall | None, list[Wall]] | Lost:
    """What locates, stops and grips: whole runs, or short pads on cast and sawn outlines."""
    locators, stop = located
    pinned = job.hold.stop != "" or pads.wanted(job)
    grips = grips_of(outline, locators, stop, pinned=pinned)
    if not grips:
        return Lost("no wall square enough to the closing direction for the floating jaw")
    if not pads.wanted(job):
        return corners_clear(outline, locators), stop, corners_clear(outline, grips)
    why = f"{pads.TOLD} the profile zone of {job.incoming.profile.value:g} mm is too wide for a nest"
    two = pads.two_pads(locators, why, pad)
    one = pads.between(grips, two, why, pad)
    if not two or not one:
        return Lost("no wall long enough for a pad")
    return two, pads.one_pad(stop) if stop else None, one


def _needs_of_row(needs: Needs, row: Row) -> Needs:
    """What the whole row asks of the jaws."""
    x0, y0, x1, y1 = needs.box
    left, right = row.ends
    return replace(
        needs,
        box=(x0 + left, y0, x1 + right, y1),
        grip_x=middle_of_row(row, needs.grip_x),
        holes=(*needs.holes, *wells_beside(needs.holes, row)),
    )


def _side_letters(ask: Ask, view: View) -> tuple[str, ...]:
    """Datum letters whose surface is upright in this view, in the print's order."""
    return tuple(
        d.letter for d in ask.datums if d.kind == "plane" and abs(dot(unit(d.normal), unit(view.up))) < 1e-3
    )


def _unused(outline: Outline, chosen: Sequence[Wall]) -> tuple[Wall, ...]:
    """The visible runs that are not among the chosen."""
    taken = {mark(w) for w in chosen}
    return tuple(w for m, w in outline.marked if m not in taken)


def _seated(walls: Sequence[Wall], place: Place) -> tuple[Wall, ...]:
    """Runs of the outline where they stand, cut at the parting."""
    out: list[Wall] = []
    for w in walls:
        reason = "not needed to locate or grip" if w.purpose == "clear" else w.reason
        for piece in cut_at_levels(move_curve(w.curve, shift=place.shift), (0.0, -place.gap)):
            y = piece.at(0.5)[1]
            inside = y > 0 if w.side == "fixed" else y < -place.gap
            if inside and piece.length > 1e-3:
                out.append(Wall(piece, w.index, w.face, w.side, w.purpose, w.datum, reason, w.pad))
    return tuple(out)


def _hold(
    view: View,
    turn: Turn,
    walls: tuple[Wall, ...],
    place: Place,
    *,
    outside: bool,
    ask: Ask,
    part: Part,
    job: Job,
    shop: Shop,
    vise: Vise,
) -> Hold:
    bearing = wall_contacts([w for w in walls if w.purpose != "clear"], place.floor + view.grip_depth / 2)
    beside = Stopped((), None, "")
    if outside:
        room = Room(place.blank.length / 2, place.gap, place.floor, place.top, open_between=False)
        beside = stop_beside(view, turn, place.shift, room=room, ask=ask, part=part, job=job, shop=shop)
    seating = Seating(
        kind="soft jaws",
        shift=place.shift,
        floor=place.floor,
        jaw_top=place.top,
        grip_depth=view.grip_depth,
        gap=place.gap,
        bearing=(*bearing, *beside.contacts),
        carried=tuple(jaw_floors(place.gap, place.blank.length, place.blank.thickness)),
        side_stop=beside.stop,
        no_stop=beside.why_not,
    )
    return assemble(seating, view, turn, ask=ask, part=part, job=job, shop=shop, vise=vise)
