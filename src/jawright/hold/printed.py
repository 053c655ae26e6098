"""Tolerances that nobody typed: those of the part file, and the print's general ones."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

from jawright import handbook
from jawright.errors import JawrightError
from jawright.geometry.frame import Vec3, dot, unit
from jawright.hold.found import FoundDatum, FoundFeature
from jawright.job.model import GeneralTolerances, Job, ToleranceAsk
from jawright.part.model import Part, Projection, Tolerance
from jawright.told import told
from jawright.units import show

SIZES = ("diameter", "radius", "size")
"""Words of a file for the size of a hole."""
BELOW = "composite, below"
"""So the reader names the lower line of a composite frame."""
LIKE = 0.1
"""A size that differs by more than this share from the hole's own is of something else."""
PLACE = ("position", "profile of a surface", "profile of a line", "coaxiality", "concentricity", "symmetry")
"""Kinds that say where a feature is, so that no general tolerance does."""
INCH = 25.4
MOST_DECIMALS = 4
SQUARE = 0.9
"""Cosine over which the axis of a hole is upright in this operation."""


@dataclass(frozen=True, slots=True)
class Printed:
    """Tolerances found, and what to tell of them."""

    tolerances: tuple[ToleranceAsk, ...] = ()
    notes: tuple[str, ...] = ()


# ---- of the part file ----------------------------------------------------------------------


def from_file(
    part: Part, job: Job, datums: Sequence[FoundDatum], features: Sequence[FoundFeature]
) -> Printed:
    """Tolerances and limits of the file that govern features made here; the job's own come first."""
    typed = {(t.feature, t.kind) for t in job.tolerances}
    own: list[ToleranceAsk] = []
    notes: list[str] = []
    for f in features:
        mine = [t for t in part.tolerances if set(t.faces) & set(f.faces)]
        closer = [t for t in mine if not _everywhere(t, part)]
        for t in closer or mine:  # one of the whole part holds unless something else is said
            if (f.ask.name, t.kind) not in typed:
                own.append(_ask(part, job, f, t))
                notes += _told(f.ask.name, t, own[-1])
        limits = _sizes(part, f) + _distances(part, f, datums)
        own += [t for t in limits if (f.ask.name, t.kind) not in typed]
    return Printed(tuple(own), tuple(notes))


def _everywhere(t: Tolerance, part: Part) -> bool:
    return len(set(t.faces)) == len(part.faces)


def _ask(part: Part, job: Job, f: FoundFeature, t: Tolerance) -> ToleranceAsk:
    """A tolerance of the file as it is asked of a feature made here."""
    unread = ""
    if not math.isfinite(t.middle):
        unread = "the file does not say readably how its zone is disposed about the nominal"
    p = t.projection
    if p is not None and not math.isfinite(p.length):
        unread = "its zone stands out of the part, and the file does not say readably how far"
    return ToleranceAsk(
        f.ask.name,
        t.kind,
        t.zone,
        t.datums,
        t.diametral,
        t.material,
        middle=_clean(t.middle) if math.isfinite(t.middle) else 0.0,
        basis=t.source,
        boundary=t.boundary,
        projected=p.length if p is not None and not unread else 0.0,
        beyond=p.offset if p is not None else 0.0,
        from_end="top" if p is None else _begins(part, job, f, p),
        unread=unread,
        composite=any(m.startswith(BELOW) for m in t.modifiers),
    )


def _begins(part: Part, job: Job, f: FoundFeature, p: Projection) -> Literal["top", "bottom", "either"]:
    """The end of a hole, as the part stands, that a projected zone begins at: the one nearer its face."""
    flat = [part.faces[i] for i in p.faces if part.faces[i].kind == "plane" and i not in f.faces]
    if f.hole is None or not flat or job.up is None:
        return "either"
    axis = unit(f.hole.axis)
    at = dot(_minus(flat[0].center, f.hole.mouth), axis)
    mouth, upright = at > -0.5 * f.hole.depth, dot(axis, unit(job.up))
    if abs(upright) < SQUARE:
        return "either"
    return "top" if mouth == (upright > 0) else "bottom"


def _minus(a: Vec3, b: Vec3) -> Vec3:
    return (a[0] - b[0], a[1] - b[1], a[2] - b[2])


def _told(name: str, t: Tolerance, ask: ToleranceAsk) -> list[str]:
    """What a tolerance says beside zone and datums, and how the proof takes it."""
    words = []
    told = tuple(f"datum {x} maximum material" for x in t.boundary)
    shift = [
        m for m in t.modifiers if m.startswith("datum ") and "material" in m and not m.startswith(told or " ")
    ]
    if shift:
        words.append(f"{', '.join(shift)}: the shift it allows is not counted, which is on the safe side")
    if ask.unread:
        words.append(ask.unread)
    if ask.middle:
        side = "outside" if ask.middle > 0 else "inside"
        words.append(
            f"its zone lies unequally about the nominal: cut {abs(ask.middle):g} mm {side} of it, to the"
            " middle of the zone"
        )
    if ask.composite:
        words.append("the lower line of a composite frame: its datums turn and tilt it, they do not place it")
    if ask.projected:
        end = {"top": "its top", "bottom": "its bottom", "either": "either end, whichever is worse"}
        words.append(
            f"its zone stands {ask.projected:g} mm out of the part: judged there, from {end[ask.from_end]}"
        )
    known = (*shift, *(m for m in t.modifiers if told and m.startswith(told)))
    rest = [
        m
        for m in t.modifiers
        if m not in known and not m.startswith(("unequally disposed", "zone projected", BELOW))
    ]
    if rest:
        words.append(f"also says {', '.join(rest)}")
    return [f"{name}, {t.kind} ({t.source}): {w}" for w in words]


def _sizes(part: Part, f: FoundFeature) -> list[ToleranceAsk]:
    """Limits of the size of a hole, or of a round wall."""
    across = f.hole.diameter if f.hole is not None else _across(f)
    if across is None:
        return []
    out = []
    for d in part.dimensions:
        if d.unit != "mm" or d.kind not in SIZES or not set(d.faces) & set(f.faces):
            continue
        scale = 2.0 if d.kind == "radius" else 1.0
        if abs(scale * d.nominal - across) > LIKE * across or d.upper <= d.lower:
            continue
        middle = scale * (d.nominal + 0.5 * (d.lower + d.upper)) - across
        width = scale * (d.upper - d.lower)
        out.append(ToleranceAsk(f.ask.name, "size", width, (), False, "", _clean(middle), d.source))
    return out[:1]  # the same limits may stand at every hole of a pattern


def _across(f: FoundFeature) -> float | None:
    """Diameter of the round wall a feature mills [mm]; None of anything else."""
    if f.ask.kind not in ("profile", "pocket") or f.face is None or f.face.kind != "cylinder":
        return None
    return 2 * f.face.radius if f.face.radius is not None else None


def bore_size(part: Part, faces: Sequence[int]) -> float | None:
    """Whole width [mm] of the size limits that the file gives a datum bore; None when it gives none."""
    mine = [
        (d.upper - d.lower) * (2.0 if d.kind == "radius" else 1.0)
        for d in part.dimensions
        if d.unit == "mm" and d.kind in SIZES and set(d.faces) & set(faces) and d.upper > d.lower
    ]
    return _clean(min(mine)) if mine else None


def _distances(part: Part, f: FoundFeature, datums: Sequence[FoundDatum]) -> list[ToleranceAsk]:
    """Limits of the distance from a datum."""
    out = []
    for d in part.dimensions:
        if (
            d.unit != "mm"
            or "distance" not in d.kind
            or not set(d.faces) & set(f.faces)
            or d.upper <= d.lower
        ):
            continue
        other = set(d.faces) - set(f.faces)
        letters = [k.letter for k in datums if other & set(k.faces)]
        if letters:
            middle = 0.5 * (d.lower + d.upper)
            out.append(
                ToleranceAsk(
                    f.ask.name,
                    "distance",
                    d.upper - d.lower,
                    (letters[0],),
                    False,
                    "",
                    _clean(middle),
                    d.source,
                )
            )
    return out


def _clean(value: float) -> float:
    return round(value, 9) + 0.0


# ---- general ones --------------------------------------------------------------------------


def general(
    part: Part,
    job: Job,
    datums: Sequence[FoundDatum],
    features: Sequence[FoundFeature],
    known: Sequence[ToleranceAsk],
) -> Printed:
    """A ± for sizes of holes and distances from plane datums that nothing else limits.

    The distance is that of the axis of a hole, or of a level or upright face, from each plane datum
    that faces its way. Without datums a general tolerance has nothing to measure from.
    """
    if job.general is None:
        return Printed()
    out: list[ToleranceAsk] = []
    notes: list[str] = []
    for f in features:
        name = f.ask.name
        mine = [t for t in known if t.feature == name]
        if f.hole is not None and not any(t.kind in ("size", "diameter") for t in mine):
            out += _plus_minus(job, f, "size", f.ask.diameter or f.hole.diameter, letters=(), notes=notes)
        if any(t.kind in PLACE for t in mine):
            continue
        for d in datums:
            size = _distance(part, f, d)
            if size is not None and not any(t.kind == "distance" and d.letter in t.datums for t in mine):
                out += _plus_minus(job, f, "distance", size, letters=(d.letter,), notes=notes)
    if out:
        named = ", ".join(dict.fromkeys(t.feature for t in out))
        notes.insert(
            0, f"general tolerances ({_words(job.general)}) stand where the print says no other: {named}"
        )
    return Printed(tuple(out), tuple(notes))


def _distance(part: Part, f: FoundFeature, d: FoundDatum) -> float | None:
    """Distance [mm] of a feature from a plane datum; None when it is none, or nothing to speak of."""
    if d.kind != "plane":
        return None
    n = unit(d.normal)
    face = f.face if f.face is not None or not f.faces else part.faces[f.faces[0]]
    if f.hole is not None:
        if abs(dot(f.hole.axis, n)) > 1e-6:
            return None
        at: Vec3 = f.hole.mouth
    elif face is not None and face.kind == "plane" and abs(dot(face.normal, n)) > 1 - 1e-9:
        at = face.center
    else:
        return None
    away = abs(dot((at[0] - d.point[0], at[1] - d.point[1], at[2] - d.point[2]), n))
    return away if away > 1e-6 and not set(f.faces) & set(d.faces) else None


def _plus_minus(
    job: Job, f: FoundFeature, kind: str, size: float, *, letters: tuple[str, ...], notes: list[str]
) -> list[ToleranceAsk]:
    assert job.general is not None
    try:
        half = _half(job.general, job, f, size)
    except JawrightError as e:
        notes.append(f"{f.ask.name}: no general tolerance of its {kind}: {told(e.what, job.units)}")
        return []
    if half is None:
        places = _decimals(job, f, size)
        long = show(size, "length", job.units)
        notes.append(f"{f.ask.name}: no ± is given for dimensions with {places} decimals ({long})")
        return []
    basis = f"general {_words(job.general)}"
    return [ToleranceAsk(f.ask.name, kind, 2 * half, letters, False, "", 0.0, basis)]


def _half(g: GeneralTolerances, job: Job, f: FoundFeature, size: float) -> float | None:
    if g.grade:
        return handbook.general_linear(g.grade, size)
    return dict(g.decimals).get(_decimals(job, f, size))


def _decimals(job: Job, f: FoundFeature, size: float) -> int:
    """Decimals a dimension is printed with: as said, else as many as its number needs."""
    if f.ask.decimals is not None:
        return f.ask.decimals
    value = size / INCH if job.units == "inch" else size
    fits = (n for n in range(MOST_DECIMALS) if math.isclose(round(value, n), value, abs_tol=5e-6))
    return next(fits, MOST_DECIMALS)


def _words(g: GeneralTolerances) -> str:
    return f"ISO 2768-{g.grade}" if g.grade else "± by decimals"
