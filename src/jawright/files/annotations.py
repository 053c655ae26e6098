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
from jawright.files.dimensions import FileDimension, Trouble, Unread, follow, limited_dimensions
from jawright.files.measures import angle, measure
from jawright.files.part21 import Ref, Statement, Typed, Value
from jawright.files.references import enums, letter_of, letters_in, plain_words, references, refs
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
ZONES = (
    "TOLERANCE_ZONE",
    "TOLERANCE_ZONE_WITH_DATUM",
    "DIRECTED_TOLERANCE_ZONE",
    "ORIENTED_TOLERANCE_ZONE",
)
ZONE_DEFINITIONS = {
    "PROJECTED_ZONE_DEFINITION": "",
    "PROJECTED_ZONE_DEFINITION_WITH_OFFSET": "",
    "RUNOUT_ZONE_DEFINITION": "",
    "NON_UNIFORM_ZONE_DEFINITION": "zone of changing width",
}
_WHOLE = {
    "ALL_AROUND_SHAPE_ASPECT": "all around",
    "BETWEEN_SHAPE_ASPECT": "between two places",
    "CONTINUOUS_SHAPE_ASPECT": "continuous feature",
}
"""Words for the kinds of features that a tolerance may be drawn over."""
_PLAIN_PARTS = ("GEOMETRIC_TOLERANCE", "GEOMETRIC_TOLERANCE_WITH_DATUM_REFERENCE")


@dataclass(frozen=True, slots=True)
class FileDatum:
    """A datum letter, the entity numbers of its faces, and points [mm] of targets that name none."""

    letter: str
    entity: int
    faces: tuple[int, ...]
    points: tuple[tuple[Point3, ...], ...] = ()


@dataclass(frozen=True, slots=True)
class Projected:
    """A zone that stands out of the part: its length and how far off it begins [mm], nan when not readable.

    ``faces`` are the entity numbers of the face it begins at.
    """

    length: float
    offset: float = 0.0
    faces: tuple[int, ...] = ()


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
    boundary: tuple[str, ...] = ()  # letters of datums at their maximum material boundary
    projected: Projected | None = None
    unequal: float | None = None  # displacement of an unequally disposed zone [mm], nan when not readable


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

    for row in value["tolerances"]:
        if row["projected"] is not None:
            row["projected"] = Projected(**{k: tuples(v) for k, v in row["projected"].items()})
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
    tables = tuple(
        Unread(n, s.type, "general tolerances of the file are not read: name their class in the job")
        for n, s in entities.items()
        if "DEFAULT_TOLERANCE_TABLE" in s.types
    )
    unread = tuple(sorted((*reader.unread, *missed, *tables), key=lambda u: u.entity))
    return Annotations(datums, tolerances, dimensions, unread, read_stated(entities))


_OTHERS = {"DATUM", "PLUS_MINUS_TOLERANCE", "DEFAULT_TOLERANCE_TABLE"}


def _zone_parts(zone: Statement) -> tuple[Value, Value, tuple[Value, ...]]:
    """Tolerances and form of a zone, and what its kind adds."""
    if len(zone.types) == 1:
        args = zone.args()[4:]
        return args[0], args[1], args[2:]
    args = zone.args("TOLERANCE_ZONE")
    more = [a for t in zone.types if t not in ("TOLERANCE_ZONE", "SHAPE_ASPECT") for a in zone.args(t)]
    return args[0], args[1], tuple(more)


class _Reader:
    def __init__(self, entities: Entities, aspects: Aspects) -> None:
        self.entities, self.aspects = entities, aspects
        self.unread: list[Unread] = []
        self._zones: dict[int, list[str]] = defaultdict(list)  # per tolerance the forms of its zones
        self._extra: dict[int, list[str]] = defaultdict(list)  # per tolerance words from elsewhere
        self._projected: dict[int, Projected] = {}
        for s in entities.values():
            try:
                self._note(s)
            except (Trouble, IndexError):
                continue  # what it would have said is missed, and told, where it is needed

    def _note(self, s: Statement) -> None:
        if any(t in ZONES for t in s.types):
            self._note_zone(s)
        elif "GEOMETRIC_TOLERANCE_RELATIONSHIP" in s.types:
            args = s.args("GEOMETRIC_TOLERANCE_RELATIONSHIP")
            if isinstance(args[3], Ref) and isinstance(args[2], Ref):
                self._extra[args[3].id].append(f"{args[0]}, below #{args[2].id}")
        elif any(t in ZONE_DEFINITIONS for t in s.types):
            self._note_definition(s)

    def _note_zone(self, s: Statement) -> None:
        """The form of a zone, and what else a zone of its kind says."""
        tolerances, form, more = _zone_parts(s)
        name = self._form(form)
        words = []
        for t in s.types:
            if t in ("DIRECTED_TOLERANCE_ZONE", "ORIENTED_TOLERANCE_ZONE"):
                said = " ".join(plain_words(e) for e in enums(more))
                words.append(f"zone {plain_words(t.split('_')[0])}" + (f" {said}" if said else ""))
        for ref in refs(more):
            system = self.entities.get(ref)
            if system is not None and "DATUM_SYSTEM" in system.types:
                letters, _ = letters_in(self.entities, self.aspects, system)
                words.append(f"zone set by {'|'.join(letters)}")
        for ref in refs(tolerances):
            self._zones[ref].append(name)
            self._extra[ref] += words

    def _note_definition(self, s: Statement) -> None:
        """How a zone differs from the plain one of its form."""
        kind = next(t for t in s.types if t in ZONE_DEFINITIONS)
        args = s.args(kind) if len(s.types) == 1 else (*s.args("TOLERANCE_ZONE_DEFINITION"), *s.args(kind))
        projected = None
        if kind.startswith("PROJECTED"):
            projected, words = self._projection(args)
        elif kind.startswith("RUNOUT"):
            held = self.entities.get(args[-1].id) if isinstance(args[-1], Ref) else None
            at = angle(self.entities, held.args()[0]) if held is not None and held.args() else math.nan
            words = f"run-out at {math.degrees(at):g}°" if math.isfinite(at) else "run-out in a set direction"
        else:
            words = ZONE_DEFINITIONS[kind]
        for ref in refs(_zone_parts(follow(self.entities, args[0]))[0]):
            self._extra[ref].append(words)
            if projected is not None:
                self._projected[ref] = projected

    def _projection(self, args: tuple[Value, ...]) -> tuple[Projected, str]:
        """A projected zone, and its words. ``args``: zone, boundaries, face it ends at, length, offset."""
        end = args[2] if len(args) > 2 else None
        faces = tuple(self.aspects.faces(end.id)) if isinstance(end, Ref) else ()
        known = [v for v in (measure(self.entities, a, 1) for a in args[2:]) if math.isfinite(v)]
        words = f"zone projected by {known[0]:g} mm" if known else "zone projected"
        words += f", {known[1]:g} mm off" if len(known) > 1 else ""
        length = known[0] if known and known[0] > 0 else math.nan
        return Projected(length, known[1] if len(known) > 1 else 0.0, faces), words

    def _form(self, ref: Value) -> str:
        args = follow(self.entities, ref).args("TOLERANCE_ZONE_FORM")
        return args[0] if args and isinstance(args[0], str) else ""

    def _miss(self, number: int, s: Statement, why: str) -> None:
        self.unread.append(Unread(number, s.type, why))

    # ---- datums ----------------------------------------------------------------------------

    def datums(self) -> tuple[FileDatum, ...]:
        """One per letter, in the order of the letters."""
        found: dict[str, FileDatum] = {}
        for number, s in self.entities.items():
            if "DATUM" not in s.types or "COMMON_DATUM" in s.types:
                continue
            letter = letter_of(s)
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
        datums, more, boundary = references(self.entities, self.aspects, s)
        forms = self._zones[number]
        if any(f in _BALL_ZONES for f in forms):
            modifiers.append("spherical zone")
        target = follow(self.entities, args[3])
        faces = self.aspects.faces(self._feature(args[3]))
        modifiers += [_WHOLE[t] for t in target.types if t in _WHOLE]
        return FileTolerance(
            entity=number,
            kind=kinds[0],
            zone=zone,
            datums=datums,
            faces=tuple(faces),
            diametral=any(f in _ROUND_ZONES or f in _BALL_ZONES for f in forms) if forms else None,
            material=material,
            modifiers=tuple(dict.fromkeys((*modifiers, *more, *self._extra[number]))),
            everywhere="PRODUCT_DEFINITION_SHAPE" in target.types,
            boundary=boundary,
            projected=self._projected.get(number),
            unequal=self._displacement(s),
        )

    def _displacement(self, s: Statement) -> float | None:
        """How far a zone is disposed unequally [mm]; None for one that is not, nan when not readable."""
        kind = "UNEQUALLY_DISPOSED_GEOMETRIC_TOLERANCE"
        if kind not in s.types:
            return None
        args = s.args(kind)
        return measure(self.entities, args[0] if len(s.types) > 1 else args[-1], 1) if args else math.nan

    def _length(self, value: Value) -> float:
        if isinstance(value, Typed):
            raise Trouble("its value has no unit")
        size = measure(self.entities, value, 1)
        if not size >= 0 or not math.isfinite(size):
            raise Trouble("its value or unit cannot be read")
        return size

    def _feature(self, ref: Value) -> int:
        """The aspect a tolerance or dimension is about: of a dimension of size, the feature measured."""
        held = follow(self.entities, ref)
        assert isinstance(ref, Ref)
        for kind in ("DIMENSIONAL_SIZE", "ANGULAR_SIZE", "DIMENSIONAL_SIZE_WITH_PATH"):
            args = held.args(kind) if kind in held.types else ()
            if args and isinstance(args[0], Ref):
                return args[0].id
        for kind in ("DIMENSIONAL_LOCATION", "DIRECTED_DIMENSIONAL_LOCATION", "SHAPE_ASPECT_RELATIONSHIP"):
            args = held.args(kind) if kind in held.types else ()
            if len(args) > 3 and isinstance(args[3], Ref):
                return args[3].id  # what is located, from the other one
        return ref.id

    def _modifiers(self, s: Statement) -> tuple[Material, list[str]]:
        material: Material = ""
        words: list[str] = []
        for kind in s.types:
            args = s.args(kind)
            if kind in ("GEOMETRIC_TOLERANCE_WITH_MODIFIERS", "MODIFIED_GEOMETRIC_TOLERANCE"):
                for m in enums(args):
                    if m in _MATERIAL:
                        material = _MATERIAL[m]
                    else:
                        words.append(plain_words(m))
            elif kind == "GEOMETRIC_TOLERANCE_WITH_MAXIMUM_TOLERANCE":
                words.append(f"at most {measure(self.entities, args[0], 1):g} mm")
            elif kind == "GEOMETRIC_TOLERANCE_WITH_DEFINED_UNIT":
                words.append(f"on each {measure(self.entities, args[0], 1):g} mm")
            elif kind == "GEOMETRIC_TOLERANCE_WITH_DEFINED_AREA_UNIT":
                second = measure(self.entities, args[1], 1) if len(args) > 1 else math.nan
                wide = f" × {second:g} mm" if math.isfinite(second) else ""
                words.append(f"{' '.join(plain_words(e) for e in enums(args[:1]))} area{wide}")
            elif kind == "UNEQUALLY_DISPOSED_GEOMETRIC_TOLERANCE":
                words.append(f"unequally disposed by {measure(self.entities, args[0], 1):g} mm")
            elif kind.startswith("NON_UNIFORM"):
                words.append("zone of changing width")
            elif kind not in KINDS and kind not in _PLAIN_PARTS:
                words += [plain_words(e) for e in enums(args)] or [plain_words(kind)]
        return material, words
