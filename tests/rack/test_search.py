"""Pockets that an outline fits: the short list gives the same answers as trying all."""

from __future__ import annotations

import math
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

import samples
from jawright.geometry.profile import Region, circle, rectangle
from jawright.geometry.shape_hash import outline_hash
from jawright.jaws import kept, match, sampled
from jawright.jaws.model import Well
from jawright.rack import recut, search, stock
from jawright.rack.store import Rack
from jaws.test_properties import designed
from rack import made

TURNS = [k * math.pi / 2 for k in range(4)] + [0.37, 1.9, 3.3, 5.0]


def filled(path: Path, count: int) -> Rack:
    rack = Rack(path)
    with rack.write():
        for k in range(count):
            pair = made.pair(k)
            rack.insert(pair, pair.id)
    return rack


def same_answers(rack: Rack, seeds: list[int]) -> int:
    hits = 0
    for seed in seeds:
        part = made.turned_away(made.outline(seed), 0.0)
        short = search.as_they_are(rack, part, TURNS, depth=(2.5, 30.0))
        brute = search.as_they_are(rack, part, TURNS, depth=(2.5, 30.0), short=False)
        assert short == brute
        hits += len(brute)
    return hits


def test_short_list_and_brute_force_agree(tmp_path: Path) -> None:
    with filled(tmp_path / "rack.db", 150) as rack:
        assert same_answers(rack, [3, 77, 1234]) > 3


@pytest.mark.long
def test_short_list_and_brute_force_agree_on_ten_thousand(tmp_path: Path) -> None:
    with filled(tmp_path / "rack.db", 10_000) as rack:
        assert same_answers(rack, [3, 77, 4321, 123_456]) > 100


def test_a_part_finds_its_own_pocket_turned_and_shifted(tmp_path: Path) -> None:
    with filled(tmp_path / "rack.db", 40) as rack:
        for seed in range(0, 40, 5):
            part = made.turned_away(made.outline(seed))
            found = search.as_they_are(rack, part, TURNS, depth=(2.5, 30.0))
            mine = [a for a in found if a.pair == f"T-{seed:05d}"]
            assert mine, seed
            assert TURNS[mine[0].turn] == math.pi
            assert mine[0].fit.gap == pytest.approx(rack.get(mine[0].pair).cuts[0].jaws.gap, abs=0.01)


def test_pairs_that_are_out_or_dead_or_too_deep_are_not_offered(tmp_path: Path) -> None:
    part = made.outline(3)

    def found(rack: Rack, depth: tuple[float, float] = (2.5, 30.0)) -> bool:
        return any(a.pair == "T-00003" for a in search.as_they_are(rack, part, [0.0], depth=depth))

    with filled(tmp_path / "rack.db", 5) as rack:
        assert found(rack)
        assert not found(rack, depth=(2.5, 6.0))
        rack.out("T-00003", "mill")
        assert not found(rack)
        rack.back("T-00003")
        assert found(rack)
        rack.back("T-00003", status="dead", why="cracked")
        assert not found(rack)


def test_fit_of_a_block_in_its_pocket_by_hand() -> None:
    """A block 40 × 30 in a pocket 40.2 long, 12 deep in the fixed jaw, stop at the left."""
    pocket = rectangle(-20.0, -18.0, 20.2, 12.0)
    base = samples.jaws()
    left = pocket.curves[3]
    jaws = replace(
        base,
        pocket=Region(pocket),
        zones=(replace(base.zones[0], purpose="stop", curves=(left,)),),
    )
    w = sampled.of_pocket(jaws)
    assert w.stop == -1
    size = {"gap": 6.0, "width": 40.2, "area": pocket.area}
    fit = match.fit(match.turned(rectangle(0, 0, 40, 30), 0.0), w, **size)
    assert fit is not None
    assert fit.shift == pytest.approx((-20.0, -18.0), abs=1e-5)
    assert fit.gap == pytest.approx(6.0, abs=1e-5)
    assert fit.fixed_land == pytest.approx(40.0, abs=0.3)
    assert fit.stop_land == pytest.approx(12.0, abs=0.3)
    thinner = match.fit(match.turned(rectangle(0, 0, 40, 28), 0.0), w, **size)
    assert thinner is not None and thinner.gap == pytest.approx(4.0, abs=1e-5)
    assert match.fit(match.turned(rectangle(0, 0, 40, 25), 0.0), w, **size) is None  # jaws meet first
    assert match.fit(match.turned(rectangle(0, 0, 40.5, 30), 0.0), w, **size) is None  # too long
    assert match.fit(match.turned(rectangle(0, 0, 24, 30), 0.0), w, **size) is None  # another part's
    assert match.fit(match.turned(rectangle(0, 0, 40, 30), 0.05), w, **size) is None  # askew


def test_walls_survive_the_register() -> None:
    w = sampled.of_pocket(made.pair(5).cuts[0].jaws)
    back = sampled.from_blob(w.blob())
    assert back.stop == w.stop == -1
    assert np.abs(back.fixed - w.fixed).max() < 1e-5
    assert np.abs(back.floating - w.floating).max() < 1e-5
    assert len(back.side) == len(w.side) > 50


def test_sampled_heights_are_on_the_curves() -> None:
    part = samples.pawl_outline()
    top = sampled.heights(part, np.array([-30.0, 0.0, 25.0]), upper=True)
    assert top == pytest.approx([6.0, 6.0, 6.0])
    nose = sampled.heights(part, np.array([13.0]), upper=False)
    assert nose == pytest.approx([-20.0])
    assert sampled.heights(part, np.array([40.0]), upper=True)[0] == -math.inf
    assert sampled.reaches(part, np.array([-8.0]), right=True) == pytest.approx([25.0])


def test_outline_hash_knows_the_part_wherever_it_stands() -> None:
    part = made.outline(8)
    first = outline_hash(Region(part))
    assert outline_hash(Region(made.turned_away(part, 1.1))) == first
    assert outline_hash(Region(made.outline(9))) != first
    assert outline_hash(None) == ""


def test_opened_moves_the_floating_half_along() -> None:
    jaws = made.pair(4).cuts[0].jaws
    x0, y0, x1, y1 = jaws.pocket.outer.box
    for gap in (jaws.gap + 2.0, jaws.gap - 2.0):
        wide = kept.opened(jaws, gap)
        rise = jaws.gap - gap
        assert wide.pocket.outer.box == pytest.approx((x0, y0 + rise, x1, y1))
        assert wide.floating.y1 == pytest.approx(-gap)
        assert wide.pocket.area == pytest.approx(jaws.pocket.area - rise * (x1 - x0), rel=1e-6)
    assert kept.opened(jaws, jaws.gap) is jaws


@pytest.mark.parametrize("by", [2.0, -1.5])
def test_what_is_cut_in_the_floating_jaw_goes_along_when_it_is_opened(by: float) -> None:
    """Its reliefs and its half of a well under a hole over the gap stayed behind where the jaw had been."""
    (_, pair), *_ = designed(1, 1)
    jaws = pair.jaws
    across = Well(Region(circle((0.0, -jaws.gap / 2), jaws.gap / 2 + 4.0)), 30.0, jaws.floor, "under a hole")
    jaws = replace(jaws, wells=(*jaws.wells, across), zones_beside=jaws.zones)
    wide = kept.opened(jaws, jaws.gap + by)
    sides = {r.corner[1] < -jaws.gap / 2 for r in jaws.reliefs}
    assert sides == {True, False}
    for was, now in zip(jaws.reliefs, wide.reliefs, strict=True):
        down = by if was.corner[1] < -jaws.gap / 2 else 0.0
        assert now.center == pytest.approx((was.center[0], was.center[1] - down))
        assert now.corner == pytest.approx((was.corner[0], was.corner[1] - down))
    under = [w.region.outer.box for w in wide.wells if w.purpose == "under a hole"]
    assert len(under) == 2 and max(b[3] for b in under) == pytest.approx(4.0)
    assert min(b[1] for b in under) == pytest.approx(-wide.gap - 4.0)
    assert wide.zones_beside == wide.zones and wide.zones != jaws.zones


def test_recuts_left_by_hand() -> None:
    """Blank 50 high, bolts at 22 with 20 mm heads: pocket floors stay above 34.5; vise body 44."""
    pair = made.pair(1)  # 6.5 deep
    low = replace(samples.vise(), body_height=30.0)
    assert recut.lowest_top(pair.blank, low, 6.5) == pytest.approx(22 + 10 + 2.5 + 6.5)
    # faced to 43.2, cut; faced to 36.4: below 41
    assert recut.left(pair, low, 6.5) == 1
    assert recut.left(pair, samples.vise(), 6.5) == 0  # 43.2 is below the vise's body
    assert recut.left(replace(pair, height=60.0), samples.vise(), 6.5) == 2


def test_a_larger_pocket_swallows_a_smaller_one() -> None:
    old = made.pair(1).cuts[0].jaws
    x0, y0, x1, y1 = old.pocket.outer.box
    big = replace(old, pocket=Region(rectangle(x0 - 1, y0 - 1, x1 + 1, y1 + 1)))
    assert recut.swallows(big, old) == (True, "")
    taken, why = recut.swallows(old, big)
    assert not taken and "shows in the fixed jaw" in why
    shallow = replace(big, floor=big.floor + 1.0)
    assert "above the old one" in recut.swallows(shallow, old)[1]
    touching = replace(old, pocket=Region(rectangle(x0, y0, x1, y1)))
    assert not recut.swallows(touching, old)[0]  # no metal to spare


def test_a_free_side_keeps_metal_to_the_other() -> None:
    """Cut alike from both faces, a jaw keeps its thickness less twice the depth, in the deeper of the two."""
    pair = made.pair(1)
    jaws = pair.cuts[0].jaws
    _, y0, _, y1 = jaws.pocket.outer.box
    deep = max(y1, -y0 - jaws.gap)
    for thickness, clear in ((2 * deep + 1.0, False), (2 * deep + 4.0, True)):
        blank = replace(pair.blank, thickness=thickness)
        ok, left = recut.clear_of_back(jaws, replace(pair, blank=blank))
        assert ok is clear
        assert left == pytest.approx(thickness - 2 * deep, abs=0.02)


def test_metal_from_the_columns_is_that_of_the_pairs(tmp_path: Path) -> None:
    """What is told from the register's columns alone, against every pair read whole."""
    vises = (replace(samples.vise(), body_height=30.0), replace(samples.vise(), id="V9"))
    with filled(tmp_path / "rack.db", 60) as rack:
        rack.add(replace(made.pair(70), cuts=(), vise=""))
        rack.add(replace(made.pair(71), height=62.0, blank=replace(made.pair(71).blank, height=62.0)))
        rack.add(replace(made.pair(72), vise="another"))
        rack.add_cut("T-00003", replace(made.pair(5).cuts[0], side="back"))
        rack.out("T-00004", "mill")
        rack.back("T-00006", status="dead", why="cracked")
        found = stock.metal(rack, vises, long=60.0, depth=6.5)
        whole = {p.id: p for p in rack.all()}
    want = {
        p.id: (recut.left(p, next(v for v in vises if p.vise in ("", v.id)), 6.5), p.free_side, p.height)
        for p in whole.values()
        if p.vise in ("", "V1", "V9") and p.status != "dead" and not p.out_to and p.blank.length >= 60.0
    }
    assert {m.pair: (m.recuts, m.free, m.height) for m in found} == want
    assert len({v[0] for v in want.values()}) > 1 and None in {v[1] for v in want.values()}
    assert [m.free is None for m in found] == sorted(m.free is None for m in found)
    assert stock.metal(rack_of(tmp_path), vises, long=1000.0, depth=6.5) == []


def rack_of(folder: Path) -> Rack:
    return Rack(folder / "rack.db")
