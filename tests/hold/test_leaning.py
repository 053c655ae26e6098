"""Walls with draft: where upright jaws touch them, whether the clamp throws it out, how deep it marks.

The parts are blocks whose four walls lean alike, so that each figure has a closed form.
"""

from __future__ import annotations

import math
import sys
from dataclasses import replace
from functools import cache
from pathlib import Path

import numpy as np
import pytest
from shapely import Point, union_all

from jawright import kernel, tries
from jawright.geometry.frame import Vec3
from jawright.geometry.polygon import to_polygon
from jawright.hold import leaning, resolve
from jawright.hold.model import Hold
from jawright.hold.stance import Turn, turns
from jawright.hold.view import view
from jawright.jaws import pads
from jawright.jaws.design import Pair, design
from jawright.job.model import DatumPick, Feature, Job, Pick
from jawright.job.read import read_job
from jawright.mechanics import cone, hertz
from jawright.part.model import Part
from jawright.part.read import read_part
from jawright.proof import pressure, wedge
from jawright.proof.body import friction_body
from jawright.proof.metal import gripped
from jawright.shop.read import read_shop
from test_conductor import DEMO

ROOT = Path(__file__).parent.parent.parent
sys.path.insert(0, str(ROOT / "examples"))
from make_kinds import wedge_block  # noqa: E402

LONG, WIDE, TALL = 50.0, 36.0, 14.0
BROKEN = 0.3
SHOP = read_shop(DEMO / "shop.toml")
SAME = 1e-3
"""Walls touch within this [mm]: the project's own bound for a locating wall."""
UP, DOWN = (0.0, 0.0, 1.0), (0.0, 0.0, -1.0)


@cache
def block(folder: Path, degrees: float) -> Part:
    path = folder / f"block{degrees:g}.step"
    shape = wedge_block(LONG, WIDE, TALL, math.radians(degrees))
    path.write_bytes(kernel.step_text({"block": shape}, title="block"))
    return read_part(path, unit="", thickness=None)


def held(part: Part, up: Vec3, *, zone: float | None = None, **asks: object) -> tuple[Pair, Job]:
    """The block with one long wall on the fixed jaw; its wide end is at z = 0. ``zone``: of its profile."""
    job = read_job(DEMO / "pawl.toml")
    seat, top = (0.0, TALL) if up[2] > 0 else (TALL, 0.0)
    broken = replace(job.incoming.edge_break, value=BROKEN, basis="job")
    profile = job.incoming.profile if zone is None else replace(job.incoming.profile, value=zone)
    job = replace(
        job,
        up=up,
        datums=(DatumPick("A", Pick((0.0, 0.0, seat), "datum A")),),
        features=(Feature("top", "face", Pick((0.0, 0.0, top), "top"), depth=0.5),),
        tolerances=(),
        incoming=replace(job.incoming, edge_break=broken, profile=profile),
        hold=replace(job.hold, **asks),  # type: ignore[arg-type]
    )
    ask = resolve.resolve(part, job)
    seen = view(part, job, ask, up)
    turn = next(t for t in turns(seen.outline, up, ask.datums) if abs(math.sin(t.angle)) < 1e-6)
    up_so = Turn(turn.angle, "", 1)
    c = tries.alone(tries.soft(seen, up_so, SHOP.vises[0], part=part, job=job, shop=SHOP, ask=ask))
    assert c.draft is not None, c.lost
    return design(c.draft, seen, part=part, job=job, shop=SHOP, vise=SHOP.vises[0]), job


def walls(hold: Hold):
    return [c for c in hold.contacts if c.on in ("fixed", "floating", "stop")]


def section(part: Part, hold: Hold, z: float):
    return union_all([to_polygon(r, 1e-4) for r in kernel.section(part.shape, hold.stance.move, z).regions])


@pytest.mark.parametrize("up", [UP, DOWN])
@pytest.mark.parametrize("degrees", [0.5, 1.5, 3.0, 7.0])
def test_the_walls_touch_on_the_line_that_is_told_and_nowhere_does_metal_meet_metal(
    tmp_path_factory: pytest.TempPathFactory, degrees: float, up: Vec3
) -> None:
    """The part, cut at the line's height, touches the jaws within 1 µm and reaches into none."""
    part = block(tmp_path_factory.getbasetemp(), degrees)
    pair, _ = held(part, up)
    hold, jaws = pair.hold, pair.jaws
    way = -1.0 if up is UP else 1.0
    line = hold.floor + BROKEN if up is UP else hold.jaw_top - leaning.JAW_EDGE
    for c in walls(hold):
        assert c.lean == pytest.approx(way * math.radians(degrees), rel=1e-9)
        reach = line - hold.floor if way > 0 else hold.jaw_top - line
        b = leaning.band(c.lean, reach)
        assert c.point[2] == pytest.approx(line - way * b / 2, abs=1e-6)
        # the outline is the part's at the line's height
        off = section(part, hold, line).exterior.distance(Point(c.point[:2]))
        assert off < SAME, (c.name, off)
    pocket = to_polygon(jaws.pocket, 1e-4)
    top = jaws.top - jaws.edge_break
    for z in np.linspace(hold.floor + BROKEN, top, 7):
        over = section(part, hold, float(z)).difference(pocket.buffer(SAME))
        for side, low, high in (("fixed", 0.0, 1e3), ("floating", -1e3, -jaws.gap)):
            inside = [p for p in getattr(over, "geoms", [over]) if not p.is_empty]
            assert not any(low < p.representative_point().y < high for p in inside), (side, z)


def test_walls_widest_at_the_floor_get_a_short_pad(tmp_path_factory: pytest.TempPathFactory) -> None:
    part = block(tmp_path_factory.getbasetemp(), 3.0)
    pad, _ = held(part, UP)
    assert pad.hold.grip_depth == leaning.PAD and "short pad" in pad.hold.grip_reason
    pinned, _ = held(part, UP, grip_depth=5.0)
    assert pinned.hold.grip_depth == 5.0
    high, _ = held(part, DOWN)
    assert high.hold.grip_depth > leaning.PAD  # the line lies at the jaws' top: higher is steadier


@pytest.mark.parametrize("degrees", [3.0, 7.0])
@pytest.mark.parametrize("share", [0.98, 1.02])
def test_the_clamp_throws_the_part_out_beyond_the_angle_of_friction(
    tmp_path_factory: pytest.TempPathFactory, degrees: float, share: float
) -> None:
    """Closed form of the wedge: held while the friction is above the tangent of the draft."""
    part = block(tmp_path_factory.getbasetemp(), degrees)
    hold = gripped(held(part, DOWN)[0].hold, part)
    tangent = math.tan(math.radians(degrees))
    body = friction_body(replace(hold, contacts=tuple(walls(hold))), share * tangent)
    assert body is not None
    up = np.array([0.0, 0.0, 1.0, 0.0, 0.0, 0.0])
    stays = cone.load_factor(body, up, clamp=1000.0) > 0.0
    assert stays is (share > 1.0)


@pytest.mark.parametrize("degrees", [3.0, 7.0])
def test_what_is_left_of_the_hold_down_is_told(
    tmp_path_factory: pytest.TempPathFactory, degrees: float
) -> None:
    part = block(tmp_path_factory.getbasetemp(), degrees)
    for up, lift in ((DOWN, math.tan(math.radians(degrees))), (UP, 0.0)):
        pair, job = held(part, up)
        (proof,) = wedge.prove(pair.hold, pair.jaws, part, job, SHOP)
        left = {n: v for n, v, _ in proof.detail}
        f = SHOP.friction
        for name, mu in (("poor", f.low), ("usual", f.set), ("good", f.high)):
            told = left[f"hold-down at each wall with {name} friction, share of its force"]
            assert told == pytest.approx(mu - lift, abs=1e-12)
        assert proof.verdict == ("fail" if lift > f.low else "caution")


def test_the_line_is_pressed_in_until_its_band_carries_the_load(
    tmp_path_factory: pytest.TempPathFactory,
) -> None:
    """At the yield over the band ``MARK / tan(draft)`` the mark is as deep as it may be."""
    part = block(tmp_path_factory.getbasetemp(), 3.0)
    pair, job = held(part, UP)
    hold = gripped(pair.hold, part)
    assert hold.grip_depth == pytest.approx(leaning.MARK / math.tan(math.radians(3.0)), rel=1e-9)
    assert gripped(hold, part).grip_depth == hold.grip_depth  # once is enough
    f = SHOP.friction
    loads = pressure.loads_of(hold, (f.low, f.set, f.high))
    assert loads is not None

    def worst(marks: bool) -> pressure.Pressure:
        got = pressure.worst_pressure(
            loads, hold=hold, jaws=pair.jaws, material=job.material, force=1.0, share=1.0, marks=marks
        )
        assert got is not None
        return got

    got = worst(True)
    assert not got.line
    most = 1.0 / got.use
    load = next(w.share for w in loads if w.contact.name == got.contact.name) * most
    assert load / (got.contact.share * hold.grip_depth) == pytest.approx(got.limit, rel=1e-9)
    assert worst(False).use == pytest.approx(5.0 * got.use, rel=1e-9)


def test_blunt_wedge_pressure_is_that_of_the_text() -> None:
    """``P = a E* cot(half angle)`` over 2a (Johnson, Contact Mechanics, section 5.2; memory)."""
    modulus, half = 38.5e3, math.radians(87.0)
    a = 0.1
    assert hertz.blunt_wedge_pressure(math.pi / 2 - half, modulus) == pytest.approx(
        a * modulus / math.tan(half) / (2 * a), rel=1e-12
    )


def test_an_upright_wall_across_from_a_leaning_one_bears_on_three_times_the_lines_distance(
    tmp_path_factory: pytest.TempPathFactory,
) -> None:
    """Statics: the push goes through the line; a triangle of pressure ends three times as high."""
    part = block(tmp_path_factory.getbasetemp(), 3.0)
    pair, job = held(part, UP)
    hold = gripped(pair.hold, part)
    f = SHOP.friction
    plain = tuple(replace(c, lean=0.0) if c.on == "fixed" else c for c in hold.contacts)
    mixed = replace(hold, contacts=plain)
    loads = pressure.loads_of(mixed, (f.low, f.set, f.high))
    assert loads is not None
    own = tuple(w for w in loads if w.contact.on in ("fixed", "floating"))
    line = next(w.contact.point[2] for w in own if w.contact.lean)
    high = min(3.0 * (line - hold.floor) / 2, hold.jaw_top - hold.floor)  # the peak is twice the mean
    got = pressure.worst_pressure(
        own, hold=mixed, jaws=pair.jaws, material=job.material, force=1000.0, share=1.0, marks=True
    )
    assert got is not None
    upright = max(w.share * 1000.0 / (w.contact.share * high) for w in own if not w.contact.lean)
    leaning_ = max(w.share * 1000.0 / (w.contact.share * hold.grip_depth) for w in own if w.contact.lean)
    assert got.value == pytest.approx(upright if got.contact.lean == 0.0 else leaning_, rel=1e-9)
    assert leaning_ / 2 < upright < leaning_


def test_a_cast_block_with_draft_gets_longer_pads(tmp_path_factory: pytest.TempPathFactory) -> None:
    """A pad touches a leaning wall on a line only, so that it is twice as long as on an upright one."""
    part = block(tmp_path_factory.getbasetemp(), 3.0)
    pair, _ = held(part, UP, zone=1.5)
    own = [c for z in pair.jaws.zones if z.purpose in ("locate", "grip") for c in z.curves]
    assert len(own) == 3
    assert all(c.length == pytest.approx(pads.ON_A_LINE, abs=0.3) for c in own)
