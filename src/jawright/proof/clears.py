"""Does no cutter or holder of this operation meet a jaw, parallel, bolt or the vise?"""

from __future__ import annotations

import math
from dataclasses import dataclass

from shapely import union_all
from shapely.affinity import affine_transform

from jawright.geometry.polygon import to_polygon
from jawright.hold.model import Hold
from jawright.jaws.model import Jaws
from jawright.jaws.row import Spot, spots_of
from jawright.job.model import Job
from jawright.part.model import Part
from jawright.proof.judge import Band, Basis, Extra, at_least, finite, unknown
from jawright.proof.model import Proof
from jawright.proof.obstacles import (
    CHORD,
    Obstacle,
    Sweep,
    nearest_of,
    obstacles,
    overlaps,
    point_length,
    sweep,
)
from jawright.proof.rules import Rule, rule
from jawright.shop.model import Shop
from jawright.units import show

MODEL = "swept-plan-1"
FAR = 1000.0
"""Gap [mm] shown when nothing is near."""


@dataclass(frozen=True, slots=True)
class Gap:
    """A distance, its limit, where it is, and between what: judged by ``size - limit``."""

    size: float
    limit: float
    rule: Rule
    feature: str
    what: str
    where: tuple[float, float, float]

    @property
    def spare(self) -> float:
        """What is left beyond the limit [mm]."""
        return self.size - self.limit


def prove(hold: Hold, jaws: Jaws | None, part: Part, job: Job, shop: Shop) -> tuple[Proof, ...]:  # noqa: ARG001
    """Cutter to jaw, break-through, bolts and bed, holder, flute length: each at its worst feature."""
    names = ("cutter to jaw", "break-through", "bolts and bed", "holder", "flute length")
    basis = Basis(MODEL, "geometry of the swept cutter")
    if not hold.features:
        why = "No feature of this operation is named, so no cutter path is known."
        supply = ("what this operation makes: each feature with its kind, place and depth",)
        return tuple(unknown("clears", n, why, unit="mm", supply=supply, basis=basis) for n in names)
    around = obstacles(hold, jaws)
    sweeps = [sweep(f, hold) for f in hold.features]
    found: tuple[tuple[str, list[Gap]], ...] = (
        ("cutter to jaw", [g for s in sweeps for g in (*_beside(s, around), *_neighbors(s, hold))]),
        ("break-through", [g for s in sweeps for g in _below(s, around)]),
        ("bolts and bed", [g for s in sweeps for g in _bolts(s, jaws)]),
        ("holder", [g for s in sweeps for g in _holder(s, around, hold)]),
        ("flute length", [_flutes(s, hold) for s in sweeps]),
    )
    return tuple(_proof(n, gaps, job, basis) for n, gaps in found if gaps)


def _beside(s: Sweep, around: tuple[Obstacle, ...]) -> list[Gap]:
    """Gap of the cutter over or beside everything that is not under the hole it makes."""
    out = []
    over, side = rule("pass_over_mm"), rule("beside_mm")
    for o in around:
        if s.hole and o.under:
            continue
        if overlaps(s.area, o.area):
            size, by = s.tip - o.top, over
        else:
            away = float(s.area.distance(o.area))
            up = s.tip - o.top
            size, by = (away, side) if up < 0 else (math.hypot(away, up), over if away < side.set else side)
        where = (*nearest_of(s.area, o.area), o.top)
        out.append(Gap(size, by.set, by, s.feature.name, o.name, where))
    return out


def _neighbors(s: Sweep, hold: Hold) -> list[Gap]:
    """Gap of a cutter that mills walls of one part of a row to the parts beside it; none of other cutters.

    At each part of the row: which neighbor is near can be another one there.
    """
    if s.feature.kind != "profile" or not hold.beside or s.tip >= hold.part_top + hold.stock:
        return []
    parts = [to_polygon(r, CHORD) for r in (hold.outline, *hold.beside)]
    need, out = rule("beside_mm"), []
    for k, spot in enumerate((Spot(0.0), *spots_of(hold))):
        side = -1.0 if spot.mirrored else 1.0
        mine = affine_transform(s.area, [side, 0.0, 0.0, 1.0, *spot.point((0.0, 0.0))])
        others = union_all([p for i, p in enumerate(parts) if i != k])
        away = float(mine.distance(others))
        if overlaps(mine, others):
            x0, y0, x1, y1 = mine.intersection(others).bounds
            away = -min(x1 - x0, y1 - y0)
        where = (*nearest_of(mine, others), s.tip)
        out.append(Gap(away, need.set, need, s.feature.name, "part beside", where))
    return out


def _below(s: Sweep, around: tuple[Obstacle, ...]) -> list[Gap]:
    """Room below the part under what is made right through, besides a drill's point."""
    f = s.feature
    if not s.hole or not f.through:
        return []
    need = rule("break_through_mm") if f.cutter.kind != "boring bar" else rule("through_travel_mm")
    least = f.bottom - point_length(f)
    out = []
    for o in around:
        if o.under and overlaps(s.area, o.area):
            where = (*nearest_of(s.area, o.area), o.top)
            out.append(Gap(least - o.top, need.set, need, f.name, o.name, where))
    if not out:
        bed = (f.center[0], f.center[1], 0.0)
        out.append(Gap(least, need.set, need, f.name, "vise bed, through the gap", bed))
    return out


def _bolts(s: Sweep, jaws: Jaws | None) -> list[Gap]:
    """Cutter to the jaw bolts with their counterbores, and to the bed."""
    bed = rule("bed_gap_mm")
    middle = s.area.centroid
    f = s.feature
    out = [Gap(s.tip, bed.set, bed, f.name, "vise bed", (float(middle.x), float(middle.y), 0.0))]
    if jaws is None:
        return out
    web = rule("bolt_gap_mm")
    x0, y0, x1, y1 = s.area.bounds
    for jaw in (jaws.fixed, jaws.floating):
        if y1 < jaw.y0 or y0 > jaw.y1:
            continue
        r = max(jaw.blank.counterbore, jaw.blank.bolt_hole) / 2
        slot = jaw.blank.slot_length / 2
        for bx, bz in jaw.bolts:
            dx = max(x0 - (bx + slot + r), (bx - slot - r) - x1)
            dz = s.tip - (bz + r)
            size = math.hypot(dx, dz) if dx > 0 and dz > 0 else max(dx, dz)
            where = (bx, (jaw.y0 + jaw.y1) / 2, bz + r)
            out.append(Gap(size, web.set, web, f.name, f"bolt of the {jaw.side} jaw", where))
    return out


def _holder(s: Sweep, around: tuple[Obstacle, ...], hold: Hold) -> list[Gap]:
    """Holder nose over jaws and part."""
    need = rule("holder_mm")
    f = s.feature
    x, y = float(s.area.centroid.x), float(s.area.centroid.y)
    top = hold.part_top if f.kind == "face" else hold.part_top + hold.stock
    out = [Gap(s.nose - top, need.set, need, f.name, "top of the part", (x, y, top))]
    for o in around:
        if not o.under and overlaps(s.holder, o.area):
            where = (*nearest_of(s.holder, o.area), o.top)
            out.append(Gap(s.nose - o.top, need.set, need, f.name, o.name, where))
    return out


def _flutes(s: Sweep, hold: Hold) -> Gap:
    """Flute left above the metal that is cut."""
    f = s.feature
    deep = (f.center[2] - s.tip) if f.kind in ("drill", "ream") else f.axial
    none = Rule(0.0, 0.0, 0.0, "the flutes must reach past the cut")
    spare = f.cutter.flute_length - deep
    if f.cutter.kind == "boring bar":
        spare = f.cutter.reach - (f.center[2] - s.tip)
    where = (f.center[0], f.center[1], hold.part_top)
    return Gap(spare, 0.0, none, f.name, f"flutes of {f.cutter.id}", where)


def _proof(name: str, gaps: list[Gap], job: Job, basis: Basis) -> Proof:
    worst = min(gaps, key=lambda g: (round(g.spare, 9), g.feature, g.what))
    size = show(abs(worst.size), "length", job.units, digits=2 if job.units == "mm" else 3)
    limit = show(worst.limit, "length", job.units, digits=2 if job.units == "mm" else 3)
    if worst.size >= 0:
        sentence = f"{worst.feature}: {size} between cutter and {worst.what}; {limit} is asked for."
        if name == "break-through":
            room = f"{size} of room under the part above the {worst.what}"
            sentence = f"{worst.feature}: {room}; {limit} is asked for."
        if name == "holder":
            sentence = f"{worst.feature}: {size} between holder and {worst.what}; {limit} is asked for."
        if name == "flute length":
            sentence = f"{worst.feature}: {size} of length to spare on the {worst.what}."
    else:
        sentence = {
            "holder": f"{worst.feature}: the holder runs {size} into the {worst.what}.",
            "flute length": f"{worst.feature}: the {worst.what} are {size} too short: "
            "name a cutter with longer ones in the feature.",
            "break-through": f"{worst.feature}: the cutter goes {size} into the {worst.what}.",
        }.get(name, f"{worst.feature}: the cutter runs {size} into the {worst.what}.")
    detail = []
    for g in sorted(gaps, key=lambda g: (round(g.spare, 9), g.feature, g.what))[:8]:
        detail.append((f"{g.feature} to {g.what}", finite(g.size, FAR), "mm"))
    v = finite(worst.size, FAR)
    assumptions = (
        f"limit: {worst.rule.basis}",
        rule("through_travel_mm").said("travel below a through hole [mm]"),
        "faces are run over by the whole cutter on every side; walls are milled from outside",
    )
    extra = Extra(where=worst.where, detail=tuple(detail))
    basis = Basis(basis.model, basis.source, assumptions)
    return at_least(
        "clears", name, sentence, band=Band(v, v, v), unit="mm", limit=worst.limit, basis=basis, extra=extra
    )
