"""Tolerances nobody typed: limits and material conditions of the file, and the print's general ones."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest

from jawright.hold.resolve import Ask, resolve
from jawright.job.model import ToleranceAsk
from jawright.job.read import read_job
from jawright.part.model import Face, Part
from part.test_print import FIRST, annotated, aspect, bore, down, hole_limits, length, number, position, up

DATUMS = """
[[datum]]
letter = "A"
at = ["0 mm", "-8 mm", "0 mm"]
[[datum]]
letter = "B"
at = ["10 mm", "6 mm", "6 mm"]
[[datum]]
letter = "C"
at = ["-30 mm", "-1 mm", "6 mm"]
"""
BORE = '[[feature]]\nname = "pivot"\nkind = "bore"\nat = ["13 mm", "-8 mm", "6 mm"]\n'
FACE = '[[feature]]\nname = "back"\nkind = "face"\nat = ["0 mm", "-8 mm", "12 mm"]\n'


def ask_of(folder: Path, part: Part, more: str, *, head: str = "") -> Ask:
    path = folder / "job.toml"
    path.write_text(
        f'[job]\nquantity = 5\n{head}[part]\nfile = "pawl.step"\nmaterial = "6061-T6"\n{more}',
        encoding="utf-8",
    )
    return resolve(part, read_job(path))


def with_all(*texts: Callable[[Part], str]) -> Callable[[Part], str]:
    return lambda part: "".join(t(part) for t in texts)


def at_maximum(part: Part) -> str:
    return position(part).replace("POSITION_TOLERANCE())", "GEOMETRIC_TOLERANCE_WITH_MODIFIERS("
                                  "(.MAXIMUM_MATERIAL_REQUIREMENT.))POSITION_TOLERANCE())")  # fmt: skip


def limits_beside(part: Part) -> str:
    return hole_limits(0.02, 0.05)(part).replace("#910", "#920")


def test_limits_and_material_condition_of_the_file_reach_the_feature(tmp_path: Path) -> None:
    part = annotated(tmp_path, with_all(at_maximum, limits_beside))
    ask = ask_of(tmp_path, part, BORE)
    by_kind = {t.kind: t for t in ask.tolerances}
    assert by_kind["position"].material == "maximum" and by_kind["position"].datums == ("A",)
    size = by_kind["size"]
    assert (size.zone, size.middle) == pytest.approx((0.03, 0.035)) and size.limits == pytest.approx(
        (0.02, 0.05)
    )
    assert size.basis.startswith("file #")
    assert [d.letter for d in ask.datums] == ["A"]


def test_what_the_job_types_stands_in_place_of_the_file(tmp_path: Path) -> None:
    part = annotated(tmp_path, with_all(at_maximum, limits_beside))
    typed = '[[tolerance]]\nfeature = "pivot"\nkind = "size"\nzone = "0.1 mm"\n'
    ask = ask_of(tmp_path, part, BORE + typed)
    assert [(t.kind, t.zone) for t in ask.tolerances] == [("size", 0.1), ("position", 0.2)]


def test_limits_of_a_radius_count_twice_and_those_of_something_else_not(tmp_path: Path) -> None:
    def radius(part: Part) -> str:
        return (
            limits_beside(part)
            .replace("'diameter'", "'radius'")
            .replace("LENGTH_MEASURE(10.)", "LENGTH_MEASURE(5.)")
        )

    (t,) = ask_of(tmp_path, annotated(tmp_path, radius), BORE).tolerances
    assert t.limits == pytest.approx((0.04, 0.10))

    def depth(part: Part) -> str:
        return limits_beside(part).replace("LENGTH_MEASURE(10.)", "LENGTH_MEASURE(12.)")

    assert ask_of(tmp_path, annotated(tmp_path, depth), BORE).tolerances == ()


def test_the_distance_from_a_datum(tmp_path: Path) -> None:
    def text(part: Part) -> str:
        return (
            position(part)
            + aspect(930_000, number(part, up))
            + "#930100=DIMENSIONAL_LOCATION('linear distance','',#930000,#911000);"
            + "#930101=PLUS_MINUS_TOLERANCE(#930102,#930100);#930102=TOLERANCE_VALUE(#930103,#930104);"
            + length(930_103, -0.1)
            + length(930_104, 0.02)
            + "#930105=DIMENSIONAL_CHARACTERISTIC_REPRESENTATION(#930100,#930106);"
            + "#930106=SHAPE_DIMENSION_REPRESENTATION('',(#930107),$);"
            + "#930107=(LENGTH_MEASURE_WITH_UNIT()MEASURE_REPRESENTATION_ITEM()"
            + f"MEASURE_WITH_UNIT(LENGTH_MEASURE(12.),#{FIRST})REPRESENTATION_ITEM('nominal value'));"
        )

    (t,) = ask_of(tmp_path, annotated(tmp_path, text), FACE).tolerances
    assert (t.feature, t.kind, t.datums) == ("back", "distance", ("A",))
    assert t.limits == pytest.approx((-0.1, 0.02))


def zone(more: str) -> Callable[[Part], str]:
    def text(part: Part) -> str:
        return (
            position(part)
            + f"#940000=TOLERANCE_ZONE('',$,#{FIRST + 1},.F.,(#913000),#940001);"
            + "#940001=TOLERANCE_ZONE_FORM('within a cylinder');"
            + more
        )

    return text


def modified(word: str) -> Callable[[Part], str]:
    words = f"(SIMPLE_DATUM_REFERENCE_MODIFIER(.{word}.))"
    return lambda part: position(part).replace("#912000,$);", f"#912000,{words});")


def test_a_datum_at_maximum_material_is_taken_so(tmp_path: Path) -> None:
    ask = ask_of(tmp_path, annotated(tmp_path, modified("MAXIMUM_MATERIAL_REQUIREMENT")), BORE)
    assert [t.boundary for t in ask.tolerances] == [("A",)]
    assert not any("shift" in n or "also says" in n for n in ask.notes)


def test_a_datum_at_least_material_is_not_and_that_is_told(tmp_path: Path) -> None:
    ask = ask_of(tmp_path, annotated(tmp_path, modified("LEAST_MATERIAL_REQUIREMENT")), BORE)
    assert [t.boundary for t in ask.tolerances] == [()]
    told = " / ".join(ask.notes)
    assert "datum A least material requirement: the shift it allows is not counted" in told


def test_limits_of_a_datum_bore_are_the_room_it_shifts_in(tmp_path: Path) -> None:
    part = annotated(tmp_path, limits_beside)
    ask = ask_of(tmp_path, part, '[[datum]]\nletter = "D"\nat = ["18 mm", "-8 mm", "6 mm"]\n')
    assert [(d.kind, d.size) for d in ask.datums] == [("bore", pytest.approx(0.03))]


@pytest.mark.parametrize(
    ("up_is", "face", "end"),
    [
        ("+Z", up, "top"),
        ("+Z", down, "bottom"),
        ("-Z", up, "bottom"),
        ("-Z", down, "top"),
        ("+Z", bore, "either"),
        ("", up, "either"),
    ],
)
def test_a_projected_zone_stands_out_of_the_end_its_face_says(
    tmp_path: Path, up_is: str, face: Callable[[Face], bool], end: str
) -> None:
    def text(part: Part) -> str:
        projected = "#940002=PROJECTED_ZONE_DEFINITION(#940000,(),#960000,#940003);" + length(940_003, 15.0)
        return zone(projected + aspect(960_000, number(part, face)))(part)

    head = f'[hold]\nup = "{up_is}"\n' if up_is else ""
    ask = ask_of(tmp_path, annotated(tmp_path, text), BORE + head)
    (t,) = ask.tolerances
    assert (t.projected, t.beyond, t.from_end, t.unread) == (15.0, 0.0, end, "")
    assert any("its zone stands 15 mm out of the part: judged there" in n for n in ask.notes)


def test_a_projected_zone_without_a_height_is_not_judged(tmp_path: Path) -> None:
    text = zone("#940002=PROJECTED_ZONE_DEFINITION(#940000,(),#910000,$);")
    ask = ask_of(tmp_path, annotated(tmp_path, text), BORE)
    assert [t.projected for t in ask.tolerances] == [0.0]
    assert "does not say readably how far" in ask.tolerances[0].unread
    assert any("does not say readably how far" in n for n in ask.notes)


@pytest.mark.parametrize(
    ("value", "note", "middle"),
    [
        (0.1, "", -0.1),  # nothing names the standard: as ASME Y14.5 writes it, and the question is told
        (0.4, "", 0.2),
        (0.0, "", -0.2),
        (0.1, "ASME Y14.5-2009", -0.1),
        (0.1, "ISO 1101", 0.1),
        (-0.1, "", -0.1),  # below zero it can only be the middle that is moved
        (0.5, "", 0.5),
    ],
)
def test_an_unequal_zone_is_aimed_at_its_middle(
    tmp_path: Path, value: float, note: str, middle: float
) -> None:
    def text(part: Part) -> str:
        return (
            aspect(910_000, number(part, up))
            + "#913000=(GEOMETRIC_TOLERANCE('','',#913001,#910000)SURFACE_PROFILE_TOLERANCE()"
            + "UNEQUALLY_DISPOSED_GEOMETRIC_TOLERANCE(#913002));"
            + length(913_001, 0.4)
            + length(913_002, value)
            + f"#913003=DESCRIPTIVE_REPRESENTATION_ITEM('note','{note} applies');"
        )

    part = annotated(tmp_path, text)
    ask = ask_of(tmp_path, part, FACE)
    (t,) = ask.tolerances
    assert (t.zone, t.middle) == (0.4, pytest.approx(middle))
    side = "outside" if middle > 0 else "inside"
    assert any(f"cut {abs(middle):g} mm {side} of it" in n for n in ask.notes)
    open_question = not note and 0 <= value <= 0.4
    assert any("look at the print" in f.what for f in part.findings) == open_question


def test_a_tolerance_of_the_whole_part_holds_only_where_nothing_closer_does(tmp_path: Path) -> None:
    def all_over(_: Part) -> str:
        return f"#950000=SURFACE_PROFILE_TOLERANCE('','',#950001,#{FIRST + 1});" + length(950_001, 0.8)

    ask = ask_of(tmp_path, annotated(tmp_path, with_all(position, all_over)), BORE + FACE)
    assert sorted((t.feature, t.kind) for t in ask.tolerances) == [
        ("back", "profile of a surface"),
        ("pivot", "position"),
    ]


# ---- general tolerances --------------------------------------------------------------------


def half(t: ToleranceAsk) -> tuple[str, str, tuple[str, ...], float]:
    return t.feature, t.kind, t.datums, round(0.5 * t.zone, 9)


@pytest.mark.parametrize(
    ("grade", "size", "near", "far"), [("f", 0.1, 0.1, 0.15), ("m", 0.2, 0.2, 0.3), ("c", 0.5, 0.5, 0.8)]
)
def test_iso_2768_stands_where_nothing_else_does(
    tmp_path: Path, grade: str, size: float, near: float, far: float
) -> None:
    """ISO 2768-1 table 1, read: over 6 up to 30 mm, over 30 up to 120 mm; the bore is 14 and 43 mm away."""
    part = annotated(tmp_path, lambda _: "")
    ask = ask_of(tmp_path, part, DATUMS + BORE + FACE, head=f'general = "ISO 2768-{grade}"\n')
    assert sorted(map(half, ask.tolerances)) == [
        ("back", "distance", ("A",), near),
        ("pivot", "distance", ("B",), near),
        ("pivot", "distance", ("C",), far),
        ("pivot", "size", (), size),
    ]
    assert all(t.basis == f"general ISO 2768-{grade}" for t in ask.tolerances)
    assert any("stand where the print says no other: pivot, back" in n for n in ask.notes)


def test_a_position_leaves_only_the_size_to_the_general_ones(tmp_path: Path) -> None:
    typed = '[[tolerance]]\nfeature = "pivot"\nkind = "position"\nzone = "0.1 mm"\ndatums = ["A", "B", "C"]\n'
    part = annotated(tmp_path, lambda _: "")
    ask = ask_of(tmp_path, part, DATUMS + BORE + typed, head='general = "ISO 2768-m"\n')
    assert [t.kind for t in ask.tolerances] == ["position", "size"]


def test_plus_minus_by_decimals(tmp_path: Path) -> None:
    part = annotated(tmp_path, lambda _: "")
    head = 'general = "by decimals"\ndecimals_0 = "0.5 mm"\ndecimals_2 = "0.1 mm"\n'
    ask = ask_of(tmp_path, part, DATUMS + BORE, head=head)
    assert {half(t)[1:] for t in ask.tolerances} == {
        ("size", (), 0.5),
        ("distance", ("B",), 0.5),
        ("distance", ("C",), 0.5),
    }
    two = ask_of(
        tmp_path, part, DATUMS + BORE.replace('kind = "bore"', 'kind = "bore"\ndecimals = 2'), head=head
    )
    assert {t.zone for t in two.tolerances} == {0.2}
    none = ask_of(
        tmp_path, part, DATUMS + BORE.replace('kind = "bore"', 'kind = "bore"\ndecimals = 1'), head=head
    )
    assert none.tolerances == () and any(
        "no ± is given for dimensions with 1 decimals" in n for n in none.notes
    )


def test_the_whole_top_has_the_height_over_its_datum(tmp_path: Path) -> None:
    """A face that names no place is the whole top: with the side that is up said, its faces are known."""
    part = annotated(tmp_path, lambda _: "")
    whole = '[[feature]]\nname = "back"\nkind = "face"\n'
    head = 'general = "ISO 2768-m"\n'
    ask = ask_of(tmp_path, part, f'[hold]\nup = "+Z"\n{DATUMS}{whole}', head=head)
    assert [half(t) for t in ask.tolerances] == [("back", "distance", ("A",), 0.2)]
    (top,) = ask.features[0].faces
    assert part.faces[top].center[2] == pytest.approx(12.0)
    assert ask_of(tmp_path, part, DATUMS + whole, head=head).tolerances == ()  # which side is up is open


def test_without_datums_only_the_size_has_one(tmp_path: Path) -> None:
    part = annotated(tmp_path, lambda _: "")
    ask = ask_of(tmp_path, part, BORE + FACE, head='general = "ISO 2768-m"\n')
    assert [half(t) for t in ask.tolerances] == [("pivot", "size", (), 0.2)]
    assert ask_of(tmp_path, part, BORE + FACE).tolerances == ()
    assert number(part, bore) and number(part, down)
