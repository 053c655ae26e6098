"""Crossings of lines and arcs against plane geometry, and nearest points against dense sampling."""

from __future__ import annotations

import math

import numpy as np
import pytest
import shapely

from jawright.geometry.curve import Arc, Curve, Line
from jawright.geometry.meet import close_pairs, crossings, distance_matrix, nearest
from jawright.geometry.table import table_of


def test_two_lines() -> None:
    (((x, y), s, t),) = crossings(Line((0, 0), (4, 4)), Line((0, 2), (4, 2)))
    assert (x, y, s, t) == (2.0, 2.0, 0.5, 0.5)
    assert crossings(Line((0, 0), (1, 1)), Line((0, 2), (4, 2))) == ()
    assert crossings(Line((0, 0), (4, 0)), Line((0, 1), (4, 1))) == ()


def test_shared_runs_are_given_by_their_ends() -> None:
    found = crossings(Line((0, 0), (10, 0)), Line((4, 0), (14, 0)))
    assert [p for p, _, _ in found] == [(4.0, 0.0), (10.0, 0.0)]
    assert [(s, t) for _, s, t in found] == [(0.4, 0.0), (1.0, 0.6)]
    a = Arc((5, 0), (-5, 0), (0, 0), True)
    b = Arc((0, 5), (0, -5), (0, 0), True)
    ends = [p for p, _, _ in crossings(a, b)]
    assert ends == [(0.0, 5.0), (-5.0, 0.0)]


def test_line_and_circle_cross_touch_and_miss() -> None:
    half = Arc((5, 0), (-5, 0), (0, 0), True)
    found = crossings(Line((-10, 3), (10, 3)), half)
    assert [(round(p[0], 12), round(p[1], 12)) for p, _, _ in found] == [(-4.0, 3.0), (4.0, 3.0)]
    (((x, y), s, t),) = crossings(Line((-10, 5), (10, 5)), half)
    assert (x, y) == pytest.approx((0.0, 5.0), abs=1e-12)
    assert (s, t) == pytest.approx((0.5, 0.5))
    assert crossings(Line((-10, 5.001), (10, 5.001)), half) == ()
    assert crossings(Line((-10, -3), (10, -3)), half) == ()


def test_circles_cross_touch_and_miss() -> None:
    a = Arc((5, 0), (-5, 0), (0, 0), True)
    b = Arc((11, 0), (1, 0), (6, 0), True)
    (((x, y), _, _),) = crossings(a, b)
    assert (x, y) == pytest.approx((3.0, 4.0), abs=1e-12)  # the 3-4-5 triangle
    (((x, y), _, _),) = crossings(Arc((0, -5), (0, 5), (0, 0), True), Arc((8, 3), (8, -3), (8, 0), True))
    assert (x, y) == pytest.approx((5.0, 0.0), abs=1e-12)
    (((x, y), _, _),) = crossings(Arc((0, -5), (0, 5), (0, 0), True), Arc((2, -3), (2, 3), (2, 0), True))
    assert (x, y) == pytest.approx((5.0, 0.0), abs=1e-12)


def _random_curve(rng: np.random.Generator) -> Curve:
    p, q, c = (tuple(map(float, rng.uniform(-10, 10, 2))) for _ in range(3))
    if rng.random() < 0.5:
        return Line(p, q)
    a, sweep, r = float(rng.uniform(-3, 3)), float(rng.uniform(0.1, 6.1)), float(rng.uniform(0.5, 9))
    s = (c[0] + r * math.cos(a), c[1] + r * math.sin(a))
    e = (c[0] + r * math.cos(a + sweep), c[1] + r * math.sin(a + sweep))
    return Arc(s, e, c, True) if rng.random() < 0.5 else Arc(e, s, c, False)


def test_random_curves_meet_where_dense_polygons_do() -> None:
    rng = np.random.default_rng(1)
    met = 0
    for _ in range(600):
        a, b = _random_curve(rng), _random_curve(rng)
        found = crossings(a, b)
        for p, s, t in found:
            assert math.dist(a.at(s), p) < 1e-7
            assert math.dist(b.at(t), p) < 1e-7
        dense = [shapely.LineString([c.at(float(k)) for k in np.linspace(0, 1, 801)]) for c in (a, b)]
        theirs = shapely.get_coordinates(dense[0].intersection(dense[1]))
        assert len(found) == len(theirs)
        for q in theirs:
            assert min(math.dist(q, p) for p, _, _ in found) < 0.2  # chords of shallow crossings slide
        met += len(found)
    assert met > 80


def test_nearest_by_hand() -> None:
    curves = [Line((0, 0), (10, 0)), Arc((10, 0), (0, 0), (5, 0), True)]
    d, k, p = nearest(curves, (4.0, -2.0))
    assert (d, k, p) == (2.0, 0, (4.0, 0.0))
    d, k, p = nearest(curves, (5.0, 7.0))
    assert (d, k) == (2.0, 1)
    assert p == pytest.approx((5.0, 5.0))
    d, k, p = nearest(curves, (13.0, -4.0))
    assert (d, p) == (5.0, (10.0, 0.0))


def test_distances_match_dense_samples() -> None:
    rng = np.random.default_rng(2)
    for _ in range(40):
        c = _random_curve(rng)
        p = rng.uniform(-15, 15, (50, 2))
        dense = np.array([c.at(float(t)) for t in np.linspace(0, 1, 4001)])
        truth = np.hypot(p[:, None, 0] - dense[None, :, 0], p[:, None, 1] - dense[None, :, 1]).min(axis=1)
        ours = distance_matrix(table_of([c]), p[:, 0], p[:, 1])[:, 0]
        assert (ours <= truth + 1e-12).all()
        # a sample misses the nearest point by half a step at most
        h = 0.5 * c.length / 4000
        assert (truth - ours <= h + 1e-12).all()


def test_pairs_by_sorting_are_the_pairs_by_table() -> None:
    rng = np.random.default_rng(3)
    few = [_random_curve(rng) for _ in range(300)]
    t = table_of(few)
    i, j = close_pairs(t, 1e-6)
    b = t.boxes()
    slow = [
        (m, n)
        for m in range(300)
        for n in range(m + 1, 300)
        if (b[m, :2] - 1e-6 <= b[n, 2:]).all() and (b[n, :2] - 1e-6 <= b[m, 2:]).all()
    ]
    assert sorted(zip(i.tolist(), j.tolist(), strict=True)) == slow
    many = table_of(few * 5)
    i, j = close_pairs(many, 1e-6)
    assert len(set(zip(i.tolist(), j.tolist(), strict=True))) == len(i)
    # five copies: 25 pairs for each pair of different curves, 10 for each curve with its copies
    assert len(i) == 25 * len(slow) + 10 * 300
