"""Pairs as plain JSON: the unit of each number in the last part of its key, read back without loss."""

from __future__ import annotations

import json
from dataclasses import fields
from typing import Any

from jawright.errors import JawrightError
from jawright.geometry.profile import Region
from jawright.geometry.shape_hash import outline_hash
from jawright.jaws.model import Jaws
from jawright.rack.model import SIDES, STATUSES, Cut, Pair
from jawright.record_json import decode_fields, encode_fields
from jawright.shop.model import Blank

FORMAT = "jawright-rack"
SCHEMA_VERSION = 1


def cut_to_dict(cut: Cut) -> dict[str, Any]:
    """A cut as plain JSON values."""
    return {
        "side": cut.side,
        "part_number": cut.part_number,
        "revision": cut.revision,
        "operation": cut.operation,
        "made": cut.made,
        "grip_depth_mm": cut.grip_depth,
        "torque_nm": cut.torque,
        "program_sha256": cut.program,
        "outline_sha256": outline_hash(cut.outline),
        "outline": None if cut.outline is None else encode_fields(cut.outline, path="outline"),
        "jaws": encode_fields(cut.jaws, path="jaws"),
    }


def cut_from_dict(data: Any, where: str) -> Cut:
    """The cut plain JSON tells of. Raises ``rack-bad``."""
    keys = {
        "side", "part_number", "revision", "operation", "made", "grip_depth_mm", "torque_nm",
        "program_sha256", "outline_sha256", "outline", "jaws",
    }  # fmt: skip
    _keys(data, keys, where)
    for name in ("part_number", "revision", "operation", "made", "program_sha256"):
        _kind(data[name], str, f"{where}.{name}")
    if data["side"] not in SIDES:
        raise bad(f"'side' is one of {', '.join(SIDES)}", where)
    torque = data["torque_nm"]
    outline = None if data["outline"] is None else _part(Region, data["outline"], f"{where}.outline")
    return Cut(
        side=data["side"],
        part_number=data["part_number"],
        revision=data["revision"],
        operation=data["operation"],
        made=data["made"],
        jaws=_part(Jaws, data["jaws"], f"{where}.jaws"),
        outline=outline,
        grip_depth=_number(data["grip_depth_mm"], f"{where}.grip_depth_mm"),
        torque=None if torque is None else _number(torque, f"{where}.torque_nm"),
        program=data["program_sha256"],
    )


def pair_to_dict(pair: Pair) -> dict[str, Any]:
    """A pair as plain JSON values."""
    return {
        "id": pair.id,
        "blank": encode_fields(pair.blank, path="blank"),
        "height_mm": pair.height,
        "vise": pair.vise,
        "place": pair.place,
        "status": pair.status,
        "why": pair.why,
        "out_to": pair.out_to,
        "out_since": pair.out_since,
        "picture": pair.picture,
        "parts_run": pair.parts_run,
        "note": pair.note,
        "cuts": [cut_to_dict(c) for c in pair.cuts],
    }


def pair_from_dict(data: Any, where: str) -> Pair:
    """The pair plain JSON tells of. Raises ``rack-bad``."""
    keys = {f.name for f in fields(Pair)} - {"height"} | {"height_mm"}
    _keys(data, keys, where)
    text = {}
    for name in ("id", "vise", "place", "why", "out_to", "out_since", "picture", "note"):
        text[name] = _kind(data[name], str, f"{where}.{name}")
    if data["status"] not in STATUSES:
        raise bad(f"'status' is one of {', '.join(STATUSES)}", where)
    parts = _kind(data["parts_run"], int, f"{where}.parts_run")
    cuts = _kind(data["cuts"], list, f"{where}.cuts")
    read = tuple(cut_from_dict(c, f"{where}.cuts[{k}]") for k, c in enumerate(cuts))
    if parts < 0 or not text["id"] or len({c.side for c in read}) != len(read):
        raise bad("'id' is empty, 'parts_run' negative, or a side is cut twice", where)
    return Pair(
        blank=blank_from_dict(data["blank"], f"{where}.blank"),
        height=_number(data["height_mm"], f"{where}.height_mm"),
        cuts=read,
        status=data["status"],
        parts_run=parts,
        **text,
    )


def blank_from_dict(data: Any, where: str) -> Blank:
    """The blank plain JSON tells of. Raises ``rack-bad``."""
    blank: Blank = _part(Blank, data, where)
    return blank


def dumps(data: Any) -> str:
    """JSON text, one line, same value same text."""
    return json.dumps(data, ensure_ascii=False, allow_nan=False, separators=(",", ":"))


def bad(what: str, where: str) -> JawrightError:
    """The error for a register or an export that does not follow its format."""
    return JawrightError("rack-bad", what=what, where=where)


def _part(kind: Any, data: Any, where: str) -> Any:
    try:
        return decode_fields(kind, data)
    except JawrightError as e:
        raise bad(e.what, f"{where}{e.where}") from None


def _keys(data: Any, keys: set[str], where: str) -> None:
    if not isinstance(data, dict):
        raise bad("a group of keys is expected", where)
    for name in keys - set(data):
        raise bad(f"the key '{name}' is absent", where)
    for name in set(data) - keys:
        raise bad(f"the key '{name}' is not part of the format", where)


def _kind(value: Any, kind: type, where: str) -> Any:
    if not isinstance(value, kind) or isinstance(value, bool):
        raise bad(f"{kind.__name__} is expected", where)
    return value


def _number(value: Any, where: str) -> float:
    if isinstance(value, bool) or not isinstance(value, (int, float)):
        raise bad("a number is expected", where)
    return float(value)
