"""What a plan predicted of each feature: its tolerance, its scatter, and the side it is located on."""

from __future__ import annotations

import re
from dataclasses import dataclass

from jawright.floor.run import Series
from jawright.proof.model import Proof
from jawright.record import Record


@dataclass(frozen=True, slots=True)
class Expected:
    """Predicted of one feature; None where the plan does not say. Lengths mm."""

    feature: str
    half: float | None  # ± of a position along one axis that surely meets the zone
    sigma: float | None  # one sigma within a setup, as one run shows it
    slope: float | None  # of position on size as held
    largest: str  # the largest source of scatter

    def matches(self, series: Series) -> bool:
        """Whether a measured series is of this feature: its name, or the only thing it can be."""
        return series.feature != "" and _plain(series.feature) == _plain(self.feature)


def from_record(record: Record) -> tuple[Expected, ...]:
    """What the record's proofs of location say, feature by feature."""
    out = []
    for t in record.hold.tolerances if record.hold is not None else ():
        if t.kind not in ("position", "distance"):
            continue
        head = f"{t.feature}: {t.kind}"
        proof = next((p for p in record.proofs if p.question == "locates" and p.name.startswith(head)), None)
        sigma = _within_setup(proof, plane=t.kind == "position")
        slope = _detail(proof, "slope on size as held")
        out.append(Expected(t.feature, t.zone / 2, sigma, slope, _largest(proof)))
    return tuple(out)


def _detail(proof: Proof | None, name: str) -> float | None:
    if proof is None:
        return None
    return next((v for n, v, _ in proof.detail if n == name), None)


def _within_setup(proof: Proof | None, *, plane: bool) -> float | None:
    """Predicted scatter of one axis without what is the same for a whole setup: a run does not show that.

    The plan's figure of a position is that of X and Y together; each is taken to have half its variance.
    """
    total = _detail(proof, "spread by sampling, one sigma")
    if proof is None or total is None:
        return None
    fixed = sum(v for n, v, _ in proof.detail if n.startswith("share of ") and "(once per setup)" in n)
    return float(total * max(0.0, 1.0 - fixed) ** 0.5 / (2**0.5 if plane else 1.0))


def _largest(proof: Proof | None) -> str:
    rows = [
        (v, n.removeprefix("share of ")) for n, v, _ in (proof.detail if proof else ()) if "share of" in n
    ]
    return max(rows)[1] if rows else "unknown"


def _plain(name: str) -> str:
    return re.sub(r"[^a-z0-9]", "", name.lower())
