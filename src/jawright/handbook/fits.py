"""Limits and fits of ISO 286: standard tolerance grades, and the deviations of every usual letter.

Lengths in mm, angles in rad.
"""

from __future__ import annotations

import math
import re

from jawright.errors import JawrightError
from jawright.handbook.lookup import refuse, table


def step_of(size: float, steps: list[float], first: float, *, what: str) -> int:
    """Index of the size step that ``size`` falls in: over the one before, up to and including.

    Raises ``value-bad`` for a size outside the steps.
    """
    if not math.isfinite(size) or size < first:
        raise JawrightError("value-bad", what=f"{what} starts at {first:g} mm, {size:g} mm is below it")
    for i, top in enumerate(steps):
        if size <= top:
            return i
    raise JawrightError("value-bad", what=f"{what} ends at {steps[-1]:g} mm, {size:g} mm is above it")


def it_grade(size: float, grade: str) -> float:
    """Width of the standard tolerance zone [mm] for a nominal ``size`` [mm]; *source*: ISO 286-1.

    *Valid for* sizes up to 500 mm, "IT4" to "IT11".

    >>> it_grade(10.0, "IT7")
    0.015
    """
    t = table("tolerances")["it"]
    grades = [k for k in t if k.startswith("IT")]
    if grade not in grades:
        raise refuse(grade, grades, what="a tolerance grade", where="")
    row: list[float] = t[grade]
    return row[step_of(size, t["up_to_mm"], SMALLEST, what="the grade table")] / 1000.0


SMALLEST = 1e-3
"""A size [mm] below which nothing is toleranced by ISO 286."""
FITS = ("c", "d", "e", "f", "g", "h", "js", "j", "k", "m", "n", "p", "r", "s")
"""Letters of shafts whose deviations are known here; holes have the same as capitals."""
_FIT = re.compile(r"([A-Za-z]{1,2})\s*(\d{1,2})")


def fit(size: float, code: str) -> tuple[float, float]:
    """Lower and upper deviation [mm] of a fit such as "H7" (hole) or "g6" (shaft).

    A hole has the deviations of the shaft of its letter with the other sign; from K on those of grades up
    to IT8 (IT7 from P on) are larger by Δ, the grade less the next finer one, so that a hole and a shaft of
    the next finer grade fit alike either way round. *Source*: ISO 286-1, clauses and tables of the
    fundamental deviations.

    *Valid for* ``FITS`` and their capitals, grades 5 to 11, sizes up to 500 mm; k and K beyond IT7 and IT8
    only as far as the standard gives them.

    >>> fit(25.0, "g6")
    (-0.02, -0.007)
    >>> fit(25.0, "N7")
    (-0.028, -0.007)
    """
    found = _FIT.fullmatch(code.strip())
    letter, grade = (found.group(1), int(found.group(2))) if found else ("", 0)
    if letter.lower() not in FITS or letter not in (letter.lower(), letter.upper()) or not 5 <= grade <= 11:
        raise refuse(code, ["H7", "H8", "g6", "h6", "k6", "js6", "JS7", "K7", "N7"], what="a fit", where="")
    width = round(1000.0 * it_grade(size, f"IT{grade}"))
    if letter.lower() == "js":
        return -width / 2000.0, width / 2000.0
    hole = letter.isupper()
    at = _fundamental(size, letter.lower(), grade, code, hole=hole)
    # from j on it is the lower deviation of a shaft that is fundamental, before that the upper one
    from_below = hole != (letter.lower() in ("j", "k", "m", "n", "p", "r", "s"))
    lower, upper = (at, at + width) if from_below else (at - width, at)
    return lower / 1000.0, upper / 1000.0


def _fundamental(size: float, letter: str, grade: int, code: str, *, hole: bool) -> int:
    """The deviation [µm] of a letter that does not depend on the grade, or does so only by rule."""
    t = table("tolerances")
    step = step_of(size, t["it"]["up_to_mm"], SMALLEST, what="the fit table")
    if letter == "j":
        name = f"{'J' if hole else 'j'}{grade}"
        if name not in t["deviation"]:
            raise refuse(code, ["j5", "j6", "j7", "J6", "J7", "J8"], what="a fit", where="")
        return int(t["deviation"][name][step])
    if letter in t["deviation"]:
        value = int(t["deviation"][letter][step])
    else:
        fine = t["deviation_fine"]
        value = int(fine[letter][step_of(size, fine["up_to_mm"], SMALLEST, what="the fit table")])
    if not hole:
        return 0 if letter == "k" and grade > 7 else value
    if letter in ("c", "d", "e", "f", "g", "h"):
        return -value
    finest = 8 if letter in ("k", "m", "n") else 7
    more = 0
    if grade <= finest and step > 0:
        more = round(1000 * (it_grade(size, f"IT{grade}") - it_grade(size, f"IT{grade - 1}")))
    elif letter == "k" and step > 0:
        raise refuse(code, ["K5", "K6", "K7", "K8"], what="a fit", where="")
    elif letter == "n" and step > 0:
        return 0  # N9 to N11 begin at the nominal
    if (letter, grade) == ("m", 6) and 250.0 < size <= 315.0:
        return -9  # the one place where the table departs from its rule
    return more - value
