"""Form closure without friction, and closure with friction, in the plane or in space.

Sources: Lynch and Park, Modern Robotics (2017), section 12.1.7 (linear program for form closure);
Markenscoff, Ni and Papadimitriou 1990 (four contacts in the plane, seven in space);
Nguyen 1988 (two frictional contacts).

Lengths in mm, angles in rad, forces in N, torques in N·m.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy.optimize import linprog

from jawright.mechanics.locate import Freedom, determinacy, plane_jacobian, space_jacobian

Floats = NDArray[np.float64]


@dataclass(frozen=True)
class Closure:
    """Whether contacts close, the rank of their wrenches, and forces that balance (each at least 1)."""

    closed: bool
    rank: int
    needed: int
    balanced: bool  # the linear program has a solution
    force: tuple[float, ...]
    objective: float | None
    free: tuple[Freedom, ...]


def wrenches(points: ArrayLike, normals: ArrayLike) -> Floats:
    """Wrench matrix (3, k) ``[n; r × n]`` in the plane, (6, k) in space; unit forces along the normals."""
    r = np.asarray(points, dtype=float)
    rows = plane_jacobian(r, normals) if r.shape[1] == 2 else space_jacobian(r, normals)
    return np.asarray(rows.T)


def form_closure(wrench: ArrayLike) -> Closure:
    """Form closure: forces k >= 1 with ``W k = 0`` exist (min Σ k), and W has full rank.

    Parameters: wrench (3, n) or (6, n), one column per contact; in the plane rows may come in any
    order. Returns the least-sum forces. Source: Lynch and Park 2017, section 12.1.7.
    """
    w = np.asarray(wrench, dtype=float)
    needed = w.shape[0]
    d = determinacy(w.T)
    answer = linprog(np.ones(w.shape[1]), A_eq=w, b_eq=np.zeros(needed), bounds=(1, None), method="highs")
    balanced = answer.status == 0
    force = tuple(float(v) for v in answer.x) if balanced else ()
    return Closure(
        balanced and d.located,
        d.rank,
        needed,
        balanced,
        force,
        float(answer.fun) if balanced else None,
        d.free,
    )


def plane_friction_closure(points: ArrayLike, normals: ArrayLike, friction: float) -> Closure:
    """Closure with Coulomb friction in the plane: the two edges of each cone replace its normal.

    Parameters: points (k, 2) [mm], normals (k, 2), friction coefficient. A grip closed only in the
    limit (a force exactly on a cone's edge) is not closed. Source: Nguyen 1988.
    """
    r = np.repeat(np.asarray(points, dtype=float), 2, axis=0)
    return form_closure(wrenches(r, cone_edges(normals, friction)))


def cone_edges(normals: ArrayLike, friction: float) -> Floats:
    """The two edges ``n ± μ t`` of each friction cone (2k, 2), in the order of the normals."""
    n = np.asarray(normals, dtype=float)
    n = n / np.linalg.norm(n, axis=1, keepdims=True)
    t = np.column_stack([-n[:, 1], n[:, 0]])
    return np.stack([n + friction * t, n - friction * t], axis=1).reshape(-1, 2)
