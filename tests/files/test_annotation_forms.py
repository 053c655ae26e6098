"""Rarer forms of semantic annotations, one small text each: read, or counted and named.

Entities and their attributes as in ISO 10303-47 and ISO 10303-242, from memory of the schemas; the
order of attributes of the zone definitions agrees with an open implementation of them.
"""

from __future__ import annotations

import math

import pytest

from files.test_annotations import MM, POSITION, read
from jawright.errors import JawrightError
from jawright.files import measures, part21

FLAT = f"#50=FLATNESS_TOLERANCE('','',#51,{{}});#51={MM.format(0.1)};"
PROFILE = f"#50=SURFACE_PROFILE_TOLERANCE('','',#51,{{}});#51={MM.format(0.4)};"
ZONE = "#60={}('',$,#9,.F.,(#50),#61{});#61=TOLERANCE_ZONE_FORM('within a cylinder');"
SYSTEM = (
    "#52=DATUM_SYSTEM('',$,#9,.F.,(#53,#54));#53=DATUM_REFERENCE_COMPARTMENT('',$,#9,.F.,#130,$);"
    "#54=DATUM_REFERENCE_COMPARTMENT('',$,#9,.F.,#140,$);"
)


# ---- features ------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("kind", "words"),
    [
        ("ALL_AROUND_SHAPE_ASPECT", ("all around",)),
        ("BETWEEN_SHAPE_ASPECT", ("between two places",)),
        ("CONTINUOUS_SHAPE_ASPECT", ("continuous feature",)),
        ("COMPOSITE_SHAPE_ASPECT", ()),
        ("COMPOSITE_GROUP_SHAPE_ASPECT", ()),
    ],
)
@pytest.mark.parametrize("upwards", [False, True])
def test_runs_of_faces_and_patterns_either_way_related(
    kind: str, words: tuple[str, ...], upwards: bool
) -> None:
    text = PROFILE.format("#70") + f"#70={kind}('','',#9,.T.);"
    for n, member in ((71, 110), (72, 120)):
        pair = (member, 70) if upwards else (70, member)
        text += f"#{n}=SHAPE_ASPECT_RELATIONSHIP('','',#{pair[0]},#{pair[1]});"
    (t,) = read(text).tolerances
    assert sorted(t.faces) == [100, 101] and t.modifiers == words


def test_a_single_member_never_takes_its_group_along() -> None:
    text = FLAT.format("#110") + "#70=COMPOSITE_SHAPE_ASPECT('','',#9,.T.);"
    text += "#71=SHAPE_ASPECT_RELATIONSHIP('','',#110,#70);#72=SHAPE_ASPECT_RELATIONSHIP('','',#120,#70);"
    assert read(text).tolerances[0].faces == (100,)


@pytest.mark.parametrize(
    "item",
    [
        "COMPOUND_REPRESENTATION_ITEM('',SET_REPRESENTATION_ITEM((#100,#101)))",
        "COMPOUND_REPRESENTATION_ITEM('',LIST_REPRESENTATION_ITEM((#100,#101)))",
        "CONNECTED_FACE_SET('',(#100,#101))",
        "OPEN_SHELL('',(#100,#101))",
        "(COMPOUND_REPRESENTATION_ITEM(SET_REPRESENTATION_ITEM((#100,#101)))REPRESENTATION_ITEM(''))",
    ],
)
def test_faces_by_compound_items(item: str) -> None:
    text = FLAT.format("#70") + "#70=SHAPE_ASPECT('','',#9,.T.);"
    text += f"#71=ITEM_IDENTIFIED_REPRESENTATION_USAGE('','',#70,#0,#72);#72={item};"
    assert read(text).tolerances[0].faces == (100, 101)


def test_a_tolerance_of_a_distance_governs_what_is_located() -> None:
    text = FLAT.format("#70").replace("FLATNESS", "STRAIGHTNESS")
    text += "#70=DIMENSIONAL_LOCATION('linear distance','',#110,#120);"
    assert read(text).tolerances[0].faces == (101,)


# ---- zones ---------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("kind", "more", "words"),
    [
        ("TOLERANCE_ZONE", "", ()),
        ("TOLERANCE_ZONE_WITH_DATUM", ",#52", ("zone set by A|B",)),
        (
            "DIRECTED_TOLERANCE_ZONE",
            ",#52,.PERPENDICULAR.",
            ("zone directed perpendicular", "zone set by A|B"),
        ),
        ("ORIENTED_TOLERANCE_ZONE", ",#52,.PARALLEL.,$", ("zone oriented parallel", "zone set by A|B")),
    ],
)
def test_directed_and_oriented_zones(kind: str, more: str, words: tuple[str, ...]) -> None:
    (t,) = read(FLAT.format("#110") + ZONE.format(kind, more) + SYSTEM).tolerances
    assert t.diametral is True and t.modifiers == words


def test_a_directed_zone_written_in_parts() -> None:
    zone = (
        "#60=(DIRECTED_TOLERANCE_ZONE(.INCLUDING.)SHAPE_ASPECT('',$,#9,.F.)TOLERANCE_ZONE((#50),#61)"
        "TOLERANCE_ZONE_WITH_DATUM(#52));#61=TOLERANCE_ZONE_FORM('within a cylinder');"
    )
    (t,) = read(FLAT.format("#110") + zone + SYSTEM).tolerances
    assert t.diametral is True and t.modifiers == ("zone directed including", "zone set by A|B")


@pytest.mark.parametrize(
    ("definition", "words"),
    [
        ("PROJECTED_ZONE_DEFINITION(#60,(),#110,#63)", "zone projected by 12 mm"),
        ("PROJECTED_ZONE_DEFINITION_WITH_OFFSET(#60,(),#110,#63,#64)", "zone projected by 12 mm, 2 mm off"),
        ("NON_UNIFORM_ZONE_DEFINITION(#60,(#110,#120))", "zone of changing width"),
        ("RUNOUT_ZONE_DEFINITION(#60,(),#65)", "run-out at 30°"),
    ],
)
def test_definitions_of_zones(definition: str, words: str) -> None:
    text = FLAT.format("#110") + ZONE.format("TOLERANCE_ZONE", "") + f"#62={definition};"
    text += f"#63={MM.format(12.0)};#64={MM.format(2.0)};#65=RUNOUT_ZONE_ORIENTATION(#66);"
    text += "#66=PLANE_ANGLE_MEASURE_WITH_UNIT(PLANE_ANGLE_MEASURE(30.),#7);"
    assert read(text).tolerances[0].modifiers == (words,)


@pytest.mark.parametrize(
    ("definition", "expected"),
    [
        ("PROJECTED_ZONE_DEFINITION(#60,(),#110,#63)", (12.0, 0.0, (100,))),
        ("PROJECTED_ZONE_DEFINITION_WITH_OFFSET(#60,(),$,#63,#64)", (12.0, 2.0, ())),
        ("(PROJECTED_ZONE_DEFINITION(#110,#63)TOLERANCE_ZONE_DEFINITION(#60,()))", (12.0, 0.0, (100,))),
        ("PROJECTED_ZONE_DEFINITION(#60,(),#110,$)", (math.nan, 0.0, (100,))),
    ],
)
def test_where_a_projected_zone_stands(
    definition: str, expected: tuple[float, float, tuple[int, ...]]
) -> None:
    text = FLAT.format("#110") + ZONE.format("TOLERANCE_ZONE", "") + f"#62={definition};"
    text += f"#63={MM.format(12.0)};#64={MM.format(2.0)};"
    (t,) = read(text).tolerances
    assert t.projected is not None
    assert t.projected.faces == expected[2]
    assert (t.projected.length, t.projected.offset) == pytest.approx(expected[:2], nan_ok=True)


def test_unequal_zones_largest_values_and_rates() -> None:
    text = (
        "#50=(GEOMETRIC_TOLERANCE('','',#51,#110)GEOMETRIC_TOLERANCE_WITH_DEFINED_UNIT(#52)"
        "GEOMETRIC_TOLERANCE_WITH_MAXIMUM_TOLERANCE(#53)GEOMETRIC_TOLERANCE_WITH_MODIFIERS((.FREE_STATE.,"
        ".TANGENT_PLANE.,.COMMON_ZONE.))SURFACE_PROFILE_TOLERANCE()"
        f"UNEQUALLY_DISPOSED_GEOMETRIC_TOLERANCE(#54));#51={MM.format(0.4)};#52={MM.format(25)};"
        f"#53={MM.format(0.5)};#54={MM.format(0.1)};"
    )
    (t,) = read(text).tolerances
    assert t.unequal == pytest.approx(0.1)
    assert set(t.modifiers) == {
        "on each 25 mm",
        "at most 0.5 mm",
        "free state",
        "tangent plane",
        "common zone",
        "unequally disposed by 0.1 mm",
    }


def test_what_a_tolerance_adds_in_a_way_not_known_here_is_told_and_not_dropped() -> None:
    text = (
        "#50=(GEOMETRIC_TOLERANCE('','',#51,#110)FLATNESS_TOLERANCE()"
        f"GEOMETRIC_TOLERANCE_WITH_SHINE(.VERY_BRIGHT.));#51={MM.format(0.1)};"
    )
    (t,) = read(text).tolerances
    assert t.kind == "flatness" and t.modifiers == ("very bright",)


def test_composite_frames_of_two_kinds_of_relation() -> None:
    text = FLAT.format("#110") + f"#55=FLATNESS_TOLERANCE('','',#56,#110);#56={MM.format(0.05)};"
    for word in ("composite", "precedence", "simultaneity"):
        found = read(text + f"#57=GEOMETRIC_TOLERANCE_RELATIONSHIP('{word}','',#50,#55);").tolerances
        assert [t.modifiers for t in found] == [(), (f"{word}, below #50",)]


# ---- datums --------------------------------------------------------------------------------


def test_modifiers_with_a_value_and_common_datums_with_their_own() -> None:
    text = POSITION.format("#52", "") + (
        "#52=DATUM_SYSTEM('',$,#9,.F.,(#53,#54));"
        "#53=DATUM_REFERENCE_COMPARTMENT('',$,#9,.F.,#130,(#58,"
        "SIMPLE_DATUM_REFERENCE_MODIFIER(.TRANSLATION.)));"
        f"#58=DATUM_REFERENCE_MODIFIER_WITH_VALUE(.PROJECTED.,#59);#59={MM.format(8.0)};"
        "#54=DATUM_REFERENCE_COMPARTMENT('',$,#9,.F.,COMMON_DATUM_LIST((#55,#56)),"
        "(SIMPLE_DATUM_REFERENCE_MODIFIER(.MAXIMUM_MATERIAL_REQUIREMENT.)));"
        "#55=DATUM_REFERENCE_ELEMENT('',$,#9,.F.,#130,$);"
        "#56=DATUM_REFERENCE_ELEMENT('',$,#9,.F.,#140,(SIMPLE_DATUM_REFERENCE_MODIFIER(.POINT.)));"
    )
    (t,) = read(text).tolerances
    assert t.datums == ("A", "A-B")
    assert t.modifiers == (
        "datum A translation",
        "datum A projected 8 mm",
        "datum B point",
        "datum A-B maximum material requirement",
    )
    assert t.boundary == ("A-B",)


def test_compartments_and_systems_written_in_parts() -> None:
    text = POSITION.format("#52", "") + (
        "#52=(DATUM_SYSTEM((#53))SHAPE_ASPECT('',$,#9,.F.));"
        "#53=(DATUM_REFERENCE_COMPARTMENT()GENERAL_DATUM_REFERENCE(#140,$)SHAPE_ASPECT('',$,#9,.F.));"
    )
    assert read(text).tolerances[0].datums == ("B",)


def test_the_oldest_form_with_a_modified_datum() -> None:
    text = POSITION.format("#52,#53", "") + (
        "#52=REFERENCED_MODIFIED_DATUM(1,#140,.MAXIMUM_MATERIAL_CONDITION.);#53=DATUM_REFERENCE(2,#130);"
    )
    (t,) = read(text).tolerances
    assert t.datums == ("B", "A") and t.modifiers == ("datum B maximum material condition",)
    assert t.boundary == ("B",)
    simple = f"#50=POSITION_TOLERANCE('','',#51,#110,(#52));#51={MM.format(0.3)};#52=DATUM_REFERENCE(1,#130);"
    assert read(simple).tolerances[0].datums == ("A",)


def test_a_common_datum_of_older_editions() -> None:
    text = POSITION.format("#52", "") + (
        "#52=DATUM_REFERENCE(1,#70);#70=(COMMON_DATUM()COMPOSITE_SHAPE_ASPECT()DATUM('A-B')"
        "SHAPE_ASPECT('',$,#9,.F.));"
    )
    found = read(text)
    assert found.tolerances[0].datums == ("A-B",)
    assert [d.letter for d in found.datums] == ["A", "B"]


@pytest.mark.parametrize(
    ("form", "sizes", "points"),
    [
        ("point", (), 1),
        ("line", (20.0,), 3),
        ("rectangle", (20.0, 10.0), 1),
        ("circle", (8.0,), 1),
        ("circular curve", (8.0,), 5),
    ],
)
def test_targets_of_every_form_have_their_places(form: str, sizes: tuple[float, ...], points: int) -> None:
    measures = "".join(
        f"#{95 + k}=(LENGTH_MEASURE_WITH_UNIT()MEASURE_REPRESENTATION_ITEM()MEASURE_WITH_UNIT("
        f"LENGTH_MEASURE({v}),#1)REPRESENTATION_ITEM('target size'));"
        for k, v in enumerate(sizes)
    )
    items = "".join(f",#{95 + k}" for k in range(len(sizes)))
    text = (
        f"#80=DATUM('',$,#9,.F.,'D');#81=PLACED_DATUM_TARGET_FEATURE('','{form}',#9,.T.,'1');"
        "#82=SHAPE_ASPECT_RELATIONSHIP('','',#81,#80);#83=PROPERTY_DEFINITION('',$,#81);"
        "#84=SHAPE_DEFINITION_REPRESENTATION(#83,#85);"
        f"#85=SHAPE_REPRESENTATION_WITH_PARAMETERS('',(#86{items}),#91);"
        "#86=AXIS2_PLACEMENT_3D('orientation',#87,#88,#89);#87=CARTESIAN_POINT('',(1.,2.,3.));"
        "#88=DIRECTION('',(0.,0.,1.));#89=DIRECTION('',(1.,0.,0.));"
        "#91=(GEOMETRIC_REPRESENTATION_CONTEXT(3)GLOBAL_UNIT_ASSIGNED_CONTEXT((#1))REPRESENTATION_CONTEXT('',''));"
    )
    (d,) = (d for d in read(text + measures).datums if d.letter == "D")
    ((first, *rest),) = d.points
    assert first == pytest.approx((1.0, 2.0, 3.0)) and len(rest) == points - 1
    assert all(p[2] == pytest.approx(3.0) for p in rest)


def test_targets_that_are_areas_and_curves_of_the_part_take_its_faces() -> None:
    for form in ("area", "curve"):
        text = (
            f"#80=DATUM('',$,#9,.F.,'D');#81=DATUM_TARGET('','{form}',#9,.T.,'1');"
            "#82=SHAPE_ASPECT_RELATIONSHIP('','',#81,#80);"
            "#83=GEOMETRIC_ITEM_SPECIFIC_USAGE('','',#81,#0,#101);"
        )
        assert [d.faces for d in read(text).datums if d.letter == "D"] == [(101,)]


# ---- dimensions ----------------------------------------------------------------------------

VALUE = (
    "#{0}=(LENGTH_MEASURE_WITH_UNIT()MEASURE_REPRESENTATION_ITEM()MEASURE_WITH_UNIT(LENGTH_MEASURE({1}),#1)"
    "{3}REPRESENTATION_ITEM('{2}'));"
)
SIZE = (
    "#50=DIMENSIONAL_SIZE(#110,'radius');#55=DIMENSIONAL_CHARACTERISTIC_REPRESENTATION(#50,#56);"
    "#56=SHAPE_DIMENSION_REPRESENTATION('',({}),$);#40=FLATNESS_TOLERANCE('','',#41,#110);"
    + f"#41={MM.format(0.1)};"
)


def test_a_range_in_one_item() -> None:
    text = SIZE.format("#57") + "#57=VALUE_RANGE('',(#58,#59));"
    text += VALUE.format(58, 10.05, "upper limit", "") + VALUE.format(59, 10.02, "lower limit", "")
    (d,) = read(text).dimensions
    assert (d.nominal + d.lower, d.nominal + d.upper) == pytest.approx((10.02, 10.05))


@pytest.mark.parametrize("side", ["maximum", "minimum"])
def test_a_single_limit_is_counted_and_named(side: str) -> None:
    qualified = "QUALIFIED_REPRESENTATION_ITEM((#60,#61))"
    text = SIZE.format("#57") + VALUE.format(57, 2.0, "", qualified)
    text += f"#60=VALUE_FORMAT_TYPE_QUALIFIER('NR2 1.1');#61=TYPE_QUALIFIER('{side}');"
    found = read(text)
    assert found.dimensions == ()
    assert [(u.entity, u.why) for u in found.unread] == [(50, f"it gives only a {side}, of 2 mm")]


@pytest.mark.parametrize("side", ["maximum", "minimum"])
def test_a_single_limit_that_is_called_the_nominal_value_is_one_all_the_same(side: str) -> None:
    qualified = "QUALIFIED_REPRESENTATION_ITEM((#61,#60))"
    text = SIZE.format("#57") + VALUE.format(57, 0.1, "nominal value", qualified)
    text += f"#60=VALUE_FORMAT_TYPE_QUALIFIER('NR2 0.1');#61=TYPE_QUALIFIER('{side}');"
    found = read(text)
    assert found.dimensions == ()
    assert [(u.entity, u.why) for u in found.unread] == [(50, f"it gives only a {side}, of 0.1 mm")]


@pytest.mark.parametrize("name", ["upper limit", "lower limit"])
def test_one_limit_of_two_is_not_dropped_without_a_word(name: str) -> None:
    text = (
        SIZE.format("#58,#57") + VALUE.format(58, 8.0, "nominal value", "") + VALUE.format(57, 8.1, name, "")
    )
    (u,) = read(text).unread
    assert u.entity == 50 and u.why.startswith("it gives only a ")


def test_averages_and_notes_of_a_dimension_are_told() -> None:
    limits = "#62=PLUS_MINUS_TOLERANCE(#63,#50);#63=TOLERANCE_VALUE(#64,#65);"
    limits += f"#64={MM.format(-0.3)};#65={MM.format(0.3)};"
    qualified = "QUALIFIED_REPRESENTATION_ITEM((#61,#60))"
    text = SIZE.format("#57,#58") + VALUE.format(57, 32.0, "nominal value", qualified) + limits
    text += "#60=VALUE_FORMAT_TYPE_QUALIFIER('NR2 2.0');#61=TYPE_QUALIFIER('average');"
    text += "#58=COMPOUND_REPRESENTATION_ITEM('',SET_REPRESENTATION_ITEM((#59)));"
    text += "#59=DESCRIPTIVE_REPRESENTATION_ITEM('dimensional note','statistical');"
    (d,) = read(text).dimensions
    assert (d.nominal, d.lower, d.upper) == (32.0, pytest.approx(-0.3), pytest.approx(0.3))
    assert set(d.words) == {"average", "statistical"}


def test_qualified_values_and_simple_items_read_as_any_other() -> None:
    limits = "#61=PLUS_MINUS_TOLERANCE(#62,#50);#62=TOLERANCE_VALUE(#63,#64);"
    limits += f"#63={MM.format(-0.1)};#64={MM.format(0)};"
    qualified = "QUALIFIED_REPRESENTATION_ITEM((#60))"
    text = SIZE.format("#57") + VALUE.format(57, 8.0, "nominal value", qualified) + limits
    text += "#60=VALUE_FORMAT_TYPE_QUALIFIER('NR2 1.1');"
    (d,) = read(text).dimensions
    assert (d.kind, d.nominal, d.lower, d.upper) == ("radius", 8.0, pytest.approx(-0.1), 0.0)
    simple = (
        SIZE.format("#57")
        + "#57=MEASURE_REPRESENTATION_ITEM('nominal value',POSITIVE_LENGTH_MEASURE(8.),#1);"
    )
    assert read(simple + limits).dimensions[0].nominal == pytest.approx(8.0)


@pytest.mark.parametrize(
    ("entity", "kind", "faces"),
    [
        ("DIMENSIONAL_LOCATION('linear distance','',#110,#120)", "linear distance", (100, 101)),
        (
            "DIRECTED_DIMENSIONAL_LOCATION('linear distance inner','',#110,#120)",
            "linear distance inner",
            (100, 101),
        ),
        (
            "DIMENSIONAL_LOCATION_WITH_PATH('curved distance','',#110,#120,#110)",
            "curved distance",
            (100, 101),
        ),
        ("DIMENSIONAL_SIZE_WITH_PATH(#110,'curve length',#120)", "curve length", (100,)),
        (
            "(DATUM_FEATURE()DIMENSIONAL_SIZE(#110,'diameter')DIMENSIONAL_SIZE_WITH_DATUM_FEATURE()"
            "SHAPE_ASPECT('','',#9,.T.))",
            "diameter",
            (100,),
        ),
    ],
)
def test_locations_and_sizes_of_every_kind(entity: str, kind: str, faces: tuple[int, ...]) -> None:
    text = f"#50={entity};#51=PLUS_MINUS_TOLERANCE(#52,#50);#52=TOLERANCE_VALUE(#53,#54);"
    text += (
        f"#53={MM.format(-0.2)};#54={MM.format(0.3)};#55=DIMENSIONAL_CHARACTERISTIC_REPRESENTATION(#50,#56);"
    )
    text += "#56=SHAPE_DIMENSION_REPRESENTATION('',(#57),$);" + VALUE.format(57, 30.0, "nominal value", "")
    (d,) = read(text).dimensions
    assert (d.kind, d.nominal, d.faces) == (kind, 30.0, faces)
    assert (d.lower, d.upper) == pytest.approx((-0.2, 0.3))


@pytest.mark.parametrize(
    "entity", ["ANGULAR_SIZE(#110,'angle',.SMALL.)", "ANGULAR_LOCATION('','',#110,#120,.EQUAL.)"]
)
def test_angles_of_one_feature_and_between_two(entity: str) -> None:
    angle = "PLANE_ANGLE_MEASURE_WITH_UNIT(PLANE_ANGLE_MEASURE({}),#7)"
    text = f"#50={entity};#51=PLUS_MINUS_TOLERANCE(#52,#50);#52=TOLERANCE_VALUE(#53,#54);"
    text += f"#53={angle.format(-1.0)};#54={angle.format(0.5)};"
    text += "#55=DIMENSIONAL_CHARACTERISTIC_REPRESENTATION(#50,#56);"
    text += "#56=SHAPE_DIMENSION_REPRESENTATION('',(#57),$);"
    text += (
        "#57=(MEASURE_REPRESENTATION_ITEM()MEASURE_WITH_UNIT(PLANE_ANGLE_MEASURE(90.),#7)"
        "PLANE_ANGLE_MEASURE_WITH_UNIT()REPRESENTATION_ITEM('nominal value'));"
    )
    (d,) = read(text).dimensions
    assert d.kind == "angle"
    assert (d.nominal, d.lower, d.upper) == pytest.approx(tuple(map(math.radians, (90, -1, 0.5))))


def test_a_table_of_general_tolerances_is_named() -> None:
    text = FLAT.format("#110") + "#70=DEFAULT_TOLERANCE_TABLE('',(#71),$);"
    (u,) = read(text).unread
    assert u.type == "DEFAULT_TOLERANCE_TABLE" and "name their class in the job" in u.why


@pytest.mark.parametrize("base", ["COMMON_DATUM_LIST((#53))", "(#53)", "COMMON_DATUM_LIST((#54))"])
def test_datum_references_in_a_circle_are_named_and_end(base: str) -> None:
    """Own rule: a reference to itself is counted as not read; it was followed without end."""
    text = POSITION.format("#52", "") + "#52=DATUM_SYSTEM('',$,#9,.F.,(#53));"
    text += f"#53=DATUM_REFERENCE_COMPARTMENT('',$,#9,.F.,{base},$);"
    text += "#54=DATUM_REFERENCE_COMPARTMENT('',$,#9,.F.,COMMON_DATUM_LIST((#53)),$);"
    found = read(text)
    assert not found.tolerances
    assert [u.why for u in found.unread] == ["its datum references lead round in a circle"]


def test_a_unit_defined_by_itself_is_no_unit() -> None:
    """Own rule: its size is unknown, and what is measured in it is not read."""
    length = (
        "#1=(CONVERSION_BASED_UNIT('INCH',#2)LENGTH_UNIT()NAMED_UNIT(*));"
        "#2=LENGTH_MEASURE_WITH_UNIT(LENGTH_MEASURE(25.4),#1);"
        "#3=(CONVERSION_BASED_UNIT('DEGREE',#4)NAMED_UNIT(*)PLANE_ANGLE_UNIT());"
        "#4=PLANE_ANGLE_MEASURE_WITH_UNIT(PLANE_ANGLE_MEASURE(0.0174),#3);"
    )
    entities = part21.statements(f"DATA;{length}ENDSEC;")
    assert math.isnan(measures.length_unit(entities, part21.Ref(1))[1])
    assert math.isnan(measures.measure(entities, part21.Ref(2), 1))
    assert math.isnan(measures.angle(entities, part21.Ref(4)))


def test_lists_in_one_another_have_a_limit() -> None:
    """Own rule: refused in one sentence, however deep."""
    good = "(" * 40 + "1" + ")" * 40
    assert part21.arguments(good)
    with pytest.raises(JawrightError, match="more than 50 lists in one another"):
        part21.arguments("(" * 20_000 + ")" * 20_000)
