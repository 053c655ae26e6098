"""A pad of a dinghy winch that is milled all round, and what its plan in two clampings gives."""

from __future__ import annotations

import tempfile
from dataclasses import replace
from functools import cache
from pathlib import Path

from jawright import kernel
from jawright.conductor import whole
from jawright.geometry.profile import Profile, Region, circle, rectangle
from jawright.job.model import DatumPick, Feature, Job, Pick, ToleranceAsk
from jawright.job.read import read_job
from jawright.record import Whole
from jawright.shop.model import Shop
from jawright.shop.read import read_shop
from test_conductor import DAY, DEMO

TALL, BORE = 12.0, 5.0
WALLS = {
    "far wall": (35.0, 40.0, 6.0), "near wall": (35.0, 0.0, 6.0),
    "left end": (0.0, 20.0, 6.0), "right end": (70.0, 20.0, 6.0),
}  # fmt: skip
WITHIN = (
    ToleranceAsk("near wall", "distance", 0.6, ("B",), False),
    ToleranceAsk("right end", "distance", 0.6, ("C",), False),
)
"""Tolerances of which each lies within one clamping."""
ACROSS = ToleranceAsk("bore", "position", 0.2, ("A", "B", "C"), True)
"""One that lies between them: the bore is made in the first, datum C in the second."""


@cache
def shop() -> Shop:
    return read_shop(DEMO / "shop.toml")


def solid(outline: Profile | None = None) -> bytes:
    """The finished pad, 70 × 40 × 12 unless another outline is given, with its bore."""
    hole = circle((35.0, 20.0), BORE).reversed()
    return kernel.extrude(Region(outline or rectangle(0.0, 0.0, 70.0, 40.0), (hole,)), 0.0, TALL)


def job_in(folder: Path, *tolerances: ToleranceAsk, outline: Profile | None = None) -> Job:
    """The job that mills the pad all round, with its part written into a folder."""
    path = folder / "pad.step"
    kernel.write_step({"pad": solid(outline)}, path)
    features = (
        Feature("top", "face", Pick((5.0, 5.0, TALL), "top"), depth=0.5),
        Feature("bore", "bore", Pick((40.0, 20.0, 6.0), "bore")),
        *(Feature(n, "profile", Pick(at, n)) for n, at in WALLS.items()),
    )
    picked = (("A", (5.0, 5.0, 0.0)), ("B", WALLS["far wall"]), ("C", WALLS["left end"]))
    return replace(
        read_job(DEMO / "pawl.toml"),
        part_file=path,
        datums=tuple(DatumPick(letter, Pick(at, letter)) for letter, at in picked),
        features=features,
        tolerances=tolerances,
        up=(0.0, 0.0, 1.0),
    )


@cache
def planned() -> Whole:
    """The plan of the pad with tolerances within its clampings, everything proven."""
    with tempfile.TemporaryDirectory() as place:
        return whole(job_in(Path(place), *WITHIN), shop(), made=DAY, progress=STEPS.append)


STEPS: list[str] = []
"""What was said meanwhile."""
