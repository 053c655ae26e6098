"""What stands in when a shop file leaves a key out, each with its basis (data/defaults.toml)."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field, replace
from functools import cache
from pathlib import Path
from typing import Any

from jawright import handbook, units
from jawright.files.schema import Figures, Key, Row, Section
from jawright.files.toml import Document
from jawright.shop.model import Band3

Rule = Callable[[Row], Any]


@cache
def fixed(section: Section) -> Row:
    """The defaults of a section that are plain values, read through the section's own keys."""
    table: dict[str, Any] = handbook.table("defaults").get(section.name, {})
    data = {name: row["value"] for name, row in table.items() if "value" in row}
    doc = Document("defaults.toml", Path("defaults.toml"), data, "", {})
    optional = replace(section, keys=tuple(replace(k, required=False) for k in section.keys))
    return Row(doc, optional, data, place=(section.name,), plain="")


def basis(section: str, key: str) -> str:
    """Why the default of a key is what it is."""
    text: str = handbook.table("defaults")[section][key]["basis"]
    return text


@dataclass(frozen=True, slots=True)
class Used:
    """One default that stands in: ``key`` of the row ``id`` of ``section``."""

    section: str
    id: str
    key: str
    value: str


def sentences(used: list[Used]) -> tuple[str, ...]:
    """The defaults used as text, those alike of several rows in one line, in the order they came."""
    groups: dict[tuple[str, str, str], list[str]] = {}
    for u in used:
        groups.setdefault((u.section, u.key, u.value), []).append(u.id)
    said = []
    for (section, key, value), ids in groups.items():
        who = " ".join(filter(None, [section, ", ".join(filter(None, ids))]))
        said.append(f"{who} {key}: {value} ({basis(section, key)})")
    return tuple(said)


@dataclass
class Filler:
    """Reads one row of the shop file and fills what it leaves out, noting each default used.

    ``rules`` compute the defaults that depend on other keys of the same row.
    """

    row: Row
    rules: dict[str, Rule] = field(default_factory=dict)
    used: list[Used] = field(default_factory=list)

    def _source(self, name: str) -> Row:
        if name in self.row:
            return self.row
        stand_in = fixed(self.row.section)
        self.note(name, shown(stand_in, name))
        return stand_in

    def note(self, name: str, value: str) -> None:
        """Remember that a value was not given and which one stands in."""
        self.used.append(
            Used(self.row.section.name, self.row.text("id") if self.row.section.many else "", name, value)
        )

    def _rule(self, name: str) -> Any:
        value = self.rules[name](self.row)
        self.note(name, _said(_key(self.row.section, name), value))
        return value

    def real(self, name: str) -> float:
        """A number given or standing in, in the model's unit."""
        if name not in self.row and name in self.rules:
            return float(self._rule(name))
        return self._source(name).real(name)

    def whole(self, name: str) -> int:
        """A whole number given or standing in."""
        if name not in self.row and name in self.rules:
            return int(self._rule(name))
        return self._source(name).whole(name)

    def flag(self, name: str) -> bool:
        """Yes or no, given or standing in."""
        if name not in self.row and name in self.rules:
            return bool(self._rule(name))
        return self._source(name).flag(name)

    def text(self, name: str) -> str:
        """A text given or standing in."""
        if name not in self.row and name in self.rules:
            return str(self._rule(name))
        return self._source(name).text(name)

    def triple(self, name: str) -> Figures:
        """Low, set and high value given or standing in, in the model's unit."""
        value = self._source(name).triple(name)
        assert value is not None, name
        return value

    def band(self, name: str) -> Band3:
        """A band with its basis: the shop file, or the default's."""
        low, mid, high = self.triple(name)
        how = self.row.spread(name)
        stated = f"shop file: {how.basis or how.shape}" if how.shape else "shop file"
        why = stated if name in self.row else basis(self.row.section.name, name)
        return Band3(low, mid, high, why, how.shape, how.values)


def _key(section: Section, name: str) -> Key:
    return next(k for k in section.keys if k.name == name)


def _said(key: Key, value: Any) -> str:
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, str):
        return value
    kind = key.band or ("length" if key.kind == "point" else key.kind)
    if kind == "angle" and 0.0 < abs(value) < 0.01:  # plays are small: nobody reads thousandths of a degree
        return f"{units.convert(float(value), 'rad', 'mrad'):g} mrad"
    if kind in units.KINDS:
        number, unit = units.reading(float(value), kind)
        return f"{number:g} {unit}".strip()
    return f"{value:g}"


def shown(row: Row, name: str) -> str:
    """A value of a row as text with its unit, for notes and reference pages."""
    key = _key(row.section, name)
    match key.kind:
        case "text" | "word":
            return row.text(name)
        case "flag":
            return _said(key, row.flag(name))
        case "texts":
            return ", ".join(row.texts(name)) or "none"
        case "band" | "point":
            figures = row.triple(name)
            assert figures is not None
            return " / ".join(_said(key, v) for v in figures)
        case _:
            return _said(key, row.real(name))
