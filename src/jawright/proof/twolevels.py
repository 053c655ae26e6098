"""A part whose underside has several levels: does the second one fight the first, or stay clear of its jaw?

Lengths in mm, angles in rad.
"""

from __future__ import annotations

import math

import numpy as np

from jawright.hold.model import Hold
from jawright.jaws.lower import CLEAR
from jawright.jaws.model import Jaws
from jawright.job.model import Job
from jawright.proof.chips import room
from jawright.proof.judge import Band, Basis, Extra, at_least, at_most
from jawright.proof.model import Proof
from jawright.proof.say import Say
from jawright.proof.underneath import CHIP, OWN_SHAPE, tilt_costs

LEAST_SPAN = 1.0
"""Levels whose supports lie nearer one another along their way [mm] are taken this far apart."""


def prove(hold: Hold, jaws: Jaws | None, job: Job) -> list[Proof]:
    """What the second level of an underside does; nothing for a part that stands on one level."""
    say = Say(job.units)
    found = []
    if any(b.soles for b in hold.below):
        found.append(_fight(hold, job, say))
    if jaws is not None and any(not b.soles for b in hold.below):
        found.append(_clear(hold, job, say))
    return found


def span(hold: Hold) -> float:
    """Distance [mm] over which a difference of the two levels tilts the part: the shorter of two ways.

    A part whose lower side is short tips over the upper floor's edge until the far end of the lower one
    lands; one whose lower side is long stands on that one's near edge and on the upper floor's far end.
    """
    low = hold.floor - min(b.depth for b in hold.below if b.soles) / 2
    points = [c for c in hold.contacts if c.on == "floor"]
    upper = np.array([c.point[:2] for c in points if c.point[2] > low])
    lower = np.array([c.point[:2] for c in points if c.point[2] <= low])
    if not len(upper) or not len(lower):
        return LEAST_SPAN
    way = lower.mean(axis=0) - upper.mean(axis=0)
    length = float(np.hypot(*way))
    if length < LEAST_SPAN:
        return LEAST_SPAN
    u, v = upper @ way / length, lower @ way / length
    return float(max(LEAST_SPAN, min(v.max() - u.max(), v.min() - u.min())))


def _fight(hold: Hold, job: Job, say: Say) -> Proof:
    """Feet at two levels are a support too many: what their difference costs, in the worst tolerance."""
    differs = job.incoming.thickness
    across = span(hold)
    slope = differs.value / across
    asked = [t for t in hold.tolerances if t.kind not in OWN_SHAPE]
    effects = [(tilt_costs(hold, t, slope), t) for t in asked]
    first = max(effects, key=lambda e: e[0] / room(e[1], hold.tolerances), default=None)
    x0, y0, x1, y1 = hold.outline.outer.box
    rise = slope * math.hypot(x1 - x0, y1 - y0)
    off, zone = (first[0], room(first[1], hold.tolerances)) if first else (rise, CHIP)
    depth = max(b.depth for b in hold.below if b.soles)
    carrier = next((d.letter for d in hold.datums if d.seat == "floor" and d.normal[2] < -0.999), "")
    zero = f" Z is taken from datum {carrier}." if carrier else ""
    sentence = (
        f"It stands on two levels {say.near(depth)} apart, and parts differ by ± {say.given(differs.value)} "
        f"between them: that tips a part by up to {math.degrees(slope):.2f}°, {say.fine(rise)} over its "
        "length"
    )
    if first is not None and off > 0.0:
        verb = "breaks" if off > zone else f"takes {100 * off / zone:.0f} % of"
        sentence += f", which {verb} {first[1].kind} {say.given(first[1].zone)} of {first[1].feature}"
    sentence += f".{zero} Measure the step of this lot and cut the lower floor to it."
    return at_most(
        "sits", "floor at two levels", sentence, band=Band(0.0, off, off), unit="mm", limit=zone,
        basis=Basis(
            "two-levels-1", "plane geometry of a rigid part on two floors",
            (f"levels differ from part to part by ± {say.given(differs.value)} ({differs.basis})",
             "the worst part; tapped down it tips one way or the other"),
        ),
        extra=Extra(
            at_best="pass", at_worst="caution",
            detail=(("distance over which it tips", across, "mm"), ("tilt", math.degrees(slope), "deg"),
                    ("out of true over the part", rise, "mm"), ("step between the levels", depth, "mm")),
        ),
    )  # fmt: skip


def _clear(hold: Hold, job: Job, say: Say) -> Proof:
    """Whether what reaches below the floor hangs clear in every part."""
    differs = job.incoming.thickness
    depth = max(b.depth for b in hold.below if not b.soles)
    left = CLEAR - differs.value
    sentence = (
        f"What reaches {say.near(depth)} below the floor hangs clear by {say.given(CLEAR)}, at the "
        f"longest part by {say.near(max(left, 0.0))}: it needs no floor, and none fights the one above."
        if left >= CHIP
        else f"What reaches {say.near(depth)} below the floor would touch at the longest part: cut the room "
        f"for it {say.near(CHIP - left)} deeper."
    )
    return at_least(
        "sits", "room below the floor", sentence, band=Band(left, CLEAR, CLEAR + differs.value), unit="mm",
        limit=CHIP,
        basis=Basis(
            "two-levels-1", "sum of lengths",
            (f"levels differ from part to part by ± {say.given(differs.value)} ({differs.basis})",
             f"a chip of {say.given(CHIP)} lies under it (common practice, no source)"),
        ),
    )  # fmt: skip
