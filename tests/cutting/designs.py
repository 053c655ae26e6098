"""Jaws designed from random outlines by the tool's own designer, for the tests of programs."""

from __future__ import annotations

import math
import tempfile
from dataclasses import replace
from functools import cache
from pathlib import Path

import ezdxf
import numpy as np

from jawright.errors import JawrightError
from jawright.geometry.curve import Line
from jawright.geometry.profile import Profile
from jawright.hold import resolve, stance
from jawright.hold.view import view
from jawright.jaws import soft
from jawright.jaws.design import design
from jawright.jaws.model import Jaws
from jawright.job.model import Job
from jawright.job.read import read_job
from jawright.part.read import read_part
from jawright.shop.model import Shop
from jawright.shop.read import read_shop

DEMO = Path(__file__).parent.parent.parent / "src" / "jawright" / "data" / "demo"
THICK = 12.0


@cache
def demo() -> tuple[Job, Shop]:
    """The demo's job and shop."""
    return read_job(DEMO / "pawl.toml"), read_shop(DEMO / "shop.toml")


def star(rng: np.random.Generator) -> Profile:
    """A random plate: the corners of a star-shaped polygon on straight lines, without roundings."""
    n = int(rng.integers(4, 9))
    turn = np.sort(rng.uniform(0, 1.8 * np.pi / n, n) + np.arange(n) * 2 * np.pi / n)
    radius = rng.uniform(14.0, 30.0, n)
    points = [(float(r * math.cos(a)), float(r * math.sin(a))) for r, a in zip(radius, turn, strict=True)]
    return Profile(tuple(Line(points[i], points[(i + 1) % n]) for i in range(n)))


def designed(profile: Profile) -> Jaws | None:
    """The first stance of a plate of this outline for which jaws can be designed."""
    job, shop = demo()
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "plate.dxf"
        doc = ezdxf.new()
        doc.header["$INSUNITS"] = 4
        for c in profile.curves:
            if isinstance(c, Line):
                doc.modelspace().add_line(c.start, c.end)
            else:
                a = (math.degrees(c.start_angle), math.degrees(c.start_angle + c.sweep))
                doc.modelspace().add_arc(c.center, c.radius, *(a if c.ccw else a[::-1]))
        doc.saveas(path)
        part = read_part(path, unit="mm", thickness=THICK)
    job = replace(job, datums=(), features=(), tolerances=(), up=(0.0, 0.0, 1.0), thickness=THICK)
    ask = resolve.resolve(part, job)
    vise = shop.vises[0]
    for up in stance.ups(part, job.up, ask.datums):
        seen = view(part, job, ask, up)
        for turn in stance.turns(seen.outline, up, ask.datums):
            draft = soft.draft(seen, turn, ask=ask, part=part, job=job, shop=shop, vise=vise)
            if isinstance(draft, soft.Lost):
                continue
            try:
                return design(draft, seen, part=part, job=job, shop=shop, vise=vise).jaws
            except JawrightError as error:
                assert error.code == "hold-none", error
    return None
