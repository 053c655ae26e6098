"""Plans that were made at the command line, put on the list of the page as they are."""

from __future__ import annotations

import hashlib
import json
from collections.abc import Iterable
from pathlib import Path

from jawright import record_json
from jawright.doors.web import edit
from jawright.doors.web.inputs import ABOUT, about_of, digest
from jawright.doors.web.store import Store, note, put
from jawright.errors import JawrightError
from jawright.files.toml_out import dump
from jawright.files.whole import CONTENTS, write_folder
from jawright.papers import sheet

NEAR = 200
"""Files looked at in and beside a plan's folder."""


def bring_in(store: Store, folder: Path, *, shop: Path | None = None) -> str:
    """A plan's folder as a job of the page: record, papers and files copied, job and part found by digest.

    ``shop`` is looked at first as the shop file it was made with, where it lies neither in the folder nor
    beside it.

    Raises ``file-missing`` when the record, or the job file or part it was made from, is not in the folder
    or beside it; ``record-bad`` for one whose clampings lie elsewhere; what ``record_json.load`` raises.
    """
    record = record_json.load(folder / "record.json")
    for n, c in enumerate(record.clampings, 1):
        if c.folder != f"clamping-{n}":  # it is read from, so it may name no other place
            raise JawrightError(
                "record-bad",
                what=f'clamping {n} lies in "{c.folder}"',
                where="clampings",
                todo=f"its folder is clamping-{n}: plan the job again",
            )
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
    own = [shop, *near] if shop is not None and shop.is_file() else near
    made_with = next((p for p in own if _sha(p) == record.shop.sha256), None)
    if made_with is not None:
        put(kept / "shop.toml", made_with.read_bytes())
        now["shop"] = digest(store.job(job_id).text(), made_with.read_text("utf-8"))["shop"]
    else:
        now["shop"] = ""  # the page's shop is not known to be the plan's
    inside = [p for d in (folder, *(folder / c.folder for c in record.clampings)) for p in _files(d)]
    files = {p.relative_to(folder).as_posix(): p.read_bytes() for p in inside if p != folder / CONTENTS}
    files[ABOUT] = json.dumps(about_of(record, now)).encode()
    write_folder(kept / "result", files)  # with its list, so that the next plan may take its place
    return job_id


def opened(store: Store, folder: Path, shop: Path) -> str:
    """One clamping of a plan as a job of its own; the one that is on the list already, if there is one.

    Raises what ``bring_in`` raises.
    """
    named = sheet.digest((folder / "record.json").read_text("utf-8"))
    for job_id in store.ids():
        if note(store.path(job_id) / "result", ABOUT).get("record") == named:
            return job_id
    return bring_in(store, folder, shop=shop)


def _files(folder: Path) -> list[Path]:
    return [p for p in sorted(folder.iterdir()) if p.is_file()] if folder.is_dir() else []


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
