"""The clear text encoding: statements, arguments, units, properties, without the kernel."""

from __future__ import annotations

import math

import pytest

from jawright.errors import JawrightError
from jawright.files import measures, step
from jawright.files.part21 import Enum, Ref, Typed, arguments, frame, plain, schema, statements

HEAD = "ISO-10303-21;\nHEADER;FILE_DESCRIPTION((''),'2;1');FILE_NAME('','',(''),(''),'','','');"
TAIL = "ENDSEC;\nEND-ISO-10303-21;\n"


def text(data: str, name: str = "AP242") -> str:
    return f"{HEAD}FILE_SCHEMA(('{name}'));ENDSEC;\nDATA;\n{data}\n{TAIL}"


def test_simple_and_complex_statements_come_in_file_order() -> None:
    held = statements(
        text(
            "#7=POINT('a;b',(1.,2.E-3,-.5));/* #8=NOT('x'); */\n"
            "#3 = ( LENGTH_UNIT ( ) NAMED_UNIT ( * ) SI_UNIT ( .MILLI. , .METRE. ) ) ;\n"
            "#12=EMPTY();"
        )
    )
    assert list(held) == [7, 3, 12]
    assert held[7].type == "POINT"
    assert held[7].args() == ("a;b", (1.0, 0.002, -0.5))
    assert held[3].types == ("LENGTH_UNIT", "NAMED_UNIT", "SI_UNIT")
    assert held[3].args("SI_UNIT") == (Enum("MILLI"), Enum("METRE"))
    assert held[3].args("NAMED_UNIT") == (None,)
    assert held[12].args() == ()
    assert held[12].args("OTHER") == ()


def test_arguments_of_every_kind() -> None:
    assert arguments("'it''s',#12,.T.,$,*,3,-4.5E+2,(),(#1,#2),LENGTH_MEASURE(0.1),SET((#4))") == (
        "it's",
        Ref(12),
        Enum("T"),
        None,
        None,
        3,
        -450.0,
        (),
        (Ref(1), Ref(2)),
        Typed("LENGTH_MEASURE", 0.1),
        Typed("SET", (Ref(4),)),
    )


@pytest.mark.parametrize("bad", ["(1,2", "1,2)", "1 ? 2", "'open"])
def test_broken_arguments_are_refused(bad: str) -> None:
    with pytest.raises(JawrightError) as e:
        arguments(bad)
    assert e.value.code == "file-broken"


def test_coded_letters_are_read() -> None:
    assert plain("\\X2\\00D8\\X0\\10 \\X\\E9 \\S\\i \\\\") == "Ø10 é é \\"
    assert plain("\\X4\\0001F529\\X0\\") == "\U0001f529"


def test_two_statements_of_one_number_are_refused() -> None:
    with pytest.raises(JawrightError, match="#5"):
        statements(text("#5=A();#5=B();"))


@pytest.mark.parametrize(
    ("content", "code", "says"),
    [
        ("", "file-empty", "empty"),
        (" \n\t", "file-empty", "empty"),
        ("solid cube\nfacet normal 0 0 1", "file-not-step", "ISO-10303-21;"),
        (text("#1=A();").replace("END-ISO-10303-21;", ""), "file-broken", "cut off"),
        (text("#1=A();").replace("FILE_SCHEMA", "FILE_S"), "file-broken", "FILE_SCHEMA"),
    ],
)
def test_frame_is_checked(content: str, code: str, says: str) -> None:
    with pytest.raises(JawrightError, match=says) as e:
        frame(content, "part.step")
    assert e.value.code == code
    assert str(e.value).startswith("part.step: ")


def test_schema_is_read() -> None:
    assert schema(text("", "AUTOMOTIVE_DESIGN { 1 0 10303 214 3 1 1 }")).startswith("AUTOMOTIVE_DESIGN")


UNITS = """
#1=(LENGTH_UNIT()NAMED_UNIT(*)SI_UNIT({prefix},.METRE.));
#2=LENGTH_MEASURE_WITH_UNIT(LENGTH_MEASURE({size}),#1);
#3=DIMENSIONAL_EXPONENTS(1.,0.,0.,0.,0.,0.,0.);
#4=(CONVERSION_BASED_UNIT('{name}',#2)LENGTH_UNIT()NAMED_UNIT(#3));
#5=(GEOMETRIC_REPRESENTATION_CONTEXT(3)GLOBAL_UNIT_ASSIGNED_CONTEXT((#{used}))REPRESENTATION_CONTEXT('',''));
#6=ADVANCED_BREP_SHAPE_REPRESENTATION('',(#9),#5);
"""


@pytest.mark.parametrize(
    ("prefix", "size", "name", "used", "word"),
    [
        (".MILLI.", 25.4, "INCH", 4, "inch"),
        ("$", 0.0254, "inch", 4, "inch"),
        (".MILLI.", 1.0, "MILLIMETRE", 4, "mm"),
        (".CENTI.", 1.0, "", 1, "cm"),
        ("$", 1.0, "", 1, "m"),
        (".MILLI.", 304.8, "FOOT", 4, "foot"),
    ],
)
def test_length_units_in_words(prefix: str, size: float, name: str, used: int, word: str) -> None:
    data = UNITS.format(prefix=prefix, size=size, name=name, used=used)
    assert measures.length_units(statements(text(data))) == word


def test_no_unit_is_no_word() -> None:
    assert measures.length_units(statements(text("#1=A();"))) == ""


def test_measures_bring_their_own_unit() -> None:
    data = UNITS.format(prefix=".MILLI.", size=25.4, name="INCH", used=4)
    data += "#20=MEASURE_WITH_UNIT(LENGTH_MEASURE(0.012),#4);"
    data += "#21=DERIVED_UNIT_ELEMENT(#4,3.);#22=DERIVED_UNIT((#21));"
    data += "#23=MEASURE_REPRESENTATION_ITEM('volume measure',VOLUME_MEASURE(2.),#22);"
    held = statements(text(data))
    assert measures.measure(held, Ref(20), 1) == pytest.approx(0.3048, rel=1e-12)
    assert measures.measure(held, Ref(23), 3) == pytest.approx(2 * 25.4**3, rel=1e-12)
    assert math.isnan(measures.measure(held, Ref(23), 2))
    assert math.isnan(measures.measure(held, Ref(99), 1))


PROPERTY = """
#10=PRODUCT_DEFINITION('','',#11,#12);
#13=SHAPE_ASPECT('','',#14,.T.);
#30=PROPERTY_DEFINITION('geometric validation property','volume of part',#10);
#31=REPRESENTATION('',(#40,#41),#5);
#32=PROPERTY_DEFINITION_REPRESENTATION(#30,#31);
#33=PROPERTY_DEFINITION('geometric validation property','area of a face',#13);
#34=REPRESENTATION('',(#42),#5);
#35=PROPERTY_DEFINITION_REPRESENTATION(#33,#34);
#40=MEASURE_REPRESENTATION_ITEM('volume measure',VOLUME_MEASURE(1000.),#50);
#41=MEASURE_REPRESENTATION_ITEM('surface area measure',AREA_MEASURE(600.),#51);
#42=MEASURE_REPRESENTATION_ITEM('surface area measure',AREA_MEASURE(100.),#51);
#50=DERIVED_UNIT((#52));#51=DERIVED_UNIT((#53));
#52=DERIVED_UNIT_ELEMENT(#1,3.);#53=DERIVED_UNIT_ELEMENT(#1,2.);
"""


def test_validation_properties_of_the_part_not_of_its_faces() -> None:
    data = UNITS.format(prefix=".CENTI.", size=1.0, name="", used=1) + PROPERTY
    assert step.validation_properties(statements(text(data))) == ([1e6], [6e4])
    other = data.replace("geometric validation property", "attribute validation property")
    assert step.validation_properties(statements(text(other))) == ([], [])


def test_tolerances_are_counted_whatever_their_form() -> None:
    held = statements(
        text(
            "#1=FLATNESS_TOLERANCE('','',#9,#8);"
            "#2=(GEOMETRIC_TOLERANCE('','',#9,#8)GEOMETRIC_TOLERANCE_WITH_DATUM_REFERENCE((#7))"
            "POSITION_TOLERANCE());"
            "#3=PLUS_MINUS_TOLERANCE(#5,#6);#4=TOLERANCE_ZONE('',#9,#8,.F.,(#1),#7);"
        )
    )
    assert step.count_tolerances(held) == 2
