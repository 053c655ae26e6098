"""Named frames and rigid moves that refuse to compose wrongly.

Lengths in mm, angles in rad.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from jawright.errors import JawrightError

Vec3 = tuple[float, float, float]
Rows = tuple[Vec3, Vec3, Vec3]


def dot(a: Vec3, b: Vec3) -> float:
    """Scalar product."""
    return a[0] * b[0] + a[1] * b[1] + a[2] * b[2]


def cross(a: Vec3, b: Vec3) -> Vec3:
    """Vector product."""
    return (a[1] * b[2] - a[2] * b[1], a[2] * b[0] - a[0] * b[2], a[0] * b[1] - a[1] * b[0])


def unit(a: Vec3) -> Vec3:
    """The direction at length 1. Raises ``geometry`` when it has no length."""
    n = math.sqrt(dot(a, a))
    if n == 0.0:
        raise JawrightError("geometry", what="a direction has no length")
    return (a[0] / n, a[1] / n, a[2] / n)


@dataclass(frozen=True, slots=True)
class Move:
    """A rigid move ``x_to = R x_from + t`` between two named frames ("part", "vise").

    Raises ``geometry`` when two moves whose frames do not match are composed.
    """

    source: str
    target: str
    rotation: Rows
    shift: Vec3  # [mm]

    def point(self, p: Vec3) -> Vec3:
        """Where a point goes [mm]."""
        r, t = self.rotation, self.shift
        return (dot(r[0], p) + t[0], dot(r[1], p) + t[1], dot(r[2], p) + t[2])

    def direction(self, v: Vec3) -> Vec3:
        """Where a direction turns to."""
        r = self.rotation
        return (dot(r[0], v), dot(r[1], v), dot(r[2], v))

    def after(self, first: Move) -> Move:
        """This move applied after ``first``.

        Raises ``geometry`` when the one does not end in the frame that the other starts from.
        """
        if first.target != self.source:
            raise JawrightError(
                "geometry",
                what=f"a move from {self.source} cannot follow one that ends in {first.target}",
            )
        cols = tuple(zip(*first.rotation, strict=True))
        r = tuple(tuple(dot(row, c) for c in cols) for row in self.rotation)
        return Move(first.source, self.target, r, self.point(first.shift))  # type: ignore[arg-type]

    def inverse(self) -> Move:
        """The way back."""
        rt: Rows = tuple(zip(*self.rotation, strict=True))  # type: ignore[assignment]
        t = self.shift
        return Move(self.target, self.source, rt, (-dot(rt[0], t), -dot(rt[1], t), -dot(rt[2], t)))


def standing(up: Vec3, *, turn: float, shift: Vec3, source: str = "part", target: str = "vise") -> Move:
    """Move that stands the part with ``up`` along +Z, turned by ``turn`` [rad] about Z, then shifted [mm].

    At turn 0 the part axis that lies along the vise's X is fixed by rule, so that turns mean
    the same thing everywhere: the part's X when ``up`` is not along it, else the part's Y.
    """
    z = unit(up)
    seed: Vec3 = (1.0, 0.0, 0.0) if abs(z[0]) < 0.9 else (0.0, 1.0, 0.0)
    d = dot(seed, z)
    x = unit((seed[0] - d * z[0], seed[1] - d * z[1], seed[2] - d * z[2]))
    y = cross(z, x)
    c, s = math.cos(turn), math.sin(turn)
    rx: Vec3 = (c * x[0] - s * y[0], c * x[1] - s * y[1], c * x[2] - s * y[2])
    ry: Vec3 = (s * x[0] + c * y[0], s * x[1] + c * y[1], s * x[2] + c * y[2])
    return Move(source, target, (rx, ry, z), shift)
