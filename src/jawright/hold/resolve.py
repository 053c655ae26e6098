"""Picks of the job become faces and holes of the part: datums, features and tolerances. Part frame."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from jawright.errors import JawrightError
from jawright.geometry.frame import Vec3, dot, unit
from jawright.job.model import Feature, Job, ToleranceAsk
from jawright.part.model import Face, Hole, Part
from jawright.part.pick import face_at, hole_at, words

HOLE_KINDS = ("drill", "bore", "ream")


@dataclass(frozen=True, slots=True)
class FoundDatum:
    """A datum letter with what the part shows there."""

    letter: str
    kind: Literal["plane", "bore", "other"]
    faces: tuple[int, ...]
    point: Vec3
    normal: Vec3
    words: str


@dataclass(frozen=True, slots=True)
class FoundFeature:
    """A feature of this operation with the face or hole it makes; ``face`` None: the whole top."""

    ask: Feature
    faces: tuple[int, ...]
    hole: Hole | None
    face: Face | None


@dataclass(frozen=True, slots=True)
class Ask:
    """Everything the print asks of this operation, resolved against the part."""

    datums: tuple[FoundDatum, ...]
    features: tuple[FoundFeature, ...]
    tolerances: tuple[ToleranceAsk, ...]
    notes: tuple[str, ...]


def resolve(part: Part, job: Job) -> Ask:
    """Find the faces and holes the job names.

    Raises ``pick-empty`` or ``pick-ambiguous`` from the pick, ``value-bad`` when a feature
    of hole kind names no hole.
    """
    notes: list[str] = []
    datums = tuple(_typed_datums(part, job)) or _file_datums(part)
    if datums and not job.datums:
        notes.append(f"datums {', '.join(d.letter for d in datums)} taken from the part file")
    features = tuple(_feature(part, f) for f in job.features)
    tolerances = job.tolerances + _file_tolerances(part, job, features)
    return Ask(datums, features, tolerances, tuple(notes))


def _face_datum(letter: str, face: Face) -> FoundDatum:
    if face.kind == "plane":
        return FoundDatum(letter, "plane", (face.index,), face.center, face.normal, words(face))
    if face.kind == "cylinder" and face.axis is not None and face.axis_point is not None and face.hollow:
        return FoundDatum(letter, "bore", (face.index,), face.axis_point, unit(face.axis), words(face))
    return FoundDatum(letter, "other", (face.index,), face.center, face.normal, words(face))


def _typed_datums(part: Part, job: Job) -> list[FoundDatum]:
    found: list[FoundDatum] = []
    for d in job.datums:
        datum = _face_datum(d.letter, face_at(part, d.pick))
        if datum.kind == "bore":
            hole = hole_at(part, d.pick)
            datum = FoundDatum(d.letter, "bore", hole.faces, hole.mouth, hole.axis, datum.words)
        found.append(datum)
    return found


def _file_datums(part: Part) -> tuple[FoundDatum, ...]:
    by_index = {f.index: f for f in part.faces}
    out = []
    for d in part.datums:
        if not d.faces:
            continue
        first = _face_datum(d.letter, by_index[d.faces[0]])
        out.append(FoundDatum(d.letter, first.kind, d.faces, first.point, first.normal, first.words))
    return tuple(out)


def _feature(part: Part, ask: Feature) -> FoundFeature:
    if ask.pick is None:
        if ask.kind in HOLE_KINDS:
            raise JawrightError(
                "key-missing",
                what=f'the feature "{ask.name}" of kind {ask.kind} does not say where it is',
                todo="give at = [x, y, z], a point on the wall or at the mouth of the hole",
            )
        return FoundFeature(ask, (), None, None)
    if ask.kind in HOLE_KINDS:
        hole = hole_at(part, ask.pick)
        return FoundFeature(ask, hole.faces, hole, None)
    face = face_at(part, ask.pick)
    return FoundFeature(ask, (face.index,), None, face)


def _file_tolerances(part: Part, job: Job, features: tuple[FoundFeature, ...]) -> tuple[ToleranceAsk, ...]:
    """Tolerances of the file that govern a feature made here and are not typed in the job."""
    typed = {(t.feature, t.kind) for t in job.tolerances}
    out = []
    for t in part.tolerances:
        for f in features:
            if set(t.faces) & set(f.faces) and (f.ask.name, t.kind) not in typed:
                out.append(ToleranceAsk(f.ask.name, t.kind, t.zone, t.datums, t.diametral, t.material))
    return tuple(out)


def up_of_hole(hole: Hole, up: Vec3) -> bool:
    """Whether a cutter coming down along ``-up`` can make this hole."""
    return dot(hole.axis, unit(up)) > 0.9999 or (hole.through and dot(hole.axis, unit(up)) < -0.9999)
