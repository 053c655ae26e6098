"""Features recognized on parts made here, whose sizes are known because they were cut so."""

from __future__ import annotations

import math
from pathlib import Path

import pytest

from jawright import kernel
from jawright.geometry.curve import Arc, Line
from jawright.geometry.frame import Vec3, standing
from jawright.geometry.profile import Profile, Region, circle, rectangle
from jawright.part.breaks import seat_edges
from jawright.part.corners import outline_corners
from jawright.part.features import find_features, opening
from jawright.part.model import Features, Part
from jawright.part.read import read_part
from part.shapes import block, broken, shifted, turned, written
from samples import pawl_outline

Z = (0.0, 0.0, 1.0)


def read(folder: Path, shape: bytes) -> Part:
    return read_part(written(folder, "part.step", shape))


def found(folder: Path, shape: bytes) -> Features:
    return find_features(read(folder, shape))


def plate(*tools: bytes, body: bytes | None = None) -> bytes:
    return kernel.cut(body or block(60.0, 40.0, 20.0), *tools)


def bar(x: float, y: float, z0: float, z1: float, diameter: float) -> bytes:
    return kernel.cylinder((x, y, z0), Z, 0.5 * diameter, z1 - z0)


def obround(x0: float, x1: float, y: float, width: float) -> Region:
    r = 0.5 * width
    return Region(
        Profile(
            (
                Line((x0, y - r), (x1, y - r)),
                Arc((x1, y - r), (x1, y + r), (x1, y), True),
                Line((x1, y + r), (x0, y + r)),
                Arc((x0, y + r), (x0, y - r), (x0, y), True),
            )
        )
    )


def rounded(x0: float, y0: float, x1: float, y1: float, r: float) -> Region:
    corners = [((x1 - r, y0), (x1, y0 + r), (x1 - r, y0 + r)), ((x1, y1 - r), (x1 - r, y1), (x1 - r, y1 - r))]
    corners += [
        ((x0 + r, y1), (x0, y1 - r), (x0 + r, y1 - r)),
        ((x0, y0 + r), (x0 + r, y0), (x0 + r, y0 + r)),
    ]
    curves: list[Line | Arc] = []
    for k, (a, b, c) in enumerate(corners):
        curves += [Arc(a, b, c, True), Line(b, corners[(k + 1) % 4][0])]
    return Region(Profile(tuple(curves)))


def sizes(f: Features) -> list[tuple[str, bool, bool, float, float, float]]:
    return sorted(
        (r.kind, r.closed, r.through, round(r.length, 3), round(r.width, 3), round(r.depth, 3))
        for r in f.recesses
    )


# ---- holes ---------------------------------------------------------------------------------


def test_a_stepped_hole_is_one_from_its_mouth_inwards(tmp_path: Path) -> None:
    f = found(tmp_path, plate(bar(20, 15, -1, 21, 6.0), bar(20, 15, 14, 21, 11.0), bar(45, 25, 8, 21, 5.0)))
    stepped = next(d for d in f.drilled if len(d.holes) == 2)
    assert [round(h.diameter, 6) for h in stepped.holes] == [11.0, 6.0] and stepped.through
    blind = next(d for d in f.drilled if len(d.holes) == 1)
    assert not blind.through and blind.sink == 0.0
    assert f.recesses == () and f.breaks == ()


def test_a_hole_stepped_from_below_begins_below(tmp_path: Path) -> None:
    f = found(tmp_path, plate(bar(20, 15, -1, 21, 6.0), bar(20, 15, -1, 5, 11.0)))
    (d,) = f.drilled
    assert [round(h.diameter, 6) for h in d.holes] == [11.0, 6.0]
    assert d.holes[0].axis == pytest.approx((0.0, 0.0, -1.0))


def test_three_steps(tmp_path: Path) -> None:
    tools = (bar(30, 20, -1, 21, 6.0), bar(30, 20, 10, 21, 10.0), bar(30, 20, 16, 21, 16.0))
    (d,) = found(tmp_path, plate(*tools)).drilled
    assert [(round(h.diameter, 6), round(h.depth, 6)) for h in d.holes] == [
        (16.0, 4.0),
        (10.0, 6.0),
        (6.0, 10.0),
    ]


def test_a_countersink_has_its_diameter_and_angle(tmp_path: Path) -> None:
    sink = kernel.cone((20.0, 15.0, 20.0), (0.0, 0.0, -1.0), 6.0, 6.0)
    f = found(tmp_path, plate(bar(20, 15, -1, 21, 6.0), sink))
    (d,) = f.drilled
    assert d.sink == pytest.approx(12.0, abs=1e-6) and d.sink_angle == pytest.approx(
        math.radians(90), abs=1e-9
    )


# ---- recesses ------------------------------------------------------------------------------


def test_a_pocket_with_round_corners(tmp_path: Path) -> None:
    f = found(tmp_path, plate(kernel.extrude(rounded(10, 8, 50, 32, 4.0), 13.0, 21.0)))
    (r,) = f.recesses
    assert sizes(f) == [("pocket", True, False, 40.0, 24.0, 7.0)]
    assert r.opens == pytest.approx(Z) and r.corner == pytest.approx(4.0) and r.root == 0.0
    assert r.center == pytest.approx((30.0, 20.0, 13.0), abs=1e-9)
    assert len(r.walls) == 8 and len(r.floor) == 1


def test_a_sharp_pocket_from_below_with_an_island(tmp_path: Path) -> None:
    tool = kernel.cut(block(40.0, 24.0, 6.0, at=(10.0, 8.0, -1.0)), bar(30, 20, -2, 7, 8.0))
    (r,) = found(tmp_path, plate(tool)).recesses
    assert (r.kind, r.closed, r.corner) == ("pocket", True, 0.0)
    assert r.opens == pytest.approx((0.0, 0.0, -1.0)) and r.depth == pytest.approx(5.0)


def test_a_pocket_with_a_rounded_root(tmp_path: Path) -> None:
    tool = broken(
        block(40.0, 24.0, 20.0, at=(10.0, 8.0, 12.0)), lambda a, b: max(a[2], b[2]) < 13, radius=3.0
    )
    (r,) = found(tmp_path, plate(tool)).recesses
    assert r.kind == "pocket" and r.closed and r.root == pytest.approx(3.0)
    assert (r.length, r.width, r.depth) == pytest.approx((40.0, 24.0, 8.0))


def test_slots_closed_open_through_and_slanted(tmp_path: Path) -> None:
    closed = kernel.extrude(obround(15, 35, 30, 6.0), 12.0, 21.0)
    through = kernel.extrude(obround(15, 35, 10, 5.0), -1.0, 21.0)
    across = block(8.0, 60.0, 10.0, at=(46.0, -5.0, 15.0))
    f = found(tmp_path, plate(closed, through, across))
    assert sizes(f) == [
        ("slot", False, False, 40.0, 8.0, 5.0),
        ("slot", True, False, 26.0, 6.0, 8.0),
        ("slot", True, True, 25.0, 5.0, 20.0),
    ]
    tilted = read(tmp_path, turned(plate(closed), 0.5, shift=(100.0, 20.0, -30.0)))
    (r,) = find_features(tilted).recesses
    assert (r.kind, r.closed) == ("slot", True)
    assert (r.length, r.width, r.depth) == pytest.approx((26.0, 6.0, 8.0), abs=1e-6)
    assert r.opens == pytest.approx((0.0, -math.sin(0.5), math.cos(0.5)), abs=1e-9)


def test_a_slot_along_an_arc(tmp_path: Path) -> None:
    c, big, small = (30.0, 0.0), 28.0, 22.0

    def at(r: float, degrees: float) -> tuple[float, float]:
        a = math.radians(degrees)
        return (c[0] + r * math.cos(a), c[1] + r * math.sin(a))

    ends = (60.0, 120.0)
    outline = Profile(
        (
            Arc(at(big, ends[0]), at(big, ends[1]), c, True),
            Arc(at(big, ends[1]), at(small, ends[1]), at(25.0, ends[1]), True),
            Arc(at(small, ends[1]), at(small, ends[0]), c, False),
            Arc(at(small, ends[0]), at(big, ends[0]), at(25.0, ends[0]), True),
        )
    )
    (r,) = found(tmp_path, plate(kernel.extrude(Region(outline), 12.0, 21.0))).recesses
    assert (r.kind, r.closed, r.corner) == ("slot", True, pytest.approx(3.0))


def test_a_step_is_one_even_though_its_wall_has_a_floor_too(tmp_path: Path) -> None:
    f = found(tmp_path, plate(block(20.0, 60.0, 10.0, at=(-1.0, -5.0, 14.0))))
    assert sizes(f) == [("step", False, False, 40.0, 19.0, 6.0)]
    assert f.recesses[0].opens == pytest.approx(Z)


def test_a_window_is_a_pocket_through(tmp_path: Path) -> None:
    f = found(tmp_path, plate(kernel.extrude(rounded(10, 8, 50, 32, 4.0), -1.0, 21.0)))
    assert sizes(f) == [("pocket", True, True, 40.0, 24.0, 20.0)]
    assert f.recesses[0].corner == pytest.approx(4.0)


def test_the_outline_a_window_comes_out_by(tmp_path: Path) -> None:
    """Its exact lines and arcs, wherever the part stands; a blind pocket has none."""
    window = kernel.extrude(rounded(10.0, 10.0, 30.0, 24.0, 3.0), -1.0, 50.0)
    part = read(tmp_path, plate(window, kernel.extrude(rounded(40.0, 10.0, 50.0, 20.0, 2.0), 5.0, 50.0)))
    inside, blind = find_features(part).recesses
    if not inside.through:
        inside, blind = blind, inside
    for way, turn in (((0.0, 0.0, 1.0), 0.0), ((0.0, 0.0, -1.0), 0.6)):
        move = standing(way, turn=turn, shift=(7.0, -3.0, 11.0))
        out = opening(part, inside, move)
        assert out is not None and not out.holes
        assert out.area == pytest.approx(20 * 14 - (4 - math.pi) * 9, rel=1e-9)
        assert sorted(isinstance(c, Arc) for c in out.outer.curves) == [False] * 4 + [True] * 4
        x, y, _ = move.point((20.0, 17.0, 0.0))
        b = out.outer.box
        assert ((b[0] + b[2]) / 2, (b[1] + b[3]) / 2) == pytest.approx((x, y), abs=1e-6)
        assert opening(part, blind, move) is None


def test_bosses_and_round_holes_are_no_recesses(tmp_path: Path) -> None:
    boss = kernel.fuse(block(60.0, 40.0, 20.0), bar(30, 20, 19, 28, 12.0))
    boss = broken(boss, lambda a, b: a[2] == b[2] == 20.0 and math.dist(a, b) < 1e-6, radius=2.0)
    assert found(tmp_path, boss).recesses == ()
    assert found(tmp_path, plate(bar(20, 15, 8, 21, 6.0))).recesses == ()


# ---- broken edges --------------------------------------------------------------------------


def low(a: Vec3, b: Vec3) -> bool:
    return max(a[2], b[2]) < 1e-9


def test_chamfers_have_both_legs_and_the_faces_between(tmp_path: Path) -> None:
    body = block(60.0, 40.0, 20.0)
    part = read(
        tmp_path,
        broken(body, lambda a, b: low(a, b) and abs(a[1] - b[1]) < 1 and a[1] < 1, chamfer=(1.0, 0.4)),
    )
    (b,) = find_features(part).breaks
    assert (
        b.kind == "chamfer" and b.size == pytest.approx(0.4) and sorted(b.legs) == pytest.approx([0.4, 1.0])
    )
    leg = dict(zip(b.between, b.legs, strict=True))
    for face, value in leg.items():  # the leg on a face is what that face lost of its 40 or 20 mm
        box = part.faces[face].box
        lost = 40.0 - (box[4] - box[1]) if abs(part.faces[face].normal[2]) > 0.5 else 20.0 - (box[5] - box[2])
        assert value == pytest.approx(lost)


def test_rounds_have_their_radius(tmp_path: Path) -> None:
    f = found(tmp_path, broken(block(60.0, 40.0, 20.0), low, radius=0.8))
    rounds = [b for b in f.breaks if b.kind == "round"]
    assert len(rounds) >= 4 and all(b.size == pytest.approx(0.8) for b in rounds)


@pytest.mark.parametrize("shape", ["round bar", "pawl", "turned pawl"])
@pytest.mark.parametrize(("chamfer", "radius"), [((0.5, 0.5), 0.0), (None, 0.7)])
def test_the_seating_edge_is_found_all_round(
    tmp_path: Path, shape: str, chamfer: tuple[float, float] | None, radius: float
) -> None:
    body = (
        bar(0, 0, 0, 12, 30.0) if shape == "round bar" else kernel.extrude(Region(pawl_outline()), 0.0, 12.0)
    )
    made = broken(body, low, chamfer=chamfer, radius=radius)
    up = Z
    if shape == "turned pawl":
        made, up = turned(made, 0.7, shift=(500.0, 3.0, -40.0)), (0.0, -math.sin(0.7), math.cos(0.7))
    edges = seat_edges(read(tmp_path, made), up)
    kind, size = ("chamfer", 0.5) if chamfer else ("round", 0.7)
    assert edges and {e.kind for e in edges} == {kind}
    assert all(e.size == pytest.approx(size, abs=1e-6) for e in edges)
    assert sum(e.length for e in edges) > 0.8 * (
        math.pi * 29 if shape == "round bar" else pawl_outline().perimeter
    )


def test_a_sharp_edge_among_broken_ones_is_told_with_its_wall(tmp_path: Path) -> None:
    part = read(
        tmp_path,
        broken(block(60.0, 40.0, 20.0), lambda a, b: low(a, b) and a[0] + b[0] > 1, chamfer=(0.6, 0.6)),
    )
    edges = seat_edges(part, Z)
    sharp = [e for e in edges if e.kind == "sharp"]
    assert len(edges) == 4 and len(sharp) == 1 and sharp[0].size == 0.0
    assert part.faces[sharp[0].wall].normal == pytest.approx((-1.0, 0.0, 0.0))
    walls = [part.faces[e.wall].normal for e in edges if e.kind == "chamfer"]
    assert all(abs(n[2]) < 1e-9 for n in walls)
    assert all(e.kind == "sharp" for e in seat_edges(part, (0.0, 0.0, -1.0)))


def test_a_part_on_a_point_has_no_seating_edge(tmp_path: Path) -> None:
    assert seat_edges(read(tmp_path, shifted(kernel.ball((0.0, 0.0, 0.0), 5.0), (1.0, 2.0, 3.0))), Z) == ()


# ---- corners of an outline -----------------------------------------------------------------


def test_corners_of_a_rectangle_and_of_a_rounded_one() -> None:
    sharp = outline_corners(rectangle(0, 0, 30, 20))
    assert [(c.kind, c.radius) for c in sharp] == [("convex", 0.0)] * 4
    assert all(c.angle == pytest.approx(math.pi / 2) for c in sharp)
    soft = outline_corners(rounded(0, 0, 30, 20, 4.0).outer)
    assert [(c.kind, c.radius) for c in soft] == [("convex", pytest.approx(4.0))] * 4
    assert outline_corners(circle((1.0, 2.0), 5.0)) == ()


def test_inner_corners_are_concave_either_way_round() -> None:
    ell = Profile(
        (
            Line((0, 0), (30, 0)),
            Line((30, 0), (30, 10)),
            Line((30, 10), (14, 10)),
            Arc((14, 10), (10, 14), (14, 14), False),
            Line((10, 14), (10, 30)),
            Line((10, 30), (0, 30)),
            Line((0, 30), (0, 0)),
        )
    )
    for outline in (ell, ell.reversed()):
        inner = [c for c in outline_corners(outline) if c.kind == "concave"]
        assert [(c.radius, c.angle) for c in inner] == [(pytest.approx(4.0), pytest.approx(1.5 * math.pi))]
        assert inner[0].at == pytest.approx((14 - 4 / math.sqrt(2), 14 - 4 / math.sqrt(2)))
        assert len(outline_corners(outline)) == 6


def test_arcs_that_go_on_are_one_corner_with_the_tightest_radius() -> None:
    a, b = (10.0, 0.0), (10 + 4 * math.sin(0.6), 4 - 4 * math.cos(0.6))
    big = (10.0, 4.0)
    # the second arc is tangent to the first at b: its center lies on the line from b to the first's
    small = (b[0] + (big[0] - b[0]) * 0.5, b[1] + (big[1] - b[1]) * 0.5)
    c = (small[0] + 2.0, small[1])
    outline = Profile((Line((0, 0), a), Arc(a, b, big, True), Arc(b, c, small, True), Line(c, (c[0], 20)),
                       Line((c[0], 20), (0, 20)), Line((0, 20), (0, 0))))  # fmt: skip
    first = [k for k in outline_corners(outline) if k.radius > 0]
    assert [(k.kind, k.radius) for k in first] == [("convex", pytest.approx(2.0))]
    assert first[0].angle == pytest.approx(math.pi / 2)
