"""Frictionless one-sided contact of compliant bodies over gaps. mm, N.

    opening = gap + compliance·force + moves·motion >= 0,   force >= 0,   force·opening = 0
    movesᵀ·force + load = springs·motion

``force`` presses the bodies apart at each pair of patches; ``motion`` are the freedoms the bodies
have as a whole, each loaded and sprung. It is the optimum of a convex quadratic program.
"""

from __future__ import annotations

from dataclasses import dataclass

import clarabel
import numpy as np
from numpy.typing import NDArray
from scipy import linalg, sparse

from jawright.errors import JawrightError

Floats = NDArray[np.float64]
Bools = NDArray[np.bool_]

STEPS = 60
MOST = 0.95
LOOSE = 1e-10
"""A motion whose pairs differ from those of other motions by less than this square share is not held."""
ROUNDING = 1e-9
"""Forces below this share of the largest and openings below this share of the largest count as nought."""


@dataclass(frozen=True, slots=True, eq=False)
class Problem:
    """n pairs and r motions: ``compliance`` (n, n), ``gap`` (n,), ``moves`` (n, r), ...

    ... ``springs`` (r, r) and ``load`` (r,) of the motions.

    ``tied`` (n,) marks pairs that also pull: their opening is nought whatever the force.
    """

    compliance: Floats
    gap: Floats
    moves: Floats
    springs: Floats
    load: Floats
    tied: Bools


@dataclass(frozen=True, slots=True, eq=False)
class Contact:
    """``force`` (n,) [N], ``opening`` (n,) [mm], ``motion`` (r,), and the ``steps`` it took."""

    force: Floats
    opening: Floats
    motion: Floats
    steps: int


def solve(p: Problem, start: Bools | None = None) -> Contact:
    """Contact forces, openings and motions by a primal-dual active set; an interior point where it cycles.

    Parameters: ``start`` (n,) pairs thought to touch, all by default. Returns: ``Contact``. Raises:
    ``value-bad`` when nothing balances the load. Valid for: small sliding, no friction.
    Source: Hintermüller, Ito and Kunisch, The primal-dual active set strategy as a semismooth
    Newton method (2002); Conry and Seireg (1971) for elastic bodies in contact.
    """
    touch = np.ones(len(p.gap), dtype=bool) if start is None else start | p.tied
    seen: set[bytes] = set()
    share = 0.0  # pairs that pull less than this share of the hardest puller stay for now
    for step in range(1, STEPS + 1):
        try:
            got = _on(p, touch, step)
        except linalg.LinAlgError:
            break
        least = float(got.force[~p.tied].min(initial=0.0))
        again = p.tied | np.where(
            touch,
            got.force > min(-_small(got.force), share * least),
            got.opening < -_small(got.opening),
        )
        if np.array_equal(again, touch):
            return got
        # All that pull let go at once may set a body loose, or go round in a circle: then only the hardest.
        while again.tobytes() in seen or _loose(p, again):
            share = (1 + share) / 2
            if share > MOST:
                return _refined(p)
            again = again | (touch & (got.force > share * least))
        seen.add(again.tobytes())
        touch = again
    return _refined(p)


def _loose(p: Problem, touch: Bools) -> bool:
    """True when the pairs that touch leave a freedom that nothing holds."""
    if np.count_nonzero(touch) + np.count_nonzero(np.diag(p.springs)) < len(p.load):
        return True
    at = p.moves[touch]
    gram = at.T @ at + (p.springs > 0)
    size = np.sqrt(np.diag(gram))
    if size.min(initial=1.0) <= 0:
        return True
    return bool(np.linalg.eigvalsh(gram / size[:, None] / size)[0] < LOOSE)


def _small(values: Floats) -> float:
    return ROUNDING * float(np.abs(values).max(initial=0.0))


def _on(p: Problem, touch: Bools, step: int) -> Contact:
    """Forces and motions when exactly the pairs ``touch`` touch."""
    at = np.flatnonzero(touch)
    n, r = len(at), len(p.load)
    matrix = np.zeros((n + r, n + r))
    matrix[:n, :n] = p.compliance[np.ix_(at, at)]
    matrix[:n, n:] = p.moves[at]
    matrix[n:, :n] = p.moves[at].T
    matrix[n:, n:] = -p.springs
    # Both kinds of unknown brought to one size, else a lost freedom could not be told from a stiff one.
    scale = np.concatenate([np.full(n, _size(p.compliance) ** -0.5), np.full(r, _size(p.compliance) ** 0.5)])
    right = -np.concatenate([p.gap[at], p.load])
    factor, pivot, _ = linalg.lapack.dgetrf(matrix * scale[:, None] * scale)
    pivots = np.abs(np.diag(factor))
    if not len(pivots) or pivots.min() < 1e-13 * pivots.max():
        raise linalg.LinAlgError("a freedom is lost")
    x = scale * linalg.lapack.dgetrs(factor, pivot, scale * right)[0]
    force = np.zeros(len(p.gap))
    force[at] = x[:n]
    motion = x[n:]
    opening = p.gap + p.compliance @ force + p.moves @ motion
    opening[at] = 0.0
    return Contact(force, opening, motion, step)


def _size(compliance: Floats) -> float:
    return float(np.mean(np.diag(compliance))) or 1.0


def general(p: Problem) -> Contact:
    """The same answer by a general interior-point solver: slower, for cycles and as a check.

    Parameters, returns, raises, valid for: as ``solve``. Source: the quadratic program
    ``min ½ fᵀCf + gapᵀf + ½ mᵀSm`` under ``movesᵀ f + load = S m``.
    """
    n, r = len(p.gap), len(p.load)
    c, s = _size(p.compliance), max(1.0, float(np.abs(p.load).max(initial=0.0)))
    cost = linalg.block_diag(p.compliance / c, c * p.springs)
    balance = np.concatenate([p.moves.T, -c * p.springs], axis=1)
    signs = -np.eye(n, n + r)[~p.tied]
    cones = [clarabel.ZeroConeT(r), clarabel.NonnegativeConeT(len(signs))]
    settings = clarabel.DefaultSettings()
    settings.verbose = False
    settings.max_threads = (
        1  # its threads do not live on in a forked child, which would wait for them for ever
    )
    settings.tol_gap_abs = settings.tol_gap_rel = settings.tol_feas = 1e-10
    answer = clarabel.DefaultSolver(
        sparse.csc_matrix(np.triu(cost)),
        np.concatenate([p.gap / c / s, np.zeros(r)]),
        sparse.csc_matrix(np.concatenate([balance, signs])),
        np.concatenate([-p.load / s, np.zeros(len(signs))]),
        cones,
        settings,
    ).solve()
    if "Solved" not in str(answer.status):
        raise JawrightError("value-bad", what="nothing balances the load on the bodies", where="contact")
    force = s * np.asarray(answer.x)[:n]
    motion = c * s * np.asarray(answer.z)[:r]
    opening = p.gap + p.compliance @ force + p.moves @ motion
    return Contact(force, opening, motion, int(answer.iterations))


def _refined(p: Problem) -> Contact:
    """The interior-point answer, sharpened by solving on the pairs it finds touching."""
    rough = general(p)
    top = float(np.abs(rough.force).max(initial=0.0))
    touch = p.tied | (rough.force > 1e-6 * top)
    try:
        got = _on(p, touch, rough.steps)
    except linalg.LinAlgError:
        return rough
    slack = 1e-6 * max(float(np.abs(got.opening).max(initial=0.0)), 1e-12)
    good = got.force[~p.tied].min(initial=0.0) >= -1e-6 * top and got.opening.min(initial=0.0) >= -slack
    return got if good else rough
