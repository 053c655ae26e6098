"""A program as the writer leaves it: text, and what each cutter does in it."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class CutterUse:
    """One tool change of the program."""

    cutter: str  # id in the shop
    number: int
    purpose: str
    spindle: float  # [rev/min]
    feed: float  # [mm/min]
    step_over: float  # largest radial engagement asked for [mm]
    step_down: float  # [mm]
    minutes: float  # cutting time by the writer's own sum
    reason: str  # one line: why this cutter


@dataclass(frozen=True, slots=True)
class Program:
    """Word-address text (ISO 6983-1) for one setup."""

    name: str
    text: str
    units: str  # "mm" or "inch"
    cutters: tuple[CutterUse, ...]
    minutes: float
    origin: tuple[float, float, float]  # the program's zero in the vise frame [mm]
    origin_words: str  # "X0 Y0 at the bored tooling hole, Z0 at the top of the fixed jaw"
    turned: bool = False  # True: program axes are turned half a turn about Z against the vise frame
    wear: tuple[int, ...] = ()  # D numbers the path is compensated with: each 0 for a cutter of true size
