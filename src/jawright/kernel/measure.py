"""Validity, volume, area, boxes, faces and exact distances of a solid.

Lengths in mm, angles in rad.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache
from typing import Any

from OCP.Bnd import Bnd_Box
from OCP.BRep import BRep_Tool
from OCP.BRepAdaptor import BRepAdaptor_Curve, BRepAdaptor_Surface
from OCP.BRepBndLib import BRepBndLib
from OCP.BRepBuilderAPI import BRepBuilderAPI_MakeVertex
from OCP.BRepCheck import BRepCheck_Analyzer
from OCP.BRepClass import BRepClass_FaceClassifier
from OCP.BRepClass3d import BRepClass3d_SolidClassifier
from OCP.BRepExtrema import BRepExtrema_DistShapeShape
from OCP.BRepGProp import BRepGProp, BRepGProp_Face
from OCP.BRepTools import BRepTools
from OCP.ElSLib import ElSLib
from OCP.GeomAbs import GeomAbs_CurveType, GeomAbs_SurfaceType
from OCP.gp import gp_Dir, gp_Pnt, gp_Pnt2d, gp_Vec
from OCP.GProp import GProp_GProps
from OCP.TopAbs import TopAbs_State
from OCP.TopExp import TopExp
from OCP.TopoDS import TopoDS

from jawright.geometry.frame import Move, Vec3, dot, unit
from jawright.kernel.border import (
    EDGE,
    FACE,
    SHELL,
    Box,
    corners,
    location,
    loose_box,
    open_shape,
    parts,
    tight_box,
    vec,
)

_SIMPLE = (GeomAbs_CurveType.GeomAbs_Line, GeomAbs_CurveType.GeomAbs_Circle)
_KINDS = {
    GeomAbs_SurfaceType.GeomAbs_Plane: "plane",
    GeomAbs_SurfaceType.GeomAbs_Cylinder: "cylinder",
    GeomAbs_SurfaceType.GeomAbs_Cone: "cone",
    GeomAbs_SurfaceType.GeomAbs_Sphere: "sphere",
    GeomAbs_SurfaceType.GeomAbs_Torus: "torus",
}


@dataclass(frozen=True, slots=True)
class SolidFace:
    """One face as measured: see ``part.model.Face`` for the meaning of the fields."""

    index: int
    kind: str
    area: float
    center: Vec3
    normal: Vec3
    box: Box
    axis: Vec3 | None
    axis_point: Vec3 | None
    radius: float | None
    hollow: bool
    step_id: int | None = None


def is_valid(shape: bytes) -> bool:
    """True for exact, closed, self-consistent solids of positive volume."""
    return sound(open_shape(shape).shape)


def sound(shape: Any) -> bool:
    """Whether a shape is a valid closed solid with metal inside."""
    return whole(shape) and shape_volume(shape) > 0


def sound_bytes(data: bytes) -> bool:
    """As ``sound``, of a shape in its bytes, whose volume is then known."""
    return whole(open_shape(data).shape) and volume(data) > 0


def whole(shape: Any) -> bool:
    """Closed, exact and self-consistent; its sense is not looked at."""
    shells = parts(shape, SHELL)
    closed = bool(shells) and all(BRep_Tool.IsClosed_s(s) for s in shells)
    return closed and exact(shape) and BRepCheck_Analyzer(shape).IsValid()


def exact(shape: Any) -> bool:
    """False when a face has no surface: tessellated files load so, without a word."""
    return all(BRep_Tool.Surface_s(TopoDS.Face(f)) is not None for f in parts(shape, FACE))


def shape_volume(shape: Any) -> float:
    """Volume [mm³]."""
    mass = GProp_GProps()
    BRepGProp.VolumeProperties_s(shape, mass)
    return float(mass.Mass())


def shape_area(shape: Any) -> float:
    """Area of the surface [mm²]."""
    mass = GProp_GProps()
    BRepGProp.SurfaceProperties_s(shape, mass)
    return float(mass.Mass())


@lru_cache(maxsize=8)
def volume(shape: bytes) -> float:
    """Volume [mm³]."""
    return shape_volume(open_shape(shape).shape)


def area(shape: bytes) -> float:
    """Surface area [mm²]."""
    return shape_area(open_shape(shape).shape)


def centroid(shape: bytes) -> Vec3:
    """Center of volume [mm]."""
    mass = GProp_GProps()
    BRepGProp.VolumeProperties_s(open_shape(shape).shape, mass)
    return vec(mass.CentreOfMass())


def box(shape: bytes, move: Move | None = None) -> Box:
    """Smallest upright box ``x0 y0 z0 x1 y1 z1`` [mm], of the shape after ``move`` when given."""
    opened = open_shape(shape).shape
    return tight_box(opened if move is None else opened.Moved(location(move)))


def face_count(shape: bytes) -> int:
    """How many faces a shape has."""
    return len(open_shape(shape).faces)


def faces(shape: bytes, first: int = 0, end: int | None = None) -> tuple[SolidFace, ...]:
    """All faces, measured, in the order of their indices; or those from ``first`` on before ``end``."""
    return tuple(_face(i, f) for i, f in enumerate(open_shape(shape).faces[first:end], first))


def _face(index: int, shape: Any) -> SolidFace:
    face = TopoDS.Face(shape)
    surface = BRepAdaptor_Surface(face)
    kind = _KINDS.get(surface.GetType(), "other")
    u, v = _point_inside(face)
    at, out = gp_Pnt(), gp_Vec()
    BRepGProp_Face(face).Normal(u, v, at, out)
    center = vec(at)
    normal = unit(vec(out)) if out.Magnitude() > 0 else (0.0, 0.0, 0.0)
    axis = axis_point = None
    radius: float | None = None
    middle = center  # of curvature
    if kind in ("cylinder", "cone"):
        line = (surface.Cylinder() if kind == "cylinder" else surface.Cone()).Axis()
        axis, axis_point = vec(line.Direction()), vec(line.Location())
        along = dot(axis, _minus(center, axis_point))
        middle = _plus(axis_point, axis, along)
        radius = math.dist(center, middle)
    elif kind == "sphere":
        middle, radius = vec(surface.Sphere().Location()), float(surface.Sphere().Radius())
    elif kind == "torus":
        ring = surface.Torus()
        axis, axis_point = vec(ring.Axis().Direction()), vec(ring.Axis().Location())
        flat = _minus(center, axis_point)
        flat = _plus(flat, axis, -dot(axis, flat))
        middle = (
            _plus(axis_point, unit(flat), float(ring.MajorRadius())) if dot(flat, flat) > 0 else axis_point
        )
        radius = float(ring.MinorRadius())
    hollow = dot(normal, _minus(center, middle)) < 0
    return SolidFace(
        index, kind, shape_area(face), center, normal, face_box(face, kind), axis, axis_point, radius, hollow
    )


_ALONG = (gp_Dir(1, 0, 0), gp_Dir(0, 1, 0), gp_Dir(0, 0, 1))
_NEAR = 1e-7


def face_box(face: Any, kind: str) -> Box:
    """Smallest upright box of a face: that of its edges and of what bulges out between them.

    Of a face made of straight lines nothing does, as a coordinate does not turn back along a line. Of a
    sphere or a torus it is the points whose normal lies along an axis, where they are on the face.
    """
    bulging: list[Vec3] | None = []
    surface: Any = None
    if kind == "sphere":
        surface = BRepAdaptor_Surface(face).Sphere()
        bulging = _sphere_ends(surface)
    elif kind == "torus":
        surface = BRepAdaptor_Surface(face).Torus()
        bulging = _torus_ends(surface)
    elif kind == "other":
        bulging = None
    bound = Bnd_Box()
    for edge in parts(face, EDGE):
        drawn = TopoDS.Edge(edge)
        if BRep_Tool.Degenerated_s(drawn):  # the tip of a cone has a place, but no curve
            bound.Add(BRep_Tool.Pnt_s(TopExp.FirstVertex_s(drawn)))
        elif BRepAdaptor_Curve(drawn).GetType() in _SIMPLE:
            BRepBndLib.Add_s(edge, bound, False)
        else:
            BRepBndLib.AddOptimal_s(edge, bound, False, False)
    if bulging is None or bound.IsVoid():
        return tight_box(face)
    a = corners(bound)
    for p in bulging:
        if all(a[k] - _NEAR <= p[k] <= a[k + 3] + _NEAR for k in range(3)):
            continue
        if _covers(face, *ElSLib.Parameters_s(surface, gp_Pnt(*p))):
            bound.Add(gp_Pnt(*p))
    return corners(bound)


def _covers(face: Any, u: float, v: float) -> bool:
    """Whether a place on a ball or ring, in turns that may start elsewhere, is on a face of it."""
    u0, u1, v0, v1 = BRepTools.UVBounds_s(face)
    turn = 2.0 * math.pi
    u, v = u0 - _NEAR + (u - u0 + _NEAR) % turn, v0 - _NEAR + (v - v0 + _NEAR) % turn
    if u > u1 + _NEAR or v > v1 + _NEAR:
        return False
    return bool(BRepClass_FaceClassifier(face, gp_Pnt2d(u, v), 1e-9).State() != TopAbs_State.TopAbs_OUT)


def _sphere_ends(ball: Any) -> list[Vec3]:
    center, r = vec(ball.Location()), float(ball.Radius())
    return [_plus(center, vec(d), sign * r) for d in _ALONG for sign in (1.0, -1.0)]


def _torus_ends(ring: Any) -> list[Vec3]:
    """Where the normal of a torus lies along X, Y or Z.

    Along its own axis it does so on a circle: an edge of the face that crosses it reaches as far, and where
    none does the circle is on the face wholly or not at all, so that one place of it tells.
    """
    axis, center = vec(ring.Axis().Direction()), vec(ring.Axis().Location())
    large, small = float(ring.MajorRadius()), float(ring.MinorRadius())
    out: list[Vec3] = []
    for d in (vec(q) for q in _ALONG):
        flat = _plus(d, axis, -dot(d, axis))
        out_of = unit(flat) if dot(flat, flat) > 1e-12 else vec(ring.XAxis().Direction())
        for side in (large, -large):
            middle = _plus(center, out_of, side)
            out += [_plus(middle, d, small), _plus(middle, d, -small)]
    return out


def _minus(a: Vec3, b: Vec3) -> Vec3:
    return (a[0] - b[0], a[1] - b[1], a[2] - b[2])


def _plus(a: Vec3, b: Vec3, t: float) -> Vec3:
    return (a[0] + t * b[0], a[1] + t * b[1], a[2] + t * b[2])


def _point_inside(face: Any) -> tuple[float, float]:
    """Parameters of a point well inside the face: the middle when it is there, else the nearest to it."""
    u0, u1, v0, v1 = BRepTools.UVBounds_s(face)
    for s, t in _shares():
        u, v = u0 + s * (u1 - u0), v0 + t * (v1 - v0)
        if BRepClass_FaceClassifier(face, gp_Pnt2d(u, v), 1e-9).State() == TopAbs_State.TopAbs_IN:
            return u, v
    return 0.5 * (u0 + u1), 0.5 * (v0 + v1)  # a sliver: its middle is as good as any


def face_places(shape: bytes, index: int, most: int) -> tuple[tuple[Vec3, Vec3], ...]:
    """At most ``most`` points spread over a face, each with the outward normal there; at least one."""
    face = TopoDS.Face(open_shape(shape).faces[index])
    u0, u1, v0, v1 = BRepTools.UVBounds_s(face)
    inner: list[tuple[float, float]] = []
    for n in (4, 8, 16):
        grid = [((i + 0.5) / n, (j + 0.5) / n) for i in range(n) for j in range(n)]
        places = [(u0 + s * (u1 - u0), v0 + t * (v1 - v0)) for s, t in grid]
        inner = [
            (u, v)
            for u, v in places
            if BRepClass_FaceClassifier(face, gp_Pnt2d(u, v), 1e-9).State() == TopAbs_State.TopAbs_IN
        ]
        if 2 * len(inner) >= most:
            break
    step = max(1, math.ceil(len(inner) / most))
    out = []
    for u, v in inner[::step] or [_point_inside(face)]:
        at, normal = gp_Pnt(), gp_Vec()
        BRepGProp_Face(face).Normal(u, v, at, normal)
        if normal.Magnitude() > 0:
            out.append((vec(at), unit(vec(normal))))
    return tuple(out)


@lru_cache(maxsize=1)
def _shares() -> tuple[tuple[float, float], ...]:
    """Places on the unit square to try: ever finer grids, each from its middle outward."""
    tries = [(0.5, 0.5)]
    for n in (4, 8, 16, 32):
        grid = [((i + 0.5) / n, (j + 0.5) / n) for i in range(n) for j in range(n)]
        tries += sorted(grid, key=lambda s: ((s[0] - 0.5) ** 2 + (s[1] - 0.5) ** 2, s))
    return tuple(tries)


def distance(shape: bytes, index: int, point: Vec3) -> tuple[float, Vec3]:
    """Exact distance [mm] of ``point`` to the face ``index``, and the nearest point on it."""
    at = BRepBuilderAPI_MakeVertex(gp_Pnt(*point)).Vertex()
    gap = BRepExtrema_DistShapeShape(at, open_shape(shape).faces[index])
    return float(gap.Value()), vec(gap.PointOnShape2(1))


def face_boxes(shape: bytes, move: Move) -> tuple[Box, ...]:
    """Smallest upright boxes of the faces after ``move`` [mm]."""
    place = location(move)
    return tuple(tight_box(f.Moved(place)) for f in open_shape(shape).faces)


@dataclass(frozen=True, slots=True)
class Round:
    """A cylindrical face: its ends along its axis from ``axis_point`` [mm], and its sweep [rad]."""

    index: int
    low: float
    high: float
    sweep: float


def rounds(shape: bytes) -> tuple[Round, ...]:
    """All cylindrical faces with their extent."""
    out = []
    for index, face in enumerate(open_shape(shape).faces):
        surface = BRepAdaptor_Surface(TopoDS.Face(face))
        if surface.GetType() == GeomAbs_SurfaceType.GeomAbs_Cylinder:
            u0, u1, v0, v1 = BRepTools.UVBounds_s(TopoDS.Face(face))
            out.append(Round(index, v0, v1, u1 - u0))
    return tuple(out)


@lru_cache(maxsize=4)
def _judge(shape: bytes) -> tuple[Any, Box]:
    """The kernel's judge of points, and a box that holds the whole shape."""
    whole = open_shape(shape).shape
    return BRepClass3d_SolidClassifier(whole), loose_box(whole)


def inside(shape: bytes, points: Sequence[Vec3]) -> tuple[bool, ...]:
    """Per point: whether it lies in the material."""
    judge, box = _judge(shape)
    out = []
    for p in points:
        if any(not box[k] <= p[k] <= box[k + 3] for k in range(3)):
            out.append(False)  # off the part altogether: the judge would look at every face for it
            continue
        judge.Perform(gp_Pnt(*p), 1e-7)
        out.append(judge.State() == TopAbs_State.TopAbs_IN)
    return tuple(out)
