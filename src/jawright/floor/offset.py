"""Whether an offset change is due, how large, and what it gains.

Values in mm or the unit of the column; shares and chances are plain numbers.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from jawright.floor import doubt
from jawright.floor.model import Correction
from jawright.floor.run import Series
from jawright.floor.terms import Model

Floats = NDArray[np.float64]

DUE = 3.0
"""A mean this many of its own standard errors off nominal is due (3 sigma: e-Handbook 6.3.2)."""

WORTH = 0.25
"""And off by at least this share of one sigma: less changes the spread by under 3 %."""

LEAST = 5
"""Parts a mean is made of, at least (3 to 5: common practice, no source)."""

FLAT = 3.0
"""A warm-up is over after this many of its time constants: 95 % of the way."""


def due(
    series: Series,
    values: Floats,
    natural: Floats,
    model: Model,
    *,
    absolute: bool,
    nests: Sequence[str] = (),
) -> list[Correction]:
    """The changes that bring a position to nominal, when the parts made last prove it off.

    Only the parts after the last step, the last offset change that stayed and a warm-up count. Nests that
    differ are judged each by its own parts, for one offset cannot serve them; ``nests`` are their names in
    order, () where nobody wrote them down. The gain is the fall of the root mean square off nominal, the new
    mean known to s/sqrt(n).
    """
    if series.axis not in ("x", "y", "z") or absolute or model.fit is None:
        return []
    wanders = any(t.family == "drift" for t in model.terms) or model.rivals
    if wanders or doubt.slow(model) < doubt.SLOW or doubt.coarse(series, values):
        return []  # a level that wanders, or that the gauge does not show, is not set right by one change
    rows = np.flatnonzero(model.kept)
    start = _settled(model, rows)
    shift = values - natural  # what the logged changes have done
    now = float(shift[rows[-1]]) if len(rows) else 0.0
    level = natural[rows] + now
    use = rows >= start
    term = next((t for t in model.terms if t.family == "nest"), None)
    if term is None:
        found = [_proposal(series, level[use], f"the last {int(use.sum())} parts lie", "the offset")]
        return [c for c in found if c is not None]
    which = np.argmax(
        np.vstack([np.full(len(rows), 0.5), *term.columns]), axis=0
    )  # 0: in none of the columns
    out = []
    for k in range(len(term.columns) + 1):
        mine = use & (which == k)
        of = f"of nest {nests[k]}" if nests else f"that come {k + 1} of {len(term.columns) + 1} in turn"
        said = f"the last {int(mine.sum())} parts {of} lie"
        out.append(_proposal(series, level[mine], said, "the offset of that nest alone"))
    return [c for c in out if c is not None]


def _proposal(series: Series, v: Floats, whose: str, what: str) -> Correction | None:
    """The change that these parts (n,) prove due, if they do."""
    n = len(v)
    if n < LEAST:
        return None
    mean, sd = float(v.mean()), float(v.std(ddof=1))
    error = sd / math.sqrt(n)
    if sd == 0 or abs(mean) < DUE * error or abs(mean) < WORTH * sd:
        return None
    before = math.hypot(mean, sd)
    after = math.hypot(error, sd)
    sentence = (
        f"{series.name}: {whose} {mean:+.4f} mm off nominal, proven to ±{DUE * error:.4f} mm: "
        f"change {what} by {-mean:+.4f} mm; the spread about nominal falls from {before:.4f} to "
        f"{after:.4f} mm"
    )
    return Correction(series.axis, -mean, error, before, after, sentence)


def _settled(model: Model, rows: NDArray[np.int64]) -> int:
    """First row from which the level no longer moves."""
    start = int(rows[0]) if len(rows) else 0
    for t in model.terms:
        if t.family == "step":
            start = max(start, int(t.at))
        if t.family == "warm-up":
            # the column falls from 1: settled where it is below e^-3
            flat = np.flatnonzero(t.columns[0] < math.exp(-FLAT))
            start = max(start, int(rows[flat[0]])) if len(flat) else int(rows[-1]) + 1
    return start
