"""Equal grip: does the smallest of several parts in one pair of jaws still get enough of the force?"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace

from jawright.hold.model import Hold
from jawright.jaws.model import Jaws
from jawright.job.model import Job
from jawright.part.model import Part
from jawright.proof import clamp
from jawright.proof.fewer import NUMBERS
from jawright.proof.judge import Band, Basis, Extra, at_least, unknown
from jawright.proof.model import Proof
from jawright.proof.row import Row
from jawright.proof.rules import rule
from jawright.proof.say import Say
from jawright.proof.window import study
from jawright.shop.model import Shop

PUSHED = 0.9973
"""Share of loads in which every part is reached: three sigma, as for the locators."""


def _pushed_home(row: Row, forces: Sequence[float], basis: Basis, say: Say) -> list[Proof]:
    """Does the jaw, turned as far as its play lets it, reach the smallest part as well?"""
    got = [s for s in (row.seats(f) for f in forces) if s is not None]
    if len(got) < len(forces):
        return []
    share, air, turn = got[1]
    sentence = (
        f"In {100 * share:.2f} % of loads the jaw reaches all {row.parts} parts, turning by up to "
        f"{math.degrees(turn):.3f}° of its play of {math.degrees(row.yaw):.3f}°"
    )
    if air > 0:
        sentence += f"; else the smallest lies loose with up to {say.fine(air)} of air: push it home by hand"
    return [
        at_least(
            "sits",
            "every part pushed home",
            sentence + ".",
            band=Band(*sorted(s[0] for s in got)),
            unit="",
            limit=PUSHED,
            basis=basis,
            extra=Extra(
                at_worst="caution",
                detail=(
                    ("air at the part that is left", air, "mm"),
                    ("turn of the jaw", math.degrees(turn), "deg"),
                ),
            ),
        )
    ]


def _evenly(row: Row, force: float, least: float) -> int:
    """The most parts, fewer than now, of which each gets ``least`` of its even share of ``force`` [N]."""
    for n in range(row.parts - 1, 1, -1):
        if n * replace(row, x=tuple(sorted(row.x)[:n])).share(force)[0] >= least:
            return n
    return 1


def prove(hold: Hold, jaws: Jaws | None, part: Part | None, job: Job, shop: Shop) -> list[Proof]:
    """The share of the smallest part and the match of sizes that would even it out; none for one part."""
    if not hold.beside:
        return []
    s = study(hold, jaws, part, job, shop)
    row, n = s.row, s.row.parts
    say, i, limit = Say(job.units), job.incoming, rule("equal_share")
    basis = Basis(
        "row-shares-1",
        "rigid jaws on elastic parts; K. L. Johnson, Contact Mechanics, 1985, section 3.4, for the walls",
        (
            f"sizes: perimeter zone {say.given(i.profile.value)} ({i.profile.basis}), "
            f"each wall ± {say.given(i.wall_form.value)} ({i.wall_form.basis})",
            "stiff jaws: a jaw that bends between the parts evens the grip out",
            limit.said("share of the even one"),
        ),
    )
    if s.total is None or row.stiffness is None:
        return [
            unknown(
                "grips",
                "equal grip",
                "How the parts share the clamp force is not known: the force or their stiffness is not.",
                unit="",
                supply=("a torque within the vise's table and a material of the handbook",),
                basis=basis,
            )
        ]
    forces = [f * row.vises for f in (s.total.low, s.total.set, s.total.high)]
    got = [n * row.share(f)[0] for f in forces]
    fits = row.match(forces[1], limit.set / n)
    sentence = (
        f"Of {n} parts together the smallest gets {got[1]:.0%} of its even share of the grip at "
        f"{clamp.said(hold.vise, s.torque, job.units)}. "
    )
    if fits > 0:
        sentence += (
            f"For {limit.set:.0%} match the parts of each load within ± {say.fine(fits)} across the jaws"
        )
    else:
        sentence += "Even parts of one size would not do: the pockets differ too much"
    if got[0] < limit.set:
        fewer = _evenly(row, forces[0], limit.set)
        sentence += f", or hold {NUMBERS.get(fewer, str(fewer)).lower()} at a time"
    sentence += "."
    return [
        *_pushed_home(row, forces, basis, say),
        at_least(
            "grips",
            "equal grip",
            sentence,
            band=Band(*got),
            unit="",
            limit=limit.set,
            basis=basis,
            extra=Extra(detail=(("matched within, ±", fits, "mm"), ("parts", float(n), ""))),
        ),
    ]
