"""What can stand on a sheet: a few kinds of blocks that the PDF and the HTML writer both know.

A block holds finished words only; nothing is computed or converted while it is drawn.
"""

from __future__ import annotations

import re
from dataclasses import dataclass, fields, is_dataclass
from html import escape
from typing import Any, Literal

Level = Literal["", "pass", "caution", "fail", "unknown"]


@dataclass(frozen=True, slots=True)
class Fact:
    """One thing to know: its label, its value, and what it means for somebody new."""

    label: str
    value: str
    help: str = ""
    note: str = ""  # a second, smaller line: the window, the basis
    level: Level = ""


@dataclass(frozen=True, slots=True)
class Masthead:
    """Title strip of the first page."""

    number: str
    name: str
    facts: tuple[Fact, ...]
    code: str = ""  # SVG of a code that names the record, or nothing


@dataclass(frozen=True, slots=True)
class Banner:
    """A strip that cannot be overlooked."""

    level: Level
    title: str
    lines: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Tiles:
    """Few facts in large letters."""

    facts: tuple[Fact, ...]


@dataclass(frozen=True, slots=True)
class Facts:
    """Labels and values in rows."""

    title: str
    facts: tuple[Fact, ...]
    columns: int = 1


@dataclass(frozen=True, slots=True)
class Grid:
    """A table. ``shares`` are relative widths; ``right`` are columns set to the right."""

    title: str
    heads: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]
    shares: tuple[float, ...]
    right: tuple[int, ...] = ()
    note: str = ""
    verdicts: int = -1  # column that holds verdict words, -1 none
    fill_in: tuple[int, ...] = ()  # columns left empty for the pen


@dataclass(frozen=True, slots=True)
class Steps:
    """Numbered things to do, each with a box to tick."""

    title: str
    items: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Lines:
    """Plain sentences."""

    title: str
    items: tuple[str, ...]
    level: Level = ""


@dataclass(frozen=True, slots=True)
class Numbered:
    """Sentences that others refer to by number."""

    title: str
    items: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Picture:
    """A drawing; ``alt`` tells it to those who cannot see it."""

    name: str
    svg: str
    alt: str
    caption: str = ""


@dataclass(frozen=True, slots=True)
class Heading:
    """Title of a page."""

    text: str
    sub: str = ""


@dataclass(frozen=True, slots=True)
class Answer:
    """One of the six questions with what answers it."""

    ask: str
    word: str
    level: Level
    lines: tuple[Line, ...]


@dataclass(frozen=True, slots=True)
class Line:
    """One proof in words: numbers with units, and what would break it first."""

    name: str
    level: Level
    sentence: str
    numbers: tuple[Fact, ...]
    detail: tuple[Fact, ...]  # further numbers
    breaks: str  # the assumption that would break it first
    rest: tuple[str, ...]  # further assumptions
    supply: tuple[str, ...]
    model: str


@dataclass(frozen=True, slots=True)
class Pair:
    """Two columns; ``share`` of the width for the left one."""

    left: tuple[Block, ...]
    right: tuple[Block, ...]
    share: float = 0.5


@dataclass(frozen=True, slots=True)
class Break:
    """A new page."""


Block = (
    Masthead
    | Banner
    | Tiles
    | Facts
    | Grid
    | Steps
    | Lines
    | Numbered
    | Picture
    | Heading
    | Answer
    | Pair
    | Break
)


_CONTROL = re.compile("[\x00-\x08\x0b\x0c\x0e-\x1f\x7f\ufffe\uffff]")


def clean(text: str) -> str:
    """Text made harmless for SVG and HTML: markup escaped, what XML does not allow shown as a box."""
    return escape(_CONTROL.sub("\u25a1", text))


def plain(value: Any) -> Any:
    """A block as plain dictionaries and lists, its kind beside its fields."""
    if is_dataclass(value):
        out = {f.name: plain(getattr(value, f.name)) for f in fields(value)}
        return {"kind": type(value).__name__.lower(), **out}
    if isinstance(value, tuple):
        return [plain(v) for v in value]
    return value


def words_of(value: Any) -> list[str]:
    """Every word group a block shows, pictures and codes aside: what a rendering must hold."""
    if isinstance(value, str):
        return [value] if value else []
    if isinstance(value, tuple):
        return [w for v in value for w in words_of(v)]
    if is_dataclass(value):
        hidden = {"svg", "name", "alt"} if isinstance(value, Picture) else {"level", "code", "help"}
        return [w for f in fields(value) if f.name not in hidden for w in words_of(getattr(value, f.name))]
    return []
