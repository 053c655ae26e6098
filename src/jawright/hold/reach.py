"""What can be made from the upper side, and which of it the part as it comes in does not have yet.

Lengths in mm, angles in rad.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace

from jawright import kernel
from jawright.errors import JawrightError
from jawright.geometry.frame import Vec3, dot, unit
from jawright.hold.found import FoundFeature, together
from jawright.job.model import Feature, FeatureKind, Pick
from jawright.part.features import find_features
from jawright.part.model import Drilled, EdgeBreak, Face, Hole, Part, Recess
from jawright.part.net import LEVEL, ON, Net, net_of
from jawright.part.pick import direction, words
from jawright.part.recess import recesses

SKIN = 0.02
"""Points are looked at this far [mm] from a face: far above rounding, far below what is left to cut."""
AGREE = 0.05
"""Metal that the finished part has and the incoming one lacks up to this depth [mm] is no matter."""
BORED = 20.0
"""Holes wider than this [mm] are bored, not drilled, unless the job says so. Common practice, no source."""
PLACES = 12
"""Most places of one face that are looked at."""


@dataclass(frozen=True, slots=True)
class Reached:
    """Features made from above, in the order of making, and what is to be told of the rest."""

    features: tuple[FoundFeature, ...]
    notes: tuple[str, ...]


def reached(part: Part, up: Vec3, stock: Part | None, *, taken: Sequence[FoundFeature] = ()) -> Reached:
    """Everything a cutter coming down reaches and ``stock`` does not have yet.

    ``stock`` is the part as it comes from the first side, in the same frame; without one, all that
    opens upwards is made here, the walls of the outline are not. ``taken`` are features named in
    the job: what they make is not listed again. Raises ``value-bad`` when the stock lacks metal of
    the finished part.
    """
    if stock is not None:
        _same_part(part, stock)
    look = _Look(part, unit(up), stock, {i for f in taken for i in f.faces})
    return look.all(whole_top=not any(f.ask.kind == "face" for f in taken))


class _Look:
    def __init__(self, part: Part, way: Vec3, stock: Part | None, taken: set[int]) -> None:
        self.part, self.way, self.stock = part, way, stock
        self.net: Net = net_of(part)
        self.done = set(taken)
        self.notes: list[str] = []
        self._count: dict[str, int] = {}

    def all(self, *, whole_top: bool) -> Reached:
        part, way = self.part, self.way
        known = find_features(part)
        top = max(self.net.span(f.index, way)[1] for f in part.faces)
        found = list(self._tops(top)) if whole_top else []
        found += self._steps_and_pockets(recesses(self.net, known.drilled, way))
        found += self._levels(top)
        found += self._walls(known.drilled)
        for d in known.drilled:
            found += self._holes(d)
        for b in known.breaks:
            found += self._chamfer(b)
        self._rest()
        return Reached(tuple(found), tuple(self.notes))

    # ---- one kind after the other ------------------------------------------------------------

    def _tops(self, top: float) -> Iterable[FoundFeature]:
        """The highest level faces: one facing cut over the whole top."""
        high = [f.index for f in self.part.faces if self._at(f.index, top)]
        if high and any(self._made([i]) for i in high):
            self.done |= set(high)
            yield FoundFeature(Feature("top face", "face", None), tuple(high), None, None)

    def _at(self, face: int, top: float) -> bool:
        return self.net.level(face, self.way) and self.net.span(face, self.way)[1] > top - ON

    def _levels(self, top: float) -> Iterable[FoundFeature]:
        """Lower level faces that are the floor of nothing: lands round a boss."""
        for f in self.part.faces:
            if f.index in self.done or not self.net.level(f.index, self.way) or self._at(f.index, top):
                continue
            if self._is_hole_bottom(f) or not self._open([f.index]) or not self._made([f.index]):
                continue
            yield self._named("land", "face", (f.index,), f)

    def _is_hole_bottom(self, face: Face) -> bool:
        """The bottom of a round hole is made with the hole."""
        walls = {i for h in self.part.holes for i in h.faces}
        rising = {e.other for e in self.net.of[face.index] if e.turn < 0}
        return bool(rising) and rising <= walls

    def _steps_and_pockets(self, found: Sequence[Recess]) -> Iterable[FoundFeature]:
        kinds: dict[str, FeatureKind] = {"pocket": "pocket", "slot": "slot", "step": "profile"}
        for r in found:
            faces = tuple(i for i in r.faces if i not in self.done)
            floor = [i for i in r.floor if i not in self.done]
            if not faces or not self._open(floor or list(r.walls)) or not self._made(faces):
                continue
            shown = together(self.part, r.floor or r.walls)
            feature = self._named(r.kind, kinds[r.kind], faces, shown)
            if r.through:
                window = r if r.closed else None
                feature = replace(feature, ask=replace(feature.ask, through=True), window=window)
            yield feature

    def _walls(self, drilled: Sequence[Drilled]) -> Iterable[FoundFeature]:
        """Upright walls of the outline that are still in metal."""
        if self.stock is None:
            return
        round_walls = {i for d in drilled for i in d.faces}
        mine = [
            f.index
            for f in self.part.faces
            if f.index not in self.done | round_walls
            and self.net.upright(f.index, self.way)
            and self._open([f.index])
            and self._made([f.index])
        ]
        if mine:
            yield self._named("profile", "profile", tuple(mine), together(self.part, mine))

    def _holes(self, d: Drilled) -> Iterable[FoundFeature]:
        for h in d.holes:
            along = dot(h.axis, self.way)
            from_above = along > 1 - LEVEL or (h.through and along < LEVEL - 1)
            if not from_above or set(h.faces) & self.done:
                continue
            ends = [_on_axis(h, 0.0), _on_axis(h, h.depth)]
            high = max(ends, key=lambda p: dot(p, self.way))
            (clear,) = kernel.open_to(self.part.shape, [_moved(high, self.way, -SKIN)], self.way)
            if not clear:
                self.notes.append(f"the hole Ø{h.diameter:.2f} at {_point(h.mouth)} is covered from above")
                continue
            metal, pilot = self._metal_in(h)
            if not metal:
                self.done |= set(h.faces)
                continue
            follows = len(d.holes) > 1 and not h.through
            kind: FeatureKind = "bore" if h.diameter > BORED or follows else "drill"
            name = self._next("counterbore" if follows else "hole")
            self.done |= set(h.faces)
            ask = Feature(name, kind, Pick(_on_axis(h, 0.5 * h.depth), name), pilot=pilot)
            yield FoundFeature(ask, h.faces, h, None)

    def _chamfer(self, b: EdgeBreak) -> Iterable[FoundFeature]:
        f = self.part.faces[b.face]
        lean = dot(f.normal, self.way)
        if (
            b.face in self.done
            or not 0.1 < lean < 0.99
            or not self._open([b.face])
            or not self._made([b.face])
        ):
            return
        if b.kind == "chamfer":
            yield self._named("chamfer", "chamfer", (b.face,), f)
        else:
            self.done.add(b.face)
            place = f"the rounded edge R{b.size:.2f} at {_point(f.center)}"
            self.notes.append(f"{place} is not in the operation: name it as a feature when it is made here")

    def _rest(self) -> None:
        """Faces that look up, are still in metal, and are nothing that is known here."""
        for f in self.part.faces:
            if f.index in self.done or (f.kind == "plane" and abs(dot(f.normal, self.way)) < LEVEL):
                continue
            if dot(f.normal, self.way) < 0.1 or self._is_hole_bottom(f):
                continue
            if self._open([f.index]) and self._made([f.index]):
                where = f"{words(f)} at {_point(f.center)} can be reached with {direction(self.way)} up"
                self.notes.append(f"{where} but is no feature that is known here: name it as a feature")

    # ---- looking -----------------------------------------------------------------------------

    def _named(self, word: str, kind: FeatureKind, faces: tuple[int, ...], shown: Face) -> FoundFeature:
        self.done |= set(faces)
        name = self._next(word)
        return FoundFeature(Feature(name, kind, Pick(shown.center, name)), faces, None, shown)

    def _next(self, word: str) -> str:
        self._count[word] = self._count.get(word, 0) + 1
        return f"{word} {self._count[word]}"

    def _outside(self, faces: Iterable[int]) -> list[Vec3]:
        """Points in the air a hair off faces."""
        return [_moved(p, n, SKIN) for i in faces for p, n in kernel.face_places(self.part.shape, i, PLACES)]

    def _open(self, faces: Sequence[int]) -> bool:
        """Whether nothing of the finished part stands over at least half of the places of faces."""
        seen = kernel.open_to(self.part.shape, self._outside(faces), self.way)
        return 2 * sum(seen) >= len(seen) > 0

    def _made(self, faces: Sequence[int]) -> bool:
        """Whether metal of the incoming part lies on any of the faces; without one it does on all."""
        return self.stock is None or any(kernel.inside(self.stock.shape, self._outside(faces)))

    def _metal_in(self, h: Hole) -> tuple[bool, float | None]:
        """Whether there is metal to take in a hole, and the diameter of a hole that is there already."""
        if self.stock is None:
            return True, None
        along = (0.25 * h.depth, 0.5 * h.depth, 0.75 * h.depth)
        ring = [_off_axis(h, t, 0.5 * h.diameter - SKIN, k * math.pi / 3) for t in along for k in range(6)]
        if not any(kernel.inside(self.stock.shape, ring)):
            return False, None
        for other in self.stock.holes:
            gap = [a - b for a, b in zip(other.mouth, h.mouth, strict=True)]
            line = dot((gap[0], gap[1], gap[2]), h.axis)
            off = math.sqrt(max(sum(g * g for g in gap) - line * line, 0.0))
            same_way = abs(dot(other.axis, h.axis)) > 1 - LEVEL
            if same_way and off < AGREE and other.diameter < h.diameter and other.depth > 0.9 * h.depth:
                return True, other.diameter
        return True, None


def _same_part(part: Part, stock: Part) -> None:
    """Refuse an incoming part that lacks metal the finished one has: another part, or another frame."""
    lost: list[Vec3] = []
    for f in part.faces:
        inner = [_moved(p, n, -AGREE) for p, n in kernel.face_places(part.shape, f.index, 3)]
        inner = [p for p, own in zip(inner, kernel.inside(part.shape, inner), strict=True) if own]
        lost += [p for p, held in zip(inner, kernel.inside(stock.shape, inner), strict=True) if not held]
    if lost:
        raise JawrightError(
            "value-bad",
            what=f"the part as it comes in ({stock.file}) lacks metal of the finished part"
            f" at {_point(lost[0])} mm" + (f" and at {len(lost) - 1} other places" if len(lost) > 1 else ""),
            where="[incoming] model",
            todo="export both models in the same frame, the first side's as it leaves the vise",
        )


def _moved(p: Vec3, way: Vec3, by: float) -> Vec3:
    return (p[0] + by * way[0], p[1] + by * way[1], p[2] + by * way[2])


def _on_axis(h: Hole, deep: float) -> Vec3:
    return _moved(h.mouth, h.axis, -deep)


def _off_axis(h: Hole, deep: float, radius: float, angle: float) -> Vec3:
    seed: Vec3 = (1.0, 0.0, 0.0) if abs(h.axis[0]) < 0.9 else (0.0, 1.0, 0.0)
    a, p = h.axis, _on_axis(h, deep)
    x = unit(
        (a[1] * seed[2] - a[2] * seed[1], a[2] * seed[0] - a[0] * seed[2], a[0] * seed[1] - a[1] * seed[0])
    )
    y = (a[1] * x[2] - a[2] * x[1], a[2] * x[0] - a[0] * x[2], a[0] * x[1] - a[1] * x[0])
    return _moved(_moved(p, x, radius * math.cos(angle)), y, radius * math.sin(angle))


def _point(p: Vec3) -> str:
    return "(" + ", ".join(f"{round(v, 2) + 0.0:g}" for v in p) + ")"
