"""The jaw problems that CalculiX answered, and the script that asks it again.

Run: python tests/builders/calculix_jaw.py
writes ``tests/authorities/calculix/*.dat`` anew with the ``ccx`` on the path.

An invented jaw of aluminum, 150 × 25 × 64, with a square pocket 44 × 26 × 6.5 deep and no holes, so that
every cell of its mesh is whole and both programs have the same mesh. Two problems:

- bonded: the whole back is held along Y; 8 kN press the wall evenly. Every node of the pocket is read.
- backed: the back bears one-sidedly on a rigid vise up to 43.125 mm; 8 kN press the wall, 24 kN on the front
  stand for the screws. Every node of the wall is read.
"""

from __future__ import annotations

import sys
from dataclasses import dataclass, replace
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

HERE = Path(__file__).resolve().parent
sys.path[:0] = [str(HERE.parent)]

from builders import calculix  # noqa: E402
from jawright import handbook  # noqa: E402
from jawright.geometry.profile import Region, rectangle  # noqa: E402
from jawright.hold.model import Hold  # noqa: E402
from jawright.jaws.model import Jaws  # noqa: E402
from jawright.mechanics.condense import joined, patterns  # noqa: E402
from jawright.mechanics.solid import Floats, Solid, build  # noqa: E402
from jawright.proof.elastic_shape import cuts, grid_lines  # noqa: E402
from jawright.proof.elastic_walls import Walls, wall_patches, walls  # noqa: E402
from proof import sample_elastic as made  # noqa: E402

FORCE = 8000.0
SCREWS = 24e3
SCREW_AT = (-50.0, 22.0), (50.0, 22.0)
BACKED = 43.125  # height of the vise's metal: a grid line
MATERIAL = handbook.material("6061-T6")
Bools = NDArray[np.bool_]


@dataclass(frozen=True, eq=False)
class Problem:
    """The fixed jaw, its mesh, its wall and the nodes that are read."""

    hold: Hold
    jaws: Jaws
    wall: Walls
    solid: Solid
    read: NDArray[np.int64]


def problem(coarser: float = 1.0) -> Problem:
    """The jaw with a square pocket and no holes, meshed as the program itself meshes it."""
    j = made.jaws(height=64.0)
    pocket = Region(rectangle(made.LEFT, made.FRONT, made.RIGHT, made.BACK))
    j = replace(
        j, pocket=pocket, fixed=replace(j.fixed, bolts=()), floating=replace(j.floating, bolts=()), reliefs=()
    )
    hold = made.hold(j, made.vise(rigid=True, body=BACKED))
    z = j.floor + made.DEEP / 2
    wall = walls(hold, j, "fixed", low=z - made.DEEP / 2, high=z + made.DEEP / 2)
    assert wall is not None
    solid = build(
        grid_lines(j, j.fixed, wall, coarser=coarser),
        cuts(j, j.fixed, front_y=0.0, seat_y=14.0),
        E=MATERIAL.E,
        nu=MATERIAL.nu,
    )
    x, y, zz = solid.nodes.T
    near = 1e-9
    inside = (x > made.LEFT - near) & (x < made.RIGHT + near) & (y < made.BACK + near) & (zz > j.floor - near)
    return Problem(hold, j, wall, solid, np.flatnonzero(inside))


def even(p: Problem) -> Floats:
    """Nodal loads (3n,) of the force spread evenly over the wall."""
    own = patterns(p.solid, joined(wall_patches(p.wall)))
    share = p.wall.area / (p.wall.area @ np.abs(p.wall.normal[:, 1]))
    return np.asarray(own @ (FORCE * share))


def screws(p: Problem) -> Floats:
    """Nodal loads (3n,) [N] that stand for the screws: two patches of the front face pressed toward +Y."""
    at = screw_points()
    points = np.stack([at[:, 0], np.zeros(len(at)), at[:, 1]], axis=1)
    spots = joined([(points, np.array([0.0, 1.0, 0.0]), np.ones(len(points)))])
    return np.asarray(patterns(p.solid, spots)[:, 0] * SCREWS)


def screw_points() -> Floats:
    """Points (k, 2) in x, z over which the screws' pull is spread evenly."""
    s = np.linspace(-7.0, 7.0, 8)
    spots = [np.stack(np.meshgrid(x + s, z + s, indexing="ij"), axis=-1).reshape(-1, 2) for x, z in SCREW_AT]
    return np.concatenate(spots)


def bonded(p: Problem) -> Bools:
    """The whole back held along Y, and what else a body is free to do."""
    held = loose(p)
    held[1::3] = p.solid.nodes[:, 1] > p.jaws.fixed.y1 - 1e-9
    return held


def loose(p: Problem) -> Bools:
    """Held along X and Z and against a turn about Y only, at the foot of the back: nothing loads these."""
    held = np.zeros(p.solid.unknowns, dtype=bool)
    n = p.solid.nodes
    foot = np.flatnonzero((n[:, 1] > p.jaws.fixed.y1 - 1e-9) & (n[:, 2] < 1e-9))
    left, right = foot[np.argmin(n[foot, 0])], foot[np.argmax(n[foot, 0])]
    held[[3 * left, 3 * left + 2, 3 * right + 2]] = True
    return held


def decks(p: Problem) -> dict[str, str]:
    """Both input decks by name."""
    e, nu = MATERIAL.E, MATERIAL.nu
    wall = [int(i) for i in p.read if p.solid.nodes[i, 1] > made.BACK - 1e-9]
    return {
        "jaw_bonded": calculix.deck(p.solid, E=e, nu=nu, held=bonded(p), load=even(p), read=map(int, p.read)),
        "jaw_backed": calculix.deck(
            p.solid, E=e, nu=nu, held=loose(p), load=even(p) + screws(p), read=wall,
            backing=calculix.Backing(p.jaws.fixed.y1, 0.0, BACKED),
        ),
    }  # fmt: skip


if __name__ == "__main__":
    for name, text in decks(problem()).items():
        (calculix.KEPT / f"{name}.dat").write_text(calculix.solve(text), encoding="ascii")
        print(name)
