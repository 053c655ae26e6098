"""Round holes of every kind, and naming faces and holes by a point."""

from __future__ import annotations

import math
from dataclasses import replace
from pathlib import Path

import pytest

from jawright import kernel
from jawright.errors import JawrightError
from jawright.geometry.curve import Arc, Line
from jawright.geometry.profile import Profile, Region, circle, rectangle
from jawright.job.model import Pick
from jawright.part.model import Hole, Part
from jawright.part.pick import direction, face_at, hole_at, hole_words, words
from jawright.part.read import read_part
from part.shapes import block, turned, written

Z = (0.0, 0.0, 1.0)


def drilled(folder: Path, *tools: bytes, body: bytes | None = None) -> Part:
    return read_part(written(folder, "drilled.step", kernel.cut(body or block(60.0, 40.0, 20.0), *tools)))


def bar(x: float, y: float, z0: float, z1: float, diameter: float) -> bytes:
    return kernel.cylinder((x, y, z0), Z, 0.5 * diameter, z1 - z0)


def described(hole: Hole) -> tuple[float, float, bool, tuple[float, ...], tuple[float, ...]]:
    return (
        round(hole.diameter, 6),
        round(hole.depth, 6),
        hole.through,
        tuple(round(v, 6) + 0.0 for v in hole.axis),
        tuple(round(v, 6) + 0.0 for v in hole.mouth),
    )


def test_a_through_hole(tmp_path: Path) -> None:
    (hole,) = drilled(tmp_path, bar(20.0, 15.0, -1.0, 21.0, 6.0)).holes
    assert described(hole) == (6.0, 20.0, True, Z, (20.0, 15.0, 20.0))


@pytest.mark.parametrize("up", [True, False])
def test_a_blind_hole_opens_where_it_was_drilled_from(tmp_path: Path, up: bool) -> None:
    tool = bar(20.0, 15.0, 8.0, 21.0, 6.0) if up else bar(20.0, 15.0, -1.0, 12.0, 6.0)
    (hole,) = drilled(tmp_path, tool).holes
    end = 20.0 if up else 0.0
    assert described(hole) == (6.0, 12.0, False, (0.0, 0.0, 1.0 if up else -1.0), (20.0, 15.0, end))


def test_a_drill_point_is_not_counted_in_the_depth(tmp_path: Path) -> None:
    tip = kernel.fuse(
        bar(20.0, 15.0, 8.0, 21.0, 6.0), kernel.cone((20.0, 15.0, 8.0), (0.0, 0.0, -1.0), 3.0, 1.8)
    )
    (hole,) = drilled(tmp_path, tip).holes
    assert described(hole) == (6.0, 12.0, False, Z, (20.0, 15.0, 20.0))


def test_a_ball_bottom_is_blind(tmp_path: Path) -> None:
    ball = kernel.fuse(bar(20.0, 15.0, 8.0, 21.0, 6.0), kernel.ball((20.0, 15.0, 8.0), 3.0))
    (hole,) = drilled(tmp_path, ball).holes
    assert described(hole) == (6.0, 12.0, False, Z, (20.0, 15.0, 20.0))


def test_a_stepped_hole_is_several_on_one_axis(tmp_path: Path) -> None:
    part = drilled(tmp_path, bar(20.0, 15.0, -1.0, 21.0, 6.0), bar(20.0, 15.0, 14.0, 21.0, 11.0))
    assert sorted(described(h) for h in part.holes) == [
        (6.0, 14.0, True, Z, (20.0, 15.0, 14.0)),
        (11.0, 6.0, False, Z, (20.0, 15.0, 20.0)),
    ]


def test_a_countersunk_hole_stays_open(tmp_path: Path) -> None:
    sink = kernel.cone((20.0, 15.0, 20.0), (0.0, 0.0, -1.0), 6.0, 6.0)
    (hole,) = drilled(tmp_path, bar(20.0, 15.0, -1.0, 21.0, 6.0), sink).holes
    assert described(hole) == (6.0, 17.0, True, Z, (20.0, 15.0, 17.0))


def test_split_cylinders_are_one_hole(tmp_path: Path) -> None:
    plate = kernel.extrude(Region(rectangle(0, 0, 60, 40), (circle((20, 15), 3).reversed(),)), 0.0, 20.0)
    part = read_part(written(tmp_path, "split.step", plate))
    (hole,) = part.holes
    assert len(hole.faces) == 2
    assert described(hole) == (6.0, 20.0, True, Z, (20.0, 15.0, 20.0))


def test_slots_rounded_corners_and_bosses_are_no_holes(tmp_path: Path) -> None:
    slot = Profile(
        (
            Line((15, 12), (30, 12)),
            Arc((30, 12), (30, 18), (30, 15), True),
            Line((30, 18), (15, 18)),
            Arc((15, 18), (15, 12), (15, 15), True),
        )
    )
    body = kernel.fuse(block(60.0, 40.0, 20.0), bar(50.0, 30.0, 19.0, 30.0, 8.0))
    assert drilled(tmp_path, kernel.extrude(Region(slot), -1.0, 21.0), body=body).holes == ()


def test_two_ears_on_one_axis_have_two_holes(tmp_path: Path) -> None:
    fork = kernel.cut(block(60.0, 40.0, 20.0), block(70.0, 50.0, 8.0, at=(-5.0, -5.0, 6.0)))
    ears = kernel.fuse(fork, block(10.0, 40.0, 20.0)) if len(kernel.solids(fork)) == 2 else fork
    part = drilled(tmp_path, bar(40.0, 20.0, -1.0, 21.0, 6.0), body=ears)
    assert sorted(described(h)[:3] for h in part.holes) == [(6.0, 6.0, True), (6.0, 6.0, True)]


def test_a_hole_crossed_by_another_is_still_one(tmp_path: Path) -> None:
    across = kernel.cylinder((20.0, -1.0, 10.0), (0.0, 1.0, 0.0), 2.0, 42.0)
    part = drilled(tmp_path, bar(20.0, 15.0, -1.0, 21.0, 6.0), across)
    assert (6.0, 20.0, True, Z, (20.0, 15.0, 20.0)) in [described(h) for h in part.holes]


def test_a_slanted_hole_has_its_axis(tmp_path: Path) -> None:
    tilt = math.radians(20)
    axis = (math.sin(tilt), 0.0, math.cos(tilt))
    tool = kernel.cylinder((20.0, 20.0, -10.0), axis, 3.0, 60.0)
    (hole,) = drilled(tmp_path, tool).holes
    assert hole.through and hole.diameter == pytest.approx(6.0)
    assert hole.axis == pytest.approx(axis, abs=1e-9)


def test_holes_of_a_turned_part(tmp_path: Path) -> None:
    body = kernel.cut(block(60.0, 40.0, 20.0), bar(20.0, 15.0, 8.0, 21.0, 6.0))
    part = read_part(written(tmp_path, "turned.step", turned(body, 0.6, shift=(900.0, 50.0, -70.0))))
    (hole,) = part.holes
    assert hole.depth == pytest.approx(12.0, abs=1e-6) and not hole.through
    assert hole.axis == pytest.approx((0.0, -math.sin(0.6), math.cos(0.6)), abs=1e-9)


# ---- picks -------------------------------------------------------------------------------


@pytest.fixture(scope="module")
def plate(tmp_path_factory: pytest.TempPathFactory) -> Part:
    """60 × 40 × 20 with a stepped hole at (20, 15) and a blind one at (45, 25)."""
    return drilled(
        tmp_path_factory.mktemp("plate"),
        bar(20.0, 15.0, -1.0, 21.0, 6.0),
        bar(20.0, 15.0, 14.0, 21.0, 11.0),
        bar(45.0, 25.0, 8.0, 21.0, 5.0),
    )


def pick(*at: float) -> Pick:
    return Pick((at[0], at[1], at[2]), "datum A")


@pytest.mark.parametrize(
    ("at", "said"),
    [
        ((30.0, 0.0, 10.0), "plane, 60.0 × 20.0 mm, faces -Y"),
        ((30.0, -0.04, 10.0), "plane, 60.0 × 20.0 mm, faces -Y"),
        ((5.0, 5.0, 20.0), "plane, 60.0 × 40.0 mm, faces +Z"),
        ((23.0, 15.0, 5.0), "bore Ø6.00 mm, axis Z, 263.9 mm²"),
        ((60.0, 39.9, 10.0), "plane, 40.0 × 20.0 mm, faces +X"),
    ],
)
def test_a_face_is_found_and_described(plate: Part, at: tuple[float, ...], said: str) -> None:
    assert words(face_at(plate, pick(*at))) == said


def test_an_empty_pick_names_what_is_near_and_how_to_pick_it(plate: Part) -> None:
    with pytest.raises(JawrightError) as e:
        face_at(plate, pick(30.0, -3.2, 10.0))
    said = str(e.value)
    assert e.value.code == "pick-empty" and said.startswith("datum A: ")
    assert "plane, 60.0 × 20.0 mm, faces -Y, 3.20 mm away" in said
    assert "use at = [30, 0, 10]" in said


def test_a_point_to_copy_is_in_the_unit_of_the_job_file(plate: Part) -> None:
    """25.4 mm to the inch: what is named can be copied into an inch job and is found again."""
    with pytest.raises(JawrightError) as e:
        face_at(plate, replace(pick(30.0, -3.2, 10.0), units="inch"))
    said = str(e.value)
    assert "at (1.1811, -0.12598, 0.3937) in" in said and " mm" not in said
    assert "plane, 2.362 × 0.787 in, faces -Y, 0.1260 in away" in said
    assert "use at = [1.1811, 0, 0.3937]" in said
    assert face_at(plate, pick(1.1811 * 25.4, 0.0, 0.3937 * 25.4)).normal == pytest.approx((0, -1, 0))
    with pytest.raises(JawrightError) as e:
        hole_at(plate, replace(pick(45.0, 30.0, 15.0), units="inch"))
    assert "hole Ø0.1969 0.472 in deep, opens +Z, 0.0984 in away" in str(e.value)
    assert "use at = [1.77165, 0.98425, 0.55118]" in str(e.value)


def test_an_edge_is_ambiguous_and_says_which_faces_meet(plate: Part) -> None:
    with pytest.raises(JawrightError) as e:
        face_at(plate, pick(30.0, 0.0, 20.0))
    assert e.value.code == "pick-ambiguous"
    assert "faces -Y" in str(e.value) and "faces +Z" in str(e.value)
    points = str(e.value).split("use at = ")[1].split(" [pick")[0].split(" or ")
    found = {words(face_at(plate, pick(*map(float, p.strip("[]").split(","))))) for p in points}
    assert found == {"plane, 60.0 × 20.0 mm, faces -Y", "plane, 60.0 × 40.0 mm, faces +Z"}


def test_halves_of_one_bore_are_not_ambiguous(tmp_path: Path) -> None:
    body = kernel.extrude(Region(rectangle(0, 0, 60, 40), (circle((20, 15), 3).reversed(),)), 0.0, 20.0)
    part = read_part(written(tmp_path, "split.step", body))
    assert face_at(part, pick(23.0, 15.0, 10.0)).hollow  # on the seam between the halves


@pytest.mark.parametrize(
    ("at", "diameter"),
    [
        ((20.0, 15.0, 5.0), 6.0),  # on the axis
        ((23.0, 15.0, 5.0), 6.0),  # on the wall
        ((20.0, 15.0, 0.0), 6.0),  # middle of the far mouth
        ((20.0, 15.0, 20.0), 11.0),  # middle of the mouth
        ((25.5, 15.0, 17.0), 11.0),
        ((45.0, 25.0, 20.0), 5.0),
        ((45.0, 25.0, 8.02), 5.0),
    ],
)
def test_a_hole_is_found_by_wall_axis_and_mouth(plate: Part, at: tuple[float, ...], diameter: float) -> None:
    assert hole_at(plate, pick(*at)).diameter == pytest.approx(diameter)


def test_where_two_holes_meet_is_ambiguous(plate: Part) -> None:
    with pytest.raises(JawrightError) as e:
        hole_at(plate, pick(20.0, 15.0, 14.0))
    assert e.value.code == "pick-ambiguous"
    assert "hole Ø6.00 through, 14.0 mm long, opens +Z" in str(e.value)
    assert "hole Ø11.00 6.0 mm deep, opens +Z" in str(e.value)


def test_no_hole_there_names_the_nearest(plate: Part) -> None:
    with pytest.raises(JawrightError) as e:
        hole_at(plate, pick(45.0, 30.0, 15.0))
    assert e.value.code == "pick-empty"
    assert "hole Ø5.00 12.0 mm deep, opens +Z, 2.50 mm away" in str(e.value)
    assert "use at = [45, 25, 14]" in str(e.value)


def test_a_part_without_holes_says_so(tmp_path: Path) -> None:
    part = read_part(written(tmp_path, "block.step", block(1.0, 2.0, 3.0)))
    with pytest.raises(JawrightError, match="no round hole"):
        hole_at(part, pick(0.0, 0.0, 0.0))


def test_words_of_other_faces(tmp_path: Path, plate: Part) -> None:
    ring = read_part(written(tmp_path, "ring.step", kernel.torus((0.0, 0.0, 0.0), Z, 10.0, 3.0)))
    assert words(ring.faces[0]) == f"rounded edge R3.00 mm, {4 * math.pi**2 * 30:.1f} mm²"
    ball = read_part(written(tmp_path, "ball.step", kernel.ball((0.0, 0.0, 0.0), 4.0)))
    assert words(ball.faces[0]).startswith("ball surface R4.00 mm")
    assert direction((0.6, 0.0, -0.8)) == "(0.600, 0.000, -0.800)"
    assert hole_words(plate.holes[0]).startswith("hole Ø")
