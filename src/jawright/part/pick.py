"""What of the part is at a point: faces and holes named by a point on them.

Lengths in mm, angles in rad. Messages are in the reader's unit: a point they name is copied into a job file.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from itertools import combinations

from jawright import kernel
from jawright.errors import JawrightError
from jawright.geometry.frame import Vec3, cross, dot
from jawright.job.model import Pick
from jawright.part.model import Face, Hole, Part
from jawright.units import System, read_unit, reading, show

REACH = 0.05
"""A pick takes what is within this distance of it [mm]: coordinates typed with two decimals still hit."""
APART = 0.01
"""Two faces within ``REACH`` can be told apart when their distances differ by this [mm]."""
_NAMED = 3  # candidates named in a message


def face_at(part: Part, pick: Pick) -> Face:
    """The face at a point on it; messages are in the unit that the pick was written in.

    Faces of one surface (halves of a bore) count as one: the nearest, then the first, is given.
    Raises ``pick-empty`` when none is within 0.05 mm and ``pick-ambiguous`` where faces of
    different surfaces meet; both name the nearest candidates and a point on each.
    """
    near, units = _nearest(part, pick.at), pick.units
    hits = [(gap, face) for gap, face in near if gap <= REACH]
    if not hits:
        listed = "; ".join(f"{words(f, units)}, {_fine(gap, units)} away" for gap, f in near[:_NAMED])
        raise JawrightError(
            "pick-empty",
            what=f"no face of the part is at {_point(pick.at, units)}; nearest: {listed}",
            where=pick.key,
            todo=_try([f for _, f in near[:_NAMED]], units),
        )
    close = [face for gap, face in hits if gap - hits[0][0] < APART]
    if any(not _same_surface(a, b) for a, b in combinations(close, 2)):
        listed = "; ".join(words(f, units) for f in close[:_NAMED])
        raise JawrightError(
            "pick-ambiguous",
            what=f"{len(close)} faces of the part meet at {_point(pick.at, units)}: {listed}",
            where=pick.key,
            todo=_try(close[:_NAMED], units),
        )
    return close[0]


def _nearest(part: Part, at: Vec3) -> list[tuple[float, Face]]:
    """Exact distances to the faces that can be among the nearest, nearest first."""
    by_box = sorted((_box_gap(f, at), f.index) for f in part.faces)
    found: list[tuple[float, Face]] = []
    for least, index in by_box:
        found.sort(key=lambda g: (g[0], g[1].index))
        if len(found) >= _NAMED and least > max(found[_NAMED - 1][0], REACH):
            break
        found.append((kernel.distance(part.shape, index, at)[0], part.faces[index]))
    return sorted(found, key=lambda g: (g[0], g[1].index))


def _box_gap(face: Face, p: Vec3) -> float:
    b = face.box
    return math.hypot(*(max(b[k] - p[k], 0.0, p[k] - b[k + 3]) for k in range(3)))


def _same_surface(a: Face, b: Face) -> bool:
    if a.kind != b.kind:
        return False
    if a.kind == "plane":
        return dot(a.normal, b.normal) > 1 - 1e-9 and abs(dot(a.normal, _minus(b.center, a.center))) < 1e-4
    if a.kind == "cylinder" and a.axis and b.axis and a.axis_point and b.axis_point and a.radius and b.radius:
        between = cross(a.axis, _minus(b.axis_point, a.axis_point))
        return (
            a.hollow == b.hollow
            and abs(a.radius - b.radius) < 1e-4
            and math.hypot(*cross(a.axis, b.axis)) < 1e-6
            and math.hypot(*between) < 1e-4
        )
    return False


def _minus(a: Vec3, b: Vec3) -> Vec3:
    return (a[0] - b[0], a[1] - b[1], a[2] - b[2])


def hole_at(part: Part, pick: Pick) -> Hole:
    """The round hole at a point on its wall, on its axis, or at the middle of its mouth.

    Raises ``pick-empty`` and ``pick-ambiguous`` like ``face_at``.
    """
    if not part.holes:
        raise JawrightError(
            "pick-empty", what="the part has no round hole", where=pick.key, todo="name a face instead"
        )
    units = pick.units
    near = sorted(((_hole_gap(h, pick.at), i) for i, h in enumerate(part.holes)))
    hits = [part.holes[i] for gap, i in near if gap <= REACH and gap - near[0][0] < APART]
    named = [part.holes[i] for _, i in near[:_NAMED]]
    if not hits:
        listed = "; ".join(
            f"{hole_words(part.holes[i], units)}, {_fine(gap, units)} away" for gap, i in near[:_NAMED]
        )
        raise JawrightError(
            "pick-empty",
            what=f"no round hole of the part is at {_point(pick.at, units)}; nearest: {listed}",
            where=pick.key,
            todo=_try(named, units),
        )
    if len(hits) > 1:
        listed = "; ".join(hole_words(h, units) for h in hits[:_NAMED])
        raise JawrightError(
            "pick-ambiguous",
            what=f"{len(hits)} holes of the part are at {_point(pick.at, units)}: {listed}",
            where=pick.key,
            todo=_try(hits[:_NAMED], units),
        )
    return hits[0]


def _hole_gap(hole: Hole, p: Vec3) -> float:
    """Distance [mm] to the hole's axis between its ends, or to its wall, whichever is less."""
    from_mouth = _minus(p, hole.mouth)
    along = dot(hole.axis, from_mouth)
    off = math.sqrt(max(dot(from_mouth, from_mouth) - along * along, 0.0))
    past = max(along, -hole.depth - along, 0.0)
    return math.hypot(past, min(off, abs(off - 0.5 * hole.diameter)))


def _try(candidates: Sequence[Face | Hole], units: System) -> str:
    """Points that would do, in the job file's own form and unit."""
    points = [_middle(c) if isinstance(c, Hole) else c.center for c in candidates]
    return "use at = " + " or ".join(f"[{', '.join(_number(v, units) for v in p)}]" for p in points)


def _middle(hole: Hole) -> Vec3:
    m, a, t = hole.mouth, hole.axis, -0.5 * hole.depth
    return (m[0] + t * a[0], m[1] + t * a[1], m[2] + t * a[2])


def _number(value: float, units: System) -> str:
    value, digits = reading(value, "length", units)[0], 5 if units == "inch" else 3
    return f"{round(value, digits) + 0.0:.{digits}f}".rstrip("0").rstrip(".")


def _point(p: Vec3, units: System) -> str:
    return f"({', '.join(_number(v, units) for v in p)}) {read_unit('length', units)}"


def _fine(value: float, units: System) -> str:
    """A length with two decimals of a millimeter, or four of an inch."""
    return show(value, "length", units, digits=4 if units == "inch" else 2)


def _coarse(value: float, kind: str, units: System) -> str:
    """A length or an area with one decimal of a millimeter, or three of an inch."""
    return show(value, kind, units, digits=3 if units == "inch" else 1)


def words(face: Face, units: System = "mm") -> str:
    """A face as a machinist would say it: "plane, 42.0 × 12.5 mm, faces -Y"."""
    area = _coarse(face.area, "area", units)
    round_ = None if face.radius is None else _fine(face.radius, units)
    if face.kind == "plane":
        return f"plane, {_extent(face, units)}, faces {direction(face.normal)}"
    if face.kind == "cylinder" and face.radius is not None and face.axis is not None:
        what = "bore" if face.hollow else "round"
        return f"{what} Ø{_fine(2 * face.radius, units)}, axis {_line(face.axis)}, {area}"
    if face.kind == "cone" and face.axis is not None:
        return f"cone, axis {_line(face.axis)}, {area}"
    if face.kind == "sphere" and round_:
        return f"ball surface R{round_}, {area}"
    if face.kind == "torus" and round_:
        return f"rounded edge R{round_}, {area}"
    return f"free-form surface, {area}"


def hole_words(hole: Hole, units: System = "mm") -> str:
    """A hole as a machinist would say it: "hole Ø10.00 through, 12.0 mm long, opens +Z"."""
    deep = _coarse(hole.depth, "length", units)
    wide = _fine(hole.diameter, units).split()[0]
    how = f"through, {deep} long" if hole.through else f"{deep} deep"
    return f"hole Ø{wide} {how}, opens {direction(hole.axis)}"


def direction(v: Vec3) -> str:
    """ "+X", "-Y" and so on, or the three components of a slanted direction."""
    for k, name in enumerate("XYZ"):
        if abs(v[k]) > 1 - 1e-9:
            return ("+" if v[k] > 0 else "-") + name
    return f"({', '.join(f'{round(c, 3) + 0.0:.3f}' for c in v)})"


def _line(axis: Vec3) -> str:
    return direction(axis).lstrip("+-")


def _extent(face: Face, units: System) -> str:
    """Length × width of an upright plane; of a slanted one the area, as its box says little."""
    for k in range(3):
        if abs(face.normal[k]) > 1 - 1e-9:
            sides = sorted((face.box[i + 3] - face.box[i] for i in range(3) if i != k), reverse=True)
            long, wide = (_coarse(s, "length", units) for s in sides)
            return f"{long.split()[0]} × {wide}"
    return _coarse(face.area, "area", units)
