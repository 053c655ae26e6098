"""A vise that no wrench closes: the papers speak of its clamp force, never of a torque to set."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

from sample import record

import samples
from jawright.job.read import read_job
from jawright.papers.facts import torque_fact
from jawright.papers.inspection import holding_rows
from jawright.papers.measure import Reader
from jawright.papers.steps import _torque
from jawright.part.model import Part
from jawright.proof import grips, holds, spring
from jawright.record import Record
from jawright.shop.model import Band3
from jawright.shop.read import read_shop
from test_conductor import DEMO


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


def test_no_answer_speaks_of_a_torque_to_set(tmp_path: Path) -> None:
    """The demo with a vise closed by 6 kN: no newton meters to set, no default of a screw."""
    shop_text = (DEMO / "shop.toml").read_text(encoding="utf-8")
    start, end = shop_text.index("screw_lead"), shop_text.index('fixed_jaw = "rear"')
    (tmp_path / "shop.toml").write_text(
        shop_text[:start] + 'force = "6 kN"\n' + shop_text[end:], encoding="utf-8"
    )
    shop = read_shop(tmp_path / "shop.toml")
    vise = shop.vises[0]
    assert vise.force is not None
    listed = [line for line in shop.defaults_used if f"vise {vise.id}" in line]
    assert listed and not any(k in line for line in listed for k in ("screw_", "torque_max", "collar_"))
    h = replace(samples.hold(), vise=vise)
    job, part = read_job(DEMO / "pawl.toml"), Part  # no solid: the closed forms answer
    proofs = [
        *grips.prove(h, samples.jaws(), part, job, shop),
        *spring.prove(h, samples.jaws(), part, job, shop),
    ]
    proofs += holds.prove(h, samples.jaws(), part, job, shop)
    said = [text for p in proofs for text in (p.sentence, *p.assumptions)]
    # the stiffness of the jaw's mount is told by what a moment does to it: that is no torque to set
    own = [s for s in said if " N·m " in s.replace("100 N·m lean the jaw mount", "")]
    assert said and not own and not any("torque of the run" in s or "Tighten" in s for s in said)
    assert any("clamp force of the run" in s for s in said)
