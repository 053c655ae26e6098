"""First slip of a clamped body on elastic contacts: the conservative second figure beside the limit factor.

Contacts that only touch while the body is clamped share a load by their stiffness. The limit factor lets
forces move from contact to contact until none can take more; here it ends when the first one slides.
mm, N, N·mm.
"""

from __future__ import annotations

import math

import numpy as np

from jawright.errors import JawrightError
from jawright.mechanics.cone import Array, Contacts, elastic_forces, load_factor

SLID = 1e-3
"""A contact this near its limit under the clamp alone (share of the square) has slid already."""
SHEAR = 0.8
"""Stiffness along a contact over that into it: like metals (Mindlin)."""


def first_slip(
    contacts: Contacts, stiffness: Array, wrench: Array, *, clamp: float, standing: Array | None = None
) -> float | None:
    """Factor by which a load may grow until the first contact slides or opens.

    Forces are those of the clamp alone (least complementary energy within the cones) and those of the
    load, shared by stiffness with no contact sliding and the clamp force unchanged.

    Parameters: ``stiffness`` (n,) relative; ``wrench`` (6,) load on the body, force [N] and moment about the
    origin [N·mm]; ``clamp`` [N]; ``standing`` (n, 3) forces of the clamp alone where they are known better,
    None for those by the stiffnesses. Returns: factor; a contact that slid as the clamp closed is left out;
    infinite where none ever does, None when the clamp alone cannot hold the body. Raises: ``value-bad`` for a
    clamp not above zero. Valid for: contacts all of which the clamp presses; small motions.
    Source: elastic contacts in series and parallel, e.g. Johnson, Contact Mechanics.
    """
    if clamp <= 0:
        raise JawrightError("value-bad", what="the clamp force must be above zero", where="clamp force")
    if standing is None:
        standing = elastic_forces(contacts, stiffness, clamp=clamp)
    if standing is None:
        return None
    moving = _shared(contacts, stiffness, np.asarray(wrench, dtype=float))
    n = contacts.normals / np.linalg.norm(contacts.normals, axis=1)[:, None]
    found = zip(standing, moving, n, contacts.friction, strict=True)
    first = min(_factor(a, b, k, float(mu)) for a, b, k, mu in found)
    return min(first, load_factor(contacts, np.asarray(wrench, dtype=float), clamp=clamp))


def _shared(c: Contacts, stiffness: Array, wrench: Array) -> Array:
    """Forces (k, 3) of bonded springs that balance a load, without change of the clamp force."""
    k = len(c.points)
    n = c.normals / np.linalg.norm(c.normals, axis=1)[:, None]
    project = n[:, :, None] * n[:, None, :]
    along = np.where(c.friction[:, None, None] > 0, SHEAR, 1e-9)
    own = (stiffness / stiffness.mean())[:, None, None] * (project + along * (np.eye(3) - project))
    center = c.points.mean(axis=0)
    arm = c.points - center
    size = max(float(np.abs(arm).max()), 1.0)
    grasp = np.zeros((7, k, 3))
    for i in range(3):
        unit = np.zeros(3)
        unit[i] = 1.0
        grasp[i] = unit
        grasp[3 + i] = np.cross(unit, arm) / size
    grasp[6] = np.where(c.driven[:, None], np.asarray(c.closing), 0.0)
    load = np.concatenate([wrench[:3], (wrench[3:] - np.cross(center, wrench[:3])) / size, [0.0]])
    soft = np.einsum("aki,kij->akj", grasp, own)
    gram = np.einsum("aki,bki->ab", soft, grasp)
    motion = np.linalg.lstsq(gram, -load, rcond=1e-10)[0]
    return np.asarray(np.einsum("a,akj->kj", motion, soft))


def _factor(standing: Array, moving: Array, normal: Array, mu: float) -> float:
    """Least λ ≥ 0 at which ``standing + λ moving`` leaves the cone of one contact."""
    n0, n1 = float(standing @ normal), float(moving @ normal)
    t0, t1 = standing - n0 * normal, moving - n1 * normal
    if mu <= 0:
        return math.inf  # what only pushes has nothing to slide on; that it may let go is not a slip
    # |t0 + λ t1|² = μ² (n0 + λ n1)²
    a = float(t1 @ t1) - mu * mu * n1 * n1
    b = 2 * (float(t0 @ t1) - mu * mu * n0 * n1)
    c = float(t0 @ t0) - mu * mu * n0 * n0
    if c >= -SLID * mu * mu * n0 * n0:
        return math.inf  # it has slid into its place while the clamp closed
    if abs(a) < 1e-15 * max(float(moving @ moving), 1e-30):
        return -c / b if b > 0 else math.inf
    root = b * b - 4 * a * c
    if root < 0:
        return math.inf
    got = [x for x in ((-b - math.sqrt(root)) / (2 * a), (-b + math.sqrt(root)) / (2 * a)) if x > 0]
    return min(got) if got else math.inf
