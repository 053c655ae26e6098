"""``jawright first``: the first article's table, to fill in and to judge."""

from __future__ import annotations

import argparse
import datetime
import hashlib
import json
from pathlib import Path

from jawright.doors.cli import screen
from jawright.files.whole import write_file
from jawright.floor import first, first_table
from jawright.floor.measured import characteristics
from jawright.record_json import load
from jawright.units import System, show


def run(args: argparse.Namespace) -> int:
    """Write the table, or judge one that was filled in and keep it; 0 when all is proven in, else 1."""
    path = Path(args.record)
    record = load(path)
    if not args.results:
        out = Path(args.out or "first-article.csv")
        write_file(out, first_table.table(record).encode("utf-8"))
        print(f"wrote {out}: {len(characteristics(record))} characteristics to measure")
        return 0
    text = first.read_text(Path(args.results))
    rows = first.judge_all(characteristics(record), first.parse_results(text, Path(args.results).name))
    digest = hashlib.sha256(path.read_bytes()).hexdigest()
    data = first_table.to_dict(
        record, rows, first.read_notes(text), made=datetime.date.today().isoformat(), record_sha256=digest
    )
    kept = None if args.no_keep else first_table.keep(path.parent, data)
    if args.json:
        print(json.dumps(data, indent=2, ensure_ascii=False))
    else:
        print("\n".join(lines(rows, args.units or record.job.units)))
        if kept is not None:
            print(f"kept with the job: {kept}")
    return 0 if first_table.proven(rows) else 1


def lines(rows: tuple[first.Judged, ...], system: System) -> list[str]:
    """The judged table, what is open, and the rule it was judged by."""
    cells: list[tuple[str, ...]] = [("no.", "feature", "what", "result", "limits", "U", "judgment")]
    cells += [_cells(r, system) for r in rows]
    limited = [r for r in rows if r.low is not None or r.high is not None]
    good = sum(r.judgment == "in" for r in limited)
    out = screen.table(cells)
    out += ["", f"{good} of {len(limited)} characteristics with limits are proven in."]
    if bare := len(rows) - len(limited):
        out += screen.wrap(f"{bare} more have no limits, in the record or in the table: not judged.", "  ")
    return [*out, *screen.wrap(f"Judged by {first.RULE}.", "  ")]


def _cells(r: first.Judged, system: System) -> tuple[str, ...]:
    value = "" if r.value is None else show(r.value, "length", system)
    limits = "" if r.high is None else f"{show(r.low, 'length', system)} to {show(r.high, 'length', system)}"
    unsure = "" if r.uncertainty is None else f"±{show(r.uncertainty, 'length', system)}"
    chance = (
        "" if r.chance is None or r.judgment != "not proven" else f"conforms with a chance of {r.chance:.0%}"
    )
    sprang = "" if r.sprang is None else f"released it moved by {show(-r.sprang, 'length', system)}"
    said = "; ".join(w for w in (r.judgment or "", chance, r.why, sprang) if w)
    return (str(r.number), r.feature, r.what, value, limits, unsure, said)
