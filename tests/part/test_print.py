"""The print joined to the solid: files written here, with annotations added to their text."""

from __future__ import annotations

import math
from collections.abc import Callable
from pathlib import Path

import pytest

from jawright import kernel
from jawright.files.findings import Finding
from jawright.part.model import Face, Part
from jawright.part.print import limits_words
from jawright.part.read import read_part
from part.shapes import assembly, pawl, written

FIRST = 900_001
"""Entity numbers of what is added begin here."""
MM = (
    f"#{FIRST}=(LENGTH_UNIT()NAMED_UNIT(*)SI_UNIT(.MILLI.,.METRE.));"
    f"#{FIRST + 1}=PRODUCT_DEFINITION_SHAPE('','',$);"
)


def number(part: Part, which: Callable[[Face], bool]) -> list[int]:
    found = [f.step_id for f in part.faces if which(f)]
    assert found and None not in found
    return [n for n in found if n is not None]


def up(f: Face) -> bool:
    return f.kind == "plane" and f.normal[2] > 0.99


def down(f: Face) -> bool:
    return f.kind == "plane" and f.normal[2] < -0.99


def bore(f: Face) -> bool:
    return f.hollow


def annotated(tmp_path: Path, text: Callable[[Part], str]) -> Part:
    """The pawl with statements added before the end of its data section."""
    path = written(tmp_path, "pawl.step", pawl())
    plain = read_part(path)
    data = path.read_text(encoding="utf-8")
    head, end, tail = data.rpartition("ENDSEC;")
    path.write_text(f"{head}{MM}{text(plain)}\n{end}{tail}", encoding="utf-8")
    return read_part(path)


def length(entity: int, value: float) -> str:
    return f"#{entity}=LENGTH_MEASURE_WITH_UNIT(LENGTH_MEASURE({value}),#{FIRST});"


def aspect(entity: int, faces: list[int], *, kind: str = "SHAPE_ASPECT") -> str:
    """An aspect with its faces; uses the numbers from ``entity`` on."""
    uses = "".join(
        f"#{entity + k}=GEOMETRIC_ITEM_SPECIFIC_USAGE('','',#{entity},$,#{n});"
        for k, n in enumerate(faces, 1)
    )
    return f"#{entity}={kind}('','',#{FIRST + 1},.T.);{uses}"


def told(part: Part) -> str:
    return " / ".join(f.what for f in part.findings)


def numbered(findings: tuple[Finding, ...]) -> bool:
    return [f.number for f in findings] == list(range(1, len(findings) + 1))


def hole_limits(lower: float, upper: float) -> Callable[[Part], str]:
    def text(part: Part) -> str:
        return (
            aspect(910_000, number(part, bore))
            + "#910100=DIMENSIONAL_SIZE(#910000,'diameter');"
            + "#910101=PLUS_MINUS_TOLERANCE(#910102,#910100);#910102=TOLERANCE_VALUE(#910103,#910104);"
            + length(910_103, lower)
            + length(910_104, upper)
            + "#910105=DIMENSIONAL_CHARACTERISTIC_REPRESENTATION(#910100,#910106);"
            + "#910106=SHAPE_DIMENSION_REPRESENTATION('',(#910107),$);"
            + "#910107=(LENGTH_MEASURE_WITH_UNIT()MEASURE_REPRESENTATION_ITEM()"
            + f"MEASURE_WITH_UNIT(LENGTH_MEASURE(10.),#{FIRST})REPRESENTATION_ITEM('nominal value'));"
        )

    return text


@pytest.mark.parametrize(
    ("lower", "upper", "words"),
    [
        (0.02, 0.05, "diameter 10 +0.05/+0.02 mm"),
        (-0.05, -0.02, "diameter 10 -0.02/-0.05 mm"),
        (0.0, 0.018, "diameter 10 +0.018/+0 mm"),
    ],
)
def test_limits_of_a_hole_keep_their_signs(tmp_path: Path, lower: float, upper: float, words: str) -> None:
    part = annotated(tmp_path, hole_limits(lower, upper))
    (d,) = part.dimensions
    assert (d.lower, d.upper) == pytest.approx((lower, upper), rel=1e-12)
    assert d.faces == part.holes[0].faces
    assert limits_words(d) == words
    assert part.tolerances == () and "the file holds no semantic tolerances" in told(part)


def position(part: Part) -> str:
    return (
        aspect(910_000, number(part, bore))
        + aspect(911_000, number(part, down), kind="DATUM_FEATURE")
        + f"#912000=DATUM('',$,#{FIRST + 1},.F.,'A');"
        + "#912001=SHAPE_ASPECT_RELATIONSHIP('','',#911000,#912000);"
        + "#913000=(GEOMETRIC_TOLERANCE('','',#913001,#910000)"
        + "GEOMETRIC_TOLERANCE_WITH_DATUM_REFERENCE((#913002))POSITION_TOLERANCE());"
        + length(913_001, 0.2)
        + f"#913002=DATUM_SYSTEM('',$,#{FIRST + 1},.F.,(#913003));"
        + f"#913003=DATUM_REFERENCE_COMPARTMENT('',$,#{FIRST + 1},.F.,#912000,$);"
    )


def test_a_position_with_its_datum_and_faces(tmp_path: Path) -> None:
    part = annotated(tmp_path, position)
    (t,) = part.tolerances
    assert (t.kind, t.zone, t.datums, t.faces) == ("position", 0.2, ("A",), part.holes[0].faces)
    assert t.source == "file #913000"
    (a,) = part.datums
    assert a.letter == "A" and [part.faces[i].normal[2] for i in a.faces] == pytest.approx([-1.0])
    assert part.tolerances_in_file == 1 and "all 1 tolerances in the file were read" in told(part)
    assert numbered(part.findings)


def test_a_zone_whose_form_the_file_does_not_say_is_taken_as_the_tighter_one_and_told(tmp_path: Path) -> None:
    part = annotated(tmp_path, position)
    assert part.tolerances[0].diametral
    assert "1 of round features (#913000) are taken as diameters" in told(part)

    def flat_zone(part: Part) -> str:
        zone = f"#914000=TOLERANCE_ZONE('',$,#{FIRST + 1},.F.,(#913000),#914001);"
        return position(part) + zone + "#914001=TOLERANCE_ZONE_FORM('between two equidistant surfaces');"

    other = annotated(tmp_path, flat_zone)
    assert not other.tolerances[0].diametral and "taken as diameters" not in told(other)


def test_what_cannot_be_read_is_counted_and_named(tmp_path: Path) -> None:
    def text(part: Part) -> str:
        return (
            position(part)
            + "#915000=SHINE_TOLERANCE('','',#913001,#910000);"
            + "#915001=FLATNESS_TOLERANCE('','',#999999,#910000);"
        )

    part = annotated(tmp_path, text)
    assert len(part.tolerances) == 1 and part.tolerances_in_file == 3
    assert (
        "2 tolerances in the file could not be read: #915000 shine tolerance: its kind is not known;"
        " #915001 flatness tolerance: its value or unit cannot be read" in told(part)
    )
    assert next(f for f in part.findings if "could not be read" in f.what).level == "ignored"


def test_datums_and_tolerances_without_a_face_are_told(tmp_path: Path) -> None:
    def text(_: Part) -> str:
        return (
            aspect(910_000, [])
            + f"#912000=DATUM('',$,#{FIRST + 1},.F.,'Q');"
            + "#913000=FLATNESS_TOLERANCE('','',#913001,#910000);"
            + length(913_001, 0.05)
        )

    part = annotated(tmp_path, text)
    assert part.tolerances[0].faces == () and part.datums[0].faces == ()
    assert "no face of the solid was found for datum Q" in told(part)
    assert "names no face of the solid for 1 of its tolerances: flatness 0.05 mm (file #913000)" in told(part)


def target(x: float, y: float, z: float) -> str:
    """Datum A by one point of the part."""
    one = FIRST + 1
    return (
        f"#912000=DATUM('',$,#{one},.F.,'A');"
        f"#912001=PLACED_DATUM_TARGET_FEATURE('','point',#{one},.T.,'1');"
        "#912002=SHAPE_ASPECT_RELATIONSHIP('','',#912001,#912000);"
        "#912003=PROPERTY_DEFINITION('',$,#912001);#912004=SHAPE_DEFINITION_REPRESENTATION(#912003,#912005);"
        "#912005=SHAPE_REPRESENTATION_WITH_PARAMETERS('',(#912006),#912010);"
        "#912006=AXIS2_PLACEMENT_3D('orientation',#912007,#912008,#912009);"
        f"#912007=CARTESIAN_POINT('',({x!r},{y!r},{z!r}));#912008=DIRECTION('',(0.,0.,1.));"
        "#912009=DIRECTION('',(1.,0.,0.));"
        f"#912010=(GEOMETRIC_REPRESENTATION_CONTEXT(3)GLOBAL_UNIT_ASSIGNED_CONTEXT((#{FIRST}))"
        "REPRESENTATION_CONTEXT('',''));"
    )


def test_a_datum_target_takes_the_face_it_lies_on(tmp_path: Path) -> None:
    part = annotated(tmp_path, lambda _: target(0.0, 0.0, 12.0))
    (a,) = part.datums
    assert [up(part.faces[i]) for i in a.faces] == [True]


@pytest.mark.parametrize(("turn", "shift"), [(90.0, (500.0, 0.0, 7.0)), (33.0, (-1e4, 2e3, -12.0))])
def test_a_datum_target_goes_where_its_assembly_places_the_part(
    tmp_path: Path, turn: float, shift: tuple[float, float, float]
) -> None:
    path = assembly(tmp_path / "a.step", pawl(), turn=math.radians(turn), shift=shift)
    head, end, tail = path.read_text(encoding="utf-8").rpartition("ENDSEC;")
    path.write_text(f"{head}{MM}{target(0.0, 0.0, 12.0)}\n{end}{tail}", encoding="utf-8")
    part = read_part(path)
    (a,) = part.datums
    assert [up(part.faces[i]) for i in a.faces] == [True]


def test_a_tolerance_of_the_whole_part_governs_every_face(tmp_path: Path) -> None:
    def text(_: Part) -> str:
        return f"#913000=SURFACE_PROFILE_TOLERANCE('','',#913001,#{FIRST + 1});" + length(913_001, 0.5)

    part = annotated(tmp_path, text)
    assert part.tolerances[0].faces == tuple(f.index for f in part.faces)


@pytest.mark.parametrize(("share", "agrees"), [(1.0, True), (0.994, True), (0.9, False)])
def test_the_reading_is_checked_against_what_the_file_states(
    tmp_path: Path, share: float, agrees: bool
) -> None:
    def text(part: Part) -> str:
        area = share * sum(f.area for f in part.faces if bore(f))
        return (
            position(part)
            + "#916000=PROPERTY_DEFINITION('pmi validation property','',#913000);"
            + "#916001=PROPERTY_DEFINITION_REPRESENTATION(#916000,#916002);"
            + "#916002=REPRESENTATION('',(#916003,#916006),$);"
            + f"#916003=MEASURE_REPRESENTATION_ITEM('affected area',AREA_MEASURE({area!r}),#916004);"
            + f"#916004=DERIVED_UNIT((#916005));#916005=DERIVED_UNIT_ELEMENT(#{FIRST},2.);"
            + f"#916006=DESCRIPTIVE_REPRESENTATION_ITEM('datum references','{'A' if agrees else 'B'}');"
        )

    words = told(annotated(tmp_path, text))
    assert ("the faces of 1 datums and tolerances have the areas" in words) is agrees
    assert ("differ from what the file states" in words) is not agrees
    assert ("refers to A, stated B" in words) is not agrees


def test_a_file_without_annotations_says_exactly_that(tmp_path: Path) -> None:
    part = read_part(written(tmp_path, "pawl.step", pawl()))
    assert kernel.is_valid(part.shape)
    assert (part.datums, part.tolerances, part.dimensions, part.tolerances_in_file) == ((), (), (), 0)
    assert "the file holds no semantic tolerances; notes that are only drawn in it are not read" in told(part)
