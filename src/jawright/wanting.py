"""Nothing holds only because the shop lacks something: say what is wanting, instead of giving up.

Lengths in mm.
"""

from __future__ import annotations

from collections.abc import Sequence

from jawright.blank_wanted import wanted
from jawright.carry import Progress
from jawright.choose import Candidate
from jawright.errors import JawrightError
from jawright.hold.resolve import Ask
from jawright.job.model import Job
from jawright.part.model import Part
from jawright.shop.model import Shop

TOO_LONG = "mm of jaw length"
"""In the reason why a blank does not take a part: it is not long enough."""


def refuse(tried: Sequence[Candidate], part: Part, job: Job, shop: Shop, ask: Ask, *, say: Progress) -> None:
    """Raise when nothing holds only because the shop lacks a blank, or what the job pins; else return.

    Raises ``shop-no-blank`` naming a size that would do, ``shop-no-spacer``, or
    ``value-bad`` for a blank that is pinned and does not serve, or a spacer stack that cannot be made.
    """
    soft_lost = [c for c in tried if c.kind == "soft jaws" and c.lost]
    wanting = [c for c in soft_lost if c.lost.startswith("no blank")]
    if not wanting or job.hold.kind == "hard jaws":
        return
    if not shop.parallels:
        raise JawrightError(
            "shop-no-spacer",
            what="the shop has no parallels: nothing can be clamped between the jaws while they are cut",
            where=shop.source,
            todo="add the parallels the shop owns",
        )
    best = min(wanting, key=lambda c: (c.rank_hint, len(c.lost)))
    if all("stand on both jaws" in c.lost for c in wanting):
        raise JawrightError(
            "shop-no-spacer",
            what=f"no parallel is narrow enough to set the gap for this part, {best.why_tried}: {best.lost}",
            where=shop.source,
            todo="add a narrower pair of parallels to the shop file",
        )
    pinned = [c for c in wanting if "as pinned" in c.lost]
    if pinned:
        best = min(pinned, key=lambda c: c.rank_hint)
        raise JawrightError(
            "value-bad",
            what=f"{best.why_tried}: {best.lost}",
            where="[hold] spacers" if job.hold.spacers else "[hold] spacer_height",
            todo="pin a height or parallels the shop can make there, or leave the spacers to be chosen",
        )
    if job.hold.blank:
        raise JawrightError(
            "value-bad",
            what=f"the job asks for blank {job.hold.blank}, {best.why_tried}: {best.lost}",
            where="[hold] blank",
            todo="leave the blank to be chosen: without this pin the shop's others are tried",
        )
    part_size = " × ".join(f"{s:.1f}" for s in part.size)
    say("looking for the size of blank that would do")
    helps = wanted(part, job, shop, ask)
    if not shop.blanks:
        todo = "add the jaw blanks the shop owns to the shop file"
    elif helps.blank is None:
        line = "in vises in line ([[in_line]] in the shop file), " if TOO_LONG in helps.words else ""
        todo = (
            f"no larger blank helps in the vises there are ({helps.words}): hold it {line}on the table or a "
            "plate"
        )
    else:
        b = helps.blank
        size = f"{b.length:.0f} mm long, {b.thickness:.1f} mm thick and {b.height:.0f} mm high"
        todo = (
            f"add a pair of {b.material} {size}, its bolt holes {b.bolt_spacing:.0f} mm apart, to the shop "
            f"file: jaws for this part can be cut in those, {helps.words}"
        )
    raise JawrightError(
        "shop-no-blank",
        what=f"no jaw blank fits the part ({part_size} mm), {best.why_tried}: {best.lost}",
        where=shop.source,
        todo=todo,
    )
