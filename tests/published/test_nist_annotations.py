"""Annotations of public test parts against what their files state and what was counted in their text.

Source: NIST model-based enterprise test cases CTC-01, CTC-03, FTC-06, FTC-08 and STC-07 (public
domain; attribution to the NIST project "MBE PMI Validation and Conformance Testing", no endorsement
implied). Counts and values were read in the text of the files. The files also carry
validation properties, written by the programs they come from: for each annotation the area of the
faces it is about, of a net of triangles, and its datum letters. The statements of FTC-06 below are
quoted from its file; the whole files are read where they are present (tests/parts/README.md).
"""

from __future__ import annotations

import math
from collections import Counter
from dataclasses import dataclass

import pytest

from jawright.errors import JawrightError
from jawright.files.annotations import read_annotations
from jawright.files.part21 import statements
from jawright.part.model import Part
from jawright.part.read import read_part
from parts.real import real

FTC_06 = """DATA;
#111=(GEOMETRIC_TOLERANCE('Position.21','',#9987,#977)GEOMETRIC_TOLERANCE_WITH_DATUM_REFERENCE((#329))
GEOMETRIC_TOLERANCE_WITH_MODIFIERS((.MAXIMUM_MATERIAL_REQUIREMENT.))POSITION_TOLERANCE());
#118=TOLERANCE_ZONE_FORM('cylindrical or circular');
#127=TOLERANCE_ZONE('',$,#9395,.F.,(#111),#118);
#146=FLATNESS_TOLERANCE('Flatness.1','',#9981,#2605);
#289=DATUM('',$,#9395,.F.,'B');
#290=DATUM('',$,#9395,.F.,'C');
#291=DATUM('',$,#9395,.F.,'A');
#308=DATUM_REFERENCE_COMPARTMENT('',$,#9395,.F.,#290,$);
#309=DATUM_REFERENCE_COMPARTMENT('',$,#9395,.F.,#291,$);
#310=DATUM_REFERENCE_COMPARTMENT('',$,#9395,.F.,#289,$);
#329=DATUM_SYSTEM('Datum System .5',$,#9395,.F.,(#308,#309,#310));
#977=COMPOSITE_SHAPE_ASPECT('','multiple elements',#9395,.T.);
#2605=SHAPE_ASPECT('','GDT',#9395,.T.);
#9960=(LENGTH_UNIT()NAMED_UNIT(*)SI_UNIT(.MILLI.,.METRE.));
#9962=LENGTH_MEASURE_WITH_UNIT(LENGTH_MEASURE(25.4),#9960);
#9981=LENGTH_MEASURE_WITH_UNIT(LENGTH_MEASURE(0.01000000000004),#10033);
#9987=LENGTH_MEASURE_WITH_UNIT(LENGTH_MEASURE(0.0250000000001),#10033);
#10033=(CONVERSION_BASED_UNIT('inch',#9962)LENGTH_UNIT()NAMED_UNIT(#10031));
ENDSEC;"""


def test_two_tolerances_of_ftc_06_in_full() -> None:
    """Flatness 0.01 in, and position 0.025 in at maximum material to C, A, B in that order; read."""
    position, flatness = read_annotations(statements(FTC_06)).tolerances
    assert (flatness.entity, flatness.kind) == (146, "flatness")
    assert flatness.zone == pytest.approx(0.254, abs=1e-9)
    assert flatness.datums == ()
    assert (position.entity, position.kind, position.material) == (111, "position", "maximum")
    assert position.zone == pytest.approx(0.635, abs=1e-9)
    assert position.datums == ("C", "A", "B") and position.diametral is True


@dataclass(frozen=True, slots=True)
class Counted:
    """What is in the text of a file, counted by hand: tolerances by kind, datum letters, ± dimensions."""

    name: str
    kinds: dict[str, int]
    letters: str
    limits: int
    stated: int  # datums and tolerances whose area the file states

    @property
    def tolerances(self) -> int:
        return sum(self.kinds.values())


FILES = [
    Counted(
        "nist_ctc_01_asme1_ap242-e1.stp",
        {"flatness": 1, "perpendicularity": 1, "position": 2, "profile of a surface": 2},
        "ABC",
        limits=8,  # 6 plus-minus and 2 given as two sizes
        stated=0,
    ),
    Counted(
        "nist_ctc_03_asme1_ap242-e2.stp",
        {
            "flatness": 1,
            "perpendicularity": 2,
            "angularity": 1,
            "position": 6,
            "profile of a surface": 3,
        },
        "ABCDEF",
        limits=8,
        stated=19,
    ),
    Counted(
        "nist_ftc_06_asme1_ap242-e2.stp",
        {"flatness": 3, "perpendicularity": 2, "position": 11, "profile of a surface": 12},
        "ABCDEFGHJK",
        limits=19,
        stated=29,
    ),
    Counted(
        "nist_stc_07_asme1_ap242-e3.stp",
        {
            "flatness": 1,
            "parallelism": 1,
            "perpendicularity": 1,
            "position": 9,
            "profile of a surface": 10,
        },
        "ABCDE",
        limits=45,  # 13 plus-minus and 32 radii given as two sizes
        stated=22,
    ),
]


def told(part: Part) -> str:
    return " / ".join(f.what for f in part.findings)


@pytest.mark.parametrize("c", FILES, ids=lambda c: c.name)
def test_every_tolerance_and_datum_is_read(c: Counted) -> None:
    part = read_part(real(c.name))
    assert part.tolerances_in_file == len(part.tolerances) == c.tolerances
    assert Counter(t.kind for t in part.tolerances) == c.kinds
    assert "".join(d.letter for d in part.datums) == c.letters
    assert all(d.faces for d in part.datums)
    assert len(part.dimensions) == c.limits
    assert f"all {c.tolerances} tolerances in the file were read" in told(part)


@pytest.mark.parametrize("c", FILES, ids=lambda c: c.name)
def test_faces_and_datum_letters_agree_with_what_the_file_states(c: Counted) -> None:
    words = told(read_part(real(c.name)))
    assert "differ from what the file states" not in words
    assert (f"the faces of {c.stated} datums and tolerances have the areas" in words) is (c.stated > 0)


def test_ftc_06_whole() -> None:
    part = read_part(real("nist_ftc_06_asme1_ap242-e2.stp"))
    by_source = {t.source: t for t in part.tolerances}
    flatness, position = by_source["file #146"], by_source["file #111"]
    assert flatness.zone == pytest.approx(0.254, abs=1e-9) and flatness.datums == ()
    assert position.zone == pytest.approx(0.635, abs=1e-9) and position.diametral
    assert position.datums == ("C", "A", "B") and position.material == "maximum"
    assert sum(t.material == "maximum" for t in part.tolerances) == 4
    assert all(part.faces[i].hollow for i in position.faces) and len(position.faces) == 4
    # the one tolerance for which the file names no face is told, not dropped
    assert [t.source for t in part.tolerances if not t.faces] == ["file #348"]
    assert "names no face of the solid for 1 of its tolerances" in told(part)


def test_stc_07_has_its_nine_positions_with_faces() -> None:
    part = read_part(real("nist_stc_07_asme1_ap242-e3.stp"))
    positions = [t for t in part.tolerances if t.kind == "position"]
    assert len(positions) == 9 and all(t.faces and t.diametral for t in positions)
    zones = [round(t.zone / 25.4, 9) for t in positions]  # inches, as printed
    assert sorted(zones) == [0.015, 0.02, 0.02, 0.023, 0.023, 0.04, 0.05, 0.06, 0.06]
    assert [t.material for t in positions].count("maximum") == 3
    assert {t.modifiers for t in positions if "statistical tolerance" in t.modifiers}


def test_limits_of_stc_07_and_ctc_01_keep_their_signs() -> None:
    pins = [d for d in read_part(real("nist_stc_07_asme1_ap242-e3.stp")).dimensions if d.nominal < 6.36]
    pins = [d for d in pins if d.kind in ("diameter", "size") and math.isclose(d.nominal, 6.35, rel_tol=1e-6)]
    assert len(pins) == 4
    assert sorted(round(d.lower / 25.4, 9) + 0.0 for d in pins) == [-0.001, 0.0, 0.0, 0.0]
    assert all(d.upper == pytest.approx(0.003 * 25.4, abs=1e-9) for d in pins)
    found = {
        (round(d.nominal, 6), round(d.lower, 6), round(d.upper, 6))
        for d in read_part(real("nist_ctc_01_asme1_ap242-e1.stp")).dimensions
    }
    assert {(35.0, -0.2, 0.0), (35.0, 0.0, 0.2), (20.0, -0.1, 0.05), (20.0, -0.05, 0.1)} <= found


def test_ftc_08_says_that_it_has_no_semantic_tolerances() -> None:
    path = real("nist_ftc_08_asme1_ap242-e1-tg.stp")
    held = read_annotations(statements(path.read_text(encoding="utf-8", errors="replace")))
    assert (held.tolerances, held.datums, held.dimensions, held.unread) == ((), (), (), ())
    with pytest.raises(JawrightError, match="the file holds no semantic tolerances") as e:
        read_part(path)
    assert e.value.code == "part-not-exact"


@pytest.mark.parametrize("name", ["nist_ctc_01_asme1_ap203.stp", "nist_ctc_03_asme1_ap203.stp"])
def test_drawn_notes_are_not_taken_for_tolerances(name: str) -> None:
    part = read_part(real(name))
    assert part.tolerances == () and "the file holds no semantic tolerances" in told(part)
