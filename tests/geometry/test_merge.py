"""One outline, one form."""

from __future__ import annotations

import itertools
import math
from collections.abc import Callable

import numpy as np
import pytest

from geometry.families import comb, filleted, star
from jawright.errors import JawrightError
from jawright.geometry.curve import Arc, Curve, Line
from jawright.geometry.merge import simplify, simplify_region
from jawright.geometry.profile import Profile, Region, circle, rectangle


def chopped(q: Profile, rng: np.random.Generator) -> Profile:
    """The same outline with its curves cut at random places and another start."""
    out: list[Curve] = []
    for c in q.curves:
        cuts = [0.0, *sorted(rng.uniform(0.05, 0.95, int(rng.integers(0, 4))).tolist()), 1.0]
        for a, b in itertools.pairwise(cuts):
            p, r = c.at(a), c.at(b)
            out.append(Line(p, r) if isinstance(c, Line) else Arc(p, r, c.center, c.ccw))
    k = int(rng.integers(len(out)))
    return Profile(tuple(out[k:] + out[:k]))


@pytest.mark.parametrize("family", [star, filleted, comb])
def test_chopped_outlines_come_together_again(family: Callable[[np.random.Generator], Profile]) -> None:
    rng = np.random.default_rng(1)
    for _ in range(40):
        q = simplify(family(rng))
        again = simplify(chopped(q, rng))
        assert len(again.curves) == len(q.curves)
        for a, b in zip(q.curves, again.curves, strict=True):
            assert type(a) is type(b)
            assert math.dist(a.start, b.start) < 1e-8
        assert again.area == pytest.approx(q.area, rel=1e-9)


def test_the_same_outline_gives_the_same_bytes() -> None:
    r = rectangle(1, 2, 5, 4)
    forms = {repr(simplify(Profile(r.curves[k:] + r.curves[:k]))) for k in range(4)}
    assert len(forms) == 1
    assert simplify(r).curves[0].start == (1, 2)


def test_circle_is_two_arcs_from_its_lowest_point() -> None:
    c = circle((3, 4), 2)
    cut = chopped(c, np.random.default_rng(2))
    assert len(cut.curves) > 2
    assert simplify(cut).curves == (Arc((3, 2), (3, 6), (3, 4), True), Arc((3, 6), (3, 2), (3, 4), True))
    assert simplify(cut.reversed()).curves[0] == Arc((3, 2), (3, 6), (3, 4), False)


def test_short_curves_go_and_chains_stay_closed() -> None:
    p = [(0, 0), (10, 0), (10, 1e-10), (10, 10), (0, 10)]
    q = simplify(Profile(tuple(Line(p[k], p[(k + 1) % 5]) for k in range(5))))
    assert len(q.curves) == 4
    assert q.curves[0].end == q.curves[1].start


def test_a_bend_stays() -> None:
    p = [(0, 0), (5, -1e-6), (10, 0), (10, 10), (0, 10)]
    q = Profile(tuple(Line(p[k], p[(k + 1) % 5]) for k in range(5)))
    assert len(simplify(q).curves) == 5
    assert len(simplify(q, 1e-5).curves) == 4


def test_many_small_bends_do_not_add_up() -> None:
    """Joints are measured from the whole run, so a slow curve is not flattened piece by piece."""
    n = 200
    p = [(float(k), 1e-10 * k * k) for k in range(n)]
    q = Profile(
        (
            *(Line(a, b) for a, b in itertools.pairwise(p)),
            Line(p[-1], (0.0, 99.0)),
            Line((0.0, 99.0), p[0]),
        )
    )
    s = simplify(q, 1e-9)
    kept = [c.start for c in s.curves]
    assert 3 < len(kept) < n
    assert abs(s.area - q.area) < 1e-9 * 1.01 * n


def test_arcs_of_one_circle_that_bow_apart_stay_apart() -> None:
    a, b = Arc((5, 0), (0, 5), (0, 0), True), Arc((0, 5), (5, 0), (0, 0), False)
    wave = Profile((a, Line((0, 5), (-5, 5)), Line((-5, 5), (-5, -1)), Line((-5, -1), (5, 0))))
    assert len(simplify(wave).curves) == 4
    with pytest.raises(JawrightError):
        simplify(Profile((Line((0, 0), (1e-12, 0)), Line((1e-12, 0), (0, 0)))))
    assert b.ccw is False


def test_region_holes_come_in_one_order() -> None:
    h = [circle((x, 5), 1).reversed() for x in (3, 7)]
    r = rectangle(0, 0, 10, 10)
    assert repr(simplify_region(Region(r, tuple(h)))) == repr(simplify_region(Region(r, tuple(h[::-1]))))
