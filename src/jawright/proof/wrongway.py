"""Does the part go in a wrong way round? Turned and flipped outlines are tried between the jaws.

Lengths in mm, angles in rad.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.affinity import affine_transform, translate

from jawright.errors import JawrightError
from jawright.geometry.curve import Arc, Curve, Line
from jawright.geometry.frame import standing
from jawright.geometry.polygon import to_polygon
from jawright.geometry.profile import Profile
from jawright.geometry.query import moments
from jawright.hold.model import Hold
from jawright.jaws.model import LOWER_LEVEL, Jaws
from jawright.jaws.row import spots_of
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
PUSHES = 10  # halvings of the way to the stop
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
    hand: bool = False  # it is the mirror image that goes in, of a left and a right hand side by side

    @property
    def words(self) -> str:
        """How the part would have to be put in, in words."""
        if self.hand:
            how = replace(self, hand=False).words
            return f"{how or 'right side up'}, in the other hand's pocket"
        if self.round:
            return "flipped over" if self.flipped else "turned to any angle"
        deg = math.degrees(self.turn) % 360
        how = f"turned by {deg:.0f}°" if 0.5 < deg < 359.5 else ""
        if self.flipped:
            return f"flipped over then {how}" if how else "flipped over"
        return how


@dataclass(frozen=True, slots=True)
class _Try:
    """An outline, its middle at the origin, as it would be put in."""

    outline: Profile
    flip: bool
    turn: float  # [rad]
    hand: bool  # of the mirror image


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

    The part keeps its up side or is flipped over (``upside_down``). Beside its mirror image it may also go
    into the other's pocket, which by symmetry is the mirror image in this one. Turns are tried one by one,
    each with the shift and small turn that leave the least interference.
    """
    outline = hold.outline.outer
    right = to_polygon(outline, CHORD)
    tried = _tries(hold, part, sweep=jaws is not None)
    if jaws is None:
        flat = [_between_flats(t, right, hold=hold, part=part) for t in tried]
        return _distinct([w for w in flat if w is not None], outline)
    space = allowed(jaws, further=UNSEEN)
    wide, high = largest(jaws)
    tried = [t for t in tried if _extent(t.outline, 0) <= wide and _extent(t.outline, 1) <= high]
    own = (
        right.bounds[3] - right.bounds[1]
    )  # a part so much smaller lets the jaw close so far that it is seen
    tried = [t for t in tried if not t.flip or _extent(t.outline, 1) >= own - UNSEEN]
    found: list[WrongWay] = []
    for k, at, small in settle(space, [t.outline for t in tried], right.bounds):
        t = tried[k]
        mine = [w for w in found if (w.flipped, w.hand) == (t.flip, t.hand)]
        if len(mine) >= MOST or any(_apart(w.turn, t.turn) < math.radians(6) for w in mine):
            continue
        way = _in_pocket(t, space, right, start=(at, small), hold=hold, jaws=jaws)
        if way is None or any(_apart(w.turn, way.turn) < math.radians(6) for w in mine):
            continue
        like = (u for u in tried if (u.flip, u.hand) == (t.flip, t.hand))
        there = min(like, key=lambda u: _apart(u.turn, way.turn))  # where it lies, not where it began
        found.append(replace(way, harmless=_harmless(hold, part, there, right)))
    return _distinct(found, outline)


def _tries(hold: Hold, part: Part | None, *, sweep: bool) -> list[_Try]:
    """Ways of putting a part in that are not the right one; a left and a right hand may also be exchanged."""
    outline, over = hold.outline.outer, upside_down(hold, part)
    bases = [(outline, False, False), (over, True, False)]
    if any(s.mirrored for s in spots_of(hold)):
        bases += [(mirrored(outline), False, True), (mirrored(over), True, True)]
    out: list[_Try] = []
    for base, flip, hand in bases:
        turns = candidates(outline, sweep=sweep, base=base)
        if is_round(base):
            turns = [0.0, ANY_TURN]  # all turns are alike: one stands for the rest
        cx, cy = moments(base).center
        for turn in turns:
            if flip and is_round(base) and turn:
                continue
            if flip or hand or min(turn, 2 * math.pi - turn) >= math.radians(3.0):
                put = base.moved(shift=(-cx, -cy)).moved(turn=turn)
                out.append(_Try(put, flip, turn, hand))
    return out


def _between_flats(t: _Try, right: shapely.Polygon, *, hold: Hold, part: Part | None) -> WrongWay | None:
    """Hard jaws: a wrong way is one that fills the same opening within ``UNSEEN``."""
    x0, y0, x1, y1 = right.bounds
    b = t.outline.box
    further = (b[3] - b[1]) - (y1 - y0)
    if abs(further) > UNSEEN:
        return None
    # Laid on the fixed jaw, and to the stop at the end where the right part touches it.
    at_left = hold.stop is not None and abs(hold.stop[0] - x0) < abs(hold.stop[0] - x1)
    dx = x0 - b[0] if at_left else x1 - b[2]
    if hold.stop is None:
        dx = (x0 + x1) / 2 - (b[0] + b[2]) / 2
    at = np.array([dx, y1 - b[3]])
    poly = affine_transform(to_polygon(t.outline, CHORD), [1, 0, 0, 1, float(at[0]), float(at[1])])
    return WrongWay(t.turn, t.flip, further, 0.0, poly, _harmless(hold, part, t, right))


def _harmless(hold: Hold, part: Part | None, t: _Try, right: shapely.Polygon) -> bool:
    """True when the part put this way covers the right one and comes out the same (``proof.alike``).

    What counts is the part brought middle on middle: where it lies within the pocket's own air says nothing.
    """
    poly = to_polygon(t.outline.moved(shift=moments(hold.outline.outer).center), CHORD)
    if poly.symmetric_difference(right).area > 0.05 * right.length:
        return False
    return harmless(hold, part, flip=t.flip, turn=t.turn, hand=t.hand)


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
    t: _Try,
    space: shapely.Geometry,
    right: shapely.Polygon,
    *,
    start: tuple[Floats, float],
    hold: Hold,
    jaws: Jaws,
) -> WrongWay | None:
    pts = outline_points(t.outline)
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
    if not (t.flip or t.hand) and abs(math.remainder(t.turn + small, 2 * math.pi)) < CROOKED:
        return None  # the right way, or the right way not yet home
    c, s = math.cos(small), math.sin(small)
    if not t.flip and _stands_up(hold, jaws, t, (c, -s, s, c, float(at[0]), float(at[1]))):
        return None
    poly = affine_transform(to_polygon(t.outline, CHORD), [c, -s, s, c, float(at[0]), float(at[1])])
    poly = _at_the_stop(poly, right, allowed(jaws, further=apart), hold)
    total = (t.turn + small) % (2 * math.pi)
    return WrongWay(total, t.flip, apart, max(0.0, left), poly, harmless=False, hand=t.hand)


def _at_the_stop(
    poly: shapely.Polygon, right: shapely.Polygon, space: shapely.Geometry, hold: Hold
) -> shapely.Polygon:
    """The outline pushed along X to where the stop ends the right part, as far as the jaws let it go."""
    ways = [c.normal[0] for c in hold.contacts if c.on == "stop"]
    if not ways and hold.stop is None:
        return poly
    mid = (right.bounds[0] + right.bounds[2]) / 2
    left = math.fsum(ways) > 0 if hold.stop is None else hold.stop[0] < mid
    whole = right.bounds[0] - poly.bounds[0] if left else right.bounds[2] - poly.bounds[2]
    room = space.buffer(SLACK)
    shapely.prepare(room)

    def goes(share: float) -> bool:
        return bool(room.covers(translate(poly, share * whole)))

    if goes(1.0):
        return translate(poly, whole)
    low, high = 0.0, 1.0
    for _ in range(PUSHES):
        middle = 0.5 * (low + high)
        low, high = (middle, high) if goes(middle) else (low, middle)
    return translate(poly, low * whole)


def _stands_up(hold: Hold, jaws: Jaws, t: _Try, put: tuple[float, float, float, float, float, float]) -> bool:
    """Whether what reaches below the floor then stands on it, so that the part is seen to stand too high."""
    if not any(b.depth > UNSEEN for b in hold.below):
        return False
    cx, cy = moments(hold.outline.outer).center
    room = [to_polygon(w.region, CHORD) for w in jaws.wells if w.purpose in LOWER_LEVEL]
    gap = shapely.box(-500.0, -jaws.gap - UNSEEN, 500.0, 0.0)
    open_ = shapely.union_all([*room, gap]).buffer(SLACK)
    deep = [to_polygon(b.region.moved(shift=(-cx, -cy)), CHORD) for b in hold.below if b.depth > UNSEEN]
    c, s, x = math.cos(t.turn), math.sin(t.turn), -1.0 if t.hand else 1.0
    turned = [affine_transform(r, [x * c, -s, x * s, c, 0.0, 0.0]) for r in deep]
    lain = [affine_transform(r, list(put)) for r in turned]
    return any(p.difference(open_).area > STANDS_ON for p in lain)


def _distinct(ways: list[WrongWay], outline: Profile) -> list[WrongWay]:
    out: list[WrongWay] = []
    if is_round(outline):
        ways = [replace(w, round=True) for w in ways]
    for w in sorted(ways, key=lambda w: (w.harmless, round(w.interference, 3), w.open, w.flipped, w.turn)):
        like = [o for o in out if (o.flipped, o.hand) == (w.flipped, w.hand)]
        if not any(_apart(o.turn, w.turn) < math.radians(6) for o in like):
            out.append(w)
    return out
