"""The cutter that finishes the pocket."""

from __future__ import annotations

from collections.abc import Sequence

from jawright.errors import JawrightError
from jawright.geometry.curve import Arc
from jawright.geometry.profile import Profile
from jawright.hold.outline import Wall
from jawright.jaws.grooves import SHARP, WIDEST_UNDER, undercutter
from jawright.shop.model import Cutter

REACH_PAST = 1.3  # [mm] flutes must be longer than the pocket is deep by this (common practice, no source)
USUAL_LARGEST = (
    10.0  # [mm] larger cutters make corner reliefs that eat the walls (common practice, no source)
)
STOUT = 3.0  # depth over diameter up to which a finishing cutter stays straight (common practice, no source)
PART_SHARE = 8.0  # and so do cutters over an eighth of the part's length (common practice, no source)


def pocket_cutter(
    cutters: Sequence[Cutter],
    walls: Sequence[Wall],
    *,
    depth: float,
    edge_break: float,
    outline: Profile,
    growth: float,
    only: str = "",
) -> Cutter:
    """The largest sharp end mill that can make the walls the part bears on.

    Floor and walls must meet sharper than the part's lower edge is broken, or the part is
    held up. Among those that reach, the largest that still follows the tightest convex
    arc of the bearing walls, not over 10 mm and not over an eighth of the part's length; and
    when one is stout enough, one that also goes into the part's rounded corners at their
    smallest (``growth`` [mm] less than nominal), so that they need no relief. Where the shop has no end
    mill that sharp, the root of the walls is undercut and any may do it.

    ``only`` names the one cutter that may do it. Raises ``shop-no-cutter`` when no end mill is sharp
    enough, ``hold-none`` when none reaches, ``value-bad`` when the one named is no end mill or too blunt.
    """
    mills = [c for c in cutters if c.kind == "end mill" and only in ("", c.id)]
    sharp = [c for c in mills if c.corner_radius <= max(SHARP, edge_break)]
    if not sharp and undercutter(cutters, depth, widest=WIDEST_UNDER) is not None:
        sharp = mills  # the corner is undercut instead
    if only and not sharp:
        raise JawrightError(
            "value-bad",
            what=f"cutter {only} cannot finish the pocket: it is no end mill whose corner is as sharp as the "
            f"part's lower edge is broken, {edge_break:g} mm",
            where="[hold] jaw_cutter",
            todo="name a sharp-cornered end mill, or leave the cutter to be chosen",
        )
    if not sharp:
        raise JawrightError(
            "shop-no-cutter",
            what="the shop has no end mill sharp enough for the corner between floor and wall: "
            f"the part's lower edge is broken by {edge_break:g} mm",
            where="cutters",
            todo="add a sharp-cornered end mill, or break the part's edge by more than a cutter's corner",
        )
    reach = [c for c in sharp if c.flute_length >= depth + REACH_PAST]
    if not reach:
        longest = max(c.flute_length for c in sharp)
        raise JawrightError(
            "hold-none",
            what=f"no sharp end mill reaches: the pocket is {depth:.2f} mm deep, "
            f"the longest flutes are {longest:g} mm",
            where="cutters",
            todo="add a longer end mill or choose a smaller grip depth",
        )
    tight = [w.curve.radius for w in walls if isinstance(w.curve, Arc) and w.curve.ccw]
    limit = min([*tight, USUAL_LARGEST / 2])
    box = outline.box
    limit = min(limit, max((box[2] - box[0]) / PART_SHARE, 3.0) / 2)
    rounded = [c.radius for c in outline.curves if isinstance(c, Arc) and c.ccw]
    if rounded and any(
        c.diameter / 2 <= min(rounded) - growth and depth <= STOUT * c.diameter for c in reach
    ):
        limit = min(limit, min(rounded) - growth)
    fits = [c for c in reach if c.diameter / 2 <= limit + 1e-9]
    pool = fits or [min(reach, key=lambda c: c.diameter)]
    truly = [c for c in pool if c.corner_radius <= SHARP] or pool
    return max(truly, key=lambda c: (c.diameter, -c.corner_radius, c.id))
