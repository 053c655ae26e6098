"""The size of blank that would hold a part that none of the shop's takes: found by trying, not by rules.

A blank as large as the vise takes comes first; if jaws can be cut in it, it is made smaller for as long as
they still can. So what is asked for is what serves, and nothing is asked for that would not help.

Lengths in mm.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

from jawright import choose, trial, tries
from jawright.choose import Candidate
from jawright.hold import stance
from jawright.hold.resolve import Ask
from jawright.jaws.place import BEST_GAP, LOADING
from jawright.job.model import Job
from jawright.part.model import Part
from jawright.shop.model import Blank, Shop, Vise

ID = "the largest the vise takes"
HIGHER = (0.0, 25.0)
"""Heights above the highest of the shop's blanks that are tried [mm]."""
ENDS = 30.0
"""Length of jaw beyond the part at either end that is enough for any of its reliefs and end walls [mm]."""
LONGEST = 2.5
"""Jaws are at most so many times as long as the vise: beyond it nothing is behind them (common practice, no
source)."""
LENGTHS, HEIGHTS, THICKNESSES = 5.0, 1.0, 0.5
"""Steps in which sizes are told [mm]: nobody saws a length to the tenth."""


@dataclass(frozen=True, slots=True)
class Wanted:
    """A blank that would do and what it would hold; or, without one, why no size of blank would."""

    blank: Blank | None
    words: str
    """The stance, "datum B on the fixed jaw"; or why the largest that the vise takes does not serve."""


def wanted(part: Part, job: Job, shop: Shop, ask: Ask) -> Wanted:
    """The smallest blank, within steps, in which jaws could be cut for the part; its other figures are those
    of the shop's own that fits the vise best.

    Raises as ``trial.vises`` does.
    """
    vises, job = trial.vises(part, job, shop), replace(job, hold=replace(job.hold, blank=""))
    why, widest = "the shop has none", 0.0
    for vise in vises:
        for largest in _largest(part, job, shop, vise):
            found = trial.candidates(part, job, replace(shop, blanks=(largest,)), ask, [vise])
            best = next((c for c in choose.ranked(found) if c.draft is not None), None)
            if best is None:
                if vise.span >= widest and (told := _why(found)):
                    why, widest = told, vise.span
                continue

            def serves(b: Blank, best: Candidate = best, vise: Vise = vise) -> bool:
                assert best.view is not None
                turn, own = stance.Turn(best.turn, best.why_tried, best.rank_hint), replace(shop, blanks=(b,))
                tried = tries.soft(best.view, turn, vise, part=part, job=job, shop=own, ask=ask)
                return not tries.alone(tried).lost

            return Wanted(_smaller(largest, serves), best.why_tried)
    return Wanted(None, why)


def _largest(part: Part, job: Job, shop: Shop, vise: Vise) -> list[Blank]:
    """Blanks as large as the vise takes, of the metal asked for, in each height that is tried."""
    fits = [b for b in shop.blanks if abs(b.bolt_spacing - vise.bolt_spacing) <= max(b.slot_length, 0.5)]
    own = fits or [replace(b, bolt_spacing=vise.bolt_spacing) for b in shop.blanks]
    if not own:
        return []
    like = max(own, key=lambda b: (b.height, b.length, b.thickness, b.id))
    like = replace(like, material=job.hold.jaw_material or like.material)
    length = max(*(b.length for b in own), min(max(part.size) + 2 * ENDS, LONGEST * vise.span))
    thickness = (vise.opening - LOADING - BEST_GAP) / 2
    return [
        replace(like, id=ID, length=length, thickness=thickness, height=like.height + more, stock=2)
        for more in HIGHER
    ]


def _smaller(blank: Blank, serves: Callable[[Blank], bool]) -> Blank:
    """The blank made smaller in whole steps, one way after the other, for as long as it serves."""
    start = blank
    blank = replace(blank, length=_least(start.length, LENGTHS, lambda v: serves(replace(start, length=v))))
    long = blank
    blank = replace(blank, height=_least(long.height, HEIGHTS, lambda v: serves(replace(long, height=v))))
    low = blank
    thin = _least(low.thickness, THICKNESSES, lambda v: serves(replace(low, thickness=v)))
    return replace(low, thickness=thin)


def _least(size: float, step: float, serves: Callable[[float], bool]) -> float:
    """The least whole number of steps that serves, by halving; ``size`` itself where no such does."""
    low, high = 0, math.floor(size / step)
    if high == 0 or not serves(high * step):
        return size
    while high - low > 1:
        middle = (low + high) // 2
        low, high = (low, middle) if serves(middle * step) else (middle, high)
    return high * step


def _why(found: Sequence[Candidate]) -> str:
    """Why the best of the stances in soft jaws was lost."""
    lost = [c for c in found if c.kind == "soft jaws" and c.lost]
    best = min(lost, key=lambda c: (c.rank_hint, len(c.lost)), default=None)
    return "" if best is None else f"{best.why_tried}: {best.lost}"
