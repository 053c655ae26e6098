"""The elastic solver against published solutions.

Sources: Timoshenko's beam with shear, Strength of Materials; Irons' patch test and rigid modes (Taylor,
Simo, Zienkiewicz and Chan 1986); Cook's membrane, tip 23.96 as a public list of benchmarks gives it (Cook
1974 printed 23.9 from coarser meshes); Hertz line contact with the numbers of the NAFEMS Advanced Finite
Element Contact Benchmarks (2006), benchmark 1 (from memory, recomputed); Maxwell and Betti.
"""

from __future__ import annotations

import math

import numpy as np
import pytest
from scipy.interpolate import RegularGridInterpolator

from jawright.mechanics import front
from jawright.mechanics.condense import condense, joined
from jawright.mechanics.gap import Problem, general, solve
from jawright.mechanics.hertz import contact_modulus, line_contact
from jawright.mechanics.solid import Bools, Cut, Floats, Solid, build, rigid_modes, strain_weights, weights
from mechanics.curved import bent


def loaded(solid: Solid, points: Floats, forces: Floats) -> Floats:
    """Nodal loads (3n,) of ``forces`` (k, 3) at ``points`` (k, 3)."""
    number, value = weights(solid, points)
    out = np.zeros(solid.unknowns)
    for axis in range(3):
        np.add.at(out, 3 * number.ravel() + axis, (value * forces[:, [axis]]).ravel())
    return out


def face(y: tuple[float, float], z: tuple[float, float], x: float, n: int = 40) -> Floats:
    s = (np.arange(n) + 0.5) / n
    u, v = np.meshgrid(y[0] + (y[1] - y[0]) * s, z[0] + (z[1] - z[0]) * s, indexing="ij")
    return np.stack([np.full(u.size, x), u.ravel(), v.ravel()], axis=1)


def cantilever(nu: float, cells: tuple[int, int, int]) -> tuple[float, float]:
    """Tip deflection of 150 × 20 × 15 under 500 N, and Timoshenko's."""
    length, wide, high, force, modulus = 150.0, 20.0, 15.0, 500.0, 70e3
    lines = [np.linspace(0, s, n + 1) for s, n in zip((length, wide, high), cells, strict=True)]
    s = build(lines, E=modulus, nu=nu)
    tip = face((0, wide), (0, high), length)
    load = loaded(s, tip, np.tile([0, 0, force / len(tip)], (len(tip), 1)))
    held = np.repeat(s.nodes[:, 0] < 1e-9, 3)
    got = front.compliance(s, load[:, None], held)[0, 0] / force
    inertia, shear = wide * high**3 / 12, modulus / 2 / (1 + nu)
    kappa = 5 / 6 if nu == 0 else 10 * (1 + nu) / (12 + 11 * nu)
    return got, force * length**3 / (3 * modulus * inertia) + force * length / (kappa * shear * wide * high)


def test_cantilever_of_timoshenko() -> None:
    """Timoshenko, Strength of Materials: bending plus shear with κ = 5/6. Without lateral strain a clamped
    end is what the beam takes it for, so the two must agree to 0.1 % (from memory).
    """
    got, beam = cantilever(0.0, (30, 4, 3))
    assert got == pytest.approx(beam, rel=1e-3)


def test_clamped_end_restrains_lateral_strain() -> None:
    """With ν = 0.33 the clamped end cannot widen, which the beam does not know: 1.3 % stiffer here, and
    nearly the same on a coarser mesh, so it is no error of the mesh (computed: three other solvers
    gave 0.987).
    """
    coarse, beam = cantilever(0.33, (20, 4, 3))
    fine, _ = cantilever(0.33, (30, 4, 3))
    assert fine / beam == pytest.approx(0.987, abs=0.001)
    assert fine / coarse == pytest.approx(1.0, abs=0.002)


def oblique(x: Floats, z: Floats) -> Bools:
    """A slanted cut through the cells and a round hole."""
    gone: Bools = (z > 7.3 + 0.31 * x) | ((x - 4.1) ** 2 + (z - 3.2) ** 2 < 1.9**2)
    return gone


@pytest.mark.parametrize("cut", [False, True])
def test_patch_test_of_irons(cut: bool) -> None:
    """Patch test: with the loads of a constant strain a body of uneven cells answers with that strain.

    Whole cells to 1e-9; where a cut runs through cells the volume of the cut cells is summed over probes, so
    what holds is that a linear displacement stores the energy of its strain in the metal counted
    (from memory).
    """
    lines = [np.array([0, 2.1, 5.2, 9.0]), np.array([0, 3.3, 5.0]), np.array([0, 1.7, 5.9, 8.0])]
    modulus, nu = 70e3, 0.33
    s = build(lines, [Cut(1, oblique, -1, 9)] if cut else [], E=modulus, nu=nu)
    strain = np.array([[3, 0.5, -1], [0.5, -2, 0.7], [-1, 0.7, 1.5]]) * 1e-4
    u = (s.nodes @ strain).reshape(-1)
    lam, mu = modulus * nu / ((1 + nu) * (1 - 2 * nu)), modulus / (2 * (1 + nu))
    stress = lam * np.trace(strain) * np.eye(3) + 2 * mu * strain
    dofs = (3 * s.of_cell[:, :, None] + np.arange(3)).reshape(len(s.cells), 60)
    energy = 0.5 * np.einsum("mi,mij,mj->", u[dofs], s.stiffness, u[dofs])
    assert energy == pytest.approx(
        0.5 * float((stress * strain).sum()) * s.volume, rel=1e-4 if cut else 1e-12
    )
    inner = np.zeros(s.unknowns)
    np.add.at(inner, dofs.ravel(), np.einsum("mij,mj->mi", s.stiffness, u[dofs]).ravel())
    if not cut:
        middle = np.flatnonzero(np.all((s.nodes > 1e-9) & (s.nodes < s.nodes.max(axis=0) - 1e-9), axis=1))
        assert len(middle) > 5
        rows = (3 * middle[:, None] + np.arange(3)).ravel()
        assert np.abs(inner[rows]).max() < 1e-10 * np.abs(inner).max()
        # the answer itself, supported so that it just cannot move as a whole
        held = np.zeros(s.unknowns, dtype=bool)
        first = int(np.flatnonzero((np.abs(s.nodes) < 1e-9).all(axis=1))[0])
        held[3 * first : 3 * first + 3] = True
        x_far = int(np.argmax(s.nodes[:, 0] - 9 * s.nodes[:, 1] - 9 * s.nodes[:, 2]))
        y_far = int(np.argmax(s.nodes[:, 1] - 9 * s.nodes[:, 0] - 9 * s.nodes[:, 2]))
        held[[3 * x_far + 1, 3 * x_far + 2, 3 * y_far + 2]] = True
        here = np.array([[4.4, 2.6, 3.9]])
        number, slope = strain_weights(s, here)
        reads = np.zeros((s.unknowns, 3))
        for axis in range(3):
            reads[3 * number[0] + axis, axis] = slope[0, :, axis]
        got = front.compliance(s, np.column_stack([inner, reads]), held)[0, 1:]
        assert got == pytest.approx(np.diag(strain), rel=1e-10)


def test_patch_test_on_distorted_cells() -> None:
    """Irons; Taylor, Simo, Zienkiewicz and Chan 1986 (from memory): the same bricks with their corners pushed
    about. Loads of a constant strain on the outside move every node inside as that strain does, to 1e-10.
    """
    rng = np.random.default_rng(6)
    counts = (3, 3, 3)
    off = 0.25 * rng.uniform(-1, 1, (*(n + 1 for n in counts), 3))
    lines = [np.arange(n + 1.0) for n in counts]
    shift = RegularGridInterpolator(lines, off)  # linear: edges stay straight, their middles in the middle
    modulus, nu = 70e3, 0.33
    s = bent(lines, lambda grid: grid + shift(grid), E=modulus, nu=nu)
    strain = np.array([[3, 0.5, -1], [0.5, -2, 0.7], [-1, 0.7, 1.5]]) * 1e-4
    want = s.nodes @ strain
    dofs = (3 * s.of_cell[:, :, None] + np.arange(3)).reshape(len(s.cells), 60)
    force = np.zeros(s.unknowns)
    np.add.at(force, dofs.ravel(), np.einsum("mij,mj->mi", s.stiffness, want.reshape(-1)[dofs]).ravel())
    force = force.reshape(-1, 3)
    inside = np.all((s.place > 0) & (s.place < s.place.max(axis=0)), axis=1)
    assert inside.sum() > 20
    assert np.abs(force[inside]).max() < 1e-10 * np.abs(force).max()
    # held so that it just cannot move as a whole, it answers the outside loads alone with that strain
    ends = [
        int(np.flatnonzero((s.place == 2 * np.array(p)).all(axis=1))[0]) for p in np.eye(3, dtype=int) * 3
    ]
    first = int(np.flatnonzero((s.place == 0).all(axis=1))[0])
    fixed = [3 * first, 3 * first + 1, 3 * first + 2, 3 * ends[0] + 1, 3 * ends[0] + 2, 3 * ends[1] + 2]
    held = np.zeros(s.unknowns, dtype=bool)
    held[fixed] = True
    # the strain's own motion, turned and moved so that it too is nought there
    modes = rigid_modes(s.nodes)
    want = want.reshape(-1) - modes @ np.linalg.solve(modes[fixed], want.reshape(-1)[fixed])
    outside = np.where(inside[:, None], 0.0, force).reshape(-1, 1)
    some = np.flatnonzero(np.repeat(inside, 3))[::7]
    reads = np.zeros((s.unknowns, len(some)))
    reads[some, np.arange(len(some))] = 1.0
    got = front.compliance(s, np.hstack([outside, reads]), held)[0, 1:]
    assert got == pytest.approx(want[some], abs=1e-10 * np.abs(want).max())


def test_six_motions_cost_nothing_and_no_more() -> None:
    """Taylor, Simo, Zienkiewicz and Chan 1986 (from memory): six zero-energy modes of one element and of a
    cut body.
    """
    one = build([np.array([0, 2.0]), np.array([0, 3.0]), np.array([0, 1.5])], E=1.0, nu=0.3)
    values = np.linalg.eigvalsh(one.stiffness[0])
    assert np.sum(np.abs(values) < 1e-12 * values[-1]) == 6
    s = build([np.linspace(0, 9, 4)] * 3, [Cut(1, oblique, -1, 10)], E=70e3, nu=0.33)
    modes = rigid_modes(s.nodes)
    dofs = (3 * s.of_cell[:, :, None] + np.arange(3)).reshape(len(s.cells), 60)
    force = np.einsum("mij,mjk->mik", s.stiffness, modes[dofs])
    assert np.abs(force).max() < 1e-10 * s.stiffness.max() * np.abs(modes).max()
    whole = np.zeros((s.unknowns, s.unknowns))
    for own, part in zip(dofs, s.stiffness, strict=True):
        whole[np.ix_(own, own)] += part
    values = np.linalg.eigvalsh(whole)
    assert np.sum(np.abs(values) < 1e-12 * values[-1]) == 6


def cook(n: int) -> tuple[float, float]:
    """Middle and top of the loaded edge of Cook's membrane, plane stress; slanted edges run through cells."""

    def outside(x: Floats, y: Floats) -> Bools:
        gone: Bools = (y < 44 * x / 48) | (y > 44 + 16 * x / 48)
        return gone

    lines = [np.linspace(0, 48, n + 1), np.linspace(0, 60, n * 5 // 4 + 1), np.array([0, 1.0])]
    s = build(lines, [Cut(2, outside, -1, 2)], E=1.0, nu=1 / 3)
    edge = np.concatenate(
        [face((44, 60), (z, z), 48.0, 20) for z in (0.5 - 0.5 / 3**0.5, 0.5 + 0.5 / 3**0.5)]
    )
    load = loaded(s, edge, np.tile([0, 1 / len(edge), 0], (len(edge), 1)))
    tip, top = (loaded(s, np.array([[48.0, y, 0.5]]), np.array([[0, 1.0, 0]])) for y in (52.0, 60.0))
    held = np.repeat(s.nodes[:, 0] < 1e-9, 3)
    held[2::3] = s.nodes[:, 2] < 1e-9
    got = front.compliance(s, np.stack([load, tip, top], axis=1), held)[0]
    return float(got[1]), float(got[2])


def test_membrane_of_cook() -> None:
    """Cook's membrane: 23.96 at the middle of the loaded edge (read in a public list of benchmarks); its top
    corner moves by 25.16 (computed by another program with quadratic elements).
    """
    got, corner = zip(*(cook(n) for n in (4, 8, 16)), strict=True)
    assert got[0] == pytest.approx(23.96, rel=0.005)
    assert got[1] == pytest.approx(23.96, rel=0.001)
    assert got[2] == pytest.approx(23.96, rel=0.001)
    assert corner[2] == pytest.approx(25.16, rel=0.005)  # it lies in a cell that both edges run through


def test_displacement_converges_with_order_of_the_element() -> None:
    """Richardson, Roache (from memory): with a smooth answer (ν = 0, a smooth body force) the order is at
    least two.
    """
    tips = []
    for n in (2, 4, 8):
        s = build([np.linspace(0, 20, n + 1), np.array([0, 10.0]), np.linspace(0, 10, n + 1)], E=1.0, nu=0.0)
        x, z = s.nodes[:, 0], s.nodes[:, 2]
        # a body force along z that varies smoothly, so the exact answer is smooth as well
        load = np.zeros((s.unknowns, 1))
        g, w = np.polynomial.legendre.leggauss(12)
        px, pz = 10 + 10 * g, 5 + 5 * g
        u, v = np.meshgrid(px, pz, indexing="ij")
        points = np.stack([u.ravel(), np.full(u.size, 5.0), v.ravel()], axis=1)
        size = (w[:, None] * w[None, :]).ravel() * 500 * np.sin(np.pi * points[:, 2] / 10)
        load[:, 0] = loaded(s, points, np.stack([0 * size, 0 * size, size], axis=1))
        held = np.repeat((x < 1e-9) | (x > 20 - 1e-9), 3)
        held[1::3] = True
        tips.append(front.compliance(s, load, held)[0, 0])
        assert z.max() == 10.0
    order = math.log2((tips[1] - tips[0]) / (tips[2] - tips[1]))
    assert order > 2.0


def made_up(points: Floats, size: Floats) -> tuple[Floats, Floats]:
    """A displacement that is nought on the faces of a box, and the body force it asks for: E 1, ν 0.3."""
    way = np.array([1.0, -0.7, 0.5])
    lam, mu = 0.3 / (1.3 * 0.4), 1 / 2.6
    k = np.pi / size
    s, c = np.sin(points * k), np.cos(points * k)
    hump = s.prod(axis=1)
    second = np.empty((len(points), 3, 3))
    for i in range(3):
        for j in range(3):
            second[:, i, j] = (
                -(k[i] ** 2) * hump if i == j else k[i] * k[j] * c[:, i] * c[:, j] * s[:, 3 - i - j]
            )
    force = -(lam + mu) * second @ way + mu * (k @ k) * hump[:, None] * way
    return hump[:, None] * way, force


def missed(n: int) -> float:
    """How far a box of n³ bricks misses that displacement, root of the mean square over it."""
    size = np.array([1.0, 0.8, 0.6])
    lines = [np.linspace(0, a, n + 1) for a in size]
    s = build(lines, E=1.0, nu=0.3)
    g, w = np.polynomial.legendre.leggauss(4)
    places = [((x[1:] + x[:-1])[:, None] / 2 + np.diff(x)[:, None] / 2 * g).ravel() for x in lines]
    points = np.stack(np.meshgrid(*places, indexing="ij"), axis=-1).reshape(-1, 3)
    share = np.einsum("i,j,k->ijk", *(np.tile(w * np.diff(x)[0] / 2, n) for x in lines)).ravel()
    load = loaded(s, points, made_up(points, size)[1] * share[:, None])
    probes = np.random.default_rng(3).uniform(0, 1, (250, 3)) * size
    number, value = weights(s, probes)
    reads = np.zeros((s.unknowns, 3, len(probes)))
    for axis in range(3):
        reads[3 * number.T + axis, axis, np.arange(len(probes))] = value.T
    held = np.repeat((np.isclose(s.nodes, 0) | np.isclose(s.nodes, size)).any(axis=1), 3)
    got = front.compliance(s, np.column_stack([load, reads.reshape(s.unknowns, -1)]), held)[0, 1:]
    return float(np.sqrt(((got.reshape(3, -1).T - made_up(probes, size)[0]) ** 2).mean()))


def test_order_of_a_made_up_solution() -> None:
    """Roache (from memory), a manufactured solution: displacements of quadratic elements miss with the third
    power of their size, ± 0.2.
    """
    coarse, fine = missed(3), missed(6)
    assert math.log2(coarse / fine) == pytest.approx(3.0, abs=0.2)


def test_reciprocity_of_maxwell_and_betti() -> None:
    """Maxwell and Betti: the same by two solves, each with one load only (derived)."""
    s = build(
        [np.linspace(0, 30, 6), np.linspace(0, 8, 3), np.linspace(0, 9, 4)],
        [Cut(1, oblique, -1, 9)],
        E=70e3,
        nu=0.3,
    )
    held = np.repeat(s.nodes[:, 0] > 30 - 1e-9, 3)
    a = loaded(s, np.array([[1.0, 4.0, 7.0]]), np.array([[0.3, 0.1, 1.0]]))
    b = loaded(s, np.array([[12.0, 0.0, 5.0]]), np.array([[1.0, -0.4, 0.2]]))
    c = front.compliance(s, np.stack([a, b], axis=1), held)
    sums = [front.compliance(s, v[:, None], held)[0, 0] for v in (a + b, a - b)]
    assert c[0, 1] == pytest.approx(c[1, 0], rel=1e-12)
    assert c[0, 1] == pytest.approx((sums[0] - sums[1]) / 4, rel=1e-9)


def test_line_contact_of_hertz() -> None:
    """Hertz: steel cylinder R 50 on an aluminum block, 35 kN per mm: half width 6.2146 mm, peak 3585.4 MPa
    (NAFEMS contact benchmark 1, from memory). A stiff cylinder on a block of the contact modulus has the
    same gap.
    """
    modulus = contact_modulus(210e3, 0.3, 70e3, 0.3)
    half, peak = line_contact(35e3, 50.0, modulus)
    assert half == pytest.approx(6.2146, rel=1e-4)
    assert peak == pytest.approx(3585.4, rel=1e-4)
    nu, size = 0.3, 62.0
    near = np.linspace(0, 9.6, 25)
    x = np.concatenate([near, np.geomspace(9.6, size, 9)[1:]])
    z = size - np.concatenate([np.linspace(0, 6, 9), np.geomspace(6, size, 10)[1:]])[::-1]
    s = build([x, np.array([0.0, 1.0]), z], E=modulus * (1 - nu**2), nu=nu)
    edges = np.linspace(0, 9.6, 25)  # a patch per cell: finer ones would only see the cell
    middle = (edges[1:] + edges[:-1]) / 2
    patches = joined(
        [(face((0, 1), (size, size), float(m), 3), np.array([0, 0, -1.0]), np.ones(9)) for m in middle]
    )
    number, value = weights(s, patches.points)
    load = np.zeros((s.unknowns, len(middle)))
    for k in range(len(number)):
        load[3 * number[k] + 2, patches.patch[k]] -= value[k] * patches.shares[k]
    held = np.zeros(s.unknowns, dtype=bool)
    held[1::3] = True  # plane strain
    held[0::3] = s.nodes[:, 0] < 1e-9  # symmetry
    held[2::3] |= s.nodes[:, 2] < 1e-9
    flex = front.compliance(s, load, held)
    n = len(middle)
    problem = Problem(
        flex,
        middle**2 / (2 * 50.0),
        -np.ones((n, 1)),
        np.zeros((1, 1)),
        np.array([35e3 / 2]),
        np.zeros(n, dtype=bool),
    )
    got = solve(problem)
    pressure = got.force / np.diff(edges)
    touching = edges[1:][got.force > 0]
    assert touching.max() == pytest.approx(half, abs=0.4)  # one patch
    # finer than a patch: the square of Hertz's pressure falls in a straight line with the square of the place
    slope, top = np.polyfit(middle[got.force > 0] ** 2, pressure[got.force > 0] ** 2, 1)
    assert math.sqrt(-top / slope) == pytest.approx(half, rel=0.03)
    assert math.sqrt(top) == pytest.approx(peak, rel=0.03)
    # parabola-like top: the two patches at the axis against the mean of Hertz over them
    assert pressure[0] == pytest.approx(peak, rel=0.03)
    inside = middle < 0.9 * half
    assert pressure[inside] == pytest.approx(peak * np.sqrt(1 - (middle[inside] / half) ** 2), rel=0.04)
    assert got.force.sum() == pytest.approx(35e3 / 2, rel=1e-9)
    assert got.force == pytest.approx(general(problem).force, abs=1e-4 * got.force.max())


def test_free_body_answers_only_to_balance() -> None:
    """Hooke: a bar pulled at both ends, held nowhere: u = F L / (E A) however it is held (derived)."""
    s = build([np.linspace(0, 60, 9), np.linspace(0, 10, 3), np.linspace(0, 10, 3)], E=70e3, nu=0.3)
    left, right = face((0, 10), (0, 10), 0.0, 12), face((0, 10), (0, 10), 60.0, 12)
    x = np.array([1.0, 0, 0])
    body = condense(s, joined([(left, -x, np.ones(len(left))), (right, x, np.ones(len(right)))]))
    pull = np.array([1000.0, 1000.0])
    assert body.rigid.T @ pull == pytest.approx(np.zeros(6), abs=1e-9)
    assert float(np.ones(2) @ body.compliance @ pull) == pytest.approx(1000 * 60 / (70e3 * 100), rel=1e-4)
