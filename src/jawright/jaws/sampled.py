"""The short signature of a pocket, and of a part turned as it would stand: both walls sampled along X.

A pocket is entered from the gap, so each jaw's wall is one height over X. Where a wall is missing
(outside the pocket) the jaw's front face bounds the part. The samples are close enough that a short
list made from them loses no pair that the exact geometry would take (see ``search``).
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from jawright.geometry.curve import Arc, Curve
from jawright.geometry.profile import Profile
from jawright.jaws.model import Jaws

Floats = NDArray[np.float64]

STEP = 0.1
"""Distance of samples along X and along Y [mm]."""


@dataclass(frozen=True, slots=True)
class Walls:
    """Samples of a pocket. Vise frame, mm, at the gap it was cut with.

    ``fixed`` [mm] is the Y of the fixed jaw's wall over X = ``x0`` + k ``STEP``, ``floating`` that of
    the floating jaw's. ``side`` is the X of the stop's wall over Y = k ``STEP``, empty without a stop.
    """

    x0: float
    fixed: Floats
    floating: Floats
    side: Floats
    stop: int

    def blob(self) -> bytes:
        """As kept in the register: counts, first X, then the samples, little-endian float32."""
        head = np.array([len(self.fixed), len(self.side), self.stop], dtype="<i4").tobytes()
        body = np.concatenate(([self.x0], self.fixed, self.floating, self.side)).astype("<f4")
        return head + body.tobytes()


def from_blob(data: bytes) -> Walls:
    """The samples that ``blob`` wrote."""
    n, m, stop = (int(v) for v in np.frombuffer(data, "<i4", 3))
    rest = np.frombuffer(data, "<f4", offset=12).astype(float)
    return Walls(
        float(rest[0]), rest[1 : 1 + n], rest[1 + n : 1 + 2 * n], rest[1 + 2 * n : 1 + 2 * n + m], stop
    )


def of_pocket(jaws: Jaws) -> Walls:
    """Sample the pocket of a pair. The stop is the side wall its zones name, else none."""
    pocket = jaws.pocket.outer
    x0, _, x1, y1 = pocket.box
    xs: Floats = np.asarray(x0 + STEP * np.arange(int((x1 - x0) / STEP) + 1))
    fixed = np.maximum(heights(pocket, xs, upper=True), 0.0)
    floating = np.minimum(heights(pocket, xs, upper=False), -jaws.gap)
    stop = stop_side(jaws)
    side = np.zeros(0)
    if stop:
        ys: Floats = np.asarray(STEP * np.arange(max(1, int(y1 / STEP)) + 1))
        side = reaches(pocket, ys, right=stop > 0)
    return Walls(x0, fixed, floating, side, stop)


def stop_side(jaws: Jaws) -> int:
    """-1 or +1 for a stop at that end of the pocket, 0 without one."""
    x0, _, x1, _ = jaws.pocket.outer.box
    for z in jaws.zones:
        if z.purpose == "stop":
            return 1 if z.curves[0].at(0.5)[0] > (x0 + x1) / 2 else -1
    return 0


def heights(profile: Profile, xs: Floats, *, upper: bool) -> Floats:
    """Largest (or smallest) Y of the outline over each of ``xs`` (n,) [mm]; ∓inf where there is none."""
    return _outermost(profile, xs, axis=0, sign=1.0 if upper else -1.0)


def reaches(profile: Profile, ys: Floats, *, right: bool) -> Floats:
    """Largest (or smallest) X of the outline over each of ``ys`` (n,) [mm]; ∓inf where there is none."""
    return _outermost(profile, ys, axis=1, sign=1.0 if right else -1.0)


def _outermost(profile: Profile, values: Floats, *, axis: int, sign: float) -> Floats:
    best = np.full(len(values), -math.inf)
    for c in profile.curves:
        for other in _at(c, values, axis=axis):
            best = np.fmax(best, sign * other)
    return sign * best


def _at(c: Curve, values: Floats, *, axis: int) -> list[Floats]:
    """The other coordinate of the curve where the one named by ``axis`` has the ``values``; nan elsewhere."""
    other = 1 - axis
    if not isinstance(c, Arc):
        a, b = c.start[axis], c.end[axis]
        if abs(b - a) < 1e-12:
            hit = np.abs(values - a) <= 1e-9
            return [np.where(hit, end[other], np.nan) for end in (c.start, c.end)]
        t = (values - a) / (b - a)
        y = c.start[other] + t * (c.end[other] - c.start[other])
        return [np.where((t >= -1e-12) & (t <= 1 + 1e-12), y, np.nan)]
    h = values - c.center[axis]
    r = c.radius
    root = np.sqrt(np.maximum((r - h) * (r + h), 0.0))
    out = []
    for sign in (1.0, -1.0):
        u = sign * root
        angle = np.arctan2(u, h) if axis == 0 else np.arctan2(h, u)
        sweep = c.sweep
        along = np.mod((angle - c.start_angle) * np.sign(sweep), 2 * math.pi)
        along = np.where(along > 2 * math.pi - 1e-9, 0.0, along)
        on = (np.abs(h) <= r + 1e-12) & (along <= abs(sweep) + 1e-9)
        out.append(np.where(on, c.center[other] + u, np.nan))
    return out
