"""The order of doing, and the cautions that go with it."""

from __future__ import annotations

from collections.abc import Sequence

from jawright.lighter import limits
from jawright.papers.facts import between_walls, stop_fact, stop_words, up_words
from jawright.papers.inspection import words
from jawright.papers.measure import Reader
from jawright.papers.row_facts import load_words
from jawright.papers.stack_facts import MAKING, stack_words
from jawright.record import Record
from jawright.shop.model import Parallel


def steps(record: Record) -> tuple[str, ...]:
    """What to do, in order, from an empty vise to the first measured part."""
    if record.hold is None:
        return ()
    if record.reuse is not None:
        return (*_prepare(record), *put_back(record), *_first_part(record))
    middle = _cut_jaws(record) if record.jaws else _hard(record)
    return (*_prepare(record), *middle, *_first_part(record))


def _prepare(record: Record) -> tuple[str, ...]:
    hold = record.hold
    assert hold is not None
    return (
        f"Vise {hold.vise.id}: clean bed and jaw seats, stone off burrs, sweep the fixed jaw "
        "parallel to the X travel.",
    )


def _torque(record: Record) -> str:
    r = Reader(record.job.units)
    force = record.hold.vise.force if record.hold is not None else None
    if force is not None:
        return f"its set clamp force of {r.value(force.set, 'N', digits=0)}"
    return r.torque(record.torque[1]) if record.torque else "the torque of the parts (unknown)"


def _cut_jaws(record: Record) -> tuple[str, ...]:
    jaws, hold = record.jaws, record.hold
    assert jaws is not None and hold is not None
    r = Reader(record.job.units)
    a, b = jaws.fixed.blank, jaws.floating.blank
    blanks = f"a pair {a.id}" if a.id == b.id else f"{a.id} on the fixed, {b.id} on the floating jaw"
    out = [
        *_make_blanks(record),
        f"Blanks: {blanks}. Wipe the backs; push each down on the bed and to its left end while "
        f"tightening the {hold.vise.bolt} bolts. Mark them fixed and floating.",
        *_make_strips(jaws.stack.spacers, r),
        f"Spacer: {stack_words(jaws.stack, r)}; clamp it at {_torque(record)}. "
        "Neither bolts nor spacer may move.",
    ]
    p, v = record.program, record.verification
    if p is not None:
        cutters = ", ".join(f"T{c.number} {c.cutter}" for c in p.cutters)
        near = ""
        if v is not None and v.spacer_gap is not None:
            near = f" The reader found no cutter nearer to the spacer than {r.near(v.spacer_gap)}."
        out += [
            f"Set the program's zero ({record.shop.nc.work_offset}): {p.origin_words}. Load {cutters}.",
            f"Run the jaw program {p.name}: first above the metal, then with the feed reduced.{near}",
        ]
    if jaws.tooling_hole is not None:
        out.append(
            "Before opening the vise indicate the tooling hole and write its machine coordinates down."
        )
    out.append("Break the edges, wash the chips out of the pocket, open the vise, take the spacer out.")
    return (*out, *_side_stop(record, r))


def _make_strips(spacers: Sequence[Parallel], r: Reader) -> list[str]:
    """A step for spacers that no parallel of the shop is thin enough for."""
    if not any(p.to_make for p in spacers):
        return []
    p = spacers[0]
    size = f"{r.size(p.height, unit=False)} × {r.size(p.length, unit=False)} × {r.size(p.thickness)} thick"
    return [
        f"Make two spacer strips {size}, of flat stock, {MAKING}: no parallel of the shop is thin enough."
    ]


def _make_blanks(record: Record) -> list[str]:
    """One step for each kind of blank that is made from bar."""
    r = Reader(record.job.units)
    out = []
    for work in record.blank_work:
        p, bar = work.program, work.bar
        if p is None or bar is None:
            out.append(f"Blank {work.blank} cannot be made from bar here, buy it: {work.note}.")
            continue
        check = "" if work.verified else " It did NOT verify: do not run it."
        out.append(
            f"Make {work.count} of blank {work.blank} from bar: bottom edge on the fixed hard jaw, on "
            f"parallels {bar.parallel.id}; program {p.name}, "
            f"{r.value(p.minutes, 'min', digits=1)} each.{check}"
        )
    return out


def put_back(record: Record) -> tuple[str, ...]:
    """How a pair from the rack is put back, and the work offset with it."""
    jaws, hold, used = record.jaws, record.hold, record.reuse
    assert jaws is not None and hold is not None and used is not None
    r = Reader(record.job.units)
    place = f" from {used.place}" if used.place else ""
    out = [
        f"Fetch pair {used.pair}{place} and check it out: jawright rack out {used.pair}. Stone the backs of "
        "the jaws and the seats of the vise, wipe all dry; same jaw on the same side as when it was cut.",
        f"Fixed jaw first: push it down on the bed and against its key or left end while its "
        f"{hold.vise.bolt} bolts are tightened, in the same order and to the same torque as before.",
        "Floating jaw: push it down, its bolts snug only, so that it can still turn.",
        f"Align it: clamp a finished part in the pocket, or a gauge block across the gap of "
        f"{r.size(jaws.gap)}, at about a quarter of {_torque(record)}; tap both jaws down until no feeler "
        "enters under them.",
        "Let it settle: open and clamp three times, then tighten the floating jaw's bolts with the part "
        "clamped.",
    ]
    if jaws.tooling_hole is not None:
        e = record.shop.jaw_reseat
        out.append(
            f"Indicate the tooling hole at the work offset kept from last time. It usually comes back within "
            f"{r.place(e.set)}, one sigma ({e.basis}). Move {record.shop.nc.work_offset} by what is found "
            f"and keep the numbers: jawright rack seat {used.pair} --x ... --y ..."
        )
    else:
        out.append("It has no tooling hole: take the work offset anew from the locating wall and the stop.")
    out.append("Check the indicator numbers on the re-use sheet before the first part.")
    return tuple(out)


def _hard(record: Record) -> tuple[str, ...]:
    hold = record.hold
    assert hold is not None
    r = Reader(record.job.units)
    ps = hold.parallels[:2]
    stand = "none: the part stands on the bed"
    if ps:
        stand = f"{ps[0].id}, {r.size(ps[0].height)} high, one against each jaw"
    out = [f"Hard jaws: check that they are clean and unmarked. Parallels: {stand}."]
    return (*out, *_side_stop(record, r))


def _side_stop(record: Record, r: Reader) -> tuple[str, ...]:
    """Setting a side stop outside the pocket, when the hold has one."""
    if record.hold is None or record.hold.side_stop is None:
        return ()
    words = stop_words(record, r)
    swung = record.hold.side_stop.away
    after = "; the end it touches is milled: swing it away each time the part is clamped" if swung else ""
    return (f"{words[0].upper()}{words[1:]}; lock it, and zero X from it{after}.",)


def _first_part(record: Record) -> tuple[str, ...]:
    hold = record.hold
    assert hold is not None
    r = Reader(record.job.units)
    stop = stop_fact(record)
    edge = r.size(record.job.incoming.edge_break.value)
    take, into, tap = load_words(hold, stop.value)
    alone = between_walls(hold)
    if stop.label == "Stop corner":
        push = f"Push {into}"
    elif alone is not None:
        push = f"Push {'each' if hold.beside else 'it'} straight back (the {alone.value} places it along X)"
    else:
        push = "Place it along X by its mark"
    home = record.homing
    if home is not None and home.advice:  # only where the part does not go home from every start
        push = f"{push}, {home.advice}"
    over = hold.part_top - hold.floor + hold.stock
    return (
        f"Take {take} of the size accepted, {'its' if tap == 'the part' else 'their'} lower edges broken at "
        f"least {edge}. Stand {'it' if tap == 'the part' else 'each'} {up_words(record)}.",
        f"{push}, snug the vise, tap {tap} down with a soft hammer, tighten to "
        f"{_torque(record)}. Seat check: paper under each corner, none may pull.",
        *(
            ["Swing the side stop away: the cutter comes by where it stands."]
            if hold.side_stop is not None and hold.side_stop.away
            else []
        ),
        *(f"Cut {said}." for said in limits(hold.features)),
        f"Touch the top: with {r.size(hold.stock)} of stock it stands {r.size(over)} above its seat.",
        "Take the vise handle off. Run the first part at reduced feed with rapids at 25 % and a hand on feed "
        "hold; stop after the first cut and look.",
        "Measure by the first-article table, once clamped and once released. Change an offset on the "
        "mean of three parts, not on one.",
    )


def cautions(record: Record) -> tuple[tuple[str, ...], tuple[str, ...]]:
    """Those of the first page, and the further ones."""
    w = words()
    first = tuple(w["cautions"]["first"])
    more = list(w["cautions"]["more"])
    if record.jaws is not None:
        more.insert(0, w["cautions"]["cutting_jaws"])
    name = record.job.material.lower()
    for key in ("fire", "slips"):
        if any(m in name for m in w["materials"][key]):
            more.insert(0, w["cautions"][key])
    return first, tuple(more)


def without_wrench(record: Record) -> str:
    """The test that replaces a torque wrench; none for a vise that no wrench closes."""
    if record.hold is not None and record.hold.vise.force is not None:
        return ""
    text: str = words()["without_wrench"]["text"]
    return text
