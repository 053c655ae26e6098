"""Round holes of a solid: through, blind, stepped (several on one axis), split cylinders joined."""

from __future__ import annotations

import math
from collections.abc import Sequence
from itertools import pairwise

from jawright import kernel
from jawright.geometry.frame import Vec3, cross, dot, unit
from jawright.part.model import Face, Hole

ALIKE = 1e-4
"""Largest difference of radius, axis and end [mm] between the faces of one hole."""
FULL = 2 * math.pi - 0.02
"""Sweep [rad] from which faces go all the way round: the gap is far below a cutter's tooth mark."""


def find_holes(shape: bytes, faces: Sequence[Face]) -> tuple[Hole, ...]:
    """All round holes, ordered by their first face.

    A hole is a run of hollow cylinder all the way round, open at one end at least. Its depth
    is that of the full diameter: a drill point is not counted.
    """
    walls = [
        (faces[r.index], *_span(faces[r.index], r)) for r in kernel.rounds(shape) if faces[r.index].hollow
    ]
    holes = []
    for group in _coaxial(walls):
        for run in _runs(group):
            hole = _hole(shape, run)
            if hole is not None:
                holes.append(hole)
    return tuple(sorted(holes, key=lambda h: h.faces))


_Wall = tuple[Face, float, float, float]  # face, low and high along its canonical axis, sweep


def _canonical(axis: Vec3) -> Vec3:
    """The axis with its largest component positive, so that one line has one direction."""
    k = max(range(3), key=lambda i: (abs(axis[i]) > 0.99 * max(map(abs, axis)), -i))
    x, y, z = axis if axis[k] > 0 else (-axis[0], -axis[1], -axis[2])
    return (x + 0.0, y + 0.0, z + 0.0)  # no negative zeros


def _span(face: Face, r: kernel.Round) -> tuple[float, float, float]:
    """Ends along the canonical axis, measured from the foot of the origin on it, and the sweep."""
    assert face.axis is not None and face.axis_point is not None
    along = _canonical(face.axis)
    start = dot(along, face.axis_point)
    same = dot(along, face.axis) > 0
    low, high = (start + r.low, start + r.high) if same else (start - r.high, start - r.low)
    return low, high, r.sweep


def _foot(face: Face) -> Vec3:
    """Point of the face's axis nearest the origin."""
    assert face.axis is not None and face.axis_point is not None
    a, p = unit(face.axis), face.axis_point
    t = dot(a, p)
    return (p[0] - t * a[0], p[1] - t * a[1], p[2] - t * a[2])


def _coaxial(walls: Sequence[_Wall]) -> list[list[_Wall]]:
    groups: list[list[_Wall]] = []
    for wall in walls:
        for group in groups:
            if _alike(group[0][0], wall[0]):
                group.append(wall)
                break
        else:
            groups.append([wall])
    return groups


def _alike(a: Face, b: Face) -> bool:
    """Same axis line and radius."""
    assert a.axis is not None and b.axis is not None and a.radius is not None and b.radius is not None
    tilt = math.hypot(*cross(a.axis, b.axis))
    reach = max(map(abs, (*a.box, *b.box)))
    return (
        abs(a.radius - b.radius) < ALIKE
        and tilt * max(reach, 1.0) < ALIKE
        and math.dist(_foot(a), _foot(b)) < ALIKE
    )


def _runs(group: Sequence[_Wall]) -> list[list[_Wall]]:
    """Faces that follow one another along the axis without a gap."""
    runs: list[list[_Wall]] = []
    high = -math.inf
    for wall in sorted(group, key=lambda w: (w[1], w[0].index)):
        if wall[1] > high + ALIKE:
            runs.append([])
        runs[-1].append(wall)
        high = max(high, wall[2])
    return runs


def _hole(shape: bytes, run: Sequence[_Wall]) -> Hole | None:
    ends = sorted({e for w in run for e in w[1:3]})
    middles = [0.5 * (a + b) for a, b in pairwise(ends)]
    round_about = max((math.fsum(w[3] for w in run if w[1] < m < w[2]) for m in middles), default=0.0)
    if round_about < FULL:
        return None
    first = run[0][0]
    assert first.axis is not None and first.radius is not None
    axis, foot = _canonical(unit(first.axis)), _foot(first)
    low, high = ends[0], ends[-1]
    above = _open(shape, foot, axis, end=high, radius=first.radius)
    back = (-axis[0], -axis[1], -axis[2])
    below = _open(shape, foot, back, end=-low, radius=first.radius)
    if not above and not below:
        return None
    out, end = (axis, high) if above else (back, -low)
    mouth = (foot[0] + end * out[0], foot[1] + end * out[1], foot[2] + end * out[2])
    return Hole(
        faces=tuple(sorted(w[0].index for w in run)),
        axis=out,
        mouth=mouth,
        diameter=2 * first.radius,
        depth=high - low,
        through=above and below,
    )


def _open(shape: bytes, foot: Vec3, axis: Vec3, *, end: float, radius: float) -> bool:
    """Whether the full diameter leaves the material at ``end`` along ``axis``.

    Just past the end, just inside the wall, there must be air. A ball-shaped bottom starts
    tangent to the wall, so it is looked for half a radius further on, where it has closed in
    round the wall and fills the axis at a full radius.
    """
    seed: Vec3 = (1.0, 0.0, 0.0) if abs(axis[0]) < 0.9 else (0.0, 1.0, 0.0)
    x = unit(cross(axis, seed))
    y = cross(axis, x)

    def point(r: float, angle: float, past: float) -> Vec3:
        c, s = r * math.cos(angle), r * math.sin(angle)
        return (
            foot[0] + (end + past) * axis[0] + c * x[0] + s * y[0],
            foot[1] + (end + past) * axis[1] + c * x[1] + s * y[1],
            foot[2] + (end + past) * axis[2] + c * x[2] + s * y[2],
        )

    turns = [k * math.pi / 2 + 0.1 for k in range(4)]
    if _most_inside(shape, [point(0.998 * radius, a, 0.02 * radius) for a in turns]):
        return False
    (stopped,) = kernel.inside(shape, [point(0.0, 0.0, 1.02 * radius)])
    return not stopped or not all(
        kernel.inside(shape, [point(0.998 * radius, a, 0.5 * radius) for a in turns])
    )


def _most_inside(shape: bytes, points: Sequence[Vec3]) -> bool:
    """Whether more than half of four points lie in the material; as few as decide it are looked at."""
    held = free = 0
    for p in points:
        (inside,) = kernel.inside(shape, [p])
        held, free = held + inside, free + (not inside)
        if held > 2 or free > 1:
            return held > 2
    return False
