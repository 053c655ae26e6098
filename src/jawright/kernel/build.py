"""Solids made and combined: prisms, round bars, cuts, unions, moves."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import Any

import OCP.collections as occ
from OCP.BRep import BRep_Builder, BRep_Tool
from OCP.BRepAlgoAPI import BRepAlgoAPI_Cut, BRepAlgoAPI_Fuse
from OCP.BRepBuilderAPI import (
    BRepBuilderAPI_MakeEdge,
    BRepBuilderAPI_MakeFace,
    BRepBuilderAPI_MakeVertex,
    BRepBuilderAPI_MakeWire,
)
from OCP.BRepPrimAPI import (
    BRepPrimAPI_MakeCone,
    BRepPrimAPI_MakeCylinder,
    BRepPrimAPI_MakePrism,
    BRepPrimAPI_MakeSphere,
    BRepPrimAPI_MakeTorus,
)
from OCP.GC import GC_MakeArcOfCircle
from OCP.gp import gp_Ax2, gp_Circ, gp_Dir, gp_Pln, gp_Pnt, gp_Vec
from OCP.ShapeUpgrade import ShapeUpgrade_UnifySameDomain
from OCP.TopoDS import TopoDS_Compound

from jawright.errors import JawrightError
from jawright.geometry.curve import Curve, Line
from jawright.geometry.frame import Move, Vec3
from jawright.geometry.profile import Profile, Region
from jawright.kernel.border import SOLID, location, open_shape, pack, parts
from jawright.kernel.measure import sound


def moved(shape: bytes, move: Move) -> bytes:
    """The shape after a rigid move."""
    return pack(open_shape(shape).shape.Moved(location(move)))


def solids(shape: bytes) -> tuple[bytes, ...]:
    """The solids a shape is made of."""
    return tuple(pack(s) for s in parts(open_shape(shape).shape, SOLID))


def extrude(region: Region, z0: float, z1: float) -> bytes:
    """Prism of a plan region between two heights [mm]. Raises ``geometry`` when it is no solid."""
    face = plane_face(region, z0)
    prism = BRepPrimAPI_MakePrism(face, gp_Vec(0.0, 0.0, z1 - z0)).Shape()
    return _checked(prism, "an outline could not be made into a solid")


def plane_face(region: Region, z: float) -> Any:
    """The level face of a region at height ``z`` [mm]."""
    plane = gp_Pln(gp_Pnt(0.0, 0.0, z), gp_Dir(0.0, 0.0, 1.0))
    maker = BRepBuilderAPI_MakeFace(plane, _wire(region.outer, z), True)
    for hole in region.holes:
        maker.Add(_wire(hole, z))
    return maker.Face()


def _wire(profile: Profile, z: float) -> Any:
    corners = [BRepBuilderAPI_MakeVertex(gp_Pnt(*c.start, z)).Vertex() for c in profile.curves]
    maker = BRepBuilderAPI_MakeWire()
    for curve, a, b in zip(profile.curves, corners, corners[1:] + corners[:1], strict=True):
        maker.Add(_edge(curve, a, b, z))
    if not maker.IsDone():
        raise JawrightError("geometry", what="an outline does not close in the solid kernel")
    return maker.Wire()


def _edge(curve: Curve, a: Any, b: Any, z: float) -> Any:
    if isinstance(curve, Line):
        maker = BRepBuilderAPI_MakeEdge(a, b)
    else:
        up = gp_Dir(0.0, 0.0, 1.0 if curve.ccw else -1.0)
        ring = gp_Circ(gp_Ax2(gp_Pnt(*curve.center, z), up), curve.radius)
        maker = BRepBuilderAPI_MakeEdge(ring, a, b)
        if not maker.IsDone():  # an end off the circle by rounding: the circle through three points
            middle = gp_Pnt(*curve.at(0.5), z)
            arc = GC_MakeArcOfCircle(BRep_Tool.Pnt_s(a), middle, BRep_Tool.Pnt_s(b))
            maker = BRepBuilderAPI_MakeEdge(arc.Value(), a, b)
    if not maker.IsDone():
        raise JawrightError(
            "geometry",
            what="a curve of an outline cannot be made into an edge",
            where=f"at ({curve.start[0]:.4f}, {curve.start[1]:.4f}) mm",
        )
    return maker.Edge()


def cylinder(base: Vec3, axis: Vec3, radius: float, height: float) -> bytes:
    """Round bar of ``radius`` and ``height`` [mm] from ``base`` along ``axis``."""
    place = gp_Ax2(gp_Pnt(*base), gp_Dir(*axis))
    return pack(BRepPrimAPI_MakeCylinder(place, radius, height).Shape())


def torus(center: Vec3, axis: Vec3, major: float, minor: float) -> bytes:
    """Ring of radii ``major`` and ``minor`` [mm] about ``axis``."""
    return pack(BRepPrimAPI_MakeTorus(gp_Ax2(gp_Pnt(*center), gp_Dir(*axis)), major, minor).Shape())


def cone(base: Vec3, axis: Vec3, radius: float, height: float) -> bytes:
    """Pointed cone from its round base of ``radius`` to its tip ``height`` away along ``axis`` [mm]."""
    place = gp_Ax2(gp_Pnt(*base), gp_Dir(*axis))
    return pack(BRepPrimAPI_MakeCone(place, radius, 0.0, height).Shape())


def ball(center: Vec3, radius: float) -> bytes:
    """Ball of ``radius`` [mm]."""
    return pack(BRepPrimAPI_MakeSphere(gp_Pnt(*center), radius).Shape())


def cut(body: bytes, *tools: bytes) -> bytes:
    """``body`` without what the ``tools`` take. Raises ``geometry`` when nothing valid is left."""
    if not tools:
        return body
    result = _combine(BRepAlgoAPI_Cut(), [body], list(tools))
    return _checked(result, "taking metal away from a solid failed")


def fuse(*bodies: bytes) -> bytes:
    """One shape of all ``bodies``, with faces in one plane or on one cylinder joined."""
    first, rest = bodies[0], list(bodies[1:])
    result = _combine(BRepAlgoAPI_Fuse(), [first], rest) if rest else open_shape(first).shape
    joined = ShapeUpgrade_UnifySameDomain(result, True, True, False)
    joined.Build()
    return _checked(joined.Shape(), "joining solids failed")


def _combine(operation: Any, bodies: Sequence[bytes], tools: Sequence[bytes]) -> Any:
    for put, group in ((operation.SetArguments, bodies), (operation.SetTools, tools)):
        shapes = occ.List_TopoDS_Shape()
        for data in group:
            shapes.Append(open_shape(data).shape)
        put(shapes)
    operation.SetNonDestructive(True)  # opened shapes are shared between calls
    operation.Build()
    if not operation.IsDone():
        raise JawrightError("geometry", what="the solid kernel could not combine two solids")
    return operation.Shape()


def _checked(shape: Any, what: str) -> bytes:
    found = parts(shape, SOLID)
    if not found or not all(sound(s) for s in found):
        raise JawrightError("geometry", what=what)
    return pack(found[0] if len(found) == 1 else _compound(found))


def _compound(shapes: Iterable[Any]) -> Any:
    whole, builder = TopoDS_Compound(), BRep_Builder()
    builder.MakeCompound(whole)
    for s in shapes:
        builder.Add(whole, s)
    return whole
