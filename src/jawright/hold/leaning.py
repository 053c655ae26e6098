"""Walls with draft between upright jaws: at which height they touch, and which way they push.

A wall that leans meets an upright jaw on one line: its own widest level within the jaw. Lengths in mm,
angles in rad.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace

from jawright.geometry.frame import Vec3, dot, unit
from jawright.hold.model import Contact
from jawright.part.band import face_heights
from jawright.part.model import Face, Part

UPRIGHT = math.radians(0.05)
"""Walls that lean less are upright: 0.01 mm over a usual grip (common practice, no source)."""

STEEPEST = math.radians(30.0)
"""What leans more is a chamfer and no wall."""

JAW_EDGE = 0.3
"""The jaw's upper edge is broken: its wall ends so far below its top [mm] (common practice, no source)."""

PAD = 3.0
"""Height of the short pad that touches walls which are widest at the floor [mm]: a deeper one would not
touch more of them (common practice, no source)."""


MARK = 0.05
"""So deep the softer body may be pressed in along the line [mm] (common practice, no source)."""


def band(angle: float, reach: float) -> float:
    """Height of wall [mm] that bears once the line is pressed in by ``MARK``, at most ``reach`` [mm].

    ``b = MARK / tan|lean|``: the two walls part by ``tan|lean|`` per mm.
    """
    return reach if angle == 0.0 else min(reach, MARK / math.tan(abs(angle)))


def lean(face: Face, up: Vec3) -> float | None:
    """Lean of one wall [rad], above 0 where the part is wider at the top; None where no angle tells."""
    if face.kind not in ("plane", "cone"):
        return None
    angle = -math.asin(max(-1.0, min(1.0, dot(face.normal, unit(up)))))
    return angle if abs(angle) <= STEEPEST else None


def too_much(part: Part, faces: Sequence[int], up: Vec3) -> tuple[int, ...]:
    """Places in ``faces`` of walls that lean by more than ``STEEPEST``: no upright jaw bears on them."""
    by_index = {f.index: f for f in part.faces}
    flat = [(k, by_index[i]) for k, i in enumerate(faces) if i in by_index]
    return tuple(k for k, f in flat if f.kind in ("plane", "cone") and lean(f, up) is None)


def widest(part: Part, faces: Sequence[int], up: Vec3) -> int:
    """Where an outline's leaning walls are widest: -1 all at the bottom, 1 all at the top, 0 neither."""
    by_index = {f.index: f for f in part.faces}
    found = [a for i in set(faces) if i in by_index and (a := lean(by_index[i], up)) is not None]
    leans = [a for a in found if abs(a) > UPRIGHT]
    if not leans:
        return 0
    return -1 if max(leans) < 0 else 1 if min(leans) > 0 else 0


def touching(
    contacts: Sequence[Contact], part: Part, up: Vec3, *, low: float, floor: float, top: float, broken: float
) -> tuple[Contact, ...]:
    """Contacts of leaning walls in the middle of the ``band`` that bears, leaning as they do; others as are.

    Parameters
    ----------
    low : height of the part's lowest point along ``up`` in its own frame [mm]
    floor, top : Z of the part's seat and of the jaws' top [mm]
    broken : how far the part's lower edge is broken [mm]

    A wall that is wider at the bottom touches an upright jaw with its lowest line, which pushes level; one
    that is wider at the top is touched by the jaw's upper edge, square to itself: that lifts it.
    """
    by_index = {f.index: f for f in part.faces}
    out = []
    for c in contacts:
        face = by_index.get(c.face) if c.on in ("fixed", "floating", "stop") else None
        angle = None if face is None else lean(face, up)
        if face is None or angle is None or abs(angle) <= UPRIGHT:
            out.append(c)
            continue
        least, most = face_heights(part, up)[face.index]
        if angle < 0:
            line, n = floor + max(least - low, broken), c.normal
            z = line + band(angle, top - line) / 2
        else:
            line = floor + min(most - low, top - floor - JAW_EDGE)
            z = line - band(angle, line - floor) / 2
            level, rise = math.cos(angle), math.sin(angle)
            n = (c.normal[0] * level, c.normal[1] * level, rise)
        out.append(replace(c, point=(c.point[0], c.point[1], z), normal=n, lean=angle))
    return tuple(out)
