"""Open to a network: nothing without the token, and the code on a sheet leads to its job."""

from __future__ import annotations

import asyncio
import logging
import os
import re
import socket
import subprocess
import sys
from pathlib import Path

import pytest
from starlette.testclient import TestClient

from doors.web.served import ADDRESS, ASK, OWN, Idle, Page
from jawright.doors.cli.main import main
from jawright.doors.cli.serve import _not_of_leaving
from jawright.doors.web.app import create_app
from jawright.doors.web.token import COOKIE, Gate, read_token
from jawright.errors import JawrightError
from jawright.papers.sheet import code, digest
from jawright.record_json import dumps
from papers import sample

TOKEN = "a-token-of-the-shop-42"


@pytest.fixture
def shut(tmp_path: Path) -> TestClient:
    app = create_app(tmp_path / "jobs", hosts=frozenset({ADDRESS}), runner=Idle(), gate=Gate(TOKEN))
    return TestClient(app, base_url=f"http://{ADDRESS}", follow_redirects=False)


@pytest.mark.parametrize(
    "path", ["/", "/jobs", "/static/page.css", "/openapi.json", "/jobs.json", "/nothing"]
)
def test_nothing_is_shown_without_the_token(shut: TestClient, path: str) -> None:
    answer = shut.get(path)
    assert answer.status_code == 401
    assert "needs its token" in answer.text and TOKEN not in answer.text
    assert "default-src 'none'" in answer.headers["content-security-policy"]


@pytest.mark.parametrize("cookie", ["", "x", TOKEN[:-1], TOKEN + "1", f'"{TOKEN}x"'])
def test_a_wrong_token_opens_nothing(shut: TestClient, cookie: str, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("jawright.doors.web.token.WRONG_S", 0.0)
    assert shut.get("/jobs", headers={"cookie": f"{COOKIE}={cookie}"}).status_code == 401
    assert shut.get("/jobs", params={"token": cookie}).status_code == 401
    assert shut.post("/demo", headers={**ASK, "cookie": f"{COOKIE}={cookie}"}).status_code == 401


def test_the_token_is_given_once(shut: TestClient) -> None:
    answer = shut.get("/rack", params={"token": TOKEN, "q": "a b&c"})
    assert answer.status_code == 303
    assert answer.headers["location"] == "/rack?q=a+b%26c"  # the token does not stay in the address
    assert "HttpOnly" in answer.headers["set-cookie"] and "SameSite=Strict" in answer.headers["set-cookie"]
    assert shut.get("/rack").status_code == 200
    assert shut.post("/demo", headers={"origin": "http://evil.example"}).status_code == 403
    assert shut.post("/demo", headers=OWN).status_code == 303


def test_a_token_is_made_and_kept(tmp_path: Path) -> None:
    file = tmp_path / "token"
    token = read_token(file)
    assert read_token(file) == token and len(token) >= 24
    assert file.stat().st_mode & 0o077 == 0
    file.write_text("short")
    with pytest.raises(JawrightError) as e:
        read_token(file)
    assert e.value.code == "value-bad"


def test_the_network_needs_an_address_and_a_token(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    folder = ["--folder", str(tmp_path / "jobs")]
    assert main(["serve", *folder, "--network", "0.0.0.0/0"]) == 2
    assert "is not an address" in capsys.readouterr().err
    assert main(["serve", *folder, "--network", "192.168.1.20"]) == 2
    assert "needs a token" in capsys.readouterr().err


def test_the_code_on_a_sheet_opens_its_own_screen_only(web: Page) -> None:
    job = web.demo()
    record = sample.good_record()
    web.leave(job, record)
    name = digest(dumps(record))
    assert web.get(f"/r/{name}").headers["location"] == f"/jobs/{job}/machine"
    for old in (name[:-1], name[::-1], "", "..%2f", "<script>"):
        answer = web.get(f"/r/{old}")
        assert answer.status_code == 404, old
        assert "<script>" not in answer.text
    with_address = code(record, dumps(record), "http://192.168.1.20:8731")
    assert with_address != code(record, dumps(record))


def test_the_token_stands_in_no_log_and_no_file(tmp_path: Path) -> None:
    """A server as it is started: right and wrong tokens, broken requests; what it prints is read."""
    kept = tmp_path / "token"
    token = read_token(kept)
    jobs = tmp_path / "jobs"
    command = [sys.executable, "-m", "jawright", "serve", "--port", "0", "--folder", str(jobs)]
    command += ["--network", "127.0.0.1", "--token-file", str(kept)]
    env = {**os.environ, "OPENBLAS_NUM_THREADS": "1", "PYTHONUNBUFFERED": "1"}
    with (tmp_path / "said").open("w") as said:
        process = subprocess.Popen(command, stdout=subprocess.PIPE, stderr=said, text=True, env=env)
        assert process.stdout is not None
        try:
            first = process.stdout.readline()
            port = int(re.findall(r":(\d+)", first)[0])
            for head in (
                f"GET /jobs?token={token} HTTP/1.1",
                f"GET /jobs?token=x{token} HTTP/1.1",
                f"GET /jobs/none/sheet?token={token} HTTP/1.1",
                f"POST /demo?token={token} HTTP/1.1",
                f"GET /?token={token} HTTP/9.9",
                f"GE T /?token={token}",
                f"GET /r/%ff%00?token={token}&token=%zz HTTP/1.1",
            ):
                with socket.create_connection(("127.0.0.1", port), timeout=30) as line:
                    cookie = f"cookie: {COOKIE}={token}\r\n"
                    text = f"{head}\r\nhost: 127.0.0.1:{port}\r\n{cookie}connection: close\r\n\r\n"
                    line.sendall(text.encode("latin-1"))
                    while line.recv(65536):
                        pass
        finally:
            process.terminate()
            rest = process.communicate(timeout=60)[0]
    printed = first + rest + (tmp_path / "said").read_text("utf-8")
    assert "Jawright is at" in printed and "?token=…" in printed, "else nothing was read"
    assert token not in printed
    for path in jobs.rglob("*"):
        assert not path.is_file() or token.encode() not in path.read_bytes(), path.name


def test_stopping_in_the_middle_of_an_answer_leaves_no_traceback() -> None:
    def told(message: str, error: BaseException | None) -> bool:
        info = None if error is None else (type(error), error, None)
        return _not_of_leaving(logging.LogRecord("uvicorn.error", logging.ERROR, "", 0, message, None, info))

    assert not told("Exception in ASGI application", asyncio.CancelledError())
    assert not told("Cancel 1 running task(s), timeout graceful shutdown exceeded", None)
    assert told("Exception in ASGI application", ValueError("a defect"))
    assert told("something else", None)
