"""What every route needs: the store and the runner."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from typing import Annotated

from fastapi import Depends
from starlette.requests import Request

from jawright.doors.web import edit
from jawright.doors.web.runner import Run, Runner, Talk
from jawright.doors.web.store import Store, put
from jawright.errors import JawrightError


@dataclass(frozen=True, slots=True)
class Rooms:
    """The page's state: all of it on the disk, apart from what runs."""

    store: Store
    runner: Runner
    talk: Talk

    def plan(self, job_id: str) -> Run:
        """Start planning a job with the shop as it is. Raises ``key-missing`` for an answer not given."""
        folder = self._asked(job_id)
        self.runner.stop(f"plan {job_id}")  # what it was started from is no longer asked
        return self.runner.start(f"plan {job_id}", "plan", folder)

    def ahead(self, job_id: str) -> None:
        """Have the plan of a job begun while its questions are read, when all of them are answered."""
        run = self.runner.of(f"plan {job_id}")
        if run is not None and run.open:
            return
        if not edit.missing(edit.parse(self.store.job(job_id).text())):
            self.runner.ahead(Path(self.store.path(job_id)))

    def _asked(self, job_id: str) -> Path:
        """The folder of a job whose answers are all given, the shop as it is beside it."""
        folder = self.store.path(job_id)
        with self.store.lock:
            open_ = edit.missing(edit.parse(self.store.job(job_id).text()))
            if open_:
                section, key = open_[0]
                raise JawrightError(
                    "key-missing",
                    what=f"{key} is not given yet",
                    where=f"{section}.{key}",
                    todo="answer it, then plan",
                )
            put(folder / "shop.toml", self.store.shop.text().encode())
        return folder

    def find(self, job_id: str) -> Run:
        """Start searching the rack for a job. Raises ``key-missing`` for an answer not given."""
        folder = self._asked(job_id)
        return self.runner.start(f"find {job_id}", "find", folder)

    def look(self, job_id: str) -> Run:
        """Start reading the part of a job."""
        return self.runner.start(f"look {job_id}", "look", Path(self.store.path(job_id)))


def _rooms(request: Request) -> Rooms:
    found: Rooms = request.app.state.rooms
    return found


Here = Annotated[Rooms, Depends(_rooms)]
