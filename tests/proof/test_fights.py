"""A nest of more walls than locate: who fights whom at the size limits, and what sizes it would take."""

from __future__ import annotations

from types import SimpleNamespace

import numpy as np

from jawright.proof import fights
from jawright.proof.say import Say

NEST = SimpleNamespace(contacts=[SimpleNamespace(name=n) for n in ("B1", "B2", "B3", "C1", "G1")])
MM = Say("mm")


def told(air: list[list[float]], active: list[list[bool]], which: list[int], half: float = 0.1) -> str:
    return fights.words(
        NEST,
        which,
        np.array(air),
        np.array(active),
        half,
        limit=0.04,
        say=MM,  # type: ignore[arg-type]
    )


def test_it_names_the_walls_that_fight_and_the_size_spread_that_serves() -> None:
    air = [[0.0, 0.05, 0.0, 0.0], [0.0, 0.0, 0.08, 0.0]]
    active = [[True, False, True, True, True], [True, True, False, True, True]]
    said = told(air, active, [0, 1, 2, 3])
    assert "Over-located by 1" in said
    assert "the largest part lies on B1, B3, C1 and leaves 0.050 mm at B2" in said
    assert "the smallest part lies on B1, B2, C1 and leaves 0.080 mm at B3" in said
    assert "within ± 0.05 mm, these vary by ± 0.1 mm" in said, (
        "0.1 of size gives 0.08 of air: 0.05 gives 0.04"
    )


def test_three_points_never_fight_and_equal_parts_do_not() -> None:
    active = [[True] * 5] * 2
    assert told([[0.0, 0.05, 0.0]] * 2, active, [0, 1, 3]) == ""
    assert told([[0.0, 0.001, 0.0, 0.0]] * 2, active, [0, 1, 2, 3]) == ""
    assert told([[0.0, 0.05, 0.0, 0.0]] * 2, active, [0, 1, 2, 3], half=0.0) == ""
