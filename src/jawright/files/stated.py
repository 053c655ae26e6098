"""What an exchange file states about its own annotations, to check the reading against.

Source: product manufacturing information validation properties of ISO 10303-242 files: property
definitions of that name on the part, on tolerances, datums and dimensions.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from jawright.files.aspects import Entities
from jawright.files.measures import measure
from jawright.files.part21 import Ref, Typed, Value

PROPERTY = "pmi validation property"


@dataclass(frozen=True, slots=True)
class Stated:
    """Counts of the whole part, None when absent; and by entity number the area [mm²] and datum letters."""

    tolerances: int | None = None
    datums: int | None = None
    areas: tuple[tuple[int, float], ...] = ()
    references: tuple[tuple[int, str], ...] = ()


def read_stated(entities: Entities) -> Stated:
    """The validation properties of annotations; those without value or unit are left out."""
    about: dict[int, int] = {}
    for number, s in entities.items():
        if "PROPERTY_DEFINITION" in s.types:
            args = s.args("PROPERTY_DEFINITION")
            if len(args) >= 3 and args[0] == PROPERTY and isinstance(args[2], Ref):
                about[number] = args[2].id
    if not about:
        return Stated()
    whole = {n for n in about.values() if n in entities and "PRODUCT_DEFINITION_SHAPE" in entities[n].types}
    counts: dict[str, int] = {}
    areas: dict[int, float] = {}
    references: dict[int, str] = {}
    for s in entities.values():
        if "PROPERTY_DEFINITION_REPRESENTATION" not in s.types:
            continue
        args = s.args("PROPERTY_DEFINITION_REPRESENTATION")
        owner = about.get(args[0].id) if args and isinstance(args[0], Ref) else None
        if owner is None or len(args) < 2 or not isinstance(args[1], Ref):
            continue
        for name, value, item in _items(entities, args[1].id):
            if name == "affected area":
                area = measure(entities, item, 2)
                if math.isfinite(area):
                    areas[owner] = area
            elif name == "datum references" and isinstance(value, str):
                references[owner] = value
            elif name.startswith("number of ") and isinstance(value, int | float) and owner in whole:
                counts[name] = round(value)
    return Stated(
        tolerances=counts.get("number of geometric tolerances"),
        datums=counts.get("number of datums", counts.get("number of datum features")),
        areas=tuple(sorted(areas.items())),
        references=tuple(sorted(references.items())),
    )


def _items(entities: Entities, representation: int) -> list[tuple[str, Value, Ref]]:
    """Name and value of the items of a representation."""
    held = entities.get(representation)
    args = held.args() if held is not None and len(held.types) == 1 else ()
    out: list[tuple[str, Value, Ref]] = []
    for item in args[1] if len(args) > 1 and isinstance(args[1], tuple) else ():
        s = entities.get(item.id) if isinstance(item, Ref) else None
        if s is None or not isinstance(item, Ref):
            continue
        all_args = [a for kind in s.types for a in s.args(kind)]
        named = s.args("REPRESENTATION_ITEM") or s.args()
        name = named[0] if named and isinstance(named[0], str) else ""
        values = [a.value if isinstance(a, Typed) else a for a in all_args]
        value = next((v for v in values if isinstance(v, int | float)), None)
        text = next((v for v in values if isinstance(v, str) and v != name), None)
        out.append((name, value if value is not None else text, item))
    return out
