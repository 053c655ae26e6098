"""The hull of outlines against the hull of many points on them, and by hand."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.spatial import ConvexHull

from jawright.geometry.curve import Arc, Line
from jawright.geometry.hull import hull
from jawright.geometry.profile import Profile, circle, rectangle
from jawright.geometry.query import signed_distance


def test_two_equal_rounds_make_a_slot_shape() -> None:
    found = hull([circle((0.0, 0.0), 5.0), circle((30.0, 0.0), 5.0)])
    assert found.area == pytest.approx(300.0 + 25.0 * math.pi, rel=1e-12)
    assert sum(isinstance(c, Line) for c in found.curves) == 2


def test_two_unequal_rounds_by_the_crossed_belt_angle() -> None:
    found = hull([circle((0.0, 0.0), 8.0), circle((20.0, 0.0), 3.0)])
    lines = [c for c in found.curves if isinstance(c, Line)]
    assert len(lines) == 2
    # length of an outer tangent: sqrt(d² - (R - r)²), plane geometry
    assert all(c.length == pytest.approx(math.sqrt(400.0 - 25.0), rel=1e-12) for c in lines)


def test_corners_in_line_with_a_side_add_nothing() -> None:
    found = hull(
        [rectangle(0.0, 0.0, 10.0, 6.0), rectangle(20.0, 0.0, 30.0, 6.0), rectangle(12.0, 0.0, 14.0, 6.0)]
    )
    assert found.area == pytest.approx(180.0, rel=1e-12)
    assert len(found.curves) == 4


def test_hollow_arcs_never_touch() -> None:
    bite = Profile(
        (
            Line((0.0, 0.0), (20.0, 0.0)),
            Line((20.0, 0.0), (20.0, 10.0)),
            Arc((20.0, 10.0), (0.0, 10.0), (10.0, 14.0), False),
            Line((0.0, 10.0), (0.0, 0.0)),
        )
    )
    assert hull([bite]).area == pytest.approx(200.0, rel=1e-12)


rounds = st.tuples(st.floats(-40, 40), st.floats(-40, 40), st.floats(0.5, 12))
boxes = st.tuples(st.floats(-40, 40), st.floats(-40, 40), st.floats(1, 20), st.floats(1, 20), st.floats(0, 3))


@settings(max_examples=60, deadline=None)
@given(st.lists(rounds, min_size=1, max_size=4), st.lists(boxes, min_size=0, max_size=3))
def test_holds_every_point_and_is_no_larger(
    some: list[tuple[float, float, float]], others: list[tuple[float, float, float, float, float]]
) -> None:
    shapes = [circle((x, y), r) for x, y, r in some]
    shapes += [rectangle(0.0, 0.0, w, h).moved(turn=a, shift=(x, y)) for x, y, w, h, a in others]
    found = hull(shapes)
    points = np.array([c.at(k / 200) for s in shapes for c in s.curves for k in range(200)])
    assert signed_distance(found, points).max() <= 1e-8
    inner = ConvexHull(points)
    assert found.area >= inner.volume - 1e-9
    # chords of 1/200 of half a circle: a sliver of at most (π/200)²/8 of the radius all round
    assert found.area - inner.volume <= (math.pi / 200) ** 2 / 8 * 12.0 * inner.area * 1.05 + 1e-9
