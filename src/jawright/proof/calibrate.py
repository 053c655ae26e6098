"""The mount of a vise jaw from indicator readings, as the shop file wants it."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from jawright.errors import JawrightError
from jawright.mechanics import mount
from jawright.proof.clamp import clamp_force
from jawright.shop.model import Shop, Vise
from jawright.shop.readings import Readings


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
    band then widens the interval. Raises ``value-bad`` for a vise the shop has not, for a torque beyond the
    measured table, and for readings that tell nothing.
    """
    vise = next((v for v in shop.vises if v.id == readings.vise), None)
    if vise is None:
        raise JawrightError(
            "value-bad",
            what=f"the shop has no vise {readings.vise}",
            where=readings.source,
            todo=f"name one of {', '.join(v.id for v in shop.vises)}",
        )
    force, band, why = _forces(readings, vise)
    got = mount.calibrate(
        np.array(force),
        np.array([s.low for s in readings.steps]),
        np.array([s.high for s in readings.steps]),
        heights=(readings.low, readings.high),
        load_height=readings.bar,
        force_band=band,
    )
    return Calibration(vise.id, got, len(force), why)


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
                what=f"{s.torque:g} N·m lies beyond the torque table of vise {vise.id}",
                where=readings.source,
                todo="measure the clamp force there, or leave that step out",
            )
        force.append(one.set)
        band, why = (one.low / one.set, one.high / one.set), one.basis
    return force, band, why


def snippet(c: Calibration) -> str:
    """Lines to put under the vise in the shop file."""
    m = c.mount
    rows = [
        f"# vise {c.vise}: mount of one jaw from {c.steps} readings, 95 % intervals; {c.force_why}",
        f"tilt_stiffness = {_band(m.tilt, 'N·mm/rad')}",
        f"push_stiffness = {_band(m.push, 'N/mm')}",
    ]
    for name, s in (("tilt_stiffness", m.tilt), ("push_stiffness", m.push)):
        if not s.bounded:
            rows.append(f"# the readings set no upper end to {name}: ten times the set value stands there")
    return "\n".join(rows)


def _band(s: mount.Stiffness, unit: str) -> str:
    return "[" + ", ".join(f'"{v:.3g} {unit}"' for v in (s.low, s.set, s.high)) + "]"
