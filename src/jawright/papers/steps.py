"""The order of doing, and the cautions that go with it."""

from __future__ import annotations

from jawright.papers.facts import stack_words, stop_fact, up_words
from jawright.papers.inspection import words
from jawright.papers.measure import Reader
from jawright.record import Record


def steps(record: Record) -> tuple[str, ...]:
    """What to do, in order, from an empty vise to the first measured part."""
    if record.hold is None:
        return ()
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
    return r.torque(record.torque[1]) if record.torque else "the torque of the parts (unknown)"


def _cut_jaws(record: Record) -> tuple[str, ...]:
    jaws, hold = record.jaws, record.hold
    assert jaws is not None and hold is not None
    r = Reader(record.job.units)
    a, b = jaws.fixed.blank, jaws.floating.blank
    blanks = f"a pair {a.id}" if a.id == b.id else f"{a.id} on the fixed, {b.id} on the floating jaw"
    out = [
        f"Blanks: {blanks}. Wipe the backs; push each down on the bed and to its left end while "
        f"tightening the {hold.vise.bolt} bolts. Mark them fixed and floating.",
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
    if hold.stop is not None:
        out.append(
            f"Side stop: let it touch {r.size(hold.stop[2])} above the bed, clear of the lower edge's burr."
        )
    return tuple(out)


def _first_part(record: Record) -> tuple[str, ...]:
    hold = record.hold
    assert hold is not None
    r = Reader(record.job.units)
    stop = stop_fact(record)
    edge = r.size(record.job.incoming.edge_break.value)
    push = f"Push it into the {stop.value} corner" if stop.value != "none" else "Place it along X by its mark"
    over = hold.part_top - hold.floor + hold.stock
    return (
        f"Take a part of the size accepted, its lower edges broken at least {edge}. "
        f"Stand it {up_words(record)}.",
        f"{push}, snug the vise, tap the part down with a soft hammer, tighten to "
        f"{_torque(record)}. Seat check: paper under each corner, none may pull.",
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


def without_wrench() -> str:
    """The test that replaces a torque wrench."""
    text: str = words()["without_wrench"]["text"]
    return text
