"""Clamp force of a vise from handle torque and back, low / set / high."""

from __future__ import annotations

import math
from dataclasses import dataclass

from jawright.mechanics import screw
from jawright.proof.rules import rule
from jawright.shop.model import Vise
from jawright.units import System, show


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


def by_force(vise: Vise) -> bool:
    """True for a vise that no wrench closes: what is said of it as ``torque`` is then a clamp force [N]."""
    return vise.force is not None


def unit(vise: Vise) -> str:
    """Unit of what closes the vise: torque at its handle, or the clamp force itself."""
    return "N" if by_force(vise) else "N·m"


def said(vise: Vise, setting: float, system: System) -> str:
    """A setting of the vise, a torque [N·m] or a force [N], as text."""
    return show(setting, "force" if by_force(vise) else "torque", system)


def what(vise: Vise) -> str:
    """What is set on the vise, in words."""
    return "clamp force" if by_force(vise) else "torque"


def torque_limit(vise: Vise) -> float:
    """Largest setting the answers reach [N·m, or N of a vise that no wrench closes].

    The vise's own torque, and no more than was measured; of a force as it is set, that force.
    """
    if vise.force is not None:
        return vise.force.set
    if vise.torque_table:
        return min(vise.torque_max, max(t for t, _ in vise.torque_table))
    return vise.torque_max


def scatter_of(vise: Vise) -> tuple[float, str]:
    """Scatter of a measured table, ± share, and its basis."""
    if vise.table_scatter > 0:
        return vise.table_scatter, "shop file"
    usual = rule("table_scatter")
    return usual.set, usual.basis


def clamp_force(vise: Vise, torque: float) -> ClampForce | None:
    """Clamp force at a handle torque [N·m]; None beyond the measured table.

    With a measured table the scatter of a wrench is the band; without one, the friction of screw
    and collar is. Of a vise that no wrench closes ``torque`` is the force it is set to [N], the band that
    of the shop file in proportion.
    """
    own = vise.force
    if own is not None:
        basis = (
            f"clamp force as the vise is set, {own.low:.0f} / {own.set:.0f} / {own.high:.0f} N ({own.basis})"
        )
        return ClampForce(torque * own.low / own.set, torque, torque * own.high / own.set, basis)
    if vise.torque_table:
        force = screw.force_from_table(torque, vise.torque_table)
        scatter, why = scatter_of(vise)
        if force is None:
            return None
        return ClampForce(
            force * (1 - scatter),
            force,
            force * (1 + scatter),
            f"clamp force from the vise's measured table, ± {scatter:.0%} ({why})",
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
    own = vise.force
    if own is not None:
        end = own.set if low_end is None else own.low if low_end else own.high
        return force * own.set / end
    if vise.torque_table:
        scatter = 0.0 if low_end is None else scatter_of(vise)[0]
        got = screw.torque_from_table(force / (1 - scatter if low_end else 1 + scatter), vise.torque_table)
        return math.inf if got is None else got
    f = vise.screw_friction
    mu = f.set if low_end is None else f.high if low_end else f.low
    return screw.torque_to_clamp(screw_of(vise), force, friction=mu, collar_friction=mu)
