"""``jawright check``: read a job with its part and shop; say what is missing and what stands in."""

from __future__ import annotations

import argparse

from jawright.doors.cli import inputs, screen
from jawright.hold.resolve import Ask, FoundFeature, resolve
from jawright.job import gaps
from jawright.job.model import Job, ToleranceAsk
from jawright.part.model import Part
from jawright.part.read import read_part
from jawright.shop.model import Shop
from jawright.told import told
from jawright.units import show


def run(args: argparse.Namespace) -> int:
    """Read, resolve and list; 0 when nothing stands in the way of planning."""
    job, shop = inputs.read(args.job, args.shop, args.units)
    part = read_part(job.part_file, unit=job.part_unit, thickness=job.thickness, body=job.body)
    ask = resolve(part, job)
    blocks = [_job(job, shop, part), _found(job, ask), _missing(job, part, ask), _standing_in(job, shop)]
    print("\n\n".join("\n".join(b) for b in blocks if b))
    return 0


def _job(job: Job, shop: Shop, part: Part) -> list[str]:
    size = " × ".join(show(v, "length", job.units, digits=2 if job.units == "mm" else 3) for v in part.size)
    return screen.table(
        [
            ("job", f"{job.name}, {job.operation}, {job.quantity} off"),
            ("part", f"{part.file}: {size}, {job.material}"),
            ("shop", f"{shop.name}: {len(shop.vises)} vises, {len(shop.blanks)} blanks, "
                     f"{len(shop.parallels)} parallels, {len(shop.cutters)} cutters"),
        ]
    )  # fmt: skip


def _found(job: Job, ask: Ask) -> list[str]:
    rows = [(f"datum {d.letter}", told(d.words, job.units)) for d in ask.datums]
    rows += [(f.ask.name, _feature(f, job)) for f in ask.features]
    for t in ask.tolerances:
        zone = _zone(t, job)
        to = f" to {'|'.join(t.datums)}" if t.datums else ""
        rows.append((t.feature, f"{t.kind} {zone}{to}" + (f" ({t.basis})" if t.basis else "")))
    return screen.table(rows) + [line for n in ask.notes for line in screen.wrap(told(n, job.units))]


def _zone(t: ToleranceAsk, job: Job) -> str:
    """The zone's width; of a plain ± its limits, signed."""
    if t.kind not in ("distance", "size", "diameter"):
        out = f" projected {show(t.projected, 'length', job.units)}" if t.projected else ""
        off = f", its middle {show(t.middle, 'length', job.units)} out of the metal" if t.middle else ""
        return ("Ø" if t.diametral else "") + show(t.zone, "length", job.units) + out + off
    low, high = t.limits
    if abs(low + high) < 1e-9:
        return f"± {show(high, 'length', job.units)}"
    words = [("+" if v > 0 else "") + show(v + 0.0, "length", job.units) for v in (high, low)]
    return f"{words[0].split(' ')[0]}/{words[1]}"


def _feature(found: FoundFeature, job: Job) -> str:
    if found.hole is not None:
        through = "through" if found.hole.through else "blind"
        return f"{found.ask.kind}, hole Ø{show(found.hole.diameter, 'length', job.units)}, {through}"
    if found.ask.pick is None and found.faces and found.ask.kind == "profile":
        return f"profile, the whole outline, {screen.count(len(found.faces), 'wall')}"
    return f"{found.ask.kind}, " + ("the whole top" if found.face is None else f"{found.face.kind} face")


def _missing(job: Job, part: Part, ask: Ask) -> list[str]:
    open_ = gaps.gaps(job, datums_in_file=len(part.datums), tolerances_in_file=len(ask.tolerances))
    if not open_:
        return ["Nothing is missing."]
    return ["Missing:", *screen.table([(f"  {g.key}", g.follows) for g in open_])]


def _standing_in(job: Job, shop: Shop) -> list[str]:
    rows = [
        (f"  {key}", f"{show(v, 'length', job.units)} ({told(basis, job.units)})")
        for key, v, basis in gaps.stand_ins(job)
    ]
    lines = ["Standing in for what the files leave out:", *screen.table(rows)]
    for text in shop.defaults_used:
        lines += screen.wrap(f"  {told(text, job.units)}", "    ")
    return lines if len(lines) > 1 else []
