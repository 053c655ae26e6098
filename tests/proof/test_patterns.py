"""Datum shift, patterns, zones of one direction and of no size, datums cut here: against closed forms."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest
import sample_block as block
from scipy import optimize, stats

import samples
from jawright.hold.model import DatumUse, Hold
from jawright.job.model import DatumPick, Given, Job, Pick, ToleranceAsk
from jawright.proof.deviations import judge, resolve
from jawright.proof.locates import PARTS, prove
from jawright.proof.model import Proof
from jawright.proof.population import FEW, scene
from jawright.proof.shift import Play, least_beyond
from jawright.shop.model import Band3

SIGMA = 0.02


def near(share: float, truth: float, count: int = PARTS) -> bool:
    return abs(share - truth) <= 3 * math.sqrt(truth * (1 - truth) / count) + 1e-9


def number(p: Proof, name: str) -> float:
    return next(v for n, v, _ in p.detail if n == name)


def still(count: int) -> Play:
    zero = np.zeros(count)
    return Play(zero, zero, (1.0, 0.0), zero, (0.0, 0.0))


def with_bore_datum(*, shift: bool, size: float | None) -> tuple[Hold, Job]:
    """The bore positioned from an earlier bore D, which takes X and Y behind A; B takes the turn."""
    h = block.hold(zone=0.06)
    d = DatumUse("D", "bore", (77,), (-10.0, -15.0, 49.5), (0.0, 0.0, 1.0), "free", "bore")
    ask = ToleranceAsk(
        "pivot bore", "position", 0.06, ("A", "D", "B"), True, boundary=("D",) if shift else ()
    )
    job = replace(block.job(profile=0.0), datums=(DatumPick("D", Pick((0.0, 0.0, 0.0), "datum D"), size),))
    return replace(h, datums=(*h.datums, d), tolerances=(ask,)), job


def noisy() -> dict[str, Band3]:
    return {"bored_position": Band3(SIGMA, SIGMA, SIGMA, "test")}


def test_shift_of_a_datum_bore_by_closed_form() -> None:
    """Bore and datum bore each σ off: √2 σ. A datum bore h over its smallest adds h to the diameter."""
    half = 0.03
    hold, job = with_bore_datum(shift=True, size=2 * half)
    p, *_ = prove(hold, None, None, job, block.quiet_shop(**noisy()))
    d = np.linspace(-half, half, 4001)
    law = stats.truncnorm(-3, 3, scale=half / 3)
    inside = 1 - np.exp(-((0.06 + half + d) ** 2) / 8 / (2 * SIGMA**2))
    truth = float(np.trapezoid(law.pdf(d) * inside, d))
    assert p.value is not None and near(p.value, truth)
    bare, _ = with_bore_datum(shift=False, size=2 * half)
    q, *_ = prove(bare, None, None, job, block.quiet_shop(**noisy()))
    assert q.value is not None and near(q.value, 1 - math.exp(-(0.03**2) / 2 / (2 * SIGMA**2)))


def test_shift_without_a_size_is_not_counted_and_said() -> None:
    hold, job = with_bore_datum(shift=True, size=None)
    p, *_ = prove(hold, None, None, job, block.quiet_shop(**noisy()))
    assert p.value is not None and near(p.value, 1 - math.exp(-(0.03**2) / 2 / (2 * SIGMA**2)))
    assert any("no shift of D counted" in a for a in p.assumptions)


def test_best_place_on_the_gauge_against_a_general_minimizer() -> None:
    """Three holes, play in a circle and a turn: never better than the true optimum, and close to it."""
    rng = np.random.default_rng(5)
    places = np.array([[10.0, 0.0], [-12.0, 4.0], [3.0, 15.0]])
    m = 25
    off, room = rng.normal(0, 0.03, (m, 3, 2)), np.full((m, 3), 0.02)
    free = Play(np.full(m, 0.02), np.zeros(m), (1.0, 0.0), np.full(m, 0.002), (1.0, 2.0))
    got = least_beyond(off, room, places, free)
    square = np.column_stack([-(places[:, 1] - 2.0), places[:, 0] - 1.0])
    for k in range(m):

        def beyond(q: np.ndarray, k: int = k) -> np.ndarray:
            e = off[k] - q[:2] - q[2] / 100 * square
            return np.asarray(q[3] - (np.hypot(e[:, 0], e[:, 1]) - room[k]))

        bounds = [
            {"type": "ineq", "fun": beyond},
            {"type": "ineq", "fun": lambda q: 0.02**2 - q[0] ** 2 - q[1] ** 2},
            {"type": "ineq", "fun": lambda q: 0.2 - abs(q[2])},
        ]
        best = optimize.minimize(
            lambda q: q[3], [0.0, 0.0, 0.0, 0.2], constraints=bounds, method="SLSQP", options={"ftol": 1e-12}
        ).fun
        assert best - 1e-6 <= got[k] <= best + 0.001


def two_holes(datums: tuple[str, ...]) -> Hold:
    h = block.hold()
    other = replace(h.features[1], name="second bore", center=(-15.0, -18.0, 55.5), faces=(55,))
    asks = tuple(ToleranceAsk(f, "position", 0.06, datums, True) for f in ("pivot bore", "second bore"))
    return replace(h, features=(*h.features, other), tolerances=asks)


def test_holes_to_the_floor_alone_hold_each_other() -> None:
    """No datum fixes their place: half of their distance's error must stay within the radius (±σ√2 / 2)."""
    found = prove(two_holes(("A",)), None, None, block.job(), block.quiet_shop(**noisy()))
    single, joint = found[0], next(p for p in found if p.name == "all tolerances together")
    assert single.value == 1.0
    assert "does not place it along X and Y" in single.sentence
    full, *_ = prove(two_holes(("A", "B", "C")), None, None, block.job(), block.quiet_shop())
    assert "does not place" not in full.sentence
    # With X, Y and turn free only the error along the line of centers is left: normal, √2 σ.
    truth = 2 * stats.norm.cdf(0.06 / (SIGMA * math.sqrt(2))) - 1
    assert joint.value is not None and near(joint.value, float(truth))


def test_a_full_frame_leaves_nothing_to_shift() -> None:
    found = prove(two_holes(("A", "B", "C")), None, None, block.job(), block.quiet_shop(**noisy()))
    joint = next(p for p in found if p.name == "all tolerances together")
    one = 1 - math.exp(-(0.03**2) / 2 / SIGMA**2)
    assert joint.value is not None and near(joint.value, one**2)


def test_zone_of_one_direction_counts_only_that() -> None:
    """Normal σ square to B against ± zone / 2; the other direction does not enter."""
    h = block.hold()
    ask = ToleranceAsk("pivot bore", "position", 0.06, ("A", "B", "C"), False, along="B")
    p, *_ = prove(replace(h, tolerances=(ask,)), None, None, block.job(), block.quiet_shop(**noisy()))
    truth = 2 * stats.norm.cdf(0.03 / SIGMA) - 1
    assert p.value is not None and near(p.value, float(truth))


def test_zone_without_direction_follows_the_datums_and_not_the_vise() -> None:
    """The part held at 30°: its square zone turns with it."""
    h = block.hold()
    turned = (
        replace(h.datums[1], normal=(math.sin(math.pi / 6), math.cos(math.pi / 6), 0.0), faces=()),
        replace(h.datums[2], normal=(-math.cos(math.pi / 6), math.sin(math.pi / 6), 0.0), faces=()),
    )
    h = replace(h, datums=(h.datums[0], *turned))
    ask = resolve(h, ToleranceAsk("pivot bore", "position", 0.2, ("A", "B", "C"), False))
    s = scene(h, block.job(), block.quiet_shop())
    sample = np.zeros((1, len(s.sources)))
    sample[0, s.column("place pivot bore Y")] = 0.1
    got = judge(ask, s, sample, s.seated(sample))
    assert got.value[0] == pytest.approx(0.1 * math.cos(math.pi / 6), abs=1e-4)


def test_zone_of_no_size_lives_from_its_bonus() -> None:
    """Zone 0 at maximum material: all of the tolerance is what the hole is over its smallest size."""
    half, sigma = 0.05, 0.01
    size = ToleranceAsk("pivot bore", "size", 2 * half, (), False)
    zero = ToleranceAsk("pivot bore", "position", 0.0, ("A", "B", "C"), True, "maximum")
    h = replace(block.hold(), tolerances=(zero, size))
    shop = block.quiet_shop(bored_position=Band3(sigma, sigma, sigma, "test"))
    p, *_ = prove(h, None, None, block.job(), shop)
    d = np.linspace(-half, half, 4001)
    law = stats.truncnorm(-3, 3, scale=half / 3)
    truth = float(np.trapezoid(law.pdf(d) * (1 - np.exp(-((half + d) ** 2) / 8 / sigma**2)), d))
    assert p.value is not None and near(p.value, truth)
    unequal = replace(size, middle=0.03)  # +0.08/-0.02: the bonus counts from the smallest size all the same
    q, *_ = prove(replace(h, tolerances=(zero, unequal)), None, None, block.job(), shop)
    assert q.value == pytest.approx(p.value, abs=1e-9)


def test_datum_cut_in_the_same_seat_does_not_follow_the_part() -> None:
    """A wall milled here as datum: the part's growth and the floating jaw's side no longer matter."""
    h = block.hold()
    wall = replace(
        h.features[1], name="rib", kind="profile", diameter=None, faces=(91,), region=block.hold().outline
    )
    d = DatumUse("E", "plane", (91,), (0.0, -20.0, 50.0), (0.0, -1.0, 0.0), "free", "plane")
    ask = ToleranceAsk("pivot bore", "distance", 0.1, ("E",), False)
    h = replace(h, features=(*h.features, wall), datums=(*h.datums, d), tolerances=(ask,))
    s = scene(h, block.job(), block.quiet_shop())
    sample = np.zeros((1, len(s.sources)))
    sample[0, 0] = 0.2
    sample[0, s.column("pickup Y")] = 0.05
    assert judge(resolve(h, ask), s, sample, s.seated(sample)).value[0] == pytest.approx(0.0, abs=1e-9)
    sample[0, s.column("machine rib Y")] = 0.01
    assert judge(resolve(h, ask), s, sample, s.seated(sample)).value[0] == pytest.approx(0.01, abs=1e-9)


def test_hole_against_a_wall_leans_with_both() -> None:
    """Parallel to B: lift 0.03 over 30 across leans 0.001; the wall leans 0.006 over 12 the other way."""
    h = block.hold()
    ask = ToleranceAsk("pivot bore", "parallelism", 0.05, ("B",), True)
    job = replace(block.job(), incoming=replace(block.job().incoming, squareness=Given(0.01, "test")))
    s = scene(h, job, block.quiet_shop())
    sample = np.zeros((1, len(s.sources)))
    sample[0, s.column("lift")] = 0.03
    long = h.features[1].center[2] - h.features[1].bottom
    value = judge(resolve(h, ask), s, sample, s.seated(sample)).value[0]
    assert value == pytest.approx(0.001 * long, rel=1e-3)
    sample[0, s.column("lean 1")] = -0.001 * s.tall
    assert judge(resolve(h, ask), s, sample, s.seated(sample)).value[0] == pytest.approx(0.0, abs=1e-6)


def test_what_a_floating_datum_costs() -> None:
    """Datum E on the floating jaw: a distance from it follows the size with slope 1."""
    far = DatumUse("E", "plane", (3,), (0.0, -30.0, 49.5), (0.0, -1.0, 0.0), "floating", "plane")
    h = block.hold()
    ask = ToleranceAsk("pivot bore", "distance", 0.2, ("E",), False)
    h = replace(h, datums=(*h.datums, far), tolerances=(ask,))
    half = 0.06
    found = prove(h, None, None, block.job(profile=2 * half), block.quiet_shop())
    p = next(q for q in found if q.name == "datum E floats")
    law = stats.truncnorm(-3, 3, scale=half / 3)
    reach = 2 * law.ppf(0.5 + 0.9973 / 2)
    assert p.value == pytest.approx(reach, rel=0.03)
    assert p.verdict == "caution" and "turn the part" in p.sentence
    held = prove(block.hold(), None, None, block.job(), block.quiet_shop())
    assert not any("floats" in q.name for q in held)


def test_datum_that_lies_off_the_floor_brings_the_thickness_in() -> None:
    """A height from an upper face of the first side: ± 0.1 of thickness comes between, 0.2 of the zone."""
    h = block.hold()
    up = DatumUse("T", "plane", (66,), (0.0, -15.0, 55.0), (0.0, 0.0, 1.0), "free", "plane, up")
    ask = ToleranceAsk("back face", "distance", 0.3, ("T",), False)
    h = replace(h, datums=(*h.datums, up), tolerances=(ask,))
    job = replace(block.job(), incoming=replace(block.job().incoming, thickness=Given(0.1, "test")))
    found = prove(h, None, None, job, block.quiet_shop())
    cost = next(q for q in found if q.name == "datum T floats")
    law = stats.truncnorm(-3, 3, scale=0.1 / 3)
    assert cost.value == pytest.approx(2 * law.ppf(0.5 + 0.9973 / 2), rel=0.03)
    assert "thickness" in cost.sentence


@pytest.mark.parametrize(
    "datums",
    [("B", "A", "C"), ("C", "B", "A"), ("B",), ("A", "B", "B2"), ("A", "C", "B")],
)
def test_any_order_of_datums_is_judged(datums: tuple[str, ...]) -> None:
    """Out of order, one alone, or two letters on one face: a number, no crash, never more than all parts."""
    h = block.hold()
    twin = replace(h.datums[1], letter="B2")
    ask = ToleranceAsk("pivot bore", "position", 0.1, datums, True)
    h = replace(h, datums=(*h.datums, twin), tolerances=(ask,))
    p = prove(h, None, None, block.job(wall_form=0.02), samples.shop())[0]
    assert p.value is not None and 0.0 <= p.value <= 1.0
    assert number(p, "99.73 % of parts within") > 0.0


def test_nothing_varies_and_all_is_good() -> None:
    """All sigmas 0: every part is the nominal one."""
    h = block.hold(zone=1e-3)
    p, *_ = prove(h, None, None, block.job(profile=0.0), block.quiet_shop())
    assert (p.value, p.verdict) == (1.0, "pass")
    assert number(p, "spread by sampling, one sigma") == pytest.approx(0.0, abs=1e-12)
    assert FEW < PARTS
