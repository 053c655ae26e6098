"""The whole register as one plain file, and back: all of it or nothing."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

from jawright.errors import JawrightError
from jawright.rack import plain
from jawright.rack.model import Pair
from jawright.rack.store import Rack
from jawright.rack.trouble import told

MAX_BYTES = 512 * 1024 * 1024
"""An export above this many bytes is refused unread."""

CHANGE = ("number", "at", "pair", "what", "before")
RESEAT = ("at", "pair", "x_mm", "y_mm", "z_mm")


def export(rack: Rack) -> str:
    """The register as JSON text: pairs, history and what was measured on re-seating, of one moment."""
    with told(rack.path):
        rack.db.execute("BEGIN")  # one moment, however long it takes
        try:
            pairs = [plain.pair_to_dict(rack.read(i)) for i in rack.ids()]
            changes = rack.db.execute(
                "SELECT number, at, pair_id, what, before_json FROM change ORDER BY number"
            ).fetchall()
            seats = rack.db.execute(
                "SELECT at, pair_id, x_mm, y_mm, z_mm FROM reseat ORDER BY number"
            ).fetchall()
        finally:
            rack.db.execute("COMMIT")
    data = {
        "format": plain.FORMAT,
        "schema_version": plain.SCHEMA_VERSION,
        "pairs": pairs,
        "changes": [dict(zip(CHANGE, (*c[:4], json.loads(c[4])), strict=True)) for c in changes],
        "reseats": [dict(zip(RESEAT, s, strict=True)) for s in seats],
    }
    return json.dumps(data, ensure_ascii=False, indent=1, allow_nan=False) + "\n"


def bring_in(rack: Rack, text: str, where: str = "export") -> tuple[int, int]:
    """Add what an export holds: all of it or nothing. Returns (pairs added, pairs already there alike).

    Raises ``rack-bad`` for a text that is no export, ``rack-state`` when an id is taken by another pair.
    """
    pairs, changes, seats = parse(text, where)
    new: set[str] = set()
    with rack.write() as db:
        for pair in pairs:
            if db.execute("SELECT 1 FROM pair WHERE id = ?", (pair.id,)).fetchone():
                if plain.pair_to_dict(rack.read(pair.id)) != plain.pair_to_dict(pair):
                    raise JawrightError(
                        "rack-state",
                        what=f'the register has another pair "{pair.id}"',
                        where=where,
                        todo="nothing was imported; give one of the two another id",
                    )
                continue
            rack.insert(pair, pair.id)
            new.add(pair.id)
        for c in changes:
            if c["pair"] in new:
                db.execute(
                    "INSERT INTO change (at, pair_id, what, before_json) VALUES (?, ?, ?, ?)",
                    (c["at"], c["pair"], c["what"], plain.dumps(c["before"])),
                )
        for s in seats:
            if s["pair"] in new:
                db.execute(
                    "INSERT INTO reseat (at, pair_id, x_mm, y_mm, z_mm) VALUES (?, ?, ?, ?, ?)",
                    tuple(s[k] for k in RESEAT),
                )
        for pair_id in sorted(new):
            rack.changed(pair_id, f"imported from {where}", {})
    return len(new), len(pairs) - len(new)


def read_file(path: Path) -> str:
    """The text of an export. Raises ``file-missing``, ``file-too-large`` or ``rack-bad``."""
    try:
        if path.stat().st_size > MAX_BYTES:
            raise JawrightError(
                "file-too-large", what=f"the export is larger than {MAX_BYTES >> 20} MB", where=path.name
            )
        return path.read_text("utf-8")
    except OSError as e:
        raise JawrightError(
            "file-missing", what=f"the export cannot be read ({e.strerror})", where=path.name
        ) from None
    except UnicodeDecodeError:
        raise plain.bad("the file is not UTF-8 text", path.name) from None


def parse(text: str, where: str) -> tuple[list[Pair], list[Any], list[Any]]:
    """Pairs, changes and re-seatings an export holds. Raises ``rack-bad``."""
    try:
        data = json.loads(text)
    except (ValueError, RecursionError) as e:
        raise plain.bad(f"the file is not valid JSON ({e})", where) from None
    if not isinstance(data, dict) or data.get("format") != plain.FORMAT:
        raise plain.bad("this is not an export of a register of jaws", where)
    if data.get("schema_version") != plain.SCHEMA_VERSION:
        raise plain.bad(f"its schema version is {data.get('schema_version')!r}", where)
    lists = []
    for name in ("pairs", "changes", "reseats"):
        if not isinstance(data.get(name), list):
            raise plain.bad(f"the list '{name}' is absent", where)
        lists.append(data[name])
    pairs = [plain.pair_from_dict(p, f"{where}, pairs[{k}]") for k, p in enumerate(lists[0])]
    for rows, keys, name in zip(lists[1:], (CHANGE, RESEAT), ("changes", "reseats"), strict=True):
        for k, row in enumerate(rows):
            if not isinstance(row, dict) or set(row) != set(keys):
                raise plain.bad(f"the keys {', '.join(sorted(keys))} are expected", f"{where}, {name}[{k}]")
    return pairs, lists[1], lists[2]
