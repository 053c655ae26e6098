"""A part whose whole outline is milled in this operation: held in two clampings, and what goes where.

In the first the jaws close on two walls as they come in while the others are milled; in the second they
close on two walls that are finished by then, while the first two are milled. Lengths in mm, angles in rad.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from functools import lru_cache

from jawright.errors import JawrightError
from jawright.geometry.curve import Curve, Line, right_normal
from jawright.geometry.envelope import borders
from jawright.geometry.frame import Vec3
from jawright.geometry.profile import Profile
from jawright.hold import feet, milled
from jawright.hold.features import choose_cutter
from jawright.hold.found import Ask, FoundFeature
from jawright.hold.narrow import narrow
from jawright.hold.outline import INSIDE
from jawright.hold.view import ABOVE, GRIP, GRIP_LEAST
from jawright.job.model import Job
from jawright.part.band import grip_band
from jawright.part.model import Part
from jawright.shop.model import Shop
from jawright.units import System, show

SQUARE = math.radians(5.0)  # a wall on the fixed jaw is square to the closing direction within this
OPPOSED = math.radians(30.0)  # one on the floating jaw within this: a steeper one is not gripped
HOLES = ("bore", "ream", "drill")


@dataclass(frozen=True, slots=True)
class Wall:
    """A straight wall of the outline: its curve, datum letter, and the feature that mills it, or ""."""

    index: int
    face: int
    curve: Line
    letter: str
    feature: str
    cutter: float = 0.0  # diameter of what mills it [mm]

    @property
    def name(self) -> str:
        """What the job calls it."""
        if self.feature:
            return self.feature
        return f"datum {self.letter}" if self.letter else "a wall that is not milled"

    @property
    def angle(self) -> float:
        """Direction of the outward normal [rad]."""
        x, y = right_normal(self.curve, 0.5)
        return math.atan2(y, x)

    def along(self, turn: float, less: tuple[float, float]) -> tuple[float, float]:
        """Where it begins and ends along the jaws at a turn [rad], ``less`` at its start and its end [mm]."""
        c, s = math.cos(turn), math.sin(turn)
        a, b = (p[0] * c - p[1] * s for p in (self.curve.start, self.curve.end))
        return (a + less[0], b - less[1]) if a < b else (b + less[1], a - less[0])


@dataclass(frozen=True, slots=True)
class Grip:
    """Walls between the jaws at a turn [rad], and the land they share [mm]."""

    turn: float
    fixed: tuple[Wall, ...]
    floating: tuple[Wall, ...]
    land: float

    @property
    def walls(self) -> tuple[Wall, ...]:
        """Walls the jaws touch."""
        return (*self.fixed, *self.floating)

    @property
    def held(self) -> frozenset[int]:
        """Their curves."""
        return frozenset(w.index for w in self.walls)

    @property
    def faces(self) -> frozenset[int]:
        """Their part faces."""
        return frozenset(w.face for w in self.walls)


@dataclass(frozen=True, slots=True)
class Clampings:
    """Two clampings: how the part is gripped in each, ``depth`` [mm] deep, and which features it makes.

    ``zero`` is the round feature of the first on which X is picked up again in the second, or "".
    """

    grips: tuple[Grip, Grip]
    features: tuple[tuple[str, ...], tuple[str, ...]]
    depth: float
    zero: str
    up: Vec3
    outline: Profile  # in the frame of the standing part, turn 0

    def told(self, units: System) -> tuple[str, str, str]:
        """Both clampings and what carries over from one to the other, in words."""
        first, second = self.grips

        def size(mm: float) -> str:
            return show(mm, "length", units, digits=1 if units == "mm" else 2)

        turned = math.degrees(_off(second.turn, first.turn))
        on = next((f"datum {w.letter}" for w in second.fixed if w.letter), "") or _names(second.fixed)
        x = (
            f"X picked up on {self.zero} of each part, made in the first clamping"
            if self.zero
            else "X at the middle of the stock, as nothing of the first clamping lies along it"
        )
        return (
            f"Clamping 1, turn {_degrees(first.turn)}: {_names(first.fixed)} on the fixed jaw, "
            f"{_names(first.floating)} on the floating jaw, both as they come in, "
            f"over {size(first.land)} at the most: the jaws end {size(INSIDE)} inside the corners, and "
            f"beside the part they are cut down below it. Make {', '.join(self.features[0])}.",
            f"Clamping 2, turned by {turned:.0f}° to turn {_degrees(second.turn)}: {on} on the fixed jaw, "
            f"{_names(second.floating)} on the floating jaw, both finished by then, over "
            f"{size(second.land)} at the most. Make {', '.join(self.features[1])}.",
            f"What carries over: Y from the fixed jaw, which then touches {_names(second.fixed)}; {x}; Z "
            "from the same face on the floor.",
        )


def ways(part: Part, job: Job, ask: Ask, up: Vec3, shop: Shop) -> tuple[Clampings, ...]:
    """The ways to hold a part whose whole outline is milled in two clampings, the best ones by ``_worth``.

    None where it is not milled all round, where no two clampings go, and where its walls make no outline: why
    they do not is told of the stance.

    As many datums of the print as can be are milled together with its holes; then a datum on the fixed jaw
    afterwards counts. All that are equal in both are given, those with more land first, then those with
    longer walls on the fixed jaw: on a short one the part rocks.
    """
    low, high = milled.span(part, up)
    depth = job.hold.grip_depth or min(GRIP, high - low - ABOVE)
    if depth < GRIP_LEAST:
        return ()
    if not any(milled.deep(f, part, up) for f in ask.features):
        return ()
    try:
        seen = feet.joined(grip_band(part, up, 0.0, depth), part, up)
    except JawrightError as error:
        if error.code not in ("hold-none", "geometry"):
            raise
        return ()
    if not milled.whole(seen.outline, milled.walls(ask, part, up, seen.outline, seen.faces)):
        return ()
    letters = {f: d.letter for d in ask.datums for f in d.faces}
    walls = _walls(seen.outline.curves, seen.faces, letters, _milling(ask, part, up, shop))
    outline = _Outline(seen.outline, {w.index: w for w in walls})
    grips = [g for w in walls if (g := _grip(w, outline)) is not None]
    both = (_both(a, b, outline) for a in grips for b in grips if not a.held & b.held)
    pairs = dict.fromkeys(p for p in both if p is not None)
    used = tuple(dict.fromkeys(d for t in ask.tolerances for d in t.datums))
    ranked = sorted(((_worth(p, walls, used), p) for p in pairs), key=lambda w: w[0], reverse=True)
    out = []
    for worth, grip in ranked:
        if worth[:2] != ranked[0][0][:2]:
            break
        features = _shared_out(grip, part, ask, up)
        zero = next(
            (f.ask.name for f in ask.features if f.ask.kind in HOLES and f.ask.name in features[0]), ""
        )
        out.append(Clampings(grip, features, depth, zero, up, seen.outline))
    return tuple(out)


def _milling(ask: Ask, part: Part, up: Vec3, shop: Shop) -> dict[int, tuple[str, float]]:
    """By part face the feature that mills it down into the grip, and the diameter of its cutter [mm]."""
    out: dict[int, tuple[str, float]] = {}
    for f in ask.features:
        faces = milled.deep(f, part, up)
        if faces:
            out |= dict.fromkeys(faces, (f.ask.name, _diameter(f, part, up, shop)))
    return out


def _diameter(f: FoundFeature, part: Part, up: Vec3, shop: Shop) -> float:
    """Diameter of what mills a feature [mm], 0 where the shop has nothing: that is told of its job."""
    try:
        return choose_cutter(f.ask, None, shop, within=narrow(part, f, up))[0].diameter
    except JawrightError as error:
        if error.code != "shop-no-cutter":
            raise
        return 0.0


def _walls(
    curves: Sequence[Curve],
    faces: Sequence[int],
    letters: dict[int, str],
    milling: dict[int, tuple[str, float]],
) -> list[Wall]:
    return [
        Wall(i, faces[i], c, letters.get(faces[i], ""), *milling.get(faces[i], ("", 0.0)))
        for i, c in enumerate(curves)
        if isinstance(c, Line)
    ]


def _grip(wall: Wall, outline: _Outline) -> Grip | None:
    """The grip with a wall on the fixed jaw; None where nothing opposite shares enough land with it."""
    turn = (math.pi / 2 - wall.angle) % (2 * math.pi)
    walls = [w for i, w in outline.walls.items() if i in _seen(outline.profile, turn)]
    fixed = tuple(w for w in walls if abs(_off(w.angle + turn, math.pi / 2)) < SQUARE)
    floating = tuple(w for w in walls if abs(_off(w.angle + turn, -math.pi / 2)) < OPPOSED)
    return _on(Grip(turn, fixed, floating, 0.0), {}, outline)


@lru_cache(maxsize=64)
def _seen(outline: Profile, turn: float) -> Mapping[int, tuple[float, float]]:
    """By curve what of it a jaw closing on the turned outline meets, from where to where along X [mm].

    Other walls stand before the rest. Of several pieces the longest counts.
    """
    out: dict[int, tuple[float, float]] = {}
    for chain in borders([outline.moved(turn=turn)])[0]:
        for curve, index in chain:
            a, b = sorted((curve.start[0], curve.end[0]))
            if b - a > out.get(index, (0.0, 0.0))[1] - out.get(index, (0.0, 0.0))[0]:
                out[index] = (a, b)
    return out


def _on(grip: Grip, less: Mapping[int, tuple[float, float]], outline: _Outline) -> Grip | None:
    """The grip on the walls that keep some land, None where they share too little.

    ``less`` is by curve what its start and its end lose [mm].
    """
    usual = (INSIDE, INSIDE)
    seen = _seen(outline.profile, grip.turn)

    def left(walls: tuple[Wall, ...]) -> list[tuple[Wall, tuple[float, float]]]:
        spans = [(w, w.along(grip.turn, less.get(w.index, usual))) for w in walls]
        cut = [(w, (max(s[0], seen[w.index][0]), min(s[1], seen[w.index][1]))) for w, s in spans]
        return [(w, s) for w, s in cut if s[1] > s[0]]

    fixed, floating = left(grip.fixed), left(grip.floating)
    land = sum(_land(a, b) for _, a in fixed for _, b in floating)
    if land < milled.SHORT:
        return None
    return Grip(grip.turn, tuple(w for w, _ in fixed), tuple(w for w, _ in floating), land)


def _both(first: Grip, second: Grip, outline: _Outline) -> tuple[Grip, Grip] | None:
    """Both with the land that the cutters leave them, None where that is too little.

    In the first all but its own walls are milled, and its rounded corners still have their stock; in the
    second those walls are, and all corners beside them.
    """
    made = frozenset(outline.walls) - first.held
    a = _on(first, {w.index: outline.lost(w, made, rounds=False) for w in first.walls}, outline)
    if a is None:
        return None
    b = _on(second, {w.index: outline.lost(w, a.held, rounds=True) for w in second.walls}, outline)
    return None if b is None else (a, b)


@dataclass(frozen=True, slots=True)
class _Outline:
    """The outline, and its straight walls by the numbers of their curves."""

    profile: Profile
    walls: dict[int, Wall]

    @property
    def curves(self) -> tuple[Curve, ...]:
        """Its curves."""
        return self.profile.curves

    def lost(self, wall: Wall, made: frozenset[int], *, rounds: bool) -> tuple[float, float]:
        """What the cutters of the walls ``made`` take of the jaws' land on a wall at its start and end [mm].

        ``rounds``: rounded corners are milled with them.
        """
        return (self._past(wall, -1, made, rounds=rounds), self._past(wall, 1, made, rounds=rounds))

    def _past(self, wall: Wall, way: int, made: frozenset[int], *, rounds: bool) -> float:
        n, curves = len(self.curves), self.curves
        corner = (wall.index + way) % n
        radius = milled.corner_radius(curves, wall.index, way)
        beside = (corner + way) % n if radius else corner
        if beside not in made:
            return INSIDE
        cutter = self.walls[beside].cutter / 2
        if milled.hollow(curves, wall.index, way):
            return milled.reach_in_hollow(cutter, radius) + INSIDE - radius
        return INSIDE + (cutter if rounds and milled.rounded(curves, corner) else 0.0)


def _off(a: float, b: float) -> float:
    return math.remainder(a - b, 2 * math.pi)


def _land(a: tuple[float, float], b: tuple[float, float]) -> float:
    return max(0.0, min(a[1], b[1]) - max(a[0], b[0]))


def _worth(pair: tuple[Grip, Grip], walls: Sequence[Wall], used: Sequence[str]) -> tuple[float, ...]:
    first, second = pair
    made = {w.letter for w in walls if w.index not in first.held}
    together = sum(0.5**k for k, letter in enumerate(used) if letter in made)  # the first counts most
    carries = any(w.letter in used for w in second.fixed if w.letter)
    land = round(min(first.land, second.land), 3)
    solid = round(sum(w.curve.length for w in (*first.fixed, *second.fixed)), 3)
    return (together, float(carries), land, solid, -first.turn, -second.turn)


def _shared_out(
    pair: tuple[Grip, Grip], part: Part, ask: Ask, up: Vec3
) -> tuple[tuple[str, ...], tuple[str, ...]]:
    """Features of each clamping: the walls that the first holds wait, and all else is made at once."""
    held = pair[0].faces
    first: list[str] = []
    second: list[str] = []
    for f in ask.features:
        mine = milled.deep(f, part, up)
        late = mine & held
        if late:
            second.append(f.ask.name if late == mine else f"{f.ask.name} where the first clamping held it")
        if late != mine or not mine:
            first.append(f"{f.ask.name} where it is not held" if late else f.ask.name)
    return tuple(first), tuple(second)


def _degrees(turn: float) -> str:
    return f"{math.degrees(_off(turn, 0.0)):.1f}°"


def _names(walls: Iterable[Wall]) -> str:
    return " and ".join(dict.fromkeys(w.name for w in walls))
