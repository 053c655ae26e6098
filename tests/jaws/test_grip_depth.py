"""How deep the jaws grip and the reason they give: the job, the rule of the trade, what is milled outside."""

from __future__ import annotations

import math
from dataclasses import replace

import pytest

from cutting import pockets
from jawright.hold import view as views
from jawright.job.model import HoldAsk

NOTHING = (math.inf, "")


@pytest.mark.parametrize(
    ("tall", "reached", "depth", "why"),
    [
        (12.0, NOTHING, 6.5, "usual for smooth soft jaws"),
        (30.0, NOTHING, 9.0, "30% of the part's height"),
        (60.0, NOTHING, 12.7, "the most that is usual"),
        (7.0, NOTHING, 5.5, "all that is left"),
        (30.0, (7.0, "shoulder"), 6.5, "below shoulder, which is milled down to 7.00 mm"),
        (30.0, (20.0, "shoulder"), 9.0, "30% of the part's height"),
        (30.0, (0.0, "outline"), 9.0, "30% of the part's height"),  # no grip helps: the clearance proof tells
    ],
)
def test_the_reason_goes_with_the_depth(
    tall: float, reached: tuple[float, str], depth: float, why: str
) -> None:
    got, said = views._grip(pockets.job(), tall, reached)
    assert got == pytest.approx(depth)
    assert why in said


def test_what_the_job_gives_stays() -> None:
    job = replace(pockets.job(), hold=HoldAsk(grip_depth=4.0))
    assert views._grip(job, 30.0, (3.0, "shoulder")) == (4.0, "given in the job")
