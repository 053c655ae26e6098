"""Edges between the faces of a solid: where they run, how sharply they turn, and to which side.

Lengths in mm, angles in rad.
"""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import OCP.collections as occ
from OCP.BRep import BRep_Tool
from OCP.BRepAdaptor import BRepAdaptor_Curve, BRepAdaptor_Curve2d
from OCP.BRepGProp import BRepGProp_Face
from OCP.BRepTools import BRepTools
from OCP.GCPnts import GCPnts_AbscissaPoint
from OCP.GeomAbs import GeomAbs_CurveType
from OCP.gp import gp_Dir, gp_Lin, gp_Pnt, gp_Vec
from OCP.IntCurvesFace import IntCurvesFace_ShapeIntersector
from OCP.TopAbs import TopAbs_Orientation
from OCP.TopExp import TopExp, TopExp_Explorer
from OCP.TopoDS import TopoDS

from jawright.geometry.frame import Vec3, cross, dot, unit
from jawright.kernel.border import EDGE, WIRE, Opened, open_shape, vec

SPREAD = (0.0, 0.125, 0.25, 0.375, 0.5, 0.625, 0.75, 0.875, 1.0)
FAR = 1e6  # [mm] longer than any part
ROUND_STEP = math.radians(15.0)  # between two points of a round edge of a rim
CURVE_POINTS = 24  # of any other curved edge of a rim
_LINE = GeomAbs_CurveType.GeomAbs_Line
_CIRCLE = GeomAbs_CurveType.GeomAbs_Circle


@dataclass(frozen=True, slots=True)
class SolidEdge:
    """An edge as one face sees it, and the face on its other side.

    ``turn`` is the angle [rad] between the outward normals at its middle: positive where the edge
    stands out, negative in an inner corner, 0 where the faces run into one another. ``loop`` counts
    the face's own boundaries, 0 the outer one. ``points`` run along it, with the face to the left.
    """

    face: int
    other: int
    loop: int
    kind: str  # "line", "circle" or "other"
    length: float  # [mm]
    turn: float
    points: tuple[Vec3, ...]


def edges(shape: bytes) -> tuple[SolidEdge, ...]:
    """All edges, once for each of their two faces, by face and in the order of the boundaries.

    Seams, where a face meets itself, and edges of no length are left out.
    """
    opened = open_shape(shape)
    walked = [(i, *w) for i, f in enumerate(opened.faces) for w in _walk(f)]
    known = occ.IndexedMap_TopoDS_Shape_TopTools_ShapeMapHasher()
    TopExp.MapShapes_s(opened.shape, EDGE, known)
    sides: dict[int, list[int]] = defaultdict(list)
    for i, _, edge in walked:
        sides[known.FindIndex(edge)].append(i)
    out = []
    for i, loop, edge in walked:
        others = [j for j in sides[known.FindIndex(edge)] if j != i]
        if len(others) == 1:
            out.append(_edge(opened, i, others[0], loop, edge))
    return tuple(out)


def rim(shape: bytes, index: int) -> tuple[Vec3, ...]:
    """Points along all edges of a face [mm], seams too: ends of straight ones, 15° apart on round ones."""
    out: list[Vec3] = []
    for _, edge in _walk(open_shape(shape).faces[index]):
        curve = BRepAdaptor_Curve(edge)
        a, b = curve.FirstParameter(), curve.LastParameter()
        kind = curve.GetType()
        n = 1 if kind == _LINE else CURVE_POINTS
        if kind == _CIRCLE:
            n = max(1, math.ceil((b - a) / ROUND_STEP - 1e-9))
        out += [vec(curve.Value(a + (b - a) * k / n)) for k in range(n + 1)]
    return tuple(out)


def _walk(face: Any) -> list[tuple[int, Any]]:
    """Number of the boundary and edge, for all edges of a face that have a length."""
    outer = BRepTools.OuterWire_s(TopoDS.Face(face))
    wires, found = TopExp_Explorer(face, WIRE), []
    count = 0
    while wires.More():
        wire = wires.Current()
        wires.Next()
        loop = 0
        if not wire.IsSame(outer):
            count += 1
            loop = count
        walk = TopExp_Explorer(wire, EDGE)
        while walk.More():
            edge = TopoDS.Edge(walk.Current())
            walk.Next()
            if not BRep_Tool.Degenerated_s(edge):
                found.append((loop, edge))
    return found


def _edge(opened: Opened, face: int, other: int, loop: int, edge: Any) -> SolidEdge:
    curve = BRepAdaptor_Curve(edge)
    a, b = curve.FirstParameter(), curve.LastParameter()
    back = edge.Orientation() == TopAbs_Orientation.TopAbs_REVERSED
    points = [vec(curve.Value(a + (b - a) * s)) for s in SPREAD]
    at, along = gp_Pnt(), gp_Vec()
    curve.D1(0.5 * (a + b), at, along)
    travel = vec(along)
    if back:
        points.reverse()
        travel = (-travel[0], -travel[1], -travel[2])
    kind = curve.GetType()
    return SolidEdge(
        face=face,
        other=other,
        loop=loop,
        kind="line" if kind == _LINE else "circle" if kind == _CIRCLE else "other",
        length=float(GCPnts_AbscissaPoint.Length_s(curve)),
        turn=_turn(opened.faces[face], opened.faces[other], edge, travel),
        points=tuple(points),
    )


def _turn(face: Any, other: Any, edge: Any, travel: Vec3) -> float:
    """Signed angle between the outward normals at the middle of an edge that has ``face`` to its left."""
    n, m = _normal(face, edge), _normal(other, edge)
    if n is None or m is None or dot(travel, travel) == 0.0:
        return 0.0
    inward = cross(n, unit(travel))
    bend = math.atan2(math.hypot(*cross(n, m)), dot(n, m))
    return bend if dot(inward, m) < 0 else -bend


def _normal(face: Any, edge: Any) -> Vec3 | None:
    """Outward normal of a face at the middle of its edge; None where the surface has none."""
    here = TopoDS.Face(face)
    flat = BRepAdaptor_Curve2d(edge, here).Value(0.5 * sum(BRep_Tool.Range_s(edge, here)))
    at, out = gp_Pnt(), gp_Vec()
    BRepGProp_Face(here).Normal(flat.X(), flat.Y(), at, out)
    return unit(vec(out)) if out.Magnitude() > 0 else None


def open_to(shape: bytes, points: Sequence[Vec3], direction: Vec3) -> tuple[bool, ...]:
    """Per point: whether a ray from it along ``direction`` meets no face of the solid."""
    rays = IntCurvesFace_ShapeIntersector()
    rays.Load(open_shape(shape).shape, 1e-7)
    way = gp_Dir(*direction)
    out = []
    for p in points:
        rays.Perform(gp_Lin(gp_Pnt(*p), way), 0.0, FAR)
        out.append(rays.NbPnt() == 0)
    return tuple(out)
