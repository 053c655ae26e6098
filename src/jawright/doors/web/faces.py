"""Faces and holes of a part as it was last looked at: found by a point, and told in words.

Lengths in mm, angles in rad.
"""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Mapping
from typing import Any

from jawright import units
from jawright.errors import JawrightError
from jawright.told import words

NEAR = 0.06
"""A pick this near to a face's or hole's own point is that face or hole [mm]."""


def told_in(part: Mapping[str, Any], system: units.System) -> dict[str, Any]:
    """The part as last looked at with its words in the unit chosen; the look itself is kept in mm."""
    out = dict(part)
    for kind, place in (("faces", "center_mm"), ("holes", "at_mm")):
        rows = part.get(kind, [])
        alike = Counter(f["words"] for f in rows)
        out[kind] = [
            {
                **f,
                "words": words(f["words"], system, "mm")
                + (f", at {_place(f[place], system)}" if alike[f["words"]] > 1 else ""),
            }
            for f in rows
        ]
    out["findings"] = [words(w, system, "mm") for w in part.get("findings", [])]
    return out if part else {}


def _place(at: list[float], system: units.System) -> str:
    """Where something is in the part file's own frame, as tells it from others like it."""
    digits = 2 if system == "mm" else 3
    numbers = [units.show(v, "length", system, digits=digits).split(" ")[0] for v in at]
    return (
        " ".join(f"{a} {n}" for a, n in zip("XYZ", numbers, strict=True))
        + f" {units.read_unit('length', system)}"
    )


def in_file(part: Mapping[str, Any], system: units.System) -> list[str]:
    """The tolerances of the part file, in words."""
    faces = {f["index"]: f for f in part.get("faces", [])}
    out = []
    for t in part.get("tolerances", []):
        zone = units.show(t["zone_mm"], "length", system, digits=3 if system == "mm" else 4)
        datums = "|".join(t["datums"])
        of = next((_of(part, faces[f]) for f in t["faces"] if f in faces), "no face of this solid")
        out.append(
            f"{t['kind']} {'Ø' if t['diametral'] else ''}{zone}{' to ' + datums if datums else ''}: {of}"
        )
    return out


def _of(part: Mapping[str, Any], face: Mapping[str, Any]) -> str:
    hole = face["hole"]
    return str(face["words"] if hole is None else part["holes"][hole]["words"])


def size_words(part: Mapping[str, Any], system: units.System) -> str:
    """Length, width and height of the part in the unit chosen, in words; "" before it was read."""
    if not part:
        return ""
    digits = 2 if system == "mm" else 3
    numbers = [units.show(v, "length", system, digits=digits).split(" ")[0] for v in part["size_mm"]]
    return " × ".join(numbers) + f" {units.read_unit('length', system)}"


def point(at: Any) -> list[float] | None:
    """A point [mm] from three numbers or lengths with unit; None when it is none."""
    if not isinstance(at, list) or len(at) != 3:
        return None
    try:
        return [v if isinstance(v, (int, float)) else units.parse(str(v), "length") for v in at]
    except JawrightError:
        return None


def face_near(part: Mapping[str, Any], at: list[float] | None) -> int | None:
    """The face a point was picked on: the one whose own point it is, else a flat one whose plane holds it."""
    if at is None:
        return None
    for f in part.get("faces", []):
        if math.dist(f["center_mm"], at) < NEAR:
            return int(f["index"])
    for f in part.get("faces", []):
        off = sum(n * (a - c) for n, a, c in zip(f["normal"], at, f["center_mm"], strict=True))
        box = f["box_mm"]
        if f["kind"] == "plane" and abs(off) < NEAR and _within(box, at):
            return int(f["index"])
    hole = hole_near(part, at)
    return None if hole is None else int(part["holes"][hole]["faces"][0])


def hole_near(part: Mapping[str, Any], at: list[float] | None) -> int | None:
    """The hole on whose axis or wall a point lies, within its length."""
    if at is None:
        return None
    for i, h in enumerate(part.get("holes", [])):
        rel = [a - b for a, b in zip(at, h["at_mm"], strict=True)]
        along = sum(r * x for r, x in zip(rel, h["axis"], strict=True))
        off = math.sqrt(max(sum(r * r for r in rel) - along * along, 0.0))
        if min(off, abs(off - h["diameter_mm"] / 2)) < NEAR and abs(along) <= h["depth_mm"] / 2 + NEAR:
            return i
    return None


def _within(box: list[float], at: list[float]) -> bool:
    return all(box[k] - NEAR <= at[k] <= box[k + 3] + NEAR for k in range(3))
