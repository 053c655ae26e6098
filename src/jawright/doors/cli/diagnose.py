"""``jawright diagnose``: what the measurements of a run mean."""

from __future__ import annotations

import argparse
import json
from dataclasses import asdict
from pathlib import Path
from typing import Any

from jawright import units
from jawright.doors.cli import screen
from jawright.errors import JawrightError
from jawright.floor import first
from jawright.floor.diagnose import diagnose
from jawright.floor.expected import Expected, from_record
from jawright.floor.gauging import gauge_words
from jawright.floor.measured import characteristics
from jawright.floor.model import Diagnosis, Named, Seen
from jawright.floor.run import read_run
from jawright.papers.restated import restated
from jawright.record_json import load
from jawright.told import told
from jawright.units import System, show

PLAIN = ("series", "count", "cp", "cpk", "cpk_low", "cpk_high")
"""What is no length of a measured series."""


def run(args: argparse.Namespace) -> int:
    """Read, diagnose and print; 0 when a cause is named, 1 when there is not enough to tell."""
    if _is_first(Path(args.run)):
        return _first(args)
    found = read_run(Path(args.run), unit=args.file_unit or "")
    expected: tuple[Expected, ...] = from_record(load(Path(args.record))) if args.record else ()
    gauge = above_zero(args.gauge, "--gauge") if args.gauge else None
    half = above_zero(args.tolerance, "--tolerance") if args.tolerance else None
    system: System = args.units or ("inch" if found.unit in ("in", "thou") else "mm")
    said = diagnose(found, expected=expected, gauge=gauge, tolerance=half)
    print(_json(said) if args.json else "\n".join(_lines(restated(said, system, "mm"), system, gauge)))
    return 0 if said.enough else 1


def above_zero(text: str, where: str) -> float:
    """A length [mm] an option gives. Raises ``value-bad`` when it is not above 0."""
    value = units.parse(text, "length", where=where)
    if value <= 0:
        raise JawrightError("value-bad", what=f'"{text}" is not above 0', where=where)
    return value


def _is_first(path: Path) -> bool:
    try:
        with path.open(encoding="utf-8-sig", errors="replace") as f:
            return first.is_first(f.readline(4096))
    except OSError:
        return False  # the reader of runs says what is wrong


def _first(args: argparse.Namespace) -> int:
    """A first article table: 0 when everything is proven in, else 1."""
    if not args.record:
        raise JawrightError(
            "key-missing",
            what="a first article table needs the plan it belongs to",
            where=Path(args.run).name,
            todo="give --record record.json",
        )
    record = load(Path(args.record))
    table = characteristics(record)
    rows = first.judge_all(table, first.read_results(Path(args.run)))
    if args.json:
        keys = {"value", "low", "high", "uncertainty"}
        data = [{(f"{k}_mm" if k in keys else k): v for k, v in asdict(r).items()} for r in rows]
        print(json.dumps({"first_article": data}, indent=2, ensure_ascii=False))
    else:
        cells: list[tuple[str, ...]] = [("no.", "feature", "what", "result", "limits", "judgment")]
        cells += [_cells(r, args.units or record.job.units) for r in rows]
        print("\n".join(screen.table(cells)))
    return 0 if all(r.judgment == "in" for r in rows if r.low is not None or r.high is not None) else 1


def _cells(r: first.Judged, system: System) -> tuple[str, ...]:
    value = "" if r.value is None else show(r.value, "length", system)
    limits = "" if r.high is None else f"{show(r.low, 'length', system)} to {show(r.high, 'length', system)}"
    said = "; ".join(w for w in (r.judgment or "", r.why) if w)
    return (str(r.number), r.feature, r.what, value, limits, said)


def _json(said: Diagnosis) -> str:
    """Lengths in mm, as the keys say."""
    data: dict[str, Any] = asdict(said)
    data["seen"] = [{(k if k in PLAIN else f"{k}_mm"): v for k, v in row.items()} for row in data["seen"]]
    for row in data["corrections"]:
        for key in ("change", "spread", "spread_before", "spread_after"):
            row[f"{key}_mm"] = row.pop(key)
    data["false_alarm_parts"] = data.pop("false_alarm")
    return json.dumps(data, indent=2, ensure_ascii=False)


def _lines(said: Diagnosis, system: System, gauge: float | None) -> list[str]:
    lines = [f"{said.source}: {said.count} parts"]
    lines += screen.table([("  value", "parts", "mean", "one sigma", "from", "to"), *_figures(said, system)])
    out = [_capability(s, system) for s in said.seen]
    lines += [line for line in out if line]
    if gauge is not None:
        width = 2 * next((s.tolerance for s in said.seen if s.tolerance), 0.0)
        warning = gauge_words(gauge, width)
        lines += screen.wrap("  " + told(warning, system), "  ") if warning else []
    lines.append("")
    sure = [n for n in said.named if n.sure]
    lines.append("What it says:" if sure else "Not enough to tell.")
    for n in sure:
        lines += _named(n)
    for n in said.named:
        if not n.sure:
            lines += screen.wrap(f"  perhaps: {n.sentence}", "    ")
    for c in said.corrections:
        lines += ["", *screen.wrap(f"Offset due: {c.sentence}", "  ")]
    if not said.corrections:
        lines += ["", "No offset change is due."]
    if said.measure:
        lines += [
            "",
            "Measure next:",
            *(line for m in said.measure for line in screen.wrap(f"  {m}", "    ")),
        ]
    lines += _signals(said)
    return lines + [line for n in said.notes for line in screen.wrap(n, "  ")]


def _figures(said: Diagnosis, system: System) -> list[tuple[str, ...]]:
    return [
        (
            f"  {s.series}", str(s.count), show(s.mean, "length", system),
            show(s.sd, "length", system, digits=4 if system == "mm" else 5),
            show(s.low, "length", system), show(s.high, "length", system),
        )
        for s in said.seen
    ]  # fmt: skip


def _capability(s: Seen, system: System) -> str:
    if s.tolerance is None or s.cp is None or s.cpk is None:
        return ""
    words = f"  {s.series}: ±{show(s.tolerance, 'length', system)} allowed, Cp {s.cp:.2f}, Cpk {s.cpk:.2f}"
    if s.cpk_low is None or s.cpk_high is None:
        return f"{words}; too few parts for more than a glance"
    return f"{words} ({s.cpk_low:.2f} to {s.cpk_high:.2f})"


def _named(n: Named) -> list[str]:
    lines = screen.wrap(f"  {n.cause}. {n.sentence}", "    ")
    if n.share is not None:
        lines += [f"    {max(n.share, 0.0):.0%} of the variance"]
    lines += screen.wrap(f"    do: {n.do}", "      ") if n.do else []
    return lines + (screen.wrap(f"    leave: {n.leave}", "      ") if n.leave else [])


def _signals(said: Diagnosis) -> list[str]:
    if not said.signals:
        return []
    head = f"Run rules met (together they alarm by luck once in {said.false_alarm:.0f} parts):"
    rows = [
        (f"  {s.series}", s.part, f"{s.rule} (alone once in {s.false_alarm:.0f})") for s in said.signals[:8]
    ]
    more = [f"  and {len(said.signals) - 8} more"] if len(said.signals) > 8 else []
    return ["", head, *screen.table(rows), *more]
