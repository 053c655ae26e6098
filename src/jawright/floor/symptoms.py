"""The eight pictures of "something is wrong", with the two readings that are asked for each."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

KIND = Literal["length", "torque", "time"]


@dataclass(frozen=True, slots=True)
class Reading:
    """One reading that is asked for, and its kind; ``how`` says how it is taken."""

    label: str
    kind: KIND
    how: str


@dataclass(frozen=True, slots=True)
class Symptom:
    """One of the eight pictures."""

    key: str
    name: str
    readings: tuple[Reading, Reading]


SYMPTOMS: tuple[Symptom, ...] = (
    Symptom(
        "rocks",
        "Rocks",
        (
            Reading("Gap under the loosest corner", "length", "thickest feeler that goes under"),
            Reading("The same gap after wiping and stoning", "length", "clean part and floor, load again"),
        ),
    ),
    Symptom(
        "lifts",
        "Lifts",
        (
            Reading("Rise at the fixed jaw", "length", "indicator on the part's top while tightening"),
            Reading("Rise at the floating jaw", "length", "the same on the other side"),
        ),
    ),
    Symptom(
        "chip",
        "Chip under it",
        (
            Reading("How much higher than its neighbors", "length", "indicator over part and a good one"),
            Reading("The same after wiping and loading again", "length", "the very same part"),
        ),
    ),
    Symptom(
        "marks",
        "Marks",
        (
            Reading("Torque that was used", "torque", "as read on the wrench"),
            Reading("Depth of the deepest mark", "length", "indicator across it, or by feel"),
        ),
    ),
    Symptom(
        "tight",
        "Too tight",
        (
            Reading("Largest width of the part", "length", "micrometer across the jaws' direction"),
            Reading("Width of the same part at the other end", "length", "to see whether it is tapered"),
        ),
    ),
    Symptom(
        "loose",
        "Too loose",
        (
            Reading("Smallest width of the part", "length", "micrometer across the jaws' direction"),
            Reading("Feeler that enters at the fixed jaw", "length", "with the vise at its torque"),
        ),
    ),
    Symptom(
        "mismatch",
        "Mismatch line",
        (
            Reading("Step at the left end", "length", "plus when this side stands out"),
            Reading("Step at the right end", "length", "the same wall, its other end"),
        ),
    ),
    Symptom(
        "drifts",
        "Size drifts",
        (
            Reading(
                "Change of the mean since the start", "length", "mean of the last three less first three"
            ),
            Reading("Time since the machine was started", "time", "with the spindle running"),
        ),
    ),
)


def symptom(key: str) -> Symptom | None:
    """The symptom of a key; None when there is none."""
    return next((s for s in SYMPTOMS if s.key == key), None)
