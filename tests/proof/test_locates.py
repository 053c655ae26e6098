"""Yields against closed forms, and every way the answer can be unknown or bad."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest
import sample_block as block
from sample_job import job as pawl_job
from scipy import stats

import samples
from jawright.job.model import GeneralTolerances, ToleranceAsk
from jawright.proof.locates import PARTS, prove
from jawright.proof.model import Proof
from jawright.proof.population import FEW
from jawright.proof.quick import quick_yield
from jawright.shop.model import Band3
from jawright.statistics.capability import disc_share


def number(p: Proof, name: str) -> float:
    return next(v for n, v, _ in p.detail if n == name)


def near(share: float, truth: float, count: int) -> bool:
    return abs(share - truth) <= 3 * math.sqrt(truth * (1 - truth) / count) + 1e-9


def grown(half: float) -> stats.rv_continuous:
    return stats.truncnorm(-3, 3, scale=half / 3)


def test_size_alone_costs_nothing_when_held_on_the_datums() -> None:
    """Only the parts' size varies. On the datums the feature does not follow it at all."""
    p, *_ = prove(block.hold(), None, None, block.job(), block.quiet_shop())
    assert p.verdict == "pass"
    assert p.value == 1.0
    assert number(p, "99.73 % of parts within") == pytest.approx(0.0, abs=1e-9)
    assert number(p, "slope on size as held") == pytest.approx(0.0, abs=1e-6)


def test_yield_of_the_rivals_by_closed_form() -> None:
    """Growth d of the whole outline: off the other jaw the bore is 2 d off, so Ø 4 |d|; centered Ø 2 |d|."""
    half, zone = 0.09, 0.1
    p, *_ = prove(block.hold(zone=zone), None, None, block.job(profile=2 * half), block.quiet_shop())
    law = grown(half)
    other = 2 * law.cdf(zone / 4) - 1
    middle = 2 * law.cdf(zone / 2) - 1
    assert near(number(p, "yield if located on the floating jaw"), other, FEW)
    assert near(number(p, "yield if self-centering"), middle, FEW)
    assert number(p, "slope on size if located on the floating jaw") == pytest.approx(1.0, abs=1e-3)
    assert number(p, "slope on size if self-centering") == pytest.approx(0.5, abs=1e-3)


@pytest.mark.parametrize("zone", [0.03, 0.05])
def test_yield_of_machine_scatter_by_closed_form(zone: float) -> None:
    """Two normal directions of 0.01 each: the Rayleigh law for the circle."""
    shop = block.quiet_shop(bored_position=Band3(0.008, 0.01, 0.012, "test"))
    p, *_ = prove(block.hold(zone=zone), None, None, block.job(), shop)
    truth = 1 - math.exp(-((zone / 2 / 0.01) ** 2) / 2)
    assert p.value is not None
    assert near(p.value, truth, PARTS)
    assert p.low is not None
    assert near(p.low, 1 - math.exp(-((zone / 2 / 0.012) ** 2) / 2), FEW)
    assert p.low < p.value < (p.high or 0)
    assert number(p, "share of place of a bored hole") == pytest.approx(1.0, abs=1e-6)


def test_bonus_at_maximum_material_by_closed_form() -> None:
    """Hole size spread σ = h/3 about the middle adds h + d to the zone; σ of place 0.02 each way."""
    sigma, half = 0.02, 0.03
    shop = block.quiet_shop(bored_position=Band3(sigma, sigma, sigma, "test"))
    size = ToleranceAsk("pivot bore", "size", 2 * half, (), False)
    h = block.hold(zone=0.06, material="maximum")
    h = replace(h, tolerances=(*h.tolerances, size))
    p, *_ = prove(h, None, None, block.job(), shop)
    d = np.linspace(-half, half, 4001)
    weight = stats.norm.pdf(d, scale=half / 3)
    tail = stats.norm.sf(3)  # sizes outside are held to the limits
    inside = 1 - np.exp(-(((0.06 + half + d) / 2 / sigma) ** 2) / 2)
    truth = np.trapezoid(weight * inside, d) + tail * (inside[0] + inside[-1])
    assert p.value is not None
    assert near(p.value, float(truth), PARTS)
    plain, *_ = prove(block.hold(zone=0.06), None, None, block.job(), shop)
    assert plain.value is not None
    assert plain.value < p.value


def test_crooked_datum_wall_takes_the_part_along_and_the_datum_with_it() -> None:
    """A crooked datum wall lies on the jaw: what is made at a distance from the jaw is right to it."""
    h = replace(block.hold(), tolerances=(ToleranceAsk("pivot bore", "distance", 0.06, ("B",), False),))
    p, *_ = prove(h, None, None, block.job(wall_form=0.05), block.quiet_shop())
    assert number(p, "99.73 % of parts within") == pytest.approx(0.0, abs=1e-6)


def test_crooked_stop_wall_by_hand() -> None:
    """The stop touches the middle of the wall, the datum its high end: half their difference apart."""
    h = replace(block.hold(), tolerances=(ToleranceAsk("pivot bore", "distance", 0.06, ("C",), False),))
    p, *_ = prove(h, None, None, block.job(wall_form=0.03), block.quiet_shop())
    assert number(p, "99.73 % of parts within") == pytest.approx(0.0, abs=0.0301)
    assert number(p, "spread by sampling, one sigma") > 0.001


def test_plain_distance_has_a_capability_index() -> None:
    shop = block.quiet_shop(bored_position=Band3(0.01, 0.01, 0.01, "test"))
    h = replace(block.hold(), tolerances=(ToleranceAsk("pivot bore", "distance", 0.06, ("B",), False),))
    p, *_ = prove(h, None, None, block.job(), shop)
    assert number(p, "Cpk") == pytest.approx(1.0, abs=0.02)
    assert p.value is not None
    assert near(p.value, 0.9973, PARTS)


def test_heat_moves_the_feature_by_its_distance_from_the_locators() -> None:
    """6061 grows 23.6e-6/K: 40 mm from the stop and 12 mm from the wall, ± 5 K."""
    shop = block.quiet_shop(temperature_swing=Band3(5.0, 5.0, 5.0, "test"))
    p, *_ = prove(block.hold(), None, None, block.job(), shop)
    reach = 2 * 23.6e-6 * 5 * math.hypot(40, 12) * 0.9973
    assert number(p, "99.73 % of parts within") == pytest.approx(reach, rel=0.01)


def test_lift_of_the_floating_jaw_leans_the_bore() -> None:
    lift = Band3(0.02, 0.02, 0.02, "test")
    h = block.hold()
    h = replace(
        h,
        vise=replace(h.vise, lift=lift),
        tolerances=(
            ToleranceAsk("pivot bore", "perpendicularity", 0.05, ("A",), True),
            ToleranceAsk("back face", "parallelism", 0.05, ("A",), False),
        ),
    )
    bore, face, *_ = prove(h, None, None, block.job(), block.quiet_shop())
    assert number(bore, "99.73 % of parts within") == pytest.approx(0.9973 * 0.02 / 30 * 12, rel=0.01)
    y = [q[1] for q in samples.hold().features[0].region.outer.points(0.5)]  # type: ignore[union-attr]
    reach = 0.9973 * 0.02 / 30 * (max(y) - min(y))
    assert number(face, "99.73 % of parts within") == pytest.approx(reach, rel=0.1)


@pytest.mark.parametrize(
    ("out", "end", "heights"),
    [
        (0.0, "top", (12.0, 12.0)),
        (20.0, "top", (32.0, 20.0)),
        (20.0, "bottom", (20.0, 20.0)),
        (20.0, "either", (32.0, 20.0)),
    ],
)
def test_a_projected_zone_is_judged_where_it_stands_out(
    out: float, end: str, heights: tuple[float, float]
) -> None:
    """By hand: a lean of 0.02/30 moves the axis by that much times the height over datum A.

    A zone that stands 20 mm out of the top of a hole 12 mm deep ends at 32 mm; one out of the bottom at
    -20 mm. Perpendicularity counts over the length of the zone alone.
    """
    h = block.hold()
    place = ToleranceAsk("pivot bore", "position", 0.05, ("A", "B", "C"), True, projected=out, from_end=end)  # type: ignore[arg-type]
    upright = replace(place, kind="perpendicularity", datums=("A",))
    lift = Band3(0.02, 0.02, 0.02, "test")
    h = replace(h, vise=replace(h.vise, lift=lift), tolerances=(place, upright))
    first, second, *_ = prove(h, None, None, block.job(profile=0.0), block.quiet_shop())
    lean = 0.9973 * 0.02 / 30
    assert number(first, "99.73 % of parts within") == pytest.approx(2 * lean * heights[0], rel=0.01)
    assert number(second, "99.73 % of parts within") == pytest.approx(lean * heights[1], rel=0.01)
    assert (" projected 20" in first.sentence) == (out > 0)


def test_a_zone_that_begins_off_the_part_is_judged_from_there() -> None:
    far = ToleranceAsk("pivot bore", "position", 0.05, ("A", "B", "C"), True, projected=20.0, beyond=5.0)
    h = replace(block.hold(), tolerances=(far,))
    h = replace(h, vise=replace(h.vise, lift=Band3(0.02, 0.02, 0.02, "test")))
    p, *_ = prove(h, None, None, block.job(profile=0.0), block.quiet_shop())
    assert number(p, "99.73 % of parts within") == pytest.approx(2 * 0.9973 * 0.02 / 30 * 37, rel=0.01)


def test_no_tolerance_is_unknown_and_says_what_to_give() -> None:
    p, *_ = prove(replace(block.hold(), tolerances=()), None, None, block.job(), block.quiet_shop())
    assert p.verdict == "unknown"
    assert p.value is None
    assert "zone and datums" in p.supply[0]
    assert p.sentence.startswith("No tolerance was given")
    size = ToleranceAsk("pivot bore", "size", 0.1, (), False)
    p, *_ = prove(replace(block.hold(), tolerances=(size,)), None, None, block.job(), block.quiet_shop())
    assert p.verdict == "unknown" and p.sentence.startswith("Only sizes were given (pivot bore)")
    assert "the general tolerance, such as" in p.supply[1]
    given = replace(block.job(), general=GeneralTolerances("m", ()))
    p, *_ = prove(replace(block.hold(), tolerances=()), None, None, given, block.quiet_shop())
    assert p.supply[1].startswith("or datums")


@pytest.mark.parametrize(
    ("tolerance", "words"),
    [
        (ToleranceAsk("pivot bore", "position", 0.1, ("A", "D"), True), "datum D"),
        (ToleranceAsk("ghost", "position", 0.1, ("A",), True), "ghost"),
        (ToleranceAsk("back face", "flatness", 0.02, (), False), "flatness"),
        (ToleranceAsk("pivot bore", "position", 0.1, (), True), "datum"),
        (ToleranceAsk("back face", "position", 0.1, ("A",), False), "not understood"),
        (
            ToleranceAsk(
                "pivot bore", "position", 0.1, ("A", "B", "C"), True, unread="no height of its zone"
            ),
            "no height of its zone",
        ),
    ],
)
def test_what_cannot_be_judged_is_unknown(tolerance: ToleranceAsk, words: str) -> None:
    h = replace(block.hold(), tolerances=(tolerance,))
    p, *_ = prove(h, None, None, block.job(), block.quiet_shop())
    assert p.verdict == "unknown"
    assert words in p.sentence
    assert p.supply


def test_part_that_slides_has_no_place() -> None:
    p, *_ = prove(block.hold(stop=False), None, None, block.job(), block.quiet_shop())
    assert p.verdict == "fail"
    assert "slides along X" in p.sentence
    assert quick_yield(block.hold(stop=False), None, block.job(), block.quiet_shop()) == 0.0


def test_quick_yield_ranks_like_the_population() -> None:
    shop = block.quiet_shop(bored_position=Band3(0.01, 0.01, 0.01, "test"))
    for zone in (0.03, 0.05, 0.08):
        quick = quick_yield(block.hold(zone=zone), None, block.job(), shop)
        assert quick == pytest.approx(disc_share(0.01, 0.01, zone / 2), abs=0.03)
    assert quick_yield(replace(block.hold(), tolerances=()), None, block.job(), shop) is None


def test_same_inputs_same_answer_and_shares_add_up() -> None:
    a = prove(samples.hold(), samples.jaws(), None, pawl_job(), samples.shop())
    b = prove(samples.hold(), samples.jaws(), None, pawl_job(), samples.shop())
    assert a == b
    total = sum(v for n, v, _ in a[0].detail if n.startswith("share of"))
    assert total == pytest.approx(1.0, abs=0.01)
    assert any("test value" in t for t in a[0].assumptions)


def test_sensitivities_and_sampling_agree_where_contacts_do_not_change() -> None:
    shop = replace(samples.shop(), drilled_position=block.NONE)
    p, *_ = prove(block.hold(), None, None, block.job(wall_form=0.002), shop)
    by_sample = number(p, "spread by sampling, one sigma")
    assert number(p, "spread by sensitivities, one sigma") == pytest.approx(by_sample, rel=0.02)


def test_parts_that_do_not_go_in_count_as_bad() -> None:
    """Two stops facing each other: every part bigger than nominal is lost."""
    h = block.hold()
    c = next(q for q in h.contacts if q.on == "stop")
    other = replace(c, name="C2", point=(30.0, -15.0, 46.75), normal=(-1.0, 0.0, 0.0), face=4)
    p, *_ = prove(replace(h, contacts=(*h.contacts, other)), None, None, block.job(), block.quiet_shop())
    assert p.verdict == "fail"
    assert p.value is not None
    assert near(p.value, 0.5, PARTS)
    assert all(math.isfinite(v) for _, v, _ in p.detail)
