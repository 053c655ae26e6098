"""The part as it is clamped, meshed from its own solid and condensed to the wall patches that touch it.

It is sliced: pockets, webs and steps of the first side are as the model has them. What this operation
makes is still there, since the contact that holds the part comes about before anything is cut.

Lengths in mm, angles in rad, forces in N, torques in N·m.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry

from jawright.errors import JawrightError
from jawright.geometry.polygon import to_polygon
from jawright.handbook import Material
from jawright.hold.model import Hold
from jawright.mechanics.condense import Condensed, Patches, condense, joined
from jawright.mechanics.solid import Bools, Cut, Floats, Solid, build
from jawright.part.model import Part
from jawright.proof.elastic_grid import APART, crowded, level_keys, slabs, wall_keys
from jawright.proof.elastic_shape import outside
from jawright.proof.elastic_walls import ROWS, Patch, Walls, wall_patches
from jawright.proof.metal import CHORD, metal

HIGH = 3.6, 7.0
"""Cells up the part: within the grip and above it [mm]."""
LONG = 9.0
"""Longest cell in plan [mm]."""
MOST_CELLS = 400
INSIDE = 0.5
"""This far behind a wall patch the part has metal where the wall can press it [mm] ..."""
LEAST = 0.5
"""... over this share of the patch."""


@dataclass(frozen=True, slots=True, eq=False)
class Slab:
    """The part between two heights [mm], taken as a prism of its section halfway up."""

    low: float
    high: float
    shape: BaseGeometry


@dataclass(frozen=True, slots=True, eq=False)
class Sliced:
    """The clamped part as slabs from its floor up; ``own`` False: a prism of its section stands in."""

    slabs: tuple[Slab, ...]
    top: float  # of the gripped walls [mm]
    levels: tuple[float, ...]  # heights of its level faces and of ``top``, rising
    own: bool

    def number(self, z: float) -> int:
        """Number of the slab at a height [mm]; the nearest beyond both ends."""
        return min(
            range(len(self.slabs)), key=lambda k: max(self.slabs[k].low - z, z - self.slabs[k].high, 0.0)
        )


def clamped(
    hold: Hold, part: Part | None, walls_of: Sequence[Walls], material: Material, *, coarser: float = 1.0
) -> tuple[Sliced, Condensed]:
    """The part condensed to the wall patches of both jaws, then its anchors x, z left, z right.

    Where its solid cannot be cut, or falls apart, a prism of its section in the grip stands in.
    Raises ``value-bad`` when that falls apart too.
    """
    if isinstance(part, Part) and part.shape:
        try:
            own = sliced(hold, part, walls_of)
            return own, condense(*part_mesh(own, walls_of, material, coarser=coarser))
        except JawrightError:
            pass  # said by ``Sliced.own``
    whole = prism(hold, part, walls_of)
    return whole, condense(*part_mesh(whole, walls_of, material, coarser=coarser))


def sliced(hold: Hold, part: Part, walls_of: Sequence[Walls]) -> Sliced:
    """Slice the part from the floor to its upper stock. Raises ``geometry`` when it cannot be cut."""
    return _sliced(hold, part, *_reach(hold, walls_of))


def prism(hold: Hold, part: Part | None, walls_of: Sequence[Walls]) -> Sliced:
    """The part as a prism of its fullest section in the grip. Raises as ``sliced``."""
    top, high = _reach(hold, walls_of)
    return Sliced(
        (Slab(hold.floor, high, metal(hold, part).shape),), top, (top,) if top < high else (), False
    )


def _reach(hold: Hold, walls_of: Sequence[Walls]) -> tuple[float, float]:
    """Upper end of the gripped walls and of the part with its stock [mm]."""
    top = max(float(w.middle[:, 2].max()) for w in walls_of) + walls_of[0].depth / (2 * ROWS)
    return top, max(hold.part_top + hold.stock, top)


def _sliced(hold: Hold, part: Part, top: float, high: float) -> Sliced:
    low = hold.floor
    faces = [z for z in level_keys(part, hold, low, high) if abs(z - top) > APART]
    levels = tuple(sorted([*faces, top])) if top < high - APART else tuple(faces)
    own = slabs(part, hold)
    found = [Slab(a, b, _filled(shape, hold, (a + b) / 2)) for a, b, shape in own]
    if high > own[-1][1]:  # the stock on its top
        found.append(Slab(own[-1][1], high, found[-1].shape))
    return Sliced(tuple(found), top, levels, True)


def _heights(low: float, levels: Sequence[float], top: float, high: float, coarser: float = 1.0) -> Floats:
    """Grid lines through the levels, closer together within the grip."""
    lines = [low]
    for a, b in pairwise([low, *levels, high]):
        size = HIGH[0] if b < top + APART else HIGH[1]
        n = max(1, math.ceil((b - a) / (size * coarser) - 1e-9))
        lines += [a + (b - a) * k / n for k in range(1, n + 1)]
    return np.array(lines)


def _filled(shape: BaseGeometry, hold: Hold, z: float) -> BaseGeometry:
    """A section with what this operation takes out of it put back."""
    back = []
    for f in hold.features:
        if not f.bottom < z < f.center[2] + CHORD:
            continue
        if f.diameter is not None and f.kind in ("drill", "bore", "ream"):
            back.append(shapely.Point(f.center[:2]).buffer(f.diameter / 2 + 2 * CHORD, quad_segs=32))
        elif f.region is not None and f.kind in ("pocket", "slot"):
            back.append(to_polygon(f.region, CHORD))
    if not back:
        return shape
    inside = to_polygon(hold.outline.outer, CHORD)
    return shapely.union_all([shape, *(b.intersection(inside) for b in back)])


def part_mesh(
    part: Sliced, walls_of: Sequence[Walls], material: Material, *, coarser: float = 1.0
) -> tuple[Solid, Patches]:
    """The mesh of the part and the patches that ``clamped`` condenses it to, in the same order."""
    bounds = np.array([s.shape.bounds for s in part.slabs if not s.shape.is_empty])
    (x0, y0), (x1, y1) = bounds[:, :2].min(axis=0), bounds[:, 2:].max(axis=0)
    z = _heights(part.slabs[0].low, part.levels, part.top, part.slabs[-1].high, coarser)
    size = _cell(part, x1 - x0, y1 - y0, len(z) - 1)
    shapes = [s.shape for s in part.slabs]
    lines = [
        crowded(a, b, size, (), coarser, keys=wall_keys(shapes, k, a, b))
        for k, (a, b) in enumerate(((x0, x1), (y0, y1)))
    ]
    cuts = [Cut(2, outside(s.shape), s.low, s.high) for s in part.slabs]
    solid = build((*lines, z), cuts, E=material.E, nu=material.nu)
    pushed: list[Patch] = [(p, -n, s) for w in walls_of for p, n, s in wall_patches(w)]
    return solid, joined([*pushed, *held_by_friction(pushed)])


def held_by_friction(pushed: Sequence[Patch]) -> list[Patch]:
    """What only friction on the walls holds: along X all over, and up at the left and right half."""
    p = np.concatenate([p for p, _, _ in pushed])
    left = p[:, 0] <= np.median(p[:, 0])
    x, z = np.array([1.0, 0.0, 0.0]), np.array([0.0, 0.0, 1.0])
    return [(q, d, np.ones(len(q))) for q, d in ((p, x), (p[left], z), (p[~left], z))]


def _cell(part: Sliced, long: float, wide: float, layers: int) -> float:
    """Edge of the cells in plan [mm]: half the usual wall of the thinnest section, within the count."""
    wall = min(2 * s.shape.area / s.shape.length for s in part.slabs if not s.shape.is_empty)
    most = max(s.shape.area for s in part.slabs)
    want = min(LONG, long / 7, wide / 3, wall / 2)
    return float(max(want, math.sqrt(most * layers / MOST_CELLS)))


def bare(part: Sliced, walls_of: Sequence[Walls]) -> Bools:
    """Wall patches (W,) of both jaws behind which the part has no metal: a window or step in its wall.

    Never all of a jaw: where the slices meet none of its walls they tell nothing.
    """
    out = []
    for w in walls_of:
        probes = wall_patches(w)
        q = np.concatenate([p - INSIDE * n for p, n, _ in probes])
        met = np.zeros(len(q), dtype=bool)
        own = np.array([part.number(z) for z in q[:, 2]])
        for k in np.unique(own):
            shape, here = part.slabs[k].shape, own == k
            met[here] = shapely.contains_xy(shape, q[here, 0], q[here, 1])
        share = met.reshape(len(probes), -1).mean(axis=1)
        found = share >= LEAST
        out.append(~found if found.any() else np.zeros(len(found), dtype=bool))
    return np.concatenate(out)
