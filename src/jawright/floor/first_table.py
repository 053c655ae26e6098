"""The first article table as a file to fill in, and the judged results as they are kept with the job."""

from __future__ import annotations

import csv
import io
import json
from collections.abc import Mapping, Sequence
from dataclasses import asdict
from pathlib import Path
from typing import Any

from jawright.errors import JawrightError
from jawright.files.whole import write_file
from jawright.floor.first import RULE, Judged
from jawright.floor.measured import characteristics
from jawright.papers.inspection import checks
from jawright.record import Record
from jawright.units import convert

FORMAT = "jawright-first-article"
SCHEMA_VERSION = 1
LENGTHS = ("value", "low", "high", "uncertainty", "sprang", "resolution")
NOTES = (
    "serial of the part", "ran", "measured", "gauges and their calibration", "temperature",
    "seat check", "width across the clamp", "torque used", "nest", "work offset X Y Z",
)  # fmt: skip
"""What a later diagnosis needs beside the results: written above the table."""


def table(record: Record) -> str:
    """A CSV table to fill in, in the job's unit: a row a characteristic, its limits beside it."""
    unit = "in" if record.job.units == "inch" else "mm"
    digits = 5 if unit == "in" else 4
    out = io.StringIO()
    for name in NOTES:
        out.write(f"# {name}:\n")
    write = csv.writer(out, lineterminator="\n")
    write.writerow(
        [
            "balloon",
            "feature",
            "what",
            *(f"{n}_{unit}" for n in ("nominal", "low", "high")),
            "reads_to",
            "method",
        ]
        + [f"{n}_{unit}" for n in ("result", "x", "y", "clamped", "uncertainty", "resolution")]
        + ["gauge"]
    )

    def said(value: float | None) -> str:
        return "" if value is None else f"{convert(value, 'mm', unit):.{digits}f}"

    for c, check in zip(characteristics(record), checks(record), strict=True):
        limits = (said(c.low), said(c.high)) if len(c.axes) == 1 else ("", said((c.high or 0) - (c.low or 0)))
        write.writerow(
            [c.number, c.feature, c.what, said(c.nominal), *limits, check.resolution, check.method, *[""] * 7]
        )
    return out.getvalue()


def to_dict(
    record: Record, rows: Sequence[Judged], notes: Mapping[str, str], *, made: str, record_sha256: str
) -> dict[str, Any]:
    """What is kept: whose first article it is, the rule, the notes and every row; lengths in mm."""
    job = record.job
    return {
        "format": FORMAT,
        "schema_version": SCHEMA_VERSION,
        "part_number": job.part_number or job.name,
        "revision": job.revision,
        "operation": job.operation,
        "record_sha256": record_sha256,
        "made": made,
        "decision_rule": RULE,
        "proven": proven(rows),
        "notes": dict(notes),
        "rows": [{(f"{k}_mm" if k in LENGTHS else k): v for k, v in asdict(r).items()} for r in rows],
    }


def proven(rows: Sequence[Judged]) -> bool:
    """Whether every characteristic with limits is proven in; with none, nothing is."""
    limited = [r for r in rows if r.low is not None or r.high is not None]
    return bool(limited) and all(r.judgment == "in" for r in limited)


def keep(folder: Path, data: Mapping[str, Any]) -> Path:
    """Write the results into the plan's folder under the next free name; what is there stays.

    A later plan into the same folder leaves them there. Raises ``file-write``.
    """
    text = json.dumps(data, ensure_ascii=False, indent=1, allow_nan=False) + "\n"
    for k in range(1, 1000):
        path = folder / f"first-article-{k}.json"
        if not path.exists():
            write_file(path, text.encode("utf-8"))
            return path
    raise JawrightError("file-write", what="999 first articles are kept already", where=folder.name)
