"""Plans that were made at the command line, put on the list of the page as they are."""

from __future__ import annotations

import hashlib
import json
from collections.abc import Iterable
from pathlib import Path

from jawright import record_json
from jawright.doors.web import edit
from jawright.doors.web.inputs import ABOUT, about_of, digest
from jawright.doors.web.store import Store, put
from jawright.errors import JawrightError
from jawright.files.toml_out import dump
from jawright.files.whole import CONTENTS, write_folder

NEAR = 200
"""Files looked at in and beside a plan's folder."""


def bring_in(store: Store, folder: Path) -> str:
    """A plan's folder as a job of the page: record, papers and files copied, job and part found by digest.

    Raises ``file-missing`` when the record, or the job file or part it was made from, is not in the folder
    or beside it; what ``record_json.load`` raises.
    """
    record = record_json.load(folder / "record.json")
    near = [p for d in (folder, folder.parent) for p in sorted(d.iterdir())[:NEAR] if p.is_file()]
    job_file = _by_digest(near, record.job.sha256, "job file", folder)
    part_file = _by_digest(
        [job_file.parent / record.part.file, *near], record.part.sha256, "part file", folder
    )
    data = edit.plain_lengths(edit.parse(job_file.read_text("utf-8")), edit.JOB)
    data.setdefault("part", {})["file"] = f"part{part_file.suffix.lower()}"
    model = str(data.get("incoming", {}).pop("model", ""))
    comes = (job_file.parent / model).read_bytes() if model and (job_file.parent / model).is_file() else b""
    job_id = store.create(
        record.job.name, part_file.read_bytes(), dump(data), suffix=part_file.suffix.lower()
    )
    kept = store.path(job_id)
    if comes:
        data["incoming"]["model"] = store.beside(job_id, comes)
        store.job(job_id).write(dump(data))
    now = digest(store.job(job_id).text(), store.shop.text())
    shop = next((p for p in near if _sha(p) == record.shop.sha256), None)
    if shop is not None:
        put(kept / "shop.toml", shop.read_bytes())
        now["shop"] = digest(store.job(job_id).text(), shop.read_text("utf-8"))["shop"]
    else:
        now["shop"] = ""  # the page's shop is not known to be the plan's
    files = {p.name: p.read_bytes() for p in sorted(folder.iterdir()) if p.is_file() and p.name != CONTENTS}
    files[ABOUT] = json.dumps(about_of(record, now)).encode()
    write_folder(kept / "result", files)  # with its list, so that the next plan may take its place
    return job_id


def _by_digest(files: Iterable[Path], sha: str, what: str, folder: Path) -> Path:
    for path in files:
        if path.is_file() and _sha(path) == sha:
            return path
    raise JawrightError(
        "file-missing",
        what=f"the {what} this plan was made from is neither in its folder nor beside it, or was changed",
        where=folder.name,
        todo="put it there, or drop the part on the page and plan it anew",
    )


def _sha(path: Path) -> str:
    return hashlib.sha256(path.read_bytes()).hexdigest()
