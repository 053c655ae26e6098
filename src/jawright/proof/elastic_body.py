"""A jaw as it is cut, and the part in its grip, condensed to the patches that touch something.

Lengths in mm, angles in rad, forces in N, torques in N·m.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
import shapely
from numpy.typing import NDArray

from jawright.geometry.polygon import to_polygon
from jawright.handbook import Material
from jawright.hold.model import Hold
from jawright.jaws.model import Jaw, Jaws
from jawright.mechanics.condense import Condensed, Patches, condense, joined
from jawright.mechanics.solid import Bools, Floats, Solid, build
from jawright.proof.elastic_shape import cuts, dots, graded, grid_lines, hard_jaw, jaw_screw, slot, within
from jawright.proof.elastic_walls import CHORD, Patch, Side, Walls, wall_patches

Ints = NDArray[np.int64]

BACK = 8, 7.5
"""Patches of the back face along the jaw, and their greatest height above the vise's metal [mm]."""
EDGE = 2.0, 1.5, 12.0
"""Height of the patches at the top of the vise's metal, growth and greatest height further down [mm].

The pressure of a one-sided backing peaks at that edge: with even rows 7 mm high the taper came out 11 %
too large against a general program's contact, with these 1 %.
"""
THIN = 1.0
"""A strip of the back face lower than this [mm] above the vise's metal is left out."""
FRONT = 16.0, 5.5
"""Longest spacing of the spacer patches along the jaw and up it [mm]."""
LITTLE = 0.1
"""A tent with less metal under it than this share is left out."""
FINE = 1.0
COARSE = 1.6
"""Coarser mesh from which the error of the finer one is told."""


@dataclass(frozen=True, slots=True, eq=False)
class Front:
    """Tents over the front face of a jaw, between which any spacer's force is spread.

    ``x`` (nx,) and ``z`` (nz,) are their tops [mm], ``at`` (nx, nz) their patch, -1 where no metal is.
    """

    x: Floats
    z: Floats
    at: Ints


@dataclass(frozen=True, slots=True, eq=False)
class JawBody:
    """One jaw condensed to m patches: first those of its walls, then the rest as listed.

    ``away`` is +1 where the part pushes the jaw toward +Y. ``backing`` lies on the vise's own metal,
    ``above`` is the rest of the back face; ``screws`` are the seats of the screw heads, ``anchors``
    hold what only friction holds: along X, and up at both ends. ``points`` and ``directions`` (m, 3).
    """

    side: Side
    away: float
    body: Condensed
    walls: Walls
    points: Floats
    directions: Floats
    backing: Ints
    above: Ints
    screws: Ints
    anchors: Ints
    front: Front
    screw_spring: float  # of one screw [N/mm]
    screw_preload: tuple[float, float, float]  # of one screw [N], low, set, high
    unknowns: int


def jaw_body(
    hold: Hold, jaws: Jaws | None, side: Side, material: Material, *, wall: Walls, coarser: float = FINE
) -> JawBody:
    """Mesh one jaw with its pocket, wells, bolt slots and counterbores, and condense it."""
    solid, parts, places, front, screw = _jaw_mesh(hold, jaws, side, material, wall=wall, coarser=coarser)
    return JawBody(
        side, 1.0 if side == "fixed" else -1.0, condense(solid, joined(parts)), wall,
        np.array([np.average(p, axis=0, weights=w) for p, _, w in parts]),
        np.array([d for _, d, _ in parts]),
        places[0], places[1], places[2], np.concatenate(places[3:]), front,
        *screw, solid.unknowns,
    )  # fmt: skip


def jaw_mesh(
    hold: Hold, jaws: Jaws | None, side: Side, material: Material, *, wall: Walls
) -> tuple[Solid, Patches]:
    """The mesh of one jaw and the patches that ``jaw_body`` condenses it to, in the same order."""
    solid, parts, *_ = _jaw_mesh(hold, jaws, side, material, wall=wall, coarser=FINE)
    return solid, joined(parts)


def _jaw_mesh(
    hold: Hold, jaws: Jaws | None, side: Side, material: Material, *, wall: Walls, coarser: float
) -> tuple[Solid, list[Patch], list[Ints], Front, tuple[float, tuple[float, float, float]]]:
    jaw = (jaws.fixed if side == "fixed" else jaws.floating) if jaws else hard_jaw(hold, side)
    away = 1.0 if side == "fixed" else -1.0
    front_y, back_y = (jaw.y0, jaw.y1) if side == "fixed" else (jaw.y1, jaw.y0)
    seat_y = front_y + away * jaw.blank.counterbore_depth
    solid = build(
        grid_lines(jaws, jaw, wall, coarser=coarser),
        cuts(jaws, jaw, front_y=front_y, seat_y=seat_y),
        E=material.E,
        nu=material.nu,
    )
    toward = np.array([0.0, away, 0.0])
    backed = min(hold.vise.body_height, jaw.height)
    backing = _back(jaw, hold, back_y, _rows_down(backed))
    rest = jaw.height - backed
    rows = np.linspace(backed, jaw.height, max(1, math.ceil(rest / BACK[1])) + 1)
    above = _back(jaw, hold, back_y, rows) if rest > THIN else []
    every = np.concatenate(backing)
    left = every[:, 0] <= every[:, 0].mean()
    parts: list[Patch] = wall_patches(wall)
    places = []
    for group, direction in (
        (backing, -toward),
        (above, -toward),
        (_seats(jaw, seat_y), toward),
        ([every], np.array([1.0, 0.0, 0.0])),
        ([every[left], every[~left]], np.array([0.0, 0.0, 1.0])),
    ):
        places.append(np.arange(len(parts), len(parts) + len(group)))
        parts += [(p, direction, np.ones(len(p))) for p in group]
    front, tops = _front(jaws, jaw, front_y, first=len(parts))
    parts += [(p, toward, w) for p, w in tops]
    return solid, parts, places, front, jaw_screw(hold.vise, abs(back_y - seat_y))


def _rows_down(top: float) -> Floats:
    """Heights (n,) of the rows from 0 up to ``top``: low ones at the top."""
    size, growth, most = EDGE
    down = [0.0]
    while down[-1] < top:
        down.append(down[-1] + size)
        size = min(size * growth, most)
    if len(down) > 2 and top - down[-2] < (down[-1] - down[-2]) / 2:
        down.pop()
    down[-1] = top
    return top - np.array(down[::-1])


def _back(jaw: Jaw, hold: Hold, back_y: float, z: Floats) -> list[Floats]:
    """Patches of the back face between the heights ``z``, less the bolt slots."""
    half = min(hold.vise.jaw_width / 2, max(abs(jaw.x0), abs(jaw.x1)))
    x = np.linspace(max(jaw.x0, -half), min(jaw.x1, half), BACK[0] + 1)
    b = jaw.blank
    gone = shapely.union_all([slot(bx, bz, b.bolt_hole, b.slot_length) for bx, bz in jaw.bolts])
    out = []
    for x0, x1 in pairwise(x):
        for z0, z1 in pairwise(z):
            p = dots(x0, x1, z0, z1, 5)
            p = p[~shapely.contains_xy(gone, p[:, 0], p[:, 1])]
            if len(p) >= 5:
                out.append(np.stack([p[:, 0], np.full(len(p), back_y), p[:, 1]], axis=1))
    return out


def _seats(jaw: Jaw, seat_y: float) -> list[Floats]:
    """Rings of points under the screw heads."""
    b = jaw.blank
    r = (b.bolt_hole + b.counterbore) / 4
    gone = [slot(x, z, b.bolt_hole, b.slot_length) for x, z in jaw.bolts]
    a = 2 * math.pi * (np.arange(24) + 0.5) / 24
    out = []
    for (x, z), hole in zip(jaw.bolts, gone, strict=True):
        px, pz = x + r * np.cos(a), z + r * np.sin(a)
        keep = ~shapely.contains_xy(hole, px, pz)
        out.append(np.stack([px[keep], np.full(int(keep.sum()), seat_y), pz[keep]], axis=1))
    return out


def _front(
    jaws: Jaws | None, jaw: Jaw, front_y: float, *, first: int
) -> tuple[Front, list[tuple[Floats, Floats]]]:
    """The tents and their points and weights; numbered from ``first``."""
    if jaws is None:  # hard jaws are not cut, so no spacers stand between them
        return Front(np.zeros(0), np.zeros(0), np.zeros((0, 0), dtype=np.int64)), []
    b = jaws.pocket.outer.box
    x = graded((jaw.x0, max(jaw.x0, b[0]), min(jaw.x1, b[2]), jaw.x1), (FRONT[0],) * 3)
    z = graded((0.0, jaws.floor, jaw.height), (FRONT[1],) * 2)
    fx, sx = _probes(x)
    fz, sz = _probes(z)
    wx, wz = tents(x, fx) * sx[:, None], tents(z, fz) * sz[:, None]
    u, v = np.meshgrid(fx, fz, indexing="ij")
    metal = front_metal(jaws, jaw)(u.ravel(), v.ravel()).reshape(u.shape)
    at = np.full((len(x), len(z)), -1, dtype=np.int64)
    out: list[tuple[Floats, Floats]] = []
    for i, k in np.ndindex(at.shape):
        w = wx[:, i, None] * wz[None, :, k] * metal
        if w.sum() > LITTLE * wx[:, i].sum() * wz[:, k].sum():
            keep = w > 0
            at[i, k] = first + len(out)
            out.append((np.stack([u[keep], np.full(int(keep.sum()), front_y), v[keep]], axis=1), w[keep]))
    return Front(x, z, at), out


def _probes(lines: Floats) -> tuple[Floats, Floats]:
    """Three places between each two lines, and the length each stands for."""
    d = np.diff(lines)
    return (lines[:-1, None] + d[:, None] * (np.arange(3) + 0.5) / 3).ravel(), np.repeat(d / 3, 3)


def front_metal(jaws: Jaws, jaw: Jaw) -> Callable[[Floats, Floats], Bools]:
    """Tells where the front face of a jaw has metal, for points (x, z)."""
    pocket = to_polygon(jaws.pocket, CHORD)
    y = jaw.y0 + 1e-3 if jaw.side == "fixed" else jaw.y1 - 1e-3
    holes = shapely.union_all(
        [slot(x, z, jaw.blank.counterbore, jaw.blank.slot_length) for x, z in jaw.bolts]
    )
    if jaw.blank.counterbore_depth <= 0:
        holes = shapely.union_all(
            [slot(x, z, jaw.blank.bolt_hole, jaw.blank.slot_length) for x, z in jaw.bolts]
        )
    wells = [(within(to_polygon(w.region, CHORD)), w.bottom, w.top) for w in jaws.wells]

    def metal(x: Floats, z: Floats) -> Bools:
        gone = shapely.contains_xy(holes, x, z) | (
            (z > jaws.floor) & (z < jaws.top + 1.0) & shapely.contains_xy(pocket, x, np.full_like(x, y))
        )
        for inside, low, high in wells:
            gone |= inside(x, np.full_like(x, y)) & (z > low) & (z < high)
        return np.asarray(~gone)

    return metal


def tents(nodes: Floats, at: Floats) -> Floats:
    """Linear interpolation weights (k, n) of ``nodes`` (n,) at places ``at`` (k,)."""
    i = np.clip(np.searchsorted(nodes, at, side="right") - 1, 0, len(nodes) - 2)
    t = np.clip((at - nodes[i]) / (nodes[i + 1] - nodes[i]), 0.0, 1.0)
    out = np.zeros((len(at), len(nodes)))
    k = np.arange(len(at))
    out[k, i] = 1 - t
    out[k, i + 1] = t
    return out
