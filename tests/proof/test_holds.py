"""Does the part stay under the cutter: the proof against brute force, closed forms and missing inputs."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest
from scipy.optimize import linprog

import samples
from jawright.handbook import material
from jawright.hold.model import Contact, Hold, MadeFeature
from jawright.job.model import HoldAsk
from jawright.mechanics.cone import least_clamp
from jawright.proof import clamp, everything, holds
from jawright.proof.body import friction_body
from jawright.proof.cutload import feature_load, load_points, wrenches
from jawright.proof.factor import mode_of, worst_cases
from jawright.proof.judge import Band, verdict_least, verdict_most
from jawright.proof.model import Proof
from jawright.proof.sliding import Slides
from jawright.proof.window import Study, study, window
from jawright.shop.model import Band3, Cutter
from proof.sample_job import job

ANY = object()


def prove(held: Hold, **changes: object):
    return holds.prove(held, samples.jaws(), None, replace(job(), **changes), samples.shop())  # type: ignore[arg-type]


def block_hold(*, mill: Cutter | None = None, z: float = 3.0, g: float = 6.0) -> Hold:
    """A block 60 × 40 × 12 in flat jaws, one feature whose side load acts at mid grip height."""
    base = samples.hold()
    contacts = [
        Contact(f"{on}{i}", on, (x, y, 40.0 + g / 2), (0.0, n, 0.0), 0.0, 30.0, 0, on == "fixed")  # type: ignore[arg-type]
        for on, y, n in (("fixed", 0.0, -1.0), ("floating", -40.0, 1.0))
        for i, x in enumerate((-28.0, 28.0))
    ]
    contacts += [
        Contact(f"floor{i}", "floor", (x, y, 40.0), (0.0, 0.0, 1.0), 0.0, 50.0, 0, True)
        for i, (x, y) in enumerate([(-28.0, -38.0), (28.0, -38.0), (28.0, -2.0), (-28.0, -2.0)])
    ]
    cutter = mill or Cutter("M", 1, "end mill", 10.0, 0.0, 3, 25.0, 40.0, 32.0, 0.0, 0.0, True)
    f = MadeFeature(
        "rib", "profile", (0.0, -20.0, 40.0 + z), (0.0, 0.0, 1.0), None, 40.0 + z, False, (), cutter, 5000.0,
        0.05, 1.0, 5.0, ((0.0, -20.0, 40.0 + z),), None, (),
    )  # fmt: skip
    return replace(
        base, contacts=tuple(contacts), features=(f,), floor=40.0, jaw_top=40.0 + g, grip_depth=g,
        part_top=52.0, tolerances=(), gap=40.0,
    )  # fmt: skip


def test_block_slides_along_x_at_two_mu_f() -> None:
    # a cutter without axial force is not to be had, so the closed form is a bracket: sideways alone is
    # carried at 2 mu F / P, and with the axial share together at 2 mu F / hypot(P, A) by equal jaws
    h = block_hold()
    f = h.features[0]
    got = worst_cases(h, "6061-T6", samples.shop().friction)
    load = feature_load(f, material("6061-T6"))
    assert got is not None and load is not None
    grow = 1 / math.cos(math.pi / 16)
    pull = math.hypot(load.set.side * grow, load.set.up)
    assert got[0].clamp[0] == pytest.approx(pull / (2 * 0.08), rel=0.02)
    assert got[0].clamp[0] >= load.set.side / (2 * 0.08)
    assert got[0].mode in ("slips along X", "is pulled up")


def brute_force(hold: Hold, friction: float, wrench: np.ndarray, facets: int) -> float:
    """Least clamp force by a linear program with inscribed pyramids: never less than the cone's."""
    body = friction_body(hold, friction)
    assert body is not None
    columns, drive = [], []
    for p, n, mu, pushed in zip(body.points, body.normals, body.friction, body.driven, strict=True):
        t = np.cross(n, (0.3, 0.5, 0.8))
        t /= np.linalg.norm(t)
        s = np.cross(n, t)
        for k in range(facets if mu > 0 else 1):
            a = 2 * math.pi * k / facets
            f = n + mu * (math.cos(a) * t + math.sin(a) * s)
            columns.append(np.concatenate([f, np.cross(p, f)]))
            drive.append(f[1] if pushed else 0.0)
    n = len(columns)
    equal = np.zeros((7, n + 1))
    equal[:6, :n] = np.array(columns).T
    equal[6, :n], equal[6, n] = drive, -1.0
    cost = np.zeros(n + 1)
    cost[n] = 1.0
    got = linprog(cost, A_eq=equal, b_eq=np.concatenate([-wrench, [0.0]]))
    return float(got.fun) if got.status == 0 else math.inf


def test_worst_case_agrees_with_a_linear_program_of_another_library() -> None:
    h = samples.hold()
    cases = worst_cases(h, "6061-T6", samples.shop().friction)
    assert cases is not None
    for c in cases:
        load = feature_load(c.feature, material("6061-T6"))
        assert load is not None
        rows, points = wrenches(c.feature, load.set)
        hit = [
            w
            for w, p in zip(rows, points, strict=True)
            if p == c.point and w[:3] == pytest.approx(c.force, abs=1e-9)
        ]
        coarse = [max(brute_force(h, 0.08, w, m) for w in hit) for m in (8, 32)]
        assert c.clamp[0] <= coarse[1] * (1 + 1e-6)
        assert coarse[1] <= coarse[0] * (1 + 1e-9)
        assert coarse[1] == pytest.approx(c.clamp[0], rel=0.01)


def test_chosen_points_and_directions_cover_the_whole_path_and_circle() -> None:
    h = samples.hold()
    f = h.features[0]
    load = feature_load(f, material("6061-T6"))
    assert load is not None
    worst = worst_cases(h, "6061-T6", samples.shop().friction)
    assert worst is not None
    body = friction_body(h, 0.08)
    assert body is not None
    rows = []
    for p in f.path:
        for k in range(36):
            a = 2 * math.pi * (k + 0.37) / 36
            for fz in (load.set.up, -load.set.down):
                force = np.array((load.set.side * math.cos(a), load.set.side * math.sin(a), fz))
                rows.append(np.concatenate([force, np.cross(p, force)]))
    top = max(g.clamp for g in least_clamp(body, np.array(rows)))
    assert top <= worst[0].clamp[0] * 1.001
    assert set(load_points(f)) <= set(f.path)


def test_sample_holds_inside_its_window() -> None:
    got = prove(samples.hold())
    names = [p.name for p in got]
    assert names == ["load factor, back face", "load factor, pivot bore", "torque window"]
    for p in got:
        assert p.question == "holds"
        assert p.value is not None and p.limit is not None and p.margin is not None
        assert p.low is not None and p.set is not None and p.high is not None
        assert p.low <= p.set <= p.high
        assert p.model and p.source and p.assumptions
    assert "first: at 2" in got[0].sentence
    assert got[0].verdict == verdict_least(Band(got[0].low, got[0].set, got[0].high), got[0].limit)  # type: ignore[arg-type]
    win = window(samples.hold(), samples.jaws(), ANY, job(), samples.shop())  # type: ignore[arg-type]
    assert win is not None
    assert win[0] <= win[1] <= win[2]
    assert (got[2].low, got[2].set, got[2].high) == win


def test_at_the_least_torque_the_bad_end_just_has_the_factor() -> None:
    h, shop = samples.hold(), samples.shop()
    win = window(h, samples.jaws(), ANY, job(), shop)  # type: ignore[arg-type]
    assert win is not None
    at = replace(job(), hold=HoldAsk(torque=win[0]))
    got = holds.prove(h, samples.jaws(), ANY, at, shop)  # type: ignore[arg-type]
    ratio = min(p.low / p.limit for p in got if p.name.startswith("load factor"))  # type: ignore[operator]
    assert ratio == pytest.approx(1.0, rel=1e-6)


def test_torque_of_the_job_is_used_and_judged() -> None:
    low = prove(samples.hold(), hold=HoldAsk(torque=8.0))
    assert low[-1].set == 8.0
    assert low[-1].verdict == "fail"
    assert "outside" in low[-1].sentence
    assert min(p.value for p in low if p.name.startswith("load")) < 2.0  # type: ignore[type-var]


def test_empty_window_says_what_to_change() -> None:
    h = samples.hold()
    heavy = replace(h.features[0], axial=12.0, feed_per_tooth=0.25)
    got = prove(replace(h, features=(heavy, h.features[1])))
    assert got[-1].verdict == "fail"
    assert "No torque serves" in got[-1].sentence
    assert "back face" in got[-1].sentence
    assert (
        window(replace(h, features=(heavy, h.features[1])), samples.jaws(), ANY, job(), samples.shop())
        is None
    )  # type: ignore[arg-type]


def test_assumed_features_are_a_caution_at_best() -> None:
    got = prove(samples.hold(), features_assumed=True)
    assert all(p.verdict in ("caution", "fail") for p in got)
    assert any("names no feature" in a for p in got for a in p.assumptions)


@pytest.mark.parametrize(
    ("hold", "changes", "word"),
    [
        (replace(samples.hold(), features=()), {}, "feature"),
        (samples.hold(), {"material": "unobtainium"}, "handbook"),
        (samples.hold(), {"material": "acetal homopolymer"}, "specific cutting force"),
        (
            replace(samples.hold(), contacts=tuple(c for c in samples.hold().contacts if c.on != "floating")),
            {},
            "wall",
        ),
    ],
)
def test_missing_input_is_unknown_with_what_to_supply(
    hold: Hold, changes: dict[str, object], word: str
) -> None:
    got = prove(hold, **changes)
    assert got
    for p in got:
        assert p.verdict == "unknown"
        assert p.value is None
        assert p.supply
        assert word in p.sentence


def test_beyond_the_measured_table_is_unknown() -> None:
    v = replace(samples.vise(), torque_table=((10.0, 3000.0), (20.0, 6000.0)))
    h = replace(samples.hold(), vise=v)
    got = prove(h, hold=HoldAsk(torque=25.0))
    assert {p.verdict for p in got} == {"unknown"}
    inside = prove(h, hold=HoldAsk(torque=20.0))
    assert all(p.verdict != "unknown" for p in inside)
    assert any("measured table" in a for a in inside[0].assumptions)


def test_measured_table_narrows_the_band() -> None:
    friction_band = clamp.clamp_force(samples.vise(), 20.0)
    table = replace(samples.vise(), torque_table=((20.0, 6000.0),))
    measured = clamp.clamp_force(table, 20.0)
    assert friction_band is not None and measured is not None
    assert measured.high / measured.low < friction_band.high / friction_band.low
    for v in (samples.vise(), table):
        t = clamp.torque_for_at_least(v, 3000.0)
        f = clamp.clamp_force(v, t)
        assert f is not None and f.low == pytest.approx(3000.0)
        t = clamp.torque_for_at_most(v, 3000.0)
        f = clamp.clamp_force(v, t)
        assert f is not None and f.high == pytest.approx(3000.0)


def test_heavier_cuts_and_slicker_jaws_hold_less() -> None:
    h = samples.hold()
    base = worst_cases(h, "6061-T6", samples.shop().friction)
    steel = worst_cases(h, "4140 prehard", samples.shop().friction)
    slick = worst_cases(h, "6061-T6", Band3(0.05, 0.08, 0.1, "test"))
    assert base and steel and slick
    for a, b, c in zip(base, steel, slick, strict=True):
        assert b.clamp[0] > a.clamp[0]
        assert c.clamp[0] > a.clamp[0]
        assert a.clamp[0] >= a.clamp[1] >= a.clamp[2]


def test_tall_cut_tips_before_it_slips() -> None:
    base = block_hold(z=3.0, g=6.0)
    tall = block_hold(z=60.0, g=6.0)
    a = worst_cases(base, "6061-T6", samples.shop().friction)
    b = worst_cases(tall, "6061-T6", samples.shop().friction)
    assert a and b
    assert b[0].need > a[0].need
    assert 1.5 <= b[0].required < 1.8 <= a[0].required


def test_way_of_going_is_read_from_the_virtual_motion() -> None:
    center = np.zeros(3)
    side = np.array([0.0, 100.0, 0.0, 0.0, 0.0, 0.0])
    assert mode_of((0, 1, 0, 0, 0, 0), side, center) == ("slips along Y", 0.0)
    high = np.array([0.0, 100.0, 0.0, -6000.0, 0.0, 0.0])
    assert mode_of((0, 0, 0, -1, 0, 0), high, center) == ("tips over", 1.0)
    assert mode_of((0, 10, 0, -1, 0, 0), high, center)[1] == pytest.approx(6 / 7)
    assert mode_of((0, 0, 0, 0, 0, 1), np.array([0, 0, 0, 0, 0, 5.0]), center)[0] == "spins about Z"
    lift = np.array([0.0, 0.0, 50.0, 0.0, 0.0, 0.0])
    assert mode_of((0, 0, 1, 0, 0, 0), lift, center)[0] == "is pulled up"
    assert mode_of(None, lift, center)[0] == "cannot be held"


def test_helix_lift_is_tried() -> None:
    mill = Cutter("M", 1, "end mill", 10.0, 0.0, 3, 25.0, 40.0, 32.0, 0.0, math.radians(45), True)
    h = block_hold(mill=mill)
    load = feature_load(h.features[0], material("6061-T6"))
    assert load is not None and load.set.up > 0 and load.set.down == 0
    rows, _ = wrenches(h.features[0], load.set)
    assert rows[:, 2].max() == pytest.approx(load.set.up)
    assert len({(round(w[0], 6), round(w[1], 6)) for w in rows}) == 16


def test_load_band_is_in_order() -> None:
    for f in samples.hold().features:
        got = feature_load(f, material("6061-T6"))
        assert got is not None
        assert got.low.side <= got.set.side <= got.high.side
        assert got.low.spin <= got.set.spin <= got.high.spin
        assert got.low.down <= got.set.down <= got.high.down


def test_quick_margin_never_promises_more_than_the_proof() -> None:
    h, j, shop = samples.hold(), samples.jaws(), samples.shop()
    for base in (h, block_hold(), block_hold(z=20.0), block_hold(g=4.0)):
        for torque in (15.0, 30.0, 60.0):
            ask = replace(job(), hold=HoldAsk(torque=torque))
            quick = holds.quick_margin(base, j, ask, shop)
            s = study(base, j, None, ask, shop)
            assert quick is not None and s.force is not None and s.cases is not None
            full = min(s.force.low / c.need for c in s.cases)
            assert 0 < quick <= full * 1.02


def test_quick_margin_of_missing_input_is_none_and_of_a_wedge_zero() -> None:
    h, j, shop = samples.hold(), samples.jaws(), samples.shop()
    assert holds.quick_margin(replace(h, features=()), j, job(), shop) is None
    assert holds.quick_margin(h, j, replace(job(), material="unobtainium"), shop) is None
    wedge = tuple(replace(c, normal=(0.5, 0.866, 0.0)) if c.on == "floating" else c for c in h.contacts)
    out = tuple(c for c in wedge if c.on != "stop")
    assert holds.quick_margin(replace(h, contacts=out), j, job(), shop) == 0.0
    back = tuple(replace(c, normal=(-1.0, 0.0, 0.0)) if c.on == "stop" else c for c in wedge)
    caught = holds.quick_margin(replace(h, contacts=back), j, job(), shop)
    assert caught is not None and caught > 0  # a stop where the walls squeeze to


def test_same_inputs_same_answers() -> None:
    worst_cases.cache_clear()
    first = prove(samples.hold())
    worst_cases.cache_clear()
    assert first == prove(samples.hold())


def test_verdict_rule() -> None:
    b = Band(1.0, 2.0, 3.0)
    assert verdict_least(b, 0.9) == "pass"
    assert verdict_least(b, 1.5) == "caution"
    assert verdict_least(b, 2.5) == "fail"
    assert verdict_most(b, 3.0) == "pass"
    assert verdict_most(b, 2.5) == "caution"
    assert verdict_most(b, 1.5) == "fail"
    exact = Band(2.5 - 4e-15, 2.5, 2.5)
    assert verdict_least(exact, 2.5) == "pass"


def test_everything_uses_the_same_window() -> None:
    h = samples.hold()
    assert everything.window(h, samples.jaws(), ANY, job(), samples.shop()) == window(  # type: ignore[arg-type]
        h,
        samples.jaws(),
        ANY,
        job(),
        samples.shop(),  # type: ignore[arg-type]
    )


def test_steep_walls_facing_each_other_lend_no_friction() -> None:
    # squeezed against each other in thought they would hold any lift without any clamp force
    base = block_hold()
    ends = tuple(
        Contact(f"end{x:g}", "fixed", (x, -5.0, 43.0), (-x / 30.0, 0.0, 0.0), 0.0, 8.0, 0, False)
        for x in (-30.0, 30.0)
    )
    held = replace(base, contacts=base.contacts + ends)
    body = friction_body(held, 0.12)
    plain = friction_body(base, 0.12)
    assert body is not None and plain is not None
    lift = np.array([0.0, 0.0, 500.0, -20.0 * 500.0, 0.0, 0.0])
    free = replace(body, friction=np.full(len(body.points), 0.12))
    assert least_clamp(plain, lift)[0].clamp == pytest.approx(500.0 / 0.24, rel=1e-6)
    assert least_clamp(body, lift)[0].clamp == pytest.approx(500.0 / 0.24, rel=1e-6)
    assert least_clamp(free, lift)[0].clamp < 1.0  # what the rule is there to stop


def test_couple_about_x_is_carried_at_the_gauss_points_of_the_grip() -> None:
    # without friction and floor: P h = (F + F + P) half, half = g / (2 sqrt(3))
    g, push, high = 6.0, 300.0, 15.0
    base = block_hold(g=g)
    bare = replace(base, contacts=tuple(c for c in base.contacts if c.on != "floor"))
    body = friction_body(bare, 0.0)
    assert body is not None
    at = (0.0, -20.0, 43.0 + high)
    force = np.array([0.0, push, 0.0])
    got = least_clamp(body, np.concatenate([force, np.cross(at, force)]))[0]
    half = g / 2 / math.sqrt(3)
    assert got.clamp == pytest.approx((push * high / half - push) / 2, rel=1e-6)


def test_first_slip_with_elastic_forces_stands_beside_the_limit_factor() -> None:
    """Shared by stiffness, without the floor: never above the factor that lets forces move about."""
    got = [p for p in prove(samples.hold()) if p.name.startswith("load factor")]
    assert got
    for p in got:
        first = next(v for n, v, _ in p.detail if n.startswith("first slip"))
        assert p.low is not None and 0.0 <= first <= p.low * 1.001


def test_a_part_that_creeps_under_the_usual_load_is_a_caution(monkeypatch: pytest.MonkeyPatch) -> None:
    """docs/decisions/0020: a wall that slides beds in; a part that goes on moving is watched."""
    plain = prove(samples.hold(), hold=HoldAsk(torque=30.0))
    loads = [p for p in plain if p.name.startswith("load factor")]
    assert all(p.verdict == "pass" for p in loads), [p.sentence for p in loads]
    for factor, walks, words in (
        (0.97, 0.02, "may creep"),
        (0.97, math.inf, "may creep"),
        (0.97, 0.001, "beds in"),
        (1.0, 0.0, ""),
    ):
        found = Slides(factor, walks)
        monkeypatch.setattr(holds.sliding, "slides", lambda *_, f=found, **__: f)
        for p in prove(samples.hold(), hold=HoldAsk(torque=30.0)):
            if p.name.startswith("load factor"):
                assert p.verdict == ("caution" if words == "may creep" else "pass")
                assert words in p.sentence and ("may creep" in p.sentence) == (words == "may creep")
                assert ("0.97 times" in p.sentence) == bool(words)
                assert ("first slip with elastic forces, without the floor, factor", factor, "") in p.detail


def test_a_failed_window_tells_whether_it_can_hurt() -> None:
    """Too little torque lets the part go, too much marks it; an empty window by what is set in it."""
    h = samples.hold()
    low = prove(h, hold=HoldAsk(torque=8.0))[-1]
    assert (low.verdict, low.harm) == ("fail", "hurts")
    fine = prove(h)[-1]
    assert (fine.verdict == "fail", fine.harm) == (False, "")
    tight = replace(h, tolerances=tuple(replace(t, zone=t.zone / 50) for t in h.tolerances))
    springs = prove(tight)[-1]
    assert springs.verdict == "fail" and "spring of" in springs.sentence
    assert springs.harm == "spoils", "the least that holds is set: it only springs"
    heavy = replace(h.features[0], axial=12.0, feed_per_tooth=0.25)
    lets_go = prove(replace(h, features=(heavy, h.features[1])))[-1]
    assert (lets_go.verdict, lets_go.harm) == ("fail", "hurts"), "the vise does not close so hard"
    beyond = prove(h, hold=HoldAsk(torque=85.0))[-1]
    assert (beyond.verdict, beyond.harm) == ("fail", "hurts"), "more than the vise is made for"


def test_safe_end_of_the_spring_stands_beside_the_window() -> None:
    """docs/decisions/0014: the middle of the safe window, or a caution with its end."""
    h = samples.hold()
    base = study(h, samples.jaws(), None, job(), samples.shop())  # type: ignore[arg-type]
    assert base.least is not None and base.springs is not None

    def asked(k: float) -> tuple[Study, Proof]:
        """Tolerances by which the safe end lies at k times the least torque."""
        wide = replace(
            h, tolerances=tuple(replace(t, zone=t.zone * k * base.least / base.sure) for t in h.tolerances)
        )
        s = study(wide, samples.jaws(), None, job(), samples.shop())  # type: ignore[arg-type]
        return s, holds.prove(wide, samples.jaws(), None, job(), samples.shop())[-1]  # type: ignore[arg-type]

    assert math.isfinite(base.sure)
    s, got = asked(1.3)
    assert s.least is not None and s.sure == pytest.approx(1.3 * s.least, rel=1e-6)
    assert s.least <= s.torque <= s.sure and got.verdict == "pass"
    s, got = asked(0.95)
    assert s.least is not None and s.most is not None and s.sure < s.least < s.torque <= s.most
    assert got.verdict == "caution" and "run easily" in got.sentence
    told = next(v for n, v, _ in got.detail if n == "most before spring, with the best friction")
    assert told == pytest.approx(s.sure)
