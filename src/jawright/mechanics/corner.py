"""Where wall and floor meet, where two walls meet, and a chip underneath: how far the part stands off.

Own plane geometry (a fillet of radius r whose center is (r, r) from wall and floor); no published
table was found for this job.
"""

from __future__ import annotations

import math


def floor_lift(fillet: float, *, edge: float = 0.0, wall_gap: float = 0.0, shape: str = "chamfer") -> float:
    """How far the fillet left by a cutter lifts a part whose lower edge runs into it [mm].

    Flush on the wall (gap 0) the end of the edge break governs: ``max(0, r − c)`` for a sharp edge
    (c = 0), a 45° chamfer c or a radius c. With a wall gap g < r:

    - sharp edge: ``r − sqrt(r² − (r − g)²)``;
    - radius c: the arcs touch: ``(r − c) − sqrt((r − c)² − (r − c − g)²)``;
    - chamfer c: the higher of its upper end and its lower end on the fillet (its line lies inside
      the chord between them only where the fillet bulges toward it, which is checked as well).

    Parameters: fillet radius r, edge break c, gap at the wall g, all >= 0 [mm]; ``shape`` "chamfer" or
    "radius". Valid for a right angle between wall and floor.
    """
    r, c, g = fillet, edge, wall_gap
    if min(r, c, g) < 0:
        raise ValueError("radius, edge break and gap must not be negative")
    if shape == "radius":
        k = r - c
        return 0.0 if k <= g else k - math.sqrt(k * k - (k - g) ** 2)
    upper = _fillet_height(r, g) - c  # end of the chamfer on the wall side: at (g, lift + c)
    lower = _fillet_height(r, g + c)  # end on the floor side: at (g + c, lift)
    # The chamfer's own line x + y = g + lift + c may touch the fillet between its ends.
    x = r - r / math.sqrt(2)
    between = r * (2 - math.sqrt(2)) - g - c if g < x < g + c else 0.0
    return max(0.0, upper, lower, between)


def _fillet_height(r: float, x: float) -> float:
    """Height of the fillet's surface over the floor at a distance ``x`` from the wall."""
    if x >= r:
        return 0.0
    return r - math.sqrt(r * r - (r - x) ** 2)


def equal_stand_off(fillet: float, *, edge_radius: float = 0.0) -> float:
    """Stand-off from wall and floor alike when the edge sits in the middle of the fillet [mm].

    ``max(0, (r − R_p)(1 − 1/√2))``.
    """
    return max(0.0, (fillet - edge_radius) * (1 - 1 / math.sqrt(2)))


def chamfer_to_clear(fillet: float) -> float:
    """Leg of the 45° chamfer whose line alone just touches the fillet, ``r (2 − √2)`` [mm].

    Necessary, not sufficient: seated flush the chamfer's end governs (``floor_lift``).
    """
    return fillet * (2 - math.sqrt(2))


def pinch_stand_off(jaw_radius: float, part_radius: float, *, half_angle: float) -> tuple[float, float]:
    """Stand-off along the bisector and opening of both walls of a part corner in a tighter-cut pocket [mm].

    ``(r_j − r_p)(1/sin α − 1)`` and ``(r_j − r_p)(1 − sin α)``; both 0 when the part's corner is at
    least as round as the pocket's. ``half_angle`` α is half the angle between the walls [rad], in
    (0, π/2].
    """
    if not 0 < half_angle <= math.pi / 2 + 1e-12:
        raise ValueError("half angle must lie in (0, pi/2]")
    k = max(0.0, jaw_radius - part_radius)
    s = math.sin(half_angle)
    return (k * (1 / s - 1), k * (1 - s))


def relief_center(radius: float) -> float:
    """Distance from either wall of a square corner to the center of a relief circle through the corner.

    ``R/√2`` [mm]: the circle passes exactly through the sharp corner.
    """
    return radius / math.sqrt(2)


def chip_tilt(chip: float, span: float) -> float:
    """Tilt [rad] of a part that has a chip of height ``chip`` under one edge, ``span`` from the other."""
    if span <= 0:
        raise ValueError("span must be positive")
    return math.atan2(chip, span)


def wear_recession(land: float, *, clearance: float) -> float:
    """How far a worn cutter stands back per side, ``VB tan(clearance)`` [mm].

    ``land`` VB is the width of the wear land [mm], ``clearance`` the clearance angle [rad].
    Source of the criterion VB 0.3: ISO 8688-2.
    """
    return land * math.tan(clearance)


def sagitta(radius: float, segments: int) -> float:
    """Largest distance between a circle and its inscribed polygon, ``R (1 − cos(π/n))`` [mm]."""
    return radius * (1 - math.cos(math.pi / segments))


def segments_for(radius: float, chord_error: float) -> int:
    """Fewest chords of a full circle that stay within ``chord_error`` [mm]."""
    if not 0 < chord_error < radius:
        raise ValueError("chord error must lie between zero and the radius")
    return math.ceil(math.pi / math.acos(1 - chord_error / radius) - 1e-12)
