"""How wide a cutter goes into what a feature mills: between its walls, and into its hollow corners.

Lengths in mm.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from jawright.geometry.frame import Vec3, dot, unit
from jawright.hold.found import FoundFeature
from jawright.part.features import find_features
from jawright.part.model import Part
from jawright.part.net import LEVEL, SMOOTH, Net, net_of

MILLED = ("profile", "pocket", "slot")
CLEAR = 0.9  # of a pocket's width, more does not go round in it (common practice, no source)


@dataclass(frozen=True, slots=True)
class Narrow:
    """Room for the cutter of a feature: ``wide`` between its walls, ``corner`` twice the radius of its
    tightest hollow corner, each infinite where nothing bounds it; ``deep`` is how far its walls reach down
    [mm]."""

    wide: float = math.inf
    corner: float = math.inf
    deep: float = 0.0


FREE = Narrow()


def narrow(part: Part, f: FoundFeature, up: Vec3) -> Narrow:
    """The room of a feature's cutter, standing with ``up`` up; ``FREE`` of one that mills no upright wall."""
    if f.ask.kind not in MILLED or f.face is None:
        return FREE
    net, way = net_of(part), unit(up)
    own = set(f.faces or (f.face.index,))
    wide = math.inf
    if f.ask.kind != "profile":
        for r in find_features(part).recesses:
            along = dot(r.opens, way)
            if own & set(r.faces) and (abs(along) if r.through else along) > 1 - LEVEL:
                own |= set(r.faces)
                wide = min(wide, r.width * (CLEAR if f.ask.kind == "pocket" else 1.0))
    walls = [i for i in own if net.upright(i, way)]
    if not walls:
        return FREE
    spans = [net.span(i, way) for i in walls]
    tight = [r for i in walls for r in _hollow(net, i, way)]
    deep = max(high for _, high in spans) - min(low for low, _ in spans)
    return Narrow(wide, 2.0 * min(tight, default=math.inf), deep)


def narrows(part: Part, features: tuple[FoundFeature, ...], up: Vec3) -> tuple[tuple[str, Narrow], ...]:
    """``narrow`` by the name of each feature that mills upright walls."""
    found = ((f.ask.name, narrow(part, f, up)) for f in features)
    return tuple((name, n) for name, n in found if n != FREE)


def _hollow(net: Net, wall: int, way: Vec3) -> list[float]:
    """Radii of a wall that is a hollow round one itself, and of those that it runs into [mm]."""
    beside = {e.other for e in net.of[wall] if e.turn < SMOOTH}
    out = []
    for i in (wall, *sorted(beside)):
        face = net.faces[i]
        if face.kind == "cylinder" and face.hollow and face.radius is not None and net.upright(i, way):
            out.append(face.radius)
    return out
