"""To and from polygons of the ``shapely`` library: the one place where arcs become chords.

Lengths in mm, angles in rad.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import shapely

from jawright.errors import JawrightError
from jawright.geometry.curve import Line, Point
from jawright.geometry.profile import Profile, Region

if TYPE_CHECKING:
    from collections.abc import Sequence

CHORD = 0.01
"""Default distance [mm] of a chord from its arc."""


def to_polygon(region: Region | Profile, chord: float = CHORD) -> shapely.Polygon:
    """The region as a polygon whose corners lie on the region's border.

    ``chord`` is the largest distance [mm] of an edge from the arc it stands for; the area
    of round parts comes out too small by up to 2/3 of it times the arc's length.
    """
    r = Region(region) if isinstance(region, Profile) else region
    shell = shapely.linearrings(np.array(r.outer.points(chord)))
    holes = [shapely.linearrings(np.array(h.points(chord))) for h in r.holes]
    return shapely.polygons(shell, holes or None)


def to_multipolygon(regions: Sequence[Region], chord: float = CHORD) -> shapely.Geometry:
    """The union of the regions as chords, for drawing and coarse tests; may be empty."""
    return shapely.union_all([to_polygon(r, chord) for r in regions])


def from_polygon(shape: shapely.Geometry) -> tuple[Region, ...]:
    """The polygons in ``shape`` as regions of lines, largest first; points and loose lines are left out.

    Raises ``geometry`` when the polygon crosses itself.
    """
    if not shape.is_valid:
        raise JawrightError("geometry", what=f"the polygon is not valid: {shapely.is_valid_reason(shape)}")
    parts = [p for p in shapely.get_parts(shape) if isinstance(p, shapely.Polygon) and not p.is_empty]
    found = [
        Region(
            _ring(list(p.exterior.coords)).counterclockwise(),
            tuple(_ring(list(h.coords)).counterclockwise().reversed() for h in p.interiors),
        )
        for p in parts
    ]
    return tuple(sorted(found, key=lambda r: (-r.area, r.outer.box)))


def _ring(corners: list[tuple[float, ...]]) -> Profile:
    p: list[Point] = [(float(c[0]), float(c[1])) for c in corners]
    kept = [q for k, q in enumerate(p[:-1]) if q != p[k + 1]]
    return Profile(tuple(Line(kept[k], kept[(k + 1) % len(kept)]) for k in range(len(kept))))
