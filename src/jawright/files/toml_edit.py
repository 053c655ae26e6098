"""Change single values of a TOML file and leave everything else as it is written, comments included.

The edited text is read again and compared: it must differ from the old one in the asked keys alone,
else nothing is given back.
"""

from __future__ import annotations

import re
import tomllib
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from jawright.errors import JawrightError

HEAD = re.compile(r"^\s*\[(\[?)\s*([A-Za-z0-9_.-]+)\s*\]\]?\s*(#.*)?$")


@dataclass(frozen=True, slots=True)
class Edit:
    """One key to set: ``[section]``, or the ``[[section]]`` whose ``id`` is given; ``value`` as TOML text."""

    section: str
    key: str
    value: str
    id: str = ""
    note: str = ""  # a comment put above it


def edited(text: str, edits: Sequence[Edit], where: str) -> str:
    """The text with the keys set. Raises ``toml-syntax``, or ``file-write`` when it cannot be done safely."""
    before = _parse(text, where)
    out = text
    for e in edits:
        out = _set(out, e, where)
    after = _parse(out, where)
    want = before
    for e in edits:
        table = _table(want, e, where)
        table[e.key] = tomllib.loads(f"v = {e.value}")["v"]
    if after != want:
        raise _cannot("the file is written in a way that cannot be changed safely", where)
    return out


def _parse(text: str, where: str) -> dict[str, Any]:
    try:
        return tomllib.loads(text)
    except tomllib.TOMLDecodeError as e:
        raise JawrightError("toml-syntax", what=f"the file is not valid TOML ({e})", where=where) from None


def _cannot(what: str, where: str) -> JawrightError:
    return JawrightError(
        "file-write", what=what, where=where, todo="nothing was changed; set the values by hand"
    )


def _table(data: dict[str, Any], e: Edit, where: str) -> dict[str, Any]:
    found = data.get(e.section)
    if isinstance(found, list):
        found = next((t for t in found if t.get("id") == e.id), None)
    if found is None and not e.id:
        found = data.setdefault(e.section, {})
    if not isinstance(found, dict):
        raise _cannot(f'there is no [{e.section}] "{e.id}"', where)
    return found


def _set(text: str, e: Edit, where: str) -> str:
    lines = text.splitlines(keepends=True)
    end = "\r\n" if lines and lines[0].endswith("\r\n") else "\n"
    if lines and not lines[-1].endswith(("\n", "\r")):
        lines[-1] += end
    span = _section(lines, e)
    note = [f"# {e.note}{end}"] if e.note else []
    new = [*note, f"{e.key} = {e.value}{end}"]
    if span is None:
        if e.id:
            raise _cannot(f'there is no [[{e.section}]] "{e.id}" on its own lines', where)
        gap = [end] if lines and lines[-1].strip() else []
        return "".join([*lines, *gap, f"[{e.section}]{end}", *new])
    first, last = span
    for k in range(first, last):
        if re.match(rf"\s*{re.escape(e.key)}\s*=", lines[k]):
            stop = _value_end(lines, k, last)
            # an own note of an earlier time above it goes with the value it spoke of
            start = k - 1 if note and k > first and lines[k - 1].startswith("# measured: ") else k
            return "".join([*lines[:start], *new, *lines[stop:]])
    while last > first and not lines[last - 1].strip():
        last -= 1
    return "".join([*lines[:last], *new, *lines[last:]])


def _section(lines: Sequence[str], e: Edit) -> tuple[int, int] | None:
    """Lines [first, last) of the section's body."""
    heads = [(k, h.group(2), bool(h.group(1))) for k, line in enumerate(lines) if (h := HEAD.match(line))]
    for i, (k, name, many) in enumerate(heads):
        if name != e.section or many != bool(e.id):
            continue
        last = heads[i + 1][0] if i + 1 < len(heads) else len(lines)
        body = "".join(lines[k + 1 : last])
        if not e.id:
            return k + 1, last
        try:
            if tomllib.loads(body).get("id") == e.id:
                return k + 1, last
        except tomllib.TOMLDecodeError:
            continue
    return None


def _value_end(lines: Sequence[str], k: int, last: int) -> int:
    """First line after the value that begins on line ``k``: a list may go over several."""
    for stop in range(k + 1, last + 1):
        try:
            tomllib.loads("".join(lines[k:stop]))
        except tomllib.TOMLDecodeError:
            continue
        return stop
    return k + 1
