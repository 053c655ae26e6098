"""What is seen of the whole part in the vise: its outline from above and from the end, and its cut.

The grip band's outline is all that the proofs of seating need; a flange over the jaws, a boss or a step
is metal all the same, and a drawing without it misleads. Vise frame, mm.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import lru_cache

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.geometry.base import BaseGeometry

from jawright import kernel
from jawright.errors import JawrightError
from jawright.geometry.curve import Point
from jawright.geometry.cuts import runs_at
from jawright.geometry.frame import Move
from jawright.geometry.polygon import to_polygon
from jawright.geometry.profile import Region
from jawright.hold.model import Hold, MadeFeature
from jawright.part.model import Part

Floats = NDArray[np.float64]
Ring = tuple[Point, ...]

SHARE = 1 / 800
"""Deviation of the mesh whose shadow is drawn, as a share of the part's size: less than a thin line."""
LEAST = 0.02  # and not finer than this [mm]
SAME = 0.15
"""A shadow nowhere further out of the grip's outline than this [mm] shows nothing that is not drawn."""
SPECK = 0.05  # openings of a shadow below this area [mm²] are chords that miss each other
SEAM = 0.01  # [mm]
ASIDE = 0.0037  # [mm] the cut is moved by where the kernel cannot cut: faces lie in round places
TO_END = ((0.0, 1.0, 0.0), (0.0, 0.0, 1.0), (1.0, 0.0, 0.0))
"""Turns the vise so that its Y runs along X, its Z along Y, and its X up."""


@dataclass(frozen=True, slots=True)
class Seen:
    """Outlines of the whole finished part, as rings; a ring inside another is an opening.

    ``plan`` (x, y) is its shadow from above, empty where it is the outline in the grip; ``openings`` (x, y)
    are what one sees right through in it; ``end`` (y, z) is its shadow along the jaws. ``cut`` (y, z) is
    the metal at ``cut_x``, None where it could not be cut.
    """

    plan: tuple[Ring, ...]
    end: tuple[Ring, ...]
    cut_x: float
    cut: tuple[Region, ...] | None
    openings: tuple[Ring, ...] = ()


@lru_cache(maxsize=8)
def seen(hold: Hold, part: Part | None) -> Seen | None:
    """The whole part as it stands in the hold; None without a solid.

    Shadows are unions of the mesh's triangles that face the eye, within ``SHARE`` of the part's size.
    """
    if not isinstance(part, Part) or not part.shape:
        return None
    points, corners, _ = kernel.mesh(part.shape, max(LEAST, SHARE * math.hypot(*part.size)))
    if not len(corners):
        return None
    rows, shift = np.array(hold.stance.move.rotation), np.array(hold.stance.move.shift)
    placed = points @ rows.T + shift
    above = _shadow(placed, corners, (0, 1))
    grip = shapely.buffer(to_polygon(Region(hold.outline.outer)), SAME)
    plan = () if above.difference(grip).area < SPECK else _rings(above)
    x = cut_place(hold)
    openings = tuple(
        _ring(shapely.get_coordinates(r)[:-1]) for r in _interiors(shapely.simplify(above, 0.01))
    )
    return Seen(plan, _rings(_shadow(placed, corners, (1, 2))), x, _cut(hold, part, x), openings)


def _shadow(points: Floats, corners: NDArray[np.int32], axes: tuple[int, int]) -> BaseGeometry:
    """The union of all triangles as seen along the third axis."""
    flat = points[:, axes][corners]
    a, b = flat[:, 1] - flat[:, 0], flat[:, 2] - flat[:, 0]
    twice = a[:, 0] * b[:, 1] - a[:, 1] * b[:, 0]
    facing = flat[twice > 1e-6]  # the others lie behind these
    closed = np.concatenate([facing, facing[:, :1]], axis=1)
    whole = shapely.union_all(shapely.polygons(closed))
    # triangles as thin as a line leave seams
    return shapely.buffer(shapely.buffer(whole, SEAM, join_style="mitre"), -SEAM, join_style="mitre")


def _rings(shape: BaseGeometry) -> tuple[Ring, ...]:
    """Outlines and openings, largest first, to hundredths of a millimeter."""
    slim = shapely.simplify(shape, 0.01)
    polygons = [p for p in shapely.get_parts(slim) if p.geom_type == "Polygon"]
    rings = [*(p.exterior for p in polygons), *_interiors(slim)]
    found = [_ring(shapely.get_coordinates(r)[:-1]) for r in rings]
    return tuple(sorted(found, key=lambda r: (-shapely.Polygon(r).area, r)))


def _interiors(shape: BaseGeometry) -> list[shapely.LinearRing]:
    """Openings of a shape that are no specks, in one order."""
    polygons = [p for p in shapely.get_parts(shape) if p.geom_type == "Polygon"]
    found = [r for p in polygons for r in p.interiors if shapely.Polygon(r).area > SPECK]
    return sorted(found, key=lambda r: (-round(shapely.Polygon(r).area, 6), r.bounds))


def _ring(points: Floats) -> Ring:
    """Counter-clockwise from its least corner: the same whatever made it."""
    p = [(round(float(x), 3) + 0.0, round(float(y), 3) + 0.0) for x, y in points]
    if not shapely.LinearRing(p).is_ccw:
        p.reverse()
    k = p.index(min(p))
    return tuple(p[k:] + p[:k])


def _cut(hold: Hold, part: Part, x: float) -> tuple[Region, ...] | None:
    move = Move("vise", "end", TO_END, (0.0, 0.0, 0.0)).after(hold.stance.move)
    for at in (x, x + ASIDE, x - 3 * ASIDE):
        try:
            found = kernel.section(part.shape, move, at).regions
        except JawrightError:
            continue
        if found:
            return found
    return None


def holes_seen(hold: Hold) -> list[MadeFeature]:
    """Round features, of several on one axis only the widest: a drill before its bore is not seen."""
    holes = [m for m in hold.features if m.diameter is not None and m.region is None]
    return [
        m
        for i, m in enumerate(holes)
        if not any(
            math.dist(m.center[:2], o.center[:2]) < 1e-6 and ((o.diameter or 0), j) > ((m.diameter or 0), i)
            for j, o in enumerate(holes)
        )
    ]


def cut_place(hold: Hold) -> float:
    """X of the cut [mm]: through the widest hole made here, else the widest place of the part."""
    holes = sorted(holes_seen(hold), key=lambda m: -(m.diameter or 0.0))
    if holes and runs_at(hold.outline, 0, holes[0].center[0]):
        return holes[0].center[0]
    box = hold.outline.outer.box
    best, wide = (box[0] + box[2]) / 2, -1.0
    for k in range(1, 40):
        x = box[0] + (box[2] - box[0]) * k / 40
        runs = runs_at(hold.outline, 0, x)
        if runs and runs[-1][1] - runs[0][0] > wide + 1e-6:
            best, wide = x, runs[-1][1] - runs[0][0]
    return best
