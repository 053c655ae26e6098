"""Where the straight passes of a pocket run: rows along X, in the order that ends one arm before the next."""

from __future__ import annotations

import math
from dataclasses import dataclass

import shapely
from shapely.geometry import LineString


@dataclass(frozen=True, slots=True)
class Row:
    """A straight pass: its X range, its Y, and the Y of the pass it is entered from."""

    run: tuple[float, float]
    y: float
    back: float
    first: bool


def columns(shape: shapely.Geometry, start: float, ys: list[float]) -> dict[tuple[float, float], list[Row]]:
    """Passes beyond each opening run, depth first, so that the cutter ends one arm before the next; [mm].

    ``start`` is Y of the opening pass, ``ys`` of those beyond it. Passes that no opening
    run leads to stand under the key of their own run.
    """
    rows = [runs(shape, y) for y in (start, *ys)]
    heights = [start, *ys]
    taken: set[tuple[int, tuple[float, float]]] = set()

    def follow(k: int, run: tuple[float, float], out: list[Row]) -> list[Row]:
        if k + 1 < len(rows):
            for child in rows[k + 1]:
                if child[0] < run[1] and run[0] < child[1] and (k + 1, child) not in taken:
                    taken.add((k + 1, child))
                    out.append(Row(child, heights[k + 1], heights[k], k == 0))
                    follow(k + 1, child, out)
        return out

    found = {run: follow(0, run, []) for run in rows[0]}
    for k in range(1, len(rows)):
        for run in rows[k]:
            if (k, run) not in taken:
                taken.add((k, run))
                found.setdefault(run, []).extend(
                    follow(k, run, [Row(run, heights[k], heights[k - 1], False)])
                )
    return found


def first_row(low: float, high: float, gap: tuple[float, float], radius: float) -> float:
    """Y [mm] of the first pass: mid of a wide gap, else flush with one jaw so that only the other is cut."""
    middle = 0.5 * (gap[0] + gap[1])
    if gap[1] - gap[0] > 2 * radius:
        y = middle
    else:
        y = gap[0] + radius if high - middle > middle - low else gap[1] - radius
    return min(max(y, low + 1e-3), high - 1e-3)


def spread(start: float, end: float, most: float) -> list[float]:
    """Even steps from ``start`` (left out) to ``end``, each at most ``most`` [mm]."""
    n = math.ceil(abs(end - start) / most - 1e-6)
    return [start + (end - start) * (i + 1) / n for i in range(n)]


def runs(shape: shapely.Geometry, y: float) -> list[tuple[float, float]]:
    """X ranges [mm] of the region at height ``y``, left to right."""
    x0, low, x1, high = shape.bounds
    y = min(max(y, low + 1e-3), high - 1e-3)
    cut = shape.intersection(LineString([(x0 - 1, y), (x1 + 1, y)]))
    parts = [g.bounds for g in getattr(cut, "geoms", [cut]) if not g.is_empty]
    return sorted((b[0], b[2]) for b in parts)
