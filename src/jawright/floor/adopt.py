"""Measured sources as the shop's own values: the shop file changed whole or not at all, comments kept."""

from __future__ import annotations

import tempfile
from collections.abc import Sequence
from pathlib import Path

from jawright.errors import JawrightError
from jawright.files.toml_edit import Edit, edited
from jawright.files.whole import write_file
from jawright.floor.sources import KEYS, Compared
from jawright.shop.model import Band3
from jawright.shop.read import read_shop


def edits(found: Sequence[Compared], source: str, *, unsure: bool = False) -> tuple[Edit, ...]:
    """What to change in the shop file: the sources that disagree and were told apart.

    ``unsure`` also takes those that could not be told from another. Of a source measured more than
    once the largest counts.
    """
    taken: dict[tuple[str, str, str], Compared] = {}
    for c in found:
        if c.measured is None or c.agrees is not False or not (c.sure or unsure):
            continue
        section, key = KEYS[c.source]
        place = (section, key, c.vise if section == "vise" else "")
        if place not in taken or taken[place].measured.set < c.measured.set:  # type: ignore[union-attr]
            taken[place] = c
    return tuple(
        Edit(s, k, _toml(c.measured), id=i, note=f"measured: {source}, {c.parts} parts, one sigma")
        for (s, k, i), c in taken.items()
        if c.measured is not None
    )


def _toml(b: Band3) -> str:
    return "[" + ", ".join(f'"{v:.4f} mm"' for v in (b.low, b.set, b.high)) + "]"


def adopt(shop_file: Path, changes: Sequence[Edit]) -> None:
    """Change the shop file. The new text is read as a shop before it takes the old one's place.

    Raises ``file-missing``, ``file-write`` or what the shop's reader says; then the file is as it was.
    """
    try:
        text = shop_file.read_bytes().decode("utf-8")
    except (OSError, UnicodeDecodeError) as e:
        raise JawrightError(
            "file-missing", what=f"the shop file cannot be read ({e})", where=shop_file.name
        ) from None
    read_shop(shop_file)
    new = edited(text, changes, shop_file.name)
    with tempfile.TemporaryDirectory() as folder:
        trial = Path(folder) / shop_file.name
        trial.write_bytes(new.encode("utf-8"))
        read_shop(trial)
    mode = shop_file.stat().st_mode & 0o777
    write_file(shop_file, new.encode("utf-8"))
    shop_file.chmod(mode)
