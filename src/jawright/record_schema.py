"""JSON Schema of the record (draft 2020-12) and its reference page, both made from the dataclasses.

``python -m jawright.record_schema`` writes both anew; the tests compare.
"""

from __future__ import annotations

import inspect
import io
import json
import tokenize
import types
from dataclasses import MISSING, fields, is_dataclass
from importlib.resources import files
from pathlib import Path
from typing import Any, Literal, Union, get_args, get_origin

from jawright.record import Record
from jawright.record_json import (
    _SKIP,
    _VARIANTS,
    FORMAT,
    SCHEMA_VERSION,
    _strip_none,
    hints,
    key_of,
)
from jawright.record_units import POSITIONS

NAME = "record.schema.json"

UNIT_WORDS: dict[str, str] = {
    "mm": "millimeters",
    "mm2": "square millimeters",
    "mm3": "cubic millimeters",
    "deg": "degrees",
    "nm": "newton meters",
    "n": "newtons",
    "mpa": "megapascals",
    "n_mm": "newtons per millimeter",
    "nmm_rad": "newton millimeters per radian",
    "rev_min": "revolutions per minute",
    "mm_min": "millimeters per minute",
    "kw": "kilowatts",
    "kg": "kilograms",
    "k": "kelvins (a difference)",
    "s": "seconds",
    "money": "amount in the currency named by the shop's rates and the decision",
    "money_h": "that amount per hour",
}


def stored() -> dict[str, Any]:
    """The schema as it is delivered with the package."""
    data: dict[str, Any] = json.loads(files("jawright.data").joinpath(NAME).read_text("utf-8"))
    return data


def schema() -> dict[str, Any]:
    """The schema as the dataclasses say it."""
    defs: dict[str, Any] = {}
    top = _object(Record, defs)
    head = {
        "format": {"const": FORMAT},
        "schema_version": {"const": SCHEMA_VERSION},
        "ready": {
            "type": "boolean",
            "description": "every proof passes or cautions, every program is verified",
        },
    }
    top["properties"] = head | top["properties"]
    top["required"] = [*head, *top["required"]]
    return {
        "$schema": "https://json-schema.org/draft/2020-12/schema",
        "title": "Record of a plan",
        **top,
        "$defs": dict(sorted(defs.items())),
    }


def _object(kind: Any, defs: dict[str, Any]) -> dict[str, Any]:
    owner = kind.__name__
    notes = _notes(kind)
    props: dict[str, Any] = {}
    required = []
    if kind in _VARIANTS:
        props["curve"] = {"const": _VARIANTS[kind]}
        required.append("curve")
    for f in fields(kind):
        if (owner, f.name) in _SKIP:
            continue
        key = key_of(owner, f.name)
        names = POSITIONS.get((owner, f.name))
        one = _named(hints(kind)[f.name], names) if names else _type(hints(kind)[f.name], defs)
        props[key] = one | ({"description": notes[f.name]} if notes.get(f.name) else {})
        if f.default is MISSING and f.default_factory is MISSING:
            required.append(key)
    return {
        "description": _first_line(kind),
        "type": "object",
        "properties": props,
        "required": required,
        "additionalProperties": False,
    }


def _named(hint: Any, names: tuple[str, ...]) -> dict[str, Any]:
    inner = _strip_none(hint)
    many = len(get_args(inner)) == 2 and get_args(inner)[1] is Ellipsis
    kinds = get_args(get_args(inner)[0]) if many else get_args(inner)
    row = {
        "type": "object",
        "properties": {n: _type(k, {}) for n, k in zip(names, kinds, strict=True)},
        "required": list(names),
        "additionalProperties": False,
    }
    if many:
        return {"type": "array", "items": row}
    return row if inner is hint else {"anyOf": [row, {"type": "null"}]}


def _type(hint: Any, defs: dict[str, Any]) -> dict[str, Any]:
    origin, args = get_origin(hint), get_args(hint)
    if origin in (Union, types.UnionType):
        kinds = [_type(a, defs) for a in args if a is not type(None)]
        if type(None) in args:
            kinds.append({"type": "null"})
        return {"anyOf": kinds}
    if is_dataclass(hint):
        name = hint.__name__  # type: ignore[union-attr]
        if name not in defs:
            defs[name] = {}
            defs[name] = _object(hint, defs)
        return {"$ref": f"#/$defs/{name}"}
    if origin is Literal:
        return {"enum": list(args)}
    if origin is tuple:
        if len(args) == 2 and args[1] is Ellipsis:
            return {"type": "array", "items": _type(args[0], defs)}
        return {
            "type": "array",
            "prefixItems": [_type(a, defs) for a in args],
            "items": False,
            "minItems": len(args),
        }
    if hint is Path:
        return {"type": "string", "pattern": "^[^/\\\\]+$"}
    return {"type": {float: "number", int: "integer", bool: "boolean", str: "string"}[hint]}


def _first_line(kind: Any) -> str:
    return (inspect.getdoc(kind) or kind.__name__).split("\n", 1)[0]


def _notes(kind: Any) -> dict[str, str]:
    """What stands behind ``#`` on a field's line: the sources are the one place that explains it."""
    source = inspect.getsource(kind)
    names = {f.name for f in fields(kind)}
    out: dict[str, str] = {}
    first = ""
    for token in tokenize.generate_tokens(io.StringIO(source).readline):
        if token.type == tokenize.NAME and not token.line[: token.start[1]].strip() and token.string in names:
            first = token.string
        elif token.type == tokenize.NEWLINE and first and ")" not in token.line.split("#")[0].strip()[:1]:
            first = first if "#" in token.line else ""
        elif token.type == tokenize.COMMENT and first and first not in out:
            out[first] = token.string.lstrip("# ").strip()
        if token.type == tokenize.NEWLINE:
            first = ""
    return out


_INTRO = f"""# The record file

`record.json` holds everything a plan found: what was asked, what the shop owns, the decision, the hold, the
jaws, the proofs, the program and its verification. Papers are made from it alone, so a sheet can be printed
again without planning again.

- Encoding UTF-8, JSON. Format name `{FORMAT}`, schema version {SCHEMA_VERSION}; another version
  is refused.
- The schema (JSON Schema, draft 2020-12) is delivered with the package as `{NAME}`.
- The last part of a key is the unit of its number (table below). A group `low`/`set`/`high` with its `basis`
  has the unit of the key that holds it. A proof carries its unit as the field `unit`.
- Points and directions are lists `[x, y, z]` or `[x, y]`; the vise frame unless a note says otherwise.
  Directions and rotations have no unit.
- Numbers are written so that reading them gives the very same double. A few angles need more digits than a
  double in degrees can hold; the further digits are written and used.
- Keys come in a fixed order. The same record gives the same bytes; only `made` depends
  on the date.
- A key absent from the file is allowed only where it is not marked required; unknown keys are refused.
- No folder of any machine is in it: files are named without their place. The solid itself is not in it.

Python: `jawright.record_json.load(path)` gives the `Record`, `dumps(record)` the text.

## Units

| last part of the key | means |
| --- | --- |
"""


def page() -> str:
    """The reference page of the file."""
    defs: dict[str, Any] = {}
    top = _object(Record, defs)
    rows = [f"| `{u}` | {w} |" for u, w in UNIT_WORDS.items()]
    out = [_INTRO + "\n".join(rows), "", "## Groups", ""]
    lead = [
        "| `format` | text | yes | always `" + FORMAT + "` |",
        "| `schema_version` | whole number | yes | always " + str(SCHEMA_VERSION) + " |",
        "| `ready` | true or false | yes | every proof passes or cautions, every program is verified |",
    ]
    out += _group("Record", top, lead)
    for name in sorted(defs):
        out += _group(name, defs[name], [])
    return "\n".join(out).rstrip("\n") + "\n"


def _group(name: str, group: dict[str, Any], lead: list[str]) -> list[str]:
    rows = []
    for key, one in group["properties"].items():
        required = "yes" if key in group["required"] else "no"
        rows.append(
            f"| `{key}` | {_words(one)} | {required} | {one.get('description', '')} |".replace("|  |", "| |")
        )
    head = ["| key | holds | required | note |", "| --- | --- | --- | --- |"]
    return [f"### {name}", "", group["description"], "", *head, *lead, *rows, ""]


def _words(v: dict[str, Any]) -> str:
    if "$ref" in v:
        name = v["$ref"].rsplit("/", 1)[1]
        return f"[{name}](#{name.lower()})"
    if "anyOf" in v:
        return " or ".join(_words(a) for a in v["anyOf"])
    if "enum" in v:
        return ", ".join(f'"{e}"' for e in v["enum"])
    if "const" in v:
        return f'"{v["const"]}"'
    if v["type"] == "array":
        if "prefixItems" in v:
            return "[" + ", ".join(_words(a) for a in v["prefixItems"]) + "]"
        return "list of " + _words(v["items"])
    if v["type"] == "object":
        return "group of " + ", ".join(f"`{n}`" for n in v["properties"])
    return {
        "number": "number",
        "integer": "whole number",
        "boolean": "true or false",
        "string": "text",
        "null": "null",
    }[v["type"]]


def write(root: Path) -> None:
    """Write schema and page into a checkout of the sources."""
    (root / "src" / "jawright" / "data" / NAME).write_text(
        json.dumps(schema(), indent=1, ensure_ascii=False) + "\n", "utf-8"
    )
    (root / "docs" / "reference" / "record.md").write_text(page(), "utf-8")


if __name__ == "__main__":
    write(Path(__file__).parents[2])
