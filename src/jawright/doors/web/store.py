"""Jobs and the shop as folders and files; each file whole or not at all, each version kept.

FOLDER/shop.toml              what the shop owns
FOLDER/shop-versions/         every version of it
FOLDER/jobs/NAME/job.toml     one job; `jawright plan` reads it as it is
FOLDER/jobs/NAME/part.step    its part, under a name of ours
FOLDER/jobs/NAME/incoming-…    the part as it comes from the first side, when that was given
FOLDER/jobs/NAME/versions/    every version of job.toml
FOLDER/jobs/NAME/result/      what the last plan left
"""

from __future__ import annotations

import hashlib
import json
import os
import re
import secrets
import shutil
import threading
from dataclasses import dataclass
from importlib import resources
from pathlib import Path
from typing import Any

from jawright.errors import JawrightError
from jawright.units import counted

ID = re.compile(r"[a-z0-9]+(?:-[a-z0-9]+)*")
SO_FAR, DECIDED = "so-far.json", "decided.json"
"""What a plan that goes on knows so far, and what it came to, while its papers are written."""
RACK = "rack.db"
"""The register of jaws, in the folder of all jobs."""
MOST_JOBS = 5000
MOST_VERSIONS = 2000
"""Versions kept of one file; the oldest go first."""


class UnknownJobError(Exception):
    """No job has this name."""


def put(path: Path, data: bytes) -> None:
    """Write a file whole or not at all: beside its place, flushed, then renamed. Raises ``file-write``."""
    beside = path.with_name(f".{path.name}.{secrets.token_hex(4)}.new")
    try:
        with beside.open("xb") as f:
            f.write(data)
            f.flush()
            os.fsync(f.fileno())
        beside.replace(path)
    except OSError as e:
        beside.unlink(missing_ok=True)
        raise JawrightError(
            "file-write",
            what=f"{path.name} could not be written ({e.strerror or e})",
            where=path.name,
            todo="nothing was changed; see that the disk has room and the folder may be written",
        ) from e


@dataclass(frozen=True, slots=True)
class Versions:
    """A text file and the numbered versions it went through."""

    file: Path
    folder: Path

    def text(self) -> str:
        """The file as it is now."""
        return self.file.read_text("utf-8")

    def write(self, text: str) -> None:
        """Take a new version; what was undone before it is forgotten. The same text is no new version."""
        if self.file.exists() and self.text() == text:
            return
        self.folder.mkdir(parents=True, exist_ok=True)
        numbers, at = self._numbers(), self._at()
        for n in (n for n in numbers if n > at):
            self._path(n).unlink()
        new = at + 1
        put(self._path(new), text.encode())
        put(self.file, text.encode())
        self._stand_at(new)
        for n in self._numbers()[:-MOST_VERSIONS]:
            self._path(n).unlink()

    def step(self, by: int) -> bool:
        """Go to the version before (-1) or after (+1); False when there is none."""
        numbers, at = self._numbers(), self._at()
        if at + by not in numbers:
            return False
        put(self.file, self._path(at + by).read_bytes())
        self._stand_at(at + by)
        return True

    def can(self, by: int) -> bool:
        """Whether ``step(by)`` would go somewhere."""
        return self._at() + by in self._numbers()

    def _path(self, number: int) -> Path:
        return self.folder / f"{number:06d}.toml"

    def _numbers(self) -> list[int]:
        return sorted(int(p.stem) for p in self.folder.glob("*.toml") if counted(p.stem) is not None)

    def _at(self) -> int:
        try:
            return int((self.folder / "at").read_text("ascii"))
        except (OSError, ValueError):
            return max(self._numbers(), default=0)

    def _stand_at(self, number: int) -> None:
        put(self.folder / "at", str(number).encode())


class Store:
    """Everything the page keeps, below one folder. Ids come from outside and are looked up, never joined."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder
        self.lock = threading.RLock()
        (folder / "jobs").mkdir(parents=True, exist_ok=True)
        if not (folder / "shop.toml").exists():
            self.shop.write(demo("shop.toml").decode())

    @property
    def shop(self) -> Versions:
        """The shop's file with its earlier versions."""
        return Versions(self.folder / "shop.toml", self.folder / "shop-versions")

    def ids(self) -> list[str]:
        """Jobs, the latest changed first."""
        found = [p for p in (self.folder / "jobs").iterdir() if (p / "job.toml").is_file()]
        found = [p for p in found if ID.fullmatch(p.name) and not p.is_symlink()]
        return [p.name for p in sorted(found, key=lambda p: (-(p / "job.toml").stat().st_mtime, p.name))]

    def path(self, job_id: str) -> Path:
        """Folder of a job. Raises ``UnknownJobError`` for anything that is not the name of one."""
        if len(job_id) > 80 or not ID.fullmatch(job_id):
            raise UnknownJobError
        folder = self.folder / "jobs" / job_id
        if folder.is_symlink() or not (folder / "job.toml").is_file():
            raise UnknownJobError
        return folder

    def job(self, job_id: str) -> Versions:
        """A job's file with its earlier versions."""
        folder = self.path(job_id)
        return Versions(folder / "job.toml", folder / "versions")

    def create(self, name: str, part: bytes, text: str, *, suffix: str) -> str:
        """A new job with its part; gives its id. Raises ``file-write`` when there are too many jobs."""
        with self.lock:
            if len(self.ids()) >= MOST_JOBS:
                raise JawrightError("file-write", what=f"there are {MOST_JOBS} jobs", todo="move some away")
            stem = "-".join(re.findall(r"[a-z0-9]+", name.lower()))[:48].strip("-") or "job"
            job_id, n = stem, 1
            while (self.folder / "jobs" / job_id).exists():
                n += 1
                job_id = f"{stem}-{n}"
            beside = self.folder / "jobs" / f".{job_id}.{secrets.token_hex(4)}.new"
            beside.mkdir()
            try:
                put(beside / f"part{suffix}", part)
                Versions(beside / "job.toml", beside / "versions").write(text)
                beside.rename(self.folder / "jobs" / job_id)
            finally:
                shutil.rmtree(beside, ignore_errors=True)
            return job_id

    def beside(self, job_id: str, data: bytes) -> str:
        """Keep a further model of a job under a name of ours, the same for the same bytes; gives the name."""
        name = f"incoming-{hashlib.sha256(data).hexdigest()[:16]}.step"
        put(self.path(job_id) / name, data)
        return name

    def put_away(self, job_id: str) -> None:
        """Move a job out of the list, into the folder of those put away; nothing is deleted."""
        with self.lock:
            folder = self.path(job_id)
            away = self.folder / "put-away"
            away.mkdir(exist_ok=True)
            target, n = away / job_id, 1
            while target.exists():
                n += 1
                target = away / f"{job_id}-{n}"
            folder.rename(target)


def note(folder: Path, name: str) -> dict[str, Any]:
    """A small JSON file of a job; empty when absent or damaged."""
    try:
        data = json.loads((folder / name).read_bytes())
    except (OSError, ValueError):
        return {}
    return data if isinstance(data, dict) else {}


def keep(folder: Path, name: str, data: dict[str, Any]) -> None:
    """Write a small JSON file of a job whole."""
    put(folder / name, json.dumps(data, ensure_ascii=False, indent=1).encode())


def demo(name: str) -> bytes:
    """A file of the built-in demo."""
    return resources.files("jawright.data").joinpath("demo", name).read_bytes()
