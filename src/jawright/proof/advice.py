"""Which spacers, at which height, would leave the least taper, and what the shop's own parallels can do.

Lengths in mm, angles in rad, forces in N, torques in N·m.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from jawright.jaws.model import Jaws, SpacerStack, Well
from jawright.jaws.spacers import CLEAR, Risers, Width, risers_in, stacks, widths
from jawright.proof import elastic
from jawright.proof.elastic_join import SIDES, Model, Mounts
from jawright.shop.model import Parallel

HEIGHTS = 9
"""Heights tried when the best one is looked for, before it is closed in on."""
SHORT = 10.0
"""A piece that much shorter than the jaws still stands under both spacers [mm]."""
TRIED = 8
"""Stacks of owned parallels that are worked out, those nearest the best height first."""


@dataclass(frozen=True, slots=True)
class Tried:
    """A spacer stack, the opening [mm] of both walls over the grip and the fixed wall's shift it leaves."""

    stack: SpacerStack
    taper: float
    shift: float
    bears: float | None  # height at which the spacers' force acts [mm]


@dataclass(frozen=True, slots=True)
class Advice:
    """The designed stack, the height that would be best for spacers like it, and the best owned stack."""

    now: Tried
    best: Tried
    owned: Tried
    count: int  # owned stacks tried


def leaves(m: Model, mounts: Mounts, stack: SpacerStack, *, cut_force: float, force: float) -> Tried | None:
    """Taper and shift that a stack leaves; None where its spacers would meet no metal."""
    cut = elastic.cut_state(m, mounts, stack, cut_force)
    if cut is None:
        return None
    got = {side: elastic.opening(m, side, mounts, force=force, cut=cut) for side in SIDES}
    return Tried(stack, sum(g[0] for g in got.values()), got["fixed"][2], cut.bears)


def advise(
    m: Model, mounts: Mounts, jaws: Jaws, parallels: tuple[Parallel, ...], *, force: float
) -> Advice | None:
    """Sweep heights of the designed spacers and the stacks that the owned parallels make.

    None where the designed spacers meet no metal.
    """

    def left(stack: SpacerStack) -> Tried | None:
        return leaves(m, mounts, stack, cut_force=force, force=force)

    now = left(jaws.stack)
    if now is None:
        return None
    top = highest(jaws)
    half = (jaws.stack.high - jaws.stack.low) / 2
    best, span = now, top - 2 * half
    if span > 0.5:
        center, reach = half + span / 2, span / 2
        for n in (HEIGHTS, 5):  # then closer about the best
            for h in np.linspace(center - reach, center + reach, n):
                best = _less(best, left(elastic.at_height(jaws.stack, float(h), top)))
            center, reach = best.stack.height, span / (HEIGHTS - 1)
    mine = owned_stacks(jaws, parallels)
    mine.sort(key=lambda s: abs(s.height - best.stack.height))
    tried = [t for t in map(left, mine[:TRIED]) if t is not None]
    owned = now
    for t in tried:
        owned = _less(owned, t)
    return Advice(now, best, owned, len(tried))


def _less(a: Tried, b: Tried | None) -> Tried:
    return a if b is None or abs(a.taper) <= abs(b.taper) else b


def highest(jaws: Jaws) -> float:
    """Z to which spacers like the designed ones may reach [mm]: the top beside the pocket, else under it."""
    b = jaws.pocket.outer.box
    beside = all(high <= b[0] or low >= b[2] for low, high in jaws.stack.x_runs)
    return jaws.top if beside else under(jaws)


def under(jaws: Jaws) -> float:
    """Z to which a bar right across may reach under the pocket and its wells [mm]."""
    return min([jaws.floor, *(w.bottom for w in _in_gap(jaws))]) - CLEAR


def _in_gap(jaws: Jaws) -> list[Well]:
    return [w for w in jaws.wells if w.region.outer.box[3] > -jaws.gap and w.region.outer.box[1] < 0]


def _stacked(width: Width, parallels: tuple[Parallel, ...], long: float) -> Risers:
    """What can stand loosely under the spacers: nothing, one piece, or two long ones on each other."""
    one = risers_in(width, parallels)
    out = list(one)
    pieces = [(r[0], low) for r, low in one if r and r[0].length >= long - SHORT]
    for i, (a, low) in enumerate(pieces):
        for b, more in pieces[i:]:
            used = 2 if a.id == b.id else 1
            own = width.pieces if a.id == width.parallel.id else 0
            if a.count >= used + own:
                out.append(((a, b), low + more))
    return tuple(out)


def _middles(jaws: Jaws) -> tuple[float, ...]:
    """Where each vise in line has a spacer of its own, from the middle of the jaws [mm]."""
    runs = jaws.stack.x_runs
    if len(runs) < 2 or not jaws.stack.reason.startswith("across"):
        return (0.0,)
    middle = (jaws.fixed.x0 + jaws.fixed.x1) / 2
    return tuple((a + b) / 2 - middle for a, b in runs)


def owned_stacks(jaws: Jaws, parallels: tuple[Parallel, ...]) -> list[SpacerStack]:
    """Stacks of owned parallels that keep the designed gap and stay clear of the cutter."""
    b = jaws.pocket.outer.box
    lowest = min([jaws.floor, *(w.bottom for w in _in_gap(jaws))])
    out = []
    for width in widths(parallels):
        if abs(width.gap - jaws.gap) > 1e-6:
            continue
        out += stacks(
            width, parallels, top=jaws.top, grip_height=jaws.floor, jaw=(jaws.fixed.x0, jaws.fixed.x1),
            pocket=(b[0], b[2]), lowest=lowest, reach=0.0, middles=_middles(jaws),
            risers=_stacked(width, parallels, jaws.fixed.x1 - jaws.fixed.x0),
        )  # fmt: skip
    return out


def words(stack: SpacerStack) -> str:
    """A stack as the shop would say it."""
    names = sorted({p.id for p in stack.spacers})
    on = f" on {', '.join(sorted({p.id for p in stack.risers}))}" if stack.risers else ""
    return f"{len(stack.spacers)} × {', '.join(names)}{on}"
