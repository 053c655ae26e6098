"""What a tolerance means on the features and datums at hand: nonsense refused, bosses, composite frames."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest
import sample_block as block

from jawright.hold.model import DatumUse, Hold, MadeFeature
from jawright.job.model import ToleranceAsk
from jawright.proof import outcome
from jawright.proof.deviations import judge, resolve
from jawright.proof.locates import PARTS, prove
from jawright.proof.outcome import bonus_of
from jawright.proof.population import population, scene
from jawright.proof.setups import made_here
from jawright.shop.model import Band3
from proof.test_patterns import SIGMA, near, noisy, two_holes

D = DatumUse("D", "bore", (77,), (-10.0, -15.0, 49.5), (0.0, 0.0, 1.0), "free", "bore")


def wall(normal: tuple[float, float]) -> MadeFeature:
    """A straight upright wall 20 long, cut here, 6 high."""
    base = block.hold().features[1]
    x, y = 10.0 * -normal[1], 10.0 * normal[0]
    run = ((-x, -15.0 - y, 49.5), (0.0, -15.0, 49.5), (x, -15.0 + y, 49.5))
    return replace(
        base, name="wall", kind="profile", center=(0.0, -15.0, 55.5), bottom=49.5, diameter=None, faces=(60,),
        path=run, through=False,
    )  # fmt: skip


def asked(kind: str, name: str, letters: str, *, h: Hold | None = None, **more: object) -> str:
    """Why a tolerance is refused; the measure in brackets where it is judged."""
    h = h or block.hold()
    h = replace(h, datums=(*h.datums, D), features=(*h.features, wall((0.0, 1.0))))
    got = resolve(h, ToleranceAsk(name, kind, 0.1, tuple(letters), False, **more))  # type: ignore[arg-type]
    assert bool(got.refused) == bool(got.supply) == (got.measure is None)
    return got.refused or f"({got.measure})"


BORE, FACE = block.hold().features[1].name, block.hold().features[0].name


@pytest.mark.parametrize(
    ("kind", "name", "letters", "answer"),
    [
        ("perpendicularity", BORE, "A", "(tilt)"),
        ("parallelism", BORE, "A", "perpendicularity is meant"),
        ("parallelism", BORE, "B", "(upright)"),
        ("perpendicularity", BORE, "B", "parallelism is meant"),
        ("angularity", BORE, "B", "(upright)"),
        ("parallelism", BORE, "D", "(tilt)"),
        ("perpendicularity", BORE, "D", "parallelism is meant"),
        ("parallelism", FACE, "A", "(tilt)"),
        ("perpendicularity", FACE, "A", "parallelism is meant"),
        ("perpendicularity", FACE, "B", "(upright)"),
        ("parallelism", FACE, "B", "perpendicularity is meant"),
        ("perpendicularity", FACE, "D", "(tilt)"),
        ("parallelism", "wall", "B", "(turn)"),
        ("perpendicularity", "wall", "B", "parallelism is meant"),
        ("perpendicularity", "wall", "C", "(turn)"),
        ("perpendicularity", "wall", "A", "(tilt)"),
        ("parallelism", "wall", "A", "perpendicularity is meant"),
        ("profile of a surface", FACE, "B", "no datum of it says how high"),
        ("profile of a surface", FACE, "BA", "(height)"),
        ("distance", BORE, "A", "goes through and has no height"),
        ("position", FACE, "A", "not understood"),
    ],
)
def test_what_cannot_be_meant_is_unknown(kind: str, name: str, letters: str, answer: str) -> None:
    assert answer in asked(kind, name, letters)


def test_a_wall_at_another_angle_asks_for_angularity() -> None:
    h = block.hold()
    slanted = wall((math.sin(0.5), math.cos(0.5)))
    h = replace(h, features=(*h.features, slanted))
    for kind in ("parallelism", "perpendicularity"):
        got = resolve(h, ToleranceAsk("wall", kind, 0.1, ("B",), False))
        assert "angularity is meant" in got.refused
    assert resolve(h, ToleranceAsk("wall", "angularity", 0.1, ("B",), False)).measure == "turn"


def test_a_feature_is_not_measured_from_itself() -> None:
    h = block.hold()
    own = replace(D, faces=h.features[1].faces)
    got = resolve(replace(h, datums=(*h.datums, own)), ToleranceAsk(BORE, "position", 0.1, ("A", "D"), True))
    assert got.measure is None
    assert "itself" in got.refused


def test_a_datum_bore_lies_where_the_last_cut_left_it() -> None:
    """Drilled, then bored: the drill's wander is cut away."""
    h = block.hold()
    bore = h.features[1]
    pilot = replace(bore, name="pilot", kind="drill", diameter=5.0)
    d = replace(D, faces=bore.faces, point=bore.center)
    hole = replace(bore, name="hole", center=(-10.0, -12.0, 55.5), faces=(99,), kind="bore")
    h = replace(h, features=(pilot, bore, hole), datums=(*h.datums, d))
    assert made_here(h, d) is bore
    ask = ToleranceAsk("hole", "position", 0.1, ("A", "D", "B"), True)
    shop = block.quiet_shop(drilled_position=Band3(0.1, 0.1, 0.1, "test"), **noisy())
    p = population(h, block.job(profile=0.0), shop, "set")
    off = judge(resolve(h, ask), p.scene, p.sample, p.seated).parts
    assert off.std(axis=0) == pytest.approx([SIGMA * math.sqrt(2)] * 2, rel=0.02)


def test_a_face_square_to_a_wall_tilts_with_lift_and_the_wall_s_lean() -> None:
    """Over its length square to B, 30 mm: (lift / 30 + lean / 12) · 30, by hand."""
    h = block.hold()
    h = replace(h, vise=replace(h.vise, lift=Band3(0.03, 0.03, 0.03, "test")))
    job = block.job(profile=0.0)
    job = replace(
        job, incoming=replace(job.incoming, squareness=replace(job.incoming.squareness, value=0.02))
    )
    face = replace(
        h.features[0], path=tuple((x, y, 55.5) for x in (-30.0, 30.0) for y in (-30.0, 0.0)), region=None
    )
    h = replace(h, features=(face, h.features[1]))
    s = scene(h, job, block.quiet_shop())
    sample = s.draw(500, "x")
    got = judge(
        resolve(h, ToleranceAsk(FACE, "perpendicularity", 0.1, ("B",), False)), s, sample, s.seated(sample)
    )
    lift, lean = sample[:, s.column("lift")], sample[:, s.column("lean 1")]
    assert got.value == pytest.approx(np.abs(lift / 30.0 + lean / 12.0) * 30.0, abs=1e-7)


@pytest.mark.parametrize(
    ("boss", "material", "end", "extra"),
    [
        (False, "maximum", 1.0, 0.06),
        (False, "maximum", -1.0, 0.0),
        (False, "least", 1.0, 0.0),
        (True, "maximum", 1.0, 0.0),
        (True, "maximum", -1.0, 0.06),
        (True, "least", -1.0, 0.0),
        (True, "least", 1.0, 0.06),
    ],
)
def test_a_boss_has_its_bonus_when_it_is_small(
    boss: bool, material: str, end: float, extra: float, monkeypatch: pytest.MonkeyPatch
) -> None:
    """ISO 2692 (from memory): the bonus grows away from the size with the most metal, or with the least."""
    monkeypatch.setattr(outcome, "normal_cut", lambda _, n, *, half, sigma: np.full(n, end * half))
    bore = block.hold().features[1]
    f = replace(bore, kind="profile", diameter=None, across=20.0, boss=True) if boss else bore
    h = replace(block.hold(), features=(f,))
    t = ToleranceAsk(f.name, "position", 0.1, ("A", "B", "C"), True, material)  # type: ignore[arg-type]
    size = ToleranceAsk(f.name, "size", 0.06, (), False)
    got, words = bonus_of(resolve(replace(h, tolerances=(t, size)), t), (t, size), 3, "x")
    assert got == pytest.approx(np.full(3, extra))
    assert "bonus from sizes" in words


def test_a_flat_wall_has_no_bonus_and_it_is_said() -> None:
    h = replace(block.hold(), features=(wall((0.0, 1.0)),))
    t = ToleranceAsk("wall", "position", 0.1, ("B",), False, "maximum")
    got, words = bonus_of(resolve(h, t), (t, ToleranceAsk("wall", "size", 0.06, (), False)), 3, "x")
    assert got == 0.0
    assert "not round" in words


def test_the_lower_line_of_a_composite_frame_by_closed_form() -> None:
    """Datum B only turns it: half of the error between two holes, σ/√2 each way, must stay in the radius."""
    plain = two_holes(("A", "B"))
    lower = replace(plain, tolerances=tuple(replace(t, composite=True) for t in plain.tolerances))
    shares = []
    for h in (lower, plain):
        found = prove(h, None, None, block.job(), block.quiet_shop(**noisy()))
        shares.append(next(p.value for p in found if p.name == "all tolerances together"))
    radius = plain.tolerances[0].zone / 2
    truth = 1 - math.exp(-(radius**2) / SIGMA**2)
    assert shares[0] is not None and near(shares[0], truth, PARTS)
    assert shares[1] is not None and shares[1] < shares[0], "placed by B in one direction it is stricter"


def test_upper_and_lower_line_are_judged_together() -> None:
    """A part is good when it keeps both; every part that keeps the upper with the lower's zone keeps both."""
    plain = two_holes(("A", "B", "C"))
    upper = tuple(replace(t, zone=0.2) for t in plain.tolerances)
    lower = tuple(replace(t, datums=("A", "B"), composite=True) for t in plain.tolerances)
    found = prove(
        replace(plain, tolerances=(*upper, *lower)), None, None, block.job(), block.quiet_shop(**noisy())
    )
    joint = next(p.value for p in found if p.name == "all tolerances together")
    assert joint is not None
    radius = plain.tolerances[0].zone / 2
    alone = 1 - math.exp(-(radius**2) / SIGMA**2)
    strict = (1 - math.exp(-(radius**2) / 2 / SIGMA**2)) ** 2
    assert strict < joint <= alone + 0.003
    assert any("(lower line)" in p.name for p in found)
