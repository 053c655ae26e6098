"""Picks of the job become faces and holes of the part: datums, features and tolerances. Part frame.

Lengths in mm, angles in rad.
"""

from __future__ import annotations

from collections.abc import Sequence

from jawright.errors import JawrightError
from jawright.geometry.frame import Vec3, dot, unit
from jawright.handbook import nearest
from jawright.hold.apart import all_round
from jawright.hold.found import Ask, FoundDatum, FoundFeature, together
from jawright.hold.incoming import stock_model
from jawright.hold.printed import bore_size, from_file, general
from jawright.hold.reach import reached
from jawright.job.model import Feature, Job
from jawright.part.band import face_heights
from jawright.part.features import find_features
from jawright.part.model import Face, Hole, Part, Recess
from jawright.part.pick import direction, face_at, hole_at, words

__all__ = ["HOLE_KINDS", "Ask", "FoundDatum", "FoundFeature", "resolve", "up_of_hole"]

HOLE_KINDS = ("drill", "bore", "ream")
OPPOSITE = 1 - 1e-6
"""Least cosine between the normals of two walls that have a middle plane."""
LEVEL_WITH = 1e-4
"""Faces that are no more apart in height [mm] are one top."""


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
    features = tuple(_feature(part, f, job.up) for f in job.features)
    if job.reachable:
        assert job.up is not None  # the reader asks for it
        found = reached(part, job.up, stock_model(job), taken=features)
        features += found.features
        notes += [_listed(found.features), *found.notes]
        _check_names(job, features)
    _check_sizes(job, features)
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


def _check_sizes(job: Job, features: Sequence[FoundFeature]) -> None:
    """A size that was typed must be that of a hole or of a round wall."""
    flat = {
        f.ask.name: f.face
        for f in features
        if f.hole is None and (f.face is None or f.face.kind != "cylinder")
    }
    for t in job.tolerances:
        if t.kind == "size" and t.feature in flat:
            raise JawrightError(
                "value-bad",
                what=f"{t.feature} is not round and has no size here",
                where=f"{job.source}: tolerance",
                todo="use distance from a datum, or pick the round wall",
            )


def _face_datum(letter: str, face: Face) -> FoundDatum:
    if face.kind == "plane":
        return FoundDatum(letter, "plane", (face.index,), face.center, face.normal, words(face))
    if face.kind == "cylinder" and face.axis is not None and face.axis_point is not None:
        a, p = unit(face.axis), face.axis_point
        t = dot(a, _less(face.center, p))
        middle = (p[0] + t * a[0], p[1] + t * a[1], p[2] + t * a[2])
        return FoundDatum(letter, "bore" if face.hollow else "round", (face.index,), middle, a, words(face))
    return FoundDatum(letter, "other", (face.index,), face.center, face.normal, words(face))


def _less(p: Vec3, q: Vec3) -> Vec3:
    return (p[0] - q[0], p[1] - q[1], p[2] - q[2])


def _width(letter: str, faces: Sequence[Face]) -> FoundDatum | None:
    """The middle plane of two walls that face away from or toward each other; None when they do not."""
    flat = [f for f in faces if f.kind == "plane"]
    if len(flat) != len(faces) or len(flat) < 2:
        return None
    first = flat[0]
    n = unit(first.normal)
    other = [f for f in flat if dot(unit(f.normal), n) < -OPPOSITE]
    if not other or len(other) + sum(dot(unit(f.normal), n) > OPPOSITE for f in flat) != len(flat):
        return None
    a, b = first.center, other[0].center
    wide = dot(_less(a, b), n)
    at = (a[0] - wide / 2 * n[0], a[1] - wide / 2 * n[1], a[2] - wide / 2 * n[2])
    named = f"middle of {abs(wide):.1f} mm between {direction(first.normal)} and {direction(other[0].normal)}"
    return FoundDatum(letter, "width", (first.index, other[0].index), at, n, named)


def _typed_datums(part: Part, job: Job) -> list[FoundDatum]:
    found: list[FoundDatum] = []
    for d in job.datums:
        one = face_at(part, d.pick)
        datum = _face_datum(d.letter, one)
        if d.opposite is not None:
            middle = _width(d.letter, (one, face_at(part, d.opposite)))
            if middle is None:
                raise JawrightError(
                    "value-bad",
                    what=f"the walls at the two points of datum {d.letter} are not opposite planes",
                    where=f"{job.source}: datum {d.letter}",
                    todo="give in opposite a point on the wall across, or leave it out",
                )
            found.append(middle)
            continue
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
        middle = _width(d.letter, [by_index[k] for k in d.faces])
        if middle is not None:
            out.append(middle)
            continue
        first = _face_datum(d.letter, by_index[d.faces[0]])
        size = bore_size(part, d.faces) if first.kind == "bore" else None
        out.append(FoundDatum(d.letter, first.kind, d.faces, first.point, first.normal, first.words, size))
    return tuple(out)


def _feature(part: Part, ask: Feature, up: Vec3 | None) -> FoundFeature:
    if ask.pick is None:
        if ask.kind in HOLE_KINDS:
            raise JawrightError(
                "key-missing",
                what=f'the feature "{ask.name}" of kind {ask.kind} does not say where it is',
                todo="give at = [x, y, z], a point on the wall or at the mouth of the hole",
            )
        if ask.kind == "profile":
            return _outline(part, ask, up)
        return FoundFeature(ask, _top(part, up) if ask.kind == "face" and up else (), None, None)
    if ask.kind in HOLE_KINDS:
        hole = hole_at(part, ask.pick)
        return FoundFeature(ask, hole.faces, hole, None)
    face = face_at(part, ask.pick)
    return FoundFeature(ask, (face.index,), None, face, _window(part, ask, face))


def _outline(part: Part, ask: Feature, up: Vec3 | None) -> FoundFeature:
    """A profile that says no place goes round the whole outline."""
    if up is None:
        raise JawrightError(
            "key-missing",
            what=f'the feature "{ask.name}" goes round the outline, and which face is up is not said',
            where="hold.up",
            todo='give [hold] up = "+Z", or at = [x, y, z], a point on the wall that is milled',
        )
    walls = all_round(part, up, ask.name)
    return FoundFeature(ask, walls, None, together(part, walls))


def _top(part: Part, up: Vec3) -> tuple[int, ...]:
    """The level faces at the very top, which one facing cut makes; none where the top is no level face."""
    way = unit(up)
    high = max(b for _, b in face_heights(part, up))
    return tuple(
        f.index
        for f in part.faces
        if f.kind == "plane" and dot(f.normal, way) > OPPOSITE and dot(f.center, way) > high - LEVEL_WITH
    )


def _window(part: Part, ask: Feature, face: Face) -> Recess | None:
    """The opening right through the part that a pocket or slot picked at one of its walls makes."""
    if ask.kind not in ("pocket", "slot") or ask.through is False:
        return None
    mine = [r for r in find_features(part).recesses if r.through and r.closed and face.index in r.walls]
    return mine[0] if mine else None


def up_of_hole(hole: Hole, up: Vec3) -> bool:
    """Whether a cutter coming down along ``-up`` can make this hole."""
    return dot(hole.axis, unit(up)) > 0.9999 or (hole.through and dot(hole.axis, unit(up)) < -0.9999)
