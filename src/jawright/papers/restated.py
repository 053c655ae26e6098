"""A record's sheet in the other unit: a job planned in millimeters and read in inch, or the other way."""

from __future__ import annotations

from dataclasses import fields, is_dataclass, replace
from typing import Any, TypeVar

from jawright.papers.show import Picture
from jawright.record import Record
from jawright.told import words
from jawright.units import System

T = TypeVar("T")


def names_in(record: Record) -> tuple[str, ...]:
    """Names that somebody typed and that read like a quantity: "hole 6 mm"."""
    typed = [record.job.name, *(m.name for m in (record.hold.features if record.hold else ()))]
    return tuple(
        dict.fromkeys(n for n in typed if words(n, "inch", "mm") != n or words(n, "mm", "inch") != n)
    )


def restated(value: T, system: System, own: System, keep: tuple[str, ...] = ()) -> T:
    """Every string in a block of the sheet, or in a group of them, as ``words`` gives it; drawings stay."""
    if system == own or isinstance(value, Picture):
        return value
    done: Any = value
    if isinstance(value, str):
        done = words(value, system, own, keep)
    elif isinstance(value, tuple):
        done = tuple(restated(v, system, own, keep) for v in value)
    elif is_dataclass(value) and not isinstance(value, type):
        parts = {f.name: getattr(value, f.name) for f in fields(value)}
        done = replace(
            value, **{k: restated(v, system, own, keep) for k, v in parts.items() if _holds_words(v)}
        )
    return done  # type: ignore[no-any-return]


def _holds_words(value: object) -> bool:
    return isinstance(value, (str, tuple)) or is_dataclass(value)
