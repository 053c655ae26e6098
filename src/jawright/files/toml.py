"""Read TOML text to plain data, with limits, and remember the line of every key. No meaning attached."""

from __future__ import annotations

import hashlib
import re
import tomllib
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from jawright.errors import JawrightError

TOML_BYTES = 1_000_000
"""Largest TOML file that is read [bytes]: a hand-written file is a thousandth of it."""

# where a value sits: ("vise", 1, "lift") is the key "lift" of the second [[vise]]
Place = tuple[str | int, ...]

_HEADER = re.compile(r"^\s*(\[\[?)\s*([^\[\]]+?)\s*\]\]?\s*(?:#.*)?$")
_KEY = re.compile(r"""^\s*("[^"]*"|'[^']*'|[A-Za-z0-9_-]+)\s*(?:\.[^=]*)?=""")
_SYNTAX_LINE = re.compile(r"\(at line (\d+), column \d+\)")


@dataclass(frozen=True, slots=True)
class Document:
    """A TOML file as plain data; ``lines`` gives the line number of tables and keys."""

    name: str  # base name
    path: Path
    data: dict[str, Any]
    sha256: str
    lines: dict[Place, int] = field(repr=False)

    def where(self, *place: str | int) -> str:
        """ "job.toml:12: hold.grip_depth": the place for a message, as near as it is known."""
        line = next(
            (self.lines[place[:n]] for n in range(len(place), 0, -1) if place[:n] in self.lines), None
        )
        dotted = ""
        for p in place:
            dotted += f" {p + 1}" if isinstance(p, int) else f".{p}" if dotted else p
        head = self.name if line is None else f"{self.name}:{line}"
        return f"{head}: {dotted}" if dotted else head


def load(path: Path) -> Document:
    """Read a TOML file.

    Raises ``file-missing``, ``file-too-large``, ``file-empty`` and ``toml-syntax`` with the line.
    """
    try:
        if path.is_dir():
            raise JawrightError("file-missing", what="this is a folder, not a file", where=str(path))
        size = path.stat().st_size
        raw = path.read_bytes() if size <= TOML_BYTES else b""
    except OSError as error:
        reason = error.strerror or "cannot be read"
        raise JawrightError(
            "file-missing",
            what=f"the file cannot be read: {reason.lower()}",
            where=str(path),
            todo="check the name and the folder",
        ) from None
    if size > TOML_BYTES:
        raise JawrightError(
            "file-too-large", what=f"the file has {size} bytes, the limit is {TOML_BYTES}", where=path.name
        )
    if not raw.strip():
        raise JawrightError("file-empty", what="the file is empty", where=path.name)
    try:
        # Windows editors put a mark in front of UTF-8 text; TOML does not know it
        text = raw.decode("utf-8-sig").replace("\r\n", "\n")
        data = tomllib.loads(text)
    except UnicodeDecodeError as error:
        line = raw[: error.start].count(b"\n") + 1
        raise JawrightError(
            "toml-syntax",
            what="the file is not UTF-8 text",
            where=f"{path.name}:{line}",
            todo="save it as plain UTF-8 text",
        ) from None
    except (ValueError, RecursionError) as error:  # ValueError: syntax, or a number of thousands of digits
        raise _syntax(path.name, str(error)) from None
    return Document(path.name, path, data, hashlib.sha256(raw).hexdigest(), _positions(text))


def _syntax(name: str, message: str) -> JawrightError:
    hit = _SYNTAX_LINE.search(message)
    where = f"{name}:{hit[1]}" if hit else name
    what = _SYNTAX_LINE.sub("", message).strip().rstrip(".")
    return JawrightError(
        "toml-syntax",
        what=f"this is not valid TOML: {what[:1].lower()}{what[1:200]}",
        where=where,
        todo='text and values with a unit stand in quotes: grip_depth = "6 mm"',
    )


def _positions(text: str) -> dict[Place, int]:
    """Line numbers by place. Good for files as people write them: one key a line under its header."""
    lines: dict[Place, int] = {}
    counts: dict[Place, int] = {}
    table: Place = ()
    quote = ""
    for number, line in enumerate(text.split("\n"), 1):
        if quote:  # inside a text of several lines
            quote = "" if quote in line else quote
            continue
        header = _HEADER.match(line)
        if header:
            table = tuple(p.strip().strip("\"'") for p in header[2].split("."))
            if header[1] == "[[":
                counts[table] = counts.get(table, -1) + 1
                table = (*table, counts[table])
            lines.setdefault(table, number)
            continue
        key = _KEY.match(line)
        if key:
            lines.setdefault((*table, key[1].strip("\"'")), number)
            for q in ('"""', "'''"):
                if line.count(q) == 1:
                    quote = q
    return lines
