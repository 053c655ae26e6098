"""Jaws cut down beside a wall that is milled past them, so that its cutter meets no jaw.

The jaws end short of such a wall (``hold.outline``); beside it the pocket runs on as far as the cutter
goes, and deeper than the floor. Lengths in mm, angles in rad.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

from jawright.geometry.curve import Arc, Line, right_normal
from jawright.geometry.offset import opening
from jawright.geometry.profile import Profile, Region
from jawright.hold import milled
from jawright.hold.features import choose_cutter
from jawright.hold.found import Ask
from jawright.hold.narrow import FREE
from jawright.hold.outline import DRAWN, INSIDE
from jawright.hold.view import View
from jawright.jaws.model import Well
from jawright.jaws.needs import Needs
from jawright.jaws.place import BACK, Place
from jawright.part.model import Part
from jawright.shop.model import Shop

BELOW = 1.5  # [mm] the jaws are cut down so far below the part's underside there (common practice, no source)
ROOM = 1.0  # [mm] the cut is wider than what the cutter sweeps by this (common practice, no source)
STRIP = 12.0  # [mm] of jaw beyond the cut, less is not left standing (common practice, no source)
AT_END = math.cos(math.radians(30.0) + DRAWN)  # a wall this square to the jaws' length lies at the part's end
PURPOSE = "room beside "


@dataclass(frozen=True, slots=True)
class Beside:
    """A straight wall milled past the jaws: its curve of the outline, its feature, its cutter's diameter.

    ``rounds`` tells whether a rounded corner at its start, and at its end, is milled with it; ``hollows``
    whether the outline turns inward there, where its cutter goes no further than the next wall.
    """

    index: int
    feature: str
    cutter: float
    rounds: tuple[bool, bool] = (False, False)
    hollows: tuple[bool, bool] = (False, False)


def milled_beside(view: View, ask: Ask, part: Part, shop: Shop) -> tuple[Beside, ...]:
    """The straight walls of the outline that are milled down into the grip, with what mills them."""
    out = []
    narrows = dict(view.narrows)
    for f in ask.features:
        faces = milled.deep(f, part, view.up)
        mine = [i for i in view.milled if view.faces[i] in faces]
        within = narrows.get(f.ask.name, FREE)
        cutter = choose_cutter(f.ask, None, shop, within=within)[0].diameter if mine else 0.0
        curves = view.outline.curves
        for i in (i for i in mine if isinstance(curves[i], Line)):
            beside = ((i - 1) % len(curves), (i + 1) % len(curves))
            rounds = tuple(k in view.milled and milled.rounded(curves, k) for k in beside)
            hollows = (milled.hollow(curves, i, -1), milled.hollow(curves, i, 1))
            out.append(Beside(i, f.ask.name, cutter, (rounds[0], rounds[1]), hollows))
    return tuple(out)


def with_room(needs: Needs, profile: Profile, past: Sequence[Beside], radius: float) -> Needs:
    """What the jaws need besides, to be cut down with a cutter of ``radius`` [mm] beside those walls."""
    if not past:
        return needs
    x0, y0, x1, y1 = needs.box
    boxes = [_slab(profile, b, radius).outer.box for b in past]
    return replace(
        needs,
        beyond=max(needs.beyond, *(max(b[2] - x1, x0 - b[0]) for b in boxes)),
        over=max(max(b[3] - y1, y0 - b[1]) for b in boxes),
        well_depth=max(needs.well_depth, BELOW),
        well_in_gap=True,
        holes=(
            *needs.holes,
            *(((b[0] + b[2]) / 2, (b[1] + b[3]) / 2, (b[2] - b[0]) / 2) for b in boxes),
        ),
    )


def regions(
    profile: Profile, past: Sequence[Beside], place: Place, radius: float, *, alone: bool = True
) -> tuple[Region, ...]:
    """Where the jaws are cut down beside the seated outline, each as a cutter of ``radius`` leaves it.

    What would be left standing as a thin strip at the jaw's end or back goes with it; not at the end where
    the part is not ``alone``: its neighbors get the same.
    """
    out: list[Region] = []
    for b in past:
        out += opening([_slab(profile, b, radius, place, alone=alone)], radius)
    return tuple(out)


def wells(cut: Sequence[Region], past: Sequence[Beside], floor: float) -> tuple[Well, ...]:
    """The room below the floor, one for each wall."""
    return tuple(
        Well(r, floor - BELOW, floor, f"{PURPOSE}{b.feature}") for r, b in zip(cut, past, strict=True)
    )


def _slab(
    profile: Profile, b: Beside, radius: float, place: Place | None = None, *, alone: bool = True
) -> Region:
    """The rectangle beside one wall, from ``INSIDE`` behind it; in a ``place`` without thin strips.

    At a rounded corner it goes as far back beside the next wall as the cutter that goes round it; at a hollow
    one it ends at the next wall, and is as high there as the cutter goes. It is never too narrow for the
    cutter that cuts the jaws, of ``radius`` [mm], whatever mills the wall.
    """
    wall = profile.curves[b.index]
    assert isinstance(wall, Line)
    (tx, ty), (nx, ny) = wall.tangent(0.0), right_normal(wall, 0.5)
    wide = max(b.cutter / 2, radius)
    far = 2 * wide + ROOM
    before, back_before = _beyond(profile, b, wide, -1)
    after, back_after = _beyond(profile, b, wide, 1)
    if place is not None and abs(nx) > AT_END:
        rest = place.blank.length / 2 - math.copysign(1.0, nx) * (wall.at(0.5)[0] + nx * far)
        far += rest / abs(nx) + 2 * radius + ROOM if rest < STRIP and alone else 0.0
        backs = (place.blank.thickness, -place.gap - place.blank.thickness)
        before += 0.0 if b.hollows[0] else _to_back(wall.start[1] - before * ty, backs, radius)
        after += 0.0 if b.hollows[1] else _to_back(wall.end[1] + after * ty, backs, radius)

    def at(end: tuple[float, float], along: float, out: float) -> tuple[float, float]:
        return (end[0] + along * tx + out * nx, end[1] + along * ty + out * ny)

    a, z = wall.start, wall.end
    corners = [at(a, -before, -back_before)]
    for end, hollow, way, reach in ((a, b.hollows[0], -1, before), (z, b.hollows[1], 1, after)):
        corner = milled.corner_radius(profile.curves, b.index, way)
        high = milled.reach_in_hollow(wide, corner) + ROOM if hollow else far
        top = [at(end, way * reach, max(far, high))]
        top += [at(end, -way * (wide + ROOM), high), at(end, -way * (wide + ROOM), far)] if high > far else []
        corners += top if way < 0 else reversed(top)
    corners.append(at(z, after, -back_after))
    corners += [at(z, 0.0, -back_after), at(z, 0.0, -INSIDE)] if b.rounds[1] else []
    corners += [at(a, 0.0, -INSIDE), at(a, 0.0, -back_before)] if b.rounds[0] else []
    sides = tuple(Line(p, q) for p, q in zip(corners, (*corners[1:], corners[0]), strict=True))
    return Region(Profile(sides))


def _beyond(profile: Profile, b: Beside, wide: float, way: int) -> tuple[float, float]:
    """How far the room goes on past an end of a wall (``way`` -1: its start), and back behind it there [mm].

    Round a corner with a cutter of radius ``wide`` [mm] that goes on to where the next wall begins.
    """
    side = 0 if way < 0 else 1
    if b.hollows[side]:
        return milled.corner_radius(profile.curves, b.index, way) + INSIDE, INSIDE
    if not b.rounds[side]:
        return wide + ROOM, INSIDE
    wall, arc = (profile.curves[i % len(profile.curves)] for i in (b.index, b.index + way))
    assert isinstance(wall, Line) and isinstance(arc, Arc)
    (tx, ty), (nx, ny) = wall.tangent(0.0), right_normal(wall, 0.5)
    here, there, share = (wall.start, arc.start, 0.0) if way < 0 else (wall.end, arc.end, 1.0)
    ox, oy = right_normal(arc, share)
    x, y = there[0] + wide * ox - here[0], there[1] + wide * oy - here[1]
    out = max(
        way * (x * tx + y * ty), way * ((arc.center[0] - here[0]) * tx + (arc.center[1] - here[1]) * ty)
    )
    return max(out, 0.0) + wide + ROOM, max(INSIDE, -(x * nx + y * ny) + wide + ROOM)


def _to_back(y: float, backs: tuple[float, float], radius: float) -> float:
    """How much further a cut that ends at ``y`` goes, so that no thin wall stays at the jaw's back."""
    fixed, floating = backs
    left = fixed - y if y > 0 else y - floating
    return left + 2 * radius + ROOM if left < BACK else 0.0
