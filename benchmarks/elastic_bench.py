"""How long elastic jaws take, as ratios in the same run.

Run: python benchmarks/elastic_bench.py
Four things: condensing a jaw by the front against a sparse direct solver with the same matrix and the
same loads (``scipy.sparse.linalg.splu``, symmetric mode); twenty spacer heights from the condensed
jaws against one condensing each; the contact search against a general interior-point program; twenty
spacer heights, condensing included, against CalculiX solving the same mesh anew for each,
where it is installed.
"""

from __future__ import annotations

import sys
import time
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np
from scipy import sparse
from scipy.sparse.linalg import splu

sys.path[:0] = [str(Path(__file__).parent.parent / "tests")]

from builders import calculix, calculix_jaw  # noqa: E402
from jawright.mechanics import front, gap  # noqa: E402
from jawright.mechanics.condense import joined, patterns  # noqa: E402
from jawright.mechanics.solid import Cut, Solid, build  # noqa: E402
from jawright.proof import advice, elastic  # noqa: E402
from jawright.proof.elastic_walls import wall_patches  # noqa: E402
from proof import sample_elastic as made  # noqa: E402

FORCE = 8000.0


def best(work: Callable[[], Any], times: int = 3) -> float:
    """Shortest of some runs [s]."""
    spans = []
    for _ in range(times):
        start = time.perf_counter()
        work()
        spans.append(time.perf_counter() - start)
    return min(spans)


def jaw(n: int) -> tuple[Solid, np.ndarray, np.ndarray]:
    """A block with a hole, its supports and 180 loads."""
    lines = [np.linspace(0, s, round(s / 150 * n) + 1) for s in (150.0, 25.0, 50.0)]
    s = build(lines, [Cut(1, lambda x, z: (x - 75) ** 2 + (z - 22) ** 2 < 64, -1, 26)], E=68.9e3, nu=0.33)
    loads = np.random.default_rng(1).normal(size=(s.unknowns, 180))
    return s, loads, np.repeat(s.nodes[:, 0] < 1e-9, 3)


def direct(s: Solid, loads: np.ndarray, held: np.ndarray) -> np.ndarray:
    """The same compliance by a sparse factor."""
    dofs = (3 * s.of_cell[:, :, None] + np.arange(3)).reshape(len(s.cells), 60)
    rows, cols = np.repeat(dofs, 60, axis=1).ravel(), np.tile(dofs, (1, 60)).ravel()
    k = sparse.csc_matrix((s.stiffness.ravel(), (rows, cols)), shape=(s.unknowns,) * 2)
    free = np.flatnonzero(~held)
    factor = splu(
        k[free][:, free].tocsc(),
        permc_spec="MMD_AT_PLUS_A",
        diag_pivot_thresh=0.0,
        options={"SymmetricMode": True},
    )
    return np.asarray(loads[free].T @ factor.solve(loads[free]))


def fronts() -> None:
    for n in (20, 26):
        s, loads, held = jaw(n)
        ours = best(lambda: front.compliance(s, loads, held))  # noqa: B023
        theirs = best(lambda: direct(s, loads, held), 1)  # noqa: B023
        assert np.allclose(front.compliance(s, loads, held), direct(s, loads, held), rtol=1e-7)
        rate = theirs / ours
        print(
            f"  {s.unknowns:6d} unknowns, 180 loads: front {ours:.2f} s, sparse factor {rate:.1f} times that"
        )


def heights() -> None:
    j = made.beside(made.jaws(), 10.0, 18.0)
    hold = made.hold(j)
    whole = best(lambda: elastic._model.__wrapped__(hold, j, None, "6061-T6", 1.0))
    m = elastic.model(hold, j, None, "6061-T6")
    assert m is not None
    mounts = elastic.ends(hold.vise, "set")
    stacks = [replace(j.stack, low=z, high=z + 8, height=z + 4) for z in np.linspace(0, 42, 20)]

    def sweep() -> None:
        elastic.cut_state.cache_clear()
        for s in stacks:
            advice.leaves(m, mounts, s, cut_force=FORCE, force=FORCE)

    swept = best(sweep)
    print(f"  both jaws and the part, {m.jaws['fixed'].unknowns} unknowns a jaw: {whole:.2f} s")
    rate = 20 * whole / swept
    print(f"  20 spacer heights: {swept / 20 * 1e3:.0f} ms each; solved anew each: {rate:.0f} times that")


def contacts() -> None:
    kept: list[gap.Problem] = []
    plain = gap.solve

    def spy(p: gap.Problem, start: Any = None) -> gap.Contact:
        kept.append(p)
        return plain(p, start)

    j = made.jaws(stack=(10, 30))
    hold = made.hold(j)
    m = elastic.model(hold, j, None, "6061-T6")
    assert m is not None
    mounts = elastic.ends(hold.vise, "set")
    gap.solve = spy
    cut = elastic.as_cut(m, mounts, j.stack, FORCE)
    assert cut is not None
    elastic.states(m, mounts, force=FORCE, cut=cut)
    gap.solve = plain
    for p in kept[:2]:
        ours, theirs = best(lambda: plain(p)), best(lambda: gap.general(p))  # noqa: B023
        rate = theirs / ours
        print(f"  {len(p.gap)} pairs: active set {ours * 1e3:.1f} ms, interior point {rate:.1f} times that")


def program() -> None:
    """Twenty heights of a load on the front of one jaw, by us and by a separate program on the same mesh."""
    if calculix.ccx() is None:
        print("  CalculiX (ccx) is not installed")
        return
    p = calculix_jaw.problem()
    spots = np.linspace(4.0, 40.0, 20)

    def loads(z: float) -> np.ndarray:
        s = np.linspace(-7.0, 7.0, 8)
        at = np.stack(np.meshgrid(s, z + s / 4, indexing="ij"), axis=-1).reshape(-1, 2)
        points = np.stack([at[:, 0], np.zeros(len(at)), at[:, 1]], axis=1)
        one = joined([(points, np.array([0.0, 1.0, 0.0]), np.ones(len(points)))])
        return patterns(p.solid, one)[:, 0] * FORCE

    reads = patterns(p.solid, joined(wall_patches(p.wall)))
    held = calculix_jaw.bonded(p)
    found = []

    def ours() -> None:
        rows = np.column_stack([reads, *(loads(float(z)) for z in spots)])
        c = front.compliance(p.solid, rows, held)
        found.append(c[: reads.shape[1], reads.shape[1] :])

    deck = calculix.deck(
        p.solid,
        E=calculix_jaw.MATERIAL.E,
        nu=calculix_jaw.MATERIAL.nu,
        held=held,
        load=loads(spots[7]),
        read=p.read,
    )
    answer: list[str] = []
    mine = best(ours)
    theirs = best(lambda: answer.append(calculix.solve(deck)), 2)
    moved = np.zeros((len(p.solid.nodes), 3))
    for node, u in calculix.displacements(answer[0]).items():
        moved[node] = u
    want = reads.T @ moved.ravel()
    assert np.allclose(found[0][:, 7], want, atol=1e-5 * np.abs(want).max())
    print(
        f"  {p.solid.unknowns} unknowns: 20 heights {mine:.2f} s; CalculiX anew for each "
        f"({theirs:.2f} s one) {20 * theirs / mine:.0f} times that"
    )


if __name__ == "__main__":
    print("condensing by the front against a sparse direct solver")
    fronts()
    print("spacer heights from the condensed jaws")
    heights()
    print("contact search")
    contacts()
    print("twenty heights against a separate program")
    program()
