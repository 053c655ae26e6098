"""Closed outlines of a drawing to regions: which is the outline of a part and which an opening in it."""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np
from scipy.spatial import cKDTree

from jawright.errors import JawrightError
from jawright.files.outline_chain import SAME, Note, Say
from jawright.geometry.boolean import intersection
from jawright.geometry.curve import Arc, Curve
from jawright.geometry.profile import Profile, Region
from jawright.geometry.query import self_crossings, signed_distance

_ADVICE = "mend it in the drawing, and leave only the outline and the openings in it"
Box = tuple[float, float, float, float]


def regions(loops: Sequence[Sequence[Curve]], *, say: Say) -> tuple[list[Region], list[Note]]:
    """Parts with their openings, largest first, and what was left out.

    An outline inside an even number of others is a part, inside an odd number an opening.
    Raises ``part-outline-crossing`` naming the place.
    """
    profiles = [_sound(tuple(c), say) for c in loops]
    profiles.sort(key=lambda p: (-p.area, p.box))
    boxes = [p.box for p in profiles]
    profiles, boxes, doubles = _without_doubles(profiles, boxes)
    notes: list[Note] = []
    if doubles:
        notes.append(("repaired", f"{doubles} closed outline{'s' * (doubles > 1)} drawn twice left out"))
    inside = _nesting(profiles, boxes, say)
    found = []
    for k, profile in enumerate(profiles):
        if len(inside[k]) % 2:
            continue
        holes = [
            profiles[j].reversed()
            for j in range(k + 1, len(profiles))
            if k in inside[j] and len(inside[j]) == len(inside[k]) + 1
        ]
        found.append(Region(profile, tuple(sorted(holes, key=lambda h: h.box))))
    for r in found:
        _refuse_crossings(r, say)
    _refuse_overlaps(found, say)
    return found, notes


def _sound(curves: tuple[Curve, ...], say: Say) -> Profile:
    """The chain as a counter-clockwise outline that does not cross itself."""
    profile = Profile(curves)
    if not _is_circle(profile):
        _refuse_crossings(profile, say)
    if not abs(profile.area) > SAME * profile.perimeter:
        raise JawrightError(
            "part-outline-crossing",
            what=f"a closed outline at {say(curves[0].start)} has no area: it runs back on itself",
            todo=_ADVICE,
        )
    return profile.counterclockwise()


def _is_circle(p: Profile) -> bool:
    a, b = p.curves[0], p.curves[-1]
    return len(p.curves) == 2 and isinstance(a, Arc) and isinstance(b, Arc) and a.center == b.center


def _refuse_crossings(shape: Profile | Region, say: Say) -> None:
    try:
        crossings = self_crossings(shape)
    except JawrightError as e:
        raise JawrightError("part-outline-crossing", what=e.what, todo=_ADVICE) from e
    if not crossings:
        return
    listed = ", ".join(dict.fromkeys(say(c.point) for c in crossings[:3]))
    one = isinstance(shape, Profile) or crossings[0].first[0] == crossings[0].second[0]
    raise JawrightError(
        "part-outline-crossing",
        what=f"{'the outline crosses itself' if one else 'two outlines cross'} at {listed}",
        todo=_ADVICE,
    )


def _apart(a: Box, b: Box) -> bool:
    return a[2] < b[0] or b[2] < a[0] or a[3] < b[1] or b[3] < a[1]


def _points(p: Profile) -> np.ndarray[tuple[int, ...], np.dtype[np.float64]]:
    return np.array([c.at(t) for c in p.curves for t in (0.0, 0.25, 0.5, 0.75)])


def _without_doubles(profiles: list[Profile], boxes: list[Box]) -> tuple[list[Profile], list[Box], int]:
    """Outlines that lie on one another are one: the first stays."""
    gone: set[int] = set()
    if profiles:
        pairs = cKDTree(np.array(boxes)).query_pairs(SAME, p=math.inf, output_type="ndarray").tolist()
        for j, k in sorted(pairs):
            if j not in gone and k not in gone and _lies_on(profiles[j], profiles[k]):
                gone.add(k)
    kept = [k for k in range(len(profiles)) if k not in gone]
    return [profiles[k] for k in kept], [boxes[k] for k in kept], len(gone)


def _lies_on(a: Profile, b: Profile) -> bool:
    return all(float(np.abs(signed_distance(p, _points(q))).max()) <= SAME for p, q in ((a, b), (b, a)))


def _nesting(profiles: Sequence[Profile], boxes: Sequence[Box], say: Say) -> list[set[int]]:
    """For each outline the larger ones round it."""
    out: list[set[int]] = [set() for _ in profiles]
    b = np.array(boxes).reshape(-1, 4)
    for j, outer in enumerate(profiles):
        low, high = (b[j + 1 :, :2] >= b[j, :2] - SAME), (b[j + 1 :, 2:] <= b[j, 2:] + SAME)
        within = (np.flatnonzero(low.all(axis=1) & high.all(axis=1)) + j + 1).tolist()
        if not within:
            continue
        points = [_points(profiles[k]) for k in within]
        ends = np.cumsum([len(p) for p in points])[:-1]
        for k, p, d in zip(
            within, points, np.split(signed_distance(outer, np.concatenate(points)), ends), strict=True
        ):
            if d.min() < -SAME and d.max() > SAME:
                at = p[int(np.abs(d).argmin())]
                raise JawrightError(
                    "part-outline-crossing",
                    what=f"two outlines cross near {say((float(at[0]), float(at[1])))}",
                    todo=_ADVICE,
                )
            if d.min() < -SAME:
                out[k].add(j)
    return out


def _refuse_overlaps(found: Sequence[Region], say: Say) -> None:
    """Parts beside one another must not overlap."""
    boxes = [r.outer.box for r in found]
    for k in range(len(found)):
        for j in range(k):
            if _apart(boxes[j], boxes[k]):
                continue
            both = intersection(found[j], found[k])
            if any(r.area > SAME * r.outer.perimeter for r in both):
                raise JawrightError(
                    "part-outline-crossing",
                    what=f"two outlines cross near {say(both[0].outer.curves[0].start)}",
                    todo=_ADVICE,
                )
