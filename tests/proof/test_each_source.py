"""Each source of scatter by itself: the yield of the block's bore, and what a closed form gives.

The block lies with B on the fixed jaw and C at the stop; its bore is at (10, -12), 40 from C, 12 from B.
All that is set to nought is still; the position is to A|B|C. Yields of 100,000 parts within three standard
errors.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import replace

import numpy as np
import pytest
import sample_block as block
from scipy import integrate

from jawright.handbook import material
from jawright.hold.model import Hold
from jawright.job.model import Given, Job
from jawright.proof.locates import PARTS, prove
from jawright.shop.model import Band3, Shop
from proof.test_patterns import near

S = 0.02
ZONE = 0.06
SIDE, DEEP, TALL = 40.0, 12.0, 12.0
STEEL = material("1018").cte
ALU = material("6061-T6").cte
assert STEEL is not None and ALU is not None


def band(v: float) -> Band3:
    return Band3(v, v, v, "test")


def rayleigh(sigma: float) -> float:
    return 1 - math.exp(-((ZONE / 2) ** 2) / 2 / sigma**2)


def even(most: float) -> float:
    """Share of an even spread of distances from 0 to ``most`` that stays in the zone's radius."""
    return min(1.0, ZONE / 2 / most)


def ellipse(cov: list[list[float]]) -> float:
    """Mass of a normal law in a disc of the zone's radius, by its chi-square mixture along the turn."""
    a = np.linalg.eigvalsh(np.array(cov))

    def ring(t: float) -> float:
        w = math.cos(t) ** 2 / a[0] + math.sin(t) ** 2 / a[1]
        return (1 - math.exp(-((ZONE / 2) ** 2) * w / 2)) / w

    whole, _ = integrate.quad(ring, 0, 2 * math.pi)
    return whole / (2 * math.pi * math.sqrt(a[0] * a[1]))


def shop_with(**bands: Band3) -> Shop:
    return block.quiet_shop(**bands)


def vise_with(**bands: Band3) -> Hold:
    h = block.hold(zone=ZONE)
    return replace(h, vise=replace(h.vise, **bands))


def drilled() -> Hold:
    h = block.hold(zone=ZONE)
    return replace(h, features=(h.features[0], replace(h.features[1], kind="drill")))


def put_back() -> Hold:
    return replace(block.hold(zone=ZONE), reused=True)


def reseated() -> float:
    """Two rests at the bolts turn it, one stops it: σ²(1 + 2y²/b²) along X, σ²(1/2 + 2x²/b²) along Y."""
    x, y, b = 10.0, -12.0, block.hold().vise.bolt_spacing
    s = S * S
    across = -2 * s * x * y / b**2
    return ellipse([[s * (1 + 2 * y * y / b**2), across], [across, s * (0.5 + 2 * x * x / b**2)]])


def warm_jaws(kelvin: float) -> float:
    """The fixed wall comes forward by α times the blank's thickness, the stop away by 30 α."""
    thick = max(b.thickness for b in shop_with().blanks)
    return even(ALU * kelvin * math.hypot(30.0, thick))


def crooked() -> float:
    """B lies on the jaw and is the frame's turn; the stop touches the middle of C, the datum its high end.

    That end is half of the difference of C's two ends over the middle, and as much as B's slope over 60
    makes of the 15 from the middle of C to its end.
    """
    half = 0.03
    rng = np.random.default_rng(11)  # our own draw, held to the limits as the population's
    a, b, c, d = np.clip(rng.normal(0, half / 3, (4, 4_000_000)), -half, half)
    return float((np.abs((a - b) / 2 + (c - d) / 60 * 15) <= ZONE / 2 * 0.25).mean())


def still_job(**incoming: Given) -> Job:
    job = block.job(profile=0.0)
    return replace(job, incoming=replace(job.incoming, **incoming))


CASES: dict[str, tuple[Callable[[], tuple[Hold, Job, Shop]], Callable[[], float]]] = {
    "bored hole": (
        lambda: (block.hold(zone=ZONE), still_job(), shop_with(bored_position=band(S))),
        lambda: rayleigh(S),
    ),
    "drill": (lambda: (drilled(), still_job(), shop_with(drilled_position=band(S))), lambda: rayleigh(S)),
    "drill does not enter a bored hole": (
        lambda: (block.hold(zone=ZONE), still_job(), shop_with(drilled_position=band(1.0))),
        lambda: 1.0,
    ),
    "machine": (
        lambda: (
            block.hold(zone=ZONE),
            still_job(),
            replace(shop_with(), machine=replace(shop_with().machine, repeat=S)),
        ),
        lambda: rayleigh(S),
    ),
    "pick-up in a bored hole": (
        lambda: (block.hold(zone=ZONE), still_job(), shop_with(bore_pickup=band(S), edge_pickup=band(1.0))),
        lambda: rayleigh(S),
    ),
    "pick-up at an edge": (
        lambda: (
            replace(block.hold(zone=ZONE), kind="hard jaws"),
            still_job(),
            shop_with(bore_pickup=band(1.0), edge_pickup=band(S)),
        ),
        lambda: rayleigh(S),
    ),
    "clamped again": (lambda: (vise_with(repeat=band(S)), still_job(), shop_with()), lambda: rayleigh(S)),
    "jaws cut": (
        lambda: (block.hold(zone=ZONE), still_job(), shop_with(jaw_cut=band(S))),
        lambda: rayleigh(S),
    ),
    "pair put back": (lambda: (put_back(), still_job(), shop_with(jaw_reseat=band(S))), reseated),
    "pair that stays": (
        lambda: (block.hold(zone=ZONE), still_job(), shop_with(jaw_reseat=band(1.0))),
        lambda: 1.0,
    ),
    "warm part": (
        lambda: (block.hold(zone=ZONE), still_job(), shop_with(temperature_swing=band(60.0))),
        lambda: even(ALU * 60.0 * math.hypot(SIDE, DEEP)),
    ),
    "warm machine": (
        lambda: (block.hold(zone=ZONE), still_job(), shop_with(machine_temperature=band(100.0))),
        lambda: even(STEEL * 100.0 * math.hypot(SIDE, DEEP)),
    ),
    "warm jaws": (
        lambda: (block.hold(zone=ZONE), still_job(), shop_with(jaw_temperature=band(60.0))),
        lambda: warm_jaws(60.0),
    ),
    "lift": (
        lambda: (vise_with(lift=band(0.1)), still_job(), shop_with()),
        lambda: even(0.1 * TALL / 30.0),
    ),
    "growth": (
        lambda: (block.hold(zone=ZONE), still_job(profile=Given(0.5, "test")), shop_with()),
        lambda: 1.0,
    ),
    "yaw and side play": (
        lambda: (vise_with(yaw=band(0.01), side_play=band(0.2)), still_job(), shop_with()),
        lambda: 1.0,
    ),
}


@pytest.mark.parametrize("name", CASES)
def test_yield_by_closed_form(name: str) -> None:
    made, truth = CASES[name]
    hold, job, shop = made()
    p, *_ = prove(hold, None, None, job, shop)
    want = truth()
    assert p.value is not None
    assert near(p.value, want, PARTS), (p.value, want)
    assert want == 1.0 or 0.3 < want < 0.95, "a yield that tells something"


def test_crooked_walls() -> None:
    hold, job = block.hold(zone=ZONE * 0.25), still_job(wall_form=Given(0.03, "test"))
    p, *_ = prove(hold, None, None, job, shop_with())
    assert p.value is not None
    assert near(p.value, crooked(), PARTS), (p.value, crooked())


def test_leaning_walls() -> None:
    """Each datum touches its wall's foot or top: the larger of q·8.75/12 and -q·3.25/12 (own draw)."""
    most = 0.1
    p, *_ = prove(block.hold(zone=ZONE), None, None, still_job(squareness=Given(most, "test")), shop_with())
    rng = np.random.default_rng(12)
    q = np.clip(rng.normal(0, most / 3, (2, 4_000_000)), -most, most)
    high = np.maximum(q * 8.75 / 12, -q * 3.25 / 12)
    want = float((2 * np.hypot(*high) <= ZONE).mean())
    assert p.value is not None
    assert near(p.value, want, PARTS), (p.value, want)
