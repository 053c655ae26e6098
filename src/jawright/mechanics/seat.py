"""Planar rigid seating as a linear program: a few optimal bases serve a whole population.

Unknowns are the part's move (dx, dy, turn), the closing travel t of the floating jaw and, where
the jaw has play, its yaw and side shift. Contact i, at ``r_i`` with inward unit normal ``n_i``
and air ``g_i``, must not be crossed:

    g_i + n_i·(d + turn ẑ×r_i) − ride_i n_i·(jaw move) >= 0

The seated pose maximizes ``t + push·d``. Only the gaps differ from part to part, so the set of
dual-feasible bases is common to all: samples walk from basis to basis together (dual simplex, the
ratio test depends on the basis and the entering contact, never on the sample), each step one
matrix product. The result is then corrected for the finite turn.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from jawright.mechanics.locate import Freedom, freedoms

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]
Bools = NDArray[np.bool_]

TOUCH = 1e-10
"""Largest crossing [mm] of a contact that still counts as touching; rounding is near 1e-13."""
FAR = 1e4
"""Box [mm] that starts the walk over bases; a pose that ends on it is not held at all."""
CARRIES = 1e-9
"""Smallest multiplier (share of the clamp force) that counts as carrying."""
PLAY = 0.1
"""Motion [mm] left in a direction nothing presses: up to this it is play, not a freedom."""
STEPS = 200
CHUNK = 8192


@dataclass(frozen=True)
class Basis:
    """One optimal set of touching contacts and what it does to the pose.

    ``rows`` are contact numbers (numbers >= n are limits of the jaw's own play). ``force`` is the
    share of the clamp force on each. ``per_gap`` (3, n) is d(dx, dy, turn)/d(gap); ``free`` are the
    part's freedoms that no carrying contact takes and other contacts leave more than ``PLAY``.
    """

    rows: tuple[int, ...]
    force: tuple[float, ...]
    per_gap: Floats
    free: tuple[Freedom, ...]


@dataclass(frozen=True)
class SeatResult:
    """Seated poses: ``p -> R(turn) p + (dx, dy)`` [mm, rad] of m samples on n contacts.

    ``basis`` is the number of each sample's basis, -1 where there is none; ``unsolved`` marks samples
    that have no pose: no room between fixed walls, or nothing that stops the part.
    """

    pose: Floats  # (m, 3)
    travel: Floats  # (m,)
    yaw: Floats  # (m,) of the floating jaw [rad]
    side: Floats  # (m,) of the floating jaw [mm]
    basis: Ints  # (m,)
    bases: tuple[Basis, ...]
    unsolved: Bools  # (m,)
    escapes: tuple[Freedom, ...]  # directions the push drives the part in, with nothing to stop it
    contacts: int

    @cached_property
    def active(self) -> Bools:
        """(m, n): which contacts carry, by a multiplier above ``CARRIES``."""
        out = np.zeros((len(self.bases) + 1, self.contacts), dtype=bool)
        for k, b in enumerate(self.bases):
            for row, force in zip(b.rows, b.force, strict=True):
                if row < self.contacts and force > CARRIES:
                    out[k, row] = True
        return out[self.basis]

    @cached_property
    def counts(self) -> Ints:
        """(bases,): how many samples each basis serves."""
        return np.bincount(self.basis[self.basis >= 0], minlength=len(self.bases)).astype(np.int64)

    @property
    def free(self) -> tuple[Freedom, ...]:
        """Freedoms left in any basis that serves samples, each once; an escape is a freedom too."""
        seen: dict[str, Freedom] = {f.words: f for f in self.escapes}
        for b, n in zip(self.bases, self.counts, strict=True):
            if n:
                for f in b.free:
                    seen.setdefault(f.words, f)
        return tuple(seen.values())

    @property
    def located(self) -> bool:
        """True when every sample has a pose and no freedom of the part is left."""
        return not self.free and not bool(self.unsolved.any())


@dataclass(frozen=True)
class _Problem:
    rows: Floats  # (k, r) all rows in reduced unknowns
    const: Floats  # (k - n,) right-hand sides of the rows that do not vary
    cost: Floats  # (r,)
    back: Floats  # (nv, r) reduced unknowns to full ones
    n: int
    limits: int  # jaw limit rows following the contacts; box rows come after
    center: Floats
    length: float
    points: Floats
    normals: Floats
    ride: Floats
    pivot: Floats
    lost: tuple[Freedom, ...]
    escapes: tuple[Freedom, ...]


def seat(
    points: Floats,
    normals: Floats,
    floating: NDArray[np.bool_] | Floats,
    gaps: Floats,
    *,
    push: tuple[float, float] = (0.0, 0.0),
    yaw: float = 0.0,
    side_play: float = 0.0,
    pivot: tuple[float, float] = (0.0, 0.0),
    radius: Floats | None = None,
    exact: bool = True,
) -> SeatResult:
    """Seat m parts that differ in their gaps only.

    Maximizes ``t + push·d`` subject to no contact being crossed (module text).

    Parameters
    ----------
    points, normals : (n, 2) contact points [mm] and unit directions in which the touched body
        pushes the part.
    floating : (n,) True on the floating jaw, or the share of the travel (along +Y) the touched
        body makes: 1 floating jaw, 0 fixed, -1 a jaw that closes from the other side.
    gaps : (m, n) air at each contact before the move, negative interference [mm].
    push : force on the part at the middle of the contacts, as a share of the clamp force.
    yaw, side_play : limits of the floating jaw's own play, ± [rad], ± [mm].
    pivot : where the screw pushes the floating jaw: its yaw is about this point [mm].
    radius : (n,) convex radius of the part at each contact [mm], for the finite turn.
    exact : correct the linear pose for the finite turn (Newton on the touching contacts).

    Returns
    -------
    SeatResult; freedoms that nothing takes are reported, their pose is the least move that crosses
    no contact.

    Valid for: turns up to about 0.02 rad (the touching set is that of the linear model).
    Source: unilateral form of the linear locating model (Asada and By 1985); parametric dual simplex.
    """
    gaps = np.ascontiguousarray(np.atleast_2d(gaps), dtype=float)
    pts, nrm = np.asarray(points, dtype=float), np.asarray(normals, dtype=float)
    if gaps.shape[1] != len(pts) or nrm.shape != pts.shape or not np.isfinite(gaps).all():
        raise ValueError("points, normals and gaps must be finite and agree in length")
    core = pts if radius is None else pts + nrm * np.asarray(radius, dtype=float)[:, None]
    ride = np.asarray(floating, dtype=float)
    problem = _problem(core, nrm, ride, push=push, play=(yaw, side_play), pivot=pivot)
    basis, lists = _walk(problem, gaps)
    return _finish(problem, gaps, basis, lists, exact)


def _problem(
    points: Floats,
    normals: Floats,
    ride: Floats,
    *,
    push: tuple[float, float],
    play: tuple[float, float],
    pivot: tuple[float, float],
) -> _Problem:
    n = len(points)
    center = points.mean(axis=0)
    arm = points - center
    length = float(np.sqrt((arm**2).sum(axis=1).mean())) or 1.0
    at = np.asarray(pivot, dtype=float)
    jaw_arm = points - at
    turn = normals[:, 1] * arm[:, 0] - normals[:, 0] * arm[:, 1]
    jaw_turn = normals[:, 1] * jaw_arm[:, 0] - normals[:, 0] * jaw_arm[:, 1]
    full = np.column_stack(
        [normals, turn / length, -ride * normals[:, 1], -ride * jaw_turn / length, -ride * normals[:, 0]]
    )
    keep = [0, 1, 2, 3] + [4] * (play[0] > 0) + [5] * (play[1] > 0)
    full = full[:, keep]
    nv = len(keep)
    cost = np.zeros(nv)
    cost[:2], cost[3] = push, 1.0
    limit_rows, limit_const = [], []
    for k, bound in ((4, play[0] * length), (5, play[1])):
        if k in keep:
            e = np.zeros(nv)
            e[keep.index(k)] = 1.0
            limit_rows += [e, -e]
            limit_const += [-bound, -bound]
    held = np.vstack([full, *limit_rows]) if limit_rows else full
    _, s, vt = np.linalg.svd(held, full_matrices=True)
    r = int((s > 1e-9 * max(1.0, s[0])).sum())
    back, null = vt[:r].T, vt[r:].T
    lost = freedoms(null[:3].T * [1.0, 1.0, 1.0 / length], center, length) if r < nv else ()
    driven = null @ (null.T @ cost) if r < nv else np.zeros(nv)
    gone = (
        freedoms(driven[None, :3] * [1.0, 1.0, 1.0 / length], center, length)
        if np.abs(driven[:3]).max() > 1e-12
        else ()
    )
    c = back.T @ cost
    eye = np.eye(r)
    rows = np.vstack([held @ back, eye, -eye])
    const = np.concatenate([limit_const, np.full(2 * r, -FAR)])
    full_back = np.zeros((6, r))
    full_back[keep] = back
    return _Problem(
        rows, const, c, full_back, n, len(limit_rows), center, length, points, normals, ride, at, lost, gone
    )


def _invert(p: _Problem, rows: tuple[int, ...]) -> tuple[Floats, Floats]:
    """Inverse of the basis and its multipliers (c + Aᵀ λ = 0)."""
    inv = np.linalg.inv(p.rows[list(rows)])
    return np.asarray(inv), np.asarray(-p.cost @ inv)


def _pivot(p: _Problem, rows: tuple[int, ...], entering: int) -> tuple[int, ...] | None:
    """The neighbor basis after ``entering`` comes in; None when there is no room for the part."""
    inv, lam = _invert(p, rows)
    w = p.rows[entering] @ inv
    ok = w > 1e-11
    if not ok.any():
        return None
    ratio = np.full(len(rows), np.inf)
    ratio[ok] = np.maximum(lam[ok], 0.0) / w[ok]
    best = ratio.min()
    ties = np.flatnonzero(ratio <= best + 1e-13)
    # Among ties box rows leave first, then contacts that move, so that real and still ones end up in
    # the basis; then the largest pivot.
    first_box = p.n + p.limits
    leave = max(ties, key=lambda j: (rows[j] >= first_box, _moves(p, rows[j]), w[j]))
    return tuple(sorted([*(row for j, row in enumerate(rows) if j != leave), entering]))


def _moves(p: _Problem, row: int) -> bool:
    return row < p.n and p.ride[row] != 0.0


def _apply(p: _Problem, rows: tuple[int, ...], gaps: Floats, index: Ints) -> Ints:
    """For each sample the most crossed row under this basis, -1 where it fits."""
    inv, _ = _invert(p, rows)
    on = np.array([j for j, row in enumerate(rows) if row < p.n], dtype=int)
    cols = np.array([row for row in rows if row < p.n], dtype=int)
    fixed = np.zeros(len(inv))
    for j, row in enumerate(rows):
        if row >= p.n:
            fixed += inv[:, j] * p.const[row - p.n]
    to_rows = -(inv[:, on].T @ p.rows[: p.n].T)  # gap of a basis contact to slack of every contact
    base = fixed @ p.rows[: p.n].T
    to_rest = -(inv[:, on].T @ p.rows[p.n :].T)
    rest_base = fixed @ p.rows[p.n :].T - p.const
    out = np.empty(len(index), dtype=np.int64)
    whole = len(index) == len(gaps)
    for a in range(0, len(index), CHUNK):
        g = gaps[a : a + CHUNK] if whole else gaps[index[a : a + CHUNK]]
        mine = g[:, cols]
        slack = mine @ to_rows
        slack += g
        slack += base
        worst = slack.argmin(axis=1)
        low = slack[np.arange(len(g)), worst]
        rest = mine @ to_rest + rest_base
        worst_rest = rest.argmin(axis=1)
        low_rest = rest[np.arange(len(g)), worst_rest]
        take = low_rest < low
        worst = np.where(take, worst_rest + p.n, worst)
        out[a : a + CHUNK] = np.where(np.minimum(low, low_rest) >= -TOUCH, -1, worst)
    return out


def _walk(p: _Problem, gaps: Floats) -> tuple[Ints, list[tuple[int, ...]]]:
    """Move groups of samples from basis to basis until each fits one."""
    r = len(p.cost)
    first = p.n + p.limits
    start = tuple(sorted(first + j + (r if p.cost[j] >= 0 else 0) for j in range(r)))
    mean = gaps.mean(axis=0, keepdims=True)
    home = _descend(p, start, mean, np.zeros(1, dtype=np.int64))
    begin = next(iter(home), start)
    found = _descend(p, begin, gaps, np.arange(len(gaps)))
    basis = np.full(len(gaps), -1, dtype=np.int64)
    lists = sorted(found, key=lambda b: (-len(found[b]), b))
    for k, b in enumerate(lists):
        basis[found[b]] = k
    return basis, lists


def _descend(p: _Problem, start: tuple[int, ...], gaps: Floats, index: Ints) -> dict[tuple[int, ...], Ints]:
    done: dict[tuple[int, ...], list[Ints]] = {}
    level: dict[tuple[int, ...], list[Ints]] = {start: [index]}
    pivots: dict[tuple[tuple[int, ...], int], tuple[int, ...] | None] = {}
    for _ in range(STEPS):
        following: dict[tuple[int, ...], list[Ints]] = {}
        for rows, groups in level.items():
            members = groups[0] if len(groups) == 1 else np.concatenate(groups)
            worst = _apply(p, rows, gaps, members)
            fits = worst < 0
            if fits.any():
                done.setdefault(rows, []).append(members[fits])
            for q in np.unique(worst[~fits]):
                key = (rows, int(q))
                if key not in pivots:
                    pivots[key] = _pivot(p, rows, int(q))
                to = pivots[key]
                if to is not None:
                    following.setdefault(to, []).append(members[worst == q])
        level = following
        if not level:
            break
    return {b: np.sort(np.concatenate(g)) for b, g in done.items()}


def _rights(p: _Problem, rows: tuple[int, ...], gaps: Floats) -> Floats:
    """Right-hand sides (m, r) of the rows of a basis."""
    b = np.empty((len(gaps), len(rows)))
    for j, row in enumerate(rows):
        b[:, j] = -gaps[:, row] if row < p.n else p.const[row - p.n]
    return b


def _loose(p: _Problem, inv: Floats, lam: Floats, right: Floats, gaps: Floats) -> list[int]:
    """Places in the basis that carry nothing and from which the part can move off by more than ``PLAY``."""
    y = inv @ right
    slack = p.rows @ y - np.concatenate([-gaps, p.const])
    out = []
    for j, force in enumerate(lam):
        if force > CARRIES:
            continue
        rate = p.rows @ inv[:, j]
        size = np.abs(p.back[:3] @ inv[:, j]).max()
        stops = rate < -1e-9
        room = float((slack[stops] / -rate[stops]).min()) if stops.any() else FAR
        if room * size > PLAY:
            out.append(j)
    return out


def _describe(p: _Problem, rows: tuple[int, ...], gaps: Floats) -> tuple[Basis, Floats, list[int], bool]:
    """The basis for the report, its inverse in full unknowns, its loose places, and whether the part escapes.

    ``gaps`` (n,) are those of the middle sample it serves.
    """
    inv, lam = _invert(p, rows)
    full = p.back @ inv  # (6, r)
    first_box = p.n + p.limits
    escape = any(row >= first_box and f > CARRIES for row, f in zip(rows, lam, strict=True))
    loose = _loose(p, inv, lam, _rights(p, rows, gaps[None])[0], gaps)
    free = list(p.lost)
    if loose:
        moves = full[:3, loose].T / [1.0, 1.0, p.length]
        free += freedoms(moves, p.center, p.length)
    per_gap = np.zeros((3, p.n))
    cx, cy = p.center
    for j, row in enumerate(rows):
        if row < p.n:
            turn = full[2, j] / p.length
            per_gap[:, row] = (-full[0, j] - turn * cy, -full[1, j] + turn * cx, -turn)
    basis = Basis(rows, tuple(float(max(f, 0.0)) for f in lam), per_gap, tuple(free))
    return basis, full, loose, escape


def _finish(p: _Problem, gaps: Floats, basis: Ints, lists: list[tuple[int, ...]], exact: bool) -> SeatResult:
    m = len(gaps)
    x = np.full((m, 6), np.nan)
    unsolved = basis < 0
    escapes = list(p.escapes)
    bases = []
    for k, rows in enumerate(lists):
        members = np.flatnonzero(basis == k)
        described, full, loose, escape = _describe(p, rows, gaps[members].mean(axis=0))
        bases.append(described)
        if escape:
            first_box = p.n + p.limits
            ways = [
                -full[:3, j] / [1.0, 1.0, p.length]
                for j, row in enumerate(rows)
                if row >= first_box and described.force[j] > CARRIES
            ]
            escapes += [f for f in freedoms(np.array(ways), p.center, p.length) if f not in escapes]
            unsolved[members] = True
            continue
        b = _rights(p, rows, gaps[members])
        y = b @ full.T
        if exact:
            y = _newton(p, rows, full, y, b)
        if loose:
            y = _least_move(p, full, y, loose, gaps[members])
        x[members] = y
    turn = x[:, 2] / p.length
    c, s = np.cos(turn), np.sin(turn)
    cx, cy = p.center
    if exact:
        dx = x[:, 0] + cx - (c * cx - s * cy)
        dy = x[:, 1] + cy - (s * cx + c * cy)
    else:
        dx, dy = x[:, 0] + turn * cy, x[:, 1] - turn * cx
    return SeatResult(
        pose=np.column_stack([dx, dy, turn]),
        travel=x[:, 3],
        yaw=x[:, 4] / p.length,
        side=x[:, 5],
        basis=basis,
        bases=tuple(bases),
        unsolved=unsolved | np.isnan(turn),
        escapes=tuple(escapes),
        contacts=p.n,
    )


def _newton(p: _Problem, rows: tuple[int, ...], full: Floats, y: Floats, b: Floats) -> Floats:
    """Make the touching contacts touch under the finite turn; the linear inverse serves as slope."""
    on = [j for j, row in enumerate(rows) if row < p.n]
    at = [rows[j] for j in on]
    arm, jaw_arm = p.points[at] - p.center, p.points[at] - p.pivot
    nx, ny, ride = p.normals[at, 0], p.normals[at, 1], p.ride[at]
    inverse = full[:, on]
    target = b[:, on]
    for _ in range(3):
        turn, jaw = y[:, 2] / p.length, y[:, 4] / p.length
        s, c1 = np.sin(turn)[:, None], -2.0 * (np.sin(turn / 2) ** 2)[:, None]
        part = nx * (y[:, :1] + c1 * arm[:, 0] - s * arm[:, 1])
        part += ny * (y[:, 1:2] + s * arm[:, 0] + c1 * arm[:, 1])
        js, jc = np.sin(jaw)[:, None], -2.0 * (np.sin(jaw / 2) ** 2)[:, None]
        body = nx * (y[:, 5:6] + jc * jaw_arm[:, 0] - js * jaw_arm[:, 1])
        body += ny * (y[:, 3:4] + js * jaw_arm[:, 0] + jc * jaw_arm[:, 1])
        y = y - (part - ride * body - target) @ inverse.T
    return y


def _least_move(p: _Problem, full: Floats, y: Floats, loose: list[int], gaps: Floats) -> Floats:
    """Along each freedom nothing takes, come back to the least move that crosses no contact."""
    # Written in the unknowns' own metric; a direction with no part motion (jaw play) goes to its middle.
    rows = p.rows[: p.n + p.limits] @ np.linalg.pinv(p.back)
    rhs = np.hstack([gaps, np.broadcast_to(-p.const[: p.limits], (len(gaps), p.limits))])
    for j in loose:
        v = full[:, j] / np.linalg.norm(full[:, j])
        rate = rows @ v
        slack = y @ rows.T + rhs
        want = -(y @ v)
        with np.errstate(divide="ignore", invalid="ignore"):
            step = -slack / rate
        low = np.where(rate > 1e-12, step, -np.inf).max(axis=1)
        high = np.where(rate < -1e-12, step, np.inf).min(axis=1)
        y = y + np.clip(want, np.minimum(low, high), np.maximum(low, high))[:, None] * v
    return y
