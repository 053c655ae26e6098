"""The first article's results against the table of a record, judged with their uncertainty."""

from __future__ import annotations

import csv
import io
import math
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

from jawright.errors import JawrightError
from jawright.floor.adjust import Characteristic
from jawright.floor.gauging import Judgment, gauge_words, judge
from jawright.units import convert

UNITS = {"mm": "mm", "um": "µm", "in": "in", "thou": "thou"}
FIELDS = ("result", "x", "y", "uncertainty", "resolution")
MAX_BYTES = 1024 * 1024


@dataclass(frozen=True, slots=True)
class Result:
    """What was measured of one characteristic [mm]; a position has two readings."""

    number: int
    readings: tuple[float, ...]
    uncertainty: float | None  # expanded, about 95 %
    resolution: float | None


@dataclass(frozen=True, slots=True)
class Judged:
    """A characteristic with its result; ``judgment`` None when it cannot be judged, ``why`` says so."""

    number: int
    feature: str
    what: str
    value: float | None
    low: float | None
    high: float | None
    uncertainty: float | None
    judgment: Judgment | None
    why: str


def is_first(text: str) -> bool:
    """Whether a CSV text is a first article table: its first line names a column ``balloon``."""
    head = next((line for line in text.splitlines() if line.strip()), "")
    return "balloon" in [h.strip().lower() for h in head.replace(";", ",").replace("\t", ",").split(",")]


def read_results(path: Path) -> tuple[Result, ...]:
    """Columns ``balloon`` and ``result_mm``, or ``x_mm`` and ``y_mm``; ``uncertainty_mm``, ``resolution_mm``.

    Raises ``file-missing``, ``file-too-large`` or ``run-bad``.
    """
    try:
        if path.stat().st_size > MAX_BYTES:
            raise JawrightError("file-too-large", what="the table is larger than 1 MB", where=path.name)
        text = path.read_text("utf-8-sig", errors="replace")
    except OSError as e:
        raise JawrightError(
            "file-missing", what=f"the results cannot be read ({e.strerror})", where=path.name
        ) from None
    lines = [line for line in text.splitlines() if line.strip()]
    mark = max(("\t", ";", ","), key=lines[0].count)
    rows = list(csv.DictReader(io.StringIO("\n".join(lines)), delimiter=mark, skipinitialspace=True))
    out = []
    for k, row in enumerate(rows):
        cells = {(n or "").strip().lower(): (v or "").strip() for n, v in row.items() if isinstance(v, str)}
        out.append(_result(cells, f"{path.name}, row {k + 2}", comma=mark != ","))
    return tuple(out)


def _result(cells: dict[str, str], where: str, *, comma: bool) -> Result:
    try:
        number = int(cells.get("balloon", ""))
    except ValueError:
        raise JawrightError(
            "run-bad", what=f'"{cells.get("balloon", "")}" is no balloon number', where=where
        ) from None
    found: dict[str, float] = {}
    for name, cell in cells.items():
        stem, _, unit = name.rpartition("_")
        if not cell or (stem or name) not in FIELDS:
            continue
        if unit not in UNITS:
            raise JawrightError(
                "run-bad", what=f"the column '{name}' has no unit", where=where, todo=f"write {name}_mm"
            )
        try:
            found[stem] = float(cell.replace(",", ".") if comma else cell) * convert(1.0, UNITS[unit], "mm")
        except ValueError:
            raise JawrightError("run-bad", what=f'{name}: "{cell}" is not a number', where=where) from None
    readings = tuple(found[n] for n in ("result", "x", "y") if n in found)
    return Result(number, readings, found.get("uncertainty"), found.get("resolution"))


def judge_all(table: Sequence[Characteristic], results: Sequence[Result]) -> tuple[Judged, ...]:
    """Every characteristic of the table with its result, in the table's order.

    Raises ``run-bad`` for a balloon the table has not.
    """
    known = {c.number for c in table}
    for r in results:
        if r.number not in known:
            raise JawrightError(
                "run-bad", what=f"balloon {r.number} is not in the table of the record", where="results"
            )
    by_number = {r.number: r for r in results}
    return tuple(_judged(c, by_number.get(c.number)) for c in table)


def _judged(c: Characteristic, r: Result | None) -> Judged:
    plane = len(c.axes) > 1  # a position: its zone is a circle, its deviation a diameter
    low, high = (
        (0.0, c.high - c.low) if plane and c.low is not None and c.high is not None else (c.low, c.high)
    )

    def said(value: float | None, unsure: float | None, judgment: Judgment | None, why: str) -> Judged:
        return Judged(c.number, c.feature, c.what, value, low, high, unsure, judgment, why)

    if r is None or not r.readings:
        return said(None, None, None, "not measured")
    if plane and len(r.readings) < 2:
        return said(None, None, None, "give both deviations, x_mm and y_mm, not only the diameter")
    value = 2 * math.hypot(*r.readings[:2]) if plane else r.readings[0]
    unsure = 2 * r.uncertainty if plane and r.uncertainty is not None else r.uncertainty
    if low is None or high is None:
        return said(value, unsure, None, "the limits are the print's")
    coarse = gauge_words(r.resolution, high - low) if r.resolution is not None else ""
    if unsure is None:
        inside = "within the limits" if low <= value <= high else "outside the limits"
        why = f"{inside}; give the measurement's uncertainty to prove it"
        return said(value, None, None, "; ".join(w for w in (why, coarse) if w))
    bottom = None if low == 0.0 else low  # a deviation has no lower limit
    return said(value, unsure, judge(value, bottom, high, uncertainty=unsure), coarse)
