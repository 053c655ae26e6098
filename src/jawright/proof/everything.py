"""All six questions put to one hold, in their order; and the quick figures used for ranking."""

from __future__ import annotations

from collections.abc import Callable, Sequence

from jawright.hold.model import Hold
from jawright.jaws.model import Jaws
from jawright.job.model import Job
from jawright.part.model import Part
from jawright.proof import (
    bruise,
    clears,
    equal,
    grips,
    holds,
    loads,
    locates,
    overhang,
    sits,
    spring,
    unsquare,
    wedge,
)
from jawright.proof import window as torque_window
from jawright.proof.model import QUESTIONS, Proof, Question
from jawright.proof.quick import quick_seating, quick_seatings
from jawright.shop.model import Shop

Figures = tuple[float | None, float | None, float | None]
"""Predicted yield (0 to 1), grip factor and air at the locators [mm] of a hold."""
Prover = Callable[[Hold, Jaws | None, Part, Job, Shop], Sequence[Proof]]

ROOMS: dict[Question, tuple[Prover, ...]] = {
    "loads": (loads.prove,),
    "sits": (sits.prove, equal.prove),
    "grips": (grips.prove, unsquare.prove, equal.prove, bruise.prove, spring.prove),
    "holds": (holds.prove, wedge.prove, overhang.prove),
    "locates": (locates.prove,),
    "clears": (clears.prove,),
}
"""What answers each question; what answers two gives the proofs of either."""


def answer(
    hold: Hold, jaws: Jaws | None, part: Part, job: Job, shop: Shop, *, question: Question
) -> tuple[Proof, ...]:
    """The proofs of one question. ``jaws`` is None in hard jaws."""
    return tuple(
        p for room in ROOMS[question] for p in room(hold, jaws, part, job, shop) if p.question == question
    )


def prove(hold: Hold, jaws: Jaws | None, part: Part, job: Job, shop: Shop) -> tuple[Proof, ...]:
    """Every proof of a hold, sorted by question. ``jaws`` is None in hard jaws."""
    return tuple(p for q in QUESTIONS for p in answer(hold, jaws, part, job, shop, question=q))


def window(
    hold: Hold, jaws: Jaws | None, part: Part, job: Job, shop: Shop
) -> tuple[float, float, float] | None:
    """Torque window (least to hold, set, most before harm) [N·m], None when it cannot be told."""
    return torque_window.window(hold, jaws, part, job, shop)


def quick(hold: Hold, jaws: Jaws | None, job: Job, shop: Shop) -> Figures:
    """Predicted yield (0 to 1), grip factor and air at the locators [mm], as used for ranking."""
    good, air = quick_seating(hold, jaws, job, shop)
    return good, holds.quick_margin(hold, jaws, job, shop), air


def quick_all(asked: Sequence[tuple[Hold, Job, Shop]]) -> list[Figures]:
    """``quick`` of many holds, each with its job and shop, to the same last bit in far less time."""
    seated = quick_seatings(asked)
    return [
        (good, holds.quick_margin(hold, None, job, shop), air)
        for (good, air), (hold, job, shop) in zip(seated, asked, strict=True)
    ]
