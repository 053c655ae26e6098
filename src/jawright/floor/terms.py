"""What a measured value may follow: size, time, a step, the nest, the torque; chosen one after another.

Each family of terms is tried in its best form; the one that explains most enters when it would do so
by luck in fewer than one of ``1 / ENTER`` runs, its own freedom to search counted (Bonferroni). Terms
that cannot be told apart on the data are named together and none of them is said to be the cause.

Values in mm or the unit of the column; shares and chances are plain numbers.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import NDArray
from scipy.special import fdtrc

from jawright.statistics.regress import Fit, least_squares
from jawright.statistics.trend import outliers

Floats = NDArray[np.float64]
Bools = NDArray[np.bool_]
Family = Literal["size", "warm-up", "drift", "step", "nest", "torque"]
TIMED: tuple[Family, ...] = ("warm-up", "drift", "step")

ENTER = 0.0005
"""Chance by luck below which a term enters."""

HINT = 0.02
"""Chance by luck below which "nothing stands out" may not be said."""

APART = 5.0
"""Difference of log likelihood from which one form in time is told from another (odds of about 150)."""

OUTLIER = 0.001
"""Chance by luck of naming an outlier in a run."""

UNTOLD = 25
"""Forms counted for nests nobody wrote down: naming them is held to a harder test."""

PERIODS = (2, 3, 4)
"""Numbers of nests that are tried where none is written down."""

STEPS_MOST = 250
"""Places of a step tried at once: in a longer run first every so many-th, then those round the best."""

LEAST = 3
"""Values wanted on each side of a step, and in each nest."""

TIME_CONSTANTS = (0.03, 0.05, 0.08, 0.12, 0.18, 0.25, 0.35)
"""Of a warm-up that flattens, as shares of the run."""


@dataclass(frozen=True, slots=True)
class Inputs:
    """What is known of each of n parts beside the measured value; None when the run does not say."""

    time: Floats  # minutes, or the number of the part
    size: Floats | None
    torque: Floats | None
    nest: NDArray[np.int64] | None
    order: NDArray[np.int64]  # number of the part in the run


@dataclass(frozen=True, slots=True)
class Term:
    """One way of following: its columns, and how many forms of its family were tried."""

    family: Family
    columns: tuple[Floats, ...]
    tried: int
    at: float = 0.0  # step: the first part after it; warm-up: time constant [same unit as time]


@dataclass(frozen=True, slots=True)
class Model:
    """The terms that entered, their joint fit on the rows ``kept`` and what they could not be told from."""

    terms: tuple[Term, ...]
    fit: Fit | None
    kept: Bools
    odd: tuple[int, ...]  # rows left out as outliers
    rivals: tuple[tuple[Family, Family], ...]  # (entered, could as well be)
    shares: dict[str, float]  # of the variance, by family; "rest" is what is left
    complete: bool = True  # every family was tried
    hint: Family | None = None  # a family that nearly entered

    def column(self, family: Family) -> int | None:
        """Index of a family's first coefficient in the fit."""
        k = 1
        for t in self.terms:
            if t.family == family:
                return k
            k += len(t.columns)
        return None

    def term(self, family: Family) -> Term | None:
        """The term of a family, if it entered."""
        return next((t for t in self.terms if t.family == family), None)


def candidates(x: Inputs, kept: Bools) -> Iterator[Term]:
    """Every form of every family that the inputs allow, on the kept rows."""
    n = int(kept.sum())
    t = x.time[kept]
    span = float(t[-1] - t[0]) if n else 0.0
    if x.torque is not None and np.ptp(x.torque[kept]) > 0:
        yield Term("torque", (x.torque[kept],), 1)
    yield from _nests(x, kept)
    if span <= 0 or n < 2 * LEAST + 1:
        return
    yield Term("drift", ((t - t[0]) / span,), 1)
    for share in TIME_CONSTANTS:
        yield Term("warm-up", (np.exp(-(t - t[0]) / (share * span)),), len(TIME_CONSTANTS), share * span)
    yield from _steps(kept, LEAST, n - LEAST + 1)


def _steps(kept: Bools, first: int, end: int) -> list[Term]:
    """A step before each of the kept parts ``first`` to ``end``; of very many every so many-th."""
    where = np.flatnonzero(kept)
    n = len(where)
    apart = max(1, math.ceil((end - first) / STEPS_MOST))
    return [
        Term("step", ((np.arange(n) >= k).astype(float),), n - 2 * LEAST + 1, float(where[k]))
        for k in range(first, end, apart)
    ]


def _sharper(step: Term, chosen: Sequence[Term], v: Floats, kept: Bools) -> Term:
    """The step where it leaves least, when only every so many-th place was tried."""
    n = len(v)
    reach = math.ceil((n - 2 * LEAST + 1) / STEPS_MOST)
    where = np.flatnonzero(kept)
    while reach > 1:
        k = int(np.searchsorted(where, step.at))
        near = _steps(kept, max(LEAST, k - reach), min(n - LEAST, k + reach) + 1)
        left = _left_over(chosen, near, v)[1]
        step = near[int(np.argmin(left))]
        reach = math.ceil((2 * reach + 1) / STEPS_MOST)
    return step


def _nests(x: Inputs, kept: Bools) -> Iterator[Term]:
    if x.nest is None:  # nobody wrote a nest down: every second, third and fourth part is tried
        for period in PERIODS:
            every = x.order[kept] % period
            if np.bincount(every, minlength=period).min() >= LEAST:
                yield Term(
                    "nest", tuple((every == k).astype(float) for k in range(1, period)), UNTOLD, period
                )
        return
    names, counts = np.unique(x.nest[kept], return_counts=True)
    if len(names) < 2 or counts.min() < LEAST:
        return
    yield Term("nest", tuple((x.nest[kept] == k).astype(float) for k in names[1:]), 1)


def choose(y: Floats, x: Inputs) -> Model:
    """The terms ``y`` (n,) follows. Size is always in when it is known: its slope tells the locating side.

    A few chips can look like a step and the start of a warm-up like a few chips, so both readings are
    made, outliers last and outliers first, and the one that needs less to say is taken.
    """
    kept = np.isfinite(y)
    for column in (x.size, x.torque):
        if column is not None:
            kept &= np.isfinite(column)
    plain = _select(y, x, kept, ())
    last = _settle(y, x, kept, plain)
    first = _settle(y, x, kept, _select(y, x, kept, (), only_size=True))
    return min((last, first), key=lambda m: _cost(m, kept))


def _settle(y: Floats, x: Inputs, kept: Bools, model: Model) -> Model:
    """Leave outliers out and choose again, until no more are found."""
    for _ in range(4):
        odd = _odd(model, kept)
        if odd == model.odd and model.complete:
            return model
        model = _select(y, x, kept, odd)
    return model


def _cost(model: Model, kept: Bools) -> float:
    """What is left over and what it took: n ln(RSS/n) + 2 ln n for each coefficient and each outlier."""
    n = int(kept.sum())
    if model.fit is None:
        return np.inf
    used = _count(model.terms) + len(model.odd)
    return float(n * np.log(_rss(model.fit) / n) + 2 * np.log(n) * used)


def _rss(fit: Fit) -> float:
    return max(float(fit.residuals @ fit.residuals), 1e-24)


def _odd(model: Model, all_rows: Bools) -> tuple[int, ...]:
    """Rows that do not belong to the model: those left out before, and new ones."""
    if model.fit is None:
        return model.odd
    rows = np.flatnonzero(model.kept)
    new = [int(rows[i]) for i in outliers(model.fit.residuals, chance=OUTLIER, most=len(rows) // 8)]
    found = tuple(sorted({*model.odd, *new}))
    return found if len(found) <= int(all_rows.sum()) // 6 else model.odd


def _select(y: Floats, x: Inputs, rows: Bools, odd: tuple[int, ...], *, only_size: bool = False) -> Model:
    kept = rows.copy()
    kept[list(odd)] = False
    v = y[kept]
    n = len(v)
    chosen: list[Term] = []
    if n < 4:
        return Model((), None, kept, odd, (), {})
    if x.size is not None and np.ptp(x.size[kept]) > 0:
        chosen.append(Term("size", (x.size[kept] - x.size[kept].mean(),), 1))
    rivals: list[tuple[Family, Family]] = []
    hint: Family | None = None
    pool = [] if only_size else list(candidates(x, kept))
    while pool:
        rss, left = _left_over(chosen, pool, v)
        chance = [_chance(rss, a, t, n - _count(chosen)) for a, t in zip(left, pool, strict=True)]
        k = min(range(len(pool)), key=lambda i: (chance[i], left[i]))
        if chance[k] > ENTER:
            hint = pool[k].family if chance[k] < HINT else None
            break
        if pool[k].family in TIMED:  # of the forms in time the one that leaves least: all add one column
            k = min((i for i, t in enumerate(pool) if t.family in TIMED), key=lambda i: left[i])
            rivals += _too_close(k, pool, left, n)
            rivals += _alike(k, pool, left, n)
        else:
            rivals += _alike(k, pool, left, n)
        entered = pool[k]
        chosen.append(_sharper(entered, chosen, v, kept) if entered.family == "step" else entered)
        gone = TIMED if pool[k].family in TIMED else (pool[k].family,)
        pool = [c for c in pool if c.family not in gone]
    if chosen and chosen[0].family == "size" and not only_size:
        rivals += _instead_of_size(chosen, v, x, kept)
    fit = _fit(chosen, v)
    shares = _shares(chosen, fit, v)
    return Model(tuple(chosen), fit, kept, odd, tuple(rivals), shares, not only_size, hint)


def _fit(terms: Sequence[Term], v: Floats) -> Fit | None:
    columns = [c for t in terms for c in t.columns]
    try:
        return least_squares(columns, v)
    except ValueError:  # too few rows, or two columns that cannot be told apart
        return None


def _count(terms: Sequence[Term]) -> int:
    return 1 + sum(len(t.columns) for t in terms)


def _left_over(chosen: Sequence[Term], pool: Sequence[Term], v: Floats) -> tuple[float, list[float]]:
    """Sum of squares left by the chosen terms, and by them with each of the pool's: all by projection."""
    n = len(v)
    base = np.column_stack([np.ones(n), *(c for t in chosen for c in t.columns)])
    q = np.linalg.qr(base)[0]
    r = v - q @ (q.T @ v)
    single = [i for i, t in enumerate(pool) if len(t.columns) == 1]
    rss = max(float(r @ r), 1e-24)
    out = [rss] * len(pool)
    if single:
        c = np.column_stack([pool[i].columns[0] for i in single])
        size = np.linalg.norm(c, axis=0)
        c = c - q @ (q.T @ c)
        rest = np.linalg.norm(c, axis=0)
        fresh = rest > 1e-6 * size  # else the chosen terms say it already
        gain = np.where(fresh, (c.T @ r) ** 2 / np.where(fresh, rest, 1.0) ** 2, 0.0)
        for i, g in zip(single, gain, strict=True):
            out[i] = max(rss - float(g), 1e-24)
    for i, t in enumerate(pool):
        if len(t.columns) > 1:
            more = np.linalg.qr(np.column_stack([base, *t.columns]))[0]
            e = v - more @ (more.T @ v)
            out[i] = max(float(e @ e), 1e-24)
    return rss, out


def _chance(before: float, after: float, term: Term, freedom: int) -> float:
    """Chance of so much better a fit by luck: F test of the added columns, times the forms tried."""
    more = len(term.columns)
    rest = freedom - more
    if rest < 3:
        return 1.0
    f = (before - after) / more / (after / rest)
    return min(1.0, term.tried * float(fdtrc(more, rest, max(f, 0.0))))


def _too_close(k: int, pool: Sequence[Term], left: Sequence[float], n: int) -> list[tuple[Family, Family]]:
    """Forms in time that fit nearly as well as the best: they cannot be told from it."""
    out = []
    for family in TIMED:
        if family == pool[k].family:
            continue
        best = min((x for x, t in zip(left, pool, strict=True) if t.family == family), default=np.inf)
        if n / 2 * np.log(best / left[k]) < APART:
            out.append((pool[k].family, family))
    return out


def _alike(k: int, pool: Sequence[Term], left: Sequence[float], n: int) -> list[tuple[Family, Family]]:
    """Causes of another kind that fit nearly as well as the best: a torque that rose as the run went on,
    nests that were run one after the other."""
    timed = pool[k].family in TIMED
    out = []
    for family in ("torque", "nest") if timed else ("torque", "nest", *TIMED):
        if family == pool[k].family:
            continue
        best = min((a for a, t in zip(left, pool, strict=True) if t.family == family), default=np.inf)
        if n / 2 * np.log(best / left[k]) < APART:
            out.append((pool[k].family, family))
    return out


def _instead_of_size(
    chosen: Sequence[Term], v: Floats, x: Inputs, kept: Bools
) -> list[tuple[Family, Family]]:
    """Forms in time that could as well stand for a slope on size: sizes that went one way with the run."""
    rest = [t for t in chosen if t.family != "size"]
    if any(t.family in TIMED for t in rest):
        return []
    n = len(v)
    pool = [t for t in candidates(x, kept) if t.family in TIMED]
    bare, left = _left_over(rest, pool, v)
    _, (with_size,) = _left_over(rest, [chosen[0]], v)
    if not pool or n / 2 * np.log(bare / with_size) < APART:
        return []  # the slope on size is not told from 0 at all
    best = min(range(len(pool)), key=lambda i: left[i])
    close = n / 2 * np.log(left[best] / with_size) < APART
    return [("size", pool[best].family)] if close else []


def _shares(terms: Sequence[Term], fit: Fit | None, v: Floats) -> dict[str, float]:
    """Share of the variance by family: covariance of what the term adds with the values."""
    total = float(v.var())
    if fit is None or total <= 0:
        return {}
    out: dict[str, float] = {}
    k = 1
    for t in terms:
        part = sum(fit.coefficients[k + j] * c for j, c in enumerate(t.columns))
        out[t.family] = float(np.mean((part - np.mean(part)) * (v - v.mean()))) / total
        k += len(t.columns)
    out["rest"] = float(fit.residuals.var()) / total
    return out
