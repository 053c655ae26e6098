"""The tip's way through a program as points, to be drawn: what the reader understood.

Lengths in mm, feeds in mm/min, speeds in rev/min.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from jawright.jaws.model import Jaws
from jawright.shop.model import Shop
from jawright.verify.place import Frame, place
from jawright.verify.reader import read
from jawright.verify.sweep import Run

CHORD = 0.05
"""Arcs are drawn as chords this close [mm]."""
ABOVE = 25.0
"""Places above the metal are drawn no higher than this [mm]."""


@dataclass(frozen=True, slots=True)
class Step:
    """One move: ``points`` of the tip in the vise frame (x, y, z) [mm], the first where it starts."""

    line: int  # of the program, 1-based
    rapid: bool
    cutter: str  # id in the shop, "" unknown
    diameter: float  # [mm], 0 unknown
    seconds: float  # at the feed in force, 0 for rapids
    points: tuple[tuple[float, float, float], ...]


def trace(
    text: str, *, origin: tuple[float, float, float], turned: bool, jaws: Jaws, shop: Shop
) -> tuple[Step, ...]:
    """Every move of a program whose place in the plan is known, in order.

    Parameters
    ----------
    text, origin, turned, jaws, shop : as ``verify.check.check`` takes them.
    """
    cutters = {c.number: c for c in shop.cutters}
    top = max(jaws.fixed.height, jaws.floating.height, jaws.top)
    frame = Frame(origin, turned, top)
    out = []
    for move in read(text, diameters={n: c.diameter for n, c in cutters.items()}).moves:
        path = place(move, frame)
        cutter = cutters.get(move.tool) if move.tool is not None else None
        if not path.known:
            continue
        points = [p for i, run in enumerate(path.runs) for p in _points(run, top + ABOVE)[min(i, 1) :]]
        rapid = move.kind == "rapid"
        out.append(
            Step(
                move.line,
                rapid,
                cutter.id if cutter else "",
                cutter.diameter if cutter else 0.0,
                0.0 if rapid or move.feed <= 0 else 60.0 * move.length / move.feed,
                tuple(points),
            )
        )
    return tuple(out)


def _points(run: Run, highest: float) -> list[tuple[float, float, float]]:
    """A run as chords."""
    n = 1
    if run.center is not None:
        step = 2 * math.acos(max(0.0, 1 - CHORD / max(run.radius, 2 * CHORD)))
        n = max(2, math.ceil(abs(run.sweep) / step))
    return [(*run.at(k / n), min(run.z0 + (run.z1 - run.z0) * k / n, highest)) for k in range(n + 1)]
