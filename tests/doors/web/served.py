"""A page on an empty folder, without a worker: what is started is written down and does not run."""

from __future__ import annotations

import json
import tomllib
from pathlib import Path
from typing import Any

from starlette.testclient import TestClient

from jawright.doors.web import look
from jawright.doors.web.app import create_app
from jawright.doors.web.inputs import ABOUT, about_of, digest
from jawright.doors.web.runner import Run, Runner
from jawright.doors.web.store import Store
from jawright.papers import bundle
from jawright.record import Record

ADDRESS = "127.0.0.1:8731"
OWN = {"origin": f"http://{ADDRESS}"}
ASK = {**OWN, "accept": "application/json"}


class Idle(Runner):
    """A runner that starts nothing."""

    def __init__(self) -> None:
        super().__init__()
        self.started: list[str] = []
        self.begun: list[str] = []

    def start(self, key: str, kind: str, folder: Path) -> Run:
        self.started.append(key)
        run = self._runs.get(key)
        if run is None or not run.open:
            run = self._runs[key] = Run(key, kind, folder, state="running", steps=["trying stances"])
        return run

    def fail(self, key: str, what: str) -> None:
        """End a run as one that failed."""
        run = self._runs[key]
        run.state, run.error = "failed", {"code": "", "what": what, "where": "", "todo": ""}

    def warm(self) -> None:
        pass

    def ahead(self, folder: Path) -> None:
        self.begun.append(folder.name)


class Page:
    """The page with its store and its idle runner."""

    def __init__(self, folder: Path) -> None:
        self.runner = Idle()
        app = create_app(folder, hosts=frozenset({ADDRESS}), runner=self.runner)
        self.http = TestClient(app, base_url=f"http://{ADDRESS}", follow_redirects=False)
        self.app = app
        self.store: Store = app.app.state.rooms.store

    def get(self, path: str, **more: Any) -> Any:
        return self.http.get(path, **more)

    def ask(self, path: str, /, **fields: Any) -> Any:
        """Post a form as the page's own script does; dots in names are written as two underscores."""
        data = {k.replace("__", "."): v for k, v in fields.items()}
        return self.http.post(path, data=data, headers=ASK)

    def demo(self) -> str:
        """The demo job, its part already looked at."""
        answer = self.http.post("/demo", headers=ASK)
        job_id: str = answer.json()["go"].removeprefix("/jobs/")
        self.see(job_id)
        return job_id

    def see(self, job_id: str) -> None:
        self.runner.stop(f"look {job_id}")
        look.look(self.store.path(job_id))

    def data(self, job_id: str) -> dict[str, Any]:

        return tomllib.loads(self.store.job(job_id).text())

    def leave(self, job_id: str, record: Record) -> None:
        """Leave a record as a plan would, made from the job and the shop as they are now."""
        about = about_of(record, digest(self.store.job(job_id).text(), self.store.shop.text()))
        bundle.write(record, self.store.path(job_id) / "result", {ABOUT: json.dumps(about).encode()})
