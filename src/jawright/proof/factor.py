"""How far each feature's load may grow before the part slips or tips, per newton of clamp force."""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import lru_cache

import numpy as np

from jawright.hold.model import Hold, MadeFeature
from jawright.mechanics import cone, slip
from jawright.mechanics.cone import Array
from jawright.proof.body import friction_body, part_material, walls_alone
from jawright.proof.cutload import FeatureLoad, feature_load, wrenches
from jawright.proof.rules import rule
from jawright.shop.model import Band3

DEEPER = 8
"""How many of the worst cases at low friction are solved again at the set and high end."""

THOUSAND = 1000.0
"""Clamp force [N] at which the first slip is worked out; it grows in proportion."""


@dataclass(frozen=True, slots=True)
class Case:
    """The worst load of a feature: point, force [N], how the part would go, and what clamp it needs.

    ``clamp`` is the clamp force [N] at which the load is just carried, at low, set and high
    friction (falling); ``required`` the factor asked for, between the slip and the tip factor by
    the share of tipping; ``mode`` in words: "slips along X".
    """

    feature: MadeFeature
    load: FeatureLoad
    point: tuple[float, float, float]
    force: tuple[float, float, float]
    clamp: tuple[float, float, float]
    required: float
    mode: str
    count: int
    first: float | None = None  # first slip with elastic forces: factor per newton of clamp; None: not known

    @property
    def need(self) -> float:
        """Clamp force [N] for the required factor with the worst friction."""
        return self.clamp[0] * self.required


def mode_of(twist: tuple[float, ...] | None, wrench: Array, center: Array) -> tuple[str, float]:
    """How the part would go, from the virtual motion: words, and the share of tipping in it, 0 to 1."""
    if twist is None:
        return "cannot be held", 0.0
    force = wrench[:3]
    moment = wrench[3:] - np.cross(center, force)
    power = np.concatenate([force, moment]) * np.array(twist)
    groups = {
        "slips along X": power[0],
        "slips along Y": power[1],
        "is pulled up" if force[2] > 0 else "is pressed down": power[2],
        "tips over": power[3] + power[4],
        "spins about Z": power[5],
    }
    name = max(groups, key=lambda k: (groups[k], k))
    whole = sum(max(0.0, float(p)) for p in groups.values())
    return name, max(0.0, float(groups["tips over"])) / whole if whole > 0 else 0.0


@lru_cache(maxsize=16)
def worst_cases(hold: Hold, material: str, friction: Band3) -> tuple[Case, ...] | None:
    """The worst case of each feature; None when a load is not known or nothing grips the part.

    The load is the set one (handbook force, usual wear); the factor asked for covers its scatter.
    """
    work = part_material(material)
    body = friction_body(hold, friction.low)
    if work is None or body is None:
        return None
    out = []
    for f in hold.features:
        load = feature_load(f, work)
        if load is None:
            return None
        out.append(_worst(hold, f, load, body, friction))
    return tuple(out)


def _worst(hold: Hold, f: MadeFeature, load: FeatureLoad, body: cone.Contacts, friction: Band3) -> Case:
    rows, points = wrenches(f, load.set)
    center = body.points.mean(axis=0)
    found = cone.least_clamp(body, rows)
    slip, tip = rule("slip_factor").set, rule("tip_factor").set
    graded = []
    for k, got in enumerate(found):
        mode, tips = mode_of(got.twist, rows[k], center)
        required = slip + (tip - slip) * tips
        clamp = math.inf if math.isnan(got.clamp) else got.clamp
        graded.append((clamp * required, clamp, required, mode, k))
    graded.sort(key=lambda g: (-g[0], g[4]))
    top = graded[0]
    again = rows[[g[4] for g in graded[:DEEPER]]]
    ends = [top[1]]
    for mu in (friction.set, friction.high):
        other = friction_body(hold, mu)
        assert other is not None
        ends.append(max(r.clamp for r in cone.least_clamp(other, again)))
    k = top[4]
    force = rows[k][:3]
    return Case(
        feature=f,
        load=load,
        point=points[k],
        force=(float(force[0]), float(force[1]), float(force[2])),
        clamp=(ends[0], min(ends[0], ends[1]), min(ends[0], ends[1], ends[2])),
        required=round(top[2], 6),
        mode=top[3] if top[1] > 0 else "is carried without friction",
        count=len(rows),
        first=_first(hold, rows[k], friction.low),
    )


def _first(hold: Hold, wrench: Array, mu: float) -> float | None:
    """Factor per newton of clamp at which the first wall contact slides; the floor left out."""
    found = walls_alone(hold, mu)
    if found is None:
        return None
    got = slip.first_slip(*found, wrench, clamp=THOUSAND)
    return None if got is None else got / THOUSAND
