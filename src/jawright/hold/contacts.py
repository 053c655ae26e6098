"""Where the part may touch: points on walls, stop and floor, from runs of outline and flat undersides.

Lengths in mm, angles in rad.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from functools import lru_cache

import numpy as np
import shapely
from shapely import MultiPolygon, Polygon, box
from shapely.ops import unary_union

from jawright.geometry.curve import Arc, Point
from jawright.geometry.polygon import to_polygon
from jawright.geometry.profile import Region
from jawright.hold.model import Below, Contact, Where
from jawright.hold.outline import Wall
from jawright.hold.walls import ends

INSET = 0.3  # [mm] floor contacts lie this far inside the supported area: edges are broken
MOST_FLOOR = 8
SOLE_CHORD = 0.01  # [mm] of the underside's arcs


def wall_contacts(walls: Sequence[Wall], z: float) -> list[Contact]:
    """Contacts of locating, stopping and gripping runs at height ``z`` [mm].

    Straight runs bear at their two ends, arcs at ends and middle, the stop at the middle of its run.
    """
    out: list[Contact] = []
    count: dict[str, int] = {}
    for w in walls:
        on: Where = "stop" if w.purpose == "stop" else w.side
        points = ends(w)
        if w.purpose == "stop":
            n = w.normal
            points = [(w.middle, n, w.curve.length)]
        letter = w.datum or {"fixed": "L", "stop": "S", "floating": "G", "floor": "F"}[on]
        radius = 0.0
        if isinstance(w.curve, Arc):
            radius = w.curve.radius if w.curve.ccw else -w.curve.radius
        for (x, y), (nx, ny), share in points:
            count[letter] = count.get(letter, 0) + 1
            out.append(
                Contact(
                    name=f"{letter}{count[letter]}",
                    on=on,
                    point=(x, y, z),
                    normal=(-nx, -ny, 0.0),
                    gap=0.0,
                    share=share,
                    face=w.face,
                    locates=w.purpose in ("locate", "stop"),
                    radius_part=radius,
                    radius_jaw=radius,
                )
            )
    return out


def on_floors(soles: Sequence[Polygon], carried: Sequence[Polygon]) -> Polygon | MultiPolygon:
    """What of the underside rests on the given areas (jaw floors or parallels), as polygons [mm]."""
    under = (soles[0] if len(soles) == 1 else unary_union(soles)) if soles else Polygon()
    return under.intersection(_united(tuple(carried)))


def soles_moved(bottom: tuple[Region, ...], *, turn: float, shift: Point) -> list[Polygon]:
    """The underside as polygons, turned [rad] and shifted [mm]: its arcs are parted once for all stances."""
    c, s = math.cos(turn), math.sin(turn)
    put = np.array([[c, s], [-s, c]])
    return [shapely.transform(p, lambda at: at @ put + shift) for p in _soles(bottom)]


@lru_cache(maxsize=16)
def _soles(bottom: tuple[Region, ...]) -> tuple[Polygon, ...]:
    return tuple(to_polygon(r, SOLE_CHORD) for r in bottom)


@lru_cache(maxsize=64)
def _united(carried: tuple[Polygon, ...]) -> Polygon | MultiPolygon:
    return unary_union(carried)


def floor_contacts(area: Polygon | MultiPolygon, z: float, face: int, *, first: int = 1) -> list[Contact]:
    """Up to eight points on the outside of the carried area that span it best, at height ``z`` [mm].

    They are named from ``first`` on.
    """
    if area.is_empty or area.area <= 0:
        return []
    inner = area.buffer(-INSET, quad_segs=4)
    hull = (inner if not inner.is_empty else area).convex_hull
    if not isinstance(hull, Polygon):
        return []
    corners = [(x, y) for x, y in shapely.get_coordinates(hull)[:-1].tolist()]
    chosen = _spread(corners, MOST_FLOOR)
    share = float(area.area) / len(chosen)
    return [
        Contact(
            name=f"F{i + first}",
            on="floor",
            point=(x, y, z),
            normal=(0.0, 0.0, 1.0),
            gap=0.0,
            share=share,
            face=face,
            locates=True,
            growth=0.0,
        )
        for i, (x, y) in enumerate(chosen)
    ]


def lower_contacts(
    below: Sequence[Below], carried: Sequence[Polygon], z: float, *, first: int
) -> list[Contact]:
    """Contacts of what stands on a second floor below the one at ``z`` [mm], on the given areas in plan."""
    out: list[Contact] = []
    for b in below:
        area = on_floors([to_polygon(r, SOLE_CHORD) for r in b.soles], carried)
        out += floor_contacts(area, z - b.depth, -1, first=first + len(out))
    return out


def stands(contacts: Sequence[Contact], center: Point) -> bool:
    """Whether the floor contacts span an area and the weight, at ``center`` in plan, lies over it."""
    floor = [c.point[:2] for c in contacts if c.on == "floor"]
    if len(floor) < 3:
        return False
    hull = shapely.convex_hull(shapely.multipoints(np.array(floor)))
    return bool(hull.area > 1.0 and shapely.contains_xy(hull, *center))


def _spread(points: Sequence[Point], most: int) -> list[Point]:
    """Points that lie far apart: greedily the farthest from those already chosen."""
    ordered = sorted(points)
    chosen = [ordered[0]]
    near = [math.dist(p, chosen[0]) for p in ordered]  # to the nearest that is chosen
    while len(chosen) < min(most, len(ordered)):
        far = max(near)
        if far < 0.5:
            break
        k = len(near) - 1 - near[::-1].index(far)  # of equals the last
        chosen.append(ordered[k])
        apart = [math.dist(p, ordered[k]) for p in ordered]
        near = list(map(min, near, apart))
    return sorted(chosen)


def jaw_floors(gap: float, width: float, depth: float) -> list[Polygon]:
    """The floors of both jaws that can carry the part: ``width`` along X, ``depth`` along Y [mm]."""
    w = width / 2
    return [box(-w, 0.0, w, depth), box(-w, -gap - depth, w, -gap)]
