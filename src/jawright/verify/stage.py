"""What stands in the vise while a program runs, and what it is to leave. Vise frame, mm."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

import shapely
from shapely.geometry.base import BaseGeometry

from jawright.jaws.model import Bar, Jaws
from jawright.shop.model import Shop, Vise
from jawright.verify.design import Design, Prism, design
from jawright.verify.hits import KeepOut, keep_outs, vise_bodies
from jawright.verify.material import EMPTY, Level, uncut
from jawright.verify.sweep import capsule, polygons


@dataclass(frozen=True, slots=True)
class Block:
    """An upright box of metal."""

    x0: float
    y0: float
    x1: float
    y1: float
    height: float


@dataclass(frozen=True, slots=True)
class Stage:
    """Metal, what must not be met, and the design, for one program."""

    design: Design
    blocks: tuple[Block, ...]
    bodies: tuple[KeepOut, ...]
    heights: tuple[float, ...]  # at which the uncut metal changes
    uncut: Callable[[Sequence[Level]], list[BaseGeometry]]
    jaws: Jaws | None = None  # None: a bar, which has no edge break and no text

    @property
    def top(self) -> float:
        """Top of the highest block [mm]."""
        return max(b.height for b in self.blocks)


def pair(jaws: Jaws, shop: Shop, vise: Vise | None) -> Stage:
    """Both blanks on the spacer stack."""
    both = (jaws.fixed, jaws.floating)
    heights = [
        zc + s * d / 2
        for j in both
        for _, zc in j.bolts
        for d in (j.blank.counterbore, j.blank.bolt_hole)
        for s in (-1.0, 0.0, 1.0)
    ]
    return Stage(
        design(jaws, shop),
        tuple(Block(j.x0, j.y0, j.x1, j.y1, j.height) for j in both),
        tuple(keep_outs(jaws, vise)),
        (*heights, jaws.top - _SKIN),
        lambda spans: uncut(jaws, spans),
        jaws,
    )


def lying(bar: Bar, vise: Vise) -> Stage:
    """One blank as it is made from bar: on parallels in hard jaws."""
    b = bar.blank
    x0, y0, x1, y1 = bar.box
    whole = shapely.box(x0, y0, x1, y1)
    bores = _slots(bar, b.counterbore / 2)
    holes = _slots(bar, b.bolt_hole / 2)
    over = bar.top + 1.0
    prisms = (
        Prism("counterbore", bores, bar.floor, over, True),
        Prism("bolt hole", holes, bar.back, over, True),
        Prism("room under the bolt hole", holes, 0.0, bar.back, False),
        Prism("front face", whole, bar.front, over, True),
    )
    half = bar.parallel.length / 2
    t = bar.parallel.thickness
    bodies = [
        KeepOut(
            "parallel", (-half, y - t if y == y1 else y, half, y if y == y1 else y + t), bar.parallel.height
        )
        for y in (y1, y0)
    ]
    wide = max(vise.jaw_width / 2, x1)
    bodies += [
        KeepOut("hard jaw", (-wide, y1, wide, y1 + _JAW), bar.jaw_top),
        KeepOut("hard jaw", (-wide, y0 - _JAW, wide, y0), bar.jaw_top),
        *vise_bodies(vise, y0 - _JAW, y1 + _JAW, wide),
    ]
    block = Block(x0, y0, x1, y1, bar.top)

    def metal(spans: Sequence[Level]) -> list[BaseGeometry]:
        return [whole if bar.back < s.at < bar.top else EMPTY for s in spans]

    return Stage(
        Design(prisms, bar.floor, bar.front, None, shapely.Polygon(), bores, bores, (), _heights(prisms)),
        (block,),
        tuple(bodies),
        (bar.back, bar.top),
        metal,
    )


_SKIN = 0.02
"""Edge break and text are looked at this little below the top [mm]."""

_JAW = 20.0
"""The hard jaws are taken to be this thick [mm]."""


def _slots(bar: Bar, radius: float) -> BaseGeometry:
    half = bar.blank.slot_length / 2
    rings = [capsule((x - half, y), (x + half, y), radius) for x, y in bar.bolts]
    joined: BaseGeometry = shapely.union_all(polygons(rings))
    return joined


def _heights(prisms: Sequence[Prism]) -> tuple[float, ...]:
    return tuple(sorted({h for p in prisms for h in (p.bottom, p.top)}))
