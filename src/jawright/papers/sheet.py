"""The setup sheet: one list of blocks, drawn as PDF and as HTML.

Lengths in mm, angles in rad.
"""

from __future__ import annotations

import hashlib
import io
import json
from collections.abc import Sequence
from dataclasses import dataclass
from importlib.resources import as_file, files
from pathlib import Path
from typing import Any, Literal

import segno
import typst

from jawright.papers.content import Content, content, level_of
from jawright.papers.drawing import drawings
from jawright.papers.html import page
from jawright.papers.questions import brief_reasons, is_ready
from jawright.papers.show import (
    Banner,
    Block,
    Break,
    Facts,
    Grid,
    Heading,
    Lines,
    Masthead,
    Numbered,
    Pair,
    Picture,
    Steps,
    Tiles,
    plain,
)
from jawright.record import Planned, Record
from jawright.record_json import dumps

CAPTIONS: dict[str, str] = {
    "clamping-1": "Clamping 1 from above, as the operator sees it.",
    "clamping-2": "Clamping 2 from above, as the operator sees it.",
    "plan": "The part in the jaws from above, as the operator sees it.",
    "front": "Cut through jaws and part, finished height; the phantom line on top is the stock.",
    "stack": "As the jaws are cut: spacer stack between them, pocket and wells as they will be.",
    "jaw-fixed": "Fixed jaw.",
    "jaw-floating": "Floating jaw.",
    "home": "Starts off its place from which the closing jaw sends the part home, and where it sticks.",
    "pressure": "How the walls press the part in use: even is good, crossed out does not touch.",
    "scatter": "A hundred parts held in each way: dots in the shaded zone are good, open circles are not.",
    "rivals": "The stances that were tried, fixed jaw on the far side.",
}


@dataclass(frozen=True, slots=True)
class Made:
    """What every rendering starts from, made once: the drawings, the record as text, the blocks."""

    svgs: dict[str, str]
    text: str
    blocks: tuple[Block, ...]


def make(record: Record, *, address: str = "", text: str = "", clampings: Sequence[Planned] = ()) -> Made:
    """Drawings, record text and blocks of a record; ``address`` of the page that its code opens, if any.

    Of ``clampings`` the sheet shows each from above; what else there is of them stands on their own sheets.
    ``text`` is the record as JSON, where it was written already.
    """
    svgs, text = drawings(record), text or dumps(record)
    for one in clampings:
        own = drawings(one.record) if one.record is not None else {}
        svgs |= {one.folder: own["plan"]} if "plan" in own else {}
    return Made(svgs, text, _blocks(record, svgs, code(record, text, address)))


def _blocks(record: Record, svgs: dict[str, str], square: str) -> tuple[Block, ...]:
    """The sheet as blocks, page by page."""
    c = content(record)
    out: list[Block] = [*_first_page(c, record, svgs, square)]
    if record.hold is not None:
        out += _second_page(c)
    if record.hold is not None or record.proofs:
        out += [Break(), *_proof_pages(c, svgs), *_jaw_pages(c, svgs), Break()]
        out.append(Heading("Why this hold, and what it rests on"))
        out += [g for g in (c.options, c.costs, c.lots) if g.rows]
    return (*out, *_background(c, svgs))


def _first_page(c: Content, record: Record, svgs: dict[str, str], square: str) -> list[Block]:
    level = level_of(record)
    out: list[Block] = [
        Masthead(c.number, c.name, c.title, square),
        Banner(level, c.status, brief_reasons(c.reasons)),
        Lines("", (c.decision, *c.points)),
    ]
    if record.hold is None:
        out += _clampings(c, record, svgs)
        return [*out, _shown(c.options), Lines("Caution", c.cautions[:1], "caution")]
    out += [
        Tiles(c.first),
        _picture("plan", svgs, caption=False),
        Pair(
            (_picture("front", svgs, caption=False), Facts("Zero", c.zero), c.part_cutters),
            (
                Facts("Holding", c.holding),
                *((Facts("Spacer stack for cutting the jaws", c.stack[:4]),) if c.stack else ()),
                Lines("Cautions", c.cautions, "caution"),
            ),
            0.58,
        ),
    ]
    return out


def _clampings(c: Content, record: Record, svgs: dict[str, str]) -> list[Block]:
    """Both clampings side by side: what each makes, and a look at it from above."""
    if not record.clampings:
        return []
    columns = tuple(
        (
            Facts(f"Clamping {n}", facts),
            *((_picture(one.folder, svgs, caption=False),) if one.folder in svgs else ()),
        )
        for n, (one, facts) in enumerate(zip(record.clampings, c.clampings, strict=True), 1)
    )
    out: list[Block] = (
        [Pair(columns[0], columns[1], 0.5)] if len(columns) == 2 else [b for q in columns for b in q]
    )
    return [*out, Lines("Between the clampings", record.between, "unknown")] if record.between else out


def _second_page(c: Content) -> list[Block]:
    return [
        Steps("Order of doing", c.steps),
        *((Lines("No torque wrench?", (c.without_wrench,)),) if c.without_wrench else ()),
        c.checks,
        c.holding_checks,
        Lines("Further cautions", c.more_cautions, "caution"),
    ]


def _proof_pages(c: Content, svgs: dict[str, str]) -> list[Block]:
    head = Heading(
        "The six questions",
        "PASS: the stated limit is met under the stated assumptions, no more. UNKNOWN is never a pass.",
    )
    out: list[Block] = [head, c.glance]
    for answer in c.answers:
        out.append(answer)
        if answer.ask.startswith("Sits") and "home" in svgs:
            out.append(_picture("home", svgs))
        if answer.ask.startswith("Grips") and "pressure" in svgs:
            out.append(_picture("pressure", svgs))
        if answer.ask.startswith("Locates") and "scatter" in svgs:
            out.append(_picture("scatter", svgs))
    if c.shared:
        out.append(Numbered("Assumptions told by number above", c.shared))
    return out


def _jaw_pages(c: Content, svgs: dict[str, str]) -> list[Block]:
    if not c.jaws:
        return []
    out: list[Block] = [Break(), Heading("The jaws and their cutting")]
    if "stack" in svgs and c.stack:
        out.append(Pair((_picture("stack", svgs),), (Facts("Spacer stack", c.stack),), 0.58))
    out.append(Pair((Facts("Jaws", c.jaws),), (Facts("Program", c.program),), 0.5))
    out.append(_shown(c.jaw_cutters))
    names = [n for n in svgs if n.startswith("jaw-")]
    if names:
        out.append(Heading("To make them by hand, or to check them"))
        for name, grid in zip(names, c.corners, strict=True):
            out += [_picture(name, svgs, caption=False), grid]
        out.append(c.jaw_features)
    return out


def _background(c: Content, svgs: dict[str, str]) -> list[Block]:
    out: list[Block] = []
    if c.rivals.rows:
        if "rivals" in svgs:
            out.append(_picture("rivals", svgs))
        out.append(c.rivals)
    if c.attempts.rows:
        out.append(c.attempts)
    if c.pinned:
        out.append(Lines("What the pinned choices cost", c.pinned))
    if c.assumed:
        out.append(Lines("Assumed, defaulted, noted", c.assumed))
    if c.findings:
        out.append(Lines("The part file, as read", c.findings))
    out.append(Facts("Made from", c.origin, 2))
    return out


def _shown(grid: Grid) -> Block:
    return grid if grid.rows else Lines(grid.title, ("none",))


def _picture(name: str, svgs: dict[str, str], *, caption: bool = True) -> Picture:
    words = CAPTIONS.get(name, name)
    return Picture(name, svgs[name], words, words if caption else "")


DIGEST = 20
"""Letters of a record's digest that name it on paper."""


def digest(text: str) -> str:
    """The name of a record on paper, from its text."""
    return hashlib.sha256(text.encode("utf-8")).hexdigest()[:DIGEST]


def code(record: Record, text: str, address: str = "") -> str:
    """A square code that names the record (its text) this sheet was printed from, as SVG.

    With the ``address`` of a running page, a reader that scans it opens the screen at the machine.
    """
    job = record.job
    words = f"{job.part_number or job.name} {job.revision} {job.operation} record {digest(text)}"
    if address:
        words = f"{address}/r/{digest(text)}"
    out = io.BytesIO()
    segno.make(words[:120], error="m", micro=False).save(
        out, kind="svg", xmldecl=False, border=0, nl=False, omitsize=True
    )
    return out.getvalue().decode("utf-8")


def foot(record: Record) -> str:
    """The line at the foot of each page."""
    job = record.job
    rev = f" rev {job.revision}" if job.revision else ""
    named = job.operation.lower().startswith("op") or "operation" in job.operation.lower()
    op = (" " if named else " op ") + job.operation if job.operation else ""
    state = "" if is_ready(record) else "NOT READY · "
    return f"{state}{job.part_number or job.name}{rev}{op} · {record.made} · Jawright {record.version}"


def pdf(record: Record, made: Made | None = None) -> bytes:
    """The sheet as PDF: A4 for millimeters, letter for inch. Same record, same bytes."""
    return _compile(record, made or make(record), "pdf")[0]


def pictures(record: Record, *, ppi: float = 110.0) -> list[bytes]:
    """The sheet's pages as PNG pictures."""
    return _compile(record, make(record), "png", ppi=ppi)


def html(record: Record, made: Made | None = None) -> str:
    """The sheet as one HTML page that needs nothing from outside."""
    return page((made or make(record)).blocks, title=foot(record), foot=foot(record), ready=is_ready(record))


def _compile(record: Record, made: Made, kind: Literal["pdf", "png"], *, ppi: float = 110.0) -> list[bytes]:
    return typeset(
        made.blocks, title=foot(record), ready=is_ready(record), inch=record.job.units == "inch", kind=kind,
        ppi=ppi,
    )  # fmt: skip


def typeset(
    blocks: tuple[Block, ...],
    *,
    title: str,
    ready: bool,
    inch: bool,
    kind: Literal["pdf", "png"],
    ppi: float = 110.0,
) -> list[bytes]:
    """Blocks as a PDF (one entry) or as PNG pictures (one a page); letter paper for inch, else A4."""
    data = {
        "paper": "us-letter" if inch else "a4",
        "title": title,
        "ready": ready,
        "blocks": [plain(b) for b in blocks],
    }
    template = files("jawright.data").joinpath("sheet.typ").read_bytes()
    compiler: Any = typst.compile  # its own type hints leave out the list of pages
    with as_file(files("jawright.data").joinpath("fonts")) as fonts:
        out: Any = compiler(
            template,
            font_paths=[Path(fonts)],
            ignore_system_fonts=True,
            sys_inputs={"data": json.dumps(data, ensure_ascii=False)},
            format=kind,
            ppi=ppi if kind == "png" else None,
            timestamp=0,
        )
    pages: list[bytes] | bytes = out  # one picture per page, or one file
    return pages if isinstance(pages, list) else [pages]
