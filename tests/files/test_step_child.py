"""The reading child: limits, crashes, hangs and errors each end in one sentence."""

from __future__ import annotations

import os
import signal
import sys
import time
from pathlib import Path

import pytest

from jawright.errors import JawrightError
from jawright.files import child

TROUBLE = """
import os, signal, time
from jawright.errors import JawrightError
def fine(word): return {"word": word}, b"\\x00blob"
def crash(): os.kill(os.getpid(), signal.SIGSEGV)
def leave(): os._exit(3)
def stop(): raise ZeroDivisionError("inside")
def own(): raise JawrightError("part-flat", what="flat", todo="thicken")
def eat(): return {"n": len(bytearray(8 << 30))}, b""
def spin():
    while True: pass
"""


@pytest.fixture(scope="module", autouse=True)
def readers(tmp_path_factory: pytest.TempPathFactory) -> object:
    """A module of troublesome readers, and a server that can import it."""
    folder = tmp_path_factory.mktemp("readers")
    (folder / "trouble.py").write_text(TROUBLE, encoding="utf-8")
    with pytest.MonkeyPatch.context() as patch:
        patch.syspath_prepend(str(folder))
        child._stop()
        yield folder
        child._stop()


def test_an_answer_comes_back_whole() -> None:
    assert child.run("trouble:fine", {"word": "Ø"}, where="x") == ({"word": "Ø"}, b"\x00blob")


@pytest.mark.parametrize(
    ("reader", "says"),
    [
        ("crash", "the solid kernel crashed on the file"),
        ("leave", "ended without an answer"),
        ("stop", "stopped with ZeroDivisionError"),
        ("eat", "more memory than the limit"),
    ],
)
def test_trouble_is_one_error_and_the_next_file_is_read(reader: str, says: str) -> None:
    with pytest.raises(JawrightError, match=says) as e:
        child.run(f"trouble:{reader}", {}, where="bad.step")
    assert e.value.code == "file-broken"
    assert str(e.value).startswith("bad.step: ")
    assert child.run("trouble:fine", {"word": "next"}, where="x")[0] == {"word": "next"}


def test_the_readers_own_error_keeps_its_code() -> None:
    with pytest.raises(JawrightError) as e:
        child.run("trouble:own", {}, where="flat.step")
    assert (e.value.code, e.value.what, e.value.where, e.value.todo) == (
        "part-flat",
        "flat",
        "flat.step",
        "thicken",
    )


def test_a_reader_that_never_ends_is_stopped(monkeypatch: pytest.MonkeyPatch) -> None:
    limit = "from jawright.files import limits; limits.CHILD_WALL_S = 0.3\n"
    folder = Path(sys.path[0])
    (folder / "short.py").write_text(limit + "def go(): return {}, b''\n", encoding="utf-8")
    # the server takes its limits from the module it loaded, so a server of its own is started
    child._stop()
    monkeypatch.setattr(child, "START", child.START.replace("from", "import short; from"))
    with pytest.raises(JawrightError, match=r"took more than 0 s"):
        child.run("trouble:spin", {}, where="slow.step")
    assert child.run("trouble:fine", {"word": "next"}, where="x")[0] == {"word": "next"}
    child._stop()


def test_a_server_that_is_gone_is_started_again() -> None:
    child.run("trouble:fine", {"word": "a"}, where="x")
    server = child._process
    assert server is not None
    os.kill(server.pid, signal.SIGTERM)
    end = time.monotonic() + 10
    while server.poll() is None and time.monotonic() < end:
        time.sleep(0.01)
    assert child.run("trouble:fine", {"word": "b"}, where="x")[0] == {"word": "b"}
