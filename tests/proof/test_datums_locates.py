"""Datum reference frames: who takes what, and features measured from each."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
import sample_block as block

import samples
from jawright.geometry.profile import Region, circle
from jawright.hold.model import DatumUse, Hold
from jawright.job.model import Given, ToleranceAsk
from jawright.proof import population
from jawright.proof.datums import build, deviation
from jawright.proof.locates import prove
from jawright.proof.model import Proof
from jawright.proof.population import scene
from jawright.shop.model import Band3


def number(p: Proof, name: str) -> float:
    return next(v for n, v, _ in p.detail if n == name)


def asking(t: ToleranceAsk, *datums: DatumUse) -> Hold:
    h = block.hold()
    return replace(h, datums=(*h.datums, *datums), tolerances=(t,))


def test_datum_on_the_floating_side_makes_the_feature_follow_the_size() -> None:
    """A distance from the far wall changes by the whole width of the part."""
    far = DatumUse("E", "plane", (3,), (0.0, -30.0, 49.5), (0.0, -1.0, 0.0), "floating", "plane")
    p, *_ = prove(
        asking(ToleranceAsk("pivot bore", "distance", 0.2, ("E",), False), far),
        None,
        None,
        block.job(profile=0.06),
        block.quiet_shop(),
    )
    assert number(p, "slope on size as held") == pytest.approx(1.0, abs=1e-3)
    assert number(p, "slope on size if located on the floating jaw") == pytest.approx(0.0, abs=1e-3)


def test_order_of_the_datums_decides_who_takes_the_turn() -> None:
    s = scene(block.hold(), block.job(wall_form=0.02), block.quiet_shop())
    a, b, c = block.hold().datums
    sample = np.zeros((1, len(s.sources)))
    sample[0, s.column("wall 1 a")] = 0.06  # one end of B stands out: B tilts, C does not
    by_b = build(s, sample, (a, b, c), None)
    by_c = build(s, sample, (a, c, b), None)
    assert by_b.turn is not None
    assert by_c.turn is not None
    assert abs(by_b.turn[0]) == pytest.approx(0.06 / 60, rel=1e-5)
    assert by_c.turn[0] == pytest.approx(0.0, abs=1e-12)
    lean = np.array([[0.0, 0.0]])
    assert by_b.tilt.at(10.0) == pytest.approx(lean)
    assert by_b.words == "A takes tilt and Z, B takes the turn, B takes one direction, C takes one direction"


def test_one_datum_leaves_the_other_direction_free() -> None:
    s = scene(block.hold(), block.job(), block.quiet_shop())
    a, b, _ = block.hold().datums
    frame = build(s, np.zeros((1, len(s.sources))), (a, b), None)
    dx, dy = deviation(frame, np.array([10.3]), np.array([-11.9]), (10.0, -12.0))
    assert (dx[0], dy[0]) == pytest.approx((0.0, 0.1), abs=1e-12)


def test_bore_datum_takes_both_directions_and_a_wall_the_turn() -> None:
    s = scene(block.hold(), block.job(), block.quiet_shop())
    _, b, _ = block.hold().datums
    bore = DatumUse("D", "bore", (9,), (-10.0, -15.0, 49.5), (0.0, 0.0, 1.0), "free", "bore")
    zero = np.zeros((1, len(s.sources)))
    both = build(s, zero, (bore, b), None)
    dx, dy = deviation(both, np.array([10.1]), np.array([-12.2]), (10.0, -12.0))
    assert (dx[0], dy[0]) == pytest.approx((0.1, -0.2), abs=1e-12)
    alone = build(s, zero, (bore,), None)
    dx, dy = deviation(alone, np.array([10.0]), np.array([-14.8]), (10.0, -15.0))
    assert np.hypot(dx[0], dy[0]) == pytest.approx(0.0, abs=1e-12)  # only turned about the bore


def test_profile_of_a_pocket_follows_the_largest_shift() -> None:
    """A round pocket shifted by e is off by e somewhere on its wall: 2 e as a profile."""
    pickup = Band3(0.01, 0.01, 0.01, "test")
    h = block.hold()
    pocket = replace(
        h.features[1],
        name="pocket",
        kind="pocket",
        center=(0.0, -15.0, 55.5),
        region=Region(circle((0.0, -15.0), 8.0)),
    )
    ask = ToleranceAsk("pocket", "profile of a surface", 0.05, ("A", "B", "C"), False)
    h = replace(h, features=(pocket,), tolerances=(ask,))
    p, *_ = prove(h, None, None, block.job(), block.quiet_shop(offset_pickup=pickup))
    share = 1 - np.exp(-((0.05 / 2 / 0.01) ** 2) / 2)
    assert p.value == pytest.approx(share, abs=0.004)


def test_rectangular_position_is_judged_direction_by_direction() -> None:
    shop = block.quiet_shop(bored_position=Band3(0.01, 0.01, 0.01, "test"))
    ask = ToleranceAsk("pivot bore", "position", 0.04, ("A", "B", "C"), False)
    p, *_ = prove(asking(ask), None, None, block.job(), shop)
    assert p.value == pytest.approx(0.9545**2, abs=0.003)


def test_run_out_needs_an_axis() -> None:
    ask = ToleranceAsk("pivot bore", "circular run-out", 0.05, ("A",), False)
    p, *_ = prove(asking(ask), None, None, block.job(), block.quiet_shop())
    assert p.verdict == "unknown"
    bore = DatumUse("D", "bore", (9,), (10.0, -12.0, 49.5), (0.0, 0.0, 1.0), "free", "bore")
    shop = block.quiet_shop(bored_position=Band3(0.005, 0.005, 0.005, "test"))
    p, *_ = prove(asking(replace(ask, datums=("D",)), bore), None, None, block.job(), shop)
    assert p.verdict != "unknown"


def test_unknown_material_means_no_heat_counted() -> None:
    s = scene(block.hold(), block.job(), samples.shop())
    assert s.expansion == pytest.approx(23.6e-6)


@pytest.mark.parametrize(("swing", "verdict"), [(1.0, "caution"), (0.0, "pass")])
def test_heat_that_should_count_and_cannot_is_no_pass(
    swing: float, verdict: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(population, "_expansion", lambda _: None)
    shop = block.quiet_shop(temperature_swing=Band3(swing, swing, swing, "test"))
    got = prove(block.hold(zone=1.0), None, None, block.job(profile=0.0), shop)[0]
    assert got.verdict == verdict
    assert ("Not in it is the temperature" in got.sentence) == (swing > 0) == bool(got.supply)


def test_leaning_datum_wall_stands_out_at_its_top_or_foot() -> None:
    """Gripped 3.25 above the floor of 12: a lean of q puts the top 8.75/12 q out, or the foot 3.25/12 q."""
    q = 0.03
    job = block.job()
    job = replace(job, incoming=replace(job.incoming, squareness=Given(q, "test")))
    s = scene(block.hold(), job, block.quiet_shop())
    a, b, _ = block.hold().datums
    sample = np.zeros((2, len(s.sources)))
    sample[:, s.column("lean 1")] = (q, -q)
    frame = build(s, sample, (a, b), None)
    assert frame.planes[0][2] - frame.planes[0][1] == pytest.approx([8.75 / 12 * q, 3.25 / 12 * q], abs=1e-9)
    assert not scene(block.hold(), block.job(), block.quiet_shop()).has("lean 1")
