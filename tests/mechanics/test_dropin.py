"""Room between walls: cases by hand."""

from __future__ import annotations

import numpy as np
import pytest

from jawright.mechanics.dropin import most_room

SLOT = np.array([[-10.0, 0.0], [-10.0, 20.0], [10.0, 0.0], [10.0, 20.0]])
IN = np.array([[1.0, 0.0], [1.0, 0.0], [-1.0, 0.0], [-1.0, 0.0]])


def test_room_is_shared_by_both_sides() -> None:
    r = most_room(SLOT, IN, [0.0, 0.0, 0.06, 0.06])
    assert r.clearance == pytest.approx(0.03, abs=1e-9)
    assert r.move[0] == pytest.approx(0.03, abs=1e-6)


def test_too_wide_part_says_by_how_much() -> None:
    assert most_room(SLOT, IN, [-0.02, -0.02, 0.0, 0.0]).clearance == pytest.approx(-0.01, abs=1e-9)


def test_turning_finds_the_room_of_a_twisted_slot() -> None:
    """Gaps +0.1, -0.1 on one side and -0.1, +0.1 on the other: a turn of 0.1 over 10 frees it."""
    r = most_room(SLOT, IN, [0.1, -0.1, -0.1, 0.1])
    assert r.clearance == pytest.approx(0.0, abs=1e-9)
    assert abs(r.move[2]) == pytest.approx(0.01, abs=1e-6)
