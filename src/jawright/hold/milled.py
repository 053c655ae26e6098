"""Walls that this operation mills down into the grip: no jaw may touch them while it does.

Lengths in mm, angles in rad.
"""

from __future__ import annotations

from collections.abc import Sequence

from jawright.geometry.frame import Vec3, dot, unit
from jawright.geometry.profile import Profile
from jawright.hold.found import Ask, FoundFeature
from jawright.part.model import Part

MOST_LEFT = 3.0
"""Milled to less than this above the underside a wall leaves nothing to grip below it [mm]: the least grip
of smooth jaws and what they stay below a cut (common practice, no source)."""
NO_WALL = (
    "its whole outline is milled in this operation down to the floor, and no jaw may touch a wall while "
    "it is milled"
)
"""Why nothing holds a part whose whole outline is milled."""
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


def walls(ask: Ask, part: Part, up: Vec3, faces: Sequence[int]) -> tuple[int, ...]:
    """Numbers of the outline's curves, by the part face behind each, that are milled into the grip."""
    cut = frozenset[int]().union(*(deep(f, part, up) for f in ask.features))
    return tuple(i for i, face in enumerate(faces) if face in cut)


def whole(outline: Profile, cut: Sequence[int]) -> bool:
    """Whether walls are milled and only short ones are not."""
    return bool(cut) and all(i in cut or c.length < SHORT for i, c in enumerate(outline.curves))


def lowest(part: Part, face: int, up: Vec3) -> float:
    """Height of a face's lowest point along ``up`` [mm]."""
    box, way = part.faces[face].box, unit(up)
    return min(dot((box[i], box[j], box[k]), way) for i in (0, 3) for j in (1, 4) for k in (2, 5))


def span(part: Part, up: Vec3) -> tuple[float, float]:
    """Heights of the part's lowest and highest point along ``up`` [mm], by the boxes of its faces."""
    down = (-up[0], -up[1], -up[2])
    every = range(len(part.faces))
    return min(lowest(part, i, up) for i in every), -min(lowest(part, i, down) for i in every)
