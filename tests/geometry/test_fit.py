"""Arc fits: the stated bound holds on a far denser check, tangents meet, straight runs are lines."""

from __future__ import annotations

import itertools
import math

import numpy as np
import pytest
from scipy.interpolate import BSpline

from jawright.errors import JawrightError
from jawright.geometry.curve import Arc, Curve, Line
from jawright.geometry.fit import fit_arcs, fit_bspline, fit_ellipse
from jawright.geometry.meet import distances
from jawright.geometry.profile import Profile
from jawright.geometry.table import table_of


def worst_off(curves: tuple[Curve, ...], points: np.ndarray) -> float:
    d, _ = distances(table_of(curves), points[:, 0].copy(), points[:, 1].copy())
    return float(d.max())


def worst_turn(curves: tuple[Curve, ...], *, closed: bool = False) -> float:
    pairs = list(itertools.pairwise(curves)) + ([(curves[-1], curves[0])] if closed else [])
    out = 0.0
    for a, b in pairs:
        assert math.dist(a.end, b.start) < 1e-9
        u, v = a.tangent(1.0), b.tangent(0.0)
        out = max(out, abs(math.atan2(u[0] * v[1] - u[1] * v[0], u[0] * v[0] + u[1] * v[1])))
    return out


@pytest.mark.parametrize("tol", [1e-2, 1e-3, 1e-4])
@pytest.mark.parametrize("ratio", [0.05, 0.3, 0.7, 0.99, 1.6])
def test_ellipse_within_its_bound(tol: float, ratio: float) -> None:
    curves, bound = fit_ellipse((3, -2), (24, 7), ratio, tol=tol)
    t = np.linspace(0, 2 * math.pi, 20001)
    m = np.array([[24, 7], [-7 * ratio, 24 * ratio]])
    p = np.column_stack([np.cos(t), np.sin(t)]) @ m + (3, -2)
    assert worst_off(curves, p) <= bound <= tol
    assert worst_turn(curves, closed=True) < 1e-6
    area = math.pi * 25 * 25 * ratio
    assert Profile(curves).area == pytest.approx(area, abs=tol * Profile(curves).perimeter)


def test_part_of_an_ellipse_starts_and_ends_where_it_should() -> None:
    curves, _ = fit_ellipse((0, 0), (10, 0), 0.5, 5.5, 0.5)
    assert curves[0].start == pytest.approx((10 * math.cos(5.5), 5 * math.sin(5.5)))
    assert curves[-1].end == pytest.approx((10 * math.cos(0.5), 5 * math.sin(0.5)))
    assert sum(c.length for c in curves) < 12


def test_circle_is_exact() -> None:
    curves, bound = fit_ellipse((1, 2), (0, 5), 1.0)
    assert bound == 0.0
    assert len(curves) == 2
    assert all(isinstance(c, Arc) and c.center == (1, 2) for c in curves)
    assert Profile(curves).area == pytest.approx(25 * math.pi)


KNOTS = [0, 0, 0, 0, 1, 2, 3, 4, 4, 4, 4]


@pytest.mark.parametrize("seed", range(6))
def test_spline_within_its_bound(seed: int) -> None:
    rng = np.random.default_rng(seed)
    control = np.column_stack([np.arange(7) * 10.0, rng.uniform(-8, 8, 7)])
    curves, bound = fit_bspline(3, KNOTS, control, None, 1e-3)
    p = BSpline(np.array(KNOTS, dtype=float), control, 3)(np.linspace(0, 4, 30001))
    assert worst_off(curves, p) <= bound <= 1e-3
    assert worst_turn(curves) < 1e-6
    assert curves[0].start == pytest.approx(tuple(control[0]))
    assert curves[-1].end == pytest.approx(tuple(control[-1]))


def test_fewer_arcs_for_a_wider_bound() -> None:
    """A biarc's deviation falls with the cube of its length: ten times finer takes 2.15 times the arcs."""
    counts = [len(fit_ellipse((0, 0), (30, 0), 0.4, tol=t)[0]) for t in (1e-2, 1e-3, 1e-4, 1e-5)]
    ratios = [b / a for a, b in itertools.pairwise(counts)]
    assert all(1.6 < r < 2.5 for r in ratios)


def test_rational_quarter_circle_is_a_circle() -> None:
    """Piegl and Tiller, The NURBS Book, ch. 7: weights 1, sqrt(2)/2, 1 on a right angle."""
    curves, bound = fit_bspline(2, [0, 0, 0, 1, 1, 1], [(1, 0), (1, 1), (0, 1)], [1, math.sqrt(0.5), 1], 1e-4)
    assert bound < 1e-9
    for c in curves:
        assert isinstance(c, Arc)
        assert c.center == pytest.approx((0, 0), abs=1e-9)
        assert c.radius == pytest.approx(1.0, abs=1e-9)


def test_straight_runs_are_lines() -> None:
    line, bound = fit_bspline(3, [0, 0, 0, 0, 1, 1, 1, 1], [(0, 0), (1, 2), (5, 10), (6, 12)])
    assert [type(c) for c in line] == [Line]
    assert bound < 1e-12
    mixed, _ = fit_bspline(3, KNOTS, [(0, 0), (5, 10), (10, 0), (20, 5), (30, 5), (40, 5), (50, 5)])
    assert isinstance(mixed[-1], Line)
    assert mixed[-1].end == (50, 5)
    poly, bound = fit_bspline(1, [0, 0, 1, 2, 2], [(0, 0), (5, 0), (5, 5)])
    assert poly == (Line((0, 0), (5, 0)), Line((5, 0), (5, 5)))
    assert bound == 0.0


def test_corner_in_a_spline_stays_a_corner() -> None:
    curves, bound = fit_bspline(
        2, [0, 0, 0, 1, 1, 2, 2, 2], [(0, 0), (5, 3), (10, 0), (10, 8), (4, 9)], None, 1e-3
    )
    assert bound <= 1e-3
    corner = [math.dist(c.end, (10, 0)) < 1e-9 for c in curves]
    assert sum(corner) == 1


def test_without_slopes_it_is_nearly_as_good() -> None:
    def helix(t: np.ndarray) -> np.ndarray:
        r = 5 + 3 * t
        return np.column_stack([r * np.cos(6 * t), r * np.sin(6 * t)])

    curves, bound = fit_arcs(helix, tol=1e-3)
    assert worst_off(curves, helix(np.linspace(0, 1, 20001))) <= bound <= 1e-3
    assert worst_turn(curves) < 1e-5


def test_what_is_not_a_curve_is_refused() -> None:
    with pytest.raises(JawrightError, match="knots"):
        fit_bspline(3, [0, 0, 1, 1], [(0, 0), (1, 1)])
    with pytest.raises(JawrightError, match="weights"):
        fit_bspline(2, [0, 0, 0, 1, 1, 1], [(1, 0), (1, 1), (0, 1)], [1, 0, 1])
    with pytest.raises(JawrightError, match="axis"):
        fit_ellipse((0, 0), (0, 0), 0.5)
    with pytest.raises(JawrightError, match="not smooth"):
        fit_arcs(lambda t: np.column_stack([t, 1.0 * (t > 0.4)]), tol=1e-3)
    with pytest.raises(JawrightError, match="bound"):
        fit_arcs(lambda t: np.column_stack([t, t * t]), tol=0.0)
