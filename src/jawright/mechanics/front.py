"""Compliance of a meshed solid between load patterns, by a front that sweeps along the grid's longest side.

One layer of cells after the other is put together as a dense matrix and its finished unknowns are
eliminated. Only the compliance between the load patterns is kept, no factor: with ``K = L Lᵀ`` it is
``C = YᵀY``, ``Y = L⁻¹P``, so half of the usual solve is enough.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray
from scipy import linalg

from jawright.errors import JawrightError
from jawright.mechanics.solid import Solid

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]
Bools = NDArray[np.bool_]


def compliance(solid: Solid, patterns: Floats, held: Bools) -> Floats:
    """Work of the displacements under each load pattern on every other: ``C = Pᵀ K⁻¹ P``.

    Parameters: ``patterns`` P (3n, k) nodal loads [N]; ``held`` (3n,) True where the displacement is nought.
    Returns: (k, k), symmetric; [mm] times the patterns' newtons. Raises: ``value-bad`` when the supports
    leave the solid free to move. Valid for: as ``solid.build``. Source: block Cholesky elimination, the
    frontal method of Irons (1970).
    """
    axis = int(np.argmax([len(np.unique(solid.cells[:, a])) for a in range(3)]))
    k = patterns.shape[1]
    layer = solid.cells[:, axis]
    plane = np.repeat(solid.place[:, axis], 3)
    out = np.zeros((k, k))
    carried = np.zeros(0, dtype=np.int64)  # freedoms left over from the layers before
    stiff, load = np.zeros((0, 0)), np.zeros((0, k))
    local = np.full(len(plane), -1, dtype=np.int64)
    for s in np.unique(layer):
        own = np.flatnonzero(layer == s)
        dofs = (3 * solid.of_cell[own][:, :, None] + np.arange(3)).reshape(len(own), 60)
        order = np.concatenate([carried, np.setdiff1d(dofs, carried)])
        ends = plane[order] < 2 * s + 2  # what no later layer touches
        order = np.concatenate([order[ends], order[~ends]])
        local[order] = np.arange(len(order))
        old = local[carried]
        front = _assemble(solid.stiffness[own], local[dofs], len(order))
        front[np.ix_(old, old)] += stiff
        rhs = patterns[order]
        rhs[old] = load
        _hold(front, rhs, held[order])
        done = int(ends.sum())
        stiff, load = _eliminate(front, rhs, done, out)
        carried = order[done:]
    _eliminate(stiff, load, len(carried), out)
    return (out + out.T) / 2


def _assemble(stiffness: Floats, dofs: Ints, size: int) -> Floats:
    at = (dofs[:, :, None] * size + dofs[:, None, :]).ravel()
    summed: Floats = np.bincount(at, weights=stiffness.ravel(), minlength=size * size).astype(float)
    return summed.reshape(size, size)


def _hold(front: Floats, rhs: Floats, held: Bools) -> None:
    front[held] = 0.0
    front[:, held] = 0.0
    front[held, held] = 1.0
    rhs[held] = 0.0


def _eliminate(front: Floats, rhs: Floats, done: int, out: Floats) -> tuple[Floats, Floats]:
    """Eliminate the first ``done`` unknowns; their share goes to ``out``, what is left is returned."""
    if not done:
        return front, rhs
    try:
        lower = linalg.cholesky(front[:done, :done], lower=True, check_finite=False)
    except linalg.LinAlgError as error:
        raise JawrightError(
            "value-bad", what="the supports leave the solid free to move", where="solid"
        ) from error
    side = np.concatenate([front[:done, done:], rhs[:done]], axis=1)
    side = linalg.solve_triangular(lower, side, lower=True, overwrite_b=True, check_finite=False)
    rest = front.shape[0] - done
    x, y = side[:, :rest], side[:, rest:]
    out += y.T @ y
    return front[done:, done:] - x.T @ x, rhs[done:] - x.T @ y
