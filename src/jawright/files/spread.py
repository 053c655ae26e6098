"""How a number of a job or shop file varies: a shape that is stated, or values somebody measured.

In place of one value a key may hold a table: ``{value = "0.4 mm", distribution = "uniform"}``, or
``{from = "widths.csv", column = "width_mm", nominal = "42 mm"}``.
"""

from __future__ import annotations

import csv
import io
import math
from dataclasses import dataclass
from pathlib import Path, PurePosixPath, PureWindowsPath
from typing import Literal

import numpy as np
from scipy.special import chdtri

from jawright import units
from jawright.errors import JawrightError
from jawright.files.limits import MEASURED_BYTES, MEASURED_LEAST, MEASURED_MOST

Shape = Literal["", "normal", "uniform", "measured"]
SHAPES = ("normal", "uniform")
Rule = Literal["", "zone", "limit", "sigma", "rise", "least"]
"""What the plain number of a key stands for: the whole width of a zone, a limit either way, one standard
deviation, a rise from zero, or the least of what is there."""


@dataclass(frozen=True, slots=True)
class Spread:
    """``shape`` "" as this number usually varies; ``values`` measured [inside unit], off their nominal."""

    shape: Shape = ""
    values: tuple[float, ...] = ()
    basis: str = ""


@dataclass(frozen=True, slots=True)
class Column:
    """A column of a file of measurements as a job or shop file names it."""

    file: str
    name: str
    unit: str  # "" where the column's name ends in it
    kind: str
    where: str

    def spread(self, folder: Path, rule: Rule, *, nominal: float | None) -> Spread:
        """What was measured, off ``nominal`` [inside unit]. Raises as ``beside`` and ``read_column``."""
        path = beside(self.file, folder, self.where)
        raw = read_column(path, self.name, kind=self.kind, unit=self.unit, where=self.where)
        said = f"{len(raw)} values of {self.name} in {path.name}"
        return Spread("measured", measured(raw, rule, nominal=nominal), said)


def measured(values: tuple[float, ...], rule: Rule, *, nominal: float | None) -> tuple[float, ...]:
    """Deviations from what was measured: off ``nominal``, and for a zone half of it, as both sides grow."""
    if nominal is None or rule == "least":
        return values
    off = tuple(v - nominal for v in values)
    return tuple(v / 2 for v in off) if rule == "zone" else off


def figures(values: tuple[float, ...], rule: Rule) -> tuple[float, float, float]:
    """Low, set and high of the plain number that measured ``values`` stand for.

    A standard deviation comes with its 95 % interval (chi-square, e-Handbook 7.2.3.1); limits hold
    every value; a rise goes from its least over its middle to its most; a least is the smallest value.
    """
    if rule == "sigma":
        free = len(values) - 1
        sd = float(np.std(values, ddof=1))
        low, high = (sd * math.sqrt(free / chdtri(free, q)) for q in (0.025, 0.975))
        return low, sd, high
    if rule == "rise":
        return max(0.0, min(values)), max(0.0, float(np.median(values))), max(0.0, *values)
    if rule == "least":
        return min(values), min(values), min(values)
    most = max(abs(v) for v in values) * (2.0 if rule == "zone" else 1.0)
    return most, most, most


def read_column(path: Path, column: str, *, kind: str, unit: str, where: str) -> tuple[float, ...]:
    """The numbers in one column of a CSV file, in the inside unit of ``kind``.

    Fields are parted by comma, semicolon or tab; with the latter two a decimal comma is understood.
    Empty fields and lines that start with # are left out. ``unit`` is that of the column; without it
    the column's own name must end in one (``width_mm``).

    Raises ``file-missing``, ``file-too-large``, ``value-bad`` and ``unit-missing`` with the place.
    """
    rows, mark = _rows(path, where)
    names = [n.strip() for n in rows[0]]
    if column not in names:
        raise JawrightError(
            "value-bad",
            what=f'{path.name} has no column "{column}"',
            where=where,
            todo=f"its first line names: {', '.join(names[:12])}",
        )
    unit = unit or _unit_in(column, kind, where)
    at = names.index(column)
    values = []
    for line, row in enumerate(rows[1:], start=2):
        cell = row[at].strip() if at < len(row) else ""
        if not cell:
            continue
        try:
            number = float(cell.replace(",", ".") if mark != "," else cell)
        except ValueError:
            number = math.nan
        if not math.isfinite(number):
            raise JawrightError(
                "value-bad", what=f'"{cell[:40]}" in row {line} of {path.name} is not a number', where=where
            )
        values.append(units.convert(number, unit, units.INSIDE[kind]))
    if not MEASURED_LEAST <= len(values) <= MEASURED_MOST:
        raise JawrightError(
            "value-bad",
            what=f"{path.name} has {len(values)} values in {column}",
            where=where,
            todo=f"between {MEASURED_LEAST} and {MEASURED_MOST} measurements make a distribution",
        )
    return tuple(values)


def beside(name: str, folder: Path, where: str) -> Path:
    """The file ``name`` in ``folder`` or below it. Raises ``value-bad`` for a name that leads elsewhere."""
    parts = (*PurePosixPath(name).parts, *PureWindowsPath(name).parts)
    if ".." in parts or PurePosixPath(name).is_absolute() or PureWindowsPath(name).drive:
        raise JawrightError(
            "value-bad", what=f'"{name}" leads out of the folder', where=where, todo="put the CSV beside it"
        )
    return folder / name


def _unit_in(column: str, kind: str, where: str) -> str:
    last = column.rpartition("_")[2]
    if kind == "temperature":
        return "K"
    try:
        units.parse(f"1 {last}", kind)
    except JawrightError:
        raise JawrightError(
            "unit-missing",
            what=f'the column "{column}" does not say its unit',
            where=where,
            todo=f'add unit = "{units.INSIDE[kind]}", or end its name in _{units.INSIDE[kind]}',
        ) from None
    return last


def _rows(path: Path, where: str) -> tuple[list[list[str]], str]:
    try:
        size = path.stat().st_size
        raw = path.read_bytes() if size <= MEASURED_BYTES else b""
    except OSError as error:
        raise JawrightError(
            "file-missing",
            what=f"the measurements in {path.name} cannot be read",
            where=where,
            todo=(error.strerror or "check the name").lower(),
        ) from None
    if size > MEASURED_BYTES:
        raise JawrightError("file-too-large", what=f"{path.name} has {size} bytes", where=where)
    text = raw.decode("utf-8-sig", errors="replace")
    lines = [line for line in text.splitlines() if line.strip() and not line.lstrip().startswith("#")]
    if not lines:
        raise JawrightError("file-empty", what=f"{path.name} holds nothing", where=where)
    mark = max((",", "\t", ";"), key=lines[0].count)
    return list(csv.reader(io.StringIO("\n".join(lines)), delimiter=mark, skipinitialspace=True)), mark
