"""Looked-up numbers: materials, friction, cutting data, general tolerances, screws.

The tables are TOML files in ``jawright/data``; each row there states its source and how far
that source was read. Nothing is interpolated and nothing is answered outside a table.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from jawright.errors import JawrightError
from jawright.handbook.described import material
from jawright.handbook.fits import fit, it_grade, step_of
from jawright.handbook.lookup import Range, nearest, plain, refuse, table
from jawright.handbook.materials import Family, Material, materials, softer

__all__ = [
    "Cutting",
    "Family",
    "Material",
    "Range",
    "Screw",
    "cutting",
    "fit",
    "friction",
    "general_angle",
    "general_flatness",
    "general_linear",
    "general_radius",
    "it_grade",
    "material",
    "materials",
    "nearest",
    "screw",
    "softer",
    "table",
]


def friction(pair: str, *, where: str = "") -> Range:
    """Coulomb friction of a pair, always a range; never a constant.

    Raises ``value-bad`` naming the nearest known pair.

    >>> friction("wet smooth jaw").set
    0.12
    """
    rows = table("friction")["friction"]
    for row in rows:
        if plain(pair) in {plain(s) for s in (row["pair"], *row["aliases"])}:
            return Range(row["low"], row["set"], row["high"], f"{row['pair']}: {row['source']}")
    raise refuse(pair, [r["pair"] for r in rows], what="a friction pair", where=where)


@dataclass(frozen=True, slots=True)
class Cutting:
    """Speed and feed of one cutter kind and material in one part material; common practice, no source."""

    speed: Range  # cutting speed [m/min]
    feed_share: Range  # feed per tooth over diameter, before the cap
    feed_cap: float  # largest feed per tooth [mm]

    def feed(self, diameter: float) -> Range:
        """Feed per tooth of a cutter of ``diameter`` [mm], low / set / high [mm]."""
        s, c = self.feed_share, self.feed_cap
        return Range(
            min(s.low * diameter, c), min(s.set * diameter, c), min(s.high * diameter, c), self.speed.basis
        )

    def spindle(self, diameter: float, *, most: float = math.inf) -> float:
        """Spindle speed [rev/min] at the set speed, not above ``most``."""
        return min(self.speed.set * 1000.0 / (math.pi * diameter), most)


def cutting(work: Material, cutter_material: str, *, kind: str = "end mill") -> Cutting | None:
    """Speed and feed per tooth for ``work``; None where there is no row (hardened steel): unknown.

    Parameters
    ----------
    work : what is cut.
    cutter_material : "carbide" or "HSS".
    kind : a cutter kind of the shop model.

    Returns
    -------
    speed [m/min] and feed per tooth as a share of the diameter, each low / set / high
    """
    t = table("cutting_speed")
    row = t["family"].get(work.family, {}).get(cutter_material)
    kinds = t["kind"]
    if kind not in kinds:
        raise refuse(kind, list(kinds), what="a cutter kind", where="")
    if row is None:
        return None
    drills = kind in ("drill", "spot drill", "reamer")
    k = kinds[kind]
    low, set_, high = row["drill_speed" if drills else "mill_speed"]
    speed = Range(low, set_, high, t["basis"])
    low, set_, high = row["drill_feed" if drills else "mill_feed"]
    share = Range(low, set_, high, t["basis"])
    return Cutting(speed.times(k["speed_factor"]), share.times(k["feed_factor"]), k["feed_cap_mm"])


def _general(name: str, grade: str, size: float) -> float:
    t = table("tolerances")["general"][name]
    grades = [k for k in t if len(k) == 1]
    if grade not in grades:
        raise refuse(grade, grades, what="a class of general tolerances", where="")
    row: list[float] = t[grade]
    value = row[step_of(size, t["up_to_mm"], t["from_mm"], what=f"the general {name} table")]
    if value == 0:
        raise JawrightError("value-bad", what=f"class {grade} gives no general tolerance at {size:g} mm")
    return value


def general_linear(grade: str, size: float) -> float:
    """General tolerance of a linear size, ± [mm]; classes f, m, c, v; *source*: ISO 2768-1 table 1.

    >>> general_linear("m", 100.0)
    0.3
    """
    return _general("linear", grade, size)


def general_radius(grade: str, size: float) -> float:
    """General tolerance of an external radius or chamfer, ± [mm]; *source*: ISO 2768-1 table 2."""
    return _general("radius", grade, size)


def general_angle(grade: str, leg: float) -> float:
    """General tolerance of an angle, ± [rad], by its shorter leg [mm]; *source*: ISO 2768-1 table 3."""
    return math.radians(_general("angle", grade, leg) / 60.0)


def general_flatness(grade: str, length: float) -> float:
    """General straightness and flatness [mm]; classes H, K, L; *source*: ISO 2768-2 table 1 (withdrawn)."""
    return _general("flatness", grade, length)


@dataclass(frozen=True, slots=True)
class Screw:
    """A thread with its clearance holes and its socket head cap screw. [mm]"""

    name: str
    diameter: float
    pitch: float
    clearance_fine: float
    clearance_medium: float
    clearance_coarse: float
    head_diameter: float
    head_height: float
    stress_factor: float  # share of the pitch by which the stress diameter is smaller

    @property
    def pitch_diameter(self) -> float:
        """d - 0.649519 P; *source*: ISO 724."""
        return self.diameter - 0.649519 * self.pitch

    @property
    def minor_diameter(self) -> float:
        """Internal minor diameter d - 1.082532 P; *source*: ISO 724."""
        return self.diameter - 1.082532 * self.pitch

    @property
    def stress_area(self) -> float:
        """(π/4) (d - k P)² [mm²]; *source*: k = 0.938194 ISO 898-1, inch threads 0.9743 ASME B1.1."""
        return math.pi / 4.0 * (self.diameter - self.stress_factor * self.pitch) ** 2

    def proof_load(self, strength: str = "8.8") -> float:
        """Stress area times proof stress of a strength class [N]; *source*: ISO 898-1."""
        classes = table("screws")["class"]
        if strength not in classes:
            raise refuse(strength, list(classes), what="a strength class", where="")
        proof: float = classes[strength]
        return self.stress_area * proof


def screw(name: str, *, where: str = "") -> Screw:
    """Thread and cap screw called "M12" or "1/2-13".

    Raises ``value-bad`` naming the nearest known thread.
    """
    t = table("screws")
    rows = t["thread"]
    if name not in rows:
        raise refuse(name, list(rows), what="a thread", where=where)
    r = rows[name]
    fine, medium, coarse = r["clearance"]
    factor = t["stress_factor"]["metric" if name.startswith("M") else "inch"]
    return Screw(
        name, r["diameter"], r["pitch"], fine, medium, coarse, r["head_diameter"], r["head_height"], factor
    )
