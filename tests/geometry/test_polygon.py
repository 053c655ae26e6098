"""Chords and back."""

from __future__ import annotations

import math

import pytest
import shapely

from jawright.errors import JawrightError
from jawright.geometry.curve import Arc, Line
from jawright.geometry.polygon import from_polygon, to_multipolygon, to_polygon
from jawright.geometry.profile import Profile, Region, circle, rectangle


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


@pytest.mark.parametrize("chord", [0.01, 0.05, 0.9, 1.0, 5.0])
def test_a_flat_segment_and_a_small_circle_still_are_polygons(chord: float) -> None:
    """Flatter than the chord's distance, or hardly larger: two corners would be no polygon."""
    a, b = (0.0, 0.0), (0.9, 0.0)
    flat = Profile((Line(a, b), Arc(b, a, (0.45, -10.0), True)))
    for p in (flat, circle((3.0, 4.0), 1.0)):
        shape = to_polygon(p, chord)
        assert shape.is_valid and 0.0 < shape.area <= p.area
