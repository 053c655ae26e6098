"""Fewer parts in one pair of jaws: the window they leave, against shares by hand."""

from __future__ import annotations

from dataclasses import replace
from types import SimpleNamespace
from typing import cast

import pytest
import sample_block as block

from jawright.hold.model import Hold
from jawright.jaws.row import Spot
from jawright.proof import clamp, equal
from jawright.proof.factor import Case
from jawright.proof.fewer import COMFORT, fewer, words
from jawright.proof.row import Row, row_of
from jawright.proof.window import Study


def of(parts: int, share_of_limit: float) -> tuple[Hold, Study]:
    """Equal parts in equal pockets: each gets an even share, and the least torque is a share of the limit."""
    hold = block.hold()
    x = tuple(30.0 * (k - (parts - 1) / 2) for k in range(parts))
    row = Row(x, 0.0, 0.0, 0.0, 1e5, 0.002, 1)
    top = clamp.torque_limit(hold.vise)
    whole = clamp.clamp_force(hold.vise, share_of_limit * top)
    assert whole is not None
    need = whole.low / parts
    case = cast("Case", SimpleNamespace(need=need, feature=SimpleNamespace(name="bore"), mode="slips"))
    study = Study(
        (case,), None, None, share_of_limit * top, "", top, "", 0.95 * top, "", None, None, row
    )  # fmt: skip
    return hold, study


def test_four_parts_that_need_nearly_all_of_the_vise_are_three_with_room() -> None:
    """Four at 90 % of the vise's torque need 67.5 % as three: 1.48 wide, which is comfortable."""
    hold, study = of(4, 0.9)
    found = fewer(hold, None, block.job(), study)
    assert found is not None and found.parts == 3
    top = clamp.torque_limit(hold.vise)
    assert found.least == pytest.approx(0.75 * 0.9 * top, rel=0.01)
    assert found.most == pytest.approx(top) and found.most >= COMFORT * found.least
    assert found.least <= found.torque <= found.most
    said = words(found, hold, block.job())
    assert "Three at a time" in said and "[hold] parts = 3" in said


def test_a_row_that_no_torque_holds_is_told_how_many_it_takes() -> None:
    """Twice what the vise gives for four is what it gives for two; one of them is comfortable."""
    hold, study = of(4, 2.0)
    found = fewer(hold, None, block.job(), study)
    assert found is not None and found.parts == 1
    assert words(found, hold, block.job()).startswith(" One at a time has")


def test_a_comfortable_row_and_a_part_by_itself_are_left_alone() -> None:
    hold, study = of(4, 0.5)
    assert fewer(hold, None, block.job(), study) is None
    hold, study = of(4, 0.9)
    alone = replace(study, row=replace(study.row, x=(0.0,)))
    assert fewer(hold, None, block.job(), alone) is None
    assert words(None, hold, block.job()) == ""


@pytest.mark.parametrize(("profile", "parts"), [(0.01, "two"), (0.1, "one")])
def test_no_more_parts_are_proposed_than_share_the_clamp_evenly(profile: float, parts: str) -> None:
    """A vise of 0.0001 rad of play turns by 7.5 µm over 75 mm: that evens out hundredths, not tenths."""
    h = block.hold()
    h = replace(h, beside=tuple(Spot(at).region(h.outline) for at in (-75.0, 75.0)))
    job, shop = block.job(profile=profile), block.quiet_shop()
    p = next(p for p in equal.prove(h, block.jaws(), None, job, shop) if p.name == "equal grip")
    assert p.verdict == "fail" and p.sentence.endswith(f", or hold {parts} at a time.")
    force = clamp.clamp_force(h.vise, clamp.torque_limit(h.vise))
    assert force is not None and p.limit is not None
    row = row_of(h, block.jaws(), job, shop)
    two = replace(row, x=tuple(sorted(row.x)[:2]))
    assert (2 * two.share(force.low)[0] >= p.limit) is (parts == "two")
