"""What an outline in one stance asks of the jaws: how deep they reach, and the room under what is made.

Lengths in mm, angles in rad.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from itertools import pairwise

from jawright.geometry.frame import standing
from jawright.hold.outline import SQUARE_ON, Outline, Wall, mark
from jawright.hold.resolve import Ask
from jawright.hold.stance import Turn
from jawright.hold.view import View
from jawright.jaws import lower
from jawright.jaws.needs import Needs
from jawright.jaws.place import LEDGE, LEDGE_LEAST
from jawright.jaws.placed import STOP_LAND, STOP_LAND_LEAST, stop_lost
from jawright.jaws.pocket import run_out
from jawright.jaws.relief import relief_reach
from jawright.jaws.row import circles_over
from jawright.jaws.spacers import NARROWEST
from jawright.job.model import Job
from jawright.shop.model import Cutter

ENOUGH_WALL = 0.6  # share of the bearing walls' length that must lie in the jaw (common practice, no source)
WRAPPED = 0.95  # and where a nest is to wrap the part (common practice, no source)
LEAST_WALL = 0.3  # of it where the jaws have no room for more (common practice, no source)
ENOUGH_LENGTH = 8.0  # [mm] and at least this much when there is so much (common practice, no source)
MARGIN = 0.5  # [mm] a jaw reaches so much further in than the walls that are to bear
STEP_DOWN = 4.0  # [mm] a wall that lies so much deeper than the one before is left out if that is enough
WELL_ROOM = 1.0  # [mm] a clearance well is wider than the hole by this, per side (common practice, no source)
WELL_BELOW = 2.5  # [mm] room under the point of a through drill (0.10 in; common practice, no source)
TWENTY = tuple((k + 0.5) / 20 for k in range(20))
"""Middles of the pieces a wall is looked at in, as shares of its length."""


def needs_of(
    view: View,
    turn: Turn,
    outline: Outline,
    bearing: tuple[Sequence[Wall], Wall | None, Sequence[Wall]],
    *,
    ask: Ask,
    job: Job,
    cutter: Cutter,
    allowance: float,
    near: bool = True,
) -> Needs:
    """What the walls in ``bearing`` (locators, stop, grips) ask of the jaws [mm].

    Clear walls stand off by ``allowance`` [mm]; ``cutter`` finishes the pocket. With ``near`` the far end
    of a leg is gripped alone where it is long enough.
    """
    locators, stop, grips = bearing
    growth = job.incoming.growth
    _, y0, _, y1 = outline.box
    enough = ENOUGH_WALL if outline.wrap <= SQUARE_ON else WRAPPED
    on_fixed, on_floating = _depths(locators, y1), _depths(grips, y0)
    end = _near(on_floating) if near else math.inf
    deep = (_depth_for(on_fixed, enough), min(_depth_for(on_floating, enough), end))
    shallow = (_depth_for(on_fixed, LEAST_WALL), min(_depth_for(on_floating, LEAST_WALL), end))
    fixed, floating = (max(LEDGE, d) for d in deep)
    least, floating_least = (max(LEDGE_LEAST, d) for d in shallow)
    if stop is not None:
        high = max(stop.curve.start[1], stop.curve.end[1])
        loss = stop_lost(outline.profile, stop, cutter, growth)
        begins, half = y1 - high + loss, stop.curve.length / 2
        fixed = max(fixed, begins + min(STOP_LAND, half))
        least = max(least, begins + min(STOP_LAND_LEAST, half))
    gripping = [w for w in grips if abs(y0 - w.middle[1]) <= floating] or grips
    weight = sum(w.curve.length for w in gripping)
    holes, depth = outline.once("wells", lambda: _wells(view, turn, ask))
    radius = cutter.diameter / 2
    walls = [*locators, *([stop] if stop else []), *grips]
    key = ("reach", radius, growth, *(mark(w) for w in walls))
    reach = outline.once(key, lambda: relief_reach(outline.profile, radius, growth, walls))
    return Needs(
        box=outline.box,
        fixed_depth=fixed,
        floating_depth=floating,
        least=(least, floating_least),
        grip_depth=view.grip_depth,
        beyond=cutter.diameter + 0.5,
        beyond_y=max(allowance + 0.8, reach),
        grip_x=sum(w.middle[0] * w.curve.length for w in gripping) / weight,
        well_depth=depth + lower.deepest(view.below),
        well_in_gap=False,
        holes=holes,
        shift=job.hold.shift,
        spacer_height=job.hold.spacer_height,
        spacers=job.hold.spacers,
        groove=lower.deepest(view.below),
        run_out=run_out(0.0, radius),
        deepest=(deep[0] - MARGIN, deep[1] - MARGIN),
        deepest_least=(shallow[0] - MARGIN, shallow[1] - MARGIN),
        near=end < _depth_for(on_floating, enough),
        least_gap=NARROWEST + job.incoming.profile.value,
    )


def _wells(view: View, turn: Turn, ask: Ask) -> tuple[tuple[tuple[float, float, float], ...], float]:
    """Clearance under all that is made through here, outline frame: (x, y, radius), and how deep [mm]."""
    place = standing(view.up, turn=turn.angle, shift=(0.0, 0.0, 0.0))
    holes = []
    deep = 0.0
    for f in ask.features:
        through = f.hole is not None and (f.hole.through if f.ask.through is None else f.ask.through)
        if f.hole is None or not through:
            continue
        x, y, _ = place.point(f.hole.mouth)
        diameter = f.ask.diameter or f.hole.diameter
        holes.append((x, y, diameter / 2 + WELL_ROOM))
        point = diameter / 2 / math.tan(math.radians(59))  # 118° drill
        deep = max(deep, point + WELL_BELOW)
    for _, region in view.windows:
        holes += circles_over(region.moved(turn=turn.angle).outer.box, WELL_ROOM)
        deep = max(deep, WELL_BELOW)
    return tuple(holes), deep


Pieces = tuple[list[tuple[float, float]], float]


def _depths(walls: Sequence[Wall], edge: float) -> Pieces:
    """Pieces of the walls in order: depth from the outline's ``edge`` (largest or smallest y) and length.

    With them the length of all.
    """
    pieces = []
    for w in walls:
        length = w.curve.length / 20
        pieces += [(abs(edge - y), length) for _, y in w.curve.spread(TWENTY)]
    pieces.sort()
    return pieces, sum([length for _, length in pieces])


def _near(walls: Pieces) -> float:
    """Depth that holds the walls up to the first step down, where they are enough; infinite elsewhere.

    The leg of an L or a T is gripped at its end: jaws that reach its arm as well would be as thick as it.
    """
    pieces, _ = walls
    so_far = 0.0
    for (depth, length), (deeper, _) in pairwise(pieces):
        so_far += length
        if deeper - depth > STEP_DOWN:
            return depth + MARGIN if so_far >= ENOUGH_LENGTH - 1e-9 else math.inf
    return math.inf


def _depth_for(walls: Pieces, share: float) -> float:
    """Depth that holds enough of the walls' length."""
    pieces, total = walls
    want = max(share * total, min(total, ENOUGH_LENGTH * share / ENOUGH_WALL))
    so_far = 0.0
    for depth, length in pieces:
        so_far += length
        if so_far >= want - 1e-9:
            return depth + MARGIN
    return pieces[-1][0] + MARGIN
