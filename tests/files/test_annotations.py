"""Semantic annotations of an exchange file: values, signs, datums, modifiers, and what is not understood.

The statements follow the entity definitions of ISO 10303-47 and ISO 10303-242.
"""

from __future__ import annotations

import math
import random
import re

import pytest

from jawright.files.annotations import Annotations, is_tolerance, read_annotations
from jawright.files.part21 import statements

UNITS = """
#1=(LENGTH_UNIT()NAMED_UNIT(*)SI_UNIT(.MILLI.,.METRE.));
#2=LENGTH_MEASURE_WITH_UNIT(LENGTH_MEASURE(25.4),#1);
#3=(CONVERSION_BASED_UNIT('INCH',#2)LENGTH_UNIT()NAMED_UNIT(#4));
#4=DIMENSIONAL_EXPONENTS(1.,0.,0.,0.,0.,0.,0.);
#5=(NAMED_UNIT(*)PLANE_ANGLE_UNIT()SI_UNIT($,.RADIAN.));
#6=PLANE_ANGLE_MEASURE_WITH_UNIT(PLANE_ANGLE_MEASURE(0.017453292519943295),#5);
#7=(CONVERSION_BASED_UNIT('DEGREE',#6)NAMED_UNIT(#8)PLANE_ANGLE_UNIT());
#8=DIMENSIONAL_EXPONENTS(0.,0.,0.,0.,0.,0.,0.);
#9=PRODUCT_DEFINITION_SHAPE('','',#10);
#100=ADVANCED_FACE('',(),#0,.T.);#101=ADVANCED_FACE('',(),#0,.T.);#102=ADVANCED_FACE('',(),#0,.T.);
#103=ADVANCED_FACE('',(),#0,.T.);#104=EDGE_CURVE('',#0,#0,#0,.T.);
#110=SHAPE_ASPECT('','',#9,.T.);#111=GEOMETRIC_ITEM_SPECIFIC_USAGE('','',#110,#0,#100);
#120=SHAPE_ASPECT('','',#9,.T.);#121=GEOMETRIC_ITEM_SPECIFIC_USAGE('','',#120,#0,#101);
#130=DATUM('',$,#9,.F.,'A');#131=DATUM_FEATURE('',$,#9,.T.);
#132=SHAPE_ASPECT_RELATIONSHIP('','',#131,#130);#133=GEOMETRIC_ITEM_SPECIFIC_USAGE('','',#131,#0,#102);
#140=DATUM('',$,#9,.F.,'B');#141=DATUM_FEATURE('',$,#9,.T.);
#142=SHAPE_ASPECT_RELATIONSHIP('','',#140,#141);
#143=ITEM_IDENTIFIED_REPRESENTATION_USAGE('','',#141,#0,SET_REPRESENTATION_ITEM((#103,#104)));
"""


def read(text: str) -> Annotations:
    return read_annotations(statements(f"DATA;\n{UNITS}\n{text}\nENDSEC;"))


def only(text: str) -> tuple[str, float, tuple[str, ...], tuple[int, ...]]:
    found = read(text)
    assert not found.unread
    (t,) = found.tolerances
    return t.kind, t.zone, t.datums, t.faces


MM = "LENGTH_MEASURE_WITH_UNIT(LENGTH_MEASURE({}),#1)"


# ---- tolerances ----------------------------------------------------------------------------


def test_a_simple_tolerance_in_inches() -> None:
    text = "#50=FLATNESS_TOLERANCE('','',#51,#110);#51=LENGTH_MEASURE_WITH_UNIT(LENGTH_MEASURE(0.01),#3);"
    assert only(text) == ("flatness", pytest.approx(0.254, rel=1e-12), (), (100,))


@pytest.mark.parametrize(
    ("entity", "kind"),
    [
        ("ANGULARITY", "angularity"),
        ("CIRCULAR_RUNOUT", "circular run-out"),
        ("COAXIALITY", "coaxiality"),
        ("CONCENTRICITY", "concentricity"),
        ("PARALLELISM", "parallelism"),
        ("PERPENDICULARITY", "perpendicularity"),
        ("SYMMETRY", "symmetry"),
        ("TOTAL_RUNOUT", "total run-out"),
    ],
)
def test_kinds_with_datums_in_their_order(entity: str, kind: str) -> None:
    text = (
        f"#50={entity}_TOLERANCE('','',#51,#110,(#52));#51={MM.format(0.1)};"
        "#52=DATUM_SYSTEM('',$,#9,.F.,(#53,#54));"
        "#53=DATUM_REFERENCE_COMPARTMENT('',$,#9,.F.,#140,$);"
        "#54=DATUM_REFERENCE_COMPARTMENT('',$,#9,.F.,#130,$);"
    )
    assert only(text) == (kind, pytest.approx(0.1), ("B", "A"), (100,))


@pytest.mark.parametrize(
    ("entity", "kind"),
    [
        ("CYLINDRICITY", "cylindricity"),
        ("LINE_PROFILE", "profile of a line"),
        ("ROUNDNESS", "roundness"),
        ("STRAIGHTNESS", "straightness"),
        ("SURFACE_PROFILE", "profile of a surface"),
    ],
)
def test_kinds_of_form(entity: str, kind: str) -> None:
    text = f"#50={entity}_TOLERANCE('','',#51,#110);#51={MM.format(0.05)};"
    assert only(text)[:2] == (kind, pytest.approx(0.05))


POSITION = (
    "#50=(GEOMETRIC_TOLERANCE('','',#51,#110)GEOMETRIC_TOLERANCE_WITH_DATUM_REFERENCE(({}))"
    "GEOMETRIC_TOLERANCE_WITH_MODIFIERS(({}))POSITION_TOLERANCE());#51=" + MM.format(0.3) + ";"
)


def test_modifiers_zone_and_material_condition() -> None:
    text = (
        POSITION.format("#52", ".MAXIMUM_MATERIAL_REQUIREMENT.,.FREE_STATE.")
        + "#52=DATUM_SYSTEM('',$,#9,.F.,(#53));"
        "#53=DATUM_REFERENCE_COMPARTMENT('',$,#9,.F.,#140,"
        "(SIMPLE_DATUM_REFERENCE_MODIFIER(.MAXIMUM_MATERIAL_REQUIREMENT.)));"
        "#60=TOLERANCE_ZONE('',$,#9,.F.,(#50),#61);#61=TOLERANCE_ZONE_FORM('cylindrical or circular');"
        f"#62=PROJECTED_ZONE_DEFINITION(#60,(),#110,#63);#63={MM.format(12.0)};"
    )
    (t,) = read(text).tolerances
    assert t.material == "maximum" and t.diametral is True
    assert t.modifiers == (
        "free state",
        "datum B maximum material requirement",
        "zone projected by 12 mm",
    )


@pytest.mark.parametrize(
    ("form", "round_"),
    [
        ("within a cylinder", True),
        ("within a sphere", True),
        ("spherical", True),
        ("between two equidistant surfaces", False),
        ("parallelepipedic", False),
    ],
)
def test_forms_of_zones(form: str, round_: bool) -> None:
    text = POSITION.format("", ".LEAST_MATERIAL_REQUIREMENT.")
    text += f"#60=TOLERANCE_ZONE('',$,#9,.F.,(#50),#61);#61=TOLERANCE_ZONE_FORM('{form}');"
    (t,) = read(text).tolerances
    assert t.diametral is round_ and t.material == "least"


def test_a_zone_form_that_the_file_does_not_name_is_unknown() -> None:
    assert read(POSITION.format("", "")).tolerances[0].diametral is None


def test_areas_and_shifted_zones_are_kept_in_words() -> None:
    text = (
        "#50=(FLATNESS_TOLERANCE()GEOMETRIC_TOLERANCE('','',#51,#110)"
        "GEOMETRIC_TOLERANCE_WITH_DEFINED_AREA_UNIT(.RECTANGULAR.,#53)"
        f"GEOMETRIC_TOLERANCE_WITH_DEFINED_UNIT(#52));#51={MM.format(0.1)};#52={MM.format(25)};#53={MM.format(40)};"
        "#70=(GEOMETRIC_TOLERANCE('','',#51,#110)SURFACE_PROFILE_TOLERANCE()"
        "UNEQUALLY_DISPOSED_GEOMETRIC_TOLERANCE(#71));#71=" + MM.format(0.02) + ";"
    )
    flat, profile = read(text).tolerances
    assert flat.modifiers == ("rectangular area × 40 mm", "on each 25 mm")
    assert profile.modifiers == ("unequally disposed by 0.02 mm",)


def test_the_lower_frame_of_a_composite_says_so() -> None:
    text = (
        f"#50=FLATNESS_TOLERANCE('','',#51,#110);#51={MM.format(0.1)};#55=FLATNESS_TOLERANCE('','',#51,#110);"
        "#56=GEOMETRIC_TOLERANCE_RELATIONSHIP('composite','',#50,#55);"
    )
    assert [t.modifiers for t in read(text).tolerances] == [(), ("composite, below #50",)]


def test_common_datums_and_the_older_form_of_references() -> None:
    common = POSITION.format("#52", "") + (
        "#52=DATUM_SYSTEM('',$,#9,.F.,(#53));"
        "#53=DATUM_REFERENCE_COMPARTMENT('',$,#9,.F.,COMMON_DATUM_LIST((#54,#55)),$);"
        "#54=DATUM_REFERENCE_ELEMENT('',$,#9,.F.,#130,$);#55=DATUM_REFERENCE_ELEMENT('',$,#9,.F.,#140,$);"
    )
    assert only(common)[2] == ("A-B",)
    older = POSITION.format("#52,#53", "") + "#52=DATUM_REFERENCE(2,#130);#53=DATUM_REFERENCE(1,#140);"
    assert only(older)[2] == ("B", "A")


def test_a_pattern_governs_all_its_features_and_only_those() -> None:
    text = (
        "#70=COMPOSITE_SHAPE_ASPECT('','',#9,.T.);#71=SHAPE_ASPECT_RELATIONSHIP('','',#70,#110);"
        "#72=SHAPE_ASPECT_RELATIONSHIP('','',#70,#120);#73=CENTRE_OF_SYMMETRY('','',#9,.F.);"
        "#74=SHAPE_ASPECT_DERIVING_RELATIONSHIP('','',#73,#120);"
        f"#50=FLATNESS_TOLERANCE('','',#51,#70);#51={MM.format(0.1)};"
        "#55=FLATNESS_TOLERANCE('','',#51,#120);#56=FLATNESS_TOLERANCE('','',#51,#73);"
        "#57=FLATNESS_TOLERANCE('','',#51,#9);"
    )
    whole, part, center, everywhere = read(text).tolerances
    assert whole.faces == (100, 101) and part.faces == (101,) and center.faces == (101,)
    assert everywhere.everywhere and not whole.everywhere


def test_a_tolerance_of_a_size_governs_the_sized_feature() -> None:
    text = f"#50=STRAIGHTNESS_TOLERANCE('','',#51,#52);#51={MM.format(0.1)};"
    text += "#52=DIMENSIONAL_SIZE(#120,'diameter');"
    assert only(text)[3] == (101,)


# ---- datums --------------------------------------------------------------------------------


def test_datums_by_features_in_either_direction() -> None:
    found = read("").datums
    assert [(d.letter, d.faces) for d in found] == [("A", (102,)), ("B", (103,))]


def test_datums_by_targets_take_their_feature_or_their_place() -> None:
    text = (
        "#70=DATUM('',$,#9,.F.,'C');#71=PLACED_DATUM_TARGET_FEATURE('','point',#9,.T.,'1');"
        "#72=SHAPE_ASPECT_RELATIONSHIP('','',#71,#70);"
        "#73=FEATURE_FOR_DATUM_TARGET_RELATIONSHIP('',$,#120,#71);"
        "#80=DATUM('',$,#9,.F.,'D');#81=PLACED_DATUM_TARGET_FEATURE('','line',#9,.T.,'1');"
        "#82=SHAPE_ASPECT_RELATIONSHIP('','',#81,#80);#83=PROPERTY_DEFINITION('',$,#81);"
        "#84=SHAPE_DEFINITION_REPRESENTATION(#83,#85);"
        "#85=SHAPE_REPRESENTATION_WITH_PARAMETERS('',(#86,#90),#91);"
        "#86=AXIS2_PLACEMENT_3D('orientation',#87,#88,#89);#87=CARTESIAN_POINT('',(1.,2.,3.));"
        "#88=DIRECTION('',(0.,0.,1.));#89=DIRECTION('',(0.,1.,0.));"
        "#90=(LENGTH_MEASURE_WITH_UNIT()MEASURE_REPRESENTATION_ITEM()MEASURE_WITH_UNIT(LENGTH_MEASURE(2.),#3)"
        "REPRESENTATION_ITEM('target length'));"
        "#91=(GEOMETRIC_REPRESENTATION_CONTEXT(3)GLOBAL_UNIT_ASSIGNED_CONTEXT((#3,#5))"
        "REPRESENTATION_CONTEXT('',''));"
    )
    c, d = read(text).datums[2:]
    assert c.faces == (101,) and not c.points
    assert not d.faces
    ((first, second, third),) = d.points
    assert first == pytest.approx((25.4, 50.8, 76.2))
    assert second == pytest.approx((25.4, 50.8 + 12.7, 76.2)) and third == pytest.approx((25.4, 38.1, 76.2))


# ---- dimensions ----------------------------------------------------------------------------


def limits(lower: float, upper: float) -> str:
    return (
        "#50=DIMENSIONAL_SIZE(#110,'diameter');#51=PLUS_MINUS_TOLERANCE(#52,#50);#52=TOLERANCE_VALUE(#53,#54);"
        f"#53={MM.format(lower)};#54={MM.format(upper)};"
        "#55=DIMENSIONAL_CHARACTERISTIC_REPRESENTATION(#50,#56);#56=SHAPE_DIMENSION_REPRESENTATION('',(#57),$);"
        "#57=(LENGTH_MEASURE_WITH_UNIT()MEASURE_REPRESENTATION_ITEM()MEASURE_WITH_UNIT(LENGTH_MEASURE(10.),#1)"
        "REPRESENTATION_ITEM('nominal value'));"
    )


@pytest.mark.parametrize(
    ("lower", "upper"), [(0.02, 0.05), (-0.05, -0.02), (-0.02, 0.05), (0.0, 0.0762), (-0.1, 0.1)]
)
def test_limits_keep_their_signs(lower: float, upper: float) -> None:
    (d,) = read(limits(lower, upper)).dimensions
    assert (d.kind, d.nominal, d.faces) == ("diameter", pytest.approx(10.0), (100,))
    assert (d.lower, d.upper) == pytest.approx((lower, upper))


def test_each_limit_has_its_own_unit() -> None:
    text = limits(-0.1, 0.1).replace("LENGTH_MEASURE(-0.1),#1", "LENGTH_MEASURE(-0.012),#3")
    (d,) = read(text).dimensions
    assert (d.lower, d.upper) == pytest.approx((-0.3048, 0.1))


def test_limits_given_as_two_sizes() -> None:
    item = (
        "#{}=(LENGTH_MEASURE_WITH_UNIT()MEASURE_REPRESENTATION_ITEM()MEASURE_WITH_UNIT(LENGTH_MEASURE({}),#1)"
        "REPRESENTATION_ITEM('{} limit'));"
    )
    text = (
        f"#40=FLATNESS_TOLERANCE('','',#41,#110);#41={MM.format(0.1)};"
        "#50=DIMENSIONAL_SIZE(#110,'diameter');"
        "#55=DIMENSIONAL_CHARACTERISTIC_REPRESENTATION(#50,#56);#56=SHAPE_DIMENSION_REPRESENTATION('',(#57,#58),$);"
    )
    (d,) = read(text + item.format(57, 10.05, "upper") + item.format(58, 10.02, "lower")).dimensions
    assert d.nominal + d.lower == pytest.approx(10.02) and d.nominal + d.upper == pytest.approx(10.05)


def test_an_angle_in_degrees() -> None:
    text = (
        "#50=ANGULAR_LOCATION('',$,#110,#120,.SMALL.);#51=PLUS_MINUS_TOLERANCE(#52,#50);"
        "#52=TOLERANCE_VALUE(#53,#54);"
        "#53=PLANE_ANGLE_MEASURE_WITH_UNIT(PLANE_ANGLE_MEASURE(-0.5),#7);"
        "#54=PLANE_ANGLE_MEASURE_WITH_UNIT(PLANE_ANGLE_MEASURE(0.25),#7);"
        "#55=DIMENSIONAL_CHARACTERISTIC_REPRESENTATION(#50,#56);#56=SHAPE_DIMENSION_REPRESENTATION('',(#57),$);"
        "#57=(MEASURE_REPRESENTATION_ITEM()MEASURE_WITH_UNIT(PLANE_ANGLE_MEASURE(60.),#7)"
        "PLANE_ANGLE_MEASURE_WITH_UNIT()REPRESENTATION_ITEM('nominal value'));"
    )
    (d,) = read(text).dimensions
    assert (d.kind, d.faces) == ("angle", (100, 101))
    assert (d.nominal, d.lower, d.upper) == pytest.approx(tuple(math.radians(v) for v in (60, -0.5, 0.25)))


def test_a_basic_dimension_is_none_with_limits() -> None:
    text = limits(0, 0).replace("PLUS_MINUS_TOLERANCE", "SOMETHING_ELSE")
    assert read(text).dimensions == () and read(text).unread == ()


# ---- what is not understood ----------------------------------------------------------------


@pytest.mark.parametrize(
    ("text", "why"),
    [
        (f"#50=SHINE_TOLERANCE('','',#51,#110);#51={MM.format(0.1)};", "its kind is not known"),
        ("#50=FLATNESS_TOLERANCE('','',#99,#110);", "its value or unit cannot be read"),
        (f"#50=FLATNESS_TOLERANCE('','',#51);#51={MM.format(0.1)};", "lacks its value or feature"),
        (f"#50=FLATNESS_TOLERANCE('','',#51,#99);#51={MM.format(0.1)};", "a reference leads nowhere"),
        (f"#50=FLATNESS_TOLERANCE('','',#51,#110);#51={MM.format(-0.1)};", "its value or unit"),
        (POSITION.format("#52", "") + "#52=DATUM_REFERENCE('x',#130);", "its datum reference cannot be read"),
        (POSITION.format("#52", "") + "#52=DATUM_REFERENCE(1,#110);", "has no letter"),
    ],
)
def test_what_cannot_be_read_is_named_with_the_reason(text: str, why: str) -> None:
    found = read(text)
    assert not found.tolerances
    (lost,) = found.unread
    assert lost.entity == 50 and why in lost.why


def test_the_class_of_a_fit_gives_the_limits_of_the_standard() -> None:
    """H7 over 6 up to 10 mm is +15/0 µm (ISO 286-1)."""
    text = limits(0, 0).replace("TOLERANCE_VALUE(#53,#54)", "LIMITS_AND_FITS('H','hole','IT7','')")
    (d,) = read(text).dimensions
    assert (d.lower, d.upper) == pytest.approx((0.0, 0.015))


def test_a_fit_class_that_is_not_known_is_named_and_not_made_up() -> None:
    text = limits(0, 0).replace("TOLERANCE_VALUE(#53,#54)", "LIMITS_AND_FITS('ZC','hole','7','')")
    found = read(text)
    assert not found.dimensions
    assert ["its limits are given as the class ZC7, not known here" in u.why for u in found.unread] == [True]


def test_a_file_without_annotations_has_none() -> None:
    found = read_annotations(statements("DATA;#1=ADVANCED_FACE('',(),#0,.T.);ENDSEC;"))
    assert (found.datums, found.tolerances, found.dimensions, found.unread) == ((), (), (), ())


def test_annotations_written_against_the_standard_never_stop_the_reader() -> None:
    """Arguments lost, doubled and exchanged: what is left is read, the rest named."""
    sound = (
        UNITS
        + limits(0.02, 0.05)
        + POSITION.replace("#50", "#60").replace("#51", "#61").format("#62", ".FREE_STATE.")
        + "#62=DATUM_SYSTEM('',$,#9,.F.,(#63,#64));#63=DATUM_REFERENCE_COMPARTMENT('',$,#9,.F.,#140,$);"
        "#64=DATUM_REFERENCE_COMPARTMENT('',$,#9,.F.,COMMON_DATUM_LIST((#65)),$);"
        "#65=DATUM_REFERENCE_ELEMENT('',$,#9,.F.,#130,$);"
        "#66=TOLERANCE_ZONE('',$,#9,.F.,(#60),#67);#67=TOLERANCE_ZONE_FORM('within a cylinder');"
        "#68=PROJECTED_ZONE_DEFINITION(#66,(),#110,#61);"
    )
    counted = 0
    for seed in range(200):
        rng = random.Random(seed)
        parts = sound.replace("\n", "").split(";")[:-1]
        for i in rng.sample(range(len(parts)), 6):
            parts[i] = rng.choice(ODD)(parts[i], rng)
        entities = statements(f"DATA;{';'.join(parts)};ENDSEC;")
        found = read_annotations(entities)
        tolerances = {t.entity for t in found.tolerances}
        lost = {u.entity for u in found.unread}
        text = {n for n, s in entities.items() if is_tolerance(s)}
        assert tolerances <= text <= tolerances | lost, seed
        counted += len(lost)
    assert counted > 50


ODD = (
    lambda p, _: re.sub(r",[^,()]*\)", ")", p, count=1),
    lambda p, _: p.replace(",", ",$,", 1),
    lambda p, r: re.sub(r"#\d+(?=[,)])", lambda _: f"#{r.choice((1, 50, 60, 100, 110, 130, 999))}", p),
    lambda p, r: re.sub(r"(?<=[(,])#\d+", r.choice(("$", "*", ".T.", "3", "(#1,#2)", "X(2.)")), p, count=1),
    lambda p, _: re.sub(r"=\(?\w+", "=ODD_TOLERANCE", p, count=1) if "=(" not in p else p,
)
