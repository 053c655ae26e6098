"""Invented pairs for the register: pockets of many sizes and forms, by number."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np

import samples
from jawright.geometry.curve import Arc, Line
from jawright.geometry.profile import Profile, Region
from jawright.jaws.model import Zone
from jawright.rack.model import Cut, Pair


def outline(seed: int) -> Profile:
    """A block with a rounded corner of its own at each end: width, height and radii by number."""
    rng = np.random.default_rng(seed)
    w, h = rng.uniform(25, 90), rng.uniform(18, 40)
    r = rng.uniform(2, min(w, h) / 3, 2)
    x0, x1, y0, y1 = 0.0, float(w), 0.0, float(h)
    a, b = float(r[0]), float(r[1])
    return Profile(
        (
            Line((x0 + a, y0), (x1 - b, y0)),
            Arc((x1 - b, y0), (x1, y0 + b), (x1 - b, y0 + b), True),
            Line((x1, y0 + b), (x1, y1)),
            Line((x1, y1), (x0, y1)),
            Line((x0, y1), (x0, y0 + a)),
            Arc((x0, y0 + a), (x0 + a, y0), (x0 + a, y0 + a), True),
        )
    )


def pocket_for(part: Profile, *, air: float = 0.18) -> tuple[Region, float]:
    """The part standing with its top 12 mm deep in the fixed jaw; pocket with air at the right end."""
    x0, y0, x1, y1 = part.box
    seated = part.moved(shift=(-(x0 + x1) / 2, 12.0 - y1))
    c = list(seated.curves)
    # the right wall moves out by ``air``; everything else is line to line
    out = []
    for k in c:
        ends = [(p[0] + air if p[0] > 0 else p[0], p[1]) for p in (k.start, k.end)]
        if isinstance(k, Arc):
            center = (k.center[0] + air if k.center[0] > 0 else k.center[0], k.center[1])
            out.append(Arc(ends[0], ends[1], center, k.ccw))
        else:
            out.append(Line(ends[0], ends[1]))
    gap = min(8.0, y1 - y0 - 14.0)
    return Region(Profile(tuple(out))), gap


def pair(seed: int, pair_id: str = "") -> Pair:
    part = outline(seed)
    pocket, gap = pocket_for(part)
    base = samples.jaws()
    top = next(c for c in pocket.outer.curves if c.length > 5 and c.at(0.5)[1] > 11.9)
    left = min((c for c in pocket.outer.curves), key=lambda c: c.at(0.5)[0])
    low = min((c for c in pocket.outer.curves), key=lambda c: c.at(0.5)[1])
    thick = base.floating.y1 - base.floating.y0
    jaws = replace(
        base,
        gap=gap,
        pocket=pocket,
        floating=replace(base.floating, y0=-gap - thick, y1=-gap),
        zones=(
            Zone("locate", "fixed", (top,), 0.0, "B", 1, "test"),
            Zone("stop", "fixed", (left,), 0.0, "C", 2, "test"),
            Zone("grip", "floating", (low,), 0.0, "", 3, "test"),
        ),
        reliefs=(),
        wells=(),
        tooling_hole=None,
    )
    x0, _, x1, y1 = part.box
    seated = part.moved(shift=(-(x0 + x1) / 2, 12.0 - y1))
    cut = Cut("front", f"W-{seed}", "A", "OP 20", "2026-01-05", jaws, Region(seated), 6.5, 24.0, "")
    return Pair(
        id=pair_id or f"T-{seed:05d}",
        blank=base.fixed.blank,
        height=base.top,
        vise="V1",
        cuts=(cut,),
        place=f"A-{seed % 7}",
    )


def turned_away(part: Profile, angle: float = math.pi) -> Profile:
    return part.moved(turn=angle, shift=(17.0, -4.0))
