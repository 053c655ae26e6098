"""Where a milled wall is judged: along itself, slanted or not."""

from __future__ import annotations

import math
from dataclasses import replace

import pytest

from jawright.geometry.frame import Move
from jawright.hold.features import _circle_run, _corners, _round_wall, _wall_run
from jawright.part.model import Face


@pytest.mark.parametrize("degrees", [0.0, 30.0, 45.0, 90.0, 135.0])
def test_ends_of_a_slanted_wall(degrees: float) -> None:
    """A wall of 20 mm at any angle: its run has its own ends, though its box is a rectangle."""
    a = math.radians(degrees)
    t = (math.cos(a), math.sin(a))
    xs, ys = sorted((-10 * t[0], 10 * t[0])), sorted((-10 * t[1], 10 * t[1]))
    corners = [(5 + x, 7 + y, z) for x in xs for y in ys for z in (0.0, 8.0)]
    run = _wall_run(corners, (5.0, 7.0, 4.0), (-t[1], t[0]))
    assert math.dist(run[0], run[2]) == pytest.approx(20.0)
    assert run[1] == pytest.approx((5.0, 7.0))
    assert {(round(x, 6), round(y, 6)) for x, y in (run[0], run[2])} == {
        (round(5 + s * 10 * t[0], 6) + 0.0, round(7 + s * 10 * t[1], 6) + 0.0) for s in (-1, 1)
    }


def cylinder(x1: float = 30.0, *, hollow: bool = False) -> Face:
    """A round wall of Ø20 about (20, 5), 8 high; less of it where its box is narrower."""
    box = (10.0, -5.0, 0.0, x1, 15.0, 8.0)
    return Face(
        0,
        "cylinder",
        1.0,
        (30.0, 5.0, 4.0),
        (1.0, 0.0, 0.0),
        box,
        (0.0, 0.0, 1.0),
        (20.0, 5.0, 0.0),
        10.0,
        hollow,
    )


def test_a_whole_round_wall_has_a_diameter_and_points_on_itself() -> None:
    still = Move("part", "vise", ((1.0, 0.0, 0.0), (0.0, 1.0, 0.0), (0.0, 0.0, 1.0)), (0.0, 0.0, 0.0))
    assert _round_wall(cylinder(), still) == 20.0
    assert _round_wall(cylinder(25.0), still) is None, "only a part of it"
    lying = replace(cylinder(), axis=(1.0, 0.0, 0.0))
    assert _round_wall(lying, still) is None
    run = _circle_run(_corners(cylinder().box), 10.0)
    assert all(math.dist(p, (20.0, 5.0)) == pytest.approx(10.0) for p in run)
    assert sum(p[0] for p in run) / len(run) == pytest.approx(20.0)
