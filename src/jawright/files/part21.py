"""Statements of an exchange file in the clear text encoding of ISO 10303-21.

The text is split into statements first; the arguments of a statement are read only when
asked for, because a file has tens of thousands of statements and few of them matter.
"""

from __future__ import annotations

import re
from dataclasses import dataclass

from jawright.errors import JawrightError
from jawright.files import limits

FIRST, LAST = "ISO-10303-21;", "END-ISO-10303-21;"
_ADVICE = "export the part as STEP from the program it was drawn in"


@dataclass(frozen=True, slots=True)
class Ref:
    """A reference to another statement: its entity number."""

    id: int


@dataclass(frozen=True, slots=True)
class Enum:
    """An enumeration or logical value, without its dots: ``MILLI``, ``T``."""

    word: str


@dataclass(frozen=True, slots=True)
class Typed:
    """A value with its type written before it: ``LENGTH_MEASURE(0.1)``."""

    type: str
    value: Value


Value = Ref | Enum | Typed | str | float | int | None | tuple["Value", ...]
"""An argument; ``None`` stands for ``$`` (not given) and for ``*`` (derived)."""


@dataclass(frozen=True, slots=True)
class Statement:
    """One entity of the file: its type, or its several types when complex, each with its raw arguments."""

    id: int
    raw: tuple[tuple[str, str], ...]
    types: tuple[str, ...]

    @property
    def type(self) -> str:
        """Its type when it is simple, else all of its types joined by ``+``."""
        return "+".join(self.types)

    def args(self, type_name: str = "") -> tuple[Value, ...]:
        """Arguments of the statement, or of its part ``type_name``; empty when it has no such part."""
        for name, text in self.raw:
            if type_name in ("", name):
                return arguments(text)
        return ()


_COMMENT = re.compile(r"('[^']*')|/\*.*?\*/", re.S)
_STATEMENT = re.compile(r"#(\d+)\s*+=\s*+((?:[^';]++|'[^']*+')*+);")
_TOKEN = re.compile(
    r"\s*(?:(?P<string>'(?:[^']|'')*')|#(?P<ref>\d+)|\.(?P<enum>[A-Za-z_0-9]+)\.|(?P<type>[A-Za-z_!][\w]*)"
    r'|(?P<number>[-+]?\d+\.?\d*(?:[Ee][-+]?\d+)?|[-+]?\.\d+(?:[Ee][-+]?\d+)?)|(?P<mark>[(),$*])|(?P<binary>"[^"]*"))'
)


def frame(text: str, where: str) -> None:
    """Check the first and last record and the sections between (ISO 10303-21, clause 5).

    Raises ``file-empty``, ``file-not-step``, or ``file-broken`` for a file that stops in the middle.
    """
    if not text.strip("\ufeff \t\r\n\0"):
        raise JawrightError("file-empty", what="the file is empty", where=where, todo=_ADVICE)
    if not text.lstrip("\ufeff \t\r\n").startswith(FIRST):
        raise JawrightError(
            "file-not-step",
            what=f"the file is not a STEP file: its first record is not {FIRST}",
            where=where,
            todo=_ADVICE,
        )
    if LAST not in text[-2000:]:
        raise JawrightError(
            "file-broken",
            what=f"the file is cut off: its last record {LAST} is missing",
            where=where,
            todo="copy or export it again",
        )
    for word in ("HEADER;", "FILE_DESCRIPTION", "FILE_NAME", "FILE_SCHEMA", "DATA"):
        if word not in text:
            what = f"the file has no {word.rstrip(';')}"
            raise JawrightError("file-broken", what=what, where=where, todo=_ADVICE)


def schema(text: str) -> str:
    """Name of the schema the file says it follows."""
    found = re.search(r"FILE_SCHEMA\s*\(\s*\(\s*'([^']*)'", text)
    return found.group(1).strip() if found else ""


def statements(text: str) -> dict[int, Statement]:
    """All entities of the data sections, by entity number, in the order of the file.

    Raises ``file-broken`` when there are too many or when two have the same number.
    """
    if "/*" in text:
        text = _COMMENT.sub(lambda m: m.group(1) or " ", text)
    start = text.find("DATA")
    out: dict[int, Statement] = {}
    for found in _STATEMENT.finditer(text, max(start, 0)):
        number = int(found.group(1))
        if number in out:
            raise JawrightError("file-broken", what=f"two statements of the file have the number #{number}")
        raw = _records(found.group(2))
        out[number] = Statement(number, raw, tuple(t for t, _ in raw))
        if len(out) > limits.STATEMENTS:
            raise JawrightError(
                "file-too-large", what=f"the file has more than {limits.STATEMENTS} statements"
            )
    return out


_SIMPLE = re.compile(r"([A-Za-z_!]\w*)\s*\((.*)\)\s*$", re.S)
_PART = re.compile(r"\s*([A-Za-z_!]\w*)\s*\(")


def _records(text: str) -> tuple[tuple[str, str], ...]:
    """``NAME(args)`` or the parts of ``(A(..)B(..))``, arguments not read yet."""
    text = text.strip()
    if not text.startswith("("):
        found = _SIMPLE.match(text)
        return ((found.group(1).upper(), found.group(2)),) if found else ()
    out = []
    at = 1
    while (part := _PART.match(text, at)) is not None:
        end = _closing(text, part.end())
        out.append((part.group(1).upper(), text[part.end() : end]))
        at = end + 1
    return tuple(out)


DEEPEST = 50
"""Lists that may stand in one another: the schemas need less than ten."""
_LEVEL = re.compile(r"'[^']*'|[()]")


def _closing(text: str, start: int) -> int:
    """Place of the parenthesis that closes the one before ``start``."""
    depth = 1
    for found in _LEVEL.finditer(text, start):
        mark = found.group()
        depth += (mark == "(") - (mark == ")")
        if depth == 0:
            return found.start()
    return len(text)


def arguments(text: str) -> tuple[Value, ...]:
    """The arguments in a text between parentheses. Raises ``file-broken`` for what is none."""
    stack: list[tuple[str, list[Value]]] = [("", [])]
    name = ""  # of a typed value whose parenthesis comes next
    at = 0
    text = text.rstrip()
    while at < len(text):
        found = _TOKEN.match(text, at)
        if found is None:
            raise JawrightError("file-broken", what=f"a statement cannot be read at {text[at : at + 20]!r}")
        at = found.end()
        kind, word = found.lastgroup or "", found.group().strip()
        if kind == "type":
            name = word.upper()
        elif word == "(":
            if len(stack) > DEEPEST:
                raise JawrightError(
                    "file-broken",
                    what=f"a statement of the file has more than {DEEPEST} lists in one another",
                )
            stack.append((name, []))
            name = ""
        elif word == ")":
            if len(stack) == 1:
                raise JawrightError("file-broken", what="a statement of the file has unequal parentheses")
            typed, items = stack.pop()
            inside: Value = items[0] if len(items) == 1 else tuple(items)
            stack[-1][1].append(Typed(typed, inside) if typed else tuple(items))
        elif word != ",":
            stack[-1][1].append(_value(kind, word))
    if len(stack) != 1:
        raise JawrightError("file-broken", what="a statement of the file has unequal parentheses")
    return tuple(stack[0][1])


def _value(kind: str, word: str) -> Value:
    if kind == "string":
        return plain(word[1:-1].replace("''", "'"))
    if kind == "ref":
        return Ref(int(word[1:]))
    if kind == "enum":
        return Enum(word.strip(".").upper())
    if kind == "number":
        return float(word) if any(c in word for c in ".eE") else int(word)
    return None  # $, * and binary


_CODES = re.compile(
    r"\\X2\\([0-9A-F]*)\\X0\\|\\X4\\([0-9A-F]*)\\X0\\|\\X\\([0-9A-F]{2})|\\S\\(.)|\\P[A-I]\\|\\\\"
)


def plain(text: str) -> str:
    """A string with its coded letters read (ISO 10303-21, clause 6.4.3)."""

    def letter(found: re.Match[str]) -> str:
        two, four, one, shifted = found.groups()
        try:
            if two is not None:
                return bytes.fromhex(two).decode("utf-16-be", "replace")
            if four is not None:
                return bytes.fromhex(four).decode("utf-32-be", "replace")
        except ValueError:
            return "\ufffd"
        if one is not None:
            return chr(int(one, 16))
        if shifted is not None:
            return chr((ord(shifted) + 128) % 0x110000)
        return "\\" if found.group() == "\\\\" else ""

    return _CODES.sub(letter, text) if "\\" in text else text
