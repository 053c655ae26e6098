"""First slip with the contact forces that the elastic jaws leave: the conservative second figure.

Lengths in mm, angles in rad, forces in N, torques in N·m.
"""

from __future__ import annotations

import numpy as np

from jawright.beside import one_thread
from jawright.hold.model import Hold
from jawright.jaws.model import Jaws
from jawright.job.model import Job
from jawright.mechanics import slip
from jawright.mechanics.cone import Array, Contacts
from jawright.part.model import Part
from jawright.proof import elastic
from jawright.proof.body import walls_alone
from jawright.proof.elastic_join import Held, Model
from jawright.proof.factor import Case
from jawright.proof.window import Study
from jawright.shop.model import Shop


def pressed_forces(m: Model, held: Held, contacts: Contacts) -> Array | None:
    """Normal forces (n, 3) [N] of the clamp on ``contacts``, those of the wall patches nearest to each.

    Only in balance along Y, to which they are scaled: what friction and stop take is left out. None where the
    walls of the elastic jaws do not lie where the contacts are.
    """
    out = np.zeros((len(contacts.points), 3))
    for side in ("fixed", "floating"):
        w = m.jaws[side].walls
        own = np.flatnonzero((contacts.driven == (side == "floating")) & (contacts.friction > 0))
        if not len(own):
            return None
        place = w.middle[:, None, :] - contacts.points[own][None, :, :]
        near = own[np.argmin((place**2).sum(axis=2) - 1e3 * (w.normal @ -contacts.normals[own].T), axis=1)]
        np.add.at(out, near, held.force[side][:, None] * contacts.normals[near])
    return out


def first_slip(
    hold: Hold, jaws: Jaws | None, part: Part, job: Job, shop: Shop, *, s: Study, case: Case
) -> float | None:
    """Factor on the case's load at which the first wall slides, at the bad end of clamp and friction.

    By the pressure of the elastic jaws where they serve, else by the stiffness of the walls. The floor is
    left out. None where neither is known. Source: as ``mechanics.slip``.
    """
    if s.force is None:
        return None
    plain = None if case.first is None else case.first * s.force.low
    m = elastic.model(hold, jaws, part, job.material)
    found = walls_alone(hold, shop.friction.low)
    if m is None or found is None:
        return plain
    mounts = elastic.ends(hold.vise, "set")
    with one_thread():
        cut = elastic.cut_state(m, mounts, None if jaws is None else jaws.stack, s.force.set)
        if cut is None:
            return plain
        held = elastic.used(m, mounts, cut, s.force.low)
    contacts, stiffness = found
    standing = pressed_forces(m, held, contacts)
    if standing is None:
        return plain
    force, at, spin = np.array(case.force), np.array(case.point), case.load.set.spin * 1000.0
    got = []
    for way in (spin, -spin) if spin else (0.0,):
        wrench = np.concatenate([force, np.cross(at, force) + np.array([0.0, 0.0, way])])
        got.append(slip.first_slip(contacts, stiffness, wrench, clamp=s.force.low, standing=standing))
    known = [g for g in got if g is not None]
    return min(known) if known else plain
