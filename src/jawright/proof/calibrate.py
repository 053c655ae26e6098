"""The mount of a vise jaw from indicator readings, as the shop file wants it."""

from __future__ import annotations

from dataclasses import dataclass
from typing import NoReturn

import numpy as np

from jawright.errors import JawrightError
from jawright.mechanics import mount
from jawright.proof.clamp import clamp_force, torque_limit
from jawright.shop.model import Shop, Vise
from jawright.shop.readings import Readings
from jawright.units import INSIDE, System, convert, read_unit, show

OVER = 10.0
"""A point this far [mm] over the jaws' listed height can still be on them: chamfers, worn steps."""
APART = 10.0
"""Least distance [mm] between the indicators: nearer, a lean of 1e-5 is lost in a micrometer."""
TWICE = 2.0
"""Times what the vise gives with its best friction: more is another unit."""


@dataclass(frozen=True, slots=True)
class Calibration:
    """``mount`` of the jaw, and in words where the forces came from."""

    vise: str
    mount: mount.Mount
    steps: int
    force_why: str


def calibrate(readings: Readings, shop: Shop) -> Calibration:
    """Stiffness and play of one jaw's mount with 95 % intervals.

    Forces come from the readings, else from their torque by the vise's screw or measured table, whose
    band then widens the interval. Raises ``value-bad`` for a vise the shop has not, for heights, torques and
    forces that this vise cannot have, for a torque beyond the measured table, and for readings that tell
    nothing.
    """
    vise = next((v for v in shop.vises if v.id == readings.vise), None)
    if vise is None:
        raise JawrightError(
            "value-bad",
            what=f"the shop has no vise {readings.vise}",
            where=readings.source,
            todo=f"name one of {', '.join(v.id for v in shop.vises)}",
        )
    _believe(readings, vise)
    force, band, why = _forces(readings, vise)
    got = _mount(readings, force, band)
    return Calibration(vise.id, got, len(force), why)


def _mount(readings: Readings, force: list[float], band: tuple[float, float]) -> mount.Mount:
    return mount.calibrate(
        np.array(force),
        np.array([s.low for s in readings.steps]),
        np.array([s.high for s in readings.steps]),
        heights=(readings.low, readings.high),
        load_height=readings.bar,
        force_band=band,
        said=lambda v: show(v, "length", readings.units),
    )


def _believe(readings: Readings, vise: Vise) -> None:
    """Refuse heights and loads that the vise cannot have had: slips in writing."""

    def refuse(what: str, todo: str) -> NoReturn:
        raise JawrightError("value-bad", what=what, where=readings.source, todo=todo)

    def mm(value: float) -> str:
        return show(value, "length", readings.units, digits=1 if readings.units == "mm" else 2)

    top = vise.hard_jaw_height
    for name, z in (("bar", readings.bar), ("high", readings.high)):
        if not 0 < z <= top + OVER:
            refuse(
                f"{name} lies {mm(z)} over the bed, but the jaws of vise {vise.id} end at {mm(top)}",
                "heights are measured from the bed that the jaws stand on",
            )
    if readings.high - readings.low < APART:
        refuse(
            f"the two indicators stand {mm(readings.high - readings.low)} apart, too near to tell a lean",
            f"set them at least {mm(APART)} apart, better {mm(25.4)}",
        )
    for k, s in enumerate(readings.steps, 1):
        if s.torque is not None and s.torque > vise.torque_max * (1 + 1e-9):
            refuse(
                f"reading {k} is at {show(s.torque, 'torque', readings.units)}; vise {vise.id} takes "
                f"{show(vise.torque_max, 'torque', readings.units)} at most",
                "check the reading, or torque_max in the shop file",
            )
        most = vise.force if vise.force is not None else clamp_force(vise, torque_limit(vise))
        if s.force is not None and most is not None and s.force > TWICE * most.high:
            refuse(
                f"reading {k} is at {show(s.force, 'force', readings.units)}; vise {vise.id} closes with "
                f"{show(most.high, 'force', readings.units)} at most",
                "check the unit of the force",
            )


def _forces(readings: Readings, vise: Vise) -> tuple[list[float], tuple[float, float], str]:
    direct = [s.force for s in readings.steps if s.force is not None]
    if direct:
        return direct, (1.0, 1.0), "clamp force read from a load cell"
    force, band, why = [], (1.0, 1.0), ""
    for s in readings.steps:
        assert s.torque is not None
        if vise.force is not None:
            raise JawrightError(
                "value-bad",
                what=f"no wrench closes vise {vise.id}, so its readings have no torque",
                where=readings.source,
                todo="give each reading its force",
            )
        one = clamp_force(vise, s.torque)
        if one is None:
            raise JawrightError(
                "value-bad",
                what=f"{show(s.torque, 'torque', readings.units)} lies beyond the torque table of "
                f"vise {vise.id}",
                where=readings.source,
                todo="measure the clamp force there, or leave that step out",
            )
        force.append(one.set)
        band, why = (one.low / one.set, one.high / one.set), one.basis
    return force, band, why


def snippet(c: Calibration, system: System = "mm") -> str:
    """Lines to put under the vise in the shop file."""
    m = c.mount
    rows = [
        f"# vise {c.vise}: mount of one jaw from {c.steps} readings, 95 % intervals; {c.force_why}",
        f"tilt_stiffness = {_band(m.tilt, 'turning stiffness', system)}",
        f"push_stiffness = {_band(m.push, 'stiffness', system)}",
    ]
    for name, s in (("tilt_stiffness", m.tilt), ("push_stiffness", m.push)):
        if not s.bounded:
            rows.append(f"# the readings set no upper end to {name}: ten times the set value stands there")
    return "\n".join(rows)


def _band(s: mount.Stiffness, kind: str, system: System) -> str:
    unit = read_unit(kind, system)
    values = (convert(v, INSIDE[kind], unit) for v in (s.low, s.set, s.high))
    return "[" + ", ".join(f'"{v:.3g} {unit}"' for v in values) + "]"
