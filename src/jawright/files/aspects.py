"""Which faces of the solid an annotation of an exchange file is about.

An annotation names a shape aspect. Aspects hold other aspects (patterns, composites, center
features), and usages tie an aspect to items of the shape. The walk goes from the whole to its
parts only, so that an aspect never picks up the faces of a group it happens to belong to.
"""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Iterator

from jawright.files.measures import context_length, measure
from jawright.files.part21 import Ref, Statement, Typed, Value

Point3 = tuple[float, float, float]
Entities = dict[int, Statement]

DOWN = (
    "SHAPE_ASPECT_RELATIONSHIP",
    "SHAPE_ASPECT_DERIVING_RELATIONSHIP",
    "SHAPE_ASPECT_ASSOCIATIVITY",
    "COMPONENT_FEATURE_RELATIONSHIP",
)
"""Relations whose second aspect is part of, or the source of, the first."""
USES = ("GEOMETRIC_ITEM_SPECIFIC_USAGE", "ITEM_IDENTIFIED_REPRESENTATION_USAGE")
FACES = ("ADVANCED_FACE", "FACE_SURFACE")
STOP = ("DATUM", "DATUM_SYSTEM", "DATUM_REFERENCE_COMPARTMENT", "DATUM_REFERENCE_ELEMENT", "TOLERANCE_ZONE")
"""Aspects that refer to features but do not hold them."""
GROUPS = (
    "COMPOSITE_SHAPE_ASPECT",
    "COMPOSITE_GROUP_SHAPE_ASPECT",
    "COMPOSITE_UNIT_SHAPE_ASPECT",
    "CONTINUOUS_SHAPE_ASPECT",
    "ALL_AROUND_SHAPE_ASPECT",
    "BETWEEN_SHAPE_ASPECT",
    "CENTRE_OF_SYMMETRY",
    "DERIVED_SHAPE_ASPECT",
)
"""Aspects that stand for others: patterns, runs of faces, center features."""
TARGETS = ("DATUM_TARGET", "PLACED_DATUM_TARGET_FEATURE")


class Aspects:
    """Answers which faces belong to an aspect, from the relations and usages of one file."""

    def __init__(self, entities: Entities) -> None:
        self.entities = entities
        self._parts: dict[int, list[int]] = defaultdict(list)
        self._wholes: dict[int, list[int]] = defaultdict(list)
        self._items: dict[int, list[Value]] = defaultdict(list)
        self._target_features: dict[int, list[int]] = defaultdict(list)
        self._placed: dict[int, list[int]] = defaultdict(list)
        self._on_surface: dict[int, list[int]] | None = None
        properties: dict[int, int] = {}
        represented: list[tuple[int, int]] = []
        for number, s in entities.items():
            for kind in s.types:
                if kind in DOWN or kind == "FEATURE_FOR_DATUM_TARGET_RELATIONSHIP":
                    self._relate(kind, s.args(kind))
                elif kind in USES:
                    args = s.args(kind)
                    if len(args) >= 5 and isinstance(args[2], Ref):
                        self._items[args[2].id].append(args[4])
                elif kind == "PROPERTY_DEFINITION":
                    args = s.args(kind)
                    if len(args) >= 3 and isinstance(args[2], Ref):
                        properties[number] = args[2].id
                elif kind == "SHAPE_DEFINITION_REPRESENTATION":
                    args = s.args(kind)
                    if len(args) >= 2 and isinstance(args[0], Ref) and isinstance(args[1], Ref):
                        represented.append((args[0].id, args[1].id))
        for definition, representation in represented:
            if definition in properties:
                self._placed[properties[definition]].append(representation)

    def _relate(self, kind: str, args: tuple[Value, ...]) -> None:
        if len(args) < 4 or not isinstance(args[2], Ref) or not isinstance(args[3], Ref):
            return
        first, second = args[2].id, args[3].id
        if kind in DOWN:
            self._parts[first].append(second)
            self._wholes[second].append(first)
        else:
            self._target_features[second].append(first)

    def is_stop(self, number: int) -> bool:
        """Whether the walk from an aspect to its faces ends at this statement."""
        held = self.entities.get(number)
        return held is None or any(t in STOP for t in held.types)

    def faces(self, number: int) -> list[int]:
        """Entity numbers of the faces of an aspect and of its parts, in the order met.

        A group without faces of its own whose relations are written from its members to it takes
        those of its members.
        """
        found = self._faces_below(number)
        held = self.entities.get(number)
        if found or held is None or not any(t in GROUPS for t in held.types):
            return found
        members = [m for m in self._wholes[number] if not self.is_stop(m) and not self._groups(m)]
        return list(dict.fromkeys(f for m in members for f in self._faces_below(m)))

    def _groups(self, number: int) -> bool:
        return any(t in GROUPS for t in self.entities[number].types)

    def _faces_below(self, number: int) -> list[int]:
        out: list[int] = []
        seen: set[int] = set()
        waiting = [number]
        while waiting:
            here = waiting.pop(0)
            if here in seen:
                continue
            seen.add(here)
            for item in self._items[here]:
                out += [f for f in self._faces_in(item) if f not in out]
            waiting += [p for p in self._parts[here] if not self.is_stop(p)]
            waiting += self._target_features[here]
        return out

    def datum_features(self, number: int) -> list[int]:
        """Aspects that a datum is established by: related to it in either direction."""
        around = [*self._wholes[number], *self._parts[number]]
        return [a for a in dict.fromkeys(around) if not self.is_stop(a)]

    def datums_in(self, number: int) -> list[int]:
        """Datums that a common datum is made of."""
        around = [*self._parts[number], *self._wholes[number]]
        return [a for a in dict.fromkeys(around) if a in self.entities and "DATUM" in self.entities[a].types]

    def _faces_in(self, item: Value, depth: int = 0) -> Iterator[int]:
        """Faces in an item of the shape: itself, a set, a shell, a solid, or the surface under a face."""
        if depth > 8:
            return
        if isinstance(item, tuple):
            for one in item:
                yield from self._faces_in(one, depth + 1)
        elif isinstance(item, Typed):
            yield from self._faces_in(item.value, depth + 1)
        elif isinstance(item, Ref):
            held = self.entities.get(item.id)
            if held is None:
                return
            if any(t in FACES for t in held.types):
                yield item.id
            elif any(t.endswith(("_SHELL", "_BREP", "_SET", "REPRESENTATION_ITEM")) for t in held.types):
                for kind in held.types:
                    yield from self._faces_in(held.args(kind), depth + 1)
            else:
                yield from self._over(item.id)

    def _over(self, surface: int) -> list[int]:
        """Faces that lie on a surface named by itself."""
        if self._on_surface is None:
            self._on_surface = defaultdict(list)
            for number, s in self.entities.items():
                if any(t in FACES for t in s.types):
                    refs = [a for kind in s.types for a in s.args(kind) if isinstance(a, Ref)]
                    if refs:
                        self._on_surface[refs[-1].id].append(number)
        return self._on_surface.get(surface, [])

    # ---- datum targets ---------------------------------------------------------------------

    def target_points(self, number: int) -> list[Point3]:
        """Points [mm] of the part's surface on a placed datum target: its own, and along its size."""
        held = self.entities[number]
        form = next((a[1] for k in TARGETS for a in (held.args(k),) if len(a) > 1), "")
        out: list[Point3] = []
        for rep in self._placed[number]:
            s = self.entities.get(rep)
            args = s.args() if s is not None else ()
            if len(args) < 3 or not isinstance(args[1], tuple):
                continue
            scale = context_length(self.entities, args[-1] if isinstance(args[-1], Ref) else None)
            scale = scale if math.isfinite(scale) else context_length(self.entities, args[2])
            place = next((p for p in (self._axes(i, scale) for i in args[1]) if p), None)
            if place is None:
                continue
            sizes = [v for v in (measure(self.entities, i, 1) for i in args[1]) if math.isfinite(v)]
            out += _around(place, str(form), sizes[0] if sizes else 0.0)
        return out

    def _axes(self, item: Value, scale: float) -> tuple[Point3, Point3, Point3] | None:
        """Origin [mm], X and Y directions of a placement."""
        held = self.entities.get(item.id) if isinstance(item, Ref) else None
        if held is None or "AXIS2_PLACEMENT_3D" not in held.types:
            return None
        args = held.args("AXIS2_PLACEMENT_3D")
        found = [self._triple(a) for a in args[1:4]]
        if len(found) < 3 or found[0] is None or not math.isfinite(scale):
            return None
        z, x = found[1] or (0.0, 0.0, 1.0), found[2] or (1.0, 0.0, 0.0)
        along = sum(a * b for a, b in zip(x, z, strict=True))
        x = _unit((x[0] - along * z[0], x[1] - along * z[1], x[2] - along * z[2]))
        y = (z[1] * x[2] - z[2] * x[1], z[2] * x[0] - z[0] * x[2], z[0] * x[1] - z[1] * x[0])
        o = found[0]
        return (o[0] * scale, o[1] * scale, o[2] * scale), x, y

    def _triple(self, item: Value) -> Point3 | None:
        held = self.entities.get(item.id) if isinstance(item, Ref) else None
        if held is None:
            return None
        for a in held.args():
            if isinstance(a, tuple) and len(a) == 3 and all(isinstance(v, int | float) for v in a):
                x, y, z = (float(v) for v in a if isinstance(v, int | float))
                return (x, y, z)
        return None


def _unit(v: Point3) -> Point3:
    n = math.sqrt(sum(c * c for c in v)) or 1.0
    return (v[0] / n, v[1] / n, v[2] / n)


def _around(place: tuple[Point3, Point3, Point3], form: str, size: float) -> list[Point3]:
    """Points that a target of that form covers: a curved one runs round its placement, a line along X."""
    o, x, y = place

    def at(u: float, v: float) -> Point3:
        return (o[0] + u * x[0] + v * y[0], o[1] + u * x[1] + v * y[1], o[2] + u * x[2] + v * y[2])

    if form == "circular curve":
        r = 0.5 * size
        return [at(0, 0), at(r, 0), at(0, r), at(-r, 0), at(0, -r)]  # files place it on the curve or amid it
    if form == "line" and size:
        return [at(0, 0), at(0.25 * size, 0), at(-0.25 * size, 0)]
    return [at(0, 0)]
