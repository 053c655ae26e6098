"""What comes after the pocket: spot, edge break, drill, bore and text."""

from __future__ import annotations

import math
from collections.abc import Sequence

from jawright.cutting import pick, small
from jawright.cutting.blocks import Block, Setup, add
from jawright.cutting.paths import Trail
from jawright.errors import JawrightError
from jawright.jaws.model import ToolingHole
from jawright.shop.model import Cutter

BREAK = "break the pocket's upper edge"

LIGHT = 0.05
"""Engraving is so shallow that its chip is that of a radial engagement of this share of the diameter."""


def blocks(setup: Setup, notes: list[str], pocket: Sequence[Block], *, turned: bool) -> list[Block]:
    """The ``pocket``'s blocks and those before and after it; what no cutter can do is added to ``notes``.

    Where the hole is circled to size by a cutter that works in the pocket, and the spot drill is not wanted
    for the edge afterward, the hole is drilled first and that cutter called once.
    Raises ``shop-no-cutter`` when the tooling hole cannot be made.
    """
    jaws = setup.jaws
    start: list[Block] = []
    point = pick.spotter(setup.shop)
    if point is not None:
        start.append(_pointed(setup, point, notes))
    elif jaws.edge_break > 0:
        notes.append("no spot drill in the shop: break the pocket's upper edge by hand with a file")
    edge = bool(start) and BREAK in start[0].purposes
    out = list(pocket)
    if jaws.tooling_hole is not None:
        *start_hole, size = _hole(setup, jaws.tooling_hole, notes, spotted=point is not None)
        same = [b for b in out if b.cutter is size.cutter]
        if same and not edge:
            same[-1].append(size)
            out = [*start, *start_hole, *out]
        else:
            out += [*start, *start_hole, size]
    else:
        out += start
    out.append(_text(setup, notes, turned=turned))
    return [b for b in out if b.steps]


def _pointed(setup: Setup, cutter: Cutter, notes: list[str]) -> Block:
    """What the spot drill does: the hole's start and the edge break."""
    jaws = setup.jaws
    block = setup.block(cutter, "")
    hole = jaws.tooling_hole
    if hole is not None:
        add(setup, block, lambda t: small.spot(t, hole, cutter, block.feed), "spot the tooling hole")
        block.purposes.append("spot the tooling hole")
    if jaws.edge_break > 0:
        lack = (
            small.no_edge_break(jaws, cutter)
            if pick.right_point(cutter)
            else "no 90 degree point in the shop"
        )
        if lack:
            notes.append(f"break the pocket's upper edge by hand with a file: {lack}")
        else:
            add(setup, block, lambda t: small.edge_break(t, jaws, cutter, block.feed), BREAK)
            block.purposes.append(BREAK)
    does = ["starts the drill true"] if hole is not None else []
    does += ["breaks the edge by 45 degrees"] if BREAK in block.purposes else []
    block.reason = " and, with the same point, ".join(does)
    return block


def _hole(setup: Setup, hole: ToolingHole, notes: list[str], *, spotted: bool) -> list[Block]:
    """Drill, then bore: drilling makes the hole, boring puts it in its place."""
    shop = setup.shop
    out: list[Block] = []
    twist = pick.hole_drill(shop, hole.drill, hole=hole.diameter, depth=hole.depth)
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
        late = "" if spotted else "; not spotted, since the shop has no spot drill"
        block = setup.block(twist, f"nearest drill under the bore{late}")
        add(setup, block, lambda t: small.drill(t, hole, twist, block.feed), "drill the tooling hole")
        block.purposes.append("drill the tooling hole")
        out.append(block)
    out.append(_size(setup, hole, last, notes))
    return out


def _size(setup: Setup, hole: ToolingHole, cutter: Cutter, notes: list[str]) -> Block:
    """The tooling hole to size and place."""
    feed = setup.rate(cutter, radial=None, light=True).feed

    def fill(trail: Trail) -> None:
        if cutter.kind == "end mill":
            small.mill_bore(trail, hole, cutter, 0.5 * feed)
        else:
            small.bore(trail, hole, feed)

    reason, verb = "boring puts the hole where the machine goes; a drill wanders", "bore"
    if cutter.kind == "end mill":
        reason = (
            "no boring bar of this size: an end mill circles the hole to size, which also puts it in place"
        )
        verb = "circle"
    elif cutter.kind == "reamer":
        reason, verb = "no boring bar of this size: the reamer makes the size but follows the drill", "ream"
        notes.append("the tooling hole is reamed, not bored: indicate it before trusting its position")
    block = setup.block(cutter, reason)
    add(setup, block, fill, f"{verb} the tooling hole to size")
    block.purposes.append(f"{verb} the tooling hole to size")
    return block


def _text(setup: Setup, notes: list[str], *, turned: bool) -> Block:
    """The identification on both jaws; an empty block when nothing is, or can be, engraved."""
    jaws = setup.jaws
    wanted = [(t, side) for side, t in enumerate(jaws.text) if t.strip()]
    cutter = pick.engraver(setup.shop)
    if cutter is None:
        if wanted:
            notes.append(
                "no engraver in the shop: stamp by hand " + " and ".join(f'"{t}"' for t, _ in wanted)
            )
        return Block(setup.shop.cutters[0], 0.0, 0.0, "")
    feed = setup.rate(cutter, radial=LIGHT * cutter.diameter).feed
    block = setup.block(cutter, "fine point: engraves the identification")
    block.feed = feed
    width = 2 * small.ENGRAVE * math.tan(0.5 * cutter.tip_angle) + 2 * cutter.corner_radius
    for text, side in wanted:
        at = jaws.text_at[side]
        height = small.text_height(text, at, jaws, side=side, width=width)
        if height == 0.0:
            notes.append(f'no room to engrave "{text}": stamp it by hand')
            continue
        if lost := small.unknown(text):
            notes.append(f'"{lost}" of "{text}" cannot be engraved: add it by hand')
        lines = small.strokes(text, at=at, height=height, turned=turned)

        def fill(trail: Trail, lines: list[list[tuple[float, float]]] = lines) -> None:
            small.engrave(trail, lines, top=jaws.top, feed=feed)

        add(setup, block, fill, f"text {text}")
    block.purposes.append("engrave the identification")
    return block
