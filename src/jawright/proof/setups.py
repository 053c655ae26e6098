"""What varies with machine, setup, jaws and heat: columns of a scene that are not the part's own walls."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import lru_cache
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from jawright.handbook import material
from jawright.hold.model import Contact, DatumKind, DatumUse, Hold, MadeFeature
from jawright.job.model import FeatureKind, Job
from jawright.proof.sources import Columns, Level, Source, deviating, incoming, limited, pick
from jawright.same import Same
from jawright.shop.model import Band3, Shop, Vise

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
    here = _Setup(
        pickup(hold, shop)[0],
        Same(hold.vise),
        tuple((f.name, f.kind, f.region is not None) for f in hold.features),
        tuple(_earlier(hold, d) for d in hold.datums),
        hold.reused,
    )
    for source in _setup_sources(here, Same(job), Same(shop), level):
        to.add(source)


Comes = Literal["", "a middle", "an axis", "a height"]


def _earlier(hold: Hold, d: DatumUse) -> tuple[str, DatumKind, Comes]:
    """A datum's letter, its kind, and what of it lies where the first operation left it, if anything."""
    comes: Comes = ""
    if made_here(hold, d) is None:
        held = set(d.faces) & set(hold.face_of_curve)
        if d.kind == "width" and len(held) < 2:
            comes = "a middle"
        elif d.kind == "bore" or (d.kind == "round" and not held):
            comes = "an axis"
        elif lies(d) and d.seat != "floor":
            comes = "a height"
    return d.letter, d.kind, comes


@dataclass(frozen=True, slots=True)
class _Setup:
    """All that the columns of a setup take from a hold."""

    found: Band3
    vise: Same[Vise]
    features: tuple[tuple[str, FeatureKind, bool], ...]  # name, kind, whether it has a region
    datums: tuple[tuple[str, DatumKind, Comes], ...]
    reused: bool


@lru_cache(maxsize=64)
def _setup_sources(here: _Setup, asked: Same[Job], owned: Same[Shop], level: Level) -> tuple[Source, ...]:
    """The sources themselves, kept: most stances of a part share them."""
    to, shop, vise = Columns(), owned.it, here.vise.it
    for axis in "XYZ":
        to.add(deviating(f"pickup {axis}", "work offset pick-up", here.found, level, once=True))
    for axis in "XY":
        to.add(deviating(f"vise {axis}", "repeat of the clamping", vise.repeat, level))
    m = shop.machine
    repeat = Band3(m.repeat, m.repeat, m.repeat, f"machine {m.id}", m.repeat_shape, m.repeat_values)
    for name, kind, milled in here.features:
        for axis in "XYZ":
            to.add(deviating(f"machine {name} {axis}", "repeat of the machine", repeat, level))
        if milled and kind != "face":
            label = "how true a wall is cut"
            to.add(deviating(f"cut {name}", label, shop.jaw_cut, level, once=True))
        band, label = None, ""
        if kind in BORED:
            band, label = shop.bored_position, "place of a bored hole"
        elif kind in DRILLED:
            band, label = shop.drilled_position, "wander of the drill"
        if band is not None:
            for axis in "XY":
                to.add(deviating(f"place {name} {axis}", label, band, level))
    if here.reused:
        for key in ("X", "Y a", "Y b"):
            label = "seat of a pair put back"
            to.add(deviating(f"reseat {key}", label, shop.jaw_reseat, level, once=True))
    for datum in here.datums:
        _datum_columns(datum, asked.it, shop, level, to)
    to.add(limited("temperature", "temperature of the part", shop.temperature_swing, level))
    to.add(limited("jaw temperature", HEATED, shop.jaw_temperature, level))
    to.add(limited("machine temperature", "temperature of the machine", shop.machine_temperature, level))
    to.add(lift(vise, level))
    return tuple(to.sources)


def lift(vise: Vise, level: Level) -> Source:
    """Rise of the floating jaw: anything from none to the vise's figure, or as measured."""
    band, label = vise.lift, "lift of the floating jaw"
    if band.values:
        return Source("lift", label, "measured", 1.0, band.basis, values=band.values)
    return Source("lift", label, "rise", pick(band, level), band.basis)


def _datum_columns(
    datum: tuple[str, DatumKind, Comes], job: Job, shop: Shop, level: Level, to: Columns
) -> None:
    """A datum of the first operation that nothing here touches lies where that operation left it."""
    letter, kind, comes = datum
    if comes in ("a middle", "an axis"):
        what = f"middle plane {letter}" if comes == "a middle" else f"datum {kind} {letter}"
        basis = f"{what} against the walls, made in the first operation as: "
        band = replace(shop.bored_position, basis=basis + shop.bored_position.basis)
        for end in "ab" if comes == "a middle" else "XY":
            name = f"place of datum {letter} on the part"
            to.add(deviating(f"datum {letter} {end}", name, band, level))
    elif comes == "a height":
        name = f"height of datum {letter} above the floor"
        for key, given in (("height", job.incoming.thickness), ("tilt", job.incoming.wall_form)):
            to.add(incoming(f"{key} of {letter}", name, given, level))


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
