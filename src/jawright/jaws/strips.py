"""Spacers that are made for a part too narrow for every gap the shop's parallels can set. Lengths in mm."""

from __future__ import annotations

from collections.abc import Sequence

from jawright.jaws.spacers import NARROWEST, widths
from jawright.shop.model import Blank, Parallel

THICKNESSES = (5.0, 4.0, 3.0, 2.0, NARROWEST)
"""Of flat stock that shops have at hand [mm] (common practice, no source)."""
LONG = 20.0  # along the jaw (common practice, no source)
BELOW = 2.0  # from a strip's upper edge to the top of the jaws, to take hold of it below the cutter's way


def strips(parallels: Sequence[Parallel], blanks: Sequence[Blank]) -> tuple[Parallel, ...]:
    """A pair of strips for each narrow gap that no owned parallel sets; none where the shop has no parallels.

    They stand on the bed and reach nearly to the top of the jaws, so that their force acts as near to the
    grip as that of a parallel of the same height.
    """
    least = min((w.gap for w in widths(parallels)), default=0.0)
    heights = sorted({b.height - BELOW for b in blanks if b.height > 2 * BELOW})
    return tuple(
        Parallel(f"strip {t:g}x{h:g}", h, t, LONG, 2, to_make=True)
        for t in THICKNESSES
        if t < least - 1e-9
        for h in heights
    )
