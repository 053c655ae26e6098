"""Picks of the job become faces and holes of the part: datums, features and tolerances. Part frame."""

from __future__ import annotations

from jawright.errors import JawrightError
from jawright.geometry.frame import Vec3, dot, unit
from jawright.handbook import nearest
from jawright.hold.found import Ask, FoundDatum, FoundFeature
from jawright.hold.incoming import stock_model
from jawright.hold.printed import bore_size, from_file, general
from jawright.hold.reach import reached
from jawright.job.model import Feature, Job
from jawright.part.model import Face, Hole, Part
from jawright.part.pick import face_at, hole_at, words

__all__ = ["HOLE_KINDS", "Ask", "FoundDatum", "FoundFeature", "resolve", "up_of_hole"]

HOLE_KINDS = ("drill", "bore", "ream")


def resolve(part: Part, job: Job) -> Ask:
    """Find the faces and holes the job names.

    Tolerances of the file join those typed in the job; general ones stand in where a feature has none.
    Raises ``pick-empty`` or ``pick-ambiguous`` from the pick, ``value-bad`` when a feature
    of hole kind names no hole, or a tolerance a feature that is not made here.
    """
    notes: list[str] = []
    datums = tuple(_typed_datums(part, job)) or _file_datums(part)
    if datums and not job.datums:
        notes.append(f"datums {', '.join(d.letter for d in datums)} taken from the part file")
    features = tuple(_feature(part, f) for f in job.features)
    if job.reachable:
        assert job.up is not None  # the reader asks for it
        found = reached(part, job.up, stock_model(job), taken=features)
        features += found.features
        notes += [_listed(found.features), *found.notes]
        _check_names(job, features)
    printed = from_file(part, job, datums, features)
    tolerances = job.tolerances + printed.tolerances
    more = general(part, job, datums, features, tolerances)
    return Ask(datums, features, tolerances + more.tolerances, (*notes, *printed.notes, *more.notes))


def _listed(found: tuple[FoundFeature, ...]) -> str:
    names = ", ".join(f.ask.name for f in found)
    return f"made in this operation, as everything that is reached from above: {names or 'nothing more'}"


def _check_names(job: Job, features: tuple[FoundFeature, ...]) -> None:
    """Tolerances typed for features that were only now found must name one of them."""
    known = [f.ask.name for f in features]
    for t in job.tolerances:
        if t.feature not in known:
            near = nearest(t.feature, known)
            hint = f'did you mean "{near}"? ' if near else ""
            raise JawrightError(
                "value-bad",
                what=f'no feature of this operation is called "{t.feature}"',
                where=f"{job.source}: tolerance",
                todo=f"{hint}features: {', '.join(known) or 'none'}",
            )


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
            size = bore_size(part, hole.faces)
            datum = FoundDatum(d.letter, "bore", hole.faces, hole.mouth, hole.axis, datum.words, size)
        found.append(datum)
    return found


def _file_datums(part: Part) -> tuple[FoundDatum, ...]:
    by_index = {f.index: f for f in part.faces}
    out = []
    for d in part.datums:
        if not d.faces:
            continue
        first = _face_datum(d.letter, by_index[d.faces[0]])
        size = bore_size(part, d.faces) if first.kind == "bore" else None
        out.append(FoundDatum(d.letter, first.kind, d.faces, first.point, first.normal, first.words, size))
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


def up_of_hole(hole: Hole, up: Vec3) -> bool:
    """Whether a cutter coming down along ``-up`` can make this hole."""
    return dot(hole.axis, unit(up)) > 0.9999 or (hole.through and dot(hole.axis, unit(up)) < -0.9999)
