"""From fully open to gripped: does anything meet on the way, and how far may the jaw stand open meanwhile?

Lengths in mm.
"""

from __future__ import annotations

from collections.abc import Sequence

import shapely
from shapely.affinity import translate

from jawright.geometry.polygon import to_polygon
from jawright.geometry.query import moments
from jawright.hold.contacts import INSET, stands
from jawright.hold.model import Hold
from jawright.jaws.model import Jaw, Jaws
from jawright.proof.judge import Band, Basis, Extra, at_least
from jawright.proof.model import Proof
from jawright.proof.say import Say

OPEN = 3.0
"""The floating jaw is opened so far to load [mm] (common practice, no source)."""
CHORD = 0.005
MEETS = 0.02
"""The part reaches into a jaw's metal on the way when it does so by more than this [mm]: chords and fits."""
STEPS = (
    0.05,
    0.1,
    0.2,
    0.4,
    0.7,
    1.0,
    1.5,
    2.0,
    3.0,
    4.5,
    6.0,
    9.0,
    13.0,
    20.0,
    30.0,
    45.0,
    70.0,
    100.0,
    150.0,
)
"""Openings beyond the gripped one at which the jaws are looked at [mm]; the fully open one as well."""


def prove(hold: Hold, jaws: Jaws, say: Say) -> Proof:
    """How far the jaw may stand open with the part on both floors; fails where a jaw meets it on the way.

    The part lies on its floors and against no wall; the floating jaw comes from fully open, and pushes the
    part home from ``OPEN`` off the fixed jaw. *Valid for*: walls that are upright within the grip.
    """
    full = _full(hold, jaws)
    met = meets(hold, jaws, full)
    ledge = ledge_of(hold, jaws)
    alone = _alone(hold, jaws)
    basis = Basis(
        "closing-sweep-1",
        "plan overlap of part and jaws along the closing direction",
        (
            f"opened {say.given(OPEN)} past the part to load (common practice, no source)",
            f"jaws looked at from {say.coarse(full)} further open down to gripped, part as drawn",
        ),
    )
    if met is not None:
        side, off = met
        sentence = (
            f"On its way home the part meets the {side} jaw {say.coarse(off)} before it is gripped: it has "
            "to be let in from above at that place."
        )
        return at_least(
            "loads", "closing path", sentence, band=Band(off - full, off - full, off - full), unit="mm",
            limit=0.0, basis=basis, extra=Extra(where=_where(hold, jaws), at_best="fail"),
        )  # fmt: skip
    sentence = "From fully open the floating jaw meets the part nowhere before it grips. "
    sentence += (
        "The part stands on the fixed jaw's floor by itself meanwhile."
        if alone
        else f"Opened more than {say.coarse(ledge)} past the part it no longer lies on the floating jaw's "
        "floor and tips into the gap: hold it against the fixed jaw until the jaw is under it."
    )
    safe = full if alone else min(ledge, full)
    return at_least(
        "loads", "closing path", sentence, band=Band(safe, safe, safe), unit="mm", limit=OPEN, basis=basis,
        extra=Extra(
            where=_where(hold, jaws),
            detail=(
                ("floor of the floating jaw under the part, across the gap", ledge, "mm"),
                ("opening of the jaws beyond gripped, fully open", full, "mm"),
            ),
            at_worst="caution",
        ),
    )  # fmt: skip


def _where(hold: Hold, jaws: Jaws) -> tuple[float, float, float]:
    x0, _, x1, _ = hold.outline.outer.box
    return ((x0 + x1) / 2, jaws.floating.y1, hold.floor)


def _full(hold: Hold, jaws: Jaws) -> float:
    """How much further than gripped the vise opens with these jaws in it [mm]."""
    thick = jaws.fixed.blank.thickness + jaws.floating.blank.thickness
    return max(0.0, hold.vise.opening - thick - jaws.gap)


def meets(hold: Hold, jaws: Jaws, full: float) -> tuple[str, float] | None:
    """The jaw whose metal the part reaches into on its way, and how far from gripped [mm]; None when none."""
    part = shapely.union_all([to_polygon(r, CHORD) for r in (hold.outline, *hold.beside)]).buffer(-MEETS)
    pocket = to_polygon(jaws.pocket, CHORD)
    for side, jaw in (("floating", jaws.floating), ("fixed", jaws.fixed)):
        metal = _plan(jaw).difference(pocket)
        shapely.prepare(metal)
        for off in _openings(full if side == "floating" else min(OPEN, full)):
            # with the jaw `off` further away the part lies that much nearer the gap, seen from the jaw
            moved = translate(part, 0.0, off if side == "floating" else -off)
            if metal.intersects(moved):
                return side, off
    return None


def _openings(full: float) -> Sequence[float]:
    return [*(s for s in STEPS if s < full), full]


def _plan(jaw: Jaw) -> shapely.Polygon:
    return shapely.box(jaw.x0, jaw.y0, jaw.x1, jaw.y1)


def ledge_of(hold: Hold, jaws: Jaws) -> float:
    """Depth of the floating jaw's floor under the part, from the gap [mm]; 0 when it carries nothing."""
    face = jaws.floating.y1
    under = [face - c.point[1] for c in hold.contacts if c.on == "floor" and c.point[1] < face]
    return max(under) + INSET if under else 0.0


def _alone(hold: Hold, jaws: Jaws) -> bool:
    """Whether the part stands on the fixed jaw's floor alone."""
    own = [c for c in hold.contacts if c.on == "floor" and c.point[1] > jaws.fixed.y0]
    return stands(own, moments(hold.outline.outer).center)
