"""The first article's results, judged with their uncertainty."""

from __future__ import annotations

from pathlib import Path

import pytest

from jawright.errors import JawrightError
from jawright.floor.adjust import Characteristic
from jawright.floor.first import is_first, judge_all, read_results

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
    assert rows[3].why == "the limits are the print's"


def test_what_is_missing_is_said(tmp_path: Path) -> None:
    rows = judged(tmp_path, "balloon;result_in;uncertainty_in\n1;0,3937;\n2;0,001;0,0001\n")
    assert rows[0].value == pytest.approx(9.99998)
    assert rows[0].judgment is None and "uncertainty" in rows[0].why
    assert "both deviations" in rows[1].why
    assert rows[2].why == "not measured"


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
