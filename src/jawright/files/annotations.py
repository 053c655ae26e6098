"""Semantic tolerances, datums and toleranced dimensions of an exchange file, as plain data.

Read from the text by our own walk: the solid kernel's reader loses the sign of lower limits,
whole tolerances and faces of datums. What cannot be read is named, so that the reader never says
there is less than there is. Entities: ISO 10303-47 and 10303-242.
"""

from __future__ import annotations

import math
from collections import defaultdict
from dataclasses import dataclass
from typing import Any, Literal

from jawright.files.aspects import TARGETS, Aspects, Entities, Point3
from jawright.files.dimensions import FileDimension, Trouble, Unread, limited_dimensions
from jawright.files.measures import measure
from jawright.files.part21 import Enum, Ref, Statement, Typed, Value
from jawright.files.stated import Stated, read_stated

KINDS = {
    "ANGULARITY_TOLERANCE": "angularity",
    "CIRCULAR_RUNOUT_TOLERANCE": "circular run-out",
    "COAXIALITY_TOLERANCE": "coaxiality",
    "CONCENTRICITY_TOLERANCE": "concentricity",
    "CYLINDRICITY_TOLERANCE": "cylindricity",
    "FLATNESS_TOLERANCE": "flatness",
    "LINE_PROFILE_TOLERANCE": "profile of a line",
    "PARALLELISM_TOLERANCE": "parallelism",
    "PERPENDICULARITY_TOLERANCE": "perpendicularity",
    "POSITION_TOLERANCE": "position",
    "ROUNDNESS_TOLERANCE": "roundness",
    "STRAIGHTNESS_TOLERANCE": "straightness",
    "SURFACE_PROFILE_TOLERANCE": "profile of a surface",
    "SYMMETRY_TOLERANCE": "symmetry",
    "TOTAL_RUNOUT_TOLERANCE": "total run-out",
}
"""Entity types and the words of ISO 1101."""
Material = Literal["", "maximum", "least"]
_MATERIAL: dict[str, Material] = {
    "MAXIMUM_MATERIAL_REQUIREMENT": "maximum",
    "MAXIMUM_MATERIAL_CONDITION": "maximum",
    "LEAST_MATERIAL_REQUIREMENT": "least",
    "LEAST_MATERIAL_CONDITION": "least",
}
_ROUND_ZONES = ("cylindrical or circular", "within a cylinder", "within a circle")
_BALL_ZONES = ("spherical", "within a sphere")


@dataclass(frozen=True, slots=True)
class FileDatum:
    """A datum letter, the entity numbers of its faces, and points [mm] of targets that name none."""

    letter: str
    entity: int
    faces: tuple[int, ...]
    points: tuple[tuple[Point3, ...], ...] = ()


@dataclass(frozen=True, slots=True)
class FileTolerance:
    """One tolerance; ``faces`` are entity numbers, ``diametral`` None where the file names no zone form."""

    entity: int
    kind: str
    zone: float  # [mm]
    datums: tuple[str, ...]
    faces: tuple[int, ...]
    diametral: bool | None
    material: Material
    modifiers: tuple[str, ...]
    everywhere: bool = False  # governs the whole part


@dataclass(frozen=True, slots=True)
class Annotations:
    """All that was read, and all that was not."""

    datums: tuple[FileDatum, ...]
    tolerances: tuple[FileTolerance, ...]
    dimensions: tuple[FileDimension, ...]
    unread: tuple[Unread, ...]
    stated: Stated


def from_plain(value: dict[str, Any]) -> Annotations:
    """The annotations again after a way through JSON as ``asdict`` gives them."""

    def tuples(v: Any) -> Any:
        return tuple(tuples(w) for w in v) if isinstance(v, list) else v

    def all_of(kind: Any, rows: list[dict[str, Any]]) -> Any:
        return tuple(kind(**{k: tuples(v) for k, v in row.items()}) for row in rows)

    return Annotations(
        all_of(FileDatum, value["datums"]),
        all_of(FileTolerance, value["tolerances"]),
        all_of(FileDimension, value["dimensions"]),
        all_of(Unread, value["unread"]),
        Stated(**{k: tuples(v) for k, v in value["stated"].items()}),
    )


def is_tolerance(s: Statement) -> bool:
    """Whether a statement is a geometric tolerance, known or not: any ``…_TOLERANCE`` but plus-minus."""
    return any(t.endswith("_TOLERANCE") and t != "PLUS_MINUS_TOLERANCE" for t in s.types)


def read_annotations(entities: Entities) -> Annotations:
    """The annotations of a file; what is not understood is in ``unread``.

    Raises ``file-broken`` for a statement that is damaged.
    """
    if not any(is_tolerance(s) or set(s.types) & _OTHERS for s in entities.values()):
        return Annotations((), (), (), (), read_stated(entities))
    aspects = Aspects(entities)
    reader = _Reader(entities, aspects)
    datums, tolerances = reader.datums(), reader.tolerances()
    dimensions, missed = limited_dimensions(entities, aspects)
    unread = tuple(sorted((*reader.unread, *missed), key=lambda u: u.entity))
    return Annotations(datums, tolerances, dimensions, unread, read_stated(entities))


_OTHERS = {"DATUM", "PLUS_MINUS_TOLERANCE"}


class _Reader:
    def __init__(self, entities: Entities, aspects: Aspects) -> None:
        self.entities, self.aspects = entities, aspects
        self.unread: list[Unread] = []
        self._zones: dict[int, list[str]] = defaultdict(list)  # per tolerance the forms of its zones
        self._extra: dict[int, list[str]] = defaultdict(list)  # per tolerance words from elsewhere
        for s in entities.values():
            try:
                self._note(s)
            except (Trouble, IndexError):
                continue  # what it would have said is missed, and told, where it is needed

    def _note(self, s: Statement) -> None:
        if "TOLERANCE_ZONE" in s.types:
            args = s.args("TOLERANCE_ZONE") if len(s.types) > 1 else s.args()[4:]
            form = self._form(args[1])
            for ref in _refs(args[0]):
                self._zones[ref].append(form)
        elif "GEOMETRIC_TOLERANCE_RELATIONSHIP" in s.types:
            args = s.args("GEOMETRIC_TOLERANCE_RELATIONSHIP")
            if isinstance(args[3], Ref) and isinstance(args[2], Ref):
                self._extra[args[3].id].append(f"{args[0]}, below #{args[2].id}")
        elif "PROJECTED_ZONE_DEFINITION" in s.types:
            args = s.args("PROJECTED_ZONE_DEFINITION")
            zone = self._held(args[0])
            inner = zone.args("TOLERANCE_ZONE") if len(zone.types) > 1 else zone.args()[4:]
            for ref in _refs(inner[0]):
                self._extra[ref].append(f"zone projected by {measure(self.entities, args[-1], 1):g} mm")

    def _form(self, ref: Value) -> str:
        args = self._held(ref).args("TOLERANCE_ZONE_FORM")
        return args[0] if args and isinstance(args[0], str) else ""

    def _held(self, ref: Value) -> Statement:
        held = self.entities.get(ref.id) if isinstance(ref, Ref) else None
        if held is None:
            raise Trouble("a reference leads nowhere")
        return held

    def _miss(self, number: int, s: Statement, why: str) -> None:
        self.unread.append(Unread(number, s.type, why))

    # ---- datums ----------------------------------------------------------------------------

    def datums(self) -> tuple[FileDatum, ...]:
        """One per letter, in the order of the letters."""
        found: dict[str, FileDatum] = {}
        for number, s in self.entities.items():
            if "DATUM" not in s.types or "COMMON_DATUM" in s.types:
                continue
            letter = _letter(s)
            if not letter:
                self._miss(number, s, "it has no letter")
                continue
            faces = self.aspects.faces(number)
            points: list[tuple[Point3, ...]] = []
            for a in self.aspects.datum_features(number):
                own = self.aspects.faces(a)
                faces += [f for f in own if f not in faces]
                if not own and any(t in TARGETS for t in self.entities[a].types):
                    points.append(tuple(self.aspects.target_points(a)))
            before = found.get(letter)
            if before is not None:
                faces = [*before.faces, *(f for f in faces if f not in before.faces)]
                points = [*before.points, *points]
            first = before.entity if before is not None else number
            found[letter] = FileDatum(letter, first, tuple(faces), tuple(points))
        return tuple(found[k] for k in sorted(found))

    # ---- tolerances ------------------------------------------------------------------------

    def tolerances(self) -> tuple[FileTolerance, ...]:
        out = []
        for number, s in self.entities.items():
            if is_tolerance(s):
                try:
                    out.append(self._tolerance(number, s))
                except Trouble as why:
                    self._miss(number, s, str(why))
                except (IndexError, TypeError, ValueError):
                    self._miss(number, s, "it is not written as the standard says")
        return tuple(sorted(out, key=lambda t: t.entity))

    def _tolerance(self, number: int, s: Statement) -> FileTolerance:
        kinds = [KINDS[t] for t in s.types if t in KINDS]
        if len(kinds) != 1:
            raise Trouble("its kind is not known")
        args = s.args("GEOMETRIC_TOLERANCE") if len(s.types) > 1 else s.args()
        if len(args) < 4:
            raise Trouble("it lacks its value or feature")
        zone = self._length(args[2])
        material, modifiers = self._modifiers(s)
        datums, boundary = self._references(s)
        forms = self._zones[number]
        if any(f in _BALL_ZONES for f in forms):
            modifiers.append("spherical zone")
        target = self._held(args[3])
        faces = self.aspects.faces(self._feature(args[3]))
        return FileTolerance(
            entity=number,
            kind=kinds[0],
            zone=zone,
            datums=datums,
            faces=tuple(faces),
            diametral=any(f in _ROUND_ZONES or f in _BALL_ZONES for f in forms) if forms else None,
            material=material,
            modifiers=tuple(dict.fromkeys((*modifiers, *boundary, *self._extra[number]))),
            everywhere="PRODUCT_DEFINITION_SHAPE" in target.types,
        )

    def _length(self, value: Value) -> float:
        if isinstance(value, Typed):
            raise Trouble("its value has no unit")
        size = measure(self.entities, value, 1)
        if not size >= 0 or not math.isfinite(size):
            raise Trouble("its value or unit cannot be read")
        return size

    def _feature(self, ref: Value) -> int:
        """The aspect a tolerance or dimension is about: of a dimension of size, the feature measured."""
        held = self._held(ref)
        assert isinstance(ref, Ref)
        for kind in ("DIMENSIONAL_SIZE", "ANGULAR_SIZE", "DIMENSIONAL_SIZE_WITH_PATH"):
            args = held.args(kind) if kind in held.types else ()
            if args and isinstance(args[0], Ref):
                return args[0].id
        return ref.id

    def _modifiers(self, s: Statement) -> tuple[Material, list[str]]:
        material: Material = ""
        words: list[str] = []
        for kind in s.types:
            args = s.args(kind)
            if kind in ("GEOMETRIC_TOLERANCE_WITH_MODIFIERS", "MODIFIED_GEOMETRIC_TOLERANCE"):
                for m in _enums(args):
                    if m in _MATERIAL:
                        material = _MATERIAL[m]
                    else:
                        words.append(_plain(m))
            elif kind == "GEOMETRIC_TOLERANCE_WITH_MAXIMUM_TOLERANCE":
                words.append(f"at most {measure(self.entities, args[0], 1):g} mm")
            elif kind == "GEOMETRIC_TOLERANCE_WITH_DEFINED_UNIT":
                words.append(f"on each {measure(self.entities, args[0], 1):g} mm")
            elif kind == "GEOMETRIC_TOLERANCE_WITH_DEFINED_AREA_UNIT":
                second = measure(self.entities, args[1], 1) if len(args) > 1 else math.nan
                wide = f" × {second:g} mm" if math.isfinite(second) else ""
                words.append(f"{' '.join(_plain(e) for e in _enums(args[:1]))} area{wide}")
            elif kind == "UNEQUALLY_DISPOSED_GEOMETRIC_TOLERANCE":
                words.append(f"unequally disposed by {measure(self.entities, args[0], 1):g} mm")
            elif kind.startswith("NON_UNIFORM"):
                words.append("zone of changing width")
        return material, words

    # ---- datum references ------------------------------------------------------------------

    def _references(self, s: Statement) -> tuple[tuple[str, ...], list[str]]:
        """Datum letters in the order of the frame, common datums joined by a dash; and their modifiers."""
        if "GEOMETRIC_TOLERANCE_WITH_DATUM_REFERENCE" in s.types and len(s.types) > 1:
            refs = s.args("GEOMETRIC_TOLERANCE_WITH_DATUM_REFERENCE")[0]
        else:
            refs = s.args()[4] if len(s.types) == 1 and len(s.args()) > 4 else ()
        out: list[str] = []
        words: list[str] = []
        loose: list[tuple[int, str]] = []
        for ref in refs if isinstance(refs, tuple) else ():
            held = self._held(ref)
            if "DATUM_SYSTEM" in held.types:
                inner = held.args("DATUM_SYSTEM")[-1]
                for part in inner if isinstance(inner, tuple) else ():
                    out.append(self._compartment(part, words))
            else:
                loose.append(self._old_reference(held, words))
        return (*out, *(letter for _, letter in sorted(loose))), words

    def _compartment(self, ref: Value, words: list[str]) -> str:
        args = self._held(ref).args()
        base = args[4]
        if isinstance(base, Typed):  # COMMON_DATUM_LIST((#1,#2))
            base = _sequence(base.value)
        if isinstance(base, tuple):
            letter = "-".join(self._compartment(r, words) for r in base)
        else:
            letter = self._datum_letter(base)
        words += [f"datum {letter} {_plain(m)}" for m in _enums(args[5:])]
        for number in _refs(args[5]) if len(args) > 5 and args[5] is not None else ():
            words.append(f"datum {letter} with a modifier of a value (#{number})")
        return letter

    def _old_reference(self, held: Statement, words: list[str]) -> tuple[int, str]:
        """Precedence and letter of a reference as older editions write it."""
        for kind in ("DATUM_REFERENCE", "REFERENCED_MODIFIED_DATUM"):
            args = held.args(kind) if kind in held.types else ()
            if len(args) >= 2 and isinstance(args[0], int):
                letter = self._datum_letter(args[1])
                words += [f"datum {letter} {_plain(m)}" for m in _enums(args[2:])]
                return args[0], letter
        raise Trouble("its datum reference cannot be read")

    def _datum_letter(self, ref: Value) -> str:
        held = self._held(ref)
        letter = _letter(held)
        if not letter and isinstance(ref, Ref) and "COMMON_DATUM" in held.types:
            parts = [self.entities[a] for a in self.aspects.datums_in(ref.id)]
            letter = "-".join(_letter(p) for p in parts)
        if not letter:
            raise Trouble("a datum it refers to has no letter")
        return letter


def _letter(s: Statement) -> str:
    args = s.args("DATUM")
    found = args[-1] if args else ""
    return found.strip() if isinstance(found, str) else ""


def _plain(word: str) -> str:
    return word.lower().replace("_", " ")


def _refs(value: Value) -> list[int]:
    return [r.id for r in _sequence(value) if isinstance(r, Ref)]


def _sequence(value: Value) -> tuple[Value, ...]:
    return value if isinstance(value, tuple) else (value,)


def _enums(value: Value | tuple[Value, ...]) -> list[str]:
    if isinstance(value, Enum):
        return [value.word]
    if isinstance(value, tuple):
        return [w for v in value for w in _enums(v)]
    return _enums(value.value) if isinstance(value, Typed) else []
