"""Sentences in the other unit than they were written in.

Numbers with a unit in them are converted where they are shown; what a person typed, ids and names carry no
unit and stay. Errors are written in millimeters and newtons wherever they are raised, as whoever raises one
seldom knows who reads it; proofs' sentences are written in the job's unit.
"""

from __future__ import annotations

import re

from jawright.errors import JawrightError
from jawright.units import System, known, read_unit, reading

NUMBER = r"[+-]?\d+(?:\.\d+)?(?:e[+-]?\d+)?"
METRIC = (
    "N·mm/rad",
    "mm/min",
    "m/min",
    "N/mm",
    "N·m",
    "mm²",
    "mm³",
    "MPa",
    "GPa",
    "kN",
    "mm",
    "µm",
    "kg",
    "N",
)
INCH = (
    "lbf·in/rad",
    "lbf·ft",
    "lbf/in",
    "in/min",
    "ft/min",
    "in²",
    "in³",
    "ksi",
    "psi",
    "thou",
    "lbf",
    "lb",
    "in",
)
"""Units that are looked for, longer ones first."""
LINKS = r"(?:\s\([^()]{1,12}\))?(?:\sto\s|\s?[–/×]\s?)"
_AFTER_WORD = re.compile(r"\s(?:the|a|an|its|their|this|that|these|each|every|one|use|all|which|it)\b")
"""What follows "in" as a word: the number before it is no length."""
_BOUNDS = re.compile(rf"(?<=\d\s)(\S+) \(low ({NUMBER}), high ({NUMBER})\)")
KINDS = (
    r"position|profile of a (?:surface|line)|parallelism|perpendicularity|angularity|flatness|circularity|"
    r"cylindricity|straightness|concentricity|symmetry|(?:circular |total )?run-out|distance"
)


def _pattern(units: tuple[str, ...]) -> re.Pattern[str]:
    names = "|".join(map(re.escape, units))
    lead = rf"(?P<lead>(?:{NUMBER}{LINKS})*)"
    return re.compile(rf"(?:(?<=Ø)|(?<![\w.,\-])){lead}(?P<number>{NUMBER})\s(?P<unit>{names})(?![\w·/²³])")


_FROM: dict[System, re.Pattern[str]] = {"inch": _pattern(METRIC), "mm": _pattern(INCH)}
_STATED = {
    "inch": re.compile(
        rf"\[(?P<unit>{'|'.join(map(re.escape, METRIC))})\]: (?P<run>{NUMBER}(?: / {NUMBER})*)"
    ),
    "mm": re.compile(rf"\[(?P<unit>{'|'.join(map(re.escape, INCH))})\]: (?P<run>{NUMBER}(?: / {NUMBER})*)"),
}
_ZONE = re.compile(rf"(?P<kind>\b(?:{KINDS}) Ø?|Ø)(?P<number>\d+\.\d+)(?!\d)(?!\s?(?:mm|in|thou|µm)\b)")
_BACK = {
    "in": "mm", "thou": "µm", "lbf": "N", "lbf·ft": "N·m", "ksi": "MPa", "psi": "MPa", "lb": "kg",
    "in²": "mm²", "in³": "mm³", "lbf/in": "N/mm", "lbf·in/rad": "N·mm/rad", "in/min": "mm/min",
    "ft/min": "m/min",
}  # fmt: skip


def words(text: str, system: System, own: System, keep: tuple[str, ...] = ()) -> str:
    """A sentence with each number in the reader's unit; as it is where it is written so already.

    ``own`` is the unit the sentence was written in: zones in a print's symbols carry none. Names in ``keep``
    stay as they were typed.

    >>> words("The biggest part drops in with 0.59 mm of room.", "inch", "mm")
    'The biggest part drops in with 0.023 in of room.'
    """
    if system == own:
        return text
    if keep:
        names = "|".join(re.escape(k) for k in sorted(keep, key=len, reverse=True))
        pieces = re.split(rf"({names})", text)
        return "".join(p if k % 2 else words(p, system, own) for k, p in enumerate(pieces))

    def quantity(hit: re.Match[str]) -> str:
        unit, number = hit["unit"], hit["number"]
        if unit == "in" and (len(number.partition(".")[2]) < 3 or _AFTER_WORD.match(text, hit.end())):
            return hit[0]  # the word, not the unit
        to = _other(unit, system)
        lead = re.split(rf"({LINKS})", hit["lead"])
        done = [_number(p, unit, system) if re.fullmatch(NUMBER, p or "") else p or "" for p in lead]
        if " to " in hit["lead"] and not _alike(hit["lead"], number):
            done = [hit["lead"]]  # "pin hole 1 to 2.50 mm": another kind of number stands before it
        return f"{''.join(done)}{_number(number, unit, system)} {to}"

    def stated(hit: re.Match[str]) -> str:
        run = re.sub(NUMBER, lambda m: _number(m[0], hit["unit"], system), hit["run"])
        return f"[{_other(hit['unit'], system)}]: {run}"

    def zone(hit: re.Match[str]) -> str:
        return f"{hit['kind']}{_number(hit['number'], 'mm' if own == 'mm' else 'in', system)}"

    text = _BOUNDS.sub(r"\1 (low \2 \1, high \3 \1)", text)  # each with its unit, so that each is converted
    text = _STATED[system].sub(stated, text)
    text = _ZONE.sub(zone, text)
    return _FROM[system].sub(quantity, text)


def told(text: str, system: System) -> str:
    """A sentence written in mm and N in the reader's unit; what stands in quotes is as somebody typed it.

    >>> told('a bar 20 mm thick gives none; write "20 mm"', "inch")
    'a bar 0.79 in thick gives none; write "20 mm"'
    """
    pieces = re.split(r'("[^"]*")', text)
    return "".join(p if k % 2 else words(p, system, "mm") for k, p in enumerate(pieces))


def error_in(error: JawrightError, system: System) -> JawrightError:
    """An error as a reader of ``system`` is told it."""
    what, where, todo = (told(t, system) for t in (error.what, error.where, error.todo))
    return JawrightError(error.code, what=what, where=where, todo=todo)


def _alike(lead: str, number: str) -> bool:
    """Whether a range is of one kind of number: with as many decimals, or each before the last with some.

    "pin hole 1 to 2.50 mm" is none: a count or a name has no decimals.
    """
    numbers = re.findall(NUMBER, re.sub(r"\([^()]*\)", "", lead))
    decimals = {len(n.partition(".")[2]) for n in numbers}
    return decimals == {len(number.partition(".")[2])} or 0 not in decimals


def _other(unit: str, system: System) -> str:
    return read_unit(known(unit), "inch") if system == "inch" and unit != "GPa" else _BACK.get(unit, "ksi")


def _number(text: str, unit: str, system: System) -> str:
    """One number converted, with about as many figures as it had: never rounded by more than 2 %."""
    source = unit if system == "inch" else _BACK[unit]
    value = float(text)
    if unit == "GPa":
        got = reading(1000.0 * value, "MPa", "inch")[0]
    elif system == "inch":
        got = reading(value, known(source), "inch")[0]
    else:
        got = value / reading(1.0, source, "inch")[0] * (1e-3 if unit == "psi" else 1.0)
    if got == 0.0:
        return f"{0.0:.{len(text.partition('.')[2])}f}"
    if "e" in text:
        return f"{got:.0e}"
    decimals = len(text.partition(".")[2])
    length = unit in ("mm", "in")
    places = max(0, decimals + (1 if system == "inch" else -1)) if length else 0
    limit = 0.02 if length else 0.005
    while abs(round(got, places) - got) > limit * abs(got) and places < 7:
        places += 1
    plus = "+" if text.startswith("+") else ""  # a change to make keeps its sign
    return f"{plus}{got:.{places}f}"
