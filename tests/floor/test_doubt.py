"""Courses that none of the causes describes are not named for sure, and coarse readings are pointed out."""

from __future__ import annotations

import numpy as np
import pytest

from jawright.floor.diagnose import diagnose
from jawright.floor.run import Run, Series

ORDER = np.arange(60)


def run(added: np.ndarray, seed: int, *, noise: float = 0.004) -> Run:
    rng = np.random.default_rng(seed)
    size = rng.normal(0, 0.03, len(added))
    x = added + rng.normal(0, noise, len(added))
    names = tuple(f"P{k}" for k in range(len(added)))
    sizes, measured = (Series("size", "", "", size),), (Series("pin_x", "pin", "x", x),)
    return Run("r", "mm", names, ORDER * 4.0, sizes, measured, (), None, None, ())


@pytest.mark.parametrize(
    ("added", "most"),
    [
        (0.02 * ((ORDER > 25) & (ORDER < 36)), 1),  # moved, and moved back
        (0.02 * (ORDER > 20) + 0.02 * (ORDER > 40), 5),  # two steps are no drift
        (0.012 * np.sin(ORDER / 60 * 4 * np.pi), 1),  # the hall warms and cools
    ],
)
def test_other_courses_are_left_open(added: np.ndarray, most: int) -> None:
    """No course in time, and not "nothing stands out", in more than a few of twenty runs."""
    wrong = 0
    for seed in range(20):
        causes = diagnose(run(added, seed)).causes
        wrong += bool(causes & {"step", "drift", "warm-up", "scatter"})
    assert wrong <= most


def test_plain_scatter_is_still_plain() -> None:
    said = [diagnose(run(0.0 * ORDER, seed)).causes for seed in range(20)]
    assert sum("scatter" in c for c in said) >= 19


def test_coarse_readings_are_pointed_out() -> None:
    coarse = run(0.0 * ORDER, 3)
    steps = np.round(coarse.measured[0].values / 0.01) * 0.01
    said = diagnose(
        Run(
            "r",
            "mm",
            coarse.parts,
            None,
            coarse.sizes,
            (Series("pin_x", "pin", "x", steps),),
            (),
            None,
            None,
            (),
        )
    )
    assert "scatter" not in said.causes and not said.enough
    assert any("in steps of 0.0100 mm" in n.sentence for n in said.named)
    still = diagnose(
        Run(
            "r", "mm", coarse.parts, None, (), (Series("pin_x", "pin", "x", 0.0 * ORDER),), (), None, None, ()
        )
    )
    assert not still.causes and any("1 different reading in" in n.sentence for n in still.named)
