"""The picture of how the walls press: every patch with its number, what does not touch crossed out."""

from __future__ import annotations

import re
from dataclasses import replace
from xml.etree import ElementTree

from sample import record

from jawright.papers.drawing import drawings
from jawright.papers.press_view import press_view
from jawright.proof.model import Pad, WallPressure

WALLS = tuple(
    WallPressure(
        jaw, 8000.0, 0.0021, 0.0004, 5 / 6, 0.5,
        tuple(
            Pad((x, 0.0, z), 20.0, 3.0, 0.0 if (x, z) == (10.0, 5.0) else 30.0 + x + z)
            for x in (-10.0, 10.0)
            for z in (-1.0, 2.0, 5.0)
        ),
    )
    for jaw in ("fixed", "floating")
)  # fmt: skip


def test_every_patch_has_its_number_and_the_free_one_is_crossed_out() -> None:
    svg = press_view(replace(record(), pressure=WALLS))  # type: ignore[arg-type]
    assert svg is not None
    ElementTree.fromstring(svg)
    for words in (
        "Fixed jaw",
        "Floating jaw",
        "touches 83 %, 50 % of the depth",
        "taper 0.002 mm",
        ">42<",
        ">39<",
    ):
        assert words in svg
    assert "mesh ± under 0.001 mm" in svg  # nought is never claimed
    assert len(re.findall("<rect", svg)) == 2 * (6 + 1)
    assert len(re.findall('class="thin"', svg)) == 1
    assert "pressure" in drawings(replace(record(), pressure=WALLS))  # type: ignore[arg-type]


def test_unknown_pressure_has_no_picture() -> None:
    assert press_view(replace(record(), pressure=())) is None


def test_inch_readers_get_ksi() -> None:
    r = record()
    svg = press_view(replace(r, job=replace(r.job, units="inch"), pressure=WALLS))  # type: ignore[arg-type]
    assert svg is not None and "ksi" in svg and " mm<" not in svg and "MPa" not in svg
    assert ">6.1<" in svg  # 42 MPa


def test_operator_at_the_fixed_jaw_sees_it_the_other_way_round() -> None:
    r = record()
    assert r.hold is not None
    turned = replace(r, hold=replace(r.hold, vise=replace(r.hold.vise, fixed_jaw_rear=False)), pressure=WALLS)
    straight = replace(r, pressure=WALLS)

    def places(svg: str | None) -> list[str]:
        assert svg is not None
        return [x for x, text in re.findall(r'<text x="([\d.]+)"[^>]*>(\d+)<', svg) if text == "42"]

    assert places(press_view(turned)) != places(press_view(straight))  # type: ignore[arg-type]
