"""Upper and lower borders over X against dense sampling."""

from __future__ import annotations

import itertools
import math
from collections.abc import Callable

import numpy as np
import pytest
import shapely

from geometry.families import comb, filleted, star
from jawright.errors import JawrightError
from jawright.geometry.curve import Arc, Curve, Line
from jawright.geometry.envelope import borders, lower, upper, y_hull
from jawright.geometry.profile import Profile, circle, rectangle
from jawright.geometry.query import signed_distance, simple


def height(chain: tuple[tuple[Curve, int], ...], x: float) -> float:
    for c, _ in chain:
        if c.start[0] < x < c.end[0]:
            lo, hi = 0.0, 1.0
            for _ in range(60):
                m = 0.5 * (lo + hi)
                lo, hi = (m, hi) if c.at(m)[0] < x else (lo, m)
            return c.at(lo)[1]
    raise AssertionError(x)


@pytest.mark.parametrize("family", [star, filleted, comb])
def test_borders_are_the_extremes_of_the_body(family: Callable[[np.random.Generator], Profile]) -> None:
    rng = np.random.default_rng(1)
    for _ in range(12):
        q = family(rng).moved(turn=float(rng.choice([0.0, 0.4, 2.0])))
        if not simple(q):
            continue
        body = shapely.Polygon(q.points(1e-6))
        up, low = upper(q), lower(q)
        x0, y0, x1, y1 = q.box
        for x in rng.uniform(x0, x1, 12):
            cut = body.intersection(shapely.LineString([(x, y0 - 1), (x, y1 + 1)]))
            if cut.is_empty:
                continue
            # a steep border moves by more in Y than its chord is off: compare with three columns
            tops, bottoms = [], []
            for e in (-1e-5, 0.0, 1e-5):
                b = body.intersection(shapely.LineString([(x + e, y0 - 1), (x + e, y1 + 1)])).bounds
                tops.append(b[3])
                bottoms.append(b[1])
            assert min(tops) - 1e-4 <= height(up, float(x)) <= max(tops) + 1e-4
            assert min(bottoms) - 1e-4 <= height(low, float(x)) <= max(bottoms) + 1e-4


@pytest.mark.parametrize("family", [star, filleted, comb])
def test_chains_are_closed_left_to_right_and_name_their_source(
    family: Callable[[np.random.Generator], Profile],
) -> None:
    rng = np.random.default_rng(2)
    for _ in range(40):
        q = family(rng)
        if not simple(q):
            continue
        x0, _, x1, _ = q.box
        for chain in (upper(q), lower(q)):
            assert chain[0][0].start[0] == pytest.approx(x0, abs=1e-9)
            assert chain[-1][0].end[0] == pytest.approx(x1, abs=1e-9)
            for (a, _), (b, _) in itertools.pairwise(chain):
                assert a.end == b.start
            for c, source in chain:
                if source == -1:
                    assert isinstance(c, Line)
                    assert c.start[0] == c.end[0]
                    continue
                assert c.end[0] > c.start[0]
                s = q.curves[source]
                assert type(s) is type(c)
                if isinstance(c, Arc) and isinstance(s, Arc):
                    assert c.center == s.center
                    assert math.dist(c.at(0.5), s.center) == pytest.approx(s.radius, abs=1e-9)


@pytest.mark.parametrize("family", [star, filleted, comb])
def test_hull_holds_the_body_and_is_its_own_hull(family: Callable[[np.random.Generator], Profile]) -> None:
    rng = np.random.default_rng(3)
    for _ in range(40):
        q = family(rng)
        if q.area < 0 or not simple(q):
            continue
        h = y_hull(q)
        assert simple(h)
        assert h.area >= q.area - 1e-9
        assert signed_distance(h, q.points(1e-3)).max() < 1e-7
        assert y_hull(h).area == pytest.approx(h.area, rel=1e-12)
        assert h.box == pytest.approx(q.box, abs=1e-9)


def test_hook_by_hand() -> None:
    """The bay that opens to the side fills up, the one that opens upward stays."""
    p = [
        (0, 0),
        (10, 0),
        (10, 10),
        (6, 10),
        (6, 4),
        (3, 4),
        (3, 7),
        (1, 7),
        (1, 5),
        (-2, 5),
        (-2, 8),
        (-4, 8),
        (-4, 0),
    ]
    q = Profile(tuple(Line(p[k], p[(k + 1) % len(p)]) for k in range(len(p))))
    assert y_hull(q).area == pytest.approx(q.area)
    side = [(0, 0), (10, 0), (10, 2), (4, 2), (4, 5), (10, 5), (10, 8), (0, 8)]
    c = Profile(tuple(Line(side[k], side[(k + 1) % 8]) for k in range(8)))
    assert y_hull(c).area == pytest.approx(80.0)
    assert [k for _, k in upper(c)] == [6]


def test_circle_and_box() -> None:
    c = circle((3, 4), 5)
    assert y_hull(c).area == pytest.approx(25 * math.pi, rel=1e-14)
    (a, k), *rest = upper(c)
    assert rest == []
    assert (a.start, a.end, k) == ((-2.0, 4.0), (8.0, 4.0), 0)
    assert y_hull(rectangle(0, 0, 4, 3)).area == 12.0


def test_overhang_of_an_arc() -> None:
    """A disk on a narrow neck: under the disk the lower border jumps from neck to disk."""
    a = math.asin(0.6)
    neck = Profile(
        (
            Line((-3, -10), (3, -10)),
            Line((3, -10), (3, -4)),
            Arc((3, -4), (-3, -4), (0, 0), True),
            Line((-3, -4), (-3, -10)),
        )
    )
    low = lower(neck)
    assert [k for _, k in low] == [2, -1, 0, -1, 2]
    assert low[1][0].start == pytest.approx((-3, -4))
    assert y_hull(neck).area == pytest.approx(neck.area)
    assert neck.area == pytest.approx(25 * math.pi - 25 * (a - math.sin(a) * math.cos(a)) + 36)


def test_no_width_is_refused() -> None:
    with pytest.raises(JawrightError, match="no width"):
        upper(Profile((Line((1, 0), (1, 5)), Line((1, 5), (1, 0)))))


def test_borders_of_many_are_those_of_each_to_the_last_bit() -> None:
    rng = np.random.default_rng(5)
    many = [f(rng).moved(turn=float(rng.uniform(0, 6))) for f in (star, filleted) for _ in range(8)]
    many += [circle((3.0, 1.0), 9.0), rectangle(0.0, 0.0, 30.0, 10.0), comb(rng)]
    assert borders(many) == [(upper(p), lower(p)) for p in many]
    assert borders([]) == []
