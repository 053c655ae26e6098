"""Linear programs that differ in their right-hand sides only: all samples walk over shared bases.

    max cost·y   subject to   rows y + air >= 0

``rows`` and ``cost`` are common, so which bases are dual feasible is common too. From a basis
that is dual feasible the next one depends on the row that comes in, not on the sample (the dual
simplex method's ratio test), so samples that stand at the same basis and cross the same row most
go on together. Source: dual simplex and parametric right-hand sides, e.g. Chvátal, Linear
Programming (1983), chapter 10.

Lengths in mm, angles in rad.
"""

from __future__ import annotations

import math
import os
from collections.abc import Callable, Sequence
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass
from functools import partial
from threading import Lock

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]

TOUCH = 1e-10
"""Largest crossing [mm] of a row that still counts as met; rounding is near 1e-13."""
FAR = 1e4
"""Box [mm] that starts the walk; an answer that ends on it is unbounded."""
STEPS = 300
CHUNK = 2048
"""Samples that walk together: their rows then stay in the processor's own cache from step to step."""
SPAN = 32 * CHUNK
UNTRIED, NONE = -2, -1


@dataclass(frozen=True)
class Program:
    """The common part. The first ``varying`` rows have air that differs per sample, the rest ``-const``.

    The last 2 r rows are the box. ``last`` (k,) is True for rows that should leave first among ties.
    """

    rows: Floats  # (k, r)
    const: Floats  # (k - varying,)
    cost: Floats  # (r,)
    varying: int
    last: NDArray[np.bool_]

    @property
    def box(self) -> int:
        """Number of the first row of the box."""
        return len(self.rows) - 2 * len(self.cost)


@dataclass(frozen=True)
class Optima:
    """G optimal bases and which of them each of m samples uses (-1: no answer fits all rows)."""

    rows: Ints  # (G, r)
    inverse: Floats  # (G, r, r): y = -inverse @ air[rows]
    force: Floats  # (G, r) multipliers, cost + rowsᵀ force = 0
    basis: Ints  # (m,)
    y: Floats  # (m, r)


class _Known:
    """Bases met so far, numbered, and which basis follows when a row comes in.

    Threads read while one of them, under the lock, adds: tables only grow, and the number of a new
    basis is given out after its tables are complete.
    """

    def __init__(self, program: Program) -> None:
        self.p = program
        self.number: dict[bytes, int] = {}
        r = len(program.cost)
        self.rows = np.empty((0, r), dtype=np.int64)
        self.inverse = np.empty((0, r, r))
        self.force = np.empty((0, r))
        self.next = np.empty((0, len(program.rows)), dtype=np.int64)
        self.lock = Lock()

    def add(self, rows: Ints) -> Ints:
        """Numbers of the bases ``rows`` (u, r), new ones inverted."""
        keys = [row.tobytes() for row in rows]
        fresh = [k for k, key in enumerate(keys) if key not in self.number]
        first: dict[bytes, int] = {}
        for k in fresh:
            first.setdefault(keys[k], k)
        if first:
            new = rows[list(first.values())]
            inverse = np.linalg.inv(self.p.rows[new])
            for key in first:
                self.number[key] = len(self.number)
            self.rows = np.concatenate([self.rows, new])
            self.inverse = np.concatenate([self.inverse, inverse])
            self.force = np.concatenate([self.force, -(self.p.cost @ inverse)])
            untried = np.full((len(new), len(self.p.rows)), UNTRIED, dtype=np.int64)
            self.next = np.concatenate([self.next, untried])
        return np.array([self.number[key] for key in keys], dtype=np.int64)

    def follow(self, at: Ints, entering: Ints) -> Ints:
        """The basis after each (basis, entering row); ``NONE`` when no answer can meet the row."""
        to = self.next[at, entering]
        if (to == UNTRIED).any():
            with self.lock:
                k = len(self.p.rows)
                pairs = np.unique((at * k + entering)[self.next[at, entering] == UNTRIED])
                found = _pivot(self, pairs // k, pairs % k)
                self.next[pairs // k, pairs % k] = found
            to = self.next[at, entering]
        return np.asarray(to)


def in_chunks(jobs: Sequence[Callable[[], None]]) -> None:
    """Run jobs that write to places of their own, on as many threads as there are cores (at most 4).

    What each job computes does not depend on the others, so the result is the same on any number of threads.
    """
    workers = min(4, os.cpu_count() or 1, len(jobs) // 2)
    if workers < 2:
        for job in jobs:
            job()
        return
    with ThreadPoolExecutor(workers) as pool:
        for done in [pool.submit(job) for job in jobs]:
            done.result()


def solve(p: Program, air: Floats) -> Optima:
    """Optimal basis and answer of every sample; ``air`` (m, varying) is what varying rows can spare at y = 0.

    Answers on the box carry a positive multiplier there: the program is unbounded. A sample for which
    no answer meets all rows gets basis -1 and NaN. Ends after ``STEPS`` pivots; what is left then
    gets -1 as well.
    """
    r = len(p.cost)
    m = len(air)
    known = _Known(p)
    start = np.sort(p.box + np.arange(r) + np.where(p.cost >= 0, r, 0))[None].astype(np.int64)
    first = known.add(start)[0]
    basis = np.full(m, -1, dtype=np.int64)
    y = np.full((m, r), np.nan)
    # One walk of the middle sample first: most others then start next to their own basis.
    middle = _walk_one(known, air.mean(axis=0), int(first))
    begin = middle if middle >= 0 else int(first)
    cuts = [slice(c, c + SPAN) for c in range(0, m, SPAN)]
    in_chunks([partial(_walk, known, air[c], begin, basis[c], y[c]) for c in cuts])
    used = np.unique(basis[basis >= 0])
    counts = np.bincount(basis[basis >= 0], minlength=len(known.rows))[used]
    order = used[np.lexsort((*known.rows[used].T[::-1], -counts))]
    place = np.full(len(known.rows) + 1, -1, dtype=np.int64)
    place[order] = np.arange(len(order))
    return Optima(known.rows[order], known.inverse[order], known.force[order], place[basis], y)


def _walk_one(known: _Known, air: Floats, first: int) -> int:
    """The basis (or -1) one sample ends on: the same walk as that of many, without its bookkeeping."""
    p = known.p
    need = np.concatenate([-air, p.const])
    body, edge = p.rows[: p.box], p.rows[p.box :]
    rows, inverse = known.rows[first], known.inverse[first]
    for _ in range(STEPS):
        y = inverse @ need[rows]
        slack = body @ y - need[: p.box]
        worst = int(slack.argmin())
        low = slack[worst]
        if np.abs(y).max() > FAR / 2:
            rest = edge @ y - need[p.box :]
            k = int(rest.argmin())
            if rest[k] < low:
                worst, low = k + p.box, rest[k]
        if not low < -TOUCH:
            return int(known.add(rows[None])[0])
        leave = _leaves(p, rows.tolist(), (p.rows[worst] @ inverse).tolist(), -(p.cost @ inverse))
        if leave < 0:
            return -1
        rows = rows.copy()
        rows[leave] = worst
        rows.sort()
        inverse = np.linalg.inv(p.rows[rows])
    return -1


def _leaves(p: Program, rows: Sequence[int], w: Sequence[float], force: Floats) -> int:
    """Place of the row that leaves one basis, as ``_pivot`` chooses it; -1 when none can."""
    ratio = [max(f, 0.0) / v if v > 1e-11 else math.inf for f, v in zip(force.tolist(), w, strict=True)]
    best = min(ratio)
    if best == math.inf:
        return -1
    most = max(*w, 1e-300)
    weight = [
        4.0 * (row >= p.box) + 2.0 * bool(p.last[row]) + v / most if r <= best + 1e-13 else -math.inf
        for row, v, r in zip(rows, w, ratio, strict=True)
    ]
    return weight.index(max(weight))


def _walk(known: _Known, air: Floats, first: int, basis: Ints, y: Floats) -> None:
    """Walk every sample from basis ``first`` to its own; answers go to ``basis`` (m,) and ``y`` (m, r)."""
    most = min(CHUNK, len(air))
    room = np.empty((most, known.p.box))  # one place for all chunks: fresh memory costs more than sums
    spare = np.empty((most, air.shape[1]))
    for c in range(0, len(air), CHUNK):
        part = slice(c, c + CHUNK)
        _walk_chunk(known, air[part], first, (basis[part], y[part]), room=room, spare=spare)


def _walk_chunk(
    known: _Known, air: Floats, first: int, out: tuple[Ints, Floats], *, room: Floats, spare: Floats
) -> None:
    basis, y = out
    index = np.arange(len(air))
    b, at = air, np.full(len(air), first, dtype=np.int64)
    for step in range(STEPS):
        answer = _same(known, b, first) if step == 0 else _each(known, b, at)
        worst, low = _most_crossed(known.p, b, answer, room[: len(b)])
        cross = low < -TOUCH
        fits = np.flatnonzero(~cross)
        done = index[fits]
        basis[done], y[done] = at[fits], answer[fits]
        go = np.flatnonzero(cross)
        at = known.follow(at[go], worst[go])
        if (at == NONE).any():
            go, at = go[at != NONE], at[at != NONE]
        if not len(go):
            return
        index = index[go]
        b = np.take(air, index, axis=0, out=spare[: len(index)], mode="clip")


def _most_crossed(p: Program, b: Floats, answer: Floats, slack: Floats) -> tuple[Ints, Floats]:
    """The row each sample crosses most at its answer and what it spares there; ``slack`` is workspace."""
    np.matmul(answer, p.rows[: p.box].T, out=slack)
    slack[:, : p.varying] += b
    if p.varying < p.box:
        slack[:, p.varying :] -= p.const[: p.box - p.varying]
    worst = slack.argmin(axis=1)
    low = slack.reshape(-1).take(worst + p.box * np.arange(len(b)))
    if np.abs(answer).max() > FAR / 2:  # nearer than that the box is never the most crossed
        rest = answer @ p.rows[p.box :].T - p.const[p.box - p.varying :]
        of_box = rest.argmin(axis=1)
        low_box = rest[np.arange(len(b)), of_box]
        worst = np.where(low_box < low, of_box + p.box, worst)
        low = np.minimum(low, low_box)
    return worst, low


def _same(known: _Known, b: Floats, basis: int) -> Floats:
    """Answers (m, r) of samples that all stand at one basis."""
    p, rows = known.p, known.rows[basis]
    own = np.empty((len(b), len(rows)))
    for j, row in enumerate(rows):
        own[:, j] = -b[:, row] if row < p.varying else p.const[row - p.varying]
    return np.asarray(own @ known.inverse[basis].T)


def _each(known: _Known, b: Floats, at: Ints) -> Floats:
    """Answers (m, r) of samples at bases ``at`` (m,) of their own."""
    p, rows = known.p, known.rows[at]
    line = (b.shape[1] * np.arange(len(b)))[:, None]
    if known.rows.max() < p.varying:
        own = -b.reshape(-1).take(rows + line)
    else:
        fixed = rows >= p.varying
        own = -b.reshape(-1).take(np.where(fixed, 0, rows) + line)
        own = np.where(fixed, p.const[np.where(fixed, rows - p.varying, 0)], own)
    return np.asarray(np.einsum("mij,mj->mi", known.inverse[at], own))


def _pivot(known: _Known, numbers: Ints, entering: Ints) -> Ints:
    """The next basis for each (basis, entering row); -1 when no answer can meet the row."""
    p = known.p
    w = np.matmul(p.rows[entering][:, None, :], known.inverse[numbers])[:, 0]
    ok = w > 1e-11
    ratio = np.where(ok, np.maximum(known.force[numbers], 0.0) / np.where(ok, w, 1.0), np.inf)
    best = ratio.min(axis=1, keepdims=True)
    ties = ratio <= best + 1e-13
    rows = known.rows[numbers]
    # Among ties the box leaves first, then rows marked ``last``, then the largest pivot.
    weight = 4.0 * (rows >= p.box) + 2.0 * p.last[rows] + w / np.maximum(w.max(axis=1, keepdims=True), 1e-300)
    leave = np.where(ties, weight, -np.inf).argmax(axis=1)
    out = np.full(len(numbers), -1, dtype=np.int64)
    can = ok.any(axis=1)
    if can.any():
        following = rows[can].copy()
        following[np.arange(len(following)), leave[can]] = entering[can]
        out[can] = known.add(np.sort(following, axis=1))
    return out
