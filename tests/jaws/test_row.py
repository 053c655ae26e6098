"""Several parts in one pair of jaws: every pocket is the first one's copy, and the program cuts them all."""

from __future__ import annotations

import sys
from dataclasses import replace
from functools import cache
from itertools import pairwise
from pathlib import Path

import numpy as np
import pytest

from jawright.cutting.program import write
from jawright.geometry.query import signed_distance
from jawright.hold import resolve, stance
from jawright.hold.view import view
from jawright.jaws import soft
from jawright.jaws.design import Pair, design
from jawright.jaws.row import Spot
from jawright.job.model import Job
from jawright.job.read import read_job
from jawright.part.read import read_part
from jawright.proof.row import row_of
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
