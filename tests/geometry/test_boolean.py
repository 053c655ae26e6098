"""Union, difference and intersection against closed forms, cell counts and polygons."""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from geometry.families import comb, filleted, from_bulges, star
from jawright.errors import JawrightError
from jawright.geometry.boolean import difference, intersection, union
from jawright.geometry.curve import Arc, Line
from jawright.geometry.offset import offset
from jawright.geometry.polygon import to_multipolygon
from jawright.geometry.profile import Profile, Region, circle, rectangle
from jawright.geometry.query import inside, simple

Shapes = Region | Sequence[Region]


def area(regions: Sequence[Region]) -> float:
    return math.fsum(r.area for r in regions)


def many(s: Shapes) -> list[Region]:
    return [s] if isinstance(s, Region) else list(s)


def agree(a: Shapes, b: Shapes, chord: float) -> None:
    """All three results against polygons with chords, within the area the chords can cost."""
    pa, pb = to_multipolygon(many(a), chord), to_multipolygon(many(b), chord)
    loops = [q for r in (*many(a), *many(b)) for q in (r.outer, *r.holes)]
    bound = chord * sum(q.perimeter for q in loops) + 1e-8
    either, both, only = union(a, b), intersection(a, b), difference(a, b)
    assert area(either) == pytest.approx(pa.union(pb).area, abs=bound)
    assert area(both) == pytest.approx(pa.intersection(pb).area, abs=bound)
    assert area(only) == pytest.approx(pa.difference(pb).area, abs=bound)
    own_a, own_b = area(union(a)), area(union(b))
    assert area(either) + area(both) == pytest.approx(own_a + own_b, rel=1e-9, abs=1e-7)
    assert area(only) + area(both) == pytest.approx(own_a, rel=1e-9, abs=1e-7)
    for r in (*either, *both, *only):
        assert r.outer.area > 0
        assert all(h.area < 0 for h in r.holes)
        assert simple(r)


def on_grid(rng: np.random.Generator) -> Region:
    """Shapes on a 1 mm grid, so that they share edges, circles, tangencies and corners."""
    kind = int(rng.integers(5))
    x, y, w, h = (int(v) for v in (*rng.integers(0, 8, 2), *rng.integers(1, 7, 2)))
    if kind == 0:
        return Region(rectangle(x, y, x + w, y + h))
    if kind == 1:
        return Region(circle((x, y), float(rng.choice([0.5, 1, 2, 3]))))
    if kind == 2:
        p = [(x, y), (x + w + 1, y), (x + w + 1, y + 1), (x + 1, y + 1), (x + 1, y + h + 1), (x, y + h + 1)]
        return Region(Profile(tuple(Line(p[i], p[(i + 1) % 6]) for i in range(6))))
    r = float(rng.choice([0.5, 1, 2]))
    if kind == 3:
        return Region(
            from_bulges([(x, y - r, 0.0), (x + w, y - r, 1.0), (x + w, y + r, 0.0), (x, y + r, 1.0)])
        )
    return Region(circle((x, y), r + 1), (circle((x, y), r).reversed(),))


def grid_pairs(seed: int, count: int) -> None:
    rng = np.random.default_rng(seed)
    for k in range(count):
        a, b = [on_grid(rng)], [on_grid(rng)]
        if k % 3 == 0:
            a.append(on_grid(rng))
            b += [on_grid(rng), on_grid(rng)]
        if k % 2:
            turn, shift = float(rng.uniform(0, 6.28)), tuple(map(float, rng.uniform(-500, 500, 2)))
            a = [q.moved(turn=turn, shift=shift) for q in a]
            b = [q.moved(turn=turn, shift=shift) for q in b]
        agree(a, b, 1e-4)


def part_pairs(seed: int, count: int) -> None:
    """What a pocket is made of: an outline, disks at its corners, strips on its edges, its own offset."""
    rng = np.random.default_rng(seed)
    for k in range(count):
        a, b = (Region([star, filleted, comb][int(rng.integers(3))](rng)) for _ in range(2))
        if not (simple(a) and simple(b)):
            continue
        agree(a, b, 1e-5)
        agree(a, [Region(circle(c.start, 1.5)) for c in a.outer.curves[::2]], 1e-5)
        agree(a, offset(a, -1.0), 1e-5)
        agree(offset(a, 1.0 + 0.5 * (k % 2)), a, 1e-5)
        agree(a, a, 1e-5)
        agree(a, strips(a.outer), 1e-5)


def strips(q: Profile) -> list[Region]:
    out = []
    for c in q.curves:
        if isinstance(c, Line):
            n = (3 * c.tangent()[1], -3 * c.tangent()[0])
            p = (c.start[0] + n[0], c.start[1] + n[1])
            r = (c.end[0] + n[0], c.end[1] + n[1])
            out.append(Region(Profile((Line(c.start, p), Line(p, r), Line(r, c.end), Line(c.end, c.start)))))
    return out


def test_shapes_on_a_grid() -> None:
    grid_pairs(1, 150)


def test_outlines_with_reliefs_strips_and_offsets() -> None:
    part_pairs(2, 12)


@pytest.mark.long
def test_shapes_on_a_grid_many() -> None:
    grid_pairs(31, 6000)


@pytest.mark.long
def test_outlines_with_reliefs_strips_and_offsets_many() -> None:
    part_pairs(32, 400)


BOXES = st.lists(
    st.tuples(st.integers(0, 6), st.integers(0, 6), st.integers(1, 5), st.integers(1, 5)),
    min_size=1,
    max_size=4,
)


def cells(boxes: list[tuple[int, int, int, int]]) -> np.ndarray:
    grid = np.zeros((12, 12), dtype=bool)
    for x, y, w, h in boxes:
        grid[x : x + w, y : y + h] = True
    return grid


@settings(max_examples=120, deadline=None)
@given(BOXES, BOXES)
def test_boxes_count_cells(
    one: list[tuple[int, int, int, int]], two: list[tuple[int, int, int, int]]
) -> None:
    """Boxes on whole millimeters: the area is a number of cells, exactly."""
    a = [Region(rectangle(x, y, x + w, y + h)) for x, y, w, h in one]
    b = [Region(rectangle(x, y, x + w, y + h)) for x, y, w, h in two]
    ca, cb = cells(one), cells(two)
    assert area(union(a, b)) == (ca | cb).sum()
    assert area(intersection(a, b)) == (ca & cb).sum()
    assert area(difference(a, b)) == (ca & ~cb).sum()


def test_results_stay_arcs_and_share_the_circle() -> None:
    (r,) = union(Region(rectangle(0, 0, 20, 10)), Region(circle((20, 10), 3)))
    arcs = [c for c in r.outer.curves if isinstance(c, Arc)]
    assert {c.center for c in arcs} == {(20.0, 10.0)}
    assert r.area == pytest.approx(200 + 0.75 * 9 * math.pi, rel=1e-14)
    assert len(r.outer.curves) == 5, "one run per edge: an arc of three quarters and four lines"


@pytest.mark.parametrize("gap", [0.0, 1e-12, -1e-12, 1e-10, -1e-10, 1e-7, -1e-7])
def test_circles_that_touch(gap: float) -> None:
    a, b = Region(circle((0, 0), 5)), Region(circle((8 + gap, 0), 3))
    assert area(union(a, b)) == pytest.approx(34 * math.pi, rel=1e-9)
    assert area(intersection(a, b)) == pytest.approx(0.0, abs=1e-8)
    assert area(difference(a, b)) == pytest.approx(25 * math.pi, rel=1e-9)
    inner = Region(circle((2 + gap, 0), 3))
    assert area(difference(a, inner)) == pytest.approx(16 * math.pi, rel=1e-8)


def test_lens_of_two_circles() -> None:
    """Two circles of radius r at distance d share 2 r² acos(d/2r) - d/2 sqrt(4r² - d²): plane geometry."""
    r, d = 5.0, 6.0
    lens = 2 * r * r * math.acos(d / (2 * r)) - 0.5 * d * math.sqrt(4 * r * r - d * d)
    (found,) = intersection(Region(circle((1e3, 7), r)), Region(circle((1e3 + d, 7), r)))
    assert found.area == pytest.approx(lens, rel=1e-13)
    assert len(found.outer.curves) == 2


def test_same_shape_twice() -> None:
    r = Region(circle((3, 4), 5), (circle((3, 4), 2).reversed(),))
    turned = r.moved(turn=1.0, shift=(0.0, 0.0)).moved(turn=-1.0, shift=(0.0, 0.0))
    assert difference(r, turned) == ()
    assert area(union(r, turned)) == pytest.approx(21 * math.pi, rel=1e-12)
    assert area(intersection(r, turned)) == pytest.approx(21 * math.pi, rel=1e-12)


def test_corners_that_touch_stay_two_regions() -> None:
    a, b = Region(rectangle(0, 0, 1, 1)), Region(rectangle(1, 1, 2, 2))
    assert [r.area for r in union(a, b)] == [1.0, 1.0]
    assert intersection(a, b) == ()
    around = [Region(rectangle(0, 0, 3, 1)), Region(rectangle(0, 2, 3, 3)), Region(rectangle(0, 0, 1, 3))]
    (ring,) = union(around, Region(rectangle(2, 0, 3, 3)))
    assert len(ring.holes) == 1


def test_hole_that_touches_the_outline_is_a_hole() -> None:
    (r,) = difference(Region(rectangle(0, 0, 10, 10)), Region(circle((2, 5), 2)))
    assert len(r.holes) == 1
    assert r.area == pytest.approx(100 - 4 * math.pi, rel=1e-12)


def test_edges_almost_together() -> None:
    for noise in (1e-13, 1e-10, 3e-9):
        (r,) = union(Region(rectangle(0, 0, 10, 10)), Region(rectangle(10 + noise, 0, 20, 10)))
        assert r.area == pytest.approx(200, abs=1e-6)
        assert len(r.outer.curves) == 4


def test_order_and_start_do_not_matter() -> None:
    a = Region(filleted(np.random.default_rng(3)))
    b = Region(circle(a.outer.curves[0].start, 6.0))
    turned = Region(Profile(a.outer.curves[2:] + a.outer.curves[:2]))
    x, y = union(a, b), union(b, turned)
    assert [len(r.outer.curves) for r in x] == [len(r.outer.curves) for r in y]
    for r, s in zip(x, y, strict=True):
        for c, d in zip(r.outer.curves, s.outer.curves, strict=True):
            assert math.dist(c.start, d.start) < 1e-9
    assert repr(union(a, b)) == repr(union(a, b))


def test_points_agree_with_the_rule() -> None:
    rng = np.random.default_rng(5)
    a, b = Region(comb(rng)), Region(comb(rng).moved(shift=(1.0, 2.0)))
    p = rng.uniform(-6, 40, (4000, 2))
    ia, ib = inside(a, p), inside(b, p)
    rules = ((union, ia | ib), (intersection, ia & ib), (difference, ia & ~ib))
    for op, truth in rules:
        hit = np.zeros(len(p), dtype=bool)
        for r in op(a, b):
            hit |= inside(r, p)
        assert (hit == truth).all()


def test_nothing_and_nothing() -> None:
    r = Region(rectangle(0, 0, 1, 1))
    assert union((), ()) == ()
    assert area(union(r, ())) == 1.0
    assert intersection(r, ()) == ()
    assert area(difference(r, ())) == 1.0


def test_an_outline_the_wrong_way_round_is_refused() -> None:
    with pytest.raises(JawrightError, match="wrong way round"):
        union(Region(rectangle(0, 0, 1, 1).reversed()), Region(rectangle(3, 3, 4, 4)))
