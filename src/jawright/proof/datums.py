"""The datum reference frame of each part, built from its own surfaces in the print's order.

Datums that lie down or up (normal along Z) take the tilt and Z. Of those that stand, the first takes
the turn and one direction, the next the other direction. A plane touches the part's high points
(ISO 5459: the tangent plane outside the material); a secondary plane is built on the primary's turn.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from jawright.hold.model import DatumUse
from jawright.part.model import Part
from jawright.proof.population import Scene

Floats = NDArray[np.float64]
Spot = tuple[Floats | float, Floats | float]


@dataclass(frozen=True, slots=True)
class Role:
    """What one datum takes: ``both`` directions, ``one`` along ``way``, or the ``turn`` about a place.

    For a turn taken by a bore ``way`` is its arm [mm] from ``about``, where the first bore lies.
    """

    letter: str
    takes: Literal["both", "one", "turn"]
    way: tuple[float, float] = (0.0, 0.0)
    about: tuple[float, float] = (0.0, 0.0)
    bore: bool = False


@dataclass(frozen=True)
class Frame:
    """Frame of m parts in the plane of the vise, taken on the part as seated at nominal.

    ``turn`` (m,) [rad] of the frame on the part, None when no datum takes the turn. ``origin``
    holds, per plane taken, its nominal normal (2,), its nominal place along it and its actual place
    (m,) along the turned normal. ``z`` says whether a datum takes the tilt and height.
    """

    turn: Floats | None
    planes: tuple[tuple[Floats, float, Floats], ...]
    z: bool
    words: str
    roles: tuple[Role, ...] = ()


def ends(scene: Scene, part: Part | None, datum: DatumUse) -> tuple[Floats, Floats]:
    """Two end points (2,) of a standing datum plane in plan [mm]."""
    for k in datum.faces:
        wall = scene.walls.get(k)
        if wall is not None and wall.straight:
            return np.array(wall.a), np.array(wall.b)
    n = np.array(datum.normal[:2]) / math.hypot(*datum.normal[:2])
    along = np.array([-n[1], n[0]])
    half = 0.0
    if part is not None:
        for face in part.faces:
            if face.index in datum.faces:
                b = face.box
                half = max(half, 0.5 * math.dist(b[:3], b[3:]))
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

    ``made`` gives, by letter, where datums lie on each part (m,), (m,) [mm]: bores by their middle, planes
    cut in this operation by two ends. A bore that is absent is taken as true, a plane is a wall of the
    first side. A bore behind another datum bore takes the turn.
    """
    known = made or {}
    turn: Floats | None = None
    taken = _Taken()
    z = False
    words: list[str] = []
    for d in datums:
        n = np.array(d.normal[:2], dtype=float)
        if d.kind == "bore":
            if abs(d.normal[2]) > 0.9:
                turn = _take_bore(d, known.get(d.letter, (None,))[0], taken, turn, words=words)
            continue
        if np.hypot(*n) < 0.1:
            z = True
            words.append(f"{d.letter} takes tilt and Z")
            continue
        n /= np.hypot(*n)
        if any(abs(n @ q) > 0.9 for q in taken.normals) and (turn is not None or len(taken.normals) < 2):
            continue  # parallel to a datum that came first: nothing left to take
        a, b = ends(scene, part, d)
        face = next((f for f in d.faces if f in scene.walls), d.faces[0] if d.faces else -1)
        cut = known.get(d.letter)
        if cut is None:
            out_a, out_b = (scene.stands_out(sample, face, p) for p in (a, b))
        else:
            out_a, out_b = (
                (q[0] - p[0]) * n[0] + (q[1] - p[1]) * n[1] for p, q in zip((a, b), cut, strict=True)
            )
        length = float(np.hypot(*(b - a)))
        if turn is None:
            side = np.sign((b - a)[0] * n[1] - (b - a)[1] * n[0]) or 1.0
            turn = side * np.arctan2(out_b - out_a, length) if length > 1e-6 else np.zeros(len(sample))
            words.append(f"{d.letter} takes the turn")
            taken.roles.append(Role(d.letter, "turn"))
        if len(taken.normals) >= 2:
            continue
        # A leaning wall stands out farther at its foot or its top than where the jaw holds it.
        key = f"lean {face}"
        lean = sample[:, scene.column(key)] if scene.has(key) and cut is None else None
        over = [0.0] if lean is None else [lean * k for k in scene.rise]
        high = [
            (p[0] + (out + o) * n[0], p[1] + (out + o) * n[1])
            for p, out in ((a, out_a), (b, out_b))
            for o in over
        ]
        taken.add(n, float(max(n @ a, n @ b)), high)
        taken.roles.append(Role(d.letter, "one", (float(n[0]), float(n[1]))))
        words.append(f"{d.letter} takes one direction")
    return Frame(turn, taken.planes(turn, len(sample)), z, ", ".join(words), tuple(taken.roles))


class _Taken:
    """Directions taken so far: nominal normal, nominal place along it, points of each part that set it."""

    def __init__(self) -> None:
        self.normals: list[Floats] = []
        self.places: list[float] = []
        self.points: list[Sequence[Spot]] = []
        self.first_bore: tuple[Floats, Spot] | None = None
        self.roles: list[Role] = []

    def add(self, normal: Floats, place: float, points: Sequence[Spot]) -> None:
        self.normals.append(normal)
        self.places.append(place)
        self.points.append(points)

    def planes(self, turn: Floats | None, count: int) -> tuple[tuple[Floats, float, Floats], ...]:
        """With the frame's turn known, each part's own place along each turned normal (its highest point)."""
        t = np.zeros(count) if turn is None else turn
        c, s = np.cos(t), np.sin(t)
        out = []
        for n, place, points in zip(self.normals, self.places, self.points, strict=True):
            nx, ny = c * n[0] - s * n[1], s * n[0] + c * n[1]
            actual = np.max([nx * p[0] + ny * p[1] for p in points], axis=0)
            out.append((n, place, np.asarray(actual)))
        return tuple(out)


def _take_bore(
    datum: DatumUse, place: Spot | None, taken: _Taken, turn: Floats | None, *, words: list[str]
) -> Floats | None:
    """What an upright bore takes: both directions, or the one that is left, or the turn. Returns the turn."""
    origin = np.array(datum.point[:2])
    spot: Spot = place if place is not None else (float(origin[0]), float(origin[1]))
    left = 2 - len(taken.normals)
    if left == 2:
        for axis in np.eye(2):
            taken.add(axis, float(axis @ origin), [spot])
        taken.first_bore = (origin, spot)
        place_xy = (float(origin[0]), float(origin[1]))
        taken.roles.append(Role(datum.letter, "both", about=place_xy, bore=True))
        words.append(f"{datum.letter} takes X and Y")
    elif left == 1:
        n = taken.normals[0]
        along = np.array([-n[1], n[0]])
        taken.add(along, float(along @ origin), [spot])
        taken.roles.append(Role(datum.letter, "one", (float(along[0]), float(along[1])), bore=True))
        words.append(f"{datum.letter} takes one direction")
    elif turn is None and taken.first_bore is not None:
        first, at = taken.first_bore
        arm = origin - first
        if np.hypot(*arm) < 1e-6:
            return turn
        actual = np.arctan2(spot[1] - at[1], spot[0] - at[0])
        off = actual - np.arctan2(arm[1], arm[0])
        words.append(f"{datum.letter} takes the turn")
        at_first = (float(first[0]), float(first[1]))
        taken.roles.append(Role(datum.letter, "turn", (float(arm[0]), float(arm[1])), at_first, bore=True))
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
    turn = np.zeros(m) if frame.turn is None else frame.turn
    c, s = np.cos(turn), np.sin(turn)
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
    inv = np.linalg.inv(np.array(rows))
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
