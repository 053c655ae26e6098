"""What the columns of a run's table are called: the names people write, and the names we know."""

from __future__ import annotations

import re
from collections.abc import Sequence

PART = (
    "part", "part_no", "part_nr", "part_number", "part_id", "no", "nr", "serial", "serial_no",
    "serial_number", "s_n", "sn", "#", "id", "piece", "workpiece", "item",
)  # fmt: skip
SIZE = ("size", "length", "width")
"""First words of a name that is the size of the part as it came."""
NEST = ("nest", "pocket", "station", "cavity")
TIME = ("time", "timestamp", "time_stamp", "date_time", "datetime")
FILLER = ("dev", "deviation", "error", "pos", "position")
"""Words at the end of a name that say no more than that it is a measured value."""
DIAMETER = ("d", "dia", "diameter")
CHANGE = ("change", "delta", "move", "moved", "by")
UNITS = ("mm", "um", "µm", "in", "inch", "thou", "nm", "lbfft", "lbfin", "s", "min", "h")
NO_UNIT = ("", "-", "--")
LENGTH_ENDS = ("x", "y", "z", "d")


def plain(head: str) -> str:
    """A column's name as we know it: lower case, words parted by _, its unit last."""
    return re.sub(r"[\s\[\](){}./·-]+", "_", head.strip().lower()).strip("_")


def known(names: Sequence[str]) -> list[str]:
    """The names, with what people call part, nest and time called so where nothing else is."""
    out = list(names)
    for ours, theirs in (("part", PART), ("nest", NEST), ("time", TIME)):
        if ours not in out:
            alias = next((n for n in theirs if n in out), None)
            out = [ours if n == alias else n for n in out]
    return out


def unit_row(cells: Sequence[str]) -> list[str]:
    """The units in a row below the names that holds nothing else; empty when it is none."""
    words = [plain(c) if c.strip() not in NO_UNIT else "" for c in cells]
    return words if any(words) and all(w in UNITS or not w for w in words) else []


def with_unit(name: str, unit: str) -> str:
    """The name with its unit last, where it has none yet."""
    return f"{name}_{unit}" if unit and name.rpartition("_")[2] not in UNITS else name


def bare(stem: str) -> list[str]:
    """The words of a name without its unit, without filler at the end, a diameter called d."""
    words = stem.split("_")
    while len(words) > 1 and words[-1] in FILLER:
        words.pop()
    if len(words) > 1 and words[-1] in DIAMETER:
        words[-1] = "d"
    return words


def is_length(name: str) -> bool:
    """Whether a name without a unit is that of a length all the same."""
    words = bare(name)
    if words[0] in (*SIZE, "offset") or is_work_offset(words[0]):
        return words[-1] not in UNITS
    return name == "value" or words[-1] in LENGTH_ENDS


def is_work_offset(word: str) -> bool:
    """Whether a name begins as that of a work offset does, g54 to g59."""
    return re.fullmatch(r"g5[4-9]", word) is not None


def says_change(stem: str) -> bool:
    """Whether a work offset's column says what it was moved by, not where it stands."""
    return any(w in CHANGE for w in stem.split("_"))
