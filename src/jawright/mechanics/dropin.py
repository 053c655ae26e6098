"""How much room a part has between walls: the largest clearance it can be placed with.

A linear program derived here: the margin of the tightest gap, linear in a small move, is made largest.
Lengths in mm, angles in rad.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike
from scipy.optimize import linprog

FAR = 10.0  # [mm], [mm per size] farthest a part is moved to find room


@dataclass(frozen=True, slots=True)
class Room:
    """Best placement (dx, dy, turn) [mm, rad] and the clearance [mm] it leaves at every wall."""

    clearance: float
    move: tuple[float, float, float]
    tightest: tuple[int, ...]  # walls that leave just this clearance


def most_room(points: ArrayLike, normals: ArrayLike, gaps: ArrayLike, *, longest: float = FAR) -> Room:
    """Largest c such that some small move leaves at least c of air at every wall point.

    max c subject to ``g_i + n_i·(d + turn ẑ×r_i) >= c``; a negative c says the part does not go in, and
    by how much. Parameters: points (n, 2) [mm], normals (n, 2) from the wall into the part, gaps (n,)
    [mm] before the move. Where walls on one side only leave c without bound, it is cut at ``FAR``.
    No point moves further than about ``longest`` [mm] along either axis. Valid for small turns (limited
    to 0.02 rad).
    """
    p, n = np.asarray(points, dtype=float), np.asarray(normals, dtype=float)
    g = np.asarray(gaps, dtype=float)
    middle = p.mean(axis=0)
    arm = p - middle
    turn = n[:, 1] * arm[:, 0] - n[:, 0] * arm[:, 1]
    a = np.column_stack([-n, -turn, np.ones(len(p))])
    most = min(0.02, longest / max(float(np.hypot(*arm.T).max()), 1e-9))
    answer = linprog(
        [0, 0, 0, -1.0],
        A_ub=a,
        b_ub=g,
        bounds=[(-longest, longest), (-longest, longest), (-most, most), (None, FAR)],
        method="highs",
    )
    assert answer.status == 0, answer.message
    dx, dy, th, c = (float(v) for v in answer.x)
    slack = g - a @ answer.x
    tight = tuple(int(i) for i in np.flatnonzero(slack < 1e-7))
    return Room(c, (dx + th * float(middle[1]), dy - th * float(middle[0]), th), tight)
