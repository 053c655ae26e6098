"""Union, difference and intersection of regions made of lines and arcs: lines and arcs again.

Edges that run together, tangencies, shared corners and touching points are the normal
case here, so nothing is decided by a point beside an edge: see ``arrange``.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence

import numpy as np

from jawright.errors import JawrightError
from jawright.geometry.arrange import Pieces, arrange, boundary, chain, edge_area, profiles, regions
from jawright.geometry.merge import simplify_region
from jawright.geometry.profile import Region
from jawright.geometry.table import Bools, Ints, Row, Table, from_rows
from jawright.geometry.winding import chain_rows, middle_of

TOLERANCES = (1e-8, 1e-7, 1e-9, 1e-6)
"""Merging distances [mm] tried in this order."""

Shapes = Region | Sequence[Region]


def union(a: Shapes, b: Shapes = ()) -> tuple[Region, ...]:
    """All that is in ``a`` or ``b`` (each may hold many, overlapping or not), largest first."""
    return _combine(a, b, _in_either)


def intersection(a: Shapes, b: Shapes) -> tuple[Region, ...]:
    """All that is in both, largest first; none when they share no area."""
    return _combine(a, b, _in_both)


def difference(a: Shapes, b: Shapes) -> tuple[Region, ...]:
    """All that is in ``a`` and not in ``b``, largest first; none when nothing is left."""
    return _combine(a, b, lambda w: (w[:, 0] > 0) & (w[:, 1] <= 0))


def _in_either(w: Ints) -> Bools:
    return (w[:, 0] > 0) | (w[:, 1] > 0)


def _in_both(w: Ints) -> Bools:
    return (w[:, 0] > 0) & (w[:, 1] > 0)


def _combine(a: Shapes, b: Shapes, rule: Callable[[Ints], Bools]) -> tuple[Region, ...]:
    sets = [(s,) if isinstance(s, Region) else tuple(s) for s in (a, b)]
    everything = [r for s in sets for r in s]
    if not everything:
        return ()
    origin = middle_of(everything[0].outer)
    rows: list[Row] = []
    operand: list[int] = []
    for k, s in enumerate(sets):
        for r in s:
            for q in (r.outer, *r.holes):
                part, _ = chain_rows(q, origin)
                rows += part
                operand += [k] * len(part)
    t = from_rows(rows, halved=True)
    which = np.array(operand, dtype=np.int64)
    failure: JawrightError | None = None
    for tol in TOLERANCES:
        try:
            p = arrange(t, which, 2, tol)
            if (p.left < 0).any() or (p.right < 0).any():
                raise JawrightError("geometry", what="an outline crosses itself or runs the wrong way round")
            found = regions(profiles(t, p, chain(t, p, boundary(p, rule)), origin, 4 * tol))
            _identity(t, p, (found, rule))
            return tuple(simplify_region(r) for r in found)
        except JawrightError as e:
            failure = failure or e
    assert failure is not None
    raise failure


def _identity(t: Table, p: Pieces, result: tuple[tuple[Region, ...], Callable[[Ints], Bools]]) -> None:
    """Raise unless |A| + |B| = |A or B| + |A and B| and the result's loops hold the area its rule says."""
    found, rule = result

    def area(inside: Callable[[Ints], Bools]) -> float:
        edges = boundary(p, inside)
        chain(t, p, edges)  # raises when one of the four does not close
        return math.fsum(edge_area(t, p, e) for e in edges)

    a = area(lambda w: w[:, 0] > 0)
    b = area(lambda w: w[:, 1] > 0)
    both = area(_in_both)
    either = area(_in_either)
    asked = area(rule)
    scale = a + b + 1.0
    if (
        abs(a + b - both - either) > 1e-7 * scale
        or abs(asked - math.fsum(r.area for r in found)) > 1e-5 * scale
    ):
        raise JawrightError("geometry", what="the areas of combined outlines do not add up")
