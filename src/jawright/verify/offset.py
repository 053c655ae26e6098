"""Cutter radius compensation, move by move.

Source: NISTIR 6556, appendix B: material edge (B.3) and nominal path (B.4) contours,
errors (B.5), first move (B.6). After the first move the tool stays tangent to the
programmed contour on its side; convex corners get an arc, concave ones are an error.

Lengths in mm, angles in rad.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from jawright.verify.arcs import about
from jawright.verify.state import ArcPath
from jawright.verify.words import LIMITS

Flat = tuple[float, float]
_FLAT = float(LIMITS["reading"]["concave_angle"])


class OffsetError(Exception):
    """The contour cannot be followed by a tool of this radius."""


@dataclass(frozen=True, slots=True)
class Piece:
    """One tool-center motion in the plane."""

    end: Flat
    arc: ArcPath | None


def side_and_radius(code: str, radius: float) -> tuple[int, float]:
    """+1 tool left of travel, -1 right; a negative table radius swaps the side (B.4)."""
    side = 1 if code == "G41" else -1
    return (side, radius) if radius >= 0 else (-side, -radius)


def first_line(tool: Flat, to: Flat, side: int, radius: float) -> list[Piece]:
    """Straight entry (B.6): the tool ends tangent, at ``to``, to the line from there that touches it now."""
    d = math.dist(tool, to)
    if d < radius - 1e-9:
        raise OffsetError(
            "cutter gouging: the tool already covers the point where compensation starts "
            f"({d:.3f} mm away, tool radius {radius:.3f} mm)"
        )
    if d == 0.0:
        return [Piece(tool, None)]
    along = math.atan2(to[1] - tool[1], to[0] - tool[0]) + side * math.asin(min(1.0, radius / d))
    normal = along + side * math.pi / 2
    return [Piece((to[0] + radius * math.cos(normal), to[1] + radius * math.sin(normal)), None)]


def line(tool: Flat, at: Flat, to: Flat, side: int, radius: float) -> list[Piece]:
    """Straight contour run from ``at`` to ``to`` with the tool tangent at ``at`` already."""
    if at == to:
        return []
    direction = math.atan2(to[1] - at[1], to[0] - at[0])
    normal = direction + side * math.pi / 2
    pieces = _corner(tool, at, normal, side, radius)
    end = (to[0] + radius * math.cos(normal), to[1] + radius * math.sin(normal))
    return [*pieces, Piece(end, None)]


def arc(tool: Flat, at: Flat, path: ArcPath, to: Flat, *, side: int, radius: float) -> list[Piece]:
    """Contour arc ``path`` from ``at`` to ``to`` with the tool tangent at ``at`` already."""
    ccw = path.sweep > 0
    inside = (side > 0) == ccw
    if inside and radius >= path.radius - 1e-9:
        raise OffsetError(
            f"tool radius {radius:.3f} mm is not less than the arc's radius {path.radius:.3f} mm"
        )
    outward = math.atan2(at[1] - path.center[1], at[0] - path.center[0])
    normal = outward + (math.pi if inside else 0.0)
    pieces = _corner(tool, at, normal, side, radius)
    start = (at[0] + radius * math.cos(normal), at[1] + radius * math.sin(normal))
    if math.dist(pieces[-1].end if pieces else tool, start) > 1e-9:
        pieces.append(Piece(start, None))
    out = math.atan2(to[1] - path.center[1], to[0] - path.center[0])
    reach = math.dist(to, path.center) + (-radius if inside else radius)
    end = (path.center[0] + reach * math.cos(out), path.center[1] + reach * math.sin(out))
    new = about(start, end if to != at else start, path.center, ccw=ccw, plane="G17")
    pieces.append(Piece(end if to != at else start, new))
    return pieces


def first_arc(tool: Flat, path: ArcPath, to: Flat, *, side: int, radius: float, limit: float) -> list[Piece]:
    """Arc entry (B.6), center format: the arc through ``to`` must touch the tool where it stands."""
    inside = (side > 0) == (path.sweep > 0)
    last = math.dist(to, path.center)
    if inside and radius >= last - 1e-9:
        raise OffsetError(f"tool radius {radius:.3f} mm is not less than the arc's radius {last:.3f} mm")
    reach = last + (-radius if inside else radius)
    if abs(math.dist(tool, path.center) - reach) > limit:
        raise OffsetError("the arc that starts compensation does not touch the tool where it stands")
    out = math.atan2(to[1] - path.center[1], to[0] - path.center[0])
    end = (path.center[0] + reach * math.cos(out), path.center[1] + reach * math.sin(out))
    return [Piece(end, about(tool, end, path.center, ccw=path.sweep > 0, plane="G17"))]


def _corner(tool: Flat, at: Flat, normal: float, side: int, radius: float) -> list[Piece]:
    """The arc round a convex corner at ``at``; nothing where the contour runs on, an error if concave."""
    if radius == 0.0:
        return []
    now = math.atan2(tool[1] - at[1], tool[0] - at[0])
    turn = math.remainder(normal - now, 2 * math.pi) * side  # positive: the contour turns toward the tool
    if turn > math.pi - 1e-9:
        turn = -turn  # a full reversal is walked round outside
    if turn > _FLAT:
        raise OffsetError(f"concave corner of {math.degrees(turn):.2f}°: the tool cannot stay tangent to it")
    if turn > -1e-9:
        return []
    end = (at[0] + radius * math.cos(normal), at[1] + radius * math.sin(normal))
    if abs(turn) < _FLAT and math.dist(tool, end) < 1e-6:
        return []
    return [Piece(end, about(tool, end, at, ccw=side < 0, plane="G17"))]
