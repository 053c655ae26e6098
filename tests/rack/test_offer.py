"""The demo's own jaws on the rack: found again, held as they were designed, and offered with their proofs."""

from __future__ import annotations

from dataclasses import replace
from functools import cache
from pathlib import Path

import pytest

from jawright import cost, record_json
from jawright.conductor import plan
from jawright.doors.cli import inputs
from jawright.errors import JawrightError
from jawright.geometry.profile import Region
from jawright.geometry.shape_hash import outline_hash
from jawright.hold.resolve import resolve
from jawright.hold.stance import turns
from jawright.hold.view import view
from jawright.jaws import kept as jaws_kept
from jawright.jaws import soft
from jawright.jaws.design import design
from jawright.part.read import read_part
from jawright.proof.everything import prove
from jawright.proof.model import worst
from jawright.rack import metal, offer, recut, search, stock
from jawright.rack.model import Cut, Pair
from jawright.rack.store import Rack
from papers import sample
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
    hold = jaws_kept.hold_in(
        jaws_kept.opened(jaws, mine.fit.gap), mine.fit, seen, turn,
        ask=ask, part=part, job=job, shop=shop, vise=shop.vises[0],
    )  # fmt: skip
    assert hold is not None
    # the same faces carry the part, at the same place within the sampling
    carried = {(c.on, c.face) for c in designed.hold.contacts}
    assert {(c.on, c.face) for c in hold.contacts} == carried
    assert [d.seat for d in hold.datums] == [d.seat for d in designed.hold.datums]
    assert hold.stance.move.shift == pytest.approx(designed.hold.stance.move.shift, abs=0.005)
    assert max(c.gap for c in hold.contacts) < 0.005
    a = outline_hash(Region(hold.outline.outer))
    assert a == outline_hash(Region(designed.hold.outline.outer))


def test_money_of_jaws_that_exist() -> None:
    """By hand from the demo shop's rates: setup, loading, and desk and cutting only when cut anew."""
    _, shop, *_ = demo()
    r = shop.rates
    kept_as_is = cost.of_kept(shop)
    machine = r.setup_minutes_kept + 40 * r.load_seconds / 60
    assert kept_as_is.minutes(40) == pytest.approx(machine)
    assert kept_as_is.money(40) == pytest.approx(machine * r.machine_hour / 60)
    anew = cost.of_kept(shop, 14.0, anew=True)
    machine = r.setup_minutes_soft + 40 * r.load_seconds / 60
    assert anew.minutes(40) == pytest.approx(machine + 14 + r.jaw_handling_minutes + r.jaw_design_minutes)
    assert anew.money(40) == pytest.approx(
        (machine + 14 + r.jaw_handling_minutes) * r.machine_hour / 60
        + r.jaw_design_minutes * r.programmer_hour / 60
    )


def test_metal_of_a_pair_is_no_new_pair() -> None:
    """Cut in the metal of a pair that exists, nothing is bought; facing it clean takes five minutes more."""
    job, shop, *_ = demo()
    pair, r = kept(), shop.rates
    _, own = metal.as_shop(pair, "flip", job, shop)
    spent = cost.of_new(shop, own.blanks[0], 14.0)
    assert spent == cost.of_kept(shop, 14.0, anew=True) and spent.way == "jaws from the rack, cut anew"
    assert not any("blank" in i.what and "two" in i.what for i in spent.items)
    _, low = metal.as_shop(pair, "face", job, shop)
    assert low.blanks[0].faced_from == pair.height
    faced = cost.of_new(shop, low.blanks[0], 14.0)
    assert faced.minutes(40) == pytest.approx(spent.minutes(40) + 5.0)
    assert faced.money(40) == pytest.approx(spent.money(40) + 5.0 * r.machine_hour / 60)
    # and the pair's bar is no longer a bar
    bar = replace(pair, blank=replace(pair.blank, bar_thickness=32.0))
    assert recut.as_blank(bar, pair.height).bar_thickness == 0.0


def test_what_a_pair_does_not_allow_is_said_before_anything_is_proven() -> None:
    """Each way is refused with the metal that is there and the least that is needed; one that goes is not."""
    job, shop, *_ = demo()
    pair = kept()
    for way, words in (
        ("re-cut", "must reach 0.3 mm beyond it"),
        ("flip", r"only [\d.]+ mm would be left to what is cut in its other side, 2.5 mm are needed"),
        ("face", "faced clean it would stand .* mm high, and the vise's body needs"),
    ):
        asked, own = metal.as_shop(pair, way, job, shop)  # type: ignore[arg-type]
        with pytest.raises(JawrightError, match=words):
            metal.early(pair, way, asked, own)  # type: ignore[arg-type]
    tall = next(b for b in shop.blanks if b.id == "A40x60")
    thick = replace(pair, blank=tall, height=tall.height)
    asked, own = metal.as_shop(thick, "flip", job, shop)
    assert metal.early(thick, "flip", asked, own) is asked
    with pytest.raises(JawrightError, match="belongs to vise"):
        metal.early(replace(thick, vise="V9"), "flip", *metal.as_shop(thick, "flip", job, shop))


def test_another_stance_is_pinned_where_the_best_one_would_leave_too_little(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    job, shop, *_ = demo()
    pair = kept()
    tall = next(b for b in shop.blanks if b.id == "A40x60")
    thick = replace(pair, blank=tall, height=tall.height)
    asked, own = metal.as_shop(thick, "flip", job, shop)
    seen: list[object] = []

    def bars(new: object, _: object) -> str:
        seen.append(new)
        return "too thin" if len(seen) == 1 else ""

    monkeypatch.setattr(recut, "bars_free_side", bars)
    other = metal.early(thick, "flip", asked, own)
    assert len(seen) == 2 and other.hold.turn is not None
    assert "the part's turn is pinned to" in other.notes[-1] and len(other.notes) == len(asked.notes) + 1


def test_spread_of_a_pair_put_back() -> None:
    """NIST/SEMATECH e-Handbook 7.2.3.1: bounds of a standard deviation from chi-square.

    Six values, root mean square 0.010: chi-square of 6 degrees at 0.025 and 0.975 is 14.449 and 1.237
    (tables of the e-Handbook, 1.3.6.7.4, from memory).
    """
    got = jaws_kept.spread([(0.01, -0.01), (-0.01, 0.01), (0.01, 0.01)])
    assert got is not None
    assert got.set == pytest.approx(0.010)
    assert got.low == pytest.approx(0.010 * (6 / 14.449) ** 0.5, rel=1e-3)
    assert got.high == pytest.approx(0.010 * (6 / 1.237) ** 0.5, rel=1e-3)
    assert "3 times" in got.basis
    assert jaws_kept.spread([(0.01, 0.0)] * 2) is None


def test_a_plan_uses_a_pair_from_the_rack(tmp_path: Path) -> None:
    """The pair goes before new jaws; its own re-seating history stands for the shop's figure."""
    job, shop, *_ = demo()
    with Rack(tmp_path / "rack.db") as rack:
        rack.add(kept())
        for x, y in ((0.004, -0.006), (-0.008, 0.003), (0.002, 0.009)):
            rack.reseated("J-0001", x, y, 0.0)
        pairs = stock.short_list(rack, job, shop)
        rack.out("J-0001", "mill 2")
        assert stock.short_list(rack, job, shop) == ()
    assert [p.pair for p in pairs] == ["J-0001"]
    record = plan(job, shop, kept=pairs)
    assert record.decision.kind == "jaws from the rack" and record.program is None
    assert record.hold is not None and record.hold.reused and record.ready
    assert record.reuse is not None and record.reuse.same_part and record.reuse.place == "A-1"
    assert record.shop.jaw_reseat.set == pytest.approx(((16 + 36 + 64 + 9 + 4 + 81) / 6) ** 0.5 / 1000)
    assert "J-0001" in record.shop.jaw_reseat.basis
    assert [c.way for c in record.costs] == ["jaws from the rack", "new soft jaws"]
    assert record.decision.money == pytest.approx(record.costs[0].money(job.quantity))
    assert record.break_even[0].quantity == 1
    back = record_json.loads(record_json.dumps(record))
    assert (back.reuse, back.costs, back.break_even) == (record.reuse, record.costs, record.break_even)


def test_metal_of_a_pair_for_a_plan() -> None:
    """Flip, re-cut and face change the only blank; what the pair does not allow is refused."""
    job, shop, *_, designed = demo()
    pair = kept()
    asked, own = metal.as_shop(pair, "flip", job, shop)
    assert [b.id for b in own.blanks] == ["J-0001"] and own.blanks[0].price == 0.0
    assert asked.hold.kind == "soft jaws" and "back side" in asked.notes[-1]
    _, low = metal.as_shop(pair, "face", job, shop)
    assert low.blanks[0].height == pytest.approx(pair.height - recut.deepest(pair) - recut.CLEAN)
    both = replace(pair, cuts=(*pair.cuts, replace(pair.cuts[0], side="back")))
    for bad, way in (
        (both, "flip"),
        (replace(pair, cuts=()), "face"),
        (replace(pair, status="dead"), "flip"),
    ):
        with pytest.raises(JawrightError) as caught:
            metal.as_shop(bad, way, job, shop)  # type: ignore[arg-type]
        assert caught.value.code == "rack-state"
    record = replace(sample.good_record(), jaws=designed.jaws)
    pinned = replace(job, hold=replace(job.hold, blank="A25x50", grip_depth=4.0))
    assert metal.as_it_is(pair, pinned).hold.grip_depth is None
    with pytest.raises(JawrightError, match="does not hold the part"):
        metal.used(record, pair)
    with pytest.raises(JawrightError, match="nothing is cut"):
        metal.as_it_is(replace(pair, cuts=()), job)
    with pytest.raises(JawrightError, match="shows in the"):
        metal.check(record, pair, "re-cut")  # its own old pocket leaves no metal to spare
    with pytest.raises(JawrightError, match="left to what is cut"):
        metal.check(record, replace(pair, blank=replace(pair.blank, thickness=15.0)), "flip")


@pytest.mark.long
def test_every_way_is_offered_with_its_proofs(tmp_path: Path) -> None:
    """As it is; flipped in a thick blank; faced and cut anew where the height allows."""
    job, shop, part, *_, designed = demo()
    with Rack(tmp_path / "rack.db") as rack:
        rack.add(kept())
        tall = next(b for b in shop.blanks if b.id == "A40x60")
        other = replace(made.pair(3, "J-0002"), vise="V150")
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
        quick = offer.find(rack, job, shop)
    assert (quick.proven, quick.fitting, quick.pairs) == (1, 1, 2)  # the first serves, so no more is proven
    assert [o.full for o in quick.offers] == [True] + [False] * (len(quick.offers) - 1)
    assert {o.verdict for o in quick.offers[1:]} == {"unknown"} and not quick.offers[-1].proofs
    ways = {o.kind: o for o in found.offers if o.full}
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
