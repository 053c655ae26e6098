"""A part that takes two clampings on the page: each with its answer, its drawing and its files."""

from __future__ import annotations

import io
import json
import zipfile

from clamped import planned
from doors.web.served import Page
from jawright.doors.web.inputs import ABOUT, about_of, digest
from jawright.papers import bundle


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
