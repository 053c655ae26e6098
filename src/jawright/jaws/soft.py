"""A soft-jaw hold in one stance: walls, blank, gap, contacts. No pocket is designed yet."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import partial

from jawright.geometry.curve import move as move_curve
from jawright.geometry.frame import dot, standing, unit
from jawright.hold.assemble import Seating, assemble
from jawright.hold.contacts import jaw_floors, stands, wall_contacts
from jawright.hold.model import Hold, SideStop
from jawright.hold.resolve import Ask
from jawright.hold.sidestop import Room, side_stop
from jawright.hold.stance import Turn
from jawright.hold.view import View
from jawright.hold.walls import (
    NESTS,
    SQUARE_ON,
    WRAP,
    Outline,
    Wall,
    choose_grips,
    choose_locators,
    choose_stop,
    corners_clear,
    cut_at_levels,
    fewest_pads,
    nests,
    visible,
)
from jawright.jaws import pads
from jawright.jaws.cutters import pocket_cutter
from jawright.jaws.grooves import Groove, along_wall, beside
from jawright.jaws.place import LEDGE, LEDGE_LEAST, Needs, Place
from jawright.jaws.placed import STOP_LAND, STOP_LAND_LEAST, no_blank, placed, stop_kept, stop_lost
from jawright.jaws.relief import relief_reach
from jawright.jaws.row import ALONE, Row, arrange, circles_over, middle_of_row, wells_beside
from jawright.job.model import Job
from jawright.part.model import Part
from jawright.shop.model import Cutter, Shop, Vise

ALLOWANCE = 0.18  # [mm] clear walls stand off by at least this (0.007 in; common practice, no source)
ALLOWANCE_OVER = 0.05  # [mm] and by this more than the largest part against the stop, jaws cut small
ENOUGH_WALL = 0.6  # share of the bearing walls' length that must lie in the jaw (common practice, no source)
WRAPPED = 0.95  # and where a nest is to wrap the part (common practice, no source)
LEAST_WALL = 0.3  # of it where the jaws have no room for more (common practice, no source)
ENOUGH_LENGTH = 8.0  # [mm] and at least this much when there is so much (common practice, no source)
STOP_SQUARE = math.cos(math.radians(20.0))  # a datum's stop wall that leans more is compared with others
WELL_ROOM = 1.0  # [mm] a clearance well is wider than the hole by this, per side (common practice, no source)
WELL_BELOW = 2.5  # [mm] room under the point of a through drill (0.10 in; common practice, no source)


@dataclass(frozen=True, slots=True)
class Draft:
    """A stance in soft jaws, before its pocket is designed."""

    hold: Hold
    place: Place
    walls: tuple[Wall, ...]  # seated, cut at the parting: locate, stop, grip and clear
    cutter: Cutter
    allowance: float
    turn: Turn
    row: Row = ALONE
    fewest: bool = False  # only two pads of a nest locate, not its whole outline
    choice: bool = True  # there is such a choice: the outline nests and has more than two pads to bear on
    groove: Groove | None = None
    why_groove: str = ""  # or why there is none
    wraps: bool = False  # a nest that goes further round than usual
    whole_stop: bool = False  # the relief beside the stop bites into the locating wall instead of the stop
    leaning_stop: bool = False  # a datum's wall is the stop, and not square to X
    metal_why: str = ""  # why the jaws are of this metal, where a proof asked for it


@dataclass(frozen=True, slots=True)
class Lost:
    """Why a stance cannot be had."""

    reason: str
    thin: bool = False


def draft(
    view: View,
    turn: Turn,
    *,
    few: bool = False,
    wrap: bool = False,
    free_stop: bool = False,
    ask: Ask,
    part: Part,
    job: Job,
    shop: Shop,
    vise: Vise,
) -> Draft | Lost:
    """Try one stance in soft jaws: the cheapest blank and best gap that take it, or why not.

    With ``few`` an outline that nests bears on two pads of the fixed jaw only; with ``wrap`` its arcs bear
    further round and nearly all of them lies in the jaws; with ``free_stop`` no leaning wall is the stop. A
    stance whose stop wall has no room in the jaws, or that has none, gets a side stop outside the pocket.
    """
    round_as = WRAP if wrap else SQUARE_ON
    outline = Outline(view.outline.moved(turn=turn.angle), view.faces, view.letters, round_as, view.bridges)
    wanted, pinned = _side_letters(ask, view), job.hold.fixed_jaw_datum
    locators = choose_locators(outline, (pinned,) if pinned else wanted)
    if not locators:
        return Lost("no wall square enough to the closing direction for the fixed jaw")
    if pinned and locators[0].datum != pinned:
        return Lost(f"datum {pinned} does not lie square on the fixed jaw")
    whole = locators
    two = fewest_pads(whole) if whole[0].reason == NESTS and not pads.wanted(job) else whole
    locators = two if few else whole
    fewest, choice = len(locators) < len(whole), two != whole
    used = {w.datum for w in locators if w.datum}
    rest, square = tuple(x for x in wanted if x not in used), STOP_SQUARE if free_stop else 0.0
    nested = nests(locators) and not pads.wanted(job)
    stop = choose_stop(outline, rest, side=job.hold.stop, nested=nested, square=square)
    tried = partial(_with_stop, view, turn, outline, ask=ask, part=part, job=job, shop=shop, vise=vise)
    made = tried((locators, stop))
    if isinstance(made, Lost) and stop is not None:
        bitten = tried((locators, stop), whole_stop=True)
        made = bitten if isinstance(bitten, Draft) else made
    if isinstance(made, Lost) and stop is not None:
        outside = tried((locators, None))
        if isinstance(outside, Draft) and outside.hold.side_stop is not None:
            made, stop = outside, None
    if isinstance(made, Lost):
        return made
    leans = stop is not None and stop.datum != "" and abs(stop.normal[0]) < STOP_SQUARE
    return replace(made, fewest=fewest, choice=choice, wraps=wrap, leaning_stop=leans)


def _with_stop(
    view: View,
    turn: Turn,
    outline: Outline,
    located: tuple[list[Wall], Wall | None],
    *,
    whole_stop: bool = False,
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
    growth = job.incoming.profile.value / 2 + job.incoming.wall_form.value
    cutter = pocket_cutter(
        shop.cutters,
        bearing,
        depth=view.grip_depth,
        edge_break=job.incoming.edge_break.value,
        outline=outline.profile,
        growth=growth,
        only=job.hold.jaw_cutter,
    )
    allowance = max(ALLOWANCE, 2 * growth + 4 * shop.jaw_cut.high + ALLOWANCE_OVER)
    needs = _needs(view, turn, outline, chosen, ask=ask, job=job, cutter=cutter, allowance=allowance)
    if whole_stop:
        bitten = stop_kept(needs, outline.profile, chosen, cutter, growth)
        if bitten is None:
            return Lost("the locating wall is too short to take the relief beside the stop")
        needs = bitten
    row = arrange(job, ask, outline.profile, cutter_diameter=cutter.diameter, allowance=allowance)
    if row.beside:
        needs = _needs_of_row(needs, row)
    blanks = [b for b in shop.blanks if job.hold.blank in ("", b.id)]
    blanks = [b for b in blanks if job.hold.jaw_material in ("", b.material)]
    if not blanks and shop.blanks:
        return Lost(f"no blank of {job.hold.jaw_material} in the shop")
    groove, why_groove = along_wall(job, shop.cutters, cutter, depth=view.grip_depth)
    found, refusals = placed(needs if groove is None else beside(needs, groove), vise, blanks, shop)
    if found is None and groove is not None and not groove.up:
        groove, why_groove = None, "no burr groove: no blank has room for it; stone the part's lower edge"
        found, refusals = placed(needs, vise, blanks, shop)
    if found is None:
        return Lost(no_blank(refusals, blanks), any(r.thin for r in refusals))
    walls = _seated(outline, [*locators, *([stop] if stop else []), *grips], found)
    if not any(w.purpose == "locate" for w in walls) or not any(w.purpose == "grip" for w in walls):
        return Lost("the walls that should bear lie in the gap between the jaws")
    outside = stop is None and not nests(locators)
    hold = _hold(view, turn, walls, found, outside=outside, ask=ask, part=part, job=job, shop=shop, vise=vise)
    if not stands(hold.contacts, hold.stance.move.point(view.center)[:2]):
        return Lost(view.tips)
    row = row.moved(found.shift)
    if row.beside and hold.side_stop is not None:
        return Lost("each of several parts needs its stop wall in the pocket")
    if row.beside:
        hold = replace(hold, beside=tuple(s.region(hold.outline) for s in row.beside))
    return Draft(
        hold, found, walls, cutter, allowance, turn, row,
        groove=groove, why_groove=why_groove, whole_stop=whole_stop,
    )  # fmt: skip


def _bearing(
    outline: Outline, located: tuple[list[Wall], Wall | None], job: Job, pad: float
) -> tuple[list[Wall], Wall | None, list[Wall]] | Lost:
    """What locates, stops and grips: whole runs, or short pads on cast and sawn outlines."""
    locators, stop = located
    grips = choose_grips(outline, locators, stop)
    if not grips:
        return Lost("no wall square enough to the closing direction for the floating jaw")
    if not pads.wanted(job):
        return corners_clear(outline, locators), stop, corners_clear(outline, grips)
    why = f"pad: the profile zone of {job.incoming.profile.value:g} mm is too wide for a nest"
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


def _needs(
    view: View,
    turn: Turn,
    outline: Outline,
    bearing: tuple[Sequence[Wall], Wall | None, Sequence[Wall]],
    *,
    ask: Ask,
    job: Job,
    cutter: Cutter,
    allowance: float,
) -> Needs:
    locators, stop, grips = bearing
    growth = job.incoming.profile.value / 2 + job.incoming.wall_form.value
    _, y0, _, y1 = outline.profile.box
    enough = ENOUGH_WALL if outline.wrap <= SQUARE_ON else WRAPPED
    fixed = max(LEDGE, _depth_for(locators, y1, enough))
    least = max(LEDGE_LEAST, _depth_for(locators, y1, LEAST_WALL))
    if stop is not None:
        high = max(stop.curve.start[1], stop.curve.end[1])
        loss = stop_lost(outline.profile, stop, cutter, growth)
        begins, half = y1 - high + loss, stop.curve.length / 2
        fixed = max(fixed, begins + min(STOP_LAND, half))
        least = max(least, begins + min(STOP_LAND_LEAST, half))
    floating = max(LEDGE, _depth_for(grips, y0, enough))
    weight = sum(w.curve.length for w in grips)
    holes, depth = _wells(view, turn, ask)
    return Needs(
        box=outline.profile.box,
        fixed_depth=fixed,
        floating_depth=floating,
        least=(least, max(LEDGE_LEAST, _depth_for(grips, y0, LEAST_WALL))),
        grip_depth=view.grip_depth,
        beyond=cutter.diameter + 0.5,
        beyond_y=max(allowance + 0.8, relief_reach(outline.profile, cutter.diameter / 2, growth)),
        grip_x=sum(w.middle[0] * w.curve.length for w in grips) / weight,
        well_depth=depth,
        well_in_gap=False,
        holes=holes,
        shift=job.hold.shift,
        spacer_height=job.hold.spacer_height,
        spacers=job.hold.spacers,
    )


def _wells(view: View, turn: Turn, ask: Ask) -> tuple[tuple[tuple[float, float, float], ...], float]:
    """Clearance under all that is made through here, outline frame: (x, y, radius), and how deep [mm]."""
    place = standing(view.up, turn=turn.angle, shift=(0.0, 0.0, 0.0))
    holes = []
    deep = 0.0
    for f in ask.features:
        through = f.hole is not None and (f.hole.through if f.ask.through is None else f.ask.through)
        if f.hole is None or not through:
            continue
        x, y, _ = place.point(f.hole.mouth)
        diameter = f.ask.diameter or f.hole.diameter
        holes.append((x, y, diameter / 2 + WELL_ROOM))
        point = diameter / 2 / math.tan(math.radians(59))  # 118° drill
        deep = max(deep, point + WELL_BELOW)
    for _, region in view.windows:
        holes += circles_over(region.moved(turn=turn.angle).outer.box, WELL_ROOM)
        deep = max(deep, WELL_BELOW)
    return tuple(holes), deep


def _depth_for(walls: Sequence[Wall], edge: float, share: float) -> float:
    """Depth from the outline's ``edge`` (largest or smallest y) that holds enough of the walls' length."""
    pieces = []
    for w in walls:
        length = w.curve.length / 20
        pieces += [(abs(edge - y), length) for _, y in w.curve.spread((k + 0.5) / 20 for k in range(20))]
    pieces.sort()
    total = sum(length for _, length in pieces)
    want = max(share * total, min(total, ENOUGH_LENGTH * share / ENOUGH_WALL))
    so_far = 0.0
    for depth, length in pieces:
        so_far += length
        if so_far >= want - 1e-9:
            return depth + 0.5
    return pieces[-1][0] + 0.5


def _seated(outline: Outline, chosen: Sequence[Wall], place: Place) -> tuple[Wall, ...]:
    """The chosen runs where they stand, cut at the parting, and the other visible runs as clear."""
    out: list[Wall] = []
    taken = {(w.index, round(w.middle[0], 6), round(w.middle[1], 6)) for w in chosen}
    others = [
        w
        for side in ("fixed", "floating")
        for w in visible(outline, side)
        if (w.index, round(w.middle[0], 6), round(w.middle[1], 6)) not in taken
    ]
    for w in [*chosen, *(replace(w, reason="not needed to locate or grip") for w in others)]:
        curve = move_curve(w.curve, shift=place.shift)
        for piece in cut_at_levels(curve, (0.0, -place.gap)):
            y = piece.at(0.5)[1]
            inside = y > 0 if w.side == "fixed" else y < -place.gap
            if inside and piece.length > 1e-3:
                out.append(replace(w, curve=piece))
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
    half = place.blank.length / 2
    beside: SideStop | None = None
    if outside:
        room = Room(half, place.gap, place.floor, place.top, open_between=False)
        letters = {f: d.letter for d in ask.datums for f in d.faces}
        stopped = side_stop(
            view, turn, place.shift, letters=letters, room=room, part=part, job=job, shop=shop
        )
        if not isinstance(stopped, str):
            bearing.append(stopped[0])
            beside = stopped[1]
    seating = Seating(
        kind="soft jaws",
        shift=place.shift,
        floor=place.floor,
        jaw_top=place.top,
        grip_depth=view.grip_depth,
        gap=place.gap,
        bearing=tuple(bearing),
        carried=tuple(jaw_floors(place.gap, place.blank.length, place.blank.thickness)),
        side_stop=beside,
    )
    return assemble(seating, view, turn, ask=ask, part=part, job=job, shop=shop, vise=vise)
