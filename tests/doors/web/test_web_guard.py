"""Hostile requests: nothing gets through, and the server answers afterwards."""

from __future__ import annotations

import asyncio
import io
import zipfile
from collections.abc import Coroutine, Iterator
from concurrent.futures import ThreadPoolExecutor
from typing import Any
from urllib.parse import quote

import ezdxf
import pytest

from doors.web.served import ADDRESS, ASK, OWN, Page
from jawright.doors.web.guard import BODY_BYTES, FORM_BYTES
from jawright.doors.web.store import demo
from jawright.errors import JawrightError


def test_a_foreign_host_name_is_refused(web: Page) -> None:
    """A name that was made to point here is another site to the browser, and must stay one."""
    for host in (
        "evil.example",
        "evil.example:8731",
        "127.0.0.1",
        "127.0.0.1:80",
        "localhost.evil.example:8731",
    ):
        assert web.get("/jobs", headers={"host": host}).status_code == 421
    assert web.get("/jobs", headers={"host": ADDRESS}).status_code == 200


@pytest.mark.parametrize(
    "headers",
    [
        {},
        {"origin": "null"},
        {"origin": "http://evil.example"},
        {"origin": f"https://{ADDRESS}"},
        {"origin": f"http://{ADDRESS}.evil.example"},
        {**OWN, "sec-fetch-site": "cross-site"},
    ],
)
def test_changes_come_from_our_own_pages_only(web: Page, headers: dict[str, str]) -> None:
    before = web.store.ids()
    for path in ("/demo", "/jobs", "/view", "/shop/undo"):
        assert web.http.post(path, headers=headers, content=b"x=1").status_code == 403, path
    assert web.store.ids() == before


@pytest.mark.parametrize("method", ["PUT", "DELETE", "PATCH", "OPTIONS", "TRACE"])
def test_other_methods_are_refused(web: Page, method: str) -> None:
    assert web.http.request(method, "/jobs", headers=OWN).status_code == 405


@pytest.mark.parametrize(
    "path",
    [
        "/static/../app.py",
        "/static/%2e%2e/app.py",
        "/static/..%2f..%2fapp.py",
        "/static/%2e%2e%2f%2e%2e%2f%2e%2e%2f%2e%2e%2f%2e%2e%2f%2e%2e%2fetc/passwd",
        "/jobs/%2e%2e%2f%2e%2e",
        "/jobs/../../etc/passwd",
        "/jobs/{job}/file/..%2fjob.toml",
        "/jobs/{job}/file/%2e%2e%2fjob.toml",
        "/jobs/{job}/file/..\\job.toml",
        "/jobs/{job}/file/job.toml",
        "/jobs/{job}/drawing/..%2f..%2fpart.svg",
        "/jobs/{job}%00",
        "/jobs/.hidden",
        "/jobs/" + "a" * 5000,
    ],
)
def test_no_path_from_outside_reaches_the_disk(web: Page, path: str) -> None:
    job = web.demo()
    (web.store.folder / "jobs" / ".hidden").mkdir()
    (web.store.folder / "jobs" / ".hidden" / "job.toml").write_text("")
    answer = web.get(path.replace("{job}", job))
    assert answer.status_code in (404, 421), answer.text[:200]
    assert "root:" not in answer.text
    assert "[part]" not in answer.text


def test_a_link_out_of_the_folder_is_no_job(web: Page) -> None:
    outside = web.store.folder.parent / "elsewhere"
    outside.mkdir()
    (outside / "job.toml").write_text("")
    (web.store.folder / "jobs" / "linked").symlink_to(outside)
    assert web.get("/jobs/linked").status_code == 404
    assert "linked" not in web.store.ids()


def test_a_body_is_cut_off_at_its_limit(web: Page) -> None:
    chunk = b"\0" * 1_000_000
    sent = 0

    def endless() -> Iterator[bytes]:
        nonlocal sent
        while True:
            sent += len(chunk)
            if sent > 200_000_000:
                return
            yield chunk

    answer = web.http.post("/jobs", headers={**ASK, "x-file-name": "a.step"}, content=endless())
    assert answer.status_code == 413
    form = b"a=" + b"x" * FORM_BYTES
    kind = {"content-type": "application/x-www-form-urlencoded"}
    assert web.http.post("/view", headers={**OWN, **kind}, content=form).status_code == 413
    assert web.store.ids() == []
    assert web.get("/jobs").status_code == 200


def test_a_body_that_says_it_is_too_large_is_not_read(web: Page) -> None:
    head = {**ASK, "x-file-name": "a.step", "content-length": str(BODY_BYTES + 1)}
    answer = web.http.post("/jobs", headers=head, content=b"ISO-10303-21;")
    assert answer.status_code == 422
    assert answer.json()["problem"]["code"] == "file-too-large"


def test_ten_thousand_lines_of_markup_in_a_drawing_stay_text(web: Page) -> None:
    bad = "<script>alert(1)</script><img src=x onerror=alert(1)>"
    drawing = ezdxf.new()
    space = drawing.modelspace()
    space.add_lwpolyline([(0, 0), (60, 0), (60, 40), (0, 40)], close=True)
    for k in range(600):
        space.add_text(f"{bad} {k}", dxfattribs={"insert": (0, k)})
    out = io.StringIO()
    drawing.write(out)
    text = out.getvalue()
    assert text.count("\n") > 10_000
    answer = web.http.post("/jobs", headers={**ASK, "x-file-name": f"{bad}.dxf"}, content=text.encode())
    job = answer.json()["go"].rpartition("/")[2]
    assert set(job) <= set("abcdefghijklmnopqrstuvwxyz0123456789-")
    web.ask(f"/jobs/{job}/set", part__thickness="10 mm", part__unit="mm")
    web.see(job)
    for path in (f"/jobs/{job}", "/jobs", f"/jobs/{job}/sheet", f"/jobs/{job}/diagnosis"):
        page = web.get(path).text
        assert "<script>alert" not in page and "<img src=x" not in page, path
    kept = web.get(f"/jobs/{job}/part.json").text
    assert len(kept) < 200_000


def test_every_answer_forbids_what_a_page_of_ours_never_does(web: Page) -> None:
    for path in ("/jobs", "/jobs/none", "/static/page.css", "/openapi.json", "/specimen"):
        head = web.get(path).headers
        assert "default-src 'none'" in head["content-security-policy"], path
        assert "unsafe" not in head["content-security-policy"], path
        assert head["x-content-type-options"] == "nosniff"
        assert head["x-frame-options"] == "DENY"


@pytest.mark.parametrize(
    ("kind", "body"),
    [
        ("application/json", b"{}"),
        ("text/plain", b"a=1"),
        ("multipart/form-data; boundary=x", b"--x--"),
        ("application/x-www-form-urlencoded", b"\xff\xfe=1"),
        ("application/x-www-form-urlencoded", b"&".join(b"a%d=1" % i for i in range(2000))),
    ],
)
def test_bodies_that_are_no_form_are_refused(web: Page, kind: str, body: bytes) -> None:
    job = web.demo()
    before = web.store.job(job).text()
    answer = web.http.post(f"/jobs/{job}/set", headers={**ASK, "content-type": kind}, content=body)
    assert answer.status_code == 422
    assert web.store.job(job).text() == before


def test_going_back_never_leaves_this_server(web: Page) -> None:
    for back in ("https://evil.example/", "//evil.example", "/\\evil.example", "javascript:alert(1)", ""):
        answer = web.http.post("/view", data={"back": back, "units": "inch"}, headers=OWN)
        assert answer.headers["location"] == "/jobs", back


def _ran(work: Coroutine[Any, Any, None]) -> None:
    """In a thread of its own: where a browser was tested before, this one has a loop already."""
    with ThreadPoolExecutor(1) as pool:
        pool.submit(asyncio.run, work).result()


def test_a_body_that_does_not_arrive_is_not_waited_for(web: Page, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("jawright.doors.web.guard.BODY_SECONDS", 0.05)
    said: list[dict[str, object]] = []

    async def never() -> dict[str, object]:
        await asyncio.sleep(30)
        return {"type": "http.request", "body": b"", "more_body": False}

    async def send(message: object) -> None:
        assert isinstance(message, dict)
        said.append(message)

    scope = {
        "type": "http", "asgi": {"version": "3.0"}, "http_version": "1.1", "method": "POST", "path": "/view",
        "raw_path": b"/view", "query_string": b"", "root_path": "", "scheme": "http",
        "headers": [(b"host", ADDRESS.encode()), (b"origin", OWN["origin"].encode())],
    }  # fmt: skip
    _ran(web.app(scope, never, send))
    assert said[0]["status"] == 408


@pytest.mark.parametrize("path", ["/etc/passwd", "../shop.toml", "part.step", "C:\\x.step"])
def test_a_form_names_no_file(web: Page, path: str) -> None:
    """Neither the part nor the model of it as it comes is read from a place somebody writes."""
    job = web.demo()
    before = web.store.job(job).text()
    for name in ("part.file", "incoming.model"):
        answer = web.http.post(f"/jobs/{job}/set", headers=ASK, data={name: path})
        assert answer.status_code == 422 and "not changed by name" in answer.json()["problem"]["what"]
    assert web.store.job(job).text() == before


def test_files_that_arrive_at_once_have_one_room_together(web: Page, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("jawright.doors.web.guard.ALL_BYTES", 2_500_000)
    said: list[int] = []

    async def one() -> None:
        sent = 0

        async def receive() -> dict[str, object]:
            nonlocal sent
            sent += 1
            await asyncio.sleep(0.01)
            return {"type": "http.request", "body": b"\0" * 1_000_000, "more_body": sent < 2}

        async def send(message: object) -> None:
            assert isinstance(message, dict)
            if message["type"] == "http.response.start":
                said.append(message["status"])

        scope = {
            "type": "http", "asgi": {"version": "3.0"}, "http_version": "1.1", "method": "POST",
            "path": "/jobs", "raw_path": b"/jobs", "query_string": b"", "root_path": "", "scheme": "http",
            "headers": [(b"host", ADDRESS.encode()), (b"origin", OWN["origin"].encode()),
                        (b"accept", b"application/json"), (b"x-file-name", b"a.txt")],
        }  # fmt: skip
        await web.app(scope, receive, send)

    async def three() -> None:
        await asyncio.gather(one(), one(), one())

    _ran(three())
    assert 503 in said and len(said) == 3
    assert web.app._arriving.bytes == 0  # what was counted is given back
    said.clear()
    _ran(one())
    assert said == [422]


@pytest.mark.parametrize(
    "name",
    [
        "<script>alert(1)</script>.step", "\u0000\u0001.step", "a" * 150 + ".step", "..%2f..%2fx.step",
        "\u202egpj.step", "Kurbel \u00e4\u00f6\u00fc \u6b63.step", "con.step", ".step",
        "'; drop table.step",
    ],
)  # fmt: skip
def test_any_name_of_a_file_is_only_a_name(web: Page, name: str) -> None:
    head = {**ASK, "x-file-name": quote(name, safe="")}
    answer = web.http.post("/jobs", headers=head, content=demo("pawl.step"))
    assert answer.status_code == 200, answer.text
    job = answer.json()["go"].rpartition("/")[2]
    assert set(job) <= set("abcdefghijklmnopqrstuvwxyz0123456789-") and len(job) <= 60
    assert [p.name for p in web.store.path(job).iterdir() if p.name.startswith("part")] == ["part.step"]
    for path in ("/jobs", f"/jobs/{job}"):
        page = web.get(path)
        assert page.status_code == 200
        assert "<script>alert" not in page.text and "\0" not in page.text


def test_junk_under_a_good_name_is_told_and_forgotten(web: Page) -> None:
    """A zip, markup, zeros, a header alone: each becomes a job that says its part cannot be read."""
    zipped = io.BytesIO()
    with zipfile.ZipFile(zipped, "w") as z:
        z.writestr("a.step", "x" * 100)
    junk = [
        zipped.getvalue(),
        b"<?xml version='1.0'?><a/>",
        b"\0" * 1000,
        b"ISO-10303-21;",
        "\u00e9".encode("utf-16"),
    ]
    for body in junk:
        answer = web.http.post("/jobs", headers={**ASK, "x-file-name": "a.step"}, content=body)
        job = answer.json()["go"].rpartition("/")[2]
        with pytest.raises(JawrightError) as e:
            web.see(job)
        assert e.value.todo or e.value.what
        assert web.get(f"/jobs/{job}").status_code == 200
    assert web.http.post("/jobs", headers={**ASK, "x-file-name": "a.step"}, content=b"").status_code == 422


def test_one_form_sent_twice_is_one_change(web: Page) -> None:
    job = web.demo()
    for _ in range(2):
        web.ask(f"/jobs/{job}/set", job__quantity="41")
    assert web.data(job)["job"]["quantity"] == 41
    web.ask(f"/jobs/{job}/undo")
    assert web.data(job)["job"]["quantity"] == 40  # the second was no version of its own
