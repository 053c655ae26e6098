"""The pocket: what is cut into both jaws, as one region of exact lines and arcs a given cutter can leave.

It is built outward from the part: the shadow of the outline in the closing direction, grown
by the clearance allowance, less the strips that stay where a wall must bear, plus corner
reliefs; then opened by the cutter's radius, so that no inside corner is tighter than the
cutter that makes it.

Lengths in mm, angles in rad.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from jawright.errors import JawrightError
from jawright.geometry.boolean import difference, intersection, union
from jawright.geometry.curve import Arc, Curve, Line, Point, right_normal
from jawright.geometry.envelope import y_hull
from jawright.geometry.offset import offset, opening
from jawright.geometry.profile import Profile, Region, rectangle
from jawright.geometry.query import signed_distance
from jawright.geometry.table import Floats
from jawright.hold.outline import Wall, cut_at_levels, sub
from jawright.jaws.model import Relief
from jawright.jaws.relief import LOCATE_FIRST, STOP_FIRST, at_corner, corners, keeps
from jawright.jaws.row import Spot, trough

TOUCH = 1e-5  # [mm] a wall within this of the pocket's edge bears on it (limit of the geometry's joins)
NICK = 0.3  # [mm] shallower nicks of clearance in a jaw's face are not cut (common practice, no source)
AIR = 0.5  # [mm] the pocket's edge in the gap stays this far from the jaws' faces
SPACING = 0.1  # [mm] between the points at which the part is looked for in the jaws
RUN_OUT = 0.5  # [mm] the cutter's center goes this far past a jaw's face
TANGENT = 1e-6  # [rad] a wall runs on into the next within this
INSIDE = 1e-4  # [mm] the part may not reach outside the pocket by more than this


@dataclass(frozen=True, slots=True)
class Pocket:
    """The cut region, its reliefs, and the runs of the part that still bear on its walls."""

    region: Region
    reliefs: tuple[Relief, ...]
    walls: tuple[Wall, ...]
    shadow: Profile


def design(
    outline: Profile,
    walls: Sequence[Wall],
    *,
    gap: float,
    allowance: float,
    cutter_radius: float,
    growth: float,
    beside: Sequence[Spot] = (),
    bridges: Sequence[int] = (),
    whole_stop: bool = False,
    left: Region | None = None,
    lowered: Sequence[Region] = (),
) -> Pocket:
    """Design the pocket for a seated outline, and for its copies ``beside`` it.

    Parameters
    ----------
    outline : part outline in the vise frame, counter-clockwise
    walls : runs of the outline with their purposes (locate, stop, grip, clear)
    gap : jaw gap [mm]; the jaws' faces are y = 0 and y = -gap
    allowance : how far clear walls stand off [mm]
    cutter_radius : of the cutter that finishes the walls [mm]
    growth : how far the largest part's walls lie outside the nominal ones [mm]
    bridges : curves of the outline between separate feet, where the part has no wall
    lowered : regions in which the jaws are cut down beside walls that are milled past them
    whole_stop : where a locating wall meets the stop, the relief bites into the locating wall
    left : what of the plan stays uncut, away from the part

    Raises ``hold-none`` when no pocket of one piece can be cut with this cutter.
    """
    bearing = [w for w in walls if w.purpose != "clear"]
    shadow = shadow_of(outline, gap, allowance=allowance, cutter_radius=cutter_radius)
    outlines = [outline, *(s.profile(outline) for s in beside)]

    def joined(shapes: Sequence[Region]) -> tuple[Region, ...]:
        if not beside:
            return tuple(shapes)
        copies = [s.region(r) for s in beside for r in shapes]
        return union([*shapes, *copies], [trough(outlines, gap, cutter_radius=cutter_radius, low=NICK + 0.2)])

    grown = offset(Region(shadow), allowance)
    uncut = [(w.curve, *_hollow(w.curve, (*outline.curves, *shadow.curves))) for w in bearing]
    uncut += [(c, False, False) for c in _through(outline, bearing, bridges, gap)]
    strips = [s for c, *hollow in uncut if (s := _stays(c, hollow, allowance)) is not None]
    body = union([Region(shadow)], difference(grown, strips)) if strips else grown
    body = union(body, lowered) if lowered else body
    region = _one(opening(joined(body), cutter_radius))
    order = STOP_FIRST if whole_stop else LOCATE_FIRST
    reliefs, extra = _reliefs(
        shadow, region, bearing, gap=gap, cutter_radius=cutter_radius, growth=growth, order=order
    )
    if extra:
        region = _one(opening(joined(union(body, extra)), cutter_radius))
    trimmed = _without_nicks(region, outlines, gap)
    region = region if trimmed is region else _one(opening(trimmed, cutter_radius))
    if left is not None:
        stays = [left, *(s.region(left) for s in beside)]
        region = _one(opening(_one(difference(region, stays)), cutter_radius))
    kept = _kept(region, bearing)
    for one in outlines:
        _check(region, one, gap)
    return Pocket(region, tuple(reliefs), tuple(kept), shadow)


def _through(outline: Profile, bearing: Sequence[Wall], bridges: Sequence[int], gap: float) -> list[Curve]:
    """Bridges that run on from one bearing wall to the next: the jaw's wall goes straight through there."""
    out = []
    n, held = len(outline.curves), {w.index for w in bearing}
    for i in bridges:
        c, before, after = outline.curves[i], outline.curves[i - 1], outline.curves[(i + 1) % n]
        if not {(i - 1) % n, (i + 1) % n} <= held or not (_smooth(before, c) and _smooth(c, after)):
            continue
        out += [p for p in cut_at_levels(c, (0.0, -gap)) if not -gap < p.at(0.5)[1] < 0.0]
    return out


def _hollow(run: Curve, curves: Sequence[Curve]) -> tuple[bool, bool]:
    """Whether an outline turns inward, or runs into a hollow fillet, at a run's start and at its end."""
    first = last = False
    for c in curves:
        hollow = isinstance(c, Arc) and not c.ccw
        if math.dist(c.end, run.start) < 1e-6:
            first |= _inward(c, run) or hollow
        if math.dist(c.start, run.end) < 1e-6:
            last |= _inward(run, c) or hollow
    return first, last


def _inward(before: Curve, after: Curve) -> bool:
    (ux, uy), (vx, vy) = before.tangent(1.0), after.tangent(0.0)
    return ux * vy - uy * vx < -TANGENT


def _stays(run: Curve, hollow: Sequence[bool], allowance: float) -> Region | None:
    """What stays uncut behind a bearing run.

    In a hollow corner of the part the jaw's own corner ends short of it by the clearance: it would stand in
    the way of the next wall, or ride on the fillet. Elsewhere no sliver of clearance stays round its end.
    """
    width = 2 * allowance + 0.05
    if not isinstance(run, Line):
        return strip(run, width)
    most = min(allowance, run.length / 4) / run.length
    short = sub(run, most if hollow[0] else 0.0, 1.0 - most if hollow[1] else 1.0)
    return strip(short, width, over=(0.0 if hollow[0] else width, 0.0 if hollow[1] else width))


def _smooth(a: Curve, b: Curve) -> bool:
    (ux, uy), (vx, vy) = a.tangent(1.0), b.tangent(0.0)
    return abs(ux * vy - uy * vx) < TANGENT and ux * vx + uy * vy > 0


def run_out(gap: float, cutter_radius: float) -> float:
    """How deep into a jaw the cutter clears both ends of the pocket to finish its walls [mm], if above 0."""
    return cutter_radius + RUN_OUT - gap


def shadow_of(outline: Profile, gap: float, *, allowance: float, cutter_radius: float) -> Profile:
    """What the jaws must be open for, so that each can move off along Y.

    The region between the lower and the upper envelope of the outline over X, carried on
    across the gap where the outline does not reach it, and past a narrow gap so far that
    the cutter can finish each jaw's walls right to its face.
    """
    hull = y_hull(outline)
    x0, _, x1, _ = hull.box
    low, high = -max(gap - AIR, cutter_radius + RUN_OUT), max(-AIR, run_out(gap, cutter_radius))
    bar = Region(rectangle(x0, low + allowance, x1, max(high - allowance, low + 2 * allowance)))
    joined = union([Region(hull)], [bar])
    return y_hull(_one(joined).outer)


def strip(curve: Curve, width: float, *, over: tuple[float, float] = (0.0, 0.0)) -> Region | None:
    """The strip of ``width`` [mm] on the outside (right) of a run of a counter-clockwise outline.

    A straight one goes ``over`` [mm] its start and its end.
    """
    a, b = curve.start, curve.end
    na, nb = right_normal(curve, 0.0), right_normal(curve, 1.0)
    far_a = (a[0] + width * na[0], a[1] + width * na[1])
    far_b = (b[0] + width * nb[0], b[1] + width * nb[1])
    if isinstance(curve, Line):
        tx, ty = curve.tangent(0.0)
        s, e = over
        a, far_a = (a[0] - s * tx, a[1] - s * ty), (far_a[0] - s * tx, far_a[1] - s * ty)
        b, far_b = (b[0] + e * tx, b[1] + e * ty), (far_b[0] + e * tx, far_b[1] + e * ty)
        sides: tuple[Curve, ...] = (Line(b, a), Line(a, far_a), Line(far_a, far_b), Line(far_b, b))
        return Region(Profile(sides))
    if not curve.ccw and curve.radius <= width * 1.01:
        return None
    outer = Arc(far_a, far_b, curve.center, curve.ccw)
    return Region(Profile((curve.reversed(), Line(a, far_a), outer, Line(far_b, b))))


def _one(regions: Sequence[Region]) -> Region:
    big = [r for r in regions if r.outer.area > 0.5]
    if len(big) != 1:
        raise JawrightError(
            "hold-none",
            what="the pocket falls apart into "
            f"{len(big)} pieces with the cutter at hand: a neck of the part is narrower than the cutter",
            todo="add a smaller sharp-cornered end mill to the shop",
        )
    return big[0]


def _without_nicks(region: Region, outlines: Sequence[Profile], gap: float) -> Region:
    """The pocket without shallow nicks of clearance in a jaw's face: nobody would cut them.

    A nick less than ``NICK`` deep into a jaw which the part itself does not enter is left uncut:
    what is lost there is clearance, less than the nick's depth.
    """
    x0, y0, x1, y1 = region.outer.box
    part = np.vstack([_along(one) for one in outlines])
    cut: list[Region] = []
    for near, far in ((0.0, y1 + 1.0), (-gap, y0 - 1.0)):
        side = Region(rectangle(x0 - 1.0, min(near, far), x1 + 1.0, max(near, far)))
        for piece in intersection(region, side):
            a, low, b, high = piece.outer.box
            within = (part[:, 0] > a - 0.1) & (part[:, 0] < b + 0.1)
            enters = within & ((part[:, 1] > -1e-9) if near == 0.0 else (part[:, 1] < near + 1e-9))
            if high - low < NICK and not enters.any():
                grow = 0.05
                inward = min(AIR / 2, gap / 4)
                bottom = low - grow if near < 0 else near - inward
                top = near + inward if near < 0 else high + grow
                cut.append(Region(rectangle(a - grow, bottom, b + grow, top)))
    return _one(difference(region, cut)) if cut else region


def _reliefs(
    shadow: Profile,
    region: Region,
    bearing: Sequence[Wall],
    *,
    gap: float,
    cutter_radius: float,
    growth: float,
    order: Sequence[str],
) -> tuple[list[Relief], list[Region]]:
    """Reliefs at the corners the pocket does not clear for the largest part."""
    reliefs: list[Relief] = []
    extra: list[Region] = []
    for c in corners(shadow, cutter_radius + growth):  # radii shrink with a small part's walls
        if -gap <= c.at[1] <= 0.0:
            continue  # in the air between the jaws
        reach = growth / max(math.sin(c.half), 0.2)
        tip = (c.at[0] - c.into[0] * reach, c.at[1] - c.into[1] * reach)
        if _inside(region, tip) and _inside(region, c.at):
            continue
        relief, cut = at_corner(c, cutter_radius, growth, keep=keeps(c, bearing, order))
        reliefs.append(relief)
        extra.append(cut)
    return reliefs, extra


def _inside(region: Region, p: Point) -> bool:
    return bool(signed_distance(region, np.array([p]))[0] <= INSIDE)


def _kept(region: Region, bearing: Sequence[Wall]) -> list[Wall]:
    """The longest run of each bearing wall that still lies on the pocket's edge."""
    out = []
    for w in bearing:
        run = touching(region, w.curve)
        if run is not None:
            out.append(replace(w, curve=run))
    return out


def touching(region: Region, curve: Curve, samples: int = 201) -> Curve | None:
    """The longest run of ``curve`` on the edge of ``region`` (within ``TOUCH``), None under 0.5 mm."""
    t = np.linspace(0.0, 1.0, samples)
    pts = np.array([curve.at(float(s)) for s in t])
    on = np.abs(signed_distance(region, pts)) <= TOUCH
    best = (0, -1)
    start = None
    for i, hit in enumerate([*on, False]):
        if hit and start is None:
            start = i
        elif not hit and start is not None:
            if i - 1 - start > best[1] - best[0]:
                best = (start, i - 1)
            start = None
    a, b = float(t[best[0]]), float(t[max(best[1], 0)])
    if best[1] < best[0] or (b - a) * curve.length < 0.5:
        return None
    return sub(curve, a, b)


def _along(outline: Profile) -> Floats:
    """Points at most ``SPACING`` apart along an outline, corners included, shape (n, 2) [mm]."""
    out = []
    for c in outline.curves:
        n = max(2, math.ceil(c.length / SPACING))
        out.append(np.array([c.at(k / n) for k in range(n)]))
    return np.vstack(out)


def _check(region: Region, outline: Profile, gap: float) -> None:
    """The nominal part must lie inside the pocket wherever there is jaw."""
    pts = _along(outline)
    jaw = (pts[:, 1] > 1e-9) | (pts[:, 1] < -gap - 1e-9)
    if not jaw.any():
        return
    d = signed_distance(region, pts[jaw])
    worst = int(np.argmax(d))
    if d[worst] > INSIDE:
        x, y = pts[jaw][worst]
        raise JawrightError(
            "hold-none",
            what=f"the part would stand {d[worst]:.3f} mm inside the jaw at X {x:.2f}, Y {y:.2f} mm "
            "with the cutter at hand",
            todo="add a smaller sharp-cornered end mill to the shop",
        )
