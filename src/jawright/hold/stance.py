"""All the ways the part can stand: which face up, and the turns worth trying.

Lengths in mm, angles in rad.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from scipy.spatial import ConvexHull, QhullError

from jawright.geometry.curve import Arc, Line, Point, right_normal
from jawright.geometry.frame import Vec3, cross, dot, standing, unit
from jawright.geometry.profile import Profile
from jawright.geometry.query import moments
from jawright.hold.resolve import FoundDatum
from jawright.hold.view import View
from jawright.part.model import Face, Part

SWEEP = math.radians(2.0)
SHORT_EDGE = 2.0  # [mm] shorter supports on the fixed jaw are not stable (common practice, no source)
SAME_TURN = math.radians(0.02)
TOLD = 1e-9  # [rad] less is rounding
ALONG = 0.9999  # cosine between directions that are the same
SQUARE = 0.01  # and between such that are square to one another
PIECES = int(math.pi / SAME_TURN)
UPS: tuple[Vec3, ...] = (
    (0.0, 0.0, 1.0), (0.0, 0.0, -1.0), (1.0, 0.0, 0.0), (-1.0, 0.0, 0.0), (0.0, 1.0, 0.0), (0.0, -1.0, 0.0),
)  # fmt: skip


@dataclass(frozen=True, slots=True)
class Turn:
    """A turn about Z to try [rad], with the reason, and how good a support it promises (0 best)."""

    angle: float
    reason: str
    kind: int  # 0 datum, 1 straight edge, 2 two-point support, 3 sweep, -1 pinned


def apart(a: float, b: float) -> float:
    """Angle between two turns [rad], the short way round."""
    return abs(math.remainder(a - b, 2 * math.pi))


def ups(part: Part, pinned: Vec3 | None, datums: Sequence[FoundDatum]) -> list[Vec3]:
    """Directions that can be up: the pinned one, else the part's axes with its first datum down first.

    A part stands on a flat only: directions without a plane facing down are left out. A part that lies
    askew in its file has axes of its own: those of its largest flats.
    """
    if pinned is not None:
        return [unit(pinned)]
    flat = [f for f in part.faces if f.kind == "plane"]
    out: list[Vec3] = []
    primary = next((d for d in datums if d.kind == "plane"), None)
    if primary is not None:
        out.append((-primary.normal[0], -primary.normal[1], -primary.normal[2]))
    for u in (*UPS, *_own_axes(flat)):
        if any(dot(u, v) > ALONG for v in out):
            continue
        if any(dot(f.normal, u) < -ALONG for f in flat):
            out.append(u)
    return out


def _own_axes(flat: Sequence[Face]) -> list[Vec3]:
    """Both ways along the normal of the largest flats, of the largest square to them, and square to both.

    None where the largest flats lie along an axis of the file and others along another one.
    """
    first = _largest(flat)
    lines = {k // 2 for k, u in enumerate(UPS) if any(abs(dot(f.normal, u)) > ALONG for f in flat)}
    if first is None or (len(lines) > 1 and any(dot(first, u) > ALONG for u in UPS)):
        return []
    second = _largest([f for f in flat if abs(dot(f.normal, first)) < SQUARE])
    axes = [first] if second is None else [first, second, unit(cross(first, second))]
    return [u for a in axes for u in (a, (-a[0], -a[1], -a[2]))]


def _largest(flat: Sequence[Face]) -> Vec3 | None:
    """Normal of the flats that face along one line, either way, and are the largest together."""
    sums: list[tuple[Vec3, float]] = []
    for f in flat:
        for k, (n, area) in enumerate(sums):
            if abs(dot(n, f.normal)) > ALONG:
                sums[k] = (n, area + f.area)
                break
        else:
            sums.append((unit(f.normal), f.area))
    return max(sums, key=lambda s: s[1])[0] if sums else None


def turns(
    profile: Profile,
    up: Vec3,
    datums: Sequence[FoundDatum],
    *,
    pinned: float | None = None,
    bridges: Sequence[int] = (),
) -> list[Turn]:
    """Turns at which an edge or a stable pair of points lies on the fixed jaw, plus a fine sweep.

    ``profile`` is the outline at turn 0, counter-clockwise; its curves in ``bridges`` are no walls. A pinned
    turn is the only one.
    """
    if pinned is not None:
        return [Turn(pinned, "pinned in the job", -1)]
    found: list[Turn] = []
    near: dict[int, list[float]] = {}  # angles by the piece of the circle they lie in, wider than SAME_TURN

    def add(angle: float, reason: str, kind: int) -> None:
        a = angle % (2 * math.pi)
        a = 0.0 if 2 * math.pi - a < TOLD else a  # else 0° is told as 360°
        k = int(a / (2 * math.pi) * PIECES)
        beside = [b for i in (k - 1, k, k + 1) for b in near.get(i % PIECES, ())]
        if all(apart(a, b) > SAME_TURN for b in beside):
            near.setdefault(k % PIECES, []).append(a)
            found.append(Turn(a, reason, kind))

    upright = standing(up, turn=0.0, shift=(0.0, 0.0, 0.0))
    for d in datums:
        n = upright.direction(d.normal)
        if d.kind == "plane" and abs(n[2]) < 1e-3:
            add(math.pi / 2 - math.atan2(n[1], n[0]), f"datum {d.letter} on the fixed jaw", 0)
    for d in datums:
        n = upright.direction(d.normal)
        if d.kind == "plane" and abs(n[2]) < 1e-3:
            # the datum square to the jaws: it can be the stop with either neighbor on the fixed jaw
            for side in (0.0, math.pi):
                add(side - math.atan2(n[1], n[0]), f"datum {d.letter} on the stop", 0)
    for length, angle, kind, words in _supports(profile, bridges):
        add(angle, f"{words} of {length:.1f} mm on the fixed jaw", kind)
    first = found[0].angle if found else _lengthwise(profile)  # not from the axes of its file
    for k in range(round(2 * math.pi / SWEEP)):
        add(first + k * SWEEP, "sweep", 3)
    return found


def _lengthwise(profile: Profile) -> float:
    """Turn [rad] that lays an outline's long way along the jaw: its principal axis of inertia."""
    m = moments(profile)
    return -0.5 * math.atan2(2 * m.ixy, m.iyy - m.ixx)


def turns_of(seen: View, datums: Sequence[FoundDatum], *, pinned: float | None = None) -> list[Turn]:
    """The turns of a part seen from above, as ``turns``."""
    return turns(seen.outline, seen.up, datums, pinned=pinned, bridges=seen.bridges)


def _supports(profile: Profile, bridges: Sequence[int]) -> list[tuple[float, float, int, str]]:
    """Supports of the outline's hull, longest first: (length, turn that lays it on the jaw, kind, words)."""
    out: list[tuple[float, float, int, str]] = []
    flat: list[tuple[float, float]] = []
    for i, c in enumerate(profile.curves):
        if isinstance(c, Line) and c.length >= SHORT_EDGE and i not in bridges:
            n = right_normal(c, 0.5)
            flat.append((c.length, math.pi / 2 - math.atan2(n[1], n[0])))
    out += [(length, a, 1, "straight edge") for length, a in sorted(flat, reverse=True)]
    pts, on_arc = _hull_points(profile)
    try:
        hull = ConvexHull(np.array(pts)).vertices
    except QhullError:
        return out
    pairs = []
    for i, j in zip(hull, np.roll(hull, -1), strict=True):
        p, q = pts[int(i)], pts[int(j)]
        length = math.dist(p, q)
        if length < SHORT_EDGE or (on_arc[int(i)] == on_arc[int(j)] and on_arc[int(i)] >= 0):
            continue
        nx, ny = (q[1] - p[1]) / length, -(q[0] - p[0]) / length
        pairs.append((length, math.pi / 2 - math.atan2(ny, nx)))
    out += [(length, a, 2, "two-point support") for length, a in sorted(pairs, reverse=True)]
    return out


def _hull_points(profile: Profile) -> tuple[list[Point], list[int]]:
    """Corners and closely spaced points of arcs, with the number of the arc each lies on (-1: a corner)."""
    pts: list[Point] = []
    arc: list[int] = []
    for i, c in enumerate(profile.curves):
        pts.append(c.start)
        arc.append(i if isinstance(c, Arc) else -1)
        if isinstance(c, Arc):
            n = max(8, math.ceil(abs(c.sweep) / math.radians(1.0)))
            pts.extend(c.at(k / n) for k in range(1, n))
            arc.extend([i] * (n - 1))
    return pts, arc
