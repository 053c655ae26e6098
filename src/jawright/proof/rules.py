"""Limits and bands of the grip and hold proofs, each with its basis; read from ``data/proof_rules.toml``."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache

from jawright import handbook


@dataclass(frozen=True, slots=True)
class Rule:
    """A limit (low = set = high) or a band, with its basis."""

    low: float
    set: float
    high: float
    basis: str

    def said(self, what: str) -> str:
        """One line for the assumptions of a proof."""
        if self.low == self.high:
            return f"{what}: {self.set:g} ({self.basis})"
        return f"{what}: {self.low:g} / {self.set:g} / {self.high:g} ({self.basis})"


@cache
def rule(name: str) -> Rule:
    """The rule called ``name``; lengths in mm, torque in N·m."""
    row = handbook.table("proof_rules")[name]
    low, mid, high = row["band"] if "band" in row else (row["value"],) * 3
    return Rule(float(low), float(mid), float(high), str(row["basis"]))
