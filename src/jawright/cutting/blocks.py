"""A block of moves per cutter, and what every operation needs to know.

Lengths in mm, feeds in mm/min, speeds in rev/min.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass, field, replace

import shapely

from jawright import handbook
from jawright.cutting.clearing import RAMP, Clearing
from jawright.cutting.metal import Metal, Standing
from jawright.cutting.paths import Heights, Step, Trail
from jawright.cutting.rates import Rate, rate
from jawright.jaws.model import Jaws
from jawright.shop.model import Cutter, Shop

STEP_OVER = 0.35
"""Radial engagement of roughing passes as a share of the diameter (common practice, no source)."""

EASY = ("aluminum", "brass", "plastic")
"""Families cut a full diameter deep per level; others half (common practice, no source)."""


EASY_RAMP = math.radians(5)
"""Steepest ramp in the easy families (common practice: 3 to 5 degrees, no source)."""

PITCH, EASY_PITCH = 0.04, 0.1
"""Drop of a helix per turn as a share of the diameter: in a hole little wider than a center-cutting cutter it
is the chip under the end that counts, not the slope of the center's path (common practice, no source)."""


@dataclass(slots=True)
class Block:
    """All that one cutter does between two cutter changes."""

    cutter: Cutter
    spindle: float
    feed: float
    reason: str
    steps: tuple[Step, ...] = ()
    purposes: list[str] = field(default_factory=list)
    marks: list[tuple[int, str]] = field(default_factory=list)  # step index, remark before it
    step_over: float = 0.0
    step_down: float = 0.0
    wear_not: int = 0  # walls with no room to turn radius compensation on and off

    def copy(self) -> Block:
        """One that can be added to without changing this one."""
        return replace(self, purposes=list(self.purposes), marks=list(self.marks))

    def append(self, other: Block) -> None:
        """Add what another block of the same cutter does."""
        self.marks += [(len(self.steps) + k, mark) for k, mark in other.marks]
        self.steps = (*self.steps, *other.steps)
        self.purposes += other.purposes
        self.step_over = max(self.step_over, other.step_over)
        self.step_down = max(self.step_down, other.step_down)


@dataclass(frozen=True, slots=True)
class Means:
    """The shop, the metal to cut, and the heights of safe moves."""

    shop: Shop
    heights: Heights
    link: float  # feed of moves through air below the clear height [mm/min]
    materials: tuple[str, ...]

    def rate(
        self, cutter: Cutter, *, radial: float | None, light: bool = False, axial: float = math.inf
    ) -> Rate:
        """Speed and feed in the hardest of the materials."""
        machine = self.shop.machine
        found = [rate(cutter, m, machine, radial=radial, light=light, axial=axial) for m in self.materials]
        return Rate(min(r.spindle for r in found), min(r.feed for r in found))

    def block(self, cutter: Cutter, reason: str) -> Block:
        """An empty block at the cutter's speed and feed: end mills at the roughing step-over."""
        r = self.rate(cutter, radial=STEP_OVER * cutter.diameter if cutter.kind == "end mill" else None)
        return Block(cutter, r.spindle, r.feed, reason)

    @property
    def easy(self) -> bool:
        """Whether every jaw is of a metal that cuts easily."""
        return all(handbook.material(m, where="jaw blank").family in EASY for m in self.materials)

    def clearing(self, cutter: Cutter) -> Clearing:
        """Roughing with bounded engagement."""
        over = STEP_OVER * cutter.diameter
        layer = (0.25 if self.easy else 0.15) * cutter.diameter
        feed = self.rate(cutter, radial=over).feed
        pitch = (EASY_PITCH if self.easy else PITCH) * cutter.diameter if cutter.center_cutting else 0.0
        ramp = EASY_RAMP if self.easy else RAMP
        return Clearing(0.5 * cutter.diameter, over, layer, feed, ramp=ramp, pitch=pitch)

    def step_down(self, cutter: Cutter) -> float:
        """Depth of one pass [mm]: a whole diameter in easy metal, half of one in other (common practice,
        no source).
        """
        return min(cutter.flute_length, (1.0 if self.easy else 0.5) * cutter.diameter)


@dataclass(frozen=True, slots=True)
class Setup(Means):
    """What every operation on a pair needs to know."""

    jaws: Jaws
    uncut: Standing  # both blanks in plan

    def blanks(self) -> Metal:
        """Both blanks, uncut."""
        return Metal(self.uncut)


def setup_of(jaws: Jaws, shop: Shop, heights: Heights, link: float) -> Setup:
    """The setup of a pair: its speeds are those of the harder of the two blanks."""
    kinds = tuple(sorted({jaws.fixed.blank.material, jaws.floating.blank.material}))
    uncut = shapely.union_all([shapely.box(j.x0, j.y0, j.x1, j.y1) for j in (jaws.fixed, jaws.floating)])
    return Setup(shop, heights, link, kinds, jaws, Standing(uncut))


def add(setup: Means, block: Block, fill: Callable[[Trail], None], mark: str = "") -> None:
    """Run ``fill`` on a fresh trail and append its moves to the block, under the remark ``mark``."""
    trail = Trail(setup.heights, setup.link)
    fill(trail)
    trail.up()
    if trail.steps:
        if mark:
            block.marks.append((len(block.steps), mark))
        block.steps = (*block.steps, *trail.steps)
