"""How shapes cross the kernel's border: as bytes, opened once and shared between calls.

Lengths in mm, angles in rad.
"""

from __future__ import annotations

import io
from functools import lru_cache
from typing import Any

import OCP.collections as occ
from OCP.BinTools import BinTools, BinTools_FormatVersion
from OCP.Bnd import Bnd_Box
from OCP.BRepBndLib import BRepBndLib
from OCP.gp import gp_Trsf
from OCP.Message import Message, Message_PrinterOStream
from OCP.TopAbs import TopAbs_ShapeEnum
from OCP.TopExp import TopExp
from OCP.TopLoc import TopLoc_Location
from OCP.TopoDS import TopoDS_Shape

from jawright.geometry.curve import Point
from jawright.geometry.frame import Move, Vec3

Box = tuple[float, float, float, float, float, float]

FACE, EDGE, WIRE = TopAbs_ShapeEnum.TopAbs_FACE, TopAbs_ShapeEnum.TopAbs_EDGE, TopAbs_ShapeEnum.TopAbs_WIRE
SHELL, SOLID = TopAbs_ShapeEnum.TopAbs_SHELL, TopAbs_ShapeEnum.TopAbs_SOLID

Message.DefaultMessenger_s().RemovePrinters(Message_PrinterOStream.get_type_descriptor_s())  # else it prints


class Opened:
    """A shape taken out of its bytes, with its faces in the order of their indices."""

    def __init__(self, shape: Any) -> None:
        self.shape = shape
        self.faces = parts(shape, FACE)
        self._boxes: list[Box] | None = None

    @property
    def boxes(self) -> list[Box]:
        """Roomy boxes of the faces."""
        if self._boxes is None:
            self._boxes = [loose_box(f) for f in self.faces]
        return self._boxes


def pack(shape: Any) -> bytes:
    """A shape of the kernel as bytes."""
    out = io.BytesIO()
    version = BinTools_FormatVersion.BinTools_FormatVersion_VERSION_4
    BinTools.Write_s(shape, out, False, False, version)
    return out.getvalue()


@lru_cache(maxsize=16)
def open_shape(data: bytes) -> Opened:
    """The shape that bytes from ``pack`` hold."""
    shape = TopoDS_Shape()
    BinTools.Read_s(shape, io.BytesIO(data))
    return Opened(shape)


def parts(shape: Any, kind: Any) -> list[Any]:
    """The different pieces of one kind in a shape, in the kernel's own order."""
    found = occ.IndexedMap_TopoDS_Shape_TopTools_ShapeMapHasher()
    TopExp.MapShapes_s(shape, kind, found)
    return [found.FindKey(i) for i in range(1, found.Extent() + 1)]


def location(move: Move) -> TopLoc_Location:
    """A move as the kernel has it."""
    turn = gp_Trsf()
    r, t = move.rotation, move.shift
    turn.SetValues(*(v for row, s in zip(r, t, strict=True) for v in (*row, s)))
    return TopLoc_Location(turn)


def tight_box(shape: Any) -> Box:
    """Box that touches the shape [mm]."""
    bound = Bnd_Box()
    BRepBndLib.AddOptimal_s(shape, bound, False, False)
    return corners(bound)


def loose_box(shape: Any) -> Box:
    """Box that holds the shape, fast, with some air [mm]."""
    bound = Bnd_Box()
    BRepBndLib.Add_s(shape, bound, False)
    return corners(bound)


def corners(bound: Any) -> Box:
    """Lowest and highest corner of a box of the kernel [mm]."""
    bound.SetGap(0.0)
    a, b = bound.CornerMin(), bound.CornerMax()
    return (a.X(), a.Y(), a.Z(), b.X(), b.Y(), b.Z())


def vec(p: Any) -> Vec3:
    """The three numbers of a point or direction of the kernel."""
    return (float(p.X()), float(p.Y()), float(p.Z()))


def flat(p: Any) -> Point:
    """Plan coordinates of a kernel point [mm]."""
    return (float(p.X()), float(p.Y()))
