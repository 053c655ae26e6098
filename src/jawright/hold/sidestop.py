"""A side stop outside the pocket: where it touches the part, and which of the shop's stops gets there.

Lengths in mm, angles in rad.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache
from typing import Literal

from jawright import kernel
from jawright.errors import JawrightError
from jawright.geometry.curve import Arc, Curve, Line, Point, box, move_all, right_normal
from jawright.geometry.frame import Vec3, standing
from jawright.hold import milled
from jawright.hold.found import Ask
from jawright.hold.model import Contact, SideStop
from jawright.hold.outline import DRAWN
from jawright.hold.stance import Turn
from jawright.hold.view import View
from jawright.job.model import Job
from jawright.part.model import Part
from jawright.shop.model import Shop
from jawright.shop.model import Stop as Owned

TIP = 6.0  # [mm] tip of a stop that has to be got (common practice, no source)
ROOM = 1.0  # [mm] air above and below the tip, and to either jaw in the gap (common practice, no source)
OVER = 1.1  # [mm] from the tip to the finished top: the cutter passes over it (common practice, no source)
UNDER = 0.2  # [mm] from the parallels to the tip (common practice, no source)
LEAST_TIP = 2.0  # [mm] (common practice, no source)
STEEP = math.radians(30.0) + DRAWN
"""A wall whose normal is within this of X is stopped square enough."""
OFF_LEVEL = 0.0137  # [mm] the cut is taken off the round heights at which faces begin and end
INSIDE = 1e-6  # [mm] a curve whose box ends further in than a known point by this does not end the part
SHORTEST = 2.0  # [mm] a shorter straight run is touched like a corner (common practice, no source)
BESIDE = (-0.5, -0.3, -0.1, 0.1, 0.3, 0.5)  # heights of the tip looked at, as shares of it
IN_THE_WAY = 0.5  # [mm] what stands out so much further is met first (common practice, no source)
Run = tuple[Curve, int]
"""A curve of an outline and the part's face that it lies on."""


@dataclass(frozen=True, slots=True)
class Room:
    """Where a stop can be: the jaws' ends and tops, and the air between them. Vise frame, mm."""

    half: float  # jaws reach from -half to half along X
    gap: float
    floor: float
    jaw_top: float
    open_between: bool  # nothing but air and the part between the jaws at their ends: hard jaws


@dataclass(frozen=True, slots=True)
class Touch:
    """A height a stop could touch at, and how large its tip may be. Vise frame, mm."""

    z: float
    where: Literal["above the jaws", "between the jaws"]
    tip: float  # of a stop that has to be got
    most: float | None = None  # of one that the shop has; None for any
    clip: tuple[float, float] | None = None  # the run of Y it has to be in, None for any


@dataclass(frozen=True, slots=True)
class Spot:
    """A place at the part's end along X that a stop can touch. Vise frame."""

    at: Point
    normal: Point  # outward
    face: int
    length: float  # of the straight run, 0 at a corner or on an arc
    radius: float


@dataclass(frozen=True, slots=True)
class Stopped:
    """What ``stop_beside`` found: the stop and its contact, or neither and why not."""

    contacts: tuple[Contact, ...]
    stop: SideStop | None
    why_not: str


def stop_beside(
    view: View, turn: Turn, shift: Point, *, room: Room, ask: Ask, part: Part, job: Job, shop: Shop
) -> Stopped:
    """``side_stop`` with the letters of all the print's datums, as a hold keeps it."""
    letters = {f: d.letter for d in ask.datums for f in d.faces}
    got = side_stop(view, turn, shift, letters=letters, room=room, ask=ask, part=part, job=job, shop=shop)
    return Stopped((), None, got) if isinstance(got, str) else Stopped((got[0],), got[1], "")


def side_stop(
    view: View,
    turn: Turn,
    shift: Point,
    *,
    letters: dict[int, str],
    room: Room,
    ask: Ask,
    part: Part,
    job: Job,
    shop: Shop,
) -> tuple[Contact, SideStop] | str:
    """A stop that ends the part's way along X, and its contact; or why there is none.

    It touches above the jaws where enough of the part stands there, else between the jaws. A datum's wall
    goes first, then the longest straight wall, then an arc or a corner at the far end. Where only walls
    that are milled here end the part, the stop is swung away once the part is clamped.
    """
    tries, refused = _tries(view, room), []
    for touch in tries if isinstance(tries, list) else []:
        spots = _spots_at(touch, view, turn, shift, room=room, part=part, job=job)
        if not isinstance(spots, str):
            break
        refused.append(spots)
    else:
        return tries if isinstance(tries, str) else refused[0]  # of the usual place
    stays = [s for s in spots if s.face not in milled.here(ask)]
    spots, away = stays or spots, not stays
    best = min(spots, key=lambda s: (letters.get(s.face, "") == "", -round(s.length, 3), s.at))
    sign = 1.0 if best.normal[0] > 0 else -1.0
    reach = max(0.0, room.half - sign * best.at[0])
    owned = _owned(shop.stops, z=touch.z, reach=reach, tip=touch.most)
    at: Vec3 = (best.at[0], best.at[1], touch.z)
    letter = ("" if away else letters.get(best.face, "")) or "S"  # the datum itself is only made now
    contact = Contact(
        name=f"{letter}1",
        on="stop",
        point=at,
        normal=(-best.normal[0], -best.normal[1], 0.0),
        gap=0.0,
        share=max(best.length, 1.0),
        face=best.face,
        locates=True,
        radius_part=best.radius,
    )
    stop = SideStop(
        id=owned.id if owned else "",
        at=at,
        side="+X" if sign > 0 else "-X",
        where=touch.where,
        reach=reach,
        tip=owned.tip if owned else touch.tip,
        away=away,
    )
    return contact, stop


def _tries(view: View, room: Room) -> list[Touch] | str:
    """Where a stop could touch, the usual place first; or why it has no room anywhere."""
    top = room.floor + view.tall
    exposed = top - room.jaw_top
    out = []
    if exposed >= TIP + 2 * ROOM:  # the cutter passes over it
        middle = room.jaw_top + exposed / 2 - OFF_LEVEL
        out = [Touch(middle, "above the jaws", TIP)]
        for tip in (TIP, LEAST_TIP):  # elsewhere and with a smaller tip where something is in the way
            low, high = room.jaw_top + ROOM + tip / 2, top - OVER - tip / 2
            out += [Touch(z, "above the jaws", tip, most=tip) for z in (low + OFF_LEVEL, high - OFF_LEVEL)]
    if room.open_between:
        tip = min(TIP, max(LEAST_TIP, view.tall - OVER - UNDER))
        tall = room.jaw_top - room.floor if out else view.tall
        middle = min(tall / 2, view.tall - OVER - tip / 2)  # the cutter passes over it
        at = room.floor + middle + OFF_LEVEL
        out.append(Touch(at, "between the jaws", tip, most=tip if tip < TIP else None))
    else:
        under = view.tall - OVER  # the cutter passes over it, and what touches is not below the floor
        tip = min(TIP, room.gap - 2 * ROOM, 2 * (under - ROOM))
        if tip >= LEAST_TIP:
            middle = min((room.jaw_top - room.floor) / 2 + OFF_LEVEL, under - tip / 2)
            most = min(room.gap - 2 * ROOM, 2 * (under - middle))
            clip = (-room.gap + ROOM, -ROOM)
            out.append(Touch(room.floor + middle, "between the jaws", tip, most=most, clip=clip))
    return out or (
        f"only {exposed:.1f} mm of the part stands above the jaws and {room.gap:.1f} mm is between them: "
        "no room for a stop"
    )


def _spots_at(
    t: Touch, view: View, turn: Turn, shift: Point, *, room: Room, part: Part, job: Job
) -> list[Spot] | str:
    """What a stop can touch there, or why nothing."""

    def runs(height: float) -> list[Run]:
        found = _outlines(part.shape, view.up, height - room.floor + view.low)
        moved = move_all([c for c, _ in found], turn=turn.angle, shift=shift)
        return [(c, face) for c, (_, face) in zip(moved, found, strict=True)]

    own = runs(t.z)
    if not own:
        return "no outline to stop on could be cut at the height of a stop"
    spots = [s for s in _spots(own, t.clip) if _wanted(s, job)]
    spots = spots or [s for s in _ends(own, t.clip) if _wanted(s, job)]
    if not spots:
        return "no steep wall at an end to stop on"
    beside = [c for k in BESIDE for c, _ in runs(t.z + k * t.tip)]
    spots = [s for s in spots if _free(s, beside, t.clip, t.tip)]
    return spots or (
        f"the part stands out further above or below, within the {t.tip:g} mm that a stop's tip is high"
    )


@lru_cache(maxsize=64)
def _outlines(shape: bytes, up: Vec3, z: float) -> tuple[Run, ...]:
    """The outer outlines of all metal at a height, turn 0: a stop comes from outside."""
    try:
        cut = kernel.section(shape, standing(up, turn=0.0, shift=(0.0, 0.0, 0.0)), z)
    except JawrightError:
        return ()
    return tuple(
        run
        for region, faces in zip(cut.regions, cut.sources, strict=True)
        for run in zip(region.outer.curves, faces, strict=True)
    )


def _free(s: Spot, beside: Sequence[Curve], clip: tuple[float, float] | None, tip: float) -> bool:
    """Whether nothing that ``beside`` cuts stands out further at the spot than the tip can pass over."""
    sign = 1.0 if s.normal[0] > 0 else -1.0
    band = clip or (s.at[1] - tip / 2, s.at[1] + tip / 2)
    aside = max(s.at[1] - band[0], band[1] - s.at[1])  # the wall's own slant stands out that far to a side
    most = min(aside, 0.5 * s.length) * abs(s.normal[1] / s.normal[0]) + IN_THE_WAY
    for c in beside:
        x0, y0, x1, y1 = box(c)
        if max(sign * (x0 - s.at[0]), sign * (x1 - s.at[0])) <= most or y1 < band[0] or y0 > band[1]:
            continue  # no point of it can be in the way
        if any(sign * (p[0] - s.at[0]) > most for p in _points(c, band)):
            return False
    return True


def _wanted(s: Spot, job: Job) -> bool:
    return not job.hold.stop or (s.normal[0] < 0) == (job.hold.stop == "-X")


def _spots(runs: Sequence[Run], clip: tuple[float, float] | None) -> list[Spot]:
    """Steep straight walls that end the part along X, where a stop could touch it."""
    out = []
    x0, x1 = _ended(runs, clip)
    for c, face in runs:
        run = _clipped(c, clip) if isinstance(c, Line) else None
        if run is None or run.length < SHORTEST:
            continue
        n = right_normal(c, 0.5)
        edge = x1 if n[0] > 0 else x0
        # a stop comes from the end: the wall must be what ends the part there, within the run's own slant
        if (
            abs(n[0]) >= math.cos(STEEP)
            and abs(run.at(0.5)[0] - edge) <= 0.5 * run.length * math.sin(STEEP) + 1e-6
        ):
            out.append(Spot(run.at(0.5), n, face, run.length, 0.0))
    return out


def _ended(runs: Sequence[Run], clip: tuple[float, float] | None) -> tuple[float, float]:
    """Where the part ends along X [mm], as far as it lies where a stop could touch it."""
    low, high = math.inf, -math.inf
    for c, _ in runs:
        x0, y0, x1, y1 = box(c)
        if (x0 >= low and x1 <= high) or (clip is not None and (y1 < clip[0] or y0 > clip[1])):
            continue
        within = clip is None or (clip[0] <= y0 and y1 <= clip[1])
        xs = (x0, x1) if within else [p[0] for p in _points(c, clip)]
        low, high = min((low, *xs)), max((high, *xs))
    return low, high


def _ends(runs: Sequence[Run], clip: tuple[float, float] | None) -> list[Spot]:
    """What stands out furthest at each end along X, where it looks that way steeply enough."""
    left: tuple[float, Point, Run] | None = None
    right: tuple[float, Point, Run] | None = None
    xs = [p[0] for c, _ in runs for p in (c.start, c.end) if _within(p, clip)]
    for c, face in runs:
        b = box(c)
        if xs and b[0] > min(xs) + INSIDE and b[2] < max(xs) - INSIDE:
            continue  # what stands out furthest is not on it
        if clip is not None and (b[3] < clip[0] - INSIDE or b[1] > clip[1] + INSIDE):
            continue  # nothing of it is where a stop could touch
        for p in _points(c, clip):
            if left is None or -p[0] > left[0] + 1e-9:
                left = (-p[0], p, (c, face))
            if right is None or p[0] > right[0] + 1e-9:
                right = (p[0], p, (c, face))
    out = []
    for sign, end in ((-1.0, left), (1.0, right)):
        normal = None if end is None else _looks(end[1], end[2][0], sign)
        if end is not None and normal is not None:
            c = end[2][0]
            out.append(
                Spot(end[1], normal, end[2][1], 0.0, c.radius if isinstance(c, Arc) and c.ccw else 0.0)
            )
    return out


def _looks(p: Point, c: Curve, sign: float) -> Point | None:
    """The way the outline looks where it stands out furthest: along X, but a wall's own way where the jaw
    cuts the view of the rest of it off. None for a wall that is not steep there."""
    if min(math.dist(p, c.start), math.dist(p, c.end)) < INSIDE:
        return (sign, 0.0)
    if isinstance(c, Line):
        n = right_normal(c, 0.5)
    else:
        out = 1.0 if c.ccw else -1.0
        n = (out * (p[0] - c.center[0]) / c.radius, out * (p[1] - c.center[1]) / c.radius)
    return n if sign * n[0] >= math.cos(STEEP) else None


def _points(c: Curve, clip: tuple[float, float] | None) -> list[Point]:
    pts = [c.start, c.end]
    if isinstance(c, Arc):
        n = max(8, math.ceil(abs(c.sweep) / math.radians(0.25)))
        pts = c.spread(k / n for k in range(n + 1))
    elif clip is not None:
        run = _clipped(c, clip)
        pts = [] if run is None else [run.start, run.end]
    return pts if clip is None else [p for p in pts if _within(p, clip)]


def _within(p: Point, clip: tuple[float, float] | None) -> bool:
    return clip is None or clip[0] - 1e-9 <= p[1] <= clip[1] + 1e-9


def _clipped(c: Line, clip: tuple[float, float] | None) -> Line | None:
    """The run of a line between two heights of y."""
    if clip is None:
        return c
    ya, yb = c.start[1], c.end[1]
    if abs(yb - ya) < 1e-12:
        return c if clip[0] <= ya <= clip[1] else None
    s, t = sorted(((clip[0] - ya) / (yb - ya), (clip[1] - ya) / (yb - ya)))
    s, t = max(0.0, s), min(1.0, t)
    return Line(c.at(s), c.at(t)) if t - s > 1e-9 else None


def _owned(stops: Sequence[Owned], *, z: float, reach: float, tip: float | None) -> Owned | None:
    """The shop's stop that gets there with the least reach to spare."""
    fits = [s for s in stops if s.low <= z <= s.high and s.reach >= reach and (tip is None or s.tip <= tip)]
    return min(fits, key=lambda s: (s.reach, s.id)) if fits else None
