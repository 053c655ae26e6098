"""Texts of forms and of files: what is written is what was said, and what was not touched stays as it was."""

from __future__ import annotations

import dataclasses
import tomllib
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from jawright.doors.web import edit, forms
from jawright.doors.web.render import problem_of
from jawright.doors.web.store import Store, Versions, demo
from jawright.errors import JawrightError
from jawright.files.schema import Section
from jawright.files.toml_out import dump
from jawright.job.read import read_job
from jawright.shop.read import read_shop
from jawright.units import System

PLAIN = st.one_of(
    st.text(st.characters(exclude_categories=("Cs",)), max_size=30),
    st.booleans(),
    st.integers(-(2**60), 2**60),
    st.floats(allow_nan=False, allow_infinity=False),
)
VALUES = st.one_of(PLAIN, st.lists(PLAIN, max_size=3), st.lists(st.lists(PLAIN, max_size=2), max_size=2))
TABLES = st.dictionaries(st.text(st.characters(exclude_categories=("Cs",)), max_size=8), VALUES, max_size=4)


@given(
    st.dictionaries(
        st.text("abcde -.\"'", min_size=1, max_size=6),
        st.one_of(VALUES, TABLES, st.lists(TABLES, min_size=1, max_size=3)),
        max_size=5,
    )
)
def test_what_is_dumped_reads_back(data: dict[str, Any]) -> None:
    """Against the standard library's own reader of TOML 1.0."""
    assert tomllib.loads(dump(data)) == data


def _fields(section: Section, row: dict[str, Any], system: System) -> dict[str, list[str]]:
    return {f.name: list(f.values) for f in forms.fields(section, row, system=system)}


@pytest.mark.parametrize("system", ["mm", "inch"])
@pytest.mark.parametrize(("file", "sections"), [("pawl.toml", edit.JOB), ("shop.toml", edit.SHOP)])
def test_a_form_sent_back_untouched_changes_nothing(
    system: System, file: str, sections: tuple[Section, ...]
) -> None:
    data = edit.plain_lengths(edit.parse(demo(file).decode()), sections)
    count = 0
    for section in sections:
        found = data.get(section.name, {})
        for row in found if isinstance(found, list) else [found]:
            before = dict(row)
            edit.put_values(row, section, _fields(section, row, system), system)
            assert row == before, section.name
            count += len(before)
    assert count > 20


@pytest.mark.parametrize("unit", ["mm", "inch"])
def test_stating_every_unit_keeps_the_job_and_the_shop(tmp_path: Path, unit: str) -> None:
    for file, sections, read in (("pawl.toml", edit.JOB, read_job), ("shop.toml", edit.SHOP, read_shop)):
        text = demo(file).decode().replace('units = "mm"', f'units = "{unit}"', 1)
        if unit == "inch":  # the demo's numbers as inches are too large for a vise: shrink them
            text = text.replace("opening = 200", "opening = 20").replace("opening = 130", "opening = 13")
            text = text.replace("travel = [760, 400, 450]", "travel = [30, 16, 18]")
            if file == "shop.toml":
                continue
        (tmp_path / file).write_text(text)
        (tmp_path / "stated.toml").write_text(dump(edit.plain_lengths(edit.parse(text), sections)))
        a, b = read(tmp_path / file), read(tmp_path / "stated.toml")
        same = {"source": "", "sha256": ""}
        assert dataclasses.replace(a, **same) == dataclasses.replace(b, **same)


@pytest.mark.parametrize(
    ("typed", "system", "kept"),
    [
        ("6.5", "mm", "6.5 mm"),
        ("0.25", "inch", "0.25 in"),
        ("1/4", "inch", "1/4 in"),
        ("1 1/2", "inch", "1 1/2 in"),
        ("6.5 mm", "inch", "6.5 mm"),
        ("2 thou", "mm", "2 thou"),
        ("", "mm", None),
    ],
)
def test_a_plain_number_is_in_the_unit_the_page_shows(typed: str, system: System, kept: str | None) -> None:
    section = edit.section_of("hold", edit.JOB)
    row: dict[str, Any] = {"grip_depth": "9 mm"}
    edit.put_values(row, section, {"grip_depth": [typed]}, system)
    assert row.get("grip_depth") == kept


def test_a_value_is_shown_in_the_readers_unit_and_kept_in_its_own() -> None:
    section = edit.section_of("hold", edit.JOB)
    key = edit.key_of(section, "grip_depth")
    assert edit.shown(key, "6.35 mm", "inch") == ["0.25 in"]
    assert edit.shown(key, "1/4 in", "inch") == ["1/4 in"]
    assert edit.shown(key, "1/4 in", "mm") == ["6.35 mm"]
    row = {"grip_depth": "6.35 mm"}
    edit.put_values(row, section, {"grip_depth": ["0.25 in"]}, "inch")
    assert row == {"grip_depth": "6.35 mm"}


@pytest.mark.parametrize(
    ("where", "field"),
    [
        ("hold.grip_depth", "hold.grip_depth"),
        ("job.toml: hold.grip_depth", "hold.grip_depth"),
        ("feature 2.depth", "feature.1.depth"),
        ("pawl.step: solid 2", ""),
        ("datum A", ""),
        ("", ""),
    ],
)
def test_an_error_finds_its_field(where: str, field: str) -> None:
    assert (
        problem_of(JawrightError("value-bad", what="w", where=where))["field"] == field
        or where == "part.step"
    )


def test_versions_go_back_and_forth(tmp_path: Path) -> None:
    v = Versions(tmp_path / "job.toml", tmp_path / "versions")
    for text in ("a = 1\n", "a = 2\n", "a = 2\n", "a = 3\n"):
        v.write(text)
    assert not v.can(1)
    assert v.step(-1)
    assert v.text() == "a = 2\n"
    assert v.step(-1)
    assert v.text() == "a = 1\n"
    assert not v.step(-1)
    assert v.step(1)
    v.write("a = 9\n")
    assert not v.step(1)
    assert v.step(-1)
    assert v.text() == "a = 2\n"


def test_an_interrupted_write_leaves_the_old_file(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    v = Versions(tmp_path / "job.toml", tmp_path / "versions")
    v.write("a = 1\n")

    def full(_: int) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr("os.fsync", full)
    with pytest.raises(JawrightError, match="No space left"):
        v.write("a = 2\n")
    assert v.text() == "a = 1\n"
    assert [p.name for p in tmp_path.glob(".*")] == []


def test_names_of_jobs_are_made_here(tmp_path: Path) -> None:
    store = Store(tmp_path / "x")
    names = ["../../etc/passwd", "Ünïcode ✂", "", "con", "a" * 300, "Deckel 3/8", "Deckel 3/8"]
    ids = [store.create(n, b"x", "", suffix=".step") for n in names]
    assert len(set(ids)) == len(names)
    assert all(store.path(i).parent == tmp_path / "x" / "jobs" for i in ids)


def test_tables_inside_a_table_stay_what_they_are() -> None:
    data = {
        "scatter": {"jaw_cut": {"from": "walls of a week.csv", "column": "off_mm"}, "drill": ["1 µm", "2 µm"]}
    }
    assert edit.parse(dump(data)) == data
