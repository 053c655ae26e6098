"""Several parts in one pair of jaws: every pocket is the first one's copy, and the program cuts them all."""

from __future__ import annotations

import sys
from dataclasses import replace
from functools import cache
from itertools import pairwise
from pathlib import Path

import numpy as np
import pytest

import samples
from jawright import kernel
from jawright.cutting.program import write
from jawright.geometry.curve import Arc, Line
from jawright.geometry.profile import Profile, Region, rectangle
from jawright.geometry.query import signed_distance
from jawright.hold import resolve, stance
from jawright.hold.view import view
from jawright.jaws import soft
from jawright.jaws.design import Pair, design
from jawright.jaws.row import Spot, spots_of
from jawright.job.model import Job
from jawright.job.read import read_job
from jawright.part.read import read_part
from jawright.proof import clears
from jawright.proof.model import Proof
from jawright.proof.row import row_of
from jawright.shop.model import Shop
from jawright.shop.read import read_shop
from jawright.verify.check import check

ROOT = Path(__file__).parent.parent.parent
sys.path.insert(0, str(ROOT / "examples"))
from make_kinds import write as write_parts  # noqa: E402

SHOP = read_shop(ROOT / "src" / "jawright" / "data" / "demo" / "shop.toml")


@cache
def _folder(tmp: Path) -> Path:
    write_parts(tmp)
    return tmp


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return _folder(tmp_path_factory.mktemp("kinds"))


def pair_of(folder: Path, kind: str, **asks: object) -> tuple[Pair, Job]:
    text = (ROOT / "examples" / "kinds" / f"{kind}.toml").read_text(encoding="utf-8")
    (folder / f"{kind}.toml").write_text(text, encoding="utf-8")
    job = read_job(folder / f"{kind}.toml")
    job = replace(job, hold=replace(job.hold, **asks))  # type: ignore[arg-type]
    part = read_part(job.part_file, unit="", thickness=None)
    ask = resolve.resolve(part, job)
    seen = view(part, job, ask, (0.0, 0.0, 1.0))
    turn = stance.turns(seen.outline, seen.up, ask.datums)[0]
    draft = soft.draft(seen, turn, ask=ask, part=part, job=job, shop=SHOP, vise=SHOP.vises[0])
    assert isinstance(draft, soft.Draft), draft
    return design(draft, seen, part=part, job=job, shop=SHOP, vise=SHOP.vises[0]), job


@pytest.mark.parametrize("kind", ["four-up", "mirror-pair"])
def test_every_part_lies_in_its_pocket(folder: Path, kind: str) -> None:
    pair, job = pair_of(folder, kind)
    jaws, hold = pair.jaws, pair.hold
    outlines = [hold.outline, *hold.beside]
    assert len(outlines) == job.hold.parts
    for r in outlines:
        p = np.array(r.outer.points(0.002))
        p = p[(p[:, 1] > 1e-9) | (p[:, 1] < -jaws.gap - 1e-9)]
        assert signed_distance(jaws.pocket, p).max() <= 1e-3
    seats = [c for z in jaws.zones_beside if z.purpose != "clear" for c in z.curves]
    assert len(seats) == (job.hold.parts - 1) * sum(len(z.curves) for z in jaws.zones if z.purpose != "clear")
    on = np.array([c.at(t) for c in seats for t in (0.05, 0.5, 0.95)])
    assert np.abs(signed_distance(jaws.pocket, on)).max() <= 1e-3, "every copy's walls touch"


def test_neighbors_stand_apart_as_said(folder: Path) -> None:
    pair, _ = pair_of(folder, "four-up", spacing=15.0)
    boxes = sorted(r.outer.box for r in (pair.hold.outline, *pair.hold.beside))
    for a, b in pairwise(boxes):
        assert b[0] - a[2] == pytest.approx(15.0, abs=1e-9)


def test_a_mirrored_copy_is_its_own_mirror_image() -> None:
    spot = Spot(30.0, mirrored=True, about=4.0)
    for p in ((0.0, 0.0), (5.0, -3.0)):
        x, y = spot.point(p)
        assert ((x - 30.0) + p[0]) / 2 == pytest.approx(4.0) and y == p[1]


def test_left_and_right_are_mirror_images(folder: Path) -> None:
    pair, _ = pair_of(folder, "mirror-pair")
    left, right = pair.hold.outline.outer, pair.hold.beside[0].outer
    assert left.area > 0 and right.area == pytest.approx(left.area, rel=1e-12)
    axis = (left.box[0] + right.box[2]) / 2
    turned = np.array([(2 * axis - x, y) for x, y in left.points(0.01)])
    assert np.abs(signed_distance(right, turned)).max() <= 0.011


def test_the_program_cuts_every_pocket_and_verifies(folder: Path) -> None:
    pair, job = pair_of(folder, "mirror-pair")
    vise = SHOP.vises[0]
    program = write(pair.jaws, SHOP, job, vise=vise, torque=30.0)
    done = check(
        program.text, origin=program.origin, turned=program.turned, jaws=pair.jaws, shop=SHOP, vise=vise
    )
    assert done.verified, done.findings[:3]


MILLED = """units = "mm"
[job]
name = "End"
quantity = 20
[part]
file = "part.step"
material = "6061-T6"
[hold]
up = "+Z"
[[feature]]
name = "end"
kind = "profile"
at = [40, 15, 7.5]
[[datum]]
letter = "B"
at = [20, 30, 7]
[[datum]]
letter = "C"
at = [0, 15, 7]
"""


def milled_row(folder: Path, shop: Shop = SHOP, **asks: object) -> tuple[Pair, Job]:
    """Two plates of 40 by 30 mm side by side, the end at +X of each milled past the jaws."""
    (folder / "end.toml").write_text(MILLED, encoding="utf-8")
    shape = kernel.extrude(Region(rectangle(0.0, 0.0, 40.0, 30.0)), 0.0, 15.0)
    (folder / "part.step").write_bytes(kernel.step_text({"part": shape}, title="part"))
    job = read_job(folder / "end.toml")
    job = replace(job, hold=replace(job.hold, parts=2, **asks))  # type: ignore[arg-type]
    part = read_part(job.part_file, unit="", thickness=None)
    ask = resolve.resolve(part, job)
    seen = view(part, job, ask, (0.0, 0.0, 1.0))
    turn = stance.turns(seen.outline, seen.up, ask.datums)[0]
    draft = soft.draft(seen, turn, ask=ask, part=part, job=job, shop=shop, vise=shop.vises[0])
    assert isinstance(draft, soft.Draft), draft
    return design(draft, seen, part=part, job=job, shop=shop, vise=shop.vises[0]), job


def beside(pair: Pair, job: Job) -> Proof:
    """*clears*, cutter to jaw."""
    part = read_part(job.part_file, unit="", thickness=None)
    return next(p for p in clears.prove(pair.hold, pair.jaws, part, job, SHOP) if p.name == "cutter to jaw")


@pytest.mark.parametrize("mirrored", [False, True])
def test_every_part_of_a_row_has_its_room_beside_the_wall_milled_past_the_jaws(
    tmp_path: Path, mirrored: bool
) -> None:
    """The neighbors' floors were left standing under the cutter, level with the parts' underside."""
    pair, job = milled_row(tmp_path, mirrored=mirrored)
    jaws, hold = pair.jaws, pair.hold
    assert beside(pair, job).verdict == "pass"
    rooms = [w for w in jaws.wells if w.purpose == "room beside end"]
    assert len(rooms) == 2
    (own,) = (f for f in hold.features if f.name == "end")
    r, far = own.cutter.diameter / 2, hold.beside[0].outer.box
    for x in (hold.outline.outer.box[2] + r, far[0] - r if mirrored else far[2] + r):
        # the middle of the cutter, all along the wall of each part
        at = np.array([(x, y) for y in np.linspace(far[1], far[3], 30)])
        assert any((signed_distance(w.region, at) <= -r).all() for w in rooms)


def test_neighbors_stand_further_apart_than_the_largest_cutter_that_mills_them(tmp_path: Path) -> None:
    """Room was left for a cutter of 20 mm, whatever milled the wall."""
    big = replace(next(c for c in SHOP.cutters if c.id == "EM16"), id="EM32", diameter=32.0)
    shop = replace(SHOP, cutters=(*SHOP.cutters, big))
    pair, job = milled_row(tmp_path, shop)
    (end,) = (f for f in pair.hold.features if f.name == "end")
    assert end.cutter.diameter == 32.0
    a, b = sorted(r.outer.box for r in (pair.hold.outline, *pair.hold.beside))
    assert b[0] - a[2] == pytest.approx(34.0)
    assert beside(pair, job).verdict == "pass"


@pytest.mark.parametrize(("spacing", "meets"), [(16.6, False), (16.4, True), (12.0, True)])
def test_a_cutter_that_meets_the_part_beside_is_told(tmp_path: Path, spacing: float, meets: bool) -> None:
    """The cutter of 16 mm mills the end of one part; past the other end of the row it meets none."""
    pair, job = milled_row(tmp_path)
    far = pair.hold.beside[0]
    at = pair.hold.outline.outer.box[2] + spacing - far.outer.box[0]
    near = replace(pair.hold, beside=(far.moved(shift=(at, 0.0)),))
    got = beside(replace(pair, hold=near), job)
    assert (got.verdict == "fail" and "part beside" in got.sentence) == meets
    if meets:
        assert got.value == pytest.approx(spacing - 16.0, abs=0.02)
    left = replace(pair.hold, beside=(near.outline.moved(shift=(-40.0 - spacing, 0.0)),))
    assert (beside(replace(pair, hold=left), job).verdict == "fail") == meets, "then the other part's end"


def test_a_mirrored_neighbor_is_known_by_its_curves_where_corners_are_alike() -> None:
    """A plate with a hollow left end has the corners of one with a hollow right end."""
    hollow = Profile(
        (
            Line((0.0, 0.0), (40.0, 0.0)),
            Line((40.0, 0.0), (40.0, 20.0)),
            Line((40.0, 20.0), (0.0, 20.0)),
            Arc((0.0, 20.0), (0.0, 0.0), (-10.0, 10.0), False),
        )
    )
    for spot in (Spot(55.0), Spot(55.0, mirrored=True, about=20.0)):
        row = replace(samples.hold(), outline=Region(hollow), beside=(spot.region(Region(hollow)),))
        (found,) = spots_of(row)
        assert found.mirrored == spot.mirrored
        for p in ((3.0, 5.0), (40.0, 20.0)):
            assert found.point(p) == pytest.approx(spot.point(p))


def test_shares_fall_with_the_spread_of_sizes(folder: Path) -> None:
    pair, job = pair_of(folder, "four-up")
    row = row_of(pair.hold, pair.jaws, job, SHOP)
    force = 6000.0
    tight, wide = replace(row, profile=0.004, form=0.0), replace(row, profile=0.2, form=0.0)
    assert tight.share(force)[0] > 0.05 and wide.share(force)[0] < 0.02
    assert tight.share(force)[0] <= 0.25 <= tight.share(force)[1]
    fits = wide.match(force, 0.125)
    assert replace(row, profile=fits, form=0.0).share(force)[0] == pytest.approx(0.125, abs=0.01)
    need = 700.0
    total = tight.total_for_at_least(need)
    assert total * tight.share(total)[0] == pytest.approx(need, rel=0.02)
    assert tight.total_for_at_most(need) <= 4 * need
