"""The turning body of a cutter: how wide it is at each height above its tip. mm."""

from __future__ import annotations

import math
from dataclasses import dataclass

from jawright.shop.model import Cutter

_SLICES = 12
_TOUCH = 1e-9  # mm


@dataclass(frozen=True, slots=True)
class Body:
    """Radius over height above the tip: a point or nose, then ``radius`` up to ``reach``, then the holder."""

    radius: float
    corner: float  # corner or nose radius
    half_angle: float  # of the point [rad]; pi/2 flat
    flute: float
    reach: float
    holder: float  # radius

    @property
    def full(self) -> float:
        """Height [mm] above the tip from which the cutter has its whole radius."""
        if self.half_angle >= math.pi / 2:
            return self.corner
        nose_r, nose_h = self._nose()
        return nose_h + (self.radius - nose_r) / math.tan(self.half_angle)

    def _nose(self) -> tuple[float, float]:
        """Radius and height where a round nose runs out into the cone."""
        a = self.half_angle
        return self.corner * math.cos(a), self.corner * (1 - math.sin(a))

    def at(self, h: float) -> float:
        """Cutting radius [mm] at height ``h`` [mm] above the tip: 0 below it, the flat's own radius at it."""
        if h < -_TOUCH:
            return 0.0
        h = max(h, 0.0)
        if self.half_angle >= math.pi / 2:
            if h >= self.corner:
                return self.radius
            return self.radius - self.corner + math.sqrt(h * (2 * self.corner - h))
        nose_r, nose_h = self._nose()
        if h < nose_h:
            return min(self.radius, math.sqrt(h * (2 * self.corner - h)))
        return min(self.radius, nose_r + (h - nose_h) * math.tan(self.half_angle))

    def knees(self) -> list[float]:
        """Heights [mm] between which the radius is linear, or round and finely divided."""
        round_to = self.corner if self.half_angle >= math.pi / 2 else self._nose()[1]
        fine = [round_to * (k / _SLICES) ** 2 for k in range(1, _SLICES + 1)] if round_to > 0.0 else []
        return [*fine, self.full]

    def steps(self) -> list[tuple[float, float]]:
        """``(height, radius)``: from each height up to the next the body is no wider than the radius."""
        out: list[tuple[float, float]] = []
        full = self.full
        if full > 0.0:
            out += [(full * k / _SLICES, self.at(full * (k + 1) / _SLICES)) for k in range(_SLICES)]
        out.append((full, self.radius))
        out.append((self.reach, self.holder))
        return out


def body(cutter: Cutter) -> Body:
    """Body of a shop's cutter. A point angle of 0 means flat."""
    pointed = cutter.kind in ("drill", "spot drill", "engraver") and cutter.tip_angle > 0.0
    return Body(
        cutter.diameter / 2,
        cutter.corner_radius,
        cutter.tip_angle / 2 if pointed else math.pi / 2,
        cutter.flute_length,
        cutter.reach,
        max(cutter.holder_diameter / 2, cutter.diameter / 2),
    )
