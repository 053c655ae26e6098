"""The handbook's look-ups: names, refusals, cutting data."""

from __future__ import annotations

import math

import pytest

from jawright.errors import JawrightError
from jawright.handbook import cutting, friction, material, materials, screw, table
from jawright.shop.schema import CUTTER_KINDS


@pytest.mark.parametrize("name", ["6061-T6", "6061", "6061 t651", "EN AW-6061 T6", "aluminum 6061-T6"])
def test_a_material_has_many_names(name: str) -> None:
    assert material(name).name == "6061-T6"


@pytest.mark.parametrize(
    ("wrong", "near"),
    [("6016-T6", "6061-T6"), ("stainles 304", "304 annealed"), ("6061-O", "6061-T6"), ("unobtainium", "")],
)
def test_an_unknown_material_is_refused_with_the_nearest(wrong: str, near: str) -> None:
    with pytest.raises(JawrightError) as e:
        material(wrong, where="job.toml:4: part.material")
    assert e.value.code == "value-bad"
    assert e.value.where == "job.toml:4: part.material"
    assert (f'did you mean "{near}"' in e.value.todo) == bool(near)
    assert all(name in e.value.todo for name in materials())


def test_unknown_pairs_threads_and_kinds_are_refused() -> None:
    for wrong in (
        lambda: friction("ice on ice"),
        lambda: screw("M11"),
        lambda: screw("M12").proof_load("9.9"),
        lambda: cutting(material("6061"), "carbide", kind="saw"),
    ):
        with pytest.raises(JawrightError, match="in the handbook"):
            wrong()


def test_every_family_and_kind_has_cutting_data_or_says_none() -> None:
    families = {material(n).family for n in materials()}
    assert families == {*table("cutting_speed")["family"], "hardened steel"}
    for name in materials():
        for kind in CUTTER_KINDS:
            for made_of in ("carbide", "HSS"):
                data = cutting(material(name), made_of, kind=kind)
                if data is None:
                    assert material(name).family == "hardened steel"
                    continue
                for r in (data.speed, data.feed_share, data.feed(1.0), data.feed(10.0)):
                    assert 0 < r.low <= r.set <= r.high, (name, kind)
                    assert r.basis == "common practice, no source"
                assert data.feed(500.0).set == data.feed_cap


def test_trade_figures_for_cutting_aluminum_jaws() -> None:
    """1/2 in three-flute carbide in aluminum: 600 to 1000 ft/min, 0.003 to 0.005 in a tooth; 1/4 in: 0.0015
    to 0.002 in. Common practice, no source."""
    data = cutting(material("6061"), "carbide")
    assert data is not None
    assert data.speed.low == pytest.approx(600 * 0.3048, rel=0.02)
    assert data.speed.high == pytest.approx(1000 * 0.3048, rel=0.02)
    half = data.feed(12.7)
    assert half.low == pytest.approx(0.003 * 25.4, rel=0.02)
    assert half.set <= 0.005 * 25.4
    quarter = data.feed(6.35)
    assert 0.0014 * 25.4 <= quarter.low <= quarter.set <= 0.0021 * 25.4


def test_spindle_speed_is_limited() -> None:
    data = cutting(material("6061"), "carbide")
    assert data is not None
    assert data.spindle(10.0) == pytest.approx(240_000 / (math.pi * 10))
    assert data.spindle(3.0, most=10_000.0) == 10_000.0
