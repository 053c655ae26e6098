"""The six questions with their proofs, in words."""

from __future__ import annotations

from collections import Counter
from textwrap import shorten

from jawright.papers.figures import of_detail, of_proof
from jawright.papers.measure import Reader
from jawright.papers.show import Answer, Fact, Grid, Level, Line
from jawright.proof.model import ASK, QUESTIONS, Proof, worst
from jawright.record import Record
from jawright.told import told

WORDS: dict[Level, str] = {
    "pass": "PASS",
    "caution": "CAUTION",
    "fail": "FAIL",
    "unknown": "UNKNOWN",
    "": "",
}
"""A verdict never reads as a promise: a stated limit is met under stated assumptions, or is not."""


def answers(record: Record) -> tuple[Answer, ...]:
    """One answer per question, in their fixed order; a question without a proof is unknown."""
    r = Reader(record.job.units)
    out = []
    numbers = {a: i + 1 for i, a in enumerate(shared_assumptions(record))}
    for q in QUESTIONS:
        proofs = [p for p in record.proofs if p.question == q]
        level = worst([p.verdict for p in proofs])
        out.append(
            Answer(
                f"{q.capitalize()}: {ASK[q]}",
                WORDS[level],
                level,
                tuple(_line(p, r, numbers) for p in proofs),
            )
        )
    return tuple(out)


def shared_assumptions(record: Record) -> tuple[str, ...]:
    """Assumptions that stand behind several proofs, in order of appearance: told once, then by number."""
    count = Counter(a for p in record.proofs for a in p.assumptions[1:])
    return tuple(
        a for a in dict.fromkeys(a for p in record.proofs for a in p.assumptions[1:]) if count[a] > 1
    )


def _rest(p: Proof, numbers: dict[str, int]) -> tuple[str, ...]:
    own = tuple(a for a in p.assumptions[1:] if a not in numbers)
    told = sorted(numbers[a] for a in p.assumptions[1:] if a in numbers)
    return (*own, "no. " + _ranges(told)) if told else own


def _ranges(numbers: list[int]) -> str:
    """1, 2, 3, 7 as "1–3, 7"."""
    runs: list[list[int]] = []
    for n in numbers:
        if runs and n == runs[-1][-1] + 1:
            runs[-1].append(n)
        else:
            runs.append([n])
    return ", ".join(f"{q[0]}–{q[-1]}" if len(q) > 1 else f"{q[0]}" for q in runs)


def glance(record: Record) -> Grid:
    """One row per question: its verdict and the proof that decides it."""
    r = Reader(record.job.units)
    rows: list[tuple[str, ...]] = []
    for q in QUESTIONS:
        proofs = [p for p in record.proofs if p.question == q]
        level = worst([p.verdict for p in proofs])
        p = next((p for p in proofs if p.verdict == level), None)
        if p is None:
            rows.append((ASK[q], WORDS[level], "no proof in this record", "–", "–", "–"))
            continue
        numbers = (of_proof(p, v, r) if v is not None else "–" for v in (p.value, p.limit, p.margin))
        rows.append((ASK[q], WORDS[level], p.name, *numbers))
    heads = ("Question", "", "Decided by", "Value", "Limit", "Margin")
    return Grid("", heads, tuple(rows), (5.2, 1.6, 3.6, 1.5, 1.5, 1.5), (3, 4, 5), verdicts=1)


def _line(p: Proof, r: Reader, shared: dict[str, int]) -> Line:
    numbers = []
    if p.value is not None:
        numbers.append(Fact("value", of_proof(p, p.value, r)))
    if p.limit is not None:
        numbers.append(Fact("limit", of_proof(p, p.limit, r)))
    if p.margin is not None:
        numbers.append(Fact("margin", of_proof(p, p.margin, r)))
    if p.set is not None:
        band = window(p, r)
        if band:
            numbers.append(Fact("low – set – high", band))
    elif p.low is not None or p.high is not None:
        numbers.append(Fact("low – high", f"{of_proof(p, p.low, r)} – {of_proof(p, p.high, r)}"))
    if p.where is not None:
        x, y, z = (r.size(v, unit=False) for v in p.where)
        numbers.append(Fact("worst at", f"X {x}, Y {y}, Z {z} {r.length_unit}, vise frame"))
    detail = tuple(Fact(n, of_detail(n, v, u, r)) for n, v, u in p.detail)
    model = p.model + (f"; {p.source}" if p.source else "")
    return Line(
        p.name,
        p.verdict,
        _unnamed(p),
        tuple(numbers),
        detail,
        p.assumptions[0] if p.assumptions else "no assumption is stated",
        _rest(p, shared),
        p.supply,
        model,
    )


def window(p: Proof, r: Reader) -> str:
    """Low, set and high with one unit; "" where all three read alike, so that nothing spreads."""
    parts = [of_proof(p, v, r) for v in (p.low, p.set, p.high)]
    if len(set(parts)) == 1:
        return ""
    units = {q.partition(" ")[2] for q in parts}
    if len(units) == 1 and units != {""}:  # one unit said once
        parts = [q.partition(" ")[0] for q in parts[:-1]] + parts[-1:]
    return " – ".join(parts)


MOST_REASONS = 3
TWO_LINES = 240  # letters: what to do often stands at the end of the sentence and must not be cut off


def brief_reasons(reasons: tuple[str, ...]) -> tuple[str, ...]:
    """The reasons as they fit on the first page; the rest is told by its number."""
    out = tuple(shorten(q, TWO_LINES, placeholder=" …") for q in reasons[:MOST_REASONS])
    more = len(reasons) - MOST_REASONS
    return (*out, f"And {more} more: see the six questions.") if more > 0 else out


def is_ready(record: Record) -> bool:
    """Whether the sheet may be cut from: the record is ready and its decision is to hold the part now."""
    return record.ready and not reasons_not_ready(record)


def _unnamed(p: Proof) -> str:
    """The proof's sentence without its name, where it begins with it."""
    rest = p.sentence.removeprefix(p.name).lstrip(":, ")
    return rest[:1].upper() + rest[1:]


def reasons_not_ready(record: Record) -> tuple[str, ...]:
    """Why this sheet is not one to cut from; empty when the record is ready."""
    out = []
    several = record.clampings
    if record.decision.kind in ("not in a vise", "another order of operations") or (
        record.decision.kind == "two clampings" and not several
    ):
        out.append(f"Decision: {record.decision.kind}.")
    for n, c in enumerate(several, 1):
        if not c.ready:
            out.append(f"Clamping {n} is not ready: {c.open[0] if c.open else c.sentence}")
    out += record.between
    if not record.proofs and not several:
        out.append("Nothing is proven.")
    for p in (q for q in record.proofs if q.verdict == "fail"):
        out.append(f"{p.question.capitalize()}, {p.name}: fail. {_unnamed(p)}")
    if record.program is not None:
        v = record.verification
        if v is None:
            out.append("The jaw program was not read back.")
        elif not v.verified:
            first = next((f for f in v.findings if f.level in ("refused", "fault")), None)
            out.append(
                "The jaw program did not verify"
                + (
                    f": line {first.line}, {told(first.what, record.job.units)}."
                    if first
                    else ": it differs from the design."
                )
            )
    for p in (q for q in record.proofs if q.verdict == "unknown"):
        need = f" Supply: {'; '.join(p.supply)}." if p.supply else ""
        out.append(f"{p.question.capitalize()}, {p.name}: unknown. {_unnamed(p)}{need}")
    if not out and not record.ready:
        out.append(f"The whole stands at '{record.verdict}'.")
    return tuple(out)
