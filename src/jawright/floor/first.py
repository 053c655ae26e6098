"""The first article's results against the table of a record, judged with their uncertainty."""

from __future__ import annotations

import csv
import io
import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from pathlib import Path

from scipy.special import ndtr

from jawright.errors import JawrightError
from jawright.floor.adjust import Characteristic
from jawright.floor.gauging import Judgment, gauge_words, judge
from jawright.floor.run import decode, number
from jawright.units import INCH, convert

UNITS = {"mm": "mm", "um": "µm", "in": "in", "thou": "thou"}
FIELDS = ("result", "x", "y", "clamped", "uncertainty", "resolution", "low", "high")
MAX_BYTES = 1024 * 1024
SLIP = 0.02
"""A reading this near the nominal, once an inch is taken for 25.4 mm, was typed in the other unit."""
ROUNDED = 1e-3
"""Limits in a table that are off by less [mm] were rounded when it was written."""
WIDE = 0.25
"""Share of the tolerance above which an uncertainty is pointed out (common practice, no source)."""
RULE = (
    "guarded acceptance: in when inside the limits by at least the expanded uncertainty U, out when beyond "
    "them by more than U, else not proven (ISO 14253-1, from memory); U is taken as twice the standard "
    "uncertainty, and the chance to conform from a normal distribution (JCGM 106, 7.2, from memory)"
)
"""The decision rule by which results are judged; it goes with every result."""


@dataclass(frozen=True, slots=True)
class Result:
    """What was measured of one characteristic [mm]; a position has two readings."""

    number: int
    readings: tuple[float, ...]
    uncertainty: float | None  # expanded, about 95 %
    resolution: float | None
    clamped: float | None = None  # the same thing read while still clamped
    gauge: str = ""
    low: float | None = None  # the print's limits, as typed into the table
    high: float | None = None
    diameter: float | None = None  # of a position, where it was given as one


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
    chance: float | None = None  # that it conforms, 0 to 1
    sprang: float | None = None  # reading clamped less reading released
    resolution: float | None = None
    gauge: str = ""


def is_first(text: str) -> bool:
    """Whether a CSV text is a first article table: its first line names a column ``balloon``."""
    head = next(
        (line for line in text.splitlines() if line.strip() and not line.lstrip().startswith("#")), ""
    )
    return "balloon" in [h.strip().lower() for h in head.replace(";", ",").replace("\t", ",").split(",")]


def read_results(path: Path) -> tuple[Result, ...]:
    """Columns ``balloon`` and ``result_mm``, or ``x_mm`` and ``y_mm``; ``uncertainty_mm``, ``resolution_mm``,
    ``clamped_mm`` and ``gauge``; ``low_mm`` and ``high_mm`` where the record has no limits. Lines that
    begin with # are notes.

    Raises ``file-missing``, ``file-too-large``, ``file-empty`` or ``run-bad``.
    """
    return parse_results(read_text(path), path.name)


def read_text(path: Path) -> str:
    """The text of a table. Raises ``file-missing`` or ``file-too-large``."""
    try:
        if path.stat().st_size > MAX_BYTES:
            raise JawrightError("file-too-large", what="the table is larger than 1 MB", where=path.name)
        return decode(path.read_bytes())
    except OSError as e:
        raise JawrightError(
            "file-missing", what=f"the results cannot be read ({e.strerror})", where=path.name
        ) from None


def parse_results(text: str, where: str = "table") -> tuple[Result, ...]:
    """The results in CSV text. Raises ``file-empty`` or ``run-bad``."""
    numbered = [
        (k, line)
        for k, line in enumerate(text.splitlines(), 1)
        if line.strip() and not line.lstrip().startswith("#")
    ]
    lines = [line for _, line in numbered]
    if not lines:
        raise JawrightError("file-empty", what="the table holds nothing", where=where)
    if not is_first(lines[0]):
        raise JawrightError(
            "run-bad",
            what="there is no column 'balloon'",
            where=where,
            todo='"jawright first record.json" writes a table to fill in',
        )
    mark = max(("\t", ";", ","), key=lines[0].count)
    rows = list(csv.DictReader(io.StringIO("\n".join(lines)), delimiter=mark, skipinitialspace=True))
    out = []
    for k, row in enumerate(rows):
        cells = {(n or "").strip().lower(): (v or "").strip() for n, v in row.items() if isinstance(v, str)}
        line = numbered[min(k + 1, len(numbered) - 1)][0]
        out.append(_result(cells, f"{where}, line {line}", comma=mark != ","))
    twice = [r.number for r in out if sum(o.number == r.number for o in out) > 1]
    if twice:
        raise JawrightError("run-bad", what=f"balloon {twice[0]} stands twice", where=where)
    return tuple(out)


def read_notes(text: str) -> dict[str, str]:
    """What stands above the table in lines "# name: value", by name; empty values are left out."""
    pairs = (line.lstrip("# ").split(":", 1) for line in text.splitlines() if line.lstrip().startswith("#"))
    rows = {p[0].strip(): p[1].strip().rstrip(",;") for p in pairs if len(p) == 2}
    return {k: v for k, v in rows.items() if v}


def _result(cells: dict[str, str], where: str, *, comma: bool) -> Result:
    try:
        balloon = int(cells.get("balloon", ""))
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
            value = number(cell, unit, comma=comma)
        except ValueError:
            raise JawrightError(
                "run-bad",
                what=f'{name}: "{cell}" is not a number',
                where=where,
                todo=f"the column is in {unit}",
            ) from None
        if value is not None:
            found[stem] = value * convert(1.0, UNITS[unit], "mm")
    for name in ("uncertainty", "resolution"):
        if found.get(name, 1.0) <= 0:
            raise JawrightError("run-bad", what=f"{name} is not above 0", where=where)
    if "low" in found and "high" in found and found["low"] >= found["high"]:
        raise JawrightError("run-bad", what="the lower limit is not below the upper one", where=where)
    deviations = [found[n] for n in ("x", "y") if n in found]
    one = [found["result"]] if "result" in found else deviations[:1]
    readings = tuple(deviations if len(deviations) == 2 else one)
    return Result(
        balloon,
        readings,
        found.get("uncertainty"),
        found.get("resolution"),
        found.get("clamped"),
        cells.get("gauge", ""),
        found.get("low"),
        found.get("high"),
        found.get("result"),
    )


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
    if low is None and high is None and r is not None:
        low, high = r.low, r.high  # the record has none: the print's, as typed
    base = Judged(c.number, c.feature, c.what, None, low, high, None, None, "not measured")
    if r is None or (not r.readings and r.diameter is None):
        return base
    both = plane and len(r.readings) > 1
    if plane and not both and r.diameter is None:
        return replace(base, why="give both deviations, x_mm and y_mm, or their diameter as the result")
    if plane and not both:
        assert r.diameter is not None
        value = r.diameter
    else:
        value = 2 * math.hypot(*r.readings[:2]) if plane else r.readings[0]
    stated = 2 * r.uncertainty if both and r.uncertainty is not None else r.uncertainty
    unsure, stepped = _with_step(stated, r.resolution, twice=both)
    sprang = None if plane or r.clamped is None else r.clamped - value
    base = replace(
        base, value=value, uncertainty=unsure, sprang=sprang, resolution=r.resolution, gauge=r.gauge
    )
    if why := _doubtful(c, r, value, low, high):
        return replace(base, why=why)
    if low is None or high is None:
        return replace(base, why="its limits are on the print: type them into low and high")
    words = [gauge_words(r.resolution, high - low)] if r.resolution is not None else []
    if unsure is None:
        inside = "within the limits" if low <= value <= high else "outside the limits"
        words.insert(0, f"{inside}; give the measurement's uncertainty to prove it")
        return replace(base, why="; ".join(w for w in words if w))
    words += [stepped, _other_limits(r, low, high)]
    if unsure > WIDE * (high - low):
        words.append(f"U is {unsure / (high - low):.0%} of the tolerance: a tenth is wanted")
    if plane and not both:
        words.append("judged by its diameter; X and Y apart would also tell where it went")
    bottom = None if low == 0.0 else low  # a deviation has no lower limit
    chance = None if plane else conforms(value, bottom, high, standard=unsure / 2)
    judgment = judge(value, bottom, high, uncertainty=unsure)
    return replace(base, judgment=judgment, chance=chance, why="; ".join(w for w in words if w))


def _with_step(stated: float | None, step: float | None, *, twice: bool) -> tuple[float | None, str]:
    """The expanded uncertainty, no less than the gauge's own step gives, and what is to be said of it.

    A reading to a step d is off by a rectangular d wide, so U is at least 2 d / sqrt(12), ``twice`` that
    for a diameter from two readings. Source: JCGM 100:2008, F.2.2.1 (from memory).
    """
    if stated is None or step is None:
        return stated, ""
    least = (2.0 if twice else 1.0) * 2.0 * step / math.sqrt(12.0)
    if stated >= least:
        return stated, ""
    return least, f"the gauge's step of {step:.4g} mm alone makes U larger than was given: that is taken"


FAR_LIMITS, FAR_SHARE = 10.0, 0.05
"""Limits off the nominal by so many of their own widths and by this share of it are a slip: no fit is."""


def _other_limits(r: Result, low: float, high: float) -> str:
    """Words when the limits in the table are not those it is judged by."""
    away = [t for t, known in ((r.low, low), (r.high, high)) if t is not None and abs(t - known) > ROUNDED]
    return "the limits in the table are not the record's: the record's count" if away else ""


def _doubtful(c: Characteristic, r: Result, value: float, low: float | None, high: float | None) -> str:
    """Why a reading is not judged as it stands: it cannot be right; "" when it can."""
    if c.nominal == 0.0 and low == 0.0 and value < 0.0:
        return "it is below 0, and this is the width of a zone: type how wide, without a sign"
    if r.diameter is not None and len(r.readings) > 1 and abs(r.diameter - value) > max(0.005, 0.1 * value):
        return f"the diameter given, {r.diameter:.4g} mm, is not that of X and Y, {value:.4g} mm"
    if low is not None and high is not None and c.nominal:
        far = max(low - c.nominal, c.nominal - high)
        if (
            far > max(FAR_LIMITS * (high - low), FAR_SHARE * c.nominal)
            and r.low is not None
            and r.high is not None
        ):
            return f"the limits typed, {low:g} to {high:g} mm, do not belong to the nominal {c.nominal:g} mm"
    if low is not None and high is not None and low <= value <= high:
        return ""
    for other, unit in ((value * INCH, "inches"), (value / INCH, "mm")):
        if c.nominal and abs(other - c.nominal) < SLIP * c.nominal:
            return f"it reads as if it were typed in {unit}: it would then be {other:.4g} mm"
    return ""


def conforms(value: float, low: float | None, high: float, *, standard: float) -> float:
    """Chance that the measured thing is within its limits, given the ``standard`` uncertainty [mm].

    Normal distribution about the measured value: Phi((high - value) / u) - Phi((low - value) / u).
    Source: JCGM 106:2012, 7.2 (from memory).
    """
    below = 0.0 if low is None else float(ndtr((low - value) / standard))
    return float(ndtr((high - value) / standard)) - below
