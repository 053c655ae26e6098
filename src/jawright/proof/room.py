"""How much air the opened jaws leave a part at the best place they let it down, found and measured there.

Plan view, vise frame. Lengths in mm, angles in rad.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.affinity import affine_transform

from jawright.geometry.polygon import to_polygon
from jawright.hold.model import Hold
from jawright.jaws.model import Jaws
from jawright.mechanics.dropin import Room, most_room
from jawright.proof.facing import wall_points
from jawright.proof.shutting import OPEN

Floats = NDArray[np.float64]

CHORD = 0.001  # [mm] of the chords that stand for arcs
FAR = 500.0  # [mm] no jaw reaches so far
SHARES = (1.0, 0.5, 0.25, 0.125)  # of the way the first, linear answer asks for
STEP = 1.0  # [mm] first longest step to a better place
SHORTEST = 0.02  # [mm] a step that changes nothing worth telling
GAIN = 0.002  # [mm] of air more that is worth another step
STEPS = 12


@dataclass(frozen=True, slots=True)
class Place:
    """Where a part has the most air between opened jaws."""

    air: float  # [mm] at the wall that leaves least; below 0 the linear answer: it does not go in
    move: tuple[float, float, float]  # from where it is clamped: shift [mm] and turn about the origin [rad]
    at: tuple[float, float]  # [mm] of the part as clamped, where the least air is


def most_air(hold: Hold, jaws: Jaws) -> Place | None:
    """The place with most air round the nominal part, the floating jaw opened; None where no wall faces it.

    A linear program over the walls says where to go first (``most_room``); from the share of that way with
    the most air, linear programs over all that lies near are repeated with steps that shrink where the air,
    measured between the outlines, does not grow. What is told is measured at a place that exists. A part
    that is larger all round has as much less air everywhere as it is larger.
    """
    points, normals, gaps = wall_points(hold, jaws, 0.0)
    if not len(points):
        return None
    first = most_room(points, normals, gaps)
    tight = points[first.tightest[0]] if first.tightest else points[int(np.argmin(gaps))]
    shape, metal = _lines(hold), _metal(jaws)
    best, move = 0.0, first.move
    for way in (first.move, (first.move[0], -OPEN / 2.0, first.move[2])):
        for share in SHARES if best <= 0.0 else ():
            tried = (share * way[0], share * way[1], share * way[2])
            if (air := float(shapely.distance(_moved(shape, tried), metal))) > best:
                best, move = air, tried
    if best <= 0.0:  # nowhere on the way is it free of the jaws: at home it touches them at least
        return Place(min(first.clearance, 0.0), first.move, (float(tight[0]), float(tight[1])))
    step = STEP
    for _ in range(STEPS):
        further = _better(_moved(shape, move), metal, best, step)
        tried = _after(move, further.move)
        air = float(shapely.distance(_moved(shape, tried), metal))
        if air > best:
            done, best, move = air - best < GAIN, air, tried
            if done:
                break
        else:
            step /= 3.0
            if step < SHORTEST:
                break
    x, y = shapely.get_coordinates(shapely.shortest_line(_moved(shape, move), metal))[0]
    return Place(best, move, _back(move, float(x), float(y)))


def _lines(hold: Hold) -> shapely.Geometry:
    """The part's own walls as chords, without what only bridges gaps of the outline."""
    border = shapely.boundary(to_polygon(hold.outline, CHORD))
    curves = hold.outline.outer.curves
    across = [shapely.linestrings([curves[k].start, curves[k].end]) for k in hold.bridges]
    return (
        shapely.difference(border, shapely.buffer(shapely.multilinestrings(across), 1e-6))
        if across
        else border
    )


def _metal(jaws: Jaws) -> shapely.Geometry:
    """Plan of both jaws round the pocket, the floating one opened."""
    air = to_polygon(jaws.pocket, CHORD)
    fixed = shapely.box(-FAR, 0.0, FAR, FAR).difference(air)
    floating = shapely.box(-FAR, -FAR, FAR, -jaws.gap).difference(air)
    return shapely.union_all([fixed, _moved(floating, (0.0, -OPEN, 0.0))])


def _better(shape: shapely.Geometry, metal: shapely.Geometry, air: float, step: float) -> Room:
    """A move of at most ``step`` at any point that leaves more air: all corners near, of either outline."""
    near = air + 2.0 * step
    border = shapely.boundary(metal)
    mine, its = shapely.get_coordinates(shape), shapely.get_coordinates(border)
    there, far = _nearest(mine, border)
    here, back = _nearest(its, shape)
    keep, held = far < near, back < near
    points = np.vstack([mine[keep], here[held]])
    normals = np.vstack([(mine - there)[keep] / far[keep, None], (here - its)[held] / back[held, None]])
    return most_room(points, normals, np.concatenate([far[keep], back[held]]), longest=step)


def _nearest(points: Floats, shape: shapely.Geometry) -> tuple[Floats, Floats]:
    """Nearest points (n, 2) of a shape to points (n, 2), and how far they are (n,)."""
    ends = shapely.get_coordinates(shapely.shortest_line(shapely.points(points), shape)).reshape(-1, 2, 2)
    return ends[:, 1], np.hypot(*(ends[:, 1] - ends[:, 0]).T)


def _moved(shape: shapely.Geometry, move: tuple[float, ...]) -> shapely.Geometry:
    dx, dy, turn = move
    c, s = math.cos(turn), math.sin(turn)
    return affine_transform(shape, [c, -s, s, c, dx, dy])


def _after(first: tuple[float, ...], then: tuple[float, ...]) -> tuple[float, float, float]:
    """One move after another as one."""
    c, s = math.cos(then[2]), math.sin(then[2])
    x, y = c * first[0] - s * first[1] + then[0], s * first[0] + c * first[1] + then[1]
    return x, y, first[2] + then[2]


def _back(move: tuple[float, ...], x: float, y: float) -> tuple[float, float]:
    c, s = math.cos(move[2]), math.sin(move[2])
    u, v = x - move[0], y - move[1]
    return c * u + s * v, c * v - s * u
