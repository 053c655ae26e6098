"""Yields of tolerances as the print says them, against the zones' own definitions and the normal law.

Sources, named beside each test: ASME Y14.5-2018, ISO 1101:2017 and ISO 2692:2021 (zones and bonus, from
memory); probabilities in closed form or by quadrature. A block with one scattering source, 100,000 parts.
"""

from __future__ import annotations

import math
from dataclasses import replace
from itertools import pairwise

import numpy as np
import pytest
from scipy import stats

from jawright.geometry.profile import Region, rectangle
from jawright.hold.model import DatumUse, Hold, MadeFeature
from jawright.job.model import ToleranceAsk
from jawright.proof.locates import PARTS, prove
from jawright.proof.model import Proof
from jawright.shop.model import Band3, Shop
from proof import sample_block as block

PLACE = 0.012
FRAME = ("A", "B", "C")


def same(value: float) -> Band3:
    return Band3(value, value, value, "test")


def asked(h: Hold, *asks: ToleranceAsk, shop: Shop) -> tuple[Proof, ...]:
    return prove(replace(h, tolerances=asks), None, None, block.job(profile=0.0), shop)


def found(p: Proof, name: str) -> float:
    return next(v for n, v, _ in p.detail if n == name)


def by_chance(truth: float) -> float:
    """Three standard errors of a share of the parts."""
    return 3 * math.sqrt(truth * (1 - truth) / PARTS) + 1e-9


def both_ways(room: float, sigma: float) -> float:
    return float(2 * stats.norm.cdf(room / sigma) - 1)


def in_circle(zone: float, sigma: float) -> float:
    """Rayleigh: two normal directions of one sigma within a diameter."""
    return 1 - math.exp(-((zone / 2 / sigma) ** 2) / 2)


@pytest.mark.parametrize("zone", [0.03, 0.05])
def test_rectangular_position(zone: float) -> None:
    """ISO 1101 (from memory): a zone that is no diameter is as wide in either direction of the datums: the
    product of both directions, each within half of it."""
    shop = block.quiet_shop(bored_position=same(PLACE))
    p, *_ = asked(block.hold(), ToleranceAsk("pivot bore", "position", zone, FRAME, False), shop=shop)
    truth = both_ways(zone / 2, PLACE) ** 2
    assert p.value == pytest.approx(truth, abs=by_chance(truth))


@pytest.mark.parametrize("zone", [0.03, 0.05])
def test_diametral_position(zone: float) -> None:
    """ASME Y14.5 (from memory): the axis lies in a cylinder: Rayleigh's law."""
    shop = block.quiet_shop(bored_position=same(PLACE))
    p, *_ = asked(block.hold(), ToleranceAsk("pivot bore", "position", zone, FRAME, True), shop=shop)
    truth = in_circle(zone, PLACE)
    assert p.value == pytest.approx(truth, abs=by_chance(truth))


@pytest.mark.parametrize("condition", ["maximum", "least"])
def test_bonus_over_the_sizes(condition: str) -> None:
    """ISO 2692 (from memory): at maximum material a hole's zone grows by what it is over its lower limit, at
    least material by what it is under its upper one; sizes even about their middle give the same yield."""
    half, zone = 0.04, 0.03
    shop = block.quiet_shop(bored_position=same(PLACE))
    size = ToleranceAsk("pivot bore", "size", 2 * half, (), False)
    ask = ToleranceAsk("pivot bore", "position", zone, FRAME, True, condition)  # type: ignore[arg-type]
    p, *_ = asked(block.hold(), ask, size, shop=shop)
    d = np.linspace(-half, half, 8001)
    weight = stats.truncnorm.pdf(d, -3, 3, scale=half / 3)
    grown = zone + half + (d if condition == "maximum" else -d)
    truth = float(np.trapezoid(weight * (1 - np.exp(-((grown / 2 / PLACE) ** 2) / 2)), d))
    assert p.value == pytest.approx(truth, abs=by_chance(truth))
    assert truth > in_circle(zone, PLACE) + 0.1


def pocket(h: Hold) -> MadeFeature:
    return replace(
        h.features[1],
        name="pocket",
        kind="pocket",
        center=(0.0, -15.0, 55.5),
        region=Region(rectangle(-12.0, -23.0, 12.0, -7.0)),
    )


def test_profile_of_a_line_round_a_pocket() -> None:
    """ISO 1101 (from memory): a profile zone lies half on either side of the nominal line. A rectangular
    pocket shifted by (x, y) and cut c large is off by max(|x|, |y|) + |c| at its worst wall; walls of the
    soft jaws that are cut no truer shift the part besides (by hand)."""
    pickup, cut, zone = 0.008, 0.005, 0.05
    shift = math.hypot(pickup, cut)
    h = block.hold()
    h = replace(h, features=(pocket(h),))
    shop = block.quiet_shop(offset_pickup=same(pickup), jaw_cut=same(cut))
    p, *_ = asked(h, ToleranceAsk("pocket", "profile of a line", zone, FRAME, False), shop=shop)
    c = np.linspace(-zone / 2, zone / 2, 20001)
    inside = (2 * stats.norm.cdf((zone / 2 - np.abs(c)) / shift) - 1) ** 2
    truth = float(np.trapezoid(stats.norm.pdf(c, scale=cut) * inside, c))
    assert p.value == pytest.approx(truth, abs=by_chance(truth))


def test_profile_of_a_line_on_half_an_outline() -> None:
    """ISO 1101 (from memory), three walls of the right half of an outline: the lower and the upper wall tell
    a shift along Y, the right one along X, so both stay within half of the zone (by hand)."""
    shift, zone = 0.008, 0.03
    h = block.hold()
    steps = np.linspace(0.0, 1.0, 9)
    corners = [(0.0, -27.0), (27.0, -27.0), (27.0, -3.0), (0.0, -3.0)]
    path = [
        (a[0] + t * (b[0] - a[0]), a[1] + t * (b[1] - a[1]), 50.0)
        for a, b in pairwise(corners)
        for t in steps[:-1]
    ]
    path.append((*corners[-1], 50.0))
    wall = replace(
        h.features[1], name="edge", kind="profile", center=(27.0, -15.0, 55.5), diameter=None, region=None,
        path=tuple(path),
    )  # fmt: skip
    h = replace(h, features=(wall,))
    shop = block.quiet_shop(offset_pickup=same(shift))
    p, *_ = asked(h, ToleranceAsk("edge", "profile of a line", zone, FRAME, False), shop=shop)
    truth = both_ways(zone / 2, shift) ** 2
    assert p.value == pytest.approx(truth, abs=by_chance(truth))


@pytest.mark.parametrize(
    ("kind", "said"),
    [("coaxiality", True), ("coaxiality", False), ("concentricity", False), ("position", True)],
)
def test_coaxial_bores(kind: str, said: bool) -> None:
    """ISO 1101 (from memory): a bore coaxial to another cut in the same clamping is off by the difference of
    both places, √2 of either; size of the part, pick-up and seat drop out. Its zone is a cylinder, said or
    not."""
    zone = 0.05
    h = block.hold()
    first = replace(h.features[1], name="first bore", faces=(90,))
    second = replace(h.features[1], name="second bore", faces=(92,))
    d = DatumUse("D", "bore", (90,), (10.0, -12.0, 55.5), (0.0, 0.0, 1.0), "free", "bore")
    h = replace(h, features=(first, second), datums=(*h.datums, d))
    shop = block.quiet_shop(bored_position=same(PLACE), offset_pickup=same(0.05))
    p, *_ = asked(h, ToleranceAsk("second bore", kind, zone, ("D",), said), shop=shop)
    truth = in_circle(zone, PLACE * math.sqrt(2))
    assert p.value == pytest.approx(truth, abs=by_chance(truth))


def test_plain_distance_and_its_indices() -> None:
    """e-Handbook 6.1.6 (from memory): Cp is the width over six sigma, Cpk the nearer limit over three; its
    interval by Bissell's formula holds both. Only the direction of the datum counts."""
    zone = 0.06
    shop = block.quiet_shop(bored_position=same(PLACE))
    p, *_ = asked(block.hold(), ToleranceAsk("pivot bore", "distance", zone, ("B",), False), shop=shop)
    truth = both_ways(zone / 2, PLACE)
    assert p.value == pytest.approx(truth, abs=by_chance(truth))
    assert found(p, "Cp") == pytest.approx(zone / 6 / PLACE, rel=0.01)
    assert found(p, "Cpk") == pytest.approx(zone / 6 / PLACE, rel=0.015)
    half = 1.96 * math.sqrt(1 / (9 * PARTS) + found(p, "Cpk") ** 2 / (2 * (PARTS - 1)))
    assert found(p, "Cpk, upper bound") - found(p, "Cpk") == pytest.approx(half, rel=0.02)
    assert found(p, "Cpk") - found(p, "Cpk, lower bound") == pytest.approx(half, rel=0.02)


def test_one_seat_for_all_holes_against_the_product() -> None:
    """Holes that share one shift are good together or not at all: the joint yield is that of one hole, the
    product of n holes its n-th power (probability, by hand). With places of their own it is the product."""
    zone, n = 0.04, 3
    h = block.hold()
    holes = [
        replace(h.features[1], name=f"hole {k}", center=(-15.0 + 12.0 * k, -12.0, 55.5)) for k in range(n)
    ]
    h = replace(h, features=tuple(holes))
    asks = tuple(ToleranceAsk(f.name, "position", zone, FRAME, True) for f in holes)
    one = in_circle(zone, PLACE)
    for shop, joint in (
        (block.quiet_shop(offset_pickup=same(PLACE)), one),
        (block.quiet_shop(bored_position=same(PLACE)), one**n),
    ):
        got = {p.name: p for p in asked(h, *asks, shop=shop)}["all tolerances together"]
        assert got.value == pytest.approx(joint, abs=by_chance(joint))
        assert found(got, "yields multiplied one by one") == pytest.approx(one**n, abs=3 * by_chance(one))


def test_shares_of_the_sources_by_both_methods() -> None:
    """Variances of independent sources add (by hand): place, pick-up and machine as 9 : 4 : 1 in a plain
    distance, by sampling and by sensitivities."""
    unit = 0.004
    shop = block.quiet_shop(bored_position=same(3 * unit), offset_pickup=same(2 * unit))
    shop = replace(shop, machine=replace(shop.machine, repeat=unit))
    p, *_ = asked(block.hold(), ToleranceAsk("pivot bore", "distance", 0.1, ("B",), False), shop=shop)
    whole = unit * math.sqrt(14)
    assert found(p, "spread by sampling, one sigma") == pytest.approx(whole, rel=0.01)
    assert found(p, "spread by sensitivities, one sigma") == pytest.approx(whole, rel=1e-6)
    assert found(p, "share of place of a bored hole") == pytest.approx(9 / 14, abs=0.01)
    assert found(p, "share of work offset pick-up (once per setup)") == pytest.approx(4 / 14, abs=0.01)
    assert found(p, "share of repeat of the machine") == pytest.approx(1 / 14, abs=0.01)
