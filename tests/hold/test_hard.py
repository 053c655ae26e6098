"""Hard jaws: flats that are out of parallel by what the jaw can turn, and by more."""

from __future__ import annotations

import math
from dataclasses import replace

import pytest

from jawright.geometry.curve import Line
from jawright.geometry.profile import Profile, Region, circle, rectangle
from jawright.hold.hard import _past_the_jaws, flats, propose
from jawright.hold.model import Hold
from jawright.hold.resolve import resolve
from jawright.hold.stance import Turn
from jawright.hold.view import view
from jawright.job.model import Feature, Pick
from jawright.job.read import read_job
from jawright.part.plate import make_plate
from jawright.proof import elastic_shape, elastic_walls
from jawright.proof.population import scene
from jawright.shop.model import Band3
from jawright.shop.read import read_shop
from test_conductor import DEMO

PLAY = math.radians(0.03)


def wedge(angle: float) -> Profile:
    """60 mm long, 30 mm wide at the left end, its lower flat turned by ``angle`` [rad]."""
    low = 60.0 * math.tan(angle)
    p = [(-30.0, -30.0), (30.0, -30.0 + low), (30.0, 0.0), (-30.0, 0.0)]
    return Profile(tuple(Line(p[i], p[(i + 1) % 4]) for i in range(4)))


def held(angle: float) -> Hold | str:
    part = make_plate(Region(wedge(angle)), "mm", (), file="w.dxf", data=b"", thickness=25.0)
    job = replace(
        read_job(DEMO / "pawl.toml"),
        datums=(), tolerances=(), features=(Feature("top", "face", None, depth=0.5),),
    )  # fmt: skip
    shop = read_shop(DEMO / "shop.toml")
    vise = replace(shop.vises[0], yaw=Band3(PLAY, 1.5 * PLAY, 2 * PLAY, "test"))
    ask = resolve(part, job)
    seen = view(part, job, ask, (0.0, 0.0, 1.0))
    return propose(seen, Turn(0.0, "test", 1), ask=ask, part=part, job=job, shop=shop, vise=vise)


@pytest.mark.parametrize("share", [0.0, 0.5, 0.9])
def test_flats_that_the_jaw_can_follow_are_held_over_their_length(share: float) -> None:
    """Play takes the angle: the part rests flat on the fixed jaw, and the jaw turns by the angle."""
    hold = held(share * PLAY)
    assert isinstance(hold, Hold), hold
    job, shop = read_job(DEMO / "pawl.toml"), read_shop(DEMO / "shop.toml")
    s = scene(hold, job, shop)
    seated = s.seated(s.draw(1, "nominal") * 0.0)
    assert seated.pose[0] == pytest.approx([0.0, 0.0, 0.0], abs=1e-4)
    rise = [c.point[1] for c in hold.contacts if c.on == "floating"]
    assert rise[1] - rise[0] == pytest.approx(58.0 * math.tan(share * PLAY), abs=1e-6)


def test_flats_that_it_cannot_follow_are_refused_with_the_number() -> None:
    why = held(math.radians(0.2))
    assert isinstance(why, str)
    assert "0.20° out of parallel" in why and "±0.03°" in why and "0.209 mm" in why
    assert held(math.radians(8.0)) == "no two long parallel flats"


def test_flats_are_told_from_both_sides() -> None:
    assert flats(wedge(0.0)) is not None
    assert flats(wedge(2e-4)) is None
    assert flats(wedge(2e-4), askew=3e-4) is not None


def long_plate(long: float, hole: float | None = None) -> Hold | str:
    """A plate 60 wide and 14 thick, with a through hole made here at that X near one flat."""
    holes = () if hole is None else (circle((hole, 5.0), 3.0).reversed(),)
    outline = rectangle(-long / 2, 0.0, long / 2, 60.0)
    part = make_plate(Region(outline, holes), "mm", (), file="l.dxf", data=b"", thickness=14.0)
    features = [Feature("top", "face", None, depth=0.5)]
    if hole is not None:
        features.append(Feature("hole", "drill", Pick((hole + 3.0, 5.0, 7.0), "hole")))
    job = replace(read_job(DEMO / "pawl.toml"), datums=(), tolerances=(), features=tuple(features))
    shop, ask = read_shop(DEMO / "shop.toml"), resolve(part, job)
    seen = view(part, job, ask, (0.0, 0.0, 1.0))
    return propose(seen, Turn(0.0, "test", 1), ask=ask, part=part, job=job, shop=shop, vise=shop.vises[0])


def test_a_part_longer_than_the_jaws_bears_within_them_only() -> None:
    """288 mm on jaws and parallels of 150: it hangs out at both ends, and no wall bears out there."""
    hold = long_plate(288.0)
    assert isinstance(hold, Hold), hold
    xs = [c.point[0] for c in hold.contacts if c.on in ("fixed", "floating")]
    assert (min(xs), max(xs)) == pytest.approx((-74.0, 74.0))
    assert sum(c.share for c in hold.contacts if c.on == "fixed") == pytest.approx(150.0)
    for side in ("fixed", "floating"):
        wall = elastic_walls.walls(hold, None, side, low=hold.floor, high=hold.jaw_top)  # type: ignore[arg-type]
        assert wall is not None and abs(wall.middle[:, 0]).max() < 75.0
        assert wall.area.sum() == pytest.approx(150.0 * hold.grip_depth)
    wall = elastic_walls.walls(hold, None, "fixed", low=hold.floor, high=hold.jaw_top)
    assert wall is not None
    body = elastic_shape.grid_lines(None, elastic_shape.hard_jaw(hold, "fixed"), wall, coarser=1.0)
    assert all((lines[1:] > lines[:-1]).all() for lines in body), "a mesh can be made of it"
    too_long = long_plate(310.0)
    assert isinstance(too_long, str) and "parallels long enough" in too_long


def test_a_hole_beyond_the_ends_of_the_parallels_is_not_over_them() -> None:
    assert isinstance(long_plate(240.0, hole=-100.0), Hold)
    over = long_plate(240.0, hole=-60.0)
    assert isinstance(over, str) and "lies over the parallels" in over


def test_a_wall_milled_between_the_jaws_of_a_second_vise_is_no_less_in_the_way() -> None:
    """Vises of 150 mm, 200 mm apart, as one: the wall lies at X 120, between the jaws of one of them."""
    vise = read_shop(DEMO / "shop.toml").vises[0]
    line = replace(vise, in_line=2, pitch=200.0)
    p = rectangle(-120.0, -60.0, 120.0, 0.0)
    assert _past_the_jaws(p, (1,), vise) == "", "one vise alone: it lies beyond the jaws"
    assert "milled down" in _past_the_jaws(p, (1,), line)
