"""Two readings at the machine and the answer; the rules are common practice of the trade, no source."""

from __future__ import annotations

import dataclasses
import re

import pytest

from jawright.floor import wrong
from jawright.floor.symptoms import SYMPTOMS, symptom
from jawright.floor.wrong import answer
from jawright.papers.measure import Reader
from jawright.record import Record
from jawright.shop.model import Band3
from papers import sample


@pytest.fixture
def record() -> Record:
    return sample.good_record()


def test_every_symptom_has_an_answer_in_both_units(record: Record) -> None:
    assert len(SYMPTOMS) == 8
    for s in SYMPTOMS:
        for units in ("mm", "inch"):
            for a, b in ((0.0, 0.0), (0.05, 0.001), (5.0, 9.0), (-0.05, 0.05)):
                found = answer(record, s.key, (a, b), units)  # type: ignore[arg-type]
                text = " ".join((found.cause, found.do, found.leave, *found.by))
                assert found.cause and found.do and found.leave
                assert not re.search(r"\bsafe\b", text)
                if units == "inch":
                    assert not re.search(r"\d mm\b", " ".join((found.cause, found.do, found.leave)))
    assert symptom("nonsense") is None


@pytest.mark.parametrize(
    ("key", "readings", "says"),
    [
        ("rocks", (0.10, 0.01), "chip or a burr"),
        ("rocks", (0.10, 0.10), "do not say on what"),
        ("chip", (0.08, 0.01), "It was a chip"),
        ("chip", (0.08, 0.08), "stays high"),
        ("lifts", (0.05, 0.05), "fixed side rises"),
        ("lifts", (0.0, 0.9), "more than this vise"),
        ("lifts", (0.0, 0.0), "usual rise"),
        ("mismatch", (0.03, 0.031), "zero is off by 0.03"),
        ("mismatch", (0.03, -0.03), "turned by"),
        ("mismatch", (0.001, 0.0), "No step"),
        ("drifts", (0.01, 600.0), "warming up"),
        ("drifts", (0.0005, 7200.0), "Heat"),
        ("drifts", (0.2, 7200.0), "wear of the cutter"),
    ],
)
def test_what_two_readings_say(record: Record, key: str, readings: tuple[float, float], says: str) -> None:
    assert says in answer(record, key, readings, "mm").cause


def test_marks_are_judged_by_the_torque_window(record: Record) -> None:
    assert record.torque is not None
    low, _, high = record.torque
    assert "beyond" in answer(record, "marks", (high + 1, 0.02), "mm").cause
    assert "below what holds" in answer(record, "marks", (low - 1, 0.02), "mm").cause
    assert "edge, a burr or a chip" in answer(record, "marks", ((low + high) / 2, 0.02), "mm").cause
    none = dataclasses.replace(record, torque=None)
    assert "cannot be judged" in answer(none, "marks", (20.0, 0.02), "mm").cause


def test_sizes_are_judged_by_the_window_of_the_pocket(record: Record) -> None:
    window = wrong._window(record)
    if window is None:
        assert "does not say" in answer(record, "tight", (30.0, 30.0), "mm").cause
        detail = (("smallest width taken", 29.8, "mm"), ("largest width taken", 30.2, "mm"))
        p = dataclasses.replace(record.proofs[0], model="acceptance-window-1", detail=detail)
        record, window = dataclasses.replace(record, proofs=(p, *record.proofs[1:])), (29.8, 30.2)
    low, high = window
    assert "0.100 mm larger" in answer(record, "tight", (high + 0.1, high), "mm").cause
    assert "tapered by 0.050" in answer(record, "tight", (high, high - 0.05), "mm").cause
    assert "smaller than drawn" in answer(record, "tight", (high, high), "mm").cause
    assert "smaller than the pocket takes" in answer(record, "loose", (low - 0.1, 0.0), "mm").cause
    assert "off the fixed jaw" in answer(record, "loose", (low, 0.04), "mm").cause
    for key, readings in (
        ("tight", (high + 18.0, high)),
        ("tight", (high, 5.0)),
        ("loose", (low - 9.0, 0.0)),
    ):
        assert "is not the width across the jaws" in answer(record, key, readings, "mm").cause


def test_the_rise_is_judged_by_the_vise_that_is_used(record: Record) -> None:
    assert record.hold is not None
    worn = dataclasses.replace(record.hold.vise, lift=Band3(0.0, 0.05, 0.2, "measured"))
    hold = dataclasses.replace(record.hold, vise=worn)
    found = answer(dataclasses.replace(record, hold=hold), "lifts", (0.0, 0.15), "mm")
    assert "usual" in found.cause
    assert "measured" in found.by[0]


def test_growth_is_length_times_expansion_times_swing(record: Record) -> None:
    """6061: 23.6e-6 per kelvin, as in the handbook's table of materials."""
    assert record.hold is not None
    box = record.hold.outline.outer.box
    length = max(box[2] - box[0], box[3] - box[1])
    grown = 23.6e-6 * record.shop.temperature_swing.high * length
    by = answer(record, "drifts", (0.0, 7200.0), "mm").by[0]
    assert Reader("mm").place(grown) in by
