"""Wrong input in every field of every form: refused at that field, or taken; never a defect of ours."""

from __future__ import annotations

from typing import Any

import pytest

from doors.web.served import ASK, Page
from jawright.doors.web import edit
from jawright.doors.web.shop import KINDS
from jawright.files.schema import Key

WRONG = (
    "-5",
    "a few",
    "1e30",
    "1 furlong",
    "nan",
    "∞",
    "12 in 3",
    "<b>",
    "x" * 3000,
    "1/0 in",
    "=1+1",
    "\x00",
)


def _send(web: Page, path: str, name: str, key: Key, text: str) -> dict[str, Any]:
    """One field sent as its form sends it."""
    count = 3 if key.kind in ("point", "band") else 1
    answer = web.http.post(path, data={name: [text] * count}, headers=ASK)
    assert answer.status_code in (200, 422), (path, name, text, answer.text[:300])
    out: dict[str, Any] = answer.json()
    return out


def _judge(name: str, text: str, answer: dict[str, Any], wrong: list[str]) -> None:
    problem = answer.get("problem")
    if problem is None:
        return
    if problem["field"].rpartition(".")[2] != name.rpartition(".")[2]:
        wrong.append(f"{name} = {text[:12]!r}: told at {problem['field'] or problem['where']!r}")
    if not problem["what"]:
        wrong.append(f"{name} = {text[:12]!r}: says nothing")


@pytest.mark.parametrize("section", ["job", "part", "hold", "incoming"])
def test_every_field_of_a_job(web: Page, section: str) -> None:
    job, found = web.demo(), edit.section_of(section, edit.JOB)
    wrong: list[str] = []
    taken = refused = 0
    for key in found.keys:
        if (section, key.name) in (("part", "file"), ("incoming", "model")):
            continue
        for text in WRONG:
            before = web.store.job(job).text()
            answer = _send(web, f"/jobs/{job}/set", f"{section}.{key.name}", key, text)
            _judge(f"{section}.{key.name}", text, answer, wrong)
            if "problem" in answer:
                refused += 1
                assert web.store.job(job).text() == before
            else:
                taken += 1
                web.ask(f"/jobs/{job}/undo")
    assert wrong == []
    assert refused > taken or section == "job"  # texts may say anything


@pytest.mark.parametrize("row", ["feature", "tolerance"])
def test_every_field_of_a_row(web: Page, row: str) -> None:
    job, found = web.demo(), edit.section_of(row, edit.JOB)
    wrong: list[str] = []
    for key in found.keys:
        for text in ("-5", "a few", "1e30", "1 furlong", "<b>"):
            answer = _send(web, f"/jobs/{job}/set", f"{row}.0.{key.name}", key, text)
            _judge(f"{row}.{key.name}", text, answer, wrong)
            if "problem" not in answer:
                web.ask(f"/jobs/{job}/undo")
    assert wrong == []


@pytest.mark.parametrize("kind", [k for k in KINDS if k.path != "in-line"], ids=lambda k: k.path)
def test_every_field_of_the_shop(web: Page, kind: Any) -> None:
    if kind.path == "stops":  # the demo's shop has none
        web.ask("/shop/stops/new", id="S1", low="10 mm", high="30 mm", reach="40 mm", tip="8 mm")
        assert "S1" in web.get("/shop/stops").text
    path = f"/shop/{kind.path}" + ("/0" if kind.section.many else "")
    wrong: list[str] = []
    for key in kind.section.keys:
        for text in ("-5", "a few", "1e30", "1 furlong", "<b>"):
            before = web.store.shop.text()
            answer = _send(web, path, key.name, key, text)
            _judge(key.name, text, answer, wrong)
            if "problem" in answer:
                assert web.store.shop.text() == before
            else:
                web.ask("/shop/undo", path=kind.path)
    assert wrong == []
