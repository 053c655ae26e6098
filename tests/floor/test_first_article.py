"""The first article's results, judged with their uncertainty."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from jawright.errors import JawrightError
from jawright.floor import first_table
from jawright.floor.adjust import Characteristic
from jawright.floor.first import conforms, is_first, judge_all, parse_results, read_notes, read_results
from jawright.floor.measured import characteristics
from papers import sample

TABLE = (
    Characteristic(1, "bore", "diameter", 10.0, 9.98, 10.02),
    Characteristic(2, "pin hole", "position", 0.0, -0.05, 0.05, axes=("X", "Y")),
    Characteristic(3, "face", "parallelism", 0.0, 0.0, 0.05, follows=False),
    Characteristic(4, "hole", "diameter", 6.0, None, None),
)


def judged(tmp_path: Path, text: str):
    file = tmp_path / "first.csv"
    file.write_text(text)
    return judge_all(TABLE, read_results(file))


def test_a_table_filled_in(tmp_path: Path) -> None:
    rows = judged(
        tmp_path,
        "balloon,result_mm,x_mm,y_mm,uncertainty_mm,resolution_mm\n"
        "1,10.016,,,0.005,0.01\n2,,0.03,0.04,0.004,\n3,0.02,,,0.005,0.001\n4,6.01,,,0.01,\n",
    )
    assert [r.judgment for r in rows] == ["not proven", "not proven", "in", None]
    assert "25%" in rows[0].why  # the gauge resolves a quarter of the tolerance
    assert rows[1].value == pytest.approx(0.1)  # twice hypot(0.03, 0.04), ASME Y14.5
    assert rows[1].high == pytest.approx(0.1)
    assert rows[1].uncertainty == pytest.approx(0.008)
    assert rows[3].why == "its limits are on the print: type them into low and high"


def test_what_is_missing_is_said(tmp_path: Path) -> None:
    rows = judged(tmp_path, "balloon;result_in;uncertainty_in\n1;0,3937;\n2;0,001;0,0001\n")
    assert rows[0].value == pytest.approx(9.99998)
    assert rows[0].judgment is None and "uncertainty" in rows[0].why
    assert rows[1].judgment == "in" and "X and Y apart" in rows[1].why  # a position by its diameter alone
    rows = judged(tmp_path, "balloon,x_mm,uncertainty_mm\n2,0.01,0.002\n")
    assert rows[1].judgment is None and "both deviations" in rows[1].why
    assert rows[2].why == "not measured"


def test_what_cannot_be_right_is_not_judged(tmp_path: Path) -> None:
    """A zone below 0, the other unit, a diameter that is not that of X and Y."""
    head = "balloon,result_mm,x_mm,y_mm,uncertainty_mm\n"
    rows = judged(
        tmp_path, head + "1,0.3937,,,0.001\n2,0.2,0.01,0.01,0.001\n3,-5,,,0.001\n4,0.2362,,,0.001\n"
    )
    assert [r.judgment for r in rows] == [None] * 4
    assert "typed in inches" in rows[0].why and "typed in inches" in rows[3].why
    assert "is not that of X and Y" in rows[1].why and "below 0" in rows[2].why
    assert not first_table.proven(rows)
    rows = judged(tmp_path, head + "1,10.03,,,0.001\n2,0.03,0.01,0.01,0.001\n3,0,,,0.001\n")
    assert [r.judgment for r in rows] == ["out", "in", "in", None]  # an honest miss is judged


def test_units_in_cells_and_limits_that_were_changed(tmp_path: Path) -> None:
    text = "balloon,result_mm,low_mm,high_mm,uncertainty_mm\n1,10.001 mm,9.95,10.05,\u22120.001\n"
    with pytest.raises(JawrightError, match="not above 0"):
        judged(tmp_path, text)
    rows = judged(tmp_path, text.replace("\u2212", ""))
    assert rows[0].judgment == "in" and "the record's count" in rows[0].why
    with pytest.raises(JawrightError, match="the column is in mm"):
        judged(tmp_path, "balloon,result_mm\n1,0.3937 in\n")
    with pytest.raises(JawrightError, match="not below the upper"):
        judged(tmp_path, "balloon,result_mm,low_mm,high_mm\n4,6,6.1,5.9\n")


def test_the_step_of_the_gauge_bounds_the_uncertainty(tmp_path: Path) -> None:
    """JCGM 100 F.2.2.1: a step d makes u = d/sqrt(12), so U = 0.577 d at least."""
    head = "balloon,result_mm,x_mm,y_mm,uncertainty_mm,resolution_mm\n"
    rows = judged(tmp_path, head + "1,10.0,,,0.0001,0.002\n2,,0.01,0.01,0.0001,0.002\n3,0.01,,,0.004,0.002\n")
    assert rows[0].uncertainty == pytest.approx(0.57735 * 0.002, rel=1e-4)
    assert rows[1].uncertainty == pytest.approx(2 * 0.57735 * 0.002, rel=1e-4)
    assert rows[2].uncertainty == 0.004 and "step" not in rows[2].why and "step" in rows[0].why


def test_out_is_proven_too(tmp_path: Path) -> None:
    rows = judged(tmp_path, "balloon,result_mm,uncertainty_mm\n1,10.03,0.005\n3,0.06,0.005\n")
    assert rows[0].judgment == "out" and rows[2].judgment == "out"


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("balloon,result\n1,2\n", "no unit"),
        ("balloon,result_mm\none,2\n", "no balloon number"),
        ("balloon,result_mm\n1,two\n", "not a number"),
        ("balloon,result_mm\n9,2\n", "not in the table"),
    ],
)
def test_bad_tables(tmp_path: Path, text: str, says: str) -> None:
    with pytest.raises(JawrightError, match=says):
        judged(tmp_path, text)


def test_a_first_article_is_told_from_a_run() -> None:
    assert is_first("\nBalloon;result_mm\n") and not is_first("part,x_mm\n") and not is_first("")


def test_the_table_that_is_written_is_read_back(tmp_path: Path) -> None:
    """Balloons and limits as on the sheet; notes, a decimal comma and typed limits come through."""
    record = sample.good_record()
    text = first_table.table(record)
    head = next(line for line in text.splitlines() if line.startswith("balloon"))
    assert head.endswith("clamped_mm,uncertainty_mm,resolution_mm,gauge")
    assert read_notes(text) == {}
    table = characteristics(record)
    assert [r.number for r in parse_results(text)] == [c.number for c in table]
    assert all(r.why == "not measured" for r in judge_all(table, parse_results(text)))
    filled = (
        "# torque used: 24 N·m\n# serial of the part: 7;;\n"
        "balloon;result_mm;clamped_mm;low_mm;high_mm;uncertainty_mm\n"
        "4;6,01;6,014;5,98;6,02;0,002\n"
    )
    rows = judge_all(TABLE, parse_results(filled))
    assert rows[3].judgment == "in" and rows[3].sprang == pytest.approx(0.004)
    assert read_notes(filled) == {"torque used": "24 N·m", "serial of the part": "7"}
    data = first_table.to_dict(record, rows, {}, made="2026-01-05", record_sha256="0")
    kept = [first_table.keep(tmp_path, data) for _ in range(2)]
    assert [p.name for p in kept] == ["first-article-1.json", "first-article-2.json"]
    data = json.loads(kept[0].read_text("utf-8"))
    assert "ISO 14253-1" in data["decision_rule"] and data["rows"][3]["value_mm"] == 6.01
    assert data["proven"] is False and not first_table.proven(rows)


def test_chance_to_conform() -> None:
    """Standard normal: at the limit one half; one standard uncertainty inside 0.841345 (any table)."""
    assert conforms(10.02, None, 10.02, standard=0.005) == pytest.approx(0.5)
    assert conforms(10.015, None, 10.02, standard=0.005) == pytest.approx(0.841345, abs=1e-6)
    assert conforms(10.0, 9.99, 10.01, standard=0.01) == pytest.approx(0.682689, abs=1e-6)


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("", "holds nothing"),
        ("part,x_mm\n1,2\n", "no column 'balloon'"),
        ("balloon,result_mm,uncertainty_mm\n1,2,-0.1\n", "not above 0"),
        ("balloon,result_mm\n1,2\n1,3\n", "stands twice"),
        ("# a: b\n\nballoon,result_mm\n1,inf\n", "line 4"),
    ],
)
def test_more_bad_tables(text: str, says: str) -> None:
    with pytest.raises(JawrightError, match=says):
        judge_all(TABLE, parse_results(text))


def test_limits_typed_for_another_size(tmp_path: Path) -> None:
    """Limits that the nominal is far outside of judge nothing; those of a loose fit do."""
    hole = (Characteristic(4, "hole", "diameter", 10.0, None, None),)
    head = "balloon,result_mm,uncertainty_mm,low_mm,high_mm\n"

    def one(low: float, high: float):
        return judge_all(hole, parse_results(head + f"4,{(low + high) / 2},0.001,{low},{high}\n"))[0]

    wrong = one(19.98, 20.02)
    assert wrong.judgment is None and "do not belong to the nominal 10 mm" in wrong.why
    assert one(9.0, 9.01).judgment is None
    for low, high in ((10.1, 10.2), (9.63, 9.72), (9.98, 10.02)):  # + 0.1 + 0.2; a11 of ISO 286 (from memory)
        assert one(low, high).judgment == "in"
