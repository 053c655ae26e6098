"""Which walls locate, stop and grip: the choices a machinist would make on plain outlines."""

from __future__ import annotations

import math

import pytest
from shapely import LineString

from jawright.geometry.curve import Arc, Line, right_normal
from jawright.geometry.polygon import to_polygon
from jawright.geometry.profile import Profile, Region, rectangle
from jawright.hold.outline import Outline, Wall, cut_at_levels, steep, visible
from jawright.hold.walls import NESTS, choose_grips, choose_locators, choose_stop, fewest_pads, joined, nests
from jaws.shapes import outline as shaped
from samples import pawl_outline


def outline(profile: Profile, letters: tuple[str, ...] | None = None) -> Outline:
    n = len(profile.curves)
    return Outline(profile, tuple(range(n)), letters or ("",) * n)


def wedge(angle: float) -> Profile:
    """A block with a flat top, upright left side, and a belly that rises to the right by ``angle``."""
    rise = 60.0 * math.tan(angle)
    pts = [(0.0, 0.0), (60.0, rise), (60.0, 30.0), (0.0, 30.0)]
    return Profile(tuple(Line(pts[i], pts[(i + 1) % 4]) for i in range(4)))


def test_block_locates_on_its_top_and_grips_its_bottom() -> None:
    o = outline(rectangle(0.0, 0.0, 60.0, 30.0))
    locators = choose_locators(o, ())
    assert [w.index for w in locators] == [2]
    stop = choose_stop(o, ())
    assert stop is not None and stop.index in (1, 3)
    assert [w.index for w in choose_grips(o, locators, stop)] == [0]


def test_datum_wins_over_a_longer_flat() -> None:
    pts = [(0.0, 0.0), (60.0, 0.0), (60.0, 30.0), (15.0, 30.0), (15.0, 34.0), (0.0, 34.0)]
    p = Profile(tuple(Line(pts[i], pts[(i + 1) % 6]) for i in range(6)))
    letters = ("", "", "", "", "B", "")
    assert [w.datum for w in choose_locators(outline(p, letters), ("B",))] == ["B"]


def test_datum_out_of_square_does_not_locate_alone() -> None:
    p = wedge(0.0).moved(turn=math.radians(3.0))
    walls = choose_locators(outline(p, ("", "", "B", "")), ("B",))
    assert all("datum" not in w.reason for w in walls)


def test_wedge_toward_the_stop_is_gripped_over_its_belly() -> None:
    o = outline(wedge(math.radians(12)), ("", "", "B", "C"))
    locators = choose_locators(o, ("B",))
    stop = choose_stop(o, ("C",))
    assert stop is not None and stop.datum == "C"
    grips = choose_grips(o, locators, stop)
    assert [w.index for w in grips] == [0]
    assert "home" in grips[0].reason


@pytest.mark.parametrize("radius", [2.0, 3.0, 4.0, 8.0])
def test_a_small_round_end_is_gripped_as_far_round_as_a_large_one(radius: float) -> None:
    """A plate that ends in a half circle: every piece of a small one is short, together they are one run."""
    a, b, top = (-radius, 0.0), (radius, 0.0), 30.0
    sides = (Line(b, (radius, top)), Line((radius, top), (-radius, top)), Line((-radius, top), a))
    o = outline(Profile((Arc(a, b, (0.0, 0.0), True), *sides)))
    locators = choose_locators(o, ())
    (grip,) = choose_grips(o, locators, choose_stop(o, ()))
    assert grip.index == 0 and grip.curve.length > 0.6 * radius, "7° either side are 0.24 of the radius"


def test_wedge_away_from_the_stop_says_so() -> None:
    o = outline(wedge(math.radians(-12)), ("", "", "B", "C"))
    locators = choose_locators(o, ("B",))
    stop = choose_stop(o, ("C",))
    grips = choose_grips(o, locators, stop)
    assert grips and all("home" not in w.reason for w in grips)


def test_undercut_side_is_no_stop() -> None:
    pts = [(0.0, 0.0), (60.0, 0.0), (60.0, 30.0), (-8.0, 30.0)]
    p = Profile(tuple(Line(pts[i], pts[(i + 1) % 4]) for i in range(4)))
    assert all(w.index != 3 for w in steep(outline(p))), "the jaw could not pass the wider top"


def lines(*points: tuple[float, float]) -> tuple[Line, ...]:
    return tuple(Line(p, q) for p, q in zip(points, (*points[1:], points[0]), strict=True))


def test_what_of_a_leaning_wall_lies_below_an_arm_is_no_stop() -> None:
    """An L with a long arm, turned by 30°: all but the foot of its inner wall, 48 mm, lies below it.

    By hand: the inner wall is met from its foot (12 cos 30°) back to the X of the arm's far corner at
    45 cos 30° - 60 sin 30°, and leans by 30°.
    """
    ell = Profile(lines((0, 0), (12, 0), (12, 60), (45, 60), (45, 72), (0, 72))).moved(turn=math.radians(30))
    (inner,) = [w for w in steep(outline(ell)) if w.index == 1]
    foot, arm = (
        12 * math.cos(math.radians(30)),
        45 * math.cos(math.radians(30)) - 60 * math.sin(math.radians(30)),
    )
    assert inner.curve.length == pytest.approx((foot - arm) / math.sin(math.radians(30)), abs=1e-6)
    assert max(inner.curve.start[0], inner.curve.end[0]) == pytest.approx(foot)


def test_every_stop_can_be_met_from_the_fixed_jaw() -> None:
    """Straight up from just outside any stop run there is no metal: plain polygons, random outlines."""
    met = 0
    for n in range(240):
        profile = shaped(n)
        for w in steep(outline(profile)) if profile is not None else ():
            assert profile is not None
            body = to_polygon(Region(profile), 0.001).buffer(-0.002)
            for t in (0.05, 0.35, 0.65, 0.95):
                (x, y), (nx, ny) = w.curve.at(t), right_normal(w.curve, t)
                up = LineString([(x + 0.02 * nx, y + 0.02 * ny), (x + 0.02 * nx, y + 500.0)])
                assert not up.intersects(body), f"outline {n}, curve {w.index}"
            met += 1
    assert met > 100


def test_notch_hidden_from_the_jaw_is_not_visible() -> None:
    pts = [(0, 0), (60, 0), (60, 30), (40, 30), (40, 20), (50, 20), (50, 10), (20, 10), (20, 30), (0, 30)]
    p = Profile(tuple(Line(pts[i], pts[(i + 1) % len(pts)]) for i in range(len(pts))))
    seen = {w.index for w in visible(outline(p), "fixed")}
    assert 4 not in seen, "the ledge under the overhang cannot be reached"
    hidden_part = [w for w in visible(outline(p), "fixed") if w.index == 6]
    assert sum(w.curve.length for w in hidden_part) == pytest.approx(20.0, abs=1e-9)


def test_disc_bears_over_ninety_degrees_a_side() -> None:
    r = 20.0
    disc = Profile((Arc((r, 0.0), (-r, 0.0), (0.0, 0.0), True), Arc((-r, 0.0), (r, 0.0), (0.0, 0.0), True)))
    o = outline(disc)
    for side in ("fixed", "floating"):
        total = sum(w.curve.length for w in visible(o, side))
        assert total == pytest.approx(r * math.pi / 2, abs=1e-6)
    assert nests(choose_locators(o, ()))
    assert choose_stop(o, (), nested=True) is None


def test_cut_at_levels_keeps_the_length() -> None:
    for c in pawl_outline().curves:
        pieces = cut_at_levels(c, (0.0, -6.0, -12.0))
        assert sum(p.length for p in pieces) == pytest.approx(c.length, abs=1e-9)
        for p in pieces:
            ys = [p.at(t)[1] for t in (0.1, 0.5, 0.9)]
            for level in (0.0, -6.0, -12.0):
                assert all(y >= level - 1e-9 for y in ys) or all(y <= level + 1e-9 for y in ys)


def test_joined_runs_make_one_run() -> None:
    o = outline(pawl_outline())
    runs = visible(o, "floating")
    whole = joined(runs)
    assert len(whole) == len({w.index for w in runs})
    assert sum(w.curve.length for w in whole) == pytest.approx(sum(w.curve.length for w in runs))


@pytest.mark.parametrize("side", ["-X", "+X"])
def test_stop_side_can_be_pinned(side: str) -> None:
    stop = choose_stop(outline(rectangle(0.0, 0.0, 60.0, 30.0)), (), side=side)  # type: ignore[arg-type]
    assert stop is not None
    assert (stop.normal[0] < 0) == (side == "-X")


def drawn(profile: Profile, first: int, away: tuple[float, float]) -> Outline:
    """The same outline listed from another curve and drawn elsewhere."""
    return outline(Profile(profile.curves[first:] + profile.curves[:first]).moved(shift=away))


def test_what_grips_does_not_hang_on_where_the_part_is_drawn() -> None:
    """Moments were taken about the file's origin: far from it any push counted as carried."""
    away, seen = (800.0, -650.0), 0
    for number in (*range(0, 40), *range(1002, 1042)):
        p = shaped(number)
        if p is None:
            continue
        found = []
        for shift in ((0.0, 0.0), away):
            o = drawn(p, 0, shift)
            locators = choose_locators(o, ())
            if not locators:
                break
            found.append([(w.index, w.reason) for w in choose_grips(o, locators, choose_stop(o, ()))])
        else:
            assert found[0] == found[1], number
            seen += 1
    assert seen > 50


@pytest.mark.parametrize("first", range(4))
@pytest.mark.parametrize("turn", [0.0, 41.0, 198.0])
def test_of_two_walls_alike_the_same_stops_wherever_the_outline_begins(first: int, turn: float) -> None:
    """The first in the list did, or the one that rounding put a hair deeper."""
    p = rectangle(0.0, 0.0, 60.0, 30.0).moved(turn=math.radians(turn), shift=(311.7, -84.3))
    o = drawn(p.moved(turn=math.radians(-turn)), first, (0.0, 0.0))
    for wanted in ((), ("B",)):
        stop = choose_stop(Outline(o.profile, o.faces, ("B",) * 4), wanted)
        assert stop is not None and stop.normal[0] > 0.9


def regular(corners: int, across: float, turn: float) -> Profile:
    """A regular polygon, its corners to the micrometer as a file has them, turned as it will stand [rad]."""
    r = across / 2 / math.cos(math.pi / corners)
    ways = [2 * math.pi * k / corners + 0.2 for k in range(corners)]
    pts = [(round(r * math.cos(a), 6), round(r * math.sin(a), 6)) for a in ways]
    sides = tuple(Line(pts[k], pts[(k + 1) % corners]) for k in range(corners))
    return Profile(sides).moved(turn=turn - 0.2)


@pytest.mark.parametrize("across", [10.0, 13.0, 17.0, 24.0, 36.0])
def test_round_angles_do_not_hang_on_how_they_round(across: float) -> None:
    """A hexagon's walls lie just 30° off, an octagon's 45°: rounding told whether they were met or not."""
    for k in range(6):
        flat = outline(regular(6, across, math.radians(60 * k)))
        assert sorted(round(w.normal[0], 3) for w in steep(flat)) == [-0.866, 0.866]
        corner = outline(regular(6, across, math.radians(60 * k + 30)))
        assert not nests(choose_locators(corner, ())) and choose_stop(corner, ()) is not None
    for k in range(8):
        eight = outline(regular(8, across, math.radians(45 * k + 22.5)))
        assert len(visible(eight, "fixed")) == len(visible(eight, "floating")) == 3


@pytest.mark.parametrize("growth", [0.0, 0.02, 0.1, 0.3])
@pytest.mark.parametrize("radius", [12.0, 30.0])
def test_pads_on_arcs_leave_less_air_than_a_feeler_finds(growth: float, radius: float) -> None:
    """A part that grows is moved along X by its stop: at a pad's ends the arc then stands off.

    Air at the one end while the other touches, by plane geometry: twice the way along X times the sine of the
    pad's half angle. By it pads 5 mm long on lobes of R10 leave 0.049 mm where parts vary by ± 0.1 mm.
    """
    across, low = radius * math.sin(1.0), radius * (math.cos(1.0) - 1.0)
    lobes = [Arc((x + across, low), (x - across, low), (x, -radius), True) for x in (-30.0, 30.0)]
    pads = [Wall(c, k, k, "fixed", "locate", "", NESTS) for k, c in enumerate(lobes)]
    chosen = fewest_pads(pads, growth)
    assert len(chosen) == 2
    for w in chosen:
        assert isinstance(w.curve, Arc)
        off = max(abs(right_normal(w.curve, t)[0]) for t in (0.0, 1.0))
        assert w.curve.length >= 2.0 - 1e-9, "shorter ones are no pads"
        assert 2 * growth * off <= 0.03 + 1e-9 or w.curve.length == pytest.approx(2.0)
        assert w.curve.length <= 5.0 + 1e-9 and off <= math.sin(0.25) + 1e-9


def test_a_scrap_of_wall_is_no_pad_where_there_are_longer_ones() -> None:
    """The scrap lies farther out and was taken: a part that it carries rocks, and bruises there."""
    runs = [Line((-20.0, 0.0), (-26.0, 0.0)), Line((8.0, 0.0), (3.0, 0.0)), Line((16.0, 0.0), (15.0, 0.0))]
    pads = [Wall(c, k, k, "fixed", "locate", "", NESTS) for k, c in enumerate(runs)]
    assert {w.index for w in fewest_pads(pads, 0.1)} == {0, 1}
    assert {w.index for w in fewest_pads([pads[0], pads[2]], 0.1)} == {0, 2}, "rather than one pad"
