"""A part that stands on several feet within the grip: the one outline that both jaws see of them all.

A plate with a slot across its underside, a channel on its legs, a cover on ribs, bosses under a cast plate.
Lengths in mm.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np

from jawright import kernel
from jawright.errors import JawrightError
from jawright.geometry.boolean import difference, intersection, union
from jawright.geometry.curve import Arc, Curve, Line
from jawright.geometry.frame import Vec3, dot, standing, unit
from jawright.geometry.hull import hull
from jawright.geometry.polygon import to_polygon
from jawright.geometry.profile import Profile, Region
from jawright.geometry.query import nearest_on, signed_distance
from jawright.hold.model import Below
from jawright.hold.outline import sub
from jawright.part.band import silhouette
from jawright.part.model import Band, Part

ON = 1e-5
"""A curve of the joined outline lies on a foot where it is within this of its edge (limit of the joins)."""
SPECK = 0.01
"""Smaller pieces [mm²] are rounding."""
PROBES = 16
FACING = 0.5
"""Feet that face each other over less than this [mm] along the jaws do not meet when squeezed."""
HANGS = 0.05
"""Metal that stands out over the jaws by less than this [mm] touches none: it is an edge that rounds off."""


@dataclass(frozen=True, slots=True)
class Joined:
    """One outline round all feet: the face of each curve, and which curves only bridge from foot to foot.

    ``faces`` are part face indices, -1 for none; ``bridges`` are numbers of curves of ``outline`` where the
    part has no wall within the grip.
    """

    outline: Profile
    faces: tuple[int, ...]
    bridges: tuple[int, ...] = ()


def joined(band: Band, part: Part, up: Vec3) -> Joined:
    """The outline round all that lies within the grip.

    Between the feet it follows what the part shows from above, and where that stands out beyond them, the
    straight lines that touch them: no foot's outer wall is covered, so that a jaw gets at it.
    """
    own = [_alone(r) for r in band.outline]
    faces = band.sources or tuple((-1,) * len(r.outer.curves) for r in band.outline)
    if len(own) == 1:
        return Joined(own[0].outer, faces[0])
    whole = Region(hull([r.outer for r in own]))
    outline = _round(own, whole, part, up) or whole.outer
    return _named(outline, [r.outer for r in own], faces)


def _alone(r: Region) -> Region:
    return Region(r.outer)


def _round(feet: Sequence[Region], whole: Region, part: Part, up: Vec3) -> Profile | None:
    """The feet with what the part shows between them; None where that does not join them all."""
    try:
        above = [_alone(r) for r in silhouette(part, up)]
        between = intersection(above, whole)
        beyond = [r for r in difference(above, whole) if r.area > SPECK and not _beside(r, feet)]
        found = [r for r in union([*feet, *between, *beyond]) if r.area > SPECK]
    except JawrightError:
        return None
    return found[0].outer if len(found) == 1 else None


def _beside(piece: Region, feet: Sequence[Region]) -> bool:
    """Whether a piece outside the hull lies along a foot's wall, which a jaw then could not touch."""
    for f in feet:
        shares = [(k + 0.5) / PROBES for k in range(PROBES)]
        points = np.array([p for c in f.outer.curves for p in c.spread(shares)])
        if bool((signed_distance(piece, points) <= ON).any()):
            return True
    return False


def _named(outline: Profile, feet: Sequence[Profile], faces: Sequence[Sequence[int]]) -> Joined:
    """The outline split where a foot begins or ends, with the face behind each curve."""
    ends = np.array([c.start for f in feet for c in f.curves])
    pieces = [p for c in outline.curves for p in _split(c, ends)]
    middles = np.array([c.at(0.5) for c in pieces])
    names: list[tuple[int, int]] = [(-1, -1)] * len(pieces)  # foot and curve, (-1, -1) for a bridge
    nearest = [ON] * len(pieces)
    for n, f in enumerate(feet):
        for k, foot in enumerate(nearest_on(f, middles)):
            if foot.distance <= nearest[k]:
                nearest[k], names[k] = foot.distance, (n, foot.curve)
    while len(pieces) > 2 and names[0] == names[-1] and _follows(pieces[-1], pieces[0]):
        pieces, names = [*pieces[1:], pieces[0]], [*names[1:], names[0]]
    curves: list[Curve] = []
    kept: list[tuple[int, int]] = []
    for c, name in zip(pieces, names, strict=True):
        if curves and name == kept[-1] and _follows(curves[-1], c):
            curves[-1] = _onward(curves[-1], c)
        else:
            curves.append(c)
            kept.append(name)
    own = tuple(-1 if n < 0 else faces[n][k] for n, k in kept)
    return Joined(Profile(tuple(curves)), own, tuple(i for i, (n, _) in enumerate(kept) if n < 0))


def _split(c: Curve, ends: np.ndarray) -> list[Curve]:
    """The curve split at the ends of the feet's curves that lie on it."""
    reach = c.length + 1.0
    near = [tuple(p) for p in ends if math.dist(p, c.start) < reach]
    shares = {0.0, 1.0}
    for x, y in near:
        s = _share(c, (float(x), float(y)))
        if s is not None:
            shares.add(s)
    return [sub(c, a, b) for a, b in pairwise(sorted(shares))]


def _share(c: Curve, p: tuple[float, float]) -> float | None:
    """Share of the curve's length at which a point lies on it; None off it or at its ends."""
    if isinstance(c, Line):
        tx, ty = c.tangent()
        dx, dy = p[0] - c.start[0], p[1] - c.start[1]
        s, off = (dx * tx + dy * ty) / c.length, abs(dx * ty - dy * tx)
    else:
        off = abs(math.dist(p, c.center) - c.radius)
        a = math.atan2(p[1] - c.center[1], p[0] - c.center[0])
        turned = (a - c.start_angle) % (2 * math.pi) if c.ccw else (c.start_angle - a) % (2 * math.pi)
        s = turned / abs(c.sweep)
    inset = ON / c.length
    return s if off <= ON and inset < s < 1.0 - inset else None


def _follows(a: Curve, b: Curve) -> bool:
    """Whether two neighbors run on one line or one circle."""
    if isinstance(a, Line) and isinstance(b, Line):
        (ux, uy), (vx, vy) = a.tangent(), b.tangent()
        return abs(ux * vy - uy * vx) * max(a.length, b.length) <= ON and ux * vx + uy * vy > 0
    if isinstance(a, Arc) and isinstance(b, Arc):
        same = math.dist(a.center, b.center) <= ON and abs(a.radius - b.radius) <= ON
        return same and a.ccw == b.ccw and abs(a.sweep) + abs(b.sweep) < 2 * math.pi - 0.01
    return False


def _onward(a: Curve, b: Curve) -> Curve:
    return Line(a.start, b.end) if isinstance(a, Line) else Arc(a.start, b.end, a.center, a.ccw)


def moved(band: Band, *, turn: float, shift: tuple[float, float]) -> tuple[Region, ...]:
    """The separate feet where they stand; none where the part stands on one."""
    if len(band.outline) == 1:
        return ()
    return tuple(r.moved(turn=turn, shift=shift) for r in band.outline)


def squeezed_together(feet: Sequence[Region]) -> bool:
    """Whether closing along Y pushes one of the feet toward another: there is air between them on its way."""
    boxes = [r.outer.box for r in feet]
    return any(min(a[2], b[2]) - max(a[0], b[0]) > FACING for i, a in enumerate(boxes) for b in boxes[:i])


def put(below: Sequence[Below], *, turn: float, shift: tuple[float, float]) -> tuple[Below, ...]:
    """What reaches below the floor where the part stands."""
    return tuple(
        Below(
            b.region.moved(turn=turn, shift=shift),
            b.depth,
            tuple(s.moved(turn=turn, shift=shift) for s in b.soles),
            b.faces,
        )
        for b in below
    )


def short(band: Band, part: Part, up: Vec3, below: Sequence[Below] = ()) -> str:
    """Which feet do not reach the floor, in words; "" when all do. What reaches ``below`` it is not short."""
    standing_on = [to_polygon(r, 0.05) for r in band.bottom]
    standing_on += [to_polygon(b.region, 0.05) for b in below]
    short = [r for r in band.outline if not any(to_polygon(r, 0.05).intersects(p) for p in standing_on)]
    if len(band.outline) < 2 or not short:
        return ""
    move = standing(up, turn=0.0, shift=(0.0, 0.0, 0.0))
    faces = _looking_down(part, up)
    low = min((h for h, _ in faces), default=0.0)
    over = []
    for r in short:
        foot = to_polygon(r, 0.05)
        own = [
            h - low
            for h, i in faces
            if any(
                to_polygon(q, 0.05).intersection(foot).area > 0.5 * foot.area
                for q in kernel.flat_face(part.shape, i, move).regions
            )
        ]
        if own:
            over.append(min(own))
    apart = f"{min(over):.2f} mm " if over else ""
    return f"{len(short)} of its {len(band.outline)} feet end {apart}above the floor"


def told(feet: int) -> tuple[str, ...]:
    """What the jaws do with a part on several feet, in words; nothing of a part on one."""
    if feet < 2:
        return ()
    return (
        f"the part stands on {feet} separate pieces within the grip: the jaws touch their outer walls only, "
        "and nothing touches between them",
    )


def ceilings(part: Part, up: Vec3) -> list[float]:
    """Heights [mm] above the underside of level faces that look down, lowest first, without the underside."""
    faces = _looking_down(part, up)
    low = min((h for h, _ in faces), default=0.0)
    return sorted({round(h - low, 6) for h, _ in faces if h - low > SPECK})


def overhang(part: Part, up: Vec3, outline: Profile, *, above: float) -> float:
    """Least height [mm] above the underside, from ``above`` on, at which level metal hangs out over the jaws.

    Level faces that look down count, and stand out of the outline by more than ``HANGS``. inf for none.
    """
    move = standing(up, turn=0.0, shift=(0.0, 0.0, 0.0))
    within = to_polygon(outline, 0.01).buffer(HANGS)
    faces = _looking_down(part, up)
    low = min((h for h, _ in faces), default=0.0)
    for h, i in sorted(faces):
        if h - low < above - 1e-6 or h - low < SPECK:
            continue
        shapes = [to_polygon(r, 0.01) for r in kernel.flat_face(part.shape, i, move).regions]
        if any(s.difference(within).area > SPECK for s in shapes):
            return h - low
    return math.inf


def _looking_down(part: Part, up: Vec3) -> list[tuple[float, int]]:
    """Height along ``up`` and number of each level face that looks down."""
    way = unit(up)
    return [
        (dot(f.center, way), f.index)
        for f in part.faces
        if f.kind == "plane" and dot(f.normal, way) < -0.9999
    ]
