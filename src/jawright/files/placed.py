"""Solids that an exchange file places mirrored or to another scale (ISO 10303-42 and -43).

The kernel places a mapped solid turned and moved, and drops the rest without a word, so such a file
would be read as another part: it is told here from the file's own text.
"""

from __future__ import annotations

import math

from jawright.files.aspects import Entities
from jawright.files.part21 import Ref, Statement, Value
from jawright.geometry.frame import Vec3, cross, dot

OPERATOR = "CARTESIAN_TRANSFORMATION_OPERATOR"
SOLIDS = ("MANIFOLD_SOLID_BREP", "BREP_WITH_VOIDS", "FACETED_BREP", "SHELL_BASED_SURFACE_MODEL")
SAME = 1e-9
"""Largest relative difference of a scale from 1 that is no scale."""


def changed(entities: Entities) -> str:
    """How a placement changes a solid: "mirrored", "to 2 times its size", both, or "" when none does."""
    words = [_change(entities, n) for n in sorted(_operators(entities))]
    return next((w for w in words if w), "")


def _operators(entities: Entities) -> set[int]:
    """Entity numbers of the operators that place a solid."""
    found: set[int] = set()
    for s in entities.values():
        if "MAPPED_ITEM" in s.types:
            args = [a for a in s.args("MAPPED_ITEM") if isinstance(a, Ref)]
            if len(args) >= 2 and _is_operator(entities, args[-1]) and _maps_solid(entities, args[-2]):
                found.add(args[-1].id)
        if "REPRESENTATION_RELATIONSHIP_WITH_TRANSFORMATION" in s.types:
            for a in s.args("REPRESENTATION_RELATIONSHIP_WITH_TRANSFORMATION"):
                if isinstance(a, Ref) and _is_operator(entities, a):
                    found.add(a.id)
    return found


def _is_operator(entities: Entities, ref: Ref) -> bool:
    held = entities.get(ref.id)
    return held is not None and any(t.startswith(OPERATOR) for t in held.types)


def _maps_solid(entities: Entities, representation_map: Ref) -> bool:
    """Whether a map's representation holds a solid, at any depth of maps within maps."""
    waiting, seen = [representation_map.id], set[int]()
    while waiting:
        held = entities.get(waiting.pop())
        if held is None or held.id in seen:
            continue
        seen.add(held.id)
        if any(t in SOLIDS for t in held.types):
            return True
        if "REPRESENTATION_MAP" in held.types or "MAPPED_ITEM" in held.types:
            waiting += [a.id for a in _all(held) if isinstance(a, Ref)]
        elif any(t.endswith("REPRESENTATION") for t in held.types):
            for a in _all(held):
                waiting += [i.id for i in a if isinstance(i, Ref)] if isinstance(a, tuple) else []
    return False


def _all(s: Statement) -> list[Value]:
    return [a for t in s.types for a in s.args(t)]


def _change(entities: Entities, number: int) -> str:
    """What an operator does besides turning and moving.

    The axes of the operator are derived as ISO 10303-42 has them (functions base_axis,
    first_proj_axis, second_proj_axis): the second axis decides the hand.
    """
    args = _all(entities[number])
    origin = next((k for k, a in enumerate(args) if _triple(entities, a, "CARTESIAN_POINT")), None)
    if origin is None or origin < 2:
        return ""
    numbers = [a for a in args[origin + 1 :] if isinstance(a, int | float)]
    scale = float(numbers[0]) if numbers else 1.0
    ways = [_triple(entities, a, "DIRECTION") for a in args]
    z = _unit(next((w for w in ways[origin + 1 :] if w), None) or (0.0, 0.0, 1.0))
    x = ways[origin - 2] or ((1.0, 0.0, 0.0) if abs(z[0]) < 1 - SAME else (0.0, 1.0, 0.0))
    lean = dot(x, z)
    x = _unit((x[0] - lean * z[0], x[1] - lean * z[1], x[2] - lean * z[2]))
    y = ways[origin - 1] or (0.0, 1.0, 0.0)
    words = []
    if dot(y, cross(z, x)) < -SAME:
        words.append("mirrored")
    if abs(scale - 1.0) > SAME:
        words.append(f"to {scale:g} times its size")
    return " and ".join(words)


def _unit(v: Vec3) -> Vec3:
    n = math.hypot(*v)
    return (v[0] / n, v[1] / n, v[2] / n) if n > 0 else (0.0, 0.0, 1.0)


def _triple(entities: Entities, ref: Value, kind: str) -> Vec3 | None:
    """Numbers of a point or direction; None when the value is none."""
    held = entities.get(ref.id) if isinstance(ref, Ref) else None
    if held is None or kind not in held.types:
        return None
    for a in held.args(kind):
        if isinstance(a, tuple) and len(a) == 3:
            x, y, z = (float(v) if isinstance(v, int | float) else math.nan for v in a)
            return (x, y, z) if math.isfinite(x + y + z) else None
    return None
