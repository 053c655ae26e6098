"""Hard jaws on parallels: when two long parallel flats serve, nothing needs to be cut."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from shapely import box

from jawright.geometry.curve import Line, right_normal
from jawright.geometry.frame import standing
from jawright.geometry.profile import Profile
from jawright.hold.assemble import Seating, assemble
from jawright.hold.contacts import stands
from jawright.hold.feet import put
from jawright.hold.model import Contact, Hold
from jawright.hold.resolve import Ask
from jawright.hold.sidestop import Room, stop_beside
from jawright.hold.stance import Turn
from jawright.hold.view import UNDER_CUT, View
from jawright.job.model import Job
from jawright.part.model import Part
from jawright.shop.model import Parallel, Shop, Vise

LONG = 25.0  # [mm] least length of flats that hard jaws hold (1 in; common practice, no source)
LONG_SHARE = 0.45  # of the part's greatest length, for small parts (common practice, no source)
DEEP = 6.35  # [mm] least grip depth in hard jaws (0.25 in; common practice, no source)
DEEP_SHARE = 0.5  # of the part's height, for parts too low for that (common practice, no source)
PARALLEL = 1e-4  # [rad] flats in the model count as parallel within this
LOOKS_PARALLEL = math.radians(3.0)  # up to this out of parallel the reason names the two flats
CARRIES = 0.5  # share of the part's length that parallels carry at least (common practice, no source)
CARRIED = 3  # places of the floor that carry a part: fewer tell nothing of tipping
ABOVE = 1.5  # [mm] the finished top stands at least this much above the jaws (common practice, no source)
BED = 1.0  # [mm] what reaches below the parallels stays this far off them and the bed (common practice)


@dataclass(frozen=True, slots=True)
class Flats:
    """Two parallel flats of the outline at a turn that lays one on the fixed jaw. Outline frame.

    A flat that is broken by slots runs from its first end to its last; ``metal`` is how long each flat
    bears [mm], ``facing`` how much of that faces the other one.
    """

    fixed: Line
    floating: Line
    fixed_index: int  # of the curve, of a broken flat its longest
    floating_index: int
    overlap: tuple[float, float]  # X range in which they face each other [mm]
    metal: tuple[float, float]
    facing: float


def flats(profile: Profile, bridges: Sequence[int] = (), *, askew: float = PARALLEL) -> Flats | None:
    """The outermost pair of flats square to the closing direction, if they are long enough together.

    The one on the floating jaw may be out of parallel by ``askew`` [rad]: the jaw turns that far in its ways.
    ``bridges`` are curves that are no wall.
    """
    x0, y0, x1, y1 = profile.box
    long = min(LONG, LONG_SHARE * max(x1 - x0, y1 - y0))
    ups = _level(profile, bridges, y1, 1.0, PARALLEL)
    downs = _level(profile, bridges, y0, -1.0, max(askew, PARALLEL))
    best: Flats | None = None
    for a in ups:
        for b in downs:
            shared = [(max(p[0], q[0]), min(p[1], q[1])) for p in _spans(a) for q in _spans(b)]
            facing = math.fsum(hi - lo for lo, hi in shared if hi > lo)
            if facing >= long and (best is None or facing > best.facing):
                lo, hi = min(s[0] for s in shared if s[1] > s[0]), max(s[1] for s in shared if s[1] > s[0])
                best = Flats(
                    _whole(a), _whole(b), _longest(a), _longest(b), (lo, hi), (_metal(a), _metal(b)), facing
                )
    return best


_Flat = list[tuple[int, Line]]


def _spans(flat: _Flat) -> list[tuple[float, float]]:
    return [(min(c.start[0], c.end[0]), max(c.start[0], c.end[0])) for _, c in flat]


def _metal(flat: _Flat) -> float:
    return math.fsum(b - a for a, b in _spans(flat))


def _longest(flat: _Flat) -> int:
    return max(flat, key=lambda f: (round(f[1].length, 6), -f[0]))[0]


def _whole(flat: _Flat) -> Line:
    """The line from the first end of a flat to its last, in its own direction."""
    if len(flat) == 1:
        return flat[0][1]
    ends = sorted((p for _, c in flat for p in (c.start, c.end)), key=lambda p: p[0])
    to_right = flat[0][1].end[0] > flat[0][1].start[0]
    return Line(ends[0], ends[-1]) if to_right else Line(ends[-1], ends[0])


def _level(profile: Profile, bridges: Sequence[int], y: float, sign: float, askew: float) -> list[_Flat]:
    """Flats at height ``y``: all runs square to Y are one, each that is askew is one by itself."""
    square: _Flat = []
    out: list[_Flat] = []
    for i, c in enumerate(profile.curves):
        if not isinstance(c, Line) or i in bridges:
            continue
        n = right_normal(c, 0.5)
        if abs(n[0]) < askew and n[1] * sign > 0 and abs(c.at(0.5)[1] - y) < 1e-3 + abs(n[0]) * c.length / 2:
            if abs(n[0]) < PARALLEL:
                square.append((i, c))
            else:
                out.append([(i, c)])
    return [square, *out] if square else out


def _no_flats(profile: Profile, bridges: Sequence[int], play: float) -> str:
    """Why no flats serve: none at all, or two that are further out of parallel than the jaw can turn."""
    wide = flats(profile, bridges, askew=LOOKS_PARALLEL)
    if wide is None:
        return "no two long parallel flats"
    off = abs(right_normal(wide.floating, 0.5)[0])
    across = off * (wide.overlap[1] - wide.overlap[0])
    return (
        f"the two long flats are {math.degrees(off):.2f}° out of parallel, {across:.3f} mm over the "
        f"length they share; the floating jaw turns ±{math.degrees(play):.2f}° in its ways at least: "
        "it would press on one end only"
    )


def propose(view: View, turn: Turn, *, ask: Ask, part: Part, job: Job, shop: Shop, vise: Vise) -> Hold | str:
    """The part on parallels in hard jaws at this turn, or why not."""
    profile = view.outline.moved(turn=turn.angle)
    pair = flats(profile, view.bridges, askew=vise.yaw.low)
    if pair is None:
        return _no_flats(profile, view.bridges, max(vise.yaw.low, PARALLEL))
    pinned = job.hold.fixed_jaw_datum
    if pinned and view.letters[pair.fixed_index] != pinned:
        return f"datum {pinned} does not lie square on the fixed jaw"
    _, y0, _, y1 = profile.box
    if y1 - y0 > vise.opening:
        return f"{y1 - y0:.1f} mm across the flats, vise {vise.id} opens {vise.opening:g} mm"
    if view.band.kind not in ("prismatic", "stepped"):
        return f"the walls within the grip are {view.band.kind}"
    shift = (_shift_x(job, pair), -y1)
    past = _past_the_jaws(profile.moved(shift=shift), view.milled, vise)
    if past:
        return past
    chosen = _parallels(view, turn, shift, ask=ask, job=job, shop=shop, vise=vise)
    if isinstance(chosen, str):
        return chosen
    hold = _hold(view, turn, pair, shift, chosen, ask=ask, part=part, job=job, shop=shop, vise=vise)
    if sum(c.on == "floor" for c in hold.contacts) >= CARRIED and not stands(
        hold.contacts, hold.stance.move.point(view.center)[:2]
    ):
        return "it would tip off the parallels"
    return hold


def _past_the_jaws(profile: Profile, cut: Sequence[int], vise: Vise) -> str:
    """Words where a wall is milled past the jaws' tops, which cannot be cut down; "" where none is."""
    half = vise.span / 2
    if any(profile.curves[i].at(0.5)[0] ** 2 < half**2 for i in cut):
        return "walls between its jaws are milled down to the floor: the cutter would run into them"
    return ""


def _shift_x(job: Job, pair: Flats) -> float:
    if job.hold.shift is not None:
        return job.hold.shift
    return -(pair.overlap[0] + pair.overlap[1]) / 2


def _parallels(
    view: View, turn: Turn, shift: tuple[float, float], *, ask: Ask, job: Job, shop: Shop, vise: Vise
) -> Parallel | str:
    """The pair of parallels nearest the wanted grip that leaves the top free and has no hole over it."""
    wide = view.outline.moved(turn=turn.angle, shift=shift).box
    pairs = [p for p in shop.parallels if p.count >= 2 and p.length >= CARRIES * (wide[2] - wide[0])]
    if not pairs:
        return "no pair of parallels long enough"
    want = job.hold.grip_depth
    deep = min(DEEP, DEEP_SHARE * view.tall)
    options: list[tuple[float, Parallel]] = []
    blocked, thick, over = "", False, False
    for p in pairs:
        grip = vise.hard_jaw_height - p.height
        if grip < deep - 1e-9 or grip > view.tall - ABOVE:
            continue
        if grip > view.overhang - UNDER_CUT:
            over = True
            continue
        if 2 * p.thickness > -wide[1]:
            thick = True
            continue
        if hit := _stands_on(view, turn, shift, p):
            blocked = hit
            continue
        hit = _hole_over(view, turn, shift, ask, p)
        if hit:
            blocked = f'the through hole "{hit}" lies over the parallels'
            continue
        target = want if want is not None else max(deep, 0.3 * view.tall)
        options.append((abs(grip - target), p))
    if not options and not blocked and over:
        return (
            f"jaws that high would meet what hangs out over them {view.overhang:.1f} mm above the parallels"
        )
    if not options and not blocked and thick:
        return (
            f"{-wide[1]:.1f} mm between the jaws take a pair of parallels of at most {-wide[1] / 2:.1f} mm, "
            "and the shop has none that thin"
        )
    if not options:
        return blocked or (
            f"no pair of parallels leaves at least {deep:.1f} mm of grip and {ABOVE} mm above the jaws"
        )
    return min(options, key=lambda o: (round(o[0], 6), o[1].thickness, o[1].id))[1]


def _stands_on(view: View, turn: Turn, shift: tuple[float, float], p: Parallel) -> str:
    """Why parallels do not carry the level the part stands on: what reaches below it meets them; else ""."""
    _, y0, _, _ = view.outline.moved(turn=turn.angle, shift=shift).box
    for b in put(view.below, turn=turn.angle, shift=shift):
        x0, low, x1, high = b.region.outer.box
        if b.soles:
            return "it stands on two levels, and parallels have one"
        if b.depth > p.height - BED:
            return f"what reaches {b.depth:.2f} mm below its floor would meet the vise's bed"
        if min(abs(x0), abs(x1)) > p.length / 2 and x0 * x1 > 0:
            continue  # beyond their ends
        if high + BED > -p.thickness or low - BED < y0 + p.thickness:
            return f"what reaches {b.depth:.2f} mm below its floor would stand on the parallels"
    return ""


def _hole_over(view: View, turn: Turn, shift: tuple[float, float], ask: Ask, p: Parallel) -> str:
    """Name of a through hole made here that would come down on a parallel, else ""."""
    place = standing(view.up, turn=turn.angle, shift=(*shift, 0.0))
    _, y0, _, _ = view.outline.moved(turn=turn.angle, shift=shift).box
    for f in ask.features:
        if f.hole is None or not (f.hole.through if f.ask.through is None else f.ask.through):
            continue
        x, y, _ = place.point(f.hole.mouth)
        r = (f.ask.diameter or f.hole.diameter) / 2 + 1.0
        if abs(x) - r > p.length / 2:
            continue  # beyond their ends
        if y + r > -p.thickness or y - r < y0 + p.thickness:
            return f.ask.name
    for name, region in view.windows:
        b = region.moved(turn=turn.angle, shift=shift).outer.box
        if b[3] + 1.0 > -p.thickness or b[1] - 1.0 < y0 + p.thickness:
            return name
    return ""


def _hold(
    view: View,
    turn: Turn,
    pair: Flats,
    shift: tuple[float, float],
    parallel: Parallel,
    *,
    ask: Ask,
    part: Part,
    job: Job,
    shop: Shop,
    vise: Vise,
) -> Hold:
    floor = parallel.height
    grip = vise.hard_jaw_height - floor
    outline = view.outline.moved(turn=turn.angle, shift=shift)
    _, y0, _, _ = outline.box
    contacts = _flat_contacts(pair, shift, view, (floor + grip / 2, y0), vise.span / 2)
    room = Room(vise.span / 2, -y0, floor, vise.hard_jaw_height, open_between=True)
    stopped = stop_beside(view, turn, shift, room=room, ask=ask, part=part, job=job, shop=shop)
    contacts += stopped.contacts
    half = parallel.length / 2
    seating = Seating(
        kind="hard jaws",
        shift=shift,
        floor=floor,
        jaw_top=vise.hard_jaw_height,
        grip_depth=grip,
        gap=-y0,
        bearing=tuple(contacts),
        carried=(box(-half, -parallel.thickness, half, 0.0), box(-half, y0, half, y0 + parallel.thickness)),
        parallels=(parallel, parallel),
        notes=("keep the parallels against the jaws with a spring, foam or tape while loading",),
        side_stop=stopped.stop,
        no_stop=stopped.why_not,
    )
    return assemble(seating, view, turn, ask=ask, part=part, job=job, shop=shop, vise=vise)


def _flat_contacts(
    pair: Flats, shift: tuple[float, float], view: View, at: tuple[float, float], half: float
) -> list[Contact]:
    """Two contacts near the ends of each flat; one that is out of parallel a little touches where it lies.

    ``at`` is the height of the contacts and Y of the floating jaw; the jaws reach ``half`` either side, and a
    flat that is longer bears within that only.
    """
    z, y0 = at
    out = []
    for line, index, y, on, metal in (
        (pair.fixed, pair.fixed_index, 0.0, "fixed", pair.metal[0]),
        (pair.floating, pair.floating_index, y0, "floating", pair.metal[1]),
    ):
        first, last = (f(line.start[0], line.end[0]) + shift[0] for f in (min, max))
        lo, hi = max(first, -half), min(last, half)
        inset = min(1.0, 0.25 * (hi - lo))
        locates = on == "fixed"
        letter = view.letters[index] or ("L" if locates else "G")
        nx, ny = right_normal(line, 0.5)
        askew = abs(nx) >= PARALLEL
        for k, x in enumerate((lo + inset, hi - inset)):
            along = line.start[1] + shift[1] - (x - shift[0] - line.start[0]) * nx / ny
            out.append(
                Contact(
                    name=f"{letter}{k + 1}",
                    on=on,  # type: ignore[arg-type]
                    point=(x, along if askew else y, z),
                    normal=(-nx, -ny, 0.0) if askew else (0.0, -1.0 if on == "fixed" else 1.0, 0.0),
                    gap=0.0,
                    share=metal / 2 * max(0.0, hi - lo) / (last - first),
                    face=view.faces[index],
                    locates=locates,
                )
            )
    return out
