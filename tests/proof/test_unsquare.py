"""Walls out of square: told where they lean by more over the grip than jaws may taper."""

from __future__ import annotations

from dataclasses import replace

import pytest
import sample_block as block

from jawright.job.model import Job
from jawright.proof.rules import rule
from jawright.proof.unsquare import prove


def leaning(by: float) -> Job:
    job = block.job()
    given = replace(job.incoming.squareness, value=by, basis="job")
    return replace(job, incoming=replace(job.incoming, squareness=given))


def test_a_sawn_wall_meets_the_jaw_on_an_edge() -> None:
    h = replace(block.hold(), grip_depth=8.0)
    h = replace(h, part_top=h.floor + 25.0)
    (p,) = prove(h, None, None, leaning(0.3), block.quiet_shop())
    assert p.verdict == "caution" and p.question == "grips"
    assert p.high == pytest.approx(0.3 * 8.0 / 25.0) and "0.096 mm over the grip" in p.sentence
    least = rule("taper_mm").set * 25.0 / 8.0
    assert prove(h, None, None, leaning(0.99 * least), block.quiet_shop()) == []
    assert len(prove(h, None, None, leaning(1.01 * least), block.quiet_shop())) == 1


def test_walls_as_they_usually_come_and_drafted_ones_are_not_told_of() -> None:
    h = block.hold()
    assert prove(h, block.jaws(), None, block.job(), block.quiet_shop()) == []
    drafted = replace(h, contacts=tuple(replace(c, lean=0.05) for c in h.contacts))
    assert prove(drafted, block.jaws(), None, leaning(2.0), block.quiet_shop()) == []
