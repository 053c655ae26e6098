"""Inside, distance, self-crossing and moments of outlines."""

from __future__ import annotations

import math

import numpy as np
import pytest
import shapely

from geometry.families import comb, filleted, star
from geometry.oracle import exact_distance
from jawright.errors import JawrightError
from jawright.geometry.curve import Arc, Line
from jawright.geometry.profile import Profile, Region, circle, rectangle
from jawright.geometry.query import (
    inside,
    moments,
    nearest_on,
    require_simple,
    self_crossings,
    signed_distance,
    simple,
    winding,
)

FAMILIES = [star, filleted, comb]


def test_distance_and_side_match_a_fine_polygon() -> None:
    rng = np.random.default_rng(1)
    for k in range(9):
        q = FAMILIES[k % 3](rng)
        if not simple(q):
            continue
        x0, y0, x1, y1 = q.box
        p = rng.uniform((x0 - 3, y0 - 3), (x1 + 3, y1 + 3), (1500, 2))
        truth = exact_distance(Region(q), p, 1e-6)
        ours = signed_distance(Region(q), p)
        assert np.abs(ours - truth).max() < 3e-6
        assert (inside(Region(q), p) == (truth < 0))[np.abs(truth) > 2e-6].all()


def test_points_level_with_corners_and_arc_ends() -> None:
    """The rays of such points run through joints; none may count twice or not at all."""
    q = Region(comb(np.random.default_rng(4)))
    xs, ys = np.meshgrid(np.arange(-2, 40) + 0.5, np.arange(-8, 14))
    p = np.column_stack([xs.ravel(), ys.ravel()])
    truth = exact_distance(q, p)
    clear = np.abs(truth) > 1e-5
    assert (inside(q, p) == (truth < 0))[clear].all()
    c = Region(circle((0, 0), 5))
    grid = np.array([(x, y) for x in range(-7, 8) for y in range(-7, 8)], dtype=float)
    r = np.hypot(grid[:, 0], grid[:, 1])
    assert (inside(c, grid) == (r < 5))[r != 5].all()


def test_winding_of_holes_and_of_clockwise_outlines() -> None:
    ring = Region(rectangle(0, 0, 10, 10), (circle((5, 5), 2).reversed(),))
    assert winding(ring, [(5.0, 5.0), (1.0, 1.0), (-1.0, 5.0)]).tolist() == [0, 1, 0]
    assert winding(circle((0, 0), 1).reversed(), [(0.0, 0.0)]).tolist() == [-1]
    assert signed_distance(ring, [(5.0, 5.0), (1.0, 5.0), (-3.0, 5.0)]).tolist() == [2.0, -1.0, 3.0]


def test_nearest_place_names_loop_and_curve() -> None:
    r = Region(rectangle(0, 0, 10, 10), (circle((5, 5), 2).reversed(),))
    a, b, c = nearest_on(r, [(4.0, 0.5), (5.0, 7.5), (11.0, 11.0)])
    assert (a.loop, a.curve, a.point, a.distance) == (0, 0, (4.0, 0.0), 0.5)
    assert a.share == pytest.approx(0.4)
    assert (b.loop, b.distance) == (1, 0.5)
    assert b.point == pytest.approx((5.0, 7.0))
    assert c.point == (10.0, 10.0)
    assert c.distance == pytest.approx(math.sqrt(2))


def test_crossings_are_named_and_placed() -> None:
    bow = Profile(
        (Line((0, 0), (10, 10)), Line((10, 10), (10, 0)), Line((10, 0), (0, 8)), Line((0, 8), (0, 0)))
    )
    (c,) = self_crossings(bow)
    assert (c.first, c.second) == ((0, 0), (0, 2))
    assert c.point == pytest.approx((40 / 9, 40 / 9))
    assert not simple(bow)
    with pytest.raises(JawrightError, match="curves 1 and 3"):
        require_simple(bow)


def test_arcs_that_bow_into_another_edge() -> None:
    q = Profile(
        (
            Line((0, 0), (10, 0)),
            Line((10, 0), (10, 4)),
            Arc((10, 4), (0, 4), (5, 4), False),
            Line((0, 4), (0, 0)),
        )
    )
    assert len(self_crossings(q)) == 2
    touching = Profile(
        (
            Line((0, 0), (10, 0)),
            Line((10, 0), (10, 5)),
            Arc((10, 5), (0, 5), (5, 5), False),
            Line((0, 5), (0, 0)),
        )
    )
    assert simple(touching), "it touches in a point and crosses nowhere"


def test_simple_outlines_are_simple_either_way_round_and_far_away() -> None:
    rng = np.random.default_rng(5)
    for k in range(60):
        q = FAMILIES[1 + k % 2](rng) if k % 2 else filleted(rng)
        assert simple(q) == simple(q.reversed())
        assert simple(q) == simple(q.moved(turn=0.3, shift=(1e4, -2e4)))


def test_crossing_matches_polygon_validity() -> None:
    """Simple when a fine polygon of it is; tips that cross by less than a chord need a finer one."""
    rng = np.random.default_rng(6)
    crossed = 0
    for _ in range(400):
        q = star(rng)
        if min(c.length for c in q.curves) < 1e-2:
            continue
        ours = simple(q)
        assert any(ours == bool(shapely.Polygon(q.points(chord)).is_valid) for chord in (1e-4, 1e-7))
        crossed += not ours
    assert crossed > 20


def test_runs_back_on_itself() -> None:
    p = [(0, 0), (10, 0), (10, 10), (5, 10), (5, 15), (5, 10), (0, 10)]
    spike = Profile(tuple(Line(p[k], p[(k + 1) % 7]) for k in range(7)))
    (c,) = self_crossings(spike)
    assert c.point == pytest.approx((5.0, 12.5))
    with pytest.raises(JawrightError, match="runs back"):
        require_simple(spike)


def test_moments_of_a_polygonized_outline_converge_to_the_exact_ones() -> None:
    rng = np.random.default_rng(7)
    for k in range(6):
        q = FAMILIES[k % 3](rng).moved(turn=0.7, shift=(300.0, -200.0))
        exact = moments(q)
        fine = moments(Profile(tuple(_lines(q.points(1e-6)))))
        assert fine.area == pytest.approx(exact.area, rel=1e-6)
        assert fine.center == pytest.approx(exact.center, abs=1e-6)
        for name in ("ixx", "iyy", "ixy"):
            scale = max(exact.ixx, exact.iyy)
            assert getattr(fine, name) == pytest.approx(getattr(exact, name), abs=1e-6 * scale)


def _lines(p: list[tuple[float, float]]) -> list[Line]:
    return [Line(a, b) for a, b in zip(p, p[1:] + p[:1], strict=True)]


def test_moments_do_not_care_about_place() -> None:
    r = Region(filleted(np.random.default_rng(8)), ())
    near, far = moments(r), moments(r.moved(shift=(1e4, 2e4)))
    assert far.area == pytest.approx(near.area, rel=1e-11)
    assert far.ixx == pytest.approx(near.ixx, rel=1e-9)
    assert far.center[0] - 1e4 == pytest.approx(near.center[0], abs=1e-8)
