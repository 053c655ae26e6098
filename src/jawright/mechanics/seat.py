"""Planar rigid seating as a linear program: a few optimal bases serve a whole population.

Unknowns are the part's move (dx, dy, turn), the closing travel t of the floating jaw and, where
the jaw has play, its yaw and side shift. Contact i, at ``r_i`` with inward unit normal ``n_i``
and air ``g_i``, must not be crossed:

    g_i + n_i·(d + turn ẑ×r_i) − ride_i n_i·(jaw move) >= 0

The seated pose maximizes ``t + push·d``. Only the gaps differ from part to part, so all samples
share their bases (``mechanics.bases``). The result is then corrected for the finite turn.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property, partial

import numpy as np
from numpy.typing import NDArray

from jawright.mechanics.bases import FAR, Optima, Program, in_chunks, solve
from jawright.mechanics.locate import Freedom, freedoms

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]
Bools = NDArray[np.bool_]

CARRIES = 1e-5
"""Smallest multiplier (share of the clamp force) that counts as carrying."""
DRIVES = 1e-10
"""Smallest multiplier on the starting box that says the part is driven out: it carries nothing by right."""
LIE = 1e-6
"""Share of the clamp force that lets the part lie on contacts that stand still, among poses else equal.

A tapered part between two stiff flats may rest on either; in a vise the floating jaw gives.
"""
PLAY = 0.1
"""Motion [mm] left in a direction nothing presses: up to this it is play, not a freedom."""
LEVER = 1e-6
"""Share of the layout's size below which a lever arm is none: a round part in a round nest has no turn."""
SETTLED = 1e-11
"""Crossing [mm] of a touching contact at which the finite turn counts as solved."""
ROUNDS = 20
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
class _Problem:
    program: Program
    back: Floats  # (6, r) reduced unknowns to (dx, dy, turn·length, t, yaw·length, side)
    n: int
    limits: int  # rows of the jaw's own limits, after the contacts
    center: Floats
    length: float
    points: Floats
    normals: Floats
    ride: Floats
    pivot: Floats
    lost: tuple[Freedom, ...]  # freedoms no contact could ever take
    escapes: tuple[Freedom, ...]


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
    unsolved: Bools  # (m,)
    escapes: tuple[Freedom, ...]  # directions the push drives the part in, with nothing to stop it
    loose: dict[int, tuple[Freedom, ...]]  # freedoms left, by basis
    problem: _Problem
    optima: Optima

    @property
    def contacts(self) -> int:
        return self.problem.n

    @cached_property
    def bases(self) -> tuple[Basis, ...]:
        """The bases in use, the busiest first."""
        p, o = self.problem, self.optima
        out = []
        for k in range(len(o.rows)):
            full = p.back @ o.inverse[k]
            per_gap = np.zeros((3, p.n))
            for j, row in enumerate(o.rows[k]):
                if row < p.n:
                    turn = full[2, j] / p.length
                    move = (full[0, j] + turn * p.center[1], full[1, j] - turn * p.center[0], turn)
                    per_gap[:, row] = -np.array(move)
            force = tuple(float(max(f, 0.0)) for f in o.force[k])
            out.append(Basis(tuple(int(v) for v in o.rows[k]), force, per_gap, self.loose.get(k, p.lost)))
        return tuple(out)

    @cached_property
    def active(self) -> Bools:
        """(m, n): which contacts carry, by a multiplier above ``CARRIES``."""
        o, n = self.optima, self.problem.n
        out = np.zeros((len(o.rows) + 1, max(n, 1)), dtype=bool)
        k, j = np.nonzero((o.rows < n) & (o.force > CARRIES))
        out[k, o.rows[k, j]] = True
        return out[self.basis][:, :n]

    @cached_property
    def counts(self) -> Ints:
        """(bases,): how many samples each basis serves."""
        used = self.basis[self.basis >= 0]
        return np.bincount(used, minlength=len(self.optima.rows)).astype(np.int64)

    @property
    def free(self) -> tuple[Freedom, ...]:
        """Freedoms left to any sample, each once; an escape is a freedom too."""
        seen: dict[str, Freedom] = {f.words: f for f in (*self.escapes, *self.problem.lost)}
        for k in sorted(self.loose):
            for f in self.loose[k]:
                seen.setdefault(f.words, f)
        return tuple(seen.values())

    @property
    def located(self) -> bool:
        """True when every sample has a pose and no freedom of the part is left."""
        return not self.free and not bool(self.unsolved.any())


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
    lie: float = LIE,
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
    lie : weight with which the part lies on the still contacts that face the closing direction, where
        the clamp itself leaves it open.

    Returns
    -------
    SeatResult; freedoms that nothing takes are reported, their pose is the least move that crosses
    no contact.

    Valid for: turns up to about 0.02 rad (the touching set is that of the linear model).
    Source: unilateral form of the linear locating model (Asada and By 1985); parametric dual simplex.
    """
    gaps = np.ascontiguousarray(np.atleast_2d(gaps), dtype=float)
    pts, nrm = np.asarray(points, dtype=float), np.asarray(normals, dtype=float)
    if gaps.shape[1] != len(pts) or nrm.shape != pts.shape or not np.isfinite(gaps.sum()):
        raise ValueError("points, normals and gaps must be finite and agree in length")
    core = pts if radius is None else pts + nrm * np.asarray(radius, dtype=float)[:, None]
    ride = np.asarray(floating, dtype=float)
    size = float(np.sqrt(((pts - pts.mean(axis=0)) ** 2).sum(axis=1).mean())) or 1.0
    problem = _problem(core, nrm, ride, size, push=push, play=(yaw, side_play), pivot=pivot, lie=lie)
    return _finish(problem, gaps, solve(problem.program, gaps), exact)


def _problem(
    points: Floats,
    normals: Floats,
    ride: Floats,
    length: float,
    *,
    push: tuple[float, float],
    play: tuple[float, float],
    pivot: tuple[float, float],
    lie: float,
) -> _Problem:
    n = len(points)
    center = points.mean(axis=0)
    arm = points - center
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
    still = (ride == 0) & (np.abs(normals[:, 1]) > 0.5)
    if still.any():
        cost -= lie * full[still].mean(axis=0)
    limit_rows, limit_const = [], []
    for k, bound in ((4, play[0] * length), (5, play[1])):
        if k in keep:
            e = np.zeros(nv)
            e[keep.index(k)] = 1.0
            limit_rows += [e, -e]
            limit_const += [-bound, -bound]
    held = np.vstack([full, *limit_rows]) if limit_rows else full
    _, s, vt = np.linalg.svd(held, full_matrices=True)
    r = int((s > LEVER * max(1.0, s[0])).sum())
    back, null = vt[:r].T, vt[r:].T
    lost = freedoms(null[:3].T * [1.0, 1.0, 1.0 / length], center, length) if r < nv else ()
    driven = null @ (null.T @ cost) if r < nv else np.zeros(nv)
    gone: tuple[Freedom, ...] = ()
    if np.abs(driven[:3]).max() > 1e-12:
        gone = freedoms(driven[None, :3] * [1.0, 1.0, 1.0 / length], center, length)
    elif driven[3] > 1e-12:
        gone = (Freedom((0.0, 0.0, 0.0), "is not touched by the floating jaw"),)
    eye = np.eye(r)
    rows = np.vstack([held @ back, eye, -eye])
    last = np.zeros(len(rows), dtype=bool)
    last[:n] = ride != 0  # among ties still contacts stay, so that the part lies on the fixed jaw
    full_back = np.zeros((6, r))
    full_back[keep] = back
    return _Problem(
        program=Program(rows, np.concatenate([limit_const, np.full(2 * r, -FAR)]), back.T @ cost, n, last),
        back=full_back,
        n=n,
        limits=len(limit_rows),
        center=center,
        length=length,
        points=points,
        normals=normals,
        ride=ride,
        pivot=at,
        lost=lost,
        escapes=gone,
    )


def _loose(p: _Problem, o: Optima, k: int, right: Floats) -> list[int]:
    """Places in basis k that carry nothing and from which the part can move off by more than ``PLAY``."""
    inverse, rows = o.inverse[k], o.rows[k]
    every = np.concatenate([right, p.program.const])
    slack = p.program.rows @ (inverse @ every[rows]) - every
    out = []
    for j in np.flatnonzero(o.force[k] <= CARRIES):
        rate = p.program.rows @ inverse[:, j]
        size = float(np.abs(p.back[:3] @ inverse[:, j]).max())
        stops = rate < -1e-9
        room = float((slack[stops] / -rate[stops]).min()) if stops.any() else FAR
        if room * size > PLAY:
            out.append(int(j))
    return out


def _finish(p: _Problem, gaps: Floats, o: Optima, exact: bool) -> SeatResult:
    unsolved = (o.basis < 0) | bool(p.escapes)
    on_box = o.rows >= p.program.box
    driven = (on_box & (o.force > DRIVES)).any(axis=1)
    escapes = list(p.escapes)
    loose: dict[int, tuple[Freedom, ...]] = {}
    x = o.y @ p.back.T
    if exact:
        _finite(p, o, x)
    scale = np.array([1.0, 1.0, p.length])
    for k in np.flatnonzero(driven):
        ways = [-(p.back[:3] @ o.inverse[k][:, j]) / scale for j in np.flatnonzero(on_box[k])]
        found = freedoms(np.array(ways), p.center, p.length)
        escapes += [f for f in found if f.words not in {e.words for e in escapes}]
    for k in np.flatnonzero((o.force <= CARRIES).any(axis=1) & ~driven):
        members = np.flatnonzero(o.basis == k)
        places = _loose(p, o, int(k), -gaps[members].mean(axis=0))
        if places:
            full = p.back @ o.inverse[k]
            loose[int(k)] = (*p.lost, *freedoms(full[:3, places].T / scale, p.center, p.length))
            x[members] = _least_move(p, full[:, places], x[members], gaps[members])
    if driven.any():
        unsolved |= np.append(driven, False)[o.basis]
    x[unsolved] = np.nan
    turn = x[:, 2] / p.length
    cx, cy = p.center
    if exact:
        c1, s = -2.0 * np.sin(turn / 2) ** 2, np.sin(turn)
        dx, dy = x[:, 0] - (c1 * cx - s * cy), x[:, 1] - (s * cx + c1 * cy)
    else:
        dx, dy = x[:, 0] + turn * cy, x[:, 1] - turn * cx
    return SeatResult(
        pose=np.column_stack([dx, dy, turn]),
        travel=x[:, 3],
        yaw=x[:, 4] / p.length,
        side=x[:, 5],
        basis=o.basis,
        unsolved=unsolved,
        escapes=tuple(escapes),
        loose=loose,
        problem=p,
        optima=o,
    )


def _bent(p: _Problem, o: Optima) -> tuple[Floats, Floats, Floats, Floats]:
    """What finite turns add at each basis (G, 6), per cos − 1 and sin − angle: of the part, then of the jaw."""
    real = np.where(o.rows < p.n, 1.0, 0.0)
    rows = np.where(o.rows < p.n, o.rows, 0)
    n, arm, jaw = p.normals[rows] * real[:, :, None], (p.points - p.center)[rows], (p.points - p.pivot)[rows]
    ride = p.ride[rows]
    full = np.matmul(p.back[None], o.inverse)  # (G, 6, r)

    def push(along: Floats) -> Floats:
        return np.asarray(np.matmul(full, along[:, :, None])[:, :, 0])

    along, across = (n * arm).sum(axis=2), n[:, :, 1] * arm[:, :, 0] - n[:, :, 0] * arm[:, :, 1]
    jaw_along, jaw_across = (n * jaw).sum(axis=2), n[:, :, 1] * jaw[:, :, 0] - n[:, :, 0] * jaw[:, :, 1]
    return push(along), push(across), push(-ride * jaw_along), push(-ride * jaw_across)


def _finite(p: _Problem, o: Optima, x: Floats) -> None:
    """Make the touching contacts touch under the finite turn.

    Their linear rows hold already. A turn a adds n·arm (cos a − 1) + (n × arm)(sin a − a) to each, so the
    answer is the linear one less what the basis makes of that: two angles to solve for, part and jaw.
    """
    cos_part, sin_part, cos_jaw, sin_jaw = _bent(p, o)
    rides = bool(np.abs(cos_jaw).max(initial=0.0) + np.abs(sin_jaw).max(initial=0.0) > 0) and p.limits > 0

    def settle(part: slice) -> None:
        k, y = o.basis[part], x[part]
        start, jaw_start = y[:, 2] / p.length, y[:, 4] / p.length
        turn, jaw = start, jaw_start
        ct, st = cos_part[k, 2] / p.length, sin_part[k, 2] / p.length
        for _ in range(ROUNDS):
            bend, lag = _bends(turn)
            now = start - ct * bend - st * lag
            if rides:
                jaw_bend, jaw_lag = _bends(jaw)
                now -= (cos_jaw[k, 2] * jaw_bend + sin_jaw[k, 2] * jaw_lag) / p.length
                jaw = jaw_start - (cos_part[k, 4] * bend + sin_part[k, 4] * lag) / p.length
                jaw -= (cos_jaw[k, 4] * jaw_bend + sin_jaw[k, 4] * jaw_lag) / p.length
            moved = float(np.nanmax(np.abs(now - turn), initial=0.0)) * p.length
            turn = now
            if moved < SETTLED:
                break
        bend, lag = _bends(turn)
        y -= cos_part[k] * bend[:, None] + sin_part[k] * lag[:, None]
        if rides:
            jaw_bend, jaw_lag = _bends(jaw)
            y -= cos_jaw[k] * jaw_bend[:, None] + sin_jaw[k] * jaw_lag[:, None]

    in_chunks([partial(settle, slice(a, a + CHUNK)) for a in range(0, len(x), CHUNK)])


def _bends(angle: Floats) -> tuple[Floats, Floats]:
    """cos − 1 and sin − angle."""
    half = np.sin(angle / 2)
    bend = -2.0 * half * half
    return bend, np.sin(angle) - angle


def _least_move(p: _Problem, ways: Floats, x: Floats, gaps: Floats) -> Floats:
    """Along each freedom nothing takes, come back to the least move that crosses no contact."""
    rows = p.program.rows[: p.n + p.limits] @ np.linalg.pinv(p.back)
    limits = np.broadcast_to(-p.program.const[: p.limits], (len(gaps), p.limits))
    air = np.hstack([gaps, limits])
    for way in ways.T:
        v = way / np.linalg.norm(way)
        rate = rows @ v
        slack = x @ rows.T + air
        with np.errstate(divide="ignore", invalid="ignore"):
            step = -slack / rate
        low = np.where(rate > 1e-12, step, -np.inf).max(axis=1)
        high = np.where(rate < -1e-12, step, np.inf).min(axis=1)
        x = x + np.clip(-(x @ v), np.minimum(low, high), np.maximum(low, high))[:, None] * v
    return x
