"""The features of this operation as they will be cut in a given stance: where, with what, how hard.

Lengths in mm, angles in rad.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import replace
from functools import lru_cache

from shapely import MultiPoint

from jawright import handbook
from jawright.errors import JawrightError
from jawright.geometry.curve import Point
from jawright.geometry.frame import Move, Vec3
from jawright.geometry.profile import Region
from jawright.hold.model import DatumUse, MadeFeature, Seat
from jawright.hold.narrow import FREE, MILLED, Narrow
from jawright.hold.resolve import Ask, FoundFeature
from jawright.hold.runs import UPRIGHT, Run, in_plan
from jawright.job.model import Feature
from jawright.part.model import Face
from jawright.same import Same
from jawright.shop.model import Cutter, Shop

CUTTER_KINDS: dict[str, tuple[str, ...]] = {
    "face": ("face mill", "end mill"),
    "drill": ("drill",),
    "bore": ("boring bar", "end mill"),
    "ream": ("reamer",),
    "profile": ("end mill",),
    "pocket": ("end mill",),
    "slot": ("end mill",),
    "chamfer": ("spot drill", "engraver"),
}

PILOT_UNDER = (
    0.4  # [mm] a bore is drilled this much under size when nothing is said (common practice, no source)
)
REAM_UNDER = 0.2  # [mm] the same under a reamer (common practice, no source)
FACE_OVERLAP = 0.7  # share of the face mill's diameter in the cut (common practice, no source)
SIDE_SHARE = 0.1  # radial engagement of a side finish as a share of the diameter (common practice, no source)
POCKET_SHARE = 0.4  # radial engagement in a pocket as a share of the diameter (common practice, no source)
PICKS = 8.0  # [mm] thinner cutters only pick out the corners that a thicker left (common practice, no source)
SAME = 1e-6  # [mm] a cutter as wide as the place goes in
ROUND = 1e-3  # share of its radius by which the box of a whole round wall may differ from it
AROUND = 24  # points round such a wall
BREAK_THROUGH = 1.0  # [mm] a through tool goes this far below the part besides its point (common practice)


def made(
    ask: Ask,
    move: Move,
    *,
    shop: Shop,
    material: str,
    top: float,
    bottom: float,
    stock: float,
    plan: Region,
    windows: Mapping[str, Region],
    runs: Mapping[str, Run],
    narrows: Mapping[str, Narrow],
) -> tuple[MadeFeature, ...]:
    """The features as cut with the part moved by ``move``.

    Parameters
    ----------
    top, bottom : Z of the finished part's top and of its underside in the vise frame [mm]
    stock : metal above the finished top as the part comes in [mm]
    plan : outline of the part seen from above, vise frame
    windows : outlines by which features come out below, by name, vise frame
    runs : ways of the milled ones that are no straight wall, by name, part frame (``hold.runs``)
    narrows : how wide a cutter goes into the milled ones, by name (``hold.narrow``)
    """
    out = []
    for f in ask.features:
        span, run, within = (bottom, top, top + stock), runs.get(f.ask.name), narrows.get(f.ask.name, FREE)
        one = _made(f, move, shop=shop, material=material, span=span, plan=plan, run=run, within=within)
        window = windows.get(f.ask.name)
        out.append(one if window is None else replace(one, window=window, through=True))
    return tuple(out)


def choose_cutter(
    ask: Feature, diameter: float | None, shop: Shop, *, deep: float = 0.0, within: Narrow = FREE
) -> tuple[Cutter, str]:
    """The cutter named in the job, else the usual choice; with a note when it is a compromise.

    ``deep`` is how far its flutes have to go in a bore, pocket or profile [mm]: of the cutters that
    fit, one that is long enough goes before a thicker one. ``within`` bounds what goes into a milled one
    (``_going_in``).

    Raises ``shop-no-cutter`` when the shop has none that makes it.
    """
    if ask.cutter:
        for c in shop.cutters:
            if c.id == ask.cutter:
                return c, _left_by(c, within) if ask.kind in MILLED else ""
        raise JawrightError(
            "shop-no-cutter",
            what=f'the feature "{ask.name}" asks for cutter "{ask.cutter}", which the shop does not have',
            todo="known: " + ", ".join(c.id for c in shop.cutters),
        )
    for kind in CUTTER_KINDS[ask.kind]:
        mine = [c for c in shop.cutters if c.kind == kind]
        found = _fitting(ask.kind, mine, diameter, deep)
        if ask.kind in MILLED and diameter is None and mine and within != FREE:
            found = _going_in(mine, within)
        if found is not None:
            return found
    size = f" for Ø{diameter:g} mm" if diameter else ""
    if ask.kind in ("drill", "ream") and diameter and not ask.cutter:
        return _wanted(ask.kind, diameter), f"Ø{diameter:g} mm {ask.kind} is not in the shop: get one"
    raise JawrightError(
        "shop-no-cutter",
        what=f'the shop has no {" or ".join(CUTTER_KINDS[ask.kind])}{size} to make "{ask.name}"',
        todo="add one to the shop file or name a cutter in the feature",
    )


def _wanted(kind: str, diameter: float) -> Cutter:
    """A drill or reamer the shop has to get: jobber proportions; pocket 0 says that it has no place yet."""
    drill = kind == "drill"
    return Cutter(
        id=f"{'DRILL' if drill else 'REAMER'} {diameter:g}",
        number=0,
        kind="drill" if drill else "reamer",
        diameter=diameter,
        corner_radius=0.0,
        flutes=2 if drill else 6,
        flute_length=8.0 * diameter,
        reach=8.0 * diameter + 15.0,
        holder_diameter=max(28.0, diameter + 22.0),
        tip_angle=math.radians(118.0) if drill else 0.0,
        helix=math.radians(28.0) if drill else 0.0,
        center_cutting=drill,
        material="HSS",
    )


def _fitting(
    kind: str, mine: Sequence[Cutter], diameter: float | None, deep: float
) -> tuple[Cutter, str] | None:
    if not mine:
        return None
    if kind == "face" or diameter is None:
        return max(mine, key=_thick), ""
    if kind in ("drill", "ream"):
        close = [c for c in mine if abs(c.diameter - diameter) <= 0.05]
        if close:
            return min(close, key=lambda c: (abs(c.diameter - diameter), c.id)), ""
        return None
    fits = [c for c in mine if c.diameter <= 0.9 * diameter]
    if fits:
        return max(fits, key=lambda c: (c.flute_length >= deep, _thick(c))), ""
    return None


def _thick(c: Cutter) -> tuple[float, float, str]:
    """Of cutters as thick the sharp one: a rounded one leaves a root at the foot of the wall."""
    return (c.diameter, -c.corner_radius, c.id)


def _going_in(mine: Sequence[Cutter], within: Narrow) -> tuple[Cutter, str]:
    """The thickest cutter that goes round the corners of what is milled, with what it leaves.

    Where that is one that would only pick the corners out, the thickest that goes between the walls: the load
    on the part is not told too low.
    """

    def thickest(most: float, *, long: bool) -> Cutter | None:
        fits = [c for c in mine if c.diameter <= most + SAME and (not long or c.flute_length >= within.deep)]
        return max(fits, key=_thick, default=None)

    best = thickest(within.wide, long=True) or thickest(within.wide, long=False)
    if best is None:
        best = min(mine, key=_thick)
    elif best.diameter > within.corner + SAME:
        round_corners = thickest(min(within.wide, within.corner), long=True)
        if round_corners is not None and round_corners.diameter >= PICKS:
            best = round_corners
    return best, _left_by(best, within)


def _left_by(c: Cutter, within: Narrow) -> str:
    """What a cutter does not reach of what is milled, in words; "" where it goes everywhere."""
    if c.diameter > within.wide + SAME:
        return f"{c.id} is wider than the {within.wide:.1f} mm between the walls: get a thinner one"
    if c.diameter > within.corner + SAME:
        return f"{c.id} leaves its corners of radius {within.corner / 2:.2f} mm to a thinner cutter"
    return ""


def _made(
    found: FoundFeature,
    move: Move,
    *,
    shop: Shop,
    material: str,
    span: tuple[float, float, float],
    plan: Region,
    run: Run | None,
    within: Narrow,
) -> MadeFeature:
    ask, hole = found.ask, found.hole
    _, top, incoming = span
    cutter, diameter, (spindle, feed), known = _tool(Same(found), Same(shop), material, within)
    assumed = list(known)
    if hole is not None:
        ends = [move.point(hole.mouth), move.point(_along(hole.mouth, hole.axis, -hole.depth))]
        ends.sort(key=lambda p: -p[2])
        through = hole.through if ask.through is None else ask.through
        bottom = ends[1][2] if ask.depth is None else ends[0][2] - ask.depth
        center = (ends[0][0], ends[0][1], incoming if ends[0][2] > top - 1e-6 else ends[0][2])
        radial, axial = _hole_engagement(ask, diameter or cutter.diameter, center[2] - bottom, assumed)
        path: tuple[Vec3, ...] = (center, (center[0], center[1], bottom))
        return MadeFeature(
            ask.name, ask.kind, center, (0.0, 0.0, 1.0), diameter, bottom, through, found.faces, cutter,
            spindle, feed, radial, axial, path, None, tuple(assumed),
        )  # fmt: skip
    rate = (spindle, feed)
    return _milled(found, move, cutter, rate, span=span, plan=plan, way=run, assumed=assumed)


@lru_cache(maxsize=256)
def _tool(
    of: Same[FoundFeature], owned: Same[Shop], material: str, within: Narrow
) -> tuple[Cutter, float | None, tuple[float, float], tuple[str, ...]]:
    """Cutter, diameter, spindle with feed, and what is assumed about them: the same in every stance."""
    found, shop, assumed = of.it, owned.it, []
    ask, hole = found.ask, found.hole
    diameter = ask.diameter or (hole.diameter if hole else None)
    deep = 0.0
    if hole is not None:
        deep = hole.depth if ask.depth is None else ask.depth
    cutter, note = choose_cutter(ask, diameter, shop, deep=deep, within=within)
    if note:
        assumed.append(note)
    rate = _speed(ask, cutter, shop, material, assumed)
    return cutter, diameter, rate, tuple(assumed)


def _along(p: Vec3, d: Vec3, t: float) -> Vec3:
    return (p[0] + t * d[0], p[1] + t * d[1], p[2] + t * d[2])


def _speed(
    ask: Feature, cutter: Cutter, shop: Shop, material: str, assumed: list[str]
) -> tuple[float, float]:
    work = handbook.material(material)
    data = handbook.cutting(work, cutter.material, kind=cutter.kind)
    if data is None:
        if ask.feed_per_tooth is None:
            raise JawrightError(
                "key-missing",
                what=f"no cutting data are known for {work.name} with {cutter.material}; "
                f'"{ask.name}" needs its feed',
                todo='give feed_per_tooth = "0.05 mm" in the feature',
            )
        return shop.machine.spindle_max, ask.feed_per_tooth
    spindle = data.spindle(cutter.diameter, most=shop.machine.spindle_max)
    if ask.feed_per_tooth is not None:
        return spindle, ask.feed_per_tooth
    feed = data.feed(cutter.diameter).set
    assumed.append(f"feed {feed:.3f} mm per tooth ({data.speed.basis})")
    return spindle, feed


def _hole_engagement(ask: Feature, diameter: float, deep: float, assumed: list[str]) -> tuple[float, float]:
    """Metal per side and depth of a hole [mm]."""
    if ask.kind == "drill":
        pilot = ask.pilot or 0.0
        return (diameter - pilot) / 2, deep
    under = PILOT_UNDER if ask.kind == "bore" else REAM_UNDER
    if ask.pilot is None:
        assumed.append(f"drilled {under:g} mm under size before (common practice, no source)")
    pilot = ask.pilot if ask.pilot is not None else diameter - under
    return (diameter - pilot) / 2, deep


def _milled(
    found: FoundFeature,
    move: Move,
    cutter: Cutter,
    rate: tuple[float, float],
    *,
    span: tuple[float, float, float],
    plan: Region,
    way: Run | None,
    assumed: list[str],
) -> MadeFeature:
    """A face, profile, pocket, slot or chamfer: engagement from the job or by the defaults above."""
    ask = found.ask
    low, top, incoming = span
    b = plan.outer.box
    level = top
    across, spread = None, None
    if found.face is None:
        run: list[Point] = plan.outer.points(1.0)
    else:
        corners = [move.point(p) for p in _corners(found.face.box)]
        points = [] if way is None else [move.point(p) for p in way.points]
        zs = [p[2] for p in (points if points and found.face.kind == "plane" else corners)]
        level = max(zs) if ask.kind in ("face", "chamfer") else min(zs)
        normal = move.direction(found.face.normal)
        across = _round_wall(found.face, move)
        if across is not None:
            run = _circle_run(corners, across / 2)
        elif way is not None and not way.straight:
            run = in_plan(way, move)
            spread = MultiPoint([(p[0], p[1]) for p in points]).convex_hull
        else:
            run = _wall_run(points or corners, move.point(found.face.center), (normal[0], normal[1]))
    wide = min(b[2] - b[0], b[3] - b[1])
    if ask.kind == "face":
        radial = ask.radial or min(FACE_OVERLAP * cutter.diameter, wide)
        axial = ask.axial or ask.depth or max(incoming - top, 0.0)
    elif ask.kind in ("pocket", "slot"):
        share = 1.0 if ask.kind == "slot" else POCKET_SHARE
        radial = ask.radial or share * cutter.diameter
        axial = ask.axial or min(0.5 * cutter.diameter, max(top - level, 0.1))
    else:
        radial = ask.radial or SIDE_SHARE * cutter.diameter
        axial = ask.axial or ask.depth or max(top - level, 0.1)
    if ask.radial is None and ask.kind != "face":
        assumed.append(f"radial engagement {radial:.2f} mm (common practice, no source)")
    level = max(level, low)
    region = plan if ask.kind == "face" and found.face is None else None
    cx, cy = _middle(run) if spread is None else (spread.centroid.x, spread.centroid.y)
    return MadeFeature(
        ask.name, ask.kind, (cx, cy, incoming), (0.0, 0.0, 1.0), ask.diameter, level, bool(ask.through),
        found.faces, cutter, rate[0], rate[1], radial, axial, tuple((x, y, level) for x, y in thin(run, 24)),
        region, tuple(assumed), across=across,
        boss=across is not None and found.face is not None and not found.face.hollow,
        wall=plan if ask.kind == "profile" and found.face is None else None,
    )  # fmt: skip


def _round_wall(face: Face, move: Move) -> float | None:
    """Diameter [mm] of an upright cylinder that goes all round; None of anything else."""
    if face.kind != "cylinder" or face.axis is None or face.radius is None:
        return None
    if abs(move.direction(face.axis)[2]) < 1 - UPRIGHT:
        return None
    spans = sorted(face.box[k + 3] - face.box[k] for k in range(3))
    whole = sum(abs(v - 2 * face.radius) < ROUND * face.radius for v in spans) >= 2
    return 2 * face.radius if whole else None


def _circle_run(corners: Sequence[Vec3], radius: float) -> list[Point]:
    """Points round the wall, in plan."""
    x, y = (sum(c[k] for c in corners) / len(corners) for k in (0, 1))
    turns = [2 * math.pi * k / AROUND for k in range(AROUND)]
    return [(x + radius * math.cos(a), y + radius * math.sin(a)) for a in turns]


def thin(points: Sequence[Point], most: int) -> list[Point]:
    """At most ``most`` of the points, evenly along the list."""
    step = max(1, math.ceil(len(points) / most))
    return list(points[::step])


def _corners(b: tuple[float, ...]) -> list[Vec3]:
    return [(b[i], b[j], b[k]) for i in (0, 3) for j in (1, 4) for k in (2, 5)]


def _wall_run(corners: Sequence[Vec3], center: Vec3, normal: Point) -> list[Point]:
    """Both ends and the middle, in plan, of an upright wall, by the corners of its edges.

    Those of its box stand in for them: it is wider than the wall itself where that slants.
    """
    size = math.hypot(*normal)
    tx, ty = -normal[1] / size, normal[0] / size
    along = [(p[0] - center[0]) * tx + (p[1] - center[1]) * ty for p in corners]
    ends = (min(along), (min(along) + max(along)) / 2, max(along))
    return [(center[0] + t * tx, center[1] + t * ty) for t in ends]


def _middle(run: Sequence[Point]) -> Point:
    return (sum(p[0] for p in run) / len(run), sum(p[1] for p in run) / len(run))


def datum_uses(ask: Ask, move: Move, seats: dict[int, Seat]) -> tuple[DatumUse, ...]:
    """The print's datums in the vise frame with what carries each; ``seats`` maps part face to carrier."""
    order: tuple[Seat, ...] = ("floor", "fixed", "stop", "floating")
    out = []
    for d in ask.datums:
        carried = [seats[f] for f in d.faces if f in seats]
        seat: Seat = next((s for s in order if s in carried), "free")
        point, normal = move.point(d.point), move.direction(d.normal)
        out.append(DatumUse(d.letter, d.kind, d.faces, point, normal, seat, d.words, d.size))
    return tuple(out)
