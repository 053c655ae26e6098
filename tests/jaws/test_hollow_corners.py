"""A wall milled into a hollow corner of the part: the jaws end where its cutter goes, and *clears* sees it.

The cutter's way is walked here along the part's outline grown by its radius, by a general geometry library.
"""

from __future__ import annotations

import math
from dataclasses import replace
from pathlib import Path

import pytest
import shapely

from jawright import choose
from jawright.begun import begin
from jawright.clamping_choice import two
from jawright.clamping_jobs import jobs_of
from jawright.geometry.curve import Arc, Line
from jawright.geometry.polygon import to_polygon
from jawright.geometry.profile import Profile, Region
from jawright.hold.model import Hold, MadeFeature
from jawright.hold.resolve import resolve
from jawright.jaws.design import Pair, design
from jawright.job.model import Feature, Job, Pick
from jawright.job.read import read_job
from jawright.part.plate import make_plate
from jawright.proof.clears import prove
from jawright.proof.obstacles import sweep
from jawright.shop.read import read_shop
from jaws.shapes import rounded
from test_conductor import DEMO

TALL, UP = 14.0, (0.0, 0.0, 1.0)
SHOP = read_shop(DEMO / "shop.toml")
FINE = 1e-4
SHAPES = {
    "l": ([(0, 0), (90, 0), (90, 25), (30, 25), (30, 60), (0, 60)], [3, 3, 3, 6, 3, 3]),
    "l wide corner": ([(0, 0), (90, 0), (90, 25), (30, 25), (30, 60), (0, 60)], [3, 3, 3, 15, 3, 3]),
    "l turned over": ([(0, 0), (60, 0), (60, 90), (35, 90), (35, 30), (0, 30)], [3, 3, 3, 3, 6, 3]),
    "t": ([(0, 0), (100, 0), (100, 24), (68, 24), (68, 60), (32, 60), (32, 24), (0, 24)],
          [2, 2, 2, 6, 2, 2, 6, 2]),
}  # fmt: skip


def job_of(outline: Profile) -> Job:
    """Every straight wall of the outline milled, nothing else."""
    walls = [c.at(0.5) for c in outline.curves if isinstance(c, Line)]
    features = tuple(
        Feature(f"w{k}", "profile", Pick((float(x), float(y), TALL / 2), f"w{k}"))
        for k, (x, y) in enumerate(walls, 1)
    )
    return replace(read_job(DEMO / "pawl.toml"), features=features, datums=(), tolerances=(), up=UP)


def designed(outline: Profile, folder: Path) -> tuple[Pair, Job]:
    """The jaws of the second clamping, in its best stance."""
    part = make_plate(Region(outline), "mm", (), file="l.dxf", data=b"", thickness=TALL)
    job = job_of(outline)
    ask = resolve(part, job)
    found = two(part, job, ask, UP, SHOP)
    assert found is not None
    made = jobs_of(found, part, job, ask, SHOP)
    assert made is not None
    own = made.jobs[1].read_in(folder)
    begun = begin(own, SHOP)
    best = max((c for c in begun.stances() if not c.lost), key=choose.score)
    assert best.draft is not None and best.view is not None
    pair = design(best.draft, best.view, part=begun.part, job=own, shop=SHOP, vise=best.draft.hold.vise)
    return pair, own


def way_of(f: MadeFeature, hold: Hold) -> shapely.MultiPoint:
    """Where the cutter's center goes along a wall and round its corners: points of the grown outline [mm]."""
    curves = hold.outline.outer.curves
    x, y = f.path[1][:2]
    wall = min((i for i, c in enumerate(curves) if isinstance(c, Line)), key=lambda i: _away(curves[i], x, y))
    n = len(curves)
    own = [wall, *(k for k in ((wall - 1) % n, (wall + 1) % n) if isinstance(curves[k], Arc))]
    lines = shapely.union_all([shapely.LineString([curves[i].at(k / 200) for k in range(201)]) for i in own])
    r = f.cutter.diameter / 2
    grown = to_polygon(hold.outline, FINE).buffer(r, quad_segs=256).exterior
    points = [grown.interpolate(d) for d in range(int(grown.length))]
    return shapely.MultiPoint([p for p in points if p.distance(lines) < r + 1e-3])


def _away(c: Line, x: float, y: float) -> float:
    return shapely.LineString([c.start, c.end]).distance(shapely.Point(x, y))


@pytest.mark.parametrize("name", SHAPES)
def test_the_jaws_end_where_the_cutter_goes(name: str, tmp_path: Path) -> None:
    points, radii = SHAPES[name]
    outline = rounded([(float(x), float(y)) for x, y in points], [float(r) for r in radii])
    pair, _ = designed(outline, tmp_path)
    hold, jaws = pair.hold, pair.jaws
    metal = shapely.union_all([shapely.box(j.x0, j.y0, j.x1, j.y1) for j in (jaws.fixed, jaws.floating)])
    metal -= shapely.union_all([to_polygon(w.region, FINE) for w in jaws.wells if w.bottom < jaws.floor])
    hollow = 0
    for f in hold.features:
        way, r = way_of(f, hold), f.cutter.diameter / 2
        assert len(way.geoms) > 10
        # the pocket's floor counts as metal beside the part, as the cutter goes below it
        assert way.distance(metal) > r + 0.5, f"{f.name} runs into a jaw"
        seen = sweep(f, hold).area
        missed = way.buffer(r).difference(seen.buffer(0.2))
        assert missed.is_empty, f"{f.name}: clears does not look at {missed.bounds}"

        hollow += f.cutter.diameter == (12.0 if 6 in radii else 16.0)
    assert hollow, "the thickest that goes into the hollow corner"
    proofs = {p.name: p for p in prove(hold, jaws, None, read_job(DEMO / "pawl.toml"), SHOP)}  # type: ignore[arg-type]
    assert proofs["cutter to jaw"].verdict == "pass"


def test_a_cutter_too_thick_for_the_corner_stops_at_the_next_wall(tmp_path: Path) -> None:
    """Ø16 beside R6, as a job may name it: it goes as far as it can, and no further."""
    points, radii = SHAPES["l"]
    outline = rounded([(float(x), float(y)) for x, y in points], [float(r) for r in radii])
    pair, _ = designed(outline, tmp_path)
    hold = pair.hold
    thick = next(c for c in SHOP.cutters if c.kind == "end mill" and c.diameter == 16.0)
    curves = hold.outline.outer.curves
    part = to_polygon(hold.outline, FINE)
    inner = [f for f in hold.features if f.cutter.diameter < 16.0]
    assert inner
    for f in inner:
        area = sweep(replace(f, cutter=thick), hold).area
        assert area.intersection(part).area < 0.5, "it does not cut into the wall it comes to"
        fillet = next(c for c in curves if isinstance(c, Arc) and not c.ccw)
        gap = area.distance(shapely.Point(fillet.at(0.5)))
        # a circle of radius 8 that touches both walls leaves (8 - 6)(√2 - 1) at the middle of an R6 corner
        assert gap == pytest.approx(2.0 * (math.sqrt(2.0) - 1.0), abs=0.02)
