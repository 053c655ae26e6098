"""Walls that this operation mills down into the grip: no jaw may touch them while it does.

Lengths in mm, angles in rad.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

from jawright.geometry.curve import Arc, Curve, Line
from jawright.geometry.frame import Vec3
from jawright.geometry.profile import Profile
from jawright.hold.found import Ask, FoundFeature
from jawright.part.band import face_heights
from jawright.part.model import Part

MOST_LEFT = 3.0
"""Milled to less than this above the underside a wall leaves nothing to grip below it [mm]: the least grip
of smooth jaws and what they stay below a cut (common practice, no source)."""
NO_WALL = (
    "its whole outline is milled in this operation down to the floor, and no jaw may touch a wall while "
    "it is milled"
)
"""Why nothing holds a part whose whole outline is milled."""
BROKEN = 0.5  # [mm] what is rounded by no more is an edge broken by hand (common practice, no source)
SMOOTH = math.radians(2.0)  # a corner runs on into a wall within this
MOST_ROUND = math.radians(150.0)  # what turns by more is an end of the part, not a corner of it
SHORT = 6.0  # [mm] walls shorter than this do not hold a part by themselves (common practice, no source)


def deep(f: FoundFeature, part: Part, up: Vec3) -> frozenset[int]:
    """Part faces of a feature that are upright walls milled down into the grip."""
    if f.ask.kind != "profile" or f.face is None:
        return frozenset()
    under = span(part, up)[0]
    own = f.faces or (f.face.index,)
    return frozenset(i for i in own if 0 <= i < len(part.faces) and lowest(part, i, up) - under < MOST_LEFT)


def here(ask: Ask) -> frozenset[int]:
    """Part faces of every wall that this operation mills, at whatever height."""
    return frozenset(i for f in ask.features if f.ask.kind == "profile" and f.face for i in f.faces)


def walls(ask: Ask, part: Part, up: Vec3, outline: Profile, faces: Sequence[int]) -> tuple[int, ...]:
    """Numbers of the outline's curves, by the part face behind each, that are milled into the grip.

    The rounded and the hollow corners of a straight wall are milled with it: its cutter goes round them.
    """
    cut = frozenset[int]().union(*(deep(f, part, up) for f in ask.features))
    own = [i for i, face in enumerate(faces) if face in cut]
    n, curves = len(outline.curves), outline.curves
    beside = {(i + k) % n for i in own for k in (1, -1) if isinstance(curves[i], Line)}
    return tuple(sorted({*own, *(i for i in beside if corner(curves, i))}))


def rounded(curves: Sequence[Curve], index: int) -> bool:
    """Whether a curve of an outline is a rounded corner: it juts out and runs on smoothly into both straight
    walls beside it. Edges broken by hand are none."""
    arc = curves[index]
    return isinstance(arc, Arc) and arc.ccw and arc.radius > BROKEN and _between_walls(curves, index)


def corner(curves: Sequence[Curve], index: int) -> bool:
    """Whether a curve of an outline is a rounded corner, or a hollow one that runs on smoothly likewise."""
    arc = curves[index]
    return rounded(curves, index) or (isinstance(arc, Arc) and not arc.ccw and _between_walls(curves, index))


def _between_walls(curves: Sequence[Curve], index: int) -> bool:
    arc, n = curves[index], len(curves)
    before, after = curves[index - 1], curves[(index + 1) % n]
    if not (isinstance(arc, Arc) and isinstance(before, Line) and isinstance(after, Line)):
        return False
    ends = ((before.tangent(1.0), arc.tangent(0.0)), (arc.tangent(1.0), after.tangent(0.0)))
    smooth = all(a[0] * b[0] + a[1] * b[1] > math.cos(SMOOTH) for a, b in ends)
    return smooth and abs(arc.sweep) <= MOST_ROUND


def hollow(curves: Sequence[Curve], wall: int, way: int) -> bool:
    """Whether an outline turns inward past the end of a wall (``way`` -1: its start), fillets included."""
    n = len(curves)
    beside = curves[(wall + way) % n]
    if isinstance(beside, Arc) and _between_walls(curves, (wall + way) % n):
        return not beside.ccw
    one, other = (curves[wall], beside) if way > 0 else (beside, curves[wall])
    (ux, uy), (vx, vy) = one.tangent(1.0), other.tangent(0.0)
    return ux * vy - uy * vx < -math.sin(SMOOTH)


def corner_radius(curves: Sequence[Curve], wall: int, way: int) -> float:
    """Radius of the round corner past an end of a wall (``way`` -1: its start) [mm], 0 of a sharp one."""
    arc = curves[(wall + way) % len(curves)]
    return arc.radius if isinstance(arc, Arc) else 0.0


def reach_in_hollow(cutter: float, corner: float) -> float:
    """How far beside a wall a cutter sweeps where that ends in a hollow corner [mm], by their radii: as wide
    as it is, or round the corner right to the next wall."""
    return cutter + max(cutter, corner)


def whole(outline: Profile, cut: Sequence[int]) -> bool:
    """Whether walls are milled and those that are not do not hold: short ones."""
    return bool(cut) and all(i in cut or c.length < SHORT for i, c in enumerate(outline.curves))


def lowest(part: Part, face: int, up: Vec3) -> float:
    """Height of a face's lowest point along ``up`` [mm]."""
    return face_heights(part, up)[face][0]


def span(part: Part, up: Vec3) -> tuple[float, float]:
    """Heights of the part's lowest and highest point along ``up`` [mm], by those of its faces."""
    every = face_heights(part, up)
    return min(a for a, _ in every), max(b for _, b in every)
