"""The first slip by the elastic jaws' own pressure: never above the limit factor, and lower with a taper."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

import samples
from jawright.proof import elastic, holds
from jawright.proof.body import walls_alone
from jawright.proof.sliding import pressed_forces
from proof import sample_elastic as made
from proof.sample_job import job


def test_wall_patches_give_all_their_force_to_the_contacts() -> None:
    j = made.beside(made.jaws(), 10.0, 18.0)
    h = made.hold(j)
    m = elastic.model(h, j, None, "6061-T6")
    assert m is not None
    mounts = elastic.ends(h.vise, "set")
    cut = elastic.cut_state(m, mounts, j.stack, 8000.0)
    assert cut is not None
    held = elastic.used(m, mounts, cut, 8000.0)
    found = walls_alone(h, 0.08)
    assert found is not None
    forces = pressed_forces(m, held, found[0])
    assert forces is not None
    for driven in (False, True):
        own = found[0].driven == driven
        assert abs(forces[own][:, 1].sum()) == pytest.approx(8000.0, rel=1e-3)
        assert np.all(np.einsum("ij,ij->i", forces, found[0].normals) >= 0)


def test_first_slip_stands_below_the_limit_factor() -> None:
    j = made.beside(made.jaws(), 10.0, 18.0)
    h = replace(made.hold(j), features=samples.hold().features[:1])
    got = [
        p
        for p in holds.prove(h, j, None, job(), samples.shop())  # type: ignore[arg-type]
        if p.name.startswith("load factor")
    ]
    assert got
    for p in got:
        first = next(v for n, v, _ in p.detail if n.startswith("first slip"))
        assert p.low is not None and 0.0 <= first <= p.low * 1.001
