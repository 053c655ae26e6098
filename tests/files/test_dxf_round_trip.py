"""Outlines written as drawings and read back are the same lines and arcs."""

from __future__ import annotations

import io
import math
import random
from pathlib import Path

import ezdxf
import numpy as np
import pytest

from geometry.families import comb, filleted, star
from jawright.errors import JawrightError
from jawright.files import dxf_child
from jawright.files.dxf import _region, read_outline
from jawright.files.dxf_out import dxf_text
from jawright.geometry.curve import Curve, Line, Point
from jawright.geometry.profile import Profile, Region, circle
from jawright.geometry.query import simple
from jawright.part.read import read_part
from samples import pawl_outline

FAMILIES = (star, filleted, comb)
EXACT = 1e-9
"""Largest difference [mm]: sixteen digits of a coordinate of a few meters, through an inch and back."""


def apart(a: Curve, b: Curve) -> float:
    """Largest distance of ends, middle and center of two curves that should be one [mm]."""
    if type(a) is not type(b):
        return math.inf
    pairs = [(a.start, b.start), (a.end, b.end), (a.at(0.5), b.at(0.5))]
    return max(math.dist(p, q) for p, q in pairs)


def differs(a: Profile, b: Profile) -> float:
    """Largest difference of two outlines curve by curve, whichever the first curve is [mm]."""
    if len(a.curves) != len(b.curves):
        return math.inf
    n = len(a.curves)
    first = min(range(n), key=lambda k: math.dist(b.curves[k].start, a.curves[0].start))
    return max(apart(c, b.curves[(first + k) % n]) for k, c in enumerate(a.curves))


def read_back(path: Path, text: bytes, *, unit: str = "") -> list[Region]:
    """What the reading child finds, without the child."""
    path.write_bytes(text)
    value, _ = dxf_child.work(str(path), path.name, unit, 0.01)
    return [_region(loops) for loops in value["regions"]]


def check(seed: int, path: Path) -> None:
    outline = FAMILIES[seed % len(FAMILIES)](np.random.default_rng(seed))
    text = dxf_text({"outline": [outline]}, inch=bool(seed % 2))
    if not simple(outline.counterclockwise()):
        with pytest.raises(JawrightError, match="crosses itself at"):
            read_back(path, text)
        return
    found = read_back(path, text)
    assert len(found) == 1 and not found[0].holes
    assert differs(outline.counterclockwise(), found[0].outer) < EXACT
    assert found[0].area == pytest.approx(abs(outline.area), rel=1e-9)


def test_random_outlines_come_back_exactly(tmp_path: Path) -> None:
    for seed in range(60):
        check(seed, tmp_path / "outline.dxf")


@pytest.mark.long
def test_three_thousand_random_outlines_come_back_exactly(tmp_path: Path) -> None:
    for seed in range(60, 3060):
        check(seed, tmp_path / "outline.dxf")


@pytest.mark.parametrize("inch", [False, True])
def test_the_pawl_with_its_bore_comes_back(tmp_path: Path, inch: bool) -> None:
    path = tmp_path / "pawl.dxf"
    path.write_bytes(dxf_text({"outline": [pawl_outline(), circle((13.0, -8.0), 5.0)]}, inch=inch))
    drawing, _ = read_outline(path)
    region = drawing.regions[0]
    assert drawing.unit == ("inch" if inch else "mm")
    assert differs(pawl_outline(), region.outer) < EXACT
    assert region.holes[0].area == pytest.approx(-25 * math.pi, rel=1e-12)


def test_a_drawing_becomes_a_plate_like_any_other_solid(tmp_path: Path) -> None:
    path = tmp_path / "pawl.dxf"
    path.write_bytes(dxf_text({"outline": [pawl_outline(), circle((13.0, -8.0), 5.0)]}))
    part = read_part(path, thickness=12.0)
    region = part.outline
    assert region is not None and part.format == "dxf" and part.unit == "mm"
    assert part.volume == pytest.approx(12.0 * region.area, rel=1e-9)
    assert part.box[2] == pytest.approx(0.0) and part.box[5] == pytest.approx(12.0)
    assert [(round(h.diameter, 6), h.through) for h in part.holes] == [(10.0, True)]
    assert len(part.faces) == 5 + 1 + 2 + 1  # straight and round walls, bore (two halves), two flats


# ---- soups of loose curves -----------------------------------------------------------------


def soup(outline: Profile, rng: random.Random, error: float) -> bytes:
    """The outline as loose LINE and ARC entities in any order and direction, ends off by up to ``error``."""
    doc = ezdxf.new("R2000")
    doc.header["$INSUNITS"] = 4
    curves = list(outline.curves)
    rng.shuffle(curves)

    def shaken(p: Point) -> Point:
        angle, r = rng.uniform(0, 2 * math.pi), 0.5 * error * rng.random()
        return (p[0] + r * math.cos(angle), p[1] + r * math.sin(angle))

    for c in curves:
        if isinstance(c, Line):
            ends = [shaken(c.start), shaken(c.end)]
            rng.shuffle(ends)
            doc.modelspace().add_line(*ends)
        else:
            a = math.degrees((c if c.ccw else c.reversed()).start_angle)
            doc.modelspace().add_arc(shaken(c.center), c.radius, a, a + math.degrees(abs(c.sweep)))
    out = io.StringIO()
    doc.write(out)
    return out.getvalue().encode()


@pytest.mark.parametrize("error", [0.0, 0.004], ids=["exact", "shaken"])
def test_soups_of_loose_curves_chain_to_the_same_outline(tmp_path: Path, error: float) -> None:
    for seed in range(30):
        outline = (comb if seed % 2 and not error else filleted)(np.random.default_rng(seed))
        if error and min(c.length for c in outline.curves) < 0.1:
            continue  # a gap may be as long as the curve
        found = read_back(tmp_path / "soup.dxf", soup(outline, random.Random(seed), error))
        assert len(found) == 1, seed
        assert found[0].area == pytest.approx(abs(outline.area), abs=1e-9 + error * outline.perimeter)
        assert found[0].outer.box == pytest.approx(outline.box, abs=1e-9 + 2 * error)
