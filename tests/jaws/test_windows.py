"""A pocket that goes right through the part: room for its cutter is left in the jaws below it."""

from __future__ import annotations

from dataclasses import replace

import pytest
import shapely

from jawright.cutting.pick import fits
from jawright.cutting.program import write
from jawright.geometry.polygon import to_polygon
from jawright.geometry.profile import Region, circle, rectangle
from jawright.hold import resolve
from jawright.hold.hard import propose
from jawright.hold.stance import Turn
from jawright.hold.view import view
from jawright.jaws import soft
from jawright.jaws.design import Pair, design
from jawright.job.model import Feature, Pick
from jawright.job.read import read_job
from jawright.part.model import Part
from jawright.part.plate import make_plate
from jawright.proof.obstacles import obstacles, overlaps, sweep
from jawright.shop.read import read_shop
from jawright.verify.check import check
from part.test_features import rounded
from test_conductor import DEMO

TALL = 18.0
SHOP = read_shop(DEMO / "shop.toml")
JOB = replace(read_job(DEMO / "pawl.toml"), datums=(), tolerances=(), up=(0.0, 0.0, 1.0))


def plate(window: tuple[float, float, float, float]) -> Part:
    hole = rounded(*window, 4.0).outer.reversed()
    return make_plate(
        Region(rectangle(0.0, 0.0, 80.0, 60.0), (hole,)), "mm", (), file="w.dxf", data=b"", thickness=TALL
    )


def picked(window: tuple[float, float, float, float], **more: object) -> Feature:
    wall = Pick((window[0], (window[1] + window[3]) / 2, TALL / 2), "window")
    return replace(Feature("window", "pocket", wall), **more)  # type: ignore[arg-type]


def pair(window: tuple[float, float, float, float], turn: float = 0.0) -> tuple[Part, Pair]:
    part, job = plate(window), replace(JOB, features=(picked(window),))
    ask = resolve.resolve(part, job)
    seen = view(part, job, ask, (0.0, 0.0, 1.0))
    vise = SHOP.vises[0]
    draft = soft.draft(seen, Turn(turn, "test", 1), ask=ask, part=part, job=job, shop=SHOP, vise=vise)
    assert not isinstance(draft, soft.Lost), draft
    return part, design(draft, seen, part=part, job=job, shop=SHOP, vise=vise)


@pytest.mark.parametrize("turn", [0.0, 1.5707963267948966])
@pytest.mark.parametrize("window", [(20.0, 12.0, 60.0, 48.0), (12.0, 34.0, 68.0, 52.0)])
def test_the_jaws_give_way_under_a_window(window: tuple[float, float, float, float], turn: float) -> None:
    _, made = pair(window, turn)
    (feature,) = made.hold.features
    assert feature.through and feature.window is not None
    size = (window[2] - window[0]) * (window[3] - window[1]) - (
        4 - shapely.Point(0, 0).buffer(1, 512).area
    ) * 16
    assert feature.window.area == pytest.approx(size, rel=1e-4)
    (well,) = [w for w in made.jaws.wells if w.purpose == "clearance under window"]
    room = shapely.Polygon(to_polygon(well.region, 1e-3))
    wanted = to_polygon(feature.window, 1e-3).buffer(0.99)
    assert room.covers(wanted)
    # it is cut from above, so it must not reach below a wall
    assert to_polygon(made.jaws.pocket, 1e-3).buffer(-0.49).covers(room)
    assert made.jaws.floor - well.bottom >= 2.5
    assert fits(well.region, made.jaws.cutter_radius)
    # what the cutter sweeps meets nothing higher than the bottom of that room
    swept = sweep(feature, made.hold)
    assert swept.tip < made.hold.floor
    met = [o for o in obstacles(made.hold, made.jaws) if overlaps(swept.area, o.area)]
    _, low, _, high = feature.window.outer.box
    assert met or (-made.jaws.gap <= low and high <= 0.0), "or it lies in the gap, where nothing is"
    assert all(o.top <= well.bottom + 1e-9 for o in met)


@pytest.mark.parametrize("near", [2.5, 1.5])
def test_room_under_a_window_near_a_wall_leaves_the_wall(near: float) -> None:
    """Grown by the cutter alone it would run under the wall that locates: the program would cut into it."""
    _, made = pair((20.0, near, 60.0, 44.0))
    found = [w for w in made.jaws.wells if w.purpose == "clearance under window"]
    assert found
    inside = to_polygon(made.jaws.pocket, 1e-3).buffer(-0.49)
    assert all(inside.covers(to_polygon(w.region, 1e-3)) for w in found)
    p = write(made.jaws, SHOP, JOB, vise=SHOP.vises[0])
    v = check(p.text, origin=p.origin, turned=p.turned, jaws=made.jaws, shop=SHOP, vise=SHOP.vises[0])
    assert v.verified, [f for f in v.findings if f.level == "fault"][:3]


def drilled(y: float) -> Pair:
    """A plate with a hole of 8 mm through it, its middle ``y`` mm from the wall on the floating jaw."""
    outline, hole = rectangle(0.0, 0.0, 80.0, 60.0), circle((40.0, y), 4.0).reversed()
    part = make_plate(Region(outline, (hole,)), "mm", (), file="h.dxf", data=b"", thickness=TALL)
    at = Pick((40.0, y + 4.0, TALL / 2), "hole")
    job = replace(JOB, features=(Feature("hole", "drill", at),))
    ask = resolve.resolve(part, job)
    seen = view(part, job, ask, (0.0, 0.0, 1.0))
    draft = soft.draft(seen, Turn(0.0, "test", 1), ask=ask, part=part, job=job, shop=SHOP, vise=SHOP.vises[0])
    assert not isinstance(draft, soft.Lost), draft
    return design(draft, seen, part=part, job=job, shop=SHOP, vise=SHOP.vises[0])


@pytest.mark.parametrize(("y", "radius"), [(8.0, 5.0), (5.2, 4.7), (4.4, None)])
def test_a_round_well_near_a_wall_leaves_the_wall(y: float, radius: float | None) -> None:
    """One millimeter round the hole as usual, narrower near a wall, cut short by one that is nearer still."""
    made = drilled(y)
    (well,) = [w for w in made.jaws.wells if w.purpose == "clearance under hole"]
    room = to_polygon(well.region, 1e-3)
    assert to_polygon(made.jaws.pocket, 1e-3).buffer(-0.49).covers(room)
    (feature,) = made.hold.features
    if radius is not None:
        assert room.symmetric_difference(shapely.Point(feature.center[:2]).buffer(radius, 256)).area < 0.1
    else:
        assert room.area > 40.0
    p = write(made.jaws, SHOP, JOB, vise=SHOP.vises[0])
    v = check(p.text, origin=p.origin, turned=p.turned, jaws=made.jaws, shop=SHOP, vise=SHOP.vises[0])
    assert v.verified, [f for f in v.findings if f.level == "fault"][:3]


def test_a_window_over_the_gap_alone_needs_no_room() -> None:
    window = (20.0, 26.0, 60.0, 35.0)
    _, made = pair(window)
    (feature,) = made.hold.features
    assert feature.window is not None
    box = feature.window.outer.box
    if -made.jaws.gap + made.jaws.cutter_radius <= box[1] and box[3] <= -made.jaws.cutter_radius:
        assert not [w for w in made.jaws.wells if "window" in w.purpose]
    else:
        assert [w for w in made.jaws.wells if "window" in w.purpose]


def test_parallels_stay_clear_of_a_window() -> None:
    """The same plate is held on parallels where the window leaves them room, and refused where not."""
    vise = SHOP.vises[0]
    said = {}
    for name, window in (("inside", (20.0, 20.0, 60.0, 40.0)), ("near", (20.0, 3.0, 60.0, 40.0))):
        part = plate(window)
        job = replace(JOB, features=(picked(window),), hold=replace(JOB.hold, kind="hard jaws"))
        ask = resolve.resolve(part, job)
        seen = view(part, job, ask, (0.0, 0.0, 1.0))
        said[name] = propose(seen, Turn(0.0, "test", 1), ask=ask, part=part, job=job, shop=SHOP, vise=vise)
    assert not isinstance(said["inside"], str), said["inside"]
    assert said["near"] == 'the through hole "window" lies over the parallels'


def test_a_pocket_said_to_be_blind_stays_blind() -> None:
    window = (20.0, 12.0, 60.0, 48.0)
    part = plate(window)
    ask = resolve.resolve(part, replace(JOB, features=(picked(window, through=False),)))
    assert ask.features[0].window is None
