"""Rivals by closed form, all tolerances at once, bores as datums, and the scatter picture's points."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest
import sample_block as block
from scipy import stats

from jawright.hold.model import DatumUse, Hold
from jawright.job.model import ToleranceAsk
from jawright.papers.scatter_view import _nice
from jawright.proof import together
from jawright.proof.deviations import resolve
from jawright.proof.gives import Gives
from jawright.proof.locates import prove, study
from jawright.proof.model import Proof
from jawright.proof.population import FEW, sprung
from jawright.proof.rivals import other_stop
from jawright.proof.scatter import scatter
from jawright.shop.model import Band3


def number(p: Proof, name: str) -> float:
    return next(v for n, v, _ in p.detail if n == name)


def near(share: float, truth: float, count: int) -> bool:
    return abs(share - truth) <= 3 * math.sqrt(truth * (1 - truth) / count) + 1e-9


def same(value: float) -> Band3:
    return Band3(value, value, value, "test")


def two_holes(zone: float) -> Hold:
    h = block.hold(zone=zone)
    second = replace(h.features[1], name="second bore", center=(-10.0, -12.0, 55.5))
    asks = tuple(
        ToleranceAsk(n, "position", zone, ("A", "B", "C"), True) for n in ("pivot bore", "second bore")
    )
    return replace(h, features=(*h.features, second), tolerances=asks)


def test_other_end_makes_the_feature_follow_the_length() -> None:
    """Stop at +X, datum C at -X: growth d of the outline puts the bore 2 d off, a diameter of 4 |d|."""
    half, zone = 0.09, 0.1
    p, *_ = prove(block.hold(zone=zone), None, None, block.job(profile=2 * half), block.quiet_shop())
    law = stats.truncnorm(-3, 3, scale=half / 3)
    assert near(number(p, "yield if stopped at the other end"), 2 * law.cdf(zone / 4) - 1, FEW)
    assert number(p, "slope on size if stopped at the other end") == pytest.approx(1.0, abs=1e-3)
    moved = other_stop(block.hold())
    assert moved is not None
    assert moved.stop == pytest.approx((30.0, -15.0, 46.75))
    assert other_stop(block.hold(stop=False)) is None


def test_without_a_stop_the_eye_decides() -> None:
    """Uniform over ± 0.25: a zone of Ø0.1 is met by 0.05 / 0.25 of parts."""
    p, *_ = prove(block.hold(zone=0.1), None, None, block.job(), block.quiet_shop())
    assert near(number(p, "yield if without a stop"), 0.05 / 0.25, FEW)


def test_drilled_in_place_of_bored() -> None:
    """Rayleigh's law with the drill's scatter."""
    shop = block.quiet_shop(bored_position=same(0.005), drilled_position=same(0.02))
    p, *_, other = prove(block.hold(zone=0.06), None, None, block.job(), shop)
    assert near(number(p, "yield if drilled instead of bored"), 1 - math.exp(-((0.03 / 0.02) ** 2) / 2), FEW)
    assert other.name == "held another way"
    assert other.verdict == "pass"
    assert other.sentence.startswith("Leave it located as it is")


def test_better_stance_is_said_with_what_to_do() -> None:
    """The datum is the far wall: located on the floating jaw the bore keeps its distance from it."""
    far = DatumUse("E", "plane", (3,), (0.0, -30.0, 49.5), (0.0, -1.0, 0.0), "floating", "plane")
    h = block.hold()
    h = replace(
        h, datums=(*h.datums, far), tolerances=(ToleranceAsk("pivot bore", "distance", 0.08, ("E",), False),)
    )
    *_, other = prove(h, None, None, block.job(profile=0.2), block.quiet_shop())
    assert other.verdict == "caution"
    assert other.sentence.startswith("Better located on the floating jaw: 100.00 %")


def test_holes_that_share_one_pose_fail_together() -> None:
    """Only the pick-up varies: both holes are off by the same, so the joint yield is that of one."""
    shop = block.quiet_shop(offset_pickup=same(0.01))
    first, second, joint, _ = prove(two_holes(0.05), None, None, block.job(), shop)
    assert joint.name == "all tolerances together"
    assert first.value is not None
    assert joint.value == pytest.approx(first.value, abs=1e-9)
    assert number(joint, "yields multiplied one by one") == pytest.approx(first.value**2, abs=1e-4)
    assert joint.value - first.value * (second.value or 0.0) > 0.03  # what the product is off by
    assert "multiplied one by one" in joint.sentence


def test_holes_placed_one_by_one_are_independent() -> None:
    shop = block.quiet_shop(bored_position=same(0.01))
    first, second, joint, _ = prove(two_holes(0.05), None, None, block.job(), shop)
    assert first.value is not None and second.value is not None
    assert joint.value == pytest.approx(first.value * second.value, abs=0.003)


def test_pair_put_back_another_day() -> None:
    """Shift of each bolt σ: across the jaws σ/√2 in the middle, along them σ; no turn at X = 0."""
    sigma, h = 0.01, block.hold()
    middle = replace(h.features[1], center=(0.0, 0.0, 55.5))
    asks = (
        ToleranceAsk("pivot bore", "distance", 0.04, ("B",), False),
        ToleranceAsk("pivot bore", "distance", 0.04, ("C",), False),
    )
    h = replace(h, features=(h.features[0], middle), tolerances=asks, reused=True)
    shop = replace(block.quiet_shop(), jaw_reseat=same(sigma))
    across, along, *_ = prove(h, None, None, block.job(), shop)
    assert number(across, "spread by sampling, one sigma") == pytest.approx(sigma / math.sqrt(2), rel=0.02)
    assert number(along, "spread by sampling, one sigma") == pytest.approx(sigma, rel=0.02)


def bored_datum(faces: tuple[int, ...]) -> DatumUse:
    return DatumUse("D", "bore", faces, (-10.0, -15.0, 49.5), (0.0, 0.0, 1.0), "free", "bore")


def test_earlier_bore_as_datum_has_its_own_scatter() -> None:
    """Position to A|D alone is the distance from D: bore and datum both scatter, σ √2 along the arm."""
    shop = block.quiet_shop(bored_position=same(0.01))
    h = block.hold()
    ask = ToleranceAsk("pivot bore", "distance", 0.1, ("D",), False)
    h = replace(h, datums=(*h.datums, bored_datum((9,))), tolerances=(ask,))
    p, *_ = prove(h, None, None, block.job(profile=0.0), shop)
    assert number(p, "spread by sampling, one sigma") == pytest.approx(0.01 * math.sqrt(2), rel=0.02)
    assert any(n.startswith("share of place of datum D") for n, _, _ in p.detail)


def test_bore_made_in_this_seat_shares_its_pick_up() -> None:
    """Datum D is bored in the same clamping: pick-up and clamping move both alike and cancel."""
    shop = block.quiet_shop(offset_pickup=same(0.02))
    h = block.hold()
    here = replace(h.features[1], name="datum bore", center=(-10.0, -15.0, 55.5), faces=(9,))
    ask = ToleranceAsk("pivot bore", "position", 0.02, ("A", "D", "B"), True)
    h = replace(h, features=(*h.features, here), datums=(*h.datums, bored_datum((9,))), tolerances=(ask,))
    p, *_ = prove(h, None, None, block.job(), shop)
    assert number(p, "99.73 % of parts within") == pytest.approx(0.0, abs=1e-9)


def test_clouds_tell_the_locating_side() -> None:
    """Slopes 0, 1 and ½, as least squares over every part finds them."""
    args = (
        block.hold(zone=0.1),
        None,
        None,
        block.job(profile=0.18),
        block.quiet_shop(bored_position=same(0.004)),
    )
    (s,) = scatter(*args)
    slope = {c.held: c.slope for c in s.clouds}
    assert s.clouds[0].held == "as held"
    assert slope["as held"] == pytest.approx(0.0, abs=0.01)
    assert slope["located on the floating jaw"] == pytest.approx(1.0, abs=0.01)
    assert slope["self-centering"] == pytest.approx(0.5, abs=0.01)
    assert s.half_zone == 0.05
    for c in s.clouds:
        assert 0 < len(c.points) <= 200
        assert np.isfinite(c.points).all()
    assert [_nice(v) for v in (0.001, 0.499, 1.003, 1.12)] == ["0", "½", "1", "1.12"]
    assert scatter(replace(block.hold(), tolerances=()), *args[1:]) == ()
    assert study(*args).lost is False


def test_a_spring_that_a_first_article_takes_out_is_no_reason_for_another_vise() -> None:
    """The part's spring moves the bore by 0.06 as held and by half of that in a vise whose jaws both close:
    the zone of 0.1 fails and passes. Corrected by its mean both are good, so nothing better is on offer."""
    h = block.hold(zone=0.1)
    run = study(h, None, None, block.job(profile=0.0), block.quiet_shop())
    _, y0, _, y1 = h.outline.outer.box
    give = Gives(
        (5000.0,) * 3, 0.05, {"pivot bore": (0.0, -0.06 / 5000.0)}, 0.06 / 5000.0, y1, y1 - y0, "test"
    )
    for key in list(run.all):
        here = run.ways[key].against if key in run.ways else 0.0
        run.all[key] = sprung(run.all[key], replace(give, against=here), "set", "x")
    asks = [resolve(h, t) for t in h.tolerances]
    p = together.another_way(run.masks(asks), run.ways, run.corrected(asks))
    assert p.value == 0.0
    assert number(p, "good if self-centering") == 1.0
    assert p.sentence.startswith(together.LEAVE) and "first article" in p.sentence
    assert "100.00 %" in p.sentence
    # a rival that is still better with the mean taken out is named as before
    q = together.another_way(run.masks(asks), run.ways, lambda key: 1.0 if key != "set" else 0.5)
    assert q.sentence.startswith("Better ") and q.verdict == "caution"
