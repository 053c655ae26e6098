"""Whether an outline, turned as it would stand, goes into a pocket that exists and is held there.

Both are compared as sampled walls (``walls``): the part is pushed against the fixed jaw's wall and the
stop, then the floating jaw is closed on it. It fits when it touches both walls over a land that is a
seat, the jaws stay apart, and the pocket is not so much larger that it is another part's.

Lengths in mm, angles in rad.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from jawright.geometry.profile import Profile
from jawright.jaws.model import Jaws
from jawright.jaws.sampled import STEP, Walls, heights, reaches

Floats = NDArray[np.float64]

TOUCH = 0.03
"""Walls this near [mm] are taken as touching; the proofs then ask with the exact distance."""

LAND = 3.0
"""Length of wall [mm] touched in each jaw that counts as a seat (common practice, no source)."""

ASIDE = 1.6
"""How far [mm] aside of the pocket's middle a part is looked for where no wall of the jaws stops it."""

CLOSE = 0.2
"""Walls this near [mm] still tell which place of a part along X touches most."""

ALIKE = 0.97
"""Of places that touch so much of what the best does, the one is taken where the jaws stand as cut."""

STOP_LAND = 1.5
"""And at the stop [mm] (common practice, no source)."""

GAP_LEAST = 1.5
"""Jaws nearer than this [mm] are clamped on each other before the part (common practice, no source)."""

WIDER = 4.0
"""Most by which the jaws may stand farther apart than when the pocket was cut [mm]."""

FILLED = 0.7
"""Share of the pocket a part fills at least; less is another part's pocket."""


@dataclass(frozen=True, slots=True)
class Turned:
    """An outline at one turn, sampled: ``upper`` and ``lower`` (n,) over X = ``x0`` + k STEP [mm].

    ``area`` [mm²] is what lies between them: no jaw can reach into a hollow of the part from its side.
    """

    turn: float
    profile: Profile
    x0: float
    x1: float
    y0: float
    y1: float
    area: float
    upper: Floats
    lower: Floats
    left: Floats  # over Y = ``y0`` + k STEP
    right: Floats


@dataclass(frozen=True, slots=True)
class Fit:
    """How the outline stands in the pocket: shift [mm], gap of the jaws clamped on it, lands touched."""

    shift: tuple[float, float]
    gap: float
    fixed_land: float
    floating_land: float
    stop_land: float


def land(f: Fit) -> float:
    """Length of wall and stop touched together [mm], to the micrometer."""
    return round(f.fixed_land + f.floating_land + f.stop_land, 6)


def as_cut(jaws: Jaws, shift: tuple[float, float]) -> Fit:
    """The part shifted by that [mm] in jaws that stand as they were cut for it: its zones are its walls."""
    lands = {"fixed": 0.0, "floating": 0.0, "stop": 0.0}
    for z in jaws.zones:
        if z.purpose != "clear":
            lands["stop" if z.purpose == "stop" else z.jaw] += sum(c.length for c in z.curves)
    return Fit(shift, jaws.gap, lands["fixed"], lands["floating"], lands["stop"])


def turned(profile: Profile, turn: float) -> Turned:
    """The outline (at turn 0) turned by ``turn`` [rad] and sampled."""
    p = profile.moved(turn=turn)
    x0, y0, x1, y1 = p.box
    xs = np.minimum(x0 + STEP * np.arange(int(np.ceil((x1 - x0) / STEP)) + 1), x1)
    inner = np.clip(xs, x0 + 1e-9, x1 - 1e-9)
    ys = np.minimum(y0 + STEP * np.arange(int(np.ceil((y1 - y0) / STEP)) + 1), y1)
    level = np.clip(ys, y0 + 1e-9, y1 - 1e-9)
    upper, lower = heights(p, inner, upper=True), heights(p, inner, upper=False)
    return Turned(
        turn, p, x0, x1, y0, y1, float(np.trapezoid(upper - lower, xs)), upper, lower,
        reaches(p, level, right=False), reaches(p, level, right=True),
    )  # fmt: skip


def may_fit(t: Turned, *, width: Floats, area: Floats, across: Floats) -> NDArray[np.bool_]:
    """Which pockets pass what ``fit`` surely asks: length, size and depth of the whole (n,).

    ``fit`` refuses a part longer than the pocket, less than ``FILLED`` of it, or larger than the
    pocket opened by ``WIDER``; so nothing that fits is lost here.
    """
    return (
        (t.x1 - t.x0 <= width + TOUCH)
        & (t.area >= FILLED * area)
        & (t.area <= area + (width + 1) * (WIDER + 1))
        & (t.y1 - t.y0 <= across + WIDER + 1)
    )


def fit(t: Turned, w: Walls, *, gap: float, width: float, area: float) -> Fit | None:
    """How the outline fits in the pocket with walls ``w``, cut at ``gap``; None when it does not."""
    if t.x1 - t.x0 > width + TOUCH or t.area < FILLED * area:
        return None
    xs: Floats = np.asarray(w.x0 + STEP * np.arange(len(w.fixed)))
    # from the middle, as by hand: at the pocket's very end the part's corner could catch in a relief
    middle = w.x0 + width / 2 - (t.x0 + t.x1) / 2
    best = _standing(t, w, xs, middle, gap=gap)
    if best is None or w.stop:
        return None if best is None else best[0]
    at, step = middle, ASIDE / 8
    for _ in range(3):  # nothing in the jaws stops it: a nest, a V, or a stop beside them places it along X
        tried = [(_standing(t, w, xs, at + k * step, gap=gap), at + k * step) for k in range(-8, 9)]
        some = [(f, x) for f, x in tried if f is not None]
        enough = ALIKE * max(close for (_, close), _ in some)
        best, at = min(
            ((f, x) for f, x in some if f[1] >= enough),
            key=lambda r: (round(abs(r[0][0].gap - gap), 4), abs(r[1] - middle)),
        )
        step /= 8
    return best[0]


def _standing(t: Turned, w: Walls, xs: Floats, dx: float, *, gap: float) -> tuple[Fit, float] | None:
    """The outline at ``dx`` along X, or pushed on from there to a stop, pressed home and clamped; None where
    that is no fit. With it the length of wall that lies close [mm], what lies closer counting more."""
    dx, dy, fixed_air = _push(t, w, xs, dx)
    fixed_land = STEP * float((np.abs(fixed_air) <= TOUCH).sum())
    if fixed_land < LAND:
        return None
    stop_land = _stop_land(t, w, dx, dy)
    if w.stop and stop_land < STOP_LAND:
        return None
    low = _shifted(t, t.lower, xs - dx) + dy
    air = low - w.floating  # how far the floating wall may rise
    inside = np.isfinite(air)
    if not inside.any():
        return None
    rise = float(air[inside].min())
    clamped = gap - rise
    if not GAP_LEAST <= clamped <= gap + WIDER:
        return None
    floating_air = air[inside] - rise
    floating_land = STEP * float((floating_air <= TOUCH).sum())
    if floating_land < LAND:
        return None
    close = sum(float(np.clip(1.0 - np.abs(a) / CLOSE, 0.0, 1.0).sum()) for a in (fixed_air, floating_air))
    return Fit((float(dx), dy), float(clamped), fixed_land, floating_land, stop_land), STEP * close


def _push(t: Turned, w: Walls, xs: Floats, dx: float) -> tuple[float, float, Floats]:
    """Shift that seats the part, from ``dx`` on, on the fixed wall and the stop; the air along the wall."""
    dy = 0.0
    air = np.zeros(0)
    for _ in range(6 if w.stop else 1):
        top = _shifted(t, t.upper, xs - dx)
        air = w.fixed - top
        known = np.isfinite(air)
        if not known.any():
            return dx, dy, np.full(1, np.inf)
        dy = float(air[known].min())
        air = air[known] - dy
        if not w.stop:
            break
        move = _to_stop(t, w, dx, dy)
        if abs(move) < 1e-4:
            break
        dx += move
    return dx, dy, air


def _side_air(t: Turned, w: Walls, dx: float, dy: float) -> Floats:
    """Air between the part's end and the stop's wall over the fixed jaw's depth, finite values only."""
    ys: Floats = np.asarray(STEP * np.arange(len(w.side)) - dy)
    samples = t.right if w.stop > 0 else t.left
    end = np.interp((ys - t.y0) / STEP, np.arange(len(samples)), samples) + dx
    use = (ys >= t.y0) & (ys <= t.y1) & np.isfinite(w.side)
    return np.asarray(((w.side - end) * w.stop)[use])


def _to_stop(t: Turned, w: Walls, dx: float, dy: float) -> float:
    air = _side_air(t, w, dx, dy)
    return float(air.min()) * w.stop if len(air) else 0.0


def _stop_land(t: Turned, w: Walls, dx: float, dy: float) -> float:
    if not w.stop:
        return 0.0
    air = _side_air(t, w, dx, dy)
    return STEP * float((np.abs(air) <= TOUCH).sum())


def _shifted(t: Turned, samples: Floats, xs: Floats) -> Floats:
    """The samples at ``xs`` between them; nan beyond the part."""
    k = (xs - t.x0) / STEP
    out = np.interp(k, np.arange(len(samples)), samples)
    return np.where((xs < t.x0 - 1e-9) | (xs > t.x1 + 1e-9), np.nan, out)
