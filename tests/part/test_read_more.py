"""Solids as they come from others: placed in assemblies, with help lines beside them, turned and far off."""

from __future__ import annotations

import math
from pathlib import Path

import pytest
from OCP.BRep import BRep_Builder
from OCP.BRepBuilderAPI import BRepBuilderAPI_MakeEdge, BRepBuilderAPI_MakeFace
from OCP.gp import gp_Dir, gp_Pln, gp_Pnt
from OCP.IFSelect import IFSelect_ReturnStatus
from OCP.STEPControl import STEPControl_StepModelType, STEPControl_Writer
from OCP.TopoDS import TopoDS_Compound

from jawright import kernel
from jawright.errors import JawrightError
from jawright.kernel.border import open_shape
from jawright.part.read import read_part
from part.shapes import assembly, block, pawl, written


def test_an_assembly_with_one_solid_is_that_solid_where_it_stands(tmp_path: Path) -> None:
    path = assembly(tmp_path / "a.step", pawl(), turn=math.radians(90), shift=(500.0, 0.0, 7.0))
    part = read_part(path)
    assert part.volume == pytest.approx(kernel.volume(pawl()), rel=1e-9)
    own, moved = kernel.box(pawl()), part.box
    expected = (500 - own[4], own[0], 7 + own[2], 500 - own[1], own[3], 7 + own[5])
    assert moved == pytest.approx(expected, abs=1e-6)
    assert all(f.step_id is not None for f in part.faces)


def test_an_assembly_of_several_asks_which_and_offers_to_join_what_touches(tmp_path: Path) -> None:
    touching = assembly(tmp_path / "t.step", block(10, 10, 10), block(10, 10, 10, at=(10, 0, 0)))
    with pytest.raises(JawrightError) as e:
        read_part(touching)
    assert e.value.code == "part-several-solids" and "body = 0" in e.value.todo
    whole = read_part(touching, body=0)
    assert whole.volume == pytest.approx(2000.0) and len(whole.faces) == 6
    apart = assembly(tmp_path / "p.step", block(10, 10, 10), block(10, 10, 10, at=(11, 0, 0)))
    with pytest.raises(JawrightError) as e:
        read_part(apart)
    assert e.value.code == "part-several-solids" and "body = 0" not in e.value.todo
    with pytest.raises(JawrightError, match="do not join"):
        read_part(apart, body=0)
    assert read_part(apart, body=2).box[0] in (pytest.approx(0.0), pytest.approx(11.0))


def test_annotation_lines_and_faces_beside_the_solid_are_left_out_of_every_measure(tmp_path: Path) -> None:
    plain = read_part(written(tmp_path, "plain.step", pawl()))
    everything, builder = TopoDS_Compound(), BRep_Builder()
    builder.MakeCompound(everything)
    builder.Add(everything, open_shape(pawl()).shape)
    for y in (100.0, 200.0):
        builder.Add(everything, BRepBuilderAPI_MakeEdge(gp_Pnt(-300, y, 5), gp_Pnt(300, y, 5)).Edge())
    flag = gp_Pln(gp_Pnt(0, 400, 0), gp_Dir(0, 1, 0))
    builder.Add(everything, BRepBuilderAPI_MakeFace(flag, -50, 50, -50, 50).Face())
    writer = STEPControl_Writer()
    writer.Transfer(everything, STEPControl_StepModelType.STEPControl_AsIs)
    assert writer.Write(str(tmp_path / "noted.step")) == IFSelect_ReturnStatus.IFSelect_RetDone
    part = read_part(tmp_path / "noted.step")
    assert (part.volume, part.area) == pytest.approx((plain.volume, plain.area))
    assert part.box == pytest.approx(plain.box, abs=1e-6) and len(part.faces) == len(plain.faces)
    told = " ".join(f.what for f in part.findings if f.level == "ignored")
    assert "1 faces and 2 edges beside the solid" in told
