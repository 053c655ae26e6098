"""A part whose whole outline is milled in this operation: held in two clampings, and what goes where.

In the first the jaws close on two walls as they come in while the others are milled; in the second they
close on two walls that are finished by then, while the first two are milled. Lengths in mm, angles in rad.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from jawright.errors import JawrightError
from jawright.geometry.curve import Line, right_normal
from jawright.geometry.frame import Vec3
from jawright.geometry.profile import Profile
from jawright.hold import feet, milled
from jawright.hold.found import Ask
from jawright.hold.outline import INSIDE
from jawright.hold.view import ABOVE, GRIP, GRIP_LEAST
from jawright.job.model import Job
from jawright.part.band import grip_band
from jawright.part.model import Part
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

    def along(self, turn: float) -> tuple[float, float]:
        """Where it begins and ends along the jaws at a turn [rad], less what they stay inside [mm]."""
        c, s = math.cos(turn), math.sin(turn)
        a, b = sorted(p[0] * c - p[1] * s for p in (self.curve.start, self.curve.end))
        return a + INSIDE, b - INSIDE


@dataclass(frozen=True, slots=True)
class Grip:
    """Walls between the jaws at a turn [rad], and the land they share [mm]."""

    turn: float
    fixed: tuple[Wall, ...]
    floating: tuple[Wall, ...]
    land: float

    @property
    def held(self) -> frozenset[int]:
        """Curves the jaws touch."""
        return frozenset(w.index for w in (*self.fixed, *self.floating))

    @property
    def faces(self) -> frozenset[int]:
        """Part faces the jaws touch."""
        return frozenset(w.face for w in (*self.fixed, *self.floating))


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

        turned = math.degrees((second.turn - first.turn) % (2 * math.pi))
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


def two(part: Part, job: Job, ask: Ask, up: Vec3) -> Clampings | None:
    """The best two clampings of a part whose whole outline is milled; None where it is not, or none go.

    Also where its walls make no outline: why they do not is told of the stance.

    As many datums of the print as can be are milled together with its holes; then a datum on the fixed jaw
    afterwards counts, then the land.
    """
    low, high = milled.span(part, up)
    depth = job.hold.grip_depth or min(GRIP, high - low - ABOVE)
    if depth < GRIP_LEAST:
        return None
    if not any(milled.deep(f, part, up) for f in ask.features):
        return None
    try:
        seen = feet.joined(grip_band(part, up, 0.0, depth), part, up)
    except JawrightError as error:
        if error.code not in ("hold-none", "geometry"):
            raise
        return None
    if not milled.whole(seen.outline, milled.walls(ask, part, up, seen.outline, seen.faces)):
        return None
    letters = {f: d.letter for d in ask.datums for f in d.faces}
    by = {i: f.ask.name for f in ask.features for i in milled.deep(f, part, up)}
    walls = [
        Wall(i, seen.faces[i], c, letters.get(seen.faces[i], ""), by.get(seen.faces[i], ""))
        for i, c in enumerate(seen.outline.curves)
        if isinstance(c, Line)
    ]
    grips = [g for w in walls if (g := _grip(w, walls)) is not None]
    pairs = [(a, b) for a in grips for b in grips if not a.held & b.held]
    if not pairs:
        return None
    used = tuple(dict.fromkeys(d for t in ask.tolerances for d in t.datums))
    grip = max(pairs, key=lambda p: _worth(p, walls, used))
    features = _shared_out(grip, part, ask, up)
    zero = next((f.ask.name for f in ask.features if f.ask.kind in HOLES and f.ask.name in features[0]), "")
    return Clampings(grip, features, depth, zero, up, seen.outline)


def _grip(wall: Wall, walls: Sequence[Wall]) -> Grip | None:
    """The grip with a wall on the fixed jaw; None where nothing opposite shares enough land with it."""
    turn = (math.pi / 2 - wall.angle) % (2 * math.pi)
    fixed = tuple(w for w in walls if abs(_off(w.angle + turn, math.pi / 2)) < SQUARE)
    floating = tuple(w for w in walls if abs(_off(w.angle + turn, -math.pi / 2)) < OPPOSED)
    land = sum(_land(a.along(turn), b.along(turn)) for a in fixed for b in floating)
    return Grip(turn, fixed, floating, land) if land >= milled.SHORT else None


def _off(a: float, b: float) -> float:
    return math.remainder(a - b, 2 * math.pi)


def _land(a: tuple[float, float], b: tuple[float, float]) -> float:
    return max(0.0, min(a[1], b[1]) - max(a[0], b[0]))


def _worth(pair: tuple[Grip, Grip], walls: Sequence[Wall], used: Sequence[str]) -> tuple[float, ...]:
    first, second = pair
    made = {w.letter for w in walls if w.index not in first.held}
    together = sum(0.5**k for k, letter in enumerate(used) if letter in made)  # the first counts most
    carries = any(w.letter in used for w in second.fixed if w.letter)
    return (together, float(carries), round(min(first.land, second.land), 3), -first.turn, -second.turn)


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
    return f"{math.degrees(turn) % 360:.1f}°"


def _names(walls: Iterable[Wall]) -> str:
    return " and ".join(dict.fromkeys(w.name for w in walls))
