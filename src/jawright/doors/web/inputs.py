"""What a plan and a look were made from, so that the page can tell when they are old."""

from __future__ import annotations

import hashlib
import json
import tomllib
from pathlib import Path
from typing import Any

from jawright.doors.web.edit import draft_job

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
