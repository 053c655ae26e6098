"""At which level a part stands whose underside has several: where its Z datum lies, if it is steady there.

A hub under a flange, a plate with a step, bosses of different depth. What reaches below the level hangs
clear in a pocket of its own; only where the part would tip on one level does a second floor carry it too.
Lengths in mm.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Final

import shapely

from jawright import kernel
from jawright.errors import JawrightError
from jawright.geometry.frame import Vec3, dot, standing, unit
from jawright.geometry.polygon import to_polygon
from jawright.geometry.profile import Region
from jawright.hold.contacts import INSET
from jawright.hold.found import Ask, FoundDatum
from jawright.hold.model import Below
from jawright.job.model import Job
from jawright.part.band import bottom, grip_band
from jawright.part.model import Part

SAME = 1e-3
"""Levels nearer than this are one."""
THIN = 0.01
"""What lies below a level is cut so far under it: at the level itself a cut is not defined."""
SPECK = 0.5
"""Pieces smaller than this [mm²] carry nothing and are in nobody's way."""
CHORD = 0.02
STEADY = 1.0
"""The weight lies at least this far inside the supports where a second level is cut (common practice, no
source)."""
LOST = 4.5
"""Width [mm] of an upper floor that is cut away beside what reaches below it: the radius of a cutter of 8 mm
and the air beside (common practice, no source)."""
MOST = 25.0
"""A floor lies at most this much below another [mm]: common cutters do not reach deeper beside a wall (common
practice, no source)."""
ONE: Final = "one level"
TWO: Final = "two levels"


@dataclass(frozen=True, slots=True)
class Level:
    """The level a part stands on: its height above the lowest point, what carries, what reaches below it."""

    height: float = 0.0
    soles: tuple[Region, ...] = ()
    below: tuple[Below, ...] = ()
    reason: str = ""


@dataclass(frozen=True, slots=True)
class _Found:
    """A level of the underside: its faces, what of them can be stood on, and what lies below it in plan."""

    height: float
    faces: tuple[int, ...]
    soles: tuple[Region, ...]
    carried: shapely.Geometry
    under: tuple[Region, ...]


def of(part: Part, job: Job, ask: Ask, up: Vec3) -> Level:
    """The level the part stands on. ``Level()`` is its lowest: what every part stands on that has no other.

    The level of the print's first level datum that looks down goes first, when the weight lies over it;
    then the lowest, then two together.
    """
    if job.hold.floor == ONE:
        return Level()
    lying = _lying(part, up)
    if len(lying) < 2:
        return Level()
    x, y, _ = standing(up, turn=0.0, shift=(0.0, 0.0, 0.0)).point(kernel.centroid(part.shape))
    weight = shapely.Point(x, y)
    down = [d for d in ask.datums if d.kind == "plane" and dot(unit(d.normal), unit(up)) < -0.9999]
    if job.hold.floor != TWO and (not down or down[0].faces[0] in lying[0].faces):
        lowest = _found(part, up, lying[0])
        if lowest is not None and _steady([lowest], weight):
            return Level()  # as nearly all parts do
    at = _Levels(part, up, lying)
    lowest = next(at.found(), None)
    if lowest is None:
        return Level()
    wanted = at.of_datum(down)
    if job.hold.floor != TWO:
        if wanted is not None and _steady([wanted], weight):
            letter = next(d.letter for d in down if set(d.faces) & set(wanted.faces))
            own = [*at.found(under=wanted.height), wanted]
            return _on(wanted, own, f"datum {letter} lies on the floor") if wanted.under else Level()
        if _steady([lowest], weight):
            return Level()
    found = list(at.found())
    alone = [f for f in found if _steady([f], weight)]
    if job.hold.floor != TWO and not lowest.carried.area:
        return _first(alone, found)
    first = wanted or lowest
    pairs = [sorted((first, f), key=lambda v: v.height) for f in found if f is not first]
    able = [p for p in pairs if _steady(p, weight) and not p[0].under]
    if able:
        low, high = min(able, key=lambda p: p[1].height)
        why = "on either level alone it would tip" if lowest not in alone else "asked for in the job"
        return _on(high, found, why, bears=low)
    return _first(alone, found)


def _first(alone: Sequence[_Found], found: Sequence[_Found]) -> Level:
    """The lowest level that carries by itself; the very lowest where none does."""
    if not alone or not alone[0].under:
        return Level()
    return _on(alone[0], found, "the lowest level on which it does not tip")


def _steady(levels: Sequence[_Found], weight: shapely.Point) -> bool:
    """Whether the weight lies well inside what these levels carry."""
    area = shapely.union_all([_left(f).buffer(-INSET) for f in levels]).convex_hull
    inside = STEADY if levels[-1].under else 0.0
    return bool(area.area > 1.0 and area.buffer(-inside).contains(weight))


def _left(f: _Found) -> shapely.Geometry:
    """What carries of a level once the room for what reaches below it is cut."""
    return f.carried.difference(shapely.union_all([to_polygon(r, CHORD).buffer(LOST) for r in f.under]))


class _Levels:
    """The levels of a part, each looked at when it is asked for: what lies below a high one takes long."""

    def __init__(self, part: Part, up: Vec3, lying: Sequence[_Lying]) -> None:
        self._part, self._up, self._lying = part, up, lying
        self._seen: dict[int, _Found | None] = {}

    def found(self, under: float = math.inf) -> Iterator[_Found]:
        """Those that a floor gets at, lowest first, as far as they lie lower than ``under`` [mm]."""
        for k, v in enumerate(self._lying):
            if v.height < under and (f := self._at(k)) is not None:
                yield f

    def of_datum(self, down: Sequence[FoundDatum]) -> _Found | None:
        """The level of the print's first datum that a floor gets at, of those that look ``down``."""
        for i in (i for d in down for i in d.faces):
            for k, v in enumerate(self._lying):
                if i in v.faces and (f := self._at(k)) is not None:
                    return f
        return None

    def _at(self, k: int) -> _Found | None:
        if k not in self._seen:
            self._seen[k] = _found(self._part, self._up, self._lying[k])
        return self._seen[k]


@dataclass(frozen=True, slots=True)
class _Lying:
    """Faces that look down at one height above the lowest point [mm]."""

    height: float
    faces: tuple[int, ...]


def _lying(part: Part, up: Vec3) -> list[_Lying]:
    """The levels at which faces of the part look down, lowest first; the first is at its lowest point."""
    way = unit(up)
    low = kernel.box(part.shape, standing(up, turn=0.0, shift=(0.0, 0.0, 0.0)))[2]
    flat = [f for f in part.faces if f.kind == "plane" and dot(f.normal, way) < -1 + 1e-12]
    down = sorted((dot(f.center, way) - low, f.index) for f in flat)
    heights = [0.0]
    for z, _ in down:
        if z - heights[-1] > SAME and z <= MOST:
            heights.append(z)
    return [_Lying(h, tuple(i for z, i in down if abs(z - h) <= SAME)) for h in heights]


def _found(part: Part, up: Vec3, at: _Lying) -> _Found | None:
    """A level with what a floor gets at from below; None where it gets at none of it.

    What lies below such a level must go in where the part at the level goes in, or no jaw can have it.
    """
    h = at.height
    try:
        soles = bottom(part, up, h)
        under = grip_band(part, up, 0.0, h - THIN).outline if h > THIN else ()
    except JawrightError:
        return None
    hidden = shapely.union_all([to_polygon(r.outer, CHORD) for r in under])
    carried = shapely.union_all([to_polygon(r, CHORD) for r in soles]).difference(hidden)
    if h > 0.0 and (carried.area < SPECK or not _goes_in(part, up, h, hidden)):
        return None
    return _Found(h, at.faces, soles, carried, tuple(Region(r.outer) for r in under))


def _goes_in(part: Part, up: Vec3, height: float, below: shapely.Geometry) -> bool:
    """Whether what lies below a level stays within the part's own outline at that level."""
    try:
        band = grip_band(part, up, height, height + 1.0)
    except JawrightError:
        return False
    at = shapely.union_all([to_polygon(r.outer, CHORD) for r in band.outline])
    return bool(below.difference(at.convex_hull.buffer(2 * CHORD)).area < SPECK)


def _on(at: _Found, found: Sequence[_Found], why: str, bears: _Found | None = None) -> Level:
    """The part on one level, with what reaches below it; ``bears``: the lower one that carries as well."""
    below = []
    for r in at.under:
        own = to_polygon(r, CHORD)
        deep = [f for f in found if f.height < at.height and f.carried.intersection(own).area > SPECK]
        depth = at.height - min((f.height for f in deep), default=0.0)
        stood = bears is not None and bears in deep and abs(at.height - bears.height - depth) <= SAME
        soles = (
            tuple(s for s in bears.soles if to_polygon(s, CHORD).intersects(own)) if stood and bears else ()
        )
        below.append(Below(r, depth, soles, bears.faces if soles and bears is not None else ()))
    return Level(at.height, at.soles, tuple(below), why)
