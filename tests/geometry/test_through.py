"""Smooth curves through points: against an interpolation written by others, and closed forms."""

from __future__ import annotations

import math
from itertools import pairwise

import numpy as np
import pytest
from scipy.interpolate import CubicSpline

from jawright.errors import JawrightError
from jawright.geometry.curve import Curve, Line, Point
from jawright.geometry.meet import distances
from jawright.geometry.table import table_of
from jawright.geometry.through import fit_through


def far(points: list[Point], curves: tuple[Curve, ...]) -> float:
    """Largest distance of the points from the curves."""
    p = np.array(points)
    return float(distances(table_of(curves), p[:, 0], p[:, 1])[0].max())


@pytest.mark.parametrize("seed", range(12))
def test_the_arcs_lie_within_their_bound_of_the_spline(seed: int) -> None:
    rng = np.random.default_rng(seed)
    n = int(rng.integers(3, 12))
    points = [(10.0 * k + float(rng.uniform(-3, 3)), float(rng.uniform(-8, 8))) for k in range(n)]
    (curves, bound), beside = fit_through(points)
    t = np.concatenate([[0.0], np.cumsum([math.dist(a, b) for a, b in pairwise(points)])])
    truth = CubicSpline(t, np.array(points), bc_type="natural")
    dense = [(float(p[0]), float(p[1])) for p in truth(np.linspace(0.0, t[-1], 20_001))]
    assert bound <= 1e-3 and far(dense, curves) <= bound + 1e-7
    assert beside > 0
    assert curves[0].start == pytest.approx(points[0]) and curves[-1].end == pytest.approx(points[-1])


def test_end_directions_are_kept() -> None:
    (curves, _), _ = fit_through([(0, 0), (10, 5), (20, 0)], ends=((0.0, 2.0), (1.0, 0.0)))
    assert curves[0].tangent(0.0) == pytest.approx((0.0, 1.0), abs=1e-6)
    assert curves[-1].tangent(1.0) == pytest.approx((1.0, 0.0), abs=1e-6)


def test_even_points_of_a_circle_closed_are_nearly_one_and_no_rule_differs() -> None:
    n, r = 24, 15.0
    ring = [(r * math.cos(2 * math.pi * k / n), r * math.sin(2 * math.pi * k / n)) for k in range(n)]
    (curves, bound), beside = fit_through(ring, closed=True)
    assert curves[0].start == pytest.approx(curves[-1].end, abs=1e-9)
    # the error of a cubic through points of a circle, h half the angle between them: r h^4 / 24 at most
    assert far(ring, curves) <= bound + 1e-9 and beside < 1e-9
    off = max(abs(math.hypot(*c.at(0.5)) - r) for c in curves)
    assert off < r * (math.pi / n) ** 4 / 6 + bound


def test_two_points_are_a_line_and_doubles_count_once() -> None:
    (curves, bound), beside = fit_through([(0, 0), (0, 0), (7, 1)])
    assert curves == (Line((0.0, 0.0), (7.0, 1.0)),) and bound == beside == 0.0


@pytest.mark.parametrize("points", [[], [(1, 2)], [(1, 2), (1, 2)], [(0, 0), (math.nan, 1), (2, 2)]])
def test_what_is_no_curve_is_refused(points: list[Point]) -> None:
    with pytest.raises(JawrightError) as e:
        fit_through(points)
    assert e.value.code == "geometry"
