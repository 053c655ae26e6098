"""Contact pressure of the walls on the part, and the clamp force at which it starts to bruise.

Lengths in mm, angles in rad, forces in N, torques in N·m.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from jawright import handbook
from jawright.hold.model import Contact, Hold
from jawright.jaws.model import Jaws
from jawright.mechanics import hertz
from jawright.proof.body import WallLoad, jaw_material, modulus, part_material, wall_loads
from jawright.proof.rules import rule

CONFORMING = 0.02
"""Relative difference of radii below which a wall is taken to wrap the part: flat pressure rules."""


@dataclass(frozen=True, slots=True)
class Pressure:
    """Pressure at the worst wall contact against its limit [MPa]."""

    value: float
    limit: float
    contact: Contact
    line: bool  # Hertz line contact
    use: float  # share of the clamp force that brings it to the limit: 1 at the limit


def loads_of(hold: Hold, friction: tuple[float, float, float]) -> tuple[WallLoad, ...] | None:
    """Wall loads at the set friction, else at the high one: the part must be in balance at all."""
    for mu in (friction[1], friction[2]):
        got = wall_loads(hold, mu)
        if got is not None:
            return got
    return None


def worst_pressure(
    loads: tuple[WallLoad, ...],
    *,
    hold: Hold,
    jaws: Jaws | None,
    material: str,
    force: float,
    share: float,
    marks: bool,
) -> Pressure | None:
    """The wall contact nearest to its limit at a clamp ``force`` [N].

    Conforming or flat walls: mean pressure over length times the grip depth in contact (``share``)
    against half the yield of the softer body (a fifth where no mark may show). Where the
    curvatures differ: Hertz line contact against first yield (its load halved where no mark may show).
    A wall that leans against the jaw yields along its line: mean pressure over the band that a mark of the
    most allowed depth leaves, against the yield (a fifth of it where no mark may show).
    None when a material is not known.
    """
    work = part_material(material)
    if work is None:
        return None
    jaw = jaw_material(jaws)
    soft = handbook.softer(work, jaw).bruise_stress
    pressed = 1.0 if marks else rule("cosmetic_share").set
    mean_limit = soft * rule("crush_share" if marks else "cosmetic_share").set
    line_limit = hertz.LINE_YIELD * soft * (1.0 if marks else math.sqrt(0.5))
    leaning = [w.contact.point[2] for w in loads if w.contact.lean and w.contact.on != "stop"]
    line_at = sum(leaning) / len(leaning) if leaning else None
    worst: Pressure | None = None
    for w in loads:
        c = w.contact
        normal = w.share * force
        depth = hold.grip_depth * share if line_at is None or c.lean else _across(hold, line_at)
        if _differs(c):
            radius = hertz.relative_radius(c.radius_part, c.radius_jaw)
            _, value = hertz.line_contact(normal / depth, radius, modulus(work, jaw))
            limit, line = line_limit, True
            use = (value / limit) ** 2
        elif c.lean and hertz.blunt_wedge_pressure(abs(c.lean), modulus(work, jaw)) > mean_limit:
            # it yields along the line until the band is wide enough: the limit is the depth of that mark
            value, limit, line = normal / (max(c.share, 1e-3) * hold.grip_depth), soft * pressed, False
            use = value / limit
        else:
            value, limit, line = normal / (max(c.share, 1e-3) * depth), mean_limit, False
            use = value / limit
        if worst is None or use > worst.use:
            worst = Pressure(value, limit, c, line, use)
    return worst


def _across(hold: Hold, line: float) -> float:
    """Height of an upright wall [mm] over which the force would press evenly with the peak it presses with.

    Across from it a leaning wall touches at height ``line``. The force goes straight across, so the pressure
    is a triangle three times as high as the line is far from the nearer end of the wall, its peak twice its
    mean: half of that, at least what bears on the line, at most the whole wall.
    """
    whole = hold.jaw_top - hold.floor
    near = min(line - hold.floor, hold.jaw_top - line)
    return min(whole, max(hold.grip_depth, 1.5 * near))


def _differs(c: Contact) -> bool:
    radius = hertz.relative_radius(c.radius_part, c.radius_jaw)
    if math.isinf(radius):
        return False
    own = min(r for r in (abs(c.radius_part), abs(c.radius_jaw)) if r > 0)
    return own / radius > CONFORMING
