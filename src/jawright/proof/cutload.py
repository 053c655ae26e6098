"""What each feature's cut does to the part: load low / set / high, points and directions.

Lengths in mm, angles in rad, forces in N, torques in N·m.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import lru_cache

import numpy as np

from jawright.handbook import Material
from jawright.hold.model import MadeFeature
from jawright.job.model import FeatureKind
from jawright.mechanics.cone import Array
from jawright.mechanics.force import (
    CutLoad,
    Kienzle,
    MillCut,
    boring_load,
    drilling_load,
    engagement,
    milling_load,
)
from jawright.proof.rules import rule
from jawright.shop.model import Cutter

DIRECTIONS = 16
"""Directions of the load round the circle; it is scaled so that their polygon contains the circle."""

MOST_POINTS = 12


@dataclass(frozen=True, slots=True)
class FeatureLoad:
    """Load of one feature at three ends, and what it rests on in words."""

    low: CutLoad
    set: CutLoad
    high: CutLoad
    basis: tuple[str, ...]


def feature_load(f: MadeFeature, work: Material) -> FeatureLoad | None:
    """Cutting load of a feature; None when the material has no specific cutting force.

    low: soft batch, sharp edge; set: handbook value, usual wear; high: hard batch, worn edge.
    """
    if work.kc11 is None or work.mc is None:
        return None
    loads = [load_at(f, work, end) for end in ("low", "set", "high")]
    basis = (
        f"{f.name}: specific cutting force {work.kc11:.0f} MPa at 1 mm chip, exponent {work.mc:g}, "
        f"± {work.kc_spread:.0%} (VDI 3323 group {work.group}, typical)",
        rule("wear").said("edge wear factor"),
        *(f"{f.name}: {a}" for a in f.assumed),
    )
    return FeatureLoad(loads[0], loads[1], loads[2], basis)


def _end(name: str, end: str) -> float:
    value: float = getattr(rule(name), end)
    return value


def load_at(f: MadeFeature, work: Material, end: str) -> CutLoad:
    """Cutting load of a feature at one end, of a material that has a specific cutting force."""
    cut = _Cut(f.kind, f.cutter, f.feed_per_tooth, f.diameter, f.radial, f.axial, f.through)
    return _load(cut, work, end)


@dataclass(frozen=True, slots=True)
class _Cut:
    """What of a feature its load depends on: the same in most stances, so loads are kept by it."""

    kind: FeatureKind
    cutter: Cutter
    feed_per_tooth: float
    diameter: float | None
    radial: float
    axial: float
    through: bool


@lru_cache(maxsize=1024)
def _load(f: _Cut, work: Material, end: str) -> CutLoad:
    assert work.kc11 is not None and work.mc is not None
    kc = work.kc11 * (1 + work.kc_spread * {"low": -1, "set": 0, "high": 1}[end])
    wear = _end("wear", end)
    c = f.cutter
    feed = max(f.feed_per_tooth, 1e-3)
    if f.kind == "drill":
        law = Kienzle(kc, work.mc, _end("drill_torque", end), _end("drill_thrust", end), wear)
        size = f.diameter or c.diameter
        pilot = max(0.0, size - 2 * f.radial)
        grab = _end("drill_grab", end) if f.through else 0.0
        tip = c.tip_angle or math.radians(118)
        feed_per_turn = feed * max(c.flutes, 1)
        return drilling_load(
            law, diameter=size, feed=feed_per_turn, tip_angle=tip, pilot=min(pilot, size - 1e-3), grab=grab
        )
    if f.kind in ("bore", "ream") and c.kind in ("boring bar", "reamer"):
        law = Kienzle(kc, work.mc, _end("radial_share", end), _end("bore_axial", end), wear)
        size = f.diameter or c.diameter
        edges = c.flutes if c.kind == "reamer" else 1
        return boring_load(law, diameter=size, feed=feed, radial=max(f.radial, 1e-3), edges=edges)
    axial = (
        math.tan(c.helix) * _end("axial_helix_share", end) if c.helix > 0 else _end("axial_flat_share", end)
    )
    law = Kienzle(kc, work.mc, _end("radial_share", end), axial, wear)
    radial = min(max(f.radial, 1e-3), c.diameter)
    entry, leave = engagement(c.diameter, radial, position="centered" if f.kind == "face" else "up")
    deep = f.axial
    if f.kind == "bore":  # milled along a helix: the metal per side over a flute's length, a layer at a time
        deep = min(f.axial, c.diameter / 2)
    cut = MillCut(c.diameter, max(c.flutes, 1), c.helix, max(deep, 1e-3), feed, entry, leave)
    return milling_load(cut, law, runout=c.runout)


def load_points(f: MadeFeature) -> list[tuple[float, float, float]]:
    """The points of the path where the load is worst for some hold: extremes of it, at most twelve a level.

    The clamp force a load needs is a convex function of the point, so only the corners of the
    path's hull can be worst.
    """
    out: list[tuple[float, float, float]] = []
    levels = sorted({round(p[2], 6) for p in f.path})
    keep = levels if len(levels) <= 2 else [levels[0], levels[-1]]
    for z in keep:
        plan = [p for p in f.path if abs(p[2] - z) < 1e-5]
        for k in range(MOST_POINTS):
            a = 2 * math.pi * k / MOST_POINTS
            best = max(plan, key=lambda p: (p[0] * math.cos(a) + p[1] * math.sin(a), p))
            if best not in out:
                out.append(best)
    return out


def wrenches(f: MadeFeature, load: CutLoad) -> tuple[Array, list[tuple[float, float, float]]]:
    """All load cases of a feature: (m, 6) force [N] and moment about the origin [N·mm], and their points.

    Every point, every direction in the plan, up and down, spin either way.
    """
    spins = (load.spin * 1000.0, -load.spin * 1000.0) if load.spin else (0.0,)
    lifts = sorted({load.up, -load.down})
    grow = 1.0 / math.cos(math.pi / DIRECTIONS)
    if load.side > 0:
        angles = [2 * math.pi * k / DIRECTIONS for k in range(DIRECTIONS)]
        plan = [(load.side * grow * math.cos(a), load.side * grow * math.sin(a)) for a in angles]
    else:
        plan = [(0.0, 0.0)]
    rows, at = [], []
    for p in load_points(f):
        for fx, fy in plan:
            for fz in lifts:
                for spin in spins:
                    force = np.array((fx, fy, fz))
                    moment = np.cross(p, force) + np.array((0.0, 0.0, spin))
                    rows.append(np.concatenate([force, moment]))
                    at.append(p)
    return np.array(rows), at
