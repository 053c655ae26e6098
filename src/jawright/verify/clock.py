"""How long the moves take on a machine that must get up to speed and slow down. mm, s."""

from __future__ import annotations

import math
from collections.abc import Sequence
from itertools import pairwise

from jawright.verify.state import PLANES, Move
from jawright.verify.words import LIMITS

_TIME: dict[str, float] = LIMITS["time"]
Direction = tuple[float, float, float]


def minutes(moves: Sequence[Move], *, rapid: float) -> float:
    """Time of the moves [min]: each speeds up and slows down evenly, and slows for what comes next.

    Parameters
    ----------
    moves : in the program's order; ``feed`` in mm/min
    rapid : the machine's rapid speed [mm/min]

    Where two moves meet at an angle the machine passes at most as fast as on the arc
    that leaves the corner by ``corner`` [mm]: with half the outer angle h, that arc has the radius
    corner * cos(h) / (1 - cos(h)), and v = sqrt(acceleration * radius) (plain geometry). On arcs the
    same acceleration holds the speed down. Reversals and cutter changes stop. Valid for constant
    acceleration; a machine that limits jerk is slower. Source of the figures: ``data/verify_limits.toml``.
    """
    a = _TIME["acceleration"]
    paths = [m for m in moves if m.length > 0.0]
    top = [_speed(m, rapid) for m in paths]
    # speeds at the joints, first from the end backward, then forward
    joint = [
        0.0,
        *(_joint(p, q, min(u, v)) for (p, q), (u, v) in zip(pairwise(paths), pairwise(top), strict=True)),
        0.0,
    ]
    for i in range(len(paths) - 1, -1, -1):
        joint[i] = min(joint[i], math.sqrt(joint[i + 1] ** 2 + 2 * a * paths[i].length))
    total = 0.0
    for i, m in enumerate(paths):
        joint[i + 1] = min(joint[i + 1], math.sqrt(joint[i] ** 2 + 2 * a * m.length))
        total += _time(m.length, joint[i], joint[i + 1], top[i])
    return total / 60.0


def _speed(m: Move, rapid: float) -> float:
    """Fastest speed [mm/s] on the move."""
    v = (rapid if m.kind == "rapid" else m.feed) / 60.0
    if m.arc is not None:
        v = min(v, math.sqrt(_TIME["acceleration"] * m.arc.radius))
    return max(v, 1e-6)


def _time(length: float, v0: float, v1: float, most: float) -> float:
    """Time [s] of a move from speed ``v0`` to ``v1``, never faster than ``most``."""
    a = _TIME["acceleration"]
    peak = min(most, math.sqrt(max(0.0, a * length + (v0 * v0 + v1 * v1) / 2)))
    peak = max(peak, v0, v1)
    ramps = (2 * peak * peak - v0 * v0 - v1 * v1) / (2 * a)
    return (2 * peak - v0 - v1) / a + max(0.0, length - ramps) / peak


def _joint(p: Move, q: Move, most: float) -> float:
    """Fastest speed [mm/s] at which the machine gets from one move into the next."""
    if p.tool != q.tool or None in p.end or None in q.start or None in p.start or None in q.end:
        return 0.0
    u, v = _direction(p, 1.0), _direction(q, 0.0)
    straight = sum(x * y for x, y in zip(u, v, strict=True))
    c = math.sqrt(max(0.0, (1.0 + straight) / 2.0))  # cosine of half the turn
    if c > 1.0 - 1e-9:
        return most
    return min(most, math.sqrt(_TIME["acceleration"] * _TIME["corner"] * c / (1.0 - c)))


def _direction(m: Move, t: float) -> Direction:
    """Unit vector along the move at its start (t = 0) or its end (t = 1)."""
    d = [(e or 0.0) - (s or 0.0) for s, e in zip(m.start, m.end, strict=True)]
    if m.arc is not None:
        first, second, third = PLANES[m.arc.plane]
        angle = m.arc.start_angle + t * m.arc.sweep
        way = m.arc.radius * m.arc.sweep
        d = [0.0, 0.0, 0.0]
        d[first], d[second] = -math.sin(angle) * way, math.cos(angle) * way
        d[third] = (m.end[third] or 0.0) - (m.start[third] or 0.0)
    n = math.sqrt(math.fsum(x * x for x in d)) or 1.0
    return (d[0] / n, d[1] / n, d[2] / n)
