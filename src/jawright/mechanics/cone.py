"""Static equilibrium of a clamped rigid body with Coulomb friction cones.

Contact forces push along their inward normal ``n`` and slide limits are circular cones:
``|t| ≤ μ n``. A clamp drives some of the contacts: the sum of their forces along the closing
direction equals the clamp force, whatever the load does (a load-controlled jaw; a screw that
does not give way can only help). The answers are second-order cone programs. mm, N, N·mm.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import clarabel
import numpy as np
from numpy.typing import NDArray
from scipy import sparse

from jawright.beside import one_thread
from jawright.errors import JawrightError

Array = NDArray[np.float64]

SOURCE = "Lobo, Vandenberghe, Boyd and Lebret, Applications of second-order cone programming, 1998"
CAP = 1e4
"""Load factors above this are reported as infinite: the load is carried without friction."""

_GOOD = ("Solved", "AlmostSolved")
_NONE = ("PrimalInfeasible", "AlmostPrimalInfeasible")


@dataclass(frozen=True, slots=True, eq=False)
class Contacts:
    """Contact points of one body.

    ``points`` (n, 3) [mm], inward unit ``normals`` (n, 3), ``friction`` (n,) with 0 for a
    contact that only pushes, ``driven`` (n,) true where the clamp pushes. ``closing`` is the
    unit direction in which the clamp drives them.
    """

    points: Array
    normals: Array
    friction: Array
    driven: NDArray[np.bool_]
    closing: tuple[float, float, float] = (0.0, 1.0, 0.0)

    def __post_init__(self) -> None:
        n = len(self.points)
        ok = (
            self.points.shape == (n, 3)
            and self.normals.shape == (n, 3)
            and self.friction.shape == (n,)
            and self.driven.shape == (n,)
            and n > 0
            and bool(np.all(self.friction >= 0))
        )
        if not ok:
            raise JawrightError("value-bad", what="contact arrays do not match", where="contacts")


@dataclass(frozen=True, slots=True)
class LeastClamp:
    """Least clamp force that carries one load, and how the body would go when it is less.

    ``twist`` is the virtual motion of the body at ``center``: (vx, vy, vz, wx, wy, wz), scaled
    so that the load's power equals ``clamp``; None when nothing limits it.
    """

    clamp: float  # [N]; inf when no clamp force does, 0 when none is needed
    twist: tuple[float, ...] | None


class _Frame:
    """The grasp map about the contacts' middle with moments scaled by a length."""

    def __init__(self, c: Contacts) -> None:
        self.center = c.points.mean(axis=0)
        arm = c.points - self.center
        self.length = max(float(np.max(np.linalg.norm(arm, axis=1))), 1.0)
        n = c.normals / np.linalg.norm(c.normals, axis=1)[:, None]
        t = np.cross(n, (1.0, 0.0, 0.0))
        along = np.linalg.norm(t, axis=1) < 0.1
        t[along] = np.cross(n[along], (0.0, 1.0, 0.0))
        t /= np.linalg.norm(t, axis=1)[:, None]
        of = np.where(c.friction == 0, 1, 3)  # what only pushes has its normal alone
        kept = (np.arange(3) < of[:, None]).ravel()
        self.axes = np.stack([n, t, np.cross(n, t)], axis=1).reshape(-1, 3)[kept]
        self.owner = np.repeat(np.arange(len(n)), of)
        self.mu = [float(mu) for mu in c.friction]
        self.first = np.searchsorted(self.owner, np.arange(len(c.points)))
        self.map = np.vstack([self.axes.T, np.cross(arm[self.owner], self.axes).T / self.length])
        self.drive = np.where(c.driven[self.owner], self.axes @ np.asarray(c.closing), 0.0)
        self.columns = len(self.axes)

    def wrench(self, w: Array) -> Array:
        """Wrench about the frame's origin to the middle, moments scaled. (..., 6)."""
        w = np.asarray(w, dtype=np.float64)
        force, moment = w[..., :3], w[..., 3:]
        return np.concatenate([force, (moment - np.cross(self.center, force)) / self.length], axis=-1)

    def cones(self, extra: int) -> tuple[sparse.csc_matrix, list[object]]:
        """Rows ``-(cone vector)`` and their cones, with ``extra`` more columns of zeros at the end."""
        mu = np.asarray(self.mu)
        rubs = np.flatnonzero(mu > 0)
        row = np.concatenate([[0], np.cumsum(np.where(mu > 0, 3, 1))])
        block = np.zeros((int(row[-1]), self.columns + extra))
        block[row[:-1], self.first] = np.where(mu > 0, -mu, -1.0)
        for k in (1, 2):
            block[row[rubs] + k, self.first[rubs] + k] = -1.0
        cones = [clarabel.SecondOrderConeT(3) if m > 0 else clarabel.NonnegativeConeT(1) for m in self.mu]
        return sparse.csc_matrix(block), cones

    def forces(self, x: Array, n: int) -> Array:
        """Contact force vectors (n, 3) from the solution."""
        out = np.zeros((n, 3))
        np.add.at(out, self.owner, self.axes * x[: self.columns, None])
        return out


def _settings() -> object:
    s = clarabel.DefaultSettings()
    s.verbose = False
    s.presolve_enable = False
    s.max_threads = 1
    s.tol_gap_abs = s.tol_gap_rel = s.tol_feas = 1e-9
    return s


def least_clamp(contacts: Contacts, loads: Array) -> list[LeastClamp]:
    """Least clamp force for which admissible contact forces balance each load.

    min F subject to ``G f + w = 0``, ``|t_i| ≤ μ_i n_i``, ``Σ_driven f·c = F``. The answer is
    proportional to the load, so the load factor at a clamp force F is ``F / least_clamp``.
    One solver is set up and its right-hand side changed from load to load.

    Parameters: ``loads`` (m, 6): force [N] and moment about the origin [N·mm] on the body.
    Returns: m results. Raises: ``value-bad`` for arrays that do not match.
    Valid for: rigid bodies; static friction that does not depend on the path.
    Source: Lobo et al. 1998 (contact forces by second-order cones).
    """
    frame = _Frame(contacts)
    loads = np.atleast_2d(np.asarray(loads, dtype=np.float64))
    w = frame.wrench(loads)
    size = np.linalg.norm(w, axis=1)
    n = frame.columns
    equal = np.zeros((7, n + 1))
    equal[:6, :n] = frame.map
    equal[6, :n], equal[6, n] = frame.drive, -1.0
    cone_rows, cones = frame.cones(1)
    floor = np.zeros((1, n + 1))
    floor[0, n] = -1.0
    A = sparse.csc_matrix(sparse.vstack([sparse.csc_matrix(equal), sparse.csc_matrix(floor), cone_rows]))
    cones = [clarabel.ZeroConeT(7), clarabel.NonnegativeConeT(1), *cones]
    q = np.zeros(n + 1)
    q[n] = 1.0
    P = sparse.csc_matrix((n + 1, n + 1))
    b = np.zeros(A.shape[0])
    out: list[LeastClamp] = []
    with one_thread():
        solver = None
        for k in range(len(w)):
            if size[k] == 0:
                out.append(LeastClamp(0.0, None))
                continue
            b[:6] = -w[k] / size[k]
            if solver is None:
                solver = clarabel.DefaultSolver(P, q, A, b, cones, _settings())
            else:
                solver.update(b=b)
            out.append(_read(solver.solve(), frame, float(size[k]), n))
    return out


def _read(answer: object, frame: _Frame, size: float, n: int) -> LeastClamp:
    status = str(answer.status)  # type: ignore[attr-defined]
    if status in _NONE:
        return LeastClamp(math.inf, None)
    if status not in _GOOD:
        return LeastClamp(math.nan, None)
    clamp = float(answer.x[n]) * size  # type: ignore[attr-defined]
    z = np.asarray(answer.z[:6]) * 1.0  # type: ignore[attr-defined]
    z[3:] /= frame.length
    if clamp < 1e-7 * size:
        return LeastClamp(0.0, None)
    return LeastClamp(clamp, tuple(float(v) for v in z))


def load_factor(
    contacts: Contacts, wrench: Array, *, clamp: float, rest: Array | None = None, cap: float = CAP
) -> float:
    """Least factor by which a load may grow before no admissible contact forces exist.

    max λ subject to ``G f + λ w + w_0 = 0``, ``|t_i| ≤ μ_i n_i``, ``Σ_driven f·c = F``. When even
    λ = 0 has no answer (the clamp alone squeezes the body out) the factor is 0.

    Parameters: ``wrench`` (6,) load and ``rest`` (6,) standing load such as weight, force [N]
    and moment about the origin [N·mm]; ``clamp`` F [N].
    Returns: factor, infinite from ``cap`` up; NaN never: a solver that stops short gives 0.
    Raises: ``value-bad`` for a clamp force not above zero. Valid for, source: as ``least_clamp``.
    """
    if clamp <= 0:
        raise JawrightError("value-bad", what="the clamp force must be above zero", where="clamp force")
    frame = _Frame(contacts)
    w = frame.wrench(np.asarray(wrench, dtype=np.float64)) / clamp
    w0 = (frame.wrench(np.asarray(rest, dtype=np.float64)) if rest is not None else np.zeros(6)) / clamp
    size = float(np.linalg.norm(w))
    if size == 0:
        return math.inf
    if _solve_factor(frame, np.zeros(6), w0, 1.0) is None:
        return 0.0
    got = _solve_factor(frame, w / size, w0, cap * size)
    if got is None:
        return 0.0
    factor = got / size
    return math.inf if factor >= 0.999 * cap else max(0.0, factor)


def _solve_factor(frame: _Frame, w: Array, w0: Array, top: float) -> float | None:
    n = frame.columns
    equal = np.zeros((7, n + 1))
    equal[:6, :n], equal[:6, n] = frame.map, w
    equal[6, :n] = frame.drive
    limit = np.zeros((2, n + 1))
    limit[0, n], limit[1, n] = 1.0, -1.0
    cone_rows, cones = frame.cones(1)
    A = sparse.csc_matrix(sparse.vstack([sparse.csc_matrix(equal), sparse.csc_matrix(limit), cone_rows]))
    b = np.zeros(A.shape[0])
    b[:6], b[6], b[7] = -w0, 1.0, top
    q = np.zeros(n + 1)
    q[n] = -1.0
    cones = [clarabel.ZeroConeT(7), clarabel.NonnegativeConeT(2), *cones]
    with one_thread():
        got = clarabel.DefaultSolver(sparse.csc_matrix((n + 1, n + 1)), q, A, b, cones, _settings()).solve()
    return float(got.x[n]) if str(got.status) in _GOOD else None


def smallest_peak(contacts: Contacts, wrench: Array) -> tuple[float, Array]:
    """Contact forces that balance a load with the smallest largest normal force; no clamp acts.

    min s subject to ``G f + w = 0``, ``|t_i| ≤ μ_i n_i``, ``n_i ≤ s``.

    Parameters: ``wrench`` (6,). Returns: (s [N], forces (n, 3) [N]); s infinite when none balance it.
    Raises, valid for, source: as ``least_clamp``.
    """
    frame = _Frame(contacts)
    w = frame.wrench(np.asarray(wrench, dtype=np.float64))
    n, m = frame.columns, len(contacts.points)
    equal = np.zeros((6, n + 1))
    equal[:, :n] = frame.map
    peak = np.zeros((m, n + 1))
    peak[np.arange(m), frame.first] = 1.0
    peak[:, n] = -1.0
    cone_rows, cones = frame.cones(1)
    A = sparse.csc_matrix(sparse.vstack([sparse.csc_matrix(equal), sparse.csc_matrix(peak), cone_rows]))
    b = np.zeros(A.shape[0])
    b[:6] = -w
    q = np.zeros(n + 1)
    q[n] = 1.0
    cones = [clarabel.ZeroConeT(6), clarabel.NonnegativeConeT(m), *cones]
    with one_thread():
        got = clarabel.DefaultSolver(sparse.csc_matrix((n + 1, n + 1)), q, A, b, cones, _settings()).solve()
    if str(got.status) not in _GOOD:
        return math.inf, np.zeros((m, 3))
    x = np.asarray(got.x)
    return float(x[n]), frame.forces(x, m)


def elastic_forces(
    contacts: Contacts, stiffness: Array, *, clamp: float, wrench: Array | None = None, shear: float = 0.8
) -> Array | None:
    """Contact forces of a rigid body on elastic contacts: least complementary energy within the cones.

    min ``½ Σ (n_i² + t_i²/s)/k_i`` subject to balance, cones and ``Σ_driven f·c = F``.

    Parameters: ``stiffness`` (n,) relative normal stiffness of the contacts; ``shear`` s, tangential
    over normal stiffness (0.8 for like metals, Mindlin); ``clamp`` F [N]; ``wrench`` (6,) or none.
    Returns: forces (n, 3) [N], or None when no admissible forces exist.
    Raises: ``value-bad`` for a stiffness not above zero. Valid for: loading in one go, no slip history.
    Source: principle of least complementary energy with friction cones.
    """
    if clamp <= 0 or np.any(stiffness <= 0):
        raise JawrightError("value-bad", what="stiffness and clamp must be above zero", where="contacts")
    frame = _Frame(contacts)
    n = frame.columns
    k = stiffness / float(np.mean(stiffness))
    weight = 1.0 / (k[frame.owner] * shear)
    weight[frame.first] = 1.0 / k
    equal = np.zeros((7, n))
    equal[:6], equal[6] = frame.map, frame.drive
    cone_rows, cones = frame.cones(0)
    A = sparse.csc_matrix(sparse.vstack([sparse.csc_matrix(equal), cone_rows]))
    b = np.zeros(A.shape[0])
    if wrench is not None:
        b[:6] = -frame.wrench(np.asarray(wrench, dtype=np.float64)) / clamp
    b[6] = 1.0
    P = sparse.csc_matrix(sparse.diags(weight))
    with one_thread():
        got = clarabel.DefaultSolver(
            P, np.zeros(n), A, b, [clarabel.ZeroConeT(7), *cones], _settings()
        ).solve()
    if str(got.status) not in _GOOD:
        return None
    return frame.forces(np.asarray(got.x), len(contacts.points)) * clamp
