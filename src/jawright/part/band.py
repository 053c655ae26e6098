"""The grip band: what the jaws meet between two heights, as exact outlines.

Lengths in mm, angles in rad.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from functools import lru_cache
from itertools import pairwise

import numpy as np

from jawright import kernel
from jawright.errors import JawrightError
from jawright.geometry.boolean import union
from jawright.geometry.frame import Move, Vec3, dot, standing, unit
from jawright.geometry.offset import offset
from jawright.geometry.profile import Profile, Region
from jawright.geometry.query import nearest_on, signed_distance
from jawright.part.model import Band, BandKind, Face, Part
from jawright.same import Same

SAME = 1e-3
"""Outlines within this distance [mm] of one another are the same."""
STEP = 1e-3
"""Cuts keep this distance [mm] from heights where faces begin or end: there a cut is not defined."""
UPRIGHT = 1e-7
"""A wall whose normal leaves the level by less than this [rad] is upright: 0.01 µm over 100 mm."""
STEEP = math.radians(30)
"""Walls that lean more than this are chamfers, not drafted walls. Common practice, no source."""
FREE_CUTS, FREE_PITCH = 9, 1.0
"""Most cuts, and their largest pitch [mm] unless there are as many, along free-form and lying round walls."""
PARTED = (2e-4, 5e-4, 1e-3)
"""Most by which fitted cuts are grown [mm] where they cannot be joined as they are, in the order tried."""
GOLDEN = 0.5 * (math.sqrt(5.0) - 1.0)
"""Multiples of it modulo one never come near each other: so many different amounts to grow by."""
SHADOW_SLABS, SHADOW_CUTS = 16, 3
"""Most stretches of height that are cut for a silhouette, the tallest ones, and most cuts of each."""


@dataclass(frozen=True, slots=True)
class _Slab:
    """A stretch of height in which no face begins or ends; ``leaning`` and ``free`` faces cross it."""

    low: float
    high: float
    leaning: tuple[int, ...]
    free: tuple[int, ...]

    @property
    def middle(self) -> float:
        return 0.5 * (self.low + self.high)

    def more(self, walls: set[int], most: int) -> list[float]:
        """Heights to cut beside the middle when the outline there runs along ``walls``."""
        free = bool(walls & set(self.free))
        if not free and not walls & set(self.leaning):
            return []
        step = min(STEP, 0.25 * (self.high - self.low))
        a, b = self.low + step, self.high - step
        pieces = min(most - 1, 2 * math.ceil(0.5 * (b - a) / FREE_PITCH)) if free else 1
        return [a + (b - a) * k / pieces for k in range(pieces + 1) if 2 * k != pieces]


@lru_cache(maxsize=16)
def grip_band(part: Part, up: Vec3, low: float, high: float) -> Band:
    """Outlines of the part between two heights above its lowest point, standing with ``up`` up.

    Coordinates are those of ``standing(up, turn=0, shift=(0, 0, 0))``. Where the band is not
    prismatic the union of its cuts is given: the outermost outline. A stretch with leaning walls
    is cut at both ends, one with free-form walls at nine heights, so that between these cuts a
    bulge of a free-form wall may stand out further. Raises ``value-bad`` for an empty band or one
    that misses the part, ``geometry`` when the part cannot be cut.
    """
    move = standing(up, turn=0.0, shift=(0.0, 0.0, 0.0))
    heights = _heights(part, move)
    floor, top = min(h[0] for h in heights), max(h[1] for h in heights)
    if not 0 <= low < high or low >= top - floor:
        raise JawrightError(
            "value-bad",
            what=f"a band from {low:g} to {high:g} mm is not on the part, which is {top - floor:.3f} mm high",
        )
    z0, z1 = floor + low, min(floor + high, top)
    slabs = _slabs(part.faces, heights, unit(up), (z0, z1))
    cuts = [_cut(part, move, s, FREE_CUTS) for s in slabs]
    shown = _distinct(c for group in cuts for c in group)
    outline, grown = (shown[0].regions, 0.0) if len(shown) == 1 else _outermost(shown)
    kind, draft = _kind(part.faces, unit(up), slabs, cuts)
    return Band(
        z_low=z0,
        z_high=z1,
        kind=kind,
        outline=outline,
        bottom=bottom(part, up),
        fit_bound=max((c.bound for c in shown), default=0.0) + grown,
        draft=draft,
        sources=tuple(_sources(r.outer, shown) for r in outline),
    )


def bottom(part: Part, up: Vec3, level: float = 0.0) -> tuple[Region, ...]:
    """Level faces that look down ``level`` [mm] above the lowest point: what a floor there can carry.

    Empty when there is none.
    """
    move = standing(up, turn=0.0, shift=(0.0, 0.0, 0.0))
    heights = _heights(part, move)
    floor = min(h[0] for h in heights) + level
    down = [
        f.index
        for f, h in zip(part.faces, heights, strict=True)
        if f.kind == "plane" and dot(f.normal, unit(up)) < -1 + 1e-12 and abs(h[1] - floor) < SAME
    ]
    found = [r for i in down for r in kernel.flat_face(part.shape, i, move).regions]
    return union(found) if len(found) > 1 else tuple(found)


@lru_cache(maxsize=8)
def silhouette(part: Part, up: Vec3) -> tuple[Region, ...]:
    """Plan outline of the whole part seen along ``up``, in the coordinates of ``grip_band``.

    Every point of the plan lies below an upward face: level ones count exactly, leaning and
    free-form ones by cuts through the heights they span, so that a bulge between two cuts may
    stand out a little further.
    """
    move = standing(up, turn=0.0, shift=(0.0, 0.0, 0.0))
    heights = _heights(part, move)
    floor, top = min(h[0] for h in heights), max(h[1] for h in heights)
    level = [
        r
        for f in part.faces
        if f.kind == "plane" and dot(f.normal, unit(up)) > 1 - 1e-12
        for r in kernel.flat_face(part.shape, f.index, move).regions
    ]
    slabs = [s for s in _slabs(part.faces, heights, unit(up), (floor, top)) if s.leaning or s.free]
    slabs = sorted(slabs, key=lambda s: (s.low - s.high, s.low))[:SHADOW_SLABS]
    cuts = _distinct(c for s in slabs for c in _cut(part, move, s, SHADOW_CUTS))
    return _outermost(cuts, level)[0]


def _outermost(
    cuts: Sequence[kernel.Section], level: Sequence[Region] = ()
) -> tuple[tuple[Region, ...], float]:
    """All that lies in any cut or level face, and by how much it was grown for that [mm].

    Fitted outlines of a free-form wall that run within rounding of one another for millimeters may leave
    no exact union. Then each cut is grown by an amount of its own, tenths of a micrometer, which parts
    them; never made smaller, since what is taken is the outermost. Raises ``geometry`` when none helps.
    """
    try:
        return union([*level, *(r for c in cuts for r in c.regions)]), 0.0
    except JawrightError:
        if not any(c.bound > 0.0 for c in cuts):
            raise
    for most in PARTED:
        own = [most * (1.0 + (k * GOLDEN) % 1.0) / 2.0 for k in range(len(cuts))]
        try:
            found = tuple(level)
            for c, d in zip(cuts, own, strict=True):  # one by one: what is covered already is dropped at once
                found = union(found, [q for r in c.regions for q in offset(r, d)])
            return found, most
        except JawrightError as e:
            failure = e
    raise failure


def _cut(part: Part, move: Move, slab: _Slab, most: int) -> list[kernel.Section]:
    """Cuts that show a stretch of height, lowest first: one where its outline is upright."""
    middle = kernel.section(part.shape, move, slab.middle)
    walls = {i for s in middle.sources for i in s}
    found = {z: kernel.section(part.shape, move, z) for z in slab.more(walls, most)}
    found[slab.middle] = middle
    return [found[z] for z in sorted(found)]


def face_heights(part: Part, up: Vec3) -> tuple[tuple[float, float], ...]:
    """Lowest and highest point [mm] of each face along ``up``, however the part lies in its file."""
    return _heights_along(Same(part), up)


@lru_cache(maxsize=32)
def _heights_along(of: Same[Part], up: Vec3) -> tuple[tuple[float, float], ...]:
    return tuple(_heights(of.it, standing(up, turn=0.0, shift=(0.0, 0.0, 0.0))))


def _heights(part: Part, move: Move) -> list[tuple[float, float]]:
    """Lowest and highest point of each face after the move [mm]."""
    row = move.rotation[2]
    for k in range(3):
        if abs(abs(row[k]) - 1.0) < 1e-12:
            ends = [sorted((row[k] * f.box[k], row[k] * f.box[k + 3])) for f in part.faces]
            return [(a, b) for a, b in ends]
    return [(b[2], b[5]) for b in kernel.face_boxes(part.shape, move)]


def _slabs(
    faces: Sequence[Face], heights: Sequence[tuple[float, float]], up: Vec3, band: tuple[float, float]
) -> list[_Slab]:
    """The band split where faces begin or end, and where lying rounds are widest."""
    z0, z1 = band
    equators = [dot(f.axis_point, up) for f in faces if f.axis_point is not None and _lying(f, up)]
    ends = sorted({z0, z1, *(z for h in (*heights, equators) for z in h if z0 + STEP < z < z1 - STEP)})
    levels = [ends[0]]
    for z in ends[1:]:
        if z - levels[-1] > 2e-4:  # ends that differ by rounding are one
            levels.append(z)
    levels[-1] = z1
    leans = [_lean(f, up) for f in faces]
    out = []
    for a, b in pairwise(levels):
        middle = 0.5 * (a + b)
        across = [i for i, h in enumerate(heights) if h[0] < middle < h[1]]
        leaning = tuple(i for i in across if UPRIGHT < leans[i] < math.inf)
        out.append(_Slab(a, b, leaning, tuple(i for i in across if leans[i] == math.inf)))
    return out


def _lying(face: Face, up: Vec3) -> bool:
    """Whether a face is widest at the height of its axis or ring."""
    assert face.axis is not None
    across = dot(face.axis, up)
    return (face.kind == "cylinder" and abs(across) < 1e-9) or (
        face.kind == "torus" and abs(across) > 1 - 1e-9
    )


def _lean(face: Face, up: Vec3) -> float:
    """Angle [rad] by which a wall leaves the upright: 0 for upright ones, inf for those that change it."""
    if face.kind == "plane":
        return math.asin(min(1.0, abs(dot(face.normal, up))))
    if face.axis is not None and face.kind in ("cylinder", "cone") and abs(dot(face.axis, up)) > 1 - 1e-12:
        return 0.0 if face.kind == "cylinder" else math.asin(min(1.0, abs(dot(face.normal, up))))
    return math.inf


def _distinct(cuts: Iterable[kernel.Section]) -> list[kernel.Section]:
    """Cuts whose outlines differ; of those that are the same within 1 µm the largest."""
    out: list[kernel.Section] = []
    for cut in cuts:
        if not cut.regions:
            continue
        same = next((k for k, c in enumerate(out) if _same_cut(cut, c)), None)
        if same is None:
            out.append(cut)
        elif sum(r.area for r in cut.regions) > sum(r.area for r in out[same].regions):
            out[same] = cut
    return out


def _same_cut(a: kernel.Section, b: kernel.Section) -> bool:
    """Same regions, holes included, within 1 µm: they come in the order of their boxes."""
    if len(a.regions) != len(b.regions):
        return False
    for p, q in zip(a.regions, b.regions, strict=True):
        if len(p.holes) != len(q.holes) or not _same(p.outer, q.outer):
            return False
        if not all(_same(g, h) for g, h in zip(p.holes, q.holes, strict=True)):
            return False
    return True


def _same(a: Profile, b: Profile) -> bool:
    if any(abs(u - v) > SAME for u, v in zip(a.box, b.box, strict=True)):
        return False
    return _off(a, b) <= SAME and _off(b, a) <= SAME


def _off(a: Profile, b: Profile) -> float:
    """Largest distance of corners, quarter and middle points of one outline from the other [mm]."""
    points = np.array([c.at(t) for c in a.curves for t in (0.0, 0.25, 0.5, 0.75)])
    return float(np.abs(signed_distance(b, points)).max())


def _outers_same(a: kernel.Section, b: kernel.Section) -> bool:
    return len(a.regions) == len(b.regions) and all(
        _same(p.outer, q.outer) for p, q in zip(a.regions, b.regions, strict=True)
    )


def _kind(
    faces: Sequence[Face], up: Vec3, slabs: Sequence[_Slab], cuts: Sequence[Sequence[kernel.Section]]
) -> tuple[BandKind, float]:
    """What the walls of the band are, and the largest draft angle [rad] of drafted ones."""
    height = slabs[-1].high - slabs[0].low
    if all(_outers_same(cuts[0][0], c) for here in cuts for c in here):
        return "prismatic", 0.0
    drafted, angle = 0.0, 0.0
    for slab, here in zip(slabs, cuts, strict=True):
        if all(_outers_same(here[0], c) for c in here):
            continue
        walls = {i for c in here for s in c.sources for i in s}
        if walls & set(slab.free):
            return "free-form", 0.0
        leans = [_lean(faces[i], up) for i in walls & set(slab.leaning)]
        if leans and max(leans) <= STEEP:
            drafted += slab.high - slab.low
            angle = max(angle, *leans)
    return ("drafted", angle) if drafted >= 0.5 * height else ("stepped", 0.0)


def _sources(outline: Profile, cuts: Sequence[kernel.Section]) -> tuple[int, ...]:
    """Per curve the part face behind it, by the cut's curve under its middle; -1 where none is."""
    pairs = [(r.outer, s) for c in cuts for r, s in zip(c.regions, c.sources, strict=True)]
    if len(cuts) == 1:
        for profile, sources in pairs:
            if profile is outline:
                return sources
    middles = np.array([c.at(0.5) for c in outline.curves])
    found = [-1] * len(middles)
    least = [SAME] * len(middles)
    for profile, sources in pairs:
        for k, foot in enumerate(nearest_on(profile, middles)):
            if foot.distance < least[k]:
                least[k], found[k] = foot.distance, sources[foot.curve]
    return tuple(found)
