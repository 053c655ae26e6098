"""Is it gripped evenly: the proof must say what the trade knows, with numbers."""

from __future__ import annotations

from dataclasses import replace

import pytest

import samples
from jawright.hold.model import Hold
from jawright.jaws.model import Jaws
from jawright.job.model import HoldAsk, Job
from jawright.mechanics.beam import Cut
from jawright.proof import grips
from jawright.proof.model import Proof
from jawright.shop.model import Band3
from proof.sample_job import job


def prove(held: Hold | None = None, jaws: Jaws | None = None, ask: Job | None = None) -> dict[str, Proof]:
    got = grips.prove(
        held or samples.hold(),
        jaws or samples.jaws(),
        None,
        ask or job(),
        samples.shop(),  # type: ignore[arg-type]
    )
    return {p.name: p for p in got}


def with_stack(height: float) -> Jaws:
    j = samples.jaws()
    return replace(j, stack=replace(j.stack, height=height, low=height - 4.0, high=height + 4.0))


def test_all_answers_with_numbers_band_and_basis() -> None:
    got = prove()
    assert list(got) == [
        "taper", "wall shift", "contact over the grip depth", "load off the screw line", "grip depth",
    ]  # fmt: skip
    for p in got.values():
        assert p.question == "grips"
        assert p.value is not None and p.limit is not None and p.margin is not None
        assert p.low is not None and p.set is not None and p.high is not None
        assert p.low <= p.set <= p.high
        assert p.model and p.assumptions and p.where is not None
        good = p.margin >= 0
        assert good == (p.verdict == "pass")
        assert p.sentence.endswith(".")


def test_spacers_at_the_grip_leave_no_taper_and_no_shift() -> None:
    got = prove(jaws=with_stack(46.75))
    assert got["taper"].value == pytest.approx(0.0, abs=1e-9)
    assert got["wall shift"].value == pytest.approx(0.0, abs=1e-9)
    assert got["taper"].verdict == got["wall shift"].verdict == "pass"


def test_lower_spacers_taper_and_shift_more() -> None:
    taper = [prove(jaws=with_stack(h))["taper"].set for h in (46.0, 36.0, 26.0, 16.0, 6.0)]
    shift = [prove(jaws=with_stack(h))["wall shift"].set for h in (46.0, 36.0, 26.0, 16.0, 6.0)]
    assert taper == sorted(taper)  # type: ignore[type-var]
    assert shift == sorted(shift)  # type: ignore[type-var]
    low = prove(jaws=with_stack(6.0))["taper"]
    assert "open" in low.sentence
    what_if = {n: v for n, v, _ in low.detail}
    assert what_if["taper if the spacers were 5 mm higher"] < low.set  # type: ignore[operator]
    assert what_if["taper if the jaws were cut at half the torque"] > low.set  # type: ignore[operator]
    assert (
        what_if["taper if the jaws were cut free"] > what_if["taper if the jaws were cut at half the torque"]
    )
    assert what_if["spacer height of least taper"] == 46.75


def test_correction_points_the_way_the_wall_stands() -> None:
    low = prove(jaws=with_stack(10.0))["wall shift"]
    high = prove(jaws=with_stack(49.9))["wall shift"]
    correction = {n: v for n, v, _ in low.detail}["correction of the work offset along Y"]
    assert correction > 0 and "along +Y" in low.sentence
    assert {n: v for n, v, _ in high.detail}["correction of the work offset along Y"] < 0
    assert "along -Y" in high.sentence
    assert low.verdict == "caution"  # it can be corrected, so it is never a failure


def test_taper_that_the_squeeze_closes_is_a_caution_and_else_a_failure() -> None:
    soft_vise = replace(samples.vise(), tilt_stiffness=samples.Band3(1e7, 2e7, 4e7, "a very soft vise"))
    bad = prove(replace(samples.hold(), vise=soft_vise), with_stack(5.0))
    assert bad["contact over the grip depth"].verdict == "fail"
    assert bad["taper"].verdict == "fail"
    assert prove(jaws=with_stack(5.0))["taper"].verdict == "caution"


def test_more_torque_tapers_more() -> None:
    a = prove(ask=replace(job(), hold=HoldAsk(torque=15.0)))["taper"].set
    b = prove(ask=replace(job(), hold=HoldAsk(torque=45.0)))["taper"].set
    assert a < b  # type: ignore[operator]


def test_hard_jaws_were_ground_free_and_are_a_caution_at_worst() -> None:
    got = {p.name: p for p in grips.prove(samples.hold(), None, None, job(), samples.shop())}  # type: ignore[arg-type]
    soft = prove()
    assert got["taper"].set > soft["taper"].set  # type: ignore[operator]
    assert got["taper"].verdict in ("pass", "caution")
    assert "hard jaws" in got["taper"].sentence
    assert not any("spacer" in n for n, _, _ in got["taper"].detail)


def test_clamp_force_off_the_screw_line() -> None:
    h = samples.hold()
    near = prove()["load off the screw line"]
    assert near.verdict == "pass" and near.limit == pytest.approx(25.0)

    def shifted(dx: float) -> Hold:
        return replace(
            h, contacts=tuple(replace(c, point=(c.point[0] + dx, *c.point[1:])) for c in h.contacts)
        )

    far = prove(shifted(40.0))["load off the screw line"]
    assert far.verdict == "caution"
    assert far.value == pytest.approx(40.0 - near.value, rel=1e-5)  # type: ignore[operator]
    assert "dummy" in far.sentence


def test_resultant_is_between_the_walls_that_push() -> None:
    h = samples.hold()
    one = tuple(c for c in h.contacts if c.on != "floating" or c.name == "G3")
    got = prove(replace(h, contacts=one))["load off the screw line"]
    assert got.value == pytest.approx(13.0, abs=0.5)  # the nose alone, straight across


@pytest.mark.parametrize(
    ("depth", "verdict"), [(1.5, "fail"), (2.8, "caution"), (3.2, "pass"), (6.5, "pass")]
)
def test_grip_depth_by_the_rule(depth: float, verdict: str) -> None:
    assert prove(replace(samples.hold(), grip_depth=depth))["grip depth"].verdict == verdict


def test_hard_jaws_want_the_usual_depth() -> None:
    h = replace(samples.hold(), kind="hard jaws", grip_depth=5.0)
    got = {p.name: p for p in grips.prove(h, None, None, job(), samples.shop())}  # type: ignore[arg-type]
    assert got["grip depth"].limit == 6.35
    assert got["grip depth"].verdict == "caution"


@pytest.mark.parametrize("ask", [{"material": "unobtainium"}])
def test_missing_material_is_unknown(ask: dict[str, str]) -> None:
    got = prove(ask=replace(job(), **ask))  # type: ignore[arg-type]
    for name in ("taper", "wall shift", "contact over the grip depth"):
        assert got[name].verdict == "unknown"
        assert got[name].value is None and got[name].supply
    assert got["grip depth"].verdict == "pass"


def test_inch_job_reads_in_inches() -> None:
    got = prove(ask=replace(job(), units="inch"))
    assert " in" in got["taper"].sentence and "mm" not in got["taper"].sentence
    assert got["taper"].unit == "mm"


def test_what_if_is_the_same_as_really_cutting_it_so() -> None:
    a = grips.walls(samples.hold(), samples.jaws(), job(), force=8000.0, cut=Cut(8000.0, 21.0))
    b = grips.walls(samples.hold(), with_stack(21.0), job(), force=8000.0)
    assert a == b


def test_measured_vise_narrows_the_band_and_its_bad_end_gives_the_verdict() -> None:
    """Until the vise is measured the typical band is carried through, and its soft end judged by."""
    jaws = with_stack(20.0)
    h = samples.hold()
    v = h.vise
    typical = prove(h, jaws)["taper"]
    assert typical.value == typical.high and typical.high > typical.set > typical.low  # type: ignore[operator]
    assert any(v.tilt_stiffness.basis in a for a in typical.assumptions)
    t, p = v.tilt_stiffness.set, v.push_stiffness.set
    known = replace(
        v,
        tilt_stiffness=Band3(0.95 * t, t, 1.05 * t, "shop file"),
        push_stiffness=Band3(p, p, p, "shop file"),
    )
    got = prove(replace(h, vise=known), jaws)["taper"]
    assert got.set == pytest.approx(typical.set, rel=1e-6)
    assert got.value < typical.value  # type: ignore[operator]
    stiff = replace(known, tilt_stiffness=Band3(50 * t, 50 * t, 50 * t, "shop file"))
    better = prove(replace(h, vise=stiff), jaws)["taper"]
    assert better.value < got.value  # type: ignore[operator]
