"""A corner of the pocket left standing against a wrong way round: cut so, proven shut, and told."""

from __future__ import annotations

from types import SimpleNamespace
from typing import Any

import pytest
import shapely
from shapely.affinity import translate

import jawright
from jawright import kernel
from jawright.errors import JawrightError
from jawright.geometry.curve import Line
from jawright.geometry.polygon import to_polygon
from jawright.geometry.profile import Profile, Region
from jawright.jaws.design import Pair
from jawright.jaws.model import Left
from jawright.papers.plan_view import plan_view
from jawright.proof import keys
from jawright.record import Record
from jaws.levels import BORE, DATUM, DEMO, HEAD

OPEN = 3.0  # [mm] the jaw is opened this much beyond the part to load it, as the setup sheet says


def hook() -> bytes:
    """Gate hook 100 × 80 × 16: an arm of 10 and a body of 32, and a mouth of 38 between them."""
    pts = [(-50, -40), (50, -40), (50, -8), (-15, -8), (-15, 30), (50, 30), (50, 40), (-50, 40)]
    sides = tuple(Line(pts[i], pts[(i + 1) % len(pts)]) for i in range(len(pts)))
    body = kernel.extrude(Region(Profile(sides)), 0.0, 16.0)
    return kernel.cut(body, kernel.cylinder((-33, 0, -1), (0, 0, 1), 5.0, 30.0))


@pytest.fixture(scope="module")
def plans(tmp_path_factory: pytest.TempPathFactory) -> dict[str, Record]:
    folder = tmp_path_factory.mktemp("hook")
    (folder / "hook.step").write_bytes(kernel.step_text({"hook": hook()}, title="hook"))
    shop = jawright.read_shop(DEMO / "shop.toml")
    out = {}
    for name, choice in (("told", ""), ("left", 'wrong_way = "leave a corner"\n')):
        pins = 'blank = "A40x60"\njaw_cutter = "EM6"\n' + choice
        text = HEAD.format(name="hook", hold=pins)
        text += DATUM.format("A", -40, -20, 0) + DATUM.format("B", 0, 40, 8) + DATUM.format("C", -50, 0, 8)
        (folder / f"{name}.toml").write_text(text + BORE.format(-28, 0, 8), encoding="utf-8")
        out[name] = jawright.plan(jawright.read_job(folder / f"{name}.toml"), shop, made="2026-01-01")
    return out


def wrong(record: Record) -> tuple[str, str]:
    return next((p.verdict, p.sentence) for p in record.proofs if p.name == "wrong way round")


def test_the_advice_names_the_key_and_the_key_shuts_every_wrong_way(plans: dict[str, Record]) -> None:
    verdict, said = wrong(plans["told"])
    assert verdict == "caution" and '[hold] wrong_way = "leave a corner"' in said
    assert plans["told"].jaws is not None and plans["told"].jaws.left is None
    verdict, said = wrong(plans["left"])
    assert verdict == "pass" and "one way only" in said
    jaws = plans["left"].jaws
    assert jaws is not None and jaws.left is not None
    assert any("left standing" in n and "shuts every wrong way" in n for n in jaws.notes)


def test_the_metal_is_there_and_the_right_part_goes_past_it(plans: dict[str, Record]) -> None:
    """By plane geometry: the part, on its way home as well, keeps a cutter's width off what is left."""
    hold, jaws = plans["left"].hold, plans["left"].jaws
    assert hold is not None and jaws is not None and jaws.left is not None
    pocket, before = to_polygon(jaws.pocket), plans["told"].jaws
    assert before is not None
    lost = to_polygon(before.pocket).difference(pocket).buffer(-0.02).buffer(0.02)
    assert lost.area > 45.0 and isinstance(lost, shapely.Polygon)
    assert lost.buffer(0.1).contains(shapely.Point(jaws.left.at))
    part = to_polygon(hold.outline)
    home = shapely.union_all([translate(part, 0.0, -OPEN * k / 10) for k in range(11)])
    assert to_polygon(jaws.left.region).intersection(to_polygon(before.pocket)).distance(home) > 6.0
    assert lost.distance(home) > 3.0, "with the corner that the cutter of 6 leaves beside it"
    drop = next(p for p in plans["left"].proofs if p.name == "drop-in room")
    assert drop.verdict == "pass"


def test_the_walls_that_seat_the_part_are_the_same(plans: dict[str, Record]) -> None:
    a, b = plans["told"].jaws, plans["left"].jaws
    assert a is not None and b is not None
    seats = [[z.curves for z in j.zones if z.purpose != "clear"] for j in (a, b)]
    assert seats[0] == seats[1]


def test_the_program_leaves_it(plans: dict[str, Record]) -> None:
    v = plans["left"].verification
    assert v is not None and v.verified and v.gouge < 0.005


def test_the_plan_says_what_is_left_standing(plans: dict[str, Record]) -> None:
    assert "left standing" in plan_view(plans["left"])
    assert "left standing" not in plan_view(plans["told"])


def test_a_corner_that_costs_the_seat_is_not_left_and_the_jaws_stay_as_they_were(
    plans: dict[str, Record], monkeypatch: pytest.MonkeyPatch
) -> None:
    told, left = plans["told"], plans["left"].jaws
    assert told.hold is not None and told.jaws is not None and left is not None
    before = Pair(told.hold, told.jaws)

    def design(*_: object, left: Left | None = None, **__: object) -> Pair:
        if left is not None:
            raise JawrightError("hold-none", what="no wall is left to grip")
        return before

    monkeypatch.setattr(keys, "design", design)
    monkeypatch.setattr(keys, "corner", lambda *_: left.left)
    asked: Any = {"part": None, "shop": None, "vise": None, "job": plans["left"].job}
    monkeypatch.setattr(keys, "find", lambda *_: [SimpleNamespace(harmless=False)])
    made = keys.designed(None, None, **asked)  # type: ignore[arg-type]
    assert made.jaws.pocket == before.jaws.pocket and made.jaws.left is None
    assert made.jaws.notes[-1] == (
        "no corner is left standing against a wrong way round: no wall is left to grip"
    )
