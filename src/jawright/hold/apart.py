"""A profile that mills several walls, shared out wall by wall; and the walls of a whole outline.

A part that is milled all round takes two clampings: what mills every wall at once is no feature of either.
Lengths in mm, angles in rad.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from jawright import kernel
from jawright.errors import JawrightError
from jawright.geometry.frame import Vec3, unit
from jawright.hold import milled
from jawright.hold.found import Ask, FoundFeature
from jawright.job.model import Pick, ToleranceAsk
from jawright.part.band import grip_band
from jawright.part.model import Part
from jawright.part.net import back, net_of
from jawright.part.pick import direction


def all_round(part: Part, up: Vec3, name: str) -> tuple[int, ...]:
    """Part faces that are the upright walls of the whole outline, standing with ``up`` up.

    Raises ``value-bad`` for an outline without any, ``geometry`` for a part that cannot be cut.
    """
    low, high = milled.span(part, up)
    band = grip_band(part, up, 0.0, high - low)
    net, way = net_of(part), unit(up)
    found = dict.fromkeys(i for sources in band.sources for i in sources if i >= 0)
    walls = tuple(i for i in found if net.upright(i, way))
    if not walls:
        raise JawrightError(
            "value-bad",
            what=f'the outline that "{name}" goes round has no upright wall with {direction(way)} up',
            where=f'feature "{name}"',
            todo="add at = [x, y, z], a point on the wall that is milled",
        )
    return walls


def apart(ask: Ask, part: Part, up: Vec3) -> Ask:
    """The same with each profile whose several walls all go down into the grip as a feature per wall.

    Short walls and rounded corners come with the walls beside them. Of its tolerances a profile zone counts
    for every wall, another one for the wall that stood for them all, the largest.
    """
    taken = {f.ask.name for f in ask.features}
    features: list[FoundFeature] = []
    named: dict[str, tuple[list[str], str]] = {}
    corners = _corners(ask, part, up)
    for f in ask.features:
        walls = [i for i in _walls(f, part, up) if i not in corners]
        if len(walls) < 2:
            features.append(f)
            continue
        names = _names(f.ask.name, [part.faces[i].normal if _flat(part, i) else None for i in walls], taken)
        largest = max(walls, key=lambda i: (part.faces[i].area, -i))
        named[f.ask.name] = names, names[walls.index(largest)]
        for i, name in zip(walls, names, strict=True):
            ((place, _), *_) = kernel.face_places(part.shape, i, 1)
            own = replace(f.ask, name=name, pick=Pick(place, f'feature "{name}"'))
            features.append(FoundFeature(own, (i,), None, part.faces[i]))
    if not named:
        return ask
    return replace(ask, features=tuple(features), tolerances=_tolerances(ask.tolerances, named))


def one_wall(f: FoundFeature, ask: Ask, part: Part, up: Vec3) -> bool:
    """Whether a profile mills one wall, and with it only short ones and the rounded corners beside it."""
    walls = _walls(f, part, up)
    return bool(walls) and len(set(walls) - _corners(ask, part, up)) == 1


def _walls(f: FoundFeature, part: Part, up: Vec3) -> list[int]:
    """The walls of a profile long enough to count; none where one of its walls ends above the grip."""
    deep = milled.deep(f, part, up)
    if len(deep) < 2 or deep != frozenset(f.faces):
        return []
    return [i for i in f.faces if _length(part, i, up) >= milled.SHORT]


def _corners(ask: Ask, part: Part, up: Vec3) -> frozenset[int]:
    """Part faces that are rounded corners of the outline, where any feature has several walls."""
    if not any(len(_walls(f, part, up)) > 1 for f in ask.features):
        return frozenset()
    low, high = milled.span(part, up)
    try:
        band = grip_band(part, up, 0.0, high - low)
    except JawrightError:
        return frozenset()
    found: set[int] = set()
    for region, sources in zip(band.outline, band.sources, strict=True):
        curves = region.outer.curves
        found |= {sources[i] for i in range(len(curves)) if milled.rounded(curves, i)}
    return frozenset(found)


def _length(part: Part, face: int, up: Vec3) -> float:
    """How long an upright wall is along the outline."""
    tall = -milled.lowest(part, face, back(up)) - milled.lowest(part, face, up)
    return part.faces[face].area / tall if tall > 0.0 else 0.0


def _flat(part: Part, face: int) -> bool:
    return part.faces[face].kind == "plane"


def _names(name: str, normals: Sequence[Vec3 | None], taken: set[str]) -> list[str]:
    """A name per wall by where it faces, "outline +X"; by its number where that is no axis, or twice."""
    out: list[str] = []
    for k, n in enumerate(normals, 1):
        way = "" if n is None else direction(n)
        said = f"{name} {way}" if len(way) == 2 else f"{name} wall {k}"
        if said in taken:
            said = f"{name} wall {k}"
        while said in taken:
            said += "'"
        taken.add(said)
        out.append(said)
    return out


def _tolerances(
    asked: Sequence[ToleranceAsk], named: dict[str, tuple[list[str], str]]
) -> tuple[ToleranceAsk, ...]:
    out: list[ToleranceAsk] = []
    for t in asked:
        every, largest = named.get(t.feature, ([t.feature], t.feature))
        names = every if t.kind.startswith("profile") else [largest]
        out += [replace(t, feature=n) for n in names]
    return tuple(out)
