"""The print of a part: annotations of its file joined to the faces of its solid.

Whatever the file holds and this does not understand is named in the findings, so that the part
never says there is less than there is.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass

from jawright import kernel, units
from jawright.files.annotations import Annotations, FileDatum, FileTolerance
from jawright.files.aspects import Point3
from jawright.files.dimensions import Unread
from jawright.part.model import Datum, Dimension, Face, Projection, Tolerance

ON = 0.05
"""Distance [mm] within which a datum target lies on a face: files round the places of targets."""
AREA = 0.02
"""Relative difference of areas that is accepted: files state them of a net of triangles, 0.6 % off."""
_ROUND = ("position", "coaxiality", "concentricity")
_NAMED = 20  # unread things named one by one

Note = tuple[str, str]
"""Level of a finding and its words."""


@dataclass(frozen=True, slots=True)
class Print:
    """Datums by letter, tolerances and dimensions in the order of the file, and what to tell of them."""

    datums: tuple[Datum, ...]
    tolerances: tuple[Tolerance, ...]
    dimensions: tuple[Dimension, ...]
    notes: tuple[Note, ...]


def read_print(
    held: Annotations, faces: Sequence[Face], shape: bytes, *, counted: int, drawn_to: str = ""
) -> Print:
    """Join the annotations of a file to the faces read from it.

    ``counted`` tolerances are in the file's text, which names the drawing standard ``drawn_to``. Faces
    are joined by their entity numbers; a datum target that names no face takes the face its points lie on.
    """
    by_number = {f.step_id: f.index for f in faces if f.step_id is not None}

    def joined(numbers: Iterable[int]) -> tuple[int, ...]:
        return tuple(by_number[n] for n in numbers if n in by_number)

    zones_named = any(t.diametral is not None for t in held.tolerances)
    everything = tuple(f.index for f in faces)
    datums = tuple(
        Datum(d.letter, joined(d.faces) + _at_targets(d, faces, shape), f"file #{d.entity}")
        for d in held.datums
    )
    tolerances, assumed = [], []
    disposed: list[Note] = []
    for t in held.tolerances:
        own = everything if t.everywhere else joined(t.faces)
        diametral = bool(t.diametral)
        if not zones_named and t.kind in _ROUND and _all_round(own, faces):
            diametral = True
            assumed.append(t)
        tolerances.append(
            Tolerance(
                kind=t.kind,
                zone=t.zone,
                datums=t.datums,
                faces=own,
                diametral=diametral,
                material=t.material,
                source=f"file #{t.entity}",
                modifiers=t.modifiers,
                boundary=t.boundary,
                projection=_projection(t, joined),
                middle=_middle(t, drawn_to, disposed),
            )
        )
    dimensions = tuple(
        Dimension(
            d.kind,
            d.nominal,
            d.lower,
            d.upper,
            joined(d.faces),
            f"file #{d.entity}",
            _unit(d.kind),
            d.words,
        )
        for d in held.dimensions
    )
    notes = [
        *_counts(held, counted),
        *_faceless(datums, tolerances),
        *_assumed(assumed),
        *disposed,
        *_against_stated(held, (*datums, *tolerances), faces),
    ]
    return Print(datums, tuple(tolerances), dimensions, tuple(notes))


def _projection(t: FileTolerance, joined: Callable[[Iterable[int]], tuple[int, ...]]) -> Projection | None:
    p = t.projected
    return None if p is None else Projection(p.length, p.offset, joined(p.faces))


def _middle(t: FileTolerance, drawn_to: str, notes: list[Note]) -> float:
    """How far the middle of an unequal zone lies out of the metal [mm].

    The value is what lies outside of the nominal surface (ASME Y14.5, the U in a circle), or how far
    the middle itself is moved (ISO 1101, UZ). Exchange files carry either without saying which:
    below zero, or more than the zone is wide, it can only be the second.
    """
    if t.unequal is None:
        return 0.0
    outside = t.unequal - 0.5 * t.zone
    if not math.isfinite(t.unequal):
        return math.nan
    possible = -1e-9 <= t.unequal <= t.zone + 1e-9
    if not possible or drawn_to == "ISO":
        return t.unequal
    if not drawn_to:
        notes.append(
            (
                "noted",
                f"file #{t.entity}, unequal {t.kind}: {t.unequal:g} of {t.zone:g} mm is taken to lie out of"
                f" the metal, as ASME Y14.5 writes it; where the print follows ISO 1101 the zone lies about"
                f" {t.unequal:+g} mm instead: look at the print",
            )
        )
    return outside


def _at_targets(datum: FileDatum, faces: Sequence[Face], shape: bytes) -> tuple[int, ...]:
    """Faces under the targets of a datum: where its place is, and where most of its points lie."""
    out: list[int] = []
    for points in datum.points:
        on = [{f.index for f in faces if _on(p, f, shape)} for p in points]
        close = (on[0] if on else set()) or set().union(*on)
        most = max((sum(i in s for s in on) for i in close), default=0)
        out += [i for i in sorted(close) if sum(i in s for s in on) == most and i not in out]
    return tuple(out)


def _on(p: Point3, face: Face, shape: bytes) -> bool:
    b = face.box
    if any(p[k] < b[k] - ON or p[k] > b[k + 3] + ON for k in range(3)):
        return False
    return kernel.distance(shape, face.index, p)[0] <= ON


def _all_round(indices: Sequence[int], faces: Sequence[Face]) -> bool:
    return bool(indices) and all(faces[i].kind in ("cylinder", "cone") for i in indices)


def _counts(held: Annotations, counted: int) -> Iterable[Note]:
    """What of the file could not be read, and the sum that proves nothing is missing."""
    if not counted and not held.tolerances:
        yield "noted", "the file holds no semantic tolerances; notes that are only drawn in it are not read"
    lost = [u for u in held.unread if "_TOLERANCE" in u.type and u.type != "PLUS_MINUS_TOLERANCE"]
    others = [u for u in held.unread if u not in lost]
    missing = counted - len(held.tolerances)
    if missing:
        verb = "tolerance in the file" if missing == 1 else "tolerances in the file"
        yield "ignored", f"{missing} {verb} could not be read: {_list(lost)}"
    elif counted:
        yield "noted", f"all {counted} tolerances in the file were read"
    if held.stated.tolerances is not None and held.stated.tolerances != counted:
        yield (
            "noted",
            f"the file states that it holds {held.stated.tolerances} tolerances, its text holds {counted}",
        )
    if others:
        yield "ignored", f"{len(others)} datums or dimensions in the file could not be read: {_list(others)}"


def _list(unread: Sequence[Unread]) -> str:
    words = "; ".join(f"#{u.entity} {u.type.lower().replace('_', ' ')}: {u.why}" for u in unread[:_NAMED])
    return words + (f"; and {len(unread) - _NAMED} more" if len(unread) > _NAMED else "") or "no reason known"


def _faceless(datums: Sequence[Datum], tolerances: Sequence[Tolerance]) -> Iterable[Note]:
    """Datums and tolerances for which no face of the solid was found."""
    letters = [d.letter for d in datums if not d.faces]
    if letters:
        many = "datums" if len(letters) > 1 else "datum"
        yield "noted", f"no face of the solid was found for {many} {', '.join(letters)}"
    loose = [t for t in tolerances if not t.faces]
    if loose:
        named = "; ".join(f"{t.kind} {t.zone:.4g} mm ({t.source})" for t in loose[:_NAMED])
        yield "noted", f"the file names no face of the solid for {len(loose)} of its tolerances: {named}"


def _assumed(tolerances: Sequence[FileTolerance]) -> Iterable[Note]:
    if tolerances:
        named = ", ".join(f"#{t.entity}" for t in tolerances[:_NAMED])
        yield (
            "noted",
            f"the file does not say the form of any zone: {len(tolerances)} of round features ({named})"
            " are taken as diameters, the tighter reading; check with the print",
        )


def _against_stated(
    held: Annotations, read: Sequence[Datum | Tolerance], faces: Sequence[Face]
) -> Iterable[Note]:
    """The reading against what the file states of its own annotations: areas governed, datum letters."""
    areas, letters = dict(held.stated.areas), dict(held.stated.references)
    agree, off = 0, []
    for one in read:
        entity = int(one.source.rpartition("#")[2])
        if one.faces and areas.get(entity, 0.0) > 0:
            own = math.fsum(faces[i].area for i in one.faces)
            if abs(own - areas[entity]) <= AREA * areas[entity]:
                agree += 1
            else:
                off.append(f"{one.source} covers {own:.4g} mm², stated {areas[entity]:.4g} mm²")
        if isinstance(one, Tolerance) and entity in letters:
            own_letters = ",".join(one.datums) or "none"
            if own_letters != letters[entity]:
                off.append(f"{one.source} refers to {own_letters}, stated {letters[entity]}")
    if off:
        yield "noted", f"annotations that differ from what the file states of them: {'; '.join(off[:_NAMED])}"
    if agree:
        yield "noted", f"the faces of {agree} datums and tolerances have the areas that the file states"


def limits_words(d: Dimension, system: units.System = "mm") -> str:
    """A dimension as a machinist would say it, in what he reads: "diameter 10 +0.05/+0.02 mm"."""
    if d.kind == "angle":
        unit, places, values = "°", 3, [math.degrees(v) for v in (d.nominal, d.upper, d.lower)]
    else:
        read = [units.reading(v, "length", system) for v in (d.nominal, d.upper, d.lower)]
        unit, places, values = f" {read[0][1]}", 3 if system == "mm" else 4, [v for v, _ in read]
    nominal, upper, lower = (round(v, places) + 0.0 for v in values)
    more = f", {', '.join(d.words)}" if d.words else ""
    return f"{d.kind} {nominal:.10g} {upper:+.10g}/{lower:+.10g}{unit}{more}"


def _unit(kind: str) -> str:
    return "rad" if "angle" in kind else "mm"
