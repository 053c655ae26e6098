"""Materials of one's own: a row of the handbook they are like, and the figures that differ.

    D2 annealed [like 4140 annealed, yield 350 MPa, density 7.7 g/cm³]

The whole description is the material's name, so a record holds all that was computed with.
"""

from __future__ import annotations

import math
import re
from dataclasses import replace
from functools import lru_cache

from jawright.errors import JawrightError
from jawright.handbook.materials import Material, row
from jawright.units import parse

FIGURES: dict[str, tuple[str, float, float]] = {
    "yield": ("pressure", 5.0, 3000.0),
    "tensile": ("pressure", 5.0, 4000.0),
    "modulus": ("pressure", 200.0, 700_000.0),
    "density": ("density", 5e-7, 2.5e-5),
    "expansion": ("expansion", 1e-7, 5e-4),
    "cutting force": ("pressure", 100.0, 10_000.0),
}
"""What may be stated: kind of unit, least and most that metals and plastics have [MPa, kg/mm³, 1/K]."""
USUAL_EXPONENT = 0.25
"""Kienzle's exponent where a cutting force is stated and the like material has none (common practice)."""
SHAPE = re.compile(r"^\s*(?P<name>[^\[\]]+?)\s*\[(?P<inside>[^\[\]]*)\]\s*$")


def material(name: str, *, where: str = "") -> Material:
    """The material called ``name``: a row of the handbook, or one described in square brackets.

    Raises ``value-bad`` naming the nearest known material.

    >>> material("6061").yield_min
    241.0
    >>> material("5083-H111 [like 6061, yield 125 MPa]").E
    68900.0
    """
    return described(name, where=where) if "[" in name else row(name, where=where)


@lru_cache(maxsize=256)
def described(text: str, *, where: str = "") -> Material:
    """The material of a description in square brackets.

    ``like`` names a row of the handbook: its family gives speeds and feeds, its group the cutting force.
    The yield is never taken from another material: it has to be stated ("tensile" for a brittle one).

    Raises
    ------
    JawrightError
        ``value-bad`` or a unit's own code: what is missing, not known or not possible, and an example.
    """
    hit = SHAPE.match(text)
    example = 'write it so: "D2 annealed [like 4140 annealed, yield 350 MPa]"'
    if hit is None:
        raise JawrightError("value-bad", what=f'"{text}" is not a description', where=where, todo=example)
    name = " ".join(hit["name"].split())
    like = ""
    stated: dict[str, tuple[float, str]] = {}
    for part in (p.strip() for p in hit["inside"].split(",")):
        if part.startswith("like "):
            like = part.removeprefix("like ").strip()
            continue
        key = next((k for k in FIGURES if part.startswith(k + " ")), None)
        if key is None or key in stated:
            twice = "stated twice" if key else f"not one of: like, {', '.join(FIGURES)}"
            raise JawrightError(
                "value-bad", what=f'in "{text}" "{part}" is {twice}', where=where, todo=example
            )
        stated[key] = _figure(key, part.removeprefix(key + " ").strip(), where=where)
    if not like:
        raise JawrightError(
            "key-missing", what=f'"{name}" is not said to be like a material', where=where, todo=example
        )
    base = row(like, where=where)
    strength = "tensile" if base.yield_basis == "none" else "yield"
    if strength not in stated:
        raise JawrightError(
            "key-missing",
            what=f'the {strength} of "{name}" is not stated, and that of {base.name} is not its own',
            where=where,
            todo=example.replace("yield", strength),
        )
    said = ", ".join(f"{k} {word}" for k, (_, word) in stated.items())
    return _made(base, {k: v for k, (v, _) in stated.items()}, f"{name} [like {base.name}, {said}]", said)


def _figure(key: str, word: str, *, where: str) -> tuple[float, str]:
    kind, least, most = FIGURES[key]
    value = parse(word, kind, where=where)
    if not least <= value <= most or not math.isfinite(value):
        raise JawrightError(
            "value-bad",
            what=f"no material of a vise has a {key} of {word}",
            where=where,
            todo="check the figure and its unit",
        )
    return value, " ".join(word.split())


def _made(base: Material, given: dict[str, float], name: str, said: str) -> Material:
    tensile = given.get("tensile")
    brittle = base.yield_basis == "none" and "yield" not in given
    return replace(
        base,
        name=name,
        E=given.get("modulus", base.E),
        yield_min=None if brittle else given["yield"],
        yield_basis="none" if brittle else "minimum",
        yield_typical=None,
        ultimate=tensile if tensile is not None else (base.ultimate if brittle else None),
        ultimate_basis="minimum" if tensile is not None or brittle else "",
        density=given.get("density", base.density),
        hardness=f"as {base.name}",
        cte=given.get("expansion", base.cte),
        kc11=given.get("cutting force", base.kc11),
        mc=base.mc if base.mc is not None else (USUAL_EXPONENT if "cutting force" in given else None),
        source=f"stated: {said}; the rest as {base.name}: {base.source}",
        status="STATED",
    )
