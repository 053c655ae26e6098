"""What is made from above: found on parts whose first side is known, because both models are made here."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import pytest

from jawright import kernel
from jawright.errors import JawrightError
from jawright.geometry.frame import Vec3
from jawright.geometry.profile import Region, circle
from jawright.hold.incoming import informed
from jawright.hold.resolve import Ask, resolve
from jawright.job.model import Job
from jawright.job.read import read_job
from jawright.part.read import read_part
from part.shapes import block, broken, shifted, turned, written
from part.test_features import bar, obround, rounded
from samples import pawl_outline

Z: Vec3 = (0.0, 0.0, 1.0)


def job_of(folder: Path, finished: bytes, incoming: bytes | None, *, more: str = "", up: str = '"+Z"') -> Job:
    written(folder, "part.step", finished)
    model = ""
    if incoming is not None:
        written(folder, "first.step", incoming)
        model = '[incoming]\nmodel = "first.step"\n'
    text = (
        f'[job]\nquantity = 5\nfeatures = "reachable"\n[part]\nfile = "part.step"\nmaterial = "6061-T6"\n'
        f"[hold]\nup = {up}\n{model}{more}"
    )
    path = folder / "job.toml"
    path.write_text(text, encoding="utf-8")
    return read_job(path)


def asked(folder: Path, finished: bytes, incoming: bytes | None, *, more: str = "", up: str = '"+Z"') -> Ask:
    job = job_of(folder, finished, incoming, more=more, up=up)
    return resolve(read_part(job.part_file), job)


def named(ask: Ask) -> list[tuple[str, str]]:
    return [(f.ask.name, f.ask.kind) for f in ask.features]


FINISHED = kernel.cut(
    block(60.0, 40.0, 20.0),
    bar(12, 10, -1, 21, 6.0),  # through
    bar(12, 30, 8, 21, 5.0),  # blind from above
    bar(30, 10, -1, 12, 5.0),  # blind from below
    bar(48, 10, -1, 21, 5.0),
    bar(48, 10, 14, 21, 9.0),  # counterbore from above
    kernel.extrude(rounded(20, 18, 38, 34, 3.0), 13.0, 21.0),
    kernel.extrude(obround(44, 52, 30, 6.0), 15.0, 21.0),
)


def test_everything_that_opens_upwards_without_a_model_of_the_first_side(tmp_path: Path) -> None:
    ask = asked(tmp_path, FINISHED, None)
    assert sorted(named(ask)) == [
        ("counterbore 1", "bore"),
        ("hole 1", "drill"),
        ("hole 2", "drill"),
        ("hole 3", "drill"),
        ("pocket 1", "pocket"),
        ("slot 1", "slot"),
        ("top face", "face"),
    ]
    below = [
        f for f in ask.features if f.hole is not None and f.hole.mouth[:2] == pytest.approx((30.0, 10.0))
    ]
    assert below == []  # it opens below
    assert any("top face, pocket 1" in n for n in ask.notes)


def test_only_what_the_first_side_did_not_make(tmp_path: Path) -> None:
    first = kernel.cut(
        block(60.0, 40.0, 21.5),  # 1.5 on top
        bar(12, 10, -1, 23, 6.0),  # drilled through on the first side
        bar(30, 10, -1, 12, 5.0),
        bar(48, 10, -1, 23, 4.2),  # a pilot
        kernel.extrude(obround(44, 52, 30, 6.0), 15.0, 23.0),
    )
    ask = asked(tmp_path, FINISHED, first)
    assert sorted(named(ask)) == [
        ("counterbore 1", "bore"),
        ("hole 1", "drill"),
        ("hole 2", "drill"),
        ("pocket 1", "pocket"),
        ("top face", "face"),
    ]
    holes = {round(f.hole.diameter, 6): f.ask.pilot for f in ask.features if f.hole is not None}
    assert holes[5.0] in (None, pytest.approx(4.2)) and holes[9.0] == pytest.approx(4.2)
    pilots = sorted(f.ask.pilot or 0.0 for f in ask.features if f.hole is not None)
    assert pilots == pytest.approx([0.0, 4.2, 4.2])


def test_a_part_that_is_finished_has_nothing_left(tmp_path: Path) -> None:
    ask = asked(tmp_path, FINISHED, FINISHED)
    assert ask.features == () and any("nothing more" in n for n in ask.notes)


def test_the_other_side_up(tmp_path: Path) -> None:
    ask = asked(tmp_path, FINISHED, None, up='"-Z"')
    kinds = sorted(named(ask))
    assert ("top face", "face") in kinds
    holes = [f.hole for f in ask.features if f.hole is not None]
    assert sorted(round(h.mouth[0]) for h in holes if h is not None) == [12, 30, 48]
    assert not any(k in ("pocket", "slot", "bore") for _, k in kinds)


def test_walls_still_in_metal_are_a_profile(tmp_path: Path) -> None:
    finished = kernel.extrude(Region(pawl_outline(), (circle((13.0, -8.0), 5.0).reversed(),)), 0.0, 12.0)
    b = pawl_outline().box
    bigger = block(b[2] - b[0] + 6, b[3] - b[1] + 6, 13.0, at=(b[0] - 3, b[1] - 3, 0.0))
    ask = asked(tmp_path, finished, bigger)
    assert sorted(named(ask)) == [("hole 1", "drill"), ("profile 1", "profile"), ("top face", "face")]
    walls = next(f for f in ask.features if f.ask.name == "profile 1")
    assert len(walls.faces) == len(pawl_outline().curves)


def test_chamfers_that_look_up_and_windows(tmp_path: Path) -> None:
    body = kernel.cut(block(60.0, 40.0, 20.0), kernel.extrude(rounded(10, 8, 50, 32, 4.0), -1.0, 21.0))
    edge: Callable[[Vec3, Vec3], bool] = lambda a, b: min(a[2], b[2]) > 19.9 and max(a[0], b[0]) < 1e-6  # noqa: E731
    finished = broken(body, edge, chamfer=(1.0, 1.0))
    ask = asked(tmp_path, finished, block(60.0, 40.0, 20.0))
    assert sorted(named(ask)) == [("chamfer 1", "chamfer"), ("pocket 1", "pocket")]
    window = next(f for f in ask.features if f.ask.name == "pocket 1")
    assert window.ask.through and window.window is not None


def test_a_covered_hole_and_a_free_form_top_are_told(tmp_path: Path) -> None:
    # a through hole in the lower ear of a fork: the upper ear covers it
    fork = kernel.cut(
        block(60.0, 40.0, 20.0), block(40.0, 60.0, 8.0, at=(25.0, -5.0, 6.0)), bar(45, 20, -1, 7, 6.0)
    )
    ask = asked(tmp_path, fork, None)
    assert not any(f.hole is not None for f in ask.features)
    assert any("is covered from above" in n for n in ask.notes)
    dome = kernel.fuse(block(60.0, 40.0, 20.0), kernel.ball((30.0, 20.0, 14.0), 10.0))
    ask = asked(tmp_path, dome, None)
    assert any("ball surface" in n and "no feature that is known here" in n for n in ask.notes)


def test_features_named_in_the_job_come_first_and_once(tmp_path: Path) -> None:
    more = '[[feature]]\nname = "dowel"\nkind = "ream"\nat = ["12 mm", "10 mm", "10 mm"]\n'
    ask = asked(tmp_path, FINISHED, None, more=more)
    assert named(ask)[0] == ("dowel", "ream")
    on_it = [
        f for f in ask.features if f.hole is not None and f.hole.mouth[:2] == pytest.approx((12.0, 10.0))
    ]
    assert [f.ask.name for f in on_it] == ["dowel"]


def test_tolerances_may_name_what_is_found_and_only_that(tmp_path: Path) -> None:
    more = '[[tolerance]]\nfeature = "{}"\nkind = "position"\nzone = "0.2 mm"\n'
    ask = asked(tmp_path, FINISHED, None, more=more.format("hole 2"))
    assert [t.feature for t in ask.tolerances] == ["hole 2"]
    with pytest.raises(JawrightError) as e:
        asked(tmp_path, FINISHED, None, more=more.format("hole 22"))
    assert e.value.code == "value-bad" and 'did you mean "hole 2"?' in e.value.todo


def test_a_model_of_another_part_or_frame_is_refused(tmp_path: Path) -> None:
    for other in (shifted(block(60.0, 40.0, 20.0), (5.0, 0.0, 0.0)), block(60.0, 40.0, 19.0)):
        with pytest.raises(JawrightError) as e:
            asked(tmp_path, FINISHED, other)
        assert e.value.code == "value-bad" and "lacks metal of the finished part" in e.value.what
    job = job_of(tmp_path, FINISHED, None)
    missing = replace(job, incoming=replace(job.incoming, model=tmp_path / "none.step"))
    with pytest.raises(JawrightError) as e:
        resolve(read_part(job.part_file), missing)
    assert e.value.code == "file-missing"


def test_a_slanted_part_finds_the_same(tmp_path: Path) -> None:
    c, s = math.cos(0.4), math.sin(0.4)
    ask = asked(tmp_path, turned(FINISHED, 0.4, shift=(80.0, 5.0, 3.0)), None, up=f"[0, {-s!r}, {c!r}]")
    assert sorted(k for _, k in named(ask)) == ["bore", "drill", "drill", "drill", "face", "pocket", "slot"]


# ---- the part as it comes in ---------------------------------------------------------------


def low(a: Vec3, b: Vec3) -> bool:
    return max(a[2], b[2]) < 1e-9


@pytest.mark.parametrize(
    ("chamfer", "radius", "value", "says"),
    [((0.5, 0.5), 0.0, 0.5, "chamfer"), (None, 0.3, 0.3, "round"), ((0.8, 0.3), 0.0, 0.3, "chamfer")],
)
def test_the_lower_edge_is_taken_from_the_model(
    tmp_path: Path, chamfer: tuple[float, float] | None, radius: float, value: float, says: str
) -> None:
    job = job_of(tmp_path, broken(block(60.0, 40.0, 20.0), low, chamfer=chamfer, radius=radius), None)
    edge = informed(job, read_part(job.part_file), Z).incoming.edge_break
    assert edge.value == pytest.approx(value) and f"the part file: {says}" in edge.basis


def test_a_sharp_edge_in_the_model_leaves_the_habit_and_the_job_comes_first(tmp_path: Path) -> None:
    job = job_of(tmp_path, block(60.0, 40.0, 20.0), None)
    part = read_part(job.part_file)
    assert informed(job, part, Z).incoming.edge_break == job.incoming.edge_break
    # one side of four is broken: the smallest of all counts, and that is the habit's
    one = broken(block(60.0, 40.0, 20.0), lambda a, b: low(a, b) and a[0] + b[0] < 1, chamfer=(1.0, 1.0))
    part = read_part(written(tmp_path, "part.step", one))
    assert informed(job, part, Z).incoming.edge_break == job.incoming.edge_break
    small = broken(block(60.0, 40.0, 20.0), lambda a, b: low(a, b) and a[0] + b[0] < 1, chamfer=(0.05, 0.05))
    part = read_part(written(tmp_path, "part.step", small))
    assert informed(job, part, Z).incoming.edge_break.value == pytest.approx(0.05)
    stated = job_of(tmp_path, small, None, more='[incoming]\nedge_break = "0.2 mm"\n')
    assert informed(stated, part, Z).incoming.edge_break.value == pytest.approx(0.2)


def test_the_metal_on_top_is_measured_on_the_model(tmp_path: Path) -> None:
    job = job_of(tmp_path, block(60.0, 40.0, 20.0), block(60.0, 40.0, 21.25))
    part = read_part(job.part_file)
    top = informed(job, part, Z).incoming.stock_on_top
    assert top.value == pytest.approx(1.25) and "first.step" in top.basis
    assert informed(job, part, (0.0, 0.0, -1.0)).incoming.stock_on_top.value == pytest.approx(0.0)
