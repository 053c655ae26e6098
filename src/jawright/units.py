"""Parse, convert and print quantities. Nobody else converts.

Inside the tool a length is in millimeters, a force in newtons, a torque in newton meters, an
angle in radians, a pressure in megapascals, a time in seconds. At every border a value carries
its unit. The inch is exactly 25.4 mm (international yard and pound agreement, 1959) and the
pound-force exactly 4.4482216152605 N (pound 0.45359237 kg times standard gravity 9.80665 m/s²,
3rd General Conference on Weights and Measures, 1901).
"""

from __future__ import annotations

import difflib
import math
import re
from fractions import Fraction
from typing import Literal

from jawright.errors import JawrightError

System = Literal["mm", "inch"]

INCH = 25.4  # mm, exact
POUND = 0.45359237  # kg, exact
POUND_FORCE = POUND * 9.80665  # N, exact
FOOT = 12 * INCH / 1000.0  # m, exact

# kind -> unit -> factor to the inside unit; the first unit of each kind is the inside unit
KINDS: dict[str, dict[str, float]] = {
    "length": {"mm": 1.0, "µm": 1e-3, "cm": 10.0, "m": 1000.0, "in": INCH, "thou": INCH / 1000.0},
    "area": {"mm²": 1.0, "in²": INCH**2},
    "volume": {"mm³": 1.0, "cm³": 1000.0, "in³": INCH**3},
    "angle": {
        "rad": 1.0,
        "deg": math.pi / 180.0,
        "arcmin": math.pi / 10800.0,
        "mrad": 1e-3,
    },
    "force": {"N": 1.0, "kN": 1000.0, "lbf": POUND_FORCE},
    "line load": {"N/mm": 1.0, "lbf/in": POUND_FORCE / INCH},
    "torque": {
        "N·m": 1.0,
        "N·mm": 1e-3,
        "lbf·ft": POUND_FORCE * FOOT,
        "lbf·in": POUND_FORCE * INCH / 1000.0,
    },
    "pressure": {
        "MPa": 1.0,
        "N/mm²": 1.0,
        "GPa": 1000.0,
        "psi": POUND_FORCE / INCH**2,
        "ksi": 1000.0 * POUND_FORCE / INCH**2,
    },
    "time": {"s": 1.0, "min": 60.0, "h": 3600.0},
    "temperature": {"K": 1.0, "°C": 1.0, "°F": 1.0 / 1.8},  # differences only
    "expansion": {"1/K": 1.0, "1/°F": 1.8},
    "stiffness": {"N/mm": 1.0, "N/µm": 1000.0, "lbf/in": POUND_FORCE / INCH},
    "turning stiffness": {
        "N·mm/rad": 1.0,
        "N·m/rad": 1000.0,
        "lbf·in/rad": POUND_FORCE * INCH,
    },
    "mass": {"kg": 1.0, "g": 1e-3, "lb": POUND},
    "density": {"kg/mm³": 1.0, "g/cm³": 1e-6, "kg/m³": 1e-9, "lb/in³": POUND / INCH**3},
    "power": {"kW": 1.0, "W": 1e-3, "hp": POUND_FORCE * 550.0 * FOOT / 1000.0},
    "feed": {"mm/min": 1.0, "m/min": 1000.0, "in/min": INCH},
    "speed": {"m/min": 1.0, "ft/min": FOOT},
    "spindle": {"rev/min": 1.0},
    "ratio": {"": 1.0, "%": 0.01},
}

INSIDE: dict[str, str] = {kind: next(iter(table)) for kind, table in KINDS.items()}

# inside unit -> unit an inch shop reads; units that are absent are read as they are
_INCH_READS: dict[str, str] = {
    "mm": "in",
    "µm": "thou",
    "mm²": "in²",
    "mm³": "in³",
    "N": "lbf",
    "kN": "lbf",
    "N·m": "lbf·ft",
    "MPa": "ksi",
    "K": "°F",
    "N/mm": "lbf/in",
    "N·mm/rad": "lbf·in/rad",
    "kg": "lb",
    "kW": "hp",
    "mm/min": "in/min",
    "m/min": "ft/min",
}

# decimals when the caller does not say; units that are absent get three significant figures
_DECIMALS: dict[str, int] = {
    "mm": 3,
    "in": 4,
    "µm": 1,
    "thou": 2,
    "deg": 2,
    "N": 0,
    "lbf": 0,
    "N·m": 1,
    "lbf·ft": 1,
    "MPa": 1,
    "ksi": 1,
    "s": 0,
    "min": 0,
    "h": 1,
    "K": 1,
    "°F": 1,
    "mm/min": 0,
    "in/min": 1,
    "m/min": 0,
    "ft/min": 0,
    "rev/min": 0,
    "%": 1,
    "kW": 2,
    "hp": 2,
}

# other spellings of the same unit
_SPELLINGS: dict[str, str] = {
    "inch": "in",
    "inches": "in",
    '"': "in",
    "mil": "thou",
    "um": "µm",
    "micron": "µm",
    "microns": "µm",
    "degree": "deg",
    "degrees": "deg",
    "°": "deg",
    "'": "arcmin",
    "Nm": "N·m",
    "Nmm": "N·mm",
    "kgm³": "kg/m³",
    "ft·lbf": "lbf·ft",
    "ft·lb": "lbf·ft",
    "lb·ft": "lbf·ft",
    "in·lbf": "lbf·in",
    "in·lb": "lbf·in",
    "lb·in": "lbf·in",
    "lbs": "lb",
    "C": "°C",
    "F": "°F",
    "degC": "°C",
    "degF": "°F",
    "sec": "s",
    "seconds": "s",
    "minutes": "min",
    "hour": "h",
    "hours": "h",
    "rpm": "rev/min",
    "1/min": "rev/min",
    "Nm/rad": "N·m/rad",
    "Nmm/rad": "N·mm/rad",
    "percent": "%",
}

_QUANTITY = re.compile(
    r"^\s*(?P<sign>[+-]?)\s*"
    r"(?:(?P<whole>\d+)[ -](?P<num1>\d+)/(?P<den1>\d+)|(?P<num>\d+)/(?P<den>\d+)|"
    r"(?P<plain>(?:\d+\.?\d*|\.\d+)(?:[eE][+-]?\d{1,3})?))"
    r"\s*(?P<unit>.*?)\s*$"
)


def known(unit: str) -> str:
    """The unit's own spelling: "Nm" and "N*m" give "N·m", "inch" gives "in". Unknown text comes back."""
    text = unit.strip().replace("μ", "µ").replace("^2", "²").replace("^3", "³")
    text = re.sub(r"(?<=\w)\s*[*⋅-]\s*(?=\w)", "·", text)
    text = re.sub(r"2$", "²", text) if text in ("mm2", "in2", "N/mm2") else text
    text = re.sub(r"3$", "³", text) if text in ("mm3", "in3", "kg/m3", "g/cm3", "kg/mm3") else text
    return _SPELLINGS.get(text, text)


def parse(text: str, kind: str, *, where: str = "") -> float:
    """Read a quantity written with its unit; the result is in the inside unit of ``kind``.

    Fractions are read as the trade writes them: ``"3/8 in"``, ``"1 1/2 in"``.

    Parameters
    ----------
    text : number and unit, "12.7 mm".
    kind : a key of ``KINDS``.
    where : place for the message.

    Returns
    -------
    value [inside unit of ``kind``]

    Raises
    ------
    JawrightError : ``unit-missing``, ``unit-bad``, ``value-bad``.

    Examples
    --------
    >>> parse("0.5 in", "length")
    12.7
    >>> parse("1 1/2 in", "length")
    38.1
    """
    table = KINDS[kind]
    hit = _QUANTITY.match(text)
    if hit is None or re.match(r"^[,/]", hit["unit"] or ""):
        raise JawrightError(
            "value-bad",
            what=f'"{text}" is not a number with a unit',
            where=where,
            todo=f'write it like "12.5 {INSIDE[kind]}", with a decimal point',
        )
    written = known(hit["unit"] or "")
    if written == "" and "" not in table:
        raise JawrightError(
            "unit-missing",
            what=f'"{text}" has no unit',
            where=where,
            todo=f"a {kind} is written with one of: {', '.join(table)}",
        )
    if written not in table:
        near = difflib.get_close_matches(written, list(table), n=1, cutoff=0.3)
        hint = f'; nearest is "{near[0]}"' if near else ""
        raise JawrightError(
            "unit-bad",
            what=f'"{written}" is not a unit of {kind}',
            where=where,
            todo=f"use one of: {', '.join(u for u in table if u)}{hint}",
        )
    # exact until the last step, so that 1 1/2 in is 38.1 mm and not 38.099999999999994
    try:
        return float(_number(hit) * Fraction(repr(table[written])))
    except (ZeroDivisionError, OverflowError):
        raise JawrightError("value-bad", what=f'"{text}" is not a finite number', where=where) from None


def _number(hit: re.Match[str]) -> Fraction:
    sign = -1 if hit["sign"] == "-" else 1
    if hit["whole"]:
        return sign * (int(hit["whole"]) + Fraction(int(hit["num1"]), int(hit["den1"])))
    if hit["num"]:
        return sign * Fraction(int(hit["num"]), int(hit["den"]))
    return sign * Fraction(hit["plain"])


def counted(text: str, most_digits: int = 9) -> int | None:
    """A count as it comes from outside: a row of the digits 0 to 9, None for any other text.

    Raised digits and those of other scripts are none, nor is a row longer than ``most_digits``.
    """
    return int(text) if text.isascii() and text.isdigit() and len(text) <= most_digits else None


def convert(value: float, source: str, target: str) -> float:
    """``value`` in unit ``source`` expressed in unit ``target`` of the same kind.

    Raises ``unit-bad`` when no kind holds both.

    >>> convert(25.4, "mm", "in")
    1.0
    """
    a, b = known(source), known(target)
    for table in KINDS.values():
        if a in table and b in table:
            return value if a == b else value * table[a] / table[b]
    raise JawrightError("unit-bad", what=f'"{source}" and "{target}" are not units of the same kind')


def read_unit(kind_or_unit: str, units: System = "mm") -> str:
    """The unit a person reads: ``read_unit("length", "inch")`` is "in"; angles are read in degrees."""
    unit = INSIDE.get(kind_or_unit, known(kind_or_unit))
    if unit == "rad":
        return "deg"
    return _INCH_READS.get(unit, unit) if units == "inch" else unit


def reading(value: float, kind_or_unit: str, units: System = "mm") -> tuple[float, str]:
    """The number and unit a person reads for ``value``, given in that unit or in the kind's inside unit."""
    source = INSIDE.get(kind_or_unit, known(kind_or_unit))
    target = read_unit(kind_or_unit, units)
    if source == target:
        return value, target
    return convert(value, source, target), target


def show(value: float | None, kind_or_unit: str, units: System = "mm", *, digits: int | None = None) -> str:
    """``value`` as text with its unit, rounded for reading.

    Parameters
    ----------
    value : in the inside unit of a kind, or in the unit named; None prints "unknown".
    kind_or_unit : "length" or "mm"; "" for a plain number.
    units : what the reader reads, "mm" or "inch".
    digits : decimals; when absent 3 for mm, 4 for inch, three significant figures elsewhere.

    Examples
    --------
    >>> show(12.7, "length", digits=2)
    '12.70 mm'
    >>> show(12.7, "mm", "inch")
    '0.5000 in'
    """
    if value is None:
        return "unknown"
    number, unit = reading(value, kind_or_unit, units)
    if not math.isfinite(number):
        return "without limit" if number == math.inf else "unknown"
    places = _DECIMALS.get(unit) if digits is None else digits
    text = _significant(number) if places is None else f"{number:.{places}f}"
    if float(text) == 0.0:
        text = text.lstrip("-")
    if unit == "":
        return text
    return f"{text}°" if unit == "deg" else f"{text} {unit}"


def _significant(number: float) -> str:
    """Three significant figures without an exponent below ten million."""
    if number == 0.0:
        return "0"
    size = int(f"{abs(number):.2e}".split("e")[1])  # of the rounded number: 99.96 is 100
    if size >= 7 or size < -5:
        return f"{number:.2e}"
    rounded = round(number, 2 - size)
    return f"{rounded:.{max(0, 2 - size)}f}"
