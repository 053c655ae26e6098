"""Projected edges and triangle meshes of a solid, for drawings and pages."""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass
from itertools import pairwise
from typing import Any

import numpy as np
from numpy.typing import NDArray
from OCP.BRep import BRep_Tool
from OCP.BRepAdaptor import BRepAdaptor_Curve
from OCP.BRepBuilderAPI import BRepBuilderAPI_Copy
from OCP.BRepLib import BRepLib
from OCP.BRepMesh import BRepMesh_IncrementalMesh
from OCP.GCPnts import GCPnts_QuasiUniformDeflection
from OCP.GeomAbs import GeomAbs_CurveType
from OCP.gp import gp_Ax2, gp_Dir, gp_Pnt
from OCP.HLRAlgo import HLRAlgo_Projector
from OCP.HLRBRep import HLRBRep_Algo, HLRBRep_HLRToShape
from OCP.TopAbs import TopAbs_Orientation
from OCP.TopLoc import TopLoc_Location
from OCP.TopoDS import TopoDS

from jawright.geometry.curve import Arc, Curve, Line, Point
from jawright.geometry.frame import Move, Vec3
from jawright.kernel.border import EDGE, FACE, flat, location, open_shape, parts, vec

CHORD = 0.01
"""Largest distance of a drawn chord from its curve [mm]: a tenth of a drawn line's width."""


@dataclass(frozen=True, slots=True)
class View:
    """Edges seen and hidden when looking down Z, each a chain of lines and arcs in the plan [mm]."""

    visible: tuple[Curve, ...]
    hidden: tuple[Curve, ...]


def view(shape: bytes, move: Move) -> View:
    """Visible and hidden edges of the moved shape, looking down Z."""
    algorithm = HLRBRep_Algo()
    algorithm.Add(open_shape(shape).shape.Moved(location(move)), 0)
    algorithm.Projector(HLRAlgo_Projector(gp_Ax2(gp_Pnt(0, 0, 0), gp_Dir(0, 0, 1), gp_Dir(1, 0, 0))))
    algorithm.Update()
    algorithm.Hide()
    lines = HLRBRep_HLRToShape(algorithm)
    seen = (lines.VCompound(), lines.OutLineVCompound())
    unseen = (lines.HCompound(), lines.OutLineHCompound())
    visible = _once(_projected(seen), ())
    return View(visible, _once(_projected(unseen), visible))


def _once(curves: Iterable[Curve], drawn: Iterable[Curve]) -> tuple[Curve, ...]:
    """The curves without those that lie on an earlier one or on a drawn one."""
    known = {_same(c) for c in drawn}
    out = []
    for curve in curves:
        if _same(curve) not in known:
            known.add(_same(curve))
            out.append(curve)
    return tuple(out)


def _same(curve: Curve) -> tuple[Point, ...]:
    """Equal for curves that lie on one another: a hidden line under a visible one is not drawn."""
    a, b = sorted(_rounded(p) for p in (curve.start, curve.end))
    return (a, b, _rounded(curve.at(0.5)))


def _rounded(p: Point) -> Point:
    return (round(p[0], 4) + 0.0, round(p[1], 4) + 0.0)


def _projected(groups: Iterable[Any]) -> tuple[Curve, ...]:
    out: list[Curve] = []
    for group in groups:
        if group is None or group.IsNull():
            continue
        BRepLib.BuildCurves3d_s(group)
        for edge in parts(group, EDGE):
            out += _drawn(TopoDS.Edge(edge))
    return tuple(out)


def _drawn(edge: Any) -> list[Curve]:
    """An edge as lines and arcs; other curves as chords that deviate at most 0.01 mm."""
    adaptor = BRepAdaptor_Curve(edge)
    a, b = adaptor.FirstParameter(), adaptor.LastParameter()
    kind = adaptor.GetType()
    if kind == GeomAbs_CurveType.GeomAbs_Line:
        points = [flat(adaptor.Value(t)) for t in (a, b)]
        return [Line(*points)] if points[0] != points[1] else []
    if kind == GeomAbs_CurveType.GeomAbs_Circle:
        ring = adaptor.Circle()
        center, ccw = flat(ring.Location()), ring.Axis().Direction().Z() > 0
        count = 2 if b - a > 1.5 * math.pi else 1
        ends = [flat(adaptor.Value(a + (b - a) * i / count)) for i in range(count + 1)]
        return [Arc(p, q, center, ccw) for p, q in pairwise(ends) if p != q]
    net = GCPnts_QuasiUniformDeflection(adaptor, CHORD)
    ends = [flat(net.Value(i)) for i in range(1, net.NbPoints() + 1)]
    return [Line(p, q) for p, q in pairwise(ends) if p != q]


def mesh(shape: bytes, deflection: float) -> tuple[NDArray[np.float64], NDArray[np.int32], NDArray[np.int32]]:
    """Triangles that deviate at most ``deflection`` [mm]: points (n, 3), corners (m, 3), face index (m,)."""
    body = BRepBuilderAPI_Copy(open_shape(shape).shape).Shape()  # the mesh would stay in the shared shape
    BRepMesh_IncrementalMesh(body, deflection, False, 0.3, False)
    points: list[Vec3] = []
    corners: list[tuple[int, int, int]] = []
    owner: list[int] = []
    for index, shape_face in enumerate(parts(body, FACE)):
        place = TopLoc_Location()
        net = BRep_Tool.Triangulation_s(TopoDS.Face(shape_face), place)
        if net is None:
            continue
        first, turn = len(points), place.Transformation()
        points += [vec(net.Node(i).Transformed(turn)) for i in range(1, net.NbNodes() + 1)]
        flip = shape_face.Orientation() == TopAbs_Orientation.TopAbs_REVERSED
        for i in range(1, net.NbTriangles() + 1):
            a, b, c = net.Triangle(i).Get()
            corners.append((first + a - 1, first + (c if flip else b) - 1, first + (b if flip else c) - 1))
        owner += [index] * net.NbTriangles()
    return (
        np.array(points, dtype=np.float64).reshape(-1, 3),
        np.array(corners, dtype=np.int32).reshape(-1, 3),
        np.array(owner, dtype=np.int32),
    )
