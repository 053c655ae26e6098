"""Units: exact definitions from outside, spellings, refusals."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from jawright.errors import JawrightError
from jawright.units import INSIDE, KINDS, convert, counted, known, parse, read_unit, show


@pytest.mark.parametrize(
    ("text", "kind", "value"),
    [
        ("12.7 mm", "length", 12.7),
        ("0.5 in", "length", 12.7),
        ('0.5"', "length", 12.7),
        ("3/8 in", "length", 9.525),
        ("1 1/2 in", "length", 38.1),
        ("1-1/2 in", "length", 38.1),
        ("2 thou", "length", 0.0508),
        ("-5µm", "length", -0.005),
        (".25 inch", "length", 6.35),
        ("1e-3 m", "length", 1.0),
        ("90 deg", "angle", math.pi / 2),
        ("0.3 rad", "angle", 0.3),
        ("40 Nm", "torque", 40.0),
        ("40 N*m", "torque", 40.0),
        ("10 N-m", "torque", 10.0),
        ("3e8 N·mm/rad", "turning stiffness", 3e8),
        ("12 %", "ratio", 0.12),
        ("0.12", "ratio", 0.12),
        (
            "35 ksi",
            "pressure",
            241.3165,
        ),  # ASTM B209's two ways of printing the same minimum: 35 ksi, 241 MPa
        ("15 min", "time", 900.0),
    ],
)
def test_parse(text: str, kind: str, value: float) -> None:
    assert parse(text, kind) == pytest.approx(value, rel=1e-6)


def test_the_inch_is_exact() -> None:
    """International yard and pound agreement, 1959: 1 in = 25.4 mm; 1 lb = 0.45359237 kg."""
    assert parse("1 in", "length") == 25.4
    assert parse("1.5 in", "length") == 38.1
    assert parse("0.001 in", "length") == 0.0254
    assert parse("1 lb", "mass") == 0.45359237


def test_published_conversion_factors() -> None:
    """NIST Special Publication 811, appendix B.8, factors as printed there (quoted from memory)."""
    printed = [
        ("1 lbf", "force", 4.448222),
        ("1 lbf·ft", "torque", 1.355818),
        ("1 lbf·in", "torque", 0.1129848),
        ("1 psi", "pressure", 6.894757e-3),
        ("1 ksi", "pressure", 6.894757),
        ("1 hp", "power", 0.7456999),
        ("1 ft/min", "speed", 0.3048),
        ("1 lb/in³", "density", 2.767990e4 * 1e-9),
        ("1 lbf/in", "stiffness", 0.1751268),
    ]
    for text, kind, value in printed:
        assert parse(text, kind) == pytest.approx(value, rel=5e-7), text


@pytest.mark.parametrize(
    ("text", "kind", "code", "says"),
    [
        ("12.7", "length", "unit-missing", "mm"),
        ("12.7 N", "length", "unit-bad", "mm"),
        ("12,7 mm", "length", "value-bad", "decimal point"),
        ("1.000,5 mm", "length", "value-bad", "decimal point"),
        ("mm", "length", "value-bad", "number"),
        ("", "length", "value-bad", "number"),
        ("nan mm", "length", "value-bad", "number"),
        ("inf mm", "length", "value-bad", "number"),
        ("1/0 in", "length", "value-bad", "finite"),
        ("1e999 mm", "length", "value-bad", "finite"),
        ("1e99999999 mm", "length", "unit-bad", ""),
        ("30 deg", "length", "unit-bad", "mm"),
        ("30", "angle", "unit-missing", "deg"),
        ("5 ft", "torque", "unit-bad", "lbf"),
    ],
)
def test_refusals(text: str, kind: str, code: str, says: str) -> None:
    with pytest.raises(JawrightError) as e:
        parse(text, kind, where="job.toml:3: grip_depth")
    assert e.value.code == code
    assert says in str(e.value)
    assert str(e.value).startswith("job.toml:3: grip_depth: ")


@pytest.mark.parametrize(
    ("value", "unit", "units", "digits", "text"),
    [
        (12.7, "length", "mm", 2, "12.70 mm"),
        (12.7, "mm", "mm", None, "12.700 mm"),
        (12.7, "mm", "inch", None, "0.5000 in"),
        (-0.00001, "mm", "mm", None, "0.000 mm"),
        (math.radians(30), "angle", "inch", 1, "30.0°"),
        (30.0, "N·m", "inch", None, "22.1 lbf·ft"),
        (4448.22, "N", "inch", None, "1000 lbf"),
        (0.1234, "", "mm", None, "0.123"),
        (3e8, "turning stiffness", "mm", None, "3.00e+08 N·mm/rad"),
        (None, "mm", "mm", None, "unknown"),
        (math.nan, "mm", "mm", None, "unknown"),
        (0.0, "N/mm", "mm", None, "0 N/mm"),
        (99.96, "N/mm", "mm", None, "100 N/mm"),
        (5.0, "USD", "inch", None, "5.00 USD"),
    ],
)
def test_show(value: float | None, unit: str, units: str, digits: int | None, text: str) -> None:
    assert show(value, unit, units, digits=digits) == text  # type: ignore[arg-type]


@given(st.floats(-1e6, 1e6), st.sampled_from([(k, u) for k, t in KINDS.items() for u in t]))
def test_every_unit_goes_out_and_comes_back(value: float, pair: tuple[str, str]) -> None:
    kind, unit = pair
    there = parse(f"{value!r} {unit}", kind)
    assert convert(there, INSIDE[kind], unit) == pytest.approx(value, rel=1e-12, abs=1e-300)


def test_every_unit_is_spelled_its_own_way() -> None:
    for table in KINDS.values():
        for unit in table:
            assert known(unit) == unit


def test_what_inch_shops_read() -> None:
    assert read_unit("length", "inch") == "in"
    assert read_unit("MPa", "inch") == "ksi"
    assert read_unit("angle", "mm") == "deg"
    assert read_unit("rev/min", "inch") == "rev/min"


@pytest.mark.parametrize("text", ["", "-1", "+1", "1.0", " 1", "²", "٣", "1²", "x", "1" * 10, "9" * 5000])
def test_a_count_from_outside_is_a_row_of_digits(text: str) -> None:
    """Texts that str.isdigit or int takes and the other does not ended in a traceback."""
    assert counted(text) is None
    assert (counted("0"), counted("007"), counted("1" * 9)) == (0, 7, 111111111)


def test_units_of_two_kinds_do_not_convert() -> None:
    with pytest.raises(JawrightError, match="not units of the same kind"):
        convert(1.0, "mm", "N")
