"""The whole part is drawn: a flange over the jaws, a step, the true cut; checked by closed form."""

from __future__ import annotations

import math
from dataclasses import replace

import pytest
import shapely

from jawright import kernel
from jawright.geometry.frame import standing
from jawright.geometry.profile import Region, circle
from jawright.hold import seen as module
from jawright.hold.model import Hold, Stance
from jawright.hold.seen import Seen, cut_place, seen
from jawright.papers.drawing import drawings
from jawright.papers.front_view import front_view
from jawright.papers.plan_view import plan_view
from jawright.record import Record
from jawright.record_json import dumps, loads
from papers import sample

SMALL, WIDE = 15.0, 30.0  # radii of the hub's body and flange [mm]
LOW, HIGH = 20.0, 8.0  # their heights
CHORDS = 5e-3  # of an area: chords a tenth of a millimeter inside a circle of 30 mm


def hub() -> tuple[Record, Seen]:
    """A hub on its small end, the flange over the jaws, in place of the sample's part."""
    record = sample.good_record()
    assert record.hold is not None
    solid = kernel.fuse(
        kernel.cylinder((0, 0, 0), (0, 0, 1), SMALL, LOW), kernel.cylinder((0, 0, LOW), (0, 0, 1), WIDE, HIGH)
    )
    part = replace(record.part, shape=solid, box=(-WIDE, -WIDE, 0.0, WIDE, WIDE, LOW + HIGH))
    move = standing((0.0, 0.0, 1.0), turn=0.3, shift=(2.0, -4.0, record.hold.floor))
    stance = Stance((0.0, 0.0, 1.0), 0.3, 2.0, move, "")
    hold = replace(
        record.hold, stance=stance, outline=Region(circle((2.0, -4.0), SMALL)), features=(),
        part_top=record.hold.floor + LOW + HIGH,
    )  # fmt: skip
    found = seen(hold, part)
    assert found is not None
    return replace(record, hold=hold, part=part, seen=found), found


def area(rings: tuple[module.Ring, ...]) -> float:
    first, *rest = (shapely.Polygon(r).area for r in rings)
    return first - sum(rest)


def test_shadows_and_cut_of_a_hub_are_what_geometry_says() -> None:
    record, s = hub()
    assert record.hold is not None
    assert area(s.plan) == pytest.approx(math.pi * WIDE**2, rel=CHORDS)
    side = 2 * SMALL * LOW + 2 * WIDE * HIGH
    assert area(s.end) == pytest.approx(side, rel=CHORDS)
    zs = [z for ring in s.end for _, z in ring]
    assert min(zs) == pytest.approx(record.hold.floor, abs=0.02)
    assert max(zs) == pytest.approx(record.hold.part_top, abs=0.02)
    assert s.cut is not None and s.cut_x == cut_place(record.hold)
    off = s.cut_x - 2.0  # of the cut from the axis
    chords = [2 * math.sqrt(r * r - off * off) for r in (SMALL, WIDE)]
    assert sum(r.area for r in s.cut) == pytest.approx(chords[0] * LOW + chords[1] * HIGH, rel=1e-6)


def test_both_drawings_hold_the_flange() -> None:
    record, s = hub()
    bare = replace(record, seen=None)
    assert plan_view(record) != plan_view(bare) and front_view(record) != front_view(bare)
    corner = max(s.plan[0], key=lambda p: p[0])
    assert corner[0] == pytest.approx(2.0 + WIDE, abs=0.12)
    assert set(drawings(record)) == set(drawings(bare))


def test_a_prism_needs_no_second_outline_from_above() -> None:
    """A plate's shadow is its outline: the plan stays as it is."""
    record, _ = hub()
    assert record.hold is not None
    plate = kernel.cylinder((0, 0, 0), (0, 0, 1), SMALL, LOW)
    found = seen(record.hold, replace(record.part, shape=plate, box=(-SMALL, -SMALL, 0, SMALL, SMALL, LOW)))
    assert found is not None and found.plan == () and found.end != ()


def test_what_is_open_right_through_is_drawn() -> None:
    """A ring is seen through; its bore is not made here, so only the shadow tells."""
    record, _ = hub()
    assert record.hold is not None
    ring = kernel.cut(
        kernel.cylinder((0, 0, 0), (0, 0, 1), SMALL, LOW),
        kernel.cylinder((0, 0, -1), (0, 0, 1), 6.0, LOW + 2),
    )
    found = seen(record.hold, replace(record.part, shape=ring, box=(-SMALL, -SMALL, 0, SMALL, SMALL, LOW)))
    assert found is not None and found.plan == ()
    (hole,) = found.openings
    xs = [p[0] for p in hole]
    assert max(xs) - min(xs) == pytest.approx(12.0, abs=0.1)
    closed = replace(record, seen=replace(found, openings=()))
    assert plan_view(replace(record, seen=found)) != plan_view(closed)


def test_a_record_keeps_it_and_one_without_is_drawn_as_before() -> None:
    record, s = hub()
    kept = loads(dumps(record))
    assert kept.seen == s and drawings(kept) == drawings(record)
    hold: Hold | None = record.hold
    assert hold is not None and seen(hold, None) is None
    assert seen(hold, replace(record.part, shape=b"")) is None
