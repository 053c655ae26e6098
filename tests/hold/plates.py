"""Random plates that want holding: filleted outlines with a hole, their longest flats as datums."""

from __future__ import annotations

import math
from dataclasses import replace
from functools import cache

import numpy as np

from geometry.families import filleted
from jawright.geometry.curve import Line, right_normal
from jawright.geometry.profile import Region, circle
from jawright.geometry.query import moments, signed_distance
from jawright.hold.resolve import Ask, resolve
from jawright.job.model import DatumPick, Feature, Job, Pick, ToleranceAsk
from jawright.job.read import read_job
from jawright.part.model import Part
from jawright.part.plate import make_plate
from jawright.shop.model import Shop
from jawright.shop.read import read_shop
from test_conductor import DEMO

TALL = 12.0  # [mm]
HOLE = 8.0  # [mm]


@cache
def shop() -> Shop:
    return read_shop(DEMO / "shop.toml")


@cache
def plate(seed: int) -> tuple[Part, Job, Ask]:
    """A plate 12 mm thick with a hole to drill: datum A below, B its longest flat, C a flat across."""
    rng = np.random.default_rng(seed)
    while True:
        outline = filleted(rng)
        center = moments(outline).center
        flats = sorted((c for c in outline.curves if isinstance(c, Line)), key=lambda c: -c.length)
        room = -float(signed_distance(outline, np.array([center]))[0])
        if room > HOLE and flats and flats[0].length > 6.0:
            break
    hole = circle(center, HOLE / 2).reversed()
    part = make_plate(Region(outline, (hole,)), "mm", (), file=f"plate{seed}.dxf", data=b"", thickness=TALL)
    datums = [DatumPick("A", Pick((center[0] + 0.75 * HOLE, center[1], 0.0), "datum A"))]
    datums.append(DatumPick("B", Pick(_on(flats[0]), "datum B")))
    across = [f for f in flats[1:] if _angle(f, flats[0]) > math.radians(60) and f.length > 2.0]
    if across:
        datums.append(DatumPick("C", Pick(_on(across[0]), "datum C")))
    letters = tuple(d.letter for d in datums)
    job = replace(
        read_job(DEMO / "pawl.toml"),
        datums=tuple(datums),
        features=(
            Feature("top", "face", None, depth=0.5),
            Feature("hole", "drill", Pick((*_rim(center), TALL / 2), "hole")),
        ),
        tolerances=(ToleranceAsk("hole", "position", 0.15, letters, True),),
    )
    return part, job, resolve(part, job)


def _on(line: Line) -> tuple[float, float, float]:
    x, y = line.at(0.5)
    return (x, y, TALL / 2)


def _rim(center: tuple[float, float]) -> tuple[float, float]:
    return (center[0] + HOLE / 2, center[1])


def _angle(a: Line, b: Line) -> float:
    (ax, ay), (bx, by) = right_normal(a, 0.5), right_normal(b, 0.5)
    return math.acos(min(1.0, abs(ax * bx + ay * by)))
