"""Does the part go in a wrong way round? Turned and flipped outlines are tried between the jaws.

Lengths in mm, angles in rad.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.affinity import affine_transform

from jawright.errors import JawrightError
from jawright.geometry.curve import Arc, Curve, Line
from jawright.geometry.frame import standing
from jawright.geometry.polygon import to_polygon
from jawright.geometry.profile import Profile
from jawright.geometry.query import moments
from jawright.hold.model import Hold
from jawright.jaws.model import LOWER_LEVEL, Jaws
from jawright.part.band import grip_band
from jawright.part.model import Part
from jawright.proof.alike import harmless
from jawright.proof.settle import close_up, outline_points, refine, settle

Floats = NDArray[np.float64]

UNSEEN = 1.5
"""A part that stands this little open is not seen [mm] (0.060 in; common practice, no source)."""
SLACK = 0.1  # [mm] interference a hard push overcomes (common practice, no source)
SWEEP = math.radians(5.0)
MOST = 4  # wrong ways looked for on either side: one is enough to act on
CROOKED = math.radians(20.0)
"""Turned by less than this a part is the right way round and only not home yet."""
CHORD = 0.02  # [mm]
STANDS_ON = 2.0  # [mm²] of what reaches below the floor lying on it: the part does not go down
ANY_TURN = 1.0  # [rad] stands for every turn of a round outline: no hole pattern repeats at it


@dataclass(frozen=True, slots=True)
class WrongWay:
    """One wrong stance that goes in: how it is turned, flipped or not, how far the jaw stands open."""

    turn: float  # [rad]
    flipped: bool
    open: float  # how much further open the jaw may stand with it in [mm]
    interference: float  # [mm] left
    shape: shapely.Polygon  # where the outline then lies
    harmless: bool  # the features come out the same
    round: bool = False  # the outline is a circle: the turn says nothing

    @property
    def words(self) -> str:
        """How the part would have to be put in, in words."""
        if self.round:
            return "flipped over" if self.flipped else "turned to any angle"
        deg = math.degrees(self.turn) % 360
        how = f"turned by {deg:.0f}°" if 0.5 < deg < 359.5 else ""
        if self.flipped:
            return f"flipped over then {how}" if how else "flipped over"
        return how


def mirrored(outline: Profile) -> Profile:
    """The outline seen from below: x turned about (the part flipped over about Y)."""
    from_curves: list[Curve] = []
    for c in reversed(outline.curves):
        r = c.reversed()
        if isinstance(r, Line):
            from_curves.append(Line((-r.start[0], r.start[1]), (-r.end[0], r.end[1])))
        else:
            from_curves.append(
                Arc(
                    (-r.start[0], r.start[1]),
                    (-r.end[0], r.end[1]),
                    (-r.center[0], r.center[1]),
                    not r.ccw,
                )
            )
    return Profile(tuple(from_curves))


def upside_down(hold: Hold, part: Part | None) -> Profile:
    """What lies in the grip with the part flipped over about Y, vise frame: its own outline near the top.

    Without the part, or where no one outline can be cut there, the mirrored outline of the grip: true for
    walls that are the same from top to bottom.
    """
    outline = hold.outline.outer
    if part is None or hold.stock > hold.grip_depth:
        return mirrored(outline)
    ux, uy, uz = hold.stance.up
    down = (-ux, -uy, -uz)
    try:
        band = grip_band(part, down, 0.0, min(hold.grip_depth, hold.part_top - hold.floor))
    except JawrightError:
        return mirrored(outline)
    if len(band.outline) != 1:
        return mirrored(outline)
    lying = standing(down, turn=0.0, shift=(0.0, 0.0, 0.0)).inverse()
    x, y, _ = hold.stance.move.direction(lying.direction((1.0, 0.0, 0.0)))
    return band.outline[0].outer.moved(turn=math.atan2(y, -x))


def allowed(jaws: Jaws, *, further: float) -> shapely.Geometry:
    """Plan area no jaw fills, with the floating jaw ``further`` [mm] open than it should be."""
    pocket = to_polygon(jaws.pocket, CHORD)
    far = 500.0
    fixed = pocket.intersection(shapely.box(-far, 0.0, far, far))
    floating = pocket.intersection(shapely.box(-far, -far, far, -jaws.gap))
    strip = shapely.box(-far, -jaws.gap - further - 1e-6, far, 1e-6)
    lowered = affine_transform(floating, [1, 0, 0, 1, 0, -further])
    return shapely.union_all([fixed, strip, lowered]).buffer(1e-6)


def is_round(outline: Profile) -> bool:
    """Whether an outline is one circle."""
    curves = outline.curves
    first = curves[0]
    return isinstance(first, Arc) and all(
        isinstance(c, Arc)
        and math.dist(c.center, first.center) < 0.01
        and abs(c.radius - first.radius) < 0.01
        for c in curves
    )


def candidates(outline: Profile, *, sweep: bool, base: Profile | None = None) -> list[float]:
    """Turns worth trying [rad]: quarter turns, those that lay one straight edge like another, a sweep.

    With ``base`` turns of that outline, which lay its edges like those of the right one.
    """
    angles, own = (
        [math.atan2(*reversed(c.tangent())) for c in p.curves if isinstance(c, Line) and c.length >= 2.0]
        for p in (outline, base or outline)
    )
    turns = {round(k * SWEEP, 6) for k in range(round(2 * math.pi / SWEEP))} if sweep else set()
    turns |= {round((b - a) % (2 * math.pi), 6) for a in own for b in angles}
    turns |= {round(q * math.pi / 2, 6) for q in range(4)}
    ordered: list[float] = []
    for t in sorted(turns):
        if not ordered or t - ordered[-1] > math.radians(0.05):
            ordered.append(t)
    return ordered


def find(hold: Hold, jaws: Jaws | None, part: Part | None = None) -> list[WrongWay]:
    """Every wrong stance of the same outline that goes in within ``UNSEEN`` and ``SLACK``; nearest first.

    The part keeps its up side or is flipped over (``upside_down``). Turns are tried one by one, each
    with the shift and small turn that leave the least interference.
    """
    outline = hold.outline.outer
    right = to_polygon(outline, CHORD)
    tried: list[tuple[Profile, bool, float]] = []
    for flip in (False, True):
        base = upside_down(hold, part) if flip else outline
        turns = candidates(outline, sweep=jaws is not None, base=base)
        if is_round(base):
            turns = [0.0, ANY_TURN]  # all turns are alike: one stands for the rest
        cx, cy = moments(base).center
        base = base.moved(shift=(-cx, -cy))
        for turn in turns:
            if flip and is_round(base) and turn:
                continue
            if flip or min(turn, 2 * math.pi - turn) >= math.radians(3.0):
                tried.append((base.moved(turn=turn), flip, turn))
    if jaws is None:
        flat = [_between_flats(b, right, flip=f, turn=t, hold=hold, part=part) for b, f, t in tried]
        return _distinct([w for w in flat if w is not None], outline)
    space = allowed(jaws, further=UNSEEN)
    wide, high = largest(jaws)
    tried = [c for c in tried if _extent(c[0], 0) <= wide and _extent(c[0], 1) <= high]
    own = (
        right.bounds[3] - right.bounds[1]
    )  # a part so much smaller lets the jaw close so far that it is seen
    tried = [c for c in tried if not c[1] or _extent(c[0], 1) >= own - UNSEEN]
    found: list[WrongWay] = []
    for k, at, small in settle(space, [b for b, _, _ in tried], right.bounds):
        b, flip, turn = tried[k]
        mine = [w for w in found if w.flipped == flip]
        if len(mine) >= MOST or any(_apart(w.turn, turn) < math.radians(6) for w in mine):
            continue
        way = _in_pocket(
            b, space, right, start=(at, small), flip=flip, turn=turn, hold=hold, jaws=jaws, part=part
        )
        if way is not None:
            found.append(way)
    return _distinct(found, outline)


def _between_flats(
    moved: Profile, right: shapely.Polygon, *, flip: bool, turn: float, hold: Hold, part: Part | None
) -> WrongWay | None:
    """Hard jaws: a wrong way is one that fills the same opening within ``UNSEEN``."""
    x0, y0, x1, y1 = right.bounds
    b = moved.box
    further = (b[3] - b[1]) - (y1 - y0)
    if abs(further) > UNSEEN:
        return None
    # Laid on the fixed jaw, and to the stop at the end where the right part touches it.
    at_left = hold.stop is not None and abs(hold.stop[0] - x0) < abs(hold.stop[0] - x1)
    dx = x0 - b[0] if at_left else x1 - b[2]
    if hold.stop is None:
        dx = (x0 + x1) / 2 - (b[0] + b[2]) / 2
    at = np.array([dx, y1 - b[3]])
    poly = affine_transform(to_polygon(moved, CHORD), [1, 0, 0, 1, float(at[0]), float(at[1])])
    return WrongWay(turn, flip, further, 0.0, poly, _harmless(hold, part, moved, right, flip=flip, turn=turn))


def _harmless(
    hold: Hold, part: Part | None, moved: Profile, right: shapely.Polygon, *, flip: bool, turn: float
) -> bool:
    """True when the part put this way covers the right one and comes out the same (``proof.alike``).

    ``moved`` is the outline turned that way with its middle at the origin. What counts is the part brought
    middle on middle: where it lies within the pocket's own air says nothing.
    """
    poly = to_polygon(moved.moved(shift=moments(hold.outline.outer).center), CHORD)
    if poly.symmetric_difference(right).area > 0.05 * right.length:
        return False
    return harmless(hold, part, flip=flip, turn=turn)


def largest(jaws: Jaws) -> tuple[float, float]:
    """Extents [mm] along X and Y beyond which no outline can lie in the pocket and the open gap."""
    x0, y0, x1, y1 = jaws.pocket.outer.box
    through = x0 <= jaws.fixed.x0 + 1e-6 or x1 >= jaws.fixed.x1 - 1e-6
    return (math.inf if through else x1 - x0 + 2 * SLACK, y1 - y0 + UNSEEN + 2 * SLACK)


def _apart(a: float, b: float) -> float:
    return abs(math.remainder(a - b, 2 * math.pi))


def _extent(p: Profile, axis: int) -> float:
    b = p.box
    return b[2 + axis] - b[axis]


def _in_pocket(
    moved: Profile,
    space: shapely.Geometry,
    right: shapely.Polygon,
    *,
    start: tuple[Floats, float],
    flip: bool,
    turn: float,
    hold: Hold,
    jaws: Jaws,
    part: Part | None,
) -> WrongWay | None:
    pts = outline_points(moved)
    left, at, small = refine(pts, space, *start)
    if left > SLACK:
        return None
    apart, at, small = close_up(
        pts,
        lambda e: allowed(jaws, further=e),
        (at, small),
        open_by=UNSEEN,
        gap=jaws.gap,
        slack=max(0.0, left) + 1e-3,
    )
    if not flip and abs(math.remainder(turn + small, 2 * math.pi)) < CROOKED:
        return None  # the right way, or the right way not yet home
    c, s = math.cos(small), math.sin(small)
    if not flip and _stands_up(hold, jaws, turn, (c, -s, s, c, float(at[0]), float(at[1]))):
        return None
    poly = affine_transform(to_polygon(moved, CHORD), [c, -s, s, c, float(at[0]), float(at[1])])
    total = (turn + small) % (2 * math.pi)
    same = _harmless(hold, part, moved, right, flip=flip, turn=turn)
    return WrongWay(total, flip, apart, max(0.0, left), poly, same)


def _stands_up(
    hold: Hold, jaws: Jaws, turn: float, put: tuple[float, float, float, float, float, float]
) -> bool:
    """Whether what reaches below the floor then stands on it, so that the part is seen to stand too high."""
    if not any(b.depth > UNSEEN for b in hold.below):
        return False
    cx, cy = moments(hold.outline.outer).center
    room = [to_polygon(w.region, CHORD) for w in jaws.wells if w.purpose in LOWER_LEVEL]
    gap = shapely.box(-500.0, -jaws.gap - UNSEEN, 500.0, 0.0)
    open_ = shapely.union_all([*room, gap]).buffer(SLACK)
    deep = [b.region.moved(shift=(-cx, -cy)).moved(turn=turn) for b in hold.below if b.depth > UNSEEN]
    lain = [affine_transform(to_polygon(r, CHORD), list(put)) for r in deep]
    return any(p.difference(open_).area > STANDS_ON for p in lain)


def _distinct(ways: list[WrongWay], outline: Profile) -> list[WrongWay]:
    out: list[WrongWay] = []
    if is_round(outline):
        ways = [replace(w, round=True) for w in ways]
    for w in sorted(ways, key=lambda w: (w.harmless, round(w.interference, 3), w.open, w.flipped, w.turn)):
        if not any(o.flipped == w.flipped and _apart(o.turn, w.turn) < math.radians(6) for o in out):
            out.append(w)
    return out
