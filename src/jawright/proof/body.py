"""The held part as a rigid body on friction contacts, for the cone mechanics.

Lengths in mm, angles in rad, forces in N, torques in N·m.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from jawright import handbook
from jawright.errors import JawrightError
from jawright.handbook import Material
from jawright.hold.model import Contact, Hold
from jawright.hold.outline import DRAWN, FLANK
from jawright.jaws.model import Jaws
from jawright.mechanics import cone, hertz
from jawright.mechanics.cone import Array

TOUCHING = 0.01
"""Largest nominal gap [mm] of a contact that is taken to carry."""

SQUARE_ENOUGH = math.cos(FLANK + DRAWN)
"""Walls whose normal has less than this along the closing direction carry no friction.

Two steep walls facing each other could otherwise be squeezed against each other in thought,
without limit and without any clamp force behind it: where they lie nearer to X than the angle of
friction, 20° for a coefficient of 0.36.
"""

NEAR_EDGE = 0.5773502691896257
"""Share of half the grip depth at which a wall's force acts: Gauss points, an even pressure's spread."""

HARD_JAW = "hardened steel"


def carrying(hold: Hold) -> tuple[Contact, ...]:
    """The contacts that touch at nominal while it is cut: not a stop that is swung away before."""
    gone = hold.side_stop is not None and hold.side_stop.away
    return tuple(c for c in hold.contacts if c.gap <= TOUCHING and not (gone and c.on == "stop"))


def jaw_material(jaws: Jaws | None) -> Material:
    """Material of the jaws; hard jaws are hardened steel."""
    if jaws is None:
        return handbook.material(HARD_JAW)
    return handbook.material(jaws.fixed.blank.material)


def part_material(name: str) -> Material | None:
    """Material of the part, None when the handbook does not have it."""
    try:
        return handbook.material(name)
    except JawrightError:
        return None


def modulus(a: Material, b: Material) -> float:
    """Contact modulus of two materials [MPa]."""
    return hertz.contact_modulus(a.E, a.nu, b.E, b.nu)


def friction_body(hold: Hold, friction: float) -> cone.Contacts | None:
    """The part on its contacts with one friction coefficient; None when no wall of a jaw pushes it.

    Each wall contact acts at two heights of the grip depth, so that it can also carry a couple.
    The stop only pushes; steep walls carry no friction.
    """
    rows: list[tuple[tuple[float, float, float], tuple[float, float, float], float, bool]] = []
    half = hold.grip_depth / 2 * NEAR_EDGE
    for c in carrying(hold):
        if c.on == "floor":
            rows.append((c.point, c.normal, friction, False))
            continue
        mu = friction if c.on != "stop" and abs(c.normal[1]) >= SQUARE_ENOUGH else 0.0
        for dz in (-half, half):
            p = (c.point[0], c.point[1], c.point[2] + dz)
            rows.append((p, c.normal, mu, c.on == "floating"))
    if not any(r[3] for r in rows) or not any(r[1][1] < -SQUARE_ENOUGH for r in rows):
        return None
    return cone.Contacts(
        np.array([r[0] for r in rows]),
        np.array([r[1] for r in rows]),
        np.array([r[2] for r in rows]),
        np.array([r[3] for r in rows]),
    )


def walls_alone(hold: Hold, friction: float) -> tuple[cone.Contacts, Array] | None:
    """Walls and stop the clamp presses, each at two heights, their stiffness; None unless on both jaws."""
    half = hold.grip_depth / 2 * NEAR_EDGE
    own = [
        c
        for c in carrying(hold)
        if c.on == "stop" or (c.on in ("fixed", "floating") and abs(c.normal[1]) >= SQUARE_ENOUGH)
    ]
    if not {"fixed", "floating"} <= {c.on for c in own}:
        return None
    rows = [(c, dz) for c in own for dz in (-half, half)]
    contacts = cone.Contacts(
        np.array([(c.point[0], c.point[1], c.point[2] + dz) for c, dz in rows]),
        np.array([c.normal for c, _ in rows]),
        np.array([0.0 if c.on == "stop" else friction for c, _ in rows]),
        np.array([c.on == "floating" for c, _ in rows]),
    )
    return contacts, np.array([max(c.share, 1e-3) for c, _ in rows])


@dataclass(frozen=True, slots=True)
class WallLoad:
    """Normal force of one wall contact per newton of clamp force."""

    contact: Contact
    share: float


def wall_loads(hold: Hold, friction: float) -> tuple[WallLoad, ...] | None:
    """How the clamp force spreads over the wall contacts: elastic, stiffness by length of wall.

    Returns None when the clamp alone cannot hold the part in balance at this friction.
    """
    own = [c for c in carrying(hold) if c.on != "floor"]
    if not any(c.on == "floating" for c in own) or not any(c.on == "fixed" for c in own):
        return None
    body = cone.Contacts(
        np.array([(c.point[0], c.point[1], 0.0) for c in own]),  # planar: heights are for tipping
        np.array([c.normal for c in own]),
        np.array([0.0 if c.on == "stop" else friction for c in own]),
        np.array([c.on == "floating" for c in own]),
    )
    stiffness: Array = np.array([max(c.share, 1e-3) for c in own])
    forces = cone.elastic_forces(body, stiffness, clamp=1.0)
    if forces is None:
        return None
    normal = np.einsum("ij,ij->i", forces, body.normals)
    return tuple(WallLoad(c, max(0.0, float(f))) for c, f in zip(own, normal, strict=True))
