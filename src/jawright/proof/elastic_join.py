"""Bodies put together: jaws on their mounts, what stands between them, and the contact problem of it all.

Lengths in mm, angles in rad, forces in N, torques in N·m.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import lru_cache

import numpy as np

from jawright.mechanics import gap
from jawright.mechanics.condense import Condensed
from jawright.mechanics.solid import Bools, Floats
from jawright.proof.elastic_body import JawBody
from jawright.proof.elastic_walls import Side

SIDES: tuple[Side, Side] = ("fixed", "floating")


@dataclass(frozen=True, slots=True, eq=False)
class Model:
    """Both jaws and the part, condensed: all that a hold's taper needs.

    ``bare`` (W,) marks wall patches, of the fixed jaw first, behind which the part has no metal.
    ``solid`` tells that the part was meshed from its own solid, not as a prism of its section.
    """

    jaws: dict[Side, JawBody]
    part: Condensed
    bare: Bools
    solid: bool


@dataclass(frozen=True, slots=True)
class Mounts:
    """Each jaw's mount: ``tilt`` [N·mm/rad] about the bed, ``push`` [N/mm]; ``end`` 0, 1, 2 of the screws."""

    tilt: float
    push: float
    end: int = 1


@dataclass(frozen=True, slots=True, eq=False)
class Piece:
    """A body in a contact problem: ``rows`` (pairs, m) onto its patches, compliance ``flex``, ``moves``."""

    rows: Floats
    flex: Floats | None
    moves: Floats  # (m, r)
    springs: Floats  # (r,)
    load: Floats  # (r,)


@dataclass(frozen=True, slots=True, eq=False)
class BodyState:
    """Forces (m,) [N] on all patches of a body and their motion (m,) [mm] along their directions.

    ``back`` [mm] is the part of its shift along Y that is travel of the screw and no give of anything.
    """

    force: Floats
    motion: Floats
    back: float = 0.0


@dataclass(frozen=True, slots=True, eq=False)
class Held:
    """A solved state. ``wall`` (W,) is how far each wall patch moved away from the part, by jaw [mm].

    ``force`` (W,) [N] presses each wall patch; empty where none was asked. ``open`` (W,) [mm].
    ``screws`` (2,) [N] is how hard each jaw screw pulls, by jaw. ``states`` tell how each whole body is
    loaded and moved: fixed jaw, floating jaw, what is between.
    """

    wall: dict[Side, Floats]
    force: dict[Side, Floats]
    open: dict[Side, Floats]
    steps: int
    screws: dict[Side, Floats]
    states: tuple[BodyState, ...] = ()


@lru_cache(maxsize=16)
def _settling(jaw: JawBody) -> float:
    """How much tighter the screws are drawn so that, when all has given way, they pull with their preload.

    A screw is tightened to a stress, and jaw and backing give under it. Contact under the preload alone
    grows in proportion to it, so that one solution tells it for every preload.
    """
    if not len(jaw.screws):
        return 1.0
    n = _own(jaw)
    pieces, gaps, extra, tied = _jaw_pieces(
        jaw,
        Mounts(1e12, 1e9),
        rows=np.zeros((n, len(jaw.points))),
        first=0,
        pairs=n,
        closing=None,
        settle=1.0,
    )
    contact, _ = _solve(pieces, gaps, extra, tied)
    start = len(jaw.backing)
    pull = float(contact.force[start : start + len(jaw.screws)].mean())
    return jaw.screw_preload[1] / pull if pull > 0 else 1.0


def _jaw_pieces(
    jaw: JawBody,
    mounts: Mounts,
    *,
    rows: Floats,
    first: int,
    pairs: int,
    closing: float | None,
    settle: float | None = None,
) -> tuple[list[Piece], Floats, Floats, Bools]:
    """A jaw and its mount. Rows of its backing, screws and anchors start at pair ``first``.

    Returns the pieces, and over all pairs: gap, extra compliance, tied. ``rows`` (pairs, m) are those of the
    other contacts. ``closing`` [N] pushes the mount along +Y; None: it stands on its spring.
    """
    own = np.concatenate([jaw.backing, jaw.screws, jaw.anchors])
    at = first + np.arange(len(own))
    rows = rows.copy()
    rows[at, own] = 1.0
    mount = np.zeros((pairs, len(own)))
    mount[at, np.arange(len(own))] = 1.0
    backed = len(jaw.backing) + len(jaw.screws)
    mount[at[backed:]] = 0.0  # anchors hold to the ground
    # into the mount is the other way round; it shifts along Y and tilts about the bed
    d = -jaw.directions[own][:, 1]
    moves = np.stack([d, d * jaw.points[own][:, 2]], axis=1)
    springs = np.array([mounts.push if closing is None else 0.0, mounts.tilt])
    load = np.array([0.0 if closing is None else closing, 0.0])
    gaps, extra, tied = np.zeros(pairs), np.zeros(pairs), np.zeros(pairs, dtype=bool)
    screws = at[len(jaw.backing) : backed]
    extra[screws] = 1 / jaw.screw_spring
    drawn = _settling(jaw) if settle is None else settle
    gaps[screws] = -drawn * jaw.screw_preload[mounts.end] / jaw.screw_spring
    tied[at[len(jaw.backing) :]] = True
    return (
        [
            Piece(rows, jaw.body.compliance, jaw.body.rigid, np.zeros(6), np.zeros(6)),
            Piece(mount, None, moves, springs, load),
        ],
        gaps,
        extra,
        tied,
    )


def _solve(
    pieces: Sequence[Piece], gaps: Floats, extra: Floats, tied: Bools
) -> tuple[gap.Contact, list[Floats]]:
    """The contact problem of some bodies, and the motion of each body's patches."""
    c = np.diag(extra)
    for p in pieces:
        if p.flex is not None:
            c = c + p.rows @ p.flex @ p.rows.T
    moves = np.concatenate([p.rows @ p.moves for p in pieces], axis=1)
    springs = np.diag(np.concatenate([p.springs for p in pieces]))
    load = np.concatenate([p.load for p in pieces])
    got = gap.solve(gap.Problem(c, gaps, moves, springs, load, tied))
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
    return len(jaw.backing) + len(jaw.screws) + len(jaw.anchors)


def even(jaw: JawBody, force: float) -> Floats:
    """Forces (m,) on all patches when ``force`` [N] along Y is spread evenly over the wall."""
    w = jaw.walls
    out = np.zeros(len(jaw.points))
    out[: len(w.area)] = force / (w.area @ np.abs(w.normal[:, 1])) * w.area
    return out


def pressed(jaw: JawBody, mounts: Mounts, force: float) -> Floats:
    """Motion (W,) [mm] of a jaw's wall, out of the part, under ``force`` [N] spread evenly over the wall."""
    return loaded(jaw, mounts, even(jaw, force))


def loaded(jaw: JawBody, mounts: Mounts, load: Floats) -> Floats:
    """Motion (W,) [mm] of a jaw's wall, out of the part, under ``load`` (m,) [N] on its patches."""
    n = _own(jaw)
    pieces, gaps, extra, tied = _jaw_pieces(
        jaw, mounts, rows=np.zeros((n, len(load))), first=0, pairs=n, closing=None
    )
    return _under(jaw, load, pieces, gaps=gaps, extra=extra, tied=tied)


def give(jaw: JawBody, force: float) -> Floats:
    """As ``pressed``, were the whole back of the jaw bonded to something rigid: the wall's own give."""
    own = np.concatenate([jaw.backing, jaw.above, jaw.anchors])
    n, load = len(own), even(jaw, force)
    rows = np.zeros((n, len(load)))
    rows[np.arange(n), own] = 1.0
    piece = Piece(rows, jaw.body.compliance, jaw.body.rigid, np.zeros(6), np.zeros(6))
    return _under(jaw, load, [piece], gaps=np.zeros(n), extra=np.zeros(n), tied=np.ones(n, dtype=bool))


def _under(
    jaw: JawBody, load: Floats, pieces: Sequence[Piece], *, gaps: Floats, extra: Floats, tied: Bools
) -> Floats:
    """Motion of the wall under known forces on the first piece, the jaw."""
    own = pieces[0]
    assert own.flex is not None
    loaded = replace(own, load=own.moves.T @ load)
    _, moved = _solve([loaded, *pieces[1:]], gaps + own.rows @ own.flex @ load, extra, tied)
    return np.asarray((moved[0] + own.flex @ load)[: len(jaw.walls.area)])


def between(
    m: Model, mounts: Mounts, middle: Piece, *, touch: dict[Side, Floats], gaps: Floats, extra: Floats,
    force: float,
) -> Held:  # fmt: skip
    """Both jaws closed by ``force`` on a body between them.

    ``middle.rows`` (k, m) are its own pairs: those with the fixed jaw (``touch`` gives the jaw's
    patches in each), with the floating jaw, and what ties it to the ground.
    """
    k = len(middle.rows)
    sizes = [_own(m.jaws[side]) for side in SIDES]
    pairs = k + sum(sizes)
    whole = np.zeros((pairs, middle.rows.shape[1]))
    whole[:k] = middle.rows
    gap_all, extra_all = np.zeros(pairs), np.zeros(pairs)
    gap_all[:k], extra_all[:k] = gaps, extra
    tied = np.zeros(pairs, dtype=bool)
    ends = np.cumsum([0, *(len(touch[side]) for side in SIDES)])
    tied[ends[-1] : k] = True
    pieces: list[Piece] = []
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
    pieces.append(Piece(whole, middle.flex, middle.moves, middle.springs, middle.load))
    contact, moved = _solve(pieces, gap_all, extra_all, tied)
    wall, pressing, opened, screws = {}, {}, {}, {}
    states: list[BodyState] = []
    first = k
    for j, side in enumerate(SIDES):
        walls = m.jaws[side].walls
        u, back = moved[2 * j][: len(walls.area)], 0.0
        if side == "floating":
            # Its mount was pushed home by the screw: count the give of the mount, not the travel.
            back = float(contact.motion[6 + 2 + 6]) + force / mounts.push
            u = u - back * walls.normal[:, 1]
        wall[side] = u
        states.append(BodyState(pieces[2 * j].rows.T @ contact.force, moved[2 * j], back))
        pressing[side] = contact.force[ends[j] : ends[j + 1]]
        opened[side] = contact.opening[ends[j] : ends[j + 1]]
        start = first + len(m.jaws[side].backing)
        screws[side] = contact.force[start : start + len(m.jaws[side].screws)]
        first += sizes[j]
    states.append(BodyState(pieces[-1].rows.T @ contact.force, moved[-1]))
    return Held(wall, pressing, opened, contact.steps, screws, tuple(states))
