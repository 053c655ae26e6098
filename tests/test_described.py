"""Materials of one's own: said in brackets by what they are like and what differs."""

from __future__ import annotations

import pytest

from jawright.errors import JawrightError
from jawright.handbook import cutting, material

D2 = "D2 annealed [like 4140 annealed, yield 350 MPa, density 7.7 g/cm3]"


def test_what_is_stated_is_taken_and_the_rest_is_that_of_the_like() -> None:
    own, like = material(D2), material("4140 annealed")
    assert own.yield_min == 350.0 and own.density == pytest.approx(7.7e-6)
    assert (own.E, own.nu, own.kc11, own.mc, own.family) == (like.E, like.nu, like.kc11, like.mc, like.family)
    assert own.yield_basis == "minimum" and "stated" in own.source and own.status == "STATED"
    assert cutting(own, "carbide") == cutting(like, "carbide")


def test_the_name_holds_the_whole_description() -> None:
    own = material(D2)
    assert own.name == "D2 annealed [like 4140 annealed, yield 350 MPa, density 7.7 g/cm3]"
    assert material(own.name) == own
    assert (
        material("  d2  [ like  42CrMo4 annealed ,yield 350 MPa ] ").name
        == "d2 [like 4140 annealed, yield 350 MPa]"
    )


def test_inch_units_serve() -> None:
    assert material("17-4 [like 4140, yield 170 ksi]").yield_min == pytest.approx(1172.1, abs=0.1)


def test_a_brittle_one_states_its_tensile_strength() -> None:
    own = material("class 40 [like gray iron, tensile 276 MPa]")
    assert own.yield_min is None and own.ultimate == 276.0 and own.bruise_stress == 276.0


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("D2 [like 4140 annealed]", "yield of"),
        ("D2 [yield 350 MPa]", "not said to be like"),
        ("D2 [like unobtainium, yield 350 MPa]", "not a material"),
        ("D2 [like 4140, yield 350]", "no unit"),
        ("D2 [like 4140, yield 350 mm]", "not a unit"),
        ("D2 [like 4140, yield 350 GPa]", "no material of a vise"),
        ("D2 [like 4140, yield -5 MPa]", "no material of a vise"),
        ("D2 [like 4140, yield 350 MPa, yield 300 MPa]", "stated twice"),
        ("D2 [like 4140, yeild 350 MPa]", "not one of"),
        ("D2 [like 4140, yield 350 MPa", "not a description"),
        ("[like 4140, yield 350 MPa]", "not a description"),
        ("class 40 [like gray iron, yield 276 MPa]", "tensile of"),
    ],
)
def test_what_is_missing_or_wrong_is_said(text: str, words: str) -> None:
    with pytest.raises(JawrightError) as e:
        material(text, where="job.toml:3")
    assert words in e.value.what and e.value.where == "job.toml:3" and e.value.todo


def test_an_unknown_material_says_how_to_describe_it() -> None:
    with pytest.raises(JawrightError, match="say what it is like"):
        material("unobtainium")
