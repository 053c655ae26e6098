"""The 20-node brick on a box-shaped cell: shape functions, and stiffness of cells only partly filled.

All cells are boxes, so every cell's stiffness is the same reference integral scaled by its edges.
Where metal fills a cell only in part, the integral runs over the filled part alone.

Lengths in mm, angles in rad.
"""

from __future__ import annotations

from functools import cache

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]

CORNERS = tuple((x, y, z) for x in (-1, 1) for y in (-1, 1) for z in (-1, 1))
EDGES = (
    *((0, y, z) for y in (-1, 1) for z in (-1, 1)),
    *((x, 0, z) for x in (-1, 1) for z in (-1, 1)),
    *((x, y, 0) for x in (-1, 1) for y in (-1, 1)),
)
PLACES = np.array(CORNERS + EDGES)
"""Reference coordinates (20, 3) of the nodes, in -1, 0, 1."""

SPLIT = 4
"""A cell cut by a surface is integrated over this many parts along each edge ..."""
POINTS = 2
"""... with this many Gauss points along each edge of a part."""
SAMPLES = SPLIT * POINTS


def shapes(xi: Floats) -> Floats:
    """Shape functions (k, 20) at reference points ``xi`` (k, 3).

    Corners ``(1+ξξi)(1+ηηi)(1+ζζi)(ξξi+ηηi+ζζi−2)/8``, edges such as ``(1−ξ²)(1+ηηi)(1+ζζi)/4``.

    Raises: nothing. Valid for: the cell. Source: Zienkiewicz and Taylor, serendipity family.

    >>> float(shapes(np.zeros((1, 3))).sum())
    1.0
    """
    plus = 1 + xi[:, None, :] * PLACES[None]  # (k, 20, 3)
    n = np.empty((len(xi), 20))
    p = plus[:, :8]
    n[:, :8] = p[:, :, 0] * p[:, :, 1] * p[:, :, 2] * ((xi @ PLACES[:8].T) - 2) / 8
    for axis in range(3):
        a, b = (k for k in range(3) if k != axis)
        edge = np.flatnonzero(PLACES[:, axis] == 0)
        n[:, edge] = (1 - xi[:, [axis]] ** 2) * plus[:, edge, a] * plus[:, edge, b] / 4
    return n


def slopes(xi: Floats) -> Floats:
    """Derivatives (k, 20, 3) of the shape functions by ξ, η, ζ.

    Raises: nothing. Valid for: the cell. Source: as ``shapes``.
    """
    d = np.empty((len(xi), 20, 3))
    plus = 1 + xi[:, None, :] * PLACES[None]  # (k, 20, 3)
    corner = slice(0, 8)
    c, p = PLACES[corner], plus[:, corner]
    product, extra = p.prod(axis=2), (xi @ c.T) - 2
    for axis in range(3):
        others = [a for a in range(3) if a != axis]
        pair = p[:, :, others].prod(axis=2)
        d[:, corner, axis] = c[:, axis] * (pair * extra + product) / 8
        edge = np.flatnonzero(PLACES[:, axis] == 0)
        pe = plus[:, edge]
        bubble = 1 - xi[:, [axis]] ** 2
        a, b = others
        d[:, edge, axis] = -2 * xi[:, [axis]] * pe[:, :, a] * pe[:, :, b] / 4
        d[:, edge, a] = bubble * PLACES[edge, a] * pe[:, :, b] / 4
        d[:, edge, b] = bubble * pe[:, :, a] * PLACES[edge, b] / 4
    return d


def samples() -> Floats:
    """Places (SAMPLES,) in -1..1 at which a partly filled cell is probed along each edge."""
    return _line()[0]


@cache
def _line() -> tuple[Floats, Floats]:
    g, w = np.polynomial.legendre.leggauss(POINTS)
    middle = (np.arange(SPLIT) + 0.5) * 2 / SPLIT - 1
    return (middle[:, None] + g / SPLIT).ravel(), np.tile(w / SPLIT, SPLIT)


@cache
def sample_weights() -> Floats:
    """Weights (SAMPLES, SAMPLES, SAMPLES) of the probes; they add up to 8."""
    w = _line()[1]
    return np.asarray(w[:, None, None] * w[None, :, None] * w[None, None, :])


@cache
def _pairs() -> tuple[Ints, Ints]:
    """Nodes (210,) of each pair, a node with itself included."""
    return np.triu_indices(20)


@cache
def _products(full: bool) -> Floats:
    """∂Na/∂ξi ∂Nb/∂ξj at every point, (points, 9·210) by i, j and pair; weighted and summed when ``full``."""
    line, w = np.polynomial.legendre.leggauss(3) if full else _line()
    xi = np.stack(np.meshgrid(line, line, line, indexing="ij"), axis=-1).reshape(-1, 3)
    d = slopes(xi)
    a, b = _pairs()
    each = np.einsum("kpi,kpj->kijp", d[:, a], d[:, b]).reshape(len(xi), -1)
    if full:
        weight = (w[:, None, None] * w[None, :, None] * w[None, None, :]).ravel()
        return np.asarray(weight @ each).reshape(1, -1)
    return np.asarray(each)


def stiffness(edges: Floats, weights: Floats | None, *, E: float, nu: float) -> Floats:
    """Stiffness (m, 60, 60) [N/mm] of m cells with ``edges`` (m, 3) [mm]; freedoms node by node.

    ``K = ∫ λ ∂aN ∂bN + μ(...) dV`` over the metal; ``weights`` (m, SAMPLES³) are those of the probes,
    scaled by the share of metal, None for cells full of metal.

    Raises: nothing. Valid for: isotropic, small strain. Source: Zienkiewicz and Taylor; integration
    over a part of the cell as in the finite cell method of Parvizian, Düster and Rank (2007).
    """
    if weights is None and len(edges) > 1:  # a grid has few kinds of whole cells
        kinds, kind = np.unique(edges, axis=0, return_inverse=True)
        if len(kinds) < len(edges):
            return stiffness(kinds, None, E=E, nu=nu)[kind.ravel()]
    m = len(edges)
    whole = _products(True) if weights is None else weights @ _products(False)
    scale = edges.prod(axis=1)[:, None, None] / 2 / (edges[:, :, None] * edges[:, None, :])
    g = whole.reshape(-1, 3, 3, 210) * scale[..., None]  # det · 2/hi · 2/hj
    lam, mu = E * nu / ((1 + nu) * (1 - 2 * nu)), E / (2 * (1 + nu))
    k = lam * g + mu * g.transpose(0, 2, 1, 3)
    k[:, (0, 1, 2), (0, 1, 2)] += mu * np.einsum("miip->mp", g)[:, None]
    a, b = _pairs()
    out = np.empty((m, 20, 3, 20, 3))
    for i in range(3):
        for j in range(3):
            out[:, a, i, b, j] = out[:, b, j, a, i] = k[:, i, j]
    return out.reshape(m, 60, 60)
