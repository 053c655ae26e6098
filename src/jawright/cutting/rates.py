"""Spindle speed and feed of a cutter in the jaws' metal, chip thinning and machine limits included."""

from __future__ import annotations

import math
from dataclasses import dataclass

from jawright import handbook
from jawright.errors import JawrightError
from jawright.shop.model import Cutter, Machine

THINNING_CAP = 2.0
"""Feed per tooth is never raised above this multiple for thin chips (common practice, no source)."""

SLENDER = 4.0
"""Stick-out over diameter above which the feed comes down in proportion (common practice, no source)."""


SHALLOW = 0.1
"""A cut no deeper than this share of the diameter bends no slender cutter: the force on it grows with depth
(common practice, no source)."""


@dataclass(frozen=True, slots=True)
class Rate:
    """What a cutter is run at."""

    spindle: float  # [rev/min]
    feed: float  # [mm/min]


def thinning(radial: float, diameter: float) -> float:
    """Factor on the feed per tooth that keeps the largest chip thickness at a small radial engagement.

    h_max = 2 f_z sqrt(e (1 - e)), e = radial / diameter, for e < 1/2: peripheral milling with
    chips much thinner than the cutter (the circle approximation of M. E. Martellotti, "An analysis of the
    milling process", Trans. ASME 63 (1941); from memory). Never above ``THINNING_CAP``.

    Parameters
    ----------
    radial : radial engagement [mm], above 0
    diameter : of the cutter [mm]

    >>> round(thinning(1.0, 10.0), 4)
    1.6667
    """
    e = radial / diameter
    if e >= 0.5:
        return 1.0
    return min(THINNING_CAP, 1.0 / (2.0 * math.sqrt(e * (1.0 - e))))


def rate(
    cutter: Cutter,
    material: str,
    machine: Machine,
    *,
    radial: float | None,
    light: bool = False,
    axial: float = math.inf,
) -> Rate:
    """Spindle speed and feed for a cutter at a radial engagement [mm] (None: full width, or a drill).

    ``light`` takes the low end of the feed per tooth, for finish passes, and lets thin chips raise it to the
    set figure at most. ``axial`` is the depth of the cut [mm] where it is known to be small. Raises
    ``value-bad`` when the handbook has no row for the pair: a speed is not guessed.
    """
    work = handbook.material(material, where="jaw blank")
    row = handbook.cutting(work, cutter.material, kind=cutter.kind)
    if row is None:
        raise JawrightError(
            "value-bad",
            what=f"no cutting speed is known for a {cutter.material} {cutter.kind} in {material}",
            where=f"cutter {cutter.id}",
            todo="use another blank or another cutter",
        )
    diameter = cutter.diameter
    spindle = math.floor(row.spindle(diameter, most=machine.spindle_max) / 10.0) * 10.0
    tooth = row.feed(diameter)
    per_tooth = tooth.low if light else tooth.set
    if radial is not None:
        per_tooth *= thinning(radial, diameter)
    if light:
        per_tooth = min(per_tooth, tooth.set)
    slender = cutter.reach / diameter
    if cutter.kind == "end mill" and slender > SLENDER and axial > SHALLOW * diameter:
        per_tooth *= max(0.5, SLENDER / slender)
    feed = min(per_tooth * cutter.flutes * spindle, machine.feed_max)
    return Rate(spindle, max(10.0, math.floor(feed / 10.0) * 10.0))
