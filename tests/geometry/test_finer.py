"""A mesh made finer keeps its surface and opens no gap."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from jawright.geometry.finer import finer

# a bent sheet of two faces that meet along one side without sharing its points
POINTS = np.array(
    [[0, 0, 0], [40, 0, 0], [40, 10, 0], [0, 10, 0], [0, 10, 0], [40, 10, 0], [40, 10, 25], [0, 10, 25.0]]
)
CORNERS = np.array([[0, 1, 2], [0, 2, 3], [4, 5, 6], [4, 6, 7]])
OWNER = np.array([0, 0, 1, 1])


def _areas(points: np.ndarray, corners: np.ndarray) -> np.ndarray:
    a, b, c = (points[corners[:, k]] for k in range(3))
    return np.linalg.norm(np.cross(b - a, c - a), axis=1) / 2


@given(st.floats(1.5, 60.0))
def test_no_side_is_longer_and_no_area_is_lost(longest: float) -> None:
    points, corners, owner = finer(POINTS, CORNERS, OWNER, longest=longest)
    sides = points[corners] - points[np.roll(corners, -1, axis=1)]
    assert np.linalg.norm(sides, axis=2).max() <= longest
    area = _areas(points, corners)
    assert area.min() > 0
    for face, whole in ((0, 400.0), (1, 1000.0)):
        assert area[owner == face].sum() == pytest.approx(whole)
    assert np.array_equal(points[: len(POINTS)], POINTS)
    along = [
        sorted(p[0] for p in points[np.unique(corners[owner == f])] if p[1] == 10 and p[2] == 0)
        for f in (0, 1)
    ]
    assert along[0] == along[1]  # the side both faces have is halved alike


def test_every_side_inside_a_face_has_two_triangles() -> None:
    points, corners, owner = finer(POINTS, CORNERS, OWNER, longest=4.0)
    count: dict[tuple[int, int], int] = {}
    for t in corners[owner == 0]:
        for a, b in zip(t, np.roll(t, -1), strict=True):
            key = (int(min(a, b)), int(max(a, b)))
            count[key] = count.get(key, 0) + 1
    rim = [k for k, n in count.items() if n == 1]
    assert set(count.values()) <= {1, 2}
    lengths = sum(float(np.linalg.norm(points[a] - points[b])) for a, b in rim)
    assert lengths == pytest.approx(100.0)  # the rim of 40 by 10
