"""The locating model away from published layouts: freedoms by name, exact against linear."""

from __future__ import annotations

import numpy as np
import pytest

from jawright.errors import JawrightError
from jawright.mechanics.locate import (
    determinacy,
    exact_plane_pose,
    exact_space_pose,
    freedoms,
    plane_jacobian,
    pose,
    rotation,
    space_jacobian,
)


@pytest.mark.parametrize(
    ("points", "normals", "words"),
    [
        ([(0, 0), (40, 0)], [(0, 1), (0, 1)], ["slides along X"]),
        ([(0, 0), (0, 20)], [(1, 0), (1, 0)], ["slides along Y"]),
        ([(0, 0)], [(0, 1)], ["slides along X", "turns about Z"]),
        ([(10, 0), (20, 10), (10, 20)], [(0, 1), (-1, 0), (0, -1)], ["turns about Z at (10.00, 10.00) mm"]),
        ([(0, 0), (30, 30)], [(-1, 1), (-1, 1)], ["slides along the direction 45.0° from X"]),
    ],
)
def test_freedoms_are_named(points: list, normals: list, words: list[str]) -> None:
    d = determinacy(plane_jacobian(points, normals))
    assert not d.located
    assert len(d.free) == len(words)
    for f in d.free:
        assert any(w in f.words for w in words), f.words
        assert plane_jacobian(points, normals) @ np.array(f.move) == pytest.approx(
            np.zeros(len(points)), abs=1e-9
        )


def test_rank_does_not_depend_on_the_unit_or_the_origin() -> None:
    points = np.array([(20.0, 0.0), (80.0, 0.0), (0.0, 30.0)])
    for scale in (1e-3, 1.0, 1e3):
        for shift in (0.0, 1e4):
            J = plane_jacobian(points * scale + shift * scale, [(0, 1), (0, 1), (1, 0)])
            assert determinacy(J).rank == 3


def test_jaw_motion_alone_is_no_freedom_of_the_part() -> None:
    assert freedoms(np.zeros((1, 3)), np.zeros(2), 10.0) == ()


def test_exact_pose_lays_every_face_on_its_locator() -> None:
    rng = np.random.default_rng(1)
    points = rng.normal(size=(6, 3)) * 40
    normals = rng.normal(size=(6, 3))
    normals /= np.linalg.norm(normals, axis=1, keepdims=True)
    errors = rng.normal(size=6) * 0.1
    turn, shift = exact_space_pose(points, normals, errors)
    at = points + errors[:, None] * normals
    on_part = (at - shift) @ turn
    assert (normals * on_part).sum(axis=1) == pytest.approx((normals * points).sum(axis=1), abs=1e-11)
    plane = exact_plane_pose(points[:3, :2], normals[:3, :2], errors[:3])
    linear = pose(plane_jacobian(points[:3, :2], normals[:3, :2]), errors[:3])
    assert plane == pytest.approx(linear, abs=0.02 * float(np.abs(linear).max()) + 1e-6)


def test_rotation_matrix() -> None:
    assert rotation([0, 0, np.pi / 2]) @ [1, 0, 0] == pytest.approx([0, 1, 0], abs=1e-15)
    assert rotation([0, 0, 0]) == pytest.approx(np.eye(3))


def test_locator_without_direction_is_refused() -> None:
    with pytest.raises(JawrightError, match="no direction"):
        space_jacobian([(0, 0, 0)], [(0, 0, 0)])
