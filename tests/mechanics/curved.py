"""Our bricks on cells bent by a smooth map, for published problems whose bodies are round.

The program itself never needs them: it cuts round walls through boxes. Shape functions, numbering and
the front are the program's; only the map stands here.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

import numpy as np

from jawright.mechanics import brick
from jawright.mechanics.solid import Floats, Solid, build

Map = Callable[[Floats], Floats]


def _law(E: float, nu: float) -> Floats:
    """Stress of a strain, both as (3, 3): (3, 3, 3, 3)."""
    lam, mu = E * nu / ((1 + nu) * (1 - 2 * nu)), E / (2 * (1 + nu))
    one = np.eye(3)
    return np.asarray(
        lam * np.einsum("ij,kl->ijkl", one, one)
        + mu * (np.einsum("ik,jl->ijkl", one, one) + np.einsum("il,jk->ijkl", one, one))
    )


def _gradients(corners: Floats, xi: Floats) -> tuple[Floats, Floats]:
    """Slopes by x, y, z (m, k, 20, 3) and volumes per reference volume (m, k) of m cells at k points."""
    d = brick.slopes(xi)
    jacobian = np.einsum("mai,kaj->mkij", corners, d)
    return np.einsum("kaj,mkji->mkai", d, np.linalg.inv(jacobian)), np.linalg.det(jacobian)


def bent(lines: list[Floats], place: Map, *, E: float, nu: float) -> Solid:
    """A box of whole cells whose nodes are moved to ``place(nodes)`` (n, 3)."""
    plain = build(lines, E=E, nu=nu)
    nodes = place(plain.nodes)
    g, w = np.polynomial.legendre.leggauss(3)
    xi = np.stack(np.meshgrid(g, g, g, indexing="ij"), axis=-1).reshape(-1, 3)
    weight = (w[:, None, None] * w[None, :, None] * w[None, None, :]).ravel()
    slopes, volume = _gradients(nodes[plain.of_cell], xi)
    assert volume.min() > 0
    stiff = np.einsum("mkaj,ijpq,mkbq,mk->maibp", slopes, _law(E, nu), slopes, volume * weight, optimize=True)
    return replace(plain, nodes=nodes, stiffness=stiff.reshape(-1, 60, 60))


def stress_reads(s: Solid, cell: int, xi: Floats, *, E: float, nu: float) -> Floats:
    """Loads (3n, 9) whose work is the stress [MPa] at reference point ``xi`` (3,) of a cell, row by row."""
    slopes, _ = _gradients(s.nodes[s.of_cell[[cell]]], xi[None])
    law = _law(E, nu)
    out = np.zeros((s.unknowns, 9))
    for a, node in enumerate(s.of_cell[cell]):
        for p in range(3):
            out[3 * node + p] += np.einsum("ijpq,q->ijp", law, slopes[0, 0, a])[:, :, p].ravel()
    return out


def pressed(s: Solid, cells: list[int], axis: int, end: int, traction: Callable[[Floats], Floats]) -> Floats:
    """Nodal loads (3n,) of ``traction(normal)`` (k, 3) [MPa] on cells' faces at ``end`` of ``axis``."""
    g, w = np.polynomial.legendre.leggauss(3)
    u, v = np.meshgrid(g, g, indexing="ij")
    xi = np.insert(np.stack([u.ravel(), v.ravel()], axis=1), axis, float(end), axis=1)
    weight = np.outer(w, w).ravel()
    d, n = brick.slopes(xi), brick.shapes(xi)
    a, b = (i for i in range(3) if i != axis)
    out = np.zeros((len(s.nodes), 3))
    for c in cells:
        jacobian = np.einsum("ai,kaj->kij", s.nodes[s.of_cell[c]], d)
        normal = np.cross(jacobian[:, :, a], jacobian[:, :, b])  # outward or inward, its length the area
        normal *= np.sign(np.einsum("ki,ki->k", normal, jacobian[:, :, axis]) * end)[:, None]
        area = np.linalg.norm(normal, axis=1)
        force = traction(normal / area[:, None]) * (area * weight)[:, None]
        np.add.at(out, s.of_cell[c], n.T @ force)
    return out.ravel()
