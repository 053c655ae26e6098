"""Both jaws as elastic bodies on the vise: how they stand while they are cut, and how with a part between.

The jaws are condensed once for a hold; every spacer height, force and end of the vise's stiffness
is then a contact problem between a few hundred patches.

Lengths in mm, angles in rad, forces in N, torques in N·m.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray
from scipy import linalg

from jawright.beside import one_thread
from jawright.errors import JawrightError
from jawright.hold.model import Hold
from jawright.jaws.model import Jaws, SpacerStack
from jawright.mechanics.solid import Floats
from jawright.part.model import Part
from jawright.proof.body import carrying, jaw_material, part_material
from jawright.proof.elastic_body import JawBody, jaw_body, tents
from jawright.proof.elastic_join import SIDES, Held, Model, Mounts, Piece, between, give, pressed
from jawright.proof.elastic_part import bare, clamped
from jawright.proof.elastic_walls import Side, Walls, on_metal, walls
from jawright.shop.model import Vise

MODEL = "elastic-jaws-3"
SOURCE = (
    "linear elasticity, 20-node bricks; one-sided contact of condensed bodies (Conry and Seireg 1971); "
    "mount sprung about the bed"
)
STEADY = np.array([0.1, 0.1, 0.1, 100.0, 100.0, 100.0])
"""Springs [N/mm, N·mm/rad] that keep a body between the jaws where its contacts leave it free to rock.

They carry less than a hundred thousandth of the clamp force.
"""
AWAY = 10.0
"""Gap [mm] of a wall patch behind which the part has no metal: it never touches."""
SPACER_E = 205e3
"""Modulus of the spacers [MPa]: steel."""


def model(
    hold: Hold, jaws: Jaws | None, part: Part | None, material: str, coarser: float = 1.0
) -> Model | None:
    """Mesh and condense both jaws and the part; None when a jaw has no wall, no metal stands
    behind one, the part falls apart where it is sliced, or the material is not known.

    ``coarser`` above 1 makes coarser meshes, to tell the error of the finer ones.
    """
    with one_thread():
        return _model(replace(hold, torque=None, torque_why=""), jaws, part, material, coarser)


@lru_cache(maxsize=4)
def _model(hold: Hold, jaws: Jaws | None, part: Part | None, material: str, coarser: float) -> Model | None:
    work = part_material(material)
    if work is None or hold.grip_depth <= 0:
        return None
    own = [c.point[2] for c in carrying(hold) if c.on in ("fixed", "floating")]
    middle = sum(own) / len(own) if own else hold.floor + hold.grip_depth / 2
    low, high = middle - hold.grip_depth / 2, middle + hold.grip_depth / 2
    found = {s: walls(hold, jaws, s, low=low, high=high) for s in SIDES}
    wall = {s: w for s, w in found.items() if w is not None}
    if len(wall) < 2 or not all(on_metal(jaws, s, w) for s, w in wall.items()):
        return None
    jaw = jaw_material(jaws)
    made = {s: jaw_body(hold, jaws, s, jaw, wall=wall[s], coarser=coarser) for s in SIDES}
    own_walls = [wall[s] for s in SIDES]
    try:
        body, condensed = clamped(hold, part, own_walls, work, coarser=coarser)
    except JawrightError:
        return None  # the closed form stands in and says so
    return Model(made, condensed, bare(body, own_walls), body.own)


@dataclass(frozen=True, slots=True, eq=False)
class _Spacers:
    """Points (k, 2) in x, z where the spacers touch both jaws, and their area (k,)."""

    at: Floats
    area: Floats
    thick: float


def _spacers(m: Model, stack: SpacerStack) -> _Spacers:
    """Contact points of a stack: where both jaws have metal."""
    points, area = [], []
    nz = max(6, int(np.ceil((stack.high - stack.low) / 4.0)))
    for a, b in stack.x_runs:
        nx = max(2, int(np.ceil((b - a) / 14.0)))
        x = a + (b - a) * (np.arange(nx) + 0.5) / nx
        z = stack.low + (stack.high - stack.low) * (np.arange(nz) + 0.5) / nz
        u, v = np.meshgrid(x, z, indexing="ij")
        points.append(np.stack([u.ravel(), v.ravel()], axis=1))
        area.append(np.full(u.size, (b - a) * (stack.high - stack.low) / u.size))
    p, s = np.concatenate(points), np.concatenate(area)
    keep = np.ones(len(p), dtype=bool)
    for jaw in m.jaws.values():
        keep &= front_rows(jaw, p).sum(axis=1) > 0.5
    return _Spacers(p[keep], s[keep], stack.width)


def front_rows(jaw: JawBody, p: Floats) -> Floats:
    """Weights (k, patches) that spread a force at points (x, z) over the jaw's front patches."""
    f = jaw.front
    wx, wz = tents(f.x, p[:, 0]), tents(f.z, p[:, 1])
    out = np.zeros((len(p), len(jaw.points)))
    for i, k in np.argwhere(f.at >= 0):
        out[:, f.at[i, k]] = wx[:, i] * wz[:, k]
    total = out.sum(axis=1, keepdims=True)
    good = total > 0.3  # else the point lies over a hole
    return np.where(good, out / np.where(good, total, 1.0), 0.0)


@dataclass(frozen=True, slots=True, eq=False)
class Cut:
    """How the walls stand while they are cut: ``wall`` (W,) [mm] out of the part, by jaw.

    ``bears`` is the height at which the spacers' force really acts [mm], None without spacers.
    """

    wall: dict[Side, Floats]
    bears: float | None
    held: Held | None = None  # both jaws on the spacers


def as_cut(m: Model, mounts: Mounts, stack: SpacerStack, force: float) -> Cut | None:
    """Both walls with the spacers clamped by ``force`` [N]; None where the spacers meet no metal.

    The spacers are steel, flat, and touch one-sidedly: a tall one bears on its lower edge as the jaws tilt.
    """
    s = _spacers(m, stack)
    k = len(s.at)
    if k < 3:
        return None
    # a rigid body along Y, leaning about X and turning about Z; into it is the way of the part
    d = np.stack([np.ones(k), s.at[:, 1] - s.at[:, 1].mean(), s.at[:, 0]], axis=1)
    moves = np.concatenate([-m.jaws[side].away * d for side in SIDES])
    middle = Piece(np.eye(2 * k), None, moves, STEADY[[1, 3, 5]], np.zeros(3))
    touch = {side: front_rows(m.jaws[side], s.at) for side in SIDES}
    extra = np.tile(s.thick / 2 / (SPACER_E * s.area), 2)
    held = between(m, mounts, middle, touch=touch, gaps=np.zeros(2 * k), extra=extra, force=force)
    both = held.force["fixed"] + held.force["floating"]
    return Cut(held.wall, float(both @ s.at[:, 1] / both.sum()), held)


def used(m: Model, mounts: Mounts, cut: Cut, force: float) -> Held:
    """The part between walls that were cut as ``cut`` says, clamped by ``force`` [N], friction left out.

    The part may lean and turn as its walls ask.
    """
    counts = {side: len(m.jaws[side].walls.area) for side in SIDES}
    n = sum(counts.values())
    middle = Piece(np.eye(n + 3), m.part.compliance, m.part.rigid, STEADY, np.zeros(6))
    touch = {side: np.eye(counts[side], len(m.jaws[side].points)) for side in SIDES}
    gaps = np.concatenate([*(-cut.wall[side] for side in SIDES), np.zeros(3)])
    gaps[:n] += AWAY * m.bare
    return between(m, mounts, middle, touch=touch, gaps=gaps, extra=np.zeros(n + 3), force=force)


@dataclass(frozen=True, slots=True)
class WallState:
    """A wall in use against how it was cut.

    ``taper`` is how far the jaw would stand open over the grip depth under an even pressure [mm], + opens
    upward, without the wall's own ``give`` over that depth [mm], which no spacer takes away; ``shift`` how
    far the wall stands away from where it was cut [mm], give included; ``share`` of its area that bears
    0..1; ``deep`` the share of the grip depth that bears where the load goes through: a wall that is not
    pressed along its whole run (a jaw between two vises, a ring that gives way) may still be gripped over
    its depth; ``center`` height of the resultant [mm]; ``peak`` pressure of a patch [MPa]; ``left``
    largest opening that remains under the clamp [mm].
    """

    taper: float
    give: float
    shift: float
    share: float
    deep: float
    center: float
    peak: float
    left: float


BEARS = 0.02
"""Patches with less than this share of the mean pressure do not count as bearing."""


def states(m: Model, mounts: Mounts, *, force: float, cut: Cut) -> tuple[dict[Side, WallState], Held]:
    """Both walls in use at ``force`` [N] against how they stood while they were cut."""
    held = used(m, mounts, cut, force)
    out = {}
    met = dict(zip(SIDES, np.split(~m.bare, [len(m.jaws["fixed"].walls.area)]), strict=True))
    for side in SIDES:
        w = m.jaws[side].walls
        taper, own, shift = opening(m, side, mounts, force=force, cut=cut)
        p = held.force[side] / w.area
        mean = float(held.force[side].sum() / w.area.sum())
        y = held.force[side] * np.abs(w.normal[:, 1])
        out[side] = WallState(
            taper=taper,
            give=own,
            shift=shift,
            share=float(w.area[p > BEARS * mean].sum() / w.area.sum()),
            deep=over_depth(w, held.force[side], p > BEARS * mean),
            center=float(y @ w.middle[:, 2] / y.sum()),
            peak=float(p.max()),
            left=float(held.open[side][met[side]].max()),
        )
    return out, held


def over_depth(w: Walls, force: Floats, bears: NDArray[np.bool_]) -> float:
    """Share of the grip depth that bears, mean of the columns of patches weighted by the force each carries.

    Parameters: ``force`` (W,) [N], ``bears`` (W,). Returns 0..1. A column is the patches above each other.
    """
    _, column = np.unique(np.round(w.middle[:, :2], 6), axis=0, return_inverse=True)
    column = column.ravel()
    carried = np.bincount(column, force)
    deep = np.bincount(column, w.area * bears) / np.bincount(column, w.area)
    return float(carried @ deep / carried.sum())


def opening(m: Model, side: Side, mounts: Mounts, *, force: float, cut: Cut) -> tuple[float, float, float]:
    """Taper, the wall's own give, and shift of one wall [mm], pressed evenly."""
    jaw = m.jaws[side]
    even, own = even_states(m, side, mounts, force)
    lean, shift = lean_and_shift(jaw.walls, even - cut.wall[side])
    local = lean_and_shift(jaw.walls, own)[0] * jaw.walls.depth
    return lean * jaw.walls.depth - local, local, shift


def lean_and_shift(w: Walls, motion: Floats) -> tuple[float, float]:
    """Lean [rad] and mean shift along Y [mm] of a wall from the motion (W,) along its normals.

    Least squares over the wall, by area: the run along the wall may turn it as well, so that is fitted too.
    """
    ny = np.abs(w.normal[:, 1])
    z = w.middle[:, 2] - np.average(w.middle[:, 2], weights=w.area)
    x = w.middle[:, 0] - np.average(w.middle[:, 0], weights=w.area)
    a = np.stack([ny, ny * z, ny * x], axis=1) * np.sqrt(w.area)[:, None]
    fit = linalg.lstsq(a, motion * np.sqrt(w.area))[0]
    return float(fit[1]), float(fit[0])


def ends(vise: Vise, end: str) -> Mounts:
    """The mount at the low, set or high end of the shop's band."""
    k = {"low": 0, "set": 1, "high": 2}[end]
    t, p = vise.tilt_stiffness, vise.push_stiffness
    return Mounts((t.low, t.set, t.high)[k], (p.low, p.set, p.high)[k], k)


def at_height(stack: SpacerStack, height: float, top: float) -> SpacerStack:
    """The same spacers with their middle at ``height``, kept between the bed and ``top`` [mm]."""
    half = (stack.high - stack.low) / 2
    z = max(min(height, top - half), half)
    return replace(stack, low=z - half, high=z + half, height=z)


@lru_cache(maxsize=256)
def cut_state(m: Model, mounts: Mounts, stack: SpacerStack | None, force: float) -> Cut | None:
    """``as_cut``, kept; jaws that were made free for no stack or no force."""
    if stack is None or force <= 0:
        return Cut({side: np.zeros(len(m.jaws[side].walls.area)) for side in SIDES}, None)
    return as_cut(m, mounts, stack, force)


@lru_cache(maxsize=64)
def even_states(m: Model, side: Side, mounts: Mounts, force: float) -> tuple[Floats, Floats]:
    """``pressed`` and ``give`` of a wall, kept."""
    return pressed(m.jaws[side], mounts, force), give(m.jaws[side], force)
