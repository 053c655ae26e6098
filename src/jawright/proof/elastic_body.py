"""A jaw as it is cut, and the part in its grip, condensed to the patches that touch something."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import Literal

import numpy as np
import shapely
from numpy.typing import NDArray

from jawright import handbook
from jawright.geometry.curve import Curve, right_normal
from jawright.geometry.polygon import to_polygon
from jawright.handbook import Material
from jawright.hold.model import Hold
from jawright.jaws.model import Jaw, Jaws
from jawright.mechanics.condense import Condensed, condense, joined
from jawright.mechanics.solid import Bools, Cut, Floats, build
from jawright.proof.body import HARD_JAW
from jawright.proof.rules import rule
from jawright.shop.model import Blank, Vise

Side = Literal["fixed", "floating"]
Patch = tuple[Floats, Floats, Floats]

CHORD = 0.02
ROWS = 3
"""Wall patches over the grip depth."""
RUN = 7.0
"""Longest wall patch along the wall [mm]."""
BACK = (8, 6)
"""Backing patches along the jaw and up it."""
FRONT = 16.0, 5.5
"""Longest spacing of the spacer patches along the jaw and up it [mm]."""
BEHIND = 0.3
"""This far behind a wall there must be metal [mm] ..."""
MOST = 0.9
"""... over this share of its area."""
FINE = 1.0
COARSE = 1.6
"""Coarser mesh from which the error of the finer one is told."""


@dataclass(frozen=True, slots=True, eq=False)
class Walls:
    """W patches of a jaw's walls: ``middle`` (W, 3), ``normal`` (W, 3) out of the part, ``area`` (W,)."""

    middle: Floats
    normal: Floats
    area: Floats
    length: Floats  # along the wall [mm]
    depth: float  # of the grip [mm]


@dataclass(frozen=True, slots=True, eq=False)
class JawBody:
    """One jaw condensed: patches in the order walls, backing, bolts, anchors, front.

    ``away`` is +1 where the part pushes the jaw toward +Y. Backing, bolt and front patches act along Y:
    ``b*`` slices; ``front_x``, ``front_z`` the nodes of the front grid and ``front_at`` (nx, nz) their
    patch or -1 where no metal is.
    """

    side: Side
    away: float
    body: Condensed
    walls: Walls
    backing: NDArray[np.int64]
    bolts: NDArray[np.int64]
    anchors: NDArray[np.int64]
    points: Floats  # (m, 3) middle of every patch
    directions: Floats  # (m, 3) mean direction of every patch
    bolt_spring: float  # [N/mm] of one bolt
    bolt_preload: tuple[float, float, float]  # [N] each, low, set, high
    front_x: Floats
    front_z: Floats
    front_at: NDArray[np.int64]
    unknowns: int


def walls(hold: Hold, jaws: Jaws | None, side: Side, *, low: float, high: float) -> Walls | None:
    """The walls of one jaw that locate or grip, between two heights; None when there are none."""
    rows = np.linspace(low, high, ROWS + 1)
    middle, normal, area, lengths = [], [], [], []
    for curve in _curves(hold, jaws, side):
        n = max(1, math.ceil(curve.length / RUN))
        for i in range(n):
            t = (i + 0.5) / n
            nx, ny = right_normal(curve, t)
            for a, b in pairwise(rows):
                middle.append((*curve.at(t), (a + b) / 2))
                normal.append((nx, ny, 0.0))
                area.append(curve.length / n * (b - a))
                lengths.append(curve.length / n)
    if not middle:
        return None
    return Walls(np.array(middle), np.array(normal), np.array(area), np.array(lengths), high - low)


def on_metal(jaws: Jaws | None, side: Side, wall: Walls) -> bool:
    """True when there is metal behind the walls, as the pocket leaves it."""
    if jaws is None:
        return True
    jaw = jaws.fixed if side == "fixed" else jaws.floating
    behind = wall.middle + BEHIND * wall.normal
    x, y = behind[:, 0], behind[:, 1]
    good = (x > jaw.x0) & (x < jaw.x1) & (y > jaw.y0) & (y < jaw.y1) & (wall.middle[:, 2] < jaw.height)
    good &= ~shapely.contains_xy(to_polygon(jaws.pocket, CHORD), x, y)
    return float(wall.area[good].sum()) >= MOST * float(wall.area.sum())


def _curves(hold: Hold, jaws: Jaws | None, side: Side) -> list[Curve]:
    if jaws is not None:
        return [c for z in jaws.zones if z.jaw == side and z.purpose in ("locate", "grip") for c in z.curves]
    face, sign = (0.0, 1.0) if side == "fixed" else (-hold.gap, -1.0)
    return [
        c
        for c in hold.outline.outer.curves
        if abs(c.at(0.5)[1] - face) < 0.01 and right_normal(c, 0.5)[1] * sign > 0.999
    ]


def jaw_body(
    hold: Hold, jaws: Jaws | None, side: Side, material: Material, *, wall: Walls, coarser: float = FINE
) -> JawBody:
    """Mesh one jaw with its pocket, wells, bolt slots and counterbores, and condense it."""
    jaw = (jaws.fixed if side == "fixed" else jaws.floating) if jaws else _hard(hold, side)
    away = 1.0 if side == "fixed" else -1.0
    front_y, back_y = (jaw.y0, jaw.y1) if side == "fixed" else (jaw.y1, jaw.y0)
    seat_y = front_y + away * jaw.blank.counterbore_depth
    cuts = _cuts(jaws, jaw, front_y=front_y, seat_y=seat_y)
    lines = _lines(jaws, jaw, hold.vise, wall, coarser=coarser)
    solid = build(lines, cuts, E=material.E, nu=material.nu)
    y = np.array([0.0, 1.0, 0.0])
    parts: list[Patch] = [*_wall_patches(wall)]
    backing = _backing(jaw, hold.vise, back_y)
    parts += [(p, -away * y, w) for p, w in backing]
    parts += [(p, away * y, np.ones(len(p))) for p in _seats(jaw, seat_y)]
    every = np.concatenate([p for p, _ in backing])
    left = every[every[:, 0] <= every[:, 0].mean()]
    right = every[every[:, 0] > every[:, 0].mean()]
    for p, d in ((every, (1.0, 0, 0)), (left, (0, 0, 1.0)), (right, (0, 0, 1.0))):
        parts.append((p, np.array(d), np.ones(len(p))))
    xs, zs, at, front = _front(jaws, jaw, hold, front_y, first=len(parts))
    parts += [(p, away * y, w) for p, w in front]
    at0, at1 = len(wall.area), len(wall.area) + len(backing)
    bolts = len(jaw.bolts)
    spring, preload = _bolt(hold.vise, abs(back_y - seat_y))
    middle = np.array([np.average(p, axis=0, weights=w) for p, _, w in parts])
    direction = np.array([np.broadcast_to(d, p.shape).mean(axis=0) for p, d, _ in parts])
    return JawBody(
        side, away, condense(solid, joined(parts)), wall,
        np.arange(at0, at1), np.arange(at1, at1 + bolts), np.arange(at1 + bolts, at1 + bolts + 3),
        middle, direction, spring, preload, xs, zs, at, solid.unknowns,
    )  # fmt: skip


def _hard(hold: Hold, side: Side) -> Jaw:
    """The vise's own hard jaw: a plain plate with its two screws."""
    v = hold.vise
    screw = handbook.screw(v.bolt)
    thick = rule("hard_jaw_thickness_mm").set
    blank = Blank(
        "hard jaw", HARD_JAW, v.jaw_width, thick, v.hard_jaw_height, v.bolt_spacing, v.bolt_height, 0.0,
        screw.clearance_medium, screw.head_diameter + 1.0, min(screw.head_height, 0.6 * thick), False, 0.0, 0,
    )  # fmt: skip
    y0, y1 = (0.0, thick) if side == "fixed" else (-hold.gap - thick, -hold.gap)
    half = v.jaw_width / 2
    bolts = tuple((s * v.bolt_spacing / 2, v.bolt_height) for s in (-1.0, 1.0))
    return Jaw(side, blank, -half, half, y0, y1, v.hard_jaw_height, bolts)


def _bolt(vise: Vise, grip: float) -> tuple[float, tuple[float, float, float]]:
    """Spring [N/mm] and preload [N] of a jaw screw: one diameter of its length in the thread counts too."""
    thread = handbook.screw(vise.bolt)
    d, area = thread.diameter, thread.stress_area
    stress = rule("jaw_screw_stress_mpa")
    steel = handbook.material(HARD_JAW).E
    return steel * area / (grip + d), (stress.low * area, stress.set * area, stress.high * area)


def _inside(shape: shapely.Geometry) -> Callable[[Floats, Floats], Bools]:
    shapely.prepare(shape)

    def inside(u: Floats, v: Floats) -> Bools:
        got: Bools = shapely.contains_xy(shape, u, v)
        return got

    return inside


def _cuts(jaws: Jaws | None, jaw: Jaw, *, front_y: float, seat_y: float) -> list[Cut]:
    out = []
    if jaws is not None:
        out.append(Cut(2, _inside(to_polygon(jaws.pocket, CHORD)), jaws.floor, jaws.top + 1.0))
        out += [Cut(2, _inside(to_polygon(w.region, CHORD)), w.bottom, w.top) for w in jaws.wells]
        hole = jaws.tooling_hole
        if hole is not None and jaw.side == "fixed":
            round_ = shapely.Point(hole.center).buffer(hole.diameter / 2, quad_segs=32)
            out.append(Cut(2, _inside(round_), hole.top - hole.depth, jaw.height + 1.0))
    b = jaw.blank
    for x, z in jaw.bolts:
        out.append(Cut(1, _inside(_slot(x, z, b.bolt_hole, b.slot_length)), jaw.y0 - 1.0, jaw.y1 + 1.0))
        if b.counterbore_depth > 0:
            low, high = sorted((front_y, seat_y))
            out.append(Cut(1, _inside(_slot(x, z, b.counterbore, b.slot_length)), low, high))
    return out


def _slot(x: float, z: float, width: float, length: float) -> shapely.Geometry:
    line = shapely.LineString([(x - length / 2 - 1e-6, z), (x + length / 2 + 1e-6, z)])
    return line.buffer(width / 2, quad_segs=32)


def _lines(
    jaws: Jaws | None, jaw: Jaw, vise: Vise, wall: Walls, *, coarser: float
) -> tuple[Floats, Floats, Floats]:
    """Grid lines: close together about the pocket, the faces of the cuts on lines of their own."""
    x0, x1 = float(wall.middle[:, 0].min()), float(wall.middle[:, 0].max())
    ys = wall.middle[:, 1]
    if jaws is not None:
        b = jaws.pocket.outer.box
        x0, x1 = max(jaw.x0, b[0]), min(jaw.x1, b[2])
    xs = _graded((jaw.x0, x0, x1, jaw.x1), (13.0, 7.5, 13.0), coarser)
    wall_y = float(ys.max() if jaw.side == "fixed" else ys.min())
    y = _graded((jaw.y0, wall_y, jaw.y1), (6.5, 6.5), coarser)
    floor = jaws.floor if jaws else jaw.height - wall.depth
    z = _graded((0.0, min(floor, jaw.height), jaw.height), (7.5, 3.6), coarser)
    del vise
    return xs, y, z


def _graded(keys: Sequence[float], sizes: Sequence[float], coarser: float) -> Floats:
    """Lines through the keys, no farther apart than ``sizes`` between them; keys too close are merged."""
    out = [keys[0]]
    for b, size in zip(keys[1:], sizes, strict=True):
        start = out[-1]
        h = size * coarser
        if b - start < 0.3 * h:
            if b == keys[-1]:
                out[-1] = b
            continue
        n = max(1, math.ceil((b - start) / h - 1e-9))
        out += [start + (b - start) * k / n for k in range(1, n + 1)]
    return np.array(out)


def _wall_patches(wall: Walls) -> list[Patch]:
    """Each patch probed at 3 places along the wall and 2 up it."""
    out = []
    for m, n, length, area in zip(wall.middle, wall.normal, wall.length, wall.area, strict=True):
        t = np.array([-n[1], n[0], 0.0])
        du = np.array([-1 / 3, 0.0, 1 / 3]) * length
        dz = np.array([-0.25, 0.25]) * (area / length)
        p = m + (du[:, None, None] * t + dz[None, :, None] * np.array([0, 0, 1.0])).reshape(-1, 3)
        out.append((p, n, np.ones(len(p))))
    return out


def _backing(jaw: Jaw, vise: Vise, back_y: float) -> list[tuple[Floats, Floats]]:
    """Patches of the back face that the vise's own metal backs, less the bolt slots."""
    half = min(vise.jaw_width / 2, max(abs(jaw.x0), abs(jaw.x1)))
    x = np.linspace(max(jaw.x0, -half), min(jaw.x1, half), BACK[0] + 1)
    z = np.linspace(0.0, min(vise.body_height, jaw.height), BACK[1] + 1)
    gone = shapely.union_all(
        [_slot(bx, bz, jaw.blank.bolt_hole, jaw.blank.slot_length) for bx, bz in jaw.bolts]
    )
    out = []
    for a, b in pairwise(x):
        for c, d in pairwise(z):
            p = _cell(a, b, c, d, 5)
            p = p[~shapely.contains_xy(gone, p[:, 0], p[:, 1])]
            if len(p) >= 5:
                out.append((np.stack([p[:, 0], np.full(len(p), back_y), p[:, 1]], axis=1), np.ones(len(p))))
    return out


def _cell(a: float, b: float, c: float, d: float, n: int) -> Floats:
    s = (np.arange(n) + 0.5) / n
    u, v = np.meshgrid(a + (b - a) * s, c + (d - c) * s, indexing="ij")
    return np.stack([u.ravel(), v.ravel()], axis=1)


def _seats(jaw: Jaw, seat_y: float) -> list[Floats]:
    """Rings of points under the screw heads."""
    b = jaw.blank
    r = (b.bolt_hole + b.counterbore) / 4
    gone = [_slot(x, z, b.bolt_hole, b.slot_length) for x, z in jaw.bolts]
    a = 2 * math.pi * (np.arange(24) + 0.5) / 24
    out = []
    for (x, z), hole in zip(jaw.bolts, gone, strict=True):
        px, pz = x + r * np.cos(a), z + r * np.sin(a)
        keep = ~shapely.contains_xy(hole, px, pz)
        out.append(np.stack([px[keep], np.full(int(keep.sum()), seat_y), pz[keep]], axis=1))
    return out


def _front(
    jaws: Jaws | None, jaw: Jaw, hold: Hold, front_y: float, *, first: int
) -> tuple[Floats, Floats, NDArray[np.int64], list[tuple[Floats, Floats]]]:
    """Tents on the front face, between which any spacer's force is spread; nodes without metal have none."""
    if jaws is None:
        return np.zeros(0), np.zeros(0), np.zeros((0, 0), dtype=np.int64), []
    del hold
    b = jaws.pocket.outer.box
    x = _graded((jaw.x0, max(jaw.x0, b[0]), min(jaw.x1, b[2]), jaw.x1), (FRONT[0],) * 3, 1.0)
    z = _graded((0.0, jaws.floor, jaw.height), (FRONT[1],) * 2, 1.0)
    open_ = front_metal(jaws, jaw)
    n = 3
    fx = np.concatenate([a + (c - a) * (np.arange(n) + 0.5) / n for a, c in pairwise(x)])
    fz = np.concatenate([a + (c - a) * (np.arange(n) + 0.5) / n for a, c in pairwise(z)])
    wx, wz = tents(x, fx), tents(z, fz)
    ax, az = np.repeat(np.diff(x) / n, n), np.repeat(np.diff(z) / n, n)
    u, v = np.meshgrid(fx, fz, indexing="ij")
    metal = open_(u.ravel(), v.ravel()).reshape(u.shape) * ax[:, None] * az[None, :]
    at = np.full((len(x), len(z)), -1, dtype=np.int64)
    out: list[tuple[Floats, Floats]] = []
    for i in range(len(x)):
        for k in range(len(z)):
            w = wx[:, i, None] * wz[None, :, k] * metal
            if w.sum() > 0.1 * (wx[:, i] @ ax) * (wz[:, k] @ az):
                keep = w > 0
                p = np.stack([u[keep], np.full(int(keep.sum()), front_y), v[keep]], axis=1)
                at[i, k] = first + len(out)
                out.append((p, w[keep]))
    return x, z, at, out


def front_metal(jaws: Jaws, jaw: Jaw) -> Callable[[Floats, Floats], Bools]:
    """Tells where the front face of a jaw has metal, for points (x, z)."""
    pocket = to_polygon(jaws.pocket, CHORD)
    y = jaw.y0 + 1e-3 if jaw.side == "fixed" else jaw.y1 - 1e-3
    holes = shapely.union_all(
        [_slot(x, z, jaw.blank.counterbore, jaw.blank.slot_length) for x, z in jaw.bolts]
    )
    if jaw.blank.counterbore_depth <= 0:
        holes = shapely.union_all(
            [_slot(x, z, jaw.blank.bolt_hole, jaw.blank.slot_length) for x, z in jaw.bolts]
        )
    wells = [(_inside(to_polygon(w.region, CHORD)), w.bottom, w.top) for w in jaws.wells]

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


def part_body(
    shape: shapely.Geometry, walls_of: Sequence[Walls], material: Material, *, low: float, high: float,
    coarser: float = FINE,
) -> Condensed:  # fmt: skip
    """The part as a prism of its section: wall patches of both jaws, then its anchors x, z left, z right."""
    x0, y0, x1, y1 = shape.bounds
    size = max(4.0, min(9.0, (x1 - x0) / 7, (y1 - y0) / 3))
    every = np.concatenate([w.middle for w in walls_of])
    top = float(every[:, 2].max()) + walls_of[0].depth / (2 * ROWS)
    x = _graded((x0, x1), (size,), coarser)
    y = _graded((y0, y1), (size,), coarser)
    z = _graded((low, min(top, high), high), (3.6, 7.0), coarser)
    inside = _inside(shape)
    outside = Cut(2, lambda u, v: ~inside(u, v), low - 1.0, high + 1.0)
    solid = build((x, y, z), [outside], E=material.E, nu=material.nu)
    parts: list[Patch] = []
    for w in walls_of:
        parts += [(p, -n, s) for p, n, s in _wall_patches(w)]
    bottom = _cell(x0, x1, y0, y1, 9)
    bottom = bottom[inside(bottom[:, 0], bottom[:, 1])]
    p = np.column_stack([bottom, np.full(len(bottom), low)])
    split = float(np.median(p[:, 0]))
    for q, d in ((p, (1.0, 0, 0)), (p[p[:, 0] <= split], (0, 0, 1.0)), (p[p[:, 0] > split], (0, 0, 1.0))):
        parts.append((q, np.array(d), np.ones(len(q))))
    return condense(solid, joined(parts))
