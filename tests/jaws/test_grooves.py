"""Grooves in the floor: when a job gets one, where they run, and what stays for the part to stand on."""

from __future__ import annotations

import math
from dataclasses import replace

import pytest
from shapely import box

import samples
from cutting import pockets
from jawright.geometry.polygon import to_polygon
from jawright.geometry.profile import Region, rectangle
from jawright.hold.contacts import stands
from jawright.hold.resolve import resolve
from jawright.hold.stance import Turn
from jawright.hold.view import view
from jawright.jaws import grooves
from jawright.jaws.cutters import pocket_cutter
from jawright.jaws.design import design
from jawright.jaws.model import BURR_GROOVE, CHIP_SLOT, UNDERCUT
from jawright.jaws.soft import Draft, draft
from jawright.job.model import Feature, Given, HoldAsk, Job
from jawright.part.plate import make_plate
from jawright.shop.model import Cutter
from jawright.shop.read import read_shop
from jaws.shapes import outline
from test_conductor import DEMO

GAP, FLOOR = 6.0, 43.5


def mill(size: float, corner: float = 0.0) -> Cutter:
    return Cutter(
        f"EM{size:g}R{corner:g}", 20, "end mill", size, corner, 3, 3.2 * size, 6 * size, 28.0, 0.0, 0.6, True
    )


def asked(edge: float, basis: str) -> Job:
    g = Given(0.1, "test")
    base = pockets.job()
    return replace(base, incoming=replace(base.incoming, profile=g, edge_break=Given(edge, basis)))


@pytest.mark.parametrize(
    ("edge", "basis", "finish", "kind"),
    [
        (0.13, "edges are broken before the second operation", mill(10), BURR_GROOVE),  # nobody says so
        (0.0, "job", mill(10), BURR_GROOVE),
        (0.3, "job", mill(10), ""),
        (0.3, "the part file: chamfer at the lower edge, the smallest round it", mill(10), ""),
        (0.3, "job", mill(10, 0.3), ""),  # the break clears the cutter's corner
        (0.3, "job", mill(10, 0.5), UNDERCUT),
    ],
)
def test_which_groove_a_job_gets(edge: float, basis: str, finish: Cutter, kind: str) -> None:
    g, said = grooves.along_wall(asked(edge, basis), (mill(3), finish), finish, depth=6.5)
    assert said
    if kind == "":
        assert g is None and "no burr groove" in said
    else:
        assert g is not None and (g.up > 0) == (kind == UNDERCUT)
        assert g.cutter.id == "EM3R0"


def test_without_a_small_cutter_the_edge_is_stoned() -> None:
    g, said = grooves.along_wall(asked(0.0, "job"), (mill(10),), mill(10), depth=6.5)
    assert g is None and "stone" in said


def test_a_shop_without_a_sharp_cutter_undercuts_the_corner() -> None:
    """Common practice, no source: a sharp corner or an undercut one, never a fillet under a sharp edge."""
    outline = rectangle(-20.0, -20.0, 20.0, 10.0)
    blunt = (mill(10, 0.5), mill(4, 0.4))
    how = {"depth": 6.5, "edge_break": 0.0, "outline": outline, "growth": 0.0}
    chosen = pocket_cutter(blunt, [], **how)  # type: ignore[arg-type]
    g, _ = grooves.along_wall(asked(0.0, "job"), blunt, chosen, depth=6.5)
    assert g is not None and g.up == chosen.corner_radius
    assert g.depth >= g.cutter.corner_radius + 0.2, "its own fillet lies below the floor"


@pytest.mark.parametrize("off_up", [(0.1, 0.0), (0.0, 0.5)])
def test_a_groove_runs_along_the_wall_and_out_into_the_gap(off_up: tuple[float, float]) -> None:
    off, up = off_up
    pocket = Region(samples.rounded_pocket(-30.0, -28.0, 25.0, 10.0, 5.0))
    g = grooves.Groove(mill(3), 1.0, off, up, "")
    wells = grooves.wall_wells(g, pocket, FLOOR, GAP)
    assert len(wells) == 2
    whole = to_polygon(pocket, 1e-3)
    for w, side in zip(wells, (box(-99, 0, 99, 99), box(-99, -99, 99, -GAP)), strict=True):
        shape = to_polygon(w.region, 1e-3)
        assert whole.buffer(2e-3).contains(shape), "it never leaves the pocket"
        wall = whole.exterior.intersection(side.buffer(-0.1))
        assert shape.hausdorff_distance(wall) <= g.floor_lost + 2.0
        band = (
            wall.buffer(off + 0.5).intersection(whole).intersection(side).difference(wall.buffer(off + 0.01))
        )
        assert band.difference(shape.buffer(0.01)).area < 0.05, "all along the wall"
        floor_left = whole.intersection(side).difference(shape)
        assert floor_left.area > 0.4 * whole.intersection(side).area, "the part has floor to stand on"
        out = shape.difference(side)
        assert out.area > 1.0, "chips leave by the gap"
        assert (w.bottom, w.top) == (FLOOR - 1.0, FLOOR + up)


def test_a_long_floor_gets_a_slot_for_chips_and_a_short_one_none() -> None:
    deep = Region(samples.rounded_pocket(-30.0, -46.0, 25.0, 30.0, 5.0))
    slots = grooves.chip_slots(deep, mill(10), FLOOR, GAP)
    assert [s.purpose for s in slots] == [CHIP_SLOT, CHIP_SLOT]
    for s in slots:
        x0, y0, x1, y1 = s.region.outer.box
        assert x1 - x0 == pytest.approx(10.3, abs=1e-6)
        assert (y0 < 0 < y1) or (y0 < -GAP < y1), "from the far wall out into the gap"
    assert not grooves.chip_slots(Region(samples.rounded_pocket(-30, -20, 25, 12, 5)), mill(10), FLOOR, GAP)


def test_no_burr_groove_where_the_part_needs_its_floor() -> None:
    """A T gripped at its arm lies on two strips of floor beside it: with grooves along them it would tip."""
    profile = outline(353)
    assert profile is not None
    part = make_plate(Region(profile), "mm", (), file="plate.dxf", data=b"", thickness=20.0)
    top = Feature("top", "face", None, depth=0.5)
    job = replace(asked(0.13, "edges are broken before the second operation"), datums=(), features=(top,))
    job = replace(job, tolerances=(), up=(0.0, 0.0, 1.0), hold=HoldAsk(turn=math.radians(270.0)))
    shop = read_shop(DEMO / "shop.toml")
    ask = resolve(part, job)
    seen = view(part, job, ask, (0.0, 0.0, 1.0))
    vise = shop.vises[0]
    turn = Turn(math.radians(270.0), "test", 1)
    drawn = draft(seen, turn, ask=ask, part=part, job=job, shop=shop, vise=vise)
    assert isinstance(drawn, Draft) and drawn.groove is not None
    pair = design(drawn, seen, part=part, job=job, shop=shop, vise=vise)
    assert stands(pair.hold.contacts, pair.hold.stance.move.point(seen.center)[:2])
    assert not any(w.purpose == BURR_GROOVE for w in pair.jaws.wells)
    assert any("would tip" in n and "stone" in n for n in pair.jaws.notes)
