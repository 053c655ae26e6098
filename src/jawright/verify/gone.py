"""What a program has swept at each level, joined only where somebody asks. Vise frame, mm."""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.geometry.base import BaseGeometry

from jawright.verify.material import EMPTY, Cuts, Level


class Gone:
    """Swept areas level by level.

    What a cutter sweeps at one height it sweeps at every greater height too, so a level is
    known by what is ``new`` in it. Areas that grow no more are ``early``: at the level's low end they
    are swept already. The others, of ramps and pointed cutters, are taken at the level's middle.
    """

    def __init__(self, cuts: Cuts, spans: Sequence[Level]) -> None:
        self._cuts = cuts
        self._spans = spans
        self._full: list[list[int]] = []
        self._part: list[list[int]] = []
        self._early: dict[int, BaseGeometry] = {}
        self._at: dict[int, BaseGeometry] = {}
        self._boxes: NDArray[np.float64] | None = None
        self._met: dict[tuple[float, ...], list[int]] = {}
        waiting = sorted(range(len(cuts.paths)), key=lambda i: cuts.paths[i].low)
        growing: list[int] = []
        at = 0
        for span in spans:
            while at < len(waiting) and cuts.paths[waiting[at]].low < span.at:
                growing.append(waiting[at])
                at += 1
            self._full.append([i for i in growing if cuts.saturated(i, span.at)])
            growing = [i for i in growing if not cuts.saturated(i, span.at)]
            self._part.append(growing)

    def new(self, k: int) -> list[int]:
        """The moves that sweep in level ``k`` what they do not in the level below."""
        return [*self._full[k], *self._part[k]]

    def until(self, k: int) -> list[int]:
        """All moves that sweep something in level ``k``."""
        return [i for full in self._full[: k + 1] for i in full] + self._part[k]

    def areas(self, moves: Sequence[int], k: int) -> list[BaseGeometry]:
        """What each of the moves sweeps at the middle of level ``k``, where that is anything."""
        z = self._spans[k].at
        return [g for i in moves if not (g := self._cuts.area(i, z)).is_empty]

    def reach(self, i: int) -> BaseGeometry:
        """The most that a move sweeps at any height."""
        return self._cuts.area(i, math.inf)

    def within(self, k: int, shape: BaseGeometry) -> BaseGeometry:
        """What of an area is swept at the middle of level ``k``, from the moves that come near it alone."""
        near = [i for i in self._meeting(shape.bounds) if self._cuts.paths[i].low < self._spans[k].at]
        areas = self.areas(near, k)
        return shapely.intersection(shape, shapely.union_all(areas)) if areas else EMPTY

    def _meeting(self, box: tuple[float, float, float, float]) -> list[int]:
        """The moves whose most reach meets a box."""
        if box not in self._met:
            if self._boxes is None:
                most = np.array([self.reach(i) for i in range(len(self._cuts.paths))], dtype=object)
                self._boxes = shapely.bounds(most).reshape(-1, 4)
            a0, b0, a1, b1 = self._boxes.T
            x0, y0, x1, y1 = box
            meets = (a0 <= x1) & (a1 >= x0) & (b0 <= y1) & (b1 >= y0)
            self._met[box] = [int(i) for i in np.flatnonzero(meets)]
        return self._met[box]

    def first(self, box: tuple[float, float, float, float]) -> int:
        """The lowest level at which a move may sweep something inside a box; below it none does."""
        low = min((self._cuts.paths[i].low for i in self._meeting(box)), default=math.inf)
        return next((k for k, span in enumerate(self._spans) if low < span.at), len(self._spans))

    def early(self, k: int) -> BaseGeometry:
        """All that is swept at the low end of level ``k`` already."""
        if k not in self._early:
            below = max((j for j in self._early if j < k), default=-1)
            base = self._early[below] if below >= 0 else EMPTY
            more = self.areas([i for full in self._full[below + 1 : k + 1] for i in full], k)
            more = _uncovered(base, more)
            self._early[k] = shapely.union_all([base, *more]) if more else base
        return self._early[k]

    def at(self, k: int) -> BaseGeometry:
        """All that is swept at the middle of level ``k``; the very object of ``early`` when that is all."""
        if k not in self._at:
            base = self.early(k)
            part = _uncovered(base, self.areas(self._part[k], k))
            self._at[k] = shapely.union_all([base, *part]) if part else base
        return self._at[k]


def _uncovered(base: BaseGeometry, shapes: Sequence[BaseGeometry]) -> list[BaseGeometry]:
    """The shapes that reach out of the base: joining the others to it would change nothing."""
    if not shapes or base.is_empty:
        return list(shapes)
    return outside(base, shapes)


def outside(area: BaseGeometry, shapes: Sequence[BaseGeometry]) -> list[BaseGeometry]:
    """The shapes that are not wholly inside the area."""
    return [s for s, inside in zip(shapes, covered(area, shapes), strict=True) if not inside]


def covered(area: BaseGeometry, shapes: Sequence[BaseGeometry]) -> list[bool]:
    """Which of the shapes are wholly inside the area."""
    shapely.prepare(area)
    return [bool(ok) for ok in shapely.covers(area, np.array(shapes, dtype=object))] if shapes else []
