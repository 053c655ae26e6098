"""Linear programs that differ in their right-hand sides only: all samples walk over shared bases.

    max cost·y   subject to   rows y + air >= 0

``rows`` and ``cost`` are common, so which bases are dual feasible is common too. From a basis
that is dual feasible the next one depends on the row that comes in, not on the sample (the dual
simplex method's ratio test), so samples that stand at the same basis and cross the same row most
go on together. Source: dual simplex and parametric right-hand sides, e.g. Chvátal, Linear
Programming (1983), chapter 10.
"""

from __future__ import annotations

import os
from collections.abc import Callable, Sequence
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass
from functools import partial

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]

TOUCH = 1e-10
"""Largest crossing [mm] of a row that still counts as met; rounding is near 1e-13."""
FAR = 1e4
"""Box [mm] that starts the walk; an answer that ends on it is unbounded."""
STEPS = 300
CHUNK = 8192
MANY = 1500
"""Samples at one basis from which one matrix product beats one small product per sample."""


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
    """Bases met so far, numbered."""

    def __init__(self, program: Program) -> None:
        self.p = program
        self.number: dict[bytes, int] = {}
        r = len(program.cost)
        self.rows = np.empty((0, r), dtype=np.int64)
        self.inverse = np.empty((0, r, r))
        self.force = np.empty((0, r))

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
        return np.array([self.number[key] for key in keys], dtype=np.int64)


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
    middle = np.full(1, -1, dtype=np.int64)
    _walk(known, air.mean(axis=0, keepdims=True), int(first), middle, np.empty((1, r)))
    _walk(known, air, int(middle[0]) if middle[0] >= 0 else int(first), basis, y)
    used = np.unique(basis[basis >= 0])
    counts = np.bincount(basis[basis >= 0], minlength=len(known.rows))[used]
    order = used[np.lexsort((*known.rows[used].T[::-1], -counts))]
    place = np.full(len(known.rows) + 1, -1, dtype=np.int64)
    place[order] = np.arange(len(order))
    return Optima(known.rows[order], known.inverse[order], known.force[order], place[basis], y)


def _walk(known: _Known, air: Floats, first: int, basis: Ints, y: Floats) -> None:
    p = known.p
    index = np.arange(len(air))
    at = np.full(len(air), first, dtype=np.int64)
    for _ in range(STEPS):
        worst = _worst(known, air, index, at, y)
        fits = worst < 0
        basis[index[fits]] = at[fits]
        index, at, worst = index[~fits], at[~fits], worst[~fits]
        if not len(index):
            return
        pairs, which = np.unique(at * len(p.rows) + worst, return_inverse=True)
        to = _pivot(known, pairs // len(p.rows), pairs % len(p.rows))
        at = to[which]
        stay = at >= 0
        index, at = index[stay], at[stay]
        if not len(index):
            return


def _worst(known: _Known, air: Floats, index: Ints, at: Ints, y: Floats) -> Ints:
    """For each sample the most crossed row at its basis, -1 where it fits; its answer goes to ``y``."""
    p = known.p
    out = np.empty(len(index), dtype=np.int64)
    order = np.argsort(at, kind="stable")
    numbers, begin, count = np.unique(at[order], return_index=True, return_counts=True)
    few = np.ones(len(order), dtype=bool)
    whole = len(index) == len(air) and len(numbers) == 1
    jobs: list[Callable[[], None]] = []

    def together(part: Ints, rows: Ints, inverse: Floats) -> None:
        b = air[part[0] : part[-1] + 1] if whole else air[index[part]]
        own = _own(p, b, np.broadcast_to(rows, (len(b), len(rows))), rows)
        out[part] = _check(p, b, own @ inverse.T, index[part], y)

    def each(part: Ints) -> None:
        b = air[index[part]]
        own = _own(p, b, known.rows[at[part]], None)
        answer = np.matmul(known.inverse[at[part]], own[:, :, None])[:, :, 0]
        out[part] = _check(p, b, answer, index[part], y)

    for number, a, n in zip(numbers, begin, count, strict=True):
        if n >= MANY:
            few[a : a + n] = False
            mine = order[a : a + n]
            rows, inverse = known.rows[number], known.inverse[number]
            jobs += [partial(together, mine[c : c + CHUNK], rows, inverse) for c in range(0, n, CHUNK)]
    rest = order[few]
    jobs += [partial(each, rest[c : c + CHUNK]) for c in range(0, len(rest), CHUNK)]
    in_chunks(jobs)
    return out


def _own(p: Program, b: Floats, rows: Ints, same: Ints | None) -> Floats:
    """Right-hand sides (m, r) of each sample's own basis rows."""
    if same is not None:
        own = np.empty(rows.shape)
        for j, row in enumerate(same):
            own[:, j] = -b[:, row] if row < p.varying else p.const[row - p.varying]
        return own
    fixed = rows >= p.varying
    got = -np.take_along_axis(b, np.where(fixed, 0, rows), axis=1)
    if fixed.any():
        got = np.where(fixed, p.const[np.where(fixed, rows - p.varying, 0)], got)
    return np.asarray(got)


def _check(p: Program, b: Floats, answer: Floats, index: Ints, y: Floats) -> Ints:
    slack = answer @ p.rows[: p.varying].T
    slack += b
    worst = slack.argmin(axis=1)
    line = np.arange(len(b))
    low = slack[line, worst]
    rest = answer @ p.rows[p.varying :].T
    rest -= p.const
    worst_rest = rest.argmin(axis=1)
    low_rest = rest[line, worst_rest]
    take = low_rest < low
    worst = np.where(take, worst_rest + p.varying, worst)
    fits = np.minimum(low, low_rest) >= -TOUCH
    y[index[fits]] = answer[fits]
    return np.where(fits, -1, worst)


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
