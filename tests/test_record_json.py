"""The record file: round trip without loss, units in the keys, schema, refusals."""

from __future__ import annotations

import json
import math
from dataclasses import fields, is_dataclass, replace
from pathlib import Path
from typing import Any, get_args

import jsonschema
import pytest
from hypothesis import given
from hypothesis import strategies as st

from jawright import record_json, record_schema
from jawright.errors import JawrightError
from jawright.record import Record
from jawright.record_units import UNITS
from papers import sample

RECORDS = [
    sample.record(),
    sample.good_record("inch"),
    sample.hard_record(),
    sample.refused_record(),
    sample.record(verified=False, fixed_jaw_rear=False),
]
IDS = ["soft", "inch", "hard", "refused", "front"]
finite = st.floats(allow_nan=False, allow_infinity=False)
angle = st.floats(-10.0, 10.0)


def as_read(record: Record) -> Record:
    """What a file can hold: no shape bytes, no folder."""
    job = replace(record.job, part_file=Path(record.job.part_file.name))
    return replace(record, job=job, part=replace(record.part, shape=b""))


@pytest.mark.parametrize("record", RECORDS, ids=IDS)
def test_round_trip_is_exact_and_text_is_stable(record: Record) -> None:
    text = record_json.dumps(record)
    back = record_json.loads(text)
    assert back == as_read(record)
    assert record_json.dumps(back) == text


@pytest.mark.parametrize("record", RECORDS, ids=IDS)
def test_text_follows_the_schema(record: Record) -> None:
    schema = record_schema.stored()
    jsonschema.Draft202012Validator.check_schema(schema)
    jsonschema.Draft202012Validator(schema).validate(json.loads(record_json.dumps(record)))


def test_schema_refuses_a_key_without_its_unit() -> None:
    data = json.loads(record_json.dumps(sample.record()))
    data["hold"]["grip_depth"] = data["hold"].pop("grip_depth_mm")
    with pytest.raises(jsonschema.ValidationError):
        jsonschema.Draft202012Validator(record_schema.stored()).validate(data)


def test_stored_schema_and_page_are_what_the_dataclasses_say() -> None:
    assert record_schema.stored() == record_schema.schema()
    page = Path(__file__).parents[1] / "docs" / "reference" / "record.md"
    assert page.read_text("utf-8") == record_schema.page()


@given(angle)
def test_angles_come_back_to_the_last_bit(a: float) -> None:
    text = record_json._write(record_json.to_degrees(a), 0)
    assert record_json.to_radians(json.loads(text, parse_float=record_json._number)) == a


def test_an_angle_given_in_whole_degrees_is_written_so() -> None:
    assert record_json.to_degrees(math.radians(118)) == 118.0
    assert record_json.to_degrees(math.radians(45)) == 45.0


@given(low=finite, sett=finite, high=finite, turn=angle, shift=finite)
def test_any_numbers_come_back(low: float, sett: float, high: float, turn: float, shift: float) -> None:
    base = sample.good_record()
    rival = replace(base.rivals[0], turn=turn, shift=shift)
    record = replace(base, torque=(low, sett, high), rivals=(rival,))
    assert record_json.loads(record_json.dumps(record)) == as_read(record)


@given(st.text(max_size=40))
def test_any_text_comes_back(words: str) -> None:
    record = sample.good_record()
    record = replace(record, job=replace(record.job, name=words, notes=(words,)))
    try:
        words.encode("utf-8")
    except UnicodeEncodeError:
        return
    assert record_json.loads(record_json.dumps(record)) == as_read(record)


def test_units_stand_in_the_keys_and_values_are_in_them() -> None:
    data = record_json.to_dict(sample.record())
    assert data["hold"]["grip_depth_mm"] == 6.5
    assert data["torque"] == {"low_nm": 14.0, "set_nm": 28.0, "high_nm": 46.0}
    assert data["rivals"][1]["turn_deg"] == 180.0
    assert data["shop"]["vises"][0]["flank_angle_deg"] == 15.0
    assert data["shop"]["vises"][0]["yaw_deg"]["set"] == pytest.approx(0.0003 * 180 / math.pi)
    assert data["proofs"][0]["unit"] == "mm"
    assert "shape" not in data["part"]
    assert data["job"]["part_file"] == "pawl.step"
    assert "somewhere" not in record_json.dumps(sample.record())


def numbers(kind: Any, seen: set[type]) -> set[tuple[str, str]]:
    """Every (dataclass, field) reachable from ``kind`` that holds a float."""
    out: set[tuple[str, str]] = set()
    if kind in seen:
        return out
    seen.add(kind)
    for f in fields(kind):
        kinds = [record_json.hints(kind)[f.name]]
        while kinds:
            k = kinds.pop()
            if k is float:
                out.add((kind.__name__, f.name))
            elif is_dataclass(k):
                out |= numbers(k, seen)
                if k in record_json._CARRIERS:
                    out.add((kind.__name__, f.name))
            else:
                kinds += [a for a in get_args(k) if a is not Ellipsis]
    return out


def test_every_number_has_its_unit_in_the_table_and_the_table_names_nothing_else() -> None:
    found = numbers(Record, set())
    assert len(found) > 150
    assert found == set(UNITS)


def test_numbers_that_are_not_finite_are_refused() -> None:
    record = replace(sample.record(), torque=(1.0, math.nan, 2.0))
    with pytest.raises(JawrightError, match="not finite"):
        record_json.dumps(record)


BREAKS = [
    (lambda d: d.pop("format"), "not a record"),
    (lambda d: d.update(schema_version=99), "schema version"),
    (lambda d: d.pop("job"), "absent"),
    (lambda d: d["job"].update(shade="red"), "/job/shade"),
    (lambda d: d["job"].update(quantity="forty"), "/job/quantity"),
    (lambda d: d["job"].update(quantity=True), "/job/quantity"),
    (lambda d: d["job"].update(units="furlong"), "/job/units"),
    (lambda d: d["job"].update(part_file="parts/pawl.step"), "without its folder"),
    (lambda d: d["hold"]["outline"]["outer"]["curves"][0].update(curve="spline"), "line or an arc"),
    (lambda d: d["hold"]["outline"]["outer"]["curves"].pop(0), "gap"),
    (lambda d: d["hold"]["stance"].update(up=[0, 1]), "3 values"),
    (lambda d: d.update(ready=True), "ready"),
    (lambda d: d["torque"].pop("set_nm"), "low_nm, set_nm, high_nm"),
]


@pytest.mark.parametrize(("spoil", "says"), BREAKS, ids=[b[1] for b in BREAKS])
def test_a_spoiled_record_is_refused_with_its_place(tmp_path: Path, spoil: Any, says: str) -> None:
    data = json.loads(record_json.dumps(sample.record()))
    spoil(data)
    path = tmp_path / "record.json"
    path.write_text(json.dumps(data), "utf-8")
    with pytest.raises(JawrightError) as e:
        record_json.load(path)
    assert e.value.code == "record-bad"
    assert says in str(e.value)
    assert str(tmp_path) not in str(e.value)


@pytest.mark.parametrize("raw", [b"", b"{", b"[]", b"\xff\xfe", b'{"format": NaN}', b"[" * 100_000])
def test_what_is_no_record_is_refused(tmp_path: Path, raw: bytes) -> None:
    path = tmp_path / "record.json"
    path.write_bytes(raw)
    with pytest.raises(JawrightError) as e:
        record_json.load(path)
    assert e.value.code == "record-bad"


def test_a_missing_file_is_said_to_be_missing(tmp_path: Path) -> None:
    with pytest.raises(JawrightError) as e:
        record_json.load(tmp_path / "none.json")
    assert e.value.code == "file-missing"
