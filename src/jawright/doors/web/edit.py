"""Change one answer of a job or shop file: text in, text out, checked by the very reader that plans.

An answer that is not given yet is no error here, as long as what is given can be read; the page
says what is still to be answered before a plan can start.
"""

from __future__ import annotations

import re
import secrets
import tomllib
from collections.abc import Callable, Iterator, Mapping
from contextlib import contextmanager
from pathlib import Path
from typing import Any, TypeVar

from jawright import units
from jawright.errors import JawrightError
from jawright.files.schema import Key, Section
from jawright.files.toml_out import dump
from jawright.job import schema as job_schema
from jawright.job.model import Job
from jawright.job.read import read_job
from jawright.shop import schema as shop_schema
from jawright.shop.model import Shop
from jawright.shop.read import read_shop

Data = dict[str, Any]
T = TypeVar("T")

STAND_IN = {("job", "quantity"): 1, ("part", "material"): "6061-T6"}
"""What is read in place of an answer not given yet; it is never planned with."""


def parse(text: str) -> Data:
    """The file as plain data. Raises ``toml-syntax``."""
    try:
        return tomllib.loads(text)
    except ValueError as e:
        raise JawrightError("toml-syntax", what=f"the file was changed and cannot be read: {e}") from None


# ---------------------------------------------------------------- checking


def draft_job(text: str, folder: Path) -> Job:
    """The job in a text, answers that are not given filled by a stand-in. Raises what ``read_job`` raises."""
    data = parse(text)
    for section, key in missing(data):
        table = data.setdefault(section, {})
        if isinstance(table, dict):
            table[key] = STAND_IN[section, key]
    with _beside(folder, dump(data)) as path:
        return _told(read_job, path, "job.toml")


def missing(data: Data) -> list[tuple[str, str]]:
    """Required answers that are not given: (section, key)."""
    return [(s, k) for s, k in STAND_IN if not (isinstance(data.get(s), dict) and k in data[s])]


def check_shop(text: str, folder: Path) -> Shop:
    """The shop in a text. Raises what ``read_shop`` raises."""
    with _beside(folder, text) as path:
        return _told(read_shop, path, "shop.toml")


@contextmanager
def _beside(folder: Path, text: str) -> Iterator[Path]:
    """The text as a file in a folder for as long as it is read: part files are named from there."""
    path = folder / f".{secrets.token_hex(6)}.toml"
    path.write_text(text, encoding="utf-8")
    try:
        yield path
    finally:
        path.unlink(missing_ok=True)


def _told(read: Callable[[Path], T], path: Path, name: str) -> T:
    """The error speaks of the file the user knows, and leaves out lines of a file that was never kept."""
    try:
        return read(path)
    except JawrightError as e:
        where = re.sub(rf"{re.escape(path.name)}(:\d+)?(: )?", "", e.where)
        raise JawrightError(e.code, what=e.what, where=where or name, todo=e.todo) from None


# ---------------------------------------------------------------- changing


def section_of(name: str, sections: tuple[Section, ...]) -> Section:
    """The section called ``name``. Raises ``key-unknown``."""
    for section in sections:
        if section.name == name:
            return section
    raise JawrightError("key-unknown", what=f'"{name}" is not a section of this file')


def key_of(section: Section, name: str) -> Key:
    """The key called ``name``. Raises ``key-unknown``."""
    for key in section.keys:
        if key.name == name:
            return key
    raise JawrightError("key-unknown", what=f'"{name}" is not a key of [{section.name}]')


def put_values(
    row: Data,
    section: Section,
    given: Mapping[str, list[str]],
    system: units.System,
    was: Mapping[str, list[str]] | None = None,
) -> None:
    """Put what a form sent into one table of the file; an empty answer takes the key out.

    ``given`` holds the texts of each key: one, or three for a point or a band. A text that says
    what the file says already, in the reader's unit, leaves the file's own words as they are.
    ``was`` holds the texts as they stood when the form was drawn: where the file says something else by
    now, a text nobody touched is left alone, and one that was touched raises ``changed-meanwhile``.
    """
    for name, texts in given.items():
        key = key_of(section, name)
        said = [t.strip() for t in texts]
        if said == [t.strip() for t in shown(key, row.get(name), system)]:
            continue
        before = [t.strip() for t in (was or {}).get(name, ())]
        if before and not _says(key, row.get(name), before, system):
            if said == before:
                continue
            raise _meanwhile(section, name, shown(key, row.get(name), system))
        value = _read(key, said, system)
        if value is None:
            row.pop(name, None)
        else:
            row[name] = value


BOTH: tuple[units.System, units.System] = ("mm", "inch")


def _says(key: Key, value: Any, texts: list[str], system: units.System) -> bool:
    """Whether these texts, as drawn in either unit or as typed into the form, say what the file says."""
    drawn = any(texts == [t.strip() for t in shown(key, value, s)] for s in BOTH)
    return drawn or _read(key, texts, system) == value


def _meanwhile(section: Section, name: str, now: list[str]) -> JawrightError:
    words = " / ".join(filter(None, now)) or "nothing"
    return JawrightError(
        "changed-meanwhile",
        what=f"somebody changed this meanwhile, it says {words} now",
        where=f"{section.name}.{name}",
        todo="keep yours once more if it is to stand instead",
    )


def _read(key: Key, texts: list[str], system: units.System) -> Any:
    one = texts[0] if texts else ""
    if not any(texts):
        return None
    match key.kind:
        case "text" | "word":
            return one
        case "integer":
            return int(one) if re.fullmatch(r"[+-]?\d{1,15}", one) else one
        case "number":
            return _float(one)
        case "flag":
            return {"true": True, "false": False}.get(one, one)
        case "texts":
            return [line for t in texts for line in (x.strip() for x in t.splitlines()) if line]
        case "point":
            return [with_unit(t, "length", system) for t in texts]
        case "direction":
            return one if len(texts) == 1 and "," not in one else _floats(",".join(texts))
        case "pairs":
            rows = (line.replace(":", "=").split("=") for line in one.splitlines() if line.strip())
            return [
                [with_unit(v.strip(), k, system) for v, k in zip(r, key.pair, strict=False)] for r in rows
            ]
        case "band":
            values = [with_unit(t, key.band, system) for t in texts]
            if len(values) == 3 and values[0] == "" and values[2] == "":
                return values[1]
            return values[0] if len(values) == 1 else values
        case _:
            return with_unit(one, key.kind, system)


def _float(text: str) -> Any:
    try:
        return float(text)
    except ValueError:
        return text


def _floats(text: str) -> list[Any]:
    return [_float(t.strip()) for t in text.split(",")]


def with_unit(text: str, kind: str, system: units.System) -> Any:
    """A quantity as written; a plain number is in the unit the page shows."""
    if kind == "ratio":
        return _float(text) if not text.endswith("%") else text
    if re.fullmatch(r"[+-]?[\d./ ]+(?:[eE][+-]?\d+)?", text):
        return f"{text} {units.read_unit(kind, system)}"
    return text


# ---------------------------------------------------------------- showing


def shown(key: Key, value: Any, system: units.System) -> list[str]:
    """The value of a key as a person types it: one text, three for a point or a band."""
    count = 3 if key.kind in ("point", "band") else 1
    if value is None:
        return [""] * count
    match key.kind:
        case "flag":
            return [str(value).lower()]
        case "texts":
            return ["\n".join(map(str, value))] if isinstance(value, list) else [str(value)]
        case "point":
            return _three(value, "length", system)
        case "band":
            if not isinstance(value, list):
                return ["", _quantity(value, key.band, system), ""]
            return _three(value, key.band, system)
        case "direction":
            return [", ".join(f"{v:g}" for v in value) if isinstance(value, list) else str(value)]
        case "pairs":
            rows = value if isinstance(value, list) else []
            pair = [[_quantity(v, k, system) for v, k in zip(r, key.pair, strict=False)] for r in rows]
            return ["\n".join(" = ".join(p) for p in pair)]
        case "text" | "word" | "integer" | "number":
            return [f"{value:g}" if isinstance(value, float) else str(value)]
        case kind:
            return [_quantity(value, kind, system)]


def _three(value: Any, kind: str, system: units.System) -> list[str]:
    items = value if isinstance(value, list) else [value]
    return [_quantity(v, kind, system) for v in items[:3]] + [""] * (3 - len(items))


def _quantity(value: Any, kind: str, system: units.System) -> str:
    """In the reader's unit, with as many digits as carry the value; words that cannot be read stay."""
    if kind == "ratio":
        return f"{value:g}" if isinstance(value, (int, float)) else str(value)
    try:
        inside = units.parse(value if isinstance(value, str) else f"{value} {units.INSIDE[kind]}", kind)
    except JawrightError:
        return str(value)
    if isinstance(value, str) and _reads_so(value, kind, system):
        return " ".join(value.split())
    number, unit = units.reading(inside, kind, system)
    return f"{number:.6g} {unit}"


def _reads_so(text: str, kind: str, system: units.System) -> bool:
    """Whether a text is in a unit of the reader's own system already: 6 mm, 8 µm; 1/4 in, 2 thou."""
    unit = units.known(re.sub(r"^[\s+\-.\d/eE]*", "", text))
    inch = ("in", "thou", "lbf", "lbf·ft", "lbf·in", "psi", "ksi", "°F", "lbf/in", "hp", "in/min", "ft/min")
    plain = units.read_unit(kind, "mm") == units.read_unit(kind, "inch")
    return plain or (unit in inch) == (system == "inch")


def points(at: list[float]) -> list[str]:
    """A picked point as it is written: lengths with their unit."""
    return [f"{round(v, 4) + 0.0:g} mm" for v in at]


JOB, SHOP = job_schema.SECTIONS, shop_schema.SECTIONS


def plain_lengths(data: Data, sections: tuple[Section, ...]) -> Data:
    """The data with a unit on every length that was written plain under ``units`` at the top."""
    unit = {"mm": "mm", "inch": "in"}.get(str(data.get("units", "")), "")
    if not unit:
        return data
    known = {s.name: s for s in sections}
    out: Data = {k: v for k, v in data.items() if k != "units"}
    for name, value in out.items():
        if name in known:
            rows = value if isinstance(value, list) else [value]
            kinds = {k.name: k.band or ("length" if k.kind == "point" else k.kind) for k in known[name].keys}
            done = [{k: _stated(v, kinds.get(k, ""), unit) for k, v in r.items()} for r in rows]
            out[name] = done if isinstance(value, list) else done[0]
    if "job" in known and data.get("units") == "inch":
        out.setdefault("job", {}).setdefault("units", "inch")
    if "nc" in known and data.get("units") == "inch":
        out.setdefault("nc", {}).setdefault("units", "inch")
    return out


def _stated(value: Any, kind: str, unit: str) -> Any:
    if isinstance(value, list):
        return [_stated(v, kind, unit) for v in value]
    if kind == "length" and isinstance(value, (int, float)) and not isinstance(value, bool):
        return f"{value!r} {unit}"
    return value
