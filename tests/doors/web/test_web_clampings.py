"""A part that takes two clampings on the page: each with its answer, its drawing and its files."""

from __future__ import annotations

import io
import json
import zipfile
from dataclasses import replace
from pathlib import Path

import pytest

from clamped import WITHIN, job_in, planned
from doors.web.served import Page
from jawright.doors.web.inputs import ABOUT, about_of, digest
from jawright.doors.web.plans import bring_in
from jawright.errors import JawrightError
from jawright.job.read import read_job
from jawright.job.write import job_text
from jawright.papers import bundle
from jawright.record_json import dumps
from test_conductor import DEMO


def left(web: Page) -> str:
    """A job whose last plan is one in two clampings."""
    job, w = web.demo(), planned()
    about = about_of(w.record, digest(web.store.job(job).text(), web.store.shop.text()))
    card = {ABOUT: json.dumps(about).encode()}
    bundle.write(w.record, web.store.path(job) / "result", card, clampings=w.clampings)
    return job


def test_the_sheet_shows_both_and_leads_to_their_papers(web: Page) -> None:
    job = left(web)
    page = web.get(f"/jobs/{job}/sheet").text
    for n in (1, 2):
        assert f'id="clamping-{n}"' in page and f"Clamping {n}: " in page
        assert f"/jobs/{job}/clamping/{n}/file/setup-sheet.pdf" in page
        sheet = web.get(f"/jobs/{job}/clamping/{n}/file/setup-sheet.html")
        assert sheet.status_code == 200 and f"clamping {n} of 2" in sheet.text
        assert web.get(f"/jobs/{job}/clamping/{n}/file/job.toml").status_code == 200
        drawn = web.get(f"/jobs/{job}/clamping/{n}/drawing/plan.svg")
        assert drawn.status_code == 200 and drawn.text.startswith("<svg")
    assert 'id="grips"' not in page, "no question is asked of the whole: each clamping answers them"


def test_what_is_not_there_is_not_found(web: Page) -> None:
    job = left(web)
    wrong = ("3/file/job.toml", "0/drawing/plan.svg", "1/file/..%2Frecord.json", "1/drawing/none.svg")
    for path in wrong:
        assert web.get(f"/jobs/{job}/clamping/{path}").status_code == 404


def test_the_package_holds_both(web: Page) -> None:
    job = left(web)
    names = zipfile.ZipFile(io.BytesIO(web.get(f"/jobs/{job}/package.zip").content)).namelist()
    for n in (1, 2):
        assert {f"{job}/clamping-{n}/{x}" for x in ("job.toml", "record.json", "setup-sheet.pdf")} <= set(
            names
        )


def test_each_opens_as_a_job_of_its_own_for_the_machine(web: Page) -> None:
    """The whole holds nothing, so it has no screen at the machine: it leads to the clampings, which have."""
    job = left(web)
    (web.store.path(job) / "shop.toml").write_bytes((DEMO / "shop.toml").read_bytes())
    assert "It takes 2 clampings" in web.get(f"/jobs/{job}/machine").text
    assert "each is measured by itself" in web.get(f"/jobs/{job}/first").text
    before = set(web.store.ids())
    at = web.ask(f"/jobs/{job}/clamping/2/open").json()["go"]
    own = at.split("/")[2]
    assert set(web.store.ids()) == before | {own}
    assert "clamping 2 of 2" in web.get(at).text and "Cut a pair of soft jaws" in web.get(at).text
    assert "clampings" not in web.get(f"/jobs/{own}/machine").text
    assert web.get(f"/jobs/{own}/machine/steps").status_code == 200
    assert web.ask(f"/jobs/{job}/clamping/2/open").json()["go"] == at, "once is enough"
    assert web.ask(f"/jobs/{job}/clamping/3/open").status_code == 404


def test_a_plan_from_the_command_line_brings_its_clampings_along(web: Page, tmp_path: Path) -> None:
    w = planned()
    bundle.write(w.record, tmp_path / "plan", clampings=w.clampings)
    job = job_in(tmp_path, *WITHIN)
    (tmp_path / "pad.toml").write_text(job_text(job, part="pad.step"), "utf-8")
    asked = replace(w.record, job=read_job(tmp_path / "pad.toml"))
    bundle.write(asked, tmp_path / "plan", clampings=w.clampings)
    own = bring_in(web.store, tmp_path / "plan")
    page = web.get(f"/jobs/{own}/sheet").text
    for n in (1, 2):
        assert f"/jobs/{own}/clamping/{n}/file/setup-sheet.pdf" in page
        assert web.get(f"/jobs/{own}/clamping/{n}/file/job.toml").status_code == 200


def test_a_record_that_names_another_folder_is_refused(web: Page, tmp_path: Path) -> None:
    w = planned()
    (tmp_path / "plan").mkdir()
    elsewhere = (replace(w.record.clampings[0], folder="../secret"), w.record.clampings[1])
    record = replace(w.record, clampings=elsewhere)
    (tmp_path / "plan" / "record.json").write_text(dumps(record), "utf-8")
    before = web.store.ids()
    with pytest.raises(JawrightError, match=r"clamping 1 lies in") as caught:
        bring_in(web.store, tmp_path / "plan")
    assert caught.value.code == "record-bad" and web.store.ids() == before
