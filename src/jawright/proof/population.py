"""A hold as a planar scene: its contacts, everything that varies, and what each variation does to them.

Sources of variation are columns; a sample is one value per column. Gaps are linear in them, so a
population of parts is one matrix product. Columns that share a ``label`` are one source to the user.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass, replace
from functools import cached_property, lru_cache

import numpy as np
from numpy.typing import NDArray

from jawright.geometry.curve import Arc, Curve, Line, right_normal
from jawright.handbook import material
from jawright.hold.model import Contact, Hold, MadeFeature
from jawright.job.model import Given, Job
from jawright.mechanics.seat import Layout, SeatResult, seat
from jawright.proof.gives import KEY, LABEL, Gives
from jawright.proof.samples import copied, roomy, widened
from jawright.proof.setups import jaw_heat, made_here, setup_columns
from jawright.proof.sources import Columns, Level, Source, deviating, incoming, pick
from jawright.same import Same
from jawright.shop.model import Band3, Shop

Floats = NDArray[np.float64]
LEVELS: tuple[Level, ...] = ("low", "set", "high")
PARTS = 100_000
FEW = 25_000
"""Parts at the low and high ends and for rivals: a yield is then known to about 0.0003."""
LOST = 99.0
"""Stands for the deviation or air [mm] of a part that does not seat: records carry no infinity."""

PUSH = 0.05
"""Push of the hand toward the stop as a share of the clamp force (common practice, no source).

Once the part is at the stop, friction at the fixed and at the floating jaw holds it there against
walls that would wedge it away, with up to 2 µ of the clamp force (Coulomb); both act as one push.
"""
SIZE, OWN, LEANS = "size of the part", "each wall's own deviation", "squareness of the walls"
SCATTER_OF_FRICTION: dict[str, Level] = {"low": "high", "set": "set", "high": "low"}


@dataclass(frozen=True, slots=True)
class Wall:
    """A wall of the part in plan: straight between two ends, or round (one end only).

    ``columns`` are the sources of its two ends' own deviation (the same column twice when round).
    """

    a: tuple[float, float]
    b: tuple[float, float]
    normal: tuple[float, float]  # outward
    columns: tuple[int, int]
    straight: bool

    def share(self, x: float, y: float) -> float:
        """Place along the wall: 0 at ``a``, 1 at ``b``; not held inside."""
        if not self.straight:
            return 0.0
        ux, uy = self.b[0] - self.a[0], self.b[1] - self.a[1]
        return ((x - self.a[0]) * ux + (y - self.a[1]) * uy) / (ux * ux + uy * uy)


@dataclass(frozen=True)
class Scene:
    """The planar problem of one hold: n contacts, s sources."""

    contacts: tuple[Contact, ...]
    points: Floats  # (n, 2)
    normals: Floats  # (n, 2)
    ride: Floats  # (n,)
    radius: Floats  # (n,)
    gap0: Floats  # (n,)
    effect: Floats  # (n, s) d(gap)/d(source)
    sources: tuple[Source, ...]
    walls: dict[int, Wall]  # by part face
    push: tuple[float, float]
    yaw: float
    side_play: float
    expansion: float | None  # of the part [1/K]; None when its material is not in the handbook
    anchor: tuple[float, float]  # the point of the part that stays in place when it warms up
    lift_span: float  # from the fixed jaw to where the floating jaw lifts [mm]
    floor: float
    tall: float  # of the part [mm]
    bolts: float  # between the bolts of a jaw [mm]
    made: dict[str, MadeFeature]  # by datum letter: datums made in this operation
    rise: tuple[
        float, float
    ]  # foot and top of the part above where walls are gripped, as shares of its height
    gives: Gives | None = None  # how what is cut here moves when the vise opens; None: not counted

    def column(self, key: str) -> int:
        """Number of the source of this name; raises KeyError when there is none."""
        return self._numbers[key]

    def has(self, key: str) -> bool:
        """Whether there is a source of this name."""
        return key in self._numbers

    @cached_property
    def _numbers(self) -> dict[str, int]:
        return {s.key: i for i, s in enumerate(self.sources)}

    def draw(self, count: int, salt: str) -> Floats:
        """(count, s) reproducible sample; every column has its own stream, so levels and rivals share it."""
        out = roomy(count, len(self.sources))  # by columns: those are what is read
        for k, s in enumerate(self.sources):
            out[:, k] = s.draw(count, salt)
        return out

    def gaps(self, sample: Floats) -> Floats:
        """(m, n) air at each contact before the part moves."""
        used = np.flatnonzero(self.effect.any(axis=0))
        return np.asarray(self.gap0 + sample[:, used] @ self.effect[:, used].T)

    def seated(self, sample: Floats) -> SeatResult:
        """Parts of a sample, shape (parts, sources), seated: their poses and what carries."""
        return seat(
            self.points,
            self.normals,
            self.ride,
            self.gaps(sample),
            push=self.push,
            yaw=self.yaw,
            side_play=self.side_play,
            radius=self.radius,
        )

    def layout(self, sample: Floats) -> Layout:
        """What ``seated`` seats, to be seated with others."""
        play = (self.yaw, self.side_play)
        return Layout(self.points, self.normals, self.ride, self.gaps(sample), self.push, play, self.radius)

    def stands_out(self, sample: Floats, face: int, at: Floats) -> Floats:
        """(m,) how far the part's wall ``face`` stands out at a plan point on each part [mm]."""
        row = self.surface(face, float(at[0]), float(at[1]))
        (used,) = row.nonzero()
        return np.asarray(sample[:, used] @ row[used])

    def surface(self, face: int, x: float, y: float) -> Floats:
        """(s,) how far the part's wall ``face`` stands out at (x, y) per unit of each source."""
        row = np.zeros(len(self.sources))
        row[0] = 1.0
        wall = self.walls.get(face)
        if wall is not None:
            k = wall.share(x, y)
            row[wall.columns[0]] += 1 - k
            row[wall.columns[1]] += k
        return row


@dataclass(frozen=True)
class Population:
    """A scene, a sample of its sources (m, s), and where each part comes to sit."""

    scene: Scene
    sample: Floats
    seated: SeatResult


def salt_of(job: Job) -> str:
    """The name of a job's draws: the same job gives the same parts."""
    return f"{job.part_number}/{job.operation}/population"


@lru_cache(maxsize=3)
def population(hold: Hold, job: Job, shop: Shop, level: Level) -> Population:
    """The parts of one level: ``PARTS`` at the set figures, ``FEW`` at either end; kept for reuse."""
    s = scene(hold, job, shop, level=level)
    sample = s.draw(PARTS if level == "set" else FEW, salt_of(job))
    return Population(s, sample, s.seated(sample))


def otherwise(p: Population, new: dict[int, tuple[Source, Floats]]) -> Population:
    """The first parts of a population with some sources, by number, and what each drew, otherwise.

    They seat as they did where none of these sources moves a contact.
    """
    sample = copied(p.sample[:FEW])
    sources = list(p.scene.sources)
    for k, (source, drawn) in new.items():
        sources[k], sample[:, k] = source, drawn
    s = replace(p.scene, sources=tuple(sources))
    moved = s.effect[:, list(new)].any()
    return Population(s, sample, s.seated(sample) if moved else p.seated.first(len(sample)))


def sprung(p: Population, gives: Gives, level: Level, salt: str) -> Population:
    """The same parts, seated as they are, which are cut squeezed and let go."""
    force = gives.force[LEVELS.index(level)]
    source = Source(KEY, LABEL, "cut", gives.scatter * force, gives.basis, middle=force)
    s = p.scene
    none = np.zeros((len(s.contacts), 1))
    s = replace(s, sources=(*s.sources, source), effect=np.hstack([s.effect, none]), gives=gives)
    return Population(s, widened(p.sample, source.draw(len(p.sample), salt)), p.seated)


def _wall_curves(hold: Hold) -> dict[int, list[Curve]]:
    found: dict[int, list[Curve]] = {}
    for face, curve in zip(hold.face_of_curve, hold.outline.outer.curves, strict=False):
        if face >= 0:
            found.setdefault(face, []).append(curve)
    return found


def _straight(curves: list[Curve]) -> tuple[tuple[float, float], tuple[float, float]] | None:
    """Ends of the one straight line all curves lie on, or None."""
    if not all(isinstance(c, Line) for c in curves):
        return None
    tx, ty = curves[0].tangent()
    ox, oy = curves[0].start
    ends = [p for c in curves for p in (c.start, c.end)]
    if any(abs((p[0] - ox) * ty - (p[1] - oy) * tx) > 1e-6 for p in ends):
        return None
    along = sorted(ends, key=lambda p: (p[0] - ox) * tx + (p[1] - oy) * ty)
    return along[0], along[-1]


def _walls(hold: Hold, job: Job, level: Level, to: Columns) -> dict[int, Wall]:
    own = _of_walls(OWN, Same(job.incoming.wall_form), level)
    slanted = _of_walls(LEANS, Same(job.incoming.squareness), level)
    leans = job.incoming.squareness.value > 0.0
    out = {}
    rounds: dict[tuple[float, ...], int] = {}
    for face, curves in sorted(_wall_curves(hold).items()):
        mid = curves[0]
        normal = right_normal(mid, 0.5)
        ends = _straight(curves)
        one = face
        if isinstance(mid, Arc):  # halves of one cylinder were cut in one go: they deviate alike
            round_key = (*(round(v, 3) for v in (*mid.center, mid.radius)), float(mid.ccw))
            one = rounds.setdefault(round_key, face)
        keys = [f"wall {face} a", f"wall {face} b"] if ends else [f"wall {one} a"]
        cols = [to.add(own(k)) for k in keys]
        if leans:
            to.add(slanted(f"lean {face}"))
        a, b = ends or (mid.start, mid.end)
        out[face] = Wall(a, b, normal, (cols[0], cols[-1]), ends is not None)
    return out


class _Made:
    """Sources alike but for their names, each made once: all stances of a part have the same walls."""

    def __init__(self, make: Callable[[str], Source]) -> None:
        self._make = make
        self._known: dict[str, Source] = {}

    def __call__(self, key: str) -> Source:
        found = self._known.get(key)
        if found is None:
            found = self._known[key] = self._make(key)
        return found


@lru_cache(maxsize=64)
def _of_walls(label: str, given: Same[Given], level: Level) -> _Made:
    return _Made(lambda key: incoming(key, label, given.it, level))


@lru_cache(maxsize=64)
def _of_jaws(band: Same[Band3], level: Level) -> _Made:
    return _Made(lambda key: deviating(key, "how true the jaws are cut", band.it, level, once=True))


def _jaw_column(hold: Hold, contact: Contact, made: _Made, to: Columns) -> int | None:
    """The source for the cut wall a contact bears on; hard jaws are ground and taken as true."""
    if hold.kind == "hard jaws" or contact.growth == 0.0:
        return None
    place = contact.face if contact.face >= 0 else contact.name
    side = "floating" if contact.on == "floating" else "fixed"
    return to.add(made(f"jaw wall {side} {place}"))


def scene(hold: Hold, job: Job, shop: Shop, *, level: Level = "set") -> Scene:
    """The planar scene of a hold at one level of all its bands."""
    to = Columns()
    to.add(incoming("growth", SIZE, job.incoming.profile, level, share=0.5))
    walls = _walls(hold, job, level, to)
    planar = [c for c in hold.contacts if c.on != "floor" and math.hypot(*c.normal[:2]) > 0.5]
    form, of_jaws = job.incoming.wall_form, _of_jaws(Same(shop.jaw_cut), level)
    terms: list[list[tuple[int, float]]] = []
    for c in planar:
        row = [(0, -c.growth)]
        wall = walls.get(c.face)
        if wall is not None:
            k = wall.share(c.point[0], c.point[1])
            row += [(wall.columns[0], -(1 - k)), (wall.columns[1], -k)]
        elif c.growth != 0.0:
            row.append((to.add(incoming(f"wall at {c.name}", OWN, form, level)), -1.0))
        jaw = _jaw_column(hold, c, of_jaws, to)
        if jaw is not None:
            row.append((jaw, -1.0))
        terms.append(row)
    setup_columns(hold, job, shop, level, to)
    effect = np.zeros((len(planar), len(to.sources)))
    for i, row in enumerate(terms):
        for col, value in row:
            effect[i, col] += value
    effect[:, to.index["jaw temperature"]] = jaw_heat(hold, job, shop, planar)
    normals = np.array([c.normal[:2] for c in planar], dtype=float).reshape(-1, 2)
    normals /= np.linalg.norm(normals, axis=1, keepdims=True)
    stops = normals[[i for i, c in enumerate(planar) if c.on == "stop"]]
    push = (0.0, 0.0)
    if len(stops):
        way = -stops.sum(axis=0)
        if np.linalg.norm(way) > 1e-9:
            grip = 2 * pick(shop.friction, SCATTER_OF_FRICTION[level])
            way = way / np.linalg.norm(way) * (PUSH + grip)
            push = (float(way[0]), float(way[1]))
    return Scene(
        contacts=tuple(planar),
        points=np.array([c.point[:2] for c in planar], dtype=float).reshape(-1, 2),
        normals=normals,
        ride=np.array([1.0 if c.on == "floating" else 0.0 for c in planar]),
        radius=np.array([max(c.radius_part, 0.0) for c in planar]),
        gap0=np.array([c.gap for c in planar]),
        effect=effect,
        sources=tuple(to.sources),
        walls=walls,
        push=push,
        yaw=pick(hold.vise.yaw, level),
        side_play=pick(hold.vise.side_play, level),
        expansion=_expansion(job.material),
        anchor=_anchor(planar),
        lift_span=_lift_span(hold),
        floor=hold.floor,
        tall=max(hold.part_top - hold.floor, 1e-6),
        bolts=hold.vise.bolt_spacing,
        rise=_rise(hold, planar),
        made={d.letter: f for d in hold.datums if (f := made_here(hold, d)) is not None},
    )


def _expansion(name: str) -> float | None:
    from_book = material(name)
    return from_book.cte


def _anchor(contacts: list[Contact]) -> tuple[float, float]:
    fixed = [c.point[1] for c in contacts if c.on == "fixed"]
    stop = [c.point[0] for c in contacts if c.on == "stop"]
    xs = [c.point[0] for c in contacts]
    x = sum(stop) / len(stop) if stop else (sum(xs) / len(xs) if xs else 0.0)
    return (x, sum(fixed) / len(fixed) if fixed else 0.0)


def _rise(hold: Hold, contacts: list[Contact]) -> tuple[float, float]:
    tall = max(hold.part_top - hold.floor, 1e-6)
    at = sum(c.point[2] for c in contacts) / len(contacts) if contacts else hold.floor
    return (hold.floor - at) / tall, (hold.part_top - at) / tall


def _lift_span(hold: Hold) -> float:
    """Distance over which the jaw's rise tilts the part: the outline's extent across the jaws [mm]."""
    _, y0, _, y1 = hold.outline.outer.box
    return y1 - y0
