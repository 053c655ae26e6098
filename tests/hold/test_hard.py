"""Hard jaws: flats that are out of parallel by what the jaw can turn, and by more."""

from __future__ import annotations

import math
from dataclasses import replace

import pytest

from jawright.geometry.curve import Line
from jawright.geometry.profile import Profile, Region
from jawright.hold.hard import flats, propose
from jawright.hold.model import Hold
from jawright.hold.resolve import resolve
from jawright.hold.stance import Turn
from jawright.hold.view import view
from jawright.job.model import Feature
from jawright.job.read import read_job
from jawright.part.plate import make_plate
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
