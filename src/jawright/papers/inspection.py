"""First article table: what to measure, within what, from what, and with what."""

from __future__ import annotations

import tomllib
from dataclasses import dataclass
from functools import cache
from importlib.resources import files
from typing import Any

from jawright.hold.model import Hold, MadeFeature
from jawright.hold.seen import holes_seen
from jawright.job.model import ToleranceAsk
from jawright.papers.measure import Reader
from jawright.record import Record

PLUS_MINUS = ("distance", "size", "diameter")
"""Kinds that limit a size or distance, not where a zone lies."""


@cache
def words() -> dict[str, Any]:
    """The table of words of the sheet."""
    return tomllib.loads(files("jawright.data").joinpath("sheet_words.toml").read_text("utf-8"))


@dataclass(frozen=True, slots=True)
class Check:
    """One characteristic of the first article."""

    balloon: int
    feature: str
    characteristic: str
    nominal: str
    limits: str
    datums: str
    method: str
    resolution: str  # coarsest gauge that serves


def checks(record: Record) -> tuple[Check, ...]:
    """Every tolerance of this operation's features, then sizes that only the print limits."""
    hold = record.hold
    if hold is None:
        return ()
    r = Reader(record.job.units)
    rows: list[tuple[str, ...]] = []
    for m in hold.features:
        hidden = m.diameter is not None and m.region is None and m not in holes_seen(hold)
        asks = [t for t in hold.tolerances if t.feature == m.name]
        if not hidden and not any(t.kind in PLUS_MINUS for t in asks):
            size = _size_row(m, hold, r)
            if size:
                rows.append(size)
        rows += [_ask_row(t, m, hold, r) for t in asks]
    known = {m.name for m in hold.features}
    rows += [_stray_row(t, r) for t in hold.tolerances if t.feature not in known]
    return tuple(Check(i + 1, *row) for i, row in enumerate(rows))


def _size_row(m: MadeFeature, hold: Hold, r: Reader) -> tuple[str, ...] | None:
    gauge = words()["gauge"]
    if m.region is None and m.diameter is not None:
        return (
            m.name,
            "diameter",
            f"Ø{r.place(m.diameter)}",
            "by the print",
            "",
            gauge["size"],
            "a tenth of them",
        )
    if m.kind == "face":
        height = r.place(m.bottom - hold.floor)
        return (
            m.name,
            "height over the floor face",
            height,
            "by the print",
            "",
            gauge["distance"],
            "a tenth of them",
        )
    return None


def _ask_row(t: ToleranceAsk, m: MadeFeature, hold: Hold, r: Reader) -> tuple[str, ...]:
    gauge = words()["gauge"]
    method = gauge.get(t.kind, gauge["default"])
    if t.kind in PLUS_MINUS:
        what, value = plain(t, m, hold)
        size = f"{'Ø' if what == 'diameter' else ''}{r.place(value)}"
        return (m.name, what, size, _limits(t, r), " ".join(t.datums), method, _resolution(t.zone, r))
    nominal = "basic " + _basic(t, m, hold, r) if t.kind == "position" else ""
    return (m.name, t.kind, nominal, _zone(t, r), " | ".join(t.datums), method, _resolution(t.zone, r))


def plain(t: ToleranceAsk, m: MadeFeature, hold: Hold) -> tuple[str, float]:
    """What a plain ± limits, in words, and its nominal size [mm]."""
    across = m.diameter or m.across
    if t.kind in ("size", "diameter") and across is not None:
        return "diameter", across
    planes = [d for d in hold.datums if d.letter in t.datums and d.kind == "plane" and abs(d.normal[2]) < 0.9]
    if planes:
        d = planes[0]
        away = sum((m.center[k] - d.point[k]) * d.normal[k] for k in range(2))
        return f"distance from {d.letter}", abs(away)
    return "height over the floor face", m.bottom - hold.floor


def _limits(t: ToleranceAsk, r: Reader) -> str:
    """ "± 0.100 mm", or both limits where they are unequal: "+0.050/+0.020 mm"."""
    low, high = t.limits
    if abs(low + high) < 1e-9:
        return f"± {r.place(high)}"
    number, _, unit = r.place(abs(high)).partition(" ")
    other = r.place(abs(low)).partition(" ")[0]
    return f"{'-' if high < 0 else '+'}{number}/{'-' if low < 0 else '+'}{other} {unit}"


def _stray_row(t: ToleranceAsk, r: Reader) -> tuple[str, ...]:
    gauge = words()["gauge"]
    method = gauge.get(t.kind, gauge["default"])
    return (t.feature, t.kind, "", _zone(t, r), " | ".join(t.datums), method, _resolution(t.zone, r))


def _zone(t: ToleranceAsk, r: Reader) -> str:
    material = {"": "", "maximum": " at maximum material", "least": " at least material"}[t.material]
    more = ""
    if t.projected:
        end = {"top": "its top", "bottom": "its bottom", "either": "either end"}[t.from_end]
        more = f", on a pin {r.place(t.projected)} out of {end}"
    elif t.middle:
        side = "out of" if t.middle > 0 else "into"
        more = f", about {r.place(abs(t.middle))} {side} the metal"
    return f"within {'Ø' if t.diametral else ''}{r.place(t.zone)}{material}{more}"


def _basic(t: ToleranceAsk, m: MadeFeature, hold: Hold, r: Reader) -> str:
    """Distances of the feature from the datum planes its place is given from."""
    out = []
    for d in hold.datums:
        if d.letter in t.datums and d.kind == "plane" and abs(d.normal[2]) < 0.9:
            away = sum((m.center[k] - d.point[k]) * d.normal[k] for k in range(2))
            out.append(f"{r.place(abs(away))} from {d.letter}")
    return ", ".join(out) or "place by the print"


def _resolution(width: float, r: Reader) -> str:
    return r.place(words()["gauge"]["share"] * width)


def holding_rows(record: Record) -> tuple[tuple[str, str], ...]:
    """What a plain report lacks and a later diagnosis needs: label, and what to write there."""
    r = Reader(record.job.units)
    hold = record.hold
    torque = f"set {r.torque(record.torque[1])}" if record.torque else "set: unknown"
    forced = False
    if hold is not None and hold.vise.force is not None:
        forced = True
        torque = f"set {r.value(hold.vise.force.set, 'N', digits=0)}"
    width = ""
    if hold is not None:
        box = hold.outline.outer.box
        width = f"nominal {r.place(box[3] - box[1])}"
    springy = [m.name for m in hold.features if m.kind in ("bore", "ream", "face")][:3] if hold else []
    return (
        ("Seat check", "paper or feeler under each corner: none may pull"),
        ("Width of this part across the clamp", width),
        ("Clamp force used" if forced else "Torque used", torque),
        ("Work offset values when it was cut", f"{record.shop.nc.work_offset}: X, Y, Z"),
        ("Clamped reading, then released reading", ", ".join(springy) or "of the most springy feature"),
        ("Temperature of part and jaws; gauge and its calibration", ""),
    )
