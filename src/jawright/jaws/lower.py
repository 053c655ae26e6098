"""The lower level of a pocket: where the part reaches below the floor it stands on, the floor goes down too.

It hangs clear there, or stands on the lower floor as well. Lengths in mm.
"""

from __future__ import annotations

from collections.abc import Sequence

from shapely import Polygon, box, get_parts, union_all

from jawright.errors import JawrightError
from jawright.geometry.boolean import difference, intersection
from jawright.geometry.offset import offset, opening
from jawright.geometry.polygon import to_polygon
from jawright.geometry.profile import Region
from jawright.hold.model import Below, Hold
from jawright.jaws.model import LOWER_FLOOR, LOWER_LEVEL, ROOM_BELOW, Jaws, Well

CLEAR = 1.0
"""Air [mm] under what hangs clear: chips lie there and lift nothing (common practice, no source)."""
BESIDE = 0.5
"""Beyond its own radius the cutter passes what reaches down by this much [mm], away from the walls, so that
the corner it leaves there stays off the part (common practice, no source)."""
LAND = 0.3
"""The upper floor stands back from that by this much [mm]."""
FAR = 500.0  # [mm] beyond any jaw
LEAST = 0.05  # [mm²] of the part that the lower level may miss: chords


def deepest(below: Sequence[Below]) -> float:
    """How far below the floor the jaws are cut [mm], 0 when nothing reaches below it."""
    return max((b.depth + (0.0 if b.soles else CLEAR) for b in below), default=0.0)


def wells(
    below: Sequence[Below], soles: Sequence[Region], *, pocket: Region, floor: float, radius: float
) -> tuple[Well, ...]:
    """What is cut below the floor for all that reaches there; along the pocket's walls right down them.

    ``soles`` is what the upper floor carries, ``radius`` [mm] that of the pocket's cutter, which makes the
    lower level as well. Raises ``hold-none`` where that cutter leaves metal in the part's way.
    """
    out: list[Well] = []
    for b in below:
        near = offset(b.region, radius + BESIDE)
        land = [q for s in soles for q in difference(s, near)]
        grown = [q for s in land for q in offset(s, LAND)]
        wide = [q for r in offset(b.region, 2 * radius + BESIDE) for q in intersection(r, pocket)]
        free = difference(wide, grown) if grown else tuple(wide)
        own = to_polygon(b.region, 0.01)
        made = [r for r in opening(free, radius) if to_polygon(r, 0.01).intersection(own).area > LEAST]
        missed = own
        for r in made:
            missed = missed.difference(to_polygon(r, 0.01).buffer(0.02))
        if missed.area > LEAST:
            x, y = missed.representative_point().coords[0]
            raise JawrightError(
                "hold-none",
                what=f"what reaches {b.depth:.2f} mm below the floor would meet metal at "
                f"X {x:.2f}, Y {y:.2f} mm with the cutter at hand",
                todo="add a smaller sharp-cornered end mill to the shop",
            )
        bottom = floor - b.depth - (0.0 if b.soles else CLEAR)
        out += [Well(r, bottom, floor, LOWER_FLOOR if b.soles else ROOM_BELOW) for r in made]
    return tuple(out)


def lacking(hold: Hold, jaws: Jaws) -> str:
    """Why jaws that exist do not take what reaches below the floor, in words; "" when they do."""
    made = [w for w in jaws.wells if w.purpose in LOWER_LEVEL]
    air = box(-FAR, -jaws.gap, FAR, 0.0)
    for b in hold.below:
        deep = [to_polygon(w.region, 0.01) for w in made if hold.floor - b.depth >= w.bottom - 1e-6]
        if to_polygon(b.region, 0.01).difference(union_all([*deep, air]).buffer(0.02)).area > LEAST:
            return f"its pocket has no room for what reaches {b.depth:.2f} mm below the floor"
    return ""


def floors(jaws: Jaws) -> tuple[Polygon, ...]:
    """The lower floors that are there, less the deeper wells in them."""
    deeper = [to_polygon(w.region, 0.02) for w in jaws.wells if w.purpose not in LOWER_LEVEL]
    jaw = [box(j.x0, j.y0, j.x1, j.y1) for j in (jaws.fixed, jaws.floating)]
    own = [to_polygon(w.region, 0.02) for w in jaws.wells if w.purpose == LOWER_FLOOR]
    left = [f.intersection(j).difference(union_all(deeper)) for f in own for j in jaw]
    return tuple(p for f in left for p in get_parts(f) if isinstance(p, Polygon) and not p.is_empty)


def told(below: Sequence[Below], reason: str) -> tuple[str, ...]:
    """What the jaws do about the second level, in words; nothing where there is none."""
    clear = sorted({round(b.depth, 3) for b in below if not b.soles})
    stood = sorted({round(b.depth, 3) for b in below if b.soles})
    out = []
    if stood:
        levels = " and ".join(f"{d:.2f} mm" for d in stood)
        out.append(
            f"the floor is cut at two levels, {levels} apart, since {reason}: measure that step in the cut "
            "jaws before the first part goes in"
        )
    if clear:
        levels = " and ".join(f"{d:.2f} mm" for d in clear)
        out.append(
            f"the floor lies {levels} above the part's lowest point ({reason}): what reaches below it hangs "
            f"clear by {CLEAR:g} mm in a pocket of its own and carries nothing"
        )
    return tuple(out)
