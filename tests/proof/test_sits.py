"""Seating proofs: each verdict shown by a hold made to deserve it."""

from __future__ import annotations

import math
from dataclasses import replace

import pytest
import sample_block as block
from scipy import stats

import samples
from jawright.geometry.profile import Region, circle
from jawright.hold.model import Contact, Hold, MadeFeature
from jawright.job.model import Given, ToleranceAsk
from jawright.proof import homing
from jawright.proof.model import Proof
from jawright.proof.population import scene
from jawright.proof.sits import prove
from jawright.shop.model import Band3


def by_name(hold, jaws=None, job=None, shop=None) -> dict[str, Proof]:  # type: ignore[no-untyped-def]
    found = prove(hold, jaws, None, job or block.job(), shop or block.quiet_shop())
    assert all(p.question == "sits" for p in found)
    assert len({p.name for p in found}) == len(found)
    for p in found:
        assert (p.value is None) == (p.verdict == "unknown")
        assert p.verdict != "unknown" or p.supply
    return {p.name: p for p in found}


def test_block_in_its_pocket_sits() -> None:
    p = by_name(block.hold(), block.jaws())
    assert p["located"].verdict == "pass"
    assert p["flush on the locators"].verdict == "pass"
    assert p["flush on the locators"].value == pytest.approx(0.0, abs=1e-9)
    assert p["floor under the part"].verdict == "pass"
    assert p["fits the pocket"].verdict == "pass"


def test_without_a_stop_it_slides_and_is_told_to_get_one() -> None:
    p = by_name(block.hold(stop=False))
    assert p["located"].verdict == "fail"
    assert "slides along X" in p["located"].sentence
    assert "Add a stop" in p["located"].sentence
    assert p["located"].value == 2
    assert "flush on the locators" not in p


def test_where_no_stop_can_touch_the_reason_is_told_and_none_is_asked_for() -> None:
    why = "only 2.0 mm of the part stands above the jaws and 2.0 mm is between them: no room for a stop"
    p = by_name(replace(block.hold(stop=False), no_stop=why))
    assert p["located"].verdict == "fail"
    assert why in p["located"].sentence and "Add a stop" not in p["located"].sentence


def test_one_locator_on_the_fixed_jaw_turns() -> None:
    h = block.hold()
    one = tuple(c for c in h.contacts if c.name not in ("B2", "G1", "G2"))
    mid = Contact("G1", "floating", (-28.0, -30.0, 46.75), (0.0, 1.0, 0.0), 0.0, 30.0, 3, False)
    p = by_name(replace(h, contacts=(*one, mid)))
    assert p["located"].verdict == "fail"
    assert "turns about" in p["located"].sentence


def test_no_contacts_is_unknown() -> None:
    p = by_name(replace(block.hold(), contacts=()))
    assert p["located"].verdict == "unknown"


def test_two_walls_that_fight_are_found() -> None:
    """Two stops facing each other: bigger parts do not go in between."""
    h = block.hold()
    other = Contact("C2", "stop", (30.0, -15.0, 46.75), (-1.0, 0.0, 0.0), 0.0, 10.0, 4, True)
    p = by_name(replace(h, contacts=(*h.contacts, other)), job=block.job(profile=0.2))
    assert p["flush on the locators"].verdict == "fail"


def test_range_of_sizes_by_hand() -> None:
    """Clear wall 0.2: parts up to 0.2 a side bigger; jaws keep 1.5 of 6 mm, so they close on 4.5 less."""
    p = by_name(block.hold(), block.jaws(allowance=0.2), block.job(profile=0.3))["range of incoming sizes"]
    numbers = {n: v for n, v, _ in p.detail}
    assert numbers["largest width taken"] == pytest.approx(30.4, abs=0.005)
    assert numbers["smallest width taken"] == pytest.approx(30.0 - 4.5, abs=0.005)
    assert p.verdict == "pass" and numbers["share of parts outside"] == 0.0
    accepted = numbers["smallest width accepted"], numbers["largest width accepted"]
    assert accepted == pytest.approx((29.7, 30.3)), "what the print lets in, and not what could be squeezed"
    assert "29.700 to 30.300 mm, and 0.096 mm more or over 0.600 mm less" in p.sentence
    tight = by_name(block.hold(), block.jaws(allowance=0.1), block.job(profile=0.3))
    assert tight["range of incoming sizes"].verdict == "caution"
    closed = by_name(replace(block.hold(), gap=1.6), block.jaws(), block.job(profile=0.3))
    small = {n: v for n, v, _ in closed["range of incoming sizes"].detail}["smallest width taken"]
    assert small == pytest.approx(30 - 0.1, abs=0.005)  # 2 × 0.05 of closing is all that is left


def test_parts_that_come_in_outside_of_the_range_are_counted() -> None:
    """Clear wall 0.2 of a normal cut at ± 0.4, 3 σ: those over 1.5 σ. Measured ones of 0.5 do not go in."""
    p = by_name(block.hold(), block.jaws(allowance=0.2), block.job(profile=0.8))["range of incoming sizes"]
    outside = {n: v for n, v, _ in p.detail}["share of parts outside"]
    assert outside == pytest.approx(stats.norm.sf(1.5), abs=0.006)
    assert p.verdict == "caution" and "sort them out" in p.sentence
    job = block.job()
    given = Given(0.5, "test", "measured", tuple(0.5 + 0.001 * k for k in range(10)))
    job = replace(job, incoming=replace(job.incoming, profile=given))
    q = by_name(block.hold(), block.jaws(allowance=0.2), job)["range of incoming sizes"]
    assert q.verdict == "fail" and "100.0 %" in q.sentence
    assert "31.000" in q.sentence and "31.018" in q.sentence


def test_flat_block_off_the_stop_needs_a_push() -> None:
    p = by_name(block.hold())["goes home by itself"]
    assert p.verdict == "caution"
    assert "to the stop" in p.sentence
    assert 0 < (p.value or 0) < 1


def nest() -> Hold:
    """A disc between a V of two fixed walls and a floating wall: closing alone sends it home."""
    base = block.hold()
    r, z = 15.0, 46.75
    walls = [("L1", "fixed", 45.0), ("L2", "fixed", 135.0), ("G1", "floating", 270.0)]
    contacts = []
    for name, on, deg in walls:
        x, y = math.cos(math.radians(deg)), math.sin(math.radians(deg))
        place = (r * x, -15.0 + r * y, z)
        contacts.append(
            Contact(name, on, place, (-x, -y, 0.0), 0.0, 10.0, 1, on == "fixed", r, 0.0)  # type: ignore[arg-type]
        )
    return replace(base, contacts=tuple(contacts), outline=Region(circle((0.0, -15.0), r)), stop=None)


def test_push_is_asked_for_exactly_where_the_part_does_not_go_home() -> None:
    """A flat block starts off its stop and stays there; a disc in a V slides home from every start."""
    shop = block.quiet_shop()
    flat = homing.region(block.hold(), block.job(), shop)
    assert flat is not None and flat.advice == "push back and to the stop while closing"
    assert {q.end for q in flat.starts if q.offset == 0.0 and q.turn == 0.0} == {"home"}
    assert {q.end for q in flat.starts if q.offset > 0.0 and q.turn == 0.0} == {"wedges"}
    s = scene(nest(), block.job(), shop)
    low = homing.study(s, replace(shop, friction=Band3(0.05, 0.1, 0.15, "test")))
    assert low.advice == "" and low.share == 1.0
    rough = homing.study(s, replace(shop, friction=Band3(1.2, 1.3, 1.4, "test")))
    assert rough.advice != "" and rough.share < 1.0


def test_chip_at_a_wall_names_what_goes_first() -> None:
    """0.1 under B1, 56 apart from B2: the bore at x = 10, 18 from B2, is lifted 0.1 · 18/56 = 0.032."""
    p = by_name(block.hold(zone=0.05))["chip at a wall"]
    assert p.verdict == "caution" and "breaks pivot bore: position" in p.sentence
    alone = replace(block.hold(), tolerances=(ToleranceAsk("pivot bore", "distance", 1.0, ("B",), False),))
    q = by_name(alone)["chip at a wall"]
    # From B itself the frame turns with the part: the chip lifts and turns it, B stays the datum.
    assert q.verdict == "pass" and 0.0 < (q.value or 0.0) < 1.0
    size = ToleranceAsk("pivot bore", "size", 0.04, (), False)
    zero = ToleranceAsk("pivot bore", "position", 0.0, ("A", "B", "C"), True, "maximum")
    found = by_name(replace(block.hold(), tolerances=(zero, size)))
    assert found["chip under the part"].value is not None and found["chip at a wall"].value is not None


@pytest.mark.parametrize(
    ("corner", "edge", "verdict", "up"),
    [(0.0, 0.0, "pass", 0.0), (1.0, 0.3, "fail", 0.7), (1.0, 1.0, "pass", 0.0), (0.5, 0.0, "fail", 0.5)],
)
def test_root_of_wall_and_floor(corner: float, edge: float, verdict: str, up: float) -> None:
    shop = block.quiet_shop()
    cut = tuple(replace(c, corner_radius=corner) if c.id == "EM10" else c for c in shop.cutters)
    p = by_name(block.hold(), block.jaws(), block.job(edge_break=edge), replace(shop, cutters=cut))
    assert p["root of wall and floor"].verdict == verdict
    assert p["root of wall and floor"].value == pytest.approx(up, abs=1e-9)


@pytest.mark.parametrize("shape", ["", "uniform"])
def test_edge_breaks_vary_from_part_to_part(shape: str) -> None:
    """A corner of 0.4 over breaks from 0.2 to 0.5: lift 0.4 - c by hand, shares by the law's own CDF."""
    shop = block.quiet_shop()
    cut = tuple(replace(c, corner_radius=0.4) if c.id == "EM10" else c for c in shop.cutters)
    j = block.job(edge_break=0.2)
    i = replace(
        j.incoming,
        edge_break=Given(0.2, "job", shape),
        edge_break_most=Given(0.5, "job"),  # type: ignore[arg-type]
    )
    p = by_name(block.hold(), block.jaws(), replace(j, incoming=i), replace(shop, cutters=cut))
    root = p["root of wall and floor"]
    law = stats.uniform(0.2, 0.3) if shape else stats.truncnorm(-3, 3, loc=0.35, scale=0.05)
    detail = {n: v for n, v, _ in root.detail}
    assert detail["share of parts it lifts"] == pytest.approx(law.cdf(0.4 - 0.005), abs=1e-3)
    assert detail["lift of the middle part"] == pytest.approx(0.05, abs=1e-3)
    assert root.low == 0.0 and root.high == pytest.approx(0.2)
    assert root.set == pytest.approx(0.4 - law.ppf(1 - 0.9973), abs=2e-3)
    assert root.verdict == "fail" and "% of parts" in root.sentence


def test_measured_edge_breaks_are_taken_as_they_are() -> None:
    found = (0.3, 0.32, 0.41, 0.44, 0.5, 0.28, 0.35, 0.37, 0.45, 0.52)
    j = block.job(edge_break=0.28)
    i = replace(j.incoming, edge_break=Given(0.28, "job: 10 values", "measured", found))
    shop = block.quiet_shop()
    cut = tuple(replace(c, corner_radius=0.4) if c.id == "EM10" else c for c in shop.cutters)
    root = by_name(block.hold(), block.jaws(), replace(j, incoming=i), replace(shop, cutters=cut))[
        "root of wall and floor"
    ]
    assert {n: v for n, v, _ in root.detail}["share of parts it lifts"] == pytest.approx(0.5)
    assert root.high == pytest.approx(0.12)


@pytest.mark.parametrize("kind", ["roundness", "cylindricity", "flatness", "size"])
def test_a_chip_underneath_leaves_a_feature_s_own_shape(kind: str) -> None:
    """A part tilted as a whole: what is cut round is round. A position beside it is what the chip breaks."""
    own = ToleranceAsk("pivot bore", kind, 0.01, (), False)
    place = ToleranceAsk("pivot bore", "position", 0.1, ("A", "B", "C"), True)
    p = by_name(replace(block.hold(), tolerances=(own, place)))["chip under the part"]
    assert "position" in p.sentence and kind not in p.sentence
    alone = by_name(replace(block.hold(), tolerances=(own,)))["chip under the part"]
    assert "moves its top" in alone.sentence


def test_unknown_cutter_is_unknown() -> None:
    p = by_name(block.hold(), replace(block.jaws(), cutter="lost"))
    assert p["root of wall and floor"].verdict == "unknown"


def test_weight_outside_its_supports_tips() -> None:
    h = block.hold()
    walls = tuple(c for c in h.contacts if c.on != "floor")
    pads = tuple(
        Contact(f"F{i}", "floor", (x, y, 43.5), (0.0, 0.0, 1.0), 0.0, 80.0, 0, True, growth=0.0)
        for i, (x, y) in enumerate([(10, -2), (28, -2), (28, -28)])
    )
    p = by_name(replace(h, contacts=walls + pads))
    assert p["floor under the part"].verdict == "fail"
    # Distance of (0, -15) from the line (10, -2) to (28, -28), by hand.
    d = abs((28 - 10) * (-15 + 2) - (0 - 10) * (-28 + 2)) / (18**2 + 26**2) ** 0.5
    assert p["floor under the part"].value == pytest.approx(-d, abs=1e-9)
    two = by_name(replace(h, contacts=walls + pads[:2]))
    assert two["floor under the part"].verdict == "unknown"
    assert two["chip under the part"].verdict == "unknown"


def test_lift_is_judged_at_its_high_end() -> None:
    h = block.hold()
    for band, verdict in (
        (Band3(0.0, 0.012, 0.025, "t"), "pass"),
        (Band3(0.0, 0.02, 0.04, "t"), "caution"),
        (Band3(0.0, 0.05, 0.08, "t"), "fail"),
    ):
        p = by_name(replace(h, vise=replace(h.vise, lift=band)))["lift of the floating jaw"]
        assert p.verdict == verdict


def test_floating_wall_that_pushes_high_is_named() -> None:
    h = block.hold()
    up = tuple(
        replace(c, point=(*c.point[:2], c.point[2] + 1.0)) if c.on == "floating" else c for c in h.contacts
    )
    p = by_name(replace(h, contacts=up))["lift of the floating jaw"]
    assert p.verdict == "caution"
    assert "1.00 mm above" in p.sentence


def test_chip_names_the_tolerance_that_goes_first() -> None:
    """0.1 over 26 of supports: a bore's mouth 12 up stands 0.046 off, 0.092 as a position."""
    p = by_name(block.hold(zone=0.08))["chip under the part"]
    assert p.value == pytest.approx(2 * 0.1 / 26 * 12, rel=1e-3)
    assert p.verdict == "caution"
    assert "breaks position 0.08 mm of pivot bore" in p.sentence
    wide = by_name(block.hold(zone=0.4))["chip under the part"]
    assert wide.verdict == "pass"
    assert "uses up 23 % of position" in wide.sentence
    both = (
        ToleranceAsk("pivot bore", "position", 0.08, ("A", "B", "C"), True),
        ToleranceAsk("back face", "parallelism", 0.05, ("A",), False),
    )
    face = by_name(replace(block.hold(), tolerances=both))["chip under the part"]
    assert "breaks parallelism 0.05 mm of back face" in face.sentence


def test_sharp_corner_without_relief_is_pinched() -> None:
    """A sharp square corner in a pocket corner of radius 5: walls held 5 (1 - sin 45°) = 1.464 open."""
    rounded = replace(
        block.jaws(), cutter_radius=5.0, pocket=Region(samples.rounded_pocket(-30.0, -30.0, 30.0, 0.0, 5.0))
    )
    corner = by_name(block.hold(), rounded)["corners free"]
    assert corner.verdict == "fail"
    assert corner.value == pytest.approx(5 * (1 - 0.5**0.5), abs=2e-3)  # 2 µm left for chords
    relieved = replace(
        rounded,
        reliefs=tuple(
            replace(samples.jaws().reliefs[0], corner=q) for q in [(-30, 0), (30, 0), (30, -30), (-30, -30)]
        ),
    )
    assert by_name(block.hold(), relieved)["corners free"].verdict == "pass"


def test_part_in_a_wall_is_found() -> None:
    small = replace(block.jaws(), pocket=samples.jaws().pocket)
    assert by_name(block.hold(), small)["fits the pocket"].verdict == "fail"


def disc(*features: MadeFeature) -> Hold:
    """A disc of radius 15 about (0, -15): three rests in a round nest, a stop, three grips."""
    base = block.hold()
    contacts = []
    for name, on, deg in [
        ("L1", "fixed", 45), ("L2", "fixed", 90), ("L3", "fixed", 135), ("S1", "stop", 170),
        ("G1", "floating", 225), ("G2", "floating", 270), ("G3", "floating", 315),
    ]:  # fmt: skip
        a = math.radians(deg)
        p = (15 * math.cos(a), -15 + 15 * math.sin(a), 46.75)
        n = (-math.cos(a), -math.sin(a), 0.0)
        contacts.append(Contact(name, on, p, n, 0.0, 8.0, 5, on != "floating", 15.0, 15.0))  # type: ignore[arg-type]
    floor = tuple(c for c in base.contacts if c.on == "floor")
    outline = Region(circle((0.0, -15.0), 15.0))
    return replace(
        base,
        contacts=(*contacts, *floor),
        outline=outline,
        face_of_curve=(5,) * len(outline.outer.curves),
        features=(base.features[0], *features),
        datums=base.datums[:1],
        tolerances=(),
    )


def test_disc_in_its_nest_only_turns_about_its_own_center() -> None:
    """All bearing walls are about one center: X and Y are taken, and a plain face does not mind the turn."""
    p = by_name(disc())
    assert p["located"].verdict == "caution"
    assert "turns freely about its own center" in p["located"].sentence
    assert p["located"].value == 2
    assert p["flush on the locators"].verdict != "unknown"
    bore = replace(block.hold().features[1], center=(0.0, -15.0, 55.5))
    assert by_name(disc(bore))["located"].verdict == "caution"


def test_disc_with_a_hole_off_its_center_needs_a_set_turn() -> None:
    hole = replace(block.hold().features[1], name="pin hole", center=(8.0, -15.0, 55.5))
    p = by_name(disc(hole))["located"]
    assert p.verdict == "fail"
    assert "pin hole needs a set turn: add a pin" in p.sentence


def test_sentences_speak_the_job_s_unit() -> None:
    found = prove(block.hold(), block.jaws(), None, replace(block.job(), units="inch"), samples.shop())
    for p in found:
        assert " mm" not in p.sentence, p.sentence
        assert not any(" mm" in a for a in p.assumptions if "basis" not in a), p.assumptions
