"""Minutes and money of a way of holding: once, with every part, and where two ways break even.

Money is in the shop's currency, by its own rates; minutes are of the machine or of the desk.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

from jawright.shop.model import Blank, Shop

JAW_CUTTING = 12.0  # [min] taken for cutting a pair until its program is known (common practice, no source)
STRIPS = 15.0  # [min] to cut and pair two spacer strips of flat stock (common practice, no source)
FACING = 5.0  # [min] to face a pair clean of its old pocket (common practice, no source)
MOST = 1_000_000
"""A quantity beyond this is never reached: two ways that part later do not break even."""

Way = Literal["hard jaws", "new soft jaws", "jaws from the rack", "jaws from the rack, cut anew"]
QUANTITIES = (1, 5, 10, 25, 50, 100, 250, 1000)


@dataclass(frozen=True, slots=True)
class CostItem:
    """One thing that is spent: once for the lot, or with every part."""

    what: str
    minutes: float
    money: float
    each: bool = False


@dataclass(frozen=True, slots=True)
class Cost:
    """What one way of holding costs."""

    way: Way
    items: tuple[CostItem, ...]

    def minutes(self, quantity: int) -> float:
        """Minutes of a lot."""
        return sum(i.minutes * (quantity if i.each else 1) for i in self.items)

    def money(self, quantity: int) -> float:
        """Money of a lot."""
        return sum(i.money * (quantity if i.each else 1) for i in self.items)

    @property
    def once(self) -> float:
        """Money spent whatever the quantity."""
        return self.money(0)

    @property
    def each(self) -> float:
        """Money spent with every part."""
        return sum(i.money for i in self.items if i.each)


@dataclass(frozen=True, slots=True)
class BreakEven:
    """``later`` costs no more than ``first`` from ``quantity`` parts on; None: at no quantity."""

    first: Way
    later: Way
    quantity: int | None


def of_hard(shop: Shop) -> Cost:
    """Hard jaws on parallels: setup, and loading that holds the parallels up and tries them."""
    r = shop.rates
    return Cost(
        "hard jaws",
        (
            _machine(shop, "set up vise, parallels and stop", r.setup_minutes_hard),
            _load(shop, r.load_seconds_hard),
        ),
    )


def of_new(shop: Shop, blank: Blank, cutting: float | None = None, *, strips: bool = False) -> Cost:
    """A pair to cut: bar, desk, cutting [min] (from its verified program), handling, setup, loading.

    In the metal of a pair that exists it is that pair, cut anew. ``strips``: its spacers are made first.
    """
    if blank.pair:
        return of_kept(shop, cutting, anew=True, faced=blank.faced_from > 0.0)
    r = shop.rates
    return Cost(
        "new soft jaws",
        (
            CostItem(f"two blanks {blank.id}", 0.0, 2 * blank.price),
            *((_machine(shop, "make two spacer strips", STRIPS),) if strips else ()),
            *_cut_anew(shop, cutting),
            _machine(shop, "mount the blanks and tram", r.setup_minutes_soft),
            _load(shop, r.load_seconds),
        ),
    )


def of_kept(shop: Shop, cutting: float | None = None, *, anew: bool = False, faced: bool = False) -> Cost:
    """A pair from the rack: as it is, or (``anew``) with a pocket that is cut in it now, ``faced`` first."""
    r = shop.rates
    return Cost(
        "jaws from the rack, cut anew" if anew else "jaws from the rack",
        (
            *((_machine(shop, "face the tops clean of the old pocket", FACING),) if faced else ()),
            *(_cut_anew(shop, cutting) if anew else ()),
            # cut where it stands, a pair needs no aligning by a part: it is mounted as blanks are
            _machine(shop, "mount the pair and tram", r.setup_minutes_soft)
            if anew
            else _machine(shop, "find, mount, align and indicate the pair", r.setup_minutes_kept),
            _load(shop, r.load_seconds),
        ),
    )


def _cut_anew(shop: Shop, cutting: float | None) -> tuple[CostItem, ...]:
    r = shop.rates
    known = "as programmed and verified" if cutting is not None else "taken, its program is not written yet"
    return (
        CostItem(
            "draw and program the pocket", r.jaw_design_minutes, r.jaw_design_minutes * r.programmer_hour / 60
        ),
        _machine(shop, f"cut the pocket, {known}", JAW_CUTTING if cutting is None else cutting),
        _machine(shop, "break edges, wash, mark, put away", r.jaw_handling_minutes),
    )


def _machine(shop: Shop, what: str, minutes: float) -> CostItem:
    return CostItem(what, minutes, minutes * shop.rates.machine_hour / 60.0)


def _load(shop: Shop, seconds: float) -> CostItem:
    return CostItem(
        "load and unload a part", seconds / 60.0, seconds * shop.rates.machine_hour / 3600.0, each=True
    )


def break_even(a: Cost, b: Cost) -> BreakEven:
    """From which quantity on the way that costs less with every part costs no more than the other.

    once_a + n each_a = once_b + n each_b, rounded up. The way that is cheaper both once and with every
    part is cheaper from one part on.

    Examples
    --------
    >>> a = Cost("hard jaws", (CostItem("setup", 20, 30.0), CostItem("load", 1, 1.5, True)))
    >>> b = Cost("new soft jaws", (CostItem("setup", 80, 120.0), CostItem("load", 0.5, 0.6, True)))
    >>> break_even(a, b).quantity
    100
    """
    first, later = (a, b) if (b.each, b.once) <= (a.each, a.once) else (b, a)
    saved = first.each - later.each
    if later.once <= first.once:
        return BreakEven(first.way, later.way, 1)
    count = max(1, math.ceil((later.once - first.once) / saved - 1e-9))
    return BreakEven(first.way, later.way, count if count <= MOST else None)


def in_words(even: BreakEven) -> str:
    """A break-even as one sentence."""
    first, later = (w[:1].upper() + w[1:] for w in (even.first, even.later))
    if even.quantity is None:
        return f"{first} cost less than {even.later} at any quantity."
    if even.quantity == 1:
        return f"{later} cost less than {even.first} at any quantity."
    few = f"up to {even.quantity - 1} parts in the lot"
    return f"{first} cost less than {even.later} {few}, {even.later} from {even.quantity} on."


def pairs(costs: Sequence[Cost]) -> tuple[BreakEven, ...]:
    """Break-even of every two ways."""
    return tuple(break_even(a, b) for i, a in enumerate(costs) for b in costs[i + 1 :])


def hard_jaws(shop: Shop, quantity: int) -> tuple[float, float]:
    """(minutes, money) of a lot with hard jaws."""
    c = of_hard(shop)
    return c.minutes(quantity), c.money(quantity)


def soft_jaws(
    shop: Shop, quantity: int, blank: Blank, cutting_minutes: float | None, *, strips: bool = False
) -> tuple[float, float]:
    """(minutes, money) of a lot with a pair of soft jaws cut in ``blank``: new, or one of the rack anew."""
    c = of_new(shop, blank, cutting_minutes, strips=strips)
    return c.minutes(quantity), c.money(quantity)
