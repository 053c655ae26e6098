"""What a machinist sees in a solid: holes and their steps, pockets, slots, steps, broken edges. Part frame.

Recognized from the faces and how sharply they meet. What is not listed is not lost: it stays a
face of the part and can be named by a point on it.

Lengths in mm, angles in rad.
"""

from __future__ import annotations

import math
from functools import lru_cache

from jawright import kernel
from jawright.geometry.frame import Move, Vec3, cross, dot
from jawright.geometry.profile import Region
from jawright.part.breaks import edge_breaks
from jawright.part.model import Drilled, Face, Features, Hole, Part, Recess
from jawright.part.net import LEVEL, ON, back, minus, net_of
from jawright.part.recess import recesses


@lru_cache(maxsize=8)
def find_features(part: Part) -> Features:
    """Holes, recesses and broken edges of a part."""
    net = net_of(part)
    drilled = stacks(part)
    return Features(drilled, recesses(net, drilled), edge_breaks(net))


def stacks(part: Part) -> tuple[Drilled, ...]:
    """The part's holes, those that follow one another on one axis together."""
    left = list(part.holes)
    out = []
    while left:
        group = [left.pop(0)]
        grown = True
        while grown:
            near = [h for h in left if any(_follows(part, h, g) for g in group)]
            left = [h for h in left if h not in near]
            group += near
            grown = bool(near)
        out.append(_drilled(part, group))
    return tuple(sorted(out, key=lambda d: d.faces))


def _follows(part: Part, a: Hole, b: Hole) -> bool:
    """Whether two holes share an axis and one begins where the other ends, a cone between them or not."""
    if math.hypot(*cross(a.axis, b.axis)) > LEVEL:
        return False
    gap = minus(b.mouth, a.mouth)
    along = dot(gap, a.axis)
    if math.sqrt(max(dot(gap, gap) - along * along, 0.0)) > ON:
        return False
    ends = [sorted((dot(h.mouth, a.axis), dot(_end(h), a.axis))) for h in (a, b)]
    low, high = sorted(ends)
    between = high[0] - low[1]
    if abs(between) < ON:
        return True
    middle = 0.5 * (high[0] + low[1])
    return 0 < between < abs(a.diameter - b.diameter) and any(
        f.kind == "cone" and f.hollow and _about(f, a) and _holds(f, a.axis, middle) for f in part.faces
    )


def _holds(face: Face, axis: Vec3, at: float) -> bool:
    """Whether the box of a face reaches over a height along an axis."""
    b = face.box
    corners = [(b[i], b[j], b[k]) for i in (0, 3) for j in (1, 4) for k in (2, 5)]
    along = [dot(p, axis) for p in corners]
    return min(along) < at < max(along)


def _about(face: Face, hole: Hole) -> bool:
    """Whether a cone lies on the axis of a hole."""
    if face.axis is None or face.axis_point is None or math.hypot(*cross(face.axis, hole.axis)) > LEVEL:
        return False
    gap = minus(face.axis_point, hole.mouth)
    return math.hypot(*cross(gap, hole.axis)) < ON


def _drilled(part: Part, group: list[Hole]) -> Drilled:
    """The holes from the mouth inwards: the widest open end is the mouth."""
    axis = group[0].axis
    ends = sorted(group, key=lambda h: -dot(h.mouth, axis) + 0.5 * h.depth * dot(h.axis, axis))
    first, last = ends[0], ends[-1]
    if len(ends) > 1 and (
        not _opens(first, axis) or (_opens(last, back(axis)) and last.diameter > first.diameter)
    ):
        ends.reverse()
        axis = back(axis)
    elif len(ends) == 1:
        axis = ends[0].axis
    mouth = ends[0]
    sinks = [f for f in part.faces if f.kind == "cone" and f.hollow and _about(f, mouth)]
    top = dot(mouth.mouth if dot(mouth.axis, axis) > 0 else _end(mouth), axis)
    net = net_of(part)
    for f in sinks:
        low, high = net.span(f.index, axis)
        if abs(low - top) < ON and high > low + ON:
            wide = 2 * max(math.hypot(*cross(minus(p, mouth.mouth), axis)) for p in net.points(f.index))
            angle = 2 * math.asin(min(1.0, abs(dot(f.normal, axis))))
            return Drilled(tuple(ends), wide, angle)
    return Drilled(tuple(ends))


def _opens(hole: Hole, way: Vec3) -> bool:
    return hole.through or dot(hole.axis, way) > 0


def _end(hole: Hole) -> Vec3:
    m, a, t = hole.mouth, hole.axis, -hole.depth
    return (m[0] + t * a[0], m[1] + t * a[1], m[2] + t * a[2])


LIFT = 0.02
"""Height [mm] over the lower end of an opening at which it is cut: off the edge, where nothing is broken."""


def opening(part: Part, recess: Recess, move: Move) -> Region | None:
    """The outline [mm] through which an opening comes out below, of the part as moved by ``move``.

    ``recess`` is one right through with walls all round; None when it is none, or is not cut there. The
    outline is that of the lower end, above an edge that is broken there.
    """
    if not (recess.through and recess.closed):
        return None
    ends = [move.point(p)[2] for i in recess.walls for p in corners(part.faces[i].box)]
    walls = set(recess.walls)
    low, high = min(ends), max(ends)
    for z in (low + LIFT, 0.5 * (low + high)):
        cut = kernel.section(part.shape, move, z)
        for region, sources in zip(cut.regions, cut.hole_sources, strict=True):
            for hole, faces in zip(region.holes, sources, strict=True):
                if set(faces) and set(faces) <= walls:
                    return Region(hole.reversed())
    return None


def corners(b: tuple[float, ...]) -> list[Vec3]:
    """The eight corners of an upright box."""
    return [(b[i], b[j], b[k]) for i in (0, 3) for j in (1, 4) for k in (2, 5)]
