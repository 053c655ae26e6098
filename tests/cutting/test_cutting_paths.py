"""The written program against the design, by a replay of its own text and plain plan geometry.

Nothing here is a published value: these are properties a machinist would demand, checked with
a general-purpose polygon library on the text itself.
"""

from __future__ import annotations

import itertools
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
CELL = 0.15  # mm, of the height map
CHORD = 3e-4  # mm, polygons of the reference shapes


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
    """At every height the cutter's circle stays inside what may be cut there, to 2 µm.

    A circle is inside when its center is and the boundary is a radius away.
    """
    jaws, shop, p, moves = built(name)
    places: dict[tuple[frozenset[int], float], list[tuple[np.ndarray, str]]] = {}
    for m in milling(shop, moves):
        q = plan(p, m, 0.3)
        low = q[:, 2].min()
        if low < jaws.top - 1e-6:
            may = [0] if low >= jaws.floor - 1e-6 else []
            may += [
                k + 1
                for k, w in enumerate(jaws.wells)
                if low >= w.bottom - 1e-6 and (low < jaws.floor - 1e-6 or w.top >= jaws.top - 1e-6)
            ]
            key = frozenset(may), 0.5 * cutter_of(shop, m).diameter
            places.setdefault(key, []).append((q[:, :2], m.line))
    assert sum(len(v) for v in places.values()) > 10
    shapes = [poly(jaws.pocket), *(poly(w.region) for w in jaws.wells)]
    for (may_be, r), found in places.items():
        room = shapely.union_all([shapes[k] for k in may_be])
        at = shapely.points(np.vstack([q for q, _ in found]))
        inside = shapely.covers(room.buffer(1e-6), at)
        air = shapely.distance(room.boundary, at)
        lines = [line for q, line in found for _ in q]
        worst = int(np.argmin(np.where(inside, air, -air)))
        assert inside.all() and air[worst] >= r - 2e-3, (lines[worst], air[worst], r)


@pytest.mark.parametrize("name", NAMES)
def test_finish_pass_makes_the_pocket(name: str) -> None:
    """What the last round of the finish cutter sweeps, and what lies inside it, is the pocket."""
    jaws, _, p, moves = built(name)
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
    assert whole.area == pytest.approx(want.area, abs=6e-4 * want.length)
    assert shapely.hausdorff_distance(whole.simplify(1e-5).exterior, want.exterior) < 3e-3


@pytest.mark.parametrize("name", NAMES)
def test_finish_pass_is_climb_and_repeated(name: str) -> None:
    """Each wall is passed twice with the wall on the right, so that no arc of it is cut clockwise inside."""
    jaws, _, p, moves = built(name)
    walls = [m for m in moves if m.remark.startswith("FINISH THE WALLS") and m.code and m.b[2] == m.a[2]]
    boundary = poly(jaws.pocket).boundary
    total = 0.0
    for m in walls:
        q = plan(p, m, 0.2)[:, :2]
        for a, b in itertools.pairwise(q):
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
    """At the floor and at each well's bottom nothing of the region is left standing on either jaw."""
    jaws, shop, p, moves = built(name)
    air = shapely.box(jaws.fixed.x0, -jaws.gap, jaws.fixed.x1, 0.0)
    want = [(jaws.pocket, jaws.floor), *((w.region, w.bottom) for w in jaws.wells)]
    for region, z in want:
        swept = []
        for m in milling(shop, moves):
            q = plan(p, m, 0.2)
            if m.code and abs(q[0, 2] - z) < 1e-6 and abs(q[-1, 2] - z) < 1e-6:
                swept.append(LineString(q[:, :2]).buffer(0.5 * cutter_of(shop, m).diameter, quad_segs=128))
        left = poly(region).difference(shapely.union_all([*swept, air])).buffer(-2e-3)
        assert left.area < 1e-3, (z, left.area)


class Heights:
    """Metal as a height map: how deep and how far round a move is engaged."""

    def __init__(self, jaws: Jaws) -> None:
        x0, y0, x1, y1 = jaws.pocket.outer.box
        for w in jaws.wells:
            b = w.region.outer.box
            x0, y0, x1, y1 = min(x0, b[0]), min(y0, b[1]), max(x1, b[2]), max(y1, b[3])
        self.x0, self.y0 = x0 - 1.0, y0 - 1.0
        xs, ys = np.arange(self.x0, x1 + 1.0, CELL), np.arange(self.y0, y1 + 1.0, CELL)
        self.x, self.y = np.meshgrid(xs, ys, indexing="ij")
        self.h = np.full(self.x.shape, -1e9)
        for j in (jaws.fixed, jaws.floating):
            self.h[(self.y >= j.y0) & (self.y <= j.y1)] = jaws.top

    def _window(self, at: np.ndarray, r: float) -> tuple[slice, slice, np.ndarray]:
        i, j = int((at[0] - r - self.x0) / CELL), int((at[1] - r - self.y0) / CELL)
        n = int(2 * r / CELL) + 3
        w = (slice(max(i, 0), i + n), slice(max(j, 0), j + n))
        return *w, (self.x[w] - at[0]) ** 2 + (self.y[w] - at[1]) ** 2 <= r * r

    def under(self, at: np.ndarray, r: float) -> float:
        """Highest metal under the cutter."""
        i, j, disk = self._window(at, r)
        return float(self.h[i, j][disk].max(initial=-1e9))

    def engaged(self, at: np.ndarray, r: float, depth: float) -> float:
        """Angle of the rim that is engaged deeper than ``depth``."""
        a = np.arange(180) * math.tau / 180
        x, y = at[0] + (r - 0.15) * np.cos(a), at[1] + (r - 0.15) * np.sin(a)
        i = np.clip(((x - self.x0) / CELL + 0.5).astype(int), 0, self.h.shape[0] - 1)
        j = np.clip(((y - self.y0) / CELL + 0.5).astype(int), 0, self.h.shape[1] - 1)
        return float((self.h[i, j] > at[2] + depth).sum()) * math.tau / 180

    def cut(self, at: np.ndarray, r: float) -> None:
        i, j, disk = self._window(at, r)
        view = self.h[i, j]
        view[disk] = np.minimum(view[disk], at[2])


@pytest.mark.parametrize("name", NAMES)
def test_engagement_is_bounded(name: str) -> None:
    """No cut deeper than a layer (a quarter diameter) is engaged round more than 130° of the cutter's rim.

    Straight down an end mill goes only through air, and into metal it ramps at 3° at most, 5° in aluminum.
    A center-cutting mill in a hole little wider than itself may go steeper along its center's short path: by
    a tenth of its diameter a lap in aluminum, a twenty-fifth in steel, and no faster down than it may plunge.
    (Common practice, no source: helices of center-cutting mills are bounded by their pitch.)
    """
    jaws, shop, p, moves = built(name)
    metal = Heights(jaws)
    angles = [0.0]
    sunk: list[tuple[tuple[float, ...], float]] = []  # where the present descent has been
    for m in milling(shop, moves):
        if not m.code:
            continue
        cutter = cutter_of(shop, m)
        r = 0.5 * cutter.diameter
        q = plan(p, m, 0.4)
        drop = m.a[2] - m.b[2]
        run = math.sqrt(max(0.0, m.length**2 - drop**2))
        if run < 1e-6:
            assert metal.under(q[-1], r - 0.15) <= q[-1][2] + 0.02, m.line
            continue
        easy = "6061" in jaws.fixed.blank.material
        if drop > run * math.tan(math.radians(5 if easy else 3)) + 2e-3:
            lap = next((z - m.b[2] for xy, z in reversed(sunk) if math.dist(xy, m.b[:2]) < 0.05), drop)
            assert cutter.center_cutting, m.line
            assert lap <= (0.1 if easy else 0.04) * cutter.diameter + 2e-3, (m.line, lap)
            most = max(u.feed for u in p.cutters if u.number == m.tool)
            assert m.feed * drop / m.length <= 0.2 * most + 1.0, m.line
        sunk = [*sunk, (m.b[:2], m.b[2])] if drop > 0.0 else [(m.b[:2], m.b[2])]
        finish = m.remark.startswith("FINISH THE WALLS")
        for at in q[1:]:
            angle = metal.engaged(at, r, 0.25 * cutter.diameter + 0.05)
            if finish and angle > 0:
                assert angle < math.radians(130) or any(
                    math.dist(at[:2], g.center) < g.radius for g in jaws.reliefs
                ), (m.line, math.degrees(angle))
            elif angle > 0:
                angles.append(angle)
                assert angle <= math.radians(130), (m.line, math.degrees(angle))
            metal.cut(at, r)
    if name in ("sample", "slanted", "deep"):
        assert np.median(angles) < math.radians(85)


def test_a_larger_cutter_that_does_not_pay_stays_in_the_rack() -> None:
    """Behind the neck the 16 mm cutter would save less than its change: the reason says so."""
    _, _, p, moves = built("neck, deep, steel, big cutter")
    assert p.cutters[0].cutter == "EM10"
    assert "save less than its change costs" in p.cutters[0].reason
    assert not [m for m in moves if m.tool == 20]


@pytest.mark.parametrize(
    "seed", [*range(4), *(pytest.param(s, marks=pytest.mark.long) for s in range(4, 24))]
)
def test_random_pockets(seed: int) -> None:
    """Pockets of random outline: nothing cut beyond the wall, nothing left, engagement bounded."""
    rng = np.random.default_rng(seed)
    n = int(rng.integers(5, 10))
    even = np.linspace(0, math.tau, n, endpoint=False)
    angles = np.sort((rng.uniform(0, math.tau, n) + even) % math.tau)
    radius = rng.uniform(12.0, 30.0, n)
    corners = [
        (2.0 + 1.3 * r * math.cos(a), -3.0 + 0.65 * r * math.sin(a))
        for a, r in zip(angles, radius, strict=True)
    ]
    if Polygon(corners).area < 0 or not Polygon(corners).is_valid:
        pytest.fail("the seed makes no simple outline: choose another")
    made = pockets.opening(pockets.polygon(*corners), 5.0)
    pocket = max(made, key=lambda g: g.area)
    jaws = pockets.jaws(pocket, text=("", ""), tooling_hole=None)
    CASES[f"seed {seed}"] = (jaws, pockets.samples.shop())
    test_cutter_never_leaves_the_pocket(f"seed {seed}")
    test_finish_pass_makes_the_pocket(f"seed {seed}")
    test_floor_and_wells_are_left_clean(f"seed {seed}")
    test_engagement_is_bounded(f"seed {seed}")
