"""The pressure map in the record: it carries the clamp force and tells where a wall does not touch."""

from __future__ import annotations

import pytest

import samples
from jawright.proof import grips
from jawright.proof.model import Pad
from jawright.proof.pads import pressure_maps
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


def test_the_picture_has_the_proof_s_share_of_the_depth() -> None:
    """docs/decisions/0018: one figure, on the picture and in the sentence."""
    j = made.jaws(stack=(0, 8))
    h = made.hold(j)
    got = pressure_maps(h, j, None, job(), samples.shop())  # type: ignore[arg-type]
    proofs = grips.prove(h, j, None, job(), samples.shop())  # type: ignore[arg-type]
    said = next(p for p in proofs if p.name == "contact over the grip depth")
    assert min(w.depth_share for w in got) == pytest.approx(said.set)
