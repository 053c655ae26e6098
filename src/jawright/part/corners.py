"""Corners of an outline in the plan: convex and concave, sharp and rounded."""

from __future__ import annotations

import math

from jawright.geometry.curve import Arc, Curve
from jawright.geometry.profile import Profile
from jawright.part.model import OutlineCorner

LEAST = math.radians(3)
"""Walls that turn by less than this [rad] run into one another."""
MOST = math.radians(270)
"""An arc that turns further is a round part or hole, no corner."""


def outline_corners(outline: Profile) -> tuple[OutlineCorner, ...]:
    """All corners of a closed chain, in its order; convex where material fills less than half a turn.

    Arcs that follow one another tangentially and turn the same way are one corner. A whole circle
    has none.
    """
    ccw = outline.counterclockwise()
    curves = ccw.curves
    found = []
    for i, c in enumerate(curves):
        before = curves[i - 1]
        if isinstance(c, Arc) and not _goes_on(before, c):
            run = _run(curves, i)
            turn = math.fsum(a.sweep for a in run)
            if LEAST < abs(turn) < MOST:
                tightest = min(run, key=lambda a: a.radius)
                found.append(_corner(tightest.at(0.5), tightest.radius, turn, i))
        after = curves[(i + 1) % len(curves)]
        a, b = c.tangent(1.0), after.tangent(0.0)
        turn = math.atan2(a[0] * b[1] - a[1] * b[0], a[0] * b[0] + a[1] * b[1])
        if abs(turn) > LEAST:
            found.append(_corner(c.end, 0.0, turn, i))
    return tuple(found)


def _corner(at: tuple[float, float], radius: float, turn: float, curve: int) -> OutlineCorner:
    return OutlineCorner("convex" if turn > 0 else "concave", at, radius, math.pi - turn, curve)


def _run(curves: tuple[Curve, ...], first: int) -> list[Arc]:
    run: list[Arc] = []
    for k in range(len(curves)):
        c = curves[(first + k) % len(curves)]
        if not isinstance(c, Arc) or (run and not _goes_on(run[-1], c)):
            break
        run.append(c)
    return run


def _goes_on(a: Curve, b: Curve) -> bool:
    """Whether two arcs follow one another without a corner and turn the same way."""
    if not (isinstance(a, Arc) and isinstance(b, Arc)) or a.ccw != b.ccw:
        return False
    u, v = a.tangent(1.0), b.tangent(0.0)
    return abs(math.atan2(u[0] * v[1] - u[1] * v[0], u[0] * v[0] + u[1] * v[1])) < LEAST
