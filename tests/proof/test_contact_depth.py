"""The share of the grip depth that bears: where the load goes through (docs/decisions/0018), by hand."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from jawright.mechanics import gap
from jawright.proof.elastic import over_depth
from jawright.proof.elastic_walls import Walls

DEEP, ROWS = 6.5, 80


def wall(columns: int, rows: int = ROWS) -> Walls:
    """Columns 5 mm wide side by side, facing +Y."""
    z = DEEP * (np.arange(rows) + 0.5) / rows
    middle = np.array([(5.0 * k, 0.0, h) for k in range(columns) for h in z])
    n = len(middle)
    return Walls(
        middle, np.tile([0.0, 1.0, 0.0], (n, 1)), np.full(n, 5.0 * DEEP / rows), np.full(n, 5.0), DEEP
    )


def pressed(w: Walls, column: int, load: float, slope: float, k: float) -> np.ndarray:
    """One column of an elastic foundation ``k`` [N/mm³] pressed by a flat that stands open by ``slope``."""
    own = np.flatnonzero(np.abs(w.middle[:, 0] - 5.0 * column) < 1e-9)
    z, area = w.middle[own, 2], w.area[own]
    got = gap.solve(
        gap.Problem(
            np.diag(1 / (k * area)), slope * z, np.ones((len(own), 1)), np.array([[0.0]]), np.array([-load]),
            np.zeros(len(own), dtype=bool),
        )
    )  # fmt: skip
    out = np.zeros(len(w.area))
    out[own] = got.force
    return out


def test_wall_on_a_foundation_bears_as_deep_as_the_load_presses_it() -> None:
    """Winkler: pressure k (δ − s z) over c = δ/s carries P = k s c²/2 per length, so c = √(2 P/(k s)).
    Several runs with loads of their own bear over Σ P c / Σ P (derived)."""
    k, slope, loads = 2000.0, 2e-3, (5.0 * 12.0, 5.0 * 40.0, 0.0)
    w = wall(3)
    force = sum(pressed(w, j, p, slope, k) for j, p in enumerate(loads) if p)
    assert isinstance(force, np.ndarray)
    depth = [min(DEEP, math.sqrt(2 * p / 5.0 / (k * slope))) for p in loads]
    by_hand = sum(p * c for p, c in zip(loads, depth, strict=True)) / sum(loads) / DEEP
    assert 0.3 < by_hand < 0.9
    assert over_depth(w, force, force > 0) == pytest.approx(by_hand, rel=0.01)


@given(
    st.lists(st.tuples(st.floats(1.0, 100.0), st.integers(1, 6)), min_size=1, max_size=5),
    st.integers(0, 4),
)
def test_what_nobody_presses_does_not_enter(columns: list[tuple[float, int]], idle: int) -> None:
    """Between the least and the most of the loaded columns; idle ones change nothing; alike: the area."""
    w = wall(len(columns) + idle, rows=6)
    force = np.zeros((len(columns) + idle, 6))
    for k, (load, rows) in enumerate(columns):
        force[k, :rows] = load / rows
    got = over_depth(w, force.ravel(), force.ravel() > 0)
    shares = [rows / 6 for _, rows in columns]
    assert min(shares) - 1e-12 <= got <= max(shares) + 1e-12
    own = wall(len(columns), rows=6)
    assert got == pytest.approx(
        over_depth(own, force[: len(columns)].ravel(), force[: len(columns)].ravel() > 0)
    )
    if len(set(shares)) == 1:
        assert got == pytest.approx(shares[0])
