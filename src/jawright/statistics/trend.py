"""Charts of a run and what stands out in them, each with its false-alarm rate.

Sources: NIST/SEMATECH e-Handbook of Statistical Methods, 6.3.2 (charts, run rules), 1.3.5.17 (outliers);
C. W. Champ and W. H. Woodall, Technometrics 29 (1987) 393-399 (run length of rules together);
S. V. Crowder, Technometrics 29 (1987) 401-407 (run length of a moving average).

Values stand in any one unit, results in the same; shares, chances and indices are plain numbers.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy.sparse import csr_matrix, identity
from scipy.sparse.linalg import spsolve
from scipy.special import ndtr, stdtrit

Floats = NDArray[np.float64]

D2 = 1.128
"""Mean range of two normal values in sigmas, as the handbook's tables print it (exactly 2/sqrt(pi))."""


@dataclass(frozen=True, slots=True)
class Chart:
    """A control chart: what is plotted (n,), its center and its limits (n,)."""

    values: Floats
    center: float
    low: Floats
    high: Floats

    @property
    def outside(self) -> tuple[int, ...]:
        """Indices beyond the limits."""
        return tuple(int(i) for i in np.flatnonzero((self.values > self.high) | (self.values < self.low)))


def moving_range(values: ArrayLike) -> float:
    """Mean size of the change from one value to the next. Raises ValueError for fewer than two."""
    v = np.asarray(values, dtype=float)
    if len(v) < 2:
        raise ValueError("a moving range needs two values")
    return float(np.abs(np.diff(v)).mean())


def individuals(values: ArrayLike) -> Chart:
    """Individuals chart: mean ± 3 MR/1.128. Source: e-Handbook 6.3.2.2."""
    v = np.asarray(values, dtype=float)
    center = float(v.mean())
    half = 3 * moving_range(v) / D2
    return Chart(v, center, np.full(len(v), center - half), np.full(len(v), center + half))


def ewma(
    values: ArrayLike,
    *,
    weight: float,
    center: float,
    sigma: float,
    width: float = 3.0,
    settled: bool = False,
) -> Chart:
    """Exponentially weighted moving average z_k = λ x_k + (1 − λ) z_{k−1} from ``center``.

    Limits center ± width σ sqrt(λ/(2 − λ) (1 − (1 − λ)^{2k})); ``settled`` leaves the last factor out.
    Source: e-Handbook 6.3.2.4. Valid for 0 < weight <= 1.
    """
    if not 0 < weight <= 1:
        raise ValueError("the weight lies between 0 and 1")
    v = np.asarray(values, dtype=float)
    z = np.empty(len(v))
    last = center
    for k, x in enumerate(v):
        last = weight * x + (1 - weight) * last
        z[k] = last
    share = np.ones(len(v)) if settled else 1 - (1 - weight) ** (2 * np.arange(1, len(v) + 1))
    half = width * sigma * np.sqrt(weight / (2 - weight) * share)
    return Chart(z, center, center - half, center + half)


def ewma_run_length(weight: float, *, width: float = 3.0, shift: float = 0.0, nodes: int = 60) -> float:
    """Mean number of values up to the first one of a settled ``ewma`` beyond its limits.

    L(u) = 1 + ∫ L(z) φ((z − (1 − λ) u)/λ − shift)/λ dz over the limits, by Gauss-Legendre quadrature; L of
    the center. Source: Crowder 1987. Valid for 0.05 <= weight <= 1 with 60 nodes.
    """
    if not 0.05 <= weight <= 1:
        raise ValueError("the weight lies between 0.05 and 1")
    x, w = np.polynomial.legendre.leggauss(nodes)
    half = width * math.sqrt(weight / (2 - weight))
    z, w = half * x, half * w

    def kernel(u: Floats) -> Floats:
        d = (z[None, :] - (1 - weight) * u[:, None]) / weight - shift
        return np.asarray(np.exp(-(d**2) / 2) / math.sqrt(2 * math.pi) / weight * w[None, :])

    length = np.linalg.solve(np.eye(nodes) - kernel(z), np.ones(nodes))
    return float(1 + (kernel(np.zeros(1)) @ length)[0])


# ---------------------------------------------------------------- run rules


@dataclass(frozen=True, slots=True)
class Rule:
    """``hits`` of the last ``of`` values beyond ``beyond`` sigmas on the same side."""

    name: str
    hits: int
    of: int
    beyond: float


BEYOND_3 = Rule("1 beyond 3 sigma", 1, 1, 3.0)
TWO_OF_THREE = Rule("2 of 3 beyond 2 sigma on one side", 2, 3, 2.0)
FOUR_OF_FIVE = Rule("4 of 5 beyond 1 sigma on one side", 4, 5, 1.0)
EIGHT_ONE_SIDE = Rule("8 in a row on one side", 8, 8, 0.0)
NINE_ONE_SIDE = Rule("9 in a row on one side", 9, 9, 0.0)
RULES = (BEYOND_3, TWO_OF_THREE, FOUR_OF_FIVE, EIGHT_ONE_SIDE)
"""The four usual together (8 in a row; a second tradition counts 9)."""

RISING = 6
"""Values in a row that rise or fall steadily."""
ALTERNATING = 14
"""Values in a row that go up and down by turns."""
HUGGING = 15
"""Values in a row within 1 sigma."""
AVOIDING = 8
"""Values in a row beyond 1 sigma, on both sides."""


def signals(z: ArrayLike, rules: Sequence[Rule] = RULES) -> tuple[tuple[int, str], ...]:
    """Where each rule is met first in a spell: (index, rule's name), ``z`` (n,) in sigmas from the center."""
    v = np.asarray(z, dtype=float)
    found = []
    for rule in rules:
        met = False
        for k in range(len(v)):
            window = v[max(0, k - rule.of + 1) : k + 1]
            now = max((window > rule.beyond).sum(), (window < -rule.beyond).sum()) >= rule.hits
            if now and not met:
                found.append((k, rule.name))
            met = bool(now)
    return tuple(sorted(found))


def patterns(z: ArrayLike) -> tuple[tuple[int, str], ...]:
    """Rising, alternating, hugging and avoiding spells: (index at which it is complete, name)."""
    v = np.asarray(z, dtype=float)
    step = np.sign(np.diff(v))
    found = []
    for name, flags, need in (
        (f"{RISING} in a row rising", step > 0, RISING - 1),
        (f"{RISING} in a row falling", step < 0, RISING - 1),
        (f"{ALTERNATING} in a row up and down", step[1:] * step[:-1] < 0, ALTERNATING - 2),
        (f"{HUGGING} in a row within 1 sigma", np.abs(v) < 1, HUGGING),
        (f"{AVOIDING} in a row beyond 1 sigma", np.abs(v) > 1, AVOIDING),
    ):
        lead = len(v) - len(flags)
        run = 0
        for k, on in enumerate(flags):
            run = run + 1 if on else 0
            if run == need:
                found.append((k + lead, name))
    return tuple(sorted(found))


def run_length(rules: Sequence[Rule] = RULES, *, shift: float = 0.0) -> float:
    """Mean number of values up to the first signal, the process normal and shifted by ``shift`` sigmas.

    Exact, by an absorbing Markov chain whose states are the last values as far as the rules look back
    (Champ and Woodall 1987): (I − Q) L = 1, L of the start. Valid for rules with distinct names.
    """
    bands = sorted({r.beyond for r in rules} | {0.0})
    edges = [-math.inf, *(-b for b in reversed(bands) if b > 0), *bands, math.inf]
    chance = [float(ndtr(b - shift) - ndtr(a - shift)) for a, b in pairwise(edges)]
    middles = [_middle(a, b) for a, b in pairwise(edges)]
    start = tuple((0,) * (r.of - 1) for r in rules for _ in (0, 1))
    index = {start: 0}
    waiting = [start]
    rows: list[int] = []
    columns: list[int] = []
    weights: list[float] = []
    while waiting:
        state = waiting.pop()
        for p, m in zip(chance, middles, strict=True):
            after = _next(state, m, rules)
            if after is None:
                continue
            if after not in index:
                index[after] = len(index)
                waiting.append(after)
            rows.append(index[state])
            columns.append(index[after])
            weights.append(p)
    n = len(index)
    q = csr_matrix((weights, (rows, columns)), shape=(n, n))
    return float(np.atleast_1d(spsolve((identity(n, format="csr") - q).tocsc(), np.ones(n)))[0])


def _middle(a: float, b: float) -> float:
    if math.isinf(a):
        return b - 1.0
    return a + 1.0 if math.isinf(b) else (a + b) / 2


def _next(
    state: tuple[tuple[int, ...], ...], value: float, rules: Sequence[Rule]
) -> tuple[tuple[int, ...], ...] | None:
    """The state after one more value; None when a rule is met.

    Of each rule and side the hits among the last values are kept; old hits that can no longer help are
    dropped, which keeps the chain small.
    """
    out = []
    for k, rule in enumerate(rules):
        for side, sign in enumerate((1.0, -1.0)):
            last = (*state[2 * k + side], 1 if sign * value > rule.beyond else 0)
            if sum(last) >= rule.hits:
                return None
            kept = list(last[1:]) if rule.of > 1 else []
            for j, hit in enumerate(kept):
                # all values still to come while this hit is in sight
                if hit and sum(kept[j:]) + j + 1 < rule.hits:
                    kept[j] = 0
            out.append(tuple(kept))
    return tuple(out)


# ---------------------------------------------------------------- what stands out


def outliers(values: ArrayLike, *, most: int | None = None, chance: float = 0.01) -> tuple[int, ...]:
    """Indices that do not belong to a normal population, by the generalized extreme deviate test.

    R_i = max |x − mean| / s, taken away one by one; λ_i = (n − i) t / sqrt((n − i − 1 + t²)(n − i + 1)).
    Source: B. Rosner, Technometrics 25 (1983); e-Handbook 1.3.5.17.3. Valid for n of 15 and more
    (fewer give none); at most ``most`` (a fifth of the values) are found.
    """
    v = np.asarray(values, dtype=float)
    n = len(v)
    if n < 15:
        return ()
    order = np.argsort(v, kind="stable")
    x = v[order]
    a, b = 0, n  # what is left, sorted: the farthest from its mean is always at an end
    mean = float(x.mean())
    total = float(((x - mean) ** 2).sum())
    found: list[int] = []
    count = 0
    for i in range(1, (n // 5 if most is None else most) + 1):
        m = b - a
        if total <= 0:
            break
        low, high = mean - float(x[a]), float(x[b - 1]) - mean
        worst, off = (a, low) if low >= high else (b - 1, high)
        p = 1 - chance / (2 * (n - i + 1))
        t = float(stdtrit(n - i - 1, p))
        limit = (n - i) * t / math.sqrt((n - i - 1 + t * t) * (n - i + 1))
        found.append(int(order[worst]))
        if off / math.sqrt(total / (m - 1)) > limit:
            count = i
        a, b = (a + 1, b) if worst == a else (a, b - 1)
        rest = total - off * off * m / (m - 1)
        if rest < 1e-3 * total:  # what was taken away outweighed the rest: no difference of large numbers
            mean = float(x[a:b].mean())
            rest = float(((x[a:b] - mean) ** 2).sum())
        else:
            mean += (low if worst < a else -high) / (m - 1)
        total = rest
    return tuple(sorted(found[:count]))


# ---------------------------------------------------------------- gauge study


@dataclass(frozen=True, slots=True)
class GaugeStudy:
    """Average-and-range study: repeatability, reproducibility, both, parts, total (one sigma each)."""

    mean_range: float
    range_of_means: float
    repeatability: float
    reproducibility: float
    gauge: float
    parts: float
    total: float
    percent: float
    classes: int


K1 = {2: 0.8862, 3: 0.5908}  # by trials; Measurement Systems Analysis, 4th edition, appendix C
K2 = {2: 0.7071, 3: 0.5231}  # by people
K3 = {2: 0.7071, 3: 0.5231, 4: 0.4467, 5: 0.4030, 6: 0.3742, 7: 0.3534, 8: 0.3375, 9: 0.3249, 10: 0.3146}


def gauge_study(readings: ArrayLike) -> GaugeStudy:
    """Gauge repeatability and reproducibility by averages and ranges.

    Parameters
    ----------
    readings : shape (people, trials, parts) [mm]

    Source: Measurement Systems Analysis Reference Manual, 4th edition, chapter III section B.
    Valid for 2 or 3 people, 2 or 3 trials, 2 to 10 parts; raises ValueError else.
    """
    r = np.asarray(readings, dtype=float)
    if r.ndim != 3 or r.shape[0] not in K2 or r.shape[1] not in K1 or r.shape[2] not in K3:
        raise ValueError("2 or 3 people, 2 or 3 trials and 2 to 10 parts are needed")
    people, trials, parts = r.shape
    mean_range = float(np.ptp(r, axis=1).mean())
    apart = float(np.ptp(r.mean(axis=(1, 2))))
    ev = mean_range * K1[trials]
    av = math.sqrt(max((apart * K2[people]) ** 2 - ev**2 / (parts * trials), 0.0))
    grr = math.hypot(ev, av)
    pv = float(np.ptp(r.mean(axis=(0, 1)))) * K3[parts]
    tv = math.hypot(grr, pv)
    classes = max(1, int(1.41 * pv / grr)) if grr > 0 else 99
    return GaugeStudy(mean_range, apart, ev, av, grr, pv, tv, 100 * grr / tv if tv > 0 else 0.0, classes)


def repeat_sigma(groups: Sequence[ArrayLike]) -> tuple[float, int]:
    """One sigma of a gauge from parts measured several times, and its degrees of freedom.

    s² = Σ (x − mean of its part)² / Σ (n_i − 1): pooled variance. Raises ValueError without repeats.
    """
    sums, freedom = 0.0, 0
    for g in groups:
        v = np.asarray(g, dtype=float)
        if len(v) > 1:
            sums += float(((v - v.mean()) ** 2).sum())
            freedom += len(v) - 1
    if freedom == 0:
        raise ValueError("no part was measured twice")
    return math.sqrt(sums / freedom), freedom
