"""Clamp force of a vise from handle torque and back, low / set / high."""

from __future__ import annotations

import math
from dataclasses import dataclass

from jawright.mechanics import screw
from jawright.proof.rules import rule
from jawright.shop.model import Vise


@dataclass(frozen=True, slots=True)
class ClampForce:
    """Clamp force [N] at the bad, set and good end of the vise's own friction."""

    low: float
    set: float
    high: float
    basis: str


def screw_of(vise: Vise) -> screw.Screw:
    """The vise's screw as the mechanics knows it."""
    return screw.Screw(vise.screw_lead, vise.screw_mean_diameter, vise.flank_angle, vise.collar_mean_diameter)


def torque_limit(vise: Vise) -> float:
    """Largest torque the answers reach [N·m]: the vise's own, and no more than was measured."""
    if vise.torque_table:
        return min(vise.torque_max, max(t for t, _ in vise.torque_table))
    return vise.torque_max


def clamp_force(vise: Vise, torque: float) -> ClampForce | None:
    """Clamp force at a handle torque [N·m]; None beyond the measured table.

    With a measured table the scatter of a wrench is the band; without one, the friction of screw
    and collar is.
    """
    if vise.torque_table:
        force = screw.force_from_table(torque, vise.torque_table)
        scatter = rule("table_scatter")
        if force is None:
            return None
        return ClampForce(
            force * (1 - scatter.set),
            force,
            force * (1 + scatter.set),
            f"clamp force from the vise's measured table, ± {scatter.set:.0%} ({scatter.basis})",
        )
    f = vise.screw_friction
    low, mid, high = screw.clamp_band(screw_of(vise), torque, frictions=(f.low, f.set, f.high))
    basis = f"screw and collar friction {f.low:g} / {f.set:g} / {f.high:g} ({f.basis})"
    return ClampForce(low, mid, high, basis)


def torque_for_at_least(vise: Vise, force: float) -> float:
    """Torque [N·m] that gives at least ``force`` [N] even with the worst friction; inf when not reachable."""
    return _torque(vise, force, low_end=True)


def torque_for_at_most(vise: Vise, force: float) -> float:
    """Torque [N·m] that gives no more than ``force`` [N] even with the best friction; inf when never."""
    return _torque(vise, force, low_end=False)


def torque_for_usual(vise: Vise, force: float) -> float:
    """Torque [N·m] that gives ``force`` [N] with usual friction; inf when not reachable."""
    return _torque(vise, force, low_end=None)


def _torque(vise: Vise, force: float, *, low_end: bool | None) -> float:
    """``low_end``: True for the worst friction of the screw, False for the best, None for the usual."""
    if math.isinf(force):
        return math.inf
    if vise.torque_table:
        scatter = 0.0 if low_end is None else rule("table_scatter").set
        got = screw.torque_from_table(force / (1 - scatter if low_end else 1 + scatter), vise.torque_table)
        return math.inf if got is None else got
    f = vise.screw_friction
    mu = f.set if low_end is None else f.high if low_end else f.low
    return screw.torque_to_clamp(screw_of(vise), force, friction=mu, collar_friction=mu)
