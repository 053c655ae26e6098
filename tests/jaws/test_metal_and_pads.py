"""Which metal for the jaws, and short pads on walls that vary too much for a nest."""

from __future__ import annotations

import math
from dataclasses import replace

import pytest

from jawright.geometry.curve import Arc
from jawright.geometry.profile import Profile
from jawright.hold.outline import Outline
from jawright.hold.walls import choose_grips, choose_locators, ends
from jawright.jaws import pads
from jawright.jaws.metal import MANY, advice
from jawright.job.model import Given
from proof.sample_job import job
from samples import blank


@pytest.mark.parametrize(
    ("material", "metal", "quantity", "words"),
    [
        ("6061-T6", "6061-T6", 40, "aluminum serves"),
        ("6061-T6", "6061-T6", MANY + 1, "mild steel lasts longer"),
        ("6061-T6", "1018 cold drawn", 40, "beds into the part"),
        ("4140 prehard", "6061-T6", 40, "beds into the jaws"),
        ("6061-T6", "6061-T6", 40, "marks both"),
        ("6061-T6", "1018 cold drawn", MANY + 1, "steel lasts"),
    ],
)
def test_metal_is_advised_with_its_reasons(material: str, metal: str, quantity: int, words: str) -> None:
    asked = replace(job(), material=material, quantity=quantity)
    assert words in advice(asked, replace(blank(), material=metal))


def test_an_unknown_metal_gives_no_advice() -> None:
    assert advice(replace(job(), material="unobtainium"), blank()) == ""


def oval() -> Outline:
    """Four tangent arcs: a long one above and below, a round end left and right."""
    r, big = 12.0, 60.0
    half = math.asin(20.0 / (big - r))
    y = -(big - r) * math.cos(half)
    x_t, y_t = 20.0 + r * math.sin(half), r * math.cos(half)
    top, low = (0.0, y), (0.0, -y)
    return Outline(
        Profile(
            (
                Arc((x_t, y_t), (-x_t, y_t), top, True),
                Arc((-x_t, y_t), (-x_t, -y_t), (-20.0, 0.0), True),
                Arc((-x_t, -y_t), (x_t, -y_t), low, True),
                Arc((x_t, -y_t), (x_t, y_t), (20.0, 0.0), True),
            )
        ),
        (0, 1, 2, 3),
        ("",) * 4,
    )


def test_three_pads_and_no_nest() -> None:
    outline = oval()
    locators = choose_locators(outline, ())
    two = pads.two_pads(locators, "pad")
    one = pads.between(choose_grips(outline, locators, None), two, "pad")
    assert len(two) == 2 and len(one) == 1
    assert all(w.curve.length == pytest.approx(pads.LENGTH) and w.pad for w in (*two, *one))
    assert all(abs(w.normal[0]) <= math.sin(pads.FLAT) + 1e-9 for w in (*two, *one))
    assert one[0].middle[0] == pytest.approx(0.0, abs=pads.STEP), "its push goes between the two"
    assert two[0].middle[0] == pytest.approx(-two[1].middle[0], abs=pads.STEP)
    assert [len(ends(w)) for w in (*two, *one)] == [1, 1, 1], "a pad counts as one point"


def test_pads_only_where_the_profile_zone_is_wide() -> None:
    incoming = job().incoming
    for zone, said in ((0.2, False), (pads.ROUGH, True), (3.0, True)):
        wide = replace(job(), incoming=replace(incoming, profile=Given(zone, "job")))
        assert pads.wanted(wide) is said
