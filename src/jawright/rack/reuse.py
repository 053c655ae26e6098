"""A pair as it is with another part in it: the jaws at the opening they would have, the hold to prove."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
from shapely import Polygon

from jawright.geometry.boolean import intersection, union
from jawright.geometry.curve import Point
from jawright.geometry.curve import move as move_curve
from jawright.geometry.polygon import to_polygon
from jawright.geometry.profile import Region, rectangle
from jawright.geometry.query import nearest_on
from jawright.hold.assemble import Seating, assemble
from jawright.hold.contacts import jaw_floors, wall_contacts
from jawright.hold.model import Contact, Hold
from jawright.hold.resolve import Ask
from jawright.hold.stance import Turn
from jawright.hold.view import View
from jawright.hold.walls import (
    SHORTEST,
    Outline,
    Wall,
    choose_grips,
    choose_locators,
    choose_stop,
    cut_at_levels,
    sub,
)
from jawright.jaws.model import Jaws
from jawright.job.model import Job
from jawright.part.model import Part
from jawright.rack.match import TOUCH, Fit
from jawright.shop.model import Shop, Vise

FAR = 1e4  # [mm] beyond any jaw
FINE = 0.1  # [mm] distance of the points at which a wall is tried


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
        zones=tuple(
            replace(z, curves=tuple(move_curve(c, shift=(0.0, rise)) for c in z.curves))
            if z.jaw == "floating"
            else z
            for z in jaws.zones
        ),
        wells=tuple(
            replace(w, region=w.region.moved(shift=(0.0, rise))) if w.region.outer.box[3] <= middle else w
            for w in jaws.wells
        ),
    )


def hold_in(
    jaws: Jaws,
    fit: Fit,
    view: View,
    turn: Turn,
    *,
    ask: Ask,
    part: Part,
    job: Job,
    shop: Shop,
    vise: Vise,
) -> Hold | None:
    """The part held in a pair as it is, with the air of each contact as it is; None without a seat."""
    outline = Outline(view.outline.moved(turn=turn.angle).moved(shift=fit.shift), view.faces, view.letters)
    walls = [run for w in _walls(outline, ask, view, job) for run in touching(w, jaws)]
    middle = jaws.floor + view.grip_depth / 2
    contacts = [c for c in wall_contacts(walls, middle) if _air(c, jaws) <= TOUCH]
    contacts = [replace(c, gap=_air(c, jaws)) for c in contacts]
    if not {"fixed", "floating"} <= {c.on for c in contacts}:
        return None
    seating = Seating(
        kind="soft jaws",
        shift=fit.shift,
        floor=jaws.floor,
        jaw_top=jaws.top,
        grip_depth=view.grip_depth,
        gap=jaws.gap,
        bearing=tuple(contacts),
        carried=tuple(_floors(jaws)),
        reused=True,
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
    return [*locators, *([stop] if stop else []), *choose_grips(outline, locators, stop)]


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
