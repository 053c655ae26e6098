"""Exact offsets against another program's arcs, capsule unions, distances and closed forms."""

from __future__ import annotations

import math
from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from geometry.families import FAMILIES, comb, filleted, star, wave
from geometry.oracle import arc_program_area, capsule_area, exact_distance, read_outline
from jawright.errors import JawrightError
from jawright.geometry.curve import Arc, Line
from jawright.geometry.offset import offset, opening
from jawright.geometry.profile import Profile, Region, circle, rectangle
from jawright.geometry.query import inside, nearest_on, signed_distance, simple

RELATIVE = 1e-6
"""Area against the other arc program: room for its joining distance of 1e-5 mm."""

HOSTILE = sorted((Path(__file__).parent.parent / "hostile" / "outlines").glob("*.txt"))


def area(regions: tuple[Region, ...]) -> float:
    return math.fsum(r.area for r in regions)


def compare(name: str, seed: int, count: int) -> tuple[int, list[str]]:
    """Compare ``count`` outlines of a family at three offsets each: how many, and what went wrong."""
    rng = np.random.default_rng(seed)
    compared, wrong = 0, []
    for k in range(count):
        q = FAMILIES[name](rng)
        slots = float(rng.choice([0.5, 1.0, 1.5, 2.0]) * rng.choice([-1, 1]))
        asked = (float(rng.uniform(0.05, 10)), -float(rng.uniform(0.05, 10)), slots)
        if q.area < 0 or not simple(q):
            continue
        for d in asked:
            ours = area(offset(Region(q), d))
            theirs = arc_program_area(q, d)
            compared += 1
            if abs(ours - theirs) > RELATIVE * max(1.0, theirs):
                wrong.append(f"{name} {k} {d}: {ours} {theirs}")
    return compared, wrong


@pytest.mark.parametrize("name", sorted(FAMILIES))
def test_offset_areas_match_the_arc_program(name: str) -> None:
    compared, wrong = compare(name, seed=1, count=120)
    assert compared >= 270, "most outlines of the family are simple"
    assert wrong == []


@pytest.mark.long
@pytest.mark.parametrize("name", sorted(FAMILIES))
def test_offset_areas_match_the_arc_program_many(name: str) -> None:
    compared, wrong = compare(name, seed=77, count=3500)
    assert compared >= 8000
    assert wrong == []


@pytest.mark.parametrize("d", [0.05, -0.05, 3.0, -3.0, 10.0, -10.0])
def test_five_hundred_arcs(d: float) -> None:
    q = wave(np.random.default_rng(5))
    assert len(q.curves) == 500
    assert simple(q)
    assert area(offset(Region(q), d)) == pytest.approx(arc_program_area(q, d), rel=RELATIVE)


@pytest.mark.long
def test_five_hundred_arcs_many() -> None:
    rng = np.random.default_rng(8)
    compared = 0
    for _ in range(40):
        q = wave(rng)
        if not simple(q):
            continue
        for d in (float(rng.uniform(0.05, 10)), -float(rng.uniform(0.05, 10))):
            assert area(offset(Region(q), d)) == pytest.approx(arc_program_area(q, d), rel=RELATIVE)
            compared += 1
    assert compared > 60


@pytest.mark.parametrize("family", [star, filleted, comb])
def test_offset_areas_match_capsules(family: Callable[[np.random.Generator], Profile]) -> None:
    rng = np.random.default_rng(3)
    for _ in range(4):
        q = family(rng)
        if not simple(q):
            continue
        for d in (float(rng.uniform(0.05, 10)), -float(rng.uniform(0.05, 5))):
            truth, bound = capsule_area(Region(q), d, 3e-3)
            assert abs(area(offset(Region(q), d)) - truth) <= bound


def with_holes(rng: np.random.Generator) -> Region:
    """A big rectangle with three outlines cut out of it."""
    holes = []
    for k in range(3):
        while True:
            h = [star, filleted, comb][int(rng.integers(3))](rng)
            if h.area > 0 and simple(h):
                break
        x0, y0, x1, y1 = h.box
        holes.append(h.moved(shift=(80.0 * k - 0.5 * (x0 + x1), -0.5 * (y0 + y1))).reversed())
    return Region(rectangle(-45, -45, 205, 45), tuple(holes))


def test_holes_shrink_and_grow_with_the_region() -> None:
    rng = np.random.default_rng(4)
    for _ in range(25):
        r = with_holes(rng)
        assert simple(r)
        for d in (float(rng.uniform(0.05, 8)), -float(rng.uniform(0.05, 4))):
            expected = arc_program_area(r.outer, d) - sum(
                max(0.0, arc_program_area(h.reversed(), -d)) for h in r.holes
            )
            outer = [h.reversed() for h in r.holes]
            grown_apart = d > 0 or all(q.box[3] - d < 45 + d and q.box[1] + d > -45 - d for q in outer)
            if grown_apart:
                assert area(offset(r, d)) == pytest.approx(expected, rel=RELATIVE)


def sides(family: Callable[[np.random.Generator], Profile | Region], seed: int, count: int) -> int:
    """Check random points of ``count`` outlines against their distance from a very fine polygon."""
    rng = np.random.default_rng(seed)
    checked = 0
    for _ in range(count):
        shape = family(rng)
        r = shape if isinstance(shape, Region) else Region(shape)
        if r.area < 0 or not simple(r):
            continue
        x0, y0, x1, y1 = r.outer.box
        p = rng.uniform((x0 - 8, y0 - 8), (x1 + 8, y1 + 8), (1200, 2))
        truth = exact_distance(r, p)
        for d in (float(rng.uniform(0.05, 6)), -float(rng.uniform(0.05, 4))):
            hit = np.zeros(len(p), dtype=bool)
            for q in offset(r, d):
                hit |= inside(q, p)
            clear = np.abs(truth - d) > 1e-5
            assert (hit == (truth < d))[clear].all()
            checked += 1
    return checked


@pytest.mark.parametrize("family", [star, filleted, comb, with_holes])
def test_points_lie_on_the_right_side(family: Callable[[np.random.Generator], Profile | Region]) -> None:
    assert sides(family, seed=6, count=6) >= 6


@pytest.mark.long
@pytest.mark.parametrize("family", [star, filleted, comb, with_holes])
def test_points_lie_on_the_right_side_many(
    family: Callable[[np.random.Generator], Profile | Region],
) -> None:
    assert sides(family, seed=66, count=300) >= 400


def test_every_curve_of_the_result_keeps_its_distance() -> None:
    rng = np.random.default_rng(7)
    for k in range(40):
        q = [star, filleted, comb][k % 3](rng)
        if not simple(q):
            continue
        for d in (1.0, -1.0, float(rng.uniform(0.05, 9))):
            for r in offset(Region(q), d):
                for loop in (r.outer, *r.holes):
                    pts = np.array([c.at(t) for c in loop.curves for t in (0.0, 0.3, 0.7)])
                    off = signed_distance(Region(q), pts)
                    assert np.abs(off - d).max() < 1e-7
                    assert simple(loop)
                assert r.outer.area > 0
                assert all(h.area < 0 for h in r.holes)


def test_rectangle_by_hand() -> None:
    r = Region(rectangle(0, 0, 40, 20))
    assert area(offset(r, 3.0)) == pytest.approx(40 * 20 + 2 * 60 * 3 + math.pi * 9, rel=1e-13)
    (grown,) = offset(r, 3.0)
    assert sorted(type(c).__name__ for c in grown.outer.curves) == ["Arc"] * 4 + ["Line"] * 4
    assert {round(c.radius, 12) for c in grown.outer.curves if isinstance(c, Arc)} == {3.0}
    assert area(offset(r, -3.0)) == pytest.approx(34 * 14, rel=1e-13)
    assert area(offset(r, -9.999)) == pytest.approx(20.002 * 0.002, rel=1e-9)
    assert offset(r, -10.0) == ()
    assert offset(r, -11.0) == ()
    assert offset(r, 0.0) == (r,)


def test_ring_by_hand() -> None:
    ring = Region(circle((5, 5), 10), (circle((5, 5), 4).reversed(),))
    assert area(offset(ring, 2.0)) == pytest.approx(math.pi * (144 - 4), rel=1e-13)
    (full,) = offset(ring, 4.0)
    assert full.holes == ()
    assert area(offset(ring, -2.9)) == pytest.approx(math.pi * (7.1**2 - 6.9**2), rel=1e-12)
    assert offset(ring, -3.0) == ()


@pytest.mark.parametrize("d", [0.5, 3.0, 9.0, -0.5, -2.9, -3.0, -3.1, -4.9])
def test_arc_of_more_than_half_a_turn(d: float) -> None:
    """A disk of radius 5 on a neck 6 wide."""
    neck = Profile(
        (
            Line((-3, -10), (3, -10)),
            Line((3, -10), (3, -4)),
            Arc((3, -4), (-3, -4), (0, 0), True),
            Line((-3, -4), (-3, -10)),
        )
    )
    assert area(offset(Region(neck), d)) == pytest.approx(arc_program_area(neck, d), rel=RELATIVE, abs=1e-9)


def test_joints_with_small_gaps_and_arcs_with_rounded_centers() -> None:
    """Numbers as a drawing file gives them, to a ten-thousandth, with a gap at each joint."""
    rng = np.random.default_rng(13)
    for _ in range(40):
        q = filleted(rng)
        if not simple(q):
            continue
        moved: list[Line | Arc] = []
        for c in q.curves:
            (ax, ay), (bx, by) = c.start, c.end
            a, b = (round(ax, 4), round(ay, 4)), (round(bx, 4) + 2e-7, round(by, 4))
            if isinstance(c, Arc):
                moved.append(Arc(a, b, (round(c.center[0], 4), round(c.center[1], 4)), c.ccw))
            elif a != b:
                moved.append(Line(a, b))
        rough = Profile(tuple(moved))
        if not simple(rough):
            continue
        for d in (0.7, -0.7):
            assert area(offset(Region(rough), d)) == pytest.approx(area(offset(Region(q), d)), abs=0.1)


def test_split_and_island() -> None:
    right = [(10, 0), (10, 4), (20, 4), (20, 0), (30, 0), (30, 10)]
    p = [(0, 0), *right, (20, 10), (20, 6), (10, 6), (10, 10), (0, 10)]
    dumbbell = Profile(tuple(Line(a, b) for a, b in zip(p, p[1:] + p[:1], strict=True)))
    horn = 2 - math.pi / 2  # between the rounds about the two inside corners
    assert [round(r.area, 9) for r in offset(Region(dumbbell), -1.0)] == [round(64 + horn, 9)] * 2
    assert len(offset(Region(dumbbell), -0.9999)) == 1


def test_a_ring_closes_and_keeps_its_hole() -> None:
    right = [(20, 0), (20, 20), (11, 20), (11, 15), (15, 15), (15, 5)]
    p = [(0, 0), *right, (5, 5), (5, 15), (9, 15), (9, 20), (0, 20)]
    c = Region(Profile(tuple(Line(p[k], p[(k + 1) % 12]) for k in range(12))))
    (closed,) = offset(c, 1.5)
    assert len(closed.holes) == 1
    # besides the square, the gusset between the rounds about the two corners of the mouth
    gusset = 3.0 - math.sqrt(1.25) - 2.25 * math.asin(1 / 1.5)
    assert closed.holes[0].area == pytest.approx(-(7.0 * 7.0 + gusset), rel=1e-12)
    (touching,) = offset(c, 1.0)  # the slot closes to nothing: no seam stays
    assert len(touching.holes) == 1
    assert touching.holes[0].area == pytest.approx(-(8.0 * 8.0 + 2 - math.pi / 2), rel=1e-12)


def test_opening_leaves_what_a_cutter_can_cut() -> None:
    (r,) = opening(Region(rectangle(0, 0, 20, 10)), 2.0)
    assert r.area == pytest.approx(200 - (4 - math.pi) * 4, rel=1e-12)
    assert min(c.radius for c in r.outer.curves if isinstance(c, Arc)) == pytest.approx(2.0, abs=1e-12)
    assert opening(Region(rectangle(0, 0, 20, 10)), 5.0001) == ()
    two = opening([Region(rectangle(0, 0, 5, 5)), Region(rectangle(20, 0, 25, 5))], 1.0)
    assert [round(q.area, 9) for q in two] == [round(25 - (4 - math.pi), 9)] * 2


def test_opening_is_inside_and_is_its_own_opening() -> None:
    rng = np.random.default_rng(9)
    for k in range(12):
        q = [star, filleted, comb][k % 3](rng)
        if not simple(q):
            continue
        once = opening(Region(q), 0.8)
        for r in once:
            pts = np.array([c.at(t) for c in r.outer.curves for t in (0.1, 0.5)])
            assert signed_distance(Region(q), pts).max() < 1e-7
        again = opening(once, 0.8 - 1e-6)
        assert area(again) == pytest.approx(area(once), rel=1e-6)


def test_the_same_bytes_twice_and_wherever_it_starts() -> None:
    q = filleted(np.random.default_rng(11))
    assert repr(offset(Region(q), 1.7)) == repr(offset(Region(q), 1.7))
    turned = Profile(q.curves[3:] + q.curves[:3])
    assert area(offset(Region(turned), 1.7)) == pytest.approx(area(offset(Region(q), 1.7)), rel=1e-12)


def test_far_from_the_origin_keeps_digits() -> None:
    q = filleted(np.random.default_rng(12))
    near, far = (area(offset(Region(q.moved(shift=s)), -1.3)) for s in ((0.0, 0.0), (1e4, 2e4)))
    assert far == pytest.approx(near, rel=4e-12)


@settings(max_examples=60, deadline=None)
@given(
    st.lists(st.tuples(st.integers(1, 9), st.integers(1, 9)), min_size=1, max_size=5),
    st.sampled_from([0.5, 1.0, 1.5, 2.0, 2.5, 0.25]),
)
def test_offsets_add_up(steps: list[tuple[int, int]], d: float) -> None:
    """Growing (shrinking) by a and then by b is growing (shrinking) by a + b: disks add up."""
    xs = np.cumsum([a for a, _ in steps])
    ys = np.cumsum([b for _, b in steps][::-1])[::-1]
    p = [(0.0, 0.0), (float(xs[-1]), 0.0)]
    for k in range(len(steps) - 1, -1, -1):
        p.append((float(xs[k]), float(ys[k])))
        p.append((float(xs[k - 1]) if k else 0.0, float(ys[k])))
    stairs = Region(Profile(tuple(Line(a, b) for a, b in zip(p, p[1:] + p[:1], strict=True) if a != b)))
    for s in (1.0, -1.0):
        once = area(offset(stairs, s * (d + 0.5)))
        twice = math.fsum(area(offset(r, s * d)) for r in offset(stairs, s * 0.5))
        assert twice == pytest.approx(once, rel=1e-9, abs=1e-9)


def test_self_crossing_is_refused_with_its_place() -> None:
    bow = Profile(
        (Line((0, 0), (10, 10)), Line((10, 10), (10, 0)), Line((10, 0), (0, 8)), Line((0, 8), (0, 0)))
    )
    with pytest.raises(JawrightError, match=r"crosses itself") as e:
        offset(Region(bow), 1.0)
    assert e.value.code == "geometry"
    assert "4.4444" in e.value.where


def test_a_crossing_hole_is_refused() -> None:
    with pytest.raises(JawrightError, match="outlines cross"):
        offset(Region(rectangle(0, 0, 10, 10), (circle((10, 5), 2).reversed(),)), 1.0)
    with pytest.raises(JawrightError, match="wrong way round"):
        offset(Region(rectangle(0, 0, 10, 10).reversed()), 1.0)


def test_what_is_not_a_number_is_refused() -> None:
    with pytest.raises(JawrightError, match="not a distance"):
        offset(Region(rectangle(0, 0, 1, 1)), math.inf)
    with pytest.raises(JawrightError, match="no area"):
        offset(Region(rectangle(0, 0, math.nan, 1)), 1.0)


@pytest.mark.parametrize("path", HOSTILE, ids=lambda p: p.stem)
def test_hostile_outlines(path: Path) -> None:
    loops, asked = read_outline(path.read_text(encoding="utf-8"))
    assert asked, "each file asks something"
    r = Region(loops[0], tuple(loops[1:]))
    for d, expected, count in asked:
        if expected is None:
            with pytest.raises(JawrightError):
                offset(r, d)
            continue
        found = offset(r, d)
        assert len(found) == count
        assert area(found) == pytest.approx(expected, rel=1e-9, abs=1e-9)
        for q in found:
            for foot in nearest_on(r, [c.at(0.5) for c in q.outer.curves]):
                assert foot.distance == pytest.approx(abs(d), abs=2e-8)


def test_the_hostile_corpus_is_there() -> None:
    assert len(HOSTILE) >= 12
