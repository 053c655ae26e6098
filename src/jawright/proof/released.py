"""What the part does when the vise opens, by finite elements on its own solid.

The finished part, sliced from its model, is pressed between both walls, cut even and stiff; what gives is
the part. Letting go is the same with the other sign: each bore moves and goes oval.

Lengths in mm, angles in rad, forces in N, torques in N·m.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import lru_cache

import numpy as np
from shapely import MultiPoint
from shapely.geometry.base import BaseGeometry

from jawright.beside import Beside, one_thread
from jawright.errors import JawrightError
from jawright.handbook import Material
from jawright.hold.model import Hold, MadeFeature
from jawright.jaws.model import Jaws
from jawright.mechanics import gap
from jawright.mechanics.condense import Condensed, condense, joined
from jawright.mechanics.solid import Cut, Floats, Solid, build
from jawright.part.model import Part
from jawright.proof.body import part_material
from jawright.proof.elastic_grid import NEAR, crowded, level_keys, slabs, wall_keys
from jawright.proof.elastic_shape import dots, outside, within
from jawright.proof.elastic_walls import Patch, Walls, wall_patches, walls
from jawright.proof.metal import cut_at

SOURCE = "linear elasticity, 20-node bricks on the sliced solid; one-sided contact (Conry and Seireg 1971)"
ROUND = 12
"""Points round a bore, at each of two heights."""
SPREAD = 6
"""Points along and across the upper face at which its flatness is read."""
MOST_CELLS = 400
MOST_NEAR = 900
"""Cells of the part, before and after they are made smaller about its bores."""
COARSER = 1.5
"""Cells are that much longer on the mesh that tells the error."""
SOFT = np.array([1e-3, 1e-3, 1e-3, 1.0, 1.0, 1.0])
"""Springs [N/mm, N·mm/rad] that keep the part where the walls leave it free; the load is 1 kN."""
LOAD = 1000.0
TURNS = 0.1
"""Turn [rad] under that load beyond which the walls alone do not balance the part."""
NEAR_WALL = 0.05
"""A point of a milled wall counts as on the metal when it lies this near [mm]: chords and fitted arcs."""


@dataclass(frozen=True, slots=True)
class Release:
    """Change of one feature when the vise opens, per newton of clamp force.

    ``move`` (x, y) [mm/N] against the wall on the fixed jaw; ``oval`` difference of the largest and the
    smallest diameter [mm/N], the larger of stiff walls and of an even pressure; ``error`` of the worse of
    ``move`` and ``oval`` by the mesh [mm/N]. ``bulge`` is told with the width, of the whole upper face, and
    with every face: how far from flat it is when the vise opens, cut flat while it was squeezed [mm/N].
    ``rise`` of a face: how much higher it lies then over the part's underside, and ``slant`` how far it is
    from parallel to it, flatness included [mm/N].
    """

    feature: str
    move: tuple[float, float]
    oval: float
    error: float
    bulge: float = 0.0
    rise: float = 0.0
    slant: float = 0.0


def releases(hold: Hold, jaws: Jaws | None, part: Part | None, material: str) -> tuple[Release, ...] | None:
    """Release of all that is made here, bores first, and before them of the width ("": ``move`` along Y).

    None without a solid, a material of the handbook or a wall of both jaws, or when the part cannot be cut.
    """
    if not isinstance(part, Part) or not part.shape:
        return None
    return _releases(replace(hold, torque=None, torque_why=""), jaws, part, material)


@lru_cache(maxsize=8)
def _releases(hold: Hold, jaws: Jaws | None, part: Part, material: str) -> tuple[Release, ...] | None:
    work = part_material(material)
    low, high = hold.floor, hold.floor + hold.grip_depth
    found = [walls(hold, jaws, side, low=low, high=high) for side in ("fixed", "floating")]
    own = [w for w in found if w is not None]
    if work is None or len(own) < 2 or hold.grip_depth <= 0:
        return None
    try:
        with one_thread():
            beside = Beside(lambda: _once(hold, part, own, work, COARSER))
            fine = _once(hold, part, own, work, 1.0)
            coarse = beside.result()
    except JawrightError:
        return None  # the part cannot be cut or falls apart; closed forms stand in
    return tuple(
        replace(f, error=_far(f, c) / (COARSER - 1), bulge=max(f.bulge, c.bulge))
        for f, c in zip(fine, coarse, strict=True)
    )


def _far(a: Release, b: Release) -> float:
    return max(math.dist(a.move, b.move), abs(a.oval - b.oval))


def _once(hold: Hold, part: Part, own: Sequence[Walls], work: Material, coarser: float) -> list[Release]:
    solid = sliced(hold, part, work, coarser)
    pushed: list[Patch] = [(p, -n, w) for one in own for p, n, w in wall_patches(one)]
    bores = _bores(hold)
    thin = 1e-3 * (hold.part_top - hold.floor)
    top = _upper(cut_at(part, hold, hold.part_top - thin), hold.part_top)
    under = _upper(cut_at(part, hold, hold.floor + thin), hold.floor)
    more = [(f, _own_points(f, part, hold)) for f in hold.features if f not in bores]
    others = [(f, q) for f, q in more if len(q)]
    groups: list[list[Patch]] = [
        pushed,
        _friction(pushed, len(own[0].area)),
        [p for f in bores for p in _reads(f, _final(f, bores))],
        _one_by_one(top),
        _one_by_one(under),
        *(_one_by_one(q) if f.kind == "face" else _as_one(q) for f, q in others),
    ]
    body = condense(solid, joined([p for g in groups for p in g]))
    normal = np.concatenate([w.normal for w in own])
    first = len(own[0].area)
    moved = _squeezed(body, normal, first)
    even = _evenly(body, own)
    ends = np.cumsum([len(g) for g in groups])[:-1]
    walls_by, _, at_bores, at_top, at_foot, *rest = np.split(moved, ends)
    width = float(np.average(walls_by[first:], weights=own[1].area))
    out = [Release("", (0.0, width), 0.0, 0.0, _from_flat(top, at_top))]
    reads = np.stack([-at_bores.reshape(-1, 4), -np.split(even, ends)[2].reshape(-1, 4)])
    # the radius changes by a cos 2θ + b sin 2θ, whose means over the circle are a/2 and b/2
    oval = 8 * np.hypot(reads[..., 2], reads[..., 3]).max(axis=0)
    for f, u, o in zip(bores, reads[0], oval, strict=True):
        out.append(Release(f.name, (float(u[0]), float(u[1])), float(o), 0.0))
    for (f, q), u in zip(others, rest, strict=True):
        out.append(_of_face(f, q, u, under, at_foot) if f.kind == "face" else _of_wall(f, u))
    return out


def _one_by_one(points: Floats) -> list[Patch]:
    """Each point's motion up."""
    return [(p[None, :], np.array([0.0, 0.0, 1.0]), np.ones(1)) for p in points]


def _as_one(points: Floats) -> list[Patch]:
    """The points' mean motion along X and along Y."""
    return [(points, way, np.ones(len(points))) for way in (np.array([1.0, 0, 0]), np.array([0, 1.0, 0]))]


def _own_points(f: MadeFeature, part: Part, hold: Hold) -> Floats:
    """Points (k, 3) of a face, spread over it, or of a milled wall at two heights; none where no metal is."""
    run = np.array([p[:2] for p in f.path], dtype=float)
    if not len(run):
        return np.zeros((0, 3))
    thin = 1e-3 * (hold.part_top - hold.floor)
    if f.kind == "face":
        level = min(max(f.bottom, hold.floor + thin), hold.part_top)
        shape = cut_at(part, hold, level - thin)
        return _upper(shape.intersection(MultiPoint(run).convex_hull), level)
    top, low = min(f.center[2], hold.part_top), max(f.bottom, hold.floor)
    found = []
    for k in (0.25, 0.75):
        z = low + k * (top - low)
        near = cut_at(part, hold, z).buffer(NEAR_WALL)
        own = run[within(near)(run[:, 0], run[:, 1])] if not near.is_empty else run[:0]
        found.append(np.column_stack([own, np.full(len(own), z)]))
    return np.concatenate(found)


def _of_wall(f: MadeFeature, moved: Floats) -> Release:
    return Release(f.name, (float(-moved[0]), float(-moved[1])), 0.0, 0.0)


def _of_face(f: MadeFeature, points: Floats, up: Floats, under: Floats, foot: Floats) -> Release:
    """A face that was cut flat, against the underside as it is when the vise is open."""
    rise = -up
    if len(under) >= 3:
        plane = np.column_stack([np.ones(len(under)), under[:, :2]])
        lies = np.linalg.lstsq(plane, -foot, rcond=None)[0]
        rise = rise - np.column_stack([np.ones(len(points)), points[:, :2]]) @ lies
    flat = _from_flat(points, -up)
    return Release(
        f.name, (0.0, 0.0), 0.0, 0.0, bulge=flat, rise=float(rise.mean()), slant=float(np.ptp(rise))
    )


def _upper(shape: BaseGeometry, z: float) -> Floats:
    """Points (k, 3) spread over the upper face, off its edges."""
    x0, y0, x1, y1 = shape.bounds if not shape.is_empty else (0.0, 0.0, 1.0, 1.0)
    p = dots(x0, x1, y0, y1, SPREAD)
    p = p[within(shape)(p[:, 0], p[:, 1])]
    return np.column_stack([p, np.full(len(p), z)])


def _from_flat(points: Floats, rise: Floats) -> float:
    """How far points of a face are from flat after they rose so [mm/N]: a plane through them is taken off."""
    if len(points) < 4:
        return 0.0
    plane = np.column_stack([np.ones(len(points)), points[:, :2]])
    rest = rise - plane @ np.linalg.lstsq(plane, rise, rcond=None)[0]
    return float(np.ptp(rest))


def _evenly(body: Condensed, own: Sequence[Walls]) -> Floats:
    """Motion of all patches per newton when both walls press evenly, as walls that give do; for shape only.

    Stiff flat walls press less where a bore makes the part soft: the truth lies between. What the walls'
    places leave unbalanced is made up with the least change of the forces, friction's hold among them.
    """
    load = np.zeros(len(body.compliance))
    area = np.concatenate([w.area for w in own])
    first = 0
    for w in own:
        n = len(w.area)
        load[first : first + n] = w.area / (w.area @ np.abs(w.normal[:, 1]))
        first += n
    weight = np.zeros(len(load))
    weight[:first], weight[first : first + 3] = area, area.sum()
    arms = body.rigid * np.sqrt(weight)[:, None]
    load -= np.sqrt(weight) * (arms @ np.linalg.lstsq(arms.T @ arms, body.rigid.T @ load, rcond=1e-10)[0])
    return np.asarray(body.compliance @ load)


def _bores(hold: Hold) -> list[MadeFeature]:
    return [f for f in hold.features if f.diameter is not None and f.kind in ("bore", "ream", "drill")]


def _friction(pushed: Sequence[Patch], first: int) -> list[Patch]:
    """What only friction on the walls holds: along X all over, and up at the left and right half; then along
    X at each jaw, for the walls that do not balance the clamp by themselves."""
    p = np.concatenate([p for p, _, _ in pushed])
    left = p[:, 0] <= np.median(p[:, 0])
    x, z = np.array([1.0, 0.0, 0.0]), np.array([0.0, 0.0, 1.0])
    jaws = [np.concatenate([p for p, _, _ in side]) for side in (pushed[:first], pushed[first:])]
    held = ((p, x), (p[left], z), (p[~left], z), (jaws[0], x), (jaws[1], x))
    return [(q, d, np.ones(len(q))) for q, d in held]


def _squeezed(body: Condensed, normal: Floats, first: int) -> Floats:
    """Motion of all patches per newton; the first ``first`` patches lie on the fixed wall, which is still.

    Walls that leave the clamp's couple to friction (a corner or a round end against a slanted wall) are held
    along X at either jaw. Raises ``geometry`` when the part turns away even so.
    """
    n = len(normal)
    for friction in ((n, n + 1, n + 2), (n + 1, n + 2, n + 3, n + 4)):
        forces, motion, held = _held(body, normal, first, friction)
        if float(np.abs(motion[3:6]).max()) <= TURNS:
            return np.asarray(body.compliance[:, held] @ forces + body.rigid @ motion[:6]) / LOAD
    raise JawrightError(
        "geometry",
        what="the walls do not balance the clamp: the part turns between them",
        where="spring of the part",
        todo="choose another turn",
    )


def _held(
    body: Condensed, normal: Floats, first: int, friction: tuple[int, ...]
) -> tuple[Floats, Floats, list[int]]:
    """Forces [N] at the walls' patches and at those of friction, the motions, and which patches they are."""
    walls_of = len(normal)
    held = [*range(walls_of), *friction]
    closing = np.zeros((len(held), 1))  # of the floating wall along +Y: into the part is against its normal
    closing[first:walls_of, 0] = normal[first:, 1]
    problem = gap.Problem(
        body.compliance[np.ix_(held, held)],
        np.zeros(len(held)),
        np.column_stack([body.rigid[held], closing]),
        np.diag([*SOFT, 0.0]),
        np.array([*np.zeros(6), LOAD]),
        np.arange(len(held)) >= walls_of,
    )
    got = gap.solve(problem)
    return got.force, got.motion, held


def _final(f: MadeFeature, bores: Sequence[MadeFeature]) -> float:
    """Diameter of the hole that is there in the end: a pilot is gone when the bore about it is cut [mm]."""
    return max(
        b.diameter for b in bores if b.diameter is not None and math.dist(b.center[:2], f.center[:2]) < 0.01
    )


def _reads(f: MadeFeature, diameter: float) -> list[Patch]:
    """What is read of a bore at two heights: mean move along X and Y, its radius by cos 2θ and sin 2θ."""
    a = 2 * math.pi * np.arange(ROUND) / ROUND
    top, bottom = f.center[2], max(f.bottom, f.center[2] - 4 * diameter)
    out = np.column_stack([np.cos(a), np.sin(a), 0 * a])
    plan = np.array([f.center[0], f.center[1], 0.0]) + diameter / 2 * out
    levels = [np.array([0.0, 0.0, top + k * (bottom - top)]) for k in (0.25, 0.75)]
    points = np.concatenate([plan + level for level in levels])
    a, out = np.tile(a, 2)[:, None], np.tile(out, (2, 1))
    ones = np.ones(len(points))
    ways = (np.array([1.0, 0, 0]), np.array([0, 1.0, 0]), out * np.cos(2 * a), out * np.sin(2 * a))
    return [(points, way, ones) for way in ways]


def sliced(hold: Hold, part: Part, work: Material, coarser: float = 1.0) -> Solid:
    """The finished part as it stands in the vise, meshed from its slabs.

    Raises ``geometry`` when no metal stands above the floor.
    """
    low, high = hold.floor, hold.part_top
    tall = max(1.5, min(4.0, (high - low) / 4))
    heights = crowded(low, high, tall, (), coarser, keys=level_keys(part, hold, low, high))
    found = slabs(part, hold)
    shapes = [shape for _, _, shape in found]
    cuts = [Cut(2, outside(shape), a, b) for a, b, shape in found]
    bounds = np.array([s.bounds for s in shapes if not s.is_empty])
    (x0, y0), (x1, y1) = bounds[:, :2].min(axis=0), bounds[:, 2:].max(axis=0)
    largest = max(shapes, key=lambda q: q.area)
    size, layers = _cell(largest, len(heights) - 1), len(heights) - 1
    bores = _bores(hold)
    solid = largest.area / ((x1 - x0) * (y1 - y0))
    near = NEAR
    while True:
        lines = [
            crowded(
                a,
                b,
                size,
                [(f.center[k], near * _final(f, bores)) for f in bores],
                coarser,
                keys=wall_keys(shapes, k, a, b),
            )
            for k, (a, b) in enumerate(((x0, x1), (y0, y1)))
        ]
        count = (len(lines[0]) - 1) * (len(lines[1]) - 1) * layers * solid
        if count <= MOST_NEAR or near >= 1.0:  # many bores share what cells there are
            return build((*lines, heights), cuts, E=work.E, nu=work.nu)
        near *= 1.2


def _cell(shape: BaseGeometry, layers: int) -> float:
    """Edge of the cells in plan away from bores [mm]: half the usual wall, within the count."""
    x0, y0, x1, y1 = shape.bounds
    wall = 2 * shape.area / shape.length  # of a ring: its thickness
    want = min((x1 - x0) / 8, (y1 - y0) / 4, wall / 2)
    return float(max(want, math.sqrt(shape.area * layers / MOST_CELLS)))
