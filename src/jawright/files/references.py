"""Datum references of a tolerance: letters in their order, common datums, modifiers in words."""

from __future__ import annotations

import math

from jawright.files.aspects import Aspects, Entities
from jawright.files.dimensions import Trouble
from jawright.files.measures import measure
from jawright.files.part21 import Enum, Ref, Statement, Typed, Value

AT_MAXIMUM = (
    "MAXIMUM_MATERIAL_REQUIREMENT",
    "MAXIMUM_MATERIAL_CONDITION",
    "MAXIMUM_MATERIAL_BOUNDARY",
    "MAXIMUM_MATERIAL",
)
"""How editions write that a datum is taken at its maximum material boundary."""

DEEPEST = 4
"""How many compartments may stand in one another: a common datum is one in one."""


def references(
    entities: Entities, aspects: Aspects, s: Statement
) -> tuple[tuple[str, ...], list[str], tuple[str, ...]]:
    """Datum letters of a tolerance in the order of its frame, common datums joined by a dash; modifiers
    in words; and the letters taken at their maximum material boundary.

    Raises ``Trouble`` for a reference that cannot be read.
    """
    reader = _References(entities, aspects)
    letters, words = reader.of(s)
    return letters, words, tuple(x for x in letters if x in reader.at_maximum)


def letters_in(entities: Entities, aspects: Aspects, system: Statement) -> tuple[tuple[str, ...], list[str]]:
    """Letters and modifiers of a datum system."""
    words: list[str] = []
    return tuple(_References(entities, aspects).system(system, words)), words


class _References:
    def __init__(self, entities: Entities, aspects: Aspects) -> None:
        self.entities, self.aspects = entities, aspects
        self.at_maximum: set[str] = set()

    def _held(self, ref: Value) -> Statement:
        held = self.entities.get(ref.id) if isinstance(ref, Ref) else None
        if held is None:
            raise Trouble("a reference leads nowhere")
        return held

    def of(self, s: Statement) -> tuple[tuple[str, ...], list[str]]:
        if "GEOMETRIC_TOLERANCE_WITH_DATUM_REFERENCE" in s.types and len(s.types) > 1:
            given = s.args("GEOMETRIC_TOLERANCE_WITH_DATUM_REFERENCE")[0]
        else:
            given = s.args()[4] if len(s.types) == 1 and len(s.args()) > 4 else ()
        out: list[str] = []
        words: list[str] = []
        loose: list[tuple[int, str]] = []
        for ref in given if isinstance(given, tuple) else ():
            held = self._held(ref)
            if "DATUM_SYSTEM" in held.types:
                out += self.system(held, words)
            else:
                loose.append(self._old_reference(held, words))
        return (*out, *(letter for _, letter in sorted(loose))), words

    def system(self, held: Statement, words: list[str]) -> list[str]:
        """The compartments of a datum system in their order."""
        inner = held.args("DATUM_SYSTEM")[-1]
        return [self._compartment(part, words) for part in (inner if isinstance(inner, tuple) else ())]

    def _compartment(self, ref: Value, words: list[str], *, within: int = 0) -> str:
        """Letters of one compartment, those of a common datum joined; compartments may stand in others."""
        if within > DEEPEST:  # one that stands in itself never ends
            raise Trouble("its datum references lead round in a circle")
        held = self._held(ref)
        args = held.args()[4:] if len(held.types) == 1 else held.args("GENERAL_DATUM_REFERENCE")
        base = args[0]
        if isinstance(base, Typed):  # COMMON_DATUM_LIST((#1,#2))
            base = _sequence(base.value)
        if isinstance(base, tuple):
            letter = "-".join(self._compartment(r, words, within=within + 1) for r in base)
        else:
            letter = self._datum_letter(base)
        self._modified(letter, enums(args[1:]), words)
        for number in refs(args[1]) if len(args) > 1 and args[1] is not None else ():
            words.append(f"datum {letter} {self._valued(number)}")
        return letter

    def _modified(self, letter: str, modifiers: list[str], words: list[str]) -> None:
        words += [f"datum {letter} {plain_words(m)}" for m in modifiers]
        if set(modifiers) & set(AT_MAXIMUM):
            self.at_maximum.add(letter)

    def _valued(self, number: int) -> str:
        """A modifier that has a value: "projected 12 mm"."""
        held = self.entities.get(number)
        args = held.args("DATUM_REFERENCE_MODIFIER_WITH_VALUE") if held is not None else ()
        size = measure(self.entities, args[1], 1) if len(args) > 1 else math.nan
        said = " ".join(plain_words(e) for e in enums(args[:1]))
        return (
            f"{said} {size:g} mm"
            if said and math.isfinite(size)
            else f"with a modifier of a value (#{number})"
        )

    def _old_reference(self, held: Statement, words: list[str]) -> tuple[int, str]:
        """Precedence and letter of a reference as older editions write it."""
        for kind in ("DATUM_REFERENCE", "REFERENCED_MODIFIED_DATUM"):
            args = held.args(kind) if kind in held.types else ()
            if len(args) >= 2 and isinstance(args[0], int):
                letter = self._datum_letter(args[1])
                more = (*args[2:], *(held.args("REFERENCED_MODIFIED_DATUM") if len(held.types) > 1 else ()))
                self._modified(letter, enums(more), words)
                return args[0], letter
        raise Trouble("its datum reference cannot be read")

    def _datum_letter(self, ref: Value) -> str:
        held = self._held(ref)
        letter = letter_of(held)
        if not letter and isinstance(ref, Ref) and "COMMON_DATUM" in held.types:
            parts = [self.entities[a] for a in self.aspects.datums_in(ref.id)]
            letter = "-".join(letter_of(p) for p in parts)
        if not letter:
            raise Trouble("a datum it refers to has no letter")
        return letter


def letter_of(s: Statement) -> str:
    """Letter of a datum; "" when it has none."""
    args = s.args("DATUM")
    found = args[-1] if args else ""
    return found.strip() if isinstance(found, str) else ""


def plain_words(word: str) -> str:
    """An enumeration as words."""
    return word.lower().replace("_", " ")


def refs(value: Value) -> list[int]:
    """Entity numbers in a reference or a list of them."""
    return [r.id for r in _sequence(value) if isinstance(r, Ref)]


def _sequence(value: Value) -> tuple[Value, ...]:
    return value if isinstance(value, tuple) else (value,)


def enums(value: Value | tuple[Value, ...]) -> list[str]:
    """All enumerations in a value, however deep."""
    if isinstance(value, Enum):
        return [value.word]
    if isinstance(value, tuple):
        return [w for v in value for w in enums(v)]
    return enums(value.value) if isinstance(value, Typed) else []
