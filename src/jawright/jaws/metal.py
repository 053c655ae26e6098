"""Aluminum or mild steel for the jaws: what speaks for the metal chosen, in one sentence."""

from __future__ import annotations

from jawright import handbook
from jawright.errors import JawrightError
from jawright.job.model import Job
from jawright.shop.model import Blank

MANY = 500
"""Parts after which aluminum jaws are worn so much that steel pays (common practice, no source)."""

ALIKE = 0.15  # hardness closer than this share counts as the same


def advice(job: Job, blank: Blank) -> str:
    """Why the blank's metal serves this job or which would serve better; "" when a metal is not known.

    Weighed are the quantity, whether a trapped chip beds into the jaws or into the part (it beds into the
    softer), and whether the part may be marked.
    """
    try:
        work, jaw = handbook.material(job.material), handbook.material(blank.material)
    except JawrightError:
        return ""
    a, b = work.brinell, jaw.brinell
    soft = jaw.family in ("aluminum", "plastic", "brass")
    beds = "a trapped chip beds into whichever is softer, which is not known here"
    if a is not None and b is not None:
        if abs(a - b) <= ALIKE * max(a, b):
            beds = "part and jaws are equally hard: a trapped chip marks both"
        elif b < a:
            beds = "a trapped chip beds into the jaws, the softer, and not into the part"
        else:
            beds = "a trapped chip beds into the part, the softer, and not into the jaws"
    if soft and job.quantity > MANY:
        better = f"for {job.quantity} parts mild steel lasts longer (over {MANY}; common practice, no source)"
    elif not soft and job.quantity <= MANY:
        better = f"aluminum would do for {job.quantity} parts and is cut faster"
        if not job.marks_allowed:
            better += ", and this part may not be marked"
    elif soft:
        better = f"aluminum serves for {job.quantity} parts (up to {MANY}; common practice, no source)"
    else:
        better = f"steel lasts for {job.quantity} parts"
    return f"Jaws of {jaw.name}: {better}; {beds}."
