"""Lines of word-address text to words and values, with line and column.

Source: NISTIR 6556 (17 August 2000), section 3.3 and appendix C.2: format of a line,
numbers, parameters, expressions, comments. What is not explicitly allowed there is
refused by column.

Lengths in mm, feeds in mm/min, speeds in rev/min.
"""

from __future__ import annotations

import math
import re
import tomllib
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from importlib.resources import files
from typing import Any


def _load(name: str) -> dict[str, Any]:
    return tomllib.loads(files("jawright.data").joinpath(name).read_text(encoding="utf-8"))


STANDARD = _load("nc_standard.toml")
LIMITS = _load("verify_limits.toml")
GROUP_OF: dict[str, str] = {
    code: group
    for table in ("g_groups", "m_groups")
    for group, codes in STANDARD[table].items()
    for code in codes
}
_DIGITS = frozenset("0123456789")
_NUMBER_DIGITS = 5  # 3.3.3: a line number has one to five digits
_NEAR: float = STANDARD["near_integer"]


class RefusedError(Exception):
    """A place in a line that the standard does not allow, or that this reader will not run."""

    def __init__(self, column: int, what: str) -> None:
        super().__init__(what)
        self.column = column
        self.what = what


@dataclass(frozen=True, slots=True)
class Word:
    """A letter and its value. ``pointless``: a plain number written without a decimal point."""

    letter: str
    value: float
    column: int  # 1-based
    pointless: bool = False

    @property
    def code(self) -> str:
        """``G1``, ``G59.1``, ``M6``: how tables name a G or M word."""
        tenths = round(self.value * 10)
        if abs(self.value * 10 - tenths) > 10 * _NEAR:
            raise RefusedError(self.column, f"{self.letter}{self.value:g} is not a code")
        whole, part = divmod(tenths, 10)
        return f"{self.letter}{whole}" + (f".{part}" if part else "")


@dataclass(frozen=True, slots=True)
class Block:
    """One line, read but not yet run."""

    line: int
    deleted: bool  # starts with the block delete character
    number: int | None
    words: tuple[Word, ...]
    settings: tuple[tuple[int, float], ...]
    comments: tuple[str, ...]

    @property
    def empty(self) -> bool:
        """Whether the line says nothing."""
        return not self.words and not self.settings


def whole(word: Word) -> int:
    """The value of a word that must be a whole number (within 0.0001, 3.3.2.1)."""
    n = round(word.value)
    if abs(word.value - n) > _NEAR:
        raise RefusedError(word.column, f"{word.letter}{word.value:g} must be a whole number")
    return n


def read_line(text: str, line: int, parameters: Mapping[int, float]) -> Block:
    """Read one line.

    Parameters
    ----------
    text : the line without its end.
    line : its number in the file, 1-based.
    parameters : values of the numbered parameters; those not listed are 0.

    Raises
    ------
    RefusedError : with the column of the first character that is not allowed.
    """
    if len(text) > STANDARD["line_length_max"]:
        raise RefusedError(
            STANDARD["line_length_max"] + 1,
            f"the line is longer than {STANDARD['line_length_max']} characters",
        )
    return _plain(text, line) or _Line(text, line, parameters).block()


_WORD = re.compile(r"[ \t]*([A-Za-z])[ \t]*([+-]?(?:[0-9]+\.?[0-9]*|\.[0-9]+))[ \t]*")


def _plain(text: str, line: int) -> Block | None:
    """A line of nothing but words with plain numbers, read at a stroke; None for every other line."""
    words: list[Word] = []
    number: int | None = None
    at = 0
    while at < len(text):
        m = _WORD.match(text, at)
        if m is None:
            return None
        at = m.end()
        letter, digits = m.group(1).upper(), m.group(2)
        if letter == "N" and m.start() == 0 and digits.isdigit() and len(digits) <= _NUMBER_DIGITS:
            number = int(digits)
            continue
        if letter not in STANDARD["letters"] or letter == "N":
            return None  # refused where lines are read with care
        words.append(Word(letter, float(digits), m.start(1) + 1, pointless=digits.lstrip("+-").isdigit()))
    _check_repeats(words)
    return Block(line, False, number, tuple(words), (), ())


class _Line:
    def __init__(self, text: str, line: int, parameters: Mapping[int, float]) -> None:
        self.line = line
        self.parameters = parameters
        self.comments: list[str] = []
        self.chars: list[tuple[str, int]] = []
        self._strip(text)
        self.at = 0

    def _strip(self, text: str) -> None:
        """Take out white space; keep a comment as one mark, so that it may not stand inside a word."""
        i = 0
        while i < len(text):
            ch = text[i]
            if ch == "(":
                end = text.find(")", i)
                inner = text.find("(", i + 1)
                if end < 0:
                    raise RefusedError(i + 1, "the comment is not closed on its line")
                if 0 <= inner < end:
                    raise RefusedError(inner + 1, "a comment stands inside a comment")
                self.comments.append(text[i + 1 : end])
                self.chars.append(("(", i + 1))
                i = end + 1
                continue
            if ch not in " \t":
                self.chars.append((ch.upper(), i + 1))
            i += 1

    def peek(self, offset: int = 0) -> str:
        k = self.at + offset
        return self.chars[k][0] if k < len(self.chars) else ""

    def column(self) -> int:
        if self.at < len(self.chars):
            return self.chars[self.at][1]
        return self.chars[-1][1] + 1 if self.chars else 1

    def take(self, expected: str) -> None:
        if self.peek() != expected:
            found = f"'{self.peek()}'" if self.peek() else "the end of the line"
            raise RefusedError(self.column(), f"expected '{expected}', found {found}")
        self.at += 1

    def block(self) -> Block:
        deleted = self.peek() == "/"
        if deleted:
            self.at += 1
        number = self._line_number()
        words: list[Word] = []
        settings: list[tuple[int, float]] = []
        while self.peek():
            if self.peek() == "(":
                self.at += 1
            elif self.peek() == "#":
                settings.append(self._setting())
            else:
                words.append(self._word())
        _check_repeats(words)
        return Block(self.line, deleted, number, tuple(words), tuple(settings), tuple(self.comments))

    def _line_number(self) -> int | None:
        if self.peek() != "N":
            return None
        self.at += 1
        column, digits = self.column(), ""
        while self.peek() in _DIGITS:
            digits += self.peek()
            self.at += 1
        if not 1 <= len(digits) <= _NUMBER_DIGITS:
            raise RefusedError(column, "a line number has one to five digits")
        return int(digits)

    def _setting(self) -> tuple[int, float]:
        index = self._index()
        self.take("=")
        return index, self._real()

    def _word(self) -> Word:
        letter, column = self.peek(), self.column()
        if letter not in STANDARD["letters"]:
            raise RefusedError(column, f"'{letter}' does not start a word")
        if letter == "N":
            raise RefusedError(column, "a line number stands only at the start of a line")
        self.at += 1
        start = self.at
        value = self._real()
        text = "".join(c for c, _ in self.chars[start : self.at])
        return Word(letter, value, column, pointless=text.lstrip("+-").isdigit())

    def _real(self) -> float:
        ch, column = self.peek(), self.column()
        if ch == "[":
            return _finite(self._expression(), column)
        if ch == "#":
            return self.parameters.get(self._index(), 0.0)
        if ch.isalpha():
            return _finite(self._unary(), column)
        return self._number()

    def _number(self) -> float:
        column, text = self.column(), ""
        if self.peek() in ("+", "-"):
            text += self.peek()
            self.at += 1
        while self.peek() in _DIGITS or (self.peek() == "." and "." not in text):
            text += self.peek()
            self.at += 1
        if not any(c in _DIGITS for c in text):
            raise RefusedError(column, "a number is missing")
        return float(text)

    def _index(self) -> int:
        self.take("#")
        column = self.column()
        value = self._real()
        n = round(value)
        if abs(value - n) > _NEAR or not 1 <= n <= STANDARD["parameter_max"]:
            raise RefusedError(
                column, f"{value:g} is not the number of a parameter (1 to {STANDARD['parameter_max']})"
            )
        return n

    def _name(self) -> str:
        name = ""
        while self.peek().isalpha():
            name += self.peek()
            self.at += 1
        return name

    def _unary(self) -> float:
        column = self.column()
        name = self._name()
        if name == "ATAN":
            a = self._expression()
            self.take("/")
            return math.degrees(math.atan2(a, self._expression()))
        if name not in _UNARY:
            raise RefusedError(column, f"'{name}' is not a function")
        value = self._expression()
        try:
            return _UNARY[name](value)
        except (ValueError, OverflowError):
            raise RefusedError(column, f"{name} has no value at {value:g}") from None

    def _expression(self) -> float:
        self.take("[")
        value = self._chain(2)
        self.take("]")
        return value

    def _chain(self, rank: int) -> float:
        """Operations of one rank from the left; rank 0 (power) binds tightest (3.3.2.3)."""
        left = self._chain(rank - 1) if rank else self._real()
        while True:
            column = self.column()
            op = self._operator(rank)
            if op is None:
                return left
            right = self._chain(rank - 1) if rank else self._real()
            try:
                left = _BINARY[rank][op](left, right)
            except (ValueError, OverflowError, ZeroDivisionError):
                raise RefusedError(column, f"{left:g} {op} {right:g} has no value") from None

    def _operator(self, rank: int) -> str | None:
        for op in sorted(_BINARY[rank], key=len, reverse=True):
            if all(self.peek(i) == c for i, c in enumerate(op)):
                if op == "*" and self.peek(1) == "*":
                    continue
                self.at += len(op)
                return op
        return None


def _finite(value: float, column: int) -> float:
    if not math.isfinite(value):
        raise RefusedError(column, "the value is not finite")
    return value


def _check_repeats(words: list[Word]) -> None:
    """Two words of one modal group, two of one letter, or too many M words: an error (3.3.5, table 4)."""
    groups: dict[str, Word] = {}
    letters: set[str] = set()
    for w in words:
        if w.letter in "GM":
            group = GROUP_OF.get(w.code)
            if group is None:
                raise RefusedError(w.column, f"{w.code} is not a code of the standard")
            if group in groups:
                raise RefusedError(
                    w.column, f"{groups[group].code} and {w.code} are of one modal group ({group})"
                )
            groups[group] = w
        elif w.letter in letters:
            raise RefusedError(w.column, f"two {w.letter} words on one line")
        letters.add(w.letter)
    if sum(w.letter == "M" for w in words) > STANDARD["m_words_max"]:
        raise RefusedError(words[-1].column, f"more than {STANDARD['m_words_max']} M words on one line")


def _modulo(a: float, b: float) -> float:
    r = math.fmod(a, b)
    return r + abs(b) if r < 0 else r


_UNARY: dict[str, Callable[[float], float]] = {
    "ABS": abs,
    "ACOS": lambda v: math.degrees(math.acos(v)),
    "ASIN": lambda v: math.degrees(math.asin(v)),
    "COS": lambda v: math.cos(math.radians(v)),
    "EXP": math.exp,
    "FIX": lambda v: float(math.floor(v)),
    "FUP": lambda v: float(math.ceil(v)),
    "LN": math.log,
    "ROUND": lambda v: float(math.floor(abs(v) + 0.5)) * (1 if v >= 0 else -1),
    "SIN": lambda v: math.sin(math.radians(v)),
    "SQRT": math.sqrt,
    "TAN": lambda v: math.tan(math.radians(v)),
}
_BINARY: tuple[dict[str, Callable[[float, float], float]], ...] = (
    {"**": math.pow},
    {"*": lambda a, b: a * b, "/": lambda a, b: a / b, "MOD": _modulo},
    {
        "+": lambda a, b: a + b,
        "-": lambda a, b: a - b,
        "OR": lambda a, b: float(a != 0 or b != 0),
        "XOR": lambda a, b: float((a != 0) != (b != 0)),
        "AND": lambda a, b: float(a != 0 and b != 0),
    },
)
