"""A vise that no wrench closes: the papers speak of its clamp force, never of a torque to set."""

from __future__ import annotations

from dataclasses import replace

from sample import record

from jawright.papers.facts import torque_fact
from jawright.papers.inspection import holding_rows
from jawright.papers.measure import Reader
from jawright.papers.steps import _torque
from jawright.record import Record
from jawright.shop.model import Band3


def set_force() -> Record:
    r = record()
    assert r.hold is not None
    v = replace(r.hold.vise, force=Band3(10800.0, 12000.0, 13200.0, "shop file"))
    proofs = tuple(
        replace(p, low=5200.0, set=12000.0, high=20000.0, unit="N") if p.name == "torque window" else p
        for p in r.proofs
    )
    return replace(r, hold=replace(r.hold, vise=v), torque=None, proofs=proofs)


def test_first_screen_and_steps_tell_the_force() -> None:
    r = set_force()
    fact = torque_fact(r, Reader("mm"))
    assert (fact.label, fact.value) == ("Clamp force", "12000 N")
    assert "least 5200 N" in fact.note and fact.level == ""
    assert _torque(r) == "its set clamp force of 12000 N"
    assert ("Clamp force used", "set 12000 N") in holding_rows(r)


def test_inch_shop_reads_pounds_and_a_failed_window_shows() -> None:
    r = set_force()
    assert "lbf" in torque_fact(r, Reader("inch")).value
    bad = tuple(replace(p, verdict="fail") if p.name == "torque window" else p for p in r.proofs)
    assert torque_fact(replace(r, proofs=bad), Reader("mm")).level == "fail"
    unknown = tuple(p for p in r.proofs if p.name != "torque window")
    assert torque_fact(replace(r, proofs=unknown), Reader("mm")).level == "unknown"
