"""Arcs from their words: center format and radius format.

Source: NISTIR 6556, sections 3.5.3.1 and 3.5.3.2, with its rule that the two radii of a
center-format arc may differ by 0.002 mm or 0.0002 inch at most.
"""

from __future__ import annotations

import math

from jawright.verify.state import ArcPath
from jawright.verify.words import STANDARD

Flat = tuple[float, float]


class ArcError(Exception):
    """The words do not describe an arc."""


def from_center(start: Flat, end: Flat, offset: Flat, *, ccw: bool, plane: str, inch: bool) -> ArcPath:
    """Arc about ``start + offset`` [mm]; start equal to end is a full circle.

    Raises ``ArcError`` when the distances of start and end from the center differ by more
    than the standard allows. Source: NISTIR 6556, 3.5.3.2.
    """
    center = (start[0] + offset[0], start[1] + offset[1])
    first, last = math.dist(start, center), math.dist(end, center)
    limit = STANDARD["arc_radius_inch"] * 25.4 if inch else STANDARD["arc_radius_mm"]
    if abs(first - last) > limit + 1e-9:
        raise ArcError(
            f"the start is {first:.4f} mm from the arc's center, the end {last:.4f} mm: "
            f"more than {limit:.4f} mm apart"
        )
    if first == 0.0:
        raise ArcError("the arc's radius is zero")
    return about(start, end, center, ccw=ccw, plane=plane)


def from_radius(start: Flat, end: Flat, radius: float, *, ccw: bool, plane: str) -> ArcPath:
    """Arc of the given radius [mm]: positive turns 180° or less, negative more. Source: 3.5.3.1."""
    chord = math.dist(start, end)
    if chord == 0.0:
        raise ArcError("an arc with R ends where it starts, so its center is not known")
    r = abs(radius)
    if r == 0.0:
        raise ArcError("the arc's radius is zero")
    half = chord / 2
    if half > r * (1 + 1e-9) + 1e-6:
        raise ArcError(f"the end is {chord:.4f} mm away, too far for a radius of {r:.4f} mm")
    rise = math.sqrt(max(0.0, r * r - half * half))
    left = ccw == (radius > 0)  # the center lies left of the chord for short counter-clockwise arcs
    nx, ny = -(end[1] - start[1]) / chord, (end[0] - start[0]) / chord
    s = rise if left else -rise
    center = ((start[0] + end[0]) / 2 + s * nx, (start[1] + end[1]) / 2 + s * ny)
    return about(start, end, center, ccw=ccw, plane=plane)


def about(start: Flat, end: Flat, center: Flat, *, ccw: bool, plane: str) -> ArcPath:
    """Arc from start to end round a known center [mm]; the radius is the mean of the two ends'."""
    a = math.atan2(start[1] - center[1], start[0] - center[0])
    b = math.atan2(end[1] - center[1], end[0] - center[0])
    turn = 2 * math.pi
    if start == end:
        sweep = turn if ccw else -turn
    else:
        sweep = (b - a) % turn if ccw else -((a - b) % turn)
        if sweep == 0.0:
            sweep = turn if ccw else -turn
    radius = (math.dist(start, center) + math.dist(end, center)) / 2
    return ArcPath(plane, center, radius, a, sweep)
