"""From program axes to the vise frame, and from moves to runs of tip path. mm."""

from __future__ import annotations

import math
from dataclasses import dataclass
from itertools import pairwise

from jawright.geometry.frame import Vec3
from jawright.verify.state import PLANES, Move, Point3
from jawright.verify.sweep import Run

HIGH = 1000.0
"""Height [mm] above the highest metal that stands for the machine's top."""
_CHORD = 0.002  # mm; arcs square to the plan become chords this close


@dataclass(frozen=True, slots=True)
class Frame:
    """The program's zero in the vise frame; ``turned``: half a turn about Z."""

    origin: Vec3
    turned: bool
    top: float  # Z of the highest metal, vise frame

    def flat(self, x: float, y: float) -> tuple[float, float]:
        """A point of the program in the vise frame, in plan [mm]."""
        s = -1.0 if self.turned else 1.0
        return (self.origin[0] + s * x, self.origin[1] + s * y)

    def of(self, at: Vec3) -> Vec3:
        """A point of the vise frame in program axes [mm], as the control shows it."""
        s = -1.0 if self.turned else 1.0
        return (s * (at[0] - self.origin[0]), s * (at[1] - self.origin[1]), at[2] - self.origin[2])

    def words(self, at: Vec3) -> str:
        """A point of the vise frame as a finding names it: in program axes, each with its unit."""
        x, y, z = (v + 0.0 if abs(v) >= 0.0005 else 0.0 for v in self.of(at))
        return f"X {x:.3f} mm, Y {y:.3f} mm, Z {z:.3f} mm of the program"

    def height(self, z: float | None) -> float:
        """A height of the program in the vise frame [mm]; None is above everything."""
        return self.top + HIGH if z is None else self.origin[2] + z


@dataclass(frozen=True, slots=True)
class Path:
    """One move in the vise frame. ``known`` False: where it runs in the plan is not known."""

    move: Move
    runs: tuple[Run, ...]
    known: bool
    low: float  # least tip height
    high: float


def place(move: Move, frame: Frame) -> Path:
    """The move as runs of tip path in the vise frame."""
    z0, z1 = frame.height(move.start[2]), frame.height(move.end[2])
    if None in move.start[:2] or None in move.end[:2]:
        return Path(move, (), False, min(z0, z1), max(z0, z1))
    if move.arc is None:
        runs: tuple[Run, ...] = (Run(_xy(move.start, frame), _xy(move.end, frame), z0, z1),)
    elif move.arc.plane == "G17":
        angle = move.arc.start_angle + (math.pi if frame.turned else 0.0)
        center = frame.flat(*move.arc.center)
        runs = (Run(_xy(move.start, frame), _xy(move.end, frame), z0, z1, center, angle, move.arc.sweep),)
    else:
        runs = _upright(move, frame)
    low = min(r.low for r in runs)
    return Path(move, runs, True, low, max(max(r.z0, r.z1) for r in runs))


def _xy(p: Point3, frame: Frame) -> tuple[float, float]:
    return frame.flat(p[0] or 0.0, p[1] or 0.0)


def _upright(move: Move, frame: Frame) -> tuple[Run, ...]:
    """An arc square to the plan, as chords."""
    arc = move.arc
    assert arc is not None
    a, b, c = PLANES[arc.plane]
    step = 2 * math.acos(max(0.0, 1 - _CHORD / max(arc.radius, 2 * _CHORD)))
    n = max(2, math.ceil(abs(arc.sweep) / step))
    start, end = move.start, move.end
    points: list[Point3] = [start]
    for k in range(1, n):
        t = k / n
        p: list[float | None] = [None, None, None]
        angle = arc.start_angle + t * arc.sweep
        p[a] = arc.center[0] + arc.radius * math.cos(angle)
        p[b] = arc.center[1] + arc.radius * math.sin(angle)
        s, e = start[c], end[c]
        p[c] = None if s is None or e is None else s + t * (e - s)
        points.append((p[0], p[1], p[2]))
    points.append(end)
    return tuple(
        Run(_xy(p, frame), _xy(q, frame), frame.height(p[2]), frame.height(q[2])) for p, q in pairwise(points)
    )
