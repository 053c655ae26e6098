"""Distances from many points to the outline of one area, by a tree of its segments. mm."""

from __future__ import annotations

from functools import cached_property

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.geometry.base import BaseGeometry

Distances = NDArray[np.float64]


class Near:
    """An area and its outline, ready for many questions."""

    def __init__(self, area: BaseGeometry) -> None:
        self.area = area
        shapely.prepare(area)

    @cached_property
    def _tree(self) -> shapely.STRtree:
        rings = shapely.get_rings(shapely.get_parts(self.area))
        pairs = []
        for ring in rings:
            xy = shapely.get_coordinates(ring)
            pairs.append(np.stack((xy[:-1], xy[1:]), axis=1))
        return shapely.STRtree(shapely.linestrings(np.concatenate(pairs)))

    def outline(self, spots: NDArray[np.object_]) -> Distances:
        """Distance of each point to the outline [mm], inside or out."""
        index, far = self._tree.query_nearest(spots, return_distance=True, all_matches=False)
        out = np.empty(len(spots))
        out[index[0]] = far
        return out

    def outside(self, spots: NDArray[np.object_]) -> Distances:
        """Distance of each point to the area [mm]; 0 inside."""
        return np.where(shapely.intersects(self.area, spots), 0.0, self.outline(spots))

    def inside(self, spots: NDArray[np.object_]) -> Distances:
        """How deep each point lies in the area [mm]; 0 outside."""
        if self.area.is_empty:
            return np.zeros(len(spots))
        return np.where(shapely.intersects(self.area, spots), self.outline(spots), 0.0)
