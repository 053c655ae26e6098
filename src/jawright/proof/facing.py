"""Where the walls of a pocket face the part: points of its outline, the way off the wall, and the air there.

Plan view, vise frame. Lengths in mm.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from jawright.geometry.curve import FULL, Arc, Line, Point, right_normal
from jawright.geometry.profile import Profile
from jawright.geometry.query import Foot, nearest_on
from jawright.hold.model import Hold
from jawright.jaws.model import Jaws
from jawright.proof.shutting import OPEN

Floats = NDArray[np.float64]

ASIDE = math.radians(3.0)
"""What lies so far aside of where a wall of the part looks still faces it."""
ASLANT = math.radians(15.0)
"""So far aside for a flat of the pocket that no point of the part has as its nearest wall."""
FLUSH = 1e-4  # [mm] nearer than this the part lies on its wall
PIECES = 8  # a wall is looked at where it would be cut into so many


@dataclass(frozen=True, slots=True)
class Spot:
    """A point of the part's outline and the way it looks: from ``first`` on over ``span`` [rad]."""

    at: Point
    first: float
    span: float

    def looks(self, way: Point, aside: float = ASIDE) -> bool:
        """Whether a direction is one of those it looks, or no more than ``aside`` [rad] of them."""
        off = (math.atan2(way[1], way[0]) - self.first + aside) % FULL
        return off <= self.span + 2 * aside


Faced = tuple[Point, Point, float]
"""A point of the part, the direction off what faces it, and how far off that is."""


def wall_points(hold: Hold, jaws: Jaws, grown: float) -> tuple[Floats, Floats, Floats]:
    """Points of the outline (n, 2), directions from the nearest wall into the part (n, 2), air (n,) [mm].

    The part is ``grown`` [mm] at every wall and the floating jaw open. Points that no wall of a jaw
    faces are left out: what the pocket has beside or behind them is met by other points first.
    """
    spots = [s for s in _spots(hold) if s.at[1] > 0.0 or s.at[1] < -jaws.gap]
    loops = (jaws.pocket.outer, *jaws.pocket.holes)
    feet = nearest_on(jaws.pocket, [s.at for s in spots]) if spots else ()
    both = [(s, foot) for s, foot in zip(spots, feet, strict=True) if not _between(foot.point, jaws)]
    found = [_faced(s, foot, loops) for s, foot in both]
    points, normals, gaps = [], [], []
    others = [*_edges(hold, jaws, loops), *_flats(spots, jaws, loops)]
    for p, into, far in [*(f for f in found if f is not None), *others]:
        # Backing the floating jaw off gives a wall as much as it faces the closing direction.
        opened = OPEN * max(0.0, into[1]) if p[1] < 0.0 else 0.0
        points.append(p)
        normals.append(into)
        gaps.append(far - grown + opened)
    return np.array(points), np.array(normals), np.array(gaps)


def _between(p: Point, jaws: Jaws) -> bool:
    return -jaws.gap < p[1] < 0.0


def _spots(hold: Hold) -> list[Spot]:
    """Points of the outline that something outside can touch: along its walls and at its corners."""
    curves = hold.outline.outer.curves
    out = []
    for i, c in enumerate(curves):
        if i in hold.bridges:
            continue
        before = curves[i - 1]
        if (i - 1) % len(curves) in hold.bridges:
            out += _spot(c.start, c.tangent(0.0), c.tangent(0.0))
        else:
            out += _spot(c.start, before.tangent(1.0), c.tangent(0.0))
        if (i + 1) % len(curves) in hold.bridges:
            out += _spot(c.end, c.tangent(1.0), c.tangent(1.0))
        if isinstance(c, Arc) and not c.ccw:
            continue  # only what stands out of the jaws touches a hollow
        for k in range(1, PIECES):
            lo, hi = (k, k) if isinstance(c, Line) else (k - 1, k + 1)
            out += _spot(c.at(k / PIECES), c.tangent(lo / PIECES), c.tangent(hi / PIECES))
    return out


def _spot(p: Point, before: Point, after: Point) -> list[Spot]:
    """The spot at a point between two directions of travel, none in a hollow corner."""
    turn = math.atan2(
        before[0] * after[1] - before[1] * after[0], before[0] * after[0] + before[1] * after[1]
    )
    if turn < -1e-6:
        return []
    return [Spot(p, math.atan2(-before[0], before[1]), max(turn, 0.0))]  # it looks to the right of travel


def _faced(s: Spot, foot: Foot, loops: Sequence[Profile]) -> Faced | None:
    """What faces a spot; None where that lies aside, or on the far side of the part."""
    f, wall = foot.point, loops[foot.loop].curves[foot.curve]
    far = math.dist(s.at, f)
    if far < FLUSH:  # where the part lies on its wall, and only there, the direction is the wall's own
        n = right_normal(wall, foot.share)
        if not s.looks(n):  # at the end of that wall
            n = (math.cos(s.first), math.sin(s.first))
        return s.at, (-n[0], -n[1]), far
    into = ((s.at[0] - f[0]) / far, (s.at[1] - f[1]) / far)
    return (s.at, into, far) if s.looks((-into[0], -into[1])) else None


def _edges(hold: Hold, jaws: Jaws, loops: Sequence[Profile]) -> list[Faced]:
    """What stands out of the jaws, edges and round tongues, and the flat or hollow of the part it faces."""
    edges: list[Point] = []
    for loop in loops:
        for before, after in zip((loop.curves[-1], *loop.curves), loop.curves, strict=False):
            (ux, uy), (vx, vy) = before.tangent(1.0), after.tangent(0.0)
            if ux * vy - uy * vx < -1e-9:
                edges.append(after.start)
            if isinstance(after, Arc) and not after.ccw:
                edges += [after.at(k / PIECES) for k in range(1, PIECES)]
    edges = [e for e in edges if not _between(e, jaws)]
    out: list[Faced] = []
    for e, foot in zip(edges, nearest_on(hold.outline.outer, edges) if edges else (), strict=True):
        curve = hold.outline.outer.curves[foot.curve]
        if foot.curve in hold.bridges or not 0.0 < foot.share < 1.0:
            continue
        m = right_normal(curve, foot.share)
        ahead = (e[0] - foot.point[0]) * m[0] + (e[1] - foot.point[1]) * m[1]
        if ahead > -FLUSH:
            out.append((foot.point, (-m[0], -m[1]), ahead))
    return out


def _flats(spots: Sequence[Spot], jaws: Jaws, loops: Sequence[Profile]) -> list[Faced]:
    """Of each flat of the pocket the nearest spot over it: that spot may have another wall nearer still."""
    out: list[Faced] = []
    flats = [c for loop in loops for c in loop.curves if isinstance(c, Line)]
    for c in flats:
        (x, y), (tx, ty), n, jaw = c.start, c.tangent(0.0), right_normal(c, 0.5), c.at(0.5)[1] > 0.0
        over = [
            (far, s.at)
            for s in spots
            if (s.at[1] > 0.0) == jaw
            and 0.0 <= (s.at[0] - x) * tx + (s.at[1] - y) * ty <= c.length
            and (far := (x - s.at[0]) * n[0] + (y - s.at[1]) * n[1]) > -FLUSH
            and s.looks(n, ASLANT)
        ]
        if over and not _between(c.at(0.5), jaws):
            far, at = min(over)
            out.append((at, (-n[0], -n[1]), far))
    return out
