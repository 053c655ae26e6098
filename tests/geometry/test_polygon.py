"""Chords and back."""

from __future__ import annotations

import math

import pytest
import shapely

from jawright.errors import JawrightError
from jawright.geometry.polygon import from_polygon, to_multipolygon, to_polygon
from jawright.geometry.profile import Region, circle, rectangle


@pytest.mark.parametrize("chord", [0.1, 1e-2, 1e-4])
def test_chords_keep_their_distance(chord: float) -> None:
    p = to_polygon(Region(circle((0, 0), 10)), chord)
    ring = p.exterior
    assert ring.hausdorff_distance(shapely.Point(0, 0).buffer(10, quad_segs=2000).exterior) <= chord + 1e-5
    lost = 100 * math.pi - p.area
    assert 0 < lost <= 2 / 3 * chord * 20 * math.pi


def test_there_and_back() -> None:
    r = Region(rectangle(0, 0, 10, 6), (rectangle(2, 2, 4, 4).reversed(),))
    (back,) = from_polygon(to_polygon(r))
    assert back.area == 56.0
    assert back.outer.area > 0
    assert len(back.holes) == 1
    two = from_polygon(to_multipolygon([Region(rectangle(0, 0, 1, 1)), Region(rectangle(5, 0, 7, 1))]))
    assert [q.area for q in two] == [2.0, 1.0]
    assert from_polygon(shapely.Polygon()) == ()


def test_a_crossed_polygon_is_refused() -> None:
    with pytest.raises(JawrightError, match="not valid"):
        from_polygon(shapely.Polygon([(0, 0), (1, 1), (1, 0), (0, 1)]))
