"""What a plan left, as the page gives it: words and drawings in the reader's unit, and files."""

from __future__ import annotations

import re
from dataclasses import dataclass, replace
from functools import lru_cache
from pathlib import Path

from starlette.responses import FileResponse, Response

from jawright.doors.web.inputs import ABOUT
from jawright.doors.web.store import UnknownJobError
from jawright.files.whole import CONTENTS
from jawright.papers.content import Content, content
from jawright.papers.drawing import drawings
from jawright.papers.restated import names_in, restated
from jawright.record import Record
from jawright.units import System

TYPES = {
    ".svg": "image/svg+xml",
    ".pdf": "application/pdf",
    ".html": "text/html; charset=utf-8",
    ".json": "application/json",
    ".nc": "text/plain; charset=us-ascii",
    ".txt": "text/plain; charset=us-ascii",
    ".dxf": "image/vnd.dxf",
    ".step": "model/step",
}
FILE_WORDS = {
    "setup-sheet.pdf": "Setup sheet, to print",
    "setup-sheet.html": "Setup sheet for any browser",
    "reuse-sheet.pdf": "Re-use sheet for the pair of the rack, to print",
    "reuse-sheet.html": "Re-use sheet for any browser",
    "record.json": "Record of the plan",
    "jaws.step": "Jaws as solids",
    "jaws.dxf": "Jaws as outlines",
    "job.toml": "Job of this clamping, to plan it again alone",
    "part.step": "Part as it stands in this clamping",
    "incoming.step": "Part as it comes to this clamping",
}


@dataclass(frozen=True, slots=True)
class Made:
    """A record as it is shown in one unit."""

    content: Content
    svgs: dict[str, str]


def made(record: Record, system: System) -> Made:
    """Words and drawings of a record in the reader's unit."""
    return _made(_Held(record), system)


class _Held:
    """A record by identity: it is large, and hashing it costs more than drawing it."""

    def __init__(self, record: Record) -> None:
        self.record = record

    def __hash__(self) -> int:
        return id(self.record)

    def __eq__(self, other: object) -> bool:
        return isinstance(other, _Held) and other.record is self.record


@lru_cache(maxsize=8)
def _made(held: _Held, system: System) -> Made:
    own, keep = held.record.job.units, names_in(held.record)
    record = replace(held.record, job=replace(held.record.job, units=system))
    return Made(restated(content(record), system, own, keep), drawings(record))


def size(svg: str) -> tuple[float, float]:
    """Width and height of a drawing."""
    hit = re.search(r'viewBox="0 0 ([\d.]+) ([\d.]+)"', svg)
    return (float(hit[1]), float(hit[2])) if hit else (0.0, 0.0)


def svg(drawn: str) -> Response:
    """A drawing, which may ask for nothing."""
    return Response(
        drawn,
        media_type="image/svg+xml",
        headers={
            "cache-control": "no-cache",
            "content-security-policy": "default-src 'none'; style-src 'unsafe-inline'",
        },
    )


def listed(folder: Path, at: str) -> list[dict[str, str]]:
    """The files of a folder in the words of the shop, with their addresses under ``at``."""
    names = sorted(p.name for p in folder.iterdir() if p.is_file()) if folder.is_dir() else []
    out = []
    for name in names:
        if name in (CONTENTS, ABOUT) or name.endswith(".svg"):
            continue
        words = FILE_WORDS.get(name, "")
        if name.endswith(".nc"):
            words = "Jaw program, verified"
        elif name.endswith("NOT-VERIFIED.txt"):
            words = "Jaw program that did NOT verify: not to be run"
        out.append({"name": name, "words": words or name, "href": f"{at}/file/{name}"})
    order = list(FILE_WORDS)
    out.sort(key=lambda f: (order.index(f["name"]) if f["name"] in order else 1.5, f["name"]))
    return out


def sent(folder: Path, name: str) -> Response:
    """One file of a folder. Raises ``UnknownJobError`` where there is none."""
    there = {p.name: p for p in folder.iterdir() if p.is_file()} if folder.is_dir() else {}
    path: Path | None = there.get(name)  # looked up among what is there, never joined
    if path is None:
        raise UnknownJobError
    kind = TYPES.get(path.suffix, "application/octet-stream")
    own = {"content-security-policy": "default-src 'none'; style-src 'unsafe-inline'; img-src data:"}
    inline = path.suffix in (".pdf", ".html")
    return FileResponse(
        path,
        media_type=kind,
        filename=path.name,
        content_disposition_type="inline" if inline else "attachment",
        headers=own if path.suffix == ".html" else None,
    )
