"""Many layouts seated at once come to rest exactly where each does by itself: not one bit differs."""

from __future__ import annotations

import numpy as np
import pytest

from jawright.mechanics import programs
from jawright.mechanics.seat import Layout, SeatResult, seat, seat_all

PARTS = 40


def layout(seed: int) -> Layout:
    """Random contacts on both jaws; now and then a stop, a jaw without play, or no room at all."""
    rng = np.random.default_rng(seed)
    n = int(rng.integers(3, 15))
    ride = (np.arange(n) >= n // 2).astype(float)
    lean = rng.uniform(-0.7, 0.7, n) * (rng.random(n) < 0.6)
    across = np.where(ride > 0, 1.0, -1.0)
    normals = np.column_stack([np.sin(lean), across * np.cos(lean)])
    points = np.column_stack([rng.uniform(-40, 40, n), -across * rng.uniform(5, 20, n)])
    push = (0.0, 0.0)
    if rng.random() < 0.6:
        points[0], normals[0], push = (-45.0, 2.0), (1.0, 0.0), (-0.4, 0.0)
    gaps = rng.normal(0.0, 0.02, (PARTS, n))
    if rng.random() < 0.1:
        gaps[:, :] = -5.0  # no room between the walls
    play = (0.0, 0.0) if rng.random() < 0.3 else (6e-4, 0.02)
    return Layout(points, normals, ride, gaps, push, play, rng.uniform(0.0, 8.0, n))


def by_itself(w: Layout) -> SeatResult:
    return seat(
        w.points,
        w.normals,
        w.floating,
        w.gaps,
        push=w.push,
        yaw=w.play[0],
        side_play=w.play[1],
        radius=w.radius,
    )


def assert_same(one: SeatResult, other: SeatResult) -> None:
    for name in ("pose", "travel", "yaw", "side"):
        assert np.array_equal(getattr(one, name), getattr(other, name), equal_nan=True), name
    for name in ("basis", "unsolved"):
        assert np.array_equal(getattr(one, name), getattr(other, name)), name
    assert (one.escapes, one.loose) == (other.escapes, other.loose)
    assert np.array_equal(one.optima.rows, other.optima.rows)
    assert np.array_equal(one.optima.force, other.optima.force)


def test_seated_at_once_as_each_by_itself() -> None:
    many = [layout(k) for k in range(60)]
    answers = [by_itself(w) for w in many]
    kinds = {(bool(a.unsolved.any()), a.located, bool(a.loose)) for a in answers}
    assert len(kinds) >= 3, "the layouts should end in different ways"
    for one, other in zip(answers, seat_all(many), strict=True):
        assert_same(one, other)


@pytest.mark.parametrize("room", [1, 3000])
def test_how_many_walk_together_does_not_matter(room: int, monkeypatch: pytest.MonkeyPatch) -> None:
    many = [layout(k) for k in range(12)]
    whole = seat_all(many)
    monkeypatch.setattr(programs, "ABREAST", room)
    for one, other in zip(whole, seat_all(many), strict=True):
        assert_same(one, other)


def test_bases_too_many_to_count_in_one_number_are_told_apart_too(monkeypatch: pytest.MonkeyPatch) -> None:
    many = [layout(k) for k in range(12)]
    whole = seat_all(many)
    monkeypatch.setattr(programs, "COUNTED", 0)
    for one, other in zip(whole, seat_all(many), strict=True):
        assert_same(one, other)


def test_none_at_all() -> None:
    assert seat_all([]) == []
