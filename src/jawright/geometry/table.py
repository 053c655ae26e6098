"""Curves as columns of numbers, for everything that looks at many curves at once.

Lengths in mm, angles in rad.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from jawright.geometry.curve import Arc, Curve, Line, Point

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]
Bools = NDArray[np.bool_]

Row = tuple[float, float, float, float, float, float, float]
"""x0, y0, x1, y1, cx, cy, turn: turn is 0 for a line, +1 for a counter-clockwise arc, else -1."""

TWO_PI = 2 * math.pi


@dataclass(frozen=True, slots=True)
class Table:
    """``n`` curves, one column per quantity [mm, rad], each of shape ``(n,)``.

    ``sweep`` is signed and zero for lines, for which ``cx``, ``cy``, ``r`` and ``a0`` mean nothing.
    """

    x0: Floats
    y0: Floats
    x1: Floats
    y1: Floats
    cx: Floats
    cy: Floats
    r: Floats
    a0: Floats
    sweep: Floats
    arc: Bools

    def __len__(self) -> int:
        return len(self.x0)

    @property
    def length(self) -> Floats:
        """Arc length of each curve [mm]."""
        return np.where(self.arc, self.r * np.abs(self.sweep), np.hypot(self.x1 - self.x0, self.y1 - self.y0))

    def at(self, i: Ints | slice, t: Floats) -> tuple[Floats, Floats]:
        """Points of the curves ``i`` at the shares ``t`` of their lengths."""
        arc = self.arc[i]
        x = self.x0[i] + t * (self.x1[i] - self.x0[i])
        y = self.y0[i] + t * (self.y1[i] - self.y0[i])
        if arc.any():
            a = self.a0[i] + t * self.sweep[i]
            x = np.where(arc, self.cx[i] + self.r[i] * np.cos(a), x)
            y = np.where(arc, self.cy[i] + self.r[i] * np.sin(a), y)
        return x, y

    def boxes(self) -> Floats:
        """Upright boxes, shape ``(n, 4)``: x_min, y_min, x_max, y_max; exact for arcs."""
        b = np.empty((len(self), 4))
        np.minimum(self.x0, self.x1, out=b[:, 0])
        np.minimum(self.y0, self.y1, out=b[:, 1])
        np.maximum(self.x0, self.x1, out=b[:, 2])
        np.maximum(self.y0, self.y1, out=b[:, 3])
        k = np.flatnonzero(self.arc)
        if len(k):
            a = np.where(self.sweep[k] > 0, self.a0[k], self.a0[k] + self.sweep[k])
            w = np.abs(self.sweep[k])
            ends = ((2, 0, 1.0), (3, 1, 1.0), (0, 0, -1.0), (1, 1, -1.0))
            for quarter, (column, axis, sign) in enumerate(ends):
                hit = k[np.mod(quarter * (math.pi / 2) - a, TWO_PI) <= w]
                b[hit, column] = (self.cy if axis else self.cx)[hit] + sign * self.r[hit]
        return b


def from_rows(rows: Sequence[Row], *, halved: bool = False) -> Table:
    """Columns from plain rows. An arc's radius is the mean of the distances of its two ends.

    ``halved`` promises that no arc turns further than half round; a short arc whose ends
    have changed places by rounding is then not mistaken for a full circle.
    """
    m = np.array(rows, dtype=np.float64).reshape(-1, 7)
    x0, y0, x1, y1, cx, cy, turn = np.ascontiguousarray(m.T)
    arc = turn != 0.0
    ux, uy, vx, vy = x0 - cx, y0 - cy, x1 - cx, y1 - cy
    r = 0.5 * (np.hypot(ux, uy) + np.hypot(vx, vy))
    a0 = np.arctan2(uy, ux)
    # from the start direction to the end direction, so that short arcs keep their digits
    sweep = np.arctan2(ux * vy - uy * vx, ux * vx + uy * vy)
    back = turn * sweep < (-0.5 * math.pi if halved else 0.0)
    sweep = np.where(back, sweep + turn * TWO_PI, sweep)
    sweep = np.where(arc, turn * np.maximum(turn * sweep, 1e-300), 0.0)
    return Table(x0, y0, x1, y1, cx, cy, r, a0, sweep, arc)


def row_of(c: Curve, origin: Point = (0.0, 0.0)) -> Row:
    """One curve as a row, moved so that ``origin`` becomes (0, 0)."""
    ox, oy = origin
    (sx, sy), (ex, ey) = c.start, c.end
    if isinstance(c, Line):
        return (sx - ox, sy - oy, ex - ox, ey - oy, 0.0, 0.0, 0.0)
    return (sx - ox, sy - oy, ex - ox, ey - oy, c.center[0] - ox, c.center[1] - oy, 1.0 if c.ccw else -1.0)


def table_of(curves: Iterable[Curve], origin: Point = (0.0, 0.0)) -> Table:
    """Columns of ``curves`` as they are, moved so that ``origin`` becomes (0, 0)."""
    return from_rows([row_of(c, origin) for c in curves])


def recentered(row: Row) -> Row:
    """The arc with its center moved the least way that makes both ends equally far from it."""
    x0, y0, x1, y1, cx, cy, turn = row
    dx, dy = x1 - x0, y1 - y0
    q = dx * dx + dy * dy
    if turn == 0.0 or q == 0.0:
        return row
    k = ((0.5 * (x0 + x1) - cx) * dx + (0.5 * (y0 + y1) - cy) * dy) / q
    return (x0, y0, x1, y1, cx + k * dx, cy + k * dy, turn)


def tidy_chain(rows: Sequence[Row], least: float = 1e-9) -> tuple[list[Row], list[int]]:
    """A closed chain made exact: shared ends, true centers, no arc beyond a half turn, no short curve.

    Returns the rows and, for each, the index of the row it came from.
    """
    kept = [
        (k, r) for k, r in enumerate(rows) if max(abs(r[2] - r[0]), abs(r[3] - r[1])) > least or _turns(r)
    ]
    out: list[Row] = []
    tags: list[int] = []
    for n, (k, r) in enumerate(kept):
        nx, ny = kept[(n + 1) % len(kept)][1][:2]
        whole: Row = (r[0], r[1], nx, ny, r[4], r[5], r[6])
        for part in _halves(whole, r):
            out.append(recentered(part))
            tags.append(k)
    return out, tags


def _turns(r: Row) -> bool:
    """A nearly full circle has ends close together but is not short."""
    if r[6] == 0.0:
        return False
    u, v = (r[0] - r[4], r[1] - r[5]), (r[2] - r[4], r[3] - r[5])
    a = math.atan2(u[0] * v[1] - u[1] * v[0], u[0] * v[0] + u[1] * v[1]) * r[6]
    return a <= 0.0 and math.hypot(*u) > 1e-9


def _halves(r: Row, measured: Row) -> tuple[Row, ...]:
    x0, y0, x1, y1, cx, cy, turn = r
    if turn == 0.0:
        return (r,)
    ux, uy = measured[0] - cx, measured[1] - cy
    vx, vy = measured[2] - cx, measured[3] - cy
    a = math.atan2(ux * vy - uy * vx, ux * vx + uy * vy) * turn
    if a > 0.0:
        return (r,)
    radius = math.hypot(ux, uy)
    middle = math.atan2(uy, ux) + turn * 0.5 * (a + TWO_PI)
    mx, my = cx + radius * math.cos(middle), cy + radius * math.sin(middle)
    return ((x0, y0, mx, my, cx, cy, turn), (mx, my, x1, y1, cx, cy, turn))


def curve_of(start: Point, end: Point, center: Point, turn: float) -> Curve:
    """The line (``turn`` 0) or the arc (its sign tells which way) between two points [mm]."""
    return Line(start, end) if turn == 0.0 else Arc(start, end, center, turn > 0)
