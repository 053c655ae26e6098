"""Indicator readings on a vise jaw, from which its mount's stiffness is told."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

from jawright.errors import JawrightError
from jawright.files.schema import Key, Section
from jawright.files.sections import Reader
from jawright.files.toml import load
from jawright.shop.schema import UNITS
from jawright.units import System

SETUP = Section(
    "setup",
    "How the indicator and the clamped bar stood. Heights are above the vise's bed.",
    (
        Key("vise", "text", "id of the vise in the shop file", required=True),
        Key("low", "length", "height of the lower indicator", required=True, least=0.0, most=500.0),
        Key("high", "length", "height of the upper indicator", required=True, above=0.0, most=500.0),
        Key("bar", "length", "height of the middle of the clamped bar", required=True, above=0.0, most=500.0),
    ),
)
READING = Section(
    "reading",
    "One torque step: both indicators, + where the jaw gives way.",
    (
        Key("torque", "torque", "handle torque; the vise's screw or its measured table turns it into force",
            above=0.0, most=500.0),
        Key("force", "force", "clamp force from a load cell, instead of the torque", above=0.0, most=1e6),
        Key("low", "length", "lower indicator", required=True, least=-5.0, most=5.0),
        Key("high", "length", "upper indicator", required=True, least=-5.0, most=5.0),
    ),
    many=True,
)  # fmt: skip
SECTIONS = (SETUP, READING)


@dataclass(frozen=True, slots=True)
class Step:
    """One step: ``torque`` [N·m] or ``force`` [N], whichever was read; readings [mm]."""

    torque: float | None
    force: float | None
    low: float
    high: float


@dataclass(frozen=True, slots=True)
class Readings:
    """Readings on one jaw of the vise called ``vise``; heights [mm] above the bed.

    ``units`` are those the file is written in, in which its writer wants to be answered.
    """

    vise: str
    low: float
    high: float
    bar: float
    steps: tuple[Step, ...]
    source: str
    units: System = "mm"


def read_readings(path: Path) -> Readings:
    """Read and check a file of readings.

    Raises ``JawrightError`` with file and line, also when a step has neither torque nor force, or both,
    or when some steps have one and some the other.
    """
    doc = load(path)
    file = Reader(doc, SECTIONS, loose=(UNITS,))
    setup = file.one("setup")
    steps = []
    for row in file.many("reading"):
        torque, force = row.maybe("torque"), row.maybe("force")
        if (torque is None) == (force is None):
            row.refuse("", "a reading needs a torque or a force, and not both")
        steps.append(Step(torque, force, row.real("low"), row.real("high")))
    if len({s.torque is None for s in steps}) > 1:
        raise JawrightError(
            "value-bad",
            what="some readings have a torque and some a force",
            where=doc.name,
            todo="give all readings the same",
        )
    low, high = setup.real("low"), setup.real("high")
    if high <= low:
        setup.refuse("high", "the upper indicator must stand above the lower one")
    units: System = "inch" if file.plain == "in" else "mm"
    return Readings(setup.text("vise"), low, high, setup.real("bar"), tuple(steps), doc.name, units)
