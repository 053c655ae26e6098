"""Where in a pocket the outline lies that it was cut for: by the walls its zones keep, which are the part's.

Plan view, vise frame, the jaws as they were cut. Lengths in mm, angles in rad.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from jawright.geometry.curve import Arc, Curve, Line
from jawright.geometry.profile import Profile
from jawright.geometry.query import nearest_on, signed_distance
from jawright.jaws.model import Jaws

Floats = NDArray[np.float64]

ON = 0.01
"""A wall this near the outline [mm] all along is a wall of it: files round, jaws keep all digits."""
LIKE = 1e-3  # [mm] radii and [rad] directions that differ by less are the same
ALONG = 5  # points at which a wall is compared
CHORD = 0.01  # [mm] of the points at which the outline is compared with the pocket


@dataclass(frozen=True, slots=True)
class Lies:
    """The outline's turn [rad] and its shift after it [mm]."""

    turn: float
    shift: tuple[float, float]


def places(outline: Profile, jaws: Jaws, turns: Sequence[float]) -> list[Lies]:
    """Every place where the outline (at turn 0) has all walls that bear in the jaws as walls of its own.

    Turns that lay one of its straight edges along the longest straight wall are tried, or where all walls are
    round two centers on two; where they have one center, the first of ``turns`` that serves. What lies there
    and reaches into the jaws is another part. Where parallel walls leave it free along them, and no wall that
    stays clear tells, it lies with its middle on the pocket's.
    """
    walls = [c for z in jaws.zones if z.purpose != "clear" for c in z.curves]
    if not walls:
        return []
    clear = [c for z in jaws.zones if z.purpose == "clear" for c in z.curves]
    found: list[Lies] = []
    wholly: list[Lies] = []
    told = _turns(outline, walls, clear)
    for turn in told or turns:
        turned = outline.moved(turn=turn)
        for shift in _shifts(turned, walls, clear, jaws):
            lies = turned.moved(shift=shift)
            if any(_same(f, turn, shift) for f in found) or not (
                _all_on(lies, walls) and _inside(lies, jaws)
            ):
                continue
            found.append(Lies(turn, shift))
            if _all_on(lies, clear):
                wholly.append(found[-1])
        if found and not told:
            break
    return wholly or found


def _turns(outline: Profile, walls: Sequence[Curve], clear: Sequence[Curve]) -> list[float]:
    """Turns that lay edges of the outline along a straight wall, or two centers of it on two; else none."""
    wall = max((c for c in walls if isinstance(c, Line)), key=lambda c: c.length, default=None)
    if wall is None:
        return _turns_of_centers(outline, [c for c in (*walls, *clear) if isinstance(c, Arc)])
    way = math.atan2(*reversed(wall.tangent(0.0)))
    edges = [c for c in outline.curves if isinstance(c, Line) and c.length > wall.length - ON]
    return _apart([way - math.atan2(*reversed(c.tangent(0.0))) for c in edges])


def _turns_of_centers(outline: Profile, walls: Sequence[Arc]) -> list[float]:
    """Turns that lay the way from one arc's center to another's along that between two walls' centers."""
    if not walls:
        return []
    a = walls[0]
    b = max(walls, key=lambda c: math.dist(a.center, c.center))
    far = math.dist(a.center, b.center)
    if far < ON:
        return []
    way = math.atan2(b.center[1] - a.center[1], b.center[0] - a.center[0])
    return _apart(
        [
            way - math.atan2(d.center[1] - c.center[1], d.center[0] - c.center[0])
            for c in _like(outline, a)
            for d in _like(outline, b)
            if abs(math.dist(c.center, d.center) - far) < ON
        ]
    )


def _like(outline: Profile, wall: Arc) -> list[Arc]:
    """Arcs of the outline with the radius of a wall, hollow or not as it is."""
    arcs = [c for c in outline.curves if isinstance(c, Arc)]
    return [c for c in arcs if c.ccw == wall.ccw and abs(c.radius - wall.radius) < LIKE]


def _apart(angles: Sequence[float]) -> list[float]:
    """The angles [rad], each once."""
    found: list[float] = []
    for a in angles:
        if all(abs(math.remainder(a - f, 2 * math.pi)) > LIKE for f in found):
            found.append(a % (2 * math.pi))
    return found


def _shifts(
    turned: Profile, walls: Sequence[Curve], clear: Sequence[Curve], jaws: Jaws
) -> list[tuple[float, float]]:
    """Shifts that lay curves of the outline on a round wall, or on two straight ones that cross.

    Walls that bear go first; with zones that stay ``clear`` the part's own walls are kept too.
    """
    if arcs := [c for c in walls if isinstance(c, Arc)]:
        return _centers(turned, max(arcs, key=lambda c: c.length))
    a = max(walls, key=lambda c: c.length)
    b = max(walls, key=lambda c: abs(_cross(a, c)))
    if abs(_cross(a, b)) < LIKE:
        b = max((c for c in clear if isinstance(c, Line)), key=lambda c: abs(_cross(a, c)), default=a)
    if abs(_cross(a, b)) < LIKE:
        arcs = [c for c in clear if isinstance(c, Arc)]
        free = [_across(turned, a, at, jaws) for at in _levels(turned, a)]
        return [*_centers(turned, max(arcs, key=lambda c: c.length)), *free] if arcs else free
    (ax, ay), (bx, by) = a.tangent(0.0), b.tangent(0.0)
    det = -ay * bx + ax * by
    out = []
    for p in _levels(turned, a):
        for q in _levels(turned, b):  # p and q [mm] along the normals (-ay, ax) and (-by, bx)
            out.append(((p * bx - q * ax) / det, (p * by - q * ay) / det))
    return out


def _centers(turned: Profile, wall: Arc) -> list[tuple[float, float]]:
    """Shifts that lay the center of an arc like it on that of a wall."""
    like = _like(turned, wall)
    off = [(wall.center[0] - c.center[0], wall.center[1] - c.center[1]) for c in like]
    return list(dict.fromkeys((round(x, 6), round(y, 6)) for x, y in off))


def _cross(a: Curve, b: Curve) -> float:
    (ax, ay), (bx, by) = a.tangent(0.0), b.tangent(0.0)
    return ax * by - ay * bx


def _levels(turned: Profile, wall: Curve) -> list[float]:
    """How far each edge along a wall lies off it [mm], square to it."""
    (tx, ty), (x, y) = wall.tangent(0.0), wall.start
    own = [c for c in turned.curves if isinstance(c, Line) and c.length > wall.length - ON]
    along = [c for c in own if math.dist(c.tangent(0.0), (tx, ty)) < LIKE]
    off = [-ty * (x - c.start[0]) + tx * (y - c.start[1]) for c in along]
    return list(dict.fromkeys(round(d, 6) for d in off))


def _across(turned: Profile, wall: Curve, off: float, jaws: Jaws) -> tuple[float, float]:
    """The shift square to a wall, and along it from the middle of the outline to that of the pocket."""
    tx, ty = wall.tangent(0.0)
    (a, b, c, d), (e, f, g, h) = turned.box, jaws.pocket.outer.box
    along = ((e + g - a - c) * tx + (f + h - b - d) * ty) / 2
    return along * tx - off * ty, along * ty + off * tx


def _all_on(outline: Profile, walls: Sequence[Curve]) -> bool:
    points = [c.at(k / (ALONG - 1)) for c in walls for k in range(ALONG)]
    return all(f.distance <= ON for f in nearest_on(outline, points))


def _inside(outline: Profile, jaws: Jaws) -> bool:
    points: Floats = np.array(outline.points(CHORD))
    cut = points[(points[:, 1] > 0.0) | (points[:, 1] < -jaws.gap)]
    return not len(cut) or float(signed_distance(jaws.pocket, cut).max()) <= ON


def _same(found: Lies, turn: float, shift: tuple[float, float]) -> bool:
    return abs(math.remainder(found.turn - turn, 2 * math.pi)) < LIKE and math.dist(found.shift, shift) < ON
