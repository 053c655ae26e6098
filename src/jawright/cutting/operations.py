"""From the designed pair to operations: one block of moves per cutter, in the order they are run."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace

import shapely

from jawright.cutting import extras, pick
from jawright.cutting.air import fast
from jawright.cutting.blocks import Block, Setup, add
from jawright.cutting.clearing import SLACK, Clearing, clear, from_inside, lap, levels
from jawright.cutting.finishing import RELIEF_SHARE, rough_visits, round_wall, tight_corners, visits
from jawright.cutting.metal import Metal, polygon, union
from jawright.cutting.paths import Heights, Trail, minutes
from jawright.errors import JawrightError
from jawright.geometry.boolean import union as union_of
from jawright.geometry.offset import offset, opening
from jawright.geometry.profile import Region, circle
from jawright.jaws.model import Jaws, Well
from jawright.shop.model import Cutter, Shop

FLOOR_OVER = 0.6
"""Step-over of the floor's finish passes as a share of the diameter (common practice, no source)."""

ROUGH_STOCK = 0.8
"""Metal [mm] the straight roughing passes leave on walls for the semi-finish pass."""

WALL_STOCK = 0.3
"""Metal [mm] left on walls for the finish pass (common practice: 0.25 to 0.4, no source)."""

FLOOR_STOCK = 0.2
"""Metal [mm] left on the floor for its finish passes (common practice: 0.15 to 0.25, no source)."""

CLEAR = 25.0
"""Clear height above everything [mm]."""

HOP = 2.0
"""Height above all metal of short moves between cuts [mm]."""


NARROW = ((WALL_STOCK, 0.1), (0.05, 0.0), (0.0, 0.0))
"""Stock [mm] and rounding (share of the radius) tried in turn where a passage is narrow."""

ROUNDS = (0.3, 0.5)
"""Roundings of the semi-finish path's corners tried, as shares of the radius; side trips take the rest."""

WORTH_A_TRIP = 0.5
"""Least area [mm²] of metal in a tight corner that is roughed before the finish pass goes there."""

NEVER = 2.0
"""A finish cutter never roughs alone where one this many times larger can clear most of the pocket."""

ROUGHERS = 3
"""How many larger cutters are tried for roughing."""

LINK = 4000.0
"""Fastest feed of moves through air below the clear height [mm/min]."""


Cutters = tuple[Cutter, ...]
"""Roughing cutters before the finish cutter, largest first."""


def blocks(jaws: Jaws, shop: Shop, *, turned: bool = False) -> tuple[list[Block], list[str]]:
    """Every block in order, and what is left for the hand.

    ``turned`` tells that the operator stands at the fixed jaw: text is turned to be read from there.
    """
    jaws = relieved(jaws)
    _spacers_clear(jaws)
    top = max(jaws.top, jaws.stack.high, jaws.fixed.height, jaws.floating.height)
    setup = Setup(jaws, shop, Heights(top + CLEAR, top + HOP), min(shop.machine.feed_max, LINK))
    finish = pick.finisher(jaws, shop)
    larger = pick.roughers(jaws, shop, finish.cutter, ROUGH_STOCK)[:ROUGHERS]
    tried: list[Cutters] = [(c,) for c in larger]
    slow = bool(larger) and larger[0].diameter >= NEVER * finish.cutter.diameter
    tried += [()] if finish.cutter.center_cutting and not slow else []
    if not tried:
        raise JawrightError(
            "shop-no-cutter",
            what=f"cutter {finish.cutter.id} is not center-cutting and no larger one can open the pocket",
            where="roughing the pocket",
            todo="add a center-cutting end mill to the shop",
        )
    ways = [_pocket(setup, finish, c, rounding=ROUNDS[0]) for c in tried]
    cost = [_cost(setup, way) for way in ways]
    before = tried[cost.index(min(cost))]
    if before:
        tried += [(*before, c) for c in pick.between(jaws, shop, before[0], finish.cutter)[:ROUGHERS]]
        ways += [_pocket(setup, finish, c, rounding=ROUNDS[0]) for c in tried[len(ways) :]]
        cost += [_cost(setup, way) for way in ways[len(cost) :]]
    best = cost.index(min(cost))
    other = _pocket(setup, finish, tried[best], rounding=ROUNDS[1])
    out = ways[best] if _cost(setup, other) >= cost[best] else other
    _explain(out, tried, cost, best=best, larger=bool(larger))
    notes: list[str] = []
    return [*out, *extras.blocks(setup, notes, turned=turned)], notes


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


def _explain(
    out: Sequence[Block], tried: Sequence[Cutters], cost: Sequence[float], *, best: int, larger: bool
) -> None:
    """Say in one line each why these cutters rough: minutes of cutting and changing saved."""
    if tried[best]:
        first, *rest = tried[best]
        others = [c for way, c in zip(tried, cost, strict=True) if first not in way]
        saved = max(others, default=0.0) - cost[best]
        out[0].reason = (
            "the largest that clears most of the pocket"
            if saved <= 0.05
            else (f"largest that pays: saves {saved:.1f} min of cutting and changing")
        )
        if rest:
            saved = cost[tried.index((first,))] - cost[best]
            out[1].reason = f"takes what the larger one could not reach: saves {saved:.1f} min"
    elif larger:
        out[0].reason += "; roughs too: a larger cutter would save less than its change costs"
    else:
        out[0].reason += "; roughs too: no larger one reaches and fits"


def _cost(setup: Setup, way: Sequence[Block]) -> float:
    """Minutes of cutting and cutter changes."""
    machine = setup.shop.machine
    return sum(minutes(b.steps, rapid=machine.rapid) + machine.tool_change / 60.0 for b in way)


def _pocket(setup: Setup, finish: pick.Choice, larger: Cutters, *, rounding: float) -> list[Block]:
    """The pocket and its wells, roughed with ``larger`` cutters, largest first, when there are any."""
    jaws = setup.jaws
    used = [finish.cutter, *larger]
    wells: list[tuple[Well, pick.Choice]] = []
    for well in jaws.wells:
        choice = pick.for_well(well, jaws, setup.shop, used)
        used += [] if choice.cutter in used else [choice.cutter]
        wells.append((well, choice))
    metal = setup.blanks()
    out: list[Block] = []
    for cutter in larger:
        out.append(setup.block(cutter, "roughs the pocket"))
        _rough(setup, out[-1], metal, rounding=None if cutter.corner_radius > 0.0 else ROUNDS[0])
    for block in out:
        _wells_into(setup, block, wells)
    main = setup.block(finish.cutter, finish.reason)
    _rough(setup, main, metal, rounding=rounding)
    _wells_into(setup, main, wells)
    _finish_walls(setup, main, _finish_floor(setup, main, metal))
    between: list[Block] = []
    for choice in {c.cutter.id: c for _, c in wells if c.cutter not in (finish.cutter, *larger)}.values():
        between.append(setup.block(choice.cutter, choice.reason))
        _wells_into(setup, between[-1], wells)
    return [*out, *between, main] if out else [main, *between]


def _spacers_clear(jaws: Jaws) -> None:
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


def _rough(setup: Setup, block: Block, metal: Metal, *, rounding: float | None) -> None:
    """Rough the pocket; with a ``rounding`` also the semi-finish pass that leaves the finish stock.

    ``metal`` is what is left in plan before, and after.
    """
    jaws, cutter = setup.jaws, block.cutter
    r = 0.5 * cutter.diameter
    how = setup.clearing(cutter)
    inner = offset(jaws.pocket, -(r + ROUGH_STOCK))
    finish = rounding is not None
    outer = inner if rounding is None else opening(offset(jaws.pocket, -(r + WALL_STOCK)), rounding * r)
    gap = (-jaws.gap, 0.0) if _crosses(inner, jaws.gap) else None
    trips = rough_visits(jaws.pocket, r, outer, WALL_STOCK) if finish else []
    steps = levels(jaws.top, jaws.floor + FLOOR_STOCK, setup.step_down(cutter))
    remains: list[shapely.Geometry] = []

    def fill(trail: Trail) -> None:
        z = jaws.top
        for low in steps:
            left = metal.copy()
            left.over = shapely.union_all(remains) if remains else None
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
    metal.shape = shapely.union_all(remains)  # what stands at any level may stand in the next cutter's way
    shapely.prepare(metal.shape)
    block.purposes.append("rough and semi-finish the pocket" if finish else "rough the pocket")
    block.step_over = how.step_over
    block.step_down = jaws.top - steps[0]


def _narrow(setup: Setup, trail: Trail, left: Metal, how: Clearing, *, z: tuple[float, float]) -> None:
    """Open in layers what is too narrow for stock on both walls: the finish pass must not be a slot."""
    pocket = setup.jaws.pocket
    inner = polygon(pocket).buffer(-2.2 * WALL_STOCK)
    corners = tight_corners(pocket, how.radius, offset(pocket, -how.radius))
    for c in corners:  # those are side trips of the finish pass
        inner = inner.difference(shapely.Point(c.center).buffer(how.radius + c.room + 0.1))
    for stock, rounding in NARROW:
        if inner.intersection(left.shape).area < 0.05:
            return
        center = offset(pocket, -(how.radius + stock))
        for region in opening(center, rounding * how.radius) if rounding else center:
            for profile in (region.outer, *region.holes):
                how = replace(how, room=polygon(region).buffer(SLACK))
                lap(trail, left, how, profile.curves, z=z)


def _wells_into(setup: Setup, block: Block, wells: Sequence[tuple[Well, pick.Choice]]) -> None:
    for well, choice in wells:
        if choice.cutter is block.cutter:
            _well(setup, block, well)


def _well(setup: Setup, block: Block, well: Well) -> None:
    """A well to size, level by level, from the inside out."""
    cutter = block.cutter
    how = setup.clearing(cutter)
    regions = offset(well.region, -how.radius)
    top = min(setup.jaws.top, well.top + FLOOR_STOCK)
    steps = levels(top, well.bottom, setup.step_down(cutter))

    def fill(trail: Trail) -> None:
        z = top
        for low in steps:
            from_inside(trail, setup.blanks(), how, regions=regions, z=(z, low))
            z = low

    add(setup, block, fill, pick.plain_purpose(well))
    block.purposes.append(pick.plain_purpose(well))
    block.step_over = max(block.step_over, how.step_over)
    block.step_down = max(block.step_down, top - steps[0])


def _finish_floor(setup: Setup, block: Block, rough: Metal) -> Metal:
    """Finish the floor, the walls' stock still standing; gives what is left at the floor in plan."""
    jaws, cutter = setup.jaws, block.cutter
    r, over = 0.5 * cutter.diameter, FLOOR_OVER * cutter.diameter
    feed = setup.rate(cutter, radial=over).feed
    how = Clearing(r, over, math.inf, feed, limit=math.tau)
    inside = offset(jaws.pocket, -(r + WALL_STOCK))
    gap = (-jaws.gap, 0.0) if _crosses(inside, jaws.gap) else None
    z = (jaws.floor + FLOOR_STOCK, jaws.floor)
    left = setup.blanks()
    left.over = rough.shape  # the walls' stock above the floor's

    def fill(trail: Trail) -> None:
        clear(trail, left, how, inner=inside, outer=inside, gap=gap, z=z)
        _narrow(setup, trail, left, how, z=z)

    add(setup, block, fill, "finish the floor")
    block.purposes.append("finish the floor")
    return left


def _finish_walls(setup: Setup, block: Block, left: Metal) -> None:
    """Finish the walls: climb, one pass and one spring pass, let down where nothing is ``left``."""
    jaws, cutter = setup.jaws, block.cutter
    r = 0.5 * cutter.diameter
    feed = setup.rate(cutter, radial=WALL_STOCK, light=True).feed
    allowed = offset(jaws.pocket, -r)
    trips = visits(jaws.pocket, r, allowed)
    gap = (-jaws.gap, 0.0)

    def fill(trail: Trail) -> None:
        for region in allowed:
            room = polygon(region).buffer(0.01)
            for profile in (region.outer, *region.holes):
                round_wall(
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
                )

    add(setup, block, fill, "finish the walls: climb, one pass and one spring pass")
    block.purposes.append("finish the walls, one pass and one spring pass")
