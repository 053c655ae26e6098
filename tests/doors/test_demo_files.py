"""The demo's files: one copy only, the script still makes the part, the part is what the job says."""

from __future__ import annotations

import importlib.util
import json
import math
import zipfile
from importlib import resources
from pathlib import Path
from types import ModuleType

import pytest

from jawright.doors.cli.main import main
from jawright.geometry.curve import Arc, Line
from jawright.job.read import read_job
from jawright.part.pick import face_at, hole_at
from jawright.part.read import read_part

ROOT = Path(__file__).resolve().parent.parent.parent
DEMO = Path(str(resources.files("jawright.data").joinpath("demo")))


def maker(name: str = "make_pawl") -> ModuleType:
    spec = importlib.util.spec_from_file_location(name, ROOT / "examples" / f"{name}.py")
    assert spec is not None and spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


def test_the_script_makes_the_file() -> None:
    assert maker().step() == (DEMO / "pawl.step").read_bytes()


def test_the_second_example_is_made_by_its_script() -> None:
    m, cheek = maker("make_cheek"), ROOT / "examples" / "cheek"
    assert m.step() == (cheek / "cheek.step").read_bytes()
    assert (cheek / "shop.toml").resolve() == (DEMO / "shop.toml").resolve()
    job = read_job(cheek / "cheek.toml")
    part = read_part(job.part_file)
    letters = {d.letter: face_at(part, d.pick).normal for d in job.datums}
    assert letters["A"] == pytest.approx((0, 0, -1))
    assert letters["B"] == pytest.approx((0, 1, 0))
    assert letters["C"] == pytest.approx((-1, 0, 0))
    for f in job.features[1:]:
        assert f.pick is not None
        assert hole_at(part, f.pick).diameter == pytest.approx(6.0)


@pytest.mark.long
def test_two_long_flats_need_no_jaws_of_their_own(tmp_path: Path) -> None:
    """Hard jaws when two flats are parallel and at least 1 in long: common practice, no source."""
    out = tmp_path / "cheek"
    assert main(["plan", str(ROOT / "examples" / "cheek" / "cheek.toml"), "--out", str(out)]) in (0, 1)
    record = json.loads((out / "record.json").read_text("utf-8"))
    assert record["decision"]["kind"] == "hard jaws"
    assert record["program"] is None


def test_examples_point_at_the_same_files() -> None:
    assert (ROOT / "examples" / "demo").resolve() == DEMO.resolve()


def test_the_outline_is_as_described() -> None:
    outline = maker().outline()
    curves = outline.curves
    for a, b in zip(curves, (*curves[1:], curves[0]), strict=True):
        assert a.end == pytest.approx(b.start, abs=1e-9)
        u, v = a.tangent(1.0), b.tangent(0.0)
        assert u[0] * v[0] + u[1] * v[1] == pytest.approx(1.0, abs=1e-9), "a corner that is not tangent"
    flats = [c for c in curves if isinstance(c, Line)]
    assert len(flats) == 4
    for i, a in enumerate(flats):
        for b in flats[:i]:
            u, v = a.tangent(), b.tangent()
            assert abs(u[0] * v[1] - u[1] * v[0]) > math.sin(math.radians(5)), "two flats are parallel"
    assert 4.0 in {round(c.radius, 9) for c in curves if isinstance(c, Arc)}  # the nose
    x0, _, x1, _ = outline.box
    assert x1 - x0 == pytest.approx(72.0)


def test_volume_of_the_part() -> None:
    """Area of the outline (its own line integral) less three circles, times the thickness."""
    m = maker()
    holes = sum(math.pi * d * d / 4 for _, d in (m.PIVOT, *m.PINS))
    part = read_part(DEMO / "pawl.step")
    assert part.volume == pytest.approx((m.outline().area - holes) * m.THICKNESS, rel=1e-9)


def test_every_pick_meets_what_it_means() -> None:
    job = read_job(DEMO / "pawl.toml")
    part = read_part(job.part_file)
    normals = {d.letter: face_at(part, d.pick).normal for d in job.datums}
    assert normals["A"] == pytest.approx((0, 0, -1))
    assert normals["B"] == pytest.approx((0, 1, 0))
    assert normals["C"] == pytest.approx((-1, 0, 0))
    diameters = {}
    for f in job.features:
        assert f.pick is not None
        if f.kind == "face":
            assert face_at(part, f.pick).normal == pytest.approx((0, 0, 1))
        else:
            hole = hole_at(part, f.pick)
            assert hole.through
            diameters[f.name] = hole.diameter
    assert {n for n, d in diameters.items() if d == pytest.approx(10.0)} == {
        n for n in diameters if n.startswith("pivot")
    }
    assert diameters["pin hole 1"] == diameters["pin hole 2"] == pytest.approx(5.0)
    assert [(t.feature, t.zone, t.diametral, t.datums) for t in job.tolerances if t.kind == "position"] == [
        ("pin hole 1", 0.1, True, ("A", "B", "C")),
        ("pin hole 2", 0.1, True, ("A", "B", "C")),
    ]
    assert (job.quantity, job.material, job.incoming.profile.value) == (40, "6061-T6", 0.4)


@pytest.mark.long
def test_the_wheel_carries_its_data(tmp_path: Path) -> None:
    from hatchling.builders.wheel import WheelBuilder  # noqa: PLC0415 (only this test builds)

    built = next(iter(WheelBuilder(str(ROOT)).build(directory=str(tmp_path), versions=["standard"])))
    names = set(zipfile.ZipFile(built).namelist())
    data = ROOT / "src" / "jawright" / "data"
    tables = [p for p in data.rglob("*") if p.is_file() and "__pycache__" not in p.parts]
    assert len(tables) > 10
    missing = {p.relative_to(ROOT / "src").as_posix() for p in tables} - names
    assert not missing
