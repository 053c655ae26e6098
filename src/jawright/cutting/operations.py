"""From the designed pair to operations: one block of moves per cutter, in the order they are run.

Lengths in mm, feeds in mm/min, speeds in rev/min.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace

import shapely
from shapely.geometry import Polygon

from jawright.cutting import pick
from jawright.cutting.air import fast
from jawright.cutting.blocks import Block, Setup, add
from jawright.cutting.clearing import SLACK, Clearing, clear, from_inside, lap, levels
from jawright.cutting.finishing import RELIEF_SHARE, rough_visits, round_wall, tight_corners, visits
from jawright.cutting.metal import Metal, opened, polygon, shrunk, union
from jawright.cutting.paths import Trail
from jawright.errors import JawrightError
from jawright.geometry.boolean import union as union_of
from jawright.geometry.profile import Region, circle
from jawright.jaws.model import Jaws, Well

FLOOR_OVER = 0.7
"""Step-over of the floor's finish passes as a share of the diameter (common practice, no source)."""

ROUGH_STOCK = 0.8
"""Metal [mm] the straight roughing passes leave on walls for the semi-finish pass."""

WALL_STOCK = 0.3
"""Metal [mm] left on walls for the finish pass (common practice: 0.25 to 0.4, no source)."""

FLOOR_STOCK = 0.2
"""Metal [mm] left on the floor for its finish passes (common practice: 0.15 to 0.25, no source)."""


NARROW = ((WALL_STOCK, 0.1), (0.05, 0.0), (0.0, 0.0))
"""Stock [mm] and rounding (share of the radius) tried in turn where a passage is narrow."""

STRAY = 0.1
"""Metal [mm] that roughing may leave beyond its stock before a well under it is opened from the top."""

CHORDS = 0.003
"""How far [mm] a lead beside a wall that is finished already may seem to leave its room: chords only."""

WORTH_A_TRIP = 0.5
"""Least area [mm²] of metal in a tight corner that is roughed before the finish pass goes there."""


def relieved(jaws: Jaws) -> Jaws:
    """The pair with reliefs that reach out of the pocket joined to it: they are cut with it."""
    outside = [
        r
        for r in jaws.reliefs
        if shapely.Point(r.center).buffer(r.radius - SLACK).difference(polygon(jaws.pocket)).area > 0.01
    ]
    if not outside:
        return jaws
    whole = union_of([jaws.pocket], [Region(circle(r.center, r.radius)) for r in outside])
    return replace(jaws, pocket=max(whole, key=lambda g: g.area))


def spacers_clear(jaws: Jaws) -> None:
    """Raise ``shop-no-spacer`` when the cutter would go below the top of the clamped spacers over them."""
    over = shapely.union_all([shapely.box(a, -jaws.gap, b, 0.0) for a, b in jaws.stack.x_runs])
    for region, bottom, what in _cuts(jaws):
        if bottom < jaws.stack.high and polygon(region).intersects(over):
            raise JawrightError(
                "shop-no-spacer",
                what=f"the cutter would meet the spacers in the {what}: it goes down to {bottom:.2f} mm, "
                f"they reach up to {jaws.stack.high:.2f} mm above the bed",
                where="spacer stack",
                todo="use lower parallels or a shallower cut",
            )


def _cuts(jaws: Jaws) -> list[tuple[Region, float, str]]:
    return [
        (jaws.pocket, jaws.floor, "pocket"),
        *((w.region, w.bottom, pick.plain_purpose(w)) for w in jaws.wells),
    ]


def spacer_air(jaws: Jaws) -> float:
    """Least height [mm] of the cutter over the spacers, or the design's own when none is under a cut."""
    over = shapely.union_all([shapely.box(a, -jaws.gap, b, 0.0) for a, b in jaws.stack.x_runs])
    air = [bottom - jaws.stack.high for region, bottom, _ in _cuts(jaws) if polygon(region).intersects(over)]
    return min(air, default=jaws.stack.cutter_gap)


def _crosses(regions: Sequence[Region], gap: float) -> bool:
    """True when the regions of the cutter's center reach into the open gap."""
    shape = union(regions)
    return not shape.is_empty and shape.bounds[1] < 0.0 and shape.bounds[3] > -gap


def rough(setup: Setup, block: Block, metal: Metal, *, rounding: float | None) -> None:
    """Rough the pocket; with a ``rounding`` also the semi-finish pass that leaves the finish stock.

    ``metal`` is what is left in plan before, and after.
    """
    jaws, cutter = setup.jaws, block.cutter
    r = 0.5 * cutter.diameter
    how = setup.clearing(cutter)
    inner = shrunk(jaws.pocket, r + ROUGH_STOCK)
    finish = rounding is not None
    outer = inner if rounding is None else opened(shrunk(jaws.pocket, r + WALL_STOCK), rounding * r)
    gap = (-jaws.gap, 0.0) if _crosses(inner, jaws.gap) else None
    trips = rough_visits(jaws.pocket, r, outer, WALL_STOCK) if finish else []
    steps = levels(jaws.top, jaws.floor + FLOOR_STOCK, setup.step_down(cutter))
    remains: list[shapely.Geometry] = []

    def fill(trail: Trail) -> None:
        z = jaws.top
        for low in steps:
            left = metal.copy()
            left.under(shapely.union_all(remains) if remains else None)
            clear(trail, left, how, inner=inner, outer=outer, gap=gap, z=(z, low))
            for trip in trips:
                if not left.touches(trip, r, least=WORTH_A_TRIP):
                    continue
                trail.hop(trip[0].start)
                down = setup.link if fast(left, trip[0].start, r) else how.feed
                for layer in levels(z, low, how.layer):
                    trail.down(layer, down)
                    for c in trip:
                        trail.curve(c, RELIEF_SHARE * how.feed)
                left.cut(trip, r)
            if finish and cutter.id == jaws.cutter:  # a narrow place needs the wall's own cutter
                _narrow(setup, trail, left, how, z=(z, low))
            remains.append(left.shape)
            z = low

    add(setup, block, fill, "rough and semi-finish the pocket" if finish else "rough the pocket")
    metal.becomes(shapely.union_all(remains))  # what stands at any level may stand in the next cutter's way
    block.purposes.append("rough and semi-finish the pocket" if finish else "rough the pocket")
    block.step_over = how.step_over
    block.step_down = jaws.top - steps[0]


def _narrow(setup: Setup, trail: Trail, left: Metal, how: Clearing, *, z: tuple[float, float]) -> None:
    """Open in layers what is too narrow for stock on both walls: the finish pass must not be a slot."""
    pocket = setup.jaws.pocket
    inner = polygon(pocket).buffer(-2.2 * WALL_STOCK)
    corners = tight_corners(pocket, how.radius, shrunk(pocket, how.radius))
    for c in corners:  # those are side trips of the finish pass
        inner = inner.difference(shapely.Point(c.center).buffer(how.radius + c.room + 0.1))
    for stock, rounding in NARROW:
        if inner.intersection(left.shape).area < 0.05:
            return
        center = shrunk(pocket, how.radius + stock)
        for region in opened(center, rounding * how.radius) if rounding else center:
            for profile in (region.outer, *region.holes):
                how = replace(how, room=polygon(region).buffer(SLACK))
                lap(trail, left, how, profile.curves, z=z)


def well(setup: Setup, block: Block, well: Well, standing: shapely.Geometry | None = None) -> None:
    """A well to size, level by level, from the inside out.

    ``standing`` is what earlier cutters left above the pocket's floor, in plan: where it reaches over the
    well it is taken first, from the top, and nothing is let down through it in a hurry.
    """
    cutter = block.cutter
    how = setup.clearing(cutter)
    regions = shrunk(well.region, how.radius)
    floor = min(setup.jaws.top, well.top + FLOOR_STOCK)
    most = setup.step_down(cutter)
    over = Polygon() if standing is None else standing.intersection(polygon(well.region))
    thick = not over.buffer(-0.5 * (WALL_STOCK + STRAY)).is_empty

    def fill(trail: Trail) -> None:
        z = setup.jaws.top
        for low in levels(z, floor, most) if thick else ():
            from_inside(trail, Metal(over, standing), how, regions=regions, z=(z, low))
            z = low
        z = floor
        for low in levels(floor, well.bottom, most):
            left = setup.blanks()
            left.under(None if thick else standing)
            from_inside(trail, left, how, regions=regions, z=(z, low))
            z = low

    add(setup, block, fill, pick.plain_purpose(well))
    block.purposes.append(pick.plain_purpose(well))
    block.step_over = max(block.step_over, how.step_over)
    block.step_down = max(block.step_down, (floor - well.bottom) / len(levels(floor, well.bottom, most)))


def lower_level(setup: Setup, block: Block, well: Well) -> None:
    """A lower floor, once the walls above it are finished: roughed, its floor finished, then its walls.

    Where it goes on down from the pocket's walls its own are finished with the same compensation.
    """
    cutter, gap = block.cutter, (-setup.jaws.gap, 0.0)
    how, r = setup.clearing(cutter), 0.5 * cutter.diameter
    most, name = setup.step_down(cutter), pick.plain_purpose(well)
    inner, allowed = shrunk(well.region, r + WALL_STOCK), shrunk(well.region, r)
    steps = [*levels(well.top, well.bottom + FLOOR_STOCK, most), well.bottom]
    feed = setup.rate(cutter, radial=WALL_STOCK, light=True).feed
    wear = cutter.number if setup.shop.nc.compensation else 0
    trips = visits(well.region, r, allowed)

    def fill(trail: Trail) -> None:
        z = well.top + FLOOR_STOCK
        left = setup.blanks()
        for low in steps:
            left = setup.blanks()
            from_inside(trail, left, how, regions=inner, z=(z, low))
            z = low
        for region in allowed:
            room = polygon(region).buffer(CHORDS)
            for profile in (region.outer, *region.holes):
                done = round_wall(
                    trail, profile, radius=r, room=room, gap=gap, z=well.bottom, feed=feed, passes=1,
                    trips=trips, left=left, wear=wear,
                )  # fmt: skip
                block.wear_not += 0 if done else 1

    add(setup, block, fill, f"{name}: rough, finish its floor, then its walls")
    block.purposes.append(name)
    block.step_over = max(block.step_over, how.step_over)
    block.step_down = max(block.step_down, (well.top - well.bottom) / (len(steps) - 1))


def finish_floor(setup: Setup, block: Block, rough: Metal) -> Metal:
    """Finish the floor, the walls' stock still standing; gives what is left at the floor in plan."""
    jaws, cutter = setup.jaws, block.cutter
    r, over = 0.5 * cutter.diameter, FLOOR_OVER * cutter.diameter
    feed = setup.rate(cutter, radial=over, axial=FLOOR_STOCK).feed
    how = Clearing(r, over, math.inf, feed, limit=math.tau)
    inside = shrunk(jaws.pocket, r + WALL_STOCK)
    gap = (-jaws.gap, 0.0) if _crosses(inside, jaws.gap) else None
    z = (jaws.floor + FLOOR_STOCK, jaws.floor)
    left = setup.blanks()
    left.under(rough.shape)  # the walls' stock above the floor's

    def fill(trail: Trail) -> None:
        clear(trail, left, how, inner=inside, outer=inside, gap=gap, z=z)
        _narrow(setup, trail, left, how, z=z)

    add(setup, block, fill, "finish the floor")
    block.purposes.append("finish the floor")
    return left


def finish_walls(setup: Setup, block: Block, left: Metal) -> None:
    """Finish the walls: climb, one pass and one spring pass, let down where nothing is ``left``."""
    jaws, cutter = setup.jaws, block.cutter
    r = 0.5 * cutter.diameter
    feed = setup.rate(cutter, radial=WALL_STOCK, light=True).feed
    allowed = shrunk(jaws.pocket, r)
    trips = visits(jaws.pocket, r, allowed)
    gap = (-jaws.gap, 0.0)
    wear = cutter.number if setup.shop.nc.compensation else 0

    def fill(trail: Trail) -> None:
        for region in allowed:
            room = polygon(region).buffer(0.01)
            for profile in (region.outer, *region.holes):
                done = round_wall(
                    trail,
                    profile,
                    radius=r,
                    room=room,
                    gap=gap,
                    z=jaws.floor,
                    feed=feed,
                    passes=2,
                    trips=trips,
                    left=left,
                    wear=wear,
                )
                block.wear_not += 0 if done else 1

    add(setup, block, fill, "finish the walls: climb, one pass and one spring pass")
    block.purposes.append("finish the walls, one pass and one spring pass")
