"""Where a profile is judged: a shift is off by its share square to a wall, at corners by that of either."""

from __future__ import annotations

from dataclasses import replace
from itertools import pairwise

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

import samples
from jawright.geometry.profile import Region, rectangle
from jawright.proof.edges import feature_edge

WALL = replace(
    samples.hold().features[1],
    name="edge",
    kind="profile",
    diameter=None,
    region=None,
    center=(0.0, 0.0, 5.0),
)


def worst(path: np.ndarray, shift: np.ndarray) -> float:
    _, normals = feature_edge(replace(WALL, path=tuple((float(x), float(y), 0.0) for x, y in path)))
    return float(np.abs(normals @ shift).max())


@given(st.integers(1, 9), st.floats(-1.0, 1.0), st.floats(-1.0, 1.0), st.booleans())
def test_shift_of_walls_along_x_and_y_counts_by_its_parts(n: int, x: float, y: float, closed: bool) -> None:
    """Upright walls see the parts of a shift, never more (by hand): no corner counts it slantwise."""
    corners = np.array([(0.0, 0.0), (40.0, 0.0), (40.0, 26.0), (0.0, 26.0), (0.0, 0.0)])
    ends = corners if closed else corners[:4]
    runs = [np.linspace(a, b, n + 1)[:-1] for a, b in pairwise(ends)]
    path = np.concatenate(runs if closed else [*runs, ends[-1:]])
    assert worst(path, np.array([x, y])) == pytest.approx(max(abs(x), abs(y)), abs=1e-9)


def test_an_open_run_has_no_wall_from_its_end_to_its_start() -> None:
    """A bent wall of two straight parts, 30° apart: a shift along the chord of its ends counts by sines."""
    a, b = np.radians(15.0), np.radians(-15.0)
    left = np.column_stack([np.linspace(-20, 0, 8), np.linspace(-20, 0, 8) * np.tan(a)])
    right = np.column_stack([np.linspace(0, 20, 8), np.linspace(0, 20, 8) * np.tan(b)])
    got = worst(np.vstack([left, right[1:]]), np.array([1.0, 0.0]))
    assert got == pytest.approx(np.sin(a), abs=1e-9)


def test_corners_of_a_face_see_either_direction() -> None:
    box = np.array([(0.0, 0.0), (30.0, 0.0), (30.0, 20.0), (0.0, 20.0)])
    assert worst(box, np.array([0.6, 0.8])) == pytest.approx(0.8)
    points, _ = feature_edge(replace(WALL, path=tuple((*map(float, p), 0.0) for p in box)))
    assert len(points) == 8


def test_a_round_wall_sees_the_whole_shift_and_a_region_both_ends_of_its_lines() -> None:
    a = 2 * np.pi * np.arange(24) / 24
    ring = 8 * np.column_stack([np.cos(a), np.sin(a)])
    assert worst(ring, np.array([0.6, 0.8])) == pytest.approx(1.0, abs=0.01)
    points, normals = feature_edge(
        replace(WALL, wall=Region(rectangle(0.0, 0.0, 30.0, 20.0)), path=WALL.path)
    )
    turned = np.column_stack([-points[:, 1], points[:, 0]])  # a small turn about the origin
    assert np.abs(np.einsum("ij,ij->i", turned, normals)).max() == pytest.approx(30.0)
