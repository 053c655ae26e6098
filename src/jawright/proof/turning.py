"""A round part in a round nest: located in X and Y, free to turn about its own center.

All bearing walls are arcs about one center, so nothing presses on a turn. That costs nothing while
everything made here is about the same center; anything else needs the turn to be set.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from jawright.geometry.curve import Arc
from jawright.geometry.profile import Region
from jawright.hold.model import Contact, Hold, MadeFeature
from jawright.mechanics.locate import Freedom
from jawright.proof.say import Say

CONCENTRIC = 0.01
"""Distance [mm] of two centers that counts as none: a tenth of a feeler (common practice, no source)."""
ORIENTATION = {"parallelism", "perpendicularity", "angularity"}


@dataclass(frozen=True, slots=True)
class OwnTurn:
    """The one freedom of a round part. ``needs`` names what made here needs a set turn."""

    center: tuple[float, float]
    needs: tuple[str, ...]


def own_turn(hold: Hold, contacts: Sequence[Contact], free: Sequence[Freedom]) -> OwnTurn | None:
    """The turn about the part's own center when that is all that is free; None otherwise.

    ``contacts`` are those in the plane; each must bear on an arc about the common center.
    """
    if len(free) != 1 or not contacts or abs(free[0].move[2]) == 0.0:
        return None
    dx, dy, turn = free[0].move
    x, y = -dy / turn, dx / turn
    for c in contacts:
        core = (c.point[0] + c.normal[0] * c.radius_part, c.point[1] + c.normal[1] * c.radius_part)
        if c.radius_part == 0.0 or math.dist(core, (x, y)) > CONCENTRIC:
            return None
    needs = [f.name for f in hold.features if not _about(f, (x, y))]
    needs += [
        t.feature
        for t in hold.tolerances
        if t.kind in ORIENTATION and any(_stands(hold, d) for d in t.datums) and t.feature not in needs
    ]
    return OwnTurn((x + 0.0, y + 0.0), tuple(dict.fromkeys(needs)))


def freedom_words(free: Freedom, say: Say) -> str:
    """A freedom in the reader's unit: "slides along X", "turns about (12.5, -3.0) mm"."""
    dx, dy, turn = free.move
    if "turns about Z at" not in free.words:
        return free.words
    return f"turns about {say.at(-dy / turn, dx / turn)}"


def _stands(hold: Hold, letter: str) -> bool:
    return any(d.letter == letter and d.kind == "plane" and abs(d.normal[2]) < 0.9 for d in hold.datums)


def _about(f: MadeFeature, center: tuple[float, float]) -> bool:
    if f.kind == "face":
        return True
    if math.dist(f.center[:2], center) > CONCENTRIC:
        return False
    return f.region is None or round_about(f.region, center)


def round_about(region: Region, center: tuple[float, float]) -> bool:
    """Whether every edge of a region is an arc about ``center`` [mm]."""
    curves = [c for p in (region.outer, *region.holes) for c in p.curves]
    return all(isinstance(c, Arc) and math.dist(c.center, center) <= CONCENTRIC for c in curves)
