"""``jawright verify``: run a program, as it is or as it was edited, against the jaws of a record."""

from __future__ import annotations

import argparse
import math
from pathlib import Path

from jawright import record_json
from jawright.doors.cli import screen
from jawright.errors import JawrightError
from jawright.record import Record
from jawright.told import told
from jawright.units import System, show
from jawright.verify.check import check, check_blank
from jawright.verify.model import Load, Verification

_LINES = 8  # named of those with one and the same finding


def run(args: argparse.Namespace) -> int:
    """Verify and print; 0 when the program makes the jaws of the record safely, else 1."""
    record = record_json.load(Path(args.record))
    system = args.units or record.job.units
    text = _text(Path(args.program))
    if args.blank:
        got = verify_blank(text, record, args.blank, where=args.record)
    else:
        got = verify(text, record, where=args.record)
    print("\n".join([*_figures(got, system), *_findings(got, system)]))
    print("\nVERIFIED" if got.verified else "\nNOT VERIFIED: do not run it")
    return 0 if got.verified else 1


def _text(path: Path) -> str:
    """The program; bytes that are not UTF-8 are taken letter by letter, for the reader to judge.

    Raises ``file-missing``.
    """
    try:
        data = path.read_bytes()
    except OSError as error:
        raise JawrightError(
            "file-missing",
            what="the program cannot be read",
            where=str(path),
            todo="give the path of the program text",
        ) from error
    try:
        return data.decode("utf-8")
    except UnicodeDecodeError:
        return data.decode("latin-1")


def verify(text: str, record: Record, *, where: str) -> Verification:
    """The text against the record's jaws, cutters, machine and vise.

    Raises ``record-bad`` when the record holds no jaws or no program to take the zero from.
    """
    if record.jaws is None or record.program is None or record.hold is None:
        raise JawrightError(
            "record-bad",
            what="the record holds no soft jaws, so there is nothing to compare a program with",
            where=where,
            todo="name the record of a plan in soft jaws",
        )
    return check(
        text,
        origin=record.program.origin,
        turned=record.program.turned,
        jaws=record.jaws,
        shop=record.shop,
        vise=record.hold.vise,
        wear=record.program.wear,
    )


def verify_blank(text: str, record: Record, blank: str, *, where: str) -> Verification:
    """The text against a blank that the record's pair is made from.

    Raises ``record-bad`` when no blank of this name is made from bar in the record.
    """
    work = next((w for w in record.blank_work if w.blank == blank), None)
    if work is None or work.bar is None or work.program is None or record.hold is None:
        raise JawrightError(
            "record-bad",
            what=f'the record has no program that makes a blank "{blank}" from bar',
            where=where,
            todo="state bar_thickness of that blank in the shop file and plan again, or leave --blank out",
        )
    return check_blank(
        text,
        origin=work.program.origin,
        turned=work.program.turned,
        bar=work.bar,
        shop=record.shop,
        vise=record.hold.vise,
    )


def _figures(v: Verification, system: System) -> list[str]:
    def far(value: float | None, at: tuple[float, float, float] | None = None) -> str:
        if value is None:
            return "nothing there to meet"
        place = ", ".join(f"{n} {show(c, 'length', system)}" for n, c in zip("XYZ", at or (), strict=False))
        return show(value, "length", system) + (f" at {place} of the program" if place and value > 0 else "")

    return screen.table(
        [
            ("moves", f"{v.moves}, {v.minutes:.1f} min with speeding up and slowing down"),
            ("gouge", far(v.gouge, v.gouge_at)),
            ("rest", far(v.rest, v.rest_at)),
            ("walls", f"off by {far(v.wall_error)} at most"),
            ("floor", f"off by {far(v.floor_error)} at most"),
            ("to spacers", far(v.spacer_gap)),
            ("to vise", far(v.vise_gap)),
            *((f"T{q.tool} {q.cutter}", _load(q, system)) for q in v.loads),
        ]
    )


def _load(q: Load, system: System) -> str:
    if q.depth == 0.0:
        return "only light bites"
    depth = show(q.depth, "length", system)
    return f"at most {math.degrees(q.angle):.0f} of 180 deg in metal, {depth} deep, line {q.line}"


def _findings(v: Verification, system: System) -> list[str]:
    """Every finding; the same words on many lines stand once, with the lines."""
    out = [""] if v.findings else []
    said: set[tuple[str, str]] = set()
    for f in v.findings:
        if (f.level, f.what) in said:
            continue
        said.add((f.level, f.what))
        place = f"line {f.line}" if f.line else "program"
        place += f", column {f.column}" if f.column else ""
        also = [str(g.line) for g in v.findings if (g.level, g.what) == (f.level, f.what)][1:]
        more = f" Also on line{'s'[: len(also) > 1]} {', '.join(also[:_LINES])}" if also else ""
        more += f" and {len(also) - _LINES} more." if len(also) > _LINES else "." if also else ""
        out += screen.wrap(f"{f.level}, {place}: {told(f.what, system)}{'.' if more else ''}{more}")
    return out
