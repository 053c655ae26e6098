"""Leaning walls against the angle of friction: statics of the wedge, by hand."""

from __future__ import annotations

import math
from dataclasses import replace

import pytest

from jawright.geometry.profile import Region, rectangle
from jawright.hold.model import Contact
from jawright.part.plate import make_plate
from jawright.proof.wedge import prove
from proof.sample_job import job as pawl_job
from samples import hold as pawl_hold
from samples import shop


def part_leaning(degrees: float):
    """A plate whose face 0 is told to lean: above 0 the part is wider at the top."""
    part = make_plate(
        Region(rectangle(0.0, 0.0, 40.0, 20.0)), "mm", (), file="made.dxf", data=b"", thickness=12.0
    )
    k = next(i for i, f in enumerate(part.faces) if f.kind == "plane" and abs(f.normal[1]) > 0.9)
    s, c = math.sin(math.radians(degrees)), math.cos(math.radians(degrees))
    n = part.faces[k].normal
    leaning = replace(part.faces[k], normal=(n[0], math.copysign(c, n[1]), -s))
    return replace(part, faces=tuple(leaning if i == k else f for i, f in enumerate(part.faces))), leaning


@pytest.mark.parametrize(("degrees", "verdict"), [(3.0, "caution"), (6.0, "caution"), (12.0, "fail")])
def test_wider_at_the_top_is_squeezed_out_past_the_angle_of_friction(degrees: float, verdict: str) -> None:
    part, face = part_leaning(degrees)
    hold = pawl_hold()
    wall = next(c for c in hold.contacts if c.on == "floating")
    hold = replace(hold, contacts=(replace(wall, face=face.index, gap=0.0),))
    (proof,) = prove(hold, None, part, pawl_job(), shop())
    f = shop().friction
    assert proof.set == pytest.approx(math.tan(math.radians(degrees)) / f.set, rel=1e-9)
    assert proof.verdict == verdict


def test_wider_at_the_bottom_does_not_lift() -> None:
    part, face = part_leaning(-3.0)
    hold = pawl_hold()
    wall: Contact = next(c for c in hold.contacts if c.on == "floating")
    hold = replace(hold, contacts=(replace(wall, face=face.index, gap=0.0),))
    (proof,) = prove(hold, None, part, pawl_job(), shop())
    assert proof.value == 0.0 and proof.verdict == "caution" and "lowest line" in proof.sentence


def test_upright_walls_have_no_such_proof() -> None:
    part, _ = part_leaning(0.0)
    assert prove(pawl_hold(), None, part, pawl_job(), shop()) == []
