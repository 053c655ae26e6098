"""What the pages show, as plain dataclasses: made here, drawn by the templates, printed as JSON twins."""

from __future__ import annotations

import contextlib
from dataclasses import dataclass
from functools import lru_cache
from pathlib import Path
from typing import Any

from jawright import record_json
from jawright.doors.web import edit, given
from jawright.doors.web.inputs import ABOUT, digest, found_about
from jawright.doors.web.runner import Run, Runner
from jawright.doors.web.store import DECIDED, SO_FAR, Store, note
from jawright.errors import JawrightError
from jawright.papers.questions import WORDS
from jawright.papers.show import Level
from jawright.record import Record

QUESTIONS_TO_START = 6


@dataclass(frozen=True, slots=True)
class Card:
    """One job on the list."""

    id: str
    name: str
    number: str  # part number and revision
    quantity: str
    picture: str  # address, "" when nothing is drawn yet
    state: str  # "not planned", "planned", "changed since it was planned", "planning"
    level: Level
    word: str
    decision: str
    drawn: bool = False  # the picture is of a plan


@dataclass(frozen=True, slots=True)
class Planned:
    """What the last plan of a job left."""

    there: bool = False
    fresh: bool = False  # made from the job and the shop as they are now
    changed: str = ""  # "the job", "the shop", "the job and the shop"
    ready: bool = False
    level: Level = ""
    word: str = ""
    decision: str = ""
    made: str = ""
    stamp: str = ""  # changes with each plan


def planned(store: Store, job_id: str) -> Planned:
    """The state of a job's last plan."""
    folder = store.path(job_id)
    job, shop = store.job(job_id).text(), store.shop.text()
    about = note(folder / "result", ABOUT)
    if not about:
        about = _unkept(folder / "result", job, shop)
    if not about:
        return Planned()
    now = digest(job, shop)
    old = about.get("inputs", {})
    changed = [words for key, words in (("job", "the job"), ("shop", "the shop")) if old.get(key) != now[key]]
    level: Level = about.get("verdict", "unknown")
    ready = bool(about.get("ready"))
    word = WORDS.get(level, "")
    if not ready and level in ("pass", "caution"):
        level, word = "fail", "NOT READY"
    return Planned(
        True,
        not changed,
        " and ".join(changed),
        ready,
        level,
        word,
        about.get("decision", ""),
        about.get("made", ""),
        str((folder / "result" / "record.json").stat().st_mtime_ns),
    )


def _unkept(result: Path, job: str, shop: str) -> dict[str, Any]:
    """What a plan made at the command line leaves, which says nothing of the page."""
    path = result / "record.json"
    return _about(path, path.stat().st_mtime_ns, job, shop) if path.is_file() else {}


@lru_cache(maxsize=64)
def _about(path: Path, _stamp: int, job: str, shop: str) -> dict[str, Any]:
    return found_about(path.parent, job, shop)


def named(store: Store, name: str) -> str:
    """The job whose last plan has this name on paper; "" when no job's has."""
    for job_id in store.ids():
        result = store.path(job_id) / "result"
        about = note(result, ABOUT) or _unkept(result, store.job(job_id).text(), store.shop.text())
        if about.get("record") == name:
            return job_id
    return ""


def run_of(runner: Runner, job_id: str) -> dict[str, Any] | None:
    """The plan that goes on, or went wrong, as plain data."""
    run: Run | None = runner.of(f"plan {job_id}")
    return None if run is None or run.state == "done" else run.shown()


def card(store: Store, runner: Runner, job_id: str) -> Card:
    """A job for the list; a job that cannot be read says so."""
    try:
        data = edit.parse(store.job(job_id).text())
    except JawrightError as e:
        return Card(job_id, job_id, "", "", "", "cannot be read", "fail", "CHECK", str(e))
    head = data.get("job", {})
    last, run = planned(store, job_id), runner.of(f"plan {job_id}")
    state = "not planned yet"
    if last.there:
        state = f"planned {last.made}" if last.fresh else f"{last.changed} changed since it was planned"
    if run is not None and run.open:
        state = "planning"
    drawn = (store.path(job_id) / "result" / "drawing-plan.svg").exists()
    return Card(
        job_id,
        str(head.get("name", job_id)),
        " ".join(filter(None, [str(head.get("part_number", "")), revision(head)])),
        f"{head['quantity']} off" if "quantity" in head else "quantity not given",
        f"/jobs/{job_id}/drawing/plan.svg?of={last.stamp}" if drawn else _sight(store, job_id),
        state,
        last.level if last.fresh else "",
        last.word if last.fresh else "",
        last.decision,
        drawn,
    )


def _sight(store: Store, job_id: str) -> str:
    """Address of the part by itself, while nothing is planned; "" when it was not read yet."""
    path = store.path(job_id) / "sight.svg"
    return f"/jobs/{job_id}/sight.svg" if path.is_file() and path.stat().st_size else ""


def revision(head: dict[str, Any]) -> str:
    """The part's revision in words, "" where it has none."""
    return f"revision {head['revision']}" if head.get("revision") else ""


def record_of(store: Store, job_id: str) -> Record | None:
    """The record of the last plan; None when there is none. Raises ``record-bad``."""
    path = store.path(job_id) / "result" / "record.json"
    if not path.is_file():
        return None
    return _loaded(path, path.stat().st_mtime_ns)


def clamping_record(store: Store, job_id: str, folder: str) -> Record | None:
    """The record of one clamping of the last plan; None where it could not be planned."""
    path = store.path(job_id) / "result" / folder / "record.json"
    if not path.is_file():
        return None
    return _loaded(path, path.stat().st_mtime_ns)


def so_far(store: Store, runner: Runner, job_id: str) -> tuple[Record, str] | None:
    """What a plan that goes on knows, and a stamp that changes with it; None when there is no such thing."""
    run = runner.of(f"plan {job_id}")
    if run is None or not run.open or not run.so_far:
        return None
    path = store.path(job_id) / SO_FAR
    try:
        stamp = path.stat().st_mtime_ns
        return _loaded(path, stamp), f"{stamp}"
    except (OSError, JawrightError):  # the plan has just ended, and its result stands in the place of this
        return None


def decided(folder: Path) -> None:
    """A plan is done but for its papers: read its record and put it in words before the page asks for it."""
    with contextlib.suppress(OSError, JawrightError):  # told when it is asked for
        record = _read(record_json.text_of(folder / DECIDED))
        given.made(record, record.job.units)


@lru_cache(maxsize=8)
def _loaded(path: Path, _stamp: int) -> Record:
    return _read(record_json.text_of(path))


@lru_cache(maxsize=8)
def _read(text: str) -> Record:
    """Of the same text the very same record: what was made of it for the page is found again."""
    return record_json.loads(text, "record.json")
