"""Hard jaws on parallels: when two long parallel flats serve, nothing needs to be cut."""

from __future__ import annotations

import math
from dataclasses import dataclass

from shapely import box

from jawright.geometry.curve import Line, right_normal
from jawright.geometry.frame import standing
from jawright.geometry.profile import Profile
from jawright.hold.assemble import Seating, assemble
from jawright.hold.model import Contact, Hold
from jawright.hold.resolve import Ask
from jawright.hold.sidestop import Room, side_stop
from jawright.hold.stance import Turn
from jawright.hold.view import View
from jawright.job.model import Job
from jawright.part.model import Part
from jawright.shop.model import Parallel, Shop, Vise

LONG = 25.0  # [mm] least length of flats that hard jaws hold (1 in; common practice, no source)
LONG_SHARE = 0.45  # of the part's greatest length, for small parts (common practice, no source)
DEEP = 6.35  # [mm] least grip depth in hard jaws (0.25 in; common practice, no source)
DEEP_SHARE = 0.5  # of the part's height, for parts too low for that (common practice, no source)
PARALLEL = 1e-4  # [rad] flats in the model count as parallel within this
LOOKS_PARALLEL = math.radians(3.0)  # up to this out of parallel the reason names the two flats
ABOVE = 1.5  # [mm] the finished top stands at least this much above the jaws (common practice, no source)


@dataclass(frozen=True, slots=True)
class Flats:
    """Two parallel flats of the outline at a turn that lays one on the fixed jaw. Outline frame."""

    fixed: Line
    floating: Line
    fixed_index: int
    floating_index: int
    overlap: tuple[float, float]  # X range in which they face each other [mm]


def flats(profile: Profile, *, askew: float = PARALLEL) -> Flats | None:
    """The outermost pair of flats square to the closing direction, if they are long enough together.

    The one on the floating jaw may be out of parallel by ``askew`` [rad]: the jaw turns that far in its ways.
    """
    x0, y0, x1, y1 = profile.box
    long = min(LONG, LONG_SHARE * max(x1 - x0, y1 - y0))
    ups = _level(profile, y1, 1.0, PARALLEL)
    downs = _level(profile, y0, -1.0, max(askew, PARALLEL))
    best: Flats | None = None
    for i, a in ups:
        for j, b in downs:
            lo = max(min(a.start[0], a.end[0]), min(b.start[0], b.end[0]))
            hi = min(max(a.start[0], a.end[0]), max(b.start[0], b.end[0]))
            if hi - lo >= long and (best is None or hi - lo > best.overlap[1] - best.overlap[0]):
                best = Flats(a, b, i, j, (lo, hi))
    return best


def _level(profile: Profile, y: float, sign: float, askew: float) -> list[tuple[int, Line]]:
    out = []
    for i, c in enumerate(profile.curves):
        if not isinstance(c, Line):
            continue
        n = right_normal(c, 0.5)
        if abs(n[0]) < askew and n[1] * sign > 0 and abs(c.at(0.5)[1] - y) < 1e-3 + abs(n[0]) * c.length / 2:
            out.append((i, c))
    return out


def _no_flats(profile: Profile, play: float) -> str:
    """Why no flats serve: none at all, or two that are further out of parallel than the jaw can turn."""
    wide = flats(profile, askew=LOOKS_PARALLEL)
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
    pair = flats(profile, askew=vise.yaw.low)
    if pair is None:
        return _no_flats(profile, max(vise.yaw.low, PARALLEL))
    pinned = job.hold.fixed_jaw_datum
    if pinned and view.letters[pair.fixed_index] != pinned:
        return f"datum {pinned} does not lie square on the fixed jaw"
    _, y0, _, y1 = profile.box
    if y1 - y0 > vise.opening:
        return f"{y1 - y0:.1f} mm across the flats, vise {vise.id} opens {vise.opening:g} mm"
    if view.band.kind not in ("prismatic", "stepped"):
        return f"the walls within the grip are {view.band.kind}"
    shift = (_shift_x(job, pair), -y1)
    chosen = _parallels(view, turn, shift, ask=ask, job=job, shop=shop, vise=vise)
    if isinstance(chosen, str):
        return chosen
    return _hold(view, turn, pair, shift, chosen, ask=ask, part=part, job=job, shop=shop, vise=vise)


def _shift_x(job: Job, pair: Flats) -> float:
    if job.hold.shift is not None:
        return job.hold.shift
    return -(pair.overlap[0] + pair.overlap[1]) / 2


def _parallels(
    view: View, turn: Turn, shift: tuple[float, float], *, ask: Ask, job: Job, shop: Shop, vise: Vise
) -> Parallel | str:
    """The pair of parallels nearest the wanted grip that leaves the top free and has no hole over it."""
    wide = view.outline.moved(turn=turn.angle, shift=shift).box
    pairs = [p for p in shop.parallels if p.count >= 2 and p.length >= 0.6 * (wide[2] - wide[0])]
    if not pairs:
        return "no pair of parallels long enough"
    want = job.hold.grip_depth
    deep = min(DEEP, DEEP_SHARE * view.tall)
    options: list[tuple[float, Parallel]] = []
    blocked, thick = "", False
    for p in pairs:
        grip = vise.hard_jaw_height - p.height
        if grip < deep - 1e-9 or grip > view.tall - ABOVE:
            continue
        if 2 * p.thickness > -wide[1]:
            thick = True
            continue
        hit = _hole_over(view, turn, shift, ask, p)
        if hit:
            blocked = f'the through hole "{hit}" lies over the parallels'
            continue
        target = want if want is not None else max(deep, 0.3 * view.tall)
        options.append((abs(grip - target), p))
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


def _hole_over(view: View, turn: Turn, shift: tuple[float, float], ask: Ask, p: Parallel) -> str:
    """Name of a through hole made here that would come down on a parallel, else ""."""
    place = standing(view.up, turn=turn.angle, shift=(*shift, 0.0))
    _, y0, _, _ = view.outline.moved(turn=turn.angle, shift=shift).box
    for f in ask.features:
        if f.hole is None or not (f.hole.through if f.ask.through is None else f.ask.through):
            continue
        _, y, _ = place.point(f.hole.mouth)
        r = (f.ask.diameter or f.hole.diameter) / 2 + 1.0
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
    contacts = _flat_contacts(pair, shift, view, floor + grip / 2, y0)
    room = Room(vise.jaw_width / 2, -y0, floor, vise.hard_jaw_height, open_between=True)
    letters = {f: d.letter for d in ask.datums for f in d.faces}
    stopped = side_stop(view, turn, shift, letters=letters, room=room, part=part, job=job, shop=shop)
    if not isinstance(stopped, str):
        contacts.append(stopped[0])
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
        side_stop=None if isinstance(stopped, str) else stopped[1],
    )
    return assemble(seating, view, turn, ask=ask, part=part, job=job, shop=shop, vise=vise)


def _flat_contacts(pair: Flats, shift: tuple[float, float], view: View, z: float, y0: float) -> list[Contact]:
    """Two contacts near the ends of each flat; one that is out of parallel a little touches where it lies."""
    out = []
    for line, index, y, on, locates in (
        (pair.fixed, pair.fixed_index, 0.0, "fixed", True),
        (pair.floating, pair.floating_index, y0, "floating", False),
    ):
        lo = min(line.start[0], line.end[0]) + shift[0]
        hi = max(line.start[0], line.end[0]) + shift[0]
        inset = min(1.0, 0.25 * (hi - lo))
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
                    share=(hi - lo) / 2,
                    face=view.faces[index],
                    locates=locates,
                )
            )
    return out
