"""Is it left unmarked: pressure against the minimum yield of the softer body."""

from __future__ import annotations

import math
from dataclasses import replace

import pytest

import samples
from jawright.handbook import material
from jawright.hold.model import Contact, Hold
from jawright.job.model import HoldAsk
from jawright.mechanics import hertz
from jawright.proof import bruise, pressure
from jawright.proof.model import Proof
from jawright.proof.window import study
from proof.sample_job import job


def prove(held: Hold | None = None, *, torque: float = 29.0, **changes: object) -> Proof:
    ask = replace(job(), **{"hold": HoldAsk(torque=torque), **changes})  # type: ignore[arg-type]
    got = bruise.prove(held or samples.hold(), samples.jaws(), None, ask, samples.shop())  # type: ignore[arg-type]
    assert len(got) == 1
    return got[0]


def block(length: float = 50.0, *, radius_part: float = 0.0, radius_jaw: float = 0.0) -> Hold:
    """One wall a side, straight across: all of the clamp force on ``length`` of wall."""
    contacts = tuple(
        Contact(name, on, (0.0, y, 46.0), (0.0, n, 0.0), 0.0, length, 0, True, radius_part, radius_jaw)  # type: ignore[arg-type]
        for name, on, y, n in (("L1", "fixed", 6.0, -1.0), ("G1", "floating", -20.0, 1.0))
    )
    return replace(samples.hold(), contacts=contacts, features=())


def force_of(torque: float, end: str = "set") -> float:
    from jawright.proof.clamp import clamp_force  # noqa: PLC0415

    got = clamp_force(samples.vise(), torque)
    assert got is not None
    return float(getattr(got, end))


def test_flat_wall_by_force_over_area() -> None:
    got = prove(block())
    assert got.set == pytest.approx(force_of(29.0) / (50.0 * 6.5), rel=1e-5)
    assert got.limit == pytest.approx(0.5 * 241.0)
    assert got.verdict == "pass"
    assert "6061-T6" in got.sentence


def test_round_part_on_a_flat_wall_by_hertz() -> None:
    got = prove(block(radius_part=10.0))
    soft = material("6061-T6")
    modulus = hertz.contact_modulus(soft.E, soft.nu, soft.E, soft.nu)
    expected = math.sqrt(force_of(29.0) / 6.5 * modulus / (math.pi * 10.0))
    assert got.set == pytest.approx(expected, rel=1e-4)
    assert got.limit == pytest.approx(1.665 * 241.0, rel=1e-3)
    assert got.verdict == "fail"  # a line contact at this torque dents
    assert "line contact" in got.model


def test_wrapped_wall_is_no_line_contact() -> None:
    got = prove(block(radius_part=10.0, radius_jaw=10.0))
    assert "mean pressure" in got.model
    assert got.verdict == "pass"
    slightly = prove(block(radius_part=10.0, radius_jaw=10.05))
    assert "mean pressure" in slightly.model
    open_ = prove(block(radius_part=10.0, radius_jaw=14.0))
    assert "line contact" in open_.model


def test_marks_not_allowed_asks_for_a_fifth() -> None:
    usual, strict = prove(block()), prove(block(), marks_allowed=False)
    assert strict.limit == pytest.approx(0.2 * 241.0)
    assert strict.limit < usual.limit  # type: ignore[operator]
    assert strict.set == usual.set


def test_the_softer_body_decides() -> None:
    hard_part = prove(block(), material="4140 prehard")
    assert hard_part.limit == pytest.approx(0.5 * 241.0)  # the aluminum jaw
    soft_part = prove(block(), material="acetal copolymer")
    assert soft_part.limit == pytest.approx(0.5 * 63.0)


def test_short_wall_and_more_torque_press_harder() -> None:
    assert prove(block(10.0)).set > prove(block(40.0)).set  # type: ignore[operator]
    assert prove(block(), torque=60.0).set > prove(block()).set  # type: ignore[operator]
    assert prove(block(3.0), torque=60.0).verdict == "fail"


def test_bad_end_decides_between_pass_and_caution() -> None:
    verdicts = [prove(block(n), torque=40.0).verdict for n in (40.0, 20.0, 15.0, 12.0, 8.0, 4.0)]
    order = {"pass": 0, "caution": 1, "fail": 2}
    ranks = [order[v] for v in verdicts]
    assert ranks == sorted(ranks)
    assert {0, 1, 2} == set(ranks)


def test_torque_at_which_it_bruises_closes_the_window() -> None:
    h = block(6.0)
    s = study(h, samples.jaws(), None, job(), samples.shop())
    assert s.most is not None
    assert "bruising" in s.most_why
    assert force_of(s.most, "high") / (6.0 * 6.5) == pytest.approx(0.5 * 241.0, rel=1e-4)
    assert s.walls is not None
    got = pressure.worst_pressure(
        s.walls, hold=h, jaws=samples.jaws(), material="6061-T6", force=force_of(s.most, "high"), share=1.0,
        marks=True,
    )  # fmt: skip
    assert got is not None and got.use == pytest.approx(1.0, rel=1e-4)


def test_unknown_with_what_to_supply() -> None:
    lost = prove(material="unobtainium")
    assert lost.verdict == "unknown" and lost.supply and lost.value is None
    h = samples.hold()
    loose = replace(h, contacts=tuple(c for c in h.contacts if c.on != "floating"))
    assert prove(loose).verdict == "unknown"
    one_sided = replace(h, contacts=tuple(c for c in h.contacts if c.name not in ("B1", "B2")))
    assert prove(one_sided).verdict == "unknown"


def test_line_contact_closes_the_window_where_it_first_yields() -> None:
    h = block(radius_part=10.0)
    s = study(h, samples.jaws(), None, job(), samples.shop())
    assert s.most is not None and "bruising" in s.most_why
    soft = material("6061-T6")
    modulus = hertz.contact_modulus(soft.E, soft.nu, soft.E, soft.nu)
    _, p0 = hertz.line_contact(force_of(s.most, "high") / 6.5, 10.0, modulus)
    assert p0 == pytest.approx(1.665 * 241.0, rel=1e-4)
