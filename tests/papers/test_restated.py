"""Sentences read in the other unit: each number with its unit converted, names and words left alone."""

from __future__ import annotations

import re
from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from jawright.errors import JawrightError
from jawright.papers.content import content
from jawright.papers.restated import names_in, restated
from jawright.papers.show import words_of
from jawright.told import error_in, words
from papers import sample

TO_INCH = [
    ("drops in with 0.59 mm of room", "drops in with 0.023 in of room"),
    ("widths of 28.800 (no-go) to 31.056 mm (go)", "widths of 1.1339 (no-go) to 1.2227 in (go)"),
    ("pin hole 1: 2.50 mm of room under the part", "pin hole 1: 0.098 in of room under the part"),
    ("from pin hole 1 to 2.50 mm", "from pin hole 1 to 0.098 in"),
    ("limit [mm]: 0.01 (0.0005 in is felt)", "limit [in]: 0.0004 (0.0005 in is felt)"),
    ("position Ø0.1 to A|B|C", "position Ø0.004 to A|B|C"),
    ("parallelism 0.05 to A: all good", "parallelism 0.002 to A: all good"),
    ("Tighten to 18.0 N·m: from 15.1 N·m it holds", "Tighten to 13.3 lbf·ft: from 11.1 lbf·ft it holds"),
    ("At 4513 N (low 3147, high 6529) ± 10%", "At 1015 lbf (low 707 lbf, high 1468 lbf) ± 10%"),
    ("less than 0.001 mm", "less than 0.00004 in"),
    ("46.0 × 12.0 mm", "1.81 × 0.47 in"),
    ("16.5 MPa", "2.4 ksi"),
    ("round Ø12.00 mm, axis Z, 75.4 mm²", "round Ø0.472 in, axis Z, 0.117 in²"),
    ("hole Ø10.00 through, 12.0 mm long", "hole Ø0.394 through, 0.47 in long"),
    ("2 × A20x44, EM3, G54, DW-114, H7, 6061-T6", "2 × A20x44, EM3, G54, DW-114, H7, 6061-T6"),
    ("a thread of M6 and a drill of 5", "a thread of M6 and a drill of 5"),
]  # fmt: skip
TO_MM = [
    ("drops in with 0.023 in of room", "drops in with 0.58 mm of room"),
    ("under pin hole 1 in the fixed jaw", "under pin hole 1 in the fixed jaw"),
    ("hole 0.250 in the fixed jaw", "hole 0.250 in the fixed jaw"),
    ("13.3 lbf·ft", "18 N·m"),
    ("position Ø0.0079 to A|B|C", "position Ø0.201 to A|B|C"),
]


@pytest.mark.parametrize(("text", "said"), TO_INCH)
def test_millimeters_read_in_inch(text: str, said: str) -> None:
    assert words(text, "inch", "mm") == said
    assert words(text, "mm", "mm") == text


@pytest.mark.parametrize(("text", "said"), TO_MM)
def test_inches_read_in_millimeters(text: str, said: str) -> None:
    assert words(text, "mm", "inch") == said


@given(st.decimals(min_value="0.001", max_value="500", places=3))
def test_a_length_is_never_off_by_more_than_a_fiftieth(mm: object) -> None:
    got = re.fullmatch(r"(\d+\.?\d*) in", words(f"{mm} mm", "inch", "mm"))
    assert got is not None
    assert abs(25.4 * float(got[1]) - float(str(mm))) <= 0.02 * float(str(mm)) + 1e-12


def test_names_that_somebody_typed_stay() -> None:
    record = sample.good_record()
    assert record.hold is not None
    named = replace(record.hold.features[0], name="hole 6 mm")
    record = replace(record, hold=replace(record.hold, features=(named, *record.hold.features[1:])))
    assert names_in(record) == ("hole 6 mm",)
    said = words("hole 6 mm: 2.50 mm of room", "inch", "mm", names_in(record))
    assert said == "hole 6 mm: 0.098 in of room"


def test_a_whole_sheet_read_in_inch_has_no_millimeters_left() -> None:
    record = sample.good_record()
    assert record.job.units == "mm"
    inch = replace(record, job=replace(record.job, units="inch"))
    before = content(inch)
    said = restated(before, "inch", "mm", names_in(record))
    left = [w for w in words_of(said) if re.search(r"\d (mm|µm|N|N·m|MPa)(?![\w·/])", w)]
    assert left == []
    assert any("mm" in w for w in words_of(before)), "else this shows nothing"
    assert restated(before, "mm", "mm") is before


def test_both_ends_of_a_range_are_converted() -> None:
    assert words("0.01 to 0.1 mm of jaw travel", "inch", "mm") == "0.0004 to 0.004 in of jaw travel"
    assert words("cutter from pin hole 1 to 2.50 mm", "inch", "mm") == "cutter from pin hole 1 to 0.098 in"


def test_a_change_keeps_its_sign() -> None:
    assert words("change the offset by +0.0088 mm", "inch", "mm") == "change the offset by +0.00035 in"
    assert words("change it by -0.0210 mm", "inch", "mm") == "change it by -0.00083 in"


def test_an_error_is_told_in_the_reader_s_unit() -> None:
    was = JawrightError(
        "shop-no-blank", what="no jaw blank fits the part (101.6 × 50.8 × 25.4 mm)",
        where='job.toml: "6 mm hole"', todo='add one 25.4 mm thick, or write thickness = "12 mm"',
    )  # fmt: skip
    got = error_in(was, "inch")
    assert got.what == "no jaw blank fits the part (4.00 × 2.00 × 1.00 in)"
    assert got.where == was.where and got.todo == 'add one 1.00 in thick, or write thickness = "12 mm"'
    assert str(error_in(was, "mm")) == str(was)
