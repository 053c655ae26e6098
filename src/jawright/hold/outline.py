"""The outline of a part as it stands: which runs of it a jaw meets, and which could be the stop.

Plan view, outline seated and turned. Lengths in mm, angles in rad.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Hashable, Iterable, Sequence
from dataclasses import dataclass
from functools import cached_property
from itertools import pairwise
from typing import Any, Literal, TypeVar

from jawright.geometry.curve import FULL, Arc, Curve, Line, Point, box, right_normal
from jawright.geometry.envelope import Border, borders
from jawright.geometry.profile import Profile
from jawright.hold import milled

T = TypeVar("T")

SQUARE_ON = math.radians(45.0)
"""Walls whose outward normal is within this of the closing direction can locate or grip."""

FLANK = math.radians(70.0)
"""Two straight walls that lean to either side by up to this grip as a V: half its angle is then 20°, twice
the angle of friction and more, so that the part does not stick in it (common practice, no source)."""

WRAP = math.radians(75.0)
"""Arcs bear as far round as this where a nest is to wrap the part, as for a thin ring that would spring."""

DRAWN = 1e-4  # [rad] a drawing's round angles are true within this
STEEP = math.radians(30.0) + DRAWN
"""A wall whose normal is within this of X can serve as the stop: those of a hexagon on its flat can."""

PAD_EDGES = tuple(math.radians(a) for a in (-45, -20, -7, 7, 20, 45))
"""Arcs are split into pads at these angles from the closing direction, so that only the useful run grips."""

UPRIGHT = 1e-6  # a wall whose normal leans less than this out of X is upright
INSIDE = 1.0  # [mm] jaws end this far short of a wall that is milled past them (common practice, no source)
LEAST = 1e-3  # [mm] shorter runs are none
SHORTEST = 1.0  # [mm] shortest run of wall that counts as a contact (common practice, no source)

Purpose = Literal["locate", "grip", "clear", "stop"]


@dataclass(frozen=True, slots=True)
class Wall:
    """A run of the part's outline (counter-clockwise) and what the jaw does there."""

    curve: Curve
    index: int  # curve of the outline it is part of
    face: int
    side: Literal["fixed", "floating"]
    purpose: Purpose
    datum: str
    reason: str
    pad: bool = False  # so short that it counts as one point

    @property
    def middle(self) -> Point:
        """The middle of the wall's curve [mm]."""
        return self.curve.at(0.5)

    @property
    def normal(self) -> Point:
        """Outward normal of the part at the middle of the run."""
        return right_normal(self.curve, 0.5)


Mark = tuple[int, float, float]


def mark(w: Wall) -> Mark:
    """What tells one run of an outline from another: its curve and the middle of the run [mm]."""
    x, y = w.middle
    return w.index, round(x, 6), round(y, 6)


def serving(w: Wall, purpose: Purpose, reason: str) -> Wall:
    """The wall with what the jaw does there."""
    return Wall(w.curve, w.index, w.face, w.side, purpose, w.datum, reason, w.pad)


@dataclass(frozen=True)
class Outline:
    """An outline turned as it will stand, with the part face and datum letter of each curve.

    What is found on it is kept with it: one outline serves every choice of locators and stop.
    """

    profile: Profile
    faces: tuple[int, ...]
    datums: tuple[str, ...]  # letter of the datum on each curve, "" where none
    wrap: float = SQUARE_ON  # arcs bear as far round as this from the closing direction [rad]
    bridges: tuple[int, ...] = ()  # curves that only join separate feet: nothing bears there
    milled: tuple[int, ...] = ()  # of them, those that are milled now: jaws end short of the cutter
    reach: tuple[tuple[int, float], ...] = ()  # by milled wall whose corners are: its cutter's radius [mm]

    @cached_property
    def box(self) -> tuple[float, float, float, float]:
        """Its box, as ``Profile.box``."""
        return self.profile.box

    @cached_property
    def boxes(self) -> tuple[tuple[float, float, float, float], ...]:
        """The box of each curve."""
        return tuple(box(c) for c in self.profile.curves)

    @cached_property
    def _found(self) -> dict[Hashable, Any]:
        return {}

    def once(self, key: Hashable, find: Callable[[], T]) -> T:
        """What ``find`` gives for this outline under ``key``, found once."""
        if key not in self._found:
            self._found[key] = find()
        found: T = self._found[key]
        return found

    @cached_property
    def borders(self) -> tuple[Border, Border]:
        """The upper and the lower border of its profile."""
        return borders([self.profile])[0]

    @cached_property
    def fixed(self) -> tuple[Wall, ...]:
        """``visible`` on the side of the fixed jaw."""
        return _seen_from(self, "fixed")

    @cached_property
    def floating(self) -> tuple[Wall, ...]:
        """``visible`` on the side of the floating jaw."""
        return _seen_from(self, "floating")

    @cached_property
    def flanks(self) -> tuple[Wall, ...]:
        """Straight runs on the side of the floating jaw that lean by up to ``FLANK``: a V may take them."""
        return tuple(w for w in _seen_from(self, "floating", FLANK) if isinstance(w.curve, Line))

    @cached_property
    def marked(self) -> tuple[tuple[Mark, Wall], ...]:
        """The visible walls of both sides, each with its ``mark``."""
        return tuple((mark(w), w) for side in (self.fixed, self.floating) for w in side)

    @cached_property
    def steep(self) -> tuple[Wall, ...]:
        """Its ``steep`` runs."""
        return tuple(_steep(self))


def outlined(outlines: Sequence[Outline]) -> None:
    """Find the borders of many outlines at once, for each to keep: quicker than one by one."""
    for outline, found in zip(outlines, borders([o.profile for o in outlines]), strict=True):
        vars(outline)["borders"] = found


def sub(curve: Curve, a: float, b: float) -> Curve:
    """The run of ``curve`` between shares ``a`` and ``b`` of its length."""
    if isinstance(curve, Line):
        return Line(curve.at(a), curve.at(b))
    return Arc(curve.at(a), curve.at(b), curve.center, curve.ccw)


def cut_at_levels(curve: Curve, levels: Sequence[float]) -> list[Curve]:
    """The curve split where it crosses the lines y = level."""
    shares: list[float] = []
    if isinstance(curve, Line):
        dy = curve.end[1] - curve.start[1]
        if dy != 0.0:
            shares = [(y - curve.start[1]) / dy for y in levels]
    else:
        radius = curve.radius
        heights = [(y - curve.center[1]) / radius for y in levels]
        angles = [a for h in heights if abs(h) < 1.0 for a in (math.asin(h), math.pi - math.asin(h))]
        shares = _shares_of_angles(curve, angles) if angles else []
    return _split(curve, shares)


def _shares_of_angles(arc: Arc, angles: Iterable[float]) -> list[float]:
    """Shares of an arc's length at which it runs through directions from its center [rad]."""
    start, sweep = arc.turned
    size = abs(sweep)
    if sweep > 0:
        return [((a - start) % FULL) / size for a in angles]
    return [((start - a) % FULL) / size for a in angles]


def _split(curve: Curve, shares: Iterable[float]) -> list[Curve]:
    """The curve cut at these shares of its length, those at its ends left out."""
    tiny = 1e-6 / max(curve.length, 1e-6)
    cuts = sorted({t for t in shares if tiny < t < 1 - tiny})
    if not cuts and isinstance(curve, Arc):
        return [curve]
    ends = curve.spread([0.0, *cuts, 1.0])
    if isinstance(curve, Line):
        return [Line(a, b) for a, b in pairwise(ends)]
    return [Arc(a, b, curve.center, curve.ccw) for a, b in pairwise(ends)]


def _pads(curve: Curve, sign: float, wrap: float) -> list[Curve]:
    """Split an arc where its normal makes one of ``PAD_EDGES``, or ``wrap``, with ``sign`` times +Y."""
    if isinstance(curve, Line):
        return [curve]
    normals = [math.pi / 2 * sign + e for e in (*PAD_EDGES, -wrap, wrap)]
    if not curve.ccw:  # convex arcs: the normal points away from the center
        normals = [n + math.pi for n in normals]
    return _split(curve, _shares_of_angles(curve, normals))


def visible(outline: Outline, side: Literal["fixed", "floating"]) -> tuple[Wall, ...]:
    """Runs of the outline a jaw closing along Y meets first, square enough to bear on.

    Only runs within ``SQUARE_ON`` of the closing direction are returned, arcs within the outline's
    ``wrap``, in the counter-clockwise sense of the outline, purpose still open ("clear").
    """
    return outline.fixed if side == "fixed" else outline.floating


def _seen_from(
    outline: Outline, side: Literal["fixed", "floating"], straight: float = SQUARE_ON
) -> tuple[Wall, ...]:
    chain = outline.borders[0 if side == "fixed" else 1]
    sign = 1.0 if side == "fixed" else -1.0
    walls = []
    for curve, index in chain:
        if index < 0 or index in outline.bridges:
            continue
        run = _short_of(curve.reversed() if side == "fixed" else curve, index, outline)
        for pad in [] if run is None else _pads(run, sign, outline.wrap):
            n = right_normal(pad, 0.5)
            most = straight if isinstance(pad, Line) else outline.wrap
            if pad.length >= LEAST and math.acos(max(-1.0, min(1.0, sign * n[1]))) <= most + DRAWN:
                walls.append(Wall(pad, index, outline.faces[index], side, "clear", outline.datums[index], ""))
    return tuple(walls)


def _short_of(run: Curve, index: int, outline: Outline) -> Curve | None:
    """A straight run cut back so that it ends ``INSIDE`` short of the milled walls that its curve meets.

    None where nothing of it is left.

    Where a corner that is milled runs on into it, the cutter reaches over it by its radius as well; beside
    a hollow corner it sweeps twice that, or goes round the corner.
    """
    n = len(outline.profile.curves)
    curves = outline.profile.curves
    whole = curves[index]
    if not isinstance(run, Line) or not outline.milled or not isinstance(whole, Line):
        return run
    low, high, radii = 0.0, 1.0, dict(outline.reach)
    for k in outline.milled:
        wall, step = curves[k], (k - index) % n
        way = 1 if step in (1, 2) else -1
        turned = milled.hollow(curves, index, way)
        if isinstance(wall, Arc) and step in (1, n - 1):
            if turned:
                continue  # the wall that its cutter comes from decides
            corner = whole.end if way > 0 else whole.start
            first, last = (math.dist(corner, p) for p in (run.start, run.end))
            reach = radii.get((k + way) % n, max(radii.values(), default=0.0))
            share = (reach + INSIDE - first) / ((last - first) or 1e-9)
            low, high = (low, min(high, share)) if last < first else (max(low, share), high)
            continue
        if not isinstance(wall, Line) or step not in (1, 2, n - 1, n - 2):
            continue
        (nx, ny), (px, py) = right_normal(wall, 0.5), wall.start
        first, last = (nx * (x - px) + ny * (y - py) for x, y in (run.start, run.end))
        if abs(last - first) < 1e-9:
            continue
        limit = -INSIDE
        if turned:
            radius = milled.corner_radius(curves, index, way)
            limit = milled.reach_in_hollow(radii.get(k, 0.0), radius) + INSIDE
            first, last, limit = -first, -last, -limit
        share = (limit - first) / (last - first)
        low, high = (max(low, share), high) if last < first else (low, min(high, share))
    return sub(run, low, high) if (high - low) * run.length > LEAST else None


def steep(outline: Outline) -> tuple[Wall, ...]:
    """Straight runs steep enough to be the stop, on the outside of the part for a pocket open toward -Y.

    A run counts where nothing of the part above it (larger y) reaches further out, so that
    the wall of the fixed jaw can stand right at it.
    """
    return outline.steep


def _steep(outline: Outline) -> list[Wall]:
    walls = []
    for i, curve in enumerate(outline.profile.curves):
        if i in outline.bridges:
            continue
        for c in _uncovered(outline, i, curve):
            if c.length >= SHORTEST and abs(right_normal(c, 0.5)[0]) >= math.cos(STEEP):
                walls.append(Wall(c, i, outline.faces[i], "fixed", "clear", outline.datums[i], "steep wall"))
    return walls


def _uncovered(outline: Outline, index: int, curve: Curve) -> list[Curve]:
    """The runs of a curve that a wall of the fixed jaw can stand at, on the outside of the part.

    A leaning line or an arc counts where it is the upper border, an upright line, which is none, as a whole.
    """
    if isinstance(curve, Line):
        nx, ny = right_normal(curve, 0.5)
        if abs(nx) < math.cos(STEEP) or ny < -UPRIGHT:
            return []  # the part widens upward there: the jaw could not pass
        if ny <= UPRIGHT:
            return [] if _shadowed(outline, curve) else [curve]
    elif not curve.ccw:
        return []
    runs: list[Curve] = [c.reversed() for c, k in outline.borders[0] if k == index]
    if isinstance(curve, Arc):
        runs = [r for run in runs for r in _steep_runs(run)]
    return [r for r in runs if not _shadowed(outline, r)]


def _steep_runs(arc: Curve) -> list[Curve]:
    """The runs of a convex arc whose normal lies between X and ``STEEP`` above it, on either side."""
    if isinstance(arc, Line):
        return []
    runs = [
        (r, right_normal(r, 0.5))
        for r in _split(arc, _shares_of_angles(arc, (0.0, STEEP, math.pi - STEEP, math.pi)))
    ]
    return [r for r, n in runs if n[1] > 0 and abs(n[0]) > math.cos(STEEP)]


def _shadowed(outline: Outline, wall: Curve) -> bool:
    """Whether metal above the foot of a wall reaches further out than the wall does."""
    low = min(wall.start[1], wall.end[1])
    sign = 1.0 if right_normal(wall, 0.5)[0] > 0 else -1.0
    reach = box(wall)
    edge = max(sign * reach[0], sign * reach[2])
    for c, whole in zip(outline.profile.curves, outline.boxes, strict=True):
        if max(sign * whole[0], sign * whole[2]) <= edge + 1e-6 or whole[3] <= low:
            continue
        for piece in cut_at_levels(c, (low,)):
            if piece.at(0.5)[1] <= low + 1e-9:
                continue
            b = box(piece)
            if max(sign * b[0], sign * b[2]) > edge + 1e-6:
                return True
    return False
