"""Datums that are axes or middle planes: outside cylinders in a V, widths, datums that count as one."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest
import sample_block as block
from scipy import stats

from jawright.geometry.curve import Line
from jawright.geometry.profile import Profile, Region, circle
from jawright.hold.model import Contact, DatumUse, Hold
from jawright.job.model import DatumPick, Job, Pick, ToleranceAsk
from jawright.proof.datums import Common, build, joined
from jawright.proof.deviations import resolve
from jawright.proof.locates import PARTS, prove
from jawright.proof.model import Proof
from jawright.proof.places import lie
from jawright.proof.population import scene
from jawright.shop.model import Band3

R = 15.0
HALF = 0.06  # of the profile zone: the disc's radius varies by ± half of it
SIGMA = 0.02
NOISY = {"bored_position": Band3(SIGMA, SIGMA, SIGMA, "test")}


def near(share: float, truth: float, count: int = PARTS) -> bool:
    return abs(share - truth) <= 3 * math.sqrt(truth * (1 - truth) / count) + 1e-9


def number(p: Proof, name: str) -> float:
    return next(v for n, v, _ in p.detail if n == name)


def in_a_v(half: float, *, datums: tuple[str, ...] = ("A", "D"), boundary: tuple[str, ...] = ()) -> Hold:
    """A disc in a V of that half angle in the fixed jaw, a bore at its middle measured from the round D."""
    base = block.hold(zone=0.1)
    away = math.pi / 2 - half
    contacts = []
    up = math.pi / 2
    for name, on, a in (("L1", "fixed", up - away), ("L2", "fixed", up + away), ("G1", "floating", -up)):
        p = (R * math.cos(a), -R + R * math.sin(a), 46.75)
        n = (-math.cos(a), -math.sin(a), 0.0)
        contacts.append(Contact(name, on, p, n, 0.0, 8.0, 5, on == "fixed", R, R))  # type: ignore[arg-type]
    outline = Region(circle((0.0, -R), R))
    bore = replace(base.features[1], center=(0.0, -R, 55.5))
    d = DatumUse("D", "round", (5,), (0.0, -R, 49.5), (0.0, 0.0, 1.0), "fixed", "round")
    ask = ToleranceAsk("pivot bore", "position", 0.1, datums, True, boundary=boundary)
    return replace(
        base,
        contacts=(*contacts, *(c for c in base.contacts if c.on == "floor")),
        outline=outline,
        face_of_curve=(5,) * len(outline.outer.curves),
        features=(base.features[0], bore),
        datums=(base.datums[0], d),
        tolerances=(ask,),
        stop=None,
    )


def job_with_size(size: float | None) -> Job:
    pick = DatumPick("D", Pick((0.0, 0.0, 0.0), "datum D"), size)
    return replace(block.job(profile=2 * HALF), datums=(pick,))


def growth() -> stats.rv_continuous:
    return stats.truncnorm(-3, 3, scale=HALF / 3)


@pytest.mark.parametrize("degrees", [30.0, 45.0, 60.0])
@pytest.mark.parametrize("datums", [("A", "D"), ("D",), ("D", "A")])
def test_a_disc_in_a_v_moves_by_its_radius_over_the_sine(degrees: float, datums: tuple[str, ...]) -> None:
    """The center of a round in a V moves by dR / sin(half angle): the V block of every fixture book."""
    half = math.radians(degrees)
    p, *_ = prove(in_a_v(half, datums=datums), None, None, job_with_size(None), block.quiet_shop())
    assert number(p, "slope on size as held") == pytest.approx(
        1 / (2 * math.sin(half)), rel=1e-3
    )  # per diameter
    truth = 2 * growth().cdf(0.05 * math.sin(half)) - 1
    assert p.value is not None and near(p.value, float(truth))
    assert number(p, "spread by sensitivities, one sigma") == pytest.approx(
        growth().std() / math.sin(half), rel=1e-3
    )


def test_a_round_at_its_boundary_shifts_by_what_it_is_small() -> None:
    """Ring of the largest diameter: a disc smaller by s may move by s / 2, its own s."""
    half, size = math.radians(60.0), 0.16
    hold = in_a_v(half, boundary=("D",))
    p, *_ = prove(hold, None, None, job_with_size(size), block.quiet_shop())
    g = np.linspace(-HALF, HALF, 24001)
    play = np.maximum(size / 2 - 2 * g, 0.0) / 2
    good = np.abs(g) / math.sin(half) - play <= 0.05
    truth = float(np.trapezoid(growth().pdf(g) * good, g))
    assert 0.9 < truth < 0.999
    assert p.value is not None and near(p.value, truth)
    assert "D shifts by" in " ".join(p.assumptions)
    q, *_ = prove(hold, None, None, job_with_size(None), block.quiet_shop())
    assert q.value is not None and q.value < p.value
    assert "size tolerance of datum D is not given" in " ".join(q.assumptions)


def test_a_boss_that_nothing_here_touches_lies_where_the_first_side_left_it() -> None:
    """Its place and the bore's vary alike and by themselves: √2 σ, Rayleigh."""
    h = block.hold(zone=0.1)
    d = DatumUse("D", "round", (77,), (-10.0, -15.0, 49.5), (0.0, 0.0, 1.0), "free", "round")
    for order in (("D", "B"), ("A", "D", "B")):
        ask = ToleranceAsk("pivot bore", "position", 0.1, order, True)
        held = replace(h, datums=(*h.datums, d), tolerances=(ask,))
        p, *_ = prove(held, None, None, block.job(profile=0.0), block.quiet_shop(**NOISY))
        assert p.value is not None and near(p.value, 1 - math.exp(-(0.05**2) / 2 / (2 * SIGMA**2)))


def test_run_out_to_a_round_is_twice_the_eccentricity() -> None:
    hold = in_a_v(math.radians(45.0), datums=("D",))
    ask = ToleranceAsk("pivot bore", "circular run-out", 0.1, ("D",), False)
    p, *_ = prove(replace(hold, tolerances=(ask,)), None, None, job_with_size(None), block.quiet_shop())
    truth = 2 * growth().cdf(0.05 * math.sin(math.radians(45.0))) - 1
    assert p.value is not None and near(p.value, float(truth))


def widths(seat: str = "fixed") -> DatumUse:
    return DatumUse("W", "width", (1, 3), (0.0, -15.0, 49.5), (0.0, 1.0, 0.0), seat, "middle")  # type: ignore[arg-type]


def test_the_middle_of_a_width_moves_by_half_of_it() -> None:
    """Located on one wall, the middle is off by half the width's deviation: by the growth of one wall."""
    h = block.hold()
    ask = ToleranceAsk("pivot bore", "position", 0.05, ("A", "W"), False, along="W")
    held = replace(h, datums=(*h.datums, widths()), tolerances=(ask,))
    p, *_ = prove(held, None, None, block.job(profile=2 * HALF), block.quiet_shop())
    assert number(p, "slope on size as held") == pytest.approx(0.5, rel=1e-3)
    assert p.value is not None and near(p.value, float(2 * growth().cdf(0.025) - 1))
    assert number(p, "yield if self-centering") == 1.0


def test_the_middle_of_two_crooked_walls_by_hand() -> None:
    """Walls out by 0.02 and 0.04 at one end, true at the other: the middle turns by half the difference."""
    h = block.hold()
    ask = resolve(
        h_with := replace(h, datums=(*h.datums, widths())),
        ToleranceAsk("pivot bore", "position", 0.1, ("A", "W"), False),
    )
    s = scene(h_with, block.job(), block.quiet_shop())
    sample = np.zeros((1, len(s.sources)))
    right = {1: 0.02, 3: 0.04}
    for face, out in right.items():
        wall = s.walls[face]
        k = 0 if wall.a[0] > 0 else 1
        sample[0, wall.columns[k]] = out
    frame = build(s, sample, ask.datums, None, made={"W": _lies(s, ask.datums[1], sample)})
    assert frame.turn is not None
    assert frame.turn[0] == pytest.approx((0.02 - 0.04) / 2 / 60.0, rel=1e-6)


def _lies(s, d, sample):  # type: ignore[no-untyped-def]
    return lie(s, d, sample, s.seated(sample), None)


def test_a_width_at_its_boundary_shifts_along_its_normal() -> None:
    size = 0.3
    h = block.hold()
    ask = ToleranceAsk("pivot bore", "position", 0.05, ("A", "B", "W"), True, boundary=("W",))
    turned = replace(widths("stop"), faces=(2, 4), point=(0.0, -15.0, 49.5), normal=(-1.0, 0.0, 0.0))
    held = replace(h, datums=(*h.datums, turned), tolerances=(ask,))
    job = replace(
        block.job(profile=2 * HALF), datums=(DatumPick("W", Pick((0.0, 0.0, 0.0), "datum W"), size),)
    )
    p, *_ = prove(held, None, None, job, block.quiet_shop())
    g = np.linspace(-HALF, HALF, 24001)
    good = np.abs(g) - np.maximum(size / 2 - 2 * g, 0.0) / 2 <= 0.025
    truth = float(np.trapezoid(growth().pdf(g) * good, g))
    assert p.value is not None and near(p.value, truth)


def test_coaxial_bores_as_one_datum_share_their_middle() -> None:
    """The axis midway between two of σ each is off by σ / √2; with the bore's own: √1.5 σ."""
    h = block.hold(zone=0.1)
    two = tuple(
        DatumUse(x, "bore", (k,), (-10.0, -15.0, z), (0.0, 0.0, 1.0), "free", "bore")
        for x, k, z in (("D", 77, 44.0), ("E", 78, 54.0))
    )
    ask = ToleranceAsk("pivot bore", "position", 0.1, ("A", "D-E", "B"), True)
    held = replace(h, datums=(*h.datums, *two), tolerances=(ask,))
    p, *_ = prove(held, None, None, block.job(profile=0.0), block.quiet_shop(**NOISY))
    assert p.value is not None and near(p.value, 1 - math.exp(-(0.05**2) / 2 / (1.5 * SIGMA**2)))


def test_two_pads_as_one_datum_are_touched_together() -> None:
    """Pads at x = -30 … -5 and 5 … 30, the second one out by 0.03: the plane touches x = -30 and x = 5."""
    h = block.hold()
    pts = [
        (-30.0, -30.0),
        (30.0, -30.0),
        (30.0, 0.0),
        (5.0, 0.0),
        (5.0, -3.0),
        (-5.0, -3.0),
        (-5.0, 0.0),
        (-30.0, 0.0),
    ]
    outline = Region(Profile(tuple(Line(a, b) for a, b in zip(pts, pts[1:] + pts[:1], strict=True))))
    held = replace(h, outline=outline, face_of_curve=(3, 4, 12, 6, 7, 8, 11, 2))
    pads = [
        DatumUse(x, "plane", (k,), (at, 0.0, 49.5), (0.0, 1.0, 0.0), "fixed", "pad")
        for x, k, at in (("P", 11, -17.5), ("Q", 12, 17.5))
    ]
    both = joined("P-Q", pads)
    assert isinstance(both, Common)
    s = scene(held, block.job(), block.quiet_shop())
    sample = np.zeros((1, len(s.sources)))
    sample[0, list(s.walls[12].columns)] = 0.03
    frame = build(s, sample, (both,), None)
    assert frame.turn is not None
    assert frame.turn[0] == pytest.approx(0.03 / 35.0, rel=1e-5)
    # on the plane's own line at the middle: 0.03 · 30 / 35 over nominal
    _, place, actual = frame.planes[0]
    assert place == 0.0
    assert actual[0] == pytest.approx(0.03 * 30.0 / 35.0, rel=1e-3)


@pytest.mark.parametrize(
    ("datum", "words"),
    [
        (DatumUse("D", "round", (77,), (0.0, -15.0, 49.5), (1.0, 0.0, 0.0), "free", "round"), "upright"),
        (DatumUse("D", "bore", (77,), (0.0, -15.0, 49.5), (0.0, 1.0, 0.0), "free", "bore"), "upright"),
        (DatumUse("D", "width", (77, 78), (0.0, -15.0, 49.5), (0.0, 0.0, 1.0), "free", "middle"), "upright"),
        (DatumUse("D", "other", (77,), (0.0, -15.0, 49.5), (0.0, 0.0, 1.0), "free", "cone"), "cylinder"),
    ],
)
def test_what_no_frame_can_be_built_on_is_unknown(datum: DatumUse, words: str) -> None:
    h = block.hold()
    ask = ToleranceAsk("pivot bore", "position", 0.1, ("A", "D"), True)
    p, *_ = prove(
        replace(h, datums=(*h.datums, datum), tolerances=(ask,)), None, None, block.job(), block.quiet_shop()
    )
    assert p.verdict == "unknown" and words in p.sentence


def test_a_missing_member_of_a_common_datum_is_named() -> None:
    h = block.hold()
    ask = ToleranceAsk("pivot bore", "position", 0.1, ("A", "B-Z"), True)
    got = resolve(replace(h, tolerances=(ask,)), ask)
    assert got.refused == "datum Z is not known"
    sides = ToleranceAsk("pivot bore", "position", 0.1, ("A", "B-C"), True)
    assert "do not face the same way" in resolve(replace(h, tolerances=(sides,)), sides).refused
