"""Both jaws as elastic bodies on the vise: how they stand while they are cut, and how with a part between.

The jaws are condensed once for a hold; every spacer height, force and end of the vise's stiffness
is then a contact problem between a few hundred patches.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import lru_cache

import numpy as np
from scipy import linalg

from jawright.hold.model import Hold
from jawright.jaws.model import Jaws, SpacerStack
from jawright.mechanics import gap
from jawright.mechanics.condense import Condensed
from jawright.mechanics.solid import Floats
from jawright.part.model import Part
from jawright.proof import elastic_body as body
from jawright.proof.body import carrying, jaw_material, part_material
from jawright.proof.elastic_body import JawBody, Side
from jawright.proof.metal import metal
from jawright.shop.model import Vise

SIDES: tuple[Side, Side] = ("fixed", "floating")
MODEL = "elastic-jaws-1"
SOURCE = (
    "linear elasticity, 20-node bricks; one-sided contact of condensed bodies (Conry and Seireg 1971); "
    "mount sprung about the bed"
)
STEADY = np.array([0.1, 0.1, 0.1, 100.0, 100.0, 100.0])
"""Springs [N/mm, N·mm/rad] that keep a body between the jaws where its contacts leave it free to rock.

They carry less than a hundred thousandth of the clamp force.
"""
SPACER_E = 205e3
"""Modulus of the spacers [MPa]: steel."""


@dataclass(frozen=True, slots=True, eq=False)
class Model:
    """Both jaws and the part, condensed: all that a hold's taper needs."""

    jaws: dict[Side, JawBody]
    part: Condensed


@dataclass(frozen=True, slots=True)
class Mounts:
    """Each jaw's mount: ``tilt`` [N·mm/rad] about the bed, ``push`` [N/mm]; ``end`` 0, 1, 2 of the screws."""

    tilt: float
    push: float
    end: int = 1


@dataclass(frozen=True, slots=True, eq=False)
class _Piece:
    """A body in a contact problem: ``rows`` (pairs, m) onto its patches, compliance ``flex``, ``moves``."""

    rows: Floats
    flex: Floats | None
    moves: Floats  # (m, r)
    springs: Floats  # (r,)
    load: Floats  # (r,)


@dataclass(frozen=True, slots=True, eq=False)
class Held:
    """A solved state. ``wall`` (W,) is how far each wall patch moved away from the part, by jaw [mm].

    ``force`` (W,) [N] presses each wall patch; empty where none was asked. ``open`` (W,) [mm].
    """

    wall: dict[Side, Floats]
    force: dict[Side, Floats]
    open: dict[Side, Floats]
    steps: int


def model(
    hold: Hold, jaws: Jaws | None, part: Part | None, material: str, coarser: float = 1.0
) -> Model | None:
    """Mesh and condense both jaws and the part; None when a jaw has no wall, no metal stands
    behind one, or the material is not known.

    ``coarser`` above 1 makes coarser meshes, to tell the error of the finer ones.
    """
    return _model(hold, jaws, part, material, coarser)


@lru_cache(maxsize=4)
def _model(hold: Hold, jaws: Jaws | None, part: Part | None, material: str, coarser: float) -> Model | None:
    work = part_material(material)
    if work is None or hold.grip_depth <= 0:
        return None
    own = [c.point[2] for c in carrying(hold) if c.on in ("fixed", "floating")]
    middle = sum(own) / len(own) if own else hold.floor + hold.grip_depth / 2
    low, high = middle - hold.grip_depth / 2, middle + hold.grip_depth / 2
    found = {s: body.walls(hold, jaws, s, low=low, high=high) for s in SIDES}
    walls = {s: w for s, w in found.items() if w is not None}
    if len(walls) < 2 or not all(body.on_metal(jaws, s, w) for s, w in walls.items()):
        return None
    jaw = jaw_material(jaws)
    made = {s: body.jaw_body(hold, jaws, s, jaw, wall=walls[s], coarser=coarser) for s in SIDES}
    shape = metal(hold, part).shape
    condensed = body.part_body(
        shape, [walls[s] for s in SIDES], work,
        low=hold.floor, high=max(hold.part_top + hold.stock, high), coarser=coarser,
    )  # fmt: skip
    return Model(made, condensed)


def _jaw_pieces(
    jaw: JawBody, mounts: Mounts, *, rows: Floats, first: int, pairs: int, closing: float | None
) -> tuple[list[_Piece], Floats, Floats, Floats]:
    """A jaw and its mount. Rows of its backing, screws and anchors start at pair ``first``.

    Returns the pieces, and over all pairs: gap, extra compliance, tied. ``rows`` (pairs, m) are those of the
    other contacts. ``closing`` [N] pushes the mount along +Y; None: it stands on its spring.
    """
    own = np.concatenate([jaw.backing, jaw.bolts, jaw.anchors])
    at = first + np.arange(len(own))
    rows = rows.copy()
    rows[at, own] = 1.0
    mount = np.zeros((pairs, len(own)))
    mount[at, np.arange(len(own))] = 1.0
    backed = len(jaw.backing) + len(jaw.bolts)
    mount[at[backed:]] = 0.0  # anchors hold to the ground
    # into the mount is the other way round; it shifts along Y and tilts about the bed
    d = -jaw.directions[own][:, 1]
    moves = np.stack([d, d * jaw.points[own][:, 2]], axis=1)
    springs = np.array([mounts.push if closing is None else 0.0, mounts.tilt])
    load = np.array([0.0 if closing is None else closing, 0.0])
    gaps, extra, tied = np.zeros(pairs), np.zeros(pairs), np.zeros(pairs, dtype=bool)
    screws = at[len(jaw.backing) : backed]
    extra[screws] = 1 / jaw.bolt_spring
    gaps[screws] = -jaw.bolt_preload[mounts.end] / jaw.bolt_spring
    tied[at[len(jaw.backing) :]] = True
    return (
        [
            _Piece(rows, jaw.body.compliance, jaw.body.rigid, np.zeros(6), np.zeros(6)),
            _Piece(mount, None, moves, springs, load),
        ],
        gaps,
        extra,
        tied,
    )


def _solve(
    pieces: Sequence[_Piece], gaps: Floats, extra: Floats, tied: Floats
) -> tuple[gap.Contact, list[Floats]]:
    """The contact problem of some bodies, and the motion of each body's patches."""
    c = np.diag(extra)
    for p in pieces:
        if p.flex is not None:
            c = c + p.rows @ p.flex @ p.rows.T
    moves = np.concatenate([p.rows @ p.moves for p in pieces], axis=1)
    springs = np.diag(np.concatenate([p.springs for p in pieces]))
    load = np.concatenate([p.load for p in pieces])
    got = gap.solve(gap.Problem(c, gaps, moves, springs, load, tied.astype(bool)))
    out, r = [], 0
    for p in pieces:
        k = p.moves.shape[1]
        u = p.moves @ got.motion[r : r + k]
        if p.flex is not None:
            u = u + p.flex @ (p.rows.T @ got.force)
        out.append(u)
        r += k
    return got, out


def _own(jaw: JawBody) -> int:
    return len(jaw.backing) + len(jaw.bolts) + len(jaw.anchors)


def pressed(jaw: JawBody, mounts: Mounts, force: float) -> Floats:
    """Motion (W,) [mm] of a jaw's wall, out of the part, under ``force`` [N] spread evenly over the wall."""
    w = jaw.walls
    along = w.area @ np.abs(w.normal[:, 1])
    even = force / along * w.area
    n, m = _own(jaw), len(jaw.points)
    pieces, gaps, extra, tied = _jaw_pieces(
        jaw, mounts, rows=np.zeros((n, m)), first=0, pairs=n, closing=None
    )
    f0 = np.zeros(m)
    f0[: len(even)] = even
    own = pieces[0]
    assert own.flex is not None
    gaps = gaps + own.rows @ own.flex @ f0
    loaded = _Piece(own.rows, own.flex, own.moves, own.springs, own.moves.T @ f0)
    got, moved = _solve([loaded, pieces[1]], gaps, extra, tied)
    del got
    return np.asarray((moved[0] + own.flex @ f0)[: len(even)])


@dataclass(frozen=True, slots=True, eq=False)
class _Spacers:
    """Points (k, 2) in x, z where the spacers touch both jaws, and their area (k,)."""

    at: Floats
    area: Floats
    thick: float


def _spacers(m: Model, stack: SpacerStack) -> _Spacers:
    """Contact points of a stack: where both jaws have metal."""
    points, area = [], []
    nz = max(3, int(np.ceil((stack.high - stack.low) / 5.0)))
    for a, b in stack.x_runs:
        nx = max(3, int(np.ceil((b - a) / 12.0)))
        x = a + (b - a) * (np.arange(nx) + 0.5) / nx
        z = stack.low + (stack.high - stack.low) * (np.arange(nz) + 0.5) / nz
        u, v = np.meshgrid(x, z, indexing="ij")
        points.append(np.stack([u.ravel(), v.ravel()], axis=1))
        area.append(np.full(u.size, (b - a) * (stack.high - stack.low) / u.size))
    p, s = np.concatenate(points), np.concatenate(area)
    keep = np.ones(len(p), dtype=bool)
    for jaw in m.jaws.values():
        keep &= _front_rows(jaw, p).sum(axis=1) > 0.5
    return _Spacers(p[keep], s[keep], stack.width)


def _front_rows(jaw: JawBody, p: Floats) -> Floats:
    """Weights (k, patches) that spread a force at points (x, z) over the jaw's front patches."""
    wx, wz = body.tents(jaw.front_x, p[:, 0]), body.tents(jaw.front_z, p[:, 1])
    out = np.zeros((len(p), len(jaw.points)))
    for i, k in np.argwhere(jaw.front_at >= 0):
        out[:, jaw.front_at[i, k]] = wx[:, i] * wz[:, k]
    total = out.sum(axis=1, keepdims=True)
    good = total > 0.3  # else the point lies over a hole
    return np.where(good, out / np.where(good, total, 1.0), 0.0)


def as_cut(m: Model, mounts: Mounts, stack: SpacerStack, force: float) -> dict[Side, Floats]:
    """Motion (W,) [mm] of both walls, out of the part, with the spacers clamped by ``force`` [N].

    The spacers are steel, flat, and touch one-sidedly: a tall one resists the tilt of the jaws.
    """
    s = _spacers(m, stack)
    k = len(s.at)
    # a rigid body along Y, leaning about X and turning about Z; into it is the way of the part
    d = np.stack([np.ones(k), s.at[:, 1] - s.at[:, 1].mean(), s.at[:, 0]], axis=1)
    moves = np.concatenate([-m.jaws[side].away * d for side in SIDES])
    between = _Piece(np.eye(2 * k), None, moves, STEADY[[1, 3, 5]], np.zeros(3))
    touch = {side: _front_rows(m.jaws[side], s.at) for side in SIDES}
    extra = np.tile(s.thick / 2 / (SPACER_E * s.area), 2)
    held = _between(m, mounts, between, touch=touch, gaps=np.zeros(2 * k), extra=extra, force=force)
    return held.wall


def used(m: Model, mounts: Mounts, cut: dict[Side, Floats], force: float) -> Held:
    """The part between walls that were cut as ``cut`` says, clamped by ``force`` [N], friction left out.

    The part may lean and turn as its walls ask.
    """
    counts = {side: len(m.jaws[side].walls.area) for side in SIDES}
    n = sum(counts.values())
    rows = np.zeros((n + 3, n + 3))
    rows[:] = np.eye(n + 3)
    between = _Piece(rows, m.part.compliance, m.part.rigid, STEADY, np.zeros(6))
    touch = {side: np.eye(counts[side], len(m.jaws[side].points)) for side in SIDES}
    gaps = np.concatenate([*(-cut[side] for side in SIDES), np.zeros(3)])
    return _between(m, mounts, between, touch=touch, gaps=gaps, extra=np.zeros(n + 3), force=force)


def _between(
    m: Model, mounts: Mounts, between: _Piece, *, touch: dict[Side, Floats], gaps: Floats, extra: Floats,
    force: float,
) -> Held:  # fmt: skip
    """Both jaws closed by ``force`` on a body between them.

    ``between.rows`` (k, m) are its own pairs: those with the fixed jaw (``touch`` gives the jaw's
    patches in each), with the floating jaw, and what ties it to the ground.
    """
    k = len(between.rows)
    sizes = [_own(m.jaws[side]) for side in SIDES]
    pairs = k + sum(sizes)
    whole = np.zeros((pairs, between.rows.shape[1]))
    whole[:k] = between.rows
    gap_all, extra_all = np.zeros(pairs), np.zeros(pairs)
    gap_all[:k], extra_all[:k] = gaps, extra
    tied = np.zeros(pairs, dtype=bool)
    ends = np.cumsum([0, *(len(touch[side]) for side in SIDES)])
    tied[ends[-1] : k] = True
    pieces: list[_Piece] = []
    first = k
    for j, side in enumerate(SIDES):
        jaw = m.jaws[side]
        rows = np.zeros((pairs, len(jaw.points)))
        rows[ends[j] : ends[j + 1]] = touch[side]
        closing = force if side == "floating" else None
        got = _jaw_pieces(jaw, mounts, rows=rows, first=first, pairs=pairs, closing=closing)
        pieces += got[0]
        gap_all, extra_all, tied = gap_all + got[1], extra_all + got[2], tied | got[3]
        first += sizes[j]
    pieces.append(_Piece(whole, between.flex, between.moves, between.springs, between.load))
    contact, moved = _solve(pieces, gap_all, extra_all, tied)
    wall, pressed_, opened = {}, {}, {}
    for j, side in enumerate(SIDES):
        walls = m.jaws[side].walls
        u = moved[2 * j][: len(walls.area)]
        if side == "floating":
            # Its mount was pushed home by the screw: count the give of the mount, not the travel.
            travel = float(contact.motion[6 + 2 + 6])
            u = u - (travel + force / mounts.push) * walls.normal[:, 1]
        wall[side] = u
        pressed_[side] = contact.force[ends[j] : ends[j + 1]]
        opened[side] = contact.opening[ends[j] : ends[j + 1]]
    return Held(wall, pressed_, opened, contact.steps)


@dataclass(frozen=True, slots=True)
class WallState:
    """A wall in use against how it was cut.

    ``taper`` is how far it would stand open over the grip depth if it were pressed evenly [mm], + opens
    upward; ``shift`` how far it stands away from where it was cut [mm]; ``share`` of its area that
    bears 0..1; ``center`` height of the resultant [mm]; ``peak`` pressure of a patch [MPa]; ``left``
    largest opening that remains under the clamp [mm].
    """

    taper: float
    shift: float
    share: float
    center: float
    peak: float
    left: float


BEARS = 0.02
"""Patches with less than this share of the mean pressure do not count as bearing."""


def states(
    m: Model, mounts: Mounts, *, force: float, cut: dict[Side, Floats]
) -> tuple[dict[Side, WallState], Held]:
    """Both walls in use at ``force`` [N] against how they stood while they were cut."""
    held = used(m, mounts, cut, force)
    out = {}
    for side in SIDES:
        jaw = m.jaws[side]
        w = jaw.walls
        even = pressed_state(m, side, mounts, force) - cut[side]
        lean, shift = lean_and_shift(w, even)
        p = held.force[side] / w.area
        mean = float(held.force[side].sum() / w.area.sum())
        y = held.force[side] * np.abs(w.normal[:, 1])
        out[side] = WallState(
            taper=lean * w.depth,
            shift=shift,
            share=float(w.area[p > BEARS * mean].sum() / w.area.sum()),
            center=float(y @ w.middle[:, 2] / y.sum()),
            peak=float(p.max()),
            left=float(held.open[side].max()),
        )
    return out, held


def lean_and_shift(w: body.Walls, motion: Floats) -> tuple[float, float]:
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
    """The same spacers with their middle at ``height``, kept between the bed and the top of the jaws [mm]."""
    half = (stack.high - stack.low) / 2
    z = min(max(height, half), top - half)
    return replace(stack, low=z - half, high=z + half, height=z)


@lru_cache(maxsize=256)
def cut_state(m: Model, mounts: Mounts, stack: SpacerStack | None, force: float) -> dict[Side, Floats]:
    """``as_cut``, kept; jaws that were made free for no stack or no force."""
    if stack is None or force <= 0:
        return {side: np.zeros(len(m.jaws[side].walls.area)) for side in SIDES}
    return as_cut(m, mounts, stack, force)


@lru_cache(maxsize=64)
def pressed_state(m: Model, side: Side, mounts: Mounts, force: float) -> Floats:
    """``pressed``, kept."""
    return pressed(m.jaws[side], mounts, force)
