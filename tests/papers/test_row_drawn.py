"""Several parts in one pair of jaws: each is drawn whole, and letters tell of the one the hold describes."""

from __future__ import annotations

import dataclasses
import re
from typing import Literal

import numpy as np
import pytest

from jawright.doors.web.bench import _beside
from jawright.hold.model import SideStop
from jawright.hold.seen import Seen
from jawright.jaws.row import Spot, spots_of
from jawright.papers.facts import holding_facts, stop_fact, stop_words, zero_facts
from jawright.papers.measure import Reader
from jawright.papers.plan_view import plan_view
from jawright.papers.steps import steps
from jawright.record import Record
from papers import sample

PITCH = 70.0
OPENING = ((-3.0, -6.0), (-1.0, -6.0), (-1.0, -4.0))
CIRCLE = re.compile(r"<circle ")


def row(*spots: Spot) -> Record:
    record = sample.good_record()
    hold = record.hold
    assert hold is not None
    beside = tuple(s.region(hold.outline) for s in spots)
    seen = Seen((), (), 0.0, None, (OPENING,))
    return dataclasses.replace(record, hold=dataclasses.replace(hold, beside=beside), seen=seen)


def middle() -> float:
    hold = sample.good_record().hold
    assert hold is not None
    x0, _, x1, _ = hold.outline.outer.box
    return (x0 + x1) / 2


@pytest.mark.parametrize("mirrored", [False, True])
def test_where_the_further_parts_stand_is_found_again(mirrored: bool) -> None:
    spots = (Spot(-PITCH, mirrored, middle()), Spot(PITCH), Spot(2 * PITCH, mirrored, middle()))
    hold = row(*spots).hold
    assert hold is not None
    for given, found in zip(spots, spots_of(hold), strict=True):
        assert found.mirrored == given.mirrored
        for p in ((0.0, 0.0), (7.0, -3.0)):
            assert found.point(p) == pytest.approx(given.point(p), abs=1e-9)


def test_holes_and_openings_are_drawn_in_each_of_them() -> None:
    alone, three = plan_view(row()), plan_view(row(Spot(-PITCH), Spot(PITCH, True, middle())))
    hold = row().hold
    assert hold is not None
    centers = {m.center[:2] for m in hold.features if m.diameter is not None}
    assert centers
    assert len(CIRCLE.findall(three)) == len(CIRCLE.findall(alone)) + 2 * 2 * len(centers)  # ground and edge
    white = '<path d="M'
    assert three.count('fill="#ffffff"/>') >= alone.count('fill="#ffffff"/>') + 2 * (len(centers) + 1)
    assert three.count(white) > alone.count(white)


def test_no_letter_stands_on_a_part_beside() -> None:
    record = row(Spot(-PITCH), Spot(PITCH))
    hold = record.hold
    assert hold is not None
    text = plan_view(record)
    names = {c.name for c in hold.contacts} | {d.letter for d in hold.datums}
    letters = re.findall(r'<text x="([-\d.]+)" y="([-\d.]+)"[^>]*>([^<]+)</text>', text)
    places = [(float(x), float(y)) for x, y, words in letters if words in names]
    assert len(places) >= len(hold.contacts)
    own = [x for x, _ in places]
    scale = float(re.search(r"scale ([\d.]+) : ([\d.]+)", text)[1]) / float(  # type: ignore[index]
        re.search(r"scale ([\d.]+) : ([\d.]+)", text)[2]  # type: ignore[index]
    )
    assert max(own) - min(own) < PITCH * scale, "all letters are at the part in the middle"


@pytest.mark.parametrize("mirrored", [False, True])
def test_further_parts_in_3d_look_outward_and_move_alike(mirrored: bool) -> None:
    points = np.array([[0, 0, 0], [4, 0, 0], [0, 3, 0], [0, 0, 2]], dtype=float)
    corners = np.array([[0, 2, 1], [0, 1, 3], [0, 3, 2], [1, 2, 3]])
    part = {
        "points_mm": points.ravel().tolist(),
        "corners": corners.ravel().tolist(),
        "owner": [0, 1, 2, 3],
        "moved_um": (points * [1.0, 2.0, 3.0]).ravel().tolist(),
    }
    found = _beside(part, [Spot(10.0), Spot(20.0, mirrored, 2.0)])
    p = np.array(found["points_mm"]).reshape(2, 4, 3)
    assert p[0].tolist() == (points + np.array([10.0, 0.0, 0.0])).tolist()
    spot = Spot(20.0, mirrored, 2.0)
    assert [tuple(q[:2]) for q in p[1]] == [spot.point((x, y)) for x, y, _ in points]
    tri = np.array(found["corners"]).reshape(2, 4, 3)
    for k in range(2):
        a, b, c = (p.reshape(-1, 3)[tri[k][:, i]] for i in range(3))
        assert np.einsum("ij,ij->i", a, np.cross(b, c)).sum() / 6 == pytest.approx(4.0)  # 4·3·2/6
    moved = np.array(found["moved_um"]).reshape(2, 4, 3)
    assert moved[1][:, 0].tolist() == ((-1 if mirrored else 1) * points[:, 0] + 0.0).tolist()
    assert found["owner"] == part["owner"] * 2
    assert "moved_um" not in _beside({k: v for k, v in part.items() if k != "moved_um"}, [Spot(1.0)])


@pytest.mark.parametrize("rear", [True, False])
@pytest.mark.parametrize("way", [1.0, -1.0])
def test_a_side_stop_stands_where_it_pushes_from(way: float, rear: bool) -> None:
    """Not where the part's middle is: inside a fork the two differ."""
    record = sample.hard_record()
    hold = record.hold
    assert hold is not None
    push = dataclasses.replace(
        hold.contacts[0], name="S1", on="stop", point=(25.0, -20.0, 45.0), normal=(way, 0.0, 0.0)
    )
    vise = dataclasses.replace(hold.vise, fixed_jaw_rear=rear)
    held = dataclasses.replace(hold, contacts=(*hold.contacts, push), stop=push.point, vise=vise)
    text = plan_view(dataclasses.replace(record, hold=held))
    block = re.search(r'<path d="M([-\d.]+) [-\d.]+L([-\d.]+) [^"]*" fill="#ffffff" [^>]*#7a2a7a', text)
    assert block is not None
    on_paper = way if rear else -way  # seen by an operator at the fixed jaw, all is turned
    assert (float(block[2]) - float(block[1])) * on_paper < 0


@pytest.mark.parametrize(
    ("side", "rear", "x", "words"),
    [
        ("-X", True, -87.5, "12.50 mm outside the jaw's left end"),
        ("-X", True, -40.0, "35.00 mm in from the jaw's left end"),
        ("+X", True, 40.0, "35.00 mm in from the jaw's right end"),
        ("-X", False, -40.0, "35.00 mm in from the jaw's right end"),
        ("+X", False, 87.5, "12.50 mm outside the jaw's left end"),
    ],
)
def test_where_a_side_stop_touches_is_told_from_the_end_of_the_jaw(
    side: Literal["-X", "+X"], rear: bool, x: float, words: str
) -> None:
    """A number along X would clash with X0 at the stop: a rule is laid to the jaw's end."""
    record = sample.hard_record()
    hold = record.hold
    assert hold is not None
    stop = SideStop("ST10", (x, -20.0, 43.0), side, "between the jaws", 0.0, 6.0)
    vise = dataclasses.replace(hold.vise, fixed_jaw_rear=rear, jaw_width=150.0)
    held = dataclasses.replace(hold, side_stop=stop, vise=vise)
    told = stop_words(dataclasses.replace(record, hold=held), Reader("mm"))
    assert told == f"side stop ST10 between the jaws, touching 43.00 mm above the bed, {words}"


def test_a_row_says_how_many_parts_there_are_and_where_each_is() -> None:
    record = row(Spot(-PITCH), Spot(PITCH, True, middle()))
    assert record.program is not None and record.hold is not None
    x0, _, x1, _ = record.hold.outline.outer.box
    held = {f.label: f for f in holding_facts(record)}
    assert held["At a time"].value == "3 parts" and f"{PITCH - (x1 - x0):.2f} mm" in held["At a time"].note
    zero = {f.label: f.value for f in zero_facts(record)}
    assert zero["Left, alike"] == f"{-PITCH:.3f} mm in X"
    line = middle() + PITCH / 2 - record.program.origin[0]
    assert zero["Right, mirrored"] == f"about X{line:.3f} mm"
    done = " ".join(steps(record))
    assert "Take 3 parts, each hand into the pockets cut for it," in done and "tap each part down" in done
    assert ("mirror image: right" in stop_fact(record).note) is ("left" in stop_fact(record).value)


def test_a_part_by_itself_is_told_of_as_one() -> None:
    alone, two = row(), row(Spot(PITCH))
    assert "At a time" not in {f.label for f in holding_facts(alone)}
    assert "Take a part of the size accepted, its lower edges" in " ".join(steps(alone))
    said = " ".join(steps(two))
    corner = stop_fact(two).value
    assert "Take 2 parts of the size accepted, their lower edges" in said
    assert f"Push each into the {corner} corner of its own pocket" in said and "mirror" not in said
