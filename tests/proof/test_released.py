"""What the part does when the vise opens, by finite elements, against published rings, plates and blocks."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest
from shapely import Point

import samples
from jawright import handbook, kernel
from jawright.geometry.curve import Line
from jawright.geometry.frame import Move
from jawright.geometry.profile import Region, circle, rectangle
from jawright.hold.model import Hold
from jawright.mechanics import plate
from jawright.mechanics.condense import condense, joined
from jawright.mechanics.solid import Cut, build
from jawright.part.model import Part
from jawright.proof import elastic_grid, released
from jawright.proof.elastic_shape import within as within_of
from jawright.proof.squeeze import springs
from proof import sample_elastic as made

WORK = handbook.material("6061-T6")
STILL = Move("part", "vise", ((1.0, 0.0, 0.0), (0.0, 1.0, 0.0), (0.0, 0.0, 1.0)), (0.0, 0.0, 0.0))


def cut_part(shape: bytes) -> Part:
    """A part that is nothing but its shape, in the vise frame already."""
    return Part("p", "p.step", "0", "step", "mm", shape, (), (), (0.0,) * 6, 1.0, 1.0, None, None)  # type: ignore[arg-type]


def hold(**changes: object) -> Hold:
    h = made.hold(made.jaws())
    return replace(h, stance=replace(h.stance, move=STILL), **changes)  # type: ignore[arg-type]


def bored(h: Hold, x: float, y: float, diameter: float) -> tuple[Hold, bytes]:
    """The block of a hold with one through bore made here."""
    solid = kernel.extrude(h.outline, h.floor, h.part_top)
    solid = kernel.cut(solid, kernel.cylinder((x, y, h.floor - 1), (0.0, 0.0, 1.0), diameter / 2, 40.0))
    f = replace(
        samples.hold().features[1], name="bore", center=(x, y, h.part_top), diameter=diameter, bottom=h.floor,
        region=None,
    )  # fmt: skip
    return replace(h, features=(f,)), solid


@pytest.mark.parametrize(("wall", "within"), [(5.0, 0.01), (8.0, 0.02)])
def test_ring_pinched_across_by_roark_with_shear(wall: float, within: float) -> None:
    """Roark table 9.2 case 1 with hoop and shear terms (from memory): outside 60, inside 50, 1 N across.

    Closing and growth within 1 %; with a wall a third of the mean radius the formula is that far off.
    """
    h = hold()
    ring = Region(circle((0.0, -30.0), 30.0), (circle((0.0, -30.0), 30.0 - wall).reversed(),))
    body = kernel.extrude(ring, h.floor, h.part_top)
    solid = released.sliced(replace(h, features=()), cut_part(body), WORK)
    z = np.linspace(h.floor, h.part_top, 9)[:-1] + 0.75

    def line(
        x: float, y: float, way: tuple[float, float, float]
    ) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
        return np.column_stack([np.full(8, x), np.full(8, y), z]), np.array(way), np.ones(8)

    mean = 30.0 - wall / 2
    parts = [
        line(0.0, -30.0 - mean, (0.0, 1.0, 0.0)), line(0.0, -30.0 + mean, (0.0, -1.0, 0.0)),
        line(mean, -30.0, (1.0, 0.0, 0.0)), line(-mean, -30.0, (-1.0, 0.0, 0.0)),
    ]  # fmt: skip
    c = condense(solid, joined(parts)).compliance
    pinch = np.array([1.0, 1.0, 0.0, 0.0])
    closing, growth = plate.pinched_ring(
        1.0, radius=mean, inertia=12.0 * wall**3 / 12, E=WORK.E, area=12.0 * wall, nu=WORK.nu
    )
    assert np.array([0, 0, 1.0, 1.0]) @ c @ pinch == pytest.approx(growth, rel=within)
    assert pinch @ c @ pinch == pytest.approx(closing, rel=within)


def test_block_is_shortened_by_hooke() -> None:
    """Hooke: a block pressed over its whole side, within the little that the friction's hold costs."""
    j = made.jaws()
    h = hold(grip_depth=12.0)
    got = released.releases(h, j, cut_part(kernel.extrude(h.outline, h.floor, h.part_top)), "6061-T6")
    assert got is not None and len(got) == 1
    _, short = plate.squeeze(1.0, area=44.0 * 12.0, length=26.0, E=WORK.E)
    assert got[0].move[1] == pytest.approx(short, rel=0.02)
    assert got[0].error < 0.03 * short


@pytest.mark.parametrize("apart", [0.2, 5.0])
def test_a_couple_that_only_friction_carries_does_not_turn_the_part_away(apart: float) -> None:
    """Walls that do not face each other: the part gives as metal gives, a few times a block by Hooke."""
    j = made.jaws()
    back, front = j.zones
    off = replace(
        j,
        zones=(
            replace(back, curves=(Line((-apart, made.BACK), (made.LEFT, made.BACK)),)),
            replace(front, curves=(Line((apart, made.FRONT), (made.RIGHT, made.FRONT)),)),
        ),
    )
    h = hold(grip_depth=12.0)
    got = released.releases(h, off, cut_part(kernel.extrude(h.outline, h.floor, h.part_top)), "6061-T6")
    assert got is not None
    _, short = plate.squeeze(1.0, area=20.0 * 12.0, length=26.0, E=WORK.E)
    assert short < abs(got[0].move[1]) < 8 * short


def test_upper_face_bulges_where_only_the_foot_is_squeezed() -> None:
    """Hooke: squeezed over its height a block grows by ν σ h/E and stays flat; gripped low not."""
    j = made.jaws()
    stress, _ = plate.squeeze(1.0, area=44.0 * 12.0, length=26.0, E=WORK.E)
    grown = WORK.nu * stress * 12.0 / WORK.E
    found = {}
    for depth in (12.0, 6.5):
        h = hold(grip_depth=depth)
        got = released.releases(h, j, cut_part(kernel.extrude(h.outline, h.floor, h.part_top)), "6061-T6")
        assert got is not None
        found[depth] = got[0].bulge
    assert 0 <= found[12.0] < 0.25 * grown
    assert found[6.5] > 2 * found[12.0]


@pytest.mark.parametrize(("diameter", "within"), [(3.0, 0.03), (4.0, 0.03), (6.0, 0.08)])
def test_small_bore_goes_oval_by_kirsch_and_moves_by_hooke(diameter: float, within: float) -> None:
    """Kirsch 1898: 4 σ D/E between longest and shortest diameter of a small hole in a thin plate.

    Deep inside a thick one (plane strain about the hole) it is 1 − ν² of that; a block 12 deep lies between,
    and its finite width adds some (Howland 1930: 1 % at d/w 0.07, 3 % at 0.14, and a wall 4 mm off bends).
    """
    h = hold(grip_depth=12.0)
    h, body = bored(h, -2.5, -7.0, diameter)
    got = released.releases(h, made.jaws(), cut_part(body), "6061-T6")
    assert got is not None
    stress = 1.0 / (44.0 * 12.0)
    along, across = plate.hole_release(stress, diameter=diameter, E=WORK.E)
    thin = along - across
    assert (1 - WORK.nu**2) * (1 - within) * thin < got[1].oval < (1 + within) * thin
    assert got[1].error < 0.1 * thin
    assert got[1].move[1] == pytest.approx(-stress * 13.0 / WORK.E, rel=0.1)  # away from the fixed jaw again
    assert abs(got[1].move[0]) < 0.1 * abs(got[1].move[1])


@pytest.mark.parametrize(("deep", "factor", "within"), [(0.8, 1.0, 0.02), (32.0, 1 - 0.33**2, 0.025)])
def test_hole_in_a_thin_and_in_a_thick_plate_by_kirsch(deep: float, factor: float, within: float) -> None:
    """Kirsch 1898 in plane stress, and in plane strain 1 − ν² of it, on the grid that holds are meshed with.

    A hole of 4 mm in a square of 60: Howland 1930 adds less than 1 % at d/w 0.067 (from memory).
    """
    d, wide = 4.0, 60.0
    x = elastic_grid.crowded(-wide / 2, wide / 2, 7.0, [(0.0, elastic_grid.NEAR * d)], 1.0)
    hole = within_of(Point(0.0, 0.0).buffer(d / 2, quad_segs=64))
    solid = build((x, x, np.linspace(0, deep, 3)), [Cut(2, hole, -1.0, deep + 1.0)], E=WORK.E, nu=WORK.nu)
    s = (np.arange(20) + 0.5) / 20
    u, v = (q.ravel() for q in np.meshgrid(wide * s - wide / 2, deep * s, indexing="ij"))
    face = [(np.column_stack([u, np.full(400, y), v]), np.array([0, -np.sign(y), 0])) for y in (-30.0, 30.0)]
    a = 2 * math.pi * np.arange(24) / 24
    out = np.column_stack([np.cos(a), np.sin(a), 0 * a])
    ring = (d / 2 * out + [0, 0, deep / 2], out * np.cos(2 * a)[:, None], np.ones(24))
    c = condense(solid, joined([*((p, w, np.ones(400)) for p, w in face), ring])).compliance
    along, across = plate.hole_release(1.0 / (wide * deep), diameter=d, E=WORK.E)
    assert 8 * abs(c[2, 0] + c[2, 1]) == pytest.approx(factor * (along - across), rel=within)


def test_many_bores_share_the_cells() -> None:
    """A plate full of holes is meshed no finer than it can be solved in a moment."""
    h = hold(grip_depth=12.0)
    f = bored(h, 0.0, -7.0, 3.0)[0].features[0]
    places = [(x, y) for x in range(-22, 19, 5) for y in (-17, -11, -5, 1)]
    holes = [
        replace(f, name=f"hole {k}", center=(float(x), float(y), h.part_top))
        for k, (x, y) in enumerate(places)
    ]
    h = replace(h, features=tuple(holes))
    solid = released.sliced(h, cut_part(kernel.extrude(h.outline, h.floor, h.part_top)), WORK)
    assert len(solid.cells) < 2 * released.MOST_NEAR


def test_slot_between_bore_and_jaw_is_caught() -> None:
    """Where closed forms say nothing: a bore behind a slot moves several times as far as in a block."""
    h = hold()
    h, body = bored(h, -2.5, -12.0, 6.0)
    slot = kernel.extrude(Region(rectangle(-15.0, -4.0, 10.0, 2.0)), h.floor - 1.0, h.part_top + 1.0)
    whole = springs(h, cut_part(body), "6061-T6", made.jaws())
    slotted = springs(h, cut_part(kernel.cut(body, slot)), "6061-T6", made.jaws())
    assert whole is not None and slotted is not None
    assert not slotted[1].why_not and slotted[1].way is not None
    assert slotted[1].move[1] > 2 * whole[1].move[1]


def test_pilot_is_read_on_the_bore_that_is_there_in_the_end() -> None:
    h = hold()
    h, body = bored(h, -2.5, -7.0, 8.0)
    pilot = replace(h.features[0], name="pilot", diameter=4.0)
    got = released.releases(replace(h, features=(pilot, *h.features)), made.jaws(), cut_part(body), "6061-T6")
    assert got is not None
    assert got[1].oval == pytest.approx(got[2].oval) and got[1].move == pytest.approx(got[2].move)


def test_nothing_to_cut_leaves_it_to_the_closed_forms() -> None:
    h = hold()
    assert released.releases(h, made.jaws(), None, "6061-T6") is None
    assert released.releases(h, made.jaws(), cut_part(b""), "6061-T6") is None
    above = kernel.extrude(h.outline, h.part_top + 5, h.part_top + 9)
    assert released.releases(h, made.jaws(), cut_part(above), "6061-T6") is None
    assert math.isfinite(springs(h, None, "6061-T6", made.jaws())[0].move[1])  # type: ignore[index]


def test_a_face_comes_down_by_hooke_and_a_wall_moves_with_the_metal() -> None:
    """Hooke: squeezed over its whole height the block is ν σ h/E taller while its top is cut, and loses that.

    A wall milled half way between the jaws comes back by half of the width's give.
    """
    h = hold(grip_depth=12.0)
    body = cut_part(kernel.extrude(h.outline, h.floor, h.part_top))
    x0, y0, x1, y1 = h.outline.outer.box
    base = samples.hold().features
    corners = tuple((x, y, h.part_top) for x in (x0, x1) for y in (y0, y1))
    top = replace(base[0], name="top", kind="face", path=corners, bottom=h.part_top, region=None)
    middle = (y0 + y1) / 2
    run = tuple((x, middle, h.floor) for x in (x0 + 8.0, (x0 + x1) / 2, x1 - 8.0))
    slot = replace(
        base[0], name="slot", kind="slot", path=run, bottom=h.floor, region=None,
        center=((x0 + x1) / 2, middle, h.part_top),
    )  # fmt: skip
    got = released.releases(replace(h, features=(top, slot)), made.jaws(), body, "6061-T6")
    assert got is not None
    by = {r.feature: r for r in got}
    stress, short = plate.squeeze(1.0, area=44.0 * 12.0, length=26.0, E=WORK.E)
    tall = WORK.nu * stress * (h.part_top - h.floor) / WORK.E
    assert by["top"].rise == pytest.approx(-tall, rel=0.05)
    assert by["top"].slant < 0.3 * tall
    assert by["slot"].move[1] == pytest.approx(-short / 2, rel=0.05)
    assert abs(by["slot"].move[0]) < 0.02 * short


def test_spring_proofs_stay_those_of_bores() -> None:
    h = hold(grip_depth=12.0)
    h, body = bored(h, -2.5, -7.0, 6.0)
    x0, y0, x1, y1 = h.outline.outer.box
    corners = tuple((x, y, h.part_top) for x in (x0, x1) for y in (y0, y1))
    top = replace(samples.hold().features[0], name="top", path=corners, bottom=h.part_top, region=None)
    got = springs(replace(h, features=(top, *h.features)), cut_part(body), "6061-T6", made.jaws())
    assert got is not None
    assert [x.feature.name if x.feature else "" for x in got] == ["", "bore"]
