"""The pages as they are asked for: questions answered, faces picked, the sheet, the shop, the machine."""

from __future__ import annotations

import html
import io
import re
import zipfile
from dataclasses import fields as fields_of
from pathlib import Path
from typing import Any

import pytest

from doors.web.served import ASK, OWN, Page
from jawright.doors.web import sheet
from jawright.doors.web.faces import told_in
from jawright.doors.web.sheet import KNOBS
from jawright.doors.web.shop import KINDS
from jawright.doors.web.store import demo
from jawright.job import schema
from jawright.papers.content import Content
from jawright.proof.model import ASK as QUESTIONS
from jawright.shop import schema as shop_schema
from papers import sample

MARKUP = "<script>alert(1)</script>\"'&"


def drop(web: Page, name: str, data: bytes) -> Any:
    return web.http.post("/jobs", headers={**ASK, "x-file-name": name}, content=data)


def test_a_dropped_part_becomes_a_job_that_asks_six_questions(web: Page) -> None:
    answer = drop(web, "winch%20pawl.STP", demo("pawl.step"))
    job = answer.json()["go"].removeprefix("/jobs/")
    assert web.runner.started == [f"look {job}"]
    assert "Reading the part" in web.get(f"/jobs/{job}").text
    web.see(job)
    page = web.get(f"/jobs/{job}")
    assert len(re.findall(r"<li class=\"(?:answered)?\"><h3>", page.text)) == 6
    shows = web.get(f"/jobs/{job}.json").json()
    assert shows["missing"] == ["job.quantity", "part.material"]
    assert len(shows["part"]["holes"]) == 3
    assert "disabled" in re.search(r'<button class="main"[^>]*>Plan', page.text)[0]  # type: ignore[index]


def test_a_drawing_is_read_again_when_its_thickness_is_given(web: Page) -> None:
    job = drop(web, "plate.dxf", b"0\nSECTION\n").json()["go"].removeprefix("/jobs/")
    web.runner.fail(f"look {job}", "the plate has no thickness")
    text = web.get(f"/jobs/{job}").text
    assert "The plate has no thickness" in text
    assert 'name="part.thickness"' in text
    assert web.runner.started == [f"look {job}"]  # a failure is not tried again by itself
    web.ask(f"/jobs/{job}/set", part__thickness="12")
    assert web.data(job)["part"]["thickness"] == "12 mm"
    assert web.runner.started == [f"look {job}"] * 2


@pytest.mark.parametrize(
    ("name", "data", "code"),
    [
        ("a.step", b"", "file-empty"),
        ("a.exe", b"MZ", "file-not-step"),
        ("step", b"ISO-10303-21;", "file-not-step"),
        ("", b"ISO-10303-21;", "file-not-step"),
    ],
)
def test_a_bad_file_says_what_to_do(web: Page, name: str, data: bytes, code: str) -> None:
    answer = drop(web, name, data)
    assert answer.status_code == 422
    assert answer.json()["problem"]["code"] == code
    assert answer.json()["problem"]["todo"]
    assert web.store.ids() == []


def test_answers_are_kept_and_undone(web: Page) -> None:
    job = web.demo()
    assert web.ask(f"/jobs/{job}/set", job__quantity="7", hold__grip_depth="0.3 in").status_code == 200
    assert web.data(job)["job"]["quantity"] == 7
    assert web.data(job)["hold"]["grip_depth"] == "0.3 in"
    web.ask(f"/jobs/{job}/undo")
    assert web.data(job)["job"]["quantity"] == 40
    assert "grip_depth" not in web.data(job)["hold"]
    web.ask(f"/jobs/{job}/redo")
    assert web.data(job)["job"]["quantity"] == 7


@pytest.mark.parametrize(
    ("fields", "field"),
    [
        ({"job__quantity": "many"}, "job.quantity"),
        ({"job__quantity": "0"}, "job.quantity"),
        ({"hold__grip_depth": "3 lightyears"}, "hold.grip_depth"),
        ({"hold__torque": "-3"}, "hold.torque"),
        ({"feature.0.depth": "99 m"}, "feature.0.depth"),
        ({"part__material": "unobtainium"}, "part.material"),
        ({"hold__up": "sideways"}, "hold.up"),
    ],
)
def test_a_bad_answer_is_told_at_its_field_and_not_kept(
    web: Page, fields: dict[str, str], field: str
) -> None:
    job = web.demo()
    before = web.store.job(job).text()
    answer = web.ask(f"/jobs/{job}/set", **fields)
    assert answer.status_code == 422
    assert answer.json()["problem"]["field"] == field
    assert web.store.job(job).text() == before


def test_keys_that_are_not_asked_are_not_taken(web: Page) -> None:
    job = web.demo()
    for fields in ({"part__file": "../../secret.step"}, {"hold__nonsense": "1"}, {"shop__name": "x"}):
        assert web.ask(f"/jobs/{job}/set", **fields).status_code == 422, fields
    assert web.data(job)["part"]["file"] == "part.step"
    assert web.ask(f"/jobs/{job}/set", hold__vise="V15").json()["problem"]["todo"].startswith("Did you mean")


def test_a_face_is_used_as_datum_up_or_feature(web: Page) -> None:
    job = drop(web, "pawl.step", demo("pawl.step")).json()["go"].removeprefix("/jobs/")
    web.see(job)
    faces = web.get(f"/jobs/{job}/part.json").json()["faces"]
    top = next(f for f in faces if f["faces"] == "+Z" and f["kind"] == "plane")
    bore = next(f for f in faces if f["hole"] is not None)
    for face, use in ((top, "up"), (top, "B"), (top, "B"), (top, "face"), (bore, "drill"), (bore, "drill")):
        assert web.ask(f"/jobs/{job}/pick", face=str(face["index"]), **{"as": use}).status_code == 200
    data = web.data(job)
    assert data["hold"]["up"] == "+Z"
    assert [d["letter"] for d in data["datum"]] == ["B"]
    assert [f["name"] for f in data["feature"]] == ["face 1", "drill 1", "drill 2"]
    assert web.ask(f"/jobs/{job}/pick", face="999", **{"as": "A"}).status_code == 422
    assert web.ask(f"/jobs/{job}/pick", face=str(bore["index"]), **{"as": "up"}).status_code == 422
    assert web.ask(f"/jobs/{job}/pick", face=str(top["index"]), **{"as": "drill"}).status_code == 422
    shows = web.get(f"/jobs/{job}.json").json()
    made = [m["made"] for m in shows["makeable"] if m["made"]]
    assert sorted(map(tuple, made)) == [("drill 1", "drill 2"), ("face 1",)]


def test_the_whole_top_and_outline_are_made_without_a_face(web: Page) -> None:
    job = drop(web, "pawl.step", demo("pawl.step")).json()["go"].removeprefix("/jobs/")
    web.see(job)
    for face, use in (("top", "face"), ("outline", "profile")):
        assert web.ask(f"/jobs/{job}/pick", face=face, **{"as": use}).status_code == 200
    assert web.data(job)["feature"] == [
        {"name": "face 1", "kind": "face"}, {"name": "profile 1", "kind": "profile"}
    ]  # fmt: skip
    rows = {m["face"]: m["made"] for m in web.get(f"/jobs/{job}.json").json()["makeable"]}
    assert rows["top"] == ["face 1"] and rows["outline"] == ["profile 1"]
    for face, use in (("top", "profile"), ("outline", "drill"), ("outline", "A"), ("bottom", "face")):
        assert web.ask(f"/jobs/{job}/pick", face=face, **{"as": use}).status_code == 422


def test_rows_are_added_moved_and_taken_out(web: Page) -> None:
    job = web.demo()
    names = [f["name"] for f in web.data(job)["feature"]]
    web.ask(f"/jobs/{job}/rows", of="feature", number="1", do="later")
    assert [f["name"] for f in web.data(job)["feature"]][1:3] == names[2:0:-1]
    web.ask(
        f"/jobs/{job}/rows", of="tolerance", do="add",
        **{"tolerance.new.feature": names[0], "tolerance.new.kind": "flatness", "tolerance.new.zone": "0.02"},
    )  # fmt: skip
    assert web.data(job)["tolerance"][-1] == {"feature": names[0], "kind": "flatness", "zone": "0.02 mm"}
    web.ask(f"/jobs/{job}/set", **{"tolerance.4.datums": "A|B, C"})
    assert web.data(job)["tolerance"][-1]["datums"] == ["A", "B", "C"]
    web.ask(f"/jobs/{job}/set", **{"feature.0.name": "back"})
    assert web.data(job)["tolerance"][-1]["feature"] == "back"  # the tolerance follows its feature
    web.ask(f"/jobs/{job}/rows", of="feature", number="0", do="remove")
    assert "back" not in [t["feature"] for t in web.data(job)["tolerance"]]
    for number in ("99", "²", "1" * 5000, "-1"):
        assert web.ask(f"/jobs/{job}/rows", of="feature", number=number, do="remove").status_code == 422
    assert web.ask(f"/jobs/{job}/rows", of="shop", do="add").status_code == 422


def test_names_with_markup_are_shown_as_they_are_written(web: Page) -> None:
    job = web.demo()
    web.ask(f"/jobs/{job}/set", job__name=MARKUP, job__part_number=MARKUP, **{"feature.0.name": MARKUP})
    web.leave(job, sample.good_record())
    for path in ("/jobs", f"/jobs/{job}", f"/jobs/{job}/sheet", f"/jobs/{job}/machine"):
        text = web.get(path).text
        assert "<script>alert" not in text, path
        assert path.endswith("machine") or "&lt;script&gt;" in text, path


def test_planning_starts_only_when_all_that_is_needed_is_answered(web: Page) -> None:
    job = drop(web, "pawl.step", demo("pawl.step")).json()["go"].removeprefix("/jobs/")
    answer = web.ask(f"/jobs/{job}/plan")
    assert answer.json()["problem"]["field"] == "job.quantity"
    web.ask(f"/jobs/{job}/set", job__quantity="5", part__material="6061-T6")
    assert web.ask(f"/jobs/{job}/plan").json()["go"] == f"/jobs/{job}/sheet"
    assert web.runner.started[-1] == f"plan {job}"
    assert (web.store.path(job) / "shop.toml").read_text() == web.store.shop.text()
    assert "trying stances" in web.get(f"/jobs/{job}/sheet").text
    assert web.ask(f"/jobs/{job}/stop", back="sheet").json()["go"].endswith("/sheet")
    assert "Stopped" in web.get(f"/jobs/{job}/sheet").text


def test_the_sheet_shows_what_is_in_the_record(web: Page) -> None:
    job = web.demo()
    assert web.get(f"/jobs/{job}/sheet").status_code == 303  # nothing planned yet: to the questions
    record = sample.good_record()
    web.leave(job, record)
    text = web.get(f"/jobs/{job}/sheet").text
    assert "older than" not in text
    for question, ask in QUESTIONS.items():
        assert f'id="{question}"' in text
        assert ask in html.unescape(text)
        for knob in KNOBS[question]:
            assert f'name="hold.{knob}"' in text
    for p in record.proofs:
        assert p.name in text
    twin = web.get(f"/jobs/{job}/sheet.json").json()
    assert [a["name"] for a in twin["asked"]] == list(QUESTIONS)
    for picture in twin["pictures"].values():
        answer = web.get(picture["href"])
        assert answer.headers["content-type"] == "image/svg+xml"
        assert "<script" not in answer.text


def test_the_sheet_shows_every_group_of_the_content() -> None:
    """What a paper shows, the page shows: the ready flag as its status, the answers as the six sections, each
    clamping with its files."""
    template = (Path(sheet.__file__).parent / "templates" / "sheet.html").read_text("utf-8")
    assert "{% for k in clampings %}" in template
    names = {f.name for f in fields_of(Content)} - {"ready", "answers", "clampings"}
    assert {n for n in names if f"c.{n}" not in template} == set()


def test_every_knob_is_a_key_of_the_job() -> None:
    keys = {k.name for k in schema.HOLD.keys}
    assert {k for knobs in KNOBS.values() for k in knobs} <= keys
    assert set(KNOBS) == set(QUESTIONS)


def test_the_sheet_reads_in_inch_without_a_new_plan(web: Page) -> None:
    job = web.demo()
    web.leave(job, sample.good_record())
    assert " mm" in web.get(f"/jobs/{job}/sheet").text
    web.http.cookies.set("units", "inch")
    text = web.get(f"/jobs/{job}/sheet").text
    assert " in</dd>" in text
    assert not re.search(r"\d mm</dd>", text)


def test_faces_of_the_part_read_in_inch_too(web: Page) -> None:
    job = web.demo()
    inch = {"cookie": "units=inch"}
    text = web.get(f"/jobs/{job}", headers=inch).text
    assert "0.394 through" in text and not re.search(r"\d mm\b", re.sub(r"<input[^>]*>", "", text))
    words = [f["words"] for f in web.get(f"/jobs/{job}/part.json", headers=inch).json()["faces"]]
    assert any(" in" in w for w in words) and not any(" mm" in w for w in words)
    assert any(" mm" in f["words"] for f in web.get(f"/jobs/{job}/part.json").json()["faces"])


def test_a_sheet_that_is_older_than_its_job_says_so_and_is_not_shown_at_the_machine(web: Page) -> None:
    job = web.demo()
    web.leave(job, sample.good_record())
    assert "N·m" in web.get(f"/jobs/{job}/machine").text
    web.ask(f"/jobs/{job}/set", job__units="inch")  # only what the papers are written in
    assert "older than" not in web.get(f"/jobs/{job}/sheet").text
    web.ask(f"/jobs/{job}/set", hold__grip_depth="7 mm")
    assert "older than the job" in web.get(f"/jobs/{job}/sheet").text
    refused = web.get(f"/jobs/{job}/machine").text
    assert "older than the job" in refused
    assert "<dl" not in refused
    web.ask(f"/jobs/{job}/undo")
    web.ask("/shop/rates", machine_hour="95")
    assert "older than the shop" in web.get(f"/jobs/{job}/sheet").text


def test_files_and_the_package_come_whole(web: Page) -> None:
    job = web.demo()
    web.leave(job, sample.good_record())
    folder = web.store.path(job) / "result"
    downloads = web.get(f"/jobs/{job}/sheet.json").json()["downloads"]
    assert {"setup-sheet.pdf", "record.json"} <= {f["name"] for f in downloads}
    for f in downloads:
        assert web.get(f["href"]).content == (folder / f["name"]).read_bytes()
    names = zipfile.ZipFile(io.BytesIO(web.get(f"/jobs/{job}/package.zip").content)).namelist()
    assert {f"{job}/job.toml", f"{job}/part.step", f"{job}/record.json"} <= set(names)


def test_a_refused_record_is_one_page(web: Page) -> None:
    job = web.demo()
    web.leave(job, sample.refused_record())
    assert web.get(f"/jobs/{job}/sheet").status_code == 200
    assert "Nothing is held here yet" in web.get(f"/jobs/{job}/machine").text


def test_every_page_of_the_shop_shows_its_keys(web: Page) -> None:
    for kind in KINDS:
        page = web.get(f"/shop/{kind.path}")
        assert page.status_code == 200
        assert web.get(f"/shop/{kind.path}.json").status_code == 200
        form = web.get(f"/shop/{kind.path}/new").text if kind.section.many else page.text
        for key in kind.section.keys:
            assert f'name="{key.name}"' in form, (kind.path, key.name)
    covered = {k.section.name for k in KINDS}
    assert covered == {s.name for s in shop_schema.SECTIONS}


def test_things_of_the_shop_are_changed_added_and_taken_out(web: Page) -> None:
    assert web.ask("/shop/vises/0", was="V150", lift=["0.01", "0.02", "0.03"]).status_code == 200
    assert '"0.01 mm", "0.02 mm", "0.03 mm"' in web.store.shop.text()
    bad = web.ask("/shop/vises/0", was="V150", bolt_height="99 mm")
    assert bad.json()["problem"]["field"] == "shop.bolt_height"
    assert web.ask("/shop/vises/0", was="V100", opening="90 mm").status_code == 422
    assert web.ask("/shop/parallels/new", id="P9", height="9", thickness="6", length="150").status_code == 200
    rows = web.get("/shop/parallels.json").json()["rows"]
    assert rows[-1]["cells"][0] == "P9"
    web.ask(f"/shop/parallels/{len(rows) - 1}", was="P9", do="remove")
    assert len(web.get("/shop/parallels.json").json()["rows"]) == len(rows) - 1
    web.ask("/shop/undo", path="parallels")
    assert len(web.get("/shop/parallels.json").json()["rows"]) == len(rows)
    like = web.get("/shop/cutters/new?like=2").text
    assert 'value="22"' in like  # the next free pocket
    assert web.get("/shop/cutters/99").status_code == 422
    assert web.get("/shop/nonsense").status_code == 422


def test_steps_are_ticked_and_a_new_plan_starts_anew(web: Page) -> None:
    job = web.demo()
    web.leave(job, sample.good_record())
    steps = f"/jobs/{job}/machine/steps"
    assert web.ask(steps, step="0", do="tick").json()["go"] == f"{steps}?at=1"
    web.ask(steps, step="1", do="tick")
    web.ask(steps, step="0", do="untick")
    assert web.get(f"{steps}.json").json()["ticked"] == [1]
    for step in ("999", "²", "1" * 5000, "-1", ""):
        assert web.ask(steps, step=step, do="tick").status_code == 422, step[:9]
    web.leave(job, sample.good_record())
    assert web.get(f"{steps}.json").json()["ticked"] == []


def _position(web: Page, job: str) -> int:
    rows = web.get(f"/jobs/{job}/machine/measure.json").json()["rows"]
    return int(next(r["number"] for r in rows if r["what"].startswith("position")))


def test_a_reading_is_kept_by_a_second_touch_and_judged_by_the_mean_of_three(web: Page) -> None:
    job = web.demo()
    web.leave(job, sample.good_record())
    at = f"/jobs/{job}/machine/measure/{_position(web, job)}"

    def enter(x: str, y: str) -> None:
        checked = web.http.post(at, data={"do": "check", "reading0": x, "reading1": y}, headers=OWN)
        assert "Keep" in checked.text
        web.ask(at, do="keep", reading0=x, reading1=y)

    checked = web.http.post(at, data={"do": "check", "reading0": "0.02", "reading1": "0"}, headers=OWN)
    assert checked.status_code == 200
    assert web.get(f"{at}.json").json()["next"] == 1  # looked at, not kept
    for x in ("0.020", "0.021", "0,022"):
        enter(x, "-0.001")
    shows = web.get(f"{at}.json").json()
    assert shows["advice"] == "move it"
    assert shows["moves"] == [{"axis": "X", "words": "-0.021 mm"}]
    web.ask(at, do="moved")
    assert web.get(f"{at}.json").json()["advice"] == "measure more"
    enter("0.09", "0")
    assert web.get(f"{at}.json").json()["advice"] == "stop"
    web.ask(at, do="back")
    assert web.get(f"{at}.json").json()["next"] == 4
    assert web.ask(at, do="keep", reading0="wide", reading1="0").status_code == 422
    assert web.get(f"/jobs/{job}/machine/measure/99").status_code == 404


def test_eight_pictures_lead_to_two_readings_and_an_answer(web: Page) -> None:
    job = web.demo()
    web.leave(job, sample.good_record())
    text = web.get(f"/jobs/{job}/machine/wrong").text
    keys = re.findall(rf"/jobs/{job}/machine/wrong/([a-z]+)", text)
    assert len(set(keys)) == 8
    for key in set(keys):
        assert web.get(f"/static/wrong/{key}.svg").status_code == 200
        asked = web.get(f"/jobs/{job}/machine/wrong/{key}").text
        assert asked.count("<input name=") == 2
        answered = web.get(f"/jobs/{job}/machine/wrong/{key}?a=0.02&b=0.01").text
        assert 'class="advice"' in answered
        assert "safe" not in answered.lower().replace("unsafe", "")
    assert "has no unit" not in web.get(f"/jobs/{job}/machine/wrong/marks?a=20&b=0.1").text
    assert "not a number" in web.get(f"/jobs/{job}/machine/wrong/marks?a=much&b=0.1").text


def test_the_interface_is_described(web: Page) -> None:
    paths = web.get("/openapi.json").json()["paths"]
    assert {"/jobs", "/jobs/{job_id}/set", "/jobs/{job_id}/pick", "/jobs/{job_id}/plan"} <= set(paths)
    for path, methods in paths.items():
        for method, route in methods.items():
            assert route["summary"] and route["responses"]["422"]["content"], path
            assert ("requestBody" in route) == (method == "post"), path
    assert web.get("/openapi.json").json()["components"]["schemas"]["Problem"]["required"] == ["problem"]
    told = web.ask("/rack/add", job="").json()
    assert set(told["problem"]) == {"code", "what", "where", "todo", "field"}


def test_the_specimen_shows_every_state(web: Page) -> None:
    text = web.get("/specimen").text
    for word in ("PASS", "CAUTION", "FAIL", "UNKNOWN", "Planning", "Stopped"):
        assert word in text
    assert "<script>alert" not in text


def test_a_job_put_away_keeps_its_folder(web: Page) -> None:
    job = web.demo()
    web.ask(f"/jobs/{job}/away")
    assert web.store.ids() == []
    assert (web.store.folder / "put-away" / job / "part.step").exists()


def test_a_job_without_a_plan_has_its_part_on_the_list(web: Page) -> None:
    job = web.demo()
    assert f'src="/jobs/{job}/sight.svg"' in web.get("/jobs").text
    picture = web.get(f"/jobs/{job}/sight.svg")
    assert picture.headers["content-type"] == "image/svg+xml" and picture.text.count("<path") > 20
    web.leave(job, sample.good_record())
    assert f"/jobs/{job}/drawing/plan.svg" in web.get("/jobs").text


def test_holes_and_faces_alike_are_told_apart_by_their_place() -> None:
    """Ten holes of one size in a list: each says where it is; one that is alone does not."""
    holes = [{"words": "hole Ø2.00", "at_mm": [1.5, -2.0, z]} for z in (0.0, 25.4)]
    part = {"faces": [], "holes": [*holes, {"words": "hole Ø3.00", "at_mm": [0.0, 0.0, 0.0]}]}
    told = [h["words"] for h in told_in(part, "mm")["holes"]]
    assert told == [
        "hole Ø2.00, at X 1.50 Y -2.00 Z 0.00 mm",
        "hole Ø2.00, at X 1.50 Y -2.00 Z 25.40 mm",
        "hole Ø3.00",
    ]
    assert told_in(part, "inch")["holes"][1]["words"].endswith("at X 0.059 Y -0.079 Z 1.000 in")
    assert told_in({}, "mm") == {}
