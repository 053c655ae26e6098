"""A run's measurements from a CSV file: one row a measured part, in the order they were made.

Columns are known by their names; the last part of a name is the unit. Only ``part`` and one measured
value are required. See docs/howto/diagnose.md for the list.
"""

from __future__ import annotations

import csv
import datetime
import io
import math
import re
from dataclasses import dataclass
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from jawright.errors import JawrightError
from jawright.floor import columns
from jawright.units import convert

Floats = NDArray[np.float64]
Bools = NDArray[np.bool_]

MAX_BYTES = 16 * 1024 * 1024
MAX_ROWS = 100_000
LENGTHS = {"mm": "mm", "um": "µm", "µm": "µm", "in": "in", "inch": "in", "thou": "thou"}
TORQUES = {"nm": "N·m", "lbfft": "lbf·ft", "lbfin": "lbf·in"}
TIMES = {"s": 1 / 60.0, "min": 1.0, "h": 60.0}
AXES = ("x", "y", "z")
NOTHING = ("", "-", "--", "n/a", "na", "nan", "#n/a", "none", "null", "?")
"""What people write into a cell that was not measured."""
LARGEST = 1e5
"""No length on a mill is larger [mm]."""
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


def read_run(path: Path, *, unit: str = "") -> Run:
    """Read a run; ``unit`` is that of lengths whose columns name none, "" where each must name its own.

    Raises ``file-missing``, ``file-too-large``, ``file-empty`` or ``run-bad``.
    """
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
    return parse_run(decode(raw), path.name, unit=unit)


def decode(raw: bytes) -> str:
    """The text of a table as spreadsheets write it: UTF-8 or UTF-16 with a mark, UTF-8, else Windows-1252."""
    if raw[:2] in (b"\xff\xfe", b"\xfe\xff"):
        return raw.decode("utf-16", errors="replace")
    try:
        return raw.decode("utf-8-sig")
    except UnicodeDecodeError:
        return raw.decode("cp1252", errors="replace")


def parse_run(text: str, where: str = "run", *, unit: str = "") -> Run:
    """The run in CSV text: fields parted by comma, semicolon or tab; a decimal comma with semicolons.

    ``unit`` as for ``read_run``. Raises ``file-empty`` when there is nothing, ``run-bad`` with the line that
    cannot be read.
    """
    text = text.removeprefix("\ufeff")
    lines = [line for line in text.splitlines() if line.strip() and not line.lstrip().startswith("#")]
    told = re.match(r'"?sep=(.)"?$', lines[0].strip()) if lines else None  # a spreadsheet's own first line
    lines = lines[1:] if told else lines
    if not lines:
        raise JawrightError("file-empty", what="the file holds nothing", where=where)
    mark = told.group(1) if told else max(("\t", ";", ","), key=lines[0].count)
    try:
        table = list(csv.reader(io.StringIO("\n".join(lines)), delimiter=mark, skipinitialspace=True))
    except csv.Error as e:
        raise _bad(f"the file is no table ({e})", where) from None
    names = columns.known([columns.plain(h) for h in table[0]])
    below = table[1:]
    if below and (units := columns.unit_row(below[0])):
        below = below[1:]
        names = [columns.with_unit(n, u) for n, u in zip(names, [*units, *[""] * len(names)], strict=False)]
    if unit:
        names = [columns.with_unit(n, unit) if columns.is_length(n) else n for n in names]
    rows = [r for r in below if any(c.strip() for c in r)]
    if "time" not in names and "date" in names:  # a date alone is no order
        k = names.index("date")
        if any(":" in r[k] for r in rows if k < len(r)):
            names[k] = "time"
    _check(names, rows, where)
    cells = {n: [r[k].strip() if k < len(r) else "" for r in rows] for k, n in enumerate(names)}
    return _assemble(cells, where, comma=mark != ",")


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


def _assemble(cells_of: dict[str, list[str]], where: str, *, comma: bool) -> Run:
    parts = tuple(cells_of["part"])
    for k, p in enumerate(parts):
        if not p:
            raise _bad(f"row {k + 2} names no part", where)
    sizes: list[Series] = []
    measured: list[Series] = []
    offsets: list[Series] = []
    ignored: list[str] = []
    torque = None
    unit = ""
    for name, cells in cells_of.items():
        stem, _, last = name.rpartition("_")
        if name in TEXTS or (stem == "time" and last in TIMES):
            continue
        if last in LENGTHS and stem:
            unit = unit or LENGTHS[last]
            values = _numbers(cells, name, where, convert(1.0, LENGTHS[last], "mm"), comma=comma)
            kind, series = _series(stem, values)
            {"size": sizes, "offset": offsets, "measured": measured}[kind].append(series)
        elif last in TORQUES and stem.split("_")[-1] == "torque":
            torque = _numbers(cells, name, where, convert(1.0, TORQUES[last], "N·m"), comma=comma)
        elif columns.is_length(name):
            todo = f"write {name}_mm or {name}_in, or name the file's unit: --file-unit mm"
            raise _bad(f"the column '{name}' has no unit", where, todo)
        elif name.split("_")[-1] == "torque":
            raise _bad(f"the column '{name}' has no unit", where, f"write {name}_nm, _lbfft or _lbfin")
        else:
            ignored.append(name)
    measured = [s for s in measured if np.isfinite(s.values).any()]
    if not measured and not sizes:
        raise _bad(
            "no column holds a measured length",
            where,
            "name it with its unit last: x_mm, bore_d_mm, size_in",
        )
    nests = tuple(cells_of["nest"]) if any(cells_of.get("nest", ())) else None
    who = tuple(cells_of["who"]) if any(cells_of.get("who", ())) else None
    return Run(
        source=where, unit=unit, parts=parts, minutes=_minutes(cells_of, where, _news(parts), comma=comma),
        sizes=tuple(sizes), measured=tuple(measured or sizes), offsets=tuple(offsets),
        torque=torque, nests=nests, ignored=tuple(ignored), who=who,
    )  # fmt: skip


def _series(stem: str, values: Floats) -> tuple[str, Series]:
    words = columns.bare(stem)
    if words[0] in columns.SIZE:
        return "size", Series(stem, "_".join(words[1:]), words[-1] if words[-1] in AXES else "", values)
    if words[0] == "offset" or columns.is_work_offset(words[0]):
        axis = next((w for w in words[1:] if w in AXES), "")
        kept = np.nan_to_num(values)
        if words[0] != "offset" and not columns.says_change(
            stem
        ):  # the offset itself, not what it was moved by
            kept = np.diff(_held(values), prepend=_held(values)[:1])
        return "offset", Series(stem, "_".join(words[1:]), axis, kept)
    axis = words[-1] if words[-1] in (*AXES, "d") else ""
    feature = "_".join(words[:-1] if axis else words)
    return "measured", Series(stem, feature, axis, values)


def _held(values: Floats) -> Floats:
    """Values (n,) with those not written down as the last one was, 0 where there was none."""
    out, last = values.copy(), 0.0
    first = values[np.isfinite(values)]
    last = float(first[0]) if len(first) else 0.0
    for k, v in enumerate(values):
        last = float(v) if math.isfinite(v) else last
        out[k] = last
    return out


def number(cell: str, unit: str, *, comma: bool) -> float | None:
    """What a cell says in the ``unit`` of its column, which it may repeat ("0.012 mm"); None: not measured.

    Raises ``ValueError`` when it is no finite number, or names another unit.
    """
    c = cell.replace("\u2212", "-").replace("\u00a0", " ").strip()
    if c.lower() in NOTHING:
        return None
    if c.lower().endswith(unit) and len(c) > len(unit):
        c = c[: -len(unit)].strip()
    value = float(c.replace(",", ".") if comma else c)
    if not math.isfinite(value):
        raise ValueError(f"{cell} is not finite")
    return value


def _numbers(cells: list[str], name: str, where: str, factor: float, *, comma: bool) -> Floats:
    out = np.full(len(cells), np.nan)
    unit = name.rpartition("_")[2]
    for k, cell in enumerate(cells):
        try:
            value = number(cell, unit, comma=comma)
        except ValueError:
            raise _bad(f"row {k + 2}, column '{name}': \"{cell}\" is not a number", where) from None
        if value is None:
            continue
        out[k] = value * factor
        if abs(out[k]) > LARGEST:
            raise _bad(f"row {k + 2}, column '{name}': \"{cell}\" is larger than anything on a mill", where)
    return out


def _news(parts: tuple[str, ...]) -> Bools:
    """Rows of parts that were not measured before: only they stand in the order of making."""
    first: dict[str, int] = {}
    for k, p in enumerate(parts):
        first.setdefault(p, k)
    out = np.zeros(len(parts), dtype=bool)
    out[list(first.values())] = True
    return out


def _minutes(columns: dict[str, list[str]], where: str, new: Bools, *, comma: bool) -> Floats | None:
    for unit, factor in TIMES.items():
        if f"time_{unit}" in columns:
            got = _numbers(columns[f"time_{unit}"], f"time_{unit}", where, factor, comma=comma)
            return _forward(got, where, new)
    if "time" not in columns or not any(columns["time"]):
        return None
    cells = ["" if c.lower() in NOTHING else c for c in columns["time"]]
    if not any(cells):
        return None
    turned = _day_first(cells)
    out = np.array([_clock(c, k, where, day_first=turned) for k, c in enumerate(cells)])
    for k in range(1, len(out)):  # a clock without a date passes midnight
        if new[k] and out[k] < out[k - 1] and out[k - 1] - out[k] > 720 and out[k] < 2880:
            out[k:] += 1440
    return _forward(out, where, new)


def _forward(minutes: Floats, where: str, new: Bools) -> Floats:
    known = minutes[np.isfinite(minutes) & new]
    if (np.diff(known) < -1e-9).any():
        raise _bad("time runs backward", where, "give the rows in the order the parts were made")
    return minutes


CLOCK = re.compile(
    r"(?:(?P<y>\d{4})-(?P<m>\d{1,2})-(?P<d>\d{1,2})[T ]\s*"  # 2026-03-01
    r"|(?P<d2>\d{1,2})\.(?P<m2>\d{1,2})\.(?P<y2>\d{2,4}),?\s+"  # 01.03.2026
    r"|(?P<a>\d{1,2})/(?P<b>\d{1,2})/(?P<y3>\d{2,4}),?\s+)?"  # 3/1/2026, or 1/3/2026
    r"(?P<hour>\d{1,2}):(?P<minute>\d{2})(?::(?P<second>\d{2}(?:[.,]\d+)?))?"
    r"\s*(?P<half>[AaPp]\.?[Mm]\.?)?\s*(?P<zone>Z|[+-]\d{2}:?\d{2})?$"
)


def _clock(text: str, row: int, where: str, *, day_first: bool) -> float:
    """Minutes of a time of day, with a date those since 1970; nan for an empty cell."""
    if not text:
        return math.nan
    hit = CLOCK.match(text)
    try:
        if hit is None:
            raise ValueError(text)
        g = hit.groupdict()
        hour = int(g["hour"])
        if g["half"]:
            if not 1 <= hour <= 12:
                raise ValueError(text)
            hour = hour % 12 + (12 if g["half"][0] in "Pp" else 0)
        if hour > 24 or int(g["minute"]) > 59:
            raise ValueError(text)
        minutes = 60.0 * hour + int(g["minute"]) + float((g["second"] or "0").replace(",", ".")) / 60
        if g["zone"] and g["zone"] != "Z":
            away = g["zone"].replace(":", "")
            minutes -= (1 if away[0] == "+" else -1) * (60 * int(away[1:3]) + int(away[3:5]))
        return minutes + 1440.0 * _days(g, day_first=day_first)
    except ValueError:
        raise _bad(
            f"row {row + 2}, column 'time': \"{text}\" is not a time", where, "write 14:05 or time_min"
        ) from None


def _days(g: dict[str, str | None], *, day_first: bool) -> int:
    """Days since 1970 of what a clock's date says, 0 without one. Raises ValueError."""
    if g["y"]:
        y, m, d = g["y"], g["m"], g["d"]
    elif g["y2"]:
        y, m, d = g["y2"], g["m2"], g["d2"]
    elif g["y3"]:
        y, m, d = (g["y3"], g["b"], g["a"]) if day_first else (g["y3"], g["a"], g["b"])
    else:
        return 0
    year = int(y) + (2000 if int(y) < 100 else 0)
    return (datetime.date(year, int(m or 0), int(d or 0)) - datetime.date(1970, 1, 1)).days


def _day_first(cells: list[str]) -> bool:
    """Whether dates with slashes have the day first: some first number is no month; else month first."""
    firsts = [int(h.group("a")) for c in cells if (h := CLOCK.match(c)) and h.group("a")]
    return any(v > 12 for v in firsts)


def _bad(what: str, where: str, todo: str = "") -> JawrightError:
    return JawrightError("run-bad", what=what, where=where, todo=todo)
