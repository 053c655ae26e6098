"""The blank, gap and stack for what an outline asks of the jaws: with less wall, or spacers to be made.

Lengths in mm.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace

from jawright.geometry.curve import Line
from jawright.geometry.profile import Profile
from jawright.hold.outline import Wall
from jawright.jaws.grooves import LONG_FLOOR, SLOT_DEPTH
from jawright.jaws.needs import Needs
from jawright.jaws.place import LEDGE, LEDGE_LEAST, Place, Refusal, places
from jawright.jaws.relief import OVER, STOP_FIRST, corners, relief_reach
from jawright.jaws.strips import strips
from jawright.shop.model import Blank, Cutter, Parallel, Shop, Vise

STOP_LAND = 4.0  # [mm] length of stop wall wanted in the fixed jaw (common practice, no source)
STOP_LAND_LEAST = 1.5  # [mm] and where the jaws have no room for more (common practice, no source)
SEAT = 3.0  # [mm] a locating wall shorter than this is not a seat (common practice, no source)
HALF = 0.5  # share of a locating wall that must be left beside the stop's relief (common practice, no source)


def placed(
    needs: Needs, vise: Vise, blanks: Sequence[Blank], shop: Shop
) -> tuple[Place | None, tuple[Refusal, ...]]:
    """The blank and gap that serve; with less wall in the jaws where there is no room for more.

    A part too narrow for every gap that the shop's parallels set gets spacers of its own.
    """
    found, refusals = _with_parallels(needs, vise, blanks, shop.parallels)
    if found is None and not needs.spacers and any(r.narrow for r in refusals):
        own = strips(shop.parallels, blanks)
        if own:
            found, refusals = _with_parallels(needs, vise, blanks, own)
    return found, refusals


def _with_parallels(
    needs: Needs, vise: Vise, blanks: Sequence[Blank], parallels: Sequence[Parallel]
) -> tuple[Place | None, tuple[Refusal, ...]]:
    found, refusals = places(needs, vise, blanks, parallels)
    if found is None and needs.least != (needs.fixed_depth, needs.floating_depth):
        # less wall in the jaws is still a hold; the proofs say whether it is enough
        needs = replace(
            needs,
            fixed_depth=needs.least[0],
            floating_depth=needs.least[1],
            deepest=needs.deepest_least,
        )
        found, refusals = places(needs, vise, blanks, parallels)
    if found is not None and needs.holes and _in_gap(needs, found):
        needs = replace(needs, well_in_gap=True)
        found, refusals = places(needs, vise, blanks, parallels)
    if found is not None and max(found.fixed_depth, found.floating_depth) > LONG_FLOOR and needs.groove == 0:
        needs = replace(needs, groove=SLOT_DEPTH)  # a slot for chips runs out into the gap
        found, refusals = places(needs, vise, blanks, parallels)
    return found, refusals


def _in_gap(needs: Needs, place: Place) -> bool:
    y = place.shift[1]
    return any(-place.gap - r < hy + y < r for _, hy, r in needs.holes)


def no_blank(refusals: Sequence[Refusal], blanks: Sequence[Blank]) -> str:
    """Why no blank takes the part: what the largest of those that fit the vise lacks."""
    size = {b.id: b.length * b.thickness * b.height for b in blanks}
    fits = [r for r in refusals if r.mounts] or list(refusals)
    if not fits:
        return "no blank: the shop has none"
    worst = max(fits, key=lambda r: size[r.blank])
    named = worst.blank if len(blanks) == 1 else f"the largest, {worst.blank}"
    return f"no blank takes it; {named}: {worst.reason}"


def stop_lost(outline: Profile, stop: Wall, cutter: Cutter, growth: float) -> float:
    """How much of the stop the relief takes at its end that lies deepest in the fixed jaw [mm].

    A stop that is a piece of an arc ends before the corner at the arc's own end, whose relief may reach it.
    """
    end = max(stop.curve.start, stop.curve.end, key=lambda p: p[1])
    whole = outline.curves[stop.index]
    ends, takes, lost = (whole.start, whole.end), relief_takes(cutter), 0.0
    for c in corners(outline, cutter.diameter / 2 + growth):
        away = math.dist(c.at, end)
        if away <= c.radius + 1e-6:
            return takes
        if min(math.dist(c.at, q) for q in ends) < 1e-6:
            lost = max(lost, takes - away)
    return lost


def relief_takes(cutter: Cutter) -> float:
    """How much a relief takes of the wall it bites into [mm]."""
    return cutter.diameter + 2 * OVER


def stop_kept(
    needs: Needs,
    outline: Profile,
    bearing: tuple[Sequence[Wall], Wall | None, Sequence[Wall]],
    cutter: Cutter,
    growth: float,
) -> Needs | None:
    """What the jaws need when the relief beside the stop bites into the locating wall, not into the stop.

    The jaw need then not reach past the relief to leave a land of the stop: a small part stands straight
    where it would not else. None where the stop is round or meets no straight locating wall, or too little
    of that would be left to seat on.
    """
    locators, stop, _ = bearing
    if stop is None or not isinstance(stop.curve, Line):
        return None  # a relief leaves only a straight wall whole
    meets = [
        w
        for w in locators
        if isinstance(w.curve, Line)
        and min(math.dist(w.curve.end, stop.curve.start), math.dist(w.curve.start, stop.curve.end)) < 1e-6
    ]
    lost = relief_takes(cutter)
    if not meets or any(w.curve.length - lost < max(SEAT, HALF * w.curve.length) for w in meets):
        return None
    y1 = outline.box[3]
    begins, half = y1 - max(stop.curve.start[1], stop.curve.end[1]), stop.curve.length / 2
    walls, radius = [*locators, stop, *bearing[2]], cutter.diameter / 2
    return replace(
        needs,
        fixed_depth=max(LEDGE, begins + min(STOP_LAND, half)),
        least=(max(LEDGE_LEAST, begins + min(STOP_LAND_LEAST, half)), needs.least[1]),
        beyond_y=max(needs.beyond_y, relief_reach(outline, radius, growth, walls, STOP_FIRST)),
    )
