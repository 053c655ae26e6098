"""The pressure map in the record: it carries the clamp force and tells where a wall does not touch."""

from __future__ import annotations

import numpy as np
import pytest

import samples
from jawright.proof.elastic_walls import Walls
from jawright.proof.model import Pad
from jawright.proof.pads import depth_share, pressure_maps
from proof import sample_elastic as made
from proof.sample_job import job


def test_pads_carry_the_clamp_force_and_say_the_mesh_error() -> None:
    j = made.beside(made.jaws(), 10.0, 18.0)
    h = made.hold(j)
    got = pressure_maps(h, j, None, job(), samples.shop())  # type: ignore[arg-type]
    assert [w.jaw for w in got] == ["fixed", "floating"]
    for w in got:
        assert w.force == pytest.approx(got[0].force, rel=1e-4)
        carried = sum(p.pressure * p.length * p.height for p in w.pads)
        assert carried == pytest.approx(
            w.force, rel=0.05
        )  # what bears less than a fiftieth is shown as nought
        assert w.mesh_error is not None and 0 < w.mesh_error < 0.01
        assert 0 < w.depth_share <= 1 and 0 < w.area_share <= 1
        assert all(isinstance(p, Pad) and p.pressure >= 0 for p in w.pads)


@pytest.mark.parametrize(
    ("pressure", "share"),
    [([1.0, 1.0, 1.0], 1.0), ([5.0, 2.0, 0.0], 2 / 3), ([5.0, 0.0, 0.0], 1 / 3), ([0.0, 0.0, 0.0], 0.0)],
)
def test_share_of_the_grip_depth(pressure: list[float], share: float) -> None:
    middle = np.array([[0.0, 0.0, z] for z in (1.0, 3.0, 5.0)] + [[9.0, 0.0, z] for z in (1.0, 3.0, 5.0)])
    w = Walls(middle, np.tile([0.0, 1.0, 0.0], (6, 1)), np.full(6, 18.0), np.full(6, 9.0), 6.0)
    got = depth_share(w, np.array([4.0, 4.0, 4.0, *pressure]))
    assert got == pytest.approx(share)
