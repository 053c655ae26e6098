"""The walk home with friction: cases whose end can be told by hand."""

from __future__ import annotations

import math

import numpy as np
import pytest

from jawright.mechanics.walk import sticks, walk

POINTS = np.array([[-20.0, 0.0], [20.0, 0.0], [-30.0, -10.0], [-15.0, -20.0], [15.0, -20.0]])
NORMALS = np.array([[0.0, -1.0], [0.0, -1.0], [1.0, 0.0], [0.0, 1.0], [0.0, 1.0]])
RIDE = np.array([0.0, 0.0, 0.0, 1.0, 1.0])


def test_flat_part_turned_a_little_goes_flat_but_not_to_the_stop() -> None:
    """Between flats the turn is closed; nothing pushes along X, so it stays off the stop."""
    w = walk(POINTS, NORMALS, RIDE, start=(1.0, 0.0, math.radians(1)), friction=0.12)
    assert w.end == "jams"
    assert w.pose[2] == pytest.approx(0.0, abs=1e-5)
    assert w.air == pytest.approx(1.0, abs=0.5)
    assert {0, 1} <= set(w.touching)


def test_part_at_the_stop_is_home() -> None:
    w = walk(POINTS, NORMALS, RIDE, start=(0.0, -0.5, 0.0), friction=0.12)
    assert w.end == "home"
    assert w.pose == pytest.approx((0.0, 0.0, 0.0), abs=1e-6)


@pytest.mark.parametrize(("friction", "end"), [(0.2, "home"), (0.3, "jams")])
def test_slanted_wall_drives_to_the_stop_while_it_is_steeper_than_friction(friction: float, end: str) -> None:
    """A wall slanted by a slides over two faces only where tan a > tan(2 atan µ); here a = 25°.

    tan 25° = 0.466; 2 atan 0.2 = 22.6° (slides), 2 atan 0.3 = 33.4° (sticks).
    """
    a = math.radians(25)
    points = np.array([[-20.0, 0.0], [20.0, 0.0], [-30.0, -10.0], [0.0, -20.0]])
    normals = np.array([[0.0, -1.0], [0.0, -1.0], [1.0, 0.0], [-math.sin(a), math.cos(a)]])
    w = walk(points, normals, np.array([0, 0, 0, 1.0]), start=(1.0, 0.0, 0.0), friction=friction)
    assert w.end == end


def test_sticking_needs_the_push_inside_both_cones() -> None:
    """Two opposed contacts, offset sideways by e over a distance d, stick for e/d < µ."""
    normals = np.array([[0.0, -1.0], [0.0, 1.0]])
    driven = np.array([False, True])
    for offset, stuck in ((1.9, True), (2.1, False)):
        arms = np.array([[0.0, 10.0], [offset, -10.0]])
        assert sticks(normals, arms, driven, 0.1) is stuck


def test_part_that_nothing_backs_is_pushed_out() -> None:
    points = np.array([[0.0, -20.0], [-30.0, -10.0]])
    normals = np.array([[0.0, 1.0], [1.0, 0.0]])
    w = walk(points, normals, np.array([1.0, 0.0]), start=(0.5, 0.0, 0.0), friction=0.1)
    assert w.end == "escapes"
