"""The pocket holds the part, touches it where it must, and can be cut with its cutter."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest

from jawright.errors import JawrightError
from jawright.geometry.curve import Arc, Line, move
from jawright.geometry.offset import opening
from jawright.geometry.profile import Profile, rectangle
from jawright.geometry.query import signed_distance
from jawright.hold.outline import Outline, Wall, cut_at_levels
from jawright.hold.walls import choose_grips, choose_locators, choose_stop
from jawright.jaws import pocket
from jawright.jaws.pocket import Pocket
from jawright.jaws.relief import corners
from samples import pawl_outline

GAP, ALLOWANCE, GROWTH = 6.0, 0.25, 0.15


def seat(profile: Profile, letters: tuple[str, ...], depth: float) -> tuple[Profile, list[Wall]]:
    """The outline with its top ``depth`` into the fixed jaw, and its bearing walls cut at the parting."""
    outline = Outline(profile, tuple(range(len(profile.curves))), letters)
    wanted = tuple(sorted({x for x in letters if x}))
    locators = choose_locators(outline, wanted)
    used = {w.datum for w in locators}
    stop = choose_stop(outline, tuple(x for x in wanted if x not in used))
    grips = choose_grips(outline, locators, stop)
    shift = (0.0, depth - profile.box[3])
    walls = []
    for w in [*locators, *([stop] if stop else []), *grips]:
        for piece in cut_at_levels(move(w.curve, shift=shift), (0.0, -GAP)):
            y = piece.at(0.5)[1]
            if (y > 0) if w.side == "fixed" else (y < -GAP):
                walls.append(replace(w, curve=piece))
    return profile.moved(shift=shift), walls


def designed(
    profile: Profile, letters: tuple[str, ...], depth: float, radius: float
) -> tuple[Profile, Pocket]:
    placed, walls = seat(profile, letters, depth)
    made = pocket.design(placed, walls, gap=GAP, allowance=ALLOWANCE, cutter_radius=radius, growth=GROWTH)
    return placed, made


def in_jaws(profile: Profile) -> np.ndarray:
    p = np.array(profile.points(0.002))
    return p[(p[:, 1] > 1e-9) | (p[:, 1] < -GAP - 1e-9)]


def check(placed: Profile, made: Pocket, radius: float) -> None:
    d = signed_distance(made.region, in_jaws(placed))
    assert d.max() <= 1e-3, "the part does not fit its pocket"
    for w in made.walls:
        on = np.array([w.curve.at(t) for t in (0.0, 0.25, 0.5, 0.75, 1.0)])
        assert np.abs(signed_distance(made.region, on)).max() <= 1e-3, "a bearing wall does not touch"
    again = opening(made.region, radius)
    assert len(again) == 1
    assert again[0].area == pytest.approx(made.region.area, rel=1e-7), "an inside corner is too tight"
    apart = np.array(made.shadow.points(0.01))
    up = apart[apart[:, 1] > 0] + np.array([0.0, -0.5])
    assert signed_distance(made.region, up[up[:, 1] > 0]).max() <= 1e-3, "the fixed jaw holds the part back"


@pytest.mark.parametrize("radius", [1.5, 3.0, 5.0])
def test_pawl(radius: float) -> None:
    placed, made = designed(pawl_outline(), ("B", "C", "", "", ""), 14.0, radius)
    check(placed, made, radius)
    assert {w.purpose for w in made.walls} == {"locate", "stop", "grip"}
    assert len(made.reliefs) == 2, "both sharp corners in the fixed jaw are relieved"


def test_relief_leaves_the_locating_wall_whole() -> None:
    _, made = designed(pawl_outline(), ("B", "C", "", "", ""), 14.0, 3.0)
    seat_wall = next(w for w in made.walls if w.purpose == "locate")
    assert seat_wall.curve.length == pytest.approx(55.0, abs=1e-6)
    for r in made.reliefs:
        assert r.stand_off_without == pytest.approx(3.0 * (math.sqrt(2) - 1), abs=1e-9)


def test_round_part_nests_in_the_fixed_jaw() -> None:
    r = 20.0
    disc = Profile((Arc((r, 0.0), (-r, 0.0), (0.0, 0.0), True), Arc((-r, 0.0), (r, 0.0), (0.0, 0.0), True)))
    placed, made = designed(disc, ("", ""), 17.0, 3.0)
    check(placed, made, 3.0)
    assert not made.reliefs
    arc = next(w for w in made.walls if w.purpose == "locate")
    assert abs(arc.curve.sweep) == pytest.approx(math.pi / 2, abs=1e-6), "it bears over 45° to each side"


def test_rounded_corner_larger_than_the_cutter_needs_no_relief() -> None:
    x, y, r = 25.0, 14.0, 4.0
    block = Profile(
        (
            Line((x, -y + r), (x, y - r)),
            Arc((x, y - r), (x - r, y), (x - r, y - r), True),
            Line((x - r, y), (-x + r, y)),
            Arc((-x + r, y), (-x, y - r), (-x + r, y - r), True),
            Line((-x, y - r), (-x, -y + r)),
            Arc((-x, -y + r), (-x + r, -y), (-x + r, -y + r), True),
            Line((-x + r, -y), (x - r, -y)),
            Arc((x - r, -y), (x, -y + r), (x - r, -y + r), True),
        )
    )
    placed, made = designed(block, ("",) * 8, 11.0, 3.0)
    check(placed, made, 3.0)
    assert not made.reliefs


def test_neck_narrower_than_the_cutter_is_refused() -> None:
    pts = [(-30.0, -12.0), (30.0, -12.0), (30.0, 12.0), (8.0, 12.0), (8.0, 26.0), (5.0, 26.0), (5.0, 12.0)]
    pts += [(-30.0, 12.0)]
    n = len(pts)
    tongue = Profile(tuple(Line(pts[i], pts[(i + 1) % n]) for i in range(n)))
    with pytest.raises(JawrightError) as caught:
        designed(tongue, ("",) * n, 24.0, 5.0)
    assert caught.value.code == "hold-none"
    assert "cutter" in caught.value.what


def star(rng: np.random.Generator) -> Profile:
    """A random outline of rounded corners: tangent arcs at the corners of a star-shaped polygon."""
    n = int(rng.integers(4, 9))
    angles = np.sort(rng.uniform(0, 2 * np.pi, n) * 0.25 + np.arange(n) * 2 * np.pi / n)
    radii = rng.uniform(16.0, 30.0, n)
    p = np.stack([radii * np.cos(angles), radii * np.sin(angles)], axis=1)
    curves: list[Line | Arc] = []
    trimmed = []
    for i in range(n):
        a, b, c = p[i - 1], p[i], p[(i + 1) % n]
        u, v = (a - b) / np.linalg.norm(a - b), (c - b) / np.linalg.norm(c - b)
        half = math.acos(float(np.clip(u @ v, -1, 1))) / 2
        room = 0.4 * min(np.linalg.norm(a - b), np.linalg.norm(c - b))
        r = float(min(rng.uniform(1.0, 6.0), room * math.tan(half)))
        t = r / math.tan(half)
        left = float(u[0] * v[1] - u[1] * v[0]) < 0
        bis = (u + v) / np.linalg.norm(u + v)
        center = b + bis * (r / math.sin(half))
        trimmed.append((tuple(b + u * t), tuple(b + v * t), tuple(center), left))
    for i in range(n):
        start, end, center, left = trimmed[i]
        curves.append(Arc(start, end, center, left))
        curves.append(Line(end, trimmed[(i + 1) % n][0]))
    return Profile(tuple(curves))


def random_case(seed: int) -> bool:
    rng = np.random.default_rng(seed)
    profile = star(rng)
    try:
        placed, made = designed(profile, ("",) * len(profile.curves), float(rng.uniform(8, 16)), 1.5)
    except JawrightError as error:
        assert error.code == "hold-none"
        return False
    check(placed, made, 1.5)
    return True


def test_random_parts_fit_their_pockets() -> None:
    held = sum(random_case(seed) for seed in range(60))
    assert held >= 50, "most rounded parts can be pocketed"


@pytest.mark.long
def test_many_random_parts_fit_their_pockets() -> None:
    held = sum(random_case(seed) for seed in range(1000, 2500))
    assert held >= 1200


def test_square_block_corners_are_relieved_on_both_jaws() -> None:
    placed, made = designed(rectangle(-20.0, -14.0, 20.0, 14.0), ("",) * 4, 11.0, 3.0)
    check(placed, made, 3.0)
    assert len(made.reliefs) == 4


def test_a_half_round_end_is_no_corner() -> None:
    """Its walls are parallel: there is no bisector, and no angle to work a pinch out from."""
    end = Profile((Line((-30.0, -20.0), (0.0, -20.0)), Arc((0.0, -20.0), (0.0, 20.0), (0.0, 0.0), True),
                   Line((0.0, 20.0), (-30.0, 20.0)), Line((-30.0, 20.0), (-30.0, -20.0))))  # fmt: skip
    found = corners(end, 100.0)
    assert sorted(c.at for c in found) == [(-30.0, -20.0), (-30.0, 20.0)]
    assert all(c.half > 0.1 for c in found)
