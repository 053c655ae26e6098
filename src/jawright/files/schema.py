"""Typed, documented keys of a TOML file: every value checked, every unit stated, unknown keys refused.

A key is declared once with its kind, its bounds and its help text; the reference pages print
the same declarations, so what is documented is what is read.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from typing import Any, NoReturn, cast

from jawright import units
from jawright.errors import JawrightError
from jawright.files.spread import SHAPES, Column, Rule, Shape, Spread, figures
from jawright.files.toml import Document, Place
from jawright.handbook import nearest

AXES: dict[str, tuple[float, float, float]] = {
    "+X": (1.0, 0.0, 0.0),
    "-X": (-1.0, 0.0, 0.0),
    "+Y": (0.0, 1.0, 0.0),
    "-Y": (0.0, -1.0, 0.0),
    "+Z": (0.0, 0.0, 1.0),
    "-Z": (0.0, 0.0, -1.0),
}

HUGE = 1e15  # no number of a shop is larger

PLAIN = ("text", "word", "integer", "number", "flag", "texts", "point", "direction", "pairs", "band")


@dataclass(frozen=True, slots=True)
class Key:
    """One key of a section.

    ``kind`` is one of ``PLAIN`` or a kind of ``units.KINDS``. ``above`` excludes its own value,
    ``least`` and ``most`` include theirs; all three are in the kind's inside unit. ``default``
    is the text shown in the reference when the key is absent; the reader supplies the value.
    For ``band``, ``band`` is the kind of its three figures; for ``pairs``, ``pair`` the two kinds.
    ``spread`` says what the number stands for where a distribution or a file of measurements may be given.
    """

    name: str
    kind: str
    help: str
    required: bool = False
    words: tuple[str, ...] = ()
    above: float | None = None
    least: float | None = None
    most: float | None = None
    default: str = ""
    band: str = ""
    pair: tuple[str, str] = ("", "")
    spread: Rule = ""

    def __post_init__(self) -> None:
        assert self.kind in PLAIN or self.kind in units.KINDS, self.kind


@dataclass(frozen=True, slots=True)
class Section:
    """A table of the file, "hold", or a list of tables, "vise", with its keys."""

    name: str
    help: str
    keys: tuple[Key, ...]
    many: bool = False


def spread_section(key: Key) -> Section:
    """The keys of the table that may stand in place of the plain number of ``key``."""
    kind, words = key.band or key.kind, () if key.spread == "rise" else SHAPES
    keys = (
        replace(key, name="value", required=False, spread=""),
        Key("distribution", "word", "how the value varies", words=words),
        Key("from", "text", "CSV file of measurements beside this file"),
        Key("column", "text", "its column, named in the first line"),
        Key("unit", "text", "unit of the column, where its name does not end in it"),
        Key("nominal", kind, "what was aimed at, where sizes were measured and not deviations"),
    )
    return Section(key.name, "How a number varies.", keys)


Figures = tuple[float, float, float]


class Row:
    """One table of the file with every value checked; values are in inside units.

    Raises on construction: ``key-unknown``, ``key-missing``, ``value-bad``, ``unit-missing``, ``unit-bad``.
    """

    def __init__(self, doc: Document, section: Section, data: object, *, place: Place, plain: str) -> None:
        self.doc, self.section, self.place = doc, section, place
        self._plain = plain  # unit of plain lengths, "" when the file states none
        self._values: dict[str, Any] = {}
        self._spreads: dict[str, Spread] = {}
        if not isinstance(data, dict):
            self._bad((), f"[{section.name}] must be a table with keys", "value-bad")
        names = [k.name for k in section.keys]
        for name in data:
            if name not in names:
                self._unknown(name, names)
        for key in section.keys:
            if key.name in data:
                self._values[key.name] = self._read(key, data[key.name])
            elif key.required:
                self._bad((), f'"{key.name}" is missing', "key-missing", f"add {key.name}: {key.help}")

    def __contains__(self, name: str) -> bool:
        return name in self._values

    @property
    def units(self) -> units.System:
        """What a plain length in this file is; "mm" where it states none."""
        return "inch" if self._plain == "in" else "mm"

    def where(self, name: str = "") -> str:
        """Place of the row or of one of its keys, for messages."""
        return self.doc.where(*self.place, *((name,) if name else ()))

    def text(self, name: str, default: str = "") -> str:
        """A text, or ``default``."""
        value = self._values.get(name, default)
        assert isinstance(value, str)
        return value

    def real(self, name: str, default: float | None = None) -> float:
        """A number in the model's unit of its quantity, or ``default``."""
        value = self._values.get(name, default)
        assert isinstance(value, (int, float)), name
        return float(value)

    def maybe(self, name: str) -> float | None:
        """A number in the model's unit of its quantity, None when it is not given."""
        return self.real(name) if name in self else None

    def whole(self, name: str, default: int | None = None) -> int:
        """A whole number, or ``default``."""
        value = self._values.get(name, default)
        assert isinstance(value, int), name
        return value

    def flag(self, name: str, default: bool | None = None) -> bool:
        """Yes or no, or ``default``."""
        value = self._values.get(name, default)
        assert isinstance(value, bool), name
        return value

    def flag_or_none(self, name: str) -> bool | None:
        """Yes or no, None when it is not given."""
        return self.flag(name) if name in self else None

    def texts(self, name: str) -> tuple[str, ...]:
        """A list of texts, empty when it is not given."""
        return tuple(self._values.get(name, ()))

    def triple(self, name: str) -> Figures | None:
        """A point [mm], a direction (unit vector) or the three figures of a band; None when absent."""
        value: Figures | None = self._values.get(name)
        return value

    def spread(self, name: str) -> Spread:
        """How the number varies, where the file says so."""
        return self._spreads.get(name, Spread())

    def pairs(self, name: str) -> tuple[tuple[float, float], ...]:
        """A list of number pairs in the model's units, empty when it is not given."""
        return tuple(self._values.get(name, ()))

    def refuse(self, name: str, what: str, todo: str = "") -> NoReturn:
        """Raise ``value-bad`` at one key of this row."""
        self._bad((name,) if name else (), what, "value-bad", todo)

    def _bad(self, tail: Place, what: str, code: str, todo: str = "") -> NoReturn:
        raise JawrightError(code, what=what, where=self.doc.where(*self.place, *tail), todo=todo)

    def _unknown(self, name: str, names: list[str]) -> NoReturn:
        near = nearest(name, names)
        hint = f'did you mean "{near}"? ' if near else ""
        self._bad(
            (name,),
            f'"{name}" is not a key of [{self.section.name}]',
            "key-unknown",
            f"{hint}known here: {', '.join(names)}",
        )

    def _read(self, key: Key, value: object) -> Any:
        if key.spread and isinstance(value, dict):
            return self._spread(key, value)
        match key.kind:
            case "text":
                return self._text(key, value)
            case "word":
                return self._word(key, value)
            case "integer":
                if isinstance(value, bool) or not isinstance(value, int) or abs(value) > HUGE:
                    self._kind(key, value, "a whole number")
                return self._within(key, value)
            case "number":
                return self._within(key, self._number(key, value, "a plain number"))
            case "flag":
                if not isinstance(value, bool):
                    self._kind(key, value, "true or false")
                return value
            case "texts":
                if not isinstance(value, list):
                    self._kind(key, value, 'a list of texts such as ["A", "B"]')
                return tuple(self._text(key, v) for v in value)
            case "point":
                return self._three(key, value, "length")
            case "direction":
                return self._direction(key, value)
            case "pairs":
                return self._pairs(key, value)
            case "band":
                return self._band(key, value)
            case _:
                return self._within(key, self._quantity(key, value, key.kind))

    def _kind(self, key: Key, value: object, wanted: str) -> NoReturn:
        shown = (
            f'"{value}"'
            if isinstance(value, str)
            else str(value).lower()
            if isinstance(value, bool)
            else value
        )
        self._bad((key.name,), f"{key.name} must be {wanted}, not {shown}"[:300], "value-bad")

    def _number(self, key: Key, value: object, wanted: str) -> float:
        if isinstance(value, bool) or not isinstance(value, (int, float)):
            self._kind(key, value, wanted)
        if not abs(value) <= HUGE:  # also refuses nan, inf and whole numbers that no float holds
            self._bad((key.name,), f"{key.name} is not a sensible number", "value-bad")
        return float(value)

    def _text(self, key: Key, value: object) -> str:
        if not isinstance(value, str) or not value.strip():
            self._kind(key, value, "text in quotes")
        if any(ord(c) < 32 or ord(c) == 127 for c in value.strip()):
            # names end up in comments of programs, where a line break would start a command
            self._bad((key.name,), f"{key.name} must be one line without control characters", "value-bad")
        if len(value) > 1000:
            self._bad((key.name,), f"{key.name} is longer than 1000 letters", "value-bad")
        return value.strip()

    def _word(self, key: Key, value: object) -> str:
        if not isinstance(value, str):
            self._kind(key, value, f"one of {', '.join(key.words)}")
        if value not in key.words:
            near = nearest(value, list(key.words))
            hint = f'did you mean "{near}"? ' if near else ""
            self._bad(
                (key.name,),
                f'"{value}" is not known as {key.name}',
                "value-bad",
                f"{hint}known: {', '.join(key.words)}",
            )
        return value

    def _quantity(self, key: Key, value: object, kind: str) -> float:
        where = self.where(key.name)
        if isinstance(value, str):
            return units.parse(value, kind, where=where)
        number = self._number(key, value, f'a {kind} with its unit such as "12.5 {units.INSIDE[kind]}"')
        if kind == "ratio":
            return number
        if kind == "length" and self._plain:
            return units.parse(f"{number!r} {self._plain}", "length", where=where)
        usual = "deg" if kind == "angle" else units.INSIDE[kind]  # nobody writes a turn in radians
        todo = f'write it as text with its unit, "{value} {usual}"'
        if kind == "length":
            todo += ', or state units = "mm" (or "inch") in the first line of the file'
        self._bad((key.name,), f"{key.name} = {value} has no unit", "unit-missing", todo)

    def _within(self, key: Key, value: float) -> float:
        def say(bound: float) -> str:
            unit = units.INSIDE.get(key.band or key.kind, "")
            if unit == "rad":
                return f"{math.degrees(bound):g} deg"
            return f"{bound:g} {unit}".strip()

        given = say(value)
        if key.above is not None and not value > key.above:
            self._bad((key.name,), f"{key.name} must be above {say(key.above)}, not {given}", "value-bad")
        if key.least is not None and not value >= key.least:
            self._bad((key.name,), f"{key.name} must be at least {say(key.least)}, not {given}", "value-bad")
        if key.most is not None and not value <= key.most:
            self._bad(
                (key.name,),
                f"{key.name} must be at most {say(key.most)}, not {given}",
                "value-bad",
                "check the unit: inch and millimeter are easily mixed up" if key.kind == "length" else "",
            )
        return value

    def _three(self, key: Key, value: object, kind: str) -> Figures:
        if not isinstance(value, list) or len(value) != 3:
            self._kind(key, value, "a list of three numbers [x, y, z]")
        a, b, c = (self._within(key, self._quantity(key, v, kind)) for v in value)
        return (a, b, c)

    def _direction(self, key: Key, value: object) -> Figures:
        if isinstance(value, str) and value in AXES:
            return AXES[value]
        if not isinstance(value, list) or len(value) != 3:
            self._kind(key, value, f"one of {', '.join(AXES)} or a list of three numbers")
        v = [self._number(key, x, "a list of three plain numbers") for x in value]
        n = math.hypot(*v)
        if n < 1e-9:
            self._bad((key.name,), f"{key.name} has no direction", "value-bad")
        return (v[0] / n, v[1] / n, v[2] / n)

    def _spread(self, key: Key, data: dict[str, Any]) -> Any:
        """A table in place of a number: one value with its distribution, or a column of measurements."""
        kind = key.band or key.kind
        row = Row(self.doc, spread_section(key), data, place=(*self.place, key.name), plain=self._plain)
        if "from" not in row:
            shape = row.text("distribution")
            if "value" not in row or shape not in SHAPES:
                row.refuse("", f"{key.name} needs a value and a distribution, or from and column")
            self._spreads[key.name] = Spread(cast("Shape", shape))
            return row.triple("value") if key.kind == "band" else row.real("value")
        if "value" in row or "distribution" in row or "column" not in row:
            row.refuse("from", "measurements come with from and column, and without a value")
        column = Column(row.text("from"), row.text("column"), row.text("unit"), kind, row.where("from"))
        spread = column.spread(self.doc.path.parent, key.spread, nominal=row.maybe("nominal"))
        self._spreads[key.name] = spread
        found = tuple(self._within(key, v) for v in figures(spread.values, key.spread))
        return found if key.kind == "band" else found[1]

    def _pairs(self, key: Key, value: object) -> tuple[tuple[float, float], ...]:
        if not isinstance(value, list):
            self._kind(key, value, "a list of pairs")
        found = []
        for pair in value:
            if not isinstance(pair, list) or len(pair) != 2:
                self._kind(key, pair, "a list of pairs, each in its own brackets")
            found.append(
                (self._quantity(key, pair[0], key.pair[0]), self._quantity(key, pair[1], key.pair[1]))
            )
        return tuple(found)

    def _band(self, key: Key, value: object) -> Figures:
        if isinstance(value, list):
            if len(value) != 3:
                self._kind(key, value, "one value, or a list of three: low, set, high")
            low, mid, high = (self._within(key, self._quantity(key, v, key.band)) for v in value)
        else:
            low = mid = high = self._within(key, self._quantity(key, value, key.band))
        if not low <= mid <= high:
            self._bad((key.name,), f"{key.name} must rise from low over set to high", "value-bad")
        return (low, mid, high)
