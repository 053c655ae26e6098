"""A pair that exists, as it is, with a part in it: the jaws as far open as they would be, and the hold."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from scipy.special import chdtri
from shapely import Polygon

from jawright.errors import JawrightError
from jawright.geometry.boolean import intersection, union
from jawright.geometry.curve import Point
from jawright.geometry.curve import move as move_curve
from jawright.geometry.polygon import to_polygon
from jawright.geometry.profile import Region, rectangle
from jawright.geometry.query import nearest_on
from jawright.geometry.shape_hash import outline_hash
from jawright.hold import stance
from jawright.hold.assemble import Seating, assemble
from jawright.hold.contacts import jaw_floors, stands, wall_contacts
from jawright.hold.model import Contact, Hold
from jawright.hold.outline import SHORTEST, Outline, Wall, cut_at_levels, sub
from jawright.hold.resolve import Ask
from jawright.hold.sidestop import Room, Stopped, stop_beside
from jawright.hold.stance import Turn
from jawright.hold.view import View
from jawright.hold.view import view as make_view
from jawright.hold.walls import centers, choose_locators, choose_stop, grips_of, nests
from jawright.jaws import cut_for, lower, match, pads, sampled
from jawright.jaws.match import TOUCH, Fit
from jawright.jaws.model import Jaws, Left, Well, Zone
from jawright.job.model import Job
from jawright.part.model import Part
from jawright.shop.model import Band3, Shop, Vise
from jawright.told import told

FAR = 1e4  # [mm] beyond any jaw
SAME_TURN = math.radians(0.01)
"""Turns that differ by less are the same: a pinned one is written in degrees with two digits."""
FINE = 0.1  # [mm] distance of the points at which a wall is tried
MEASURED = 3
"""Re-seatings that must have been measured before their spread stands for the shop's own figure."""
TELLS = 0.95
"""Confidence of the interval of that spread."""


@dataclass(frozen=True, slots=True)
class Kept:
    """One side of a pair that exists, as planning needs it. Lengths mm.

    ``outline`` is the hash of the outline it was cut for, "" unknown. ``seats`` are the places (X, Y)
    at which the tooling hole was found when the pair was put back, against the kept work offset.
    """

    pair: str
    side: str
    place: str
    vise: str
    cut_for: str
    made: str
    torque: float | None
    outline: str
    jaws: Jaws
    parts_run: int = 0
    status: str = "usable"
    why: str = ""
    seats: tuple[Point, ...] = ()


@dataclass(frozen=True, slots=True)
class InKept:
    """A part held in a kept pair as it is: the pair, the jaws at their opening, and the hold."""

    kept: Kept
    jaws: Jaws
    hold: Hold
    view: View
    turn: Turn
    same_part: bool


def spread(seats: Sequence[Point]) -> Band3 | None:
    """One sigma [mm] of where a pair sits again, X and Y together, from what was measured; else None.

    Root mean square about the kept offset over the two axes, with the chi-square interval of a
    standard deviation (2 n degrees of freedom). Source: NIST/SEMATECH e-Handbook 7.2.3.1.
    Valid for ``MEASURED`` re-seatings or more, else None.
    """
    if len(seats) < MEASURED:
        return None
    freedom = 2 * len(seats)
    total = sum(x * x + y * y for x, y in seats)
    low, high = (math.sqrt(total / float(chdtri(freedom, p))) for p in ((1 - TELLS) / 2, (1 + TELLS) / 2))
    return Band3(low, math.sqrt(total / freedom), high, f"measured when put back, {len(seats)} times")


def shop_with(kept: Kept, shop: Shop) -> Shop:
    """The shop with this pair's own re-seating spread, where enough of it was measured."""
    own = spread(kept.seats)
    return shop if own is None else replace(shop, jaw_reseat=replace(own, basis=f"{kept.pair}, {own.basis}"))


def in_kept(
    kept: Kept, view: View, turns: Sequence[Turn], *, ask: Ask, part: Part, job: Job, shop: Shop, vise: Vise
) -> InKept | str:
    """The part in a kept pair, in the turn that touches most of it; else why it is not held there.

    ``view`` is made anew with the pocket's depth as grip, so any grip of the job's gives way to it.
    """
    if kept.vise not in ("", vise.id):
        return f"it belongs to vise {kept.vise}"
    own = _as_cut(kept.jaws, view, turns)
    found = own or _as_sampled(kept.jaws, view, turns)
    if found is None:
        return "the part does not fit its pocket in any turn"
    turn, fit = found
    jaws = opened(kept.jaws, fit.gap)
    deep = replace(job, hold=replace(job.hold, grip_depth=jaws.top - jaws.floor))
    try:
        seen = replace(make_view(part, deep, ask, view.up), grip_reason="the depth of the pocket that exists")
        hold = hold_in(
            jaws, fit, seen, turn, own=own is not None, ask=ask, part=part, job=deep, shop=shop, vise=vise
        )
    except JawrightError as error:
        if error.code not in ("hold-none", "geometry", "value-bad"):
            raise
        return told(error.what, job.units)
    if hold is None:
        return "the walls that should bear do not touch"
    if why := lower.lacking(hold, jaws):
        return why
    if not stands(hold.contacts, hold.stance.move.point(seen.center)[:2]):
        return seen.tips
    same = kept.outline != "" and outline_hash(Region(hold.outline.outer)) == kept.outline
    return InKept(kept, jaws, hold, seen, turn, same)


def _as_cut(jaws: Jaws, view: View, turns: Sequence[Turn]) -> tuple[Turn, Fit] | None:
    """The part where its pocket was cut for it; of several places that of the best turn."""
    pinned = any(t.kind < 0 for t in turns)
    tried = [t.angle for t in sorted(turns, key=lambda t: t.kind)]
    known: list[tuple[Turn, Fit, bool]] = []
    for lies in cut_for.places(view.outline, jaws, tried):
        own = [t for t in turns if stance.apart(t.angle, lies.turn) < SAME_TURN]
        if own or not pinned:
            turn = min(own, key=lambda t: t.kind) if own else Turn(lies.turn, "as it was cut", 3)
            known.append((replace(turn, angle=lies.turn), match.as_cut(jaws, lies.shift), not own))
    best = min(known, key=lambda k: (k[0].kind, k[2]), default=None)
    return None if best is None else best[:2]


def _as_sampled(jaws: Jaws, view: View, turns: Sequence[Turn]) -> tuple[Turn, Fit] | None:
    """A part of another outline, in the turn that touches most of the pocket's walls."""
    walls = sampled.of_pocket(jaws)
    x0, _, x1, _ = jaws.pocket.outer.box
    size = {"gap": jaws.gap, "width": x1 - x0, "area": jaws.pocket.area}
    some = [t for t in turns if t.kind != 3] or turns[:1]  # of a disc, any
    tried = [(t, match.fit(match.turned(view.outline, t.angle), walls, **size)) for t in some]
    alive = [(t, f) for t, f in tried if f is not None]
    return max(alive, key=lambda r: (match.land(r[1]), -r[0].kind), default=None)


def opened(jaws: Jaws, gap: float) -> Jaws:
    """The same pair with the floating jaw at another ``gap`` [mm]: what is cut in it goes along."""
    rise = jaws.gap - gap
    if abs(rise) < 1e-6:
        return jaws
    middle = -jaws.gap / 2
    upper = intersection(jaws.pocket, Region(rectangle(-FAR, middle, FAR, FAR)))
    lower = intersection(jaws.pocket, Region(rectangle(-FAR, -FAR, FAR, middle)))
    moved = [r.moved(shift=(0.0, rise)) for r in lower]
    x0, _, x1, _ = jaws.pocket.outer.box
    if rise < 0:  # the strip of air that opens up between the halves
        bands = intersection(jaws.pocket, Region(rectangle(x0 - 1, middle - 0.01, x1 + 1, middle)))
        ends = [b.outer.box for b in bands]
        moved += [Region(rectangle(b[0], middle + rise, b[2], middle)) for b in ends]
    pocket = max(union(upper, moved), key=lambda r: r.area)
    f = jaws.floating
    return replace(
        jaws,
        gap=gap,
        pocket=pocket,
        floating=replace(f, y0=f.y0 + rise, y1=f.y1 + rise),
        zones=_zones_with(jaws.zones, rise),
        zones_beside=_zones_with(jaws.zones_beside, rise),
        reliefs=tuple(
            replace(r, center=_up(r.center, rise), corner=_up(r.corner, rise)) if r.corner[1] < middle else r
            for r in jaws.reliefs
        ),
        left=_with_jaw(jaws.left, middle, rise),
        wells=tuple(own for w in jaws.wells for own in _well_with(w, middle, rise)),
    )


def _up(p: Point, rise: float) -> Point:
    return (p[0], p[1] + rise)


def _zones_with(zones: Sequence[Zone], rise: float) -> tuple[Zone, ...]:
    """Zones, those of the floating jaw moved along."""
    return tuple(
        replace(z, curves=tuple(move_curve(c, shift=(0.0, rise)) for c in z.curves))
        if z.jaw == "floating"
        else z
        for z in zones
    )


def _well_with(w: Well, middle: float, rise: float) -> list[Well]:
    """A well, moved along where it is the floating jaw's; one cut in both jaws is two then."""
    _, low, _, high = w.region.outer.box
    if low >= middle:
        return [w]
    if high <= middle:
        return [replace(w, region=w.region.moved(shift=(0.0, rise)))]
    own = intersection(w.region, Region(rectangle(-FAR, middle, FAR, FAR)))
    along = intersection(w.region, Region(rectangle(-FAR, -FAR, FAR, middle)))
    return [replace(w, region=r) for r in (*own, *(r.moved(shift=(0.0, rise)) for r in along))]


def _with_jaw(left: Left | None, middle: float, rise: float) -> Left | None:
    """A corner left standing, moved along where it is the floating jaw's."""
    if left is None or left.at[1] > middle:
        return left
    return Left((left.at[0], left.at[1] + rise), left.radius, left.region.moved(shift=(0.0, rise)))


def hold_in(
    jaws: Jaws,
    fit: Fit,
    view: View,
    turn: Turn,
    *,
    own: bool = False,
    ask: Ask,
    part: Part,
    job: Job,
    shop: Shop,
    vise: Vise,
) -> Hold | None:
    """The part held in a pair as it is, with the air of each contact as it is; None without a seat.

    ``own`` says that the pocket was cut for this outline: it bears on the walls its zones name. Another
    part bears on those that a new pair would choose, where they touch.
    """
    profile = view.outline.moved(turn=turn.angle).moved(shift=fit.shift)
    outline = Outline(profile, view.faces, view.letters, bridges=view.bridges, milled=view.milled)
    if own:
        walls = _named(outline, jaws)
    else:
        walls = [run for w in _walls(outline, ask, view, job) for run in touching(w, jaws)]
    middle = jaws.floor + view.grip_depth / 2
    contacts = [c for c in wall_contacts(walls, middle) if _air(c, jaws) <= TOUCH]
    contacts = [replace(c, gap=_air(c, jaws)) for c in contacts]
    if not {"fixed", "floating"} <= {c.on for c in contacts}:
        return None
    beside = Stopped((), None, "")
    if not any(c.on == "stop" for c in contacts) and _slides(walls):
        room = Room(
            max(abs(jaws.fixed.x0), abs(jaws.fixed.x1)), jaws.gap, jaws.floor, jaws.top, open_between=False
        )
        beside = stop_beside(view, turn, fit.shift, room=room, ask=ask, part=part, job=job, shop=shop)
    seating = Seating(
        kind="soft jaws",
        shift=fit.shift,
        floor=jaws.floor,
        jaw_top=jaws.top,
        grip_depth=view.grip_depth,
        gap=jaws.gap,
        bearing=(*contacts, *beside.contacts),
        carried=tuple(_floors(jaws)),
        lower=lower.floors(jaws),
        reused=True,
        side_stop=beside.stop,
        no_stop=beside.why_not,
    )
    return assemble(seating, view, turn, ask=ask, part=part, job=job, shop=shop, vise=vise)


def _walls(outline: Outline, ask: Ask, view: View, job: Job) -> list[Wall]:
    """Runs that locate, stop and grip, as a new pair would choose them."""
    letters = {f: d.letter for d in ask.datums if d.kind == "plane" for f in d.faces}
    wanted = tuple(dict.fromkeys(letters[f] for f in view.faces if f in letters))
    ordered = tuple(d.letter for d in ask.datums if d.letter in wanted)
    locators = choose_locators(outline, ordered)
    used = {w.datum for w in locators if w.datum}
    stop = choose_stop(outline, tuple(x for x in ordered if x not in used), side=job.hold.stop)
    grips = grips_of(outline, locators, stop, pinned=job.hold.stop != "")
    return [*locators, *([stop] if stop else []), *grips]


def _named(outline: Outline, jaws: Jaws) -> list[Wall]:
    """The walls of the part that the zones of its own pocket name, in their order."""
    bear = [(z, c) for z in jaws.zones if z.purpose != "clear" for c in z.curves]
    feet = nearest_on(outline.profile, [c.at(0.5) for _, c in bear])
    return [
        Wall(
            c, f.curve, outline.faces[f.curve], z.jaw, z.purpose, outline.datums[f.curve], z.reason,
            z.reason.startswith(pads.TOLD),
        )
        for (z, c), f in zip(bear, feet, strict=True)
    ]  # fmt: skip


def _slides(walls: Sequence[Wall]) -> bool:
    """Whether neither a nest nor a V keeps the part from sliding along the jaws."""
    return not nests([w for w in walls if w.purpose == "locate"]) and not centers(walls)


def touching(w: Wall, jaws: Jaws) -> list[Wall]:
    """Runs of a wall that lie on the pocket's wall in its own jaw: reliefs and the gap are left out."""
    out = []
    for piece in cut_at_levels(w.curve, (0.0, -jaws.gap)):
        y = piece.at(0.5)[1]
        if not (y > 0 if w.side == "fixed" else y < -jaws.gap):
            continue
        n = max(2, round(piece.length / FINE))
        points = np.array([piece.at(k / n) for k in range(n + 1)])
        on = [f.distance <= TOUCH for f in nearest_on(jaws.pocket, points)]
        start = None
        for k, now in enumerate([*on, False]):
            if now and start is None:
                start = k
            if not now and start is not None:
                if (k - 1 - start) * piece.length / n >= SHORTEST:
                    out.append(replace(w, curve=sub(piece, start / n, (k - 1) / n)))
                start = None
    return out


def _air(c: Contact, jaws: Jaws) -> float:
    """Distance [mm] from the contact to the pocket's wall, never below 0: less is the sampling's rounding."""
    at: Point = (c.point[0], c.point[1])
    return max(0.0, float(nearest_on(jaws.pocket, np.array([at]))[0].distance))


def _floors(jaws: Jaws) -> list[Polygon]:
    """The floors that are there: not where a well was cut."""
    blank = jaws.fixed.blank
    floors = jaw_floors(jaws.gap, blank.length, blank.thickness)
    for w in jaws.wells:
        cut = to_polygon(w.region, 0.02)
        floors = [f.difference(cut) for f in floors]
    return floors
