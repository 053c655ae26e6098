"""Both clampings of a part that is milled all round: two jobs, two plans, one folder."""

from __future__ import annotations

import math
import tomllib
from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path

import pytest
import shapely

import jawright
from clamped import ACROSS, STEPS, WITHIN, job_in, planned, shop
from jawright import clamping_plans, kernel
from jawright.clamping_choice import two
from jawright.clamping_jobs import Both, jobs_of
from jawright.conductor import whole
from jawright.errors import JawrightError
from jawright.geometry.frame import standing
from jawright.geometry.offset import offset
from jawright.geometry.polygon import to_polygon
from jawright.geometry.profile import Region, rectangle
from jawright.hold.apart import apart
from jawright.hold.resolve import resolve
from jawright.jaws import milled_past
from jawright.jaws.place import Place
from jawright.job.model import Feature, Job, Pick, ToleranceAsk
from jawright.job.read import read_job
from jawright.job.write import job_text
from jawright.papers import bundle
from jawright.papers.questions import reasons_not_ready
from jawright.part.read import read_part
from jawright.proof.body import carrying
from jawright.proof.obstacles import sweep
from jawright.record import Whole
from jawright.record_json import dumps, loads
from jaws.shapes import rounded
from test_conductor import DAY, DEMO

UP = (0.0, 0.0, 1.0)
STOCK = 1.6
"""A tenth of the diameter of the demo shop's largest end mill, 16 mm: what one side cut is taken to take."""


def both(job: Job) -> Both:
    part = read_part(job.part_file)
    ask = resolve(part, job)
    found = two(part, job, ask, UP, shop())
    assert found is not None
    made = jobs_of(found, part, job, ask, shop())
    assert made is not None
    return made


def read_back(made: Both, folder: Path) -> list[Job]:
    """Both jobs as ``read_job`` gives them from the files that are left for them."""
    jobs = []
    for one in made.jobs:
        place = folder / one.folder
        place.mkdir()
        jobs.append(one.read_in(place))
    return jobs


def volume(path: Path) -> float:
    return read_part(path).volume


def test_both_jobs_say_what_each_makes_and_how_it_stands(tmp_path: Path) -> None:
    first, second = read_back(both(job_in(tmp_path, *WITHIN)), tmp_path)
    assert [f.name for f in first.features] == ["top", "bore", "far wall", "near wall"]
    assert [f.name for f in second.features] == ["left end", "right end"]
    assert first.hold.turn == pytest.approx(math.pi / 2) and second.hold.turn == pytest.approx(0.0)
    assert first.up == second.up == UP
    assert [d.letter for d in first.datums] == ["A", "B"], "datum C is not there yet"
    assert [d.letter for d in second.datums] == ["A", "B", "C"]
    assert second.hold.fixed_jaw_datum == "B" and not first.hold.fixed_jaw_datum
    assert [t.feature for t in first.tolerances] == ["near wall"]
    assert [t.feature for t in second.tolerances] == ["right end"]
    assert (first.incoming.stock_on_top.value, second.incoming.stock_on_top.value) == (0.5, 0.0)
    assert second.incoming.profile.basis.startswith("default"), "walls finished in clamping 1, not as sawn"
    assert first.quantity == second.quantity == 40 and "clamping 1 of 2" in first.name


def test_the_part_of_the_first_has_its_stock_where_it_is_gripped(tmp_path: Path) -> None:
    """Two slabs of 40 × 12 mm and one cut thick; the second begins with what the first leaves."""
    first, second = read_back(both(job_in(tmp_path, *WITHIN)), tmp_path)
    own, blank = volume(tmp_path / "pad.step"), volume(first.part_file)
    assert blank - own == pytest.approx(2 * STOCK * 40.0 * 12.0, rel=1e-6)
    assert volume(second.part_file) == pytest.approx(own, rel=1e-9)
    assert second.incoming.model is not None
    assert second.incoming.model.read_bytes() == first.part_file.read_bytes()


@pytest.mark.parametrize("radius", [3.0, 8.0])
def test_rounded_corners_come_with_the_second_wall(radius: float, tmp_path: Path) -> None:
    """The first finishes its walls right out to the end of the stock: the corners are filled up till then."""
    corners = [(0.0, 0.0), (70.0, 0.0), (70.0, 40.0), (0.0, 40.0)]
    made = both(job_in(tmp_path, *WITHIN, outline=rounded(corners, [radius] * 4)))
    assert not made.between, "the second goes round them"
    first, _ = read_back(made, tmp_path)
    hole = math.pi * 5.0**2
    assert volume(first.part_file) == pytest.approx(12.0 * ((70.0 + 2 * STOCK) * 40.0 - hole), rel=1e-6)


@pytest.mark.parametrize("radius", [pytest.param(3.0, marks=pytest.mark.long), 8.0])
def test_a_cutter_goes_round_the_corners_and_meets_no_jaw(radius: float, tmp_path: Path) -> None:
    """Its way round each end, walked in plan along the true outline, keeps 1 mm off the jaws that stand."""
    corners = [(0.0, 0.0), (70.0, 0.0), (70.0, 40.0), (0.0, 40.0)]
    _, second = read_back(both(job_in(tmp_path, *WITHIN, outline=rounded(corners, [radius] * 4))), tmp_path)
    record = jawright.plan(second, shop(), made=DAY)
    hold, jaws = record.hold, record.jaws
    assert record.verdict in ("pass", "caution") and hold is not None and jaws is not None
    outline = to_polygon(hold.outline, 1e-4)
    metal = shapely.union_all([shapely.box(j.x0, j.y0, j.x1, j.y1) for j in (jaws.fixed, jaws.floating)])
    metal -= shapely.union_all([to_polygon(w.region, 1e-4) for w in jaws.wells if w.bottom < jaws.floor])
    x0, _, x1, _ = outline.bounds
    for f, near in zip(hold.features, ((x0 - 30.0, x0 + radius), (x1 - radius, x1 + 30.0)), strict=True):
        r = f.cutter.diameter / 2
        way = outline.buffer(r, quad_segs=256).exterior
        way = way.intersection(shapely.box(near[0], -200.0, near[1], 200.0))
        assert way.length > 40.0 + math.pi * r
        assert way.distance(metal) > r + 1.0 - 0.02
        assert way.difference(sweep(f, hold).area.buffer(0.02)).length < 1e-6, "clears looks at all of it"


def test_the_stock_is_the_radial_engagement_or_the_model_of_what_comes_in(tmp_path: Path) -> None:
    job = job_in(tmp_path, *WITHIN)
    wide = tuple(replace(f, radial=2.5) if f.name.endswith("end") else f for f in job.features)
    first, _ = read_back(both(replace(job, features=wide)), tmp_path)
    box = kernel.box(read_part(first.part_file).shape, standing(UP, turn=0.0, shift=(0.0, 0.0, 0.0)))
    assert (box[0], box[3]) == pytest.approx((-2.5, 72.5), abs=1e-6)
    sawn = tmp_path / "sawn.step"

    kernel.write_step({"sawn": kernel.extrude(Region(rectangle(-3.0, -2.0, 71.0, 42.0)), 0.0, 12.5)}, sawn)
    other = tmp_path / "model"
    other.mkdir()
    modeled = replace(job, incoming=replace(job.incoming, model=sawn))
    first, _ = read_back(both(modeled), other)
    box = kernel.box(read_part(first.part_file).shape, standing(UP, turn=0.0, shift=(0.0, 0.0, 0.0)))
    assert (box[0], box[3]) == pytest.approx((-3.0, 71.0), abs=1e-6), "each end by itself"
    assert first.incoming.model is not None and first.incoming.model.name == "incoming.step"


def test_what_lies_between_the_clampings_is_unknown(tmp_path: Path) -> None:
    """A square of side zone/√2 lies within the round zone: only its part along B is judged."""
    square_to_c = ToleranceAsk("bore", "perpendicularity", 0.1, ("C",), False)
    back = ToleranceAsk("left end", "perpendicularity", 0.1, ("B",), False)
    made = both(job_in(tmp_path, ACROSS, square_to_c, back))
    first, second = read_back(made, tmp_path)
    (t,) = first.tolerances
    assert t.zone == pytest.approx(0.2 / math.sqrt(2)) and t.datums == ("A", "B")
    assert t.along == "B" and not t.diametral
    assert [t.feature for t in second.tolerances] == ["left end"], "B lies on the fixed jaw there"
    assert len(made.between) == 2 and all("unknown" in b and "datum C" in b for b in made.between)


def test_a_datum_that_the_second_does_not_locate_on_is_between(tmp_path: Path) -> None:
    job = job_in(tmp_path, *WITHIN, ToleranceAsk("left end", "distance", 0.2, ("D",), False))
    bore = replace(job.datums[0], letter="D", pick=Pick((40.0, 20.0, 6.0), "D"))
    made = both(replace(job, datums=(*job.datums, bore)))
    _, second = read_back(made, tmp_path)
    assert [t.feature for t in second.tolerances] == ["right end"]
    assert "datum D is made in clamping 1" in made.between[0]


def test_a_feature_of_both_is_told_and_not_planned(tmp_path: Path) -> None:
    job = job_in(tmp_path)
    part = read_part(job.part_file)
    ask = resolve(part, job)
    found = two(part, job, ask, UP, shop())
    assert found is not None
    split = replace(found, features=(("outline where it is not held",), ("outline where the first held it",)))
    assert jobs_of(split, part, job, ask, shop()) is None


def test_what_comes_in_as_a_sawn_block_is_shared_out_wall_by_wall(tmp_path: Path) -> None:
    """All that is reached from above is one profile; the job of each clamping names its walls."""
    job = job_in(tmp_path)
    sawn = tmp_path / "sawn.step"
    kernel.write_step({"sawn": kernel.extrude(Region(rectangle(-3.0, -2.0, 71.0, 42.0)), 0.0, 12.5)}, sawn)
    job = replace(job, features=(), reachable=True, incoming=replace(job.incoming, model=sawn))
    part = read_part(job.part_file)
    ask = apart(resolve(part, job), part, UP)
    found = two(part, job, ask, UP, shop())
    assert found is not None
    made = jobs_of(found, part, job, ask, shop())
    assert made is not None
    first, second = read_back(made, tmp_path)
    walls = {f"profile 1 {way}" for way in ("+X", "-X", "+Y", "-Y")}
    early, late = (walls & {f.name for f in j.features} for j in (first, second))
    assert early | late == walls and not early & late
    assert {n[-1] for n in early} != {n[-1] for n in late} and len(late) == 2, "two that face each other"
    own = resolve(read_part(second.part_file), second)
    assert {f.ask.name for f in own.features if f.face is not None} == late


@pytest.mark.parametrize("name", ["pawl.toml"])
def test_a_job_that_is_written_reads_back(name: str, tmp_path: Path) -> None:
    job = read_job(DEMO / name)
    inch = replace(job, units="inch")
    (tmp_path / "again.toml").write_text(job_text(inch, part="part.step"), encoding="utf-8")
    again = read_job(tmp_path / "again.toml")
    assert tomllib.loads((tmp_path / "again.toml").read_text("utf-8"))["units"] == "mm"
    assert again.units == "inch" and again.features == job.features
    assert again.incoming == job.incoming and again.datums == job.datums
    assert again.tolerances == job.tolerances and again.material == job.material


def test_both_are_proven_and_the_whole_is_the_worse_of_both() -> None:
    w = planned()
    assert w.record.decision.kind == "two clampings" and w.record.hold is None
    assert w.record.ready and w.record.verdict == "caution" and not reasons_not_ready(w.record)
    for told, one in zip(w.record.clampings, w.clampings, strict=True):
        assert one.record is not None and one.record.ready and told.ready
        assert one.record.verification is not None and one.record.verification.verified
        clears = [p for p in one.record.proofs if p.name == "cutter to jaw"]
        assert [p.verdict for p in clears] == ["pass"]
    assert any(s.startswith("clamping 1 of 2: designing") for s in STEPS)
    assert any(s.startswith("clamping 2 of 2: designing") for s in STEPS)
    assert dumps(loads(dumps(w.record))) == dumps(w.record)
    minutes = [p.record.decision.minutes for p in w.clampings if p.record is not None]
    assert w.record.decision.minutes == pytest.approx(sum(m for m in minutes if m is not None))


def test_jaws_stand_clear_of_the_walls_milled_past_them() -> None:
    """No metal of a jaw above the underside within 1 mm of what the cutter sweeps beside such a wall."""
    for one in planned().clampings:
        assert one.record is not None and one.record.jaws is not None and one.record.hold is not None
        hold, jaws = one.record.hold, one.record.jaws
        x0, _, x1, _ = hold.outline.outer.box
        rooms = [w for w in jaws.wells if w.purpose.startswith("room beside ")]
        assert len(rooms) == 2 and all(w.bottom == pytest.approx(jaws.floor - 1.5) for w in rooms)
        edges = (
            sorted(w.region.outer.box[0] for w in rooms)[1],
            sorted(w.region.outer.box[2] for w in rooms)[0],
        )
        assert edges == pytest.approx((x1 - 1.0, x0 + 1.0))
        touched = [c.point[0] for c in hold.contacts if c.on in ("fixed", "floating")]
        assert min(touched) >= x0 + 1.0 - 1e-6 and max(touched) <= x1 - 1.0 + 1e-6
        assert hold.side_stop is not None and hold.side_stop.away
        assert not any(c.on == "stop" for c in carrying(hold)), "it is gone while the part is cut"


@pytest.mark.parametrize("radius", [1.5, 5.0, 8.0, 12.5])
@pytest.mark.parametrize("mills", [3.0, 16.0])
def test_the_room_beside_a_milled_wall_takes_the_cutter_of_the_jaws(radius: float, mills: float) -> None:
    """However thin the cutter that mills the wall and short the wall: it ended in a traceback."""
    own = planned().clampings[0].record
    assert own is not None and own.jaws is not None
    stand = Place(own.jaws.fixed.blank, own.jaws.gap, own.jaws.stack, (0.0, 0.0), 40.0, 50.0, 20.0, 20.0, ())
    outline = rectangle(-20.0, -30.0, 20.0, -24.0)
    past = tuple(milled_past.Beside(i, f"wall {i}", mills) for i in (1, 3))
    cut = milled_past.regions(outline, past, stand, radius)
    assert len(milled_past.wells(cut, past, 40.0)) == len(cut) == 2
    for r in cut:
        assert any(offset(r, -radius + 1e-6)), "its cutter goes in"
    widest = max(r.outer.box[2] for r in cut)
    assert widest >= 20.0 + mills + 1.0 - 1e-9


def test_the_folder_holds_both_whole_and_each_can_be_planned_again(tmp_path: Path) -> None:
    w = planned()
    names = bundle.write(w.record, tmp_path / "out", clampings=w.clampings)
    for n in (1, 2):
        own = {x.partition("/")[2] for x in names if x.startswith(f"clamping-{n}/")}
        assert {"job.toml", "part.step", "record.json", "setup-sheet.pdf", "jaws.step", "jaws.dxf"} <= own
        assert any(x.endswith(".nc") for x in own)
    assert "drawing-clamping-1.svg" in names and "setup-sheet.pdf" in names
    html = (tmp_path / "out" / "setup-sheet.html").read_text("utf-8")
    assert "clamping-1/setup-sheet.pdf" in html and "Clamping 2 from above" in html
    again = jawright.plan(read_job(tmp_path / "out" / "clamping-2" / "job.toml"), shop(), made=DAY)
    assert dumps(again) == (tmp_path / "out" / "clamping-2" / "record.json").read_text("utf-8")
    before = (tmp_path / "out" / "contents.sha256").read_bytes()
    bundle.write(w.record, tmp_path / "out", clampings=w.clampings)
    assert (tmp_path / "out" / "contents.sha256").read_bytes() == before, "same plan, same bytes"


def test_one_that_cannot_be_planned_leaves_the_other(tmp_path: Path) -> None:
    w = planned()
    job = job_in(tmp_path, *WITHIN)
    part = read_part(job.part_file)
    ask = resolve(part, job)
    found = two(part, job, ask, UP, shop())
    assert found is not None
    good = w.clampings[1].record
    assert good is not None

    def plan_one(own: Job, _: object) -> jawright.Record:
        if "clamping 1" in own.name:
            raise JawrightError("shop-no-cutter", what="no cutter goes there", todo="add one")
        return good

    got = clamping_plans.both(
        replace(w.record, clampings=()), found, part=part, job=job, ask=ask, shop=shop(), say=lambda _: None,
        plan_one=plan_one,
    )  # fmt: skip
    first, second = got.record.clampings
    assert not first.ready and first.verdict == "unknown" and "no cutter goes there" in first.sentence
    assert second.ready and got.clampings[0].record is None and got.clampings[1].record is good
    assert not got.record.ready and got.record.verdict == "unknown"
    assert any(r.startswith("Clamping 1 is not ready") for r in reasons_not_ready(got.record))
    names = bundle.files(got.record, clampings=got.clampings)
    assert "clamping-1/job.toml" in names and "clamping-1/record.json" not in names
    assert "clamping-2/record.json" in names


def _planned(job: Job) -> Whole:
    return whole(job, shop(), made=DAY)


def _levels(w: Whole) -> Sequence[str]:
    return [c.verdict for c in w.record.clampings]


@pytest.mark.long
def test_in_inch_it_is_the_same_plan(tmp_path: Path) -> None:
    w = _planned(replace(job_in(tmp_path, *WITHIN), units="inch"))
    assert w.record.ready and _levels(w) == ["caution", "caution"]
    told = " ".join((*w.record.decision.points, *(c.words for c in w.record.clampings)))
    assert " mm" not in told and " in" in told
    for a, b in zip(w.clampings, planned().clampings, strict=True):
        assert a.record is not None and b.record is not None
        assert a.record.hold == b.record.hold and b'units = "inch"' in dict(a.files)["job.toml"]


@pytest.mark.long
def test_an_l_is_planned_with_both_its_inner_walls(tmp_path: Path) -> None:
    """Its cutters go into the hollow corner, and the jaws end where they do: held and proven in both."""
    points = [(0.0, 0.0), (62.0, 0.0), (62.0, 20.0), (20.0, 20.0), (20.0, 50.0), (0.0, 50.0)]
    walls = {
        "low": (31.0, 0.0, 6.0), "end": (62.0, 10.0, 6.0), "inner": (40.0, 20.0, 6.0),
        "arm": (20.0, 35.0, 6.0), "top end": (10.0, 50.0, 6.0), "left": (0.0, 25.0, 6.0),
    }  # fmt: skip

    job = job_in(tmp_path)
    shape = kernel.extrude(Region(rounded(points, [0.5, 0.5, 0.5, 3.0, 0.5, 0.5])), 0.0, 12.0)
    kernel.write_step({"l": shape}, tmp_path / "pad.step")
    features = (job.features[0], *(Feature(n, "profile", Pick(at, n)) for n, at in walls.items()))
    at = {"A": (5.0, 5.0, 0.0), "B": walls["low"], "C": walls["left"]}
    datums = tuple(replace(d, pick=Pick(at[d.letter], d.letter)) for d in job.datums)
    tolerances = (
        ToleranceAsk("inner", "distance", 0.6, ("B",), False),
        ToleranceAsk("arm", "distance", 0.6, ("C",), False),
    )
    w = _planned(replace(job, features=features, datums=datums, tolerances=tolerances))
    assert not w.record.between and len(w.clampings) == 2, "clears follows the cutter round the corner"
    assert all(p.record is not None and p.record.hold is not None for p in w.clampings)
    for one in w.clampings:
        assert one.record is not None
        assert [p.verdict for p in one.record.proofs if p.name == "cutter to jaw"] == ["pass"]
    assert all(c.ready for c in w.record.clampings) and _levels(w) == ["caution", "caution"]
