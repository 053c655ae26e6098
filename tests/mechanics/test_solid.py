"""Meshing by cells and cuts, and condensing: volumes, places, errors, independence of the support."""

from __future__ import annotations

import math

import numpy as np
import pytest
from scipy import sparse
from scipy.sparse.linalg import spsolve

from jawright.errors import JawrightError
from jawright.mechanics import brick, front
from jawright.mechanics.condense import condense, joined, patterns
from jawright.mechanics.solid import Bools, Cut, Floats, Solid, build, weights

E, NU = 70e3, 0.33


def hole(x: Floats, y: Floats) -> Bools:
    gone: Bools = (x - 10.0) ** 2 + (y - 6.0) ** 2 < 16.0
    return gone


def block(n: int, *cuts: Cut) -> Solid:
    return build([np.linspace(0, s, n + 1) for s in (20.0, 12.0, 9.0)], cuts, E=E, nu=NU)


def test_volume_of_a_drilled_block() -> None:
    whole = 20 * 12 * 9.0
    assert block(3).volume == pytest.approx(whole, rel=1e-12)
    for n in (4, 8):
        got = block(n, Cut(2, hole, -1.0, 10.0)).volume
        assert got == pytest.approx(whole - math.pi * 16 * 9, rel=0.02 / n)


def test_cut_along_each_axis_takes_the_same() -> None:
    lines = [np.linspace(0, 12, 7)] * 3

    def round_(u: Floats, v: Floats) -> Bools:
        gone: Bools = (u - 5.0) ** 2 + (v - 7.0) ** 2 < 9.0
        return gone

    got = {build(lines, [Cut(a, round_, 3.0, 20.0)], E=E, nu=NU).volume for a in range(3)}
    assert max(got) == pytest.approx(min(got), rel=1e-12)
    assert max(got) == pytest.approx(12**3 - math.pi * 9 * 9, rel=0.005)


def test_cells_without_metal_are_left_out() -> None:
    s = build([np.linspace(0, 4, 5)] * 3, [Cut(2, lambda x, y: (x < 1.0) & (y > -1), -1.0, 5.0)], E=E, nu=NU)
    assert len(s.cells) == 48
    assert s.nodes[:, 0].min() == 1.0


def test_shape_functions_are_one_at_their_node_and_add_up() -> None:
    at = brick.PLACES.astype(float)
    assert brick.shapes(at) == pytest.approx(np.eye(20), abs=1e-12)
    xi = np.random.default_rng(1).uniform(-1, 1, (50, 3))
    assert brick.shapes(xi).sum(axis=1) == pytest.approx(np.ones(50))
    step = 1e-6
    for axis in range(3):
        d = np.zeros(3)
        d[axis] = step
        numeric = (brick.shapes(xi + d) - brick.shapes(xi - d)) / (2 * step)
        assert brick.slopes(xi)[:, :, axis] == pytest.approx(numeric, abs=1e-8)


def test_stiffness_of_a_whole_cell_is_the_same_by_probes() -> None:
    edges = np.array([[2.0, 3.0, 5.0]])
    whole = brick.stiffness(edges, None, E=E, nu=NU)
    probed = brick.stiffness(edges, brick.sample_weights().reshape(1, -1), E=E, nu=NU)
    assert probed == pytest.approx(whole, abs=2e-3 * whole.max())


def test_points_are_read_where_they_are() -> None:
    s = block(4, Cut(2, hole, -1.0, 10.0))
    points = np.array([[0.5, 0.5, 0.5], [19.0, 11.0, 8.5], [6.0, 6.0, 4.0]])
    number, value = weights(s, points)
    nodes = s.nodes
    assert np.einsum("ka,kai->ki", value, nodes[number]) == pytest.approx(points)


def test_compliance_by_the_front_is_that_of_a_plain_solve() -> None:
    s = build(
        [np.linspace(0, 20, 5), np.linspace(0, 12, 4), np.linspace(0, 9, 3)],
        [Cut(2, hole, -1, 10)],
        E=E,
        nu=NU,
    )
    dofs = (3 * s.of_cell[:, :, None] + np.arange(3)).reshape(len(s.cells), 60)
    rows, cols = np.repeat(dofs, 60, axis=1).ravel(), np.tile(dofs, (1, 60)).ravel()
    k = sparse.csr_matrix((s.stiffness.ravel(), (rows, cols)), shape=(s.unknowns,) * 2)
    held = np.repeat(s.nodes[:, 0] < 1e-9, 3)
    load = np.random.default_rng(3).normal(size=(s.unknowns, 4))
    free = np.flatnonzero(~held)
    u = spsolve(k[free][:, free].tocsc(), load[free])
    assert front.compliance(s, load, held) == pytest.approx(load[free].T @ u, rel=1e-9)


def test_how_a_free_body_is_held_drops_out() -> None:
    """Two halves of the same body give the same answer to balanced loads wherever its support lies."""
    a, b = (
        build(
            [np.linspace(0, 20, 6), np.linspace(0, 12, 4), np.linspace(0, 9, 3)],
            [Cut(2, hole, -1, 10)],
            E=E,
            nu=NU,
        )
        for _ in range(2)
    )
    z = np.array([0, 0, 1.0])
    spots = [
        (np.array([[x, y, t]]), z, np.ones(1)) for x, y, t in ((1, 1, 9), (19, 1, 9), (1, 11, 9), (19, 11, 0))
    ]
    patches = joined(spots)
    first = condense(a, patches)
    # the same with the support of a mirrored numbering: hold three corners by hand
    held = np.zeros(b.unknowns, dtype=bool)
    for corner, axes in (
        ((20.0, 12.0, 9.0), (0, 1, 2)),
        ((0.0, 12.0, 9.0), (1, 2)),
        ((20.0, 0.0, 9.0), (2,)),
    ):
        node = int(np.argmin(np.abs(b.nodes - np.array(corner)).sum(axis=1)))
        held[[3 * node + i for i in axes]] = True
    second = front.compliance(b, patterns(b, patches), held)
    force = np.linalg.svd(first.rigid[:, [0, 1, 2, 3, 4]].T)[2][-1]
    assert np.abs(first.rigid.T @ force).max() < 1e-9
    assert force @ first.compliance @ force == pytest.approx(force @ second @ force, rel=1e-7)


@pytest.mark.parametrize(
    ("lines", "material", "match"),
    [
        ([[0, 1], [0, 1], [0, 0]], (E, NU), "rise"),
        ([[0, 1], [0, 1], [0, 1]], (-1.0, NU), "no elastic"),
        ([[0, 1], [0, 1], [0, 1]], (E, 0.5), "no elastic"),
    ],
)
def test_bad_meshes_are_refused(lines: list[list[float]], material: tuple[float, float], match: str) -> None:
    with pytest.raises(JawrightError, match=match):
        build([np.array(v, dtype=float) for v in lines], E=material[0], nu=material[1])


def test_nothing_left_and_empty_patches_are_refused() -> None:
    with pytest.raises(JawrightError, match="nothing is left"):
        block(2, Cut(2, lambda x, _: x > -1, -1.0, 10.0))
    with pytest.raises(JawrightError, match="no area"):
        joined([(np.zeros((0, 3)), np.array([1.0, 0, 0]), np.zeros(0))])


def test_loose_body_is_refused() -> None:
    s = block(2)
    load = np.ones((s.unknowns, 1))
    held = np.zeros(s.unknowns, dtype=bool)
    held[:2] = True
    with pytest.raises(JawrightError, match="free to move"):
        front.compliance(s, load, held)
