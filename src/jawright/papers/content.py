"""What to show of a record: plain groups of words, made once and drawn by every renderer.

Everything comes from the record; no number is computed here beyond differences of places.
"""

from __future__ import annotations

from dataclasses import dataclass, field

from jawright.cost import QUANTITIES, in_words
from jawright.hold.model import Hold
from jawright.papers import facts, inspection
from jawright.papers.jaw_view import corner_grid, feature_grid
from jawright.papers.measure import Reader
from jawright.papers.questions import WORDS, answers, glance, is_ready, reasons_not_ready, shared_assumptions
from jawright.papers.rival_view import distinct
from jawright.papers.show import Answer, Fact, Grid, Level
from jawright.papers.stack_facts import stack_facts
from jawright.papers.steps import cautions, steps, without_wrench
from jawright.record import Clamping, Record


def _doc(text: str) -> dict[str, str]:
    return {"help": text}


@dataclass(frozen=True, slots=True)
class Content:
    """Everything a sheet shows. Each field's ``help`` says what it is for."""

    number: str = field(metadata=_doc("Part number, largest on the page."))
    name: str = field(metadata=_doc("Name of the job, where its number stands before it."))
    title: tuple[Fact, ...] = field(
        metadata=_doc("Revision, operation, quantity, material, machine, vise, date.")
    )
    ready: bool = field(metadata=_doc("False prints NOT READY over the first page."))
    status: str = field(metadata=_doc("One line: ready for a first part, or not."))
    reasons: tuple[str, ...] = field(metadata=_doc("Why it is not ready, or what to watch."))
    decision: str = field(metadata=_doc("What to do, as a machinist would say it, with minutes and money."))
    points: tuple[str, ...] = field(metadata=_doc("Why, what stays open, and what it takes."))
    clampings: tuple[tuple[Fact, ...], ...] = field(
        metadata=_doc(
            "Of each clamping, where a part takes several: verdict, what it makes, where its papers are."
        )
    )
    options: Grid = field(metadata=_doc("The other ways that were weighed."))
    costs: Grid = field(metadata=_doc("What each way costs, once and with every part, and the break-even."))
    lots: Grid = field(metadata=_doc("Money a part of each way, by the size of the lot."))
    first: tuple[Fact, ...] = field(
        metadata=_doc("Jaws, stop corner, torque, work offset: read at arm's length.")
    )
    holding: tuple[Fact, ...] = field(metadata=_doc("How the part stands and what holds it."))
    zero: tuple[Fact, ...] = field(metadata=_doc("Where X0 Y0 Z0 is, and numbers to check it by."))
    jaws: tuple[Fact, ...] = field(metadata=_doc("Blanks, bolts, gap and pocket."))
    stack: tuple[Fact, ...] = field(metadata=_doc("Parallels between and under the jaws while they are cut."))
    program: tuple[Fact, ...] = field(metadata=_doc("The jaw program and what its independent reader found."))
    part_cutters: Grid = field(metadata=_doc("Cutters of the operation itself."))
    jaw_cutters: Grid = field(metadata=_doc("Cutters of the jaw program."))
    steps: tuple[str, ...] = field(metadata=_doc("The order of doing."))
    checks: Grid = field(metadata=_doc("First-article table, with columns for the pen."))
    holding_checks: Grid = field(metadata=_doc("Further things to write down, for a later diagnosis."))
    cautions: tuple[str, ...] = field(metadata=_doc("Cautions of the first page."))
    more_cautions: tuple[str, ...] = field(metadata=_doc("Further cautions."))
    without_wrench: str = field(metadata=_doc("The test that replaces a torque wrench."))
    answers: tuple[Answer, ...] = field(metadata=_doc("The six questions with their proofs."))
    corners: tuple[Grid, ...] = field(metadata=_doc("Corners of the pocket, fixed jaw first."))
    jaw_features: Grid = field(metadata=_doc("Reliefs, wells and holes of the jaws."))
    glance: Grid = field(metadata=_doc("The six answers in one table, each with the proof that decides it."))
    shared: tuple[str, ...] = field(metadata=_doc("Assumptions behind several proofs, by number."))
    rivals: Grid = field(metadata=_doc("Stances that were tried, and why each lost."))
    attempts: Grid = field(metadata=_doc("Designs that were proven in full, and what each leaves open."))
    pinned: tuple[str, ...] = field(metadata=_doc("What each choice pinned in the job costs."))
    assumed: tuple[str, ...] = field(metadata=_doc("Defaults and things not given that this sheet rests on."))
    findings: tuple[str, ...] = field(metadata=_doc("What the part reader noticed."))
    origin: tuple[Fact, ...] = field(metadata=_doc("Files, their digests and model versions."))


def content(record: Record) -> Content:
    """What to show of a record."""
    held = record.hold is not None
    r = Reader(record.job.units)
    reasons, ready = reasons_not_ready(record), is_ready(record)
    first, more = cautions(record)
    return Content(
        number=record.job.part_number or record.job.name,
        name=record.job.name if record.job.part_number else "",
        title=facts.title_facts(record),
        ready=ready,
        status="Ready for a first part, to be proved out"
        if ready
        else "NOT READY: do not cut from this sheet",
        reasons=reasons or _watch(record),
        decision=_decision(record),
        points=record.decision.points,
        clampings=tuple(_clamping(c, r) for c in record.clampings),
        options=_options(record),
        costs=_costs(record),
        lots=_lots(record),
        first=facts.first_facts(record) if held else (),
        holding=facts.holding_facts(record) if held else (),
        zero=facts.zero_facts(record) if held else (),
        jaws=facts.jaw_facts(record),
        stack=stack_facts(record) if record.reuse is None else (),  # nothing is cut
        program=facts.program_facts(record) if held else (),
        part_cutters=_part_cutters(record, r),
        jaw_cutters=_jaw_cutters(record, r),
        steps=steps(record),
        checks=_checks(record),
        holding_checks=Grid(
            "Write down with it",
            ("What", "How", "Result"),
            tuple((a, b, "") for a, b in inspection.holding_rows(record)) if held else (),
            (4.0, 5.0, 3.0),
            fill_in=(2,),
        ),
        cautions=first,
        more_cautions=more,
        without_wrench=without_wrench(record) if held else "",
        answers=answers(record),
        glance=glance(record),
        shared=shared_assumptions(record),
        corners=tuple(corner_grid(record, s) for s in ("fixed", "floating")) if record.jaws else (),
        jaw_features=feature_grid(record) if record.jaws else Grid("", (), (), ()),
        rivals=_rivals(record, r),
        attempts=_attempts(record, r),
        pinned=tuple(p.sentence for p in record.pinned),
        assumed=_assumed(record),
        findings=tuple(
            f"{f.number}. {f.level}: {f.what}" + (f" ({f.where})" if f.where else "")
            for f in record.part.findings
        ),
        origin=_origin(record),
    )


def _watch(record: Record) -> tuple[str, ...]:
    """For a ready sheet: what carries a caution."""
    out = tuple(p.sentence for p in record.proofs if p.verdict == "caution")
    return out or (
        "Every stated limit is met under the stated assumptions; read the ones that would break it first.",
    )


def _decision(record: Record) -> str:
    d = record.decision
    cost = []
    if d.minutes is not None:
        cost.append(f"{d.minutes:.0f} min")
    if d.money is not None:
        cost.append(f"{d.money:.0f} {d.currency}")
    tail = f" About {' and '.join(cost)} for the lot of {record.job.quantity}." if cost else ""
    return d.sentence + tail


def _clamping(c: Clamping, r: Reader) -> tuple[Fact, ...]:
    out = [
        Fact("Answer", WORDS[c.verdict] if c.ready else f"NOT READY, {WORDS[c.verdict]}", level=c.verdict),
        Fact("Makes", ", ".join(c.features)),
        Fact("Turn", r.value(facts.folded(c.turn), "rad", digits=1)),
        Fact("Papers", f"{c.folder}/setup-sheet.pdf"),
        Fact("Jaws", c.sentence),
        Fact("Walls", c.words),
    ]
    return (*out, *(Fact("Open", o) for o in c.open[:2]))


NOT_NEEDED = ("No other order is needed.", "A vise serves.")
"""What is said of a way nobody needs: it does not fail, it was not asked."""


def _options(record: Record) -> Grid:
    d = record.decision
    rows = tuple(
        (
            o.kind,
            "serves" if o.serves else "not needed" if o.sentence in NOT_NEEDED else "does not serve",
            o.sentence,
            f"{o.minutes:.0f} min" if o.minutes is not None else "–",
            f"{o.money:.0f} {d.currency}" if o.money is not None else "–",
        )
        for o in d.options
    )
    return Grid(
        "Weighed against each other", ("Way", "", "Why", "Time", "Cost"), rows, (3, 2, 6, 1.6, 1.8), (3, 4)
    )


def _costs(record: Record) -> Grid:
    n, currency = record.job.quantity, record.decision.currency
    rows: list[tuple[str, ...]] = []
    for c in record.costs:
        rows += [
            (
                c.way if k == 0 else "",
                i.what + (f", {n} times" if i.each else ""),
                f"{i.minutes * (n if i.each else 1):.0f}",
                f"{i.money * (n if i.each else 1):.2f}",
            )
            for k, i in enumerate(c.items)
        ]
        rows.append(("", f"the lot of {n}", f"{c.minutes(n):.0f}", f"{c.money(n):.2f}"))
    return Grid(
        "What each way costs",
        ("Way", "What", "min", currency),
        tuple(rows),
        (3, 6, 1.2, 1.6),
        (2, 3),
        note=" ".join(in_words(e) for e in record.break_even),
    )


def _lots(record: Record) -> Grid:
    """Money a part, by the size of the lot; what is spent once is shared by the lot."""
    sizes = tuple(sorted({*QUANTITIES, record.job.quantity}))
    rows = tuple((c.way, *(f"{c.money(n) / n:.2f}" for n in sizes)) for c in record.costs)
    heads = ("Lot of", *(f"{n}" for n in sizes))
    shares = (3.0, *(1.2 for _ in sizes))
    title = f"{record.decision.currency} a part, by the size of the lot"
    return Grid(title, heads, rows, shares, tuple(range(1, len(sizes) + 1)))


def _part_cutters(record: Record, r: Reader) -> Grid:
    makes: dict[tuple[str, ...], list[str]] = {}
    for m in record.hold.features if record.hold else ():
        c = m.cutter
        corner = f"R{r.size(c.corner_radius, unit=False)}" if c.corner_radius else "sharp"
        size = f"Ø{r.size(c.diameter, unit=False)}, {corner}"
        feed = r.value(m.feed_per_tooth * c.flutes * m.spindle, "mm/min").split(" ")[0]
        tool = f"T{c.number}" if c.number else "–"  # the shop has none
        key = (tool, c.id, size, r.size(c.reach, unit=False), f"{m.spindle:.0f}", feed)
        makes.setdefault(key, []).append(m.name)
    rows = [(*k[:4], ", ".join(names), *k[4:]) for k, names in makes.items()]
    u = r.length_unit
    heads = ("T", "Cutter", f"Ø, corner [{u}]", f"Reach [{u}]", "Makes", "rev/min", f"Feed [{u}/min]")
    return Grid("Cutters for the part", heads, tuple(rows), (0.9, 1.5, 2.2, 1.5, 2.8, 1.3, 1.5), (3, 5, 6))


def _jaw_cutters(record: Record, r: Reader) -> Grid:
    u = r.length_unit
    have = {c.id: c for c in record.shop.cutters}
    rows = []
    for use in record.program.cutters if record.program else ():
        c = have.get(use.cutter)
        size = "unknown" if c is None else f"Ø{r.size(c.diameter, unit=False)}, " + (
            f"R{r.size(c.corner_radius, unit=False)}" if c.corner_radius else "sharp")  # fmt: skip
        reach = "unknown" if c is None else r.size(c.reach, unit=False)
        rows.append((f"T{use.number}", use.cutter, size, reach, use.purpose, f"{use.spindle:.0f}",
                     r.value(use.feed, "mm/min").split(" ")[0], f"{use.minutes:.1f}"))  # fmt: skip
    heads = ("T", "Cutter", f"Ø, corner [{u}]", f"Reach [{u}]", "Does", "rev/min", f"Feed [{u}/min]", "min")
    return Grid(
        "Cutters for the jaws", heads, tuple(rows), (0.8, 1.5, 2.3, 1.5, 4.0, 1.2, 1.6, 0.9), (3, 5, 6, 7)
    )


def _checks(record: Record) -> Grid:
    rows = []
    for c in inspection.checks(record):
        what = "; ".join(q for q in (c.characteristic, c.nominal) if q)
        rows.append((f"{c.balloon}", c.feature, what, c.limits, c.datums, c.method, c.resolution, "", ""))
    heads = (
        "No.",
        "Feature",
        "Characteristic",
        "Limits",
        "Datums",
        "Measured with",
        "Reads to",
        "Clamped",
        "Released",
    )
    shares = (0.7, 1.7, 3.6, 2.3, 1.1, 2.9, 1.4, 1.6, 1.6)
    return Grid("First article", heads, tuple(rows), shares, fill_in=(7, 8))


def _rivals(record: Record, r: Reader) -> Grid:
    rows = []
    shown = distinct(record)
    for v in shown:
        share = "–" if v.predicted_yield is None else f"{100 * v.predicted_yield:.1f} %"
        grip = "–" if v.grip_margin is None else f"{v.grip_margin:+.2f}"
        turn, shift = r.value(facts.folded(v.turn), "rad", digits=1), r.value(v.shift, "mm", digits=2)
        rows.append((f"{v.rank}", v.kind, facts.axis_words(v.up), turn, shift, share, grip, v.reason))
    heads = ("Rank", "Kind", "Up", "Turn", "Shift along X", "Yield", "Grip margin", "Why")
    more = len(record.rivals) - len(shown)
    note = "Yield and grip margin are those of the quick proof."
    if more:
        note += f" {more} more, most of them close neighbors of these, are in the record."
    shares = (0.8, 1.5, 1.6, 1.2, 1.7, 1.2, 1.4, 6.0)
    return Grid("Stances that were tried", heads, tuple(rows), shares, (0, 3, 4, 5, 6), note=note)


def _attempts(record: Record, r: Reader) -> Grid:
    rows = [
        (
            a.kind,
            a.words,
            a.blank or "–",
            r.value(a.grip_depth, "mm", digits=1 if record.job.units == "mm" else 3),
            a.verdict + (", chosen" if a.chosen else ""),
            a.open[0] if a.open else "–",
        )
        for a in record.attempts
    ]
    heads = ("Kind", "Stance", "Blank", "Grip", "Verdict", "Open first")
    shown = tuple(rows) if len(rows) > 1 else ()
    return Grid("Designs proven in full", heads, shown, (1.3, 3.0, 1.2, 1.2, 1.6, 6.0), (3,))


def _assumed(record: Record) -> tuple[str, ...]:
    out: list[str] = []
    job, hold = record.job, record.hold
    if job.features_assumed:
        out.append("No feature was named in the job: the default operation stands in.")
    if "[" in job.material:
        out.append(f"material: {job.material} (stated in the job)")
    inc = job.incoming
    r = Reader(job.units)
    named = (("profile of the incoming part", inc.profile), ("form of its walls, ±", inc.wall_form),
             ("squareness of its walls, ±", inc.squareness),
             ("edge break", inc.edge_break), ("stock on top", inc.stock_on_top))  # fmt: skip
    out += [f"{n}: {r.place(g.value)} ({g.basis})" for n, g in named]
    out += [f"{m.name}: {a}" for m in (hold.features if hold else ()) for a in m.assumed]
    out += list(record.shop.defaults_used)
    out += [*job.notes, *_notes(hold), *(record.jaws.notes if record.jaws else ())]
    return tuple(out)


def _notes(hold: Hold | None) -> tuple[str, ...]:
    return hold.notes if hold else ()


def _origin(record: Record) -> tuple[Fact, ...]:
    p = record.part
    out = [
        Fact("Part file", p.file, note=f"{p.format}, unit {p.unit}; SHA-256 {p.sha256[:16]}"),
        Fact("Job file", record.job.source, note=f"SHA-256 {record.job.sha256[:16] or 'none'}"),
        Fact("Shop file", record.shop.source, note=f"SHA-256 {record.shop.sha256[:16] or 'none'}"),
        Fact(
            "Tolerances in the part file", f"{p.tolerances_in_file}", note=f"{len(p.tolerances)} understood"
        ),
    ]
    out += [Fact(n, v) for n, v in record.models]
    return tuple(out)


def level_of(record: Record) -> Level:
    """The verdict that speaks for the sheet."""
    if is_ready(record):
        return record.verdict
    v = record.verification
    broken = record.program is not None and v is not None and not v.verified
    return "fail" if broken or record.verdict in ("pass", "caution") else record.verdict


__all__ = ["WORDS", "Content", "content", "level_of"]
