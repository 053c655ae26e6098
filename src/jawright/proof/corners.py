"""Corners of the part in corners of the pocket: is one pinched, and by how much do the walls stand open?

Lengths in mm, angles in rad, forces in N, torques in N·m.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

from jawright.geometry.curve import Point
from jawright.geometry.query import signed_distance
from jawright.hold.model import Hold
from jawright.jaws.model import Jaws
from jawright.jaws.relief import Corner, corners
from jawright.job.model import Job
from jawright.mechanics.corner import pinch_stand_off
from jawright.proof.judge import Band, Basis, Extra, at_most
from jawright.proof.model import Proof
from jawright.proof.say import Say

FREE = 0.005
"""Wall opening [mm] that is within how true jaws are cut (common practice, no source)."""
USUAL = 0.93
"""Share of the half zone, which is 3 σ, that all but 0.27 % of parts keep: 2.78 σ of the normal law."""
ROUND = 50.0
"""Corner radius [mm] from which a corner counts as a round wall."""
HALF_TURN = 1e-6  # [rad] an end that turns half a turn is no corner: its walls do not meet
NEAR = 0.05  # [mm] a relief belongs to a corner within this distance
GEOMETRY = 2e-3  # [mm] the part may reach this far outside the pocket: chords of the check


def pinched(hold: Hold, jaws: Jaws | None, job: Job) -> list[Proof]:
    """Worst opening of the walls by a corner without relief, and whether the part fits the pocket at all."""
    if jaws is None:
        return []
    return [_corners_free(hold, jaws, job), _fits(hold, jaws, job)]


@dataclass(frozen=True, slots=True)
class _Worst:
    opening: float  # of both walls [mm]
    stand: float  # along the bisector [mm]
    at: Point | None
    bare: int  # corners tighter than the cutter, without relief


def _worst_corner(hold: Hold, jaws: Jaws, half: float) -> _Worst:
    worst = _Worst(0.0, 0.0, None, 0)
    for c in corners(hold.outline.outer, jaws.cutter_radius):
        if (
            c.half <= HALF_TURN
            or relieved(c, jaws)
            or -jaws.gap < c.at[1] < 0.0
            or not inside_jaws(c.at, jaws)
        ):
            continue
        # The whole perimeter cut small takes the same off the corner's radius: with its walls flush,
        # the nose reaches this much further into the pocket's corner. What is there is measured.
        nose, _ = pinch_stand_off(half, 0.0, half_angle=c.half)
        nose = min(nose, c.radius * (1.0 / math.sin(c.half) - 1.0))
        tip = (c.at[0] - nose * c.into[0], c.at[1] - nose * c.into[1])
        stand = max(0.0, signed(jaws, tip) - GEOMETRY)
        opening = stand * math.sin(c.half)
        worst = replace(worst, bare=worst.bare + 1)
        if opening > worst.opening or worst.at is None:
            worst = replace(worst, opening=opening, stand=stand, at=c.at)
    return worst


def _needed(hold: Hold, jaws: Jaws, half: float) -> tuple[float, float]:
    """Deepest relief the worst part needs along a bisector, and the cutter radius that would need none [mm].

    The worst part has its whole perimeter cut small by ``half``, corner radii as well.
    """
    need, allowed = 0.0, ROUND
    for c in corners(hold.outline.outer, ROUND):
        if -jaws.gap < c.at[1] < 0.0 or not inside_jaws(c.at, jaws):
            continue
        least = max(0.0, c.radius - half)
        allowed = min(allowed, least)
        if c.half > HALF_TURN and least < jaws.cutter_radius:
            need = max(need, pinch_stand_off(jaws.cutter_radius, least, half_angle=c.half)[0])
    return need, allowed


def _corners_free(hold: Hold, jaws: Jaws, job: Job) -> Proof:
    say = Say(job.units)
    half = job.incoming.profile.value / 2
    w = _worst_corner(hold, jaws, half)
    usual = _worst_corner(hold, jaws, USUAL * half)
    nominal = _worst_corner(hold, jaws, 0.0)
    need, allowed = _needed(hold, jaws, half)
    where = None if w.at is None else (w.at[0], w.at[1], jaws.floor)
    cutter = f"cutter radius {say.given(jaws.cutter_radius)}"
    if w.opening > FREE and w.at is not None:
        sentence = (
            f"The corner at {say.at(*w.at)} touches first and holds both walls "
            f"{say.fine(w.opening)} off: relieve it, or use a smaller cutter."
        )
    elif w.bare or jaws.reliefs:
        sentence = (
            f"No corner is pinched: {len(jaws.reliefs)} relieved, {w.bare} have room without ({cutter})."
        )
    else:
        sentence = f"No corner in the jaws is tighter than the pocket's own corners ({cutter})."
    return at_most(
        "sits",
        "corners free",
        sentence,
        band=Band(min(nominal.opening, usual.opening), usual.opening, max(usual.opening, w.opening)),
        unit="mm",
        limit=FREE,
        basis=Basis(
            "corner-pinch-1",
            "plane geometry of two circles tangent to the same two lines",
            (
                f"worst part: perimeter {say.given(half)} small, radii as well "
                f"({job.incoming.profile.basis})",
                f"limit {say.given(FREE)}: how true jaws are cut (common practice, no source)",
            ),
        ),
        extra=Extra(
            where=where,
            detail=(
                ("stand-off along the bisector", w.stand, "mm"),
                ("walls stand open at the nominal part", nominal.opening, "mm"),
                ("relief needed along the bisector", need, "mm"),
                ("largest cutter radius that needs no relief", allowed, "mm"),
                ("reliefs", float(len(jaws.reliefs)), ""),
                ("corners without relief", float(w.bare), ""),
            ),
        ),
    )


def _fits(hold: Hold, jaws: Jaws, job: Job) -> Proof:
    reach = max(0.0, *(signed(jaws, p) for p in fine(hold)))
    sentence = (
        "The nominal part fits the pocket with no wall in its way."
        if reach <= GEOMETRY
        else f"The nominal part reaches {Say(job.units).fine(reach)} into a wall of the pocket."
    )
    return at_most(
        "sits",
        "fits the pocket",
        sentence,
        band=Band(reach, reach, reach),
        unit="mm",
        limit=GEOMETRY,
        basis=Basis("pocket-distance-1", "signed distance of exact lines and arcs"),
    )


def relieved(corner: Corner, jaws: Jaws) -> bool:
    """Whether a relief of the pair was cut for this corner."""
    return any(math.dist(r.corner, corner.at) < NEAR + corner.radius for r in jaws.reliefs)


def inside_jaws(p: Point, jaws: Jaws) -> bool:
    """Whether a plan point lies within the metal of either jaw's blank."""
    return any(j.x0 <= p[0] <= j.x1 and j.y0 <= p[1] <= j.y1 for j in (jaws.fixed, jaws.floating))


def fine(hold: Hold) -> list[Point]:
    """Points along the outline, ends and insides of every curve."""
    return [c.at(k / 16) for c in hold.outline.outer.curves for k in range(16)]


def signed(jaws: Jaws, p: Point) -> float:
    """How far [mm] a point reaches into a wall of the pocket; negative where there is none."""
    if -jaws.gap <= p[1] <= 0.0 or not inside_jaws(p, jaws):
        return -math.inf
    return float(signed_distance(jaws.pocket, [p])[0])
