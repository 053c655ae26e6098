"""Materials: rows of the handbook, and own ones said to be like a row."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache
from typing import Literal

from jawright.handbook.lookup import nearest, plain, refuse, table

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
            assert spelled.setdefault(plain(spelling), row["name"]) == row["name"], spelling
    return found, spelled


def materials() -> tuple[str, ...]:
    """Names of all materials, in table order."""
    return tuple(_materials()[0])


def row(name: str, *, where: str = "") -> Material:
    """The handbook's row called ``name``; case, spaces and dashes do not matter, other names are known.

    Raises ``value-bad`` naming the nearest known material.
    """
    found, spelled = _materials()
    key = spelled.get(plain(name))
    if key is None:
        near = spelled.get(nearest(name, list(spelled)), "")
        own = f'; or say what it is like: "{name} [like {near or "4140 annealed"}, yield 350 MPa]"'
        raise refuse(name, list(found), what="a material", where=where, near=near, own=own)
    return found[key]
