"""Materials of one's own, typed on the page of a job and on that of a jaw blank."""

from __future__ import annotations

import re
from typing import Any

import pytest

from doors.web.served import Page

D2 = {"own__name": "D2 annealed", "own__like": "4140 annealed", "own__yield": "350 MPa"}


def test_a_material_of_ones_own_is_typed_shown_again_and_undone(web: Page) -> None:
    job = web.demo()
    assert "go" in web.ask(f"/jobs/{job}/set", **D2, own__density="7.7 g/cm³").json()
    now = web.data(job)["part"]["material"]
    assert now == "D2 annealed [like 4140 annealed, yield 350 MPa, density 7.7 g/cm³]"
    text = web.get(f"/jobs/{job}").text
    shown = dict(re.findall(r'<input name="(own\.\w+)" id="own-\w+" value="([^"]*)"', text))
    assert shown["own.name"] == "D2 annealed" and shown["own.yield"] == "350 MPa"
    assert shown["own.density"] == "7.7 g/cm³" and shown["own.modulus"] == ""
    web.ask(f"/jobs/{job}/undo")
    assert web.data(job)["part"]["material"] == "6061-T6"


def test_a_plain_figure_is_in_the_readers_unit(web: Page) -> None:
    job = web.demo()
    for units, said in (("mm", "yield 350 MPa"), ("inch", "yield 350 psi")):
        answer = web.http.post(
            f"/jobs/{job}/set",
            data={"own.name": "D2", "own.like": "4140 annealed", "own.yield": "350"},
            headers={"origin": web.http.headers.get("origin", "http://127.0.0.1:8731"),
                     "accept": "application/json", "cookie": f"units={units}"},
        ).json()  # fmt: skip
        if units == "mm":
            assert said in web.data(job)["part"]["material"]
        else:  # 350 psi is 2.4 MPa, which no metal has: it is read as psi or refused, never as MPa
            assert "go" in answer or answer["problem"]["field"] == "own.yield"
            assert "350 MPa" not in web.data(job)["part"]["material"] or "problem" in answer


@pytest.mark.parametrize(
    ("given", "field"),
    [
        ({"own__like": "", "own__name": "D2"}, "own.like"),
        ({"own__name": ""}, "own.name"),
        ({"own__name": "D2 [x]"}, "own.name"),
        ({"own__like": "unobtainium"}, "own.like"),
        ({"own__yield": ""}, "own.yield"),
        ({"own__yield": "350 mm"}, "own.yield"),
        ({"own__yield": "0.1 MPa"}, "own.yield"),
        ({"own__yield": "350,5 MPa"}, "own.yield"),
        ({"own__density": "7.7 MPa"}, "own.density"),
        ({"own__cutting_force": "lots"}, "own.cutting_force"),
        ({"own__like": "gray iron class 30"}, "own.tensile"),
    ],
)
def test_what_is_wrong_is_told_at_its_field_and_nothing_is_kept(
    web: Page, given: dict[str, Any], field: str
) -> None:
    job = web.demo()
    problem = web.ask(f"/jobs/{job}/set", **(D2 | given)).json()["problem"]
    assert problem["field"] == field and problem["what"] and problem["todo"] is not None
    assert web.data(job)["part"]["material"] == "6061-T6"


def test_a_jaw_blank_may_be_of_it_too(web: Page) -> None:
    row = {
        "id": "D2-25", "own__name": "D2 annealed", "own__like": "4140 annealed", "own__yield": "350 MPa",
        "material": "", "length": "150 mm", "thickness": "25 mm", "height": "44 mm",
        "bolt_spacing": "100 mm", "bolt_height": "20 mm",
    }  # fmt: skip
    lacks = web.ask("/shop/blanks/new", **(row | {"bolt_spacing": ""})).json()["problem"]
    assert lacks["field"] == "shop.bolt_spacing"  # told at the field that is empty
    answer = web.ask("/shop/blanks/new", **row).json()
    assert "go" in answer, answer
    blanks = web.get("/shop/blanks.json").json()["rows"]
    assert blanks[-1]["cells"][:2] == ["D2-25", "D2 annealed [like 4140 annealed, yield 350 MPa]"]
    job = web.demo()
    assert "D2 annealed" in web.get(f"/jobs/{job}").text, "jaws of it can be pinned"
