"""From which starts the part goes home by itself while the jaw closes: offset against turn."""

from __future__ import annotations

from jawright.papers.ink import FINE, INK, PLAIN, QUIET, SMALL, THICK, Ink, num, pen
from jawright.papers.measure import Reader
from jawright.proof.model import Start
from jawright.record import Record

HOME = "#e3ece4"
HEAD, SIDE, KEY = 9.0, 16.0, 52.0
CELL, ROW = 12.0, 6.0  # of the grid [mm of paper]
DOT = 1.3
WORDS = (
    ("home", "goes home"),
    ("wedges", "wedged: stays when let go"),
    ("jams", "jams: stays while pushed"),
    ("escapes", "slides off"),
    ("unsettled", "does not come to rest"),
)


def home_view(record: Record) -> str | None:
    """SVG of the region of starts that go home, or None when nothing was walked."""
    home = record.homing
    if home is None or not home.starts:
        return None
    r = Reader(record.job.units)
    columns = sorted({s.offset for s in home.starts})
    rows = sorted({s.turn for s in home.starts}, reverse=True)
    ink = Ink(SIDE + CELL * len(columns) + KEY, HEAD + ROW * len(rows) + 12.0, "Going home by itself")
    title = f"Starts from which the part goes home by itself, friction {home.friction:g}"
    ink.text((1.0, 2.4), title, size=PLAIN, bold=True, anchor="start")
    for s in home.starts:
        at = (SIDE + CELL * (columns.index(s.offset) + 0.5), HEAD + ROW * (rows.index(s.turn) + 0.5))
        _cell(ink, s, at)
    for i, offset in enumerate(columns):
        place = (SIDE + CELL * (i + 0.5), HEAD + ROW * len(rows) + 2.6)
        ink.text(place, r.place(offset, unit=False), size=SMALL)
    for j, turn in enumerate(rows):
        ink.text(
            (SIDE - 1.2, HEAD + ROW * (j + 0.5)), r.value(turn, "rad", digits=1), size=SMALL, anchor="end"
        )
    along = "off the stop" if any(s.offset < 0 for s in home.starts) is False else "along the jaws"
    words = f"left to right: {along}, {r.place(columns[0], unit=False)} to {r.place(columns[-1])}; up: turned"
    ink.text((1.0, HEAD + ROW * len(rows) + 6.4), words, size=SMALL, anchor="start", color=QUIET)
    advice = f"By hand: {home.advice}." if home.advice else "No help by hand is needed."
    ink.text((1.0, HEAD + ROW * len(rows) + 10.0), advice, size=SMALL, bold=True, anchor="start")
    _key(ink, {s.end for s in home.starts}, SIDE + CELL * len(columns) + 4.0)
    return ink.svg()


def _cell(ink: Ink, start: Start, at: tuple[float, float]) -> None:
    x, y = at
    if start.end == "home":
        ink.add("ground", f'<rect x="{num(x - CELL / 2)}" y="{num(y - ROW / 2)}" width="{num(CELL)}" '
                f'height="{num(ROW)}" fill="{HOME}"/>')  # fmt: skip
    _mark(ink, start.end, at)


def _mark(ink: Ink, end: str, at: tuple[float, float]) -> None:
    """Filled circle home, open square wedged, cross jammed, open circle lost."""
    x, y = at
    line = f'fill="none" stroke="{INK}" stroke-width="{FINE}"'
    if end == "home":
        ink.add("mark", f'<circle cx="{num(x)}" cy="{num(y)}" r="{num(DOT)}" fill="{INK}"/>')
    elif end == "wedges":
        ink.add("mark", f'<rect x="{num(x - DOT)}" y="{num(y - DOT)}" width="{num(2 * DOT)}" '
                f'height="{num(2 * DOT)}" {line}/>')  # fmt: skip
    elif end == "jams":
        for a, b in (((x - DOT, y - DOT), (x + DOT, y + DOT)), ((x - DOT, y + DOT), (x + DOT, y - DOT))):
            ink.paper_line(a, b, "mark", pen(THICK))
    else:
        ink.add("mark", f'<circle cx="{num(x)}" cy="{num(y)}" r="{num(DOT)}" {line}/>')


def _key(ink: Ink, ends: set[str], left: float) -> None:
    y = HEAD + ROW / 2
    for end, words in WORDS:
        if end in ends:
            _mark(ink, end, (left + DOT, y))
            ink.text((left + 2 * DOT + 1.5, y), words, size=SMALL, anchor="start")
            y += 5.0
