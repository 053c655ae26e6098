"""All six questions put to one hold, in their order; and the quick figures used for ranking."""

from __future__ import annotations

from jawright.hold.model import Hold
from jawright.jaws.model import Jaws
from jawright.job.model import Job
from jawright.part.model import Part
from jawright.proof import bruise, clears, equal, grips, holds, loads, locates, sits, spring, wedge
from jawright.proof import window as torque_window
from jawright.proof.model import QUESTIONS, Proof
from jawright.proof.quick import quick_seating
from jawright.shop.model import Shop


def prove(hold: Hold, jaws: Jaws | None, part: Part, job: Job, shop: Shop) -> tuple[Proof, ...]:
    """Every proof of a hold, sorted by question. ``jaws`` is None in hard jaws."""
    found: list[Proof] = []
    for room in (loads, sits, grips, equal, bruise, spring, holds, wedge, locates, clears):
        found.extend(room.prove(hold, jaws, part, job, shop))
    order = {q: i for i, q in enumerate(QUESTIONS)}
    return tuple(sorted(found, key=lambda p: order[p.question]))


def window(
    hold: Hold, jaws: Jaws | None, part: Part, job: Job, shop: Shop
) -> tuple[float, float, float] | None:
    """Torque window (least to hold, set, most before harm) [N·m], None when it cannot be told."""
    return torque_window.window(hold, jaws, part, job, shop)


def quick(
    hold: Hold, jaws: Jaws | None, job: Job, shop: Shop
) -> tuple[float | None, float | None, float | None]:
    """Predicted yield (0 to 1), grip factor and air at the locators [mm], as used for ranking."""
    good, air = quick_seating(hold, jaws, job, shop)
    return good, holds.quick_margin(hold, jaws, job, shop), air
