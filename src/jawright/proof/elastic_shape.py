"""What a jaw's mesh is made of: its blank, the cuts through it, its grid lines and its screws.

Lengths in mm, angles in rad, forces in N, torques in N·m.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence

import numpy as np
import shapely

from jawright import handbook
from jawright.geometry.polygon import to_polygon
from jawright.hold.model import Hold
from jawright.jaws.model import Jaw, Jaws
from jawright.mechanics.solid import Bools, Cut, Floats
from jawright.proof.body import HARD_JAW
from jawright.proof.elastic_walls import CHORD, Side, Walls
from jawright.proof.rules import rule
from jawright.shop.model import Blank, Vise


def hard_jaw(hold: Hold, side: Side) -> Jaw:
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


def jaw_screw(vise: Vise, grip: float) -> tuple[float, tuple[float, float, float]]:
    """Spring [N/mm] and preload [N] of a jaw screw: one diameter of its length in the thread counts too."""
    thread = handbook.screw(vise.bolt)
    d, area = thread.diameter, thread.stress_area
    stress = rule("jaw_screw_stress_mpa")
    steel = handbook.material(HARD_JAW).E
    return steel * area / (grip + d), (stress.low * area, stress.set * area, stress.high * area)


def within(shape: shapely.Geometry) -> Callable[[Floats, Floats], Bools]:
    """Tells for arrays of points (u, v) whether they lie in a polygon."""
    shapely.prepare(shape)

    def inside(u: Floats, v: Floats) -> Bools:
        got: Bools = shapely.contains_xy(shape, u, v)
        return got

    return inside


def outside(shape: shapely.Geometry) -> Callable[[Floats, Floats], Bools]:
    """Tells for arrays of points (u, v) whether they lie off a polygon."""
    inside = within(shape)

    def gone(u: Floats, v: Floats) -> Bools:
        return ~inside(u, v)

    return gone


def cuts(jaws: Jaws | None, jaw: Jaw, *, front_y: float, seat_y: float) -> list[Cut]:
    """Pocket, wells, tooling hole, screw slots and counterbores as prisms."""
    out = []
    if jaws is not None:
        out.append(Cut(2, within(to_polygon(jaws.pocket, CHORD)), jaws.floor, jaws.top + 1.0))
        out += [Cut(2, within(to_polygon(w.region, CHORD)), w.bottom, w.top) for w in jaws.wells]
        hole = jaws.tooling_hole
        if hole is not None and jaw.side == "fixed":
            round_ = shapely.Point(hole.center).buffer(hole.diameter / 2, quad_segs=32)
            out.append(Cut(2, within(round_), hole.top - hole.depth, jaw.height + 1.0))
    b = jaw.blank
    for x, z in jaw.bolts:
        out.append(Cut(1, within(slot(x, z, b.bolt_hole, b.slot_length)), jaw.y0 - 1.0, jaw.y1 + 1.0))
        if b.counterbore_depth > 0:
            low, high = sorted((front_y, seat_y))
            out.append(Cut(1, within(slot(x, z, b.counterbore, b.slot_length)), low, high))
    return out


def slot(x: float, z: float, width: float, length: float) -> shapely.Geometry:
    """A slot of round ends about (``x``, ``z``) [mm]; ``length`` is between the centers of its ends."""
    line = shapely.LineString([(x - length / 2 - 1e-6, z), (x + length / 2 + 1e-6, z)])
    return line.buffer(width / 2, quad_segs=32)


def grid_lines(jaws: Jaws | None, jaw: Jaw, wall: Walls, *, coarser: float) -> tuple[Floats, Floats, Floats]:
    """Grid lines: close together about the pocket, the faces of the cuts on lines of their own."""
    x0, x1 = float(wall.middle[:, 0].min()), float(wall.middle[:, 0].max())
    ys = wall.middle[:, 1]
    if jaws is not None:
        b = jaws.pocket.outer.box
        x0, x1 = max(jaw.x0, b[0]), min(jaw.x1, b[2])
    xs = graded((jaw.x0, x0, x1, jaw.x1), (13.0, 7.5, 13.0), coarser)
    wall_y = float(ys.max() if jaw.side == "fixed" else ys.min())
    y = graded((jaw.y0, wall_y, jaw.y1), (6.5, 6.5), coarser)
    floor = jaws.floor if jaws else jaw.height - wall.depth
    z = graded((0.0, min(floor, jaw.height), jaw.height), (7.5, 3.6), coarser)
    return xs, y, z


def graded(keys: Sequence[float], sizes: Sequence[float], coarser: float = 1.0) -> Floats:
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


def dots(a: float, b: float, c: float, d: float, n: int) -> Floats:
    """Middles of the ``n`` × ``n`` equal cells of a rectangle, shape (n², 2) [mm]."""
    s = (np.arange(n) + 0.5) / n
    u, v = np.meshgrid(a + (b - a) * s, c + (d - c) * s, indexing="ij")
    return np.stack([u.ravel(), v.ravel()], axis=1)
