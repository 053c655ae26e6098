"""A run's measurements from a CSV file: one row a measured part, in the order they were made.

Columns are known by their names; the last part of a name is the unit. Only ``part`` and one measured
value are required. See docs/howto/diagnose.md for the list.
"""

from __future__ import annotations

import csv
import io
import math
import re
from dataclasses import dataclass
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from jawright.errors import JawrightError
from jawright.units import convert

Floats = NDArray[np.float64]

MAX_BYTES = 16 * 1024 * 1024
MAX_ROWS = 100_000
LENGTHS = {"mm": "mm", "um": "µm", "µm": "µm", "in": "in", "inch": "in", "thou": "thou"}
TORQUES = {"nm": "N·m", "lbfft": "lbf·ft", "lbfin": "lbf·in"}
TIMES = {"s": 1 / 60.0, "min": 1.0, "h": 60.0}
AXES = ("x", "y", "z")
TEXTS = ("part", "time", "nest", "note", "who", "gauge")


@dataclass(frozen=True, slots=True)
class Series:
    """One measured thing over the run: ``values`` (n,) [mm], nan where it was not measured.

    ``axis`` is "x", "y" or "z" for a position, "d" for a diameter, "" when the name does not say.
    """

    name: str
    feature: str
    axis: str
    values: Floats


@dataclass(frozen=True, slots=True)
class Run:
    """A run: n rows in the order they were made. Lengths mm, torque N·m, time min; nan where absent."""

    source: str
    unit: str  # the first length column's own unit
    parts: tuple[str, ...]
    minutes: Floats | None
    sizes: tuple[Series, ...]
    measured: tuple[Series, ...]
    offsets: tuple[Series, ...]  # change of the work offset made just before the part
    torque: Floats | None
    nests: tuple[str, ...] | None
    ignored: tuple[str, ...]  # columns that were not understood
    who: tuple[str, ...] | None = None  # who measured

    def __len__(self) -> int:
        return len(self.parts)


def read_run(path: Path) -> Run:
    """Read a run. Raises ``file-missing``, ``file-too-large``, ``file-empty`` or ``run-bad``."""
    try:
        if path.stat().st_size > MAX_BYTES:
            raise JawrightError(
                "file-too-large", what=f"the file is larger than {MAX_BYTES >> 20} MB", where=path.name
            )
        raw = path.read_bytes()
    except OSError as e:
        raise JawrightError(
            "file-missing", what=f"the measurements cannot be read ({e.strerror})", where=path.name
        ) from None
    try:
        text = raw.decode("utf-8-sig")
    except UnicodeDecodeError:
        text = raw.decode("cp1252", errors="replace")
    return parse_run(text, path.name)


def parse_run(text: str, where: str = "run") -> Run:
    """The run in CSV text: fields parted by comma, semicolon or tab; a decimal comma with semicolons."""
    lines = [line for line in text.splitlines() if line.strip() and not line.lstrip().startswith("#")]
    if not lines:
        raise JawrightError("file-empty", what="the file holds nothing", where=where)
    mark = max(("\t", ";", ","), key=lines[0].count)
    table = list(csv.reader(io.StringIO("\n".join(lines)), delimiter=mark, skipinitialspace=True))
    names = [re.sub(r"[\s-]+", "_", h.strip().lower()) for h in table[0]]
    rows = table[1:]
    _check(names, rows, where)
    columns = {n: [r[k].strip() if k < len(r) else "" for r in rows] for k, n in enumerate(names)}
    return _assemble(columns, where, comma=mark != ",")


def _check(names: list[str], rows: list[list[str]], where: str) -> None:
    if "part" not in names:
        raise _bad(
            f"there is no column 'part'; the first line reads {', '.join(names[:8])}",
            where,
            "name the columns in the first line; part, and one value with its unit, as part,x_mm",
        )
    twice = {n for n in names if names.count(n) > 1 and n}
    if twice:
        raise _bad(f"the column '{sorted(twice)[0]}' stands twice", where)
    if not rows:
        raise _bad("there are no rows below the names", where)
    if len(rows) > MAX_ROWS:
        raise _bad(f"there are more than {MAX_ROWS} rows", where)
    for k, r in enumerate(rows):
        if len(r) > len(names):
            raise _bad(
                f"row {k + 2} has {len(r)} fields, the first line names {len(names)}",
                where,
                "a decimal comma needs fields parted by semicolons",
            )


def _assemble(columns: dict[str, list[str]], where: str, *, comma: bool) -> Run:
    parts = tuple(columns["part"])
    for k, p in enumerate(parts):
        if not p:
            raise _bad(f"row {k + 2} names no part", where)
    sizes: list[Series] = []
    measured: list[Series] = []
    offsets: list[Series] = []
    ignored: list[str] = []
    torque = None
    unit = ""
    for name, cells in columns.items():
        stem, _, last = name.rpartition("_")
        if name in TEXTS or (stem == "time" and last in TIMES):
            continue
        if last in LENGTHS and stem:
            unit = unit or LENGTHS[last]
            values = _numbers(cells, name, where, convert(1.0, LENGTHS[last], "mm"), comma=comma)
            kind, series = _series(stem, values)
            {"size": sizes, "offset": offsets, "measured": measured}[kind].append(series)
        elif last in TORQUES and stem == "torque":
            torque = _numbers(cells, name, where, convert(1.0, TORQUES[last], "N·m"), comma=comma)
        elif name in (*AXES, "size", "torque", "value"):
            raise _bad(f"the column '{name}' has no unit", where, f"write {name}_mm or {name}_in")
        else:
            ignored.append(name)
    measured = [s for s in measured if np.isfinite(s.values).any()]
    if not measured and not sizes:
        raise _bad(
            "no column holds a measured length",
            where,
            "name it with its unit last: x_mm, bore_d_mm, size_in",
        )
    nests = tuple(columns["nest"]) if any(columns.get("nest", ())) else None
    who = tuple(columns["who"]) if any(columns.get("who", ())) else None
    return Run(
        source=where, unit=unit, parts=parts, minutes=_minutes(columns, where, comma=comma),
        sizes=tuple(sizes), measured=tuple(measured or sizes), offsets=tuple(offsets),
        torque=torque, nests=nests, ignored=tuple(ignored), who=who,
    )  # fmt: skip


def _series(stem: str, values: Floats) -> tuple[str, Series]:
    words = stem.split("_")
    if words[0] in ("size", "offset"):
        axis = words[-1] if words[-1] in AXES else ""
        kept = np.nan_to_num(values) if words[0] == "offset" else values
        return words[0], Series(stem, "_".join(words[1:]), axis, kept)
    axis = words[-1] if words[-1] in (*AXES, "d") else ""
    feature = "_".join(words[:-1] if axis else words)
    return "measured", Series(stem, feature, axis, values)


def _numbers(cells: list[str], name: str, where: str, factor: float, *, comma: bool) -> Floats:
    out = np.full(len(cells), np.nan)
    for k, c in enumerate(cells):
        if c in ("", "-", "n/a", "na"):
            continue
        try:
            out[k] = float(c.replace(",", ".") if comma else c) * factor
        except ValueError:
            raise _bad(f"row {k + 2}, column '{name}': \"{c}\" is not a number", where) from None
        if not math.isfinite(out[k]):
            raise _bad(f"row {k + 2}, column '{name}': \"{c}\" is not finite", where)
    return out


def _minutes(columns: dict[str, list[str]], where: str, *, comma: bool) -> Floats | None:
    for unit, factor in TIMES.items():
        if f"time_{unit}" in columns:
            got = _numbers(columns[f"time_{unit}"], f"time_{unit}", where, factor, comma=comma)
            return _forward(got, where)
    if "time" not in columns or not any(columns["time"]):
        return None
    out = np.array([_clock(c, k, where) for k, c in enumerate(columns["time"])])
    for k in range(1, len(out)):  # a clock without a date passes midnight
        if out[k] < out[k - 1] and out[k - 1] - out[k] > 720 and out[k] < 2880:
            out[k:] += 1440
    return _forward(out, where)


def _forward(minutes: Floats, where: str) -> Floats:
    known = minutes[np.isfinite(minutes)]
    if (np.diff(known) < -1e-9).any():
        raise _bad("time runs backward", where, "give the rows in the order the parts were made")
    return minutes


CLOCK = re.compile(r"(?:(\d{4})-(\d{2})-(\d{2})[T ])?(\d{1,2}):(\d{2})(?::(\d{2}(?:\.\d+)?))?Z?$")


def _clock(text: str, row: int, where: str) -> float:
    if not text:
        return math.nan
    hit = CLOCK.match(text)
    if hit is None:
        raise _bad(
            f"row {row + 2}, column 'time': \"{text}\" is not a time", where, "write 14:05 or time_min"
        )
    y, m, d, hour, minute, second = hit.groups()
    days = float(np.datetime64(f"{y}-{m}-{d}").astype(int)) if y else 0.0
    return 1440 * days + 60 * int(hour) + int(minute) + float(second or 0) / 60


def _bad(what: str, where: str, todo: str = "") -> JawrightError:
    return JawrightError("run-bad", what=what, where=where, todo=todo)
