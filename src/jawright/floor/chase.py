"""The operator's chasing: offset changes that answer the last part, and the run replayed without them.

Lengths in mm; shares and chances are plain numbers.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.special import stdtr

from jawright.floor.model import Named
from jawright.floor.run import Run, Series
from jawright.statistics.regress import least_squares

Floats = NDArray[np.float64]

LEAST_CHANGES = 5
"""Fewer changes do not show a habit."""

SURE = 0.001
"""Chance by luck below which a habit is named."""

MORE = 1.05
"""Spread with the corrections over spread without, from which they are said to have done harm."""

UNSURE = 0.05
"""Or the chance by luck of so much more spread, below which they are."""


@dataclass(frozen=True, slots=True)
class Replay:
    """A series with the offset changes taken back: what the parts would have been.

    ``answer`` is the slope of the change on the deviation before it (−1: the whole of it was
    dialed in), ``habit`` its chance by luck, ``worse`` the chance by luck that the spread is so
    much larger with the corrections than without.
    """

    natural: Floats
    changes: int
    answer: float
    habit: float
    spread: float
    spread_natural: float
    worse: float

    @property
    def habit_shown(self) -> bool:
        """The changes answer single parts."""
        return self.changes >= LEAST_CHANGES and self.answer < -0.2 and self.habit < SURE

    def named(self, series: Series) -> list[Named]:
        """The cause, when the changes answer single parts and have done no good."""
        ratio = self.spread / self.spread_natural if self.spread_natural > 0 else 1.0
        if not self.habit_shown or (ratio < 1 and self.worse > 1 - UNSURE):
            return []  # no habit, or the corrections have done good: something really moves
        sure = ratio > MORE or self.worse < UNSURE
        return [
            Named(
                "chasing",
                series.name,
                sure,
                f"{series.name}: the {self.changes} offset changes answer the part before "
                f"({-self.answer:.0%} of its deviation was dialed in): spread {self.spread:.4f} mm, "
                f"without them {self.spread_natural:.4f} mm, {ratio:.2f} times",
                "leave the offset alone and change it only on the mean of five parts, when it is due",
                "do not correct after single parts",
                value=ratio,
                unit="",
                share=1 - 1 / ratio**2,
            )
        ]


def replay(run: Run, series: Series, rows: NDArray[np.int64], values: Floats) -> Replay | None:
    """The series without the offset changes; None when none is logged along its axis.

    A change adds to this part and all after it, c times its size: c is +1, or −1 where the shop's
    sign is the other; the one that leaves less spread from part to part is taken.
    """
    log = next((o for o in run.offsets if o.axis and o.axis == series.axis), None)
    if log is None or not np.any(log.values):
        return None
    total = np.cumsum(log.values)[rows]
    change = np.diff(np.concatenate(([0.0], total)))
    known = np.isfinite(values)
    sign = min((1.0, -1.0), key=lambda c: _rough(values - c * total))
    natural = values - sign * total
    answer, habit = _answer(sign * change, values)
    v, w = values[known], natural[known]
    return Replay(
        natural=natural,
        changes=int((change != 0).sum()),
        answer=answer,
        habit=habit,
        spread=float(v.std(ddof=1)),
        spread_natural=float(w.std(ddof=1)),
        worse=_wider(v, w),
    )


def _rough(values: Floats) -> float:
    v = values[np.isfinite(values)]
    return float((np.diff(v) ** 2).sum()) if len(v) > 1 else 0.0


def _answer(change: Floats, values: Floats) -> tuple[float, float]:
    """Slope of the changes made on the deviation measured just before, and its chance by luck."""
    before = values[:-1]
    made = change[1:]
    use = (made != 0) & np.isfinite(before)
    if use.sum() < LEAST_CHANGES:
        return 0.0, 1.0
    try:
        fit = least_squares([before[use]], made[use])
    except ValueError:
        return 0.0, 1.0
    return float(fit.coefficients[1]), fit.chance(1)


def _wider(a: Floats, b: Floats) -> float:
    """Chance by luck that ``a`` spreads so much more than ``b``, the two of the same parts.

    Pitman and Morgan: correlation of a + b with a − b, Student's t with n − 2. Source: E. J. G. Pitman,
    Biometrika 31 (1939) 9-12. One-sided.
    """
    n = len(a)
    if n < 4:
        return 1.0
    plus, minus = a + b, a - b
    if minus.std() == 0 or plus.std() == 0:
        return 1.0
    r = float(np.corrcoef(plus, minus)[0, 1])
    t = r * math.sqrt((n - 2) / max(1e-15, 1 - r * r))
    return float(stdtr(n - 2, -t))
