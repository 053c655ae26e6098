"""Every program the writer leaves is verified by the reader, which shares no code with it."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pockets
import pytest

from cutting import designs
from jawright.cutting import program
from jawright.jaws import grooves
from jawright.jaws.model import Jaws
from jawright.shop.model import NcFormat, Shop
from jawright.verify.check import check
from jawright.verify.model import Verification

CASES = pockets.cases()
USUAL = ("island", "wells", "slot under a relief")  # the others run with the long tests
SEEDS = 40  # random plates with sharp corners
USUAL_SEEDS = (4,)


def verified(jaws: Jaws, shop: Shop, *, inch: bool, rear: bool, control: bool = False) -> Verification:
    """Write the program in this unit for a vise with its fixed jaw there, and let the reader judge it."""
    vise = replace(shop.vises[0], fixed_jaw_rear=rear)
    nc: NcFormat = replace(
        shop.nc, units="inch" if inch else "mm", decimals=4 if inch else 3, compensation=control
    )
    shop = replace(shop, vises=(vise,), nc=nc)
    p = program.write(jaws, shop, pockets.job())
    v = check(p.text, origin=p.origin, turned=p.turned, jaws=jaws, shop=shop, vise=vise, wear=p.wear)
    assert p.turned is not rear
    assert v.verified, [f for f in v.findings if f.level in ("fault", "refused")][:5]
    assert max(v.gouge, v.rest, v.wall_error, v.floor_error) <= 0.002 + 0.00254 * inch
    return v


@pytest.mark.parametrize(
    "name", [n if n in USUAL else pytest.param(n, marks=pytest.mark.long) for n in sorted(CASES)]
)
@pytest.mark.parametrize("inch", [False, True])
def test_shapes(name: str, inch: bool) -> None:
    """Inch with the fixed jaw nearest the operator, mm with the fixed jaw at the back."""
    verified(*CASES[name], inch=inch, rear=not inch)


@pytest.mark.parametrize(
    "name", [n if n in USUAL else pytest.param(n, marks=pytest.mark.long) for n in sorted(CASES)]
)
def test_shapes_with_compensation_in_the_control(name: str) -> None:
    verified(*CASES[name], inch=False, rear=True, control=True)


@pytest.mark.parametrize("corner", [0.0, 0.5])
def test_a_groove_along_the_wall_is_cut_and_proven(corner: float) -> None:
    """A burr groove, and an undercut that takes the fillet of a blunt finishing cutter off the wall.

    The reader finds the groove's own lines missing: what should be gone is left.
    """
    small = pockets.mill("EM3", 21, 3.0, flute_length=9.0, reach=22.0)
    main = pockets.mill("EM10B", 22, 10.0, corner_radius=corner)
    shop = pockets.shop_with(small, main)
    pocket = pockets.opened(pockets.Region(pockets.rectangle(-30.0, -20.0, 25.0, 8.0)))
    base = pockets.jaws(pocket, cutter="EM10B")
    groove = grooves.Groove(small, 1.0, 0.0 if corner else grooves.OFF, corner, "")
    jaws = replace(base, wells=grooves.wall_wells(groove, pocket, base.floor, base.gap))
    verified(jaws, shop, inch=False, rear=True)
    without = program.write(replace(base, wells=jaws.wells[:1]), shop, pockets.job())
    v = check(without.text, origin=without.origin, turned=without.turned, jaws=jaws, shop=shop)
    assert not v.verified
    assert any("left that should be gone" in f.what for f in v.findings)


@pytest.mark.long
def test_a_slot_for_chips_in_a_long_floor_is_cut_and_proven() -> None:
    base = pockets.jaws(pockets.opened(pockets.Region(pockets.rectangle(-20.0, -14.0, 20.0, 21.5))))
    shop = pockets.shop_with()
    slots = grooves.chip_slots(base.pocket, shop.cutters[1], base.floor, base.gap)
    assert len(slots) == 1, "the fixed jaw's floor alone is long"
    verified(replace(base, wells=slots), shop, inch=False, rear=True)


@pytest.mark.parametrize("machine_top", [False, True])
def test_home_by_g28_in_lines_of_the_shop(machine_top: bool) -> None:
    """The start and end line so many shops type: run as the standard says, with a word of caution."""
    jaws, shop = CASES["sample"]
    home = ("G91 G28 Z0",)
    nc = replace(shop.nc, start_lines=home, end_lines=(*home, "G90"), machine_top=machine_top)
    shop = replace(shop, nc=nc)
    p = program.write(jaws, shop, pockets.job())
    assert p.text.count("G91 G28 Z0") == 2
    v = check(p.text, origin=p.origin, turned=p.turned, jaws=jaws, shop=shop)
    assert v.verified, [f for f in v.findings if f.level in ("fault", "refused")][:5]
    told = [f.what for f in v.findings if f.level == "caution"]
    assert len(told) == 1 and told[0].startswith("G28: which axes go home"), told
    low = p.text.replace("G91 G28 Z0", "G90 G28 Z-5.", 1)  # through the jaws on its way
    v = check(low, origin=p.origin, turned=p.turned, jaws=jaws, shop=shop)
    assert any("goes down to Z-5" in f.what for f in v.findings if f.level == "fault")


@pytest.mark.parametrize("wear", [-0.04, -0.02])
def test_a_wear_offset_lets_a_small_cutter_make_the_pocket(wear: float) -> None:
    """A finish cutter small by the wear: with the offset entered walls come to size, without they do not."""
    jaws, shop = CASES["slanted"]
    shop = replace(shop, nc=replace(shop.nc, compensation=True))
    p = program.write(jaws, shop, pockets.job())
    assert p.wear
    number = p.wear[0]
    small = tuple(replace(c, diameter=c.diameter + wear) if c.number == number else c for c in shop.cutters)
    worn = replace(shop, cutters=small)

    def walls(offset: float) -> float:
        v = check(p.text, origin=p.origin, turned=p.turned, jaws=jaws, shop=worn, diameters={number: offset})
        assert not any(f.level == "refused" for f in v.findings), v.findings[:3]
        return v.wall_error

    assert walls(0.0) == pytest.approx(-wear / 2, abs=1.5e-3)
    assert walls(wear) < 2e-3


@pytest.mark.parametrize(
    "seed",
    [s if s in USUAL_SEEDS else pytest.param(s, marks=pytest.mark.long) for s in range(SEEDS)],
)
def test_designed_for_random_plates(seed: int) -> None:
    jaws = designs.designed(designs.star(np.random.default_rng(seed)))
    if jaws is None:
        assert seed in NONE, "no stance of this plate can be had in soft jaws"
        return
    verified(jaws, designs.demo()[1], inch=seed % 2 == 1, rear=seed % 4 < 2)


NONE: tuple[int, ...] = ()
"""Seeds whose plate no soft jaws hold."""
