"""A part is held the same however it lies in its file: stances are sought on the part itself."""

from __future__ import annotations

import math
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from jawright import kernel
from jawright.conductor import plan
from jawright.geometry.curve import Arc, Line, right_normal
from jawright.geometry.frame import Move, Vec3, dot, standing
from jawright.geometry.polygon import to_polygon
from jawright.geometry.profile import Profile, Region, circle, rectangle
from jawright.hold import milled
from jawright.hold.leaning import touching
from jawright.hold.model import Contact
from jawright.hold.resolve import Ask, resolve
from jawright.hold.stance import Turn, turns, ups
from jawright.hold.view import view
from jawright.jaws import soft
from jawright.job.model import Feature, Job, Pick
from jawright.job.read import read_job
from jawright.part.model import Part
from jawright.part.read import read_part
from jawright.shop.read import read_shop
from jaws.shapes import JOB, outline
from test_conductor import DEMO

TRIANGLE = Profile(
    (Line((0.0, 0.0), (60.0, 0.0)), Line((60.0, 0.0), (15.0, 40.0)), Line((15.0, 40.0), (0.0, 0.0)))
)
OVAL = Profile(  # no straight edge and no two points to lie on
    (
        Arc((-30.0, 0.0), (30.0, 0.0), (0.0, 40.0), True),
        Arc((30.0, 0.0), (-30.0, 0.0), (0.0, -40.0), True),
    )
)


TALL = 10.0


def rotation(seed: int) -> Move:
    """Any rigid move, from a unit quaternion."""
    rng = np.random.default_rng(seed)
    q = rng.normal(size=4)
    w, x, y, z = q / np.linalg.norm(q)
    rows = (
        (1 - 2 * (y * y + z * z), 2 * (x * y - w * z), 2 * (x * z + w * y)),
        (2 * (x * y + w * z), 1 - 2 * (x * x + z * z), 2 * (y * z - w * x)),
        (2 * (x * z - w * y), 2 * (y * z + w * x), 1 - 2 * (x * x + y * y)),
    )
    return Move("part", "part", rows, (12.0, -70.0, 31.0))


def solid(outline: Profile, folder: Path, move: Move | None = None) -> Part:
    shape = kernel.extrude(Region(outline), 0.0, TALL)
    path = folder / "part.step"
    path.write_bytes(
        kernel.step_text({"part": shape if move is None else kernel.moved(shape, move)}, title="p")
    )
    return read_part(path)


@pytest.mark.parametrize("degrees", [1.0, 23.0, 90.5, 200.0])
@pytest.mark.parametrize("outline", [TRIANGLE, OVAL, rectangle(0.0, 0.0, 50.0, 20.0)])
def test_the_sweep_goes_with_the_part(outline: Profile, degrees: float) -> None:
    """Every turn of the part drawn straight is a turn of the part drawn askew, and the other way round."""
    up, by = (0.0, 0.0, 1.0), math.radians(degrees)
    straight = sorted((t.angle % (2 * math.pi)) for t in turns(outline, up, ()))
    askew = sorted(((t.angle + by) % (2 * math.pi)) for t in turns(outline.moved(turn=by), up, ()))
    assert len(straight) == len(askew)
    for a in straight:
        assert min(abs(math.remainder(a - b, 2 * math.pi)) for b in askew) < 1e-6


def test_no_turn_is_told_as_a_full_one() -> None:
    """Rounding leaves a datum that lies straight a hair short of a whole turn."""
    block = rectangle(0.0, 0.0, 50.0, 20.0)
    for k in range(1, 40):
        back = block.moved(turn=0.1 * k).moved(turn=-0.1 * k)
        assert all(round(math.degrees(t.angle), 1) < 360.0 for t in turns(back, (0.0, 0.0, 1.0), ()))


@pytest.mark.parametrize("seed", range(6))
def test_a_block_that_lies_askew_in_space_has_its_six_sides(seed: int, tmp_path: Path) -> None:
    move = rotation(seed)
    found = ups(solid(rectangle(0.0, 0.0, 50.0, 20.0), tmp_path, move), None, ())
    want = [move.direction(u) for u in _axes()]
    assert len(found) == 6
    assert all(any(dot(u, w) > 0.99999 for u in found) for w in want)


def test_a_plate_drawn_askew_in_plan_can_stand_on_its_edges(tmp_path: Path) -> None:
    outline = rectangle(0.0, 0.0, 50.0, 20.0).moved(turn=math.radians(23.0))
    assert len(ups(solid(outline, tmp_path), None, ())) == 6


def test_a_part_along_its_file_has_the_files_axes_only(tmp_path: Path) -> None:
    assert ups(solid(TRIANGLE, tmp_path), None, ()) == [(0.0, 0.0, 1.0), (0.0, 0.0, -1.0), (0.0, 1.0, 0.0)]
    assert ups(solid(circle((0.0, 0.0), 10.0), tmp_path), None, ()) == [(0.0, 0.0, 1.0), (0.0, 0.0, -1.0)]


@pytest.mark.parametrize("number", [0, 9])
def test_a_plan_turns_with_the_drawing(number: int, tmp_path: Path) -> None:
    """An outline of the property tests drawn straight and askew: the same stance, the same figures."""
    straight, askew = (_planned(number, degrees, tmp_path) for degrees in (0.0, 23.0))
    assert math.remainder(askew[0] + math.radians(23.0) - straight[0], 2 * math.pi) == pytest.approx(
        0.0, abs=1e-6
    )
    assert straight[1].keys() == askew[1].keys()
    for name, (verdict, value) in straight[1].items():
        assert askew[1][name][0] == verdict, name
        if value is not None:
            assert askew[1][name][1] == pytest.approx(value, rel=2e-3, abs=1e-4), name


def _planned(number: int, degrees: float, folder: Path) -> tuple[float, dict[str, tuple[str, float | None]]]:
    """Turn of the part in the vise [rad], and verdict and figure of every proof."""
    profile = outline(number)
    assert profile is not None
    profile = profile.moved(turn=math.radians(degrees))
    inside = to_polygon(Region(profile), 0.01).representative_point()
    solid(profile, folder)
    text = JOB.format(number=number, x=inside.x, y=inside.y, tall=TALL)
    (folder / "job.toml").write_text(text, encoding="utf-8")
    record = plan(read_job(folder / "job.toml"), read_shop(DEMO / "shop.toml"))
    assert record.hold is not None
    return record.hold.stance.turn, {f"{p.question} {p.name}": (p.verdict, p.value) for p in record.proofs}


def _axes() -> list[Vec3]:
    return [(s * x, s * y, s * z) for x, y, z in ((1.0, 0, 0), (0, 1.0, 0), (0, 0, 1.0)) for s in (1.0, -1.0)]


def stepped(folder: Path, move: Move | None = None) -> Part:
    """A block of 60 by 40 by 8 mm with one of 40 by 40 by 12 mm on it."""
    shape = kernel.fuse(
        kernel.extrude(Region(rectangle(0.0, 0.0, 60.0, 40.0)), 0.0, 8.0),
        kernel.extrude(Region(rectangle(10.0, 0.0, 50.0, 40.0)), 8.0, 20.0),
    )
    path = folder / "stepped.step"
    path.write_bytes(
        kernel.step_text({"part": shape if move is None else kernel.moved(shape, move)}, title="s")
    )
    return read_part(path)


STILL = Move("part", "part", ((1.0, 0.0, 0.0), (0.0, 1.0, 0.0), (0.0, 0.0, 1.0)), (0.0, 0.0, 0.0))


@pytest.mark.parametrize("seed", [None, 0, 1, 2, 3])
def test_heights_of_a_part_that_lies_askew_are_its_own(seed: int | None, tmp_path: Path) -> None:
    """They were those of boxes along the axes of the file: 77 mm of a part 20 mm high, and no wall deep."""
    move = STILL if seed is None else rotation(seed)
    up, part = move.direction((0.0, 0.0, 1.0)), stepped(tmp_path, None if seed is None else move)
    low, high = milled.span(part, up)
    assert high - low == pytest.approx(20.0, abs=1e-5)
    walls = [f for f in part.faces if abs(dot(f.normal, up)) < 1e-6]
    got = sorted(
        (round(milled.lowest(part, f.index, up) - low, 4) + 0.0, round(f.area)) for f in walls if f.area > 100
    )
    assert got == [(0.0, 320), (0.0, 320), (0.0, 960), (0.0, 960), (8.0, 480), (8.0, 480)]

    def ask(*at: tuple[float, float, float]) -> tuple[Job, Ask]:
        features = [Feature("top", "face", None, depth=0.5)]
        features += [Feature(f"wall {k}", "profile", Pick(move.point(p), "wall")) for k, p in enumerate(at)]
        job = replace(read_job(DEMO / "pawl.toml"), datums=(), tolerances=(), features=tuple(features), up=up)
        return job, resolve(part, job)

    job, asked = ask((60.0, 20.0, 4.0), (50.0, 20.0, 14.0))
    assert len(asked.features[0].faces) == 1, "the top is faced"
    deep, shallow = (milled.deep(f, part, up) for f in asked.features[1:])
    assert len(deep) == 1 and not shallow
    seen = view(part, job, asked, up)
    assert seen.tall == pytest.approx(20.0, abs=1e-5) and len(seen.milled) == 1
    job, asked = ask((50.0, 20.0, 14.0))
    assert view(part, job, asked, up).grip_depth == pytest.approx(6.5, abs=1e-5)


@pytest.mark.parametrize("seed", [0, 1, 2])
def test_a_leaning_wall_that_lies_askew_touches_at_its_own_height(seed: int, tmp_path: Path) -> None:
    """A cone 10 mm high on a plinth of 2 mm, wider at the bottom: just above the plinth."""
    shape = kernel.cut(
        kernel.fuse(
            kernel.extrude(Region(circle((0.0, 0.0), 9.0)), 0.0, 2.0),
            kernel.cone((0.0, 0.0, 2.0), (0.0, 0.0, 1.0), 10.0, 40.0),
        ),
        kernel.extrude(Region(rectangle(-20.0, -20.0, 20.0, 20.0)), 12.0, 60.0),
    )
    found = []
    for move in (STILL, rotation(seed)):
        path = tmp_path / "cone.step"
        path.write_bytes(kernel.step_text({"part": kernel.moved(shape, move)}, title="c"))
        part, up = read_part(path), move.direction((0.0, 0.0, 1.0))
        face = next(f.index for f in part.faces if f.kind == "cone")
        c = Contact("G1", "floating", (0.0, -10.0, 5.0), (0.0, 1.0, 0.0), 0.0, 5.0, face, False)
        low = kernel.box(part.shape, standing(up, turn=0.0, shift=(0.0, 0.0, 0.0)))[2]
        (got,) = touching([c], part, up, low=low, floor=40.0, top=60.0, broken=0.0)
        found.append(got.point[2])
    assert 42.0 < found[0] < 42.2 and found[1] == pytest.approx(found[0], abs=1e-4)


@pytest.mark.parametrize("seed", [0, 1, 2])
def test_a_wall_that_lies_askew_is_milled_from_its_one_end_to_the_other(seed: int, tmp_path: Path) -> None:
    """By the corners of its box it was loaded along 47.2 mm of a wall of 40, past both its ends."""
    for move in (STILL, rotation(seed)):
        part = stepped(tmp_path, move)
        up = move.direction((0.0, 0.0, 1.0))
        end = Feature("end", "profile", Pick(move.point((60.0, 20.0, 4.0)), "end"))
        job = replace(read_job(DEMO / "pawl.toml"), datums=(), tolerances=(), features=(end,), up=up)
        shop, ask = read_shop(DEMO / "shop.toml"), resolve(part, job)
        seen = view(part, job, ask, up)
        (milled_now,), curves = seen.milled, seen.outline.curves
        nx, ny = right_normal(curves[(milled_now + 1) % len(curves)], 0.5)  # the wall beside, on the jaw
        turn = Turn(math.pi / 2 - math.atan2(ny, nx), "", 1)
        draft = soft.draft(seen, turn, ask=ask, part=part, job=job, shop=shop, vise=shop.vises[0])
        assert isinstance(draft, soft.Draft), draft
        (made,) = draft.hold.features
        assert math.dist(made.path[0][:2], made.path[-1][:2]) == pytest.approx(40.0, abs=1e-4)
        assert made.bottom == pytest.approx(draft.hold.floor, abs=1e-4)
        x0, y0, x1, y1 = draft.hold.outline.outer.box
        for x, y, _ in (made.path[0], made.path[-1]):
            assert min(abs(x - x0), abs(x - x1)) < 1e-4 and min(abs(y - y0), abs(y - y1)) < 1e-4
