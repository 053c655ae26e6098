"""Wrong input in every field of every form: refused at that field, or taken; never a defect of ours."""

from __future__ import annotations

from typing import Any

import pytest

from doors.web.served import ASK, Page
from jawright.doors.web import edit, look
from jawright.doors.web.shop import KINDS
from jawright.errors import JawrightError
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


BARE = (
    "0\nSECTION\n2\nENTITIES\n"
    + "".join(
        f"0\nLINE\n8\n0\n10\n{a[0]}\n20\n{a[1]}\n11\n{b[0]}\n21\n{b[1]}\n"
        for a, b in (((0, 0), (60, 0)), ((60, 0), (60, 25)), ((60, 25), (0, 25)), ((0, 25), (0, 0)))
    )
    + "0\nENDSEC\n0\nEOF\n"
)


def test_what_a_drawing_leaves_open_is_asked_at_its_field(web: Page) -> None:
    """A drawing without unit and thickness: told in words of the page, one after the other, then read."""
    head = {**ASK, "x-file-name": "plate.dxf"}
    at = web.http.post("/jobs", headers=head, content=BARE.encode()).json()["go"]
    job = at.removeprefix("/jobs/")

    def read() -> str:
        run = web.runner.start(f"look {job}", "look", web.store.path(job))
        try:
            look.look(web.store.path(job))
        except JawrightError as e:
            run.state = "failed"
            run.error = {"code": e.code, "what": e.what, "where": e.where, "todo": e.todo}
        else:
            run.state = "done"
        return str(web.get(at).text)

    def told(name: str, text: str) -> bool:
        field = text.split(f'data-field="{name}"')[1].split("</div>", maxsplit=1)[0]
        return (
            'role="alert"' in field
            and "wrong" in text.split(f'data-field="{name}"', maxsplit=1)[0].rsplit("<div", 1)[1]
        )

    text = read()
    assert told("part.unit", text) and not told("part.thickness", text)
    assert "choose the unit it was drawn in" in text and "--unit" not in text and "[part]" not in text
    assert '<a href="#part-unit">unit</a>' in text  # among what is still needed
    web.ask(f"/jobs/{job}/set", part__unit="inch")
    text = read()
    assert told("part.thickness", text) and not told("part.unit", text)
    assert '<a href="#part-thickness">thickness</a>' in text
    web.ask(f"/jobs/{job}/set", part__thickness="0.5 inch")
    text = read()
    assert "Drawing of a plate, 1524.00 × 635.00 × 12.70 mm" in text
    assert not told("part.thickness", text)


def test_a_field_is_called_as_its_label_calls_it(web: Page) -> None:
    job = web.demo()
    problem = web.ask(f"/jobs/{job}/set", hold__grip_depth="0").json()["problem"]
    assert problem["field"] == "hold.grip_depth" and problem["what"].startswith("Grip depth must be above")


def test_what_was_typed_in_other_words_is_not_somebody_elses(web: Page) -> None:
    """A form that was not drawn anew after it was kept says 18 where the file says 18 N·m."""
    job = web.demo()
    assert "go" in web.ask(f"/jobs/{job}/set", hold__torque="18").json()
    both = {"hold.torque": "19", "was.hold.torque": "18"}
    assert "go" in web.http.post(f"/jobs/{job}/set", data=both, headers=ASK).json()
    assert "19" in web.data(job)["hold"]["torque"]
    other = {"hold.torque": "20", "was.hold.torque": "18"}
    told = web.http.post(f"/jobs/{job}/set", data=other, headers=ASK).json()["problem"]
    assert told["code"] == "changed-meanwhile"
