"""A cut through jaws, part and vise square to the jaws, and the spacer stack as the jaws are cut."""

from __future__ import annotations

import math
from dataclasses import dataclass

from jawright.geometry.curve import Point
from jawright.geometry.cuts import runs_at, skyline
from jawright.geometry.profile import Region
from jawright.hold.model import Hold
from jawright.hold.seen import Ring, cut_place, holes_seen
from jawright.jaws.model import Jaw, Jaws
from jawright.papers.ink import (
    CENTER,
    FINE,
    HIDDEN,
    INK,
    PHANTOM,
    QUIET,
    SMALL,
    THICK,
    THIN,
    Ink,
    fit_scale,
    num,
    pen,
    scale_words,
    spread,
)
from jawright.papers.measure import Reader
from jawright.papers.plan_view import FIXED, FLOATING, PART, frame_of
from jawright.record import Record

VISE = "#d9dcdf"
VISE_DEPTH = 8.0  # how much of the vise's own jaws is drawn [mm]
BED_DEPTH = 6.0


@dataclass(slots=True)
class _Cut:
    """Where the cut lies and how Y turns on paper."""

    x: float
    ink: Ink
    read: Reader


def front_view(record: Record, *, width: float = 110.0, high: float = 72.0) -> str:
    """SVG of the cut, operator on the left; ``width`` and most height of paper [mm]."""
    hold = record.hold
    assert hold is not None
    f = frame_of(hold, record.jaws)
    beyond = [p for ring in (record.seen.end if record.seen else ()) for p in ring]
    top_z = max(hold.part_top + hold.stock, hold.jaw_top, *(z for _, z in beyond))
    y0 = min(f.floating_y[0] - VISE_DEPTH, *(y for y, _ in beyond), f.floating_y[0])
    y1 = max(f.fixed_y[1] + VISE_DEPTH, *(y for y, _ in beyond), f.fixed_y[1])
    left, right, over, under = 31.0, 21.0, 6.0, 6.0
    scale = fit_scale(y1 - y0, top_z + BED_DEPTH, paper=(width - left - right, high))
    height = scale * (top_z + BED_DEPTH) + over + under
    x = cut_place(hold)
    ink = Ink(width, height, f"Cut through jaws and part, {scale_words(scale)}", scale=scale)
    # operator on the left: with the fixed jaw at the rear Y runs to the right
    flip = not hold.vise.fixed_jaw_rear
    ink.zero = (left - scale * y0 if not flip else left + scale * y1, over + scale * top_z)
    ink.flip_x = flip
    _vise(ink, hold, f.fixed_y, f.floating_y)
    cut = _Cut(x, ink, Reader(record.job.units))
    if record.jaws is not None:
        for jaw in (record.jaws.fixed, record.jaws.floating):
            _jaw(cut, jaw, record.jaws)
        if _stack_in_cut(cut, record.jaws):
            _phantom_stack(cut, record.jaws)
    else:
        _hard_jaws(ink, hold, f.fixed_y, f.floating_y)
        _parallels(ink, hold)
    if record.seen is not None and record.seen.cut is not None:
        _whole_part(cut, hold, record.seen.end, record.seen.cut)
    else:
        _part(cut, hold)
    _heights(cut, record, (y0, y1))
    _sides(ink)
    ink.text(
        (ink.width - 1, ink.height - 2), f"scale {scale_words(scale)}", size=SMALL, bold=True, anchor="end"
    )
    return ink.svg()


def _vise(ink: Ink, hold: Hold, fixed: Point, floating: Point) -> None:
    h = hold.vise.body_height
    y0, y1 = floating[0] - VISE_DEPTH, fixed[1] + VISE_DEPTH
    ink.rect((y0, -BED_DEPTH), (y1, 0.0), "ground", f'fill="{VISE}"')
    ink.rect((y0, 0.0), (floating[0], h), "ground", f'fill="{VISE}"')
    ink.rect((fixed[1], 0.0), (y1, h), "ground", f'fill="{VISE}"')
    ink.line((y0, 0.0), (y1, 0.0), "thick", pen(THICK))
    for inner, outer in ((floating[0], y0), (fixed[1], y1)):
        ink.line((inner, 0.0), (inner, h), "thick", pen(THICK))
        ink.line((inner, h), (outer, h), "thick", pen(THICK))


def _cut_metal(ink: Ink, y: Point, z: Point, *, fill: str, hatch: str) -> None:
    ink.rect((y[0], z[0]), (y[1], z[1]), "metal", f'fill="{fill}"')
    ink.rect((y[0], z[0]), (y[1], z[1]), "hatch", hatch)


def jaw_steps(jaw: Jaw, jaws: Jaws, x: float) -> list[tuple[float, float, float]]:
    """Top of the metal of a jaw at a cut: runs (y from, y to, z) [mm] from front to back, wells included."""
    marks = {jaw.y0, jaw.y1}
    cuts: list[tuple[float, float, float]] = []
    regions: list[tuple[Region, float]] = [(jaws.pocket, jaws.floor)]
    regions += [(w.region, w.bottom) for w in jaws.wells]
    for region, bottom in regions:
        cuts += [(a, b, bottom) for a, b in runs_at(region, 0, x)]
    for r in jaws.reliefs:
        d2 = r.radius**2 - (x - r.center[0]) ** 2
        if d2 > 0:
            cuts.append((r.center[1] - d2**0.5, r.center[1] + d2**0.5, jaws.floor))
    for a, b, _ in cuts:
        marks |= {min(max(v, jaw.y0), jaw.y1) for v in (a, b)}
    ys = sorted(marks)
    return skyline(ys, cuts, jaw.height)


def _jaw(cut: _Cut, jaw: Jaw, jaws: Jaws) -> None:
    ink = cut.ink
    steps = jaw_steps(jaw, jaws, cut.x)
    points: list[Point] = [(jaw.y0, 0.0)]
    for a, b, z in steps:
        points += [(a, z), (b, z)]
    points.append((jaw.y1, 0.0))
    d = "M" + "L".join(ink.xy(p) for p in points) + "Z"
    fill = FIXED if jaw.side == "fixed" else FLOATING
    hatch = ink.hatch(f"cut-{jaw.side}", angle=45 if jaw.side == "fixed" else -45)
    ink.add("metal", f'<path d="{d}" fill="{fill}"/>')
    ink.add("hatch", f'<path d="{d}" {hatch}/>')
    ink.add("thick", f'<path d="{d}" {pen(THICK)}/>')
    for _x, z in jaw.bolts[:1]:
        r = jaw.blank.bolt_hole / 2
        style = pen(FINE, dash=HIDDEN, color=QUIET)
        for dz in (-r, r):
            ink.line((jaw.y0, z + dz), (jaw.y1, z + dz), "thin", style)
        ink.line((jaw.y0 - 3, z), (jaw.y1 + 3, z), "thin", pen(FINE, dash=CENTER, color=QUIET))


def _stack_in_cut(cut: _Cut, jaws: Jaws) -> bool:
    """Whether a spacer stands where the cut lies; spacers beside the pocket do not."""
    return any(a < cut.x < b for a, b in jaws.stack.x_runs)


def _phantom_stack(cut: _Cut, jaws: Jaws) -> None:
    """The spacer stack is not there when parts are made: a phantom line shows where it was."""
    s = jaws.stack
    y = (-jaws.gap, 0.0) if abs(jaws.fixed.y0) < 1e-9 else (jaws.floating.y1, jaws.fixed.y0)
    cut.ink.rect((y[0], s.low), (y[1], s.high), "thin", pen(THIN, dash=PHANTOM))


def _hard_jaws(ink: Ink, hold: Hold, fixed: Point, floating: Point) -> None:
    for y, side, fill, angle in ((fixed, "fixed", FIXED, 45.0), (floating, "floating", FLOATING, -45.0)):
        hatch = ink.hatch(f"cut-{side}", angle=angle)
        _cut_metal(ink, y, (0.0, hold.vise.hard_jaw_height), fill=fill, hatch=hatch)
        ink.rect((y[0], 0.0), (y[1], hold.vise.hard_jaw_height), "thick", pen(THICK))


def _parallels(ink: Ink, hold: Hold) -> None:
    hatch = ink.hatch("cut-parallel", angle=20, gap=1.1)
    for k, p in enumerate(hold.parallels[:2]):
        y = -p.thickness if k == 0 else -hold.gap
        _cut_metal(ink, (y, y + p.thickness), (0.0, p.height), fill="#ffffff", hatch=hatch)
        ink.rect((y, 0.0), (y + p.thickness, p.height), "thick", pen(THICK))


def _part(cut: _Cut, hold: Hold) -> None:
    ink = cut.ink
    hatch = ink.hatch("cut-part", angle=-30, gap=1.3, color="#a07a20")
    runs = runs_at(hold.outline, 0, cut.x)
    holes = [
        (m.center[1] - (r2**0.5), m.center[1] + (r2**0.5), m)
        for m in holes_seen(hold)
        if m.diameter is not None
        and (r2 := (m.diameter / 2) ** 2 - (cut.x - m.center[0]) ** 2) > 0
    ]  # fmt: skip
    for a, b in runs:
        _cut_metal(ink, (a, b), (hold.floor, hold.part_top), fill=PART, hatch=hatch)
        ink.rect((a, hold.floor), (b, hold.part_top), "thick", pen(THICK))
        if hold.stock > 0:
            ink.rect((a, hold.part_top), (b, hold.part_top + hold.stock), "thin", pen(THIN, dash=PHANTOM))
    for a, b, m in holes:
        ink.rect((a, m.bottom), (b, hold.part_top), "hatch", 'fill="#ffffff"')
        ink.rect((a, m.bottom), (b, hold.part_top), "thick", pen(THICK))
        ink.line(
            (m.center[1], hold.floor - 3), (m.center[1], hold.part_top + 3), "thin", pen(FINE, dash=CENTER)
        )


def _whole_part(cut: _Cut, hold: Hold, end: tuple[Ring, ...], metal: tuple[Region, ...]) -> None:
    """The part's own cut, and behind it all that is seen of it from the end of the jaws."""
    ink = cut.ink
    hatch = ink.hatch("cut-part", angle=-30, gap=1.3, color="#a07a20")
    d = ink.rings(end)
    # below what is cut: metal of the jaws hides what lies behind it
    ink.add("jaw", f'<path d="{d}" fill="{PART}" fill-opacity="0.45" fill-rule="evenodd" {pen(THIN)}/>')
    for region in metal:
        ink.region(region, "metal", f'fill="{PART}"')
        ink.region(region, "hatch", hatch)
        ink.region(region, "thick", pen(THICK))
    if hold.stock > 0:
        top = [y for ring in end for y, z in ring if abs(z - hold.part_top) < 0.05]
        if top:
            corner = (max(top), hold.part_top + hold.stock)
            ink.rect((min(top), hold.part_top), corner, "thin", pen(THIN, dash=PHANTOM))
    for m in holes_seen(hold):
        if m.diameter is not None and abs(cut.x - m.center[0]) < m.diameter / 2:
            low, high = hold.floor - 3, hold.part_top + 3
            ink.line((m.center[1], low), (m.center[1], high), "thin", pen(FINE, dash=CENTER))


def _heights(cut: _Cut, record: Record, span: Point) -> None:
    """Heights above the bed on the left, grip depth and stick-out on the right."""
    ink, read, hold = cut.ink, cut.read, record.hold
    assert hold is not None
    lo_x = min(ink.put((span[0], 0.0))[0], ink.put((span[1], 0.0))[0])
    hi_x = max(ink.put((span[0], 0.0))[0], ink.put((span[1], 0.0))[0])
    runs = runs_at(hold.outline, 0, cut.x)
    ys = [ink.put((v, 0.0))[0] for v in (runs[0][0], runs[-1][1])]
    part_l, part_r = min(ys), max(ys)

    levels = [(hold.part_top, "part top", part_l), (hold.jaw_top, "jaw top", lo_x + VISE_DEPTH * ink.scale),
              (hold.floor, "floor", part_l), (0.0, "bed", lo_x)]  # fmt: skip
    low = {b.depth for b in hold.below if b.soles}
    levels += [(hold.floor - d, "lower floor", part_l) for d in sorted(low)]
    if record.jaws is not None:
        st = record.jaws.stack
        left = min(ink.put((y, 0.0))[0] for y in (-record.jaws.gap, 0.0))
        if not _stack_in_cut(cut, record.jaws):
            left = lo_x + VISE_DEPTH * ink.scale
        levels.append((st.high, "spacer top", left))
    rows = [(ink.put((0.0, z))[1], f"{w} {read.size(z)}", x) for z, w, x in levels]
    for (y, words, x), level in zip(rows, spread([r[0] for r in rows], 3.6, ink.height - 6.0), strict=True):
        ink.paper_line((x, y), (lo_x - 1.5, y), "dimension", pen(FINE))
        ink.paper_line((lo_x - 1.5, y), (lo_x - 4.0, level), "dimension", pen(FINE))
        ink.text((lo_x - 4.6, level), words, size=SMALL, anchor="end")
    _right_side(cut, record, part_r, hi_x)


def _right_side(cut: _Cut, record: Record, part_r: float, edge: float) -> None:
    """Stick-out, grip depth and the spacer, their words spread so that none covers another."""
    ink, read, hold = cut.ink, cut.read, record.hold
    assert hold is not None
    gaps = (
        (hold.part_top, hold.jaw_top, "stick-out", read.size(hold.part_top - hold.jaw_top)),
        (hold.jaw_top, hold.floor, "grip depth", read.size(hold.grip_depth)),
    )
    rows = []
    for a, b, word, value in gaps:
        ya, yb = ink.put((0.0, a))[1], ink.put((0.0, b))[1]
        for y in (ya, yb):
            ink.paper_line((part_r + 0.8, y), (edge + 3.2, y), "dimension", pen(FINE))
        ink.paper_line((edge + 2, ya), (edge + 2, yb), "dimension", pen(FINE))
        for y, sign in ((ya, -1.0), (yb, 1.0)):
            ink.head((edge + 2, y), sign * math.pi / 2, size=min(1.8, abs(yb - ya) / 2))
        rows.append(((edge + 2, (ya + yb) / 2), word, value))
    if record.jaws is not None and _stack_in_cut(cut, record.jaws):
        stack = record.jaws.stack
        low, high = stack.low, min(stack.high, hold.floor)
        p = ink.put((-record.jaws.gap / 2, 0.7 * low + 0.3 * max(high, low)))
        ink.paper_line(p, (edge + 2, p[1]), "dimension", pen(FINE))
        ink.add("dimension", f'<circle cx="{num(p[0])}" cy="{num(p[1])}" r="0.5" fill="{INK}"/>')
        rows.append(((edge + 2, p[1]), "spacer while", "jaws are cut"))
    levels = spread([p[1] for p, _, _ in rows], 7.6, ink.height)
    for (p, word, value), level in zip(rows, levels, strict=True):
        ink.paper_line(p, (edge + 5, level), "dimension", pen(FINE))
        ink.text((edge + 5.6, level - 1.6), word, size=SMALL, anchor="start")
        ink.text((edge + 5.6, level + 1.6), value, size=SMALL, anchor="start", bold=word != "spacer while")


def _sides(ink: Ink) -> None:
    x, y = 1.5, ink.height - 2.0
    ink.add("mark", f'<path d="M{num(x)} {num(y)}l2.4 -1.2v2.4Z" fill="{INK}"/>')
    ink.text((x + 3.4, y), "operator", size=SMALL, anchor="start", bold=True)
