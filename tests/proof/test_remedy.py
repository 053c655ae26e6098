"""An empty torque window says how much of which change is enough; done so, the window is open."""

from __future__ import annotations

from dataclasses import replace

import pytest

import samples
from jawright.hold.model import Hold
from jawright.job.model import Job
from jawright.proof import holds
from jawright.proof.remedy import Remedy, remedies
from jawright.proof.window import Study, study
from jawright.shop.model import Band3
from proof.sample_job import job
from proof.test_holds import block_hold


def asked(h: Hold, j: Job | None = None) -> tuple[Study, dict[str, Remedy]]:
    j = j or job()
    s = study(h, samples.jaws(), None, j, samples.shop())
    found = remedies(h, samples.jaws(), j, samples.shop(), s)
    return s, {r.name.split(" of ")[0].split(" at ")[0]: r for r in found}


def narrow(length: float) -> Hold:
    """The block, held at two short walls a side and cut so hard that no torque serves."""
    h = block_hold(z=6.0)
    heavy = replace(h.features[0], axial=6.0, radial=3.0)
    short = [c if c.on == "floor" else replace(c, share=length) for c in h.contacts]
    return replace(h, contacts=tuple(short), features=(heavy,))


def test_share_of_the_load_is_what_opens_the_window() -> None:
    h = narrow(4.0)
    s, found = asked(h)
    assert s.least is not None and s.most is not None and s.least > s.most
    share = found["share"].value
    assert 0.05 < share < 1
    f = h.features[0]
    # the load is in proportion to the depth of the cut
    lighter = replace(h, features=(replace(f, axial=f.axial * share),))
    assert study(lighter, samples.jaws(), None, job(), samples.shop()).open
    more = replace(h, features=(replace(f, axial=min(f.axial, f.axial * share * 1.05)),))
    assert not study(more, samples.jaws(), None, job(), samples.shop()).open


def test_longer_wall_opens_the_window_where_it_bruises() -> None:
    h = narrow(7.0)
    s, found = asked(h)
    assert "bruising" in s.most_why
    need = found["wall length"].value
    assert need > 7.0

    def open_at(length: float) -> bool:
        return study(narrow(length), samples.jaws(), None, job(), samples.shop()).open

    assert open_at(need * 1.01) and not open_at(need * 0.97)
    # depth and length carry alike, in a part that is tall enough
    deep = asked(replace(h, part_top=h.floor + 30.0))[1]["grip depth that would do"].value
    assert deep / h.grip_depth == pytest.approx(need / 7.0, rel=1e-6)


def test_no_grip_is_asked_for_that_leaves_the_jaws_in_the_cutters_way() -> None:
    h = narrow(7.0)
    deep = asked(replace(h, part_top=h.floor + 30.0))[1]["grip depth that would do"].value
    for over, said in ((1.6, True), (1.4, False)):  # the jaws are to end 1.5 mm below the finished top
        names = asked(replace(h, part_top=h.floor + deep + over))[1]
        assert ("grip depth that would do" in names) is said
        assert "wall length" in names


def test_harder_jaws_are_named_only_where_the_jaw_is_what_marks() -> None:
    h = narrow(4.0)
    steel = replace(samples.blank(), id="S", material="1018")
    shop = replace(samples.shop(), blanks=(samples.blank(), steel))
    part = replace(job(), material="4140 prehard")
    s = study(h, samples.jaws(), None, part, shop)
    soft = study(h, samples.jaws(), None, job(), shop)
    names = [r.name for r in remedies(h, samples.jaws(), job(), shop, soft)]
    assert not any("jaws" in n for n in names)  # part and jaw are of one metal
    for r in remedies(h, samples.jaws(), part, shop, s):
        if "jaws" in r.name:
            assert s.least is not None and r.value >= s.least


def test_too_weak_a_vise_is_helped_by_lighter_cuts_alone() -> None:
    h = narrow(40.0)
    h = replace(h, vise=replace(h.vise, torque_max=5.0))
    s, found = asked(h)
    assert s.most_why == "the vise's largest torque"
    assert set(found) == {"share"}
    got = holds.prove(h, samples.jaws(), None, job(), samples.shop())[-1]  # type: ignore[arg-type]
    assert got.verdict == "fail" and f"{found['share'].value:.0%} of the load" in got.sentence
    assert any(name.startswith("share of the load") for name, _, _ in got.detail)


def test_open_window_asks_for_nothing() -> None:
    s, found = asked(samples.hold())
    assert s.open and not found


def test_clamp_force_as_it_is_set_stands_for_the_torque() -> None:
    """A vise that no wrench closes: its force and band as they are, the window in newtons."""
    h = samples.hold()
    v = replace(h.vise, force=Band3(7200.0, 8000.0, 8800.0, "shop file"))
    h = replace(h, vise=v)
    s = study(h, samples.jaws(), None, job(), samples.shop())
    assert s.force is not None
    assert (s.force.low, s.force.set, s.force.high) == pytest.approx((7200.0, 8000.0, 8800.0))
    got = holds.prove(h, samples.jaws(), None, job(), samples.shop())[-1]  # type: ignore[arg-type]
    # above the force that springs it with the best friction, below that with the usual: a caution
    assert got.unit == "N" and got.set == 8000.0 and got.verdict == "caution"
    assert "closes with 8000 N" in got.sentence and "orque" not in got.sentence
    # as the screw gives it: the same force asks for the same part of the window
    by_screw = study(samples.hold(), samples.jaws(), None, job(), samples.shop())
    assert by_screw.cases is not None and s.cases is not None and s.least is not None
    need = max(c.need for c in s.cases)
    assert s.least * 0.9 == pytest.approx(need)


def test_weak_set_force_fails_and_says_what_to_change() -> None:
    h = samples.hold()
    h = replace(h, vise=replace(h.vise, force=Band3(900.0, 1000.0, 1100.0, "shop file")))
    got = holds.prove(h, samples.jaws(), None, job(), samples.shop())[-1]  # type: ignore[arg-type]
    assert got.verdict == "fail"
    assert "from" in got.sentence and "Set it within that" in got.sentence


def test_table_scatter_is_the_shops_own() -> None:
    from jawright.proof import clamp  # noqa: PLC0415

    v = replace(samples.vise(), torque_table=((20.0, 6000.0),), table_scatter=0.04)
    got = clamp.clamp_force(v, 10.0)
    assert got is not None and (got.low, got.set, got.high) == pytest.approx((2880.0, 3000.0, 3120.0))
    assert "4%" in got.basis and "shop file" in got.basis
    assert clamp.torque_for_at_least(v, 2880.0) == pytest.approx(10.0)
