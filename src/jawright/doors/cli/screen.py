"""A record as lines for a terminal. Plain words only: the papers say more."""

from __future__ import annotations

import math
import shutil
import textwrap
from collections.abc import Sequence

from jawright.cost import in_words
from jawright.papers.figures import of_proof
from jawright.papers.measure import Reader
from jawright.papers.questions import reasons_not_ready
from jawright.proof.model import QUESTIONS, Proof, Verdict, worst
from jawright.record import Record, Rival, Whole
from jawright.units import System, show

WORDS: dict[Verdict, str] = {"pass": "pass", "caution": "caution", "fail": "FAIL", "unknown": "unknown"}


def width() -> int:
    """Columns to write in: the terminal's, within reason."""
    return max(60, min(shutil.get_terminal_size((100, 24)).columns, 140))


def wrap(text: str, indent: str = "") -> list[str]:
    """``text`` broken at the terminal's width, further lines set in by ``indent``."""
    return textwrap.wrap(text, width(), subsequent_indent=indent, break_long_words=False) or [""]


def count(number: int, thing: str) -> str:
    """A number of things in words: "1 pair", "2 pairs", "no pair"."""
    return f"{number or 'no'} {thing}{'s' if number > 1 else ''}"


def table(rows: Sequence[Sequence[str]], *, gap: str = "  ") -> list[str]:
    """Rows in columns; the last column is wrapped to the terminal's width."""
    if not rows:
        return []
    sizes = [max(len(r[i]) for r in rows) for i in range(len(rows[0]) - 1)]
    lead = sum(sizes) + len(gap) * len(sizes)
    room = max(24, width() - lead)
    lines = []
    for row in rows:
        head = gap.join(c.ljust(n) for c, n in zip(row, sizes, strict=False))
        last = textwrap.wrap(row[-1], room, break_long_words=False) or [""]
        lines.append(f"{head}{gap}{last[0]}".rstrip())
        lines += [" " * lead + part for part in last[1:]]
    return lines


def decision(record: Record) -> list[str]:
    """What to do, and what it costs."""
    d = record.decision
    lines = wrap(d.sentence)
    for point in d.points:
        lines += wrap(point, "  ")
    cost = []
    if d.minutes is not None:
        cost.append(f"{d.minutes:.0f} min for the lot of {record.job.quantity}")
    if d.money is not None:
        cost.append(f"{d.money:.0f} {d.currency}")
    if cost:
        lines.append(f"Estimated: {', '.join(cost)}.")
    for even in record.break_even:
        lines += wrap(in_words(even), "  ")
    return lines


def tried(record: Record) -> list[str]:
    """What was proven in full besides the chosen design, and what each pinned choice costs."""
    lines: list[str] = []
    others = [a for a in record.attempts if not a.chosen]
    for a in others:
        what = f"Also tried: {a.kind}, turn {math.degrees(a.turn):.1f}°, {a.words}: {a.verdict}."
        lines += wrap(what + (f" {a.open[0]}" if a.open else ""), "  ")
    for p in record.pinned:
        lines += wrap(p.sentence, "  ")
    return lines


def worst_proof(proofs: Sequence[Proof]) -> Proof | None:
    """The proof that speaks for a question: worst verdict, then least margin over its limit."""
    if not proofs:
        return None
    verdict = worst([p.verdict for p in proofs])
    of = [p for p in proofs if p.verdict == verdict]

    def tightness(p: Proof) -> float:
        if p.margin is None:
            return float("inf")
        return p.margin / abs(p.limit) if p.limit else p.margin

    return min(of, key=tightness)


def number(p: Proof, units: System) -> str:
    """The proof's number against its limit, in words."""
    if p.value is None:
        return f"supply: {'; '.join(p.supply)}" if p.supply else "no number"
    reader = Reader(units)
    text = of_proof(p, p.value, reader)
    if p.limit is not None:
        text += f" against {of_proof(p, p.limit, reader)}"
    return text


def six(record: Record) -> list[str]:
    """One row a question: its verdict, and the proof that speaks for it."""
    rows = []
    for question in QUESTIONS:
        proofs = [p for p in record.proofs if p.question == question]
        p = worst_proof(proofs)
        if p is None:
            rows.append((question, WORDS["unknown"], "nothing was proven"))
        else:
            said = p.sentence.removeprefix(f"{p.name}: ")  # the name stands before the number already
            rows.append((question, WORDS[p.verdict], f"{p.name}: {number(p, record.job.units)}. {said}"))
    return table(rows)


def clampings(planned: Whole) -> list[str]:
    """The six answers of each clamping under its decision; nothing where the part takes one."""
    lines: list[str] = []
    for n, (c, p) in enumerate(zip(planned.record.clampings, planned.clampings, strict=True), 1):
        lines += [""] if lines else []
        lines += wrap(f"Clamping {n}, {c.folder}: {'ready' if c.ready else 'NOT READY'}. {c.sentence}")
        lines += wrap(c.words, "  ")
        lines += six(p.record) if p.record is not None else []
    return lines


def not_ready(record: Record) -> list[str]:
    """Why the exit code is 1; empty when the record is ready."""
    if record.ready:
        return []
    return ["Not ready:", *(line for why in reasons_not_ready(record) for line in wrap(f"  {why}", "    "))]


def stances(record: Record) -> list[str]:
    """Every stance tried, best first, with the reason each lost."""
    rows: list[tuple[str, ...]] = [("rank", "how", "up", "turn", "shift", "yield", "why")]
    rows += [_stance(r, record.job.units) for r in sorted(record.rivals, key=lambda r: r.rank)]
    return table(rows)


def _stance(r: Rival, units: System) -> tuple[str, ...]:
    up = ",".join(f"{v:+.2g}" if abs(v) > 1e-9 else "0" for v in r.up)
    predicted = "" if r.predicted_yield is None else f"{100 * r.predicted_yield:.1f} %"
    mark = f"{r.rank}*" if r.chosen else str(r.rank)
    turn, shift = (
        show(r.turn, "angle", digits=1),
        show(r.shift, "length", units, digits=1 if units == "mm" else 2),
    )
    return (mark, r.kind, up, turn, shift, predicted, r.reason)
