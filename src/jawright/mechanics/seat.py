"""Planar rigid seating as a linear program: a few optimal bases serve a whole population.

Unknowns are the part's move (dx, dy, turn), the closing travel t of the floating jaw and, where
the jaw has play, its yaw and side shift. Contact i, at ``r_i`` with inward unit normal ``n_i``
and air ``g_i``, must not be crossed:

    g_i + n_i·(d + turn ẑ×r_i) − ride_i n_i·(jaw move) >= 0

The seated pose maximizes ``t + push·d``. Only the gaps differ from part to part, so all samples
share their bases (``mechanics.bases``). The result is then corrected for the finite turn.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from jawright.mechanics.bases import FAR, Optima, solve
from jawright.mechanics.finite import turn_all_fully, turn_fully
from jawright.mechanics.locate import Freedom, freedoms
from jawright.mechanics.problem import LIE, Problem, pose_problem
from jawright.mechanics.programs import solve_all

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]
Bools = NDArray[np.bool_]

CARRIES = 1e-5
"""Smallest multiplier (share of the clamp force) that counts as carrying."""
DRIVES = 1e-10
"""Smallest multiplier on the starting box that says the part is driven out: it carries nothing by right."""
PLAY = 0.1
"""Motion [mm] left in a direction nothing presses: up to this it is play, not a freedom."""


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
    unsolved: Bools  # (m,)
    escapes: tuple[Freedom, ...]  # directions the push drives the part in, with nothing to stop it
    loose: dict[int, tuple[Freedom, ...]]  # freedoms left, by basis
    problem: Problem
    optima: Optima

    def first(self, count: int) -> SeatResult:
        """The first ``count`` samples alone."""
        own = {k: getattr(self, k)[:count] for k in ("pose", "travel", "yaw", "side", "basis", "unsolved")}
        return replace(self, **own)

    @property
    def contacts(self) -> int:
        """How many contacts there are."""
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
    layout = Layout(points, normals, floating, gaps, push, (yaw, side_play), radius)
    problem = _posed(layout, pivot, lie)
    o = solve(problem.program, gaps)
    x = o.y @ problem.back.T
    if exact:
        turn_fully(problem, o, x)
    return _finish(problem, gaps, o, x, exact=exact)


@dataclass(frozen=True)
class Layout:
    """Contacts and samples as ``seat`` takes them; ``play`` is the floating jaw's own, yaw and side."""

    points: Floats
    normals: Floats
    floating: NDArray[np.bool_] | Floats
    gaps: Floats
    push: tuple[float, float]
    play: tuple[float, float]
    radius: Floats | None


def seat_all(layouts: Sequence[Layout]) -> list[SeatResult]:
    """``seat`` of every layout, to the same last bit; all have the same number of samples.

    Raises ValueError as ``seat``. Valid for: hundreds of small layouts, where most of the time of one by
    one is not in the sums.
    """
    if not layouts:
        return []
    problems = [_posed(w, (0.0, 0.0), LIE) for w in layouts]
    gaps = [np.ascontiguousarray(w.gaps, dtype=float) for w in layouts]
    optima = solve_all([p.program for p in problems], gaps)
    x = np.array([o.y @ p.back.T for o, p in zip(optima, problems, strict=True)])
    turn_all_fully(problems, optima, x)
    states = [_state(*one) for one in zip(problems, gaps, optima, x, strict=True)]
    length = np.array([p.length for p in problems])[:, None]
    cx, cy = np.array([p.center for p in problems]).T[:, :, None]
    dx, dy, turn = _back(x, length, (cx, cy), exact=True)
    pose, yaw = np.stack([dx, dy, turn], axis=2), x[:, :, 4] / length
    return [
        SeatResult(pose[k], x[k, :, 3], yaw[k], x[k, :, 5], o.basis, unsolved, tuple(escapes), loose, p, o)
        for k, (p, o, (unsolved, escapes, loose)) in enumerate(zip(problems, optima, states, strict=True))
    ]


def _posed(w: Layout, pivot: tuple[float, float], lie: float) -> Problem:
    pts, nrm = np.asarray(w.points, dtype=float), np.asarray(w.normals, dtype=float)
    if w.gaps.shape[1] != len(pts) or nrm.shape != pts.shape or not np.isfinite(w.gaps.sum()):
        raise ValueError("points, normals and gaps must be finite and agree in length")
    core = pts if w.radius is None else pts + nrm * np.asarray(w.radius, dtype=float)[:, None]
    ride = np.asarray(w.floating, dtype=float)
    about = pts - np.add.reduce(pts, axis=0) / len(pts)
    size = float(np.sqrt(np.add.reduce((about**2).sum(axis=1)) / len(pts))) or 1.0
    return pose_problem(core, nrm, ride, size, push=w.push, play=w.play, pivot=pivot, lie=lie)


def _loose(p: Problem, o: Optima, k: int, right: Floats) -> list[int]:
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


def _state(
    p: Problem, gaps: Floats, o: Optima, x: Floats
) -> tuple[Bools, list[Freedom], dict[int, tuple[Freedom, ...]]]:
    """Which samples have no pose, escapes, and freedoms left by basis.

    Answers ``x`` (m, 6) are changed where the part is driven out or loose.
    """
    unsolved = (o.basis < 0) | bool(p.escapes)
    on_box = o.rows >= p.program.box
    driven = (on_box & (o.force > DRIVES)).any(axis=1)
    escapes = list(p.escapes)
    loose: dict[int, tuple[Freedom, ...]] = {}
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
    return unsolved, escapes, loose


def _back(
    x: Floats, length: Floats | float, center: tuple[Floats, Floats] | Floats, *, exact: bool
) -> tuple[Floats, Floats, Floats]:
    """Moves and turns about the origin from answers (..., 6) about the center."""
    cx, cy = center
    turn = x[..., 2] / length
    if not exact:
        return x[..., 0] + turn * cy, x[..., 1] - turn * cx, turn
    c1, s = -2.0 * np.sin(turn / 2) ** 2, np.sin(turn)
    return x[..., 0] - (c1 * cx - s * cy), x[..., 1] - (s * cx + c1 * cy), turn


def _finish(p: Problem, gaps: Floats, o: Optima, x: Floats, *, exact: bool) -> SeatResult:
    unsolved, escapes, loose = _state(p, gaps, o, x)
    pose = np.column_stack(_back(x, p.length, p.center, exact=exact))
    yaw = x[:, 4] / p.length
    return SeatResult(pose, x[:, 3], yaw, x[:, 5], o.basis, unsolved, tuple(escapes), loose, p, o)


def _least_move(p: Problem, ways: Floats, x: Floats, gaps: Floats) -> Floats:
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
