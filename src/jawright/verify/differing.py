"""Where what is swept and what the design wants differ, level by level, from what is new in each. mm."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field

import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry

from jawright.verify.design import Design
from jawright.verify.gone import Gone, covered, outside
from jawright.verify.material import EMPTY, Level

_THIN = 0.0004  # area over half the length of slivers that come from chords alone [mm]
_WIDE = 0.0025  # a sliver somewhere wider than this [mm] is more than that


@dataclass(slots=True)
class Differing:
    """Asked level by level from below: what differs there and did not in the level below.

    Within heights at which metal and design are the same, only what is newly swept can differ.
    """

    design: Design
    spans: Sequence[Level]
    metal: Sequence[BaseGeometry]
    gone: Gone
    _metal: BaseGeometry | None = None
    _upright: tuple[int, ...] = ()
    _allowed: BaseGeometry = EMPTY
    _ample: BaseGeometry = EMPTY  # and as much more as is told apart from chords nowhere
    _judged: set[int] = field(default_factory=set)  # moves whose whole reach was asked
    _suspect: set[int] = field(default_factory=set)  # of them those that reach beyond what is allowed
    _beyond: list[BaseGeometry] = field(default_factory=list)  # swept beyond what upright prisms allow
    _must: tuple[int, ...] | None = None
    _under: list[BaseGeometry] = field(default_factory=list)

    def at(self, k: int) -> tuple[list[BaseGeometry], list[BaseGeometry]]:
        """Metal of level ``k`` that is gone and should not be, and metal that should be gone and is not."""
        other_metal = self._metal is not self.metal[k]
        self._metal = self.metal[k]
        return self._over(k, fresh=other_metal), self._left(k, fresh=other_metal)

    def _over(self, k: int, *, fresh: bool) -> list[BaseGeometry]:
        z = self.spans[k].at
        key = self.design.key(z)
        upright = self.design.upright(z)
        fresh = fresh or upright != self._upright
        if fresh:
            self._upright, self._allowed = upright, self.design.allowed(z, upright=True)
            self._ample = _grown(self._allowed)
            self._judged, self._suspect, self._beyond = set(), set(), []
        moves = self.gone.until(k) if fresh else self.gone.new(k)
        self._judge([i for i in moves if i not in self._judged])
        allowed = self._allowed
        reach = outside(self._ample, self.gone.areas([i for i in moves if i in self._suspect], k))
        self._beyond += reach
        if key is None:  # with every height the design allows more: all that reaches out is asked again
            allowed = self.design.allowed(z)
            reach = outside(_grown(allowed), self._beyond)
        if not reach:
            return []
        return _parts(
            shapely.difference(shapely.intersection(shapely.union_all(reach), self.metal[k]), allowed)
        )

    def _judge(self, moves: Sequence[int]) -> None:
        """Find the moves that can cut what may not go: the others never do while the design is the same."""
        self._judged.update(moves)
        whole = [self.gone.reach(i) for i in moves]
        inside = covered(self._ample, whole)
        self._suspect.update(i for i, ok in zip(moves, inside, strict=True) if not ok)

    def _left(self, k: int, *, fresh: bool) -> list[BaseGeometry]:
        z = self.spans[k].at
        key = self.design.key(z, must=True)
        if fresh or key is None or key != self._must:
            must = shapely.intersection(self.design.must(z), self.metal[k])
            self._under = [] if must.is_empty else _parts(shapely.difference(must, self.gone.at(k)))
        elif self._under:
            self._under = _less(self._under, self.gone.areas(self.gone.new(k), k))
        self._must = key
        return self._under


def _grown(allowed: BaseGeometry) -> BaseGeometry:
    """An area and what reaches out of it by less than a sliver of chords, which ``_parts`` drops."""
    return shapely.buffer(allowed, 0.75 * _THIN, quad_segs=1)


def _parts(shape: BaseGeometry) -> list[BaseGeometry]:
    """The polygons of an area that are more than chord slivers."""
    every = shapely.get_parts(shape)
    every = every[shapely.get_type_id(every) == 3]
    thick = shapely.area(every) > _THIN * shapely.length(every) / 2
    thin = np.flatnonzero(~thick & (shapely.area(every) > _WIDE**2 / 2))
    if len(thin):
        thick[thin] = ~shapely.is_empty(shapely.buffer(every[thin], -_WIDE / 2, quad_segs=1))
    return list(every[thick])


def _less(parts: Sequence[BaseGeometry], swept: Sequence[BaseGeometry]) -> list[BaseGeometry]:
    """What is left of areas when more is swept."""
    if not swept:
        return list(parts)
    tree = shapely.STRtree(np.array(swept, dtype=object))
    pairs = tree.query(np.array(parts, dtype=object), predicate="intersects")
    out: list[BaseGeometry] = []
    for i, part in enumerate(parts):
        cut = tree.geometries.take(pairs[1][pairs[0] == i])
        out += [part] if len(cut) == 0 else _parts(shapely.difference(part, shapely.union_all(cut)))
    return out
