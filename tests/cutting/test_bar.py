"""Blanks made from bar: the reader checks the program, its slips are found, what cannot be is said."""

from __future__ import annotations

from dataclasses import replace

import pockets
import pytest

import samples
from cutting import designs
from jawright.cutting.bar import write_blank
from jawright.errors import JawrightError
from jawright.jaws.bar import hold_bar
from jawright.jaws.model import Bar
from jawright.made_blanks import made_blanks
from jawright.shop.model import Blank, Parallel, Shop, Vise
from jawright.verify.check import check_blank
from jawright.verify.model import Verification


def things(**blank: object) -> tuple[Bar, Shop, Vise]:
    _, shop = designs.demo()
    one = next(b for b in shop.blanks if b.id == "A20x44")
    one = replace(one, **({"bar_thickness": 20.5} | blank))  # type: ignore[arg-type]
    return hold_bar(one, shop, shop.vises[0]), shop, shop.vises[0]


def checked(text: str, bar: Bar, shop: Shop, vise: Vise, program: object) -> Verification:
    return check_blank(
        text,
        origin=program.origin,  # type: ignore[attr-defined]
        turned=program.turned,  # type: ignore[attr-defined]
        bar=bar,
        shop=shop,
        vise=vise,
    )


@pytest.mark.parametrize("rear", [True, False])
@pytest.mark.parametrize("inch", [True, False])
@pytest.mark.parametrize(
    "blank",
    [
        {},
        {"slot_length": 0.0},
        {"bar_thickness": 20.0},
        {"bar_thickness": 24.0},
        {"material": "1018 cold drawn"},
        {"counterbore_depth": 8.0, "bolt_hole": 9.0, "counterbore": 15.0},
    ],
    ids=["slots", "round", "not faced", "thick bar", "steel", "small bolts"],
)
def test_blanks_verify(blank, inch, rear):
    bar, shop, vise = things(**blank)
    vise = replace(vise, fixed_jaw_rear=rear)
    nc = replace(shop.nc, units="inch" if inch else "mm", decimals=4 if inch else 3)
    shop = replace(shop, nc=nc, defaults_used=())
    p = write_blank(bar, shop, pockets.job(), vise=vise)
    v = checked(p.text, bar, shop, vise, p)
    assert v.verified, [f.what for f in v.findings]
    assert [f for f in v.findings if f.level != "noted"] == []
    assert max(v.gouge, v.rest, v.floor_error) <= 0.002 + 0.00254 * inch
    assert len(p.cutters) <= 3
    assert p.turned is not rear
    if blank == {}:
        assert p.minutes < 2.0  # common practice: about a minute of cutting for a small pair


SLIPS = {
    "deeper counterbore": ("Z-13.000", "Z-14.000", "gouge"),
    "shallow holes": ("Z-20.500", "Z-19.500", "rest"),
    "into the bed": ("Z-20.500", "Z-90.500", "vise"),
    "other side of the bolt line": ("Y-22.000", "Y-12.000", "gouge"),
    "rapid through the bar": ("G1 Z0.300", "G0 Z-5.000", "rapid"),
    "low over the jaws": ("G1 Z0.000", "G1 Z-20.000", "hard jaw"),
}


@pytest.mark.parametrize("slip", SLIPS)
def test_slips_are_caught(slip):
    old, new, says = SLIPS[slip]
    bar, shop, vise = things()
    p = write_blank(bar, shop, pockets.job(), vise=vise)
    assert old in p.text
    v = checked(p.text.replace(old, new), bar, shop, vise, p)
    assert not v.verified
    bad = [f.what for f in v.findings if f.level in ("fault", "refused")]
    assert any(f.split(":")[0] in says.split("|") for f in bad), bad


def test_parallels_lie_clear_of_the_holes_and_lift_the_blank_over_the_jaws():
    bar, _, vise = things()
    b = bar.blank
    assert bar.front >= vise.hard_jaw_height + 1.0
    assert bar.parallel.thickness <= b.bolt_height - b.bolt_hole / 2 - 1.0
    assert bar.parallel.count >= 2


def test_a_shop_without_such_parallels_is_told_what_it_lacks():
    _, shop, vise = things()
    low = (Parallel("P6x4", 4.0, 6.0, 150.0, 2),)
    blank = replace(samples.blank(), bar_thickness=25.0)
    with pytest.raises(JawrightError, match="lifts the blank") as error:
        hold_bar(replace(blank, thickness=20.0), replace(shop, parallels=low), vise)
    assert error.value.code == "shop-no-parallel"


def test_blanks_that_are_bought_have_no_program():
    jaws = samples.jaws()
    assert made_blanks(jaws, samples.shop(), pockets.job(), vise=samples.vise()) == ()


def pair(blank: Blank):
    j = samples.jaws()
    return replace(j, fixed=replace(j.fixed, blank=blank), floating=replace(j.floating, blank=blank))


def test_both_jaws_of_one_kind_are_one_piece_of_work():
    shop = samples.shop()
    jaws = pair(replace(samples.blank(), bar_thickness=25.4))
    work = made_blanks(jaws, shop, pockets.job(), vise=samples.vise())
    assert [w.count for w in work] == [2]
    assert work[0].verified, work


def test_what_cannot_be_made_is_said():
    shop = replace(samples.shop(), cutters=samples.cutters()[:1])
    jaws = pair(replace(samples.blank(), bar_thickness=25.4))
    work = made_blanks(jaws, shop, pockets.job(), vise=samples.vise())
    assert work[0].program is None
    assert "no center-cutting end mill" in work[0].note
