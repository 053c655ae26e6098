"""The folder a plan leaves: record, sheet, drawings, program, and what the doors add."""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping, Sequence
from pathlib import Path

from jawright.files.whole import write_folder
from jawright.papers import reuse
from jawright.papers.jaw_files import jaw_files
from jawright.papers.sheet import html, make, pdf
from jawright.record import Planned, Record

KEPT = ("first-article-*.json",)
"""Measurements of earlier parts: a later plan into the same folder leaves them there."""


Extra = Mapping[str, bytes] | Callable[[], Mapping[str, bytes]] | None


def files(
    record: Record,
    extra: Extra = None,
    *,
    address: str = "",
    text: str = "",
    clampings: Sequence[Planned] = (),
) -> dict[str, bytes]:
    """Names and contents of everything in the folder.

    Parameters
    ----------
    record : the plan's result.
    extra : further files by name, such as the jaws as STEP and DXF, or a call that gives them when the rest
        is made; a name may not be one of ours.
    address : of the page that the code on the sheet opens; without one the code names the record.
    text : the record as JSON, where it was written already.
    clampings : those that the record takes, each planned: a whole folder of its own within this one.

    Returns
    -------
    contents by relative name; the same record and extras give the same bytes.
    """
    made = make(record, address=address, text=text, clampings=clampings)
    out = {
        "record.json": made.text.encode("utf-8"),
        "setup-sheet.pdf": pdf(record, made),
        "setup-sheet.html": html(record, made).encode("utf-8"),
    }
    for name, svg in made.svgs.items():
        out[f"drawing-{name}.svg"] = svg.encode("utf-8")
    if record.reuse is not None:
        out["reuse-sheet.pdf"] = reuse.pdf(record)
        out["reuse-sheet.html"] = reuse.html(record).encode("utf-8")
    if record.program is not None:
        out[program_name(record)] = record.program.text.encode("ascii", errors="replace")
    for work in record.blank_work:
        if work.program is not None:
            out[_named(work.program.name, work.verified)] = work.program.text.encode(
                "ascii", errors="replace"
            )
    for name, data in ((extra() if callable(extra) else extra) or {}).items():
        assert name not in out, f"{name} is a name of our own"
        out[name] = data
    for one in clampings:
        out.update({f"{one.folder}/{name}": data for name, data in _of_clamping(one).items()})
    return out


def _of_clamping(one: Planned) -> dict[str, bytes]:
    """The folder of one clamping: its job, and all that a plan of it leaves."""
    if one.record is None:
        return dict(one.files)
    return {**files(one.record, jaw_files(one.record)), **dict(one.files)}


def program_name(record: Record) -> str:
    """File name of the jaw program; one that did not verify gets a name no control loads by mistake."""
    assert record.program is not None
    return _named(record.program.name, record.verification is not None and record.verification.verified)


def _named(name: str, verified: bool) -> str:
    base = re.sub(r"[^A-Za-z0-9_-]+", "-", name).strip("-") or "jaws"
    return f"{base}.nc" if verified else f"{base}-NOT-VERIFIED.txt"


def write(
    record: Record,
    target: Path,
    extra: Extra = None,
    *,
    address: str = "",
    text: str = "",
    clampings: Sequence[Planned] = (),
) -> tuple[str, ...]:
    """Write the folder whole or not at all; gives the names in it. Raises ``file-write``.

    First articles that were judged there stay: each names the record it was measured by.
    """
    made = files(record, extra, address=address, text=text, clampings=clampings)
    return write_folder(target, made, keep=KEPT)
