"""Elastic jaws: the trade's rules must come out, and the closed form must agree where it reaches."""

from __future__ import annotations

from dataclasses import replace
from functools import cache

import numpy as np
import pytest

import samples
from jawright.geometry.curve import Line
from jawright.geometry.profile import Profile, Region
from jawright.jaws.model import Jaws
from jawright.mechanics import beam
from jawright.proof import advice, elastic, grips, taper, whatif
from jawright.proof.elastic_join import SIDES, Model, Mounts, pressed
from jawright.proof.elastic_walls import on_metal, walls
from jawright.shop.model import Parallel, Vise
from proof import sample_elastic as made
from proof.sample_job import job
from samples import shop

FORCE = 8000.0
PART = "6061-T6"


@cache
def model(jaws: Jaws, rigid: bool = False, coarser: float = 1.6) -> Model:
    got = elastic.model(made.hold(jaws, made.vise(rigid=rigid)), jaws, None, PART, coarser)
    assert got is not None
    return got


def left(jaws: Jaws, *, rigid: bool = False, cut: float = FORCE) -> tuple[float, float]:
    """Taper of both walls and shift of the fixed one [mm]."""
    mounts = elastic.ends(made.vise(rigid=rigid), "set")
    plain = replace(jaws, stack=made.jaws().stack)
    got = advice.leaves(model(plain, rigid), mounts, jaws.stack, cut_force=cut, force=FORCE)
    assert got is not None
    return got.taper, got.shift


def test_spacers_at_the_grip_leave_least_taper_and_least_shift() -> None:
    """Common practice: clamp the spacers at the height of the grip."""
    rows = [left(made.beside(made.jaws(), z - 4.0, z + 4.0)) for z in (46.0, 38.0, 28.0, 16.0, 4.0)]
    tapers, shifts = [r[0] for r in rows], [r[1] for r in rows]
    assert tapers == sorted(tapers)
    assert shifts == sorted(shifts)
    assert tapers[-1] > 2.5 * tapers[0]
    assert shifts[-1] > 4 * shifts[0]


def test_cutting_at_the_clamping_force_beats_half_of_it_and_none() -> None:
    """Common practice: cut at the torque of the run."""
    j = made.beside(made.jaws(), 42.0, 50.0)
    whole, half, none = (abs(left(j, cut=f)[0]) for f in (FORCE, FORCE / 2, 0.0))
    assert whole < half < none
    assert abs(left(j)[1]) < abs(left(j, cut=FORCE / 2)[1])


def test_short_jaws_leave_less_than_tall_ones() -> None:
    """Common practice: tall jaws spring."""
    for rigid in (False, True):
        rows = [left(made.jaws(height=h, stack=(0, 20)), rigid=rigid)[0] for h in (46.0, 52.0, 64.0)]
        assert rows == sorted(rows)
        assert rows[-1] > 1.4 * rows[0]


def test_steel_jaws_give_less_by_the_ratio_of_moduli_on_a_rigid_mount() -> None:
    """Hooke: 205/68.9 = 2.975 apart from ν and the screws, whose stiffness does not change with the jaw."""
    for height in (50.0, 64.0):
        soft = left(made.jaws(height=height), rigid=True, cut=0.0)
        hard = left(made.jaws(height=height, material="1018 cold drawn"), rigid=True, cut=0.0)
        assert soft[0] / hard[0] == pytest.approx(2.975, rel=0.05)
        assert soft[1] / hard[1] == pytest.approx(2.975, rel=0.05)
    sprung = [left(made.jaws(material=m), cut=0.0)[0] for m in (PART, "1018 cold drawn")]
    assert sprung[0] / sprung[1] < 2.0  # on a sprung vise most of it is the vise


def test_tall_spacer_bears_on_its_lower_edge() -> None:
    """The jaws tilt open, so a parallel as tall as the jaw works like a low one."""
    m = model(made.jaws())
    tall = elastic.as_cut(m, Mounts(3e8, 2e5), made.jaws().stack, FORCE)
    assert tall is not None and tall.bears is not None
    assert tall.bears < 6.0
    stiff = elastic.as_cut(m, Mounts(1e13, 1e10), made.jaws().stack, FORCE)
    assert stiff is not None and stiff.bears is not None
    assert stiff.bears > tall.bears


@pytest.mark.parametrize("height", [57.0, 64.0, 76.0])
def test_jaw_above_the_vise_agrees_with_the_closed_form(height: float) -> None:
    """Timoshenko's plate against the elastic jaw, rigid mount, cut free: it takes the plate as clamped at the
    vise's top, the backing is one-sided and the screws give, so the elastic jaw moves 1.2 to 3 times as far.
    """
    j = made.jaws(height=height, stack=(0, 20))
    h = made.hold(j, made.vise(rigid=True))
    closed = taper.beam_walls(h, j, job(), force=FORCE, cut=beam.Cut(0.0, 0.0))
    assert closed is not None
    got_taper, got_shift = left(j, rigid=True, cut=0.0)
    own = elastic.even_states(model(j, True), "fixed", elastic.ends(made.vise(rigid=True), "set"), FORCE)[1]
    give = elastic.lean_and_shift(model(j, True).jaws["fixed"].walls, own)[1]
    assert 1.2 < got_taper / closed.taper < 3.5
    assert 1.2 < (got_shift - give) / closed.fixed.shift < 3.5


def test_mount_alone_agrees_with_the_closed_form() -> None:
    """Statics: a low jaw of steel on a soft mount tilts as a block: F h/k about the bed, F/k across."""
    j = made.beside(made.jaws(height=44.0, material="1018 cold drawn"), 6.0, 14.0)
    m = model(made.jaws(height=44.0, material="1018 cold drawn"))
    mounts = Mounts(2e7, 5e4)
    free = elastic.cut_state(m, mounts, None, 0.0)
    assert free is not None
    z = 44.0 - made.DEEP / 2
    lean, _, shift = elastic.opening(m, "fixed", mounts, force=FORCE, cut=free)
    assert lean == pytest.approx(FORCE * z / 2e7 * made.DEEP, rel=0.02)
    assert shift == pytest.approx(FORCE / 5e4 + FORCE * z * z / 2e7, rel=0.01)
    cut = elastic.as_cut(m, mounts, j.stack, FORCE)
    assert cut is not None and cut.bears is not None
    assert elastic.lean_and_shift(m.jaws["fixed"].walls, cut.wall["fixed"])[1] == pytest.approx(
        FORCE / 5e4 + FORCE * cut.bears * z / 2e7, rel=0.02
    )


def test_walls_carry_the_clamp_force_and_only_push() -> None:
    j = made.jaws(stack=(0, 20))
    m = model(j)
    mounts = elastic.ends(made.vise(), "set")
    cut = elastic.as_cut(m, mounts, j.stack, FORCE)
    assert cut is not None
    got, held = elastic.states(m, mounts, force=FORCE, cut=cut)
    for side in SIDES:
        w = m.jaws[side].walls
        assert held.force[side].min() >= -1e-6
        assert held.open[side].min() >= -1e-9
        assert held.force[side] @ np.abs(w.normal[:, 1]) == pytest.approx(FORCE, rel=1e-4)
        assert 0 < got[side].share <= 1
        assert w.middle[:, 2].min() <= got[side].center <= w.middle[:, 2].max()
    # what opens at the top is held at the bottom
    assert got["fixed"].center < made.jaws().floor + made.DEEP / 2
    assert got["fixed"].taper > 0


def test_soft_vise_loses_contact_over_the_grip() -> None:
    j = made.jaws(stack=(0, 8))
    m = model(j)
    shares, gaps = [], []
    for tilt in (1e9, 2.5e8, 2e7):
        mounts = Mounts(tilt, 2e5)
        cut = elastic.as_cut(m, mounts, j.stack, FORCE)
        assert cut is not None
        got, _ = elastic.states(m, mounts, force=FORCE, cut=cut)
        shares.append(got["fixed"].share)
        gaps.append(got["fixed"].left)
    assert shares[0] == 1.0
    assert shares[0] >= shares[1] > shares[2]
    assert gaps[0] == 0.0 and gaps[2] > 0.005


def test_force_scales_the_answer_of_a_linear_state() -> None:
    """The pressed jaw answers nearly in proportion; the rest is the one-sided backing under the screws."""
    m = model(made.jaws())
    mounts = Mounts(1e9, 5e5)
    at = [pressed(m.jaws["fixed"], mounts, f) for f in (0.0, 2000.0, 4000.0)]
    assert at[2] - at[0] == pytest.approx(2 * (at[1] - at[0]), rel=0.1)


def test_advice_finds_the_best_height_and_the_best_owned_stack() -> None:
    j = made.beside(made.jaws(), 10.0, 18.0)
    m = model(made.jaws())
    mounts = elastic.ends(made.vise(), "set")
    owned = (
        Parallel("P6x32", 32.0, 6.0, 150.0, 2),
        Parallel("S6x8", 8.0, 6.0, 25.0, 2),
        Parallel("R5x40", 40.0, 5.0, 150.0, 2),
    )
    got = advice.advise(m, mounts, j, owned, force=FORCE)
    assert got is not None
    assert abs(got.best.taper) < 0.6 * abs(got.now.taper)
    assert got.best.stack.height == pytest.approx(46.0, abs=1.0)  # as high as they go beside the pocket
    assert {p.id for p in got.owned.stack.spacers} == {"S6x8"}
    assert got.owned.stack.height == pytest.approx(44.0)
    assert "S6x8" in advice.words(got.owned.stack) and "R5x40" in advice.words(got.owned.stack)


def test_heights_that_two_loose_pieces_make_are_tried() -> None:
    """No one parallel under the spacers reaches the best height; two on each other do."""
    j = made.beside(made.jaws(), 10.0, 18.0)
    owned = (
        Parallel("S6x8", 8.0, 6.0, 25.0, 2),
        Parallel("R5x16", 16.0, 5.0, 150.0, 2),
        Parallel("R5x24", 24.0, 5.0, 150.0, 2),
    )
    heights = {round(s.height, 3) for s in advice.owned_stacks(j, owned) if len(s.spacers) == 2}
    assert {4.0, 20.0, 28.0, 36.0, 44.0} <= heights  # 0, 16, 24, 16 + 16, 16 + 24 and half of 8
    for s in advice.owned_stacks(j, owned):
        assert s.cutter_gap >= 1.0 and s.high <= j.top
        assert all(s.risers.count(p) + s.spacers.count(p) <= p.count for p in owned)


def test_vises_in_line_each_keep_a_spacer_of_their_own() -> None:
    j = made.jaws()
    two = replace(j.stack, x_runs=((-68.0, -38.0), (33.0, 63.0)), reason="across the jaws, under the pocket")
    owned = (Parallel("P6x20", 20.0, 6.0, 30.0, 4),)
    got = advice.owned_stacks(replace(j, stack=two), owned)
    assert got and all(len(s.x_runs) == 2 for s in got if s.reason.startswith("across"))
    assert got[0].x_runs == ((-68.0, -38.0), (33.0, 63.0))


def test_spacers_under_the_pocket_stay_under_it() -> None:
    j = made.jaws()
    assert advice.highest(j) == pytest.approx(j.floor - 1.0)
    assert advice.highest(made.beside(j, 40.0, 48.0)) == j.top


def test_proof_uses_the_elastic_jaws_and_says_its_mesh_error() -> None:
    j = made.jaws(stack=(10, 30))
    got = {p.name: p for p in grips.prove(made.hold(j), j, None, job(), shop())}  # type: ignore[arg-type]
    p = got["taper"]
    assert p.model == elastic.MODEL
    detail = {n: v for n, v, _ in p.detail}
    error = detail["of that by the mesh, ±"]
    assert 0 < error < 0.002
    assert p.high is not None and p.set is not None and p.low is not None
    assert p.low <= p.set <= p.high - error
    third = elastic.model(made.hold(j), j, None, job().material, 0.8)
    assert third is not None
    assert detail["taper if the spacers were 5 mm higher"] < p.set < detail["taper if the jaws were cut free"]
    assert detail["height at which the spacers bear"] < 20.0
    assert "they would leave" in p.sentence and "owned parallels" in p.sentence
    assert got["wall shift"].model == got["contact over the grip depth"].model == elastic.MODEL


def test_finer_mesh_stays_within_the_told_error() -> None:
    j = made.jaws(stack=(10, 30))
    h = made.hold(j)
    error = taper.mesh_error(h, j, job(), force=FORCE, part=None)
    pair = taper.walls(h, j, job(), force=FORCE)
    assert error is not None and pair is not None
    fine = elastic.model(h, j, None, job().material, 0.75)
    assert fine is not None
    mounts = elastic.ends(h.vise, "set")
    better = advice.leaves(fine, mounts, j.stack, cut_force=FORCE, force=FORCE)
    assert better is not None
    assert better.taper == pytest.approx(pair.taper, abs=error)


def test_walls_without_metal_behind_them_fall_back_to_the_closed_form() -> None:
    j = made.jaws()
    moved = replace(
        j,
        zones=tuple(
            replace(
                z,
                curves=tuple(
                    replace(c, start=(c.start[0], c.start[1] - 5), end=(c.end[0], c.end[1] - 5))
                    for c in z.curves
                ),
            )
            for z in j.zones
        ),
    )
    h = made.hold(moved)
    wall = walls(h, moved, "fixed", low=j.floor, high=j.top)
    assert wall is not None and not on_metal(moved, "fixed", wall)
    pair = taper.walls(h, moved, job(), force=FORCE)
    assert pair is not None and not pair.elastic
    assert pair == taper.beam_walls(h, moved, job(), force=FORCE)


def test_screws_pull_with_their_preload_and_hardly_more_in_use() -> None:
    """Tightened to a preload, a screw keeps it: the clamp force goes into the backing."""
    j = made.beside(made.jaws(), 10.0, 18.0)
    h = made.hold(j)
    m = elastic.model(h, j, None, "6061-T6")
    assert m is not None
    for k, end in enumerate(("low", "set", "high")):
        mounts = elastic.ends(h.vise, end)
        preload = m.jaws["fixed"].screw_preload[k]
        for force in (10.0, 20000.0):
            cut = elastic.cut_state(m, mounts, j.stack, force)
            assert cut is not None
            held = elastic.used(m, mounts, cut, force)
            for pulls in held.screws.values():
                assert len(pulls) == 2
                assert pulls.mean() == pytest.approx(preload, rel=0.01)
                assert np.all(np.abs(pulls - preload) < 0.05 * preload + 0.05 * force)


def test_same_answer_twice() -> None:
    j = made.jaws()
    h = made.hold(j)
    a, b = (elastic._model.__wrapped__(h, j, None, PART, 1.6) for _ in range(2))
    assert a is not None and b is not None
    assert np.array_equal(a.jaws["fixed"].body.compliance, b.jaws["fixed"].body.compliance)


def test_hard_jaws_are_elastic_plates_cut_free() -> None:
    v: Vise = made.vise()
    j = made.jaws()
    h = made.hold(j, v)
    lower = tuple(
        replace(c, point=(c.point[0], 0.0 if c.on == "fixed" else -26.0, 40.0))
        for c in h.contacts
        if c.on != "floor"
    )
    outline = h.outline.moved(shift=(0.0, -6.0))
    hard = replace(
        h,
        kind="hard jaws",
        gap=26.0,
        outline=outline,
        contacts=lower,
        floor=36.75,
        jaw_top=44.0,
        part_top=48.0,
    )
    pair = taper.walls(hard, None, job(), force=FORCE)
    assert pair is not None and pair.elastic
    closed = taper.beam_walls(hard, None, job(), force=FORCE)
    assert closed is not None
    assert pair.taper == pytest.approx(closed.taper, rel=0.35)


def test_mirrored_jaws_answer_alike() -> None:
    """A pocket as deep in one jaw as in the other: both walls must do the same, mirrored."""
    j = made.beside(made.jaws(), 20.0, 28.0)
    pocket = samples.rounded_pocket(made.X0, -12.0, made.X1, 6.0, 5.5)
    grip = replace(j.zones[1], curves=(Line((made.LEFT, -12.0), (made.RIGHT, -12.0)),))
    j = replace(j, pocket=Region(pocket), zones=(j.zones[0], grip))
    corners = [(made.RIGHT, 6.0), (made.LEFT, 6.0), (made.LEFT, -12.0), (made.RIGHT, -12.0)]
    sides = tuple(Line(corners[k], corners[(k + 1) % 4]) for k in range(4))
    m = elastic.model(replace(made.hold(j), outline=Region(Profile(sides))), j, None, PART, 1.6)
    assert m is not None
    mounts = Mounts(3e8, 2e5)
    cut = elastic.as_cut(m, mounts, j.stack, FORCE)
    assert cut is not None
    got, _ = elastic.states(m, mounts, force=FORCE, cut=cut)
    a, b = got["fixed"], got["floating"]
    assert b.taper == pytest.approx(a.taper, rel=1e-4)
    assert b.shift == pytest.approx(a.shift, rel=1e-4)  # each away from the part
    assert b.share == a.share
    assert b.center == pytest.approx(a.center, abs=1e-3)
    assert b.peak == pytest.approx(a.peak, rel=1e-3)


def test_other_stacks_and_lower_jaws_are_worked_out() -> None:
    """Common practice: low spacers leave more, low jaws less; backed jaws have none to gain."""
    tall = made.beside(made.jaws(height=60.0), 46.0, 54.0)
    h = made.hold(tall)
    rows = {n: v for n, v, _ in whatif.stacks(h, tall, job(), FORCE, None)}  # type: ignore[arg-type]
    here = advice.leaves(
        model(tall, coarser=1.0), elastic.ends(h.vise, "set"), tall.stack, cut_force=FORCE, force=FORCE
    )
    assert here is not None
    assert rows["taper if the spacers stood on the bed"] > here.taper
    assert rows["taper with one bar across under the pocket"] > 0
    lower = whatif.lower_jaws(h, tall, job(), FORCE, None)  # type: ignore[arg-type]
    assert lower is not None and lower < 0
    assert whatif.lower_jaws(h, made.jaws(height=44.0), job(), FORCE, None) is None  # type: ignore[arg-type]


def test_contact_heights_and_play_of_the_floating_jaw_are_told() -> None:
    j = made.jaws(stack=(10, 30))
    got = {p.name: {n: v for n, v, _ in p.detail} for p in grips.prove(made.hold(j), j, None, job(), shop())}  # type: ignore[arg-type]
    contact = got["contact over the grip depth"]
    drop = (
        contact["resultant above the floor, fixed jaw"] - contact["resultant above the floor, floating jaw"]
    )
    assert contact["of that lower on the floating jaw: + seats the part"] == pytest.approx(drop)
    play = got["load off the screw line"]
    assert 0 < play["floating jaw can rise"] <= play["floating jaw can rise, at most"]
    assert got["taper"]["gap between the cutter and the spacers"] == j.stack.cutter_gap
