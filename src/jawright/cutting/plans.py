"""Which cutters rough the pocket: several plans are made as far as they differ, the cheapest is finished."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field

from jawright.cutting import extras, operations, pick
from jawright.cutting.blocks import Block, Setup, setup_of
from jawright.cutting.metal import Metal
from jawright.cutting.paths import Heights, minutes
from jawright.errors import JawrightError
from jawright.jaws.model import AFTER_WALLS, LOWER_LEVEL, Jaws, Well
from jawright.shop.model import Cutter, Shop

CLEAR = 25.0
"""Clear height above everything [mm]."""

HOP = 2.0
"""Height above all metal of short moves between cuts [mm]."""

ROUNDS = (0.3, 0.5)
"""Roundings of the semi-finish path's corners tried, as shares of the radius; side trips take the rest."""

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

    Raises ``shop-no-cutter`` when none can open the pocket, and as ``pick`` does.
    """
    jaws = operations.relieved(jaws)
    operations.spacers_clear(jaws)
    top = max(jaws.top, jaws.stack.high, jaws.fixed.height, jaws.floating.height)
    setup = setup_of(jaws, shop, Heights(top + CLEAR, top + HOP), min(shop.machine.feed_max, LINK))
    finish = pick.finisher(jaws, shop)
    plans = _Plans(setup, finish)
    larger = pick.roughers(jaws, shop, finish.cutter, operations.ROUGH_STOCK)[:ROUGHERS]
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
    cost = [plans.cost(c, ROUNDS[0]) for c in tried]
    before = tried[cost.index(min(cost))]
    if before:
        tried += [(*before, c) for c in pick.between(jaws, shop, before[0], finish.cutter)[:ROUGHERS]]
        cost += [plans.cost(c, ROUNDS[0]) for c in tried[len(cost) :]]
    best = cost.index(min(cost))
    rounding = ROUNDS[0] if plans.cost(tried[best], ROUNDS[1]) >= cost[best] else ROUNDS[1]
    out = plans.whole(tried[best], rounding)
    _explain(out, tried, cost, best=best, larger=bool(larger))
    notes: list[str] = []
    return extras.blocks(setup, notes, out, turned=turned), notes


@dataclass(slots=True)
class _Plans:
    """Plans under way: what two of them share is made once."""

    setup: Setup
    finish: pick.Choice
    _roughed: dict[tuple[Cutters, float], tuple[Block, Metal]] = field(default_factory=dict)
    _wells: dict[tuple[Well, str, object], Block] = field(default_factory=dict)

    def roughed(self, larger: Cutters, rounding: float) -> tuple[Block, Metal]:
        """The last of these cutters after those before it: its block, and the metal left in plan."""
        key = (larger, rounding)
        if key not in self._roughed:
            before = larger[:-1]
            metal = self.roughed(before, ROUNDS[0])[1].copy() if before else self.setup.blanks()
            cutter = larger[-1]
            main = cutter is self.finish.cutter
            block = self.setup.block(cutter, self.finish.reason if main else "roughs the pocket")
            operations.rough(
                self.setup, block, metal, rounding=rounding if main or not cutter.corner_radius else None
            )
            self._roughed[key] = (block, metal)
        block, metal = self._roughed[key]
        return block.copy(), metal

    def well(self, well: Well, block: Block, after: tuple[Cutters, float] | None) -> None:
        """Append one well to the block of its cutter, made when the cutters ``after`` have roughed."""
        key = (well, block.cutter.id, after)
        if key not in self._wells:
            self._wells[key] = self.setup.block(block.cutter, "")
            standing = None if after is None else self.roughed(*after)[1].shape
            if well.purpose in LOWER_LEVEL:
                operations.lower_level(self.setup, self._wells[key], well)
            else:
                operations.well(self.setup, self._wells[key], well, standing)
        block.append(self._wells[key])

    def open(self, larger: Cutters, rounding: float) -> tuple[list[Block], Block, list[Block], Metal]:
        """Everything but the finish passes: blocks before, the finish cutter's own, those for wells alone."""
        jaws, main_cutter = self.setup.jaws, self.finish.cutter
        used = [main_cutter, *larger]
        wells: list[tuple[Well, pick.Choice]] = []
        for well in (w for w in jaws.wells if w.purpose not in AFTER_WALLS):
            choice = pick.for_well(well, jaws, self.setup.shop, used)
            used += [] if choice.cutter in used else [choice.cutter]
            wells.append((well, choice))
        before = [self.roughed(larger[: i + 1], ROUNDS[0])[0] for i in range(len(larger))]
        main, metal = self.roughed((*larger, main_cutter), rounding)
        done = [(larger[: i + 1], ROUNDS[0]) for i in range(len(larger))]
        last = ((*larger, main_cutter), rounding)
        for block, after in zip((*before, main), (*done, last), strict=True):
            for well, choice in wells:
                if choice.cutter is block.cutter:
                    self.well(well, block, after)
        between: list[Block] = []
        for choice in {c.cutter.id: c for _, c in wells if c.cutter not in (main_cutter, *larger)}.values():
            between.append(self.setup.block(choice.cutter, choice.reason))
            for well, own in wells:
                if own.cutter is choice.cutter:
                    self.well(well, between[-1], done[-1] if done else last)
        return before, main, between, metal

    def cost(self, larger: Cutters, rounding: float) -> float:
        """Minutes of cutting and cutter changes, without the finish passes that every plan has alike."""
        machine = self.setup.shop.machine
        before, main, between, _ = self.open(larger, rounding)
        every = (*before, main, *between)
        return sum(minutes(b.steps, rapid=machine.rapid) + machine.tool_change / 60.0 for b in every)

    def whole(self, larger: Cutters, rounding: float) -> list[Block]:
        """The pocket and its wells, roughed with ``larger`` cutters, largest first, when there are any."""
        before, main, between, metal = self.open(larger, rounding)
        operations.finish_walls(self.setup, main, operations.finish_floor(self.setup, main, metal))
        out = [*before, *between, main] if before else [main, *between]
        return [*out, *self.grooves(main if before or not between else None)]

    def grooves(self, last: Block | None) -> list[Block]:
        """Grooves along the finished walls: in the block of the ``last`` cutter when it makes them."""
        jaws = self.setup.jaws
        out: list[Block] = []
        for well in (w for w in jaws.wells if w.purpose in AFTER_WALLS):
            same = (self.finish.cutter,) if well.purpose in LOWER_LEVEL else ()
            choice = pick.for_well(well, jaws, self.setup.shop, same)
            block = out[-1] if out and out[-1].cutter is choice.cutter else None
            if block is None and not out and last is not None and last.cutter is choice.cutter:
                block = last
            if block is None:
                block = self.setup.block(choice.cutter, choice.reason)
                out.append(block)
            self.well(well, block, None)
        return out


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
