"""Modal state of a control, and the moves a program comes to. Program axes, mm.

Source: NISTIR 6556, sections 3.4 (modal groups) and 3.6.1 (what a program end resets).
"""

from __future__ import annotations

import math
from dataclasses import dataclass, field
from typing import Literal

Point3 = tuple[float | None, float | None, float | None]
"""A place of the tip [mm]. None in X or Y: not known. None in Z: not known, taken as the machine's top."""

AXES = "XYZ"
PLANES: dict[str, tuple[int, int, int]] = {"G17": (0, 1, 2), "G18": (2, 0, 1), "G19": (1, 2, 0)}
"""First and second axis, and the axis square to both; G2 is clockwise seen from the third's positive end."""


@dataclass(frozen=True, slots=True)
class ArcPath:
    """The circle a move follows: ``center`` along the plane's first two axes, signed ``sweep`` [rad]."""

    plane: str
    center: tuple[float, float]
    radius: float
    start_angle: float
    sweep: float  # positive counter-clockwise


@dataclass(frozen=True, slots=True)
class Move:
    """One motion of the tip. ``arc`` None: straight; with travel along the third axis an arc is a helix."""

    line: int
    kind: Literal["rapid", "feed"]
    start: Point3
    end: Point3
    arc: ArcPath | None
    feed: float  # [mm/min], 0 for rapids
    spindle: float  # [rev/min], positive clockwise seen from above, 0 stopped
    tool: int | None
    in_cycle: bool = False

    @property
    def length(self) -> float:
        """Path length [mm] over the axes whose two ends are known."""
        pairs = [(a, b) for a, b in zip(self.start, self.end, strict=True) if a is not None and b is not None]
        if self.arc is None:
            return math.sqrt(math.fsum((b - a) ** 2 for a, b in pairs))
        third = PLANES[self.arc.plane][2]
        a, b = self.start[third], self.end[third]
        rise = 0.0 if a is None or b is None else b - a
        return math.hypot(self.arc.radius * self.arc.sweep, rise)


@dataclass(slots=True)
class State:
    """Every modal group's member in force, and the numbers that stay."""

    motion: str | None = None
    plane: str = "G17"
    distance: str = "G90"
    feed_mode: str = "G94"
    units: str = "G21"
    compensation: str = "G40"
    length: str = "G49"
    return_mode: str = "G98"
    system: str = "G54"
    path_mode: str = "G64"
    stated: set[str] = field(default_factory=set)  # modal groups named so far
    feed: float | None = None  # [mm/min], or 1/min under G93
    speed: float | None = None  # [rev/min]
    turning: int = 0  # 1 clockwise, -1 counter-clockwise, 0 stopped
    selected: int | None = None
    tool: int | None = None
    length_index: int | None = None
    radius: float = 0.0  # of compensation, negative: the other side [mm]
    coolant: frozenset[str] = frozenset()
    position: Point3 = (None, None, None)  # tip, in the frame of the systems' common zero [mm]
    programmed: tuple[float, float] | None = None  # contour point under compensation
    axis_offset: tuple[float, float, float] = (0.0, 0.0, 0.0)  # G92 [mm]
    axis_offset_kept: tuple[float, float, float] = (0.0, 0.0, 0.0)

    @property
    def scale(self) -> float:
        """mm per unit of length in use."""
        return 25.4 if self.units == "G20" else 1.0

    @property
    def spindle(self) -> float:
        """Speed with its sign, + clockwise [rev/min]; 0 when it stands still."""
        return self.turning * (self.speed or 0.0)

    def end_program(self) -> None:
        """What M2 and M30 reset (3.6.1)."""
        self.axis_offset = (0.0, 0.0, 0.0)
        self.system, self.plane, self.distance, self.feed_mode = "G54", "G17", "G90", "G94"
        self.compensation, self.turning, self.motion, self.coolant = "G40", 0, "G1", frozenset()
