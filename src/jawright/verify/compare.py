"""What the program leaves against what was designed: gouge, rest, walls, floor. Vise frame, mm."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, field

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.geometry.base import BaseGeometry

from jawright.geometry.curve import Curve, right_normal
from jawright.geometry.frame import Vec3
from jawright.verify.design import Design, Prism
from jawright.verify.differing import Differing
from jawright.verify.gone import Gone
from jawright.verify.material import Cuts, Level
from jawright.verify.model import NcFinding
from jawright.verify.near import Near
from jawright.verify.words import LIMITS

_THIN = 0.0004  # area over length of slivers that come from chords alone [mm]
_HAIR = 0.001  # a strip thinner than this [mm] is the rounding of the text: its width is its depth
_POINTS_MAX = 400  # corners of a piece that are measured; even spread, so a large one loses little
_PER_LEVEL = 12  # pieces of one level that are looked at one by one, largest first
_CULPRITS = 6  # lines named for one piece
_REACH = 1.0  # how far along the normal a cut wall is looked for [mm]
_METAL = LIMITS["metal"]
Sample = tuple[float, float, float, float]


@dataclass(frozen=True, slots=True)
class Spot:
    """A place where cut and design differ by ``depth``; ``seat``: on a wall or floor the part sits on."""

    depth: float
    at: Vec3
    seat: bool
    line: int
    where: str


@dataclass(frozen=True, slots=True)
class Comparison:
    """The numbers of a verification that come from metal alone."""

    gouges: tuple[Spot, ...]
    rests: tuple[Spot, ...]
    wall_error: float
    floor_error: float
    findings: tuple[NcFinding, ...]


@dataclass(frozen=True, slots=True)
class Scene:
    """Everything to compare: per level the uncut metal and what was swept."""

    design: Design
    cuts: Cuts
    spans: Sequence[Level]
    metal: Sequence[BaseGeometry]
    gone: Gone
    _left: dict[int, Near] = field(default_factory=dict)
    _plans: dict[int, Near] = field(default_factory=dict)

    def left(self, k: int) -> Near:
        """Metal that is still there at level ``k``."""
        if k not in self._left:
            self._left[k] = Near(shapely.difference(self.metal[k], self.gone.at(k)))
        return self._left[k]

    def grows(self, k: int) -> bool:
        """True when more is swept at the level's middle than at its low end."""
        return self.gone.at(k) is not self.gone.early(k)

    def left_early(self, k: int) -> Near:
        """Metal that is still there at the low end of level ``k``."""
        if not self.grows(k):
            return self.left(k)
        if -1 - k not in self._left:
            self._left[-1 - k] = Near(shapely.difference(self.metal[k], self.gone.early(k)))
        return self._left[-1 - k]

    def plan(self, p: Prism, z: float) -> Near | None:
        """A prism's plan for measuring from outside it."""
        if p.widen > 0.0:
            plan = p.at(z)
            return None if plan is None or plan.is_empty else Near(plan)
        if id(p) not in self._plans:
            self._plans[id(p)] = Near(p.plan)
        return self._plans[id(p)]


def compare(scene: Scene) -> Comparison:
    """Compare level by level; each spot that breaks its limit becomes a fault that names the line."""
    gouges: list[Spot] = []
    rests: list[Spot] = []
    seen: tuple[set[object], set[object]] = (set(), set())
    state = Differing(scene.design, scene.spans, scene.metal, scene.gone)
    for k in range(len(scene.spans)):
        over, under = state.at(k)
        for piece in _new(_pieces(over), seen[0]):
            gouges += [_gouge(scene, k, part, line) for line, part in _culprits(scene, k, piece)]
        rests += [_rest(scene, k, piece) for piece in _new(_pieces(under), seen[1])]
    wall, wall_findings = _walls(scene)
    floor, floor_findings = _floor(scene)
    findings = [
        *_report(scene, gouges, "gouge", "cut into metal that should stay"),
        *_report(scene, rests, "rest", "of metal left that should be gone"),
        *wall_findings,
        *floor_findings,
    ]
    return Comparison(tuple(gouges), tuple(rests), wall, floor, tuple(findings))


def _new(pieces: list[BaseGeometry], seen: set[object]) -> list[BaseGeometry]:
    """Pieces whose plan was not met at a lower level already: the lower one is the deeper."""
    out = []
    for g in pieces:
        key = (round(g.area, 7), *(round(b, 7) for b in g.bounds))
        if key not in seen:
            seen.add(key)
            out.append(g)
    return out


def _pieces(parts: Sequence[BaseGeometry]) -> list[BaseGeometry]:
    """The largest of the areas that differ, largest first."""
    return sorted(parts, key=lambda g: (-g.area, g.bounds))[:_PER_LEVEL]


def _corners(piece: BaseGeometry) -> NDArray[np.float64]:
    dense = shapely.segmentize(piece, 1.0)
    pts: NDArray[np.float64] = shapely.get_coordinates(dense)
    inner = shapely.point_on_surface(piece)
    pts = np.vstack((pts, [[inner.x, inner.y]]))
    if len(pts) > _POINTS_MAX:
        pts = pts[np.linspace(0, len(pts) - 1, _POINTS_MAX).round().astype(int)]
    return pts


def _culprits(scene: Scene, k: int, piece: BaseGeometry) -> list[tuple[int, BaseGeometry]]:
    """A gouged piece shared out to the moves that cut it, in the order of the program."""
    z, cuts, out = scene.spans[k].at, scene.cuts, []
    for j in cuts.near(piece):
        i = int(j)
        if cuts.paths[i].low >= z:
            continue
        mine = shapely.intersection(piece, cuts.area(i, z))
        if mine.area <= _THIN * max(mine.length, 1e-9) / 2:
            continue
        out.append((cuts.paths[i].move.line, mine))
        piece = shapely.difference(piece, cuts.area(i, z))
        if piece.area <= _THIN * max(piece.length, 1e-9) / 2 or len(out) >= _CULPRITS:
            break
    return out or [(0, piece)]


def _gouge(scene: Scene, k: int, piece: BaseGeometry, line: int) -> Spot:
    """Deepest point of a gouged piece: its distance in space from what may be gone."""
    span = scene.spans[k]
    pts = _corners(piece)
    spots = shapely.points(pts)
    best = np.full(len(pts), math.inf)
    for p in scene.design.prisms:
        if p.top <= span.low:
            continue
        plan = scene.plan(p, span.at)
        if plan is not None:
            best = np.minimum(best, np.hypot(max(0.0, p.bottom - span.low), plan.outside(spots)))
    for m in range(k + 1, len(scene.spans)):  # out through the blank's own top
        if scene.metal[m].is_empty:
            best = np.minimum(best, scene.spans[m].low - span.low)
            break
    best = np.minimum(best, scene.cuts.top - span.low)
    i = int(np.argmax(best))
    x, y = float(pts[i, 0]), float(pts[i, 1])
    depth = float(best[i])
    seat, where = _where(scene.design, x, y, span.at, depth)
    return Spot(depth, (x, y, span.low), seat, line, where)


def _rest(scene: Scene, k: int, piece: BaseGeometry) -> Spot:
    """Thickest point of a piece left: its distance in space from the nearest air."""
    spans = scene.spans
    if shapely.buffer(piece, -_HAIR / 2).is_empty:  # air is on one side of it, all along
        p = shapely.point_on_surface(piece)
        return Spot(2 * piece.area / piece.length, (p.x, p.y, spans[k].low), False, 0, "")
    pts = _corners(piece)
    spots = shapely.points(pts)
    own = spans[k].at if scene.grows(k) else spans[k].low
    best: NDArray[np.float64] = np.full(len(pts), scene.cuts.top - own)
    for m in range(k, len(spans)):
        if m > k and spans[m].low - own >= best.max():
            break
        if m > k:
            best = np.minimum(best, np.hypot(spans[m].low - own, scene.left_early(m).inside(spots)))
        if m == k or scene.grows(m):
            rise = spans[m].at - own if scene.grows(m) else 0.0
            best = np.minimum(best, np.hypot(rise, scene.left(m).inside(spots)))
    i = int(np.argmax(best))
    x, y = float(pts[i, 0]), float(pts[i, 1])
    depth = float(best[i])
    seat, where = _where(scene.design, x, y, spans[k].at, depth)
    line = (
        scene.cuts.nearest(x, y, spans[k].high) if depth > _METAL["rest_seat" if seat else "rest_else"] else 0
    )
    return Spot(depth, (x, y, spans[k].low), seat, line, where)


def _where(d: Design, x: float, y: float, z: float, depth: float) -> tuple[bool, str]:
    """Is the spot on a wall that seats the part, and the name of the nearest feature."""
    spot = shapely.Point(x, y)
    if z > d.floor and not d.seats.is_empty and shapely.distance(d.seats, spot) <= depth * 1.01 + 0.02:
        for zone in d.zones:
            near = min(math.dist((x, y), c.at(t)) for c in zone.curves for t in np.linspace(0.0, 1.0, 41))
            if near <= depth + zone.allowance + 2.0:
                datum = f" of datum {zone.datum}" if zone.datum else ""
                return True, f"the {zone.jaw} jaw's {zone.purpose} wall{datum}"
        return True, "a wall that seats the part"
    best, name = math.inf, "the jaws"
    for p in d.prisms:
        side = shapely.distance(p.plan, spot)
        far = math.hypot(side, max(0.0, p.bottom - z, z - p.top))
        if far < best - 1e-9:
            best, name = far, p.name
    below = z < d.floor and name == "pocket"
    return below and shapely.covers(d.pocket, spot), "the pocket's floor" if below else f"the {name}"


def _limit(spot: Spot, kind: str) -> float:
    return float(_METAL[f"{kind}_seat" if spot.seat else f"{kind}_else"])


def _report(scene: Scene, spots: Sequence[Spot], kind: str, words: str) -> list[NcFinding]:
    """One fault per line of the program and feature: the worst spot."""
    worst: dict[tuple[int, str], Spot] = {}
    for s in spots:
        if s.depth <= _limit(s, kind):
            continue
        key = (s.line, s.where)
        if key not in worst or s.depth > worst[key].depth:
            worst[key] = s
    found = sorted(worst.values(), key=lambda s: (s.line, s.where))
    return [
        NcFinding(
            "fault",
            s.line,
            0,
            f"{kind}: {s.depth:.3f} mm {words} at {s.where}, "
            f"{scene.cuts.frame.words(s.at)} (limit {_limit(s, kind):.3f} mm)",
        )
        for s in found
    ]


def _walls(scene: Scene) -> tuple[float, list[NcFinding]]:
    """Distance along the normal from designed to cut wall, sampled where zones lie on the pocket's wall."""
    d = scene.design
    edge = max((p.widen for p in d.prisms if p.name == "edge break"), default=0.0)
    corner = d.finisher.full if d.finisher else 0.0
    spans = [
        k
        for k, s in enumerate(scene.spans)
        if s.low >= d.floor + corner - 1e-9
        and s.high >= d.floor + corner + _METAL["floor"]  # nearer, only the floor's own height is asked
        and s.high <= d.top - edge + 1e-9
    ]
    if not spans:
        spans = [k for k, s in enumerate(scene.spans) if d.floor < s.at < d.top]
    spans = _ends(scene, spans)
    worst, findings = 0.0, []
    outlines: dict[tuple[int, ...] | None, BaseGeometry] = {}
    for zone in d.zones:
        points = _samples(zone.curves, zone.allowance)
        error, at, line, measured = 0.0, (0.0, 0.0, 0.0), 0, False
        for k in spans:
            key = d.key(scene.spans[k].at)
            if key not in outlines:
                outlines[key] = shapely.boundary(d.must(scene.spans[k].at))
            samples = _standing(points, outlines[key])
            e, i = _wall_error(scene, k, samples)
            measured = measured or i >= 0
            if i >= 0 and e > error:
                error, at = e, (*samples[i][:2], scene.spans[k].at)
        worst = max(worst, error)
        name = f"{zone.jaw} jaw, {zone.purpose}" + (f", datum {zone.datum}" if zone.datum else "")
        if not measured:
            findings.append(NcFinding("caution", 0, 0, f"no wall could be measured along the zone ({name})"))
        elif error > _METAL["wall"]:
            line = scene.cuts.nearest(at[0], at[1], at[2])
            findings.append(
                NcFinding(
                    "fault",
                    line,
                    0,
                    f"wall: {name}: off by {'more than ' if error >= _REACH else ''}{error:.4f} mm at "
                    f"{scene.cuts.frame.words(at)} (limit {_METAL['wall']:.3f} mm)",
                )
            )
    return worst, findings


def _ends(scene: Scene, spans: Sequence[int]) -> list[int]:
    """The lowest and the highest of the levels that differ in nothing but what is swept.

    More is swept at every greater height, so along its normal the cut wall of any level
    between lies between those of the two.
    """
    groups: list[list[int]] = []
    last: tuple[object, ...] = ()
    for k in spans:
        now = (id(scene.metal[k]), scene.design.key(scene.spans[k].at))
        if now == last and now[1] is not None:
            groups[-1].append(k)
        else:
            groups.append([k])
        last = now
    return [k for g in groups for k in dict.fromkeys((g[0], g[-1]))]


def _samples(curves: Sequence[Curve], allowance: float) -> list[Sample]:
    """Points of the designed wall with outward normals ``(x, y, nx, ny)``, about 1 mm apart."""
    out = []
    for c in curves:
        n = max(5, math.ceil(c.length))
        for k in range(n):
            t = (k + 0.5) / n
            (x, y), (nx, ny) = c.at(t), right_normal(c, t)
            out.append((x + allowance * nx, y + allowance * ny, nx, ny))
    return out


def _standing(samples: Sequence[Sample], outline: BaseGeometry) -> list[Sample]:
    """The samples where the wall is part of the outline of what has to go: not in a relief or a well."""
    if not samples:
        return []
    near = shapely.distance(outline, shapely.points([(s[0], s[1]) for s in samples])) < 1e-3
    return [s for s, ok in zip(samples, near, strict=True) if ok]


def _wall_error(scene: Scene, k: int, samples: Sequence[Sample]) -> tuple[float, int]:
    """Largest distance at one level and its sample; -1 when no sample has metal behind it."""
    if not samples:
        return 0.0, -1
    a = np.array(samples)
    behind = shapely.points(a[:, :2] + 0.05 * a[:, 2:])
    solid = shapely.intersects(scene.metal[k], behind)
    if not solid.any():
        return 0.0, -1
    low, high = a[:, :2].min(axis=0) - 2 * _REACH, a[:, :2].max(axis=0) + 2 * _REACH
    edge = shapely.clip_by_rect(shapely.boundary(scene.gone.at(k)), *low, *high)
    worst, where = -1.0, -1
    for i in map(int, np.flatnonzero(solid)):
        x, y, nx, ny = samples[i]
        probe = shapely.LineString([(x - _REACH * nx, y - _REACH * ny), (x + _REACH * nx, y + _REACH * ny)])
        hit = shapely.intersection(probe, edge)
        e = _REACH if hit.is_empty else float(shapely.distance(hit, shapely.Point(x, y)))
        if e > worst:
            worst, where = e, i
    return worst, where


def _core(shape: BaseGeometry) -> BaseGeometry:
    """What is left of an area when strips thinner than 0.02 mm, a wall's business, are taken off."""
    core: BaseGeometry = shapely.buffer(shape, -0.01)
    return core


def _floor(scene: Scene) -> tuple[float, list[NcFinding]]:
    """Largest height error of the pocket's floor away from its walls and openings; exact in Z."""
    d = scene.design
    open_below = [p.plan for p in d.prisms if p.bottom < d.floor - 1e-9]
    inner = shapely.buffer(d.pocket, -(0.05 + (d.finisher.corner if d.finisher else 0.0)))
    if open_below:
        inner = shapely.difference(inner, shapely.buffer(shapely.union_all(open_below), 0.05))
    first = next((k for k, s in enumerate(scene.spans) if s.low >= d.floor - 1e-9), len(scene.spans))
    high, low = (d.floor, inner), (d.floor, inner)
    for k in range(first, len(scene.spans)):  # what is cut at one height is cut at every greater one
        core = _core(shapely.difference(shapely.intersection(inner, scene.metal[k]), scene.gone.at(k)))
        if core.is_empty:
            break
        high = (scene.spans[k].high, core)
    for k in range(first - 1, -1, -1):
        core = _core(shapely.intersection(shapely.intersection(inner, scene.metal[k]), scene.gone.at(k)))
        if core.is_empty:
            break
        low = (scene.spans[k].low, core)
    up, down = high[0] - d.floor, d.floor - low[0]
    error, side, (z, core) = (up, "high", high) if up >= down else (down, "low", low)
    if error <= _METAL["floor"]:
        return error, []
    p = shapely.point_on_surface(core)
    at: Vec3 = (p.x, p.y, z)
    line = scene.cuts.blame(p.x, p.y, z + 1e-6) or scene.cuts.nearest(p.x, p.y, z)
    where = scene.cuts.frame.words(at)
    what = f"floor: {error:.4f} mm too {side} at {where} (limit {_METAL['floor']:.3f} mm)"
    return error, [NcFinding("fault", line, 0, what)]
