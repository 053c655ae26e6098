"""The demo's own jaws on the rack: found again, held as they were designed, and offered with their proofs."""

from __future__ import annotations

from dataclasses import replace
from functools import cache
from pathlib import Path

import pytest

from jawright.doors.cli import inputs
from jawright.geometry.profile import Region
from jawright.hold.resolve import resolve
from jawright.hold.stance import turns
from jawright.hold.view import view
from jawright.jaws import soft
from jawright.jaws.design import design
from jawright.part.read import read_part
from jawright.proof.everything import prove
from jawright.proof.model import worst
from jawright.rack import offer, plain, recut, reuse, search
from jawright.rack.model import Cut, Pair
from jawright.rack.store import Rack
from rack import made


@cache
def demo():
    """Job, shop, part, what it asks, its view, the turn with datum B on the fixed jaw, and jaws for it."""
    folder = inputs.demo_folder()
    job, shop = inputs.read(str(folder / "pawl.toml"), str(folder / "shop.toml"), None)
    part = read_part(job.part_file)
    ask = resolve(part, job)
    seen = view(part, job, ask, job.up or (0.0, 0.0, 1.0))
    turn = next(t for t in turns(seen.outline, seen.up, ask.datums) if t.reason == "datum B on the fixed jaw")
    draft = soft.draft(seen, turn, ask=ask, part=part, job=job, shop=shop, vise=shop.vises[0])
    assert isinstance(draft, soft.Draft), draft
    pair = design(draft, seen, part=part, job=job, shop=shop, vise=shop.vises[0])
    return job, shop, part, ask, seen, turn, pair


def kept(pair_id: str = "J-0001") -> Pair:
    designed = demo()[6]
    jaws = replace(designed.jaws, notes=())
    cut = Cut(
        "front", "DW-114", "B", "OP 20", "2026-01-05", jaws, Region(designed.hold.outline.outer),
        designed.hold.grip_depth, 24.0, "",
    )  # fmt: skip
    return Pair(pair_id, jaws.fixed.blank, jaws.top, "V150", (cut,), "A-1")


def test_the_part_finds_its_own_jaws_and_sits_as_designed(tmp_path: Path) -> None:
    job, shop, part, ask, seen, turn, designed = demo()
    with Rack(tmp_path / "rack.db") as rack:
        with rack.write():
            for k in range(30):
                other = made.pair(k)
                rack.insert(other, other.id)
        rack.add(kept())
        angles = [t.angle for t in turns(seen.outline, seen.up, ask.datums) if t.kind != 3]
        found = search.as_they_are(rack, seen.outline, angles, depth=(2.5, seen.tall - 1.5))
        mine = next(a for a in found if a.pair == "J-0001")
        jaws = rack.get("J-0001").cuts[0].jaws
    assert found[0] == mine  # no other pocket touches so much of it
    assert angles[mine.turn] == pytest.approx(turn.angle)
    assert mine.fit.gap == pytest.approx(designed.jaws.gap, abs=0.002)
    hold = reuse.hold_in(
        reuse.opened(jaws, mine.fit.gap), mine.fit, seen, turn,
        ask=ask, part=part, job=job, shop=shop, vise=shop.vises[0],
    )  # fmt: skip
    assert hold is not None
    # the same faces carry the part, at the same place within the sampling
    carried = {(c.on, c.face) for c in designed.hold.contacts}
    assert {(c.on, c.face) for c in hold.contacts} == carried
    assert [d.seat for d in hold.datums] == [d.seat for d in designed.hold.datums]
    assert hold.stance.move.shift == pytest.approx(designed.hold.stance.move.shift, abs=0.005)
    assert max(c.gap for c in hold.contacts) < 0.005
    a = plain.outline_hash(Region(hold.outline.outer))
    assert a == plain.outline_hash(Region(designed.hold.outline.outer))


def test_money_of_jaws_that_exist() -> None:
    """By hand from the demo shop's rates: setup, loading, and desk work only when they are cut anew."""
    _, shop, *_ = demo()
    r = shop.rates
    minutes, money = offer.spend(shop, 40, None)
    machine = r.setup_minutes_soft + 40 * r.load_seconds / 60
    assert minutes == pytest.approx(machine)
    assert money == pytest.approx(machine * r.machine_hour / 60)
    minutes, money = offer.spend(shop, 40, 12.0)
    assert minutes == pytest.approx(machine + 12 + r.jaw_design_minutes)
    assert money == pytest.approx(
        (machine + 12) * r.machine_hour / 60 + r.jaw_design_minutes * r.programmer_hour / 60
    )


@pytest.mark.long
def test_every_way_is_offered_with_its_proofs(tmp_path: Path) -> None:
    """As it is; flipped in a thick blank; faced and cut anew where the height allows."""
    job, shop, part, *_, designed = demo()
    with Rack(tmp_path / "rack.db") as rack:
        rack.add(kept())
        tall = next(b for b in shop.blanks if b.id == "A40x60")
        other = made.pair(3, "J-0002")
        jaws = other.cuts[0].jaws
        thick = replace(
            other,
            blank=tall,
            height=tall.height,
            cuts=(
                replace(
                    other.cuts[0],
                    jaws=replace(
                        jaws,
                        top=tall.height,
                        floor=tall.height - 6.5,
                        fixed=replace(jaws.fixed, blank=tall, height=tall.height),
                        floating=replace(jaws.floating, blank=tall, height=tall.height),
                    ),
                ),
            ),
        )
        rack.add(thick)
        found = offer.find(rack, job, shop, most=1)
    ways = {o.kind: o for o in found.offers}
    assert ways["as it is"].pair == "J-0001" and ways["as it is"].same_part
    new = prove(designed.hold, designed.jaws, part, job, shop)
    assert ways["as it is"].verdict == worst([p.verdict for p in new])  # kept jaws are as good as new ones
    assert ways["free side"].pair == "J-0002" and ways["free side"].side == "back"
    again = ways.get("faced and re-cut") or ways["re-cut"]
    assert again.pair == "J-0002" and again.recuts >= 1
    for o in found.offers:
        assert o.proofs and o.new_money is not None
        assert o.money < o.new_money  # that is why jaws are kept
    assert recut.left(thick, shop.vises[0], 6.5) == again.recuts
