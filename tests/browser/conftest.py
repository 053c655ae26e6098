"""A server as a user starts it, and a browser that looks at it."""

from __future__ import annotations

import json
import os
import shutil
import subprocess
import sys
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

import pytest
from playwright.sync_api import Browser, BrowserContext, Page, expect, sync_playwright

from jawright.doors.web import edit, look
from jawright.doors.web.inputs import ABOUT, about_of, digest
from jawright.doors.web.store import Store, demo
from jawright.files.toml_out import dump
from jawright.papers import bundle
from papers import sample

ROOT = Path(__file__).resolve().parents[2]
BUNDLE = ROOT / "src" / "jawright" / "doors" / "web" / "static" / "part.js"
CHROMIUM = next(
    (found for name in ("chromium", "chromium-browser", "google-chrome") if (found := shutil.which(name))), ""
)
QUIET = [
    "--no-sandbox", "--disable-quic", "--no-first-run", "--disable-background-networking",
    "--disable-component-update", "--disable-sync", "--use-angle=swiftshader", "--enable-unsafe-swiftshader",
]  # fmt: skip
PATIENCE_MS = 60_000  # a busy machine; alone nothing takes more than a few seconds
expect.set_options(timeout=PATIENCE_MS)


@dataclass
class Served:
    """A running server, its address, and the store it works on."""

    address: str
    store: Store
    process: subprocess.Popen[str]
    count: int = 0

    def memory_mb(self) -> float:
        """Memory of the server's own process now [MB]."""
        status = Path(f"/proc/{self.process.pid}/status").read_text("ascii")
        return next(int(line.split()[1]) for line in status.splitlines() if line.startswith("VmRSS")) / 1e3

    def planned(self) -> str:
        """A job of its own whose plan is done; all are copies of one that was made once."""
        first = self.store.folder / "planned"
        if not first.exists():
            self.store.path(self._plan()).rename(first)
        self.count += 1
        shutil.copytree(first, self.store.folder / "jobs" / f"planned-{self.count}")
        return f"planned-{self.count}"

    def _plan(self) -> str:
        """The demo's part, and a record of the samples."""
        data = edit.plain_lengths(edit.parse(demo("pawl.toml").decode()), edit.JOB)
        data["part"]["file"] = "part.step"
        job = self.store.create("planned", demo("pawl.step"), dump(data), suffix=".step")
        folder = self.store.path(job)
        look.look(folder)
        record = sample.good_record()
        about = about_of(record, digest(self.store.job(job).text(), self.store.shop.text()))
        bundle.write(record, folder / "result", {ABOUT: json.dumps(about).encode()})
        return job


@pytest.fixture(scope="session")
def served(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Served]:
    assert BUNDLE.is_file(), "the scripts of the page are not bundled: run make page"
    folder = tmp_path_factory.mktemp("jobs")
    command = [sys.executable, "-m", "jawright", "serve", "--port", "0", "--folder", str(folder)]
    env = {**os.environ, "OPENBLAS_NUM_THREADS": "1"}
    with subprocess.Popen(command, stdout=subprocess.PIPE, text=True, env=env) as process:
        assert process.stdout is not None
        address = next(w for w in process.stdout.readline().split() if w.startswith("http://")).rstrip("/")
        yield Served(address, Store(folder), process)
        process.terminate()
        assert process.wait(timeout=PATIENCE_MS / 1000) in (0, -15)


@pytest.fixture(scope="session")
def browser() -> Iterator[Browser]:
    assert CHROMIUM, "the tests of the page need a Chromium: apt-get install chromium"
    with sync_playwright() as p:
        found = p.chromium.launch(executable_path=CHROMIUM, args=QUIET)
        yield found
        found.close()


@pytest.fixture
def context(browser: Browser, served: Served) -> Iterator[BrowserContext]:
    made = browser.new_context(
        base_url=served.address, viewport={"width": 1024, "height": 768}, accept_downloads=True
    )
    made.set_default_timeout(PATIENCE_MS)
    yield made
    made.close()


@pytest.fixture
def tab(context: BrowserContext, served: Served) -> Iterator[Page]:
    """A tab that complains about every error on the page and every request to anywhere else."""
    page, wrong = context.new_page(), []
    page.on("pageerror", lambda e: wrong.append(f"error: {e}"))
    page.on("console", lambda m: wrong.append(f"console: {m.text}") if _matters(m.type, m.text) else None)
    page.on(
        "request",
        lambda r: None if r.url.startswith((served.address, "data:", "blob:")) else wrong.append(r.url),
    )
    yield page
    assert wrong == []


def _matters(kind: str, text: str) -> bool:
    """A refused answer (422) is told by the browser as well; the page tells it to the user."""
    return kind == "error" and "status of 422" not in text
