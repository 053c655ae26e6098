"""Where a milled wall is judged: along itself, slanted or not."""

from __future__ import annotations

import math

import pytest

from jawright.hold.features import _wall_run


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
