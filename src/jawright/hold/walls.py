"""Which runs of the outline locate, stop, grip or stay clear. Plan view, outline seated and turned.

Lengths in mm, angles in rad.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import replace
from typing import Literal

import numpy as np
from numpy.typing import NDArray
from scipy.optimize import nnls

from jawright.geometry.curve import Arc, Curve, Line, Point, right_normal
from jawright.hold.outline import (
    DRAWN,
    SHORTEST,
    SQUARE_ON,
    STEEP,
    Outline,
    Wall,
    serving,
    steep,
    sub,
    visible,
)

Floats = NDArray[np.float64]

SQUARE = math.radians(0.5)
"""A datum locates alone on the fixed jaw only when it is square to the closing direction within this."""

CORNER = math.radians(150.0)
"""An arc between two flats that turns by less than this is a corner, by more a round end."""


LEAST_PAD = 2.0  # [mm] (common practice, no source)
HALF_PAD = 0.25  # [rad] of an arc to either side of its middle (common practice, no source)
STANDS_OFF = 0.03  # [mm] of air at the end of such a pad: three quarters of what a feeler finds
PAD = 5.0  # [mm] length of a pad that stands for one point (common practice, no source)
FRICTION_LOW = 0.08  # wet smooth jaws, low end (common practice, no source)

BALANCED = np.array([1.0, 1.0, 0.05])
"""Moments are counted in units of 20 mm, so that a residual is balanced."""

NESTS = "outline nests in the fixed jaw"
VEE = "flank of a point, held as in a V"
STICKS = math.radians(10.0)  # a wall that leans less holds a part by friction (common practice, no source)
ROOF = math.radians(30.0)  # less leaning walls grip by themselves (common practice, no source)


def choose_locators(outline: Outline, wanted: tuple[str, ...]) -> list[Wall]:
    """Which runs of the fixed side locate.

    The datum of the print wins when it is a wall there; else one long straight run that is
    square to the closing direction; else every run square enough to bear on.
    """
    runs = visible(outline, "fixed")
    for letter in wanted:
        mine = [w for w in runs if w.datum == letter and abs(w.normal[0]) < math.sin(SQUARE)]
        if mine and sum(w.curve.length for w in mine) >= SHORTEST:
            return [serving(w, "locate", f"datum {letter} on the fixed jaw") for w in mine]
    flats = [w for w in runs if isinstance(w.curve, Line) and abs(w.normal[0]) < math.sin(SQUARE)]
    if flats:
        x0, _, x1, _ = outline.box
        top = max(w.middle[1] for w in flats)
        level = [w for w in flats if w.middle[1] > top - 1e-3]
        span = max(w.curve.start[0] for w in level) - min(w.curve.end[0] for w in level)
        if span >= 0.3 * (x1 - x0):
            return [serving(w, "locate", "straight run on the fixed jaw") for w in level]
    return [serving(w, "locate", NESTS) for w in joined(runs) if w.curve.length >= SHORTEST]


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
    whose normal has less than ``square`` along X are left out. Of two alike the one at +X is taken, wherever
    the outline begins and lies.
    """
    walls = [w for w in steep(outline) if abs(w.normal[0]) >= square]
    if side:
        walls = [w for w in walls if (w.normal[0] < 0) == (side == "-X")]
    for letter in wanted:
        mine = [w for w in walls if w.datum == letter]
        if mine:
            return serving(max(mine, key=_as_stop), "stop", f"datum {letter} on the stop")
    walls = [w for w in walls if w.curve.length >= 2.0]
    if not walls or (nested and not side):
        return None
    return serving(max(walls, key=_as_stop), "stop", "steepest long wall")


def _as_stop(w: Wall) -> tuple[bool, float, float, float]:
    """How well a wall stops the part: straight, long, deep in the fixed jaw; of equals, the one at +X."""
    return (
        isinstance(w.curve, Line), round(w.curve.length, 6), round(w.middle[1], 6), round(w.normal[0], 6)
    )  # fmt: skip


def corners_clear(outline: Outline, walls: Sequence[Wall]) -> list[Wall]:
    """The runs without the rounded corners between two flats: those never bear.

    A part that is small all over has a smaller radius there too: its nose would touch first and hold both
    flats off, and a hollow fillet would ride on the jaw's own corner. Runs are left as they are where
    nothing else would bear.
    """
    kept = [w for w in walls if not _corner(outline, w)]
    return kept if sum(w.curve.length for w in kept) >= SHORTEST * 3 else list(walls)


def _corner(outline: Outline, w: Wall) -> bool:
    """Whether a run is on a rounded corner between two flats."""
    curves = outline.profile.curves
    c, n = curves[w.index], len(curves)
    before, after = curves[w.index - 1], curves[(w.index + 1) % n]
    if not (isinstance(c, Arc) and isinstance(before, Line) and isinstance(after, Line)):
        return False
    return abs(c.sweep) < CORNER and c.length < max(before.length, after.length)


def vee(outline: Outline, locators: Sequence[Wall]) -> list[Wall]:
    """The two flanks of a point that stands toward the floating jaw, to be held as in a V; else none.

    Only for a part that lies flat on the fixed jaw and has no wall on the other side that a jaw could push
    square enough: a V pushes home along both flanks together, so that nothing need stop the part along X.
    """
    if not locators or locators[0].reason == NESTS:
        return []
    if any(
        abs(w.normal[0]) < math.sin(ROOF) and not _corner(outline, w) for w in visible(outline, "floating")
    ):
        return []
    sides = [[w for w in outline.flanks if sign * w.normal[0] > 0.0] for sign in (-1.0, 1.0)]
    if not all(sides):
        return []
    both = [max(side, key=lambda w: round(w.curve.length, 6)) for side in sides]
    lean = [abs(w.normal[0]) for w in both]
    if min(w.curve.length for w in both) < LEAST_PAD or max(lean) <= math.sin(SQUARE_ON + DRAWN):
        return []
    # along X the flanks push each other back, so that the less leaning one pushes more
    pushes = [1.0 / (w.curve.length * a) for w, a in zip(both, lean, strict=True)]
    x0, y0, x1, y1 = outline.box
    about = ((x0 + x1) / 2, (y0 + y1) / 2)
    columns = _locator_columns(locators, None, about)
    return [serving(w, "grip", VEE) for w in both] if _carried(columns, both, about, pushes) else []


def fewest_pads(locators: Sequence[Wall], growth: float) -> list[Wall]:
    """The two pads of a nest that locate best: far apart along X, square on, the shorter one a point.

    Three points locate a part in the plane; every further one is lifted off by some part of the lot. A
    long straight run keeps its two ends; the other pad, and a pad on an arc, is cut down to a short run.
    ``growth`` is how far the largest part's walls lie outside the nominal ones [mm].
    """
    long_enough = [w for w in locators if w.curve.length >= LEAST_PAD]
    pads = [_pad(w, growth) for w in (long_enough if len(long_enough) > 1 else locators)]
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


def _pad(w: Wall, growth: float) -> Wall:
    """The squarest run of an arc no longer than ``PAD``, a straight run as it is.

    A part that grows rides on the ends of its arc, and one that its stop moves along X by as much stands off
    one end by twice that, times the sine: where it may grow much the pad is shorter.
    """
    if isinstance(w.curve, Line):
        return w
    half = min(HALF_PAD, math.asin(min(1.0, STANDS_OFF / (2 * growth)))) if growth > 0 else HALF_PAD
    share = min(1.0, min(PAD, max(LEAST_PAD, 2 * half * w.curve.radius)) / w.curve.length)
    starts = [k / 16 * (1 - share) for k in range(17)]
    first, sweep = w.curve.turned
    best = max(
        starts, key=lambda t: (round(abs(math.sin(first + (t + share / 2) * sweep)), 6), -abs(t - 0.5))
    )
    return replace(w, curve=sub(w.curve, best, best + share))


def _cut_to(w: Wall, length: float) -> Wall:
    """The middle of a run, no longer than ``length`` [mm]."""
    n = w.curve.length
    return w if n <= length else replace(w, curve=sub(w.curve, 0.5 - length / n / 2, 0.5 + length / n / 2))


def nests(locators: Sequence[Wall]) -> bool:
    """Whether the locating walls lean both ways enough to stop the part along X by themselves."""
    lean = [n[0] for n in normals(locators)]
    return min(lean) < -math.sin(STEEP) and max(lean) > math.sin(STEEP)


def keeps(normals: Iterable[Point]) -> bool:
    """Whether walls with these normals lean both ways by more than friction holds by itself, as a nest's."""
    lean = [n[0] for n in normals]
    return bool(lean) and min(lean) < -math.sin(STICKS) and max(lean) > math.sin(STICKS)


def centers(walls: Sequence[Wall]) -> bool:
    """Whether both flanks of a ``vee`` are among the walls: one of them may lie between the jaws."""
    return keeps(w.normal for w in walls if w.reason == VEE)


def normals(walls: Sequence[Wall]) -> list[Point]:
    """Outward normals where runs of wall can be thought to bear."""
    return [n for w in walls for _, n, _ in ends(w)]


def ends(wall: Wall, inset: float = 1.0) -> list[tuple[Point, Point, float]]:
    """Points where a run of wall can be thought to bear: (point, outward normal, share of length [mm]).

    A straight run bears at its two ends (inset [mm]); an arc at its ends and its middle; a pad at its middle.
    """
    c = wall.curve
    n = c.length
    if wall.pad:
        return [(wall.middle, wall.normal, n)]
    t = min(inset, 0.25 * n) / n
    if isinstance(c, Line):
        normal = right_normal(c, t)
        return [(c.at(t), normal, n / 2), (c.at(1 - t), normal, n / 2)]
    (first, sweep), r, (cx, cy), out = c.turned, c.radius, c.center, 1.0 if c.ccw else -1.0
    found = []
    for a in (first + t * sweep, first + 0.5 * sweep, first + (1 - t) * sweep):
        x, y = math.cos(a), math.sin(a)
        found.append(((cx + r * x, cy + r * y), (out * x, out * y), n / 3))
    return found


def choose_grips(outline: Outline, locators: Sequence[Wall], stop: Wall | None) -> list[Wall]:
    """Runs of the floating side whose push the locators can carry without help from the floating jaw.

    Each run is tried by itself: its push must be a sum of pushes of the locators (with the
    low end of friction), so that closing sends the part home and not away. When no run
    passes alone, all runs are kept if they pass together; else all are kept with a reason
    that says so, and the seating proof has the last word. Moments are taken about the middle of the
    outline: about the origin of its file a part drawn far from there would have any run carried.
    """
    runs = visible(outline, "floating")
    x0, y0, x1, y1 = outline.box
    about = ((x0 + x1) / 2, (y0 + y1) / 2)
    columns = _locator_columns(locators, stop, about)
    alone = _long(w for w in runs if _carried(columns, [w], about))
    if alone:
        return [serving(w, "grip", "its push sends the part home") for w in alone]
    every = _long(runs)
    if every and _carried(columns, every, about):
        return [serving(w, "grip", "balanced only together") for w in every]
    return [serving(w, "grip", "its push is not carried by the locators alone") for w in every]


def grips_of(
    outline: Outline, locators: Sequence[Wall], stop: Wall | None, *, pinned: bool = False
) -> list[Wall]:
    """``choose_grips``, or the flanks of a ``vee`` where nothing else is to place the part along X.

    That is a stop, one that is ``pinned``, or a datum of another letter on the outline.
    """
    placed = stop is not None or pinned or {*outline.datums} - {"", *(w.datum for w in locators)}
    return ([] if placed else vee(outline, locators)) or choose_grips(outline, locators, stop)


def _long(pieces: Iterable[Wall]) -> list[Wall]:
    """Runs long enough to count, put together first: of a small radius every piece is short by itself."""
    return [w for w in joined(list(pieces)) if w.curve.length >= SHORTEST]


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


def _locator_columns(locators: Sequence[Wall], stop: Wall | None, about: Point) -> Floats:
    """Pushes (3, k) of the locators with the edges of their friction, moments in units of 20 mm."""
    ax, ay = about
    cols = []
    for w in [*locators, *([stop] if stop else [])]:
        for (px, py), (nx, ny), _ in ends(w):
            for f in (-FRICTION_LOW, FRICTION_LOW):
                dx, dy = -nx - f * ny, -ny + f * nx  # inward push with its friction edge
                cols.append((dx, dy, (px - ax) * dy - (py - ay) * dx))
    return np.ascontiguousarray((np.array(cols).reshape(-1, 3) * BALANCED).T)


def _carried(columns: Floats, pads: Sequence[Wall], about: Point, pushes: Sequence[float] = ()) -> bool:
    """Whether the pads' total push lies in the cone of the locators' pushes: by length, times ``pushes``."""
    if not columns.size:
        return False
    (ax, ay), x, y, turn = about, 0.0, 0.0, 0.0
    for w, push in zip(pads, pushes or [1.0] * len(pads), strict=True):
        for (px, py), (nx, ny), share in ends(w):
            x, y = x + push * share * -nx, y + push * share * -ny
            turn -= push * share * ((px - ax) * ny - (py - ay) * nx)
    b = -np.array([x, y, turn]) * BALANCED
    _, residual = nnls(columns, b)
    return bool(residual <= 1e-3 * float(np.linalg.norm(b)))
