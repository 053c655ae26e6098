"""What varies with machine, setup, jaws and heat: columns of a scene that are not the part's own walls."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from jawright.handbook import material
from jawright.hold.model import Contact, DatumUse, Hold, MadeFeature
from jawright.job.model import Job
from jawright.proof.sources import Columns, Level, Source, deviating, incoming, limited, pick
from jawright.shop.model import Band3, Shop

Floats = NDArray[np.float64]

BORED = {"bore", "ream"}
DRILLED = {"drill"}
STEEL = "1018"
"""Material of hard jaws, vise and machine as far as heat goes."""
HEATED = "temperature of the jaws"


def made_here(hold: Hold, datum: DatumUse) -> MadeFeature | None:
    """The feature of this operation a datum sits on, if it is made here: the last one that cuts it."""
    return next((f for f in reversed(hold.features) if set(f.faces) & set(datum.faces)), None)


def lies(datum: DatumUse) -> bool:
    """Whether a datum is a plane that lies down or up."""
    return datum.kind == "plane" and abs(datum.normal[2]) > 0.9


def pickup(hold: Hold, shop: Shop) -> tuple[Band3, str]:
    """How well the work offset is known: soft jaws have a bored tooling hole, hard jaws have edges."""
    if hold.kind == "soft jaws":
        return shop.bore_pickup or shop.offset_pickup, "in a bored hole"
    return shop.edge_pickup or shop.offset_pickup, "at an edge"


def setup_columns(hold: Hold, job: Job, shop: Shop, level: Level, to: Columns) -> None:
    """Columns of machine, clamping, pick-up, hole making, re-seating, earlier datums, heat and lift."""
    found, vise = pickup(hold, shop)[0], hold.vise.repeat
    for axis in "XYZ":
        to.add(deviating(f"pickup {axis}", "work offset pick-up", found, level, once=True))
    for axis in "XY":
        to.add(deviating(f"vise {axis}", "repeat of the clamping", vise, level))
    m = shop.machine
    repeat = Band3(m.repeat, m.repeat, m.repeat, f"machine {m.id}", m.repeat_shape, m.repeat_values)
    for f in hold.features:
        for axis in "XYZ":
            to.add(deviating(f"machine {f.name} {axis}", "repeat of the machine", repeat, level))
        if f.region is not None and f.kind != "face":
            name = "how true a wall is cut"
            to.add(deviating(f"cut {f.name}", name, shop.jaw_cut, level, once=True))
        band, label = None, ""
        if f.kind in BORED:
            band, label = shop.bored_position, "place of a bored hole"
        elif f.kind in DRILLED:
            band, label = shop.drilled_position, "wander of the drill"
        if band is not None:
            for axis in "XY":
                to.add(deviating(f"place {f.name} {axis}", label, band, level))
    if hold.reused:
        for key in ("X", "Y a", "Y b"):
            name = "seat of a pair put back"
            to.add(deviating(f"reseat {key}", name, shop.jaw_reseat, level, once=True))
    for d in hold.datums:
        _datum_columns(hold, d, job, shop, level=level, to=to)
    to.add(limited("temperature", "temperature of the part", shop.temperature_swing, level))
    to.add(limited("jaw temperature", HEATED, shop.jaw_temperature, level))
    to.add(limited("machine temperature", "temperature of the machine", shop.machine_temperature, level))
    to.add(lift(hold, level))


def lift(hold: Hold, level: Level) -> Source:
    """Rise of the floating jaw: anything from none to the vise's figure, or as measured."""
    band, label = hold.vise.lift, "lift of the floating jaw"
    if band.values:
        return Source("lift", label, "measured", 1.0, band.basis, values=band.values)
    return Source("lift", label, "rise", pick(band, level), band.basis)


def _datum_columns(hold: Hold, d: DatumUse, job: Job, shop: Shop, *, level: Level, to: Columns) -> None:
    """A datum of the first operation that nothing here touches lies where that operation left it."""
    if made_here(hold, d):
        return
    held = set(d.faces) & set(hold.face_of_curve)
    if d.kind == "width" and len(held) < 2:
        basis = f"middle plane {d.letter} against the walls, made in the first operation as: "
        band = replace(shop.bored_position, basis=basis + shop.bored_position.basis)
        for end in "ab":
            name = f"place of datum {d.letter} on the part"
            to.add(deviating(f"datum {d.letter} {end}", name, band, level))
    elif d.kind == "bore" or (d.kind == "round" and not held):
        basis = f"datum {d.kind} {d.letter} against the walls, made in the first operation as: "
        band = replace(shop.bored_position, basis=basis + shop.bored_position.basis)
        for axis in "XY":
            name = f"place of datum {d.letter} on the part"
            to.add(deviating(f"datum {d.letter} {axis}", name, band, level))
    elif lies(d) and d.seat != "floor":
        name = f"height of datum {d.letter} above the floor"
        for key, given in (("height", job.incoming.thickness), ("tilt", job.incoming.wall_form)):
            to.add(incoming(f"{key} of {d.letter}", name, given, level))


def jaw_heat(hold: Hold, job: Job, shop: Shop, contacts: Sequence[Contact]) -> Floats:
    """(n,) d(gap)/d(jaw temperature) [mm/K]: warm jaws grow from the vise's faces toward the part.

    The wall at r moves by α (r − r0), r0 on the vise's own jaw face in the middle between the bolts.
    """
    blank = next((b for b in shop.blanks if b.id == job.hold.blank), None)
    deep = blank.thickness if blank is not None else max((b.thickness for b in shop.blanks), default=0.0)
    soft = [b.material for b in shop.blanks if blank is None or b.id == blank.id]
    name = job.hold.jaw_material or (soft[0] if soft else STEEL) if hold.kind == "soft jaws" else STEEL
    alpha = material(name).cte or 0.0
    out = np.zeros(len(contacts))
    for i, c in enumerate(contacts):
        back = -hold.gap - deep if c.on == "floating" else deep
        x, y = c.point[0], c.point[1] - back
        out[i] = -alpha * (c.normal[0] * x + c.normal[1] * y) / math.hypot(*c.normal[:2])
    return out


def steel_expansion() -> float:
    """Expansion [1/K] of the machine's screws and scales."""
    return material(STEEL).cte or 0.0
