"""A million parts against closed forms: rectangle with a hole, growth normal."""

from __future__ import annotations

import math

import numpy as np
import pytest
import sample_block as block
from scipy import stats

from jawright.job.model import ToleranceAsk
from jawright.proof.deviations import judge, resolve
from jawright.proof.population import Scene, scene
from jawright.proof.rivals import centered, other_jaw
from jawright.statistics.draw import stream
from jawright.statistics.tolerance import bonus

PARTS = 1_000_000
SIGMA = 0.03  # growth of the outline [mm]
PLACE = 0.012  # of the bore [mm]
ZONE = 0.07
HALF = 0.02  # of the hole's size


def share(s: Scene, *, maximum: bool) -> float:
    """Share of a million parts that meet the ± distance of the bore from datum B."""
    h = block.hold()
    ask = resolve(h, ToleranceAsk("pivot bore", "distance", ZONE, ("B",), False))
    sample = np.zeros((PARTS, len(s.sources)))
    sample[:, 0] = stream("growth of parts").standard_normal(PARTS) * SIGMA
    sample[:, s.column("place pivot bore Y")] = stream("place of bores").standard_normal(PARTS) * PLACE
    judged = judge(ask, s, sample, s.seated(sample))
    extra = np.zeros(PARTS)
    if maximum:
        size = 10 + HALF * (2 * stream("size").random(PARTS) - 1)
        # A bonus widens the zone; a ± distance lies half of it either way.
        extra = bonus(size, 10 - HALF, 10 + HALF, feature="hole", condition="maximum") / 2
    return float((judged.value <= judged.limit + extra).mean())


def expected(sigma: float, *, maximum: bool) -> float:
    """Normal deviation against ± zone/2, the bonus uniform over the hole's size."""
    if not maximum:
        return math.erf(ZONE / 2 / sigma / math.sqrt(2))
    more = np.linspace(0.0, 2 * HALF, 4001) / 2
    inside = 2 * stats.norm.cdf((ZONE / 2 + more) / sigma) - 1
    return float(np.trapezoid(inside, more) / (more[-1] - more[0]))


@pytest.mark.long
@pytest.mark.parametrize("maximum", [False, True])
@pytest.mark.parametrize("held", ["datum", "opposite", "centered"])
def test_yield_of_a_million(held: str, maximum: bool) -> None:
    """Growth d puts the bore 0, 2 d or d off its distance from the datum; place adds in quadrature."""
    shop = block.quiet_shop()
    s = scene(block.hold(), block.job(), shop)
    s = {"datum": s, "opposite": other_jaw(s), "centered": centered(s)}[held]
    factor = {"datum": 0.0, "opposite": 2.0, "centered": 1.0}[held]
    truth = expected(math.hypot(factor * SIGMA, PLACE), maximum=maximum)
    got = share(s, maximum=maximum)
    assert abs(got - truth) <= 3 * math.sqrt(truth * (1 - truth) / PARTS) + 1e-9
