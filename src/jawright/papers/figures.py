"""How a proof's own figures read: shares in percent, counts whole, factors as times; never a bare 0.00006."""

from __future__ import annotations

import math
import re

from jawright.papers.measure import Reader
from jawright.proof.model import Proof

SHARE = re.compile(r"share|yields?\b|good if|parts in which|home when|used up|clamp force, share")
TIMES = re.compile(r"load factor|.*\bfactor$|.*over the usual$")
SHARES = frozenset(
    {"chip at a wall", "goes home by itself", "contact over the grip depth", "wedging", "equal grip"}
)
"""Proofs beside those of *locates* whose value is a share of a whole."""

COUNTED = {"wrong way round": ("way", "ways")}
"""What is counted, where the name of the proof does not say it."""


def of_proof(p: Proof, value: float | None, r: Reader) -> str:
    """The value, limit or margin of a proof, or an end of its band, in the reader's unit."""
    if value is None:
        return "open"
    if p.unit:
        return r.value(value, p.unit)
    if p.question == "locates" or p.name in SHARES:
        return percent(value)
    return plain(value, p.name)


def of_detail(name: str, value: float, unit: str, r: Reader) -> str:
    """A further number of a proof; its name tells what a number without a unit is."""
    if unit:
        return r.value(value, unit)
    return percent(value) if SHARE.match(name) else plain(value, name)


def plain(value: float, name: str) -> str:
    """A count as a whole number, a factor as times, else three figures."""
    if not math.isfinite(value):
        return "without limit" if value == math.inf else "unknown"
    words = f"{value:.0f}" if value == round(value) and abs(value) < 1e7 else Reader("mm").value(value, "")
    words = "0" if words == "-0" else words
    if name in COUNTED:
        return f"{words} {COUNTED[name][abs(value) != 1]}"
    return f"{words} times" if TIMES.match(name) else words


def percent(share: float) -> str:
    """A share in percent: hundredths where they decide, and what is not nought never reads as nought.

    >>> percent(0.99692), percent(0.854), percent(1.0), percent(-0.00006), percent(2.03)
    ('99.69 %', '85.4 %', '100 %', '-0.01 %', '203 %')
    """
    if not math.isfinite(share):
        return "unknown"
    value = 100.0 * share
    size = abs(value)
    if size == 0.0:
        return "0 %"
    places = 2 if size < 10 or 99 <= size < 100 else 1 if size < 99 else 0
    if size < 0.005:
        return f"{math.copysign(0.01, value):.2f} %"
    if 99.995 <= size < 100:  # nearly all is not all
        return f"{math.copysign(99.99, value):.2f} %"
    text = f"{value:.{places}f}"
    return f"{text} %"
