"""Creep under a load that goes round: Coulomb's limit, and the walking of a body on two rests by hand."""

from __future__ import annotations

import numpy as np
import pytest

from jawright.errors import JawrightError
from jawright.mechanics.cone import Contacts
from jawright.mechanics.ratchet import walk_per_turn
from mechanics.test_slip import MU, block

CLAMP = 4000.0


def round_about(
    side: float, lift: float = 0.0, at: tuple[float, float, float] = (0.0, -15.0, 4.0)
) -> np.ndarray:
    angles = 2 * np.pi * np.arange(16) / 16
    force = np.column_stack([side * np.cos(angles), side * np.sin(angles), np.full(16, lift)])
    return np.column_stack([force, np.cross(np.array(at), force)])


def even(c: Contacts) -> np.ndarray:
    return CLAMP / 4 * c.normals


@pytest.mark.parametrize("share", [0.3, 0.9])
def test_below_coulombs_limit_an_even_pull_to_and_fro_stays(share: float) -> None:
    c = block()
    force = np.array([[1.0, 0, 0], [-1.0, 0, 0]]) * share * 2 * MU * CLAMP
    rows = np.column_stack([force, np.cross(np.array([0.0, -15.0, 4.0]), force)])
    got = walk_per_turn(c, np.ones(8), rows, clamp=CLAMP, standing=even(c))
    assert got == pytest.approx(0.0, abs=1e-6)
    assert walk_per_turn(c, np.ones(8), rows * 1.05 / share, clamp=CLAMP, standing=even(c)) is None


@pytest.mark.parametrize("rock", [0.3, 0.6])
def test_a_rocked_body_under_a_steady_pull_walks_beyond_the_weaker_rest(rock: float) -> None:
    """Two rests carry N/2 (1 ± a) in turn while a force T pulls along both. Held in the end when T can be
    shared so that neither rest ever slides: T ≤ µ N (1 − a). Beyond, up to the limit µ N, each turn slides
    the weaker rest on (shakedown of uncoupled contacts, derived)."""
    mu, guide = 0.2, 3.0 * CLAMP
    guides = [(x, 0.0, z) for x in (-10.0, 10.0) for z in (-15.0, 15.0)]  # keep it from turning about Y
    c = Contacts(
        np.array([[-10.0, 0.0, 0.0], [10.0, 0.0, 0.0], [0.0, -20.0, 0.0], *guides]),
        np.array([[0, -1.0, 0], [0, -1.0, 0], [0, 1.0, 0], *((-x / 10.0, 0, 0) for x, _, _ in guides)]),
        np.array([mu, mu, *[0.0] * 5]),
        np.array([False, False, True, *[False] * 4]),
    )
    standing = c.normals * np.array([CLAMP / 2, CLAMP / 2, CLAMP, *[guide] * 4])[:, None]

    def walk(share: float) -> float | None:
        pull = share * mu * CLAMP
        moment = rock * CLAMP * 10.0  # about Z: more on one rest, less on the other
        rows = np.array([[0, 0, pull, 0, 0, w] for w in (moment, -moment)])
        return walk_per_turn(c, np.ones(7), rows, clamp=CLAMP, standing=standing)

    below, above, gone = walk(0.95 * (1 - rock)), walk(1.1 * (1 - rock)), walk(1.05)
    assert below == pytest.approx(0.0, abs=1e-6)
    assert above is not None and above > 1e-3
    assert gone is None


def test_a_wall_with_little_pressure_slides_and_the_body_stays() -> None:
    """One of the heights carries a twentieth: first slip comes at a twentieth of the limit, but nothing
    creeps: what slid takes no more, and the rest holds."""
    c = block()
    share = np.where(c.points[:, 2] > 4.0, 0.05, 1.95) * CLAMP / 4
    got = walk_per_turn(
        c, np.ones(8), round_about(0.5 * 2 * MU * CLAMP), clamp=CLAMP, standing=share[:, None] * c.normals
    )
    assert got is not None and got < 1e-3


def test_no_clamp_is_refused() -> None:
    c = block()
    with pytest.raises(JawrightError):
        walk_per_turn(c, np.ones(8), round_about(10.0), clamp=0.0, standing=even(c))
