"""What the part does when the vise opens, by finite elements on its own solid.

The finished part, sliced from its model, is pressed between both walls, cut even and stiff; what gives is
the part. Letting go is the same with the other sign: each bore moves and goes oval.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import lru_cache
from itertools import pairwise

import numpy as np
from shapely.geometry.base import BaseGeometry

from jawright.beside import one_thread
from jawright.errors import JawrightError
from jawright.handbook import Material
from jawright.hold.model import Hold, MadeFeature
from jawright.jaws.model import Jaws
from jawright.mechanics import gap
from jawright.mechanics.condense import Condensed, condense, joined
from jawright.mechanics.solid import Bools, Cut, Floats, Solid, build
from jawright.part.model import Part
from jawright.proof.body import part_material
from jawright.proof.elastic_shape import graded, within
from jawright.proof.elastic_walls import Patch, Walls, wall_patches, walls
from jawright.proof.metal import cut_at

SOURCE = "linear elasticity, 20-node bricks on the sliced solid; one-sided contact (Conry and Seireg 1971)"
ROUND = 12
"""Points round a bore, at each of two heights."""
MOST_CELLS = 400
COARSER = 1.5
"""Cells are that much longer on the mesh that tells the error."""
SOFT = np.array([1e-3, 1e-3, 1e-3, 1.0, 1.0, 1.0])
"""Springs [N/mm, N·mm/rad] that keep the part where the walls leave it free; the load is 1 kN."""
LOAD = 1000.0


@dataclass(frozen=True, slots=True)
class Release:
    """Change of one feature when the vise opens, per newton of clamp force.

    ``move`` (x, y) [mm/N] against the wall on the fixed jaw; ``oval`` difference of the largest and the
    smallest diameter [mm/N]; ``error`` of the worse of them by the mesh [mm/N].
    """

    feature: str
    move: tuple[float, float]
    oval: float
    error: float


def releases(hold: Hold, jaws: Jaws | None, part: Part | None, material: str) -> tuple[Release, ...] | None:
    """Release of every bore made here, and first of the width between the jaws ("": ``move`` along Y).

    None without a solid, a material of the handbook or a wall of both jaws, or when the part cannot be cut.
    """
    if not isinstance(part, Part) or not part.shape:
        return None
    return _releases(hold, jaws, part, material)


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
            fine, coarse = (_once(hold, part, own, work, k) for k in (1.0, COARSER))
    except JawrightError:
        return None  # the part cannot be cut or falls apart; closed forms stand in
    return tuple(
        Release(f.feature, f.move, f.oval, _far(f, c) / (COARSER - 1))
        for f, c in zip(fine, coarse, strict=True)
    )


def _far(a: Release, b: Release) -> float:
    return max(math.dist(a.move, b.move), abs(a.oval - b.oval))


def _once(hold: Hold, part: Part, own: Sequence[Walls], work: Material, coarser: float) -> list[Release]:
    solid = sliced(hold, part, work, coarser)
    pushed: list[Patch] = [(p, -n, w) for one in own for p, n, w in wall_patches(one)]
    bores = [f for f in hold.features if f.diameter is not None and f.kind in ("bore", "ream", "drill")]
    parts = [*pushed, *_friction(pushed), *(p for f in bores for p in _reads(f, _final(f, bores)))]
    body = condense(solid, joined(parts))
    normal = np.concatenate([w.normal for w in own])
    first = len(own[0].area)
    moved = _squeezed(body, normal, first)
    width = float(np.average(moved[first : len(pushed)], weights=own[1].area))
    out = [Release("", (0.0, width), 0.0, 0.0)]
    for f, u in zip(bores, -moved[len(pushed) + 3 :].reshape(-1, 4), strict=True):
        # the radius changes by a cos 2θ + b sin 2θ, whose means over the circle are a/2 and b/2
        out.append(Release(f.name, (float(u[0]), float(u[1])), 8 * math.hypot(float(u[2]), float(u[3])), 0.0))
    return out


def _friction(pushed: Sequence[Patch]) -> list[Patch]:
    """What only friction on the walls holds: along X all over, and up at the left and right half."""
    p = np.concatenate([p for p, _, _ in pushed])
    left = p[:, 0] <= np.median(p[:, 0])
    x, z = np.array([1.0, 0.0, 0.0]), np.array([0.0, 0.0, 1.0])
    return [(q, d, np.ones(len(q))) for q, d in ((p, x), (p[left], z), (p[~left], z))]


def _squeezed(body: Condensed, normal: Floats, first: int) -> Floats:
    """Motion of all patches per newton; the first ``first`` patches lie on the fixed wall, which is still."""
    walls_of, n = len(normal), len(normal) + 3
    closing = np.zeros((n, 1))  # of the floating wall along +Y: against the outward normal is into the part
    closing[first:walls_of, 0] = normal[first:, 1]
    problem = gap.Problem(
        body.compliance[:n, :n],
        np.zeros(n),
        np.column_stack([body.rigid[:n], closing]),
        np.diag([*SOFT, 0.0]),
        np.array([*np.zeros(6), LOAD]),
        np.arange(n) >= walls_of,
    )
    got = gap.solve(problem)
    return np.asarray(body.compliance[:, :n] @ got.force + body.rigid @ got.motion[:6]) / LOAD


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
    """The finished part as it stands in the vise, meshed: a prism for every half cell of its height."""
    holes = [
        f.diameter for f in hold.features if f.diameter is not None and f.kind in ("bore", "ream", "drill")
    ]
    low, high = hold.floor, hold.part_top
    heights = graded((low, high), (max(1.5, min(4.0, (high - low) / 4)),), coarser)
    cuts, shapes = [], []
    for a, b in pairwise(heights):
        for c, d in ((a, (a + b) / 2), ((a + b) / 2, b)):
            shape = cut_at(part, hold, c + 0.503 * (d - c))
            shapes.append(shape)
            cuts.append(Cut(2, _outside(shape), c, d))
    bounds = np.array([s.bounds for s in shapes if not s.is_empty])
    if not len(bounds):
        raise JawrightError("geometry", what="the part has no metal above the floor", where="part")
    (x0, y0), (x1, y1) = bounds[:, :2].min(axis=0), bounds[:, 2:].max(axis=0)
    size = _cell(max(shapes, key=lambda q: q.area), len(heights) - 1, holes) * coarser
    lines = (graded((x0, x1), (size,)), graded((y0, y1), (size,)), heights)
    return build(lines, cuts, E=work.E, nu=work.nu)


def _cell(shape: BaseGeometry, layers: int, holes: Sequence[float]) -> float:
    """Edge of the cells in plan [mm]: a third of the smallest bore, half the usual wall, within the count."""
    x0, y0, x1, y1 = shape.bounds
    wall = 2 * shape.area / shape.length  # of a ring: its thickness
    want = min([(x1 - x0) / 8, (y1 - y0) / 4, wall / 2, *(max(d, 6.0) / 3 for d in holes)])
    return float(max(want, math.sqrt(shape.area * layers / MOST_CELLS)))


def _outside(shape: BaseGeometry) -> Callable[[Floats, Floats], Bools]:
    inside = within(shape)

    def gone(u: Floats, v: Floats) -> Bools:
        return ~inside(u, v)

    return gone
