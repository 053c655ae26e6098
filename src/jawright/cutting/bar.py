"""The program that makes a jaw blank from bar: its front face, counterbores and bolt holes, nothing else."""

from __future__ import annotations

import math
from dataclasses import replace

import shapely

from jawright.cutting.blocks import Block, Means, add
from jawright.cutting.clearing import from_inside, levels
from jawright.cutting.metal import Metal, shrunk
from jawright.cutting.model import Program
from jawright.cutting.paths import Heights, Trail, minutes
from jawright.cutting.pick import NOSE
from jawright.cutting.plans import CLEAR, HOP, LINK
from jawright.cutting.program import SAFE_STATE, block_lines, cutter_list, text_format, use
from jawright.cutting.words import Axes, Text, check_format
from jawright.errors import JawrightError
from jawright.geometry.curve import Arc, Line
from jawright.geometry.profile import Profile, Region, circle
from jawright.jaws.model import Bar
from jawright.job.model import Job
from jawright.shop.model import Cutter, Shop, Vise

OVER_EDGE = 0.75
"""Step-over of the facing passes as a share of the diameter (common practice, no source)."""

OUT = 3.0
"""Facing passes begin and end this far [mm] off the bar."""

WIDEST = 0.92
"""Widest cutter for a hole, as a share of its width: it must have room to go round."""

TRIED = 4
"""How many cutters are tried for counterbores and holes."""

THROUGH = 0.5
"""Cutters go this far [mm] below the back face."""

FACE_STOCK = 0.05
"""A bar thicker than the blank by less than this [mm] is not faced."""


def write_blank(bar: Bar, shop: Shop, job: Job, *, vise: Vise) -> Program:
    """The program that makes one blank from bar while it lies in hard jaws, its front face up.

    Parameters
    ----------
    bar : the blank as it is held
    shop, job : as for the jaws' program; the job names it
    vise : the vise it is held in

    Returns the program; the same inputs give the same bytes. Raises ``shop-no-cutter`` or ``value-bad``.
    Valid for bars whose faces are parallel; the faces not named in the text stay as sawn or drawn.
    """
    nc = text_format(shop, job)
    check_format(nc)
    turned = not vise.fixed_jaw_rear
    x0, _, x1, _ = bar.box
    axes = Axes((x1 if turned else x0, 0.0, bar.front), turned)
    heights = Heights(bar.top + CLEAR, bar.top + HOP)
    means = Means(shop, heights, min(shop.machine.feed_max, LINK), (bar.blank.material,))
    blocks = _blocks(means, bar)
    text = Text(nc, axes)
    name = " ".join(w for w in (job.part_number or job.name, job.revision, "blank", bar.blank.id) if w)
    words = (
        "X0 at the left end of the bar, Y0 at the fixed jaw's face"
        + (
            ", program axes turned half a turn because the fixed jaw is nearest the operator"
            if turned
            else ""
        )
        + f", Z0 {text.say(bar.stock - bar.blank.thickness)} below the bar's upper face"
    )
    _head(text, bar, name=name, words=words)
    cutter_list(text, blocks, (), top=bar.top)
    text.comment("Mandatory stop: bar seated on both parallels, vise tight, handle off, vise clear of chips?")
    text.block("M0")
    for k, block in enumerate(blocks):
        block_lines(text, block, last=k == len(blocks) - 1)
    text.block("G40 G49 G80 G90")
    if nc.machine_top:
        text.machine_top()
    text.lines += list(nc.end_lines)
    text.block("M30")
    uses = tuple(use(b, shop) for b in blocks)
    total = math.fsum(u.minutes for u in uses) + len(blocks) * shop.machine.tool_change / 60.0
    return Program(name, "\n".join(text.lines) + "\n", nc.units, uses, total, axes.origin, words, turned)


def _head(text: Text, bar: Bar, *, name: str, words: str) -> None:
    b = bar.blank
    text.block("G21" if text.nc.units == "mm" else "G20")
    text.lines += list(text.nc.start_lines)
    text.block(SAFE_STATE)
    size = f"{text.say(b.length)} long, {text.say(b.height)} wide, {text.say(bar.stock)} thick"
    faced = bar.stock - b.thickness > FACE_STOCK
    faces = (
        "Front face, counterbores and bolt holes are cut" if faced else "Counterbores and bolt holes are cut"
    )
    for line in (
        name,
        f"Makes one jaw blank from {b.material} bar {size}: run it once a jaw.",
        f"All lengths in {text.nc.units}. {faces}; back, bottom, top and ends stay as sawn or drawn.",
        "Back and bottom must be flat and square to each other.",
        f"{text.nc.work_offset}: {words}.",
        f"Bottom edge on the fixed jaw, on two parallels {bar.parallel.id} ({text.say(bar.parallel.height)} "
        f"high), one along each jaw. Grip {text.say(bar.jaw_top - bar.back)} deep in hard jaws.",
        f"The finished front face stands {text.say(bar.front - bar.jaw_top)} above the hard jaws.",
        "Break the edges by hand with a file before the blank is mounted. Sawn ends are sharp.",
        "First run: doors shut, rapids low, hand on feed hold, watch the first move of each cutter down.",
    ):
        text.comment(line)


def _blocks(means: Means, bar: Bar) -> list[Block]:
    """Face, then counterbores and holes with as few cutters as make them."""
    out: list[Block] = []
    if bar.stock - bar.blank.thickness > FACE_STOCK:
        face = _facer(means.shop, bar)
        r = means.rate(face, radial=OVER_EDGE * face.diameter)
        out.append(Block(face, r.spindle, r.feed, "covers the bar in the fewest passes"))
        add(means, out[-1], lambda t: _face(t, bar, face, r.feed), "face the front")
        out[-1].purposes.append("face the front")
    ways = [_bored(means, bar, out, bore, hole) for bore, hole in _borers(means.shop, bar)]
    machine = means.shop.machine
    cost = [
        sum(minutes(b.steps, rapid=machine.rapid) + machine.tool_change / 60.0 for b in way) for way in ways
    ]
    return ways[cost.index(min(cost))]


def _bored(means: Means, bar: Bar, before: list[Block], bore: Cutter, hole: Cutter) -> list[Block]:
    """The blocks before, and counterbores and bolt holes with these two cutters, which may be one."""
    out = [b.copy() for b in before]
    if not out or bore is not out[-1].cutter:
        both = "counterbore and bolt hole" if bore is hole else "counterbore"
        out.append(means.block(bore, f"fits the {both} and takes the least time"))
    b = bar.blank
    _sink(means, out[-1], _slot(bar, b.counterbore / 2), (bar.front, bar.floor), "counterbores")
    if bore is not hole:
        out.append(means.block(hole, "fits the bolt hole and reaches through"))
    _sink(means, out[-1], _slot(bar, b.bolt_hole / 2), (bar.floor, bar.back - THROUGH), "bolt holes")
    return out


def _facer(shop: Shop, bar: Bar) -> Cutter:
    """A face mill, else an end mill: the largest that is not absurdly larger than the bar."""
    able = [
        c for c in shop.cutters if c.kind in ("face mill", "end mill") and c.diameter <= 2 * bar.blank.height
    ]
    if not able:
        raise JawrightError(
            "shop-no-cutter",
            what="no face mill or end mill faces the bar",
            where=f"blank {bar.blank.id}",
            todo="add one to the shop, or use bar of the blank's own thickness",
        )
    return max(able, key=lambda c: (c.diameter, -c.corner_radius, -c.number))


def _borers(shop: Shop, bar: Bar) -> list[tuple[Cutter, Cutter]]:
    """Pairs of cutters for counterbore and bolt hole worth trying; one for both where one does."""
    b = bar.blank
    deep = b.thickness + THROUGH
    mills = [c for c in shop.cutters if c.kind == "end mill" and c.center_cutting and c.corner_radius == 0.0]
    mills = sorted(mills, key=lambda c: (-c.diameter, c.number))
    bores = [
        c
        for c in mills
        if c.diameter < WIDEST * b.counterbore
        and c.reach >= b.counterbore_depth + NOSE
        and c.flute_length >= b.counterbore_depth
    ]
    holes = [
        c
        for c in mills
        if c.diameter < WIDEST * b.bolt_hole
        and c.reach >= deep + NOSE
        and c.flute_length >= deep - b.counterbore_depth
    ]
    both = [(c, c) for c in bores if c in holes][:TRIED]
    if both:
        return both
    if not bores or not holes:
        what = "counterbores" if not bores else "bolt holes"
        raise JawrightError(
            "shop-no-cutter",
            what=f"no center-cutting end mill makes the {what} of blank {b.id}",
            where=f"{b.bolt_hole:g} mm wide, {b.thickness:g} mm deep",
            todo="add a longer or smaller end mill to the shop",
        )
    return [(bores[0], holes[0])]


def _slot(bar: Bar, radius: float) -> list[Region]:
    """Each bolt's round or slot of this half width."""
    half = bar.blank.slot_length / 2
    out = []
    for x, y in bar.bolts:
        if half == 0.0:
            out.append(Region(circle((x, y), radius)))
            continue
        a, b = x - half, x + half
        low, high = y - radius, y + radius
        curves = (
            Line((a, low), (b, low)),
            Arc((b, low), (b, high), (b, y), True),
            Line((b, high), (a, high)),
            Arc((a, high), (a, low), (a, y), True),
        )
        out.append(Region(Profile(curves)))
    return out


def _face(trail: Trail, bar: Bar, cutter: Cutter, feed: float) -> None:
    """Passes along X over the whole front, there and back, begun and ended in air."""
    x0, y0, x1, y1 = bar.box
    r = cutter.diameter / 2
    n = max(1, math.ceil((y1 - y0 - 0.2 * cutter.diameter) / (OVER_EDGE * cutter.diameter)))
    pitch = (y1 - y0) / n
    a, b = x0 - r - OUT, x1 + r + OUT
    trail.hop((a, y0 + pitch / 2))
    trail.down(bar.front, trail.link)
    for k in range(n):
        y = y0 + (k + 0.5) * pitch
        if k:
            trail.line((trail.xy[0], y), feed)
        trail.line((b if trail.xy[0] < 0.0 else a, y), feed)


def _sink(means: Means, block: Block, regions: list[Region], z: tuple[float, float], what: str) -> None:
    """Regions to size from the inside out, level by level."""
    cutter = block.cutter
    how = means.clearing(cutter)
    how = replace(how, ramp_share=1.0 if means.easy else how.ramp_share)  # the ramps here are short and thin
    top, bottom = z
    steps = levels(top, bottom, means.step_down(cutter))

    def fill(trail: Trail) -> None:
        for region in regions:
            x0, y0, x1, y1 = region.outer.box
            at = top
            for low in steps:
                metal = Metal(shapely.box(x0 - 1, y0 - 1, x1 + 1, y1 + 1))
                from_inside(trail, metal, how, regions=shrunk(region, how.radius), z=(at, low))
                at = low

    add(means, block, fill, f"cut the {what}")
    block.purposes.append(f"cut the {what}")
    block.step_over = max(block.step_over, how.step_over)
    block.step_down = max(block.step_down, top - steps[0])
