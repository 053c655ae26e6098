"""More locators than a part can touch at once: which carry and which stand off at the limits of its size."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from jawright.mechanics.seat import Bools, Floats, SeatResult
from jawright.proof.population import Scene
from jawright.proof.say import Say

ENOUGH = 3
"""Points on walls that locate a part in the plane: two and one. One more fights when sizes vary."""
STANDS_OFF = 0.002
"""Air [mm] below which a locator counts as touched: how true jaws are cut (common practice, no source)."""


def at_limits(s: Scene, half: float) -> tuple[SeatResult, Floats]:
    """The part seated with its perimeter ``half`` [mm] larger, then smaller; and the samples (2, s)."""
    sample = np.zeros((2, len(s.sources)))
    sample[:, 0] = (half, -half)
    return s.seated(sample), sample


def words(
    s: Scene, locators: Sequence[int], air: Floats, active: Bools, half: float, *, limit: float, say: Say
) -> str:
    """What fights what at the size limits, and the spread of size a full pocket would take; "" when nothing.

    Parameters: ``air`` (2, n) of the ``locators`` and ``active`` (2, contacts) at the largest and the
    smallest part; ``limit`` the air [mm] that counts as seated.
    """
    if len(locators) <= ENOUGH or half <= 0.0:
        return ""
    told = []
    names = [s.contacts[i].name for i in locators]
    for k, size in enumerate(("largest", "smallest")):
        off = [n for n, a in zip(names, air[k], strict=True) if a > STANDS_OFF]
        carry = [n for n, i in zip(names, locators, strict=True) if active[k, i] and n not in off]
        if off and carry:
            leaves = f"leaves {say.fine(float(air[k].max()))} at {', '.join(off)}"
            told.append(f"the {size} part lies on {', '.join(carry)} and {leaves}")
    if not told:
        return ""
    worst = float(air.max())
    room = half * limit / worst
    return (
        f"Over-located by {len(locators) - ENOUGH}: {'; '.join(told)}. So many walls ask for sizes within "
        f"± {say.near(room)}, these vary by ± {say.given(half)}."
    )
