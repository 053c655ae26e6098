"""How a blank that the shop makes from bar is held while its bolt holes are cut."""

from __future__ import annotations

from jawright.errors import JawrightError
from jawright.jaws.model import Bar
from jawright.shop.model import Blank, Parallel, Shop, Vise

OVER_JAWS = 1.0
"""Least height [mm] of the finished front face above the hard jaws: cutters pass over them."""

LEAST_GRIP = 5.0
"""Least depth [mm] gripped in the hard jaws (common practice: 5 to 6, no source)."""

BELOW = 3.0
"""Least height [mm] of the parallels: cutters go through the blank's back face."""

BESIDE = 1.0
"""Least air [mm] between a bolt hole and a parallel."""


def hold_bar(blank: Blank, shop: Shop, vise: Vise) -> Bar:
    """The blank lying in the vise's hard jaws on the lowest pair of parallels that lifts it far enough.

    Raises ``shop-no-parallel`` when no pair does, ``value-bad`` for a blank that is not made from bar or
    that the vise does not open for. Valid for bars with parallel faces.
    """
    where = f"blank {blank.id}"
    if blank.bar_thickness < blank.thickness:
        raise JawrightError(
            "value-bad",
            what=f"a bar {blank.bar_thickness:g} mm thick gives no blank of {blank.thickness:g} mm",
            where=where,
            todo="state bar_thickness, at least the blank's thickness",
        )
    if blank.height > vise.opening:
        raise JawrightError(
            "value-bad",
            what=f"vise {vise.id} opens {vise.opening:g} mm, the blank lies {blank.height:g} mm wide in it",
            where=where,
            todo="make it in a larger vise",
        )
    able = [p for p in shop.parallels if p.count >= 2 and _serves(p, blank, vise)]
    if not able:
        least = vise.hard_jaw_height + OVER_JAWS - blank.thickness
        raise JawrightError(
            "shop-no-parallel",
            what=f"no pair of parallels lifts the blank {max(least, BELOW):.1f} mm or more and leaves "
            f"{LEAST_GRIP:g} mm of grip beside the bolt holes",
            where=where,
            todo="add such a pair of parallels to the shop",
        )
    best = min(able, key=lambda p: (p.height, p.thickness, p.id))
    return Bar(blank, blank.bar_thickness, best, vise.hard_jaw_height)


def _serves(p: Parallel, blank: Blank, vise: Vise) -> bool:
    """High enough to cut over the jaws and through the back face, low enough to grip, clear of the holes."""
    front = p.height + blank.thickness
    hole = blank.bolt_hole / 2 + BESIDE
    clear = p.thickness <= min(blank.bolt_height, blank.height - blank.bolt_height) - hole
    grips = vise.hard_jaw_height - p.height >= LEAST_GRIP
    return clear and grips and p.height >= BELOW and front >= vise.hard_jaw_height + OVER_JAWS
