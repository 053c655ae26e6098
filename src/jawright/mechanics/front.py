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
    layer = solid.cells[:, axis]
    plane = np.repeat(solid.place[:, axis], 3)
    # loads in the order in which the front meets them: what it has not met costs nothing
    row, column = np.nonzero(patterns)
    first = np.full(patterns.shape[1], plane.max(initial=0))
    np.minimum.at(first, column, plane[row])
    by_first = np.argsort(first, kind="stable")
    patterns, first = patterns[:, by_first], first[by_first]
    total = np.zeros((len(first), len(first)))
    carried = np.zeros(0, dtype=np.int64)  # freedoms left over from the layers before
    stiff, load = np.zeros((0, 0)), np.zeros((0, 0))
    local = np.full(len(plane), -1, dtype=np.int64)
    for s in np.unique(layer):
        own = np.flatnonzero(layer == s)
        dofs = (3 * solid.of_cell[own][:, :, None] + np.arange(3)).reshape(len(own), 60)
        new = np.unique(dofs)
        order = np.concatenate([carried, new[local[new] < 0]])
        ends = plane[order] < 2 * s + 2  # what no later layer touches
        order = np.concatenate([order[ends], order[~ends]])
        local[order] = np.arange(len(order))
        old = len(carried)  # they end here, so that they still come first
        front = _assemble(solid.stiffness[own], local[dofs], len(order))
        front[:old, :old] += stiff
        rhs = patterns[order, : int(np.searchsorted(first, 2 * s + 2, side="right"))]
        rhs[:old, : load.shape[1]] = load
        _hold(front, rhs, held[order])
        done = int(ends.sum())
        stiff, load = _eliminate(front, rhs, done, total)
        carried = order[done:]
    _eliminate(stiff, load, len(carried), total)
    out = np.empty_like(total)
    out[np.ix_(by_first, by_first)] = total
    return out


def _assemble(stiffness: Floats, dofs: Ints, size: int) -> Floats:
    at = (dofs[:, :, None] * size + dofs[:, None, :]).ravel()
    summed: Floats = np.bincount(at, stiffness.ravel(), size * size)  # type: ignore[assignment]
    return summed.reshape(size, size)


def _hold(front: Floats, rhs: Floats, held: Bools) -> None:
    front[held] = 0.0
    front[:, held] = 0.0
    front[held, held] = 1.0
    rhs[held] = 0.0


BLOCK = 64
"""Unknowns divided by at a time: products of whole blocks run twice as fast as the division itself."""


def _divide(side: Floats, lower: Floats) -> None:
    """``side`` (n, k), ordered by rows, becomes ``L⁻¹ side`` in place."""
    n = len(lower)
    for a in range(0, n, BLOCK):
        own = side[a : a + BLOCK]
        if a:
            own -= lower[a : a + BLOCK, :a] @ side[:a]
        # turned over it is ordered by columns, as the library wants it: nothing is copied
        linalg.blas.dtrsm(
            1.0, lower[a : a + BLOCK, a : a + BLOCK], own.T, side=1, lower=1, trans_a=1, overwrite_b=1
        )


def _eliminate(front: Floats, rhs: Floats, done: int, out: Floats) -> tuple[Floats, Floats]:
    """Eliminate the first ``done`` unknowns; their share goes to ``out``, what is left is returned."""
    if not done:
        return front, rhs
    # a transposed view of a row-ordered array is what the library works on without a copy
    lower, info = linalg.lapack.dpotrf(front[:done, :done].copy().T, lower=1, clean=0, overwrite_a=1)
    if info != 0:
        raise JawrightError("value-bad", what="the supports leave the solid free to move", where="solid")
    rest, met = front.shape[0] - done, rhs.shape[1]
    side = np.empty((done, rest + met))
    side[:, :rest] = front[:done, done:]
    side[:, rest:] = rhs[:done]
    _divide(side, lower)
    product = side.T @ side
    out[:met, :met] += product[rest:, rest:]
    return front[done:, done:] - product[:rest, :rest], rhs[done:] - product[:rest, rest:]
