"""Everything that varies from part to part and from setup to setup: one column each, with its basis.

Lengths in mm, angles in rad, forces in N, torques in N·m.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import cached_property
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from jawright.job.model import Given
from jawright.shop.model import Band3
from jawright.statistics.draw import cut_sigma, normal, normal_cut, resample, stream, uniform

Floats = NDArray[np.float64]
Level = Literal["low", "set", "high"]
Kind = Literal["normal", "cut", "uniform", "rise", "measured"]


@dataclass(frozen=True)
class Source:
    """One column: how it varies, and where that number comes from.

    ``kind`` "normal" (σ), "cut" (normal cut at ± half), "uniform" (± half), "rise" (uniform from
    0 to half) or "measured" (``values`` drawn again, their spread about their mean times ``size``).
    ``once`` marks what stays the same through a run: a first article can correct it.
    """

    key: str
    label: str
    kind: Kind
    size: float  # σ for normal, a factor for measured, half width otherwise [mm, K, N]
    basis: str
    once: bool = False
    values: tuple[float, ...] = ()
    middle: float = 0.0  # about which all but measured values vary

    @cached_property
    def mean(self) -> float:
        """Its mean, in the source's own unit."""
        if self.kind == "measured":
            return math.fsum(self.values) / len(self.values)
        return self.middle + (self.size / 2 if self.kind == "rise" else 0.0)

    @cached_property
    def sigma(self) -> float:
        """Its standard deviation, in the source's own unit."""
        if self.kind == "normal":
            return self.size
        if self.kind == "cut":
            return cut_sigma(self.size, self.size / 3)
        if self.kind == "measured":
            return self.size * float(np.std(self.values))
        return self.size / math.sqrt(3) * (0.5 if self.kind == "rise" else 1.0)

    def draw(self, count: int, salt: str) -> Floats:
        """``count`` values; the same ``salt`` gives the same."""
        rng = stream(f"{salt}/{self.key}")
        if self.kind == "normal":
            return self.middle + normal(rng, count, self.size)
        if self.kind == "cut":
            return self.middle + normal_cut(rng, count, half=self.size, sigma=self.size / 3)
        if self.kind == "measured":
            return resample(rng, count, values=self.values, spread=self.size)
        if self.kind == "rise":
            return self.middle + uniform(rng, count, half=self.size / 2) + self.size / 2
        return self.middle + uniform(rng, count, half=self.size)


def pick(band: Band3, level: Level) -> float:
    """The figure of a band at one level."""
    return float({"low": band.low, "set": band.set, "high": band.high}[level])


def deviating(key: str, label: str, band: Band3, level: Level, *, once: bool = False) -> Source:
    """A source known by its standard deviation: normal, or as stated, or as measured.

    Measured values keep their shape; their spread is that of the level, from its interval's low to high end.
    """
    size = pick(band, level)
    if band.values:
        factor = size / float(np.std(band.values)) if band.set > 0 else 0.0
        return Source(key, label, "measured", factor, band.basis, once, band.values)
    if band.shape == "uniform":
        return Source(key, label, "uniform", size * math.sqrt(3), band.basis, once)
    return Source(key, label, "normal", size, band.basis, once)


def limited(key: str, label: str, band: Band3, level: Level) -> Source:
    """A source known by its limits either way: even between them, or as stated, or as measured."""
    if band.values:
        return Source(key, label, "measured", 1.0, band.basis, values=band.values)
    kind: Kind = "cut" if band.shape == "normal" else "uniform"
    return Source(key, label, kind, pick(band, level), band.basis)


def incoming(key: str, label: str, given: Given, level: Level, *, share: float = 1.0) -> Source:
    """A source of the part as it comes in, ± ``share`` of the value.

    Normal cut at its limits, even between them at the high level; as stated or measured where that is given.
    """
    if given.values:
        return Source(key, label, "measured", 1.0, given.basis, values=given.values)
    kind: Kind = "uniform" if level == "high" else "cut"
    if given.shape:
        kind = "cut" if given.shape == "normal" else "uniform"
    return Source(key, label, kind, given.value * share, given.basis)


class Columns:
    """Collects columns while a scene is put together; a key that comes again is the same column."""

    def __init__(self) -> None:
        self.sources: list[Source] = []
        self.index: dict[str, int] = {}

    def add(self, source: Source) -> int:
        """Number of the source's column."""
        known = self.index.get(source.key)
        if known is None:
            known = self.index[source.key] = len(self.sources)
            self.sources.append(source)
        return known
