"""Reading a line at a stroke and with care are the same, and so are all ways to write one program."""

from __future__ import annotations

import random

import pytest

from jawright.verify import words
from jawright.verify.reader import read
from verify.program import good
from verify.test_check import run

PIECES = [
    "G1",
    "g2",
    "X",
    "y-",
    "Z1.5",
    "I .5",
    "J-.25",
    "N10",
    "n5",
    " ",
    "\t",
    "F100.",
    "M3",
    "S+4",
    "1",
    ".",
]


def careful(text: str):
    """The line as the slow way reads it, or where it is refused."""
    try:
        return words._Line(text, 7, {}).block()
    except words.RefusedError as r:
        return r.column, r.what


def quick(text: str):
    try:
        return words.read_line(text, 7, {})
    except words.RefusedError as r:
        return r.column, r.what


def test_both_ways_of_reading_a_line_agree():
    rng = random.Random(5)
    plain = 0
    for _ in range(4000):
        text = "".join(rng.choice(PIECES) for _ in range(rng.randrange(1, 9)))
        assert quick(text) == careful(text), text
        try:
            plain += words._plain(text, 7) is not None
        except words.RefusedError:
            plain += 1
    assert plain > 400


def numbered(text: str) -> str:
    lines = [line for line in text.split("\n") if line]
    return "\n".join(f"N{10 * k} {line}" for k, line in enumerate(lines, 1)) + "\n"


WAYS = {
    "lower case": str.lower,
    "spaces in words": lambda t: t.replace("X", "X  ").replace(" Y", "\tY"),
    "spaces in numbers": lambda t: t.replace(".", " . "),
    "percent": lambda t: "%\n" + t.replace("M30\n", "M30\n%\n"),
    "line numbers": numbered,
    "carriage returns": lambda t: t.replace("\n", "\r\n"),
    "leading zeros": lambda t: t.replace("G1 ", "G01 ").replace("G0 ", "G00"),
    "comments between words": lambda t: t.replace(" X", "(to)X").replace(" Y", " (and) Y"),
    "expressions": lambda t: t.replace("F800.0000", "F[400*2]").replace("X-62.0000", "X[[31+31]*[0-1]]"),
}


@pytest.mark.parametrize("way", WAYS)
def test_the_same_program_written_otherwise(way: str):
    """NISTIR 6556, 3.3: case and white space do not matter; comments and line numbers change nothing."""
    text = good(spring=False)
    other = WAYS[way](text)
    assert other != text
    a, b = run(text), run(other)
    assert b.verified, [f.what for f in b.findings]
    assert [m.end for m in read(other).moves] == [m.end for m in read(text).moves]
    assert (a.gouge, a.rest, a.wall_error) == pytest.approx((b.gouge, b.rest, b.wall_error), abs=1e-9)
