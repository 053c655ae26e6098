"""From the designed pair to operations: one block of moves per cutter, in the order they are run."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field, replace

import shapely

from jawright import handbook
from jawright.cutting import pick, small
from jawright.cutting.clearing import Clearing, clear, from_inside, levels
from jawright.cutting.finishing import round_wall, visits
from jawright.cutting.metal import Metal, polygon, union
from jawright.cutting.paths import Heights, Step, Trail
from jawright.cutting.rates import Rate, rate
from jawright.errors import JawrightError
from jawright.geometry.offset import offset
from jawright.geometry.profile import Region
from jawright.jaws.model import Jaws, Well
from jawright.shop.model import Cutter, Shop

STEP_OVER = 0.35
"""Radial engagement of roughing passes as a share of the diameter (common practice, no source)."""

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

EASY = ("aluminum", "brass", "plastic")
"""Families cut a full diameter deep per level; others half (common practice, no source)."""


@dataclass(slots=True)
class Block:
    """All that one cutter does between two cutter changes."""

    cutter: Cutter
    spindle: float
    feed: float
    reason: str
    steps: tuple[Step, ...] = ()
    purposes: list[str] = field(default_factory=list)
    marks: list[tuple[int, str]] = field(default_factory=list)  # step index, remark before it
    step_over: float = 0.0
    step_down: float = 0.0


@dataclass(frozen=True, slots=True)
class Setup:
    """What every operation needs to know."""

    jaws: Jaws
    shop: Shop
    heights: Heights
    link: float

    def rate(self, cutter: Cutter, *, radial: float | None, light: bool = False) -> Rate:
        """Speed and feed in the harder of the two blanks."""
        kinds = sorted({self.jaws.fixed.blank.material, self.jaws.floating.blank.material})
        found = [rate(cutter, m, self.shop.machine, radial=radial, light=light) for m in kinds]
        return Rate(min(r.spindle for r in found), min(r.feed for r in found))

    @property
    def easy(self) -> bool:
        blanks = (self.jaws.fixed.blank, self.jaws.floating.blank)
        return all(handbook.material(b.material, where="jaw blank").family in EASY for b in blanks)

    def clearing(self, cutter: Cutter) -> Clearing:
        """Roughing with bounded engagement."""
        over = STEP_OVER * cutter.diameter
        layer = (0.25 if self.easy else 0.15) * cutter.diameter
        return Clearing(0.5 * cutter.diameter, over, layer, self.rate(cutter, radial=over).feed)

    def step_down(self, cutter: Cutter) -> float:
        return min(cutter.flute_length, (1.0 if self.easy else 0.5) * cutter.diameter)

    def blanks(self) -> Metal:
        """Both blanks in plan, uncut."""
        return Metal(
            shapely.union_all(
                [shapely.box(j.x0, j.y0, j.x1, j.y1) for j in (self.jaws.fixed, self.jaws.floating)]
            )
        )


def blocks(jaws: Jaws, shop: Shop, *, turned: bool = False) -> tuple[list[Block], list[str]]:
    """Every block in order, and what is left for the hand."""
    _spacers_clear(jaws)
    top = max(jaws.top, jaws.stack.high, jaws.fixed.height, jaws.floating.height)
    setup = Setup(jaws, shop, Heights(top + CLEAR, top + HOP), min(shop.machine.feed_max, 4000.0))
    finish = pick.finisher(jaws, shop)
    rough = pick.rougher(jaws, shop, finish.cutter, ROUGH_STOCK)
    used = [finish.cutter] if rough.cutter is finish.cutter else [finish.cutter, rough.cutter]
    wells: list[tuple[Well, pick.Choice]] = []
    for well in jaws.wells:
        choice = pick.for_well(well, jaws, shop, used)
        used += [] if choice.cutter in used else [choice.cutter]
        wells.append((well, choice))
    out: list[Block] = []
    metal = setup.blanks()
    if rough.cutter is not finish.cutter:
        out.append(_block(setup, rough, lambda t, b: _rough(setup, t, b, metal, alone=True)))
        _wells_into(setup, out[-1], wells)
    others = {c.cutter.id: c for _, c in wells if c.cutter not in (finish.cutter, rough.cutter)}
    late: list[Block] = []
    for choice in others.values():
        block = _block(setup, choice, lambda t, b: None)
        _wells_into(setup, block, wells)
        late.append(block)
    reason = finish.reason if rough.cutter is not finish.cutter else f"{finish.reason}; {rough.reason}"
    main = _block(
        setup, pick.Choice(finish.cutter, reason), lambda t, b: _rough(setup, t, b, metal, alone=False)
    )
    _wells_into(setup, main, wells)
    _finish_into(setup, main)
    out += [*late, main] if rough.cutter is not finish.cutter else [main, *late]
    notes: list[str] = []
    out += _after(setup, notes, turned=turned)
    return out, notes


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
    """Least height [mm] of the cutter over the spacers, or the design's own distance when none is under a cut."""
    over = shapely.union_all([shapely.box(a, -jaws.gap, b, 0.0) for a, b in jaws.stack.x_runs])
    air = [bottom - jaws.stack.high for region, bottom, _ in _cuts(jaws) if polygon(region).intersects(over)]
    return min(air, default=jaws.stack.cutter_gap)


def _block(setup: Setup, choice: pick.Choice, fill: Callable[[Trail, Block], None]) -> Block:
    cutter = choice.cutter
    over = STEP_OVER * cutter.diameter if cutter.kind == "end mill" else None
    r = setup.rate(cutter, radial=over)
    block = Block(cutter, r.spindle, r.feed, choice.reason)
    _add(setup, block, fill)
    return block


def _add(setup: Setup, block: Block, fill: Callable[[Trail, Block], None], mark: str = "") -> None:
    """Run ``fill`` on a fresh trail and append its moves to the block."""
    trail = Trail(setup.heights, setup.link)
    begin = len(block.steps)
    fill(trail, block)
    trail.up()
    if trail.steps:
        if mark:
            block.marks.append((begin, mark))
        block.steps = (*block.steps, *trail.steps)


def _crosses(regions: Sequence[Region], gap: float) -> bool:
    """True when the regions of the cutter's center reach into the open gap."""
    shape = union(regions)
    return not shape.is_empty and shape.bounds[1] < 0.0 and shape.bounds[3] > -gap


def _rough(setup: Setup, trail: Trail, block: Block, metal: Metal, *, alone: bool) -> None:
    """Rough the pocket; unless ``alone`` with the semi-finish pass that leaves the finish stock."""
    jaws, cutter = setup.jaws, block.cutter
    r = 0.5 * cutter.diameter
    how = setup.clearing(cutter)
    inner = offset(jaws.pocket, -(r + ROUGH_STOCK))
    outer = inner if alone else offset(jaws.pocket, -(r + WALL_STOCK))
    gap = (-jaws.gap, 0.0) if _crosses(inner, jaws.gap) else None
    trips = [] if alone else visits(jaws.pocket, r, outer, short=WALL_STOCK)
    z = jaws.top
    bottom = jaws.floor + FLOOR_STOCK
    left = metal
    for low in levels(jaws.top, bottom, setup.step_down(cutter)):
        left = metal.copy()
        clear(trail, left, how, inner=inner, outer=outer, gap=gap, z=(z, low))
        for chain, i, t, trip in trips:
            base = chain.curves[i].at(t)
            trail.hop(base)
            trail.down(low, setup.link)
            for c in trip:
                trail.curve(c, 0.4 * how.feed)
        z = low
    metal.shape = left.shape
    block.purposes.append("rough the pocket" if alone else "rough and semi-finish the pocket")
    block.step_over = how.step_over
    block.step_down = max(
        block.step_down, (jaws.top - bottom) / len(levels(jaws.top, bottom, setup.step_down(cutter)))
    )


def _wells_into(setup: Setup, block: Block, wells: Sequence[tuple[Well, pick.Choice]]) -> None:
    for well, choice in wells:
        if choice.cutter is block.cutter:
            _add(
                setup,
                block,
                lambda t, b, w=well: _well(setup, t, b, w),  # type: ignore[misc]
                f"{pick.plain_purpose(well)}",
            )


def _well(setup: Setup, trail: Trail, block: Block, well: Well) -> None:
    """A well to size, level by level on ramps."""
    cutter = block.cutter
    how = setup.clearing(cutter)
    regions = offset(well.region, -how.radius)
    top = min(setup.jaws.top, well.top + FLOOR_STOCK) if well.top < setup.jaws.top else well.top
    z = top
    for low in levels(top, well.bottom, setup.step_down(cutter)):
        from_inside(trail, setup.blanks(), how, regions=regions, z=(z, low))
        z = low
    block.purposes.append(pick.plain_purpose(well))
    block.step_over = max(block.step_over, how.step_over)
    block.step_down = max(
        block.step_down, (top - well.bottom) / len(levels(top, well.bottom, setup.step_down(cutter)))
    )


def _finish_into(setup: Setup, block: Block) -> None:
    """Finish the floor, then the walls: one pass and one spring pass."""
    jaws, cutter = setup.jaws, block.cutter
    r = 0.5 * cutter.diameter

    def floor(trail: Trail, b: Block) -> None:
        over = FLOOR_OVER * cutter.diameter
        feed = setup.rate(cutter, radial=over, light=True).feed
        how = Clearing(r, over, math.inf, feed, limit=math.tau)
        inside = offset(jaws.pocket, -(r + WALL_STOCK))
        gap = (-jaws.gap, 0.0) if _crosses(inside, jaws.gap) else None
        z = (jaws.floor + FLOOR_STOCK, jaws.floor)
        clear(trail, setup.blanks(), how, inner=inside, outer=inside, gap=gap, z=z)
        b.purposes.append("finish the floor")

    def walls(trail: Trail, b: Block) -> None:
        feed = setup.rate(cutter, radial=WALL_STOCK, light=True).feed
        allowed = offset(jaws.pocket, -r)
        trips = visits(jaws.pocket, r, allowed)
        for region in allowed:
            room = polygon(region).buffer(0.01)
            for profile in (region.outer, *region.holes):
                round_wall(
                    trail,
                    profile,
                    radius=r,
                    room=room,
                    gap=(-jaws.gap, 0.0),
                    z=jaws.floor,
                    feed=feed,
                    passes=2,
                    trips=trips,
                )
        b.purposes.append("finish the walls, one pass and one spring pass")

    _add(setup, block, floor, "finish the floor")
    _add(setup, block, walls, "finish the walls: climb, one pass and one spring pass")


def _after(setup: Setup, notes: list[str], *, turned: bool) -> list[Block]:
    """Spot, edge break, drill, bore and text; what no cutter of the shop can do goes to ``notes``."""
    jaws, shop = setup.jaws, setup.shop
    hole = jaws.tooling_hole
    out: list[Block] = []
    point = pick.spotter(shop, 0.0)
    if hole is not None or jaws.edge_break > 0:
        if point is None:
            notes.append("no spot drill in the shop: break the pocket's upper edge by hand with a file")
        else:
            out += [b for b in [_pointed(setup, point, notes)] if b.steps]
    if hole is not None:
        out += _hole(setup, notes, spotted=point is not None)
    text = _text(setup, notes, turned=turned)
    return [*out, text] if text is not None else out


def _pointed(setup: Setup, cutter: Cutter, notes: list[str]) -> Block:
    """What the spot drill does: the hole's start and the edge break."""
    jaws = setup.jaws
    r = setup.rate(cutter, radial=None)
    block = Block(cutter, r.spindle, r.feed, "starts the drill true and breaks the edge with the same point")
    hole = jaws.tooling_hole
    if hole is not None:
        _add(setup, block, lambda t, b: small.spot(t, hole, cutter, r.feed), "spot the tooling hole")
        block.purposes.append("spot the tooling hole")
    if jaws.edge_break > 0:
        lack = "" if pick.right_point(cutter) else "the shop has no 90 degree point"

        def edge(trail: Trail, b: Block) -> None:
            nonlocal lack
            lack = small.edge_break(trail, jaws, cutter, r.feed)

        if not lack:
            _add(setup, block, edge, "break the pocket's upper edge")
        if lack:
            notes.append(f"break the pocket's upper edge by hand with a file: {lack}")
        else:
            block.purposes.append("break the pocket's upper edge")
    return block


def _hole(setup: Setup, notes: list[str], *, spotted: bool) -> list[Block]:
    """Drill, then bore: drilling makes the hole, boring puts it in its place."""
    jaws, shop = setup.jaws, setup.shop
    hole = jaws.tooling_hole
    assert hole is not None
    out: list[Block] = []
    twist = pick.hole_drill(shop, hole.drill, hole.diameter, hole.depth)
    last = pick.hole_finisher(shop, hole.diameter, hole.depth)
    if last is None or (twist is None and not (last.kind == "end mill" and last.center_cutting)):
        lack = "drill" if last is not None else "boring bar, end mill or reamer"
        raise JawrightError(
            "shop-no-cutter",
            what=f"no {lack} makes the tooling hole of {hole.diameter:g} mm, {hole.depth:g} mm deep",
            where=f"at ({hole.center[0]:.2f}, {hole.center[1]:.2f}) mm",
            todo="add one to the shop or leave the tooling hole out",
        )
    if twist is not None:
        r = setup.rate(twist, radial=None)
        reason = (
            "nearest drill under the bore"
            if spotted
            else "nearest drill under the bore; not spotted: no spot drill"
        )
        block = Block(twist, r.spindle, r.feed, reason, purposes=["drill the tooling hole"])
        _add(setup, block, lambda t, b: small.drill(t, hole, twist, r.feed), "drill the tooling hole")
        out.append(block)
    r = setup.rate(last, radial=None, light=True)
    if last.kind == "end mill":
        reason = (
            "no boring bar of this size: an end mill circles the hole to size, which also puts it in place"
        )
        r = replace(r, feed=max(10.0, 0.5 * r.feed))
        block = Block(last, r.spindle, r.feed, reason, purposes=["circle the tooling hole to size"])
        _add(
            setup,
            block,
            lambda t, b: small.mill_bore(t, hole, last, r.feed),
            "circle the tooling hole to size",
        )
    else:
        reason = "boring puts the hole where the machine goes; a drill wanders"
        if last.kind == "reamer":
            reason = "no boring bar of this size: the reamer makes the size but follows the drill"
            notes.append("the tooling hole is reamed, not bored: indicate it before trusting its position")
        block = Block(last, r.spindle, r.feed, reason, purposes=[f"{_verb(last)} the tooling hole to size"])
        _add(
            setup, block, lambda t, b: small.bore(t, hole, r.feed), f"{_verb(last)} the tooling hole to size"
        )
    out.append(block)
    return out


def _verb(cutter: Cutter) -> str:
    return "ream" if cutter.kind == "reamer" else "bore"


def _text(setup: Setup, notes: list[str], *, turned: bool) -> Block | None:
    jaws = setup.jaws
    wanted = [(t, side) for side, t in enumerate(jaws.text) if t.strip()]
    if not wanted:
        return None
    cutter = pick.engraver(setup.shop)
    if cutter is None:
        notes.append("no engraver in the shop: stamp by hand " + " and ".join(f'"{t}"' for t, _ in wanted))
        return None
    r = setup.rate(cutter, radial=0.05 * cutter.diameter)  # so shallow that its chip is a light cut's
    block = Block(cutter, r.spindle, r.feed, "fine point: engraves the identification")
    width = 2 * small.ENGRAVE * math.tan(0.5 * cutter.tip_angle) + 2 * cutter.corner_radius
    for text, side in wanted:
        at = jaws.text_at[side]
        height = small.text_height(text, at, jaws, side=side, width=width)
        if height == 0.0:
            notes.append(f'no room to engrave "{text}": stamp it by hand')
            continue
        lines = small.strokes(text, at=at, height=height, turned=turned)
        _add(
            setup, block, lambda t, b, s=lines: small.engrave(t, s, top=jaws.top, feed=r.feed), f"text {text}"
        )  # type: ignore[misc]
    block.purposes.append("engrave the identification")
    return block if block.steps else None


def fixed_rear(shop: Shop, vise: str) -> bool:
    """True when the fixed jaw is at the back, as the operator sees the vise."""
    found = [v for v in shop.vises if v.id == vise] or list(shop.vises)
    return found[0].fixed_jaw_rear if found else True
