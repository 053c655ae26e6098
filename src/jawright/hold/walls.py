"""Which runs of the outline locate, stop, grip or stay clear. Plan view, outline seated and turned.

Lengths in mm, angles in rad.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import lru_cache
from itertools import pairwise
from typing import Literal

import numpy as np
from scipy.optimize import nnls

from jawright.geometry.curve import Arc, Curve, Line, Point, box, right_normal
from jawright.geometry.envelope import lower, upper
from jawright.geometry.profile import Profile

SQUARE_ON = math.radians(45.0)
"""Walls whose outward normal is within this of the closing direction can locate or grip."""

WRAP = math.radians(75.0)
"""Arcs bear as far round as this where a nest is to wrap the part, as for a thin ring that would spring."""

STEEP = math.radians(30.0)
"""A wall whose normal is within this of X can serve as the stop."""

SQUARE = math.radians(0.5)
"""A datum locates alone on the fixed jaw only when it is square to the closing direction within this."""

PAD_EDGES = tuple(math.radians(a) for a in (-45, -20, -7, 7, 20, 45))
"""Arcs are split into pads at these angles from the closing direction, so that only the useful run grips."""

SHORTEST = 1.0  # [mm] shortest run of wall that counts as a contact (common practice, no source)
CORNER = math.radians(150.0)
"""An arc between two flats that turns by less than this is a corner, by more a round end."""


LEAST_PAD = 2.0  # [mm] (common practice, no source)
PAD = 5.0  # [mm] length of a pad that stands for one point (common practice, no source)
FRICTION_LOW = 0.08  # wet smooth jaws, low end (common practice, no source)

NESTS = "outline nests in the fixed jaw"

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


@dataclass(frozen=True, slots=True)
class Outline:
    """An outline turned as it will stand, with the part face and datum letter of each curve."""

    profile: Profile
    faces: tuple[int, ...]
    datums: tuple[str, ...]  # letter of the datum on each curve, "" where none
    wrap: float = SQUARE_ON  # arcs bear as far round as this from the closing direction [rad]
    bridges: tuple[int, ...] = ()  # curves that only join separate feet: nothing bears there


def sub(curve: Curve, a: float, b: float) -> Curve:
    """The run of ``curve`` between shares ``a`` and ``b`` of its length."""
    if isinstance(curve, Line):
        return Line(curve.at(a), curve.at(b))
    return Arc(curve.at(a), curve.at(b), curve.center, curve.ccw)


def cut_at_levels(curve: Curve, levels: Sequence[float]) -> list[Curve]:
    """The curve split where it crosses the lines y = level."""
    shares = {0.0, 1.0}
    for y in levels:
        if isinstance(curve, Line):
            dy = curve.end[1] - curve.start[1]
            if dy != 0.0:
                shares.add((y - curve.start[1]) / dy)
        else:
            h = (y - curve.center[1]) / curve.radius
            if abs(h) < 1.0:
                for a in (math.asin(h), math.pi - math.asin(h)):
                    shares.add(_share_of_angle(curve, a))
    return _split(curve, shares)


def _share_of_angle(arc: Arc, angle: float) -> float:
    s = arc.sweep
    along = (angle - arc.start_angle) % (2 * math.pi) if s > 0 else (arc.start_angle - angle) % (2 * math.pi)
    return along / abs(s)


def _split(curve: Curve, shares: set[float]) -> list[Curve]:
    tiny = 1e-6 / max(curve.length, 1e-6)
    cuts = sorted(t for t in shares if tiny < t < 1 - tiny)
    ends = [0.0, *cuts, 1.0]
    return [sub(curve, a, b) for a, b in pairwise(ends)]


def _pads(curve: Curve, sign: float, wrap: float) -> list[Curve]:
    """Split an arc where its normal makes one of ``PAD_EDGES``, or ``wrap``, with ``sign`` times +Y."""
    if isinstance(curve, Line):
        return [curve]
    outward = 1.0 if curve.ccw else -1.0  # convex arcs: the normal points away from the center
    shares: set[float] = set()
    for e in (*PAD_EDGES, -wrap, wrap):
        normal = math.pi / 2 * sign + e
        shares.add(_share_of_angle(curve, normal if outward > 0 else normal + math.pi))
    return _split(curve, shares)


@lru_cache(maxsize=8)
def visible(outline: Outline, side: Literal["fixed", "floating"]) -> tuple[Wall, ...]:
    """Runs of the outline a jaw closing along Y meets first, square enough to bear on.

    Only runs within ``SQUARE_ON`` of the closing direction are returned, arcs within the outline's
    ``wrap``, in the counter-clockwise sense of the outline, purpose still open ("clear").
    """
    chain = upper(outline.profile) if side == "fixed" else lower(outline.profile)
    sign = 1.0 if side == "fixed" else -1.0
    walls = []
    for curve, index in chain:
        if index < 0 or index in outline.bridges:
            continue
        run = curve.reversed() if side == "fixed" else curve
        for pad in _pads(run, sign, outline.wrap):
            n = right_normal(pad, 0.5)
            most = SQUARE_ON if isinstance(pad, Line) else outline.wrap
            if pad.length >= 1e-3 and math.acos(max(-1.0, min(1.0, sign * n[1]))) <= most + 1e-9:
                walls.append(Wall(pad, index, outline.faces[index], side, "clear", outline.datums[index], ""))
    return tuple(walls)


def steep(outline: Outline) -> list[Wall]:
    """Straight runs steep enough to be the stop, on the outside of the part for a pocket open toward -Y.

    A run counts when nothing of the part above it (larger y) reaches further out, so that
    the wall of the fixed jaw can stand right at it.
    """
    walls = []
    for i, curve in enumerate(outline.profile.curves):
        if i in outline.bridges:
            continue
        for c in [curve] if isinstance(curve, Line) else _steep_runs(curve):
            n = right_normal(c, 0.5)
            if c.length < SHORTEST or abs(n[0]) < math.cos(STEEP) or _shadowed(outline.profile, c, n):
                continue
            walls.append(Wall(c, i, outline.faces[i], "fixed", "clear", outline.datums[i], "steep wall"))
    return walls


def _steep_runs(arc: Arc) -> list[Curve]:
    """The runs of a convex arc whose normal lies between X and ``STEEP`` above it, on either side."""
    if not arc.ccw:
        return []
    shares = {_share_of_angle(arc, a) for a in (0.0, STEEP, math.pi - STEEP, math.pi)}
    runs = _split(arc, shares)
    return [r for r in runs if right_normal(r, 0.5)[1] > 0 and abs(right_normal(r, 0.5)[0]) > math.cos(STEEP)]


def _shadowed(profile: Profile, wall: Curve, n: Point) -> bool:
    """Whether metal above the wall reaches further out than the wall does at the same height."""
    if n[1] < -1e-6:
        return True  # the part widens upward: the jaw could not pass
    low = min(wall.start[1], wall.end[1])
    sign = 1.0 if n[0] > 0 else -1.0
    reach = box(wall)
    edge = max(sign * reach[0], sign * reach[2])
    for c in profile.curves:
        whole = box(c)
        if max(sign * whole[0], sign * whole[2]) <= edge + 1e-6 or whole[3] <= low:
            continue
        for piece in cut_at_levels(c, (low,)):
            if piece.at(0.5)[1] <= low + 1e-9:
                continue
            b = box(piece)
            if max(sign * b[0], sign * b[2]) > edge + 1e-6:
                return True
    return False


def choose_locators(outline: Outline, wanted: tuple[str, ...]) -> list[Wall]:
    """Which runs of the fixed side locate.

    The datum of the print wins when it is a wall there; else one long straight run that is
    square to the closing direction; else every run square enough to bear on.
    """
    runs = visible(outline, "fixed")
    for letter in wanted:
        mine = [w for w in runs if w.datum == letter and abs(w.normal[0]) < math.sin(SQUARE)]
        if mine and sum(w.curve.length for w in mine) >= SHORTEST:
            return [replace(w, purpose="locate", reason=f"datum {letter} on the fixed jaw") for w in mine]
    flats = [w for w in runs if isinstance(w.curve, Line) and abs(w.normal[0]) < math.sin(SQUARE)]
    x0, _, x1, _ = outline.profile.box
    if flats:
        top = max(w.middle[1] for w in flats)
        level = [w for w in flats if w.middle[1] > top - 1e-3]
        span = max(w.curve.start[0] for w in level) - min(w.curve.end[0] for w in level)
        if span >= 0.3 * (x1 - x0):
            return [replace(w, purpose="locate", reason="straight run on the fixed jaw") for w in level]
    return [replace(w, purpose="locate", reason=NESTS) for w in joined(runs) if w.curve.length >= SHORTEST]


def choose_stop(
    outline: Outline,
    wanted: tuple[str, ...],
    *,
    side: Literal["", "-X", "+X"] = "",
    nested: bool = False,
    square: float = 0.0,
) -> Wall | None:
    """The steep wall that stops the part along X: the datum's when it has one, else the longest.

    A part that nests in the fixed jaw is stopped by the nest already; only a datum is then stopped. Walls
    whose normal has less than ``square`` along X are left out.
    """
    walls = [w for w in steep(outline) if abs(w.normal[0]) >= square]
    if side:
        walls = [w for w in walls if (w.normal[0] < 0) == (side == "-X")]
    for letter in wanted:
        mine = [w for w in walls if w.datum == letter]
        if mine:
            best = max(mine, key=lambda w: w.curve.length)
            return replace(best, purpose="stop", reason=f"datum {letter} on the stop")
    walls = [w for w in walls if w.curve.length >= 2.0]
    if not walls or (nested and not side):
        return None
    best = max(walls, key=lambda w: (isinstance(w.curve, Line), round(w.curve.length, 6), w.middle[1]))
    return replace(best, purpose="stop", reason="steepest long wall")


def corners_clear(outline: Outline, walls: Sequence[Wall]) -> list[Wall]:
    """The runs without the rounded corners between two flats: those never bear.

    A part that is small all over has a smaller radius there too: its nose would touch first and hold both
    flats off, and a hollow fillet would ride on the jaw's own corner. Runs are left as they are where
    nothing else would bear.
    """
    curves = outline.profile.curves

    def corner(w: Wall) -> bool:
        c, n = curves[w.index], len(curves)
        before, after = curves[w.index - 1], curves[(w.index + 1) % n]
        if not (isinstance(c, Arc) and isinstance(before, Line) and isinstance(after, Line)):
            return False
        return abs(c.sweep) < CORNER and c.length < max(before.length, after.length)

    kept = [w for w in walls if not corner(w)]
    return kept if sum(w.curve.length for w in kept) >= SHORTEST * 3 else list(walls)


def fewest_pads(locators: Sequence[Wall]) -> list[Wall]:
    """The two pads of a nest that locate best: far apart along X, square on, the shorter one a point.

    Three points locate a part in the plane; every further one is lifted off by some part of the lot. A
    long straight run keeps its two ends; the other pad, and a pad on an arc, is cut down to a short run.
    """
    pads = [_pad(w) for w in locators if w.curve.length >= SHORTEST]
    if len(pads) < 2:
        return list(locators)
    pairs = [(a, b) for i, a in enumerate(pads) for b in pads[i + 1 :]]

    def worth(pair: tuple[Wall, Wall]) -> float:
        apart = abs(pair[0].middle[0] - pair[1].middle[0])
        return apart * min(abs(w.normal[1]) for w in pair)

    a, b = max(pairs, key=lambda q: (round(worth(q), 6), -q[0].index, -q[1].index))
    if a.curve.length < b.curve.length:
        a, b = b, a
    chosen = [a, _cut_to(b, PAD)] if isinstance(a.curve, Line) else [_cut_to(a, PAD), _cut_to(b, PAD)]
    return [replace(w, reason="one of two pads far apart on the fixed jaw") for w in chosen]


def _pad(w: Wall) -> Wall:
    """The squarest run of an arc no longer than ``PAD``, a straight run as it is."""
    if isinstance(w.curve, Line):
        return w
    # a part that grows rides on the ends of its arc: a pad of a quarter radian either side keeps that small
    share = min(1.0, min(PAD, max(LEAST_PAD, w.curve.radius / 2)) / w.curve.length)
    starts = [k / 16 * (1 - share) for k in range(17)]
    best = max(starts, key=lambda t: (round(abs(right_normal(w.curve, t + share / 2)[1]), 6), -abs(t - 0.5)))
    return replace(w, curve=sub(w.curve, best, best + share))


def _cut_to(w: Wall, length: float) -> Wall:
    """The middle of a run, no longer than ``length`` [mm]."""
    n = w.curve.length
    return w if n <= length else replace(w, curve=sub(w.curve, 0.5 - length / n / 2, 0.5 + length / n / 2))


def nests(locators: Sequence[Wall]) -> bool:
    """Whether the locating walls lean both ways enough to stop the part along X by themselves."""
    lean = [n[0] for w in locators for _, n, _ in ends(w)]
    return min(lean) < -math.sin(STEEP) and max(lean) > math.sin(STEEP)


def ends(wall: Wall, inset: float = 1.0) -> list[tuple[Point, Point, float]]:
    """Points where a run of wall can be thought to bear: (point, outward normal, share of length [mm]).

    A straight run bears at its two ends (inset [mm]); an arc at its ends and its middle; a pad at its middle.
    """
    n = wall.curve.length
    if wall.pad:
        return [(wall.middle, wall.normal, n)]
    t = min(inset, 0.25 * n) / n
    shares = (t, 1 - t) if isinstance(wall.curve, Line) else (t, 0.5, 1 - t)
    return [(wall.curve.at(s), right_normal(wall.curve, s), n / len(shares)) for s in shares]


def choose_grips(outline: Outline, locators: Sequence[Wall], stop: Wall | None) -> list[Wall]:
    """Runs of the floating side whose push the locators can carry without help from the floating jaw.

    Each run is tried by itself: its push must be a sum of pushes of the locators (with the
    low end of friction), so that closing sends the part home and not away. When no run
    passes alone, all runs are kept if they pass together; else all are kept with a reason
    that says so, and the seating proof has the last word.
    """
    runs = [w for w in visible(outline, "floating") if w.curve.length >= SHORTEST]
    columns = _locator_columns(locators, stop)
    alone = [w for w in runs if _carried(columns, [w])]
    if alone:
        return joined([replace(w, purpose="grip", reason="its push sends the part home") for w in alone])
    if runs and _carried(columns, runs):
        return joined([replace(w, purpose="grip", reason="balanced only together") for w in runs])
    reason = "its push is not carried by the locators alone"
    return joined([replace(w, purpose="grip", reason=reason) for w in runs])


def joined(walls: Sequence[Wall]) -> list[Wall]:
    """Runs that continue each other on the same curve of the outline, put together again."""
    out: list[Wall] = []
    for w in sorted(walls, key=lambda w: w.index):
        for i, v in enumerate(out):
            if v.index != w.index or v.purpose != w.purpose:
                continue
            if math.dist(v.curve.end, w.curve.start) < 1e-7:
                out[i] = replace(v, curve=_chain(v.curve, w.curve))
                break
            if math.dist(w.curve.end, v.curve.start) < 1e-7:
                out[i] = replace(v, curve=_chain(w.curve, v.curve))
                break
        else:
            out.append(w)
    return out


def _chain(a: Curve, b: Curve) -> Curve:
    if isinstance(a, Line):
        return Line(a.start, b.end)
    return Arc(a.start, b.end, a.center, a.ccw)


def _locator_columns(locators: Sequence[Wall], stop: Wall | None) -> list[tuple[float, float, float]]:
    cols = []
    for w in [*locators, *([stop] if stop else [])]:
        for (px, py), (nx, ny), _ in ends(w):
            for f in (-FRICTION_LOW, FRICTION_LOW):
                dx, dy = -nx - f * ny, -ny + f * nx  # inward push with its friction edge
                cols.append((dx, dy, px * dy - py * dx))
    return cols


def _carried(columns: list[tuple[float, float, float]], pads: Sequence[Wall]) -> bool:
    """Whether the pads' total push (by length) lies in the cone of the locators' pushes."""
    if not columns:
        return False
    total = np.zeros(3)
    for w in pads:
        for (px, py), (nx, ny), share in ends(w):
            total += share * np.array([-nx, -ny, -(px * ny - py * nx)])
    scale = np.array([1.0, 1.0, 0.05])  # moments in units of 20 mm, so that the residual is balanced
    a = (np.array(columns) * scale).T
    b = -total * scale
    _, residual = nnls(a, b)
    return bool(residual <= 1e-3 * float(np.linalg.norm(b)))
