"""Reading a run: units in the column's name, and one clear sentence for everything that is wrong."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from jawright.errors import JawrightError
from jawright.floor.run import decode, parse_run, read_run


def test_only_part_and_one_value_are_needed() -> None:
    run = parse_run("part,x_mm\nA,0.01\nB,-0.02\n")
    assert run.parts == ("A", "B")
    assert run.measured[0].values.tolist() == [0.01, -0.02]
    assert run.measured[0].axis == "x" and run.sizes == () and run.torque is None


def test_inches_and_foot_pounds_are_converted_at_the_border() -> None:
    run = parse_run("part,size_in,pin_x_in,torque_lbfft\n1,1.5,0.001,20\n2,1.501,-0.001,30\n")
    assert run.unit == "in"
    assert run.sizes[0].values == pytest.approx([38.1, 38.1254])
    assert run.measured[0].values == pytest.approx([0.0254, -0.0254])
    assert run.torque == pytest.approx([27.1163590, 40.6745385], rel=1e-8)


def test_semicolons_and_decimal_commas() -> None:
    run = parse_run("part;x_mm;note\n1;0,012;first\n2;-0,003;\n")
    assert run.measured[0].values == pytest.approx([0.012, -0.003])
    assert run.ignored == ()


def test_missing_values_stay_missing() -> None:
    run = parse_run("part,x_mm,y_mm\n1,,0.1\n2,0.2,\n")
    assert np.isnan(run.measured[0].values[0]) and np.isnan(run.measured[1].values[1])


def test_a_clock_passes_midnight() -> None:
    run = parse_run("part,time,x_mm\n1,23:50,0\n2,00:10,0\n3,00:30,0\n")
    assert run.minutes is not None
    assert np.diff(run.minutes) == pytest.approx([20, 20])
    dated = parse_run("part,time,x_mm\n1,2026-01-31 23:50,0\n2,2026-02-01T00:10:30,0\n")
    assert dated.minutes is not None
    assert np.diff(dated.minutes) == pytest.approx([20.5])


def test_features_axes_and_offsets_come_from_the_names() -> None:
    run = parse_run("Part,Pin hole_X mm,pin_hole_d_mm,offset_x_mm,size_y_mm,who,torn\n1,0,6,0.01,40,me,1\n")
    assert [(s.feature, s.axis) for s in run.measured] == [("pin_hole", "x"), ("pin_hole", "d")]
    assert run.offsets[0].axis == "x" and run.sizes[0].axis == "y"
    assert run.ignored == ("torn",)


@pytest.mark.parametrize(
    ("text", "code", "says"),
    [
        ("", "file-empty", "holds nothing"),
        ("x_mm\n1\n", "run-bad", "no column 'part'"),
        ("part,x\n1,2\n", "run-bad", "no unit"),
        ("part,x_mm\n", "run-bad", "no rows"),
        ("part,x_mm,x_mm\n1,2,3\n", "run-bad", "stands twice"),
        ("part,x_mm\n1,abc\n", "run-bad", "row 2, column 'x_mm': \"abc\" is not a number"),
        ("part,x_mm\n1,inf\n", "run-bad", '"inf" is not a number'),
        ("part,x_mm\n,1\n", "run-bad", "row 2 names no part"),
        ("part,x_mm\n1,0,012\n", "run-bad", "row 2 has 3 fields"),
        ("part,note\n1,hello\n", "run-bad", "no column holds a measured length"),
        ("part,time,x_mm\n1,soon,0\n", "run-bad", '"soon" is not a time'),
        ("part,time_min,x_mm\n1,5,0\n2,4,0\n", "run-bad", "time runs backward"),
    ],
)
def test_what_is_wrong_is_said_once(text: str, code: str, says: str) -> None:
    with pytest.raises(JawrightError) as caught:
        parse_run(text)
    assert caught.value.code == code
    assert says in str(caught.value)


def test_a_file_that_is_not_there(tmp_path: Path) -> None:
    with pytest.raises(JawrightError) as caught:
        read_run(tmp_path / "no.csv")
    assert caught.value.code == "file-missing"


def test_a_spreadsheets_byte_order_mark(tmp_path: Path) -> None:
    file = tmp_path / "run.csv"
    file.write_bytes("part,x_mm\n1,0.5\n".encode("utf-8-sig"))
    assert read_run(file).parts == ("1",)


@pytest.mark.parametrize(
    "text",
    [
        "part;x_mm\n1;0,012\n2;-0,004\n",
        "\ufeffpart,x_mm\r\n1,0.012\r\n2,-0.004\r\n",
        '"part","x_mm"\n"1","0.012"\n"2","-0.004"\n',
        "sep=;\npart;x_mm\n1;0,012\n2;-0,004\n",
        "Part No.\tX [mm]\n1\t0.012\n2\t-0.004\n",
        "\n# made on mill 2\npart, x (mm) ,\n\n1, 0.012,\n,,\n2,-0.004,\n",
        "part,x_mm\n1,0.012 mm\n2,\u22120.004 mm\n",
        "part,x_um\n1,12\n2,-4\n",
    ],
)
def test_the_same_numbers_in_the_forms_people_write(text: str) -> None:
    run = parse_run(text)
    assert run.parts == ("1", "2")
    assert run.measured[0].values == pytest.approx([0.012, -0.004])
    raw = text.encode("utf-16")
    assert parse_run(decode(raw)).measured[0].values == pytest.approx([0.012, -0.004])


@pytest.mark.parametrize("word", ["", "-", "NaN", "n/a", "#N/A", "null"])
def test_words_for_not_measured(word: str) -> None:
    values = parse_run(f"part,x_mm\n1,{word}\n2,0.5\n").measured[0].values
    assert np.isnan(values[0]) and values[1] == 0.5


@pytest.mark.parametrize(
    "times",
    [
        ("9:50", "14:05"),
        ("9:50 AM", "2:05 pm"),
        ("2026-02-03 09:50", "2026-02-03T14:05:00"),
        ("03.02.2026 09:50", "03.02.2026 14:05"),
        ("2/3/2026 9:50:00", "2/3/2026 14:05:00"),
        ("13/2/26 9:50 AM", "13/2/26 2:05 PM"),
        ("2026-02-03T09:50:00+01:00", "2026-02-03T13:05:00Z"),
    ],
)
def test_times_in_the_forms_people_write(times: tuple[str, str]) -> None:
    run = parse_run(f"part,time,x_mm\n1,{times[0]},0\n2,{times[1]},0\n")
    assert run.minutes is not None and run.minutes[1] - run.minutes[0] == pytest.approx(255)


@pytest.mark.parametrize("time", ["25:00", "14:75", "0:10 AM", "31.02.2026 9:00", "noon", "13/13/2026 9:00"])
def test_times_that_are_none(time: str) -> None:
    with pytest.raises(JawrightError, match="is not a time"):
        parse_run(f"part,time,x_mm\n1,{time},0\n2,{time},0\n")


def test_a_part_measured_again_may_stand_at_the_end() -> None:
    """Only the first row of a part stands in the order of making."""
    run = parse_run("part,time,x_mm\n1,08:00,0.01\n2,08:05,0.02\n1,08:00,0.012\n3,08:09,0.03\n")
    assert run.minutes is not None and run.minutes.tolist() == [480.0, 485.0, 480.0, 489.0]
    with pytest.raises(JawrightError, match="backward"):
        parse_run("part,time,x_mm\n1,08:00,0.01\n2,08:05,0.02\n3,08:00,0.012\n")


ROWS = "1,0.010,0.020\n2,-0.010,0.030\n"


@pytest.mark.parametrize(
    "text",
    [
        "part,size_mm,bore_x_mm\n" + ROWS,
        "S/N,Length dev (mm),Bore X dev [mm]\n" + ROWS,
        "piece,width mm,bore X pos (mm)\n" + ROWS,
        "part,size,bore_x\n-,mm,mm\n" + ROWS,
        "part;size;bore x\n;mm;mm\n" + ROWS.replace(",", ";"),
    ],
)
def test_names_and_units_as_people_write_them(text: str) -> None:
    r = parse_run(text)
    assert r.parts == ("1", "2")
    assert [s.values.tolist() for s in (*r.sizes, *r.measured)] == [[0.01, -0.01], [0.02, 0.03]]
    assert (r.measured[0].feature, r.measured[0].axis) == ("bore", "x")


def test_a_unit_for_columns_that_name_none() -> None:
    r = parse_run("part,pin x,bore dia,note,temp\n1,1,10,a,20\n2,2,11,b,21\n", unit="thou")
    assert [(s.feature, s.axis) for s in r.measured] == [("pin", "x"), ("bore", "d")]
    assert r.measured[0].values == pytest.approx([0.0254, 0.0508])
    assert r.ignored == ("temp",), "a number without a unit is no length for that"
    mixed = parse_run("part,x_mm,y\n1,1,1\n2,2,2\n", unit="in")
    assert [s.values[0] for s in mixed.measured] == [1.0, 25.4]


@pytest.mark.parametrize(
    ("head", "cells"),
    [
        ("offset_x_mm", ("0", "-0.02", "0")),
        ("G54 X change (mm)", ("0", "-0.02", "")),
        ("G54 X [mm]", ("-212.350", "-212.370", "-212.370")),
        ("g54_x_mm", ("-212.350", "-212.370", "")),
    ],
)
def test_offsets_moved_and_offsets_as_they_stood(head: str, cells: tuple[str, ...]) -> None:
    r = parse_run(f"part,x_mm,{head}\n" + "".join(f"{k},0.0{k},{c}\n" for k, c in enumerate(cells)))
    (o,) = r.offsets
    assert o.axis == "x"
    assert o.values == pytest.approx([0.0, -0.02, 0.0], abs=1e-9)


def test_a_date_alone_is_no_order_and_a_station_is_a_nest() -> None:
    r = parse_run("part,date,station,x_mm\n1,2026-11-03,L,0.1\n2,2026-11-03,R,0.2\n")
    assert r.minutes is None
    assert r.nests == ("L", "R")
    assert r.ignored == ("date",)
    clock = parse_run("part,date,x_mm\n1,2026-11-03 08:00,0.1\n2,2026-11-03 08:05,0.2\n")
    assert clock.minutes is not None
    assert clock.minutes[1] - clock.minutes[0] == 5.0
