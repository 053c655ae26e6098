"""Blanks of a pair that the shop makes from bar: their programs, written and read back."""

from __future__ import annotations

from jawright.cutting.bar import write_blank
from jawright.errors import JawrightError
from jawright.jaws.bar import hold_bar
from jawright.jaws.model import Bar, Jaws
from jawright.job.model import Job
from jawright.record import BlankWork
from jawright.shop.model import Blank, Shop, Vise
from jawright.told import told
from jawright.verify.check import check_blank


def made_blanks(jaws: Jaws, shop: Shop, job: Job, *, vise: Vise) -> tuple[BlankWork, ...]:
    """The work on each kind of blank of the pair that is made from bar; none for blanks that are bought.

    What cannot be made with the shop's cutters and parallels is told in its ``note``: the pair
    itself does not hang on it, since such a blank can be bought.
    """
    pair = (jaws.fixed.blank, jaws.floating.blank)
    kinds = {b.id: b for b in pair if b.bar_thickness > 0.0}
    return tuple(
        _made(b, shop, job, vise=vise, count=sum(p.id == b.id for p in pair)) for b in kinds.values()
    )


def _made(blank: Blank, shop: Shop, job: Job, *, vise: Vise, count: int) -> BlankWork:
    bar: Bar | None = None
    try:
        bar = hold_bar(blank, shop, vise)
        program = write_blank(bar, shop, job, vise=vise)
    except JawrightError as error:
        if error.code not in ("shop-no-cutter", "shop-no-parallel", "value-bad"):
            raise
        return BlankWork(bar, blank.id, count, None, None, told(f"{error.what}: {error.todo}", job.units))
    verification = check_blank(
        program.text, origin=program.origin, turned=program.turned, bar=bar, shop=shop, vise=vise
    )
    return BlankWork(bar, blank.id, count, program, verification)
