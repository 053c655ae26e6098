"""Cutting a pair that exists anew: how often its height allows, and whether a new pocket swallows the old."""

from __future__ import annotations

import math
from dataclasses import replace

from shapely import affinity, box
from shapely.geometry.base import BaseGeometry

from jawright.geometry.polygon import to_polygon
from jawright.jaws.model import Jaws
from jawright.jaws.place import WEB
from jawright.rack.model import Pair
from jawright.shop.model import Blank, Vise

CLEAN = 0.3
"""Metal [mm] a re-cut takes off at least, so that it cuts and does not rub (common practice, no source)."""

FAR = 1e4  # [mm] beyond any jaw


def lowest_top(blank: Blank, vise: Vise, depth: float) -> float:
    """Lowest top [mm] the jaws may be faced to: pocket above the screws, top not below the vise's body.

    The screws count over the whole length: the next part may lie over them.
    """
    head = blank.bolt_height + max(blank.counterbore, blank.bolt_hole) / 2 + WEB
    return max(head + depth, vise.body_height)


def bars_facing(pair: Pair, vise: Vise, depth: float) -> str:
    """What stands against facing it clean of its pocket to cut ``depth`` [mm] deep; "" when nothing does."""
    height, least = faced(pair, deepest(pair)), lowest_top(pair.blank, vise, depth)
    if height >= least - 1e-9:
        return ""
    what = "the vise's body" if least == vise.body_height else f"a pocket {depth:g} mm deep over the screws"
    return f"faced clean it would stand {height:.2f} mm high, and {what} needs {least:.2f} mm"


def left(pair: Pair, vise: Vise, depth: float) -> int:
    """How many more times the pair can be faced clean of its pocket and cut ``depth`` [mm] deep."""
    return count(pair.height, pair.blank, vise, deepest=deepest(pair), depth=depth)


def count(height: float, blank: Blank, vise: Vise, *, deepest: float, depth: float) -> int:
    """The same from the height left and the depth of the deepest cut [mm]."""
    limit = lowest_top(blank, vise, depth)
    times, top = 0, height - deepest - CLEAN if deepest > 0 else height
    while top >= limit - 1e-9 and times < 99:
        times += 1
        top -= depth + CLEAN
    return times


def deepest(pair: Pair) -> float:
    """Depth [mm] of the deepest cut below the present top, wells included; 0 when nothing is cut."""
    depths = [0.0]
    for c in pair.cuts:
        lowest = min([c.jaws.floor, *(w.bottom for w in c.jaws.wells)])
        depths.append(c.jaws.top - lowest)
    return max(depths)


def faced(pair: Pair, depth: float) -> float:
    """Height [mm] after the top is faced clean of a pocket ``depth`` deep."""
    return pair.height - depth - CLEAN if depth > 0 else pair.height


def as_blank(pair: Pair, height: float) -> Blank:
    """The pair as a blank to cut from: ``height`` as it is or is faced to [mm], two pieces, paid for."""
    faced_from = pair.height if height < pair.height - 1e-9 else 0.0
    return replace(
        pair.blank,
        id=pair.id,
        height=height,
        stock=2,
        price=0.0,
        bar_thickness=0.0,
        pair=pair.id,
        faced_from=faced_from,
    )


def halves(jaws: Jaws) -> tuple[BaseGeometry, BaseGeometry]:
    """What is cut in the fixed and in the floating jaw, each from its own front face (Y 0).

    The floating jaw's half is mirrored in Y, so that depth counts alike in both.
    """
    pocket = to_polygon(jaws.pocket, 0.005)
    fixed = pocket.intersection(box(-FAR, 0.0, FAR, FAR))
    floating = affinity.translate(pocket, yoff=jaws.gap).intersection(box(-FAR, -FAR, FAR, 0.0))
    return fixed, affinity.scale(floating, yfact=-1.0, origin=(0.0, 0.0))


def swallows(new: Jaws, old: Jaws) -> tuple[bool, str]:
    """Whether the new pocket takes all of the old one away, with metal to spare; else why not.

    In plan each half of the old pocket lies within the new one's, ``CLEAN`` inside where it is a wall
    (not where both end at the front face), and the new floor is no higher.
    """
    if new.floor > old.floor + 1e-9:
        return False, f"its floor would lie {new.floor - old.floor:.2f} mm above the old one"
    for side, n, o in zip(("fixed", "floating"), halves(new), halves(old), strict=True):
        grown = o.buffer(CLEAN, quad_segs=8).intersection(box(-FAR, 0.0, FAR, FAR))
        over = grown.difference(n)
        if over.area > 1e-3 * max(1.0, grown.length):
            x, y = over.representative_point().coords[0]
            return False, (
                f"the old pocket shows in the {side} jaw at X {x:+.1f}, {y:.1f} mm deep: "
                f"the new one must reach {CLEAN:g} mm beyond it"
            )
    return True, ""


def clear_of_back(new: Jaws, pair: Pair) -> tuple[bool, float]:
    """Whether a new cut in a free side leaves metal to what is cut in the other side; and how much [mm].

    Flipped about Z, a jaw shows its other face: X and depth are counted from the other end.
    """
    least = math.inf
    for c in pair.cuts:
        for n, o in zip(halves(new), halves(c.jaws), strict=True):
            behind = affinity.translate(
                affinity.scale(o, xfact=-1.0, yfact=-1.0, origin=(0.0, 0.0)), yoff=pair.blank.thickness
            )
            least = min(least, n.distance(behind))
    return least >= WEB - 1e-9, least


def bars_free_side(new: Jaws, pair: Pair) -> str:
    """What stands against a new cut in the free side; "" when nothing does."""
    clear, left = clear_of_back(new, pair)
    if clear or not pair.cuts:
        return ""
    return f"only {left:.1f} mm would be left to what is cut in its other side, {WEB:g} mm are needed"


def bars_recut(new: Jaws, pair: Pair) -> str:
    """What stands against cutting it anew at the same height; "" when the new pocket takes the old away."""
    taken, why = swallows(new, pair.cuts[0].jaws)
    return "" if taken else why
