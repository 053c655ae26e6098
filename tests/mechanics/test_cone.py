"""Properties of the friction-cone programs that hold whatever the numbers are."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest

from jawright.errors import JawrightError
from jawright.mechanics import cone

RNG = np.random.default_rng(20)


def block(mu: float = 0.15) -> cone.Contacts:
    """A block 60 × 40 × 20: two jaws with contacts at two heights, a floor, a stop at -X."""
    points, normals, friction, driven = [], [], [], []
    for y, n in ((0.0, -1.0), (-40.0, 1.0)):
        for x in (-25.0, 25.0):
            for z in (2.0, 8.0):
                points.append((x, y, z))
                normals.append((0.0, n, 0.0))
                friction.append(mu)
                driven.append(n > 0)
    for x, y in ((-25.0, -35.0), (25.0, -35.0), (-25.0, -5.0), (25.0, -5.0)):
        points.append((x, y, 0.0))
        normals.append((0.0, 0.0, 1.0))
        friction.append(mu)
        driven.append(False)
    points.append((-30.0, -20.0, 5.0))
    normals.append((1.0, 0.0, 0.0))
    friction.append(0.0)
    driven.append(False)
    return cone.Contacts(np.array(points), np.array(normals), np.array(friction), np.array(driven))


def load(force: tuple[float, float, float], at: tuple[float, float, float]) -> np.ndarray:
    return np.concatenate([force, np.cross(at, force)])


def some_loads(n: int) -> np.ndarray:
    return np.array(
        [load(tuple(RNG.normal(size=3) * 300), tuple(RNG.uniform(-25, 25, size=3))) for _ in range(n)]
    )


def test_factor_is_clamp_over_least_clamp() -> None:
    c = block()
    rows = some_loads(12)
    for w, got in zip(rows, cone.least_clamp(c, rows), strict=True):
        factor = cone.load_factor(c, w, clamp=6000.0)
        if got.clamp == 0:
            assert math.isinf(factor)
        else:
            assert factor == pytest.approx(6000.0 / got.clamp, rel=1e-5)


def test_least_clamp_grows_with_the_load_and_never_exceeds_the_sum() -> None:
    c = block()
    rows = some_loads(10)
    single = [g.clamp for g in cone.least_clamp(c, rows)]
    doubled = [g.clamp for g in cone.least_clamp(c, 2 * rows)]
    assert doubled == pytest.approx([2 * s for s in single], rel=1e-6)
    summed = [g.clamp for g in cone.least_clamp(c, rows[:-1] + rows[1:])]
    for a, b, both in zip(single, single[1:], summed, strict=False):
        assert both <= a + b + 1e-3


def test_power_of_the_load_on_the_virtual_motion_is_the_clamp() -> None:
    c = block()
    rows = some_loads(8)
    center = c.points.mean(axis=0)
    for w, got in zip(rows, cone.least_clamp(c, rows), strict=True):
        if got.twist is None:
            continue
        about = np.concatenate([w[:3], w[3:] - np.cross(center, w[:3])])
        assert float(about @ np.array(got.twist)) == pytest.approx(got.clamp, rel=1e-5)


def test_order_of_loads_does_not_matter() -> None:
    c = block()
    rows = some_loads(6)
    there = [g.clamp for g in cone.least_clamp(c, rows)]
    back = [g.clamp for g in cone.least_clamp(c, rows[::-1])][::-1]
    assert there == pytest.approx(back, rel=1e-6)


def test_more_friction_or_another_contact_never_hurts() -> None:
    rows = some_loads(10)
    low = [g.clamp for g in cone.least_clamp(block(0.1), rows)]
    high = [g.clamp for g in cone.least_clamp(block(0.2), rows)]
    assert all(h <= a + 1e-4 for h, a in zip(high, low, strict=True))
    c = block(0.1)
    more = cone.Contacts(
        np.vstack([c.points, [[0.0, 0.0, 5.0]]]),
        np.vstack([c.normals, [[0.0, -1.0, 0.0]]]),
        np.append(c.friction, 0.1),
        np.append(c.driven, False),
    )
    assert all(m.clamp <= a + 1e-4 for m, a in zip(cone.least_clamp(more, rows), low, strict=True))


def test_moving_the_origin_changes_nothing() -> None:
    c = block()
    shift = np.array([100.0, -37.0, 12.0])
    moved = replace(c, points=c.points + shift)
    rows = some_loads(5)
    other = rows.copy()
    other[:, 3:] += np.cross(shift, rows[:, :3])
    a = [g.clamp for g in cone.least_clamp(c, rows)]
    b = [g.clamp for g in cone.least_clamp(moved, other)]
    assert a == pytest.approx(b, rel=1e-5)


def test_stop_and_floor_carry_without_clamp_but_never_pull() -> None:
    c = block()
    into_stop = load((-500.0, 0.0, 0.0), (0.0, -20.0, 5.0))
    down = load((0.0, 0.0, -500.0), (0.0, -20.0, 5.0))
    away = load((500.0, 0.0, 0.0), (0.0, -20.0, 5.0))
    up = load((0.0, 0.0, 500.0), (0.0, -20.0, 5.0))
    got = [g.clamp for g in cone.least_clamp(c, np.array([into_stop, down, away, up]))]
    assert got[0] == pytest.approx(0.0, abs=1e-3)
    assert got[1] == pytest.approx(0.0, abs=1e-3)
    # two jaws and, pressed on by their own friction, the floor: about sqrt(1 + mu²) better than 2 mu F
    assert 500.0 / 0.3 / math.sqrt(1 + 0.15**2) * 0.999 <= got[2] + 1e-3 <= 500.0 / 0.3 + 1e-2
    assert got[3] == pytest.approx(500.0 / 0.3, rel=1e-6)


def test_pushing_the_floating_jaw_back_needs_that_much_clamp() -> None:
    c = block(0.0)
    w = load((0.0, -500.0, 0.0), (0.0, -20.0, 5.0))
    assert cone.least_clamp(c, w)[0].clamp == pytest.approx(500.0, rel=1e-6)


def test_weight_helps_against_lift() -> None:
    c = block(0.15)
    lift = load((0.0, 0.0, 900.0), (0.0, -20.0, 5.0))
    weight = load((0.0, 0.0, -50.0), (0.0, -20.0, 5.0))
    bare = cone.load_factor(c, lift, clamp=6000.0)
    heavy = cone.load_factor(c, lift, clamp=6000.0, rest=weight)
    assert bare == pytest.approx(2.0, rel=1e-6)
    assert heavy == pytest.approx(2.0 + 50.0 / 900.0, rel=1e-6)


def test_a_part_that_the_clamp_squeezes_out_has_factor_zero() -> None:
    c = block(0.05)
    tilted = c.normals.copy()
    tilted[:8, 0] = 0.2
    tilted /= np.linalg.norm(tilted, axis=1)[:, None]
    out = replace(c, normals=tilted)
    w = load((1.0, 0.0, 0.0), (0.0, -20.0, 5.0))
    assert cone.load_factor(out, w, clamp=5000.0) == 0.0
    assert math.isinf(cone.least_clamp(out, w)[0].clamp)


def test_elastic_forces_share_by_stiffness_and_balance() -> None:
    points = np.array([[x, y, 0.0] for y in (0.0, -40.0) for x in (-20.0, 0.0, 20.0)])
    normals = np.array([[0.0, -1.0, 0.0]] * 3 + [[0.0, 1.0, 0.0]] * 3)
    c = cone.Contacts(points, normals, np.full(6, 0.1), np.array([False] * 3 + [True] * 3))
    f = cone.elastic_forces(c, np.array([1.0, 2.0, 1.0, 1.0, 1.0, 1.0]), clamp=4000.0)
    assert f is not None
    assert f[:3, 1] == pytest.approx([-1000.0, -2000.0, -1000.0], rel=1e-5)
    assert f[3:, 1] == pytest.approx([4000 / 3] * 3, rel=1e-5)
    assert f.sum(axis=0) == pytest.approx([0, 0, 0], abs=1e-4)
    twice = cone.elastic_forces(c, np.array([1.0, 2.0, 1.0, 1.0, 1.0, 1.0]), clamp=8000.0)
    assert twice is not None
    assert twice == pytest.approx(2 * f, abs=1e-2)


def test_elastic_forces_refuse_what_no_forces_balance() -> None:
    c = block(0.1)
    lift = load((0.0, 0.0, 5000.0), (0.0, -20.0, 5.0))
    assert cone.elastic_forces(c, np.ones(len(c.points)), clamp=1000.0, wrench=lift) is None
    with pytest.raises(JawrightError):
        cone.elastic_forces(c, np.zeros(len(c.points)), clamp=1000.0)


def test_bad_input_is_refused() -> None:
    c = block()
    with pytest.raises(JawrightError):
        cone.load_factor(c, np.ones(6), clamp=0.0)
    with pytest.raises(JawrightError):
        cone.Contacts(c.points, c.normals[:3], c.friction, c.driven)
    assert math.isinf(cone.load_factor(c, np.zeros(6), clamp=10.0))
    assert cone.least_clamp(c, np.zeros(6))[0].clamp == 0.0


def test_answers_are_the_same_every_time() -> None:
    rows = some_loads(5)
    first = cone.least_clamp(block(), rows)
    assert first == cone.least_clamp(block(), rows)
