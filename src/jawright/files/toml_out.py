"""Plain data as TOML text.

Keys of the top come first, then tables, each list of tables under one header a row.
"""

from __future__ import annotations

import math
import re
from collections.abc import Mapping
from typing import Any

_BARE = re.compile(r"[A-Za-z0-9_-]+")


def dump(data: Mapping[str, Any]) -> str:
    """Plain data as TOML: plain keys first, then tables, each list of tables under one header a row."""
    lines = [f"{_key(k)} = {_value(v)}" for k, v in data.items() if not _is_table(v)]
    for name, value in data.items():
        for row in value if isinstance(value, list) else [value]:
            if not _is_table(value):
                break
            lines += ["", f"[[{_key(name)}]]" if isinstance(value, list) else f"[{_key(name)}]"]
            lines += [f"{_key(k)} = {_value(v)}" for k, v in row.items()]
    return "\n".join(lines).lstrip("\n") + "\n"


def _is_table(value: Any) -> bool:
    return isinstance(value, dict) or (isinstance(value, list) and bool(value) and isinstance(value[0], dict))


def _key(name: str) -> str:
    return name if _BARE.fullmatch(name) else _text(name)


def _value(value: Any) -> str:
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, str):
        return _text(value)
    if isinstance(value, list):
        return "[" + ", ".join(_value(v) for v in value) + "]"
    if isinstance(value, dict):
        return "{" + ", ".join(f"{_key(k)} = {_value(v)}" for k, v in value.items()) + "}"
    if isinstance(value, float) and not math.isfinite(value):
        return "nan"  # refused by the reader, with its own words
    return repr(value)


def _text(value: str) -> str:
    out = []
    for c in value:
        if c in '"\\':
            out.append("\\" + c)
        elif ord(c) < 32 or ord(c) == 127:
            out.append(f"\\u{ord(c):04x}")
        else:
            out.append(c)
    return '"' + "".join(out) + '"'
