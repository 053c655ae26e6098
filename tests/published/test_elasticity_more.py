"""Further published problems for the bricks: heat, twist, line load, round plates, choice of element.

NAFEMS LE11 (TNSB rev. 3, 1990): target -105 MPa read in a public validation report, geometry read in
two public scripts that reprint the drawing: spheres of 1 and 1.4 m, inner cylinder of 0.7071 m, taper from
(1.2124, 0.7) to (1, 1.39), height 1.79 m; E 210 GPa, ν 0.3, α 2.3e-4 per kelvin, temperature r + z.
"""

from __future__ import annotations

import math

import numpy as np
import pytest

from jawright.mechanics import brick, front
from jawright.mechanics.condense import joined, patterns
from jawright.mechanics.solid import Floats, build, weights
from mechanics.curved import _gradients, bent, pressed, stress_reads

E, NU, ALPHA = 210e3, 0.3, 2.3e-4
INSIDE = math.sqrt(0.5)
TOP = 1.79
DOWN = np.array([0.0, 0.0, -1.0])


def section(s: float) -> tuple[tuple[float, float], tuple[float, float]]:
    """Inner and outer (r, z) [m] at ``s`` from 0, the sphere's foot, to 4, the cylinder's top."""
    if s <= 2:
        t = math.radians(22.5 * s)
        inner = (math.cos(t), math.sin(t))
    else:
        inner = (INSIDE, INSIDE + (s - 2) / 2 * (TOP - INSIDE))
    if s <= 1:
        t = math.radians(30 * s)
        outer = (1.4 * math.cos(t), 1.4 * math.sin(t))
    elif s <= 3:
        r, z = 1.4 * math.cos(math.pi / 6), 0.7
        k = (s - 1) / 2
        outer = (r + k * (1.0 - r), z + k * (1.39 - z))
    else:
        outer = (1.0, 1.39 + (s - 3) * (TOP - 1.39))
    return inner, outer


def turned(grid: Floats) -> Floats:
    """Grid (along, share outward, turn) to a place in the quarter of the body [m]."""
    ends = np.array([section(float(s)) for s in grid[:, 0]])
    rz = ends[:, 0] + (ends[:, 1] - ends[:, 0]) * grid[:, 1, None]
    return np.column_stack([rz[:, 0] * np.cos(grid[:, 2]), rz[:, 0] * np.sin(grid[:, 2]), rz[:, 1]])


def warmed(along: int, out: int, turn: int) -> tuple[float, int]:
    """Axial stress [MPa] at the foot of the inner sphere, and how many unknowns gave it."""
    lines = [
        np.linspace(0, 4, 4 * along + 1),
        np.linspace(0, 1, out + 1),
        np.linspace(0, math.pi / 2, turn + 1),
    ]
    s = bent(lines, turned, E=E, nu=NU)
    g, w = np.polynomial.legendre.leggauss(3)
    xi = np.stack(np.meshgrid(g, g, g, indexing="ij"), axis=-1).reshape(-1, 3)
    weight = (w[:, None, None] * w[None, :, None] * w[None, None, :]).ravel()
    corners = s.nodes[s.of_cell]
    slopes, volume = _gradients(corners, xi)
    at = np.einsum("ka,maj->mkj", brick.shapes(xi), corners)
    warm = np.hypot(at[..., 0], at[..., 1]) + at[..., 2]
    pent = E * ALPHA / (1 - 2 * NU)  # stress per kelvin where nothing can grow
    force = np.zeros((len(s.nodes), 3))
    np.add.at(force, s.of_cell, np.einsum("mkai,mk->mai", slopes, volume * weight * pent * warm))
    held = np.zeros((len(s.nodes), 3), dtype=bool)
    held[:, :2] = np.abs(s.nodes[:, :2]) < 1e-9
    held[:, 2] = (np.abs(s.nodes[:, 2]) < 1e-9) | (np.abs(s.nodes[:, 2] - TOP) < 1e-9)
    first = int(np.flatnonzero((s.cells == 0).all(axis=1))[0])
    read = stress_reads(s, first, np.array([-1.0, -1.0, -1.0]), E=E, nu=NU)[:, 8]
    got = front.compliance(s, np.column_stack([force.ravel(), read]), held.ravel())[0, 1]
    return float(got) - pent * 1.0, s.unknowns


def test_warm_solid_of_revolution_le11() -> None:
    """NAFEMS LE11: -105 MPa within 3 % (read), and finer meshes come nearer."""
    got = [warmed(*n)[0] for n in ((2, 3, 4), (3, 4, 6), (4, 5, 8))]
    assert got[0] == pytest.approx(-105.0, rel=0.03)
    assert got[2] == pytest.approx(-105.0, rel=0.01)
    assert abs(got[2] + 105) < abs(got[1] + 105) < abs(got[0] + 105)


@pytest.mark.long
def test_warm_solid_of_revolution_le11_on_a_fine_mesh() -> None:
    """NAFEMS LE11: -105 MPa (read)."""
    got, unknowns = warmed(6, 8, 10)
    assert unknowns > 25_000
    assert got == pytest.approx(-105.0, rel=0.005)


def test_twist_of_a_slender_cantilever_is_saint_venant_s() -> None:
    """Saint-Venant: 0.03411 for 6 × 0.2 × 0.1, E 1e7, ν 0.3 under unit twist (derived). MacNeal and Harder
    (1985, from memory) print 0.03208, which no theory gives and which is not asked for here.
    """
    wide, thin = 0.2, 0.1
    lines = [np.linspace(0, 6, 31), np.linspace(0, wide, 5), np.linspace(0, thin, 3)]
    s = build(lines, E=1e7, nu=0.3)
    g, w = np.polynomial.legendre.leggauss(6)
    u, v = (q.ravel() for q in np.meshgrid(wide / 2 * (1 + g), thin / 2 * (1 + g), indexing="ij"))
    weight = np.outer(w, w).ravel()
    arm = np.column_stack([u - wide / 2, v - thin / 2])
    # a pull along the rim, so that the end stays as flat as it likes
    points = np.column_stack([np.full(len(u), 6.0), u, v])
    around = np.column_stack([np.zeros(len(u)), -arm[:, 1], arm[:, 0]])
    parts = [(points[[k]], around[k], np.ones(1)) for k in range(len(u))]
    load = patterns(s, joined(parts)) @ weight
    moment = float((weight * (arm**2).sum(axis=1)).sum())
    held = np.repeat(s.nodes[:, 0] < 1e-9, 3)
    got = front.compliance(s, load[:, None] / moment, held)[0, 0]  # the turn is the work of a unit twist
    series = sum(math.tanh(n * math.pi * wide / 2 / thin) / n**5 for n in range(1, 40, 2))
    stiff = wide * thin**3 / 3 * (1 - 192 * thin / math.pi**5 / wide * series)
    want = 6.0 / (1e7 / 2.6 * stiff)
    assert want == pytest.approx(0.03411, abs=5e-6)
    assert got == pytest.approx(want, rel=0.01)


def test_plane_stress_cantilever_of_the_theory_of_elasticity() -> None:
    """Timoshenko and Goodier, end-loaded cantilever, 48 × 12 × 1, E 3e7, ν 0.3, 1000 across the end as a
    parabola: tip 0.0089 (from memory, recomputed); its root carries the tractions of the solution and is held
    in three points, as in the meshfree literature.
    """
    long, deep, force = 48.0, 12.0, 1000.0
    ends = np.linspace(-deep / 2, deep / 2, 5)
    s = build([np.linspace(0, long, 17), ends, np.array([0, 1.0])], E=3e7, nu=0.3)
    g, w = np.polynomial.legendre.leggauss(4)
    y = ((ends[1:] + ends[:-1])[:, None] / 2 + np.diff(ends)[:, None] / 2 * g).ravel()
    inertia = deep**3 / 12
    tall = np.tile(w * deep / 8, 4)
    shear = force / 2 / inertia * (deep**2 / 4 - y**2) * tall
    pull = force * long * y / inertia * tall
    load = np.zeros(s.unknowns)
    for x, along, up in ((long, 0 * y, shear), (0.0, pull, -shear)):
        for z in (0.5 - 0.5 / math.sqrt(3), 0.5 + 0.5 / math.sqrt(3)):
            number, value = weights(s, np.column_stack([np.full(len(y), x), y, np.full(len(y), z)]))
            for axis, share in ((0, along), (1, up)):
                np.add.at(load, 3 * number.ravel() + axis, (value * share[:, None] / 2).ravel())
    root, axis_of = np.isclose(s.nodes[:, 0], 0), np.isclose(s.nodes[:, 1], 0)
    held = np.zeros((len(s.nodes), 3), dtype=bool)
    held[root & axis_of, :2] = True
    held[root & np.isclose(np.abs(s.nodes[:, 1]), deep / 2), 0] = True
    held[np.isclose(s.nodes[:, 2], 0), 2] = True  # free to thin
    read = np.zeros(s.unknowns)
    number, value = weights(s, np.array([[long, 0.0, 0.5]]))
    read[3 * number[0] + 1] = value[0]
    got = front.compliance(s, np.column_stack([load, read]), held.ravel())[0, 1]
    assert got == pytest.approx(0.0089, rel=1e-4)
    bending = force * long**3 / (3 * 3e7 * inertia)
    assert bending == pytest.approx(0.0085333, rel=1e-5)
    assert got - bending == pytest.approx(0.0089 - 0.0085333, rel=2e-3)  # the rest is shear


def test_line_load_on_a_half_plane() -> None:
    """Flamant (from memory): 1000 N/mm press with 2P/(π z) = 127.32 MPa 5 mm below."""
    step = np.concatenate([np.linspace(0, 1, 5), np.linspace(1, 10, 19)[1:], np.geomspace(10, 400, 13)[1:]])
    x, z = np.concatenate([-step[:0:-1], step]), -step[::-1]
    s = build((x, np.array([0.0, 1.0]), z), E=E, nu=NU)
    held = np.zeros((len(s.nodes), 3), dtype=bool)
    held[:, 1] = True
    held[s.nodes[:, 2] <= z[0] + 1e-9] = True
    k = np.array([0.5 - 0.5 / math.sqrt(3), 0.5 + 0.5 / math.sqrt(3)])
    line = np.column_stack([np.zeros(2), k, np.zeros(2)])
    load = patterns(s, joined([(line, DOWN, np.full(2, 0.5))]))[:, 0] * 1000.0
    middle = s.nodes[s.of_cell].mean(axis=1)
    own = np.flatnonzero((middle[:, 0] > 0) & (middle[:, 0] < 0.6) & (np.abs(middle[:, 2] + 5.0) < 0.6))
    xi = [np.array([-1.0, 0.0, np.sign(-5.0 - middle[c, 2])]) for c in own]
    reads = [stress_reads(s, int(c), q, E=E, nu=NU)[:, 8] for c, q in zip(own, xi, strict=True)]
    assert all(abs(s.nodes[s.of_cell[c]][:, 2] + 5.0).min() < 1e-9 for c in own)
    got = front.compliance(s, np.column_stack([load, *reads]), held.ravel())[0, 1:]
    assert 2 * 1000.0 / (math.pi * 5.0) == pytest.approx(127.32, abs=0.005)
    assert -got.mean() == pytest.approx(127.32, rel=0.01)


@pytest.mark.parametrize(("clamped", "factor"), [(True, 1.0), (False, (5 + 0.3) / (1 + 0.3))])
def test_thin_round_floor(clamped: bool, factor: float) -> None:
    """Roark, round plate under an even pressure (from memory): q a⁴/(64 D), and (5 + ν)/(1 + ν) times that
    when its rim may turn; shear at a/40, q a²/(4 κ G t), adds up to 0.3 %.
    """
    a, t, q = 40.0, 1.0, 0.01

    def disc(grid: Floats) -> Floats:
        u, v, z = grid.T
        return np.column_stack([a * u * np.sqrt(1 - v**2 / 2), a * v * np.sqrt(1 - u**2 / 2), z])

    n = np.linspace(0, 1, 25)
    s = bent([n, n, np.array([0.0, t])], disc, E=E, nu=0.3)
    rim = np.abs(np.hypot(s.nodes[:, 0], s.nodes[:, 1]) - a) < 1e-6
    held = np.zeros((len(s.nodes), 3), dtype=bool)
    held[:, :2] = np.abs(s.nodes[:, :2]) < 1e-9
    if clamped:
        held[rim] = True
    else:
        held[rim & np.isclose(s.nodes[:, 2], t / 2), 2] = True
    top = [int(i) for i in range(len(s.cells))]
    load = pressed(s, top, 2, 1, lambda normal: -q * normal)
    middle = np.zeros((len(s.nodes), 3))
    middle[np.argmin(np.abs(s.nodes - [0, 0, t]).sum(axis=1)), 2] = -1.0
    got = front.compliance(s, np.column_stack([load, middle.ravel()]), held.ravel())[0, 1]
    rigid = E * t**3 / (12 * (1 - 0.3**2))
    sheared = q * a**2 / (4 * 5 / 6 * E / 2 / 1.3 * t)
    assert got == pytest.approx(factor * q * a**4 / (64 * rigid) + sheared, rel=0.01)


def test_the_bricks_are_as_good_as_quadratic_elements_must_be() -> None:
    """Benzley et al., 4th Int. Meshing Roundtable (1995), table 2 (read in a public report): a cantilever by
    quadratic tetrahedra with 3894 unknowns is off by 0.24 % in deflection and 0.33 % in stress, by linear
    ones with 3615 by 10.5 and 21 %. Its sizes were not read: ours is 150 × 20 × 15, ν 0, with fewer unknowns.
    """
    length, wide, high, force = 150.0, 20.0, 15.0, 500.0
    lines = [np.linspace(0, length, 16), np.linspace(0, wide, 4), np.linspace(0, high, 4)]
    s = build(lines, E=E, nu=0.0)
    assert s.of_cell.shape[1] == 20
    assert s.unknowns <= 3894
    g, w = np.polynomial.legendre.leggauss(6)
    u, v = (q.ravel() for q in np.meshgrid(wide / 2 * (1 + g), high / 2 * (1 + g), indexing="ij"))
    tip = np.column_stack([np.full(len(u), length), u, v])
    load = patterns(s, joined([(tip, -DOWN, np.outer(w, w).ravel() / 4)]))[:, 0] * force
    place = s.nodes[s.of_cell].mean(axis=1)
    own = int(np.argmin(np.abs(place - [length / 2, wide / 2, high]).sum(axis=1)))
    read = stress_reads(s, own, np.array([0.0, 0.0, 1.0]), E=E, nu=0.0)[:, 0]
    held = np.repeat(s.nodes[:, 0] < 1e-9, 3)
    got = front.compliance(s, np.column_stack([load, read]), held)[0]
    inertia = wide * high**3 / 12
    bend = force * length**3 / (3 * E * inertia) + force * length / (5 / 6 * E / 2 * wide * high)
    assert got[0] / force == pytest.approx(bend, rel=0.0024)
    stress = force * (length - place[own, 0]) * high / 2 / inertia
    assert abs(got[1]) == pytest.approx(stress, rel=0.0033)
