"""How what is upright in the machine leans against each part's datum frame.

The frame takes its two tilts from the print's datums in their order: what lies down or up, and an upright
axis, takes all that is left; a plane that stands takes the tilt square to it, and follows that wall as it
leans. The part itself leans as the floating jaw rises; what is cut in this clamping leans with all else that
is cut in it.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from jawright.hold.model import DatumUse
from jawright.proof.population import Scene

Floats = NDArray[np.float64]

SAME = 0.9
"""Cosine over which two walls take the same tilt."""


@dataclass(frozen=True)
class Tilt:
    """Leans (m, 2) of m parts: ``part`` is counted from the floor, ``wall`` from the middle of the grip."""

    part: Floats
    wall: Floats
    middle: float  # of the grip over the floor [mm]

    def at(self, height: float) -> Floats:
        """How far (m, 2) [mm] what is upright in the machine is off by leaning, by height over the floor."""
        return np.asarray(self.part * height + self.wall * (height - self.middle))


class Tilts:
    """Collects what takes the tilts while a frame is built."""

    def __init__(self, scene: Scene, sample: Floats) -> None:
        self.scene, self.sample = scene, sample
        self.lean = np.arctan2(sample[:, scene.column("lift")], scene.lift_span)
        self.rows: list[tuple[Floats, Floats, Floats]] = []  # direction, lean of the part, of the wall

    @property
    def full(self) -> bool:
        """Whether both tilts are taken."""
        return len(self.rows) >= 2

    def lies(self, *, here: bool) -> bool:
        """A datum that lies, or an upright axis: takes what is left. True when that is something."""
        left = 2 - len(self.rows)
        if left == 2:
            ways = [np.array([1.0, 0.0]), np.array([0.0, 1.0])]
        elif left == 1:
            n = self.rows[0][0]
            ways = [np.array([-n[1], n[0]])]
        else:
            ways = []
        none = np.zeros(len(self.sample))
        self.rows += [(n, none if here else n[1] * self.lean, none) for n in ways]
        return left > 0

    def stands(self, datum: DatumUse, members: Sequence[DatumUse], *, here: bool) -> bool:
        """A plane that stands takes the tilt square to it unless that is taken. True when it does."""
        n = np.array(datum.normal[:2]) / math.hypot(*datum.normal[:2])
        if self.full or any(abs(n @ q) > SAME for q, _, _ in self.rows):
            return False
        none = np.zeros(len(self.sample))
        slopes = [] if here else [slope(self.scene, self.sample, d) for d in members]
        wall = none if here else slopes[0] if len(slopes) == 1 else np.mean(slopes, axis=0)
        self.rows.append((n, none if here else n[1] * self.lean, np.asarray(wall)))
        return True

    def found(self) -> Tilt:
        """The leans; none along what no datum takes."""
        m = len(self.sample)
        tall = self.scene.tall
        middle = -self.scene.rise[0] * tall
        if not self.rows:
            return Tilt(np.zeros((m, 2)), np.zeros((m, 2)), middle)
        ways = np.array([n for n, _, _ in self.rows])
        back = _back(ways.tobytes())  # one row: only along it
        part, wall = (np.array([r[k] for r in self.rows]).T @ back.T for k in (1, 2))
        return Tilt(np.asarray(part), np.asarray(wall), middle)


@lru_cache(maxsize=256)
def _back(ways: bytes) -> Floats:
    """Pseudo-inverse of directions (k, 2); most frames have the same."""
    return np.asarray(np.linalg.pinv(np.frombuffer(ways).reshape(-1, 2)), dtype=float)


def slope(scene: Scene, sample: Floats, datum: DatumUse) -> Floats:
    """How much (m,) a wall of the first side, or a middle plane, leans out upward [mm per mm of height]."""
    known = [sample[:, scene.column(f"lean {f}")] for f in datum.faces if scene.has(f"lean {f}")]
    if not known:
        return np.zeros(len(sample))
    if datum.kind == "width":
        return (
            np.asarray((known[0] - known[1]) / 2 / scene.tall)
            if len(known) == 2
            else known[0] / 2 / scene.tall
        )
    return np.asarray(known[0] / scene.tall)
