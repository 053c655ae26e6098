"""The record as JSON: every number with its unit in the last part of its key, read back without loss.

``UNITS`` is the one table that gives each number of our dataclasses its unit. Lengths are mm,
forces N, torques N·m as inside; angles are degrees in the file. The shape bytes of the part stay
out: a record is for reading and printing, not for cutting the solid anew.
"""

from __future__ import annotations

import json
import math
import types
from dataclasses import MISSING, fields, is_dataclass
from decimal import Decimal, localcontext
from functools import cache
from pathlib import Path, PurePath
from typing import Any, Literal, Union, get_args, get_origin, get_type_hints

from jawright.errors import JawrightError
from jawright.geometry.curve import Arc, Line
from jawright.job.model import Given
from jawright.record import Record
from jawright.record_units import POSITIONS, UNITS
from jawright.shop.model import Band3

FORMAT = "jawright-record"
SCHEMA_VERSION = 1
MAX_BYTES = 64 * 1024 * 1024
"""A record file above this is refused unread."""

_PI = Decimal("3.14159265358979323846264338327950288419716939937510")
_CARRIERS = (Band3, Given)  # a number with its basis: the unit stands in the key of the field that holds it
_VARIANTS: dict[type, str] = {Line: "line", Arc: "arc"}
_SKIP = {("Part", "shape"): b""}
_BY_NAME = {name: kind for kind, name in _VARIANTS.items()}


class Degrees(float):
    """An angle no double in degrees can carry exactly: it keeps the further digits as ``text``."""

    text: str

    def __new__(cls, text: str) -> Degrees:
        self = super().__new__(cls, text)
        self.text = text
        return self


def to_degrees(angle: float) -> float:
    """Degrees [deg] of an angle [rad] that ``to_radians`` turns back into the very same number."""
    d = math.degrees(angle)
    for q in (round(d, 9), d, math.nextafter(d, math.inf), math.nextafter(d, -math.inf)):
        if math.radians(q) == angle:
            return q
    with localcontext() as c:
        c.prec = 50
        exact = Decimal(angle) * 180 / _PI
        c.prec = 21
        return Degrees(str(+exact))


def to_radians(angle: float) -> float:
    """Angle [rad] of degrees [deg] as ``to_degrees`` wrote them."""
    if isinstance(angle, Degrees):
        with localcontext() as c:
            c.prec = 50
            return float(Decimal(angle.text) * _PI / 180)
    return math.radians(angle)


def to_dict(record: Record) -> dict[str, Any]:
    """The record as plain dictionaries, lists, numbers and words, keys in a fixed order.

    Raises ``record-bad`` when a number is not finite.
    """
    head: dict[str, Any] = {"format": FORMAT, "schema_version": SCHEMA_VERSION, "ready": record.ready}
    return head | encode_fields(record, "", "")


def from_dict(data: dict[str, Any]) -> Record:
    """The record a dictionary made by ``to_dict`` tells of; ``part.shape`` is empty.

    Raises ``record-bad`` with the place of the first key or value that does not fit.
    """
    if not isinstance(data, dict) or data.get("format") != FORMAT:
        raise _bad("this is not a record of a plan", "", "give the record.json that a plan wrote")
    if data.get("schema_version") != SCHEMA_VERSION:
        raise _bad(
            f"its schema version is {data.get('schema_version')!r}, this program reads {SCHEMA_VERSION}",
            "schema_version",
            "plan the job again or use the version that wrote it",
        )
    rest = {k: v for k, v in data.items() if k not in ("format", "schema_version", "ready")}
    record: Record = decode_fields(Record, rest, "", "")
    if data.get("ready") is not record.ready:
        raise _bad("'ready' does not follow from its proofs and its verification", "ready")
    return record


def dumps(record: Record) -> str:
    """The record as JSON text: same record, same text."""
    return _write(to_dict(record), 0) + "\n"


def loads(text: str, where: str = "record") -> Record:
    """The record in JSON text. Raises ``record-bad``."""
    try:
        data = json.loads(text, parse_float=_number, parse_constant=_no_constant)
    except (ValueError, RecursionError) as e:
        raise _bad(f"the file is not valid JSON ({e})", where) from None
    try:
        return from_dict(data)
    except JawrightError as e:
        place = f"{where}, {e.where}" if e.where else where
        raise JawrightError(e.code, what=e.what, where=place, todo=e.todo) from None


def load(path: Path) -> Record:
    """The record in a file. Raises ``file-missing``, ``file-too-large`` or ``record-bad``."""
    return loads(text_of(path), path.name)


def text_of(path: Path) -> str:
    """The text in a record's file. Raises ``file-missing``, ``file-too-large`` or ``record-bad``."""
    try:
        size = path.stat().st_size
        if size > MAX_BYTES:
            raise JawrightError(
                "file-too-large", what=f"the record is larger than {MAX_BYTES >> 20} MB", where=path.name
            )
        raw = path.read_bytes()
    except OSError as e:
        raise JawrightError(
            "file-missing",
            what=f"the record cannot be read ({e.strerror})",
            where=path.name,
            todo="name the record.json in the folder of a plan",
        ) from None
    try:
        return raw.decode("utf-8")
    except UnicodeDecodeError:
        raise _bad("the file is not UTF-8 text", path.name) from None


def key_of(owner: str, name: str) -> str:
    """Key in the file of a field: its name, and its unit as the last part."""
    unit = UNITS.get((owner, name), "")
    return f"{name}_{unit}" if unit else name


@cache
def hints(kind: Any) -> dict[str, Any]:
    """Types of a dataclass's fields."""
    return get_type_hints(kind)


def _bad(what: str, where: str, todo: str = "") -> JawrightError:
    return JawrightError("record-bad", what=what, where=where, todo=todo)


def _number(text: str) -> float:
    plain = float(text)
    return plain if len(text) < 20 or repr(plain) == text else Degrees(text)


def _no_constant(text: str) -> float:
    raise ValueError(f"{text} is not a number")


# ---------------------------------------------------------------- writing


def encode_fields(value: Any, unit: str = "", path: str = "") -> dict[str, Any]:
    """A dataclass of ours as plain values, each number's unit in its key.

    ``unit`` is that of a number with its basis, which stands in the key of the field that holds it;
    ``path`` names the place in messages. Raises ``record-bad`` for a number that is not finite.
    """
    kind: Any = type(value)
    owner = kind.__name__
    out: dict[str, Any] = {}
    if kind in _VARIANTS:
        out["curve"] = _VARIANTS[kind]
    for f in fields(value):
        if (owner, f.name) in _SKIP:
            continue
        own = unit if kind in _CARRIERS else UNITS.get((owner, f.name), "")
        key = key_of(owner, f.name)
        out[key] = _encode(getattr(value, f.name), hints(kind)[f.name], own, f"{path}/{key}")
        names = POSITIONS.get((owner, f.name))
        if names and out[key] is not None:
            out[key] = _name_positions(out[key], names)
    return out


def _name_positions(value: list[Any], names: tuple[str, ...]) -> Any:
    if value and not isinstance(value[0], list):
        return dict(zip(names, value, strict=True))
    return [dict(zip(names, row, strict=True)) for row in value]


def _encode(value: Any, hint: Any, unit: str, path: str) -> Any:
    if value is None or isinstance(value, (bool, str)):
        return value
    if is_dataclass(value):
        return encode_fields(value, unit, path)
    if isinstance(value, PurePath):
        return value.name  # a folder of somebody's machine has no place in a record
    if isinstance(value, tuple):
        inner = _item_hints(_strip_none(hint), len(value))
        return [_encode(v, h, unit, f"{path}/{i}") for i, (v, h) in enumerate(zip(value, inner, strict=True))]
    if _strip_none(hint) is int and isinstance(value, int):
        return value
    number = float(value)
    if not math.isfinite(number):
        raise _bad(f"a number is not finite: {number}", path)
    return to_degrees(number) if unit == "deg" else number


def _strip_none(hint: Any) -> Any:
    """The one type an optional field has when it is set; a union of dataclasses stays a union."""
    if get_origin(hint) in (Union, types.UnionType):
        rest = tuple(a for a in get_args(hint) if a is not type(None))
        return rest[0] if len(rest) == 1 else Union[rest]  # noqa: UP007 (built at run time)
    return hint


def _item_hints(hint: Any, count: int) -> tuple[Any, ...]:
    args = get_args(hint)
    if len(args) == 2 and args[1] is Ellipsis:
        return (args[0],) * count
    return args


def _write(value: Any, depth: int) -> str:
    """JSON with one key per line; a list of numbers, or of such lists, stays on one line."""
    if isinstance(value, Degrees):
        return value.text
    if isinstance(value, dict) and value:
        pad = "  " * (depth + 1)
        rows = [f"{pad}{_text(k)}: {_write(v, depth + 1)}" for k, v in value.items()]
        return "{\n" + ",\n".join(rows) + "\n" + "  " * depth + "}"
    if isinstance(value, list) and value:
        parts = [_write(v, depth + 1) for v in value]
        if not any("\n" in p for p in parts) and sum(map(len, parts)) < 110:
            return "[" + ", ".join(parts) + "]"
        pad = "  " * (depth + 1)
        return "[\n" + ",\n".join(pad + p for p in parts) + "\n" + "  " * depth + "]"
    return _text(value)


def _text(value: Any) -> str:
    """As the standard library writes it, without its setting up for each of twenty thousand values."""
    if isinstance(value, str):
        return json.encoder.encode_basestring(value)
    if type(value) is float and math.isfinite(value):
        return float.__repr__(value)
    return json.dumps(value, ensure_ascii=False, allow_nan=False)


# ---------------------------------------------------------------- reading


def decode_fields(kind: Any, data: Any, unit: str = "", path: str = "") -> Any:
    """The dataclass of ``kind`` that ``encode_fields`` wrote. Raises ``record-bad`` with the place."""
    if not isinstance(data, dict):
        raise _bad(f"a group of keys is expected, not {_shown(data)}", path or "record")
    owner = kind.__name__
    left = {k: v for k, v in data.items() if not (kind in _VARIANTS and k == "curve")}
    values: dict[str, Any] = {}
    for f in fields(kind):
        if (owner, f.name) in _SKIP:
            values[f.name] = _SKIP[(owner, f.name)]
            continue
        key = key_of(owner, f.name)
        place = f"{path}/{key}"
        if key not in left:
            if f.default is MISSING and f.default_factory is MISSING:
                raise _bad("the key is absent", place)
            continue
        own = unit if kind in _CARRIERS else UNITS.get((owner, f.name), "")
        raw = left.pop(key)
        names = POSITIONS.get((owner, f.name))
        if names and raw is not None:
            raw = _unname_positions(raw, names, place)
        values[f.name] = _decode(raw, hints(kind)[f.name], own, place)
    if left:
        raise _bad("the key is not part of the schema", f"{path}/{next(iter(left))}")
    try:
        return kind(**values)
    except JawrightError as e:
        raise _bad(e.what, path) from None


def _unname_positions(raw: Any, names: tuple[str, ...], path: str) -> Any:
    rows = raw if isinstance(raw, list) else [raw]
    for row in rows:
        if not isinstance(row, dict) or sorted(row) != sorted(names):
            raise _bad(f"the keys {', '.join(names)} are expected", path)
    out = [[row[n] for n in names] for row in rows]
    return out if isinstance(raw, list) else out[0]


def _decode(raw: Any, hint: Any, unit: str, path: str) -> Any:
    origin = get_origin(hint)
    if origin in (Union, types.UnionType):
        if raw is None and type(None) in get_args(hint):
            return None
        hint = _strip_none(hint)
        origin = get_origin(hint)
    if origin is Union:  # a line or an arc
        name = raw.get("curve") if isinstance(raw, dict) else None
        if name not in _BY_NAME:
            raise _bad(f"a line or an arc is expected, not {_shown(raw)}", path)
        return decode_fields(_BY_NAME[name], raw, unit, path)
    if is_dataclass(hint):
        return decode_fields(hint, raw, unit, path)
    if origin is tuple:
        if not isinstance(raw, list):
            raise _bad(f"a list is expected, not {_shown(raw)}", path)
        inner = _item_hints(hint, len(raw))
        if len(inner) != len(raw):
            raise _bad(f"{len(inner)} values are expected, not {len(raw)}", path)
        return tuple(
            _decode(v, h, unit, f"{path}/{i}") for i, (v, h) in enumerate(zip(raw, inner, strict=True))
        )
    return _decode_plain(raw, hint, unit, path)


def _decode_plain(raw: Any, hint: Any, unit: str, path: str) -> Any:
    if get_origin(hint) is Literal:
        if raw not in get_args(hint) or isinstance(raw, bool):
            raise _bad(f"one of {', '.join(map(repr, get_args(hint)))} is expected, not {_shown(raw)}", path)
        return raw
    if hint is float and isinstance(raw, (int, float)) and not isinstance(raw, bool):
        return to_radians(raw) if unit == "deg" else float(raw)
    if hint is int and isinstance(raw, int) and not isinstance(raw, bool):
        return raw
    if hint is bool and isinstance(raw, bool):
        return raw
    if hint is str and isinstance(raw, str):
        return raw
    if hint is Path and isinstance(raw, str):
        if raw != PurePath(raw).name:
            raise _bad("a file is named without its folder", path)
        return Path(raw)
    word = {float: "a number", int: "a whole number", bool: "true or false"}.get(hint, "a text")
    raise _bad(f"{word} is expected, not {_shown(raw)}", path)


def _shown(raw: Any) -> str:
    text = json.dumps(raw, ensure_ascii=False, default=str)
    return text if len(text) <= 40 else text[:37] + "..."
