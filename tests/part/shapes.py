"""Part files the tests write themselves."""

from __future__ import annotations

import math
from collections.abc import Callable
from pathlib import Path

from OCP.BRepAdaptor import BRepAdaptor_Curve
from OCP.BRepFilletAPI import BRepFilletAPI_MakeChamfer, BRepFilletAPI_MakeFillet
from OCP.gp import gp_Ax1, gp_Dir, gp_Pnt, gp_Trsf, gp_Vec
from OCP.IFSelect import IFSelect_ReturnStatus
from OCP.STEPCAFControl import STEPCAFControl_Writer
from OCP.STEPControl import STEPControl_StepModelType
from OCP.TCollection import TCollection_ExtendedString
from OCP.TDocStd import TDocStd_Document
from OCP.TopLoc import TopLoc_Location
from OCP.TopoDS import TopoDS
from OCP.XCAFDoc import XCAFDoc_DocumentTool

from jawright import kernel
from jawright.geometry.frame import Move, Vec3
from jawright.geometry.profile import Region, circle, rectangle
from jawright.kernel.border import EDGE, FACE, open_shape, pack, parts, vec
from samples import pawl_outline

NO_TURN = ((1.0, 0.0, 0.0), (0.0, 1.0, 0.0), (0.0, 0.0, 1.0))


def shifted(shape: bytes, by: Vec3) -> bytes:
    return kernel.moved(shape, Move("part", "part", NO_TURN, by))


def turned(shape: bytes, angle: float, *, shift: Vec3 = (0.0, 0.0, 0.0)) -> bytes:
    """Turned about X by ``angle`` [rad], then shifted."""
    c, s = math.cos(angle), math.sin(angle)
    return kernel.moved(shape, Move("part", "part", ((1.0, 0.0, 0.0), (0.0, c, -s), (0.0, s, c)), shift))


def block(x: float, y: float, z: float, *, at: Vec3 = (0.0, 0.0, 0.0)) -> bytes:
    """Upright block of the size given, one corner at ``at`` [mm]."""
    return kernel.extrude(Region(rectangle(at[0], at[1], at[0] + x, at[1] + y)), at[2], at[2] + z)


def pawl(*, hole: bool = True) -> bytes:
    """The pawl of the samples, 12 thick, with its pivot bore."""
    holes = (circle((13.0, -8.0), 5.0).reversed(),) if hole else ()
    return kernel.extrude(Region(pawl_outline(), holes), 0.0, 12.0)


def written(folder: Path, name: str, *shapes: bytes) -> Path:
    """A STEP file of the shapes."""
    path = folder / name
    kernel.write_step({f"body {i}": s for i, s in enumerate(shapes, 1)}, path)
    return path


def rewritten(path: Path, *changes: tuple[str, str]) -> Path:
    """A file with words of it changed."""
    text = path.read_text(encoding="ascii")
    for old, new in changes:
        assert old in text, old
        text = text.replace(old, new)
    path.write_text(text, encoding="ascii")
    return path


def properties(volume: float, area: float, product: str) -> str:
    """The statements with which a STEP file says its own volume and area."""
    return (
        f"#900001=PROPERTY_DEFINITION('geometric validation property','',{product});"
        "#900002=PROPERTY_DEFINITION_REPRESENTATION(#900001,#900003);"
        "#900003=REPRESENTATION('',(#900004,#900005),$);"
        f"#900004=MEASURE_REPRESENTATION_ITEM('volume measure',VOLUME_MEASURE({volume}),#900006);"
        f"#900005=MEASURE_REPRESENTATION_ITEM('surface area measure',AREA_MEASURE({area}),#900007);"
        "#900006=DERIVED_UNIT((#900008));#900007=DERIVED_UNIT((#900009));"
        "#900008=DERIVED_UNIT_ELEMENT(#900010,3.);#900009=DERIVED_UNIT_ELEMENT(#900010,2.);"
        "#900010=(LENGTH_UNIT()NAMED_UNIT(*)SI_UNIT(.MILLI.,.METRE.));\nENDSEC;\nEND-ISO"
    )


def with_properties(folder: Path, volume: float, area: float) -> Path:
    """A block 10 × 20 × 30 that says it has this volume [mm³] and area [mm²]."""
    path = written(folder, "stated.step", block(10.0, 20.0, 30.0))
    text = path.read_text(encoding="ascii")
    number = next(
        line.split("=")[0].strip() for line in text.splitlines() if "= PRODUCT_DEFINITION_SHAPE(" in line
    )
    return rewritten(path, ("ENDSEC;\nEND-ISO", properties(volume, area, number)))


def broken(
    shape: bytes,
    which: Callable[[Vec3, Vec3], bool],
    *,
    chamfer: tuple[float, float] | None = None,
    radius: float = 0.0,
) -> bytes:
    """The shape with the edges between ``which`` two ends chamfered (legs) or rounded [mm]."""
    opened = open_shape(shape).shape
    maker = BRepFilletAPI_MakeChamfer(opened) if chamfer else BRepFilletAPI_MakeFillet(opened)
    for edge in parts(opened, EDGE):
        curve = BRepAdaptor_Curve(TopoDS.Edge(edge))
        ends = [vec(curve.Value(t)) for t in (curve.FirstParameter(), curve.LastParameter())]
        if not which(ends[0], ends[1]):
            continue
        if chamfer:
            owner = next(f for f in parts(opened, FACE) if any(e.IsSame(edge) for e in parts(f, EDGE)))
            maker.Add(chamfer[0], chamfer[1], TopoDS.Edge(edge), TopoDS.Face(owner))
        else:
            maker.Add(radius, TopoDS.Edge(edge))
    return pack(maker.Shape())


def assembly(
    path: Path, *parts: bytes, turn: float = 0.0, shift: tuple[float, float, float] = (0, 0, 0)
) -> Path:
    """A product of the parts, two levels deep, placed by a turn about Z and a shift."""
    document = TDocStd_Document(TCollection_ExtendedString("XmlXCAF"))
    tool = XCAFDoc_DocumentTool.ShapeTool_s(document.Main())
    place = gp_Trsf()
    place.SetRotation(gp_Ax1(gp_Pnt(0, 0, 0), gp_Dir(0, 0, 1)), turn)
    place.SetTranslationPart(gp_Vec(*shift))
    top, middle = tool.NewShape(), tool.NewShape()
    for data in parts:
        own = tool.AddShape(open_shape(data).shape, False)
        tool.AddComponent(middle, own, TopLoc_Location())
    tool.AddComponent(top, middle, TopLoc_Location(place))
    tool.UpdateAssemblies()
    writer = STEPCAFControl_Writer()
    writer.Transfer(document, STEPControl_StepModelType.STEPControl_AsIs)
    assert writer.Write(str(path)) == IFSelect_ReturnStatus.IFSelect_RetDone
    return path
