"""What one part gets of the clamp force: all of it, its share beside others, or that of vises in line."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from functools import lru_cache

import numpy as np

from jawright.hold.model import Hold
from jawright.jaws.model import Jaws
from jawright.job.model import Job
from jawright.mechanics.several import Floats, block_stiffness, closed, shares
from jawright.proof.body import carrying, jaw_material, part_material
from jawright.proof.clamp import ClampForce
from jawright.shop.model import Shop
from jawright.statistics.draw import normal_cut, stream

LOADS = 4000
"""Loads of the vise that are drawn: the ends of the shares are then known to about a hundredth."""

WORST = 0.00135
"""The ends of the shares leave out this share of the parts at either side (three sigma)."""

STEPS = 50
NEAR = 1.005
"""A clamp force is found within this ratio."""

LOOSE = 0.02
"""A part is reckoned with at least this share of its even one: with less it is loose, and is said to be."""

ONE_PASS = 1.0 / 3.0
"""Walls of several pockets cut in one pass of one cutter differ by this share of the machine's repeat
(common practice, no source)."""


@dataclass(frozen=True, slots=True)
class Row:
    """The parts in one pair of jaws: where they stand along X [mm], how their sizes vary [mm], how stiff
    one is [N/mm] (None: not known), the jaw's yaw play [rad] and the vises in line."""

    x: tuple[float, ...]
    profile: float
    form: float
    cut: float
    stiffness: float | None
    yaw: float
    vises: int

    @property
    def parts(self) -> int:
        """How many parts there are."""
        return len(self.x)

    def share(self, force: float) -> tuple[float, float]:
        """Least and most share of the whole clamp force [N] one part gets, worst of a population."""
        if self.parts == 1:
            return (1.0, 1.0)
        if self.stiffness is None:
            return (0.0, 1.0)
        return _share(self, float(f"{self.stiffness / force:.4g}"))

    def seats(self, force: float) -> tuple[float, float, float] | None:
        """Share of loads in which the jaw, at a clamp force [N], reaches every part; the air [mm] at the one
        it leaves and its turn [rad], both all but the worst 0.27 % of loads. None when not known."""
        if self.parts == 1 or self.stiffness is None:
            return None
        over = _sizes(self.parts, self.profile, self.form, self.cut)
        at = np.array(self.x) - math.fsum(self.x) / self.parts
        _, turn, air = closed(over, at, stiffness=self.stiffness, force=force, yaw=self.yaw)
        worst = air.max(axis=1)
        ends = [float(np.quantile(np.abs(v), 1.0 - 2 * WORST)) for v in (worst, turn)]
        return float((worst <= 0.0).mean()), ends[0], ends[1]

    def on_part(self, force: ClampForce | None) -> ClampForce | None:
        """The clamp force [N] of one handle as the worst placed part gets it, low / set / high."""
        if force is None or (self.parts == 1 and self.vises == 1):
            return force
        n, basis = self.vises, force.basis
        low, mid, high = n * force.low, n * force.set, n * force.high
        if n > 1:
            basis += f"; {n} vises in line, each at this torque"
        if self.parts > 1:
            basis += f"; shared by {self.parts} parts"
        return ClampForce(self.share(low)[0] * low, mid / self.parts, self.share(high)[1] * high, basis)

    def total_for_at_least(self, need: float) -> float:
        """Clamp force [N] of one handle that gives every part at least ``need``; inf when it cannot."""
        if self.parts == 1 or not math.isfinite(need) or need <= 0:
            return need / self.vises
        low, high = need, need * self.parts * 1e3
        if high * self.share(high)[0] < need:
            return math.inf
        for _ in range(STEPS):
            middle = math.sqrt(low * high)
            low, high = (low, middle) if middle * self.share(middle)[0] >= need else (middle, high)
            if high / low < NEAR:
                break
        return high / self.vises

    def total_for_at_most(self, cap: float) -> float:
        """Clamp force [N] of one handle that gives no part more than ``cap``."""
        if self.parts == 1 or not math.isfinite(cap) or cap <= 0:
            return cap / self.vises
        low, high = cap, cap * self.parts
        for _ in range(STEPS):
            middle = math.sqrt(low * high)
            low, high = (low, middle) if middle * self.share(middle)[1] > cap else (middle, high)
            if high / low < NEAR:
                break
        return low / self.vises

    def match(self, force: float, least: float) -> float:
        """Largest deviation from the mean size across the jaws, ± [mm], at which the smallest part still
        gets ``least`` of the whole ``force`` [N]; 0 when equal parts do not, by the pockets' differences."""
        whole = self.profile + 2 * self.form

        def enough(some: float) -> bool:
            return replace(self, profile=some * self.profile, form=some * self.form).share(force)[0] >= least

        if enough(1.0):
            return whole
        low, high = 0.0, 1.0
        if not enough(low):
            return 0.0
        for _ in range(12):
            middle = 0.5 * (low + high)
            low, high = (middle, high) if enough(middle) else (low, middle)
        return low * whole


def row_of(hold: Hold, jaws: Jaws | None, job: Job, shop: Shop) -> Row:
    """The row a hold describes; one part where nothing stands beside it."""
    boxes = (hold.outline.outer.box, *(r.outer.box for r in hold.beside))
    i = job.incoming
    return Row(
        tuple(0.5 * (b[0] + b[2]) for b in boxes),
        i.profile.value,
        i.wall_form.value,
        ONE_PASS * shop.machine.repeat,
        _stiffness(hold, jaws, job.material) if hold.beside else None,
        hold.vise.yaw.low,
        hold.vise.in_line,
    )


@lru_cache(maxsize=512)
def _share(row: Row, softness: float) -> tuple[float, float]:
    over = _sizes(row.parts, row.profile, row.form, row.cut)
    at = np.array(row.x) - math.fsum(row.x) / row.parts
    got = shares(over, at, stiffness=softness, force=1.0, yaw=row.yaw)
    low, high = np.quantile(got, [WORST, 1.0 - WORST])
    return max(float(low), LOOSE / row.parts), float(high)


@lru_cache(maxsize=8)
def _sizes(n: int, profile: float, form: float, cut: float) -> Floats:
    """Deviation of each part's length in the closing direction [mm], (loads, n): its perimeter grows on
    both sides, each wall deviates by itself, and each wall of its pocket by the machine's repeat."""
    out = np.zeros((LOADS, n))
    for k in range(n):
        rng = stream(f"row/{k}")
        out[:, k] = 2.0 * normal_cut(rng, LOADS, half=profile / 2, sigma=profile / 6)
        for _ in range(2):
            out[:, k] += normal_cut(rng, LOADS, half=form, sigma=form / 3)
            out[:, k] += cut * rng.standard_normal(LOADS)
    return out


def _stiffness(hold: Hold, jaws: Jaws | None, material: str) -> float | None:
    """Push per squeeze of one part between the jaws [N/mm]; None when its material is not known."""
    work = part_material(material)
    walls = [
        math.fsum(c.share * abs(c.normal[1]) for c in carrying(hold) if c.on == on)
        for on in ("fixed", "floating")
    ]
    if work is None or min(walls) <= 0:
        return None
    box = hold.outline.outer.box
    jaw = jaw_material(jaws)
    area = min(walls) * hold.grip_depth
    return block_stiffness(E=work.E, length=box[3] - box[1], area=area, jaw_E=jaw.E, jaw_nu=jaw.nu)
