"""The written program against the design, by a replay of its own text and plain plan geometry.

Nothing here is a published value: these are properties a machinist would demand, checked with
a general-purpose polygon library on the text itself.
"""

from __future__ import annotations

import math
from functools import cache

import numpy as np
import pockets
import pytest
import shapely
from nc_replay import Move, replay
from shapely.geometry import LineString, Polygon

from jawright.cutting import program
from jawright.cutting.model import Program
from jawright.geometry.profile import Region
from jawright.jaws.model import Jaws
from jawright.shop.model import Cutter, Shop

CASES = pockets.cases()
NAMES = sorted(CASES)
CHORD = 2e-4  # mm, polygons of the reference shapes


@cache
def built(name: str) -> tuple[Jaws, Shop, Program, list[Move]]:
    jaws, shop = CASES[name]
    p = program.write(jaws, shop, pockets.job())
    return jaws, shop, p, replay(p.text)


def poly(region: Region) -> Polygon:
    return Polygon(region.outer.points(CHORD), [h.points(CHORD) for h in region.holes])


def plan(p: Program, move: Move, step: float = 0.5) -> np.ndarray:
    """Positions of a move in the vise frame (n, 3)."""
    s = np.array([-1.0, -1.0, 1.0]) if p.turned else np.ones(3)
    return move.points(step) * s + np.array(p.origin)


def cutter_of(shop: Shop, move: Move) -> Cutter:
    return next(c for c in shop.cutters if c.number == move.tool)


def milling(shop: Shop, moves: list[Move]) -> list[Move]:
    return [m for m in moves if cutter_of(shop, m).kind == "end mill"]


@pytest.mark.parametrize("name", NAMES)
def test_cutter_never_leaves_the_pocket(name: str) -> None:
    """At every height the cutter's circle stays inside what may be cut there, to 2 µm."""
    jaws, shop, p, moves = built(name)
    pocket = poly(jaws.pocket).buffer(2e-3)
    seen = 0
    for m in milling(shop, moves):
        q = plan(p, m)
        low = q[:, 2].min()
        if low >= jaws.top + 1e-6:
            continue
        seen += 1
        may = [pocket] if low >= jaws.floor - 1e-6 else []
        may += [
            poly(w.region).buffer(2e-3)
            for w in jaws.wells
            if low >= w.bottom - 1e-6 and (low < jaws.floor - 1e-6 or w.top >= jaws.top - 1e-6)
        ]
        room = shapely.union_all(may)
        r = 0.5 * cutter_of(shop, m).diameter
        path = LineString(q[:, :2]) if np.ptp(q[:, :2]) > 1e-9 else shapely.Point(q[0, :2])
        out = path.buffer(r, quad_segs=256).difference(room)
        assert out.area < 2e-4, (m.line, out.area)
    assert seen > 10


@pytest.mark.parametrize("name", NAMES)
def test_finish_pass_makes_the_pocket(name: str) -> None:
    """What the last round of the finish cutter sweeps, and what lies inside it, is the pocket."""
    jaws, shop, p, moves = built(name)
    r = jaws.cutter_radius
    walls = [m for m in moves if m.remark.startswith("FINISH THE WALLS") and m.code and m.b[2] == m.a[2]]
    lines = [plan(p, m, 0.2)[:, :2] for m in walls]
    swept = shapely.union_all([LineString(q).buffer(r, quad_segs=256) for q in lines])
    want = poly(jaws.pocket)
    wall = want.boundary.buffer(0.01)
    assert swept.intersection(want).intersection(wall).area == pytest.approx(
        want.intersection(wall).area, abs=2e-4 * want.length
    )
    whole = swept.union(want.buffer(-0.5))  # the middle is the roughing's business
    assert whole.area == pytest.approx(want.area, abs=1e-3 * math.sqrt(want.area))
    assert shapely.hausdorff_distance(whole.simplify(1e-5).exterior, want.exterior) < 3e-3


@pytest.mark.parametrize("name", NAMES)
def test_finish_pass_is_climb_and_repeated(name: str) -> None:
    """Each wall is passed twice with the wall on the right, so that no arc of it is cut clockwise inside."""
    jaws, shop, p, moves = built(name)
    walls = [m for m in moves if m.remark.startswith("FINISH THE WALLS") and m.code and m.b[2] == m.a[2]]
    boundary = poly(jaws.pocket).boundary
    total = 0.0
    for m in walls:
        q = plan(p, m, 0.2)[:, :2]
        for a, b in zip(q[:-1], q[1:], strict=True):
            mid, way = 0.5 * (a + b), b - a
            if boundary.distance(shapely.Point(mid)) > jaws.cutter_radius + 5e-3:
                continue
            total += float(np.hypot(*way))
    once = sum(
        g.outer.perimeter + sum(h.perimeter for h in g.holes)
        for g in pockets.offset(jaws.pocket, -jaws.cutter_radius)
    )
    assert 2 * once - 0.5 <= total <= 2 * once + 2 * 3.5 + 60.0 * len(jaws.reliefs)


@pytest.mark.parametrize("name", NAMES)
def test_floor_and_wells_are_left_clean(name: str) -> None:
    """At the floor and at each well's bottom nothing of the region is left standing."""
    jaws, shop, p, moves = built(name)
    want = [(jaws.pocket, jaws.floor), *((w.region, w.bottom) for w in jaws.wells)]
    for region, z in want:
        swept = []
        for m in milling(shop, moves):
            q = plan(p, m, 0.2)
            if m.code and abs(q[0, 2] - z) < 1e-6 and abs(q[-1, 2] - z) < 1e-6:
                swept.append(LineString(q[:, :2]).buffer(0.5 * cutter_of(shop, m).diameter, quad_segs=128))
        left = poly(region).difference(shapely.union_all(swept)).buffer(-2e-3)
        assert left.area < 1e-3, (z, left.area)


def blanks(jaws: Jaws) -> shapely.Geometry:
    return shapely.union_all([shapely.box(j.x0, j.y0, j.x1, j.y1) for j in (jaws.fixed, jaws.floating)])


@pytest.mark.parametrize("name", NAMES)
def test_engagement_is_bounded(name: str) -> None:
    """Flat roughing passes at full depth are engaged at most 130°; what is engaged more runs in thin layers.

    The metal is followed in plan in slices a quarter diameter thick: a move cuts the slices
    above it. The engaged angle is the length of the cutter's rim in metal over its radius.
    """
    jaws, shop, p, moves = built(name)
    rough = [m for m in milling(shop, moves) if m.remark.startswith("ROUGH") and m.code]
    diameter = max(cutter_of(shop, m).diameter for m in rough)
    step = 0.25 * diameter + 1e-6
    tops = np.arange(jaws.top, jaws.floor, -0.5)
    slices = [blanks(jaws) for _ in tops]  # metal between tops[i] - 0.5 and tops[i]
    worst, angles = 0.0, []
    for m in rough:
        q = plan(p, m, 1.0)
        r = 0.5 * cutter_of(shop, m).diameter
        z = q[:, 2].min()
        hit = [i for i, t in enumerate(tops) if t > z + 1e-6]
        if not hit:
            continue
        for a, b in zip(q[:-1], q[1:], strict=True):
            if np.hypot(*(b - a)[:2]) < 1e-9:
                for i in hit:
                    spot = shapely.Point(a[:2]).buffer(r - 0.02)
                    if tops[i] > max(b[2], z) + 1e-6 and abs(a[2] - b[2]) < 0.5 and tops[i] > b[2] + 0.5:
                        assert spot.intersection(slices[i]).area < 0.05, m.line
                    slices[i] = slices[i].difference(shapely.Point(a[:2]).buffer(r))
                continue
            rim = shapely.Point(b[:2]).buffer(r - 0.01, quad_segs=32).exterior
            deep = [i for i in hit if rim.intersection(slices[i]).length > 0.2 * r]
            depth = 0.5 * len(deep)
            if depth > step + 0.5:  # a slice at each end may be cut in part
                angle = max(rim.intersection(slices[i]).length / r for i in deep)
                angles.append(angle)
                worst = max(worst, angle)
            sweep = LineString([a[:2], b[:2]]).buffer(r, quad_segs=32)
            for i in hit:
                if tops[i] - 0.5 >= max(a[2], b[2]) - 0.51:
                    slices[i] = slices[i].difference(sweep)
    assert worst <= math.radians(130), math.degrees(worst)
    if angles and name in ("sample", "slanted", "deep"):
        assert np.median(angles) < math.radians(85)


@pytest.mark.parametrize("name", NAMES)
def test_ramps_are_gentle(name: str) -> None:
    """Into metal an end mill ramps at 3° at most; straight down it goes only through air."""
    jaws, shop, p, moves = built(name)
    metal = blanks(jaws)
    for m in milling(shop, moves):
        drop = m.a[2] - m.b[2]
        if m.code and drop > 1e-6 and min(m.a[2], m.b[2]) < 0:
            run = math.sqrt(max(0.0, m.length**2 - drop**2))
            q = plan(p, m)
            r = 0.5 * cutter_of(shop, m).diameter
            if run < 1e-6:
                standing = shapely.Point(q[0, :2]).buffer(r - 0.02).intersection(metal)
                swept = [
                    LineString(plan(p, k)[:, :2]).buffer(r + 2e-3)
                    for k in moves[: moves.index(m)]
                    if k.code and k.length > 1e-6 and max(k.a[2], k.b[2]) <= m.b[2] + 0.5 + 0.31
                ]
                assert (
                    standing.difference(shapely.union_all(swept)).area < 0.2 or m.b[2] > -0.01 or not swept
                ), m.line
            else:
                assert drop <= run * math.tan(math.radians(3)) + 2e-3, m.line
