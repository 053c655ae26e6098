"""Where a milled feature reaches in plan: along its own edges, however the part is drawn in its file."""

from __future__ import annotations

import math
from dataclasses import replace
from itertools import pairwise

import numpy as np
import pytest
from shapely import MultiPoint

from jawright.geometry.curve import Arc, Line
from jawright.geometry.frame import Move, standing
from jawright.geometry.profile import Profile, Region, circle, rectangle
from jawright.hold.found import FoundFeature, together
from jawright.hold.resolve import Ask, resolve
from jawright.hold.runs import MOST, in_plan, runs
from jawright.job.model import Feature, Job, Pick
from jawright.job.read import read_job
from jawright.part.model import Part
from jawright.part.plate import make_plate
from test_conductor import DEMO

UP = (0.0, 0.0, 1.0)
TRIANGLE = Profile(
    (Line((0.0, 0.0), (60.0, 0.0)), Line((60.0, 0.0), (15.0, 40.0)), Line((15.0, 40.0), (0.0, 0.0)))
)
TALL = 12.0
STILL = Move("part", "vise", ((1.0, 0.0, 0.0), (0.0, 1.0, 0.0), (0.0, 0.0, 1.0)), (0.0, 0.0, 0.0))


def asked(outline: Profile, *features: Feature) -> tuple[Part, Ask]:
    part = make_plate(Region(outline), "mm", (), file="plate.dxf", data=b"", thickness=TALL)
    job: Job = replace(read_job(DEMO / "pawl.toml"), datums=(), tolerances=(), features=features)
    return part, resolve(part, job)


def top(x: float, y: float) -> Feature:
    return Feature("top", "face", Pick((x, y, TALL), "test"), depth=0.5)


def turned(p: tuple[float, float], degrees: float) -> tuple[float, float]:
    a = math.radians(degrees)
    return (p[0] * math.cos(a) - p[1] * math.sin(a), p[0] * math.sin(a) + p[1] * math.cos(a))


@pytest.mark.parametrize("degrees", [0.0, 23.0, 45.0, 90.0, 170.0])
def test_a_face_reaches_as_far_as_its_corners_however_it_is_drawn(degrees: float) -> None:
    """A triangle drawn at any angle: three corners, and nothing of the box round it."""
    outline = TRIANGLE.moved(turn=math.radians(degrees), shift=(0.0, 0.0))
    ((name, run),) = runs(*asked(outline, top(*turned((25.0, 10.0), degrees))), UP)
    assert name == "top"
    want = {tuple(round(v, 6) for v in turned(p, degrees)) for p in ((0.0, 0.0), (60.0, 0.0), (15.0, 40.0))}
    assert {(round(p[0], 6), round(p[1], 6)) for p in run.points} == want
    assert all(p[2] == pytest.approx(TALL) for p in run.points)


def test_a_round_face_is_met_all_round() -> None:
    ((_, run),) = runs(*asked(circle((7.0, 3.0), 20.0), top(7.0, 3.0)), UP)
    assert len(in_plan(run, STILL)) <= MOST
    assert all(math.dist(p[:2], (7.0, 3.0)) == pytest.approx(20.0) for p in run.points)
    assert MultiPoint([p[:2] for p in run.points]).convex_hull.area > 0.98 * math.pi * 20.0**2


@pytest.mark.parametrize("turn", [0.0, 90.0, 200.0])
def test_a_way_that_goes_round_is_known_to_be_closed(turn: float) -> None:
    """Half a disc: its one long step, the flat, is never the step home, by which open ways are told."""
    flat, bow = Line((0.0, 20.0), (0.0, -20.0)), Arc((0.0, -20.0), (0.0, 20.0), (0.0, 0.0), True)
    ((_, run),) = runs(*asked(Profile((bow, flat)), top(5.0, 0.0)), UP)
    way = np.array(in_plan(run, standing(UP, turn=math.radians(turn), shift=(0.0, 0.0, 0.0))))
    steps = np.hypot(*(np.roll(way, -1, axis=0) - way).T)
    assert steps.max() == pytest.approx(40.0, abs=0.1) and steps[-1] == pytest.approx(steps.min())


def test_a_rounded_end_is_milled_from_one_of_its_ends_to_the_other() -> None:
    """The half round end of a link: points on it, in their order, and the straight line across is no wall."""
    a, b = (40.0, 0.0), (40.0, 20.0)
    bent = Arc(a, b, (40.0, 10.0), True)
    link = Profile((Line((0.0, 0.0), a), bent, Line(b, (0.0, 20.0)), Line((0.0, 20.0), (0.0, 0.0))))
    end = Feature("end", "profile", Pick((50.0, 10.0, 6.0), "test"))
    ((_, run),) = runs(*asked(link, end), UP)
    assert all(math.dist(p[:2], (40.0, 10.0)) == pytest.approx(10.0) for p in run.points)
    assert sorted((run.points[0][1], run.points[-1][1])) == pytest.approx([0.0, 20.0], abs=1e-9)
    steps = [math.dist(p[:2], q[:2]) for p, q in pairwise(run.points)]
    assert max(steps) < 4.0


def test_one_upright_plane_has_the_corners_of_its_edges() -> None:
    wall = Feature("wall", "profile", Pick((20.0, 0.0, 6.0), "test"))
    ((_, run),) = runs(*asked(rectangle(0.0, 0.0, 40.0, 20.0), wall), UP)
    assert run.straight
    assert {(round(x, 6), round(y, 6)) for x, y, _ in run.points} == {(0.0, 0.0), (40.0, 0.0)}


def test_a_profile_of_a_whole_outline_is_loaded_on_every_side() -> None:
    """Four walls milled by one feature: loads come from all round, not along the largest wall alone."""
    part, ask = asked(rectangle(0.0, 0.0, 40.0, 20.0))
    walls = tuple(f.index for f in part.faces if abs(f.normal[2]) < 0.5)
    whole = FoundFeature(Feature("outline", "profile", None), walls, None, together(part, walls))
    ((_, run),) = runs(part, replace(ask, features=(whole,)), UP)
    assert {(round(p[0], 6), round(p[1], 6)) for p in run.points} == {(0, 0), (40, 0), (40, 20), (0, 20)}
