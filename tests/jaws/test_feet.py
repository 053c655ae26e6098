"""Parts that stand on several feet: slots across the underside, bosses, ribs, legs.

What the designer says is judged by plain geometry: the feet as they were built.
"""

from __future__ import annotations

import math
from collections import Counter
from dataclasses import replace
from pathlib import Path
from types import SimpleNamespace
from typing import cast

import numpy as np
import pytest

from jawright import kernel
from jawright.errors import JawrightError
from jawright.geometry.profile import Profile, Region, rectangle
from jawright.geometry.query import signed_distance
from jawright.hold import hard, resolve, stance
from jawright.hold.model import MadeFeature
from jawright.hold.view import View, view
from jawright.jaws import soft
from jawright.jaws.design import Pair, design
from jawright.part.model import Part
from jawright.part.read import read_part
from jawright.proof import feet as feet_of
from jawright.proof.model import Proof
from jawright.proof.say import Say
from jaws.shapes import outline
from jaws.test_properties import MICRON, demo, wrong

UP = (0.0, 0.0, 1.0)
TALL, ROOF = 16.0, 8.0
"""Height of the parts, and from where on the feet are joined [mm]."""


def box(x0: float, y0: float, x1: float, y1: float, low: float, high: float) -> bytes:
    return kernel.extrude(Region(rectangle(x0, y0, x1, y1)), low, high)


def read(folder: Path, shape: bytes) -> Part:
    path = folder / "made.step"
    path.write_bytes(kernel.step_text({"made": shape}, title="made"))
    return read_part(path)


def slotted(profile: Profile, rng: np.random.Generator) -> bytes:
    """A plate with one to three parallel slots right across its underside."""
    x0, y0, x1, y1 = profile.box
    middle, far = ((x0 + x1) / 2, (y0 + y1) / 2), math.hypot(x1 - x0, y1 - y0)
    turn = rng.choice([0.0, math.pi / 2, rng.uniform(0.0, math.pi)])
    wide = rng.uniform(0.08, 0.2) * min(x1 - x0, y1 - y0)
    many = int(rng.integers(1, 4))
    tools = []
    for k in range(many):
        off = (k - (many - 1) / 2) * 2.5 * wide + rng.uniform(-0.2, 0.2) * wide
        cut = rectangle(-far, off - wide / 2, far, off + wide / 2).moved(turn=turn, shift=middle)
        tools.append(kernel.extrude(Region(cut), -1.0, ROOF))
    return kernel.cut(kernel.extrude(Region(profile), 0.0, TALL), *tools)


def bossed(rng: np.random.Generator) -> bytes:
    """A plate on two to five round bosses, set back from its edge or flush with it."""
    long, wide = rng.uniform(40.0, 80.0), rng.uniform(26.0, 50.0)
    plate = box(-long / 2, -wide / 2, long / 2, wide / 2, ROOF, TALL)
    radius = rng.uniform(4.0, 6.0)
    corners = [(sx * (long / 2 - 6.0), sy * (wide / 2 - 6.0)) for sx in (-1, 1) for sy in (-1, 1)]
    spots = [*corners[: int(rng.integers(3, 5))], (rng.uniform(-4, 4), rng.uniform(-2, 2))]
    bosses = [kernel.cylinder((x, y, 0.0), UP, radius, ROOF + 1.0) for x, y in spots]
    return kernel.fuse(plate, *bosses)


def held(part: Part, rng: np.random.Generator, most: int = 2) -> tuple[View, list[Pair]]:
    job, shop = demo()
    ask = resolve.resolve(part, job)
    seen = view(part, job, ask, UP)
    some = stance.turns(seen.outline, UP, ask.datums, bridges=seen.bridges)
    pairs: list[Pair] = []
    for turn in [*some[:3], *(some[int(k)] for k in rng.integers(0, len(some), 3))]:
        draft = soft.draft(seen, turn, ask=ask, part=part, job=job, shop=shop, vise=shop.vises[0])
        if isinstance(draft, soft.Lost):
            continue
        try:
            pairs.append(design(draft, seen, part=part, job=job, shop=shop, vise=shop.vises[0]))
        except JawrightError as error:
            assert error.code == "hold-none", str(error)
        if len(pairs) == most:
            break
    return seen, pairs


def astray(pair: Pair) -> list[str]:
    """Contacts on walls that are no foot's, feet in the jaws' metal."""
    out = []
    feet = [r.outer for r in pair.hold.feet]
    for c in pair.hold.contacts:
        if c.on not in ("fixed", "floating"):
            continue
        off = min(abs(float(signed_distance(f, [c.point[:2]])[0])) for f in feet)
        if off > MICRON:
            out.append(f"{c.name} is {off:.4f} mm off every foot")
    for f in feet:
        points = np.array([c.at(k / 40) for c in f.curves for k in range(41)])
        jaw = (points[:, 1] > 1e-9) | (points[:, 1] < -pair.jaws.gap - 1e-9)
        if jaw.any() and (deep := float(signed_distance(pair.jaws.pocket, points[jaw]).max())) > MICRON:
            out.append(f"a foot reaches {deep:.4f} mm into a jaw")
    for z in pair.jaws.zones:
        if z.purpose == "clear":
            continue
        on = np.array([c.at(k / 40) for c in z.curves for k in range(41)])
        off = float(np.min([np.abs(signed_distance(f, on)) for f in feet], axis=0).max())
        if off > MICRON:
            out.append(f"a {z.purpose} wall runs {off:.4f} mm off the feet")
    return out


def tried(folder: Path, numbers: range) -> tuple[Counter[str], list[str]]:
    job, _ = demo()
    growth = job.incoming.profile.value / 2 + job.incoming.wall_form.value
    count: Counter[str] = Counter()
    bad: list[str] = []
    for n in numbers:
        rng = np.random.default_rng(n)
        profile = outline(n)
        if n % 3 and profile is None:
            continue
        shape = slotted(profile, rng) if n % 3 and profile is not None else bossed(rng)
        part = read(folder, shape)
        seen, pairs = held(part, rng)
        if not seen.bridges:
            continue
        count["parts"] += 1
        count["held"] += bool(pairs)
        bad += [f"{n}: {w}" for p in pairs for w in (*wrong(p, growth), *astray(p))]
    return count, bad


def test_parts_on_several_feet_are_held_by_real_walls(tmp_path: Path) -> None:
    count, bad = tried(tmp_path, range(12))
    assert not bad, "\n".join(bad[:20])
    assert count["parts"] >= 8 and count["held"] >= 0.6 * count["parts"], count


def test_a_stop_on_an_arc_is_not_lost_to_the_relief_at_the_end_of_the_arc(tmp_path: Path) -> None:
    """Three millimeters of an arc were the stop, and the relief at its far end took them unnoticed."""
    _, bad = tried(tmp_path, range(226, 227))
    assert not bad, "\n".join(bad)


@pytest.mark.long
def test_many_parts_on_several_feet_are_held_by_real_walls(tmp_path: Path) -> None:
    count, bad = tried(tmp_path, range(100, 300))
    assert not bad, "\n".join(bad[:20])
    assert count["held"] >= 0.6 * count["parts"], count


def test_the_jaw_runs_straight_through_past_a_slot(tmp_path: Path) -> None:
    shape = kernel.cut(box(-30, -15, 30, 15, 0, TALL), box(-5, -20, 5, 20, -1, ROOF))
    part = read(tmp_path, shape)
    job, shop = demo()
    ask = resolve.resolve(part, job)
    seen = view(part, job, ask, UP)
    assert len(seen.band.outline) == 2 and len(seen.bridges) == 2
    draft = soft.draft(
        seen, stance.Turn(0.0, "by hand", -1), ask=ask, part=part, job=job, shop=shop, vise=shop.vises[0]
    )
    assert isinstance(draft, soft.Draft)
    pair = design(draft, seen, part=part, job=job, shop=shop, vise=shop.vises[0])
    xs = sorted(c.point[0] for c in pair.hold.contacts if c.on == "fixed")
    middle = (min(xs) + max(xs)) / 2
    # two contacts at the ends of each foot, none over the slot of 10
    assert len(xs) == 4 and not any(abs(x - middle) < 5.0 for x in xs)
    top = max(c.point[1] for c in pair.hold.contacts if c.on == "fixed")
    across = np.array([(middle + d, top) for d in np.linspace(-8.0, 8.0, 33)])
    assert np.abs(signed_distance(pair.jaws.pocket, across)).max() < 1e-6


def test_round_feet_are_touched_outside_only(tmp_path: Path) -> None:
    spots = [(-25.0, -12.0), (25.0, -12.0), (-25.0, 12.0), (25.0, 12.0)]
    bosses = [kernel.cylinder((x, y, 0.0), UP, 6.0, ROOF + 1.0) for x, y in spots]
    part = read(tmp_path, kernel.fuse(box(-35, -22, 35, 22, ROOF, TALL), *bosses))
    seen, pairs = held(part, np.random.default_rng(1))
    hull = 50.0 * 24.0 + 2 * 6.0 * (50.0 + 24.0) + 36.0 * math.pi
    assert seen.outline.area == pytest.approx(hull, rel=1e-9)
    assert pairs
    for p in pairs:
        assert not astray(p)


def test_hard_jaws_hold_a_slotted_block_at_both_ends(tmp_path: Path) -> None:
    shape = kernel.cut(box(-30, -15, 30, 15, 0, TALL), box(-5, -20, 5, 20, -1, ROOF + 4.0))
    part = read(tmp_path, shape)
    job, _ = demo()
    ask = resolve.resolve(part, job)
    seen = view(part, job, ask, UP)
    pair = hard.flats(seen.outline, seen.bridges)
    assert pair is not None
    assert pair.facing == pytest.approx(50.0) and pair.metal == pytest.approx((50.0, 50.0))
    assert pair.overlap == pytest.approx((-30.0, 30.0))


def test_lines_between_round_feet_are_no_flats_for_hard_jaws(tmp_path: Path) -> None:
    bosses = [kernel.cylinder((x, y, 0.0), UP, 6.0, ROOF + 1.0) for x in (-25.0, 25.0) for y in (-12.0, 12.0)]
    part = read(tmp_path, kernel.fuse(box(-35, -22, 35, 22, ROOF, TALL), *bosses))
    job, _ = demo()
    seen = view(part, job, resolve.resolve(part, job), UP)
    assert hard.flats(seen.outline) is not None  # as lines they look like flats
    assert hard.flats(seen.outline, seen.bridges) is None


def test_jaws_end_below_what_hangs_out_over_them(tmp_path: Path) -> None:
    roof = 6.2  # the usual grip of 6.5 would touch the roof's edge over 0.3 mm only
    ribs = [box(-30, y - 4, 30, y + 4, 0, roof + 1.0) for y in (-12.0, 12.0)]
    part = read(tmp_path, kernel.fuse(box(-36, -22, 36, 22, roof, TALL), *ribs))
    job, _ = demo()
    seen = view(part, job, resolve.resolve(part, job), UP)
    assert seen.grip_depth == pytest.approx(roof - 0.5)
    assert seen.overhang == pytest.approx(roof)
    assert seen.outline.box == pytest.approx((-30.0, -16.0, 30.0, 16.0))


def test_walls_that_lean_too_much_are_not_gripped(tmp_path: Path) -> None:
    whole = kernel.cone((0.0, 0.0, 24.0), (0.0, 0.0, -1.0), 34.0, 34.0 / math.tan(math.radians(40.0)))
    part = read(tmp_path, kernel.cut(whole, box(-99, -99, 99, 99, -99, 0.0)))
    job, _ = demo()
    with pytest.raises(JawrightError, match="every wall within"):
        view(part, job, resolve.resolve(part, job), UP)


def test_a_foot_that_ends_above_the_floor_is_told(tmp_path: Path) -> None:
    shape = kernel.fuse(
        box(-30, -15, 30, 15, ROOF, TALL),
        box(-30, -15, -20, 15, 0, ROOF + 1),
        box(20, -15, 30, 15, 0.7, ROOF + 1),
    )
    part = read(tmp_path, shape)
    job, _ = demo()
    one = replace(job, hold=replace(job.hold, floor="one level"))
    seen = view(part, one, resolve.resolve(part, one), UP)
    assert "1 of its 2 feet end 0.70 mm above the floor" in seen.tips
    seen = view(part, job, resolve.resolve(part, job), UP)
    assert [round(b.depth, 6) for b in seen.below] == [0.7] and seen.below[0].soles


def feet_proof(part: Part, turn: float = 0.0) -> tuple[Pair, Proof | None]:
    job, shop = demo()
    ask = resolve.resolve(part, job)
    seen = view(part, job, ask, UP)
    t = stance.Turn(turn, "test", 1)
    draft = soft.draft(seen, t, ask=ask, part=part, job=job, shop=shop, vise=shop.vises[0])
    assert not isinstance(draft, soft.Lost), draft
    pair = design(draft, seen, part=part, job=job, shop=shop, vise=shop.vises[0])
    found = feet_of.prove(pair.hold, pair.jaws, part, Say("mm"))
    return pair, found[0] if found else None


def test_a_foot_over_the_gap_is_told(tmp_path: Path) -> None:
    """Legs along both walls stand on the jaws; a boss in the middle stands over the gap."""
    shape = kernel.fuse(
        box(-30, -20, 30, 20, ROOF, TALL),
        box(-30, 12, 30, 20, 0, ROOF + 1),
        box(-30, -20, 30, -12, 0, ROOF + 1),
    )
    _, good = feet_proof(read(tmp_path, shape))
    assert good is not None and good.verdict == "pass" and good.value == 2.0
    boss = kernel.cylinder((5.0, 0.0, 0.0), UP, 2.5, ROOF + 1.0)
    pair, p = feet_proof(read(tmp_path, kernel.fuse(shape, boss)))
    assert p is not None and p.verdict == "caution" and (p.value, p.limit) == (2.0, 3.0)
    at = pair.hold.stance.move.point((5.0, 0.0, 0.0))
    assert p.where is not None and p.where[:2] == pytest.approx(at[:2], abs=0.5)
    assert -pair.jaws.gap < at[1] - 2.5 and at[1] + 2.5 < 0.0, "it does stand over the gap"
    assert "stands over the gap" in p.sentence


def test_a_foot_at_another_level_is_no_floor(tmp_path: Path) -> None:
    shape = kernel.fuse(
        box(-30, -20, 30, 20, ROOF, TALL),
        box(-30, 12, 30, 20, 0, ROOF + 1),
        box(-30, -20, 30, -12, 0, ROOF + 1),
        box(-30, -3, -24, 3, 0.4, ROOF + 1),
    )
    pair, p = feet_proof(read(tmp_path, shape))
    assert p is not None and p.verdict == "pass" and "0.40 mm above the floor and needs none" in p.sentence
    over = (pair.hold.stance.move.point((-27.0, 0.0, TALL)),)
    drilled = cast("MadeFeature", SimpleNamespace(name="pin hole", path=over))
    hold = replace(pair.hold, features=(drilled,))
    p = feet_of.prove(hold, pair.jaws, read(tmp_path, shape), Say("mm"))[0]
    assert p.verdict == "caution" and 'floor = "two levels"' in p.sentence


def test_a_part_on_one_foot_has_no_such_proof(tmp_path: Path) -> None:
    _, p = feet_proof(read(tmp_path, box(-30, -20, 30, 20, 0, TALL)))
    assert p is None


def test_a_foot_without_a_level_face_is_told(tmp_path: Path) -> None:
    """A foot that is round below has no sole: it counts among the feet, and is not passed over."""
    shape = kernel.fuse(
        box(-30, -20, 30, 20, ROOF, TALL),
        box(-30, 12, 30, 20, 0, ROOF + 1),
        box(-30, -20, 30, -12, 0, ROOF + 1),
        kernel.cylinder((-25.0, 0.0, 3.0), (1.0, 0.0, 0.0), 3.0, 10.0),
        box(-25, -3, -15, 3, 3.0, ROOF + 1),
    )
    part = read(tmp_path, shape)
    pair, p = feet_proof(part)
    assert p is not None and p.verdict == "caution"
    assert (p.value, p.limit) == (2.0, 3.0) and len(pair.hold.feet) == 3
    assert "no level face below" in p.sentence


def test_feet_without_a_solid_are_unknown(tmp_path: Path) -> None:
    shape = kernel.fuse(
        box(-30, -20, 30, 20, ROOF, TALL),
        box(-30, 12, 30, 20, 0, ROOF + 1),
        box(-30, -20, 30, -12, 0, ROOF + 1),
    )
    pair, _ = feet_proof(read(tmp_path, shape))
    (p,) = feet_of.prove(pair.hold, pair.jaws, None, Say("mm"))
    assert p.verdict == "unknown" and p.value is None and p.supply
