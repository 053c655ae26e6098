"""The designed pair as solids, to write as STEP and to draw."""

from __future__ import annotations

from jawright import kernel
from jawright.geometry.boolean import intersection
from jawright.geometry.curve import Arc, Line
from jawright.geometry.frame import Move
from jawright.geometry.profile import Profile, Region, circle, rectangle
from jawright.jaws.model import Jaw, Jaws

_LYING: Move = Move("prism", "vise", ((1.0, 0.0, 0.0), (0.0, 0.0, -1.0), (0.0, 1.0, 0.0)), (0.0, 0.0, 0.0))
"""Turns a prism drawn over (x, z) and rising along +Z so that it lies along -Y."""


def build(jaws: Jaws) -> tuple[bytes, bytes]:
    """Fixed and floating jaw as kernel solids in the vise frame [mm].

    Each is its blank box less bolt slots and counterbores, pocket (reliefs included), wells and,
    in the fixed jaw, the tooling hole. Left out: the edge break of the pocket, the engraved
    text and the drill point of the tooling hole. Raises ``geometry`` when a cut leaves no solid.
    """
    return _jaw(jaws, jaws.fixed), _jaw(jaws, jaws.floating)


def _jaw(jaws: Jaws, jaw: Jaw) -> bytes:
    body = kernel.extrude(Region(rectangle(jaw.x0, jaw.y0, jaw.x1, jaw.y1)), 0.0, jaw.height)
    tools = [t for x, z in jaw.bolts for t in _bolt(jaw, x, z)]
    tools += _sunk(jaw, jaws.pocket, jaws.floor, jaws.top)
    for well in jaws.wells:
        tools += _sunk(jaw, well.region, well.bottom, well.top)
    hole = jaws.tooling_hole
    if hole is not None and jaw.side == "fixed":
        x, y = hole.center
        radius, length = 0.5 * hole.diameter, hole.depth + (jaw.height - hole.top) + _PAST
        tools.append(kernel.cylinder((x, y, hole.top - hole.depth), (0.0, 0.0, 1.0), radius, length))
    return kernel.cut(body, *tools)


_PAST = 1.0
"""Cutting prisms stand out of the blank by this [mm], so that no two faces lie in one plane."""


def _sunk(jaw: Jaw, region: Region, bottom: float, top: float) -> list[bytes]:
    """Prisms that take ``region`` out of a jaw from ``bottom`` up; those that miss it are left out."""
    top = top + _PAST if top >= jaw.height - 1e-9 else top
    around = rectangle(jaw.x0 - _PAST, jaw.y0 - _PAST, jaw.x1 + _PAST, jaw.y1 + _PAST)
    return [kernel.extrude(r, bottom, top) for r in intersection(region, Region(around))]


def _bolt(jaw: Jaw, x: float, z: float) -> list[bytes]:
    """Slot through the jaw and its counterbore, which opens toward the part."""
    blank = jaw.blank
    toward_part = jaw.y0 if jaw.side == "fixed" else jaw.y1
    slot = _lying(_slot(x, z, blank.bolt_hole, blank.slot_length), jaw.y0 - _PAST, jaw.y1 + _PAST)
    deep = blank.counterbore_depth
    if deep <= 0:
        return [slot]
    a, b = (
        (toward_part - _PAST, toward_part + deep)
        if jaw.side == "fixed"
        else (toward_part - deep, toward_part + _PAST)
    )
    return [slot, _lying(_slot(x, z, blank.counterbore, blank.slot_length), a, b)]


def _lying(outline: Profile, y0: float, y1: float) -> bytes:
    """Prism over an outline in (x, z) from ``y0`` to ``y1``."""
    return kernel.moved(kernel.extrude(Region(outline), -y1, -y0), _LYING)


def _slot(x: float, z: float, width: float, length: float) -> Profile:
    """Counter-clockwise slot of a bolt of play ``length`` along X about ``(x, z)``; a circle when it is 0."""
    r, half = 0.5 * width, 0.5 * length
    if half <= 0:
        return circle((x, z), r)
    left, right = (x - half, z), (x + half, z)
    return Profile(
        (
            Line((left[0], z - r), (right[0], z - r)),
            Arc((right[0], z - r), (right[0], z + r), right, True),
            Line((right[0], z + r), (left[0], z + r)),
            Arc((left[0], z + r), (left[0], z - r), left, True),
        )
    )
