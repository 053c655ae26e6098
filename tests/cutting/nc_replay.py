"""A tiny reader of the program text for the tests of the writer: positions, arcs, cutter. Nothing more."""

from __future__ import annotations

import math
import re
from dataclasses import dataclass

import numpy as np

WORD = re.compile(r"([A-Z])([-+]?[0-9]*\.?[0-9]*)")


@dataclass(frozen=True)
class Move:
    code: int  # 0 1 2 3
    a: tuple[float, float, float]  # [mm], program axes
    b: tuple[float, float, float]
    center: tuple[float, float]
    miss: float  # difference of an arc's radii [mm]
    feed: float  # [mm/min]
    tool: int
    remark: str
    line: str

    def points(self, step: float) -> np.ndarray:
        """Positions (n, 3) along the move."""
        if self.code < 2:
            n = max(1, math.ceil(math.dist(self.a, self.b) / step))
            t = np.linspace(0, 1, n + 1)[:, None]
            return np.array(self.a) * (1 - t) + np.array(self.b) * t
        cx, cy = self.center
        r = math.dist(self.a[:2], self.center)
        a0 = math.atan2(self.a[1] - cy, self.a[0] - cx)
        sweep = self.sweep
        n = max(2, math.ceil(r * abs(sweep) / step), math.ceil(abs(sweep) / 0.012))
        t = np.linspace(0, 1, n + 1)
        x = cx + r * np.cos(a0 + sweep * t)
        y = cy + r * np.sin(a0 + sweep * t)
        return np.column_stack([x, y, self.a[2] + (self.b[2] - self.a[2]) * t])

    @property
    def sweep(self) -> float:
        cx, cy = self.center
        a0 = math.atan2(self.a[1] - cy, self.a[0] - cx)
        a1 = math.atan2(self.b[1] - cy, self.b[0] - cx)
        s = (a1 - a0) % (2 * math.pi) if self.code == 3 else -((a0 - a1) % (2 * math.pi))
        return s if s else (2 * math.pi if self.code == 3 else -2 * math.pi)

    @property
    def length(self) -> float:
        if self.code < 2:
            return math.dist(self.a, self.b)
        r = math.dist(self.a[:2], self.center)
        return math.hypot(r * abs(self.sweep), self.b[2] - self.a[2])


def replay(text: str) -> list[Move]:
    """Every move of the program, from the first known position of each cutter on."""
    unit, tool, feed, remark = 1.0, 0, 0.0, ""
    at: list[float | None] = [None, None, None]
    moves: list[Move] = []
    spindle = False
    for line in text.splitlines():
        if line.startswith("("):
            remark = line.strip("()")
            continue
        words = WORD.findall(line)
        got: dict[str, float] = {}
        codes: list[float] = []
        for letter, value in words:
            if letter == "G":
                codes.append(float(value))
            elif letter == "M":
                m = int(value)
                if m == 3:
                    spindle = True
                elif m in (5, 30):
                    spindle = False
                elif m == 6:
                    at = [None, None, None]
            elif letter != "N":
                got[letter] = float(value)
        if 53 in codes:  # machine zero: where that is, the program does not know
            at = [None, None, None]
            continue
        if 20 in codes:
            unit = 25.4
        if "T" in got:
            tool = int(got["T"])
        if "F" in got:
            feed = got["F"] * unit
        motion = [int(c) for c in codes if c in (0, 1, 2, 3)] or ([0] if 43 in codes else [])
        if not motion:
            continue
        end = [got[k] * unit if k in got else at[i] for i, k in enumerate("XYZ")]
        if None not in at:
            a = (at[0], at[1], at[2])
            b = (end[0], end[1], end[2])
            center, miss = (0.0, 0.0), 0.0
            if motion[0] >= 2:
                center = (a[0] + got["I"] * unit, a[1] + got["J"] * unit)
                miss = abs(math.dist(a[:2], center) - math.dist(b[:2], center))
            if motion[0]:
                assert spindle, line
            moves.append(Move(motion[0], a, b, center, miss, feed, tool, remark, line))
        at = end
    return moves
