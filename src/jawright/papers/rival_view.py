"""The stances that were tried, side by side, small.

Lengths in mm, angles in rad.
"""

from __future__ import annotations

import math

from jawright.geometry.profile import Region
from jawright.papers.ink import (
    INK,
    PLAIN,
    QUIET,
    SMALL,
    THICK,
    THIN,
    Ink,
    fit_scale,
    num,
    pen,
)
from jawright.papers.measure import Reader
from jawright.papers.plan_view import FIXED, FLOATING, PART
from jawright.record import Record, Rival

MOST = 8
LISTED = 12
NEIGHBOR = math.radians(15)


def distinct(record: Record) -> list[Rival]:
    """The rivals worth telling apart, best first: close neighbors in turn are left out."""
    out: list[Rival] = []
    for v in record.rivals:
        near = any(
            v.kind == k.kind
            and max(abs(a - b) for a, b in zip(v.up, k.up, strict=True)) < 1e-6
            and abs(math.remainder(v.turn - k.turn, 2 * math.pi)) < NEIGHBOR
            for k in out
        )
        if v.chosen or not near:
            out.append(v)
    return out[:LISTED]


def drawn(record: Record) -> list[tuple[Rival, Region]]:
    """Rivals whose outline follows from the chosen one's: same face up, another turn."""
    hold = record.hold
    if hold is None:
        return []
    out = []
    for v in distinct(record):
        if max(abs(a - b) for a, b in zip(v.up, hold.stance.up, strict=True)) < 1e-6:
            out.append((v, hold.outline.moved(turn=v.turn - hold.stance.turn)))
    return out[:MOST]


def rival_view(record: Record, *, width: float = 186.0) -> str | None:
    """SVG of the rivals in a row of small pictures, or None when there are fewer than two to show."""
    shown = drawn(record)
    hold = record.hold
    if len(shown) < 2 or hold is None:
        return None
    r = Reader(record.job.units)
    columns = min(4, len(shown))
    rows = -(-len(shown) // columns)
    cell, high, jaw, head = width / columns, 36.0, 4.0, 10.0
    boxes = [q.outer.box for _, q in shown]
    widest, tallest = max(b[2] - b[0] for b in boxes), max(b[3] - b[1] for b in boxes)
    scale = fit_scale(widest, tallest, paper=(cell - 10, high - head - 2 * jaw - 4))
    ink = Ink(width, rows * high, "Rival stances", scale=scale)
    ink.mirror = not hold.vise.fixed_jaw_rear
    s = -scale if ink.mirror else scale
    for i, (v, region) in enumerate(shown):
        left, top = (i % columns) * cell, (i // columns) * high
        x0, y0, x1, y1 = region.outer.box
        tall = scale * (y1 - y0)
        upper = top + head + jaw
        ink.zero = (left + cell / 2 - s * (x0 + x1) / 2, upper + s * (y0 if ink.mirror else y1))
        names = ((upper - jaw, FIXED), (upper + tall, FLOATING))
        for at, fill in names if not ink.mirror else ((upper - jaw, FLOATING), (upper + tall, FIXED)):
            ink.add("ground", f'<rect x="{num(left + 3)}" y="{num(at)}" width="{num(cell - 6)}" '
                    f'height="{num(jaw)}" fill="{fill}" {pen(THIN)}/>')  # fmt: skip
        ink.region(region, "metal", f'fill="{PART if v.chosen else "#ffffff"}"')
        ink.region(region, "thick", pen(THICK if v.chosen else THIN, color=INK if v.chosen else QUIET))
        title = f"{v.rank}. {v.kind}, {r.value(math.remainder(v.turn, 2 * math.pi), 'rad', digits=1)}"
        ink.text((left + 3, top + 3), title, size=PLAIN, bold=v.chosen, anchor="start")
        words = _yield(v)
        ink.text((left + 3, top + 6.8), words + (" · chosen" if v.chosen else ""), size=SMALL, anchor="start")
    return ink.svg()


def _yield(v: Rival) -> str:
    if v.predicted_yield is None:
        return "ruled out before its yield was asked"
    return f"predicted yield {100 * v.predicted_yield:.1f} %"
