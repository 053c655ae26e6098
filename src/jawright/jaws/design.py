"""From a draft to a designed pair of jaws, and the hold that goes with it."""

from __future__ import annotations

import math
import re
from collections.abc import Sequence
from dataclasses import dataclass, replace

from jawright.errors import JawrightError
from jawright.geometry.polygon import to_polygon
from jawright.geometry.profile import Region
from jawright.hold.contacts import (
    floor_contacts,
    jaw_floors,
    lower_contacts,
    on_floors,
    soles_moved,
    stands,
    wall_contacts,
)
from jawright.hold.leaning import touching
from jawright.hold.model import Hold
from jawright.hold.outline import Wall
from jawright.hold.view import View
from jawright.jaws import extras, grooves, lower, milled_past, pocket
from jawright.jaws.metal import advice as metal_advice
from jawright.jaws.model import Jaw, Jaws, Left, Well, Zone
from jawright.jaws.place import WEB, Place
from jawright.jaws.placed import SEAT
from jawright.jaws.soft import Draft
from jawright.job.model import USUAL_OPERATION, Job
from jawright.part.band import silhouette
from jawright.part.model import Part
from jawright.shop.model import Shop, Vise

NO_FLOOR = (
    "no burr groove: beside it too little floor would carry the part, which would tip before it is clamped; "
    "stone its lower edge before loading"
)
STOP_TAKEN = "the reliefs beside it take all of the wall that would stop the part"
EDGE_BREAK = 0.3  # [mm] chamfer on the pocket's upper edge (0.010-0.020 in; common practice, no source)


@dataclass(frozen=True, slots=True)
class Pair:
    """A hold in designed jaws."""

    hold: Hold
    jaws: Jaws


def design(
    draft: Draft, view: View, *, part: Part, job: Job, shop: Shop, vise: Vise, left: Left | None = None
) -> Pair:
    """Design the pocket of a draft and everything that belongs to the jaws. ``left`` stays standing in it.

    A burr groove that takes the floor the part needs is left out. Raises ``hold-none`` when the pocket cannot
    be cut or leaves no seat.
    """
    pair = _designed(draft, view, part=part, job=job, shop=shop, vise=vise, left=left)
    weight = pair.hold.stance.move.point(view.center)[:2]
    if draft.groove is None or draft.groove.up or stands(pair.hold.contacts, weight):
        return pair
    plain = replace(draft, groove=None, why_groove=NO_FLOOR)
    without = _designed(plain, view, part=part, job=job, shop=shop, vise=vise, left=left)
    return without if stands(without.hold.contacts, weight) else pair


def _designed(
    draft: Draft, view: View, *, part: Part, job: Job, shop: Shop, vise: Vise, left: Left | None
) -> Pair:
    hold, place = draft.hold, draft.place
    beside, radius = draft.row.beside, draft.cutter.diameter / 2
    cut = milled_past.regions(hold.outline.outer, draft.lowered, place, radius, alone=not beside)
    made = _pocket(draft, job, left, cut)
    _check_land(made.walls)
    fixed, floating = _jaws(place, vise)
    above = [r.moved(turn=hold.stance.turn, shift=place.shift) for r in silhouette(part, view.up)]
    above += [s.region(r) for s in beside for r in above]
    notes: list[str] = [said] if (said := draft.metal_why or metal_advice(job, place.blank)) else []
    room = milled_past.wells(cut, draft.lowered, place.floor)
    room += tuple(replace(w, region=s.region(w.region)) for s in beside for w in room)
    wells = _wells(draft, view, made.region) + room
    notes += lower.told(hold.below, hold.level_reason)
    notes += [said for said in (draft.why_groove, _leaning(view)) if said]
    hole, why = extras.tooling_hole(fixed, made.region, above, shop.cutters)
    if why:
        notes.append(why)
    for text in _texts(job):  # the first that fits
        text_at, text_height = extras.text_spots((fixed, floating), made.region, hole, text)
        if text_height > 0.0:
            break
    else:
        notes.append("no room for engraved text: stamp the jaws by hand")
    lowered = [w.region for w in room]
    metal = min(extras.metal_left(j, made.region, wells, place.floor, lowered) for j in (fixed, floating))
    _check_metal(*metal)
    zones = tuple(_zone(w, draft.allowance) for w in (*made.walls, *_clear(draft.walls)))
    jaws = Jaws(
        fixed=fixed,
        floating=floating,
        gap=place.gap,
        pocket=made.region,
        floor=place.floor,
        top=place.top,
        cutter=draft.cutter.id,
        cutter_radius=radius,
        zones=zones,
        reliefs=made.reliefs
        + tuple(
            replace(r, center=s.point(r.center), corner=s.point(r.corner))
            for s in beside
            for r in made.reliefs
        ),
        wells=wells,
        tooling_hole=hole,
        stack=place.stack,
        edge_break=EDGE_BREAK,
        text=text,
        text_at=text_at,
        text_height=text_height,
        metal_behind=metal[0],
        metal_behind_where=metal[1],
        notes=tuple(notes),
        left=left,
        zones_beside=tuple(
            replace(z, curves=tuple(s.curve(c) for c in z.curves)) for s in beside for z in zones
        ),
    )
    return Pair(_final_hold(hold, view, place, made.walls, jaws=jaws, part=part), jaws)


def _pocket(draft: Draft, job: Job, left: Left | None, cut: Sequence[Region]) -> pocket.Pocket:
    """The pocket of a draft, for the largest part the job lets in."""
    return pocket.design(
        draft.hold.outline.outer,
        draft.walls,
        gap=draft.place.gap,
        allowance=draft.allowance,
        cutter_radius=draft.cutter.diameter / 2,
        growth=job.incoming.growth,
        beside=draft.row.beside,
        bridges=draft.hold.bridges,
        whole_stop=draft.whole_stop,
        left=None if left is None else left.region,
        lowered=cut,
    )


def _leaning(view: View) -> str:
    """What upright jaw walls do on walls with draft: how far off they stand at the far end of the grip."""
    if view.band.kind != "drafted":
        return ""
    off = view.grip_depth * math.tan(view.band.draft)
    return (
        f"the part's walls lean by {math.degrees(view.band.draft):.1f}°: the upright jaw walls touch them on "
        f"one line, at their widest level in the jaw, and stand {off:.2f} mm off at the other end of the grip"
    )


def _wells(draft: Draft, view: View, region: Region) -> tuple[Well, ...]:
    """Room under through holes and a lower level, at every part; and a groove along the wall, else slots in
    long floors."""
    place, hold, radius = draft.place, draft.hold, draft.cutter.diameter / 2
    under = extras.wells(hold, place.gap, region, radius)
    if hold.below:
        soles = [r.moved(turn=hold.stance.turn, shift=place.shift) for r in view.band.bottom]
        under += lower.wells(hold.below, soles, pocket=region, floor=place.floor, radius=radius)
    under += tuple(replace(w, region=s.region(w.region)) for s in draft.row.beside for w in under)
    if draft.groove is not None:
        return under + grooves.wall_wells(draft.groove, region, place.floor, place.gap)
    if hold.below:
        return under  # chips lie in the lower level
    return under + grooves.chip_slots(region, draft.cutter, place.floor, place.gap)


def _check_land(walls: tuple[Wall, ...]) -> None:
    land = sum(w.curve.length for w in walls if w.purpose == "locate")
    if not any(w.purpose == "grip" for w in walls):
        raise JawrightError(
            "hold-none",
            what="corner reliefs and the gap leave no wall for the floating jaw to grip",
            todo="turn the part, or add a smaller sharp-cornered end mill",
        )
    if land < SEAT:
        raise JawrightError(
            "hold-none",
            what=f"corner reliefs leave {land:.1f} mm of locating wall, {SEAT} mm are needed",
            todo="add a smaller sharp-cornered end mill, or turn the part",
        )


def _check_metal(left: float, where: str) -> None:
    if left < WEB:
        raise JawrightError(
            "hold-none",
            what=f"only {left:.1f} mm of metal would be left {where}, {WEB} mm are needed",
            todo="use a thicker or higher blank, or a smaller grip depth",
        )


def _clear(walls: tuple[Wall, ...]) -> list[Wall]:
    return [w for w in walls if w.purpose == "clear"]


def _zone(w: Wall, allowance: float) -> Zone:
    off = allowance if w.purpose == "clear" else 0.0
    return Zone(w.purpose, w.side, (w.curve,), off, w.datum, w.face, w.reason)


NAME_LETTERS = 16
"""Letters of a job's name that are engraved where it has no part number."""


def _texts(job: Job) -> tuple[tuple[str, str], ...]:
    """What to engrave on the fixed and on the floating jaw: all there is to say, then less where room lacks.

    Part and revision, operation, which jaw, and the side that stands up.
    """
    own = re.sub(r"[^A-Za-z0-9]+", "-", job.name).strip("-")[:NAME_LETTERS].strip("-")
    part = "-".join(w for w in (job.part_number or own or "PART", job.revision) if w)
    # a job that does not name its operation leaves the usual words, which tell nobody anything on a jaw
    operation = "" if job.operation == USUAL_OPERATION else "".join(job.operation.split())
    heads = (" ".join(w for w in (part, operation) if w), part)
    return tuple((f"{h} FIXED UP".upper(), f"{h} FLOATING UP".upper()) for h in heads)


def _jaws(place: Place, vise: Vise) -> tuple[Jaw, Jaw]:
    b = place.blank
    half = b.length / 2
    bolts = tuple((x, b.bolt_height) for x in vise.bolt_places)
    fixed = Jaw("fixed", b, -half, half, 0.0, b.thickness, b.height, bolts)
    floating = Jaw("floating", b, -half, half, -place.gap - b.thickness, -place.gap, b.height, bolts)
    return fixed, floating


def _final_hold(
    hold: Hold, view: View, place: Place, walls: tuple[Wall, ...], *, jaws: Jaws, part: Part
) -> Hold:
    """The hold with its contacts where reliefs and wells have left metal."""
    middle = place.floor + view.grip_depth / 2
    contacts = wall_contacts([w for w in walls if w.purpose != "clear"], middle)
    if hold.side_stop is not None:
        contacts += [c for c in hold.contacts if c.on == "stop"]  # it is not cut into the jaws
    soles = soles_moved(view.band.bottom, turn=hold.stance.turn, shift=place.shift)
    floors = jaw_floors(place.gap, place.blank.length, place.blank.thickness)
    for w in jaws.wells:
        floors = [f.difference(to_polygon(w.region, 0.02)) for f in floors]
    down = next((c.face for c in hold.contacts if c.on == "floor"), -1)
    contacts = list(
        touching(
            contacts, part, view.up, low=view.low, floor=place.floor, top=place.top, broken=view.edge_break
        )
    )
    contacts += floor_contacts(on_floors(soles, floors), place.floor, down)
    count = 1 + sum(c.on == "floor" for c in contacts)
    contacts += lower_contacts(hold.below, lower.floors(jaws), place.floor, first=count)
    stop = next((c.point for c in contacts if c.on == "stop"), None)
    lost = stop is None and any(c.on == "stop" for c in hold.contacts)
    no_stop = hold.no_stop or (STOP_TAKEN if lost else "")
    return replace(hold, contacts=tuple(contacts), stop=stop, no_stop=no_stop)
