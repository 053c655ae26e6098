"""What a torque wrench can hit, and how wide a torque window has to be for it.

Torques in N·m.
"""

from __future__ import annotations

from dataclasses import dataclass

from jawright.proof.model import Proof
from jawright.proof.rules import rule

SMALL = 10.0
"""A wrench for no more than this may deviate by more (ISO 6789-1)."""


@dataclass(frozen=True, slots=True)
class Hit:
    """A torque set at a wrench: its deviation as a share, and the least and the most that then act."""

    share: float
    low: float
    high: float

    def within(self, least: float, most: float) -> bool:
        """Whether all of it lies in a window."""
        return least <= self.low and self.high <= most


def hit(torque: float) -> Hit:
    """What acts when a torque is set at a wrench that keeps the standard's deviation."""
    share = rule("wrench_small" if torque <= SMALL else "wrench").set
    return Hit(share, torque * (1.0 - share), torque * (1.0 + share))


def width(torque: float) -> float:
    """Most over least of the narrowest window in which a wrench can be set to hit."""
    share = hit(torque).share
    return (1.0 + share) / (1.0 - share)


def narrow(least: float, most: float) -> bool:
    """Whether a window that is open is too narrow for a torque wrench, wherever in it the torque is set."""
    return 0.0 < least <= most < least * width(least) * (1.0 - 1e-9)


def lacking(window: Proof | None) -> float:
    """Share of the width a wrench needs that an open window lacks: 0 where it hits, 1 where it is just shut.

    0 as well for a window that is shut or unknown, or of a vise that no wrench closes.
    """
    if window is None or window.unit != "N·m" or window.low is None or window.high is None:
        return 0.0
    if not narrow(window.low, window.high):
        return 0.0
    return 1.0 - (window.high / window.low - 1.0) / (width(window.low) - 1.0)
