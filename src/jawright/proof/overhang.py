"""What hangs out: a part longer than hard jaws, soft jaws longer than their vise; how far it gives way.

Lengths in mm, forces in N, angles in rad.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
import shapely

from jawright import handbook, kernel
from jawright.errors import JawrightError
from jawright.geometry.frame import Move
from jawright.geometry.polygon import to_polygon
from jawright.handbook.materials import Material
from jawright.hold.model import Hold, MadeFeature
from jawright.jaws.model import Jaws
from jawright.job.model import Job
from jawright.part.model import Part
from jawright.proof.body import part_material
from jawright.proof.cutload import load_at, load_points
from jawright.proof.judge import Band, Basis, Extra, at_most, unknown
from jawright.proof.model import Proof
from jawright.proof.rules import rule
from jawright.proof.say import Say
from jawright.proof.spring import general_zone
from jawright.shop.model import Shop

LEAST = 2.0
"""An overhang shorter than this [mm] is not looked at (common practice, no source)."""
FINEST = 0.001  # [mm] less is told as this
STATIONS = 5
"""Cuts through the overhang; the weakest of them stands for all."""
INSIDE = 0.02
"""Share of the overhang by which the first and the last cut keep off its ends."""
NAME = "overhang beyond the jaws"
BASIS = Basis(
    "overhang-cantilever-1",
    "cantilever with an end load, bending and shear (Timoshenko; shear coefficient of Cowper 1966)",
    ("held fast up to the ends of the jaws", "the weakest cut of the overhang stands for all of it",
     "steady load; chatter is not reckoned"),
)  # fmt: skip


OF_JAWS = "jaws that stand out of the vise"
JAWS_BASIS = replace(
    BASIS,
    assumptions=(
        "held fast up to the ends of the vise; part and jaws, below their pocket, bend side by side",
        "steady load; chatter is not reckoned",
    ),
)  # fmt: skip


@dataclass(frozen=True, slots=True)
class Beam:
    """The weakest cross section: area [mm²], second moments [mm⁴] for bending up and down, and sideways."""

    area: float
    upward: float
    sideways: float


def prove(hold: Hold, jaws: Jaws | None, part: Part | None, job: Job, shop: Shop) -> list[Proof]:  # noqa: ARG001
    """How far what hangs out gives way where it is cut; nothing where nothing is cut there."""
    say = Say(job.units)
    out = [(reach(hold, f), f) for f in hold.features]
    out = [(r, f) for r, f in out if abs(r) > LEAST]
    if not out:
        return []
    if jaws is not None:
        return [_of_jaws(hold, jaws, part, job, out=out)]
    work = part_material(job.material)
    far = max((r for r, _ in out), key=abs)
    beams = {r: section(hold, part, r) for r, _ in out}
    lost = None in beams.values()
    if lost or work is None or work.kc11 is None or work.mc is None:
        lack = "the part as a solid (STEP)" if lost else "a material of the handbook"
        words = f"{say.coarse(abs(far))} of the part hang out beyond the jaws; how far they give is unknown."
        return [unknown("holds", NAME, words, unit="mm", supply=(lack,), basis=BASIS)]
    found = [(_band(r, f, b, work), _zone(hold, f), r, f) for r, f in out if (b := beams[r]) is not None]
    return [_proof(max(found, key=lambda x: x[0].high / x[1]), hold, say)]


def _of_jaws(
    hold: Hold, jaws: Jaws, part: Part | None, job: Job, *, out: Sequence[tuple[float, MadeFeature]]
) -> Proof:
    """The same of soft jaws beyond their vise, which carry the part there."""
    say, metal = Say(job.units), handbook.material(jaws.fixed.blank.material)
    work = part_material(job.material)
    far = max((r for r, _ in out), key=abs)
    if work is None or work.kc11 is None or work.mc is None:
        words = (
            f"The jaws carry the part {say.coarse(abs(far))} beyond the vise; how far they give is unknown."
        )
        supply = ("a material of the handbook",)
        return unknown("holds", OF_JAWS, words, unit="mm", supply=supply, basis=JAWS_BASIS)
    blocks, ratio = _blocks(hold, jaws), work.E / metal.E
    found = []
    for r, f in out:
        own = section(hold, part, r) or Beam(0.0, 0.0, 0.0)
        both = Beam(
            blocks.area + ratio * own.area,
            blocks.upward + ratio * own.upward,
            blocks.sideways + ratio * own.sideways,
        )
        found.append((_band(r, f, both, work, bends=metal), _zone(hold, f), r, f))
    worst = max(found, key=lambda x: x[0].high / x[1])
    band, zone, far, f = worst
    limit = _limit(zone)
    sentence = (
        f"The jaws stand out of the vise and carry the part {say.coarse(abs(far))} beyond it where {f.name} "
        f"is cut: they give way by no more than {say.fine(max(band.high, FINEST))} under the cutter; a tenth "
        f"of its tolerance is {say.fine(limit)}"
    )
    if band.high > limit:
        sentence += ": set a jack or a block under their ends, or use two vises in line"
    return _told(OF_JAWS, f"{sentence}.", worst, hold, JAWS_BASIS)


def _blocks(hold: Hold, jaws: Jaws) -> Beam:
    """Both jaws as one beam: the block of each below the floor of the pocket, which is not cut."""
    tall, wide = hold.floor, [j.blank.thickness for j in (jaws.fixed, jaws.floating)]
    return Beam(
        area=sum(b * tall for b in wide),
        upward=sum(b * tall**3 / 12 for b in wide),
        sideways=sum(tall * b**3 / 12 for b in wide),
    )


def reach(hold: Hold, f: MadeFeature) -> float:
    """How far beyond the vise's end a feature is cut, with the end's sign [mm]; 0 within it."""
    half = hold.vise.span / 2
    x0, _, x1, _ = hold.outline.outer.box  # the cutter's center runs on past the part's own ends
    ends = [min(max(p[0], x0), x1) for p in load_points(f)]
    x = max(ends, key=abs, default=0.0)
    return math.copysign(max(0.0, abs(x) - half), x)


def section(hold: Hold, part: Part | None, far: float) -> Beam | None:
    """The weakest cross section of the overhang at the end that ``far`` [mm] points to; None when unknown."""
    if part is None or not part.shape:
        return None
    half = hold.vise.span / 2
    shares = np.linspace(INSIDE, 1.0 - INSIDE, STATIONS)
    found = []
    for s in shares:
        x = math.copysign(half + float(s) * abs(far), far)
        beam = _cut(hold, part, x)
        if beam is None:
            return None
        found.append(beam)
    return Beam(min(b.area for b in found), min(b.upward for b in found), min(b.sideways for b in found))


def _cut(hold: Hold, part: Part, x: float) -> Beam | None:
    """Area and second moments of the cut across X: Y and Z become the plane, X the height."""
    m = hold.stance.move
    (rx, ry, rz), (tx, ty, tz) = m.rotation, m.shift
    try:
        cut = kernel.section(part.shape, Move("part", "vise", (ry, rz, rx), (ty, tz, tx)), x)
    except JawrightError:
        return None
    shape = shapely.union_all([to_polygon(r, 0.02) for r in cut.regions])
    pieces = [p for p in shapely.get_parts(shape) if isinstance(p, shapely.Polygon)]
    if not pieces or shape.area <= 0:
        return None
    largest = max(pieces, key=lambda p: p.area)  # pieces side by side do not help each other
    return Beam(float(largest.area), *second_moments(largest))


def second_moments(shape: shapely.Polygon) -> tuple[float, float]:
    """∫v² dA and ∫u² dA [mm⁴] about the center of area of a polygon in (u, v), by Green's theorem."""
    u0, v0 = shape.centroid.coords[0]
    total = [0.0, 0.0]
    oriented = shapely.geometry.polygon.orient(shape)
    for ring in (oriented.exterior, *oriented.interiors):
        p = np.asarray(ring.coords, float) - (u0, v0)
        a, b = p[:-1], p[1:]
        cross = a[:, 0] * b[:, 1] - b[:, 0] * a[:, 1]
        for k, axis in enumerate((1, 0)):
            q = a[:, axis] ** 2 + a[:, axis] * b[:, axis] + b[:, axis] ** 2
            total[k] += float((cross * q).sum()) / 12.0
    return total[0], total[1]


def deflection(force: float, length: float, *, second: float, area: float, work: Material) -> float:
    """``F L³/(3 E I) + F L/(κ G A)``, ``κ = 10(1+ν)/(12+11ν)``: end of a cantilever [mm].

    Parameters
    ----------
    force, length : end load [N] and free length [mm]
    second, area : second moment [mm⁴] and area [mm²] of its cross section

    Valid for solid sections. Source: Gere and Timoshenko, Mechanics of Materials, deflections of beams
    (from memory); shear coefficient of the rectangle: Cowper 1966.
    """
    kappa = 10.0 * (1.0 + work.nu) / (12.0 + 11.0 * work.nu)
    shear = work.E / (2.0 * (1.0 + work.nu))
    return force * length**3 / (3.0 * work.E * second) + force * length / (kappa * shear * area)


def _band(far: float, f: MadeFeature, beam: Beam, work: Material, *, bends: Material | None = None) -> Band:
    """How far the end gives way at the low, set and high load; up and down and sideways together.

    ``bends`` is what the beam is of, where it is not the part.
    """
    got, own = [], bends or work
    for end in ("low", "set", "high"):
        load = load_at(f, work, end)
        up = deflection(max(load.up, load.down), abs(far), second=beam.upward, area=beam.area, work=own)
        side = deflection(load.side, abs(far), second=beam.sideways, area=beam.area, work=own)
        got.append(math.hypot(up, side))
    low, mid, high = sorted(got)
    return Band(low, mid, high)


def _zone(hold: Hold, f: MadeFeature) -> float:
    """The tightest tolerance of a feature [mm]; without any, the medium general tolerance of the height."""
    zones: Sequence[float] = [t.zone for t in hold.tolerances if t.feature == f.name and t.zone > 0]
    return min(zones, default=general_zone(hold.part_top - hold.floor))


def _proof(worst: tuple[Band, float, float, MadeFeature], hold: Hold, say: Say) -> Proof:
    band, zone, far, f = worst
    limit = _limit(zone)
    xs = [p[0] for p in load_points(f)]
    both = abs(max(xs) + min(xs)) < LEAST
    end = "either end" if both else f"the {'+X' if far > 0 else '-X'} end"
    there = "each" if both else "that"
    sentence = (
        f"{say.coarse(abs(far))} hang out beyond {end} of the jaws where {f.name} is cut: the end "
        f"gives way by about {say.fine(band.set)} under the cutter, at most {say.fine(band.high)}; a tenth "
        f"of its tolerance is {say.fine(limit)}"
    )
    if band.high > limit:
        sentence += f": set a jack or a block under {there} end, or take lighter cuts there"
    return _told(NAME, f"{sentence}.", worst, hold, BASIS)


def _limit(zone: float) -> float:
    return rule("spring_share").set * zone


def _told(
    name: str, sentence: str, worst: tuple[Band, float, float, MadeFeature], hold: Hold, basis: Basis
) -> Proof:
    band, zone, far, _ = worst
    return at_most(
        "holds", name, sentence, band=band, unit="mm", limit=_limit(zone), basis=basis,
        extra=Extra(
            where=(math.copysign(hold.vise.span / 2 + abs(far), far), 0.0, hold.part_top),
            at_worst="caution" if band.set <= zone else "fail",
            detail=(("overhang", abs(far), "mm"), ("tolerance out there", zone, "mm")),
        ),
    )  # fmt: skip
