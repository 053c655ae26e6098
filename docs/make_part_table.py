"""Write docs/part_files.md: every part file of a folder read, against what the file says of itself.

`python docs/make_part_table.py PARTS_FOLDER`, then `python docs/make_validation.py`, whose page
shows the table. The files are others' and not in this repository; they are numbered by kind and size.
"""

from __future__ import annotations

import os
import re
import sys
import time
from dataclasses import dataclass
from pathlib import Path

from jawright.errors import JawrightError
from jawright.files import child
from jawright.files.part21 import statements
from jawright.files.references import letter_of
from jawright.files.step import count_tolerances
from jawright.part.model import Part
from jawright.part.read import read_part

PAGE = Path(__file__).resolve().parent / "part_files.md"
THICKNESS = 12.0
"""Given to every drawing [mm]: it does not matter to what is shown."""
HEADS = (
    "no.",
    "kind, length unit",
    "kB",
    "solids or outlines",
    "faces",
    "volume read [mm³]",
    "off the file's own",
    "area off the file's own",
    "datums read / in file",
    "tolerances read / in file",
    "limits read",
    "processor time [s]",
)


@dataclass(frozen=True, slots=True)
class Said:
    """What the text of a STEP file holds, counted without the reader of annotations."""

    schema: str
    datums: int
    tolerances: int


def said(path: Path) -> Said:
    text = path.read_text(encoding="utf-8", errors="replace")
    schema = re.search(r"FILE_SCHEMA\s*\(\s*\(\s*'([^']*)'", text)
    name = schema.group(1) if schema else ""
    kind = next(
        (k for k, w in (("AP203", "CONFIG"), ("AP214", "AUTOMOTIVE"), ("AP242", "AP242")) if w in name),
        "STEP",
    )
    entities = statements(text)
    letters = {letter_of(s) for s in entities.values() if "DATUM" in s.types} - {""}
    return Said(kind, len(letters), count_tolerances(entities))


def read(path: Path) -> tuple[Part | JawrightError, int, str, float]:
    """The part, solids joined where that is offered; how many there are; the unit asked for; seconds."""
    thickness = THICKNESS if path.suffix.lower() == ".dxf" else None
    solids, body, unit = 1, None, ""
    best = float("inf")
    result: Part | JawrightError
    for _ in range(4):
        start = worked()
        try:
            result = read_part(path, thickness=thickness, body=body, unit=unit)
        except JawrightError as e:
            result = e
            if e.code == "part-several-solids" and body is None:
                solids = int(re.search(r"\d+", e.what).group())  # type: ignore[union-attr]
                body = 0 if "body = 0" in e.todo else 1
                continue
            if e.code == "part-unit-unknown":
                unit = "mm"
                continue
        best = min(best, worked() - start)
    return result, solids, unit, best


def worked() -> float:
    """Processor time [s] of this process and of the reading one with all its forks, until now."""
    here = time.process_time()
    server = child._process  # its own time is nowhere else to be had
    if server is None:
        return here
    fields = Path(f"/proc/{server.pid}/stat").read_text(encoding="utf-8").rpartition(")")[2].split()
    return here + sum(map(int, fields[11:15])) / os.sysconf("SC_CLK_TCK")


def off(ours: float, theirs: float | None) -> str:
    return "not stated" if theirs is None else f"{(ours - theirs) / theirs:+.1e}"


def row(path: Path) -> tuple[tuple[str, float], list[str]]:
    """A key to sort by, and the cells after the number."""
    part, solids, unit, seconds = read(path)
    size = path.stat().st_size
    step = path.suffix.lower() != ".dxf"
    text = said(path) if step else Said("DXF", 0, 0)
    if isinstance(part, JawrightError):
        why = part.what.split(":")[0].split(" (")[0]
        counts = [f"- / {text.datums}", f"- / {text.tolerances}"] if step else ["", ""]
        cells = [text.schema, f"{size / 1000:.0f}", str(solids), "", f"refused, {part.code}: {why}", "", ""]
        return (text.schema, size), [*cells, *counts, "", f"{seconds:.2g}"]
    own = [off(part.volume, part.file_volume), off(part.area, part.file_area)] if step else ["", ""]
    counts = [f"{len(part.datums)} / {text.datums}", f"{len(part.tolerances)} / {text.tolerances}"]
    cells = [
        f"{text.schema}, {part.unit}" + (" (asked for)" if unit else ""),
        f"{size / 1000:.0f}",
        f"{solids}, joined" if solids > 1 else "1",
        str(len(part.faces)),
        f"{part.volume:.1f}" if step else "",
        *own,
        *(counts if step else ["", ""]),
        str(len(part.dimensions)) if step else "",
        f"{seconds:.2g}",
    ]
    return (text.schema, size), cells


def main(argv: list[str]) -> int:
    if len(argv) != 1:
        print(__doc__, file=sys.stderr)
        return 2
    paths = sorted(p for p in Path(argv[0]).rglob("*") if p.suffix.lower() in (".step", ".stp", ".dxf"))
    read(paths[0])  # the reading process starts with the first file
    rows = sorted((row(p) for p in paths), key=lambda r: r[0])
    lines = ["| " + " | ".join(HEADS) + " |", "|" + " --- |" * len(HEADS)]
    lines += ["| " + " | ".join([str(n), *cells]) + " |" for n, (_, cells) in enumerate(rows, 1)]
    PAGE.write_text("\n".join(lines) + "\n", encoding="utf-8")
    print(f"wrote {PAGE.name}, {len(rows)} files")
    return 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
