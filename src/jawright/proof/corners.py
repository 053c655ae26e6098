"""Corners of the part in corners of the pocket: is one pinched, and by how much do the walls stand open?"""

from __future__ import annotations

import math

from jawright.geometry.curve import Curve, Point
from jawright.geometry.query import signed_distance
from jawright.hold.model import Hold
from jawright.jaws.model import Jaws
from jawright.jaws.relief import Corner, corners
from jawright.job.model import Job
from jawright.mechanics.corner import pinch_stand_off
from jawright.proof.judge import Band, Basis, Extra, at_most
from jawright.proof.model import Proof

FREE = 0.005
"""Wall opening [mm] that is within how true jaws are cut (common practice, no source)."""
NEAR = 0.05  # [mm] a relief belongs to a corner within this distance
GEOMETRY = 2e-3  # [mm] the part may reach this far outside the pocket: chords of the check


def pinched(hold: Hold, jaws: Jaws | None, job: Job) -> list[Proof]:
    """Worst opening of the walls by a corner without relief, and whether the part fits the pocket at all."""
    if jaws is None:
        return []
    half = job.incoming.profile.value / 2
    worst, worst_at, worst_stand = 0.0, None, 0.0
    bare = 0
    for c in corners(hold.outline.outer, jaws.cutter_radius):
        if relieved(c, jaws) or -jaws.gap < c.at[1] < 0.0 or not inside_jaws(c.at, jaws):
            continue
        bare += 1
        # The whole perimeter cut small takes the same off the corner's radius: pinched more.
        radius = max(0.0, c.radius - half)
        stand, opening = pinch_stand_off(jaws.cutter_radius, radius, half_angle=c.half)
        room = allowance_at(c.at, jaws)
        left = max(0.0, opening - room)
        if left > worst or worst_at is None:
            worst, worst_stand = left, max(0.0, stand - room / math.sin(c.half))
            worst_at = (c.at[0], c.at[1], jaws.floor)
    out_of = max(signed(jaws, p) for p in fine(hold))
    name = "corners free"
    if worst <= FREE:
        sentence = (
            f"No corner is pinched: {len(jaws.reliefs)} reliefs, {bare} corners that need none"
            f" (cutter radius {jaws.cutter_radius:g} mm)."
        )
    else:
        assert worst_at is not None
        sentence = (
            f"The corner at ({worst_at[0]:.1f}, {worst_at[1]:.1f}) touches first and holds both walls "
            f"{worst:.3f} mm open: relieve it or use a cutter of smaller radius."
        )
    basis = Basis(
        "corner-pinch-1",
        "plane geometry of two circles tangent to the same two lines",
        (
            f"worst part: perimeter {half:g} mm small, radii as well ({job.incoming.profile.basis})",
            f"limit {FREE:g} mm: how true jaws are cut (common practice, no source)",
        ),
    )
    detail = (
        ("stand-off along the bisector", worst_stand, "mm"),
        ("reliefs", float(len(jaws.reliefs)), ""),
        ("corners without relief", float(bare), ""),
    )
    found = [
        at_most(
            "sits",
            name,
            sentence,
            band=Band(worst, worst, worst),
            unit="mm",
            limit=FREE,
            basis=basis,
            extra=Extra(where=worst_at, detail=detail),
        )
    ]
    reach = max(0.0, out_of)
    fits = (
        "The nominal part fits the pocket with no wall in its way."
        if reach <= GEOMETRY
        else f"The nominal part reaches {reach:.3f} mm into a wall of the pocket."
    )
    found.append(
        at_most(
            "sits",
            "fits the pocket",
            fits,
            band=Band(reach, reach, reach),
            unit="mm",
            limit=GEOMETRY,
            basis=Basis("pocket-distance-1", "signed distance of exact lines and arcs"),
        )
    )
    return found


def relieved(corner: Corner, jaws: Jaws) -> bool:
    """Whether a relief of the pair was cut for this corner."""
    return any(math.dist(r.corner, corner.at) < NEAR + corner.radius for r in jaws.reliefs)


def inside_jaws(p: Point, jaws: Jaws) -> bool:
    """Whether a plan point lies within the metal of either jaw's blank."""
    return any(j.x0 <= p[0] <= j.x1 and j.y0 <= p[1] <= j.y1 for j in (jaws.fixed, jaws.floating))


def allowance_at(p: Point, jaws: Jaws) -> float:
    """Smallest allowance of the zones that meet at a corner [mm]; 0 when none is near."""
    near = [z.allowance for z in jaws.zones if any(touches(c, p) for c in z.curves)]
    return min(near) if near else 0.0


def touches(curve: Curve, p: Point) -> bool:
    return min(math.dist(curve.start, p), math.dist(curve.end, p)) < 0.5


def fine(hold: Hold) -> list[Point]:
    """Points along the outline, ends and insides of every curve."""
    return [c.at(k / 16) for c in hold.outline.outer.curves for k in range(16)]


def signed(jaws: Jaws, p: Point) -> float:
    """How far [mm] a point reaches into a wall of the pocket; negative where there is none."""
    if -jaws.gap <= p[1] <= 0.0 or not inside_jaws(p, jaws):
        return -math.inf
    return float(signed_distance(jaws.pocket, [p])[0])
