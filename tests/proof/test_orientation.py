"""Parallelism and angularity of milled walls, by the turn of the part and of the datum: closed forms."""

from __future__ import annotations

import math
from dataclasses import replace

import pytest
import sample_block as block

from jawright.hold.model import DatumUse, Hold
from jawright.job.model import ToleranceAsk
from jawright.proof.locates import prove
from jawright.proof.model import Proof
from jawright.statistics.draw import cut_sigma

FORM, LONG = 0.03, 24.0


def number(p: Proof, name: str) -> float:
    return next(v for n, v, _ in p.detail if n == name)


def with_wall(kind: str, degrees: float, datum: str, zone: float = 0.02) -> Hold:
    """A wall 24 mm long milled at an angle to B, and the floating wall as datum F."""
    h = block.hold()
    a = math.radians(degrees)
    ends = [(5.0 + s * LONG / 2 * math.cos(a), -15.0 + s * LONG / 2 * math.sin(a), 50.0) for s in (-1, 0, 1)]
    wall = replace(
        h.features[1], name="cheek", kind="profile", center=(5.0, -15.0, 55.5), diameter=None, bottom=50.0,
        path=tuple(ends), region=None, faces=(88,),
    )  # fmt: skip
    f = DatumUse("F", "plane", (3,), (0.0, -30.0, 49.5), (0.0, -1.0, 0.0), "floating", "plane")
    ask = ToleranceAsk("cheek", kind, zone, (datum,), False)
    return replace(h, features=(h.features[0], wall), datums=(*h.datums, f), tolerances=(ask,))


@pytest.mark.parametrize(("kind", "degrees"), [("parallelism", 0.0), ("angularity", 30.0)])
def test_wall_to_the_datum_it_is_held_on_does_not_turn(kind: str, degrees: float) -> None:
    """What lies on the fixed jaw takes the part along: a crooked B turns part and datum alike."""
    held = with_wall(kind, degrees, "B")
    p, *_ = prove(held, None, None, block.job(profile=0.0, wall_form=FORM), block.quiet_shop())
    assert p.value == 1.0
    assert number(p, "99.73 % of parts within") == pytest.approx(0.0, abs=1e-6)


@pytest.mark.parametrize(("kind", "degrees"), [("parallelism", 0.0), ("angularity", 30.0)])
def test_wall_to_the_floating_datum_turns_with_both_walls(kind: str, degrees: float) -> None:
    """Four wall ends of σ each over 60 mm turn it: 2 σ L / 60 over its own length L, slanted or not."""
    held = with_wall(kind, degrees, "F")
    p, *_ = prove(held, None, None, block.job(profile=0.0, wall_form=FORM), block.quiet_shop())
    sigma = 2 * cut_sigma(FORM, FORM / 3) * LONG / 60.0
    assert number(p, "spread by sampling, one sigma") == pytest.approx(sigma, rel=0.02)
    assert number(p, "spread by sensitivities, one sigma") == pytest.approx(sigma, rel=0.01)
