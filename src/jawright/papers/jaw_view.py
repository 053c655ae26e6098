"""Each jaw dimensioned well enough to make it by hand: numbered corners from a stated zero, radii, depths.

Lengths in mm, angles in rad.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass

from jawright.geometry.curve import Arc, Curve, Point
from jawright.geometry.cuts import split
from jawright.geometry.profile import Profile
from jawright.jaws.model import CHIP_SLOT, LOWER_LEVEL, Jaw, Jaws, Well
from jawright.papers.ink import (
    FINE,
    HIDDEN,
    QUIET,
    SMALL,
    THICK,
    THIN,
    Ink,
    fit_scale,
    pen,
    scale_words,
)
from jawright.papers.jaw_detail import detail, draw
from jawright.papers.measure import Reader
from jawright.papers.plan_marks import zero_mark
from jawright.papers.plan_view import FIXED, FLOATING, FLOOR
from jawright.papers.show import Grid
from jawright.papers.stack_view import elevation
from jawright.record import Record


@dataclass(frozen=True, slots=True)
class Corner:
    """A joint of the pocket's wall in one jaw, and the run to the next one (None: it leaves the jaw)."""

    number: int
    at: Point
    next: Curve | None


def zero_of(record: Record) -> tuple[Point, float, str]:
    """Zero of the jaw drawings in the vise frame, the sign of their axes, and the words for it."""
    hold, jaws = record.hold, record.jaws
    assert hold is not None and jaws is not None
    sign = 1.0 if hold.vise.fixed_jaw_rear else -1.0
    if record.program is not None:  # one zero for drawing and program
        return record.program.origin[:2], sign, record.program.origin_words
    if jaws.tooling_hole is not None:
        return jaws.tooling_hole.center, sign, "X0 Y0 at the middle of the tooling hole in the fixed jaw"
    x = jaws.fixed.x0 if sign > 0 else jaws.fixed.x1
    return (x, jaws.fixed.y0), sign, "X0 at the fixed jaw's left end, Y0 at its front face"


def corners(jaw: Jaw, jaws: Jaws) -> list[Corner]:
    """The pocket's wall inside one jaw, joint by joint; numbers go on through all its chains."""
    front = jaw.y0 if jaw.side == "fixed" else jaw.y1
    out: list[Corner] = []
    for p in (jaws.pocket.outer, *jaws.pocket.holes):
        for chain in _chains(p, jaw, front):
            closed = math.dist(chain[0].start, chain[-1].end) < 1e-6
            for c in chain:
                out.append(Corner(len(out) + 1, c.start, c))
            if not closed:
                out.append(Corner(len(out) + 1, chain[-1].end, None))
    return out


def _chains(p: Profile, jaw: Jaw, front: float) -> list[list[Curve]]:
    pieces = split(p.curves, 1, (front,))
    inside = [jaw.y0 - 1e-9 < c.at(0.5)[1] < jaw.y1 + 1e-9 for c in pieces]
    if all(inside):
        return [pieces]
    n = len(pieces)
    chains: list[list[Curve]] = []
    for i in (k for k in range(n) if inside[k] and not inside[k - 1]):
        chain = []
        k = i
        while inside[k % n]:
            chain.append(pieces[k % n])
            k += 1
        chains.append(chain)
    return chains


def jaw_view(record: Record, side: str, *, width: float = 186.0) -> str:
    """SVG of one jaw from above and from its front, corners numbered as in ``corner_grid``."""
    jaws, hold = record.jaws, record.hold
    assert jaws is not None and hold is not None
    r = Reader(record.job.units)
    jaw = jaws.fixed if side == "fixed" else jaws.floating
    fill = FIXED if side == "fixed" else FLOATING
    first = record.job.projection == "first angle"  # the front view stands above the plan
    left, right, between, under = 17.0, 17.0, 15.0, 10.0
    over = 14.0 if first else 7.0  # the front view carries a dimension on top
    w, t, h = jaw.x1 - jaw.x0, jaw.y1 - jaw.y0, jaw.height
    scale = fit_scale(w, t + h, paper=(width - left - right, 92.0))
    found = corners(jaw, jaws)
    small = detail([c.at for c in found], jaw, jaws, scale=scale)
    views = scale * (t + h) + over + between
    ink = Ink(width, views + under + (small.high if small else 0.0), f"{side} jaw", scale=scale)
    ink.mirror = not hold.vise.fixed_jaw_rear
    s = -scale if ink.mirror else scale
    mid = width / 2 - s * (jaw.x0 + jaw.x1) / 2
    plan_top, front_top = (over + scale * h + between, over) if first else (over, over + scale * t + between)
    ink.zero = (mid, plan_top + s * (jaw.y0 if ink.mirror else jaw.y1))
    _from_above(ink, jaw, record, fill, numbered=[] if small else found)
    if small is not None:
        draw(ink, small, [(c.number, c.at) for c in found], jaws, top=views + 6.0, fill=fill)
    below = Ink(width, ink.height, "", scale=scale, zero=(mid, front_top + scale * h))
    below.flip_x = ink.mirror
    below.layers, below.defs, below.taken = ink.layers, ink.defs, ink.taken
    elevation(below, jaw, jaws, fill)
    _front_dims(below, jaw, jaws, r)
    order = "front face above, plan below" if first else "plan above, front face below"
    title = f"{side.upper()} JAW as it stands in the vise: {order} ({record.job.projection} projection)"
    ink.text((1.0, 2.6), title, size=SMALL, anchor="start", bold=True)
    ink.text(
        (1.0, ink.height - 2.2),
        "X runs alike in both views",
        size=SMALL,
        anchor="start",
        bold=True,
    )
    ink.text(
        (width - 1, ink.height - 2.2), f"scale {scale_words(scale)}", size=SMALL, anchor="end", bold=True
    )
    return ink.svg()


def _from_above(ink: Ink, jaw: Jaw, record: Record, fill: str, *, numbered: list[Corner]) -> None:
    jaws, r = record.jaws, Reader(record.job.units)
    assert jaws is not None
    ink.rect((jaw.x0, jaw.y0), (jaw.x1, jaw.y1), "ground", f'fill="{fill}"')
    ink.rect((jaw.x0, jaw.y0), (jaw.x1, jaw.y1), "jaw", pen(THICK))
    clip = f"one-{jaw.side}"
    box = "".join(
        ink.xy(p) + " " for p in ((jaw.x0, jaw.y0), (jaw.x1, jaw.y0), (jaw.x1, jaw.y1), (jaw.x0, jaw.y1))
    )
    ink.defs.append(f'<clipPath id="{clip}"><polygon points="{box.strip()}"/></clipPath>')
    use = f'clip-path="url(#{clip})"'
    for q in jaws.reliefs:
        ink.circle(q.center, q.radius, "metal", f'fill="{FLOOR}" {pen(THIN)} {use}')
    ink.region(jaws.pocket, "metal", f'fill="{FLOOR}" {use}')
    ink.region(jaws.pocket, "thick", f"{pen(THICK)} {use}")
    for w in jaws.wells:
        seen = w.top > jaws.top - 1e-6 or w.purpose in LOWER_LEVEL
        style = pen(THIN) if seen else pen(FINE, dash=HIDDEN)
        ink.region(w.region, "thin", f"{style} {use}")
    for x, _z in jaw.bolts:
        half = jaw.blank.bolt_hole / 2
        for dx in (-half, half):
            ink.line((x + dx, jaw.y0), (x + dx, jaw.y1), "thin", pen(FINE, dash=HIDDEN, color=QUIET))
    hole = jaws.tooling_hole
    if hole is not None and jaw.side == "fixed":
        ink.circle(hole.center, hole.diameter / 2, "thick", f'fill="{FLOOR}" {pen(THICK)}')
        ink.center_mark(hole.center, hole.diameter / 2)
        x, y = ink.put(hole.center)
        half = hole.diameter / 2 * ink.scale + 1.5
        ink.taken.append((x - half, y - half, x + half, y + half))
    zero = zero_of(record)[0]
    if jaw.x0 - 1e-6 <= zero[0] <= jaw.x1 + 1e-6 and jaw.y0 - 1e-6 <= zero[1] <= jaw.y1 + 1e-6:
        zero_mark(ink, zero, away=(1.0, -0.6))
    for c in numbered:
        x, y = ink.put(c.at)
        ink.add("mark", f'<circle cx="{x:.3f}" cy="{y:.3f}" r="0.7" fill="#1b1f24"/>')
        ink.taken.append((x - 0.8, y - 0.8, x + 0.8, y + 0.8))
    center = _center([c.at for c in numbered], jaw)
    for c in numbered:
        x, y = ink.put(c.at)
        px, py = ink.put(center)
        ink.label((x, y), f"{c.number}", bold=True, away=(x - px, y - py), reach=1.2)
    a, b = sorted((ink.put((jaw.x0, jaw.y0)), ink.put((jaw.x1, jaw.y0))))
    low = max(ink.put((0, jaw.y0))[1], ink.put((0, jaw.y1))[1])
    high = min(ink.put((0, jaw.y0))[1], ink.put((0, jaw.y1))[1])
    ink.dim((a[0], low), (a[0], high), r.size(jaw.y1 - jaw.y0), at=a[0] - 5.0, upright=True)
    if hole is not None and jaw.side == "fixed":
        x, y = ink.put(hole.center)
        left = abs(x - a[0]) / ink.scale
        ink.dim((a[0], low), (x, y), r.size(left), at=low + 4.0, upright=False)
        ink.dim((b[0], low), (x, y), r.size(hole.center[1] - jaw.y0), at=b[0] + 5.0, upright=True)


def _center(points: list[Point], jaw: Jaw) -> Point:
    if not points:
        return ((jaw.x0 + jaw.x1) / 2, (jaw.y0 + jaw.y1) / 2)
    xs, ys = [p[0] for p in points], [p[1] for p in points]
    return ((min(xs) + max(xs)) / 2, (min(ys) + max(ys)) / 2)


def _front_dims(ink: Ink, jaw: Jaw, jaws: Jaws, r: Reader) -> None:
    a, b = sorted((ink.put((jaw.x0, 0.0)), ink.put((jaw.x1, 0.0))))
    top = ink.put((0.0, jaw.height))[1]
    ink.dim(a, b, r.size(jaw.x1 - jaw.x0), at=a[1] + 5.0, upright=False)
    ink.dim(a, (a[0], top), r.size(jaw.height), at=a[0] - 5.0, upright=True)
    z = ink.put((0.0, jaws.floor))[1]
    ink.dim((b[0], z), (b[0], top), r.size(jaw.height - jaws.floor), at=b[0] + 5.0, upright=True)
    if jaw.bolts:
        at = sorted(ink.put(p) for p in jaw.bolts)
        ink.dim(
            at[0], at[-1], f"{r.size(jaw.bolts[-1][0] - jaw.bolts[0][0])} bolts", at=top - 4.0, upright=False
        )
        ink.dim((at[0][0], a[1]), at[0], r.size(jaw.bolts[0][1]), at=a[0] - 11.0, upright=True)


def corner_grid(record: Record, side: str) -> Grid:
    """Table of the numbered corners of one jaw."""
    jaws = record.jaws
    assert jaws is not None
    r = Reader(record.job.units)
    (zx, zy), s, words = zero_of(record)

    def place(p: Point) -> tuple[str, str]:
        return r.place(s * (p[0] - zx), unit=False), r.place(s * (p[1] - zy), unit=False)

    jaw = jaws.fixed if side == "fixed" else jaws.floating
    rows = []
    for c in corners(jaw, jaws):
        if c.next is None:
            run = "leaves the jaw at its front face"
        elif isinstance(c.next, Arc):
            x, y = place(c.next.center)
            way = "counter-clockwise" if c.next.ccw else "clockwise"
            run = f"arc R{r.place(c.next.radius, unit=False)}, {way}, center X{x} Y{y}"
        else:
            run = f"straight, {r.place(c.next.length, unit=False)} long"
        rows.append((f"{c.number}", *place(c.at), run))
    u = r.length_unit
    depth = r.size(jaws.top - jaws.floor)
    return Grid(
        f"{side.capitalize()} jaw: corners of the pocket, {depth} deep from the jaw's top",
        ("No.", f"X [{u}]", f"Y [{u}]", f"To the next [{u}]"),
        tuple(rows),
        (0.6, 1.5, 1.5, 5.0),
        (1, 2),
        note=words,
    )


def feature_grid(record: Record) -> Grid:
    """Reliefs, wells and the tooling hole of both jaws."""
    jaws = record.jaws
    assert jaws is not None
    r = Reader(record.job.units)
    (zx, zy), s, words = zero_of(record)

    def place(p: Point) -> str:
        return f"X{r.place(s * (p[0] - zx), unit=False)} Y{r.place(s * (p[1] - zy), unit=False)}"

    rows = []
    h = jaws.tooling_hole
    if h is not None:
        size = f"drilled Ø{r.size(h.drill)}, bored Ø{r.place(h.diameter)}"
        rows.append(("tooling hole", place(h.center), size, r.size(h.depth)))
    for q in jaws.reliefs:
        rows.append(
            ("corner relief", place(q.center), f"R{r.place(q.radius)}", r.size(jaws.top - jaws.floor))
        )
    for w in jaws.wells:
        at, shape = _groove(w, jaws, r) if w.width else _shape(w.region.outer, place, r)
        rows.append((w.purpose, at, shape, r.size(jaws.top - w.bottom)))
    rows += _edges_and_marks(jaws, place, r)
    return Grid(
        "Reliefs, wells and holes",
        ("What", f"Where [{r.length_unit}]", "Size", "Depth from the jaw's top"),
        tuple(rows),
        (2.6, 2.8, 3.2, 1.8),
        (3,),
        note=words,
    )


def _edges_and_marks(jaws: Jaws, place: Callable[[Point], str], r: Reader) -> list[tuple[str, str, str, str]]:
    """Rows for the broken edge, the blank's bolt holes, and the engraved words."""
    rows = []
    if jaws.edge_break > 0:
        size = f"{r.size(jaws.edge_break)} × 45°"
        rows.append(("edge break", "upper edge of the pocket, all round", size, r.size(jaws.edge_break)))
    b = jaws.fixed.blank
    slot = f"Ø{r.size(b.bolt_hole)}" + (f", slotted {r.size(b.slot_length)} along X" if b.slot_length else "")
    if b.counterbore_depth > 0:
        slot += f"; counterbore Ø{r.size(b.counterbore)}, {r.size(b.counterbore_depth)} deep from the front"
    rows.append(("bolt holes", "in the blank: see the front face", slot, "through"))
    for words, at, side in zip(jaws.text, jaws.text_at, ("fixed", "floating"), strict=True):
        if words and jaws.text_height > 0:
            high = f"{words}, {r.size(jaws.text_height)} high"
            rows.append((f"text, {side} jaw", f"from {place(at)}", high, ""))
    return rows


def _groove(w: Well, jaws: Jaws, r: Reader) -> tuple[str, str]:
    """Where a groove of the floor runs, and its width."""
    box = w.region.outer.box
    side = "fixed" if box[3] > 0 else "floating"
    if w.purpose == CHIP_SLOT:
        return f"{side} jaw, along Y, out into the gap", f"{r.size(w.width)} wide"
    off = min(
        jaws.pocket.outer.box[3] - box[3] if side == "fixed" else box[1] - jaws.pocket.outer.box[1], 1.0
    )
    where = "at the wall" if off < 1e-4 else f"{r.size(off)} off the wall"
    return f"{side} jaw, {where} all along", f"{r.size(w.width)} wide"


def _shape(p: Profile, place: object, r: Reader) -> tuple[str, str]:
    put = place if callable(place) else None
    assert put is not None
    arcs = [c for c in p.curves if isinstance(c, Arc)]
    if len(arcs) == len(p.curves) and all(math.dist(a.center, arcs[0].center) < 1e-6 for a in arcs):
        return put(arcs[0].center), f"Ø{r.size(2 * arcs[0].radius)}"
    x0, y0, x1, y1 = p.box
    radii = sorted({round(a.radius, 4) for a in arcs})
    tail = ", " + ", ".join(f"R{r.size(q)}" for q in radii) if radii else ""
    size = f"{r.size(x1 - x0, unit=False)} × {r.size(y1 - y0)} box{tail}"
    return "middle " + put(((x0 + x1) / 2, (y0 + y1) / 2)), size
