"""Solids against closed forms: measures, cuts, sections, views, meshes, STEP out."""

from __future__ import annotations

import io
import math
import random
import re
from contextlib import redirect_stdout
from itertools import pairwise
from pathlib import Path

import numpy as np
import pytest
from OCP.BRep import BRep_Builder
from OCP.BRepAdaptor import BRepAdaptor_Curve
from OCP.BRepBuilderAPI import BRepBuilderAPI_Copy, BRepBuilderAPI_MakeEdge
from OCP.BRepPrimAPI import BRepPrimAPI_MakeSphere, BRepPrimAPI_MakeTorus
from OCP.gp import gp_Ax2, gp_Dir, gp_Pnt
from OCP.TopAbs import TopAbs_Orientation
from OCP.TopoDS import TopoDS, TopoDS_Wire

from jawright import kernel
from jawright.errors import JawrightError
from jawright.geometry.curve import Arc, Line
from jawright.geometry.frame import standing
from jawright.geometry.profile import Profile, Region, circle, rectangle
from jawright.geometry.query import signed_distance, simple
from jawright.kernel.border import EDGE, open_shape, pack, parts, vec
from part.shapes import block, pawl, shifted, turned
from samples import pawl_outline, rounded_pocket

UP = standing((0.0, 0.0, 1.0), turn=0.0, shift=(0.0, 0.0, 0.0))


def blob(seed: int) -> Region:
    """A star-shaped random outline of lines and arcs with a round hole."""
    rng = random.Random(seed)
    n = rng.randint(3, 9)
    corners = []
    for k in range(n):
        a, r = 2 * math.pi * (k + rng.uniform(-0.2, 0.2)) / n, rng.uniform(20.0, 40.0)
        corners.append((r * math.cos(a), r * math.sin(a)))
    curves: list[Line | Arc] = []
    for p, q in zip(corners, corners[1:] + corners[:1], strict=True):
        if rng.random() < 0.5:
            curves.append(Line(p, q))
            continue
        # an arc that bulges by up to a fifth of its chord, to either side
        h = rng.choice((-1, 1)) * rng.uniform(0.02, 0.2)
        chord = math.dist(p, q)
        away = (1 - 4 * h * h) / (8 * abs(h)) * chord * math.copysign(1.0, h)
        mx, my = 0.5 * (p[0] + q[0]), 0.5 * (p[1] + q[1])
        nx, ny = -(q[1] - p[1]) / chord, (q[0] - p[0]) / chord
        curves.append(Arc(p, q, (mx + away * nx, my + away * ny), h > 0))
    radius = rng.uniform(1.0, 5.0)
    outline = Profile(tuple(curves)).counterclockwise()
    room = float(-signed_distance(outline, [(0.0, 0.0)])[0])
    if not simple(outline) or room < radius + 0.5:
        return blob(seed + 1_000_003)  # an arc bulged across its neighbor or the hole: draw again
    return Region(outline, (circle((0.0, 0.0), radius).reversed(),))


def test_block_measures_are_exact() -> None:
    shape = block(30.0, 20.0, 10.0, at=(1e4, -2e4, 5.0))
    assert kernel.volume(shape) == pytest.approx(6000.0, rel=1e-9)
    assert kernel.area(shape) == pytest.approx(2 * (600 + 300 + 200), rel=1e-9)
    assert kernel.box(shape) == pytest.approx((1e4, -2e4, 5.0, 1e4 + 30, -2e4 + 20, 15.0), abs=1e-9)
    assert kernel.centroid(shape) == pytest.approx((1e4 + 15, -2e4 + 10, 10.0), rel=1e-12)
    assert kernel.is_valid(shape)


def test_faces_have_outward_normals_and_a_point_on_them() -> None:
    frame = kernel.extrude(Region(rectangle(0, 0, 40, 40), (rectangle(2, 2, 38, 38).reversed(),)), 0.0, 5.0)
    for face in kernel.faces(frame):
        gap, _ = kernel.distance(frame, face.index, face.center)
        assert gap < 1e-9
        outside = tuple(c + 0.01 * n for c, n in zip(face.center, face.normal, strict=True))
        within = tuple(c - 0.01 * n for c, n in zip(face.center, face.normal, strict=True))
        assert kernel.inside(frame, [outside, within]) == (False, True)


def ball_piece(start: float, end: float) -> bytes:
    """A piece of a ball of 5 mm about Z, cut by two planes through its axis and two across it."""
    place = gp_Ax2(gp_Pnt(0, 0, 0), gp_Dir(0, 0, 1), gp_Dir(math.cos(start), math.sin(start), 0))
    return pack(BRepPrimAPI_MakeSphere(place, 5.0, -0.6, 0.9, end - start).Solid())


def open_edges(shape: bytes, index: int) -> list[list[tuple[float, float, float]]]:
    """Points along the edges of a face."""
    out = []
    for e in parts(open_shape(shape).faces[index], EDGE):
        c = BRepAdaptor_Curve(TopoDS.Edge(e))
        a, b = c.FirstParameter(), c.LastParameter()
        out.append([vec(c.Value(a + (b - a) * k / 200)) for k in range(201)])
    return out


def ring_piece(start: float, end: float, low: float, high: float) -> bytes:
    """A piece of a ring of 10 and 3 mm about Z, from ``start`` to ``end`` round its axis [rad]."""
    place = gp_Ax2(gp_Pnt(0, 0, 0), gp_Dir(0, 0, 1), gp_Dir(math.cos(start), math.sin(start), 0))
    return pack(BRepPrimAPI_MakeTorus(place, 10.0, 3.0, low, high, end - start).Solid())


@pytest.mark.parametrize(
    ("shape", "kind", "box"),
    [
        (ring_piece(0.0, 2 * math.pi, 0.0, 2 * math.pi), "torus", (-13, -13, -3, 13, 13, 3)),
        (ring_piece(0.2, 1.2, 0.5, 1.0), "torus", None),  # nothing bulges out between its edges
        (ring_piece(-0.4, 0.5, -1.0, 1.0), "torus", (None, None, None, 13.0, None, None)),
        (ring_piece(2.0, 4.0, 1.0, 2.5), "torus", (None, None, None, None, None, 3.0)),
        (ball_piece(0.3, 5.9), "sphere", (-5.0, -5.0, None, None, 5.0, None)),
        (ball_piece(3.3, 4.5), "sphere", None),
    ],
)
def test_boxes_of_balls_and_rings_hold_every_point_and_no_more(
    shape: bytes, kind: str, box: tuple[float | None, ...] | None
) -> None:
    """Against closed forms where something bulges, and against a dense spread of points on the face."""
    for f in (f for f in kernel.faces(shape) if f.kind == kind):
        points = np.array([p for p, _ in kernel.face_places(shape, f.index, 4000)])
        edges = np.array([p for e in open_edges(shape, f.index) for p in e])
        low, high = np.vstack([points, edges]).min(axis=0), np.vstack([points, edges]).max(axis=0)
        own = np.array(f.box)
        assert (own[:3] <= low + 1e-6).all() and (own[3:] >= high - 1e-6).all()
        assert own == pytest.approx([*low, *high], abs=0.3)  # as far apart as the points are
        for k, v in enumerate(box or ()):
            if v is not None:
                assert own[k] == pytest.approx(v, abs=1e-6)


def test_bores_are_hollow_and_rounds_are_not() -> None:
    faces = kernel.faces(pawl())
    nose = [f for f in faces if f.kind == "cylinder" and not f.hollow]
    bore = [f for f in faces if f.kind == "cylinder" and f.hollow]
    assert [f.radius for f in nose] == pytest.approx([12.0])
    assert [f.radius for f in bore] == pytest.approx([5.0, 5.0])


@pytest.mark.parametrize("seed", range(40))
def test_section_of_a_prism_gives_its_outline_back(seed: int) -> None:
    region = blob(seed)
    shape = kernel.extrude(region, 0.0, 10.0)
    assert kernel.volume(shape) == pytest.approx(10.0 * region.area, rel=1e-9)
    cut = kernel.section(shape, UP, 3.7)
    (found,) = cut.regions
    assert found.area == pytest.approx(region.area, rel=1e-6)
    assert found.outer.perimeter == pytest.approx(region.outer.perimeter, rel=1e-6)
    assert cut.bound == 0.0
    assert len(found.outer.curves) == len(region.outer.curves)
    assert -1 not in cut.sources[0] and -1 not in cut.hole_sources[0][0]


@pytest.mark.long
@pytest.mark.parametrize("start", range(0, 3000, 250))
def test_many_sections(start: int) -> None:
    for seed in range(start, start + 250):
        region = blob(seed)
        shape = kernel.extrude(region, 0.0, 10.0)
        (found,) = kernel.section(shape, UP, 5.0).regions
        assert found.area == pytest.approx(region.area, rel=1e-6), seed
        assert found.outer.perimeter == pytest.approx(region.outer.perimeter, rel=1e-6), seed


def test_sources_name_the_face_behind_each_curve() -> None:
    shape = pawl()
    faces = kernel.faces(shape)
    cut = kernel.section(shape, UP, 6.0)
    for curve, source in zip(cut.regions[0].outer.curves, cut.sources[0], strict=True):
        face = faces[source]
        assert face.kind == ("cylinder" if isinstance(curve, Arc) else "plane")
        middle = (*curve.at(0.5), 6.0)
        assert kernel.distance(shape, source, middle)[0] < 1e-9


def test_slanted_bar_is_cut_into_an_ellipse_within_its_bound() -> None:
    """A round bar cut at 30° from its axis is an ellipse of half axes r and r/sin 30°: area 2 pi r²."""
    bar = kernel.cylinder((0.0, 0.0, -60.0), (math.cos(math.pi / 6), 0.0, math.sin(math.pi / 6)), 8.0, 120.0)
    cut = kernel.section(bar, UP, -30.0)
    (region,) = cut.regions
    assert 0 < cut.bound <= 1e-3
    assert abs(region.area - 2 * math.pi * 64.0) <= cut.bound * region.outer.perimeter
    center_x = 30.0 / math.tan(math.pi / 6)
    for c in region.outer.curves:
        for t in (0.0, 0.3, 0.7):
            x, y = c.at(t)
            off = math.hypot((x - center_x) / 16.0, y / 8.0) - 1.0
            assert abs(off) * 8.0 < cut.bound + 1e-6  # the distance is at most this


def test_ring_is_cut_level_into_circles_and_upright_into_ovals() -> None:
    ring = kernel.torus((0.0, 0.0, 0.0), (0.0, 0.0, 1.0), 10.0, 3.0)
    level = kernel.section(ring, UP, 1.0)
    (region,) = level.regions
    wide = math.sqrt(8.0)  # at z = 1 the tube is 2 sqrt(9 - 1) wide
    assert region.area == pytest.approx(math.pi * ((10 + wide) ** 2 - (10 - wide) ** 2), rel=1e-9)
    side = kernel.section(ring, standing((1.0, 0.0, 0.0), turn=0.0, shift=(0.0, 0.0, 0.0)), 8.0)
    # chord of the torus at x = 8, by quadrature of the tube's half height
    y = np.linspace(0.0, math.sqrt(169 - 64), 400_001)
    d = np.hypot(8.0, y) - 10.0
    half = 2 * 2 * np.trapezoid(np.sqrt(np.clip(9 - d * d, 0, None)), y)
    assert sum(r.area for r in side.regions) == pytest.approx(float(half), rel=1e-4)


def test_cut_takes_what_the_tool_covers() -> None:
    plate = block(40.0, 30.0, 10.0)
    drilled = kernel.cut(plate, kernel.cylinder((20.0, 15.0, -1.0), (0.0, 0.0, 1.0), 4.0, 12.0))
    assert kernel.volume(drilled) == pytest.approx(12000.0 - 160.0 * math.pi, rel=1e-9)
    with pytest.raises(JawrightError):
        kernel.cut(plate, block(60.0, 50.0, 30.0, at=(-10.0, -10.0, -10.0)))


def test_fuse_joins_faces_in_one_plane() -> None:
    two = kernel.fuse(block(10.0, 10.0, 10.0), block(10.0, 10.0, 10.0, at=(10.0, 0.0, 0.0)))
    assert kernel.volume(two) == pytest.approx(2000.0, rel=1e-9)
    assert len(kernel.faces(two)) == 6
    apart = kernel.fuse(block(1.0, 1.0, 1.0), block(1.0, 1.0, 1.0, at=(5.0, 0.0, 0.0)))
    assert len(kernel.solids(apart)) == 2


def test_combining_does_not_change_what_was_combined() -> None:
    a, b = block(10.0, 10.0, 10.0), block(4.0, 4.0, 20.0, at=(3.0, 3.0, -5.0))
    first = kernel.cut(a, b)
    assert kernel.cut(a, b) == first
    assert kernel.volume(a) == pytest.approx(1000.0, rel=1e-9)


def test_view_shows_visible_and_hidden_edges_once() -> None:
    blind = kernel.cut(
        block(40.0, 30.0, 10.0), kernel.cylinder((20.0, 15.0, -1.0), (0.0, 0.0, 1.0), 4.0, 5.0)
    )
    seen = kernel.view(blind, UP)
    assert sum(c.length for c in seen.visible) == pytest.approx(140.0, rel=1e-6)
    assert sum(c.length for c in seen.hidden) == pytest.approx(2 * math.pi * 4.0, rel=1e-6)
    assert all(isinstance(c, Arc) and c.radius == pytest.approx(4.0) for c in seen.hidden)


def test_mesh_is_closed_outward_and_close() -> None:
    shape = pawl()
    points, corners, owner = kernel.mesh(shape, 0.01)
    a, b, c = (points[corners[:, k]] for k in range(3))
    enclosed = float(np.einsum("ij,ij->", a, np.cross(b, c))) / 6
    assert enclosed == pytest.approx(kernel.volume(shape), rel=2e-4)
    assert set(owner.tolist()) == set(range(len(kernel.faces(shape))))
    assert kernel.mesh(shape, 0.01)[0].tobytes() == points.tobytes()


def test_step_text_is_the_same_every_time_and_names_nobody() -> None:
    shapes = {"fixed jaw": pawl(), "été 'x'": block(1.0, 2.0, 3.0)}
    first, second = (kernel.step_text(shapes, title="jaws.step") for _ in range(2))
    assert first == second
    head = first[: first.index(b"DATA;")].decode()
    assert "FILE_NAME('jaws.step','2000-01-01T00:00:00',(''),(''),'','','')" in head
    names = re.findall(rb"\bPRODUCT\('((?:[^']|'')*)'", first)
    assert names == [b"fixed jaw", b"\\X2\\00E9\\X0\\t\\X2\\00E9\\X0\\ ''x''"]
    assert b"CASCADE" not in first.upper()


def test_nothing_is_printed(capfd: pytest.CaptureFixture[str], tmp_path: Path) -> None:
    with redirect_stdout(io.StringIO()):
        kernel.write_step({"a": pawl()}, tmp_path / "a.step")
    out, err = capfd.readouterr()
    assert out == "" and err == ""


def test_write_step_writes_whole_or_not_at_all(tmp_path: Path) -> None:
    with pytest.raises(JawrightError) as e:
        kernel.write_step({"a": pawl()}, tmp_path / "missing" / "a.step")
    assert e.value.code == "file-write"
    kernel.write_step({"a": pawl()}, tmp_path / "a.step")
    assert [p.name for p in tmp_path.iterdir()] == ["a.step"]


def test_rounded_pocket_prism_volume() -> None:
    region = Region(rounded_pocket(0.0, 0.0, 30.0, 20.0, 4.0))
    expected = (600.0 - (4 - math.pi) * 16.0) * 7.0
    assert kernel.volume(kernel.extrude(region, 1.0, 8.0)) == pytest.approx(expected, rel=1e-9)


def test_turned_and_far_off_solids_are_cut_as_well() -> None:
    shape = turned(pawl(), 0.7, shift=(300.0, -1200.0, 800.0))
    up = (0.0, -math.sin(0.7), math.cos(0.7))
    move = standing(up, turn=0.0, shift=(0.0, 0.0, 0.0))
    low = kernel.box(shape, move)[2]
    (region,) = kernel.section(shape, move, low + 5.0).regions
    assert region.area == pytest.approx(Region(pawl_outline()).area - 25 * math.pi, rel=1e-9)
    assert kernel.volume(shifted(shape, (1.0, 2.0, 3.0))) == pytest.approx(kernel.volume(pawl()), rel=1e-9)


def test_lines_inside_the_metal_bound_nothing() -> None:
    """A border whose edges have metal on both sides, as cuts of some exported parts leave it, is no hole."""
    top = max(range(6), key=lambda k: kernel.faces(block(40.0, 30.0, 20.0))[k].center[2])
    face = BRepBuilderAPI_Copy(open_shape(block(40.0, 30.0, 20.0)).faces[top]).Shape()
    wire, builder = TopoDS_Wire(), BRep_Builder()
    builder.MakeWire(wire)
    inner = [(10.0, 5.0), (30.0, 5.0), (30.0, 25.0)]
    for p, q in pairwise(inner):
        edge = BRepBuilderAPI_MakeEdge(gp_Pnt(*p, 20.0), gp_Pnt(*q, 20.0)).Edge()
        builder.Add(wire, edge.Oriented(TopAbs_Orientation.TopAbs_INTERNAL))
    builder.Add(face, wire)
    seen = kernel.flat_face(pack(face), 0, UP)
    assert [r.area for r in seen.regions] == [pytest.approx(1200.0, rel=1e-9)]
    assert seen.regions[0].holes == ()
