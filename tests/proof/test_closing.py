"""What would close a tolerance, against the closed form of two normal directions (Rayleigh's law)."""

from __future__ import annotations

import math

import pytest
import sample_block as block

from jawright.proof.closing import TIGHTER, _figure
from jawright.proof.gives import LABEL
from jawright.proof.locates import prove
from jawright.proof.outcome import PASS_YIELD
from jawright.proof.say import Say
from jawright.proof.sources import Source
from jawright.shop.model import Band3

SIGMA = 0.01


def said(zone: float) -> str:
    shop = block.quiet_shop(bored_position=Band3(SIGMA, SIGMA, SIGMA, "test"))
    return prove(block.hold(zone=zone), None, None, block.job(), shop)[0].sentence


@pytest.mark.parametrize("zone", [0.03, 0.05, 0.062])
def test_the_widest_scatter_tried_that_serves_is_named(zone: float) -> None:
    """A part is good with probability 1 - exp(-(zone / 2 / σ)² / 2)."""
    serves = [s for s in TIGHTER if 1 - math.exp(-((zone / 2 / (s * SIGMA)) ** 2) / 2) >= PASS_YIELD]
    wanted = f"place of a bored hole σ {serves[0] * SIGMA:.3f} mm instead of 0.010 mm"
    assert said(zone).endswith(f"It would close with {wanted}.")


def test_where_nothing_closes_it_the_zone_that_is_met_is_told() -> None:
    """99.73 % lie within Ø 2 σ √(-2 ln 0.0027) = 6.88 σ."""
    got = said(0.003)
    reach = 2 * SIGMA * math.sqrt(-2 * math.log(1 - PASS_YIELD))
    assert "No one or two sources close it" in got
    number = float(got.rsplit("a zone of ", 1)[1].split(" ", 1)[0])
    assert number == pytest.approx(reach, rel=0.01)


def test_a_tolerance_that_is_met_asks_for_nothing() -> None:
    assert "close" not in said(0.1)


def test_two_sources_together_where_neither_is_enough() -> None:
    """Drilled wander and pick-up each carry half: one alone leaves 0.7 of the spread."""
    shop = block.quiet_shop(
        bored_position=Band3(SIGMA, SIGMA, SIGMA, "test"), bore_pickup=Band3(SIGMA, SIGMA, SIGMA, "test")
    )
    got = prove(block.hold(zone=0.04), None, None, block.job(), shop)[0].sentence
    assert "It would close with" in got and " and " in got.split("It would close with", 1)[1]


def test_a_width_is_told_in_the_unit_of_its_source() -> None:
    def told(label: str, value: float, units: str = "mm") -> str:
        return _figure(Source("key", label, "cut", value, "test"), value, Say(units))  # type: ignore[arg-type]

    assert told(LABEL, 800.0) == "800 N"
    assert told(LABEL, 800.0, "inch").endswith("lbf")
    assert told("temperature of the part", 2.0) == "2.0 K"
    assert told("size of the part", 0.05) == "0.050 mm"
