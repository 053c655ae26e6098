"""Looked-up numbers: materials, friction, cutting data, general tolerances, screws.

The tables are TOML files in ``jawright/data``; each row there states its source and how far
that source was read. Nothing is interpolated and nothing is answered outside a table.
"""

from __future__ import annotations

import difflib
import math
import tomllib
from dataclasses import dataclass
from functools import cache
from importlib import resources
from typing import Any, Literal

from jawright.errors import JawrightError

Family = Literal[
    "aluminum",
    "mild steel",
    "alloy steel",
    "prehard steel",
    "stainless",
    "brass",
    "cast iron",
    "titanium",
    "plastic",
    "hardened steel",
]


@dataclass(frozen=True, slots=True)
class Range:
    """A number known as low / set / high with its basis."""

    low: float
    set: float
    high: float
    basis: str

    def times(self, factor: float) -> Range:
        """Every figure times a positive factor."""
        return Range(self.low * factor, self.set * factor, self.high * factor, self.basis)


@dataclass(frozen=True, slots=True)
class Material:
    """A material to compute with.

    ``yield_min`` is the smallest yield the table knows and the only one to compute with; it is a
    specified minimum when ``yield_basis`` is "minimum", a typical figure when no minimum is known
    ("typical"), and None for a metal without a yield point ("none"). ``yield_typical`` is for
    papers. ``kc11`` and ``mc`` are None where no specific cutting force is known: the answer is
    then unknown.
    """

    name: str
    family: Family
    E: float  # [MPa]
    nu: float
    yield_min: float | None  # [MPa]
    yield_basis: Literal["minimum", "typical", "none"]
    ultimate: float | None  # [MPa]
    ultimate_basis: Literal["minimum", "typical", ""]
    density: float  # [kg/mm³]
    hardness: str  # as printed, with its scale
    brinell: float | None  # [HB]
    cte: float  # linear expansion [1/K]
    group: str  # VDI 3323
    kc11: float | None  # specific cutting force at 1 mm chip thickness [MPa]
    mc: float | None  # Kienzle's exponent
    kc_spread: float  # share by which kc11 may be off either way
    source: str
    status: str
    yield_typical: float | None = None  # [MPa]
    compressive: float | None = None  # [MPa]
    creeps: bool = False

    @property
    def G(self) -> float:  # noqa: N802
        """Shear modulus E / (2 (1 + nu)) [MPa]."""
        return self.E / (2.0 * (1.0 + self.nu))

    @property
    def plane_strain_modulus(self) -> float:
        """E / (1 - nu²) [MPa], as contact formulas ask for."""
        return self.E / (1.0 - self.nu**2)

    @property
    def bruise_stress(self) -> float:
        """The stress at which a mark starts [MPa]: the yield, or the tensile strength of a brittle metal."""
        value = self.yield_min if self.yield_min is not None else self.ultimate
        assert value is not None, self.name  # every row has one: checked when the table is read
        return value


def softer(a: Material, b: Material) -> Material:
    """The one that is marked first: the lower yield; ``a`` when they are equal."""
    return b if b.bruise_stress < a.bruise_stress else a


@cache
def table(name: str) -> dict[str, Any]:
    """A table of ``jawright/data`` as plain data; treat it as read-only."""
    text = resources.files("jawright.data").joinpath(f"{name}.toml").read_text(encoding="utf-8")
    return tomllib.loads(text)


def _plain(text: str) -> str:
    return "".join(c for c in text.casefold() if c.isalnum())


def nearest(word: str, words: list[str]) -> str:
    """The word of ``words`` that looks most like ``word``; "" when none does."""
    plain = {_plain(w): w for w in words}
    hit = difflib.get_close_matches(_plain(word), list(plain), n=1, cutoff=0.5)
    return plain[hit[0]] if hit else ""


def _refuse(word: str, words: list[str], *, what: str, where: str, near: str = "") -> JawrightError:
    near = near or nearest(word, words)
    hint = f'did you mean "{near}"? known: ' if near else "known: "
    return JawrightError(
        "value-bad", what=f'"{word}" is not {what} in the handbook', where=where, todo=hint + ", ".join(words)
    )


@cache
def _materials() -> tuple[dict[str, Material], dict[str, str]]:
    """Materials by name, and every plain spelling to its name."""
    force = table("cutting_force")
    found: dict[str, Material] = {}
    spelled: dict[str, str] = {}
    for row in table("materials")["material"]:
        kc, mc, _ = force["groups"].get(row.get("group", ""), (None, None, ""))
        basis = row["yield_basis"]
        assert (basis == "none") == ("yield_mpa" not in row), row["name"]
        assert basis != "typical" or "yield_typical_mpa" not in row, row["name"]
        assert "yield_mpa" in row or "ultimate_mpa" in row, row["name"]
        ultimate = row.get("ultimate_mpa")
        found[row["name"]] = Material(
            name=row["name"],
            family=row["family"],
            E=row["e_gpa"] * 1000.0,
            nu=row["nu"],
            yield_min=row.get("yield_mpa"),
            yield_basis=basis,
            ultimate=ultimate,
            ultimate_basis=row.get("ultimate_basis", "minimum" if basis != "typical" else "typical")
            if ultimate is not None
            else "",
            density=row["density_kg_m3"] * 1e-9,
            hardness=row["hardness"],
            brinell=row.get("brinell"),
            cte=row["cte_per_k"],
            group=row.get("group", ""),
            kc11=kc,
            mc=mc,
            kc_spread=force["spread"],
            source=row["source"],
            status=row["status"],
            yield_typical=row.get("yield_typical_mpa"),
            compressive=row.get("compressive_mpa"),
            creeps=row.get("creeps", False),
        )
        for spelling in (row["name"], *row["aliases"]):
            assert spelled.setdefault(_plain(spelling), row["name"]) == row["name"], spelling
    return found, spelled


def materials() -> tuple[str, ...]:
    """Names of all materials, in table order."""
    return tuple(_materials()[0])


def material(name: str, *, where: str = "") -> Material:
    """The material called ``name``; case, spaces and dashes do not matter, common other names are known.

    Raises ``value-bad`` naming the nearest known material.

    >>> material("6061").yield_min
    241.0
    """
    found, spelled = _materials()
    key = spelled.get(_plain(name))
    if key is None:
        near = spelled.get(nearest(name, list(spelled)), "")
        raise _refuse(name, list(found), what="a material", where=where, near=near)
    return found[key]


def friction(pair: str, *, where: str = "") -> Range:
    """Coulomb friction of a pair, always a range; never a constant.

    Raises ``value-bad`` naming the nearest known pair.

    >>> friction("wet smooth jaw").set
    0.12
    """
    rows = table("friction")["friction"]
    for row in rows:
        if _plain(pair) in {_plain(s) for s in (row["pair"], *row["aliases"])}:
            return Range(row["low"], row["set"], row["high"], f"{row['pair']}: {row['source']}")
    raise _refuse(pair, [r["pair"] for r in rows], what="a friction pair", where=where)


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
        raise _refuse(kind, list(kinds), what="a cutter kind", where="")
    if row is None:
        return None
    drills = kind in ("drill", "spot drill", "reamer")
    k = kinds[kind]
    low, set_, high = row["drill_speed" if drills else "mill_speed"]
    speed = Range(low, set_, high, t["basis"])
    low, set_, high = row["drill_feed" if drills else "mill_feed"]
    share = Range(low, set_, high, t["basis"])
    return Cutting(speed.times(k["speed_factor"]), share.times(k["feed_factor"]), k["feed_cap_mm"])


def _step(size: float, steps: list[float], first: float, *, what: str) -> int:
    """Index of the size step that ``size`` falls in: over the one before, up to and including."""
    if not math.isfinite(size) or size < first:
        raise JawrightError("value-bad", what=f"{what} starts at {first:g} mm, {size:g} mm is below it")
    for i, top in enumerate(steps):
        if size <= top:
            return i
    raise JawrightError("value-bad", what=f"{what} ends at {steps[-1]:g} mm, {size:g} mm is above it")


def it_grade(size: float, grade: str) -> float:
    """Width of the standard tolerance zone [mm] for a nominal ``size`` [mm]; *source*: ISO 286-1.

    *Valid for* sizes over 3 up to 180 mm, "IT5" to "IT11".

    >>> it_grade(10.0, "IT7")
    0.015
    """
    t = table("tolerances")["it"]
    grades = [k for k in t if k.startswith("IT")]
    if grade not in grades:
        raise _refuse(grade, grades, what="a tolerance grade", where="")
    if size <= t["over_mm"]:
        raise JawrightError("value-bad", what=f"the grade table starts over {t['over_mm']:g} mm")
    row: list[float] = t[grade]
    return row[_step(size, t["up_to_mm"], t["over_mm"], what="the grade table")] / 1000.0


def fit(size: float, code: str) -> tuple[float, float]:
    """Lower and upper deviation [mm] of a fit such as "H7" (hole) or "g6" (shaft); *source*: ISO 286-2.

    *Valid for* H holes and f, g, h shafts, sizes over 3 up to 180 mm.

    >>> fit(25.0, "g6")
    (-0.02, -0.007)
    """
    letter, grade = code[:1], "IT" + code[1:]
    if letter not in ("H", "f", "g", "h"):
        raise _refuse(code, ["H6", "H7", "H8", "f7", "g6", "h6"], what="a fit", where="")
    width = round(1000.0 * it_grade(size, grade))
    if letter == "H":
        return (0.0, width / 1000.0)
    t = table("tolerances")
    upper = 0
    if letter != "h":
        upper = t["deviation"][letter][_step(size, t["it"]["up_to_mm"], 3.0, what="the fit table")]
    return ((upper - width) / 1000.0, upper / 1000.0)


def _general(name: str, grade: str, size: float) -> float:
    t = table("tolerances")["general"][name]
    grades = [k for k in t if len(k) == 1]
    if grade not in grades:
        raise _refuse(grade, grades, what="a class of general tolerances", where="")
    row: list[float] = t[grade]
    value = row[_step(size, t["up_to_mm"], t["from_mm"], what=f"the general {name} table")]
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
            raise _refuse(strength, list(classes), what="a strength class", where="")
        proof: float = classes[strength]
        return self.stress_area * proof


def screw(name: str, *, where: str = "") -> Screw:
    """Thread and cap screw called "M12" or "1/2-13".

    Raises ``value-bad`` naming the nearest known thread.
    """
    t = table("screws")
    rows = t["thread"]
    if name not in rows:
        raise _refuse(name, list(rows), what="a thread", where=where)
    r = rows[name]
    fine, medium, coarse = r["clearance"]
    factor = t["stress_factor"]["metric" if name.startswith("M") else "inch"]
    return Screw(
        name, r["diameter"], r["pitch"], fine, medium, coarse, r["head_diameter"], r["head_height"], factor
    )
