"""The two clampings of a part whose whole outline is milled, as two jobs of their own.

The part of the first still has its stock on the walls that are gripped; the part of the second is the
finished one, which comes in as the first leaves it. Lengths in mm, angles in rad.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from pathlib import Path

from jawright import kernel
from jawright.geometry.curve import Arc, Curve, Line, Point, right_normal
from jawright.geometry.frame import Vec3, dot, standing, unit
from jawright.geometry.profile import Profile, Region
from jawright.hold import milled
from jawright.hold.clampings import Clampings, Wall
from jawright.hold.features import SIDE_SHARE, choose_cutter
from jawright.hold.found import Ask, FoundDatum, FoundFeature
from jawright.hold.incoming import stock_model
from jawright.hold.narrow import narrow
from jawright.job.model import USUAL_OPERATION, DatumPick, Feature, Given, HoldAsk, Job, Pick, ToleranceAsk
from jawright.job.read import default_incoming, read_job
from jawright.job.write import job_text, writable
from jawright.part.model import Part
from jawright.shop.model import Shop
from jawright.units import show

JOB, PART, INCOMING = "job.toml", "part.step", "incoming.step"
NO_JOB = ("geometry", "shop-no-cutter", "file-missing")
"""Codes of errors for which ``jobs_of`` gives no jobs, and the part is told and not planned."""
NO_STOCK = 0.01  # [mm] less is none
LEVEL = 1e-3


@dataclass(frozen=True, slots=True)
class ClampingJob:
    """One clamping as a job: the folder it goes to, and the files in it, ``job.toml`` first."""

    folder: str
    files: tuple[tuple[str, bytes], ...]
    turn: float  # [rad]
    features: tuple[str, ...]
    words: str  # what is gripped, and how it comes in

    def read_in(self, place: Path) -> Job:
        """The job as it is read from the very files that are left for it, written into a folder."""
        for name, data in self.files:
            (place / name).write_bytes(data)
        return read_job(place / JOB)


@dataclass(frozen=True, slots=True)
class Both:
    """Both jobs, and the tolerances between what the one and what the other makes, which neither judges."""

    jobs: tuple[ClampingJob, ClampingJob]
    between: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Stock:
    """Metal outside a finished wall as it comes in [mm], and how it is known."""

    size: float
    basis: str
    guess: bool = False


def jobs_of(found: Clampings, part: Part, job: Job, ask: Ask, shop: Shop) -> Both | None:
    """Both clampings as jobs; None where one feature would have to be shared out between them.

    Raises ``geometry`` when the part with its stock cannot be built.
    """
    names = {f.ask.name for f in ask.features}
    if not {*found.features[0], *found.features[1]} <= names:
        return None
    held = tuple(dict.fromkeys((*found.grips[0].fixed, *found.grips[0].floating)))
    stock = {w.index: _stock(w, found, part, job, ask=ask, shop=shop) for w in held}
    blank = _with_stock(part, found, stock)
    judged = _shared(found, ask)
    title = job.part_number or job.name
    first = kernel.step_text({"part": blank}, title=title)
    second = kernel.step_text({"part": part.shape}, title=title)
    early = _first(found, job, ask, judged, stock)
    late = _second(found, job, ask, judged)
    arrives = [(INCOMING, job.incoming.model.read_bytes())] if job.incoming.model else []
    one = (
        (JOB, job_text(early, part=PART, model=INCOMING if arrives else "").encode()),
        (PART, first),
        *arrives,
    )
    two = ((JOB, job_text(late, part=PART, model=INCOMING).encode()), (PART, second), (INCOMING, first))
    return Both(
        (
            ClampingJob("clamping-1", one, found.grips[0].turn, found.features[0], early.notes[-1]),
            ClampingJob("clamping-2", two, found.grips[1].turn, found.features[1], late.notes[-1]),
        ),
        (*judged.between, *_round_corners(found, job)),
    )


# ---- the part as it comes to the first clamping ----------------------------------------------------


def _stock(w: Wall, found: Clampings, part: Part, job: Job, *, ask: Ask, shop: Shop) -> Stock:
    """Metal outside a gripped wall: by the incoming model, else what one cut of the wall is taken to take."""
    model = stock_model(job)
    if model is not None:
        move = standing(found.up, turn=math.pi / 2 - w.angle, shift=(0.0, 0.0, 0.0))
        own, come = kernel.box(part.shape, move)[4], kernel.box(model.shape, move)[4]
        if abs(move.point(part.faces[w.face].center)[1] - own) < LEVEL:
            return Stock(max(0.0, come - own), f"the model of the incoming part, {model.file}")
    mine = next(f for f in ask.features if f.ask.name == w.feature)
    asked = mine.ask
    if asked.radial is not None:
        return Stock(asked.radial, f"the radial engagement of {asked.name}")
    cutter = choose_cutter(asked, None, shop, within=narrow(part, mine, found.up))[0]
    return Stock(SIDE_SHARE * cutter.diameter, f"one cut with {cutter.id}", guess=True)


def _with_stock(part: Part, found: Clampings, stock: dict[int, Stock]) -> bytes:
    """The finished part with the stock on walls of its outline, as a solid in the part frame."""
    low, high = milled.span(part, found.up)
    back = standing(found.up, turn=0.0, shift=(0.0, 0.0, 0.0)).inverse()
    slabs = [
        kernel.moved(kernel.extrude(Region(_slab(found.outline, i, s.size)), low, high), back)
        for i, s in stock.items()
        if s.size > NO_STOCK
    ]
    return kernel.fuse(part.shape, *slabs) if slabs else part.shape


def _slab(outline: Profile, index: int, size: float) -> Profile:
    """Wall and stock, between the straight walls beside it, finished right out to the end of the stock."""
    curves = outline.curves
    wall = curves[index]
    assert isinstance(wall, Line)
    nx, ny = right_normal(wall, 0.5)
    outer = Line(
        (wall.start[0] + size * nx, wall.start[1] + size * ny),
        (wall.end[0] + size * nx, wall.end[1] + size * ny),
    )
    before = _neighbor(curves, index, -1)
    after = _neighbor(curves, index, 1)
    a, d = _corner(before, wall, outer, before.end if before else wall.start) or (wall.start, outer.start)
    b, c = _corner(after, wall, outer, after.start if after else wall.end) or (wall.end, outer.end)
    return Profile((Line(a, d), Line(d, c), Line(c, b), Line(b, a)))


def _corner(beside: Line | None, wall: Line, outer: Line, end: Point) -> tuple[Point, Point] | None:
    """Where the stock begins on the wall ``beside``, and where it ends; None where that one runs along it.

    A rounded corner that juts out is filled up, from the ``end`` of the other wall on: it is milled with the
    second of the two. A hollow one stays.
    """
    inner, far = _meets(beside, wall), _meets(beside, outer)
    if beside is None or inner is None or far is None:
        return None
    juts = math.dist(inner, beside.at(0.5)) < math.dist(far, beside.at(0.5))
    return (end if juts else inner), far


def _neighbor(curves: Sequence[Curve], index: int, step: int) -> Line | None:
    """The next straight wall of the outline that is no short corner."""
    for k in range(1, len(curves)):
        i = (index + step * k) % len(curves)
        c = curves[i]
        if c.length >= milled.SHORT and not milled.rounded(curves, i):
            return c if isinstance(c, Line) else None
    return None


def _meets(a: Line | None, b: Line) -> Point | None:
    """Where two carriers cross; None for parallel ones."""
    if a is None:
        return None
    (ux, uy), (vx, vy) = a.tangent(0.0), b.tangent(0.0)
    cross = ux * vy - uy * vx
    if abs(cross) < LEVEL:
        return None
    t = ((b.start[0] - a.start[0]) * vy - (b.start[1] - a.start[1]) * vx) / cross
    return (a.start[0] + t * ux, a.start[1] + t * uy)


def _round_corners(found: Clampings, job: Job) -> list[str]:
    """What is not known of curves between the walls of both clampings that are no rounded corners.

    Those and the hollow corners are milled with the walls of the second, whose *clears* goes round them.
    Beside any other curve the jaws end a little inside, and a cutter that goes round it reaches over them by
    its radius.
    """
    curves, held = found.outline.curves, found.grips[0].held
    n = len(curves)
    beside = [i for i in range(n) if held & {(i - 1) % n, (i + 1) % n} and not milled.corner(curves, i)]
    rounds = [c for c in (curves[i] for i in beside) if isinstance(c, Arc) and c.length < milled.SHORT]
    rounds = [c for c in rounds if c.radius > milled.BROKEN]
    if not rounds:
        return []
    sizes = " and ".join(sorted({f"R{_size(c.radius, job)}" for c in rounds}))
    names = " and ".join(found.features[1]) or "the walls of clamping 2"
    return [
        f"The curves at the corners, {sizes}, come with {names} in clamping 2. Whether a cutter that goes "
        "round them clears the jaws, which end close to them, is proven in neither: unknown. Go no further "
        "round them than the jaws allow, and blend the rest."
    ]


# ---- who judges which tolerance --------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class _Judged:
    first: tuple[ToleranceAsk, ...]
    second: tuple[ToleranceAsk, ...]
    between: tuple[str, ...]


def _shared(found: Clampings, ask: Ask) -> _Judged:
    """Tolerances by the clamping that can judge them: all they name is located or made in that one."""
    absent = {d.letter for d in ask.datums if found.grips[0].faces & set(d.faces)}
    there = absent | {d.letter for d in ask.datums if _carries(d, found)}
    first: list[ToleranceAsk] = []
    second: list[ToleranceAsk] = []
    between: list[str] = []
    for t in ask.tolerances:
        letters = {x for d in t.datums for x in d.split("-")}
        if not writable(t):
            between.append(f"{_named(t)}: {t.unread or 'its unequal limits are not carried over'}: unknown.")
        elif t.feature in found.features[1]:
            if letters <= there:
                second.append(t)
            else:
                between.append(_across(t, sorted(letters - there), made=1, known=""))
        elif not letters & absent:
            first.append(t)
        else:
            share = _in_part(t, absent, ask, found.up)
            first += [share] if share else []
            known = f" Along {share.along} clamping 1 judges it, within 1/√2 of the zone." if share else ""
            between.append(_across(t, sorted(letters & absent), made=2, known=known))
    return _Judged(tuple(first), tuple(second), tuple(between))


def _carries(d: FoundDatum, found: Clampings) -> bool:
    """Whether the second clamping locates on a datum: it lies on the floor or on the fixed jaw."""
    down = d.kind == "plane" and dot(unit(d.normal), unit(found.up)) < -1 + LEVEL
    return down or any(w.letter == d.letter for w in found.grips[1].fixed)


def _in_part(t: ToleranceAsk, absent: set[str], ask: Ask, up: Vec3) -> ToleranceAsk | None:
    """What clamping 1 can judge of a round position zone: the direction of the one datum that is there.

    The zone is shared out evenly: a square of side zone/√2 lies within the circle.
    """
    left = [x for x in t.datums if x not in absent]
    side = [
        d.letter
        for d in ask.datums
        if d.kind == "plane" and d.letter in left and abs(dot(unit(d.normal), unit(up))) < LEVEL
    ]
    if t.kind != "position" or not t.diametral or t.material or t.projected or len(side) != 1:
        return None
    return replace(t, zone=t.zone / math.sqrt(2), datums=tuple(left), diametral=False, along=side[0])


def _across(t: ToleranceAsk, letters: Sequence[str], *, made: int, known: str) -> str:
    what = f"datum {letters[0]} is" if len(letters) == 1 else f"datums {' and '.join(letters)} are"
    return (
        f"{_named(t)}: {what} made in clamping {made}, {t.feature} in clamping {3 - made}.{known} What the "
        "re-clamping and the pick-up add is judged in neither: unknown. Measure it on the first part."
    )


def _named(t: ToleranceAsk) -> str:
    return f"{t.feature}, {t.kind}" + (f" to {'|'.join(t.datums)}" if t.datums else "")


# ---- the jobs --------------------------------------------------------------------------------------


def _first(found: Clampings, job: Job, ask: Ask, judged: _Judged, stock: dict[int, Stock]) -> Job:
    size = max(s.size for s in stock.values())
    basis = " and ".join(dict.fromkeys(s.basis for s in stock.values()))
    if any(s.guess for s in stock.values()):
        basis += ": give the radial engagement of those walls, or [incoming] model"
    grip = found.grips[0]
    note = (
        f"Clamping 1 of 2 grips {_walls((*grip.fixed, *grip.floating))} as they come in, taken to stand "
        f"{_size(size, job)} out of the finished walls (by {basis}). A side stop touches a wall that "
        "still has its stock: set it that much further out."
    )
    own = replace(job, datums=_datums(job, ask, grip.faces))
    return _of(1, found, own, ask, tolerances=judged.first, note=note)


def _second(found: Clampings, job: Job, ask: Ask, judged: _Judged) -> Job:
    grip = found.grips[1]
    zero = (
        f"pick it up on {found.zero} of each part, the side stop only brings it near"
        if found.zero
        else "nothing of clamping 1 gives it, take the middle of the stock"
    )
    note = (
        f"Clamping 2 of 2 grips {_walls((*grip.fixed, *grip.floating))}, finished in clamping 1: break their "
        f"lower edges first. X: {zero}. How those walls vary stands here by default: give what is measured."
    )
    i = job.incoming
    own = replace(
        job,
        incoming=replace(
            i,
            profile=default_incoming("profile"),
            wall_form=default_incoming("wall_form"),
            squareness=default_incoming("squareness"),
            stock_on_top=Given(0.0, "default: clamping 1 faces the top"),
            model=None,
        ),
    )
    own = replace(own, datums=_datums(job, ask, frozenset()))
    return _of(2, found, own, ask, tolerances=judged.second, note=note)


def _of(
    n: int, found: Clampings, job: Job, ask: Ask, *, tolerances: tuple[ToleranceAsk, ...], note: str
) -> Job:
    """The job of one clamping: its features at its turn, with what the whole job pins of vise and blanks."""
    h, grip, named = job.hold, found.grips[n - 1], found.features[n - 1]
    letter = next((w.letter for w in grip.fixed if w.letter), "")
    usual = job.operation == USUAL_OPERATION
    return replace(
        job,
        name=f"{job.name}, clamping {n} of 2",
        operation=f"clamping {n}" if usual else f"{job.operation}-{n}",
        up=found.up,
        features=tuple(_feature(f) for f in ask.features if f.ask.name in named),
        features_assumed=False,
        reachable=False,
        general=None,
        tolerances=tolerances,
        notes=(*job.notes, note),
        hold=HoldAsk(
            turn=grip.turn,
            vise=h.vise,
            blank=h.blank,
            grip_depth=h.grip_depth,
            jaw_cutter=h.jaw_cutter,
            jaw_material=h.jaw_material,
            wrong_way=h.wrong_way,
            floor=h.floor,
            fixed_jaw_datum=letter if n == 2 else "",
        ),
    )


def _feature(f: FoundFeature) -> Feature:
    """The feature, with a point on it where it has none of its own; the whole top needs none."""
    if f.ask.pick is not None or f.face is None:
        return f.ask
    return replace(f.ask, pick=Pick(f.face.center, f'feature "{f.ask.name}"'))


def _datums(job: Job, ask: Ask, gone: frozenset[int]) -> tuple[DatumPick, ...]:
    """The datums of the print that are there, as they were picked; those of the file by a point on them."""
    typed = {d.letter: d for d in job.datums}
    return tuple(
        typed.get(d.letter, DatumPick(d.letter, Pick(d.point, f"datum {d.letter}"), d.size))
        for d in ask.datums
        if not gone & set(d.faces) and (d.letter in typed or d.kind != "width")
    )


def _walls(walls: Sequence[Wall]) -> str:
    return " and ".join(dict.fromkeys(w.name for w in walls))


def _size(mm: float, job: Job) -> str:
    return show(mm, "length", job.units, digits=2 if job.units == "mm" else 3)
