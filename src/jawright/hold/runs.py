"""Where a milled feature reaches in plan: along its own edges, however the part is drawn in its file.

The box of a face in the axes of the file is wider than the face where the part is drawn askew or is turned
in the vise: loads would be put where no metal is. Lengths in mm.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from shapely import MultiPoint, Polygon
from shapely.geometry.polygon import orient

from jawright import kernel
from jawright.geometry.curve import Point
from jawright.geometry.frame import Move, Vec3, standing
from jawright.hold.apart import one_wall
from jawright.hold.found import Ask, FoundFeature
from jawright.part.model import Face, Part

UPRIGHT = 0.02
"""Greatest share of the normal of a wall that points up where it stands upright."""
DIGITS = 9
"""Points of a rim that agree to so many digits [mm] are one."""
MOST = 24
"""Points of a way that are kept at most: the farthest ones along so many directions."""


@dataclass(frozen=True, slots=True)
class Run:
    """Points of a feature's way [mm], part frame; ``closed``: it goes round and has no ends.

    Of a ``straight`` wall they are all corners of its edges, in no order.
    """

    points: tuple[Vec3, ...]
    closed: bool
    straight: bool = False


def runs(part: Part, ask: Ask, up: Vec3) -> tuple[tuple[str, Run], ...]:
    """By feature its way in plan, with ``up`` up, as points of the part [mm] in its own frame.

    A face that lies, or several faces: the corners of the convex hull of their edges, counter-clockwise. A
    piece of an upright round wall: the points along it. One upright plane (with the short walls and rounded
    corners milled with it): the corners of its edges. A hole is left out.
    """
    out = []
    for f in ask.features:
        if f.face is None:
            continue
        run = _run(part, f, ask, up)
        if run is not None:
            out.append((f.ask.name, run))
    return tuple(out)


def _run(part: Part, f: FoundFeature, ask: Ask, up: Vec3) -> Run | None:
    points = [p for i in f.faces for p in kernel.rim(part.shape, i)]
    face = f.face
    if not points or face is None:
        return None
    move = standing(up, turn=0.0, shift=(0.0, 0.0, 0.0))
    upright = abs(move.direction(face.normal)[2]) < UPRIGHT
    if face.kind == "plane" and upright and (len(f.faces) == 1 or one_wall(f, ask, part, up)):
        return Run(tuple(points), closed=False, straight=True)
    at: dict[Point, Vec3] = {}
    for p in points:
        x, y, _ = move.point(p)
        at.setdefault((round(x, DIGITS) + 0.0, round(y, DIGITS) + 0.0), p)
    if len(f.faces) == 1 and _stands(face, move) and face.axis_point is not None:
        x, y, _ = move.point(face.axis_point)
        return Run(tuple(at[q] for q in _along_arc(list(at), (x, y))), closed=False)
    hull = MultiPoint(list(at)).convex_hull
    if not isinstance(hull, Polygon):
        return None
    ring = list(orient(hull).exterior.coords)[:-1]
    return Run(tuple(at[(x, y)] for x, y, *_ in ring), closed=True)


def _stands(face: Face, move: Move) -> bool:
    """Whether a face is a round wall whose axis is upright."""
    axis = face.axis
    return face.kind == "cylinder" and axis is not None and abs(move.direction(axis)[2]) > 1 - UPRIGHT


def in_plan(run: Run, move: Move) -> list[Point]:
    """At most ``MOST`` points [mm] of a way, as the part lies after ``move``.

    Of one that goes round those that reach farthest. It begins after its shortest step, so that the step
    home is none of its long ones and shows that it is closed; of steps alike after the one farthest along X:
    whatever the file's axes, the same stance has the same points in the same order.
    """
    way = [(p[0], p[1]) for p in map(move.point, run.points)]
    if not run.closed:
        return way
    if len(way) > MOST:
        turns = np.arange(MOST) * (2 * math.pi / MOST)
        reach = np.array(way) @ np.array([np.cos(turns), np.sin(turns)])
        way = [way[k] for k in np.unique(reach.argmax(axis=0))]
    first = min(
        range(len(way)), key=lambda k: (round(math.dist(way[k - 1], way[k]), 6), -round(way[k][0], 6))
    )
    return [*way[first:], *way[:first]]


def _along_arc(points: Sequence[Point], axis: Point) -> list[Point]:
    """The points of a piece of a round wall from one of its ends to the other."""
    turned = sorted((math.atan2(y - axis[1], x - axis[0]), (x, y)) for x, y in points)
    gaps = [(turned[(k + 1) % len(turned)][0] - turned[k][0]) % (2 * math.pi) for k in range(len(turned))]
    first = (max(range(len(gaps)), key=lambda k: gaps[k]) + 1) % len(turned)
    way = [p for _, p in [*turned[first:], *turned[:first]]]
    last, n = len(way) - 1, min(len(way), MOST)
    return [way[round(k * last / (n - 1))] for k in range(n)]
