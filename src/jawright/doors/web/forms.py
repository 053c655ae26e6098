"""Fields of a form, made from the same declarations that read the file."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from jawright import handbook, units
from jawright.doors.web import edit
from jawright.files.schema import Key, Section

NAMES = {"id": "ID", "nc": "NC", "x": "X", "y": "Y", "z": "Z"}


@dataclass(frozen=True, slots=True)
class Field:
    """One field: what is asked, in which form, and what stands in when it is left empty."""

    name: str  # as the form sends it
    label: str
    help: str
    form: str  # "text", "lines", "words", "flag", "three", "number"
    values: tuple[str, ...]
    words: tuple[str, ...] = ()
    stand_in: str = ""
    unit: str = ""
    required: bool = False
    parts: tuple[str, ...] = ()  # labels of the three boxes
    problem: str = ""
    todo: str = ""


def label_of(key: Key) -> str:
    """The key's name as words: "jaw_width" is Jaw width."""
    words = [NAMES.get(w, w) for w in key.name.split("_")]
    text = " ".join(words)
    return text[:1].upper() + text[1:]


HELP = {
    ("hold", "up"): "The direction of the part that ends up on top",
    (
        "vise",
        "torque_table",
    ): "Measured torque and force, a pair a line: 20 N·m = 6 kN; replaces the formula",
    ("tolerance", "datums"): "Letters in their order: A, B, C",
    ("tolerance", "feature"): "What it is asked of, by its name above",
    (
        "job",
        "features",
    ): "Named: what is ticked and added; reachable: besides, all that is reached from the top "
    "and that the part does not have yet as it comes",
    ("hold", "vise"): "A vise of the shop",
    ("hold", "blank"): "A jaw blank of the shop",
    ("hold", "spacers"): "Parallels the spacer stack is made of, risers included, one a line",
    ("hold", "jaw_cutter"): "The shop's cutter that finishes the pocket",
    ("hold", "jaw_material"): "Material of the jaw blanks",
    ("feature", "cutter"): "A cutter of the shop",
    ("datum", "at"): "A point on the face, as the part is drawn",
    ("vise", "id"): "Name used in jobs and on papers",
    ("cutter", "id"): "Name used in jobs and on papers",
    ("in_line", "vise"): "One of the vises",
    ("blank", "price"): "Of one blank, in the currency of the rates",
}
"""Help where the file's own speaks of how the file is written."""


def help_of(section: Section, key: Key) -> str:
    """What the page says beside a field."""
    text = HELP.get((section.name, key.name), key.help)
    return text[:1].upper() + text[1:]


def fields(
    section: Section,
    row: Mapping[str, Any],
    *,
    system: units.System,
    prefix: str = "",
    only: tuple[str, ...] = (),
    choices: Mapping[str, tuple[str, ...]] | None = None,
) -> tuple[Field, ...]:
    """The fields of one table; ``choices`` are the words of keys whose answers the shop or handbook knows."""
    keys = [k for k in section.keys if not only or k.name in only]
    if only:
        keys.sort(key=lambda k: only.index(k.name))
    known = choices or {}
    return tuple(
        _field(section, k, row, system=system, prefix=prefix, choices=known.get(k.name, ())) for k in keys
    )


def _field(
    section: Section,
    key: Key,
    row: Mapping[str, Any],
    *,
    system: units.System,
    prefix: str,
    choices: tuple[str, ...],
) -> Field:
    kind = key.band or ("length" if key.kind == "point" else key.kind)
    unit = units.read_unit(kind, system) if kind in units.KINDS else ""
    form, words = "text", choices or key.words
    if key.kind == "flag":
        form, words = "flag", ("true", "false")
    elif words:
        form = "words"
    elif key.kind in ("point", "band"):
        form = "three"
    elif key.kind in ("texts", "pairs"):
        form = "lines"
    elif key.kind in ("integer", "number"):
        form = "number"
    stands = _stands_in(section, key, system)
    values = tuple(edit.shown(key, row.get(key.name), system))
    if form == "words" and values[0] and values[0] not in words:
        words = (values[0], *words)
    return Field(
        name=f"{prefix}{key.name}",
        label=label_of(key),
        help=help_of(section, key),
        form=form,
        values=values,
        words=words,
        stand_in=key.default or (", ".join(filter(None, stands)) if form != "three" else " / ".join(stands)),
        unit=unit,
        required=key.required,
        parts=("X", "Y", "Z") if key.kind == "point" else ("low", "set", "high") if form == "three" else (),
    )


def _stands_in(section: Section, key: Key, system: units.System) -> tuple[str, ...]:
    """The default of a key as its basis table has it, in the reader's unit; nothing where a rule decides."""
    row = handbook.table("defaults").get(section.name, {}).get(key.name, {})
    return tuple(edit.shown(key, row["value"], system)) if "value" in row else ()
