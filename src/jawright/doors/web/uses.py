"""What faces of the part are used for: datums, the face that is up, the features of the operation."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from jawright.doors.web import edit
from jawright.doors.web.faces import face_near, hole_near, point
from jawright.errors import JawrightError

LETTERS = ("A", "B", "C", "D", "E", "F")
HOLE_USES = ("drill", "bore", "ream")
FACE_USES = ("face", "pocket", "slot", "profile", "chamfer")
WHOLE = {"top": ("the whole top", "face"), "outline": ("the whole outline, all round", "profile")}
"""What takes no face to name: how it is told, and the kind of feature that makes it."""


def makeable(data: edit.Data, part: Mapping[str, Any]) -> list[dict[str, Any]]:
    """Holes and flat faces an operation could make, ticked where a feature of the job makes them.

    Before them what a feature without a place makes: the whole top, the whole outline.
    """
    made: dict[int, list[str]] = {}
    placeless: dict[str, list[str]] = {}
    for f in data.get("feature", []):
        if "at" not in f:
            placeless.setdefault(str(f.get("kind", "")), []).append(str(f.get("name", "")))
            continue
        at = point(f.get("at"))
        hole = hole_near(part, at) if f.get("kind") in HOLE_USES else None
        face = face_near(part, at) if hole is None else part["holes"][hole]["faces"][0]
        if face is not None:
            made.setdefault(face, []).append(str(f.get("name", "")))
    out: list[dict[str, Any]] = [
        {"face": face, "words": words, "uses": (kind,), "made": placeless.get(kind, [])}
        for face, (words, kind) in WHOLE.items()
    ]
    for h in part.get("holes", []):
        names = [n for face in h["faces"] for n in made.get(face, [])]
        out.append({"face": h["faces"][0], "words": h["words"], "uses": HOLE_USES, "made": names})
    for f in part.get("faces", []):
        if f["index"] in made and f["hole"] is None:
            out.append({"face": f["index"], "words": f["words"], "uses": FACE_USES, "made": made[f["index"]]})
    return out


def use(data: edit.Data, part: Mapping[str, Any], *, face: str, use_as: str) -> None:
    """Use a face of the part as a datum ("A"), as the face that is up ("up"), or as a feature ("bore").

    The ``face`` may be one of ``WHOLE`` as well. Raises ``pick-empty`` without a face, ``value-bad`` for a
    use that the face does not have.
    """
    if face in WHOLE:
        if use_as != WHOLE[face][1]:
            raise JawrightError("value-bad", what=f'{WHOLE[face][0]} is not used as "{use_as}"')
        _add(data, use_as, {})
        return
    faces = {str(f["index"]): f for f in part.get("faces", [])}
    if face not in faces:
        raise JawrightError(
            "pick-empty", what="no face is chosen", todo="click a face, or choose one in the list"
        )
    f = faces[face]
    if use_as == "up":
        if f["kind"] != "plane":
            raise JawrightError("value-bad", what="only a flat face can be up", todo="choose a flat one")
        words = f["faces"]
        data.setdefault("hold", {})["up"] = words if len(words) == 2 else list(f["normal"])
    elif use_as in LETTERS:
        rows = [d for d in data.get("datum", []) if d.get("letter") != use_as]
        rows.append({"letter": use_as, "at": edit.points(f["center_mm"])})
        data["datum"] = sorted(rows, key=lambda d: str(d.get("letter")))
    elif use_as in HOLE_USES or use_as in FACE_USES:
        _make(data, part, f, use_as)
    else:
        raise JawrightError("value-bad", what=f'a face is not used as "{use_as}"')


def _make(data: edit.Data, part: Mapping[str, Any], face: Mapping[str, Any], kind: str) -> None:
    at = face["center_mm"]
    if kind in HOLE_USES:
        if face["hole"] is None:
            raise JawrightError(
                "pick-empty", what=f"this is no hole to {kind}", todo="choose a round hole of the part"
            )
        at = part["holes"][face["hole"]]["at_mm"]
    _add(data, kind, {"at": edit.points(at)})


def _add(data: edit.Data, kind: str, place: Mapping[str, Any]) -> None:
    """One more feature, with a name of its own."""
    names = [str(f.get("name", "")) for f in data.get("feature", [])]
    n = 1
    while (name := f"{kind} {n}") in names:
        n += 1
    data.setdefault("feature", []).append({"name": name, "kind": kind, **place})
