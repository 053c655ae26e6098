"""Dimensions with limits of an exchange file: signed deviations, each with its own unit."""

from __future__ import annotations

import math
from collections import defaultdict
from dataclasses import dataclass

from jawright import handbook
from jawright.errors import JawrightError
from jawright.files.aspects import Aspects, Entities
from jawright.files.measures import angle, measure
from jawright.files.part21 import Ref, Statement, Typed, Value


@dataclass(frozen=True, slots=True)
class FileDimension:
    """A dimension with limits: deviations from ``nominal``, signed [mm]; [rad] when ``kind`` is an angle."""

    entity: int
    kind: str  # "diameter", "radius", "linear distance", "angle", ... as the file calls it
    nominal: float
    lower: float
    upper: float
    faces: tuple[int, ...]
    words: tuple[str, ...] = ()  # what else it says: "statistical", "average"


@dataclass(frozen=True, slots=True)
class Unread:
    """Something of the file that was not understood: entity number, its type, and why."""

    entity: int
    type: str
    why: str


class Trouble(Exception):  # noqa: N818 (a reason, caught where it is told)
    """Why one annotation cannot be read."""


def follow(entities: Entities, ref: Value) -> Statement:
    """The statement that a reference leads to. Raises ``Trouble`` when it leads nowhere."""
    found = entities.get(ref.id) if isinstance(ref, Ref) else None
    if found is None:
        raise Trouble("a reference leads nowhere")
    return found


_NAMES = ("nominal value", "upper limit", "lower limit")
_SIDES = ("maximum", "minimum")
_USUAL = ("theoretical", "")
"""Words of a file that add nothing to a dimension with limits."""
_COMPOUND = ("VALUE_RANGE", "COMPOUND_REPRESENTATION_ITEM")


def _flat(value: Value) -> list[Ref]:
    if isinstance(value, tuple):
        return [r for v in value for r in _flat(v)]
    return [value] if isinstance(value, Ref) else []


def limited_dimensions(
    entities: Entities, aspects: Aspects
) -> tuple[tuple[FileDimension, ...], tuple[Unread, ...]]:
    """All dimensions with limits, by entity number, and what could not be read of them."""
    reader = _Dimensions(entities, aspects)
    return reader.dimensions(), tuple(reader.unread)


class _Dimensions:
    def __init__(self, entities: Entities, aspects: Aspects) -> None:
        self.entities, self.aspects = entities, aspects
        self.unread: list[Unread] = []
        self._nominal: dict[int, list[int]] = defaultdict(list)
        for s in entities.values():
            if "DIMENSIONAL_CHARACTERISTIC_REPRESENTATION" in s.types:
                args = s.args()
                if len(args) > 1 and isinstance(args[0], Ref) and isinstance(args[1], Ref):
                    self._nominal[args[0].id].append(args[1].id)

    def _miss(self, number: int, s: Statement, why: str) -> None:
        self.unread.append(Unread(number, s.type, why))

    def dimensions(self) -> tuple[FileDimension, ...]:
        out = []
        limited: dict[int, tuple[float, float] | str] = {}
        for number, s in self.entities.items():
            if "PLUS_MINUS_TOLERANCE" not in s.types:
                continue
            try:
                args = s.args("PLUS_MINUS_TOLERANCE")
                if len(args) < 2 or not isinstance(args[1], Ref):
                    raise Trouble("it lacks its limits or dimension")
                limited[args[1].id] = self._limits(args[0])
            except Trouble as why:
                self._miss(number, s, str(why))
            except (IndexError, TypeError, ValueError):
                self._miss(number, s, "it is not written as the standard says")
        for number in sorted({*limited, *self._nominal}):
            try:
                found = self._dimension(number, limited.get(number))
            except Trouble as why:
                if number in self.entities:
                    self._miss(number, self.entities[number], str(why))
                continue
            if found is not None:
                out.append(found)
        return tuple(out)

    def _limits(self, ref: Value) -> tuple[float, float] | str:
        """Lower and upper deviation, signed, each with its own unit; or the class of a fit, "H7"."""
        held = follow(self.entities, ref)
        if "TOLERANCE_VALUE" in held.types:
            values = [self._quantity(a) for a in held.args("TOLERANCE_VALUE")[:2]]
            if len(values) == 2 and all(map(math.isfinite, values)):
                return values[0], values[1]
        if "LIMITS_AND_FITS" in held.types:
            letter, _, grade = (str(a) for a in held.args("LIMITS_AND_FITS")[:3])
            return letter.strip() + grade.strip().removeprefix("IT")
        raise Trouble("its limits cannot be read")

    def _quantity(self, ref: Value) -> float:
        size = measure(self.entities, ref, 1)
        return size if math.isfinite(size) else angle(self.entities, ref)

    def _dimension(self, number: int, limits: tuple[float, float] | str | None) -> FileDimension | None:
        """A dimension with limits; None for one without: it is basic or for reference."""
        s = follow(self.entities, Ref(number))
        values = self._values(number)
        nominal = values.get("nominal value", values.get("", math.nan))
        if limits is not None and not math.isfinite(nominal):
            nominal = next((values[k] for k in _SIDES if k in values), math.nan)
        if limits is None:
            high = values.get("upper limit", values.get("maximum", math.nan))
            low = values.get("lower limit", values.get("minimum", math.nan))
            if math.isnan(high) and math.isnan(low):
                return None
            if math.isnan(high) or math.isnan(low):
                side, only = ("maximum", high) if math.isnan(low) else ("minimum", low)
                raise Trouble(f"it gives only a {side}, of {self._size_words(s, only)}")
            nominal = nominal if math.isfinite(nominal) else 0.5 * (low + high)
            limits = (low - nominal, high - nominal)
        if isinstance(limits, str):
            try:
                limits = handbook.fit(nominal, limits)
            except JawrightError as e:
                raise Trouble(f"its limits are given as the class {limits}, not known here: {e.what}") from e
        if not all(map(math.isfinite, (nominal, *limits))):
            raise Trouble("its nominal value cannot be read")
        kind, faces = self._measured(number, s)
        return FileDimension(number, kind, nominal, limits[0], limits[1], tuple(faces), self._words(number))

    def _words(self, number: int) -> tuple[str, ...]:
        """What the representation of a dimension says beside its values: notes and qualifiers."""
        out: list[str] = []
        for rep in self._nominal[number]:
            args = follow(self.entities, Ref(rep)).args()
            for item in self._items(args[1] if len(args) > 1 else ()):
                held = follow(self.entities, item)
                if "DESCRIPTIVE_REPRESENTATION_ITEM" in held.types:
                    said = held.args("DESCRIPTIVE_REPRESENTATION_ITEM")[-1:]
                    out += [w for w in said if isinstance(w, str)]
                out += [w for w in self._qualifiers(held) if w not in _SIDES]
        return tuple(dict.fromkeys(w for w in out if w not in _USUAL))

    def _values(self, number: int) -> dict[str, float]:
        """Nominal value and limits [mm] or [rad] by their names in the file; "" for a value without one."""
        out: dict[str, float] = {}
        for number_of_rep in self._nominal[number]:
            rep = follow(self.entities, Ref(number_of_rep))
            for item in self._items(rep.args()[1] if len(rep.args()) > 1 else ()):
                value = self._quantity(item)
                if not math.isfinite(value):
                    continue
                held = follow(self.entities, item)
                args = held.args("REPRESENTATION_ITEM") or held.args()
                name = args[0] if args and isinstance(args[0], str) else ""
                one_sided = self._qualifier(held)
                key = one_sided or (name if name in _NAMES else "" if "" not in out else "other")
                out[key] = value
        return out

    @staticmethod
    def _size_words(s: Statement, value: float) -> str:
        angular = any("ANGULAR" in t for t in s.types)
        return f"{math.degrees(value):.6g}°" if angular else f"{value:.6g} mm"

    def _items(self, value: Value, depth: int = 0) -> list[Ref]:
        """The measures of a representation: its items, and those inside ranges and compounds."""
        if depth > 6:
            return []
        if isinstance(value, tuple):
            return [r for v in value for r in self._items(v, depth + 1)]
        if isinstance(value, Typed):
            return self._items(value.value, depth + 1)
        if not isinstance(value, Ref):
            return []
        held = follow(self.entities, value)
        if any(t in _COMPOUND for t in held.types):
            return [r for t in held.types for a in held.args(t) for r in self._items(a, depth + 1)]
        return [value]

    def _qualifier(self, held: Statement) -> str:
        """ "maximum" or "minimum" when a value is one limit alone."""
        return next((w for w in self._qualifiers(held) if w in _SIDES), "")

    def _qualifiers(self, held: Statement) -> list[str]:
        """Words that qualify a value: "maximum", "average"."""
        out = []
        for ref in (a for q in held.args("QUALIFIED_REPRESENTATION_ITEM") for a in _flat(q)):
            one = self.entities.get(ref.id)
            args = one.args("TYPE_QUALIFIER") if one is not None else ()
            out += [a for a in args[:1] if isinstance(a, str)]
        return out

    def _measured(self, number: int, s: Statement) -> tuple[str, list[int]]:
        """What a dimension measures, and the faces it is about."""
        angular = any("ANGULAR" in t for t in s.types)
        for kind in s.types:
            args = s.args(kind)
            if kind.startswith("DIMENSIONAL_SIZE") and len(args) > 1 and isinstance(args[0], Ref):
                own = self.aspects.faces(number)
                faces = self.aspects.faces(args[0].id)
                return str(args[1] or "size"), faces or own
            if kind.startswith("ANGULAR_SIZE") and args and isinstance(args[0], Ref):
                return "angle", self.aspects.faces(args[0].id)
        for kind in s.types:
            args = s.args(kind)
            if "LOCATION" in kind and len(args) > 3:
                faces = [f for r in args[2:4] if isinstance(r, Ref) for f in self.aspects.faces(r.id)]
                return ("angle" if angular else str(args[0] or "linear distance")), list(dict.fromkeys(faces))
        return "angle" if angular else "size", self.aspects.faces(number)
