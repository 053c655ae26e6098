"""Which cutter of the shop does what, each with its reason in one line.

Lengths in mm, feeds in mm/min, speeds in rev/min.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache

from jawright.cutting.metal import shrunk
from jawright.errors import JawrightError
from jawright.geometry.offset import offset
from jawright.geometry.profile import Region
from jawright.jaws.model import LOWER_LEVEL, UNDERCUT, Jaws, Well
from jawright.shop.model import Cutter, Shop

NOSE = 2.5
"""Least air [mm] between a holder's nose and the top of the jaws (common practice: 0.1 in, no source)."""

LARGER = 1.25
"""A separate roughing cutter must be this much larger than the finish cutter to be worth a change."""

WORTH = 0.7
"""Least share of the pocket a roughing cutter must be able to clear to be worth a change."""

FIT = 0.01
"""Largest area [mm²] a cutter may leave in the corners of a region that it is said to fit."""


@dataclass(frozen=True, slots=True)
class Choice:
    """A cutter and why it was taken."""

    cutter: Cutter
    reason: str


def finisher(jaws: Jaws, shop: Shop) -> Choice:
    """The cutter the pocket was designed for, checked again.

    Raises ``shop-no-cutter`` when the shop lacks it, or it does not serve any more.
    """
    found = [c for c in shop.cutters if c.id == jaws.cutter]
    depth = jaws.top - jaws.floor
    todo = f"add a sharp-cornered end mill that reaches {depth + NOSE:.1f} mm to the shop"
    if not found:
        raise JawrightError(
            "shop-no-cutter",
            what=f'the pocket is designed for cutter "{jaws.cutter}", which the shop lacks',
            todo=todo,
        )
    cutter = found[0]
    lack = ""
    if cutter.kind != "end mill":
        lack = "is not an end mill"
    elif cutter.corner_radius > 0.0 and not any(w.purpose == UNDERCUT for w in jaws.wells):
        lack = f"has a corner radius of {cutter.corner_radius:g} mm: floor and walls would not meet sharp"
    elif abs(0.5 * cutter.diameter - jaws.cutter_radius) > 1e-6:
        lack = f"has radius {0.5 * cutter.diameter:g} mm, the pocket is made for {jaws.cutter_radius:g} mm"
    elif cutter.flute_length < depth:
        lack = f"has flutes of {cutter.flute_length:g} mm for walls of {depth:g} mm"
    elif cutter.reach < depth + NOSE:
        lack = f"sticks out {cutter.reach:g} mm: its holder comes nearer than {NOSE:g} mm to the jaws"
    if lack:
        raise JawrightError(
            "shop-no-cutter", what=f"cutter {cutter.id} {lack}", where="finishing the pocket", todo=todo
        )
    corner = f"corner R{cutter.corner_radius:g}, undercut" if cutter.corner_radius else "sharp corner"
    return Choice(cutter, f"{corner}, {cutter.diameter:g} mm: the pocket's inside corners are made for it")


def roughers(jaws: Jaws, shop: Shop, finish: Cutter, stock: float) -> list[Cutter]:
    """Larger cutters that reach the floor and clear most of the pocket, largest first."""
    depth = jaws.top - jaws.floor
    found = []
    for c in sorted(_mills(shop), key=lambda c: (-c.diameter, c.corner_radius, c.number)):
        if c.diameter < LARGER * finish.diameter or c.reach < depth + NOSE or not c.center_cutting:
            continue
        if cleared(jaws.pocket, 0.5 * c.diameter, stock) >= WORTH * jaws.pocket.area:
            found.append(c)
    return found


def between(jaws: Jaws, shop: Shop, first: Cutter, finish: Cutter) -> list[Cutter]:
    """Cutters between the first roughing cutter and the finish cutter that reach the floor, largest first."""
    depth = jaws.top - jaws.floor
    return [
        c
        for c in sorted(_mills(shop), key=lambda c: (-c.diameter, c.corner_radius, c.number))
        if LARGER * finish.diameter <= c.diameter <= first.diameter / LARGER
        and c.reach >= depth + NOSE
        and c.center_cutting
    ]


def cleared(region: Region, radius: float, stock: float) -> float:
    """Area [mm²] a cutter sweeps when it keeps ``stock`` off the walls."""
    return sum(g.area for r in shrunk(region, radius + stock) for g in offset(r, radius))


@lru_cache(maxsize=1024)
def fits(region: Region, radius: float) -> bool:
    """True when a cutter of ``radius`` makes the region exactly."""
    made = sum(g.area for r in shrunk(region, radius) for g in offset(r, radius))
    return made >= region.area - FIT


def for_well(well: Well, jaws: Jaws, shop: Shop, used: Sequence[Cutter]) -> Choice:
    """A cutter that makes the well exactly: one already in use if it can, else the largest that fits.

    Raises ``shop-no-cutter`` when none fits.
    """
    depth = jaws.top - well.bottom
    able = [
        c
        for c in _mills(shop)
        if c.center_cutting
        and c.reach >= depth + NOSE
        and c.flute_length >= (depth if well.purpose in LOWER_LEVEL else well.top - well.bottom)
        and fits(well.region, 0.5 * c.diameter)
    ]
    sharp = [c for c in able if c.corner_radius <= well.corner] or able
    for c in sorted(used, key=lambda c: -c.diameter):
        if c in sharp:
            return Choice(c, f"already in use and fits the {plain_purpose(well)}")
    if not sharp:
        box = well.region.outer.box
        width = min(box[2] - box[0], box[3] - box[1])
        raise JawrightError(
            "shop-no-cutter",
            what=f"no center-cutting end mill fits the {plain_purpose(well)} {depth:.1f} mm below the top",
            where=f"at ({0.5 * (box[0] + box[2]):.2f}, {0.5 * (box[1] + box[3]):.2f}) mm",
            todo=f"add one that sticks out {depth + NOSE:.1f} mm and fits {width:.1f} mm",
        )
    best = max(sharp, key=lambda c: (c.diameter, -c.number))
    return Choice(best, f"largest that fits the {plain_purpose(well)}")


def plain_purpose(well: Well) -> str:
    """The well's purpose, or the word for any."""
    return well.purpose or "well"


def _mills(shop: Shop) -> list[Cutter]:
    return [c for c in shop.cutters if c.kind == "end mill"]


def spotter(shop: Shop) -> Cutter | None:
    """A spot drill, one with a 90 degree point first."""
    able = [c for c in shop.cutters if c.kind == "spot drill" and c.tip_angle > 0]
    return min(able, key=lambda c: (not right_point(c), c.diameter, c.number)) if able else None


def right_point(cutter: Cutter) -> bool:
    """True for a point of 90 degrees."""
    return abs(cutter.tip_angle - 1.5707963267948966) < 0.01


def engraver(shop: Shop) -> Cutter | None:
    """The engraver with the finest point."""
    able = [c for c in shop.cutters if c.kind == "engraver"]
    return min(able, key=lambda c: (c.corner_radius, c.diameter, c.number)) if able else None


def hole_drill(shop: Shop, size: float, *, hole: float, depth: float) -> Cutter | None:
    """The drill asked for, else the nearest smaller one that leaves at most a millimeter to bore."""
    able = [
        c
        for c in shop.cutters
        if c.kind == "drill"
        and c.reach >= depth + NOSE
        and c.flute_length >= depth
        and hole - 1.0 <= c.diameter < hole
    ]
    if not able:
        return None
    return min(able, key=lambda c: (round(abs(c.diameter - size), 6), c.number))


def hole_finisher(shop: Shop, hole: float, depth: float) -> Cutter | None:
    """A boring bar of the size, else an end mill that can circle in the hole, else a reamer of the size."""
    for kind in ("boring bar", "end mill", "reamer"):
        able = [
            c for c in shop.cutters if c.kind == kind and c.reach >= depth + NOSE and c.flute_length >= depth
        ]
        if kind == "end mill":
            able = [c for c in able if 0.4 * hole <= c.diameter <= 0.85 * hole]
            if able:
                return max(able, key=lambda c: (c.diameter, -c.corner_radius, -c.number))
        else:
            able = [c for c in able if abs(c.diameter - hole) < 0.006]
            if able:
                return min(able, key=lambda c: (abs(c.diameter - hole), c.number))
    return None
