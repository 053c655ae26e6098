"""The linear locating model: what locators fix, what they leave free, and where the part goes.

Locator i at ``r_i`` with unit normal ``n_i`` gives the row ``[n_i, r_i × n_i]``; the part's small
move q = (translation, rotation) follows from ``J q = e``, e the locators' displacements along their
normals. Sources: Asada and By, IEEE J. Robotics Autom. 1 (1985); Cai, Hu and Yuan, J. Manuf. Sci.
Eng. 119 (1997) 593-602.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from jawright.errors import JawrightError

Floats = NDArray[np.float64]

RANK = 1e-9
"""Singular values below this share of the largest (unit-free rows) count as zero."""


@dataclass(frozen=True)
class Freedom:
    """A small move nothing prevents.

    ``move`` is (dx, dy, turn) in the plane about the origin, or (translation, rotation) in space
    [mm, rad]; ``words`` says it as a machinist would.
    """

    move: tuple[float, ...]
    words: str


@dataclass(frozen=True)
class Determinacy:
    """Rank of a set of locators, the freedoms they leave, and |det J| where J is square [mm^k]."""

    rank: int
    needed: int
    free: tuple[Freedom, ...]
    det: float | None

    @property
    def located(self) -> bool:
        """Whether nothing that must be located is free."""
        return self.rank == self.needed


def plane_jacobian(points: ArrayLike, normals: ArrayLike) -> Floats:
    """Rows ``[n_x, n_y, x n_y - y n_x]`` (k, 3) of locators at ``points`` (k, 2) [mm].

    Source: Asada and By 1985. Valid for small moves.
    """
    r, n = np.asarray(points, dtype=float), _units(normals)
    return np.column_stack([n, r[:, 0] * n[:, 1] - r[:, 1] * n[:, 0]])


def space_jacobian(points: ArrayLike, normals: ArrayLike) -> Floats:
    """Rows ``[n, r × n]`` (k, 6) of locators at ``points`` (k, 3) [mm].

    Source: Asada and By 1985. Valid for small moves.
    """
    r, n = np.asarray(points, dtype=float), _units(normals)
    return np.hstack([n, np.cross(r, n)])


def _units(normals: ArrayLike) -> Floats:
    n = np.asarray(normals, dtype=float)
    size = np.linalg.norm(n, axis=1, keepdims=True)
    if (size == 0).any():
        raise JawrightError("geometry", what="a locator has no direction")
    return np.asarray(n / size)


def determinacy(jacobian: Floats) -> Determinacy:
    """Rank, freedoms left and |det| of a locator Jacobian (k, 3) or (k, 6).

    Rotation columns are divided by a length of the layout first, so that the rank does not depend on
    the unit or the origin. Source: rank test of Asada and By 1985.
    """
    needed = jacobian.shape[1]
    lin = 2 if needed == 3 else 3
    length = float(np.sqrt((jacobian[:, lin:] ** 2).sum(axis=1).mean())) or 1.0
    scale = np.concatenate([np.ones(lin), np.full(needed - lin, 1 / length)])
    _, s, vt = np.linalg.svd(jacobian * scale)
    rank = int((s > RANK * max(1.0, s[0])).sum())
    moves = vt[rank:] * scale
    free: tuple[Freedom, ...] = ()
    if rank < needed:
        free = freedoms(moves, np.zeros(2), length) if needed == 3 else _space_freedoms(moves, length)
    det = abs(float(np.linalg.det(jacobian))) if jacobian.shape[0] == needed else None
    return Determinacy(rank, needed, free, det)


def _tidy(rows: Floats) -> Floats:
    """Reduced echelon form: combinations of free moves that are easiest to name."""
    m = np.array(rows, dtype=float)
    top = 0
    for col in range(m.shape[1] - 1, -1, -1):  # turns first, so that pure slides stay pure
        if top == len(m):
            break
        k = top + int(np.abs(m[top:, col]).argmax())
        if abs(m[k, col]) < 1e-9:
            continue
        m[[top, k]] = m[[k, top]]
        m[top] /= m[top, col]
        for i in range(len(m)):
            if i != top:
                m[i] -= m[i, col] * m[top]
        top += 1
    return np.asarray(m[np.abs(m).max(axis=1) > 1e-9])


def freedoms(moves: Floats, about: Floats, length: float) -> tuple[Freedom, ...]:
    """Name plane moves (k, 3) = (dx, dy, turn) taken about the point ``about`` [mm].

    ``length`` [mm] is the size of the layout: it decides what is a slide and what a turn. A move of
    the jaw alone (all zero) is no freedom of the part.
    """
    m = np.atleast_2d(moves).astype(float) * [1.0, 1.0, length]
    size = np.abs(m).max(axis=1, keepdims=True)
    m = m[size[:, 0] > 1e-9]
    if not len(m):
        return ()
    m = _tidy(m / np.abs(m).max(axis=1, keepdims=True)) if len(m) > 1 else m / np.abs(m).max()
    out = []
    for dx, dy, scaled in np.where(np.abs(m) < 1e-12, 0.0, m):
        turn = scaled / length
        move = (float(dx + turn * about[1]), float(dy - turn * about[0]), float(turn))
        out.append(Freedom(move, _plane_words(move, float(scaled), about)))
    return tuple(out)


def _plane_words(move: tuple[float, float, float], scaled: float, about: Floats) -> str:
    dx, dy, turn = move
    if abs(scaled) < 1e-6:
        if abs(dy) < 1e-6 * abs(dx):
            return "slides along X"
        if abs(dx) < 1e-6 * abs(dy):
            return "slides along Y"
        return f"slides along the direction {np.degrees(np.arctan2(dy, dx)) % 180:.1f}° from X"
    x, y = -dy / turn, dx / turn
    if np.hypot(x - about[0], y - about[1]) > 1e6:
        return "slides"
    return f"turns about Z at ({x + 0.0:.2f}, {y + 0.0:.2f}) mm"


def _space_freedoms(moves: Floats, length: float) -> tuple[Freedom, ...]:
    m = np.array(moves) * np.concatenate([np.ones(3), np.full(3, length)])
    m = _tidy(m / np.abs(m).max(axis=1, keepdims=True)) if len(m) > 1 else m / np.abs(m).max()
    out = []
    for row in m:
        move = row / np.concatenate([np.ones(3), np.full(3, length)])
        turn = np.abs(row[3:]) > 1e-6
        slide = np.abs(row[:3]) > 1e-6
        if not turn.any():
            words = "slides along " + _axes(row[:3], slide)
        else:
            words = "turns about " + _axes(row[3:], turn)
        out.append(Freedom(tuple(float(v) for v in move), words))
    return tuple(out)


def _axes(row: Floats, which: NDArray[np.bool_]) -> str:
    if which.sum() == 1:
        return "XYZ"[int(np.flatnonzero(which)[0])]
    v = row / np.linalg.norm(row)
    return f"the direction ({v[0]:.3f}, {v[1]:.3f}, {v[2]:.3f})"


def _refuse_loose(jacobian: Floats) -> None:
    d = determinacy(jacobian)
    if not d.located:
        words = "; ".join(f.words for f in d.free)
        raise JawrightError(
            "geometry",
            what=f"the locators do not fix the part: it {words}",
            todo="add or move a locator",
        )


def pose(jacobian: Floats, errors: ArrayLike) -> Floats:
    """Small move q with ``J q = e`` [mm, rad]: (3,) in the plane, (6,) in space.

    Raises ``geometry`` naming the freedom when the locators do not fix the part. Valid for small
    errors. Source: Cai, Hu and Yuan 1997.
    """
    _refuse_loose(jacobian)
    q, *_ = np.linalg.lstsq(jacobian, np.asarray(errors, dtype=float), rcond=None)
    return np.asarray(q)


def exact_plane_pose(points: ArrayLike, normals: ArrayLike, errors: ArrayLike) -> Floats:
    """Finite move (dx, dy, turn) that lays the part's faces on displaced locator points.

    The part's face i is the line through ``points[i]`` square to ``normals[i]``; its locator has gone
    to ``points[i] + errors[i] normals[i]``. Solved by Newton steps to 1e-13 mm.
    Raises ``geometry`` when the locators do not fix the part.
    """
    r, n = np.asarray(points, dtype=float), _units(normals)
    at = r + np.asarray(errors, dtype=float)[:, None] * n
    q = pose(plane_jacobian(r, n), errors)
    for _ in range(20):
        c, s = np.cos(q[2]), np.sin(q[2])
        nn = np.column_stack([c * n[:, 0] - s * n[:, 1], s * n[:, 0] + c * n[:, 1]])
        off = at - q[:2]
        miss = (nn * off).sum(axis=1) - (n * r).sum(axis=1)
        slope = np.column_stack([-nn, -nn[:, 1] * off[:, 0] + nn[:, 0] * off[:, 1]])
        step, *_ = np.linalg.lstsq(slope, -miss, rcond=None)
        q = q + step
        if np.abs(step).max() < 1e-15:
            break
    return np.asarray(q)


def exact_space_pose(points: ArrayLike, normals: ArrayLike, errors: ArrayLike) -> tuple[Floats, Floats]:
    """Finite move (rotation (3, 3), translation (3,)) that lays the part's faces on displaced locators.

    As ``exact_plane_pose``, in space; the rotation is built from small rotation vectors.
    """
    r, n = np.asarray(points, dtype=float), _units(normals)
    at = r + np.asarray(errors, dtype=float)[:, None] * n
    q = pose(space_jacobian(r, n), errors)
    rot, t = rotation(q[3:]), q[:3].copy()
    for _ in range(20):
        nn = n @ rot.T
        off = at - t
        miss = (nn * off).sum(axis=1) - (n * r).sum(axis=1)
        # d(R n)·off = (w × Rn)·off = w·(Rn × off)
        step = np.linalg.lstsq(np.hstack([-nn, np.cross(nn, off)]), -miss, rcond=None)[0]
        t = t + step[:3]
        rot = rotation(step[3:]) @ rot
        if np.abs(step).max() < 1e-15:
            break
    return rot, t


def rotation(w: ArrayLike) -> Floats:
    """Rotation matrix (3, 3) of a rotation vector [rad] (Rodrigues' formula)."""
    v = np.asarray(w, dtype=float)
    a = float(np.linalg.norm(v))
    k = np.array([[0, -v[2], v[1]], [v[2], 0, -v[0]], [-v[1], v[0], 0]])
    if a < 1e-12:
        return np.asarray(np.eye(3) + k)
    return np.asarray(np.eye(3) + np.sin(a) / a * k + (1 - np.cos(a)) / a**2 * (k @ k))


def moved(q: ArrayLike, point: Sequence[float]) -> Floats:
    """Displacement of ``point`` [mm] under a small move q: ``t + w × P``."""
    v, p = np.asarray(q, dtype=float), np.asarray(point, dtype=float)
    if len(v) == 3:
        return np.array([v[0] - v[2] * p[1], v[1] + v[2] * p[0]])
    return np.asarray(v[:3] + np.cross(v[3:], p))


def covariance(jacobian: Floats, sigma: ArrayLike) -> Floats:
    """Pose covariance ``J⁻¹ Σ J⁻ᵀ``; ``sigma`` is one standard deviation (k,) [mm] or a matrix (k, k).

    Source: Cai, Hu and Yuan 1997. Raises ``geometry`` when the locators do not fix the part.
    """
    _refuse_loose(jacobian)
    s = np.asarray(sigma, dtype=float)
    cov = np.diag(s**2) if s.ndim == 1 else s
    inv = np.linalg.pinv(jacobian)
    return np.asarray(inv @ cov @ inv.T)


def sensitivity(jacobian: Floats, point: Sequence[float]) -> Floats:
    """d(displacement of ``point``)/d(locator error): (2, k) in the plane, (3, k) in space."""
    _refuse_loose(jacobian)
    inv = np.linalg.pinv(jacobian)
    return np.column_stack([moved(col, point) for col in inv.T])


def best_base(points: ArrayLike) -> tuple[tuple[int, int, int], float]:
    """The three of many rests (n, 2) [mm] that tell a tilt best, and twice the area they span [mm²].

    Twice the area is |det| of the three base rows of the Jacobian: the larger, the less a rest that is off
    tilts the part. On a rectangle a × b it is at most a·b.
    Source: D-optimal locators (Wang and Pelinescu, IEEE Trans. Robotics Autom. 17 (2001)).
    Raises ``geometry`` for fewer than three points or points in line.
    """
    p = np.asarray(points, dtype=float)
    best, chosen = 0.0, (0, 0, 0)
    for i in range(len(p) - 2):
        for j in range(i + 1, len(p) - 1):
            (ux, uy), v = p[j] - p[i], p[j + 1 :] - p[i]
            twice = np.abs(ux * v[:, 1] - uy * v[:, 0])
            k = int(twice.argmax())
            if twice[k] > best:
                best, chosen = float(twice[k]), (i, j, j + 1 + k)
    if best == 0.0:
        raise JawrightError("geometry", what="the rests lie in line", todo="move one of them aside")
    return chosen, best
