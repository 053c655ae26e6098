"""The replayed year: every command on the page is one the program knows, and the sums add up."""

from __future__ import annotations

import re
import shlex
from pathlib import Path

import pytest

from jawright.doors.cli.arguments import parser

PAGE = (Path(__file__).resolve().parents[2] / "docs" / "year.md").read_text("utf-8")
COMMANDS = re.findall(r"^\$ jawright (.+)$", PAGE, re.M)


@pytest.mark.parametrize("command", COMMANDS)
def test_every_command_is_known(command: str) -> None:
    parser().parse_args(shlex.split(command))


def test_the_year_shows_every_way_and_adds_up() -> None:
    assert len(COMMANDS) >= 18
    said = " ".join(COMMANDS)
    wanted = ("plan", "rack add", "rack out", "rack in", "rack seat", "--way flip", "--way face", "diagnose")
    for words in (*wanted, "adopt", "rack export", "rack backup"):
        assert words in said, words
    codes = re.findall(r"^\(exit code (\d+)\)$", PAGE, re.M)
    assert len(codes) == len(COMMANDS) and set(codes) <= {"0", "1"}
    rows = re.findall(r"^\| (\w+) \| [^|]+ \| \d+ \| (\d+) \| \d+ \| (\d+) \|$", PAGE, re.M)
    own, new = re.findall(r"\*\*together\*\*.*\*\*(\d+)\*\*.*\*\*(\d+)\*\*", PAGE)[0]
    assert len(rows) == 5
    assert sum(int(r[1]) for r in rows) == pytest.approx(int(own), abs=3)  # each row is rounded
    assert sum(int(r[2]) for r in rows) == pytest.approx(int(new), abs=3)
