"""The datum reference frame of each part, built from its own surfaces in the print's order.

Datums that lie down or up (normal along Z) take the tilt and Z. Of those that stand, the first takes
the turn and one direction, the next the other direction. A plane touches the part's high points
(ISO 5459: the tangent plane outside the material); a secondary plane is built on the primary's turn.
An upright bore or round takes both directions by its axis; a width is the plane midway between its walls;
datums joined by a dash are one: the axis midway, or the plane that touches both.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from functools import cached_property, reduce
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from jawright.hold.model import DatumUse
from jawright.part.model import Part
from jawright.proof.population import Scene
from jawright.proof.tilts import Tilt, Tilts

Floats = NDArray[np.float64]
Spot = tuple[Floats | float, Floats | float]
AXES = ("bore", "round")
LEVEL = 0.9999
"""Least cosine between directions that count as one."""
COAXIAL = 0.01  # [mm] axes no farther apart are one


@dataclass(frozen=True, slots=True)
class Common(DatumUse):
    """Datums that count as one ("A-B"); point, normal and kind are those of the first."""

    members: tuple[DatumUse, ...] = ()


def joined(letter: str, members: Sequence[DatumUse]) -> Common | str:
    """A common datum of members that lie alike, or why there is none."""
    first = members[0]
    if any(d.kind != first.kind for d in members):
        return f"{letter} joins datums of different kinds"
    alike = [sum(a * b for a, b in zip(d.normal, first.normal, strict=True)) for d in members]
    if first.kind in AXES:
        if min(abs(c) for c in alike) < LEVEL:
            return f"the axes of {letter} are not parallel"
        apart = max(math.dist(d.point[:2], first.point[:2]) for d in members)
        if apart > COAXIAL:
            return f"the axes of {letter} are {apart:.3g} mm apart: name them one after the other"
    elif first.kind == "plane":
        if min(alike) < LEVEL:
            return f"the planes of {letter} do not face the same way"
        if abs(first.normal[2]) > LEVEL and any(d.seat != first.seat for d in members):
            return f"of the planes of {letter} only some lie on the floor"
    else:
        return f"{letter} joins what cannot be one datum"
    seat = next((d.seat for d in members if d.seat in ("floor", "fixed", "stop")), first.seat)
    faces = tuple(f for d in members for f in d.faces)
    words = " and ".join(d.words for d in members)
    return Common(letter, first.kind, faces, first.point, first.normal, seat, words, members=tuple(members))


@dataclass(frozen=True, slots=True)
class Role:
    """What one datum takes: ``both`` directions, ``one`` along ``way``, or the ``turn`` about a place.

    For a turn taken by an axis ``way`` is its arm [mm] from ``about``, where the first axis lies.
    ``sized``: the datum has a size of its own, a gauge for its boundary leaves play.
    """

    letter: str
    takes: Literal["both", "one", "turn"]
    way: tuple[float, float] = (0.0, 0.0)
    about: tuple[float, float] = (0.0, 0.0)
    sized: bool = False


@dataclass(frozen=True)
class Frame:
    """Frame of m parts in the plane of the vise, taken on the part as seated at nominal.

    ``turn`` (m,) [rad] of the frame on the part, None when no datum takes the turn. ``origin``
    holds, per plane taken, its nominal normal (2,), its nominal place along it and its actual place
    (m,) along the turned normal. ``tilt`` says how what is upright in the machine leans on the frame.
    """

    turn: Floats | None
    planes: tuple[tuple[Floats, float, Floats], ...]
    tilt: Tilt
    words: str
    roles: tuple[Role, ...] = ()

    @cached_property
    def turned(self) -> tuple[Floats, Floats] | None:
        """Cosine and sine (m,) of the turn, None where no datum takes it."""
        return None if self.turn is None else (np.cos(self.turn), np.sin(self.turn))

    @cached_property
    def back(self) -> Floats:
        """From what is missed along each of the first two planes to X and Y (2, 2)."""
        return np.linalg.inv(np.array([n for n, _, _ in self.planes]))

    def turning(self) -> Frame:
        """The frame without what places: for the lower line of a composite frame."""
        roles = tuple(r for r in self.roles if r.takes == "turn")
        return replace(self, planes=(), roles=roles, words=f"{self.words}; all of them only turn and tilt")


def ends(scene: Scene, part: Part | None, datum: DatumUse) -> tuple[Floats, Floats]:
    """Two end points (2,) of a standing datum plane, or of a middle plane, in plan [mm]."""
    n = np.array(datum.normal[:2]) / math.hypot(*datum.normal[:2])
    for k in datum.faces:
        wall = scene.walls.get(k)
        if wall is not None and wall.straight:
            a, b = np.array(wall.a), np.array(wall.b)
            if datum.kind == "width":
                a, b = (p + ((np.array(datum.point[:2]) - p) @ n) * n for p in (a, b))
            return a, b
    along = np.array([-n[1], n[0]])
    half = 0.0
    if part is not None:
        for face in part.faces:
            if face.index in datum.faces:
                box = face.box
                half = max(half, 0.5 * math.dist(box[:3], box[3:]))
    p = np.array(datum.point[:2])
    return p - half * along, p + half * along


def build(
    scene: Scene,
    sample: Floats,
    datums: Sequence[DatumUse],
    part: Part | None,
    *,
    made: Mapping[str, Sequence[Spot]] | None = None,
) -> Frame:
    """The frame of every part in ``sample`` (m, s) from ``datums`` in the print's order.

    ``made`` gives, by letter, where datums lie on each part (m,), (m,) [mm]: axes by their middle, middle
    planes and planes cut in this operation by two ends. An axis that is absent is taken as true, a plane is
    a wall of the first side. An axis behind another takes the turn.
    """
    known = made or {}
    turn: Floats | None = None
    taken = _Taken()
    tilts = Tilts(scene, sample)
    words: list[str] = []
    for d in datums:
        n = np.array(d.normal[:2], dtype=float)
        here = d.letter in scene.made
        if d.kind in AXES:
            if abs(d.normal[2]) > 0.9:
                if d is datums[0]:
                    tilts.lies(here=here)
                turn = _take_axis(d, known.get(d.letter, (None,))[0], taken, turn, words=words)
            continue
        if np.hypot(*n) < 0.1:
            words.append(f"{d.letter} takes tilt and Z" if tilts.lies(here=here) else f"{d.letter} takes Z")
            continue
        n /= np.hypot(*n)
        if any(abs(n @ q) > 0.9 for q in taken.normals) and (turn is not None or len(taken.normals) < 2):
            continue  # parallel to a datum that came first: nothing left to take
        tilted = tilts.stands(d, d.members if isinstance(d, Common) else (d,), here=here)
        if tilted:
            words.append(f"{d.letter} takes the tilt square to it")
        touch = _touches(scene, sample, d, part, cut=known.get(d.letter), tilted=tilted)
        if turn is None:
            turn = touch.turn(n, len(sample))
            words.append(f"{d.letter} takes the turn")
            taken.roles.append(Role(d.letter, "turn"))
        if len(taken.normals) >= 2:
            continue
        taken.add(n, touch.level, touch.high(n), middle=d.kind == "width")
        way = (float(n[0]), float(n[1]))
        taken.roles.append(Role(d.letter, "one", way, sized=d.kind == "width"))
        words.append(f"{d.letter} takes one direction")
    return Frame(turn, taken.planes(turn, len(sample)), tilts.found(), ", ".join(words), tuple(taken.roles))


@dataclass(frozen=True)
class _Touch:
    """Points of a standing plane in plan: nominal places (k, 2), how far each stands out (k of (m,)), by how
    much more it may at its foot or top, and the plane's nominal level along its normal."""

    at: Floats
    out: tuple[Floats, ...]
    over: tuple[tuple[Floats | float, ...], ...]
    level: float

    def turn(self, n: Floats, count: int) -> Floats:
        """Turn (m,) [rad] of the line that touches every point from outside.

        Two ends give it at once; of more, the pair that leaves no point outside it (ISO 5459: a common datum
        touches its planes together).
        """
        along = np.array([-n[1], n[0]])
        t = self.at @ along
        if len(t) == 2:
            wide = t[1] - t[0]
            slope = np.zeros(count) if abs(wide) < 1e-6 else (self.out[1] - self.out[0]) / wide
            return -np.arctan(np.where(np.isnan(slope), 0.0, slope))
        best, slope = np.full(count, np.inf), np.zeros(count)
        half = len(t) // 2
        for i in range(half):
            for j in range(half, len(t)):
                if abs(t[j] - t[i]) < 1e-6:
                    continue
                k = (self.out[j] - self.out[i]) / (t[j] - t[i])
                beyond = np.max(
                    [o - self.out[i] - k * (u - t[i]) for o, u in zip(self.out, t, strict=True)], axis=0
                )
                better = beyond < best - 1e-12
                best, slope = np.where(better, beyond, best), np.where(better, k, slope)
        return -np.arctan(slope)

    def high(self, n: Floats) -> list[Spot]:
        """Points of each part that can touch the datum plane."""
        return [
            (p[0] + (o + more - off) * n[0], p[1] + (o + more - off) * n[1])
            for p, o, extra in zip(self.at, self.out, self.over, strict=True)
            for off in (float(n @ p) - self.level,)
            for more in extra
        ]


def _touches(
    scene: Scene,
    sample: Floats,
    d: DatumUse,
    part: Part | None,
    *,
    cut: Sequence[Spot] | None,
    tilted: bool,
) -> _Touch:
    """Where a standing plane, the members of a common one, or a middle plane touches.

    ``tilted``: the plane leans with its wall, which then touches at every height.
    """
    n = np.array(d.normal[:2]) / math.hypot(*d.normal[:2])
    at: list[Floats] = []
    out: list[Floats] = []
    over: list[tuple[Floats | float, ...]] = []
    for one in d.members if isinstance(d, Common) else (d,):
        a, b = ends(scene, part, one)
        face = next((f for f in one.faces if f in scene.walls), one.faces[0] if one.faces else -1)
        if cut is None:
            stand = [scene.stands_out(sample, face, p) for p in (a, b)]
        else:
            stand = [
                np.asarray((q[0] - p[0]) * n[0] + (q[1] - p[1]) * n[1])
                for p, q in zip((a, b), cut, strict=True)
            ]
        # A leaning wall stands out farther at its foot or its top than where the jaw holds it.
        key = f"lean {face}"
        leans = scene.has(key) and cut is None and not tilted
        more = tuple(sample[:, scene.column(key)] * k for k in scene.rise) if leans else (0.0,)
        at += [a, b]
        out += stand
        over += [more, more]
    points = np.array(at)
    return _Touch(points, tuple(out), tuple(over), float((points[:2] @ n).max()))


class _Taken:
    """Directions taken so far: nominal normal, nominal place along it, points of each part that set it."""

    def __init__(self) -> None:
        self.normals: list[Floats] = []
        self.places: list[float] = []
        self.points: list[Sequence[Spot]] = []
        self.middle: list[bool] = []
        self.first_axis: tuple[Floats, Spot] | None = None
        self.roles: list[Role] = []

    def add(self, normal: Floats, place: float, points: Sequence[Spot], *, middle: bool = False) -> None:
        self.normals.append(normal)
        self.places.append(place)
        self.points.append(points)
        self.middle.append(middle)

    def planes(self, turn: Floats | None, count: int) -> tuple[tuple[Floats, float, Floats], ...]:
        """With the frame's turn known, each part's own place along each turned normal.

        A plane touches with its highest point; a middle plane lies between its ends.
        """
        t = np.zeros(count) if turn is None else turn
        c, s = np.cos(t), np.sin(t)
        out = []
        for n, place, points, middle in zip(self.normals, self.places, self.points, self.middle, strict=True):
            nx, ny = c * n[0] - s * n[1], s * n[0] + c * n[1]
            each = [nx * p[0] + ny * p[1] for p in points]
            actual = np.mean(each, axis=0) if middle else reduce(np.maximum, each)
            out.append((n, place, np.asarray(actual)))
        return tuple(out)


def _take_axis(
    datum: DatumUse, place: Spot | None, taken: _Taken, turn: Floats | None, *, words: list[str]
) -> Floats | None:
    """What an upright axis takes: both directions, or the one that is left, or the turn. Returns the turn."""
    origin = np.array(datum.point[:2])
    spot: Spot = place if place is not None else (float(origin[0]), float(origin[1]))
    left = 2 - len(taken.normals)
    if left == 2:
        for axis in np.eye(2):
            taken.add(axis, float(axis @ origin), [spot])
        taken.first_axis = (origin, spot)
        place_xy = (float(origin[0]), float(origin[1]))
        taken.roles.append(Role(datum.letter, "both", about=place_xy, sized=True))
        words.append(f"{datum.letter} takes X and Y")
    elif left == 1:
        n = taken.normals[0]
        along = np.array([-n[1], n[0]])
        taken.add(along, float(along @ origin), [spot])
        taken.roles.append(Role(datum.letter, "one", (float(along[0]), float(along[1])), sized=True))
        words.append(f"{datum.letter} takes one direction")
    elif turn is None and taken.first_axis is not None:
        first, at = taken.first_axis
        arm = origin - first
        if np.hypot(*arm) < 1e-6:
            return turn
        actual = np.arctan2(spot[1] - at[1], spot[0] - at[0])
        off = actual - np.arctan2(arm[1], arm[0])
        words.append(f"{datum.letter} takes the turn")
        at_first = (float(first[0]), float(first[1]))
        taken.roles.append(Role(datum.letter, "turn", (float(arm[0]), float(arm[1])), at_first, sized=True))
        return np.atleast_1d(np.asarray(np.remainder(off + np.pi, 2 * np.pi) - np.pi))
    return turn


def deviation(
    frame: Frame, x: Floats, y: Floats, nominal: tuple[float, float], *, whole: bool = False
) -> tuple[Floats, Floats]:
    """Deviation (m,), (m,) [mm] in the plane of points (x, y) on the part from ``nominal`` in the frame.

    A direction no datum takes has no deviation: the zone may follow the feature there. With ``whole`` it
    keeps what the part itself shows there, so that features of one pattern can be held to each other.
    """
    m = len(x)
    p = np.array(nominal)
    c, s = frame.turned or (np.ones(m), np.zeros(m))
    rows, misses = [], []
    for n, place, actual in frame.planes:
        nx, ny = c * n[0] - s * n[1], s * n[0] + c * n[1]
        rows.append(n)
        misses.append(nx * x + ny * y - actual - (float(n @ p) - place))
    if not rows:
        return (c * x + s * y - p[0], c * y - s * x - p[1]) if whole else (np.zeros(m), np.zeros(m))
    if len(rows) == 1:
        n = rows[0]
        beside = -n[1] * (c * x + s * y - p[0]) + n[0] * (c * y - s * x - p[1]) if whole else np.zeros(m)
        return misses[0] * n[0] - beside * n[1], misses[0] * n[1] + beside * n[0]
    inv = frame.back
    dx = inv[0, 0] * misses[0] + inv[0, 1] * misses[1]
    dy = inv[1, 0] * misses[0] + inv[1, 1] * misses[1]
    if (
        frame.turn is None and not whole
    ):  # a bore alone: the pattern may turn about it, only the distance counts
        origin = np.array([q[1] for q in frame.planes])
        arm = p - origin
        far = float(np.hypot(*arm))
        if far < 1e-9:
            return dx, dy
        u = arm / far
        radial = dx * u[0] + dy * u[1]
        return radial * u[0], radial * u[1]
    return dx, dy
