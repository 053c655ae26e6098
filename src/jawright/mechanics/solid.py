"""An elastic solid on a grid of box-shaped cells, with prisms cut out of it. mm, N, MPa.

The grid need not follow the cuts: a cell that a cut runs through is integrated over its metal
only, and loads act where the surface really is. So a pocket of any outline needs no mesh of its own.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from jawright.errors import JawrightError
from jawright.mechanics import brick

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]
Bools = NDArray[np.bool_]

AIR = 1e-5
"""Stiffness left to the empty part of a cut cell, as a share of the metal's: keeps the equations regular."""
LEAST = 1e-3
"""Cells with less metal than this share are left out."""


@dataclass(frozen=True, slots=True)
class Cut:
    """A prism taken out along ``axis`` (0, 1, 2) from ``low`` to ``high`` [mm]: ``inside(u, v)`` for arrays.

    ``u, v`` are the other two coordinates in the order x, y, z.
    """

    axis: int
    inside: Callable[[Floats, Floats], Bools]
    low: float
    high: float


@dataclass(frozen=True, slots=True, eq=False)
class Solid:
    """The meshed solid. ``lines`` are the grid lines along x, y, z; ``cells`` (m, 3) the cells with metal.

    ``nodes`` (n, 3) [mm], ``of_cell`` (m, 20) node numbers, ``stiffness`` (m, 60, 60) [N/mm];
    ``fill`` (m,) share of metal; ``place`` (n, 3) node places on the doubled grid.
    """

    lines: tuple[Floats, Floats, Floats]
    cells: Ints
    nodes: Floats
    place: Ints
    of_cell: Ints
    stiffness: Floats
    fill: Floats

    @property
    def volume(self) -> float:
        """Metal [mm³]."""
        return float(np.dot(_edges(self.lines, self.cells).prod(axis=1), self.fill))

    @property
    def unknowns(self) -> int:
        """How many displacements are solved for."""
        return 3 * len(self.nodes)


def build(lines: Sequence[Floats], cuts: Sequence[Cut] = (), *, E: float, nu: float) -> Solid:
    """Mesh the box between the first and last grid lines less ``cuts``.

    Parameters: ``lines`` three rising arrays [mm]; ``E`` [MPa], ``nu``. Returns: ``Solid``.
    Raises: ``value-bad`` for lines that do not rise, a material that cannot be, or no metal left.
    Valid for: linear elasticity, isotropic. Source: 20-node bricks; cells cut by a surface integrated
    over their metal (finite cell method, Parvizian, Düster and Rank 2007).
    """
    x, y, z = (np.asarray(v, dtype=float) for v in lines)
    if any(len(v) < 2 or np.any(np.diff(v) <= 0) for v in (x, y, z)):
        raise JawrightError("value-bad", what="grid lines must rise", where="mesh")
    if E <= 0 or not -1 < nu < 0.5:
        raise JawrightError(
            "value-bad", what=f"E {E:g} MPa, nu {nu:g} is no elastic material", where="material"
        )
    grid = (x, y, z)
    metal = _metal(grid, cuts)
    weight = metal * brick.sample_weights()
    fill = weight.sum(axis=(3, 4, 5)) / 8
    cells = np.argwhere(fill > LEAST)
    if not len(cells):
        raise JawrightError("value-bad", what="nothing is left of the solid", where="mesh")
    part = fill[tuple(cells.T)]
    edges = _edges(grid, cells)
    stiff = np.empty((len(cells), 60, 60))
    full = part > 1 - 1e-9
    stiff[full] = brick.stiffness(edges[full], None, E=E, nu=nu)
    if not full.all():
        w = weight[tuple(cells[~full].T)].reshape(int((~full).sum()), -1)
        w = AIR * brick.sample_weights().ravel() + (1 - AIR) * w
        stiff[~full] = brick.stiffness(edges[~full], w, E=E, nu=nu)
    place, of_cell = _number(cells, grid)
    nodes = np.stack([_doubled(grid[a])[place[:, a]] for a in range(3)], axis=1)
    return Solid(grid, cells, nodes, place, of_cell, stiff, part)


def _metal(grid: Sequence[Floats], cuts: Sequence[Cut]) -> Bools:
    """Whether there is metal at each probe, (nx, ny, nz, S, S, S)."""
    s = brick.samples()
    at = [(v[:-1, None] + v[1:, None]) / 2 + np.diff(v)[:, None] / 2 * s for v in grid]
    probes = [p.ravel() for p in at]
    metal = np.ones([len(p) for p in probes], dtype=bool)
    for cut in cuts:
        a, b = (i for i in range(3) if i != cut.axis)
        along = (probes[cut.axis] > cut.low) & (probes[cut.axis] < cut.high)
        u, v = np.meshgrid(probes[a], probes[b], indexing="ij")
        gone = cut.inside(u.ravel(), v.ravel()).reshape(u.shape)
        shape = [1, 1, 1]
        shape[a], shape[b] = gone.shape
        line = [1, 1, 1]
        line[cut.axis] = -1
        metal &= ~(gone.reshape(shape) & along.reshape(line))
    n = [len(v) - 1 for v in grid]
    k = brick.SAMPLES
    return metal.reshape(n[0], k, n[1], k, n[2], k).transpose(0, 2, 4, 1, 3, 5)


def _edges(grid: Sequence[Floats], cells: Ints) -> Floats:
    return np.stack([np.diff(grid[a])[cells[:, a]] for a in range(3)], axis=1)


def _doubled(v: Floats) -> Floats:
    out = np.empty(2 * len(v) - 1)
    out[::2] = v
    out[1::2] = (v[1:] + v[:-1]) / 2
    return out


def _number(cells: Ints, grid: Sequence[Floats]) -> tuple[Ints, Ints]:
    """Places of the nodes on the doubled grid (n, 3), and node numbers of each cell (m, 20)."""
    at = 2 * cells[:, None, :] + 1 + brick.PLACES[None]
    size = [2 * len(v) - 1 for v in grid]
    key = (at[..., 0] * size[1] + at[..., 1]) * size[2] + at[..., 2]
    keys, number = np.unique(key, return_inverse=True)
    place = np.stack([keys // (size[1] * size[2]), keys // size[2] % size[1], keys % size[2]], axis=1)
    return place, number.reshape(key.shape)


def _find(solid: Solid, points: Floats) -> tuple[Ints, Floats]:
    """Number of the cell with metal nearest to each point, and the point in its reference coordinates."""
    own = []
    for a in range(3):
        v = solid.lines[a]
        own.append(np.clip(np.searchsorted(v, points[:, a], side="right") - 1, 0, len(v) - 2))
    want = np.stack(own, axis=1)
    n = [len(v) - 1 for v in solid.lines]
    number = np.full(n, -1, dtype=np.int64)
    number[tuple(solid.cells.T)] = np.arange(len(solid.cells))
    found = number[tuple(want.T)]
    poor = (found < 0) | (solid.fill[found] < 0.05)
    if poor.any():
        # A wall that grazes its cell: read it from the neighbor that has the metal, its nodes shared.
        good = np.flatnonzero(solid.fill >= 0.05)
        middle = np.stack(
            [(solid.lines[a][:-1] + solid.lines[a][1:])[solid.cells[good, a]] / 2 for a in range(3)], 1
        )
        half = _edges(solid.lines, solid.cells[good]) / 2
        for k in np.flatnonzero(poor):
            away = np.maximum(np.abs(points[k] - middle) - half, 0.0)
            found[k] = good[int(np.argmin((away**2).sum(axis=1)))]
    cells = solid.cells[found]
    low = np.stack([solid.lines[a][cells[:, a]] for a in range(3)], axis=1)
    return found, 2 * (points - low) / _edges(solid.lines, cells) - 1


def weights(solid: Solid, points: Floats) -> tuple[Ints, Floats]:
    """Node numbers (k, 20) and shape values (k, 20) with which a displacement is read at ``points`` (k, 3).

    Parameters: ``points`` [mm]. Returns: numbers, values. Raises: nothing. Valid for: points on or in the
    metal; one in a cell without metal is read from the nearest cell with metal. Source: as ``build``.
    """
    found, xi = _find(solid, points)
    return solid.of_cell[found], brick.shapes(xi)


def strain_weights(solid: Solid, points: Floats) -> tuple[Ints, Floats]:
    """Node numbers (k, 20) and slopes (k, 20, 3) of the shape functions by x, y, z [1/mm] at ``points``.

    Parameters, raises, valid for, source: as ``weights``. Returns: numbers, slopes.
    """
    found, xi = _find(solid, points)
    edges = _edges(solid.lines, solid.cells[found])
    return solid.of_cell[found], brick.slopes(xi) * 2 / edges[:, None, :]


def rigid_modes(nodes: Floats) -> Floats:
    """Displacements (3n, 6) of ``nodes`` (n, 3) under unit shifts along and turns about x, y, z through 0.

    Raises: nothing. Valid for: small turns. Source: kinematics.
    """
    n = len(nodes)
    out = np.zeros((n, 3, 6))
    out[:, range(3), range(3)] = 1.0
    for k in range(3):
        turn = np.zeros(3)
        turn[k] = 1.0
        out[:, :, 3 + k] = np.cross(turn, nodes)
    return out.reshape(3 * n, 6)
