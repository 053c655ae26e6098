"""Outlines of plates from DXF drawings: exact closed regions in mm, and what was found on the way.

The drawing is opened in the reading child. A unit that the drawing does not say is asked for, never
guessed; an outline that is open, branches or crosses itself is refused with the place.
"""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from typing import Any

from jawright.errors import JawrightError
from jawright.files import child, limits
from jawright.files.findings import Finding
from jawright.geometry.curve import Arc, Curve, Line
from jawright.geometry.profile import Profile, Region
from jawright.units import INCH

JOIN = 0.01
"""Gap [mm] up to which two ends are taken as drawn together. Common practice, no source."""


@dataclass(frozen=True, slots=True)
class Drawing:
    """The closed outlines of a drawing [mm], largest first, each with the openings in it."""

    regions: tuple[Region, ...]
    unit: str  # "mm", "inch", "m", ...: the one taken
    fit_bound: float  # largest distance of a smooth curve from its arcs [mm], 0 when there is none


def read_outline(path: Path, *, unit: str = "", join: float = JOIN) -> tuple[Drawing, tuple[Finding, ...]]:
    """Read a DXF drawing (release 12 to 2018, text form).

    Parameters
    ----------
    path : the file.
    unit : "mm", "inch" or "m", when the drawing does not say its unit or says a wrong one.
    join : gaps up to this [mm] are closed, and reported.

    Raises ``file-not-dxf``, ``file-broken``, ``file-too-large``, ``part-unit-unknown``, ``part-size``,
    ``part-outline-open``, ``part-outline-crossing``, ``geometry`` for curves that are not flat.
    """
    # the child keeps the folder it was started in, so the path must not lean on ours
    arguments = {"path": str(path.absolute()), "name": path.name, "unit": unit, "join": join}
    value, _ = child.run("jawright.files.dxf_child:work", arguments, where=path.name)
    if not value["unit"]:
        _ask_unit(value, path.name)
    found = tuple(_region(loops) for loops in value["regions"])
    drawing = Drawing(found, value["unit"], value["bound"])
    notes = [(str(level), str(what)) for level, what in value["notes"]]
    notes += _size_check(found, value, asked=bool(unit), name=path.name)
    return drawing, tuple(Finding(k, level, what) for k, (level, what) in enumerate(notes, 1))  # type: ignore[arg-type]


def _region(loops: list[list[list[float]]]) -> Region:
    outer, *holes = (Profile(_curves(rows)) for rows in loops)
    return Region(outer, tuple(holes))


def _curves(rows: list[list[float]]) -> tuple[Curve, ...]:
    out: list[Curve] = []
    for row, after in zip(rows, [*rows[1:], rows[0]], strict=True):
        a, b = (row[0], row[1]), (after[0], after[1])
        out.append(Line(a, b) if len(row) == 2 else Arc(a, b, (row[2], row[3]), row[4] > 0))
    return tuple(out)


def _ask_unit(value: dict[str, Any], name: str) -> None:
    w, h = value["size"]
    code = value["code"]
    says = f"says its unit by a code that is not known here ({code})" if code else "does not say its unit"
    raise JawrightError(
        "part-unit-unknown",
        what=f"the drawing {says}: its {w:.6g} × {h:.6g} would be {w:.6g} × {h:.6g} mm drawn in mm,"
        f" {w * INCH:.6g} × {h * INCH:.6g} mm drawn in inches",
        where=name,
        todo='measure the part, then add unit = "mm" or unit = "inch" to [part] of the job,'
        " or give --unit on the command line",
    )


def _size_check(
    regions: tuple[Region, ...], value: dict[str, Any], *, asked: bool, name: str
) -> list[tuple[str, str]]:
    """The size as a question, since drawings often say a wrong unit; refuses one that is no vise part."""
    boxes = [r.outer.box for r in regions]
    w = max(b[2] for b in boxes) - min(b[0] for b in boxes)
    h = max(b[3] for b in boxes) - min(b[1] for b in boxes)
    unit, scale = value["unit"], value["scale"]
    other, size = ("mm", 1.0) if unit != "mm" else ("inch", INCH)
    numbers = f"{w / scale:.6g} × {h / scale:.6g}"
    question = (
        f"the drawing's {numbers} are read as {unit}: {w:.6g} × {h:.6g} mm"
        f" (as {other} it would be {w / scale * size:.6g} × {h / scale * size:.6g} mm)"
    )
    largest = max(max(b[2] - b[0], b[3] - b[1]) for b in boxes)
    own = unit if unit in ("mm", "inch", "m") else "mm"
    if not asked and not limits.OUTLINE_LEAST <= largest <= limits.OUTLINE_MOST:
        raise JawrightError(
            "part-size",
            what=f"no likely size for a part in a vise: {question}",
            where=name,
            todo=f'measure the part, then add unit = "{own}" to [part] of the job if this is right,'
            f' else unit = "{other}" (--unit on the command line)',
        )
    notes = [("noted", f"check the size with the print: {question}")]
    if asked and value["said"] and value["said"] != unit:
        notes.append(("noted", f"the drawing says {value['said']}, the job says {unit}: the job is followed"))
    return notes
