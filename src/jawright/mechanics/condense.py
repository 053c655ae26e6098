"""Compliance of an elastic body between patches of its surface, free to move as a whole. mm, N.

A patch is a weighted mean of displacements in given directions; its load is spread with the same
weights. A body is condensed once; every later question is answered from a matrix of patches.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy import linalg

from jawright.errors import JawrightError
from jawright.mechanics import front
from jawright.mechanics.solid import Solid, rigid_modes, weights

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]


@dataclass(frozen=True, slots=True, eq=False)
class Patches:
    """k points of m patches: ``points`` (k, 3) [mm], ``directions`` (k, 3), ``shares`` (k,), ``patch`` (k,).

    Over each patch the shares add up to 1, so that its load is 1 N and its motion a mean.
    """

    points: Floats
    directions: Floats
    shares: Floats
    patch: Ints
    count: int


@dataclass(frozen=True, slots=True, eq=False)
class Condensed:
    """Motion of m patches ``u = compliance f + rigid a`` under forces f (m,) in balance: ``rigidᵀ f = 0``.

    ``compliance`` (m, m) [mm/N] belongs to one way of holding the body, which drops out of any answer
    in which the forces balance; ``rigid`` (m, 6) are the shifts along and turns about x, y, z through
    ``center`` [mm].
    """

    compliance: Floats
    rigid: Floats
    center: Floats


def joined(parts: list[tuple[Floats, Floats, Floats]]) -> Patches:
    """One ``Patches`` of a list of (points (k, 3), directions (k, 3) or (3,), weights (k,)), a patch each.

    Weights are scaled to add up to 1. Raises: ``value-bad`` for a patch without weight.
    Valid for: any. Source: none needed.
    """
    points, directions, shares, numbers = [], [], [], []
    for i, (p, d, w) in enumerate(parts):
        if not len(p) or w.sum() <= 0:
            raise JawrightError("value-bad", what=f"patch {i} has no area", where="patches")
        points.append(p)
        directions.append(np.broadcast_to(d, p.shape))
        shares.append(w / w.sum())
        numbers.append(np.full(len(p), i, dtype=np.int64))
    return Patches(
        np.concatenate(points),
        np.concatenate(directions),
        np.concatenate(shares),
        np.concatenate(numbers),
        len(parts),
    )


def patterns(solid: Solid, patches: Patches) -> Floats:
    """Nodal loads (3n, m) of 1 N on each patch.

    Raises: nothing. Valid for: patches on the metal. Source: work-equivalent nodal loads.
    """
    number, value = weights(solid, patches.points)
    m = patches.count
    row = 3 * number[:, :, None] + np.arange(3)
    load = value[:, :, None] * (patches.directions * patches.shares[:, None])[:, None, :]
    at = row * m + patches.patch[:, None, None]
    size = solid.unknowns * m
    summed: Floats = np.bincount(at.ravel(), weights=load.ravel(), minlength=size).astype(float)
    return summed.reshape(solid.unknowns, m)


def condense(solid: Solid, patches: Patches) -> Condensed:
    """Compliance between the patches of a body that is free in space.

    Parameters: ``patches``. Returns: ``Condensed``. Raises: ``value-bad`` when the solid falls apart.
    Valid for: linear elasticity. Source: flexibility with a statically determinate support; in
    balance its reactions are nought.
    """
    center = (solid.nodes.min(axis=0) + solid.nodes.max(axis=0)) / 2
    load = patterns(solid, patches)
    modes = rigid_modes(solid.nodes - center)
    return Condensed(front.compliance(solid, load, support(solid, modes)), load.T @ modes, center)


def support(solid: Solid, modes: Floats) -> NDArray[np.bool_]:
    """Six freedoms (3n,) that just hold the body: the best spread ones at corners of full cells.

    Parameters: ``modes`` (3n, 6) of ``rigid_modes``. Raises: nothing. Valid for: a body in one piece.
    Source: pivoted QR.
    """
    full = solid.of_cell[solid.fill > 1 - 1e-9]
    if not len(full):
        full = solid.of_cell[solid.fill >= 0.5 * solid.fill.max()]
    corners = np.unique(full[:, :8])
    dofs = (3 * corners[:, None] + np.arange(3)).ravel()
    size = np.ptp(solid.nodes, axis=0).max() / 2
    scaled = modes[dofs] / np.array([1, 1, 1, size, size, size])
    _, _, pivot = linalg.qr(scaled.T, mode="economic", pivoting=True)
    held = np.zeros(solid.unknowns, dtype=bool)
    held[dofs[pivot[:6]]] = True
    return held
