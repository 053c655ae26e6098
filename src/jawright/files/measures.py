"""Lengths, areas, volumes and angles of an exchange file, each with its own unit (ISO 10303-41)."""

from __future__ import annotations

import math

from jawright.files.part21 import Enum, Ref, Statement, Typed, Value

_PREFIX = {"": "m", "MILLI": "mm", "CENTI": "cm", "DECI": "dm", "MICRO": "µm", "KILO": "km"}
DEEPEST = 8
"""How many units may be defined by one another (a foot by the inch, an inch by the millimeter)."""
_METERS = {"m": 1.0, "mm": 1e-3, "cm": 1e-2, "dm": 0.1, "µm": 1e-6, "km": 1e3}


def length_units(entities: dict[int, Statement]) -> str:
    """Length units of the file's geometry in words; that of the solids first; "" when none is given."""
    contexts: list[int] = []
    for kind in ("ADVANCED_BREP_SHAPE_REPRESENTATION", "SHAPE_REPRESENTATION"):
        for s in entities.values():
            if kind in s.types:
                contexts += [a.id for a in s.args(kind)[-1:] if isinstance(a, Ref)]
    contexts += [i for i, s in entities.items() if "GLOBAL_UNIT_ASSIGNED_CONTEXT" in s.types]
    words: list[str] = []
    for context in contexts:
        held = entities.get(context)
        units = held.args("GLOBAL_UNIT_ASSIGNED_CONTEXT") if held else ()
        for unit in units[0] if units and isinstance(units[0], tuple) else ():
            word = length_unit(entities, unit)[0]
            if word and word not in words:
                words.append(word)
    return " and ".join(words)


def length_unit(entities: dict[int, Statement], ref: Value, within: int = 0) -> tuple[str, float]:
    """Word and size [mm] of a length unit; ("", nan) when it is none, or leads back to itself.

    ``within``: how many units it already stands in the definition of.
    """
    held = entities.get(ref.id) if isinstance(ref, Ref) else None
    if held is None or within > DEEPEST or "LENGTH_UNIT" not in held.types:
        return "", math.nan
    if "SI_UNIT" in held.types:
        args = held.args("SI_UNIT")
        if len(args) >= 2 and args[1] == Enum("METRE"):
            prefix = args[0].word if isinstance(args[0], Enum) else ""
            word = _PREFIX.get(prefix, "")
            return word, 1000.0 * _METERS[word] if word else math.nan
        return "", math.nan
    args = held.args("CONVERSION_BASED_UNIT")
    if len(args) < 2 or not isinstance(args[0], str):
        return "", math.nan
    size = measure(entities, args[1], 1, within + 1)
    same = [w for w, m in _METERS.items() if math.isclose(1000.0 * m, size, rel_tol=1e-9)]
    return (same[0] if same else args[0].strip().lower()), size


def measure(entities: dict[int, Statement], ref: Value, power: int, within: int = 0) -> float:
    """Value [mm**power] of a measure with its own unit; nan when value or unit cannot be read."""
    held = entities.get(ref.id) if isinstance(ref, Ref) else None
    if held is None:
        return math.nan
    for kind in held.types:
        args = held.args(kind)
        numbers = [a.value for a in args if isinstance(a, Typed) and isinstance(a.value, int | float)]
        refs = [a for a in args if isinstance(a, Ref)]
        if numbers and refs:
            return float(numbers[0]) * _unit_size(entities, refs[-1], power, within)
    return math.nan


def _unit_size(entities: dict[int, Statement], ref: Ref, power: int, within: int) -> float:
    """Size [mm**power] of a length unit or of a unit derived from one."""
    held = entities.get(ref.id)
    if held is None:
        return math.nan
    if "DERIVED_UNIT" not in held.types:
        size = length_unit(entities, ref, within)[1]
        return size if power == 1 else math.nan
    size, total = 1.0, 0.0
    elements = held.args("DERIVED_UNIT")
    for element in elements[0] if elements and isinstance(elements[0], tuple) else ():
        args = entities[element.id].args() if isinstance(element, Ref) and element.id in entities else ()
        if len(args) < 2 or not isinstance(args[1], int | float):
            return math.nan
        size *= length_unit(entities, args[0], within)[1] ** args[1]
        total += args[1]
    return size if total == power else math.nan


def angle(entities: dict[int, Statement], ref: Value, within: int = 0) -> float:
    """Value [rad] of a plane angle with its own unit; nan when value or unit cannot be read."""
    held = entities.get(ref.id) if isinstance(ref, Ref) else None
    if held is None:
        return math.nan
    for kind in held.types:
        for a in held.args(kind):
            if isinstance(a, Typed) and "ANGLE_MEASURE" in a.type and isinstance(a.value, int | float):
                units = [r for r in held.args(kind) if isinstance(r, Ref)]
                return float(a.value) * (_angle_unit(entities, units[-1], within) if units else math.nan)
    return math.nan


def _angle_unit(entities: dict[int, Statement], ref: Ref, within: int) -> float:
    """Size [rad] of a plane angle unit; nan when it is none, or leads back to itself."""
    held = entities.get(ref.id)
    if held is None or within > DEEPEST or "PLANE_ANGLE_UNIT" not in held.types:
        return math.nan
    if "SI_UNIT" in held.types:
        return 1.0 if held.args("SI_UNIT")[-1:] == (Enum("RADIAN"),) else math.nan
    args = held.args("CONVERSION_BASED_UNIT")
    return angle(entities, args[1], within + 1) if len(args) > 1 else math.nan


def context_length(entities: dict[int, Statement], ref: Value) -> float:
    """Length [mm] that the number 1 stands for in a geometric context; nan when it does not say."""
    held = entities.get(ref.id) if isinstance(ref, Ref) else None
    units = held.args("GLOBAL_UNIT_ASSIGNED_CONTEXT") if held else ()
    for unit in units[0] if units and isinstance(units[0], tuple) else ():
        word, size = length_unit(entities, unit)
        if word:
            return size
    return math.nan
