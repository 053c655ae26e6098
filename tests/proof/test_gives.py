"""What is cut squeezed and let go: spring as a source of the places, with its sign, against Hooke."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
import sample_block as block

from jawright.job.model import ToleranceAsk
from jawright.proof import gives, locates
from jawright.proof.deviations import judge, resolve
from jawright.proof.gives import LABEL, Gives
from jawright.proof.places import machine_off, on_part
from jawright.proof.population import population, salt_of, sprung
from jawright.statistics.draw import cut_sigma
from proof import sample_elastic as made
from proof.test_released import WORK, bored, cut_part, hold

FORCE, MOVE = 20000.0, 3e-7  # N, mm/N: 0.006 mm


def soft(moves: dict[str, tuple[float, float]]) -> Gives:
    return Gives((FORCE / 2, FORCE, FORCE * 1.5), 0.1, moves, 1e-6, 0.0, 30.0, "test")


def parts(g: Gives):  # type: ignore[no-untyped-def]
    h, job, shop = block.hold(), block.job(profile=0.0), block.quiet_shop()
    return h, sprung(population(h, job, shop, "set"), g, "set", salt_of(job))


def test_a_bore_comes_off_the_fixed_jaw_by_force_times_give() -> None:
    h, p = parts(soft({"pivot bore": (0.0, -MOVE)}))
    ask = resolve(h, ToleranceAsk("pivot bore", "distance", 0.1, ("B",), False))
    off = judge(ask, p.scene, p.sample, p.seated).parts[:, 0]
    # outward of B is +Y: a bore that comes away from B is off by minus the move
    assert off.mean() == pytest.approx(-FORCE * MOVE, rel=1e-3)
    assert off.std() == pytest.approx(cut_sigma(0.1 * FORCE, 0.1 * FORCE / 3) * MOVE, rel=0.02)


def test_held_against_the_other_jaw_the_metal_grows_the_other_way() -> None:
    """Half way between the jaws a bore moves by half the width's change, or not at all."""
    g = soft({})
    assert g.at("x", -15.0)[1] == pytest.approx(-g.width / 2)
    assert replace(g, against=1.0).at("x", -15.0)[1] == pytest.approx(g.width / 2)
    assert replace(g, against=0.5).at("x", -15.0)[1] == pytest.approx(0.0)


def test_two_bores_cut_in_one_clamping_part_as_the_metal_between_them_grows_back() -> None:
    h = block.hold()
    other = replace(h.features[1], name="second", center=(10.0, -27.0, 55.5), faces=(55,))
    h = replace(h, features=(*h.features, other))
    job, shop = block.job(profile=0.0), block.quiet_shop()
    p = sprung(population(h, job, shop, "set"), soft({}), "set", salt_of(job))
    y = []
    for f in h.features[1:]:
        at = np.array(f.center[:2])
        y.append(on_part(machine_off(p.scene, f, p.sample), p.seated, at, scene=p.scene, sample=p.sample)[1])
    apart = y[0] - y[1] - 15.0
    assert apart.mean() == pytest.approx(FORCE * 1e-6 * 15.0 / 30.0, rel=1e-3)  # half of the width's 0.02


def test_a_pocket_is_wider_when_the_vise_has_opened() -> None:
    h, p = parts(soft({}))
    f = replace(h.features[1], name="pocket", kind="pocket", center=(0.0, -15.0, 50.0), diameter=None)
    for axis in "XY":
        assert not p.scene.has(f"machine pocket {axis}")
    f = replace(f, name=h.features[1].name)
    off = machine_off(p.scene, f, p.sample)
    ends = [
        on_part(off, p.seated, np.array([0.0, y]), scene=p.scene, sample=p.sample)[1] for y in (-5.0, -25.0)
    ]
    assert (ends[0] - ends[1] - 20.0).mean() == pytest.approx(FORCE * 1e-6 * 20.0 / 30.0, rel=1e-3)


def test_the_solid_s_own_give_reaches_the_yield_and_the_shares() -> None:
    """Hooke: the metal between bore and fixed jaw grows back by σ y / E, 13 mm of a block of 44 x 12."""
    h, body = bored(hold(grip_depth=12.0), -2.5, -7.0, 6.0)
    still = dict.fromkeys(("lift", "yaw", "side_play", "repeat"), block.NONE)
    h = replace(h, vise=replace(h.vise, **still))
    job, shop, part = block.job(profile=0.0), block.quiet_shop(), cut_part(body)
    got = gives.of(h, made.jaws(), part, job, shop)
    assert isinstance(got, Gives)
    hooke = 13.0 / (44.0 * 12.0) / WORK.E
    assert got.moves["bore"][1] == pytest.approx(-hooke, rel=0.1)
    assert got.width > 0
    ask = ToleranceAsk("bore", "position", 0.05, ("A", "B"), True)
    datums = tuple(d for d in block.hold().datums if d.letter in "AB")
    h = replace(h, tolerances=(ask,), datums=datums)
    run = locates.study(h, made.jaws(), part, job, shop)
    assert isinstance(run.gives, Gives)  # at the torque that the tolerance leaves
    p = run.proof(resolve(h, ask))
    shares = {n: v for n, v, _ in p.detail}
    assert shares[f"share of {LABEL}"] > 0
    assert any("spring when the vise opens counted" in a for a in p.assumptions)
    off = run.outcome(resolve(h, ask), "set")[0].judged.parts[:, 1]
    quiet = population(h, job, shop, "set")
    bare = judge(resolve(h, ask), quiet.scene, quiet.sample, quiet.seated).parts[:, 1]
    assert (off.mean() - bare.mean()) == pytest.approx(
        run.gives.force[1] * run.gives.moves["bore"][1], rel=0.02
    )


def test_what_is_not_known_is_said_and_not_counted() -> None:
    assert gives.of(block.hold(), None, None, block.job(), block.quiet_shop()) == ""
    h, body = bored(hold(), -2.5, -7.0, 6.0)
    odd = replace(block.job(), material="unobtainium")
    assert isinstance(gives.of(h, made.jaws(), cut_part(body), odd, block.quiet_shop()), str)


def test_a_spring_that_is_not_known_is_no_pass(monkeypatch: pytest.MonkeyPatch) -> None:
    """The parts are good as far as is known: caution, with why and what to give; the same all together."""
    h = block.hold()
    ask = ToleranceAsk("pivot bore", "position", 1.0, ("A", "B", "C"), True)
    second = replace(ask, zone=0.9)
    h = replace(h, tolerances=(ask, second))
    job, shop = block.job(profile=0.0), block.quiet_shop()

    def got(found: Gives | str) -> list[tuple[str, str, bool]]:
        locates.study.cache_clear()
        monkeypatch.setattr(locates.gives, "of", lambda *_: found)
        proofs = locates.prove(h, None, None, job, shop)
        assert all(
            ("clamp force unknown" in p.sentence) == (found == "clamp force unknown") for p in proofs[:2]
        )
        return [(p.name.split(":")[0], p.verdict, bool(p.supply)) for p in proofs[:3]]

    name, joint = "pivot bore", "all tolerances together"
    assert got("") == [(name, "pass", False)] * 2 + [(joint, "pass", False)]
    assert got("clamp force unknown") == [(name, "caution", True)] * 2 + [(joint, "caution", False)]
    known = replace(soft({}), scatter=0.0)
    assert got(known) == [(name, "pass", False)] * 2 + [(joint, "pass", False)]
    blind = replace(known, unread={"pivot bore": "its wall is thin"})
    locates.study.cache_clear()
    monkeypatch.setattr(locates.gives, "of", lambda *_: blind)
    first = locates.prove(h, None, None, job, shop)[0]
    assert first.verdict == "caution" and "its wall is thin" in first.sentence


def test_a_face_comes_down_and_bulges_when_the_vise_opens() -> None:
    """By hand: 0.004 mm lower at the middle force, and half of its form either way of that."""
    h = block.hold()
    face = h.features[0].name
    g = replace(soft({}), scatter=0.0, faces={face: (-0.004 / FORCE, 0.006 / FORCE)})
    job, shop = block.job(profile=0.0), replace(block.quiet_shop())
    p = sprung(population(h, job, shop, "set"), g, "set", salt_of(job))
    high = judge(resolve(h, ToleranceAsk(face, "distance", 0.1, ("A",), False)), p.scene, p.sample, p.seated)
    assert high.parts.mean() == pytest.approx(-0.004, abs=1e-9)
    assert high.value == pytest.approx(np.full(len(high.value), 2 * (0.004 + 0.003)))
    flat = judge(
        resolve(h, ToleranceAsk(face, "parallelism", 0.1, ("A",), False)), p.scene, p.sample, p.seated
    )
    assert flat.value == pytest.approx(np.full(len(flat.value), 0.006))
