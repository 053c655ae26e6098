"""Parts that do not belong to the others: mistyped, or held off their seat by a chip.

Values in mm or the unit of the column; shares and chances are plain numbers.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from jawright.floor.gauging import collapse
from jawright.floor.model import Named
from jawright.floor.run import Series
from jawright.floor.terms import Model

Floats = NDArray[np.float64]

SHOWN = 12
"""Parts that are named one by one."""

SLIPS = (
    ("typed in inches", 25.4),
    ("typed in mm", 1 / 25.4),
    ("with the other sign", -1.0),
    ("with the decimal point one place on", 0.1),
    ("with the decimal point one place back", 10.0),
)
"""Ways a value is mistyped, and what sets it right."""


def named(series: Series, model: Model, parts: Sequence[str], values: Floats) -> Named:
    """The parts that do not belong, and how they may have been mistyped; ``values`` (n,) of the ``parts``."""
    names = tuple(parts[i] for i in model.odd)
    shown = ", ".join(names[:SHOWN]) + (f" and {len(names) - SHOWN} more" if len(names) > SHOWN else "")
    slips = _slips(model, values)
    return Named(
        "outlier",
        series.name,
        True,
        f"{series.name}: part{'s' if len(names) > 1 else ''} {shown} do"
        f"{'' if len(names) > 1 else 'es'} not belong to the others{slips}",
        "look at how it was typed, measure it again"
        if slips
        else "measure it again, then look at the seat for a chip",
        "do not move the offset for it",
        parts=names,
    )


def _slips(model: Model, values: Floats) -> str:
    """Words when each value that does not belong would, had it been typed in another way."""
    usual = values[model.kept]
    middle, spread = float(np.median(usual)), float(usual.std(ddof=1))
    if abs(middle) < 4 * spread:
        return ""  # about zero any small number belongs
    near = max(4 * spread, 1e-9)
    for what, factor in SLIPS:
        if all(abs(factor * values[k] - middle) <= near for k in model.odd):
            return f": it would, {what}"
    return ""


def together(found: list[Named], models: Sequence[tuple[Series, Model]], parts: Sequence[str]) -> list[Named]:
    """Outliers low in X and Y at once become a chip in the root of the seat."""
    chips: list[Named] = []
    gone: set[tuple[str, str]] = set()
    order = list(dict.fromkeys(parts))
    for i, (a, ma) in enumerate(models):
        for b, mb in models[i + 1 :]:
            if a.feature != b.feature or {a.axis, b.axis} != {"x", "y"}:
                continue
            both = sorted(set(ma.odd) & set(mb.odd))
            if not both:
                continue
            off_a, off_b = _off(a, ma, parts), _off(b, mb, parts)
            low = [k for k in both if off_a[k] < 0 and off_b[k] < 0]
            if not low:
                continue
            names = tuple(order[k] for k in low)
            gone |= {(s.name, n) for s in (a, b) for n in names}
            chips.append(
                Named(
                    "chip",
                    f"{a.name}, {b.name}",
                    True,
                    f"part{'s' if len(names) > 1 else ''} {', '.join(names)} low in X and in Y at once: "
                    "a chip in the root between locating wall and stop held it off both",
                    "blow and wipe walls and floor for every part; check that the corner is relieved",
                    "do not move the offset",
                    parts=names,
                )
            )
    kept = []
    for n in found:
        if n.cause == "outlier" and all((n.series, p) in gone for p in n.parts):
            continue
        kept.append(n)
    return kept + chips


def _off(series: Series, model: Model, parts: Sequence[str]) -> dict[int, float]:
    """How far each part that does not belong lies from the middle of those that do."""
    values = collapse(tuple(parts), series.values)[1]
    usual = float(np.nanmedian(values[model.kept]))
    return {k: float(values[k]) - usual for k in model.odd}
