"""One-sided contact: the active set against a general solver, and states that can be seen by hand."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from jawright.errors import JawrightError
from jawright.mechanics.gap import Problem, general, solve


def drawn(seed: int, n: int, r: int) -> Problem:
    """A problem that has an answer: the load is what some forces hold in balance."""
    rng = np.random.default_rng(seed)
    a = rng.normal(size=(n, n))
    moves = rng.normal(size=(n, r))
    springs = np.zeros((r, r))
    springs[0, 0] = 1e5
    forces = np.maximum(rng.normal(size=n), 0) * 1000
    return Problem(
        (a @ a.T / n + np.eye(n)) * 1e-6, rng.normal(size=n) * 1e-3, moves, springs, -(moves.T @ forces),
        rng.random(n) < 0.05,
    )  # fmt: skip


@pytest.mark.parametrize("seed", range(12))
@pytest.mark.parametrize(("n", "r"), [(12, 1), (60, 6)])
def test_same_as_a_general_quadratic_program(seed: int, n: int, r: int) -> None:
    p = drawn(seed, n, r)
    a, b = solve(p), general(p)
    top = float(np.abs(a.force).max())
    assert a.force == pytest.approx(b.force, abs=1e-4 * top)
    assert a.motion == pytest.approx(b.motion, abs=1e-4 * float(np.abs(a.motion).max()))
    assert a.opening == pytest.approx(b.opening, abs=1e-4 * float(np.abs(a.opening).max()))


@pytest.mark.parametrize("seed", range(12))
def test_conditions_of_contact_hold(seed: int) -> None:
    p = drawn(100 + seed, 40, 3)
    got = solve(p)
    free = ~p.tied
    assert got.force[free].min() >= -1e-9 * got.force.max()
    assert got.opening[free].min() >= -1e-9
    assert np.abs(got.force * got.opening).max() < 1e-9 * got.force.max()
    assert got.opening[p.tied] == pytest.approx(0.0, abs=1e-12)
    assert p.moves.T @ got.force + p.load == pytest.approx(p.springs @ got.motion, abs=1e-5)
    assert got.steps < 20


def stool(load: float, lever: float) -> Problem:
    """A stiff beam on three springs at x = -1, 0, 1 (1 N/mm each), loaded down at ``lever``."""
    x = np.array([-1.0, 0.0, 1.0])
    moves = np.stack([np.ones(3), x], axis=1)
    return Problem(
        np.eye(3),
        np.zeros(3),
        moves,
        np.zeros((2, 2)),
        -load * np.array([1.0, lever]),
        np.zeros(3, dtype=bool),
    )


def test_beam_on_springs_lifts_when_the_load_leaves_the_middle() -> None:
    """By hand: forces F (1/3 - x·lever/2 ...): even in the middle, and the far spring is free beyond 2/3."""
    assert solve(stool(30.0, 0.0)).force == pytest.approx([10.0, 10.0, 10.0])
    assert solve(stool(30.0, 0.5)).force == pytest.approx([2.5, 10.0, 17.5])
    far = solve(stool(30.0, 0.8))
    assert far.force == pytest.approx([0.0, 6.0, 24.0])
    assert far.opening[0] > 0


def test_load_beyond_the_last_support_is_refused() -> None:
    with pytest.raises(JawrightError, match="balances"):
        solve(stool(30.0, 1.5))


def test_gap_is_closed_before_it_carries() -> None:
    p = replace(stool(30.0, 0.0), gap=np.array([0.0, 100.0, 0.0]))
    got = solve(p)
    assert got.force == pytest.approx([15.0, 0.0, 15.0])
    assert got.opening[1] == pytest.approx(85.0)


def test_tied_pair_also_pulls() -> None:
    p = replace(stool(30.0, 0.8), tied=np.array([True, False, False]))
    assert solve(p).force == pytest.approx([-2.0, 10.0, 22.0])


def test_a_guess_changes_nothing_but_the_steps() -> None:
    p = drawn(7, 60, 6)
    a = solve(p)
    b = solve(p, a.force > 0)
    assert b.steps == 1
    assert b.force == pytest.approx(a.force, abs=1e-9 * a.force.max())
