"""Whether a part that is put in another way round is the same part there: same metal, same features."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass

from jawright.geometry.frame import Vec3, dot
from jawright.geometry.query import moments
from jawright.hold.model import Hold
from jawright.part.model import Face, Part

NEAR = 0.05  # [mm] surfaces nearer than this are one surface of a part as it is made
ASKEW = 1e-3  # sine of the angle between normals or axes up to which they are one
AREA = 0.005  # share by which areas may differ
HOLES = ("drill", "bore", "ream")


@dataclass(frozen=True, slots=True)
class _Carrier:
    """A surface without its borders: a plane by its normal, a cylinder by its axis, else a face."""

    kind: str
    way: Vec3  # normal of a plane, axis of a cylinder
    at: Vec3  # a point of the plane, the axis' point next to the origin, the face's center
    radius: float
    hollow: bool
    area: float

    def like(self, other: _Carrier) -> bool:
        if (self.kind, self.hollow) != (other.kind, other.hollow) or abs(self.radius - other.radius) > NEAR:
            return False
        side = dot(self.way, other.way)
        off = (self.at[0] - other.at[0], self.at[1] - other.at[1], self.at[2] - other.at[2])
        if self.kind == "plane":
            return side > 1 - ASKEW**2 and abs(dot(off, self.way)) < NEAR
        if self.kind == "cylinder":
            along = dot(off, self.way)
            square = math.dist(off, tuple(along * w for w in self.way))
            return abs(side) > 1 - ASKEW**2 and square < NEAR
        return math.hypot(*off) < NEAR


def harmless(hold: Hold, part: Part | None, *, flip: bool, turn: float, hand: bool = False) -> bool:
    """Whether the part, flipped over and then turned by ``turn`` [rad], comes out the same.

    With ``hand`` it is the mirror image that is put in.

    All its surfaces fall on like surfaces, and what is made here falls on what is made here. Upside
    down that takes, besides, a part that is not faced and gets nothing but through holes. Without the
    part only what is made here is compared, and upside down nothing is the same.
    Valid for: surfaces that are planes and cylinders; any other must fall on one with the same middle.
    """
    move, spin = _map(hold, flip=flip, turn=turn, hand=hand)
    if flip and (
        part is None or hold.stock > 0 or not all(f.kind in HOLES and f.through for f in hold.features)
    ):
        return False
    if not _features(hold, move):
        return False
    if part is None:
        return True
    place = hold.stance.move
    own = _carriers(part.faces, place.point, place.direction)
    put = _carriers(part.faces, lambda p: move(place.point(p)), lambda v: spin(place.direction(v)))
    return len(own) == len(put) and all(
        any(a.like(b) and abs(a.area - b.area) <= AREA * a.area + NEAR for b in own) for a in put
    )


def _map(
    hold: Hold, *, flip: bool, turn: float, hand: bool
) -> tuple[Callable[[Vec3], Vec3], Callable[[Vec3], Vec3]]:
    """The move of points and of directions that brings the middle of the outline back to itself."""
    cx, cy = moments(hold.outline.outer).center
    c, s = math.cos(turn), math.sin(turn)
    over = -1.0 if flip else 1.0
    across = -over if hand else over

    def spin(v: Vec3) -> Vec3:
        x, y = across * v[0], v[1]
        return (c * x - s * y, s * x + c * y, over * v[2])

    def point(p: Vec3) -> Vec3:
        x, y, z = spin((p[0] - cx, p[1] - cy, p[2] - hold.floor))
        return (x + cx, y + cy, z + (hold.part_top if flip else hold.floor))

    return point, spin


def _carriers(
    faces: Sequence[Face], point: Callable[[Vec3], Vec3], direction: Callable[[Vec3], Vec3]
) -> list[_Carrier]:
    """The surfaces of the moved faces; faces on one plane or cylinder are one surface."""
    out: list[_Carrier] = []
    for f in faces:
        if f.kind == "cylinder" and f.axis is not None and f.axis_point is not None:
            way, on = direction(f.axis), point(f.axis_point)
            along = dot(on, way)
            at = (on[0] - along * way[0], on[1] - along * way[1], on[2] - along * way[2])
        else:
            way, at = direction(f.normal), point(f.center)
        one = _Carrier(f.kind, way, at, f.radius or 0.0, f.hollow, f.area)
        k = next((i for i, c in enumerate(out) if f.kind in ("plane", "cylinder") and c.like(one)), None)
        if k is None:
            out.append(one)
        else:
            o = out[k]
            out[k] = _Carrier(o.kind, o.way, o.at, o.radius, o.hollow, o.area + one.area)
    return out


def _features(hold: Hold, move: Callable[[Vec3], Vec3]) -> bool:
    """Whether each feature made here falls on a like one that is made here."""
    for f in hold.features:
        if f.region is not None and f.kind == "face":
            continue
        x, y, _ = move(f.center)
        if not any(
            g.kind == f.kind
            and g.diameter == f.diameter
            and math.hypot(g.center[0] - x, g.center[1] - y) < NEAR
            for g in hold.features
        ):
            return False
    return True
