"""The rack, the first article, the diagnosis, and plans from the command line."""

from __future__ import annotations

import hashlib
import shutil
from dataclasses import replace
from pathlib import Path

import pytest

from doors.web.served import ASK, Page
from jawright.doors.web.inputs import ABOUT
from jawright.doors.web.plans import bring_in
from jawright.doors.web.store import demo
from jawright.doors.web.work import find_for
from jawright.errors import JawrightError
from jawright.papers import bundle
from papers import sample


def test_a_pair_goes_on_the_rack_out_and_back(web: Page) -> None:
    job = web.demo()
    assert web.ask("/rack/add", job=job).json()["problem"]["what"] == "Choose a planned job"
    web.leave(job, sample.good_record())
    at = web.ask("/rack/add", job=job, place="drawer <3>", id="DW-7").json()["go"]
    assert at == "/rack/DW-7"
    text = web.get("/rack?q=drawer").text
    assert "drawer &lt;3&gt;" in text and "/rack/DW-7" in text
    assert "No pair like that" in web.get("/rack?q=nothing").text
    assert web.ask(f"{at}/out", to="").json()["problem"]["code"] == "key-missing"
    assert web.ask(f"{at}/out", to="mill 2").json()["go"] == at
    assert "out to mill 2" in web.get(at).text
    assert web.ask(f"{at}/out", to="mill 3").json()["problem"]["code"] == "rack-state"
    assert web.ask(f"{at}/in", parts="x").json()["problem"]["code"] == "value-bad"
    assert web.ask(f"{at}/in", parts="40", status="re-qualify", why="dropped").json()["go"] == at
    twin = web.get(f"{at}.json").json()
    assert twin["row"]["run"] == "40" and twin["row"]["status"] == "re-qualify: dropped"
    assert web.ask(f"{at}/seat", x="0.004", y="-0.002 mm", z="0.1 thou").json()["go"] == at
    assert web.get(f"{at}.json").json()["seats"][0]["x"] == "0.004 mm"
    label = web.get(f"{at}/label.svg")
    assert label.headers["content-type"] == "image/svg+xml" and "DW-7" in label.text
    assert web.ask(f"{at}/remove", why="worn").json()["go"] == "/rack"
    assert web.get(at).status_code == 404


@pytest.mark.parametrize("name", ["../x", "a/b", "<b>", ".hidden", "x" * 50])
def test_names_of_pairs_are_plain(web: Page, name: str) -> None:
    job = web.demo()
    web.leave(job, sample.good_record())
    assert web.ask("/rack/add", job=job, id=name).json()["problem"]["code"] == "value-bad"


def test_a_search_of_the_rack_runs_beside_the_page(web: Page) -> None:
    job = web.demo()
    assert web.ask(f"/jobs/{job}/find").json()["go"] == f"/rack/find?job={job}"
    assert f"find {job}" in web.runner.started
    assert "trying stances" in web.get(f"/rack/find?job={job}").text
    assert web.get("/rack/find?job=none").status_code == 404


def test_a_search_leaves_what_it_found_beside_the_job(web: Page) -> None:
    job = web.demo()
    web.leave(job, sample.good_record())
    web.ask("/rack/add", job=job, id="DW-7")
    web.ask(f"/jobs/{job}/find")  # puts the shop beside the job
    steps: list[str] = []
    find_for(web.store.path(job), steps.append)
    web.runner.stop(f"find {job}")
    assert steps
    twin = web.get(f"/rack/find.json?job={job}").json()
    assert twin["kept"] and twin["fresh"]
    assert twin["offers"] == []  # the sample's pair belongs to a vise this shop has not
    assert "offers nothing" in web.get(f"/rack/find?job={job}").text


def test_the_first_article_is_judged_with_its_gauge(web: Page) -> None:
    job = web.demo()
    assert web.get(f"/jobs/{job}/first").status_code == 303
    web.leave(job, sample.good_record())
    at = f"/jobs/{job}/first"
    rows = web.get(f"{at}.json").json()["rows"]
    place = next(r for r in rows if r["axes"] == ["X", "Y"])
    n = place["number"]
    fields = {f"reading.{n}": ["0.002", "0.001"], f"unsure.{n}": ["0.002"]}
    assert web.http.post(at, data=fields, headers=ASK).json()["go"] == at
    row = next(r for r in web.get(f"{at}.json").json()["rows"] if r["number"] == n)
    assert (row["level"], row["word"]) == ("pass", "IN")
    fields[f"reading.{n}"] = ["2", "2"]
    web.http.post(at, data=fields, headers=ASK)
    assert next(r for r in web.get(f"{at}.json").json()["rows"] if r["number"] == n)["word"] == "OUT"
    bad = {f"reading.{n}": ["a bit", "0"]}
    assert "problem" in web.http.post(at, data=bad, headers=ASK).json()
    assert "OUT" in web.get(at).text  # what was kept stays


def test_a_run_is_diagnosed_and_the_machines_readings_are_taken(web: Page) -> None:
    job = web.demo()
    web.leave(job, sample.good_record())
    at = f"/jobs/{job}/diagnosis"
    assert "Put the measurements of a run" in web.get(at).text
    rows = "\n".join(
        f"{k},{0.01 * (k % 5):.3f},{0.005 * (k % 5) + 0.0001 * (k * k % 7):.4f}" for k in range(1, 31)
    )
    web.ask(at, text=f"part,size_mm,pivot_y_mm\n{rows}", do="text")
    twin = web.get(f"{at}.json").json()
    assert twin["said"]["count"] == 30
    assert [n["cause"] for n in twin["said"]["sure"]] == ["self-centering"]  # half the size, both ways
    web.ask(at, text="x,y\n1,2", do="text")
    assert "no column" in web.get(at).text
    one = f"/jobs/{job}/machine/measure/1"
    for value in ("0.01", "0.02", "0.015"):
        web.ask(one, do="keep", reading0=value, reading1="0")
    web.ask(at, do="machine")
    assert web.get(f"{at}.json").json()["said"]["count"] == 3


def test_a_plan_of_the_command_line_is_shown_as_it_is(web: Page) -> None:
    job = web.demo()
    record = sample.good_record()
    bundle.write(record, web.store.path(job) / "result")  # no note of the page's own
    card = web.get("/jobs.json").json()["cards"][0]
    assert card["decision"] == record.decision.sentence
    assert "changed since" in card["state"]  # the sample was made from no file of this job
    assert web.get(f"/jobs/{job}/sheet").status_code == 200
    (web.store.path(job) / "result" / "record.json").write_text("{}")
    assert web.get("/jobs").status_code == 200


def test_a_plan_is_brought_in_with_what_it_was_made_from(web: Page, tmp_path: Path) -> None:
    files = {"pawl.toml": demo("pawl.toml"), "pawl.step": demo("pawl.step")}
    for name, data in files.items():
        (tmp_path / name).write_bytes(data)
    sha = {name: hashlib.sha256(data).hexdigest() for name, data in files.items()}
    record = sample.good_record()
    record = replace(
        record,
        job=replace(record.job, sha256=sha["pawl.toml"]),
        part=replace(record.part, sha256=sha["pawl.step"], file="pawl.step"),
    )
    bundle.write(record, tmp_path / "plan")
    job = bring_in(web.store, tmp_path / "plan")
    assert (web.store.path(job) / "part.step").read_bytes() == files["pawl.step"]
    assert (web.store.path(job) / "result" / ABOUT).is_file()
    web.leave(job, sample.good_record())  # the next plan may take its place
    bring_in(web.store, tmp_path / "plan")
    cards = {c["id"]: c["state"] for c in web.get("/jobs.json").json()["cards"]}
    assert "changed" in next(s for i, s in cards.items() if i != job)  # its shop is not here
    assert web.get(f"/jobs/{job}/sheet").status_code == 200
    shutil.move(tmp_path / "pawl.toml", tmp_path / "plan" / "job.txt")
    (tmp_path / "plan" / "job.txt").write_text("other")
    with pytest.raises(JawrightError) as e:
        bring_in(web.store, tmp_path / "plan")
    assert e.value.code == "file-missing"
