"""Walls that come in out of square: a jaw meets one edge of them, and lifts the part off its floor.

Lengths in mm.
"""

from __future__ import annotations

from jawright.hold.model import Hold
from jawright.jaws.model import Jaws
from jawright.job.model import Job
from jawright.part.model import Part
from jawright.proof.judge import Band, Basis, Extra, at_most
from jawright.proof.model import Proof
from jawright.proof.rules import rule
from jawright.proof.say import Say
from jawright.shop.model import Shop

NAME = "walls out of square"


def prove(hold: Hold, jaws: Jaws | None, part: Part | None, job: Job, shop: Shop) -> list[Proof]:  # noqa: ARG001
    """How far a wall as it comes in leans over the grip; nothing where that is within what jaws taper.

    Drafted walls touch on one line anyhow and are told of by themselves.
    """
    i, say, limit = job.incoming.squareness, Say(job.units), rule("taper_mm")
    tall = hold.part_top - hold.floor
    lean = i.value * hold.grip_depth / tall if tall > 0 else 0.0
    if lean <= limit.set or any(c.lean for c in hold.contacts):
        return []
    basis = Basis(
        "lean-over-the-grip-1",
        "plane geometry",
        (
            f"each wall leans by ± {say.given(i.value)} over the part's height ({i.basis}); a third of that "
            "is one sigma",
            limit.said("open over the grip"),
        ),
    )
    sentence = (
        f"As parts come in a wall leans by up to {say.fine(lean)} over the grip: the jaw meets one edge of "
        "it, and as the vise closes the part is lifted off its floor on that side. Put a round bar or a "
        "strip of soft metal between part and floating jaw and tap the part down, or square the walls first."
    )
    return [
        at_most(
            "grips", NAME, sentence, band=Band(0.0, lean / 3.0, lean), unit="mm", limit=limit.set,
            basis=basis, extra=Extra(at_worst="caution"),
        )
    ]  # fmt: skip
