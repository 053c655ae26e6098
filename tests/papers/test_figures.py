"""Shares read in percent, counts whole, factors as times; what is not nought never reads as nought."""

from __future__ import annotations

import re

from hypothesis import given
from hypothesis import strategies as st

from jawright.papers.content import content
from jawright.papers.figures import of_detail, of_proof, percent, plain
from jawright.papers.measure import Reader
from jawright.proof.model import Proof
from papers import sample

MM = Reader("mm")


def test_a_missed_yield_is_told_in_percent() -> None:
    p = Proof("locates", "hole: position", "caution", "", 0.99692, "", limit=0.9973, margin=-0.00038)
    assert [of_proof(p, v, MM) for v in (p.value, p.limit, p.margin)] == ["99.69 %", "99.73 %", "-0.04 %"]
    assert of_proof(p, None, MM) == "open"


def test_counts_factors_and_lengths() -> None:
    assert plain(8.0, "places that carry") == "8" and plain(-0.0, "reliefs") == "0"
    assert plain(3.66, "load factor, back face") == "3.66 times"
    assert of_detail("parts sampled", 100000.0, "", MM) == "100000"
    assert of_detail("share of wander of the drill", 0.543, "", MM) == "54.3 %"
    assert of_detail("spacer height", 40.0, "mm", Reader("inch")) == "1.5748 in"
    held = Proof("holds", "load factor, x", "pass", "", 3.664, "", limit=2.0)
    assert (of_proof(held, held.value, MM), of_proof(held, held.limit, MM)) == ("3.66 times", "2 times")


@given(st.floats(min_value=-3.0, max_value=3.0))
def test_a_percentage_is_nought_or_whole_only_when_it_is(share: float) -> None:
    text = percent(share)
    assert re.fullmatch(r"-?\d+(\.\d{1,2})? %", text)
    read = float(text.removesuffix(" %"))
    assert (read == 0.0) == (share == 0.0)
    assert abs(read - 100 * share) <= (0.051 if abs(share) < 1 else 0.51)
    assert not (abs(share) < 1.0 and abs(read) >= 100.0)
    assert (read > 0) == (share > 0)


def test_no_figure_of_a_sheet_has_noughts_in_place_of_digits() -> None:
    """Nothing like 0.0000600, and no margin of a share without its sign of percent."""
    for answer in content(sample.good_record()).answers:
        for line in answer.lines:
            for n in (*line.numbers, *line.detail):
                assert not re.search(r"(?<![\d.])0\.0000\d+(?!\d* in)", n.value), (line.name, n)


def test_what_is_counted_is_named() -> None:
    """Three ways it also goes in: not a bare 3."""
    assert plain(3.0, "wrong way round") == "3 ways"
    assert plain(1.0, "wrong way round") == "1 way"
    assert plain(0.0, "wrong way round") == "0 ways"
    assert plain(-3.0, "wrong way round") == "-3 ways"
