"""What a plan and a look were made from, so that the page can tell when they are old."""

from __future__ import annotations

import hashlib
import json
import tomllib
from pathlib import Path
from typing import Any

from jawright import record_json
from jawright.doors.web.edit import draft_job
from jawright.errors import JawrightError
from jawright.papers.questions import is_ready
from jawright.papers.sheet import digest as name_on_paper
from jawright.record import Record

ABOUT = "page.json"
"""File in a result that says what it was made from."""


def digest(job: str, shop: str) -> dict[str, str]:
    """What a plan depends on, as digests of the two files; the unit of the papers is no part of it."""
    data = tomllib.loads(job)
    if isinstance(data.get("job"), dict):
        data["job"].pop("units", None)
    return {"job": _sha(data), "shop": _sha(tomllib.loads(shop))}


def _sha(data: dict[str, Any]) -> str:
    return hashlib.sha256(json.dumps(data, sort_keys=True, default=str).encode()).hexdigest()


def part_key(folder: Path) -> str:
    """What the look at a part depends on: when it changes, the part is read anew."""
    job = draft_job((folder / "job.toml").read_text("utf-8"), folder)
    stamp = job.part_file.stat()
    return json.dumps([job.part_file.name, stamp.st_size, job.part_unit, job.thickness, job.body])


def about_of(record: Record, inputs: dict[str, str], text: str = "") -> dict[str, Any]:
    """What the list of jobs shows of a plan without reading its whole record, whose JSON is ``text``."""
    return {
        "inputs": inputs,
        "decision": record.decision.sentence,
        "verdict": record.verdict,
        "ready": is_ready(record),
        "made": record.made,
        "record": name_on_paper(text or record_json.dumps(record)),
    }


def found_about(result: Path, job: str, shop: str) -> dict[str, Any]:
    """The same for a plan made at the command line: fresh when job and shop are, byte for byte, its own.

    Empty when there is no record or it cannot be read.
    """
    try:
        record = record_json.load(result / "record.json")
    except (JawrightError, OSError):
        return {}
    now = digest(job, shop)
    own = {"job": (job, record.job.sha256), "shop": (shop, record.shop.sha256)}
    same = {k: hashlib.sha256(text.encode()).hexdigest() == sha for k, (text, sha) in own.items()}
    return about_of(record, {k: now[k] if same[k] else "" for k in now})
