"""Which cutter of the shop makes a feature: one that is long enough goes before a thicker one."""

from __future__ import annotations

from dataclasses import replace

import pytest

from hold.plates import DEMO
from jawright.hold.features import choose_cutter
from jawright.job.model import Feature
from jawright.shop.model import Cutter, Shop
from jawright.shop.read import read_shop


@pytest.fixture(scope="module")
def shop() -> Shop:
    return read_shop(DEMO / "shop.toml")


def end_mill(name: str, diameter: float, flutes: float, like: Cutter) -> Cutter:
    return replace(like, id=name, diameter=diameter, flute_length=flutes, corner_radius=0.0)


def with_mills(shop: Shop, *mills: tuple[str, float, float]) -> Shop:
    like = next(c for c in shop.cutters if c.kind == "end mill")
    return replace(shop, cutters=tuple(end_mill(n, d, f, like) for n, d, f in mills))


def test_a_long_enough_end_mill_goes_before_a_thicker_one(shop: Shop) -> None:
    both = with_mills(shop, ("THICK", 8.0, 12.0), ("LONG", 6.0, 30.0))
    ask = Feature("bore", "bore", None)
    assert choose_cutter(ask, 10.0, both, deep=20.0)[0].id == "LONG"
    assert choose_cutter(ask, 10.0, both, deep=10.0)[0].id == "THICK"


def test_where_none_is_long_enough_the_thickest_that_fits_stays(shop: Shop) -> None:
    short = with_mills(shop, ("A", 4.0, 12.0), ("B", 5.0, 12.0))
    assert choose_cutter(Feature("bore", "bore", None), 6.0, short, deep=16.0)[0].id == "B"


def test_a_cutter_named_in_the_job_is_taken_whatever_its_length(shop: Shop) -> None:
    both = with_mills(shop, ("THICK", 8.0, 12.0), ("LONG", 6.0, 30.0))
    assert (
        choose_cutter(Feature("bore", "bore", None, cutter="THICK"), 10.0, both, deep=20.0)[0].id == "THICK"
    )
