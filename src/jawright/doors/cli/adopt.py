"""``jawright adopt``: what a run shows of the shop's scatter, put into the shop file for the next plan."""

from __future__ import annotations

import argparse
import json
from dataclasses import asdict
from pathlib import Path
from typing import Any

from jawright.doors.cli import screen
from jawright.doors.cli.diagnose import above_zero
from jawright.floor.adopt import adopt, edits
from jawright.floor.run import read_run
from jawright.floor.sources import Compared, compare, reseating
from jawright.rack.store import Rack
from jawright.record_json import load


def run(args: argparse.Namespace) -> int:
    """Compare, and with --write change the shop file; 0 when something was or can be adopted, else 1."""
    record = load(Path(args.record))
    gauge = above_zero(args.gauge, "--gauge") if args.gauge else 0.0
    found = list(compare(read_run(Path(args.run)), record, gauge=gauge))
    if args.rack:
        with Rack(Path(args.rack), create=False) as rack:
            seats = [(s.x, s.y) for i in rack.ids() for s in rack.reseats(i)]
        again = reseating(seats, record.shop.jaw_reseat)
        found += [again] if again is not None else []
    changes = edits(found, Path(args.run).name, unsure=args.unsure)
    if args.write and changes:
        adopt(Path(args.shop), changes)
    if args.json:
        print(json.dumps(_json(found, changes, args.write), indent=2, ensure_ascii=False))
        return 0 if changes else 1
    for c in found:
        print("\n".join(screen.wrap(c.sentence, "  ")))
    if not found:
        print(
            "The run says nothing of the plan's sources: 20 parts or more of a planned position are needed."
        )
    for e in changes:
        place = f'[[{e.section}]] "{e.id}"' if e.id else f"[{e.section}]"
        print(f"{'wrote' if args.write else 'would write'} in {args.shop}, {place}: {e.key} = {e.value}")
    if changes and not args.write:
        print("say --write to change the file; everything else in it stays as it is")
    if not changes:
        print(_nothing(found))
    return 0 if changes else 1


def _nothing(found: list[Compared]) -> str:
    """Why nothing is adopted."""
    open_ = [c for c in found if c.agrees is False and c.measured is not None and not c.sure]
    if open_:
        return "Nothing to adopt: measure a second feature, or take what cannot be told apart with --unsure."
    return "Nothing to adopt: what was measured is as planned." if found else "Nothing to adopt."


def _json(found: list[Compared], changes: Any, written: bool) -> dict[str, Any]:
    rows = []
    for c in found:
        row = asdict(c)
        row["planned_mm"], row["measured_mm"] = row.pop("planned"), row.pop("measured")
        rows.append(row)
    return {"sources": rows, "changes": [asdict(e) for e in changes], "written": bool(written and changes)}
