"""The jaw against CalculiX 2.20, a separate finite-element program (20-node bricks of its own).

Its answers, computed by it, are kept word for word in ``tests/authorities/calculix``;
``tests/builders/calculix_jaw.py`` makes the questions. Quick tests compare with
what is kept, a long one asks the program again.
"""

from __future__ import annotations

from functools import cache

import numpy as np
import pytest

from builders import calculix, calculix_jaw
from jawright.mechanics import front
from jawright.mechanics.condense import joined, patterns
from jawright.mechanics.solid import Floats
from jawright.proof.elastic import front_rows, lean_and_shift
from jawright.proof.elastic_body import jaw_body
from jawright.proof.elastic_join import Mounts, even, give, loaded
from jawright.proof.elastic_walls import wall_patches

RIGID = Mounts(1e13, 1e10)


@cache
def problem() -> calculix_jaw.Problem:
    return calculix_jaw.problem()


def kept(name: str) -> str:
    return (calculix.KEPT / f"{name}.dat").read_text(encoding="ascii")


def own_displacements(p: calculix_jaw.Problem) -> Floats:
    """Displacements (k, 3) of the nodes that are read, back held, by our front."""
    read = np.zeros((p.solid.unknowns, 3 * len(p.read)))
    dofs = (3 * p.read[:, None] + np.arange(3)).ravel()
    read[dofs, np.arange(len(dofs))] = 1.0
    load = np.column_stack([calculix_jaw.even(p), read])
    return front.compliance(p.solid, load, calculix_jaw.bonded(p))[0, 1:].reshape(-1, 3)


def test_same_jaw_same_mesh_at_every_node_of_the_pocket() -> None:
    """Back held, no contact: all three displacements at all nodes of the pocket, within 1 % asked for."""
    p = problem()
    theirs = calculix.displacements(kept("jaw_bonded"))
    assert sorted(theirs) == sorted(int(i) for i in p.read)
    want = np.array([theirs[int(i)] for i in p.read])
    got = own_displacements(p)
    assert got == pytest.approx(want, abs=2e-6 * np.abs(want).max())  # its digits
    moved = np.abs(want[:, 1]) > 0.1 * np.abs(want[:, 1]).max()
    assert moved.sum() > 40
    assert got[moved, 1] == pytest.approx(want[moved, 1], rel=1e-4)


def own_states(p: calculix_jaw.Problem) -> tuple[tuple[float, float], float]:
    """Lean [rad] and shift [mm] of the wall, back one-sided in patches; and the lean of its own give."""
    body = jaw_body(p.hold, p.jaws, "fixed", calculix_jaw.MATERIAL, wall=p.wall)
    rows = front_rows(body, calculix_jaw.screw_points())
    load = even(body, calculix_jaw.FORCE) + calculix_jaw.SCREWS * rows.mean(axis=0)
    own = lean_and_shift(body.walls, give(body, calculix_jaw.FORCE))[0]
    return lean_and_shift(body.walls, loaded(body, RIGID, load)), own


def their_state(p: calculix_jaw.Problem, answer: str) -> tuple[float, float]:
    """Lean and shift from their displacements of the wall's nodes, averaged over the same patches."""
    moved = np.zeros((len(p.solid.nodes), 3))
    for node, u in calculix.displacements(answer).items():
        moved[node] = u
    means = patterns(p.solid, joined(wall_patches(p.wall))).T @ moved.ravel()
    return lean_and_shift(p.wall, means)


def test_one_sided_backing_leaves_the_same_taper() -> None:
    """One-sided backing: lean, taper (lean less the wall's own give) and shift within 3 %.

    Ours touches in patches, theirs in points of its faces.
    """
    p = problem()
    (lean, shift), own = own_states(p)
    want_lean, want_shift = their_state(p, kept("jaw_backed"))
    want_own, _ = their_state(p, kept("jaw_bonded"))
    assert want_lean > 2 * want_own > 0  # most of it is the jaw that rocks and bends over its backing
    assert own == pytest.approx(want_own, rel=0.01)
    assert lean == pytest.approx(want_lean, rel=0.03)
    assert lean - own == pytest.approx(want_lean - want_own, rel=0.03)
    assert shift == pytest.approx(want_shift, rel=0.03)


@pytest.mark.long
@pytest.mark.parametrize("name", ["jaw_bonded", "jaw_backed"])
def test_program_still_answers_as_kept(name: str) -> None:
    """Asked again, the program gives what is kept."""
    assert calculix.ccx() is not None, "install CalculiX (ccx): it is asked again here"
    again = calculix.displacements(calculix.solve(calculix_jaw.decks(problem())[name]))
    was = calculix.displacements(kept(name))
    assert sorted(again) == sorted(was)
    most = max(abs(v) for u in was.values() for v in u)
    for node, u in was.items():
        assert again[node] == pytest.approx(u, abs=1e-5 * most)
