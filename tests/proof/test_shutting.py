"""From fully open to gripped: the way is free, or where it is not; and how far the jaw may stand open."""

from __future__ import annotations

from dataclasses import replace

import pytest
import sample_block as block
import shapely
from shapely.affinity import translate

from jawright.geometry.curve import Line
from jawright.geometry.polygon import to_polygon
from jawright.geometry.profile import Profile, Region, rectangle
from jawright.hold.contacts import INSET
from jawright.proof.keys import blocker
from jawright.proof.say import Say
from jawright.proof.shutting import OPEN, meets, prove
from jawright.proof.wrongway import WrongWay


def polygon(*points: tuple[float, float]) -> Profile:
    return Profile(tuple(Line(points[k], points[(k + 1) % len(points)]) for k in range(len(points))))


def test_a_plain_block_meets_nothing_and_falls_off_the_ledge_it_lies_on() -> None:
    hold, jaws = block.hold(), block.jaws()
    p = prove(hold, jaws, Say("mm"))
    under = max(jaws.floating.y1 - c.point[1] for c in hold.contacts if c.on == "floor")
    assert p.value == pytest.approx(under + INSET)
    assert p.limit == OPEN and "nowhere" in p.sentence and "tips into the gap" in p.sentence
    assert p.verdict == ("pass" if p.value >= OPEN else "caution")


def test_a_ledge_narrower_than_the_usual_opening_is_a_caution() -> None:
    hold, jaws = block.hold(), block.jaws()
    near = tuple(
        replace(c, point=(c.point[0], max(c.point[1], jaws.floating.y1 - 1.0), c.point[2]))
        if c.on == "floor"
        else c
        for c in hold.contacts
    )
    p = prove(replace(hold, contacts=near), jaws, Say("mm"))
    assert p.verdict == "caution" and p.value == pytest.approx(1.0 + INSET)


def test_a_part_that_stands_on_the_fixed_floor_alone_may_be_loaded_in_the_open_vise() -> None:
    hold, jaws = block.hold(), block.jaws()
    x0, _, x1, _ = hold.outline.outer.box
    face = jaws.fixed.y0
    long = Region(rectangle(x0, jaws.floating.y1 - 5.0, x1, face + 20.0))
    corners = [(x, face + y) for x in (x0 + 1, x1 - 1) for y in (0.5, 19.0)]
    floor = next(c for c in hold.contacts if c.on == "floor")
    own = tuple(replace(floor, point=(x, y, floor.point[2])) for x, y in corners)
    p = prove(replace(hold, outline=long, contacts=own), replace(jaws, pocket=long), Say("mm"))
    assert "by itself" in p.sentence and p.verdict == "pass"
    assert p.value == pytest.approx(hold.vise.opening - 50.0 - jaws.gap)


@pytest.mark.parametrize("side", ["fixed", "floating"])
def test_a_pocket_with_an_undercut_is_met_on_the_way(side: str) -> None:
    """A dovetail opens toward the gap more narrowly than the part in it is wide."""
    hold, jaws = block.hold(), block.jaws()
    top, low = jaws.fixed.y0, jaws.floating.y1
    up = ((-6.0, -3.0), (6.0, -3.0), (6.0, 1.0), (10.0, 8.0), (-10.0, 8.0), (-6.0, 1.0))
    shape = [(x, top + y) for x, y in up] if side == "fixed" else [(x, low - y) for x, y in reversed(up)]
    tail = Region(polygon(*shape))
    hold = replace(hold, outline=tail)
    jaws = replace(jaws, pocket=tail)
    assert meets(hold, jaws, 20.0) == (side, pytest.approx(0.05))
    p = prove(hold, jaws, Say("mm"))
    assert p.verdict == "fail" and side in p.sentence


@pytest.mark.parametrize(("turn", "words"), [(0.0, ""), (3.1416, " then turned by 180°"), (-1e-12, "")])
def test_a_whole_turn_is_none_in_words(turn: float, words: str) -> None:
    way = WrongWay(turn, True, 0.0, 0.0, shapely.box(0.0, 0.0, 1.0, 1.0), False)
    assert way.words == f"flipped over{words}"


def test_a_pin_keeps_clear_of_the_right_part_on_its_way_home() -> None:
    """In a notch open toward the gap a pin has room, but not where the part is let in."""
    hold = block.hold()
    low, high = -hold.gap - 10.0, 14.0
    corners = ((-20.0, low), (-4.0, low), (-4.0, 8.0), (4.0, 8.0), (4.0, low), (20.0, low), (20.0, high))
    right = Region(polygon(*corners, (-20.0, high)))
    wrong = WrongWay(0.0, True, 0.0, 0.0, shapely.box(-20.0, low, 20.0, high), False)
    spot = blocker(replace(hold, outline=right), wrong, gap=hold.gap)
    assert spot is not None and abs(spot[0]) < 4.0  # in the notch, the only room there is
    part = to_polygon(right, 0.01)
    for k in (0.0, 0.5, 1.0, 2.0, OPEN):
        way = k if spot[1] < -hold.gap / 2 else -k
        assert translate(part, 0.0, way).distance(shapely.Point(spot)) > 1.0
