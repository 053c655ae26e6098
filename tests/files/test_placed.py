"""A solid that its file places mirrored or scaled is refused; one that is turned and moved is read.

Operators and their axes: ISO 10303-42 (cartesian_transformation_operator_3d, base_axis), from memory.
"""

from __future__ import annotations

from pathlib import Path

import pytest

from jawright import kernel
from jawright.errors import JawrightError
from jawright.files.part21 import statements
from jawright.files.placed import changed
from jawright.geometry.profile import Region, rectangle
from jawright.part.read import read_part

NAMES = "'','',$"
X, Y, Z, DOWN, AT = "#9003", "#9004", "#9005", "#9006", "#9007"


def mapped(folder: Path, operator: str) -> Path:
    """A block 40 × 20 × 10 mm that is placed by ``operator`` in the representation of the product."""
    path = folder / "mapped.step"
    body = kernel.extrude(Region(rectangle(0.0, 0.0, 40.0, 20.0)), 0.0, 10.0)
    kernel.write_step({"b": body}, path)
    text = path.read_text()
    rep = next(s for s in statements(text).values() if s.types == ("ADVANCED_BREP_SHAPE_REPRESENTATION",))
    more = f"""#9000 = ADVANCED_BREP_SHAPE_REPRESENTATION('',(#9001,#9010),#{rep.args()[2].id});
#9001 = AXIS2_PLACEMENT_3D('',#9008,{Z},{X});
#9008 = CARTESIAN_POINT('',(0.,0.,0.));
{X} = DIRECTION('',(1.,0.,0.));
{Y} = DIRECTION('',(0.,1.,0.));
{Z} = DIRECTION('',(0.,0.,1.));
{DOWN} = DIRECTION('',(0.,0.,-1.));
{AT} = CARTESIAN_POINT('',(5.,0.,0.));
#9010 = MAPPED_ITEM('',#9011,#9012);
#9011 = REPRESENTATION_MAP(#{rep.args()[1][0].id},#{rep.id});
#9012 = {operator};
"""
    shown = f",#{rep.id})"
    text = text.replace(
        f"SHAPE_DEFINITION_REPRESENTATION(#4{shown}", "SHAPE_DEFINITION_REPRESENTATION(#4,#9000)"
    )
    path.write_text(text.replace("ENDSEC;\nEND-ISO", more + "ENDSEC;\nEND-ISO"))
    return path


@pytest.mark.parametrize(
    "operator",
    [
        f"AXIS2_PLACEMENT_3D('',{AT},{Z},{X})",
        f"CARTESIAN_TRANSFORMATION_OPERATOR_3D({NAMES},{X},{Y},{AT},1.,{Z})",
        f"CARTESIAN_TRANSFORMATION_OPERATOR_3D({NAMES},$,$,{AT},$,$)",
        f"CARTESIAN_TRANSFORMATION_OPERATOR_3D({NAMES},{Y},{X},{AT},1.,{DOWN})",
    ],
)
def test_turned_and_moved_is_read(tmp_path: Path, operator: str) -> None:
    part = read_part(mapped(tmp_path, operator))
    assert part.volume == pytest.approx(8000.0)
    assert min(f.box[0] for f in part.faces) == pytest.approx(5.0)


@pytest.mark.parametrize(
    ("operator", "words"),
    [
        (f"CARTESIAN_TRANSFORMATION_OPERATOR_3D({NAMES},{X},{Y},{AT},1.,{DOWN})", "mirrored;"),
        (f"CARTESIAN_TRANSFORMATION_OPERATOR_3D({NAMES},{X},{Y},{AT},25.4,{Z})", "to 25.4 times its size;"),
        (
            f"( CARTESIAN_TRANSFORMATION_OPERATOR({X},{Y},{AT},0.5)"
            f" CARTESIAN_TRANSFORMATION_OPERATOR_3D({DOWN}) FUNCTIONALLY_DEFINED_TRANSFORMATION('',$)"
            " GEOMETRIC_REPRESENTATION_ITEM() REPRESENTATION_ITEM('') )",
            "mirrored and to 0.5 times its size;",
        ),
    ],
)
def test_mirrored_or_scaled_is_refused(tmp_path: Path, operator: str, words: str) -> None:
    with pytest.raises(JawrightError) as e:
        read_part(mapped(tmp_path, operator))
    assert e.value.code == "part-integrity"
    assert f"the file places the solid {words}" in str(e.value)


def test_what_is_drawn_to_another_scale_is_no_matter(tmp_path: Path) -> None:
    """An operator that places a mark of the drawing changes nothing of the part."""
    path = mapped(tmp_path, f"AXIS2_PLACEMENT_3D('',{AT},{Z},{X})")
    more = f"""#9100 = MAPPED_ITEM('',#9101,#9102);
#9101 = REPRESENTATION_MAP(#9001,#9103);
#9103 = SHAPE_REPRESENTATION('',({AT}),#1);
#9102 = CARTESIAN_TRANSFORMATION_OPERATOR_3D({NAMES},{X},{Y},{AT},3.,{Z});
"""
    text = path.read_text().replace("ENDSEC;\nEND-ISO", more + "ENDSEC;\nEND-ISO")
    assert changed(statements(text)) == ""
