"""Groups of facts of the setup sheet, each made from the record alone.

Lengths in mm, angles in rad.
"""

from __future__ import annotations

import hashlib
import math

from jawright.hold.model import Hold
from jawright.hold.walls import keeps
from jawright.jaws.model import LOWER_FLOOR, LOWER_LEVEL
from jawright.papers.measure import Reader
from jawright.papers.row_facts import mirrored_too, row_facts, row_zero
from jawright.papers.show import Fact, Level
from jawright.papers.stack_facts import pieces
from jawright.proof.window import NAME as WINDOW
from jawright.record import Record
from jawright.shop.model import Band3


def title_facts(record: Record) -> tuple[Fact, ...]:
    """Part, operation, quantity, material, machine, vise, date and program."""
    job = record.job
    return (
        Fact("Revision", job.revision or "not given"),
        Fact("Operation", job.operation or "not given"),
        Fact("Quantity", f"{job.quantity}"),
        Fact("Material", job.material.split(" [", 1)[0]),
        Fact("Machine", record.shop.machine.id),
        Fact("Vise", record.hold.vise.id if record.hold else "none"),
        Fact("Made", record.made),
        Fact("Jaw program", record.program.name if record.program else "none"),
    )


def first_facts(record: Record) -> tuple[Fact, ...]:
    """What is wanted first at the machine, beside the picture."""
    r = Reader(record.job.units)
    hold, jaws = record.hold, record.jaws
    assert hold is not None
    if jaws is not None:
        what = Fact("Jaws", *_set_name(jaws.text))
        if record.reuse is not None:
            marked = " / ".join(t for t in jaws.text if t)
            side = f"{record.reuse.side} side" + (f", {record.reuse.place}" if record.reuse.place else "")
            what = Fact("Jaws", record.reuse.pair, note=f"{side}; marked {marked}" if marked else side)
    else:
        ids = [p.id for p in hold.parallels[:2]]
        words = f"2 × {ids[0]}" if len(ids) == 2 and ids[0] == ids[1] else ", ".join(ids) or "none"
        what = Fact("Jaws", "hard jaws", note=f"parallels {words}")
    return (what, stop_fact(record), torque_fact(record, r), offset_fact(record))


def _set_name(text: tuple[str, str]) -> tuple[str, str, str]:
    """What both jaws' texts begin with names the set; value, help, note."""
    words = [t.split() for t in text]
    count = next((i for i, (a, b) in enumerate(zip(*words, strict=False)) if a != b), min(map(len, words)))
    if count == 0:
        return f"{text[0]} / {text[1]}", "Text cut into the jaws.", "as cut into them"
    rest = [" ".join(w[count:]) for w in words]
    note = f"marked {rest[0]} and {rest[1]}" if all(rest) else ""
    return " ".join(words[0][:count]), "What the text cut into both jaws begins with.", note


def stop_fact(record: Record) -> Fact:
    """Into which corner the part is pushed, as the operator sees it."""
    hold = record.hold
    assert hold is not None
    side = _stop_side(hold)
    if side is None:
        return between_walls(hold) or Fact(
            "Stop", "none", "Nothing stops the part along X.", "place X on every part", "caution"
        )
    datum = next((d.letter for d in hold.datums if d.seat == "stop"), "")
    cut = record.jaws is not None and any(z.purpose == "stop" for z in record.jaws.zones)
    where = "pocket wall" if cut or hold.stop is None else stop_words(record, Reader(record.job.units))
    if mirrored_too(hold):
        where += f"; mirror image: {'right' if side == 'left' else 'left'}"
    return Fact(
        "Stop corner",
        f"rear {side}" if hold.vise.fixed_jaw_rear else f"front {side}",
        "Push the part into this corner, seen by the operator, before tightening.",
        note=(f"datum {datum}: " if datum else "") + where,
    )


def between_walls(hold: Hold) -> Fact | None:
    """What holds the part along X without a stop: walls of a jaw that lean both ways; None for none."""
    for on, fact in (
        ("fixed", Fact("Stop", "pocket", "Walls lean both ways.", "its walls place the part along X")),
        ("floating", Fact("Stop", "V", "Walls lean both ways.", "its walls place the part along X")),
    ):
        if keeps(c.normal[:2] for c in hold.contacts if c.on == on):
            return fact
    return None


def stop_words(record: Record, r: Reader) -> str:
    """Which side stop, and where it touches: above the bed, and along X from the end of the fixed jaw."""
    hold, jaws = record.hold, record.jaws
    s = hold.side_stop if hold is not None else None
    if hold is None or s is None:
        return "side stop"
    x, _, z = s.at
    name = f"side stop {s.id}" if s.id else "side stop (none listed reaches: get one)"
    ends = (jaws.fixed.x0, jaws.fixed.x1) if jaws is not None else (-hold.vise.span / 2, hold.vise.span / 2)
    off = ends[0] - x if s.side == "-X" else x - ends[1]
    place = f"{r.size(off)} outside" if off > 0 else f"{r.size(-off)} in from"
    end = "left" if (s.side == "-X") == hold.vise.fixed_jaw_rear else "right"
    return f"{name} {s.where}, touching {r.size(z)} above the bed, {place} the jaw's {end} end"


def _stop_side(hold: Hold) -> str | None:
    xs = [c.normal[0] for c in hold.contacts if c.on == "stop"]
    if xs:
        left = sum(xs) > 0
    elif hold.stop is not None:
        box = hold.outline.outer.box
        left = hold.stop[0] < (box[0] + box[2]) / 2
    else:
        return None
    if not hold.vise.fixed_jaw_rear:
        left = not left
    return "left" if left else "right"


def torque_fact(record: Record, r: Reader) -> Fact:
    """What to set on the vise, with its window."""
    if record.hold is not None and record.hold.vise.force is not None:
        return _force_fact(record, record.hold.vise.force, r)
    if record.torque is None:
        p = next((p for p in record.proofs if p.name == WINDOW), None)
        if p is not None and p.verdict == "fail" and p.low is not None and p.high is not None:
            need, most = r.value(p.low, p.unit, digits=0), r.value(p.high, p.unit, digits=0)
            return Fact("Vise torque", "none serves", note=f"{need} needed, {most} allowed", level="fail")
        return Fact("Vise torque", "unknown", "No torque window was found.", "see the proofs", "unknown")
    low, sett, high = record.torque
    level: Level = "" if low <= sett <= high else "fail"
    return Fact(
        "Vise torque",
        r.torque(sett),
        "Least to hold, what to set, most before the part or the jaws suffer.",
        note=f"least {r.torque(low, unit=False)} · most {r.torque(high)}",
        level=level,
    )


def _force_fact(record: Record, force: Band3, r: Reader) -> Fact:
    """The same of a vise that no wrench closes."""
    p = next((p for p in record.proofs if p.name == WINDOW), None)
    need = "" if p is None or p.low is None else f"least {r.value(p.low, 'N', digits=0)}"
    return Fact(
        "Clamp force",
        r.value(force.set, "N", digits=0),
        "As the vise is set: check its pressure or pull before the first part.",
        note=need,
        level="fail" if p is not None and p.verdict == "fail" else "" if need else "unknown",
    )


def offset_fact(record: Record) -> Fact:
    """Number of the work offset, and where its zero is."""
    p, hole = record.program, record.jaws.tooling_hole if record.jaws else None
    if p is None:
        where = "zero: stop, fixed jaw, parallels" if record.jaws is None else "zero: to be chosen"
        where = "zero by the tooling hole" if record.reuse is not None and hole is not None else where
    elif hole is not None and math.dist(p.origin[:2], hole.center) < 1e-6:
        where = "zero at the tooling hole"
    else:
        where = "zero: see the mark in the picture"
    return Fact("Work offset", record.shop.nc.work_offset, "Where the machine keeps this zero.", note=where)


def axis_words(up: tuple[float, float, float]) -> str:
    """A direction of the model in words: +Z, or its three components."""
    k = max(range(3), key=lambda i: abs(up[i]))
    if abs(up[k]) > 0.9999:
        return ("+" if up[k] > 0 else "−") + "XYZ"[k]
    return "({:.3f}, {:.3f}, {:.3f})".format(*up)


def up_words(record: Record) -> str:
    """Which face is up, by the print's own letters where it has them."""
    hold = record.hold
    assert hold is not None
    down = [d.letter for d in hold.datums if d.seat == "floor"]
    axis = f"model {axis_words(hold.stance.up)} up"
    return f"{' and '.join(down)} down, {axis}" if down else axis


def holding_facts(record: Record) -> tuple[Fact, ...]:
    """How the part stands and what carries it."""
    r = Reader(record.job.units)
    hold, jaws = record.hold, record.jaws
    assert hold is not None
    rear = "at the rear" if hold.vise.fixed_jaw_rear else "nearest the operator"
    out = [
        Fact("Face up", up_words(record)),
        Fact("Turn about Z", r.value(folded(hold.stance.turn), "rad"), note=_fits(hold.stance.reason, r)),
        Fact("Vise", hold.vise.id, note=f"fixed jaw {rear}"),
        *row_facts(hold, r),
    ]
    seats = {d.seat: d for d in hold.datums}
    for seat, words in (("fixed", "On the fixed jaw"), ("stop", "On the stop"), ("floor", "On the floor")):
        if seat in seats:
            d = seats[seat]
            out.append(Fact(words, f"datum {d.letter}", note=_fits(d.words.split(", faces")[0], r)))
    out += [
        Fact("Grip depth", r.size(hold.grip_depth), "Reach of the jaws.", _fits(hold.grip_reason, r)),
        Fact("Stick-out", r.size(hold.part_top - hold.jaw_top), "Finished part above the jaw tops."),
        Fact("Stock on top", r.size(hold.stock), "Metal above the finished face as the part comes in."),
    ]
    if jaws is not None:
        ids = [j.blank.id for j in (jaws.fixed, jaws.floating)]
        same = f"2 × {ids[0]}" if ids[0] == ids[1] else f"fixed {ids[0]}, floating {ids[1]}"
        out.append(Fact("Jaw blanks", same, note=jaws.fixed.blank.material))
    else:
        out.append(pieces("Parallels", hold.parallels[:2], r))
        out.append(Fact("Parallel keeper", "1", "Holds both to their jaw.", "spring, foam or wavy strip"))
    edge = record.job.incoming.edge_break
    out.append(Fact("Lower edges broken", f"at least {r.size(edge.value)}", note=edge.basis.split(":")[0]))
    out.append(accepted_fact(record))
    out.append(
        Fact("Seat check", "paper at each corner", "Snug, tap down, tighten, then pull.", "none may pull")
    )
    return tuple(out)


def _fits(words: str, r: Reader) -> str:
    """Words that came with millimeters in them stay off an inch sheet: one sheet, one unit."""
    return "" if r.units == "inch" and " mm" in words else words


def accepted_fact(record: Record) -> Fact:
    """Which incoming parts the pocket takes."""
    r = Reader(record.job.units)
    p = next((p for p in record.proofs if p.model.startswith("acceptance-window")), None)
    found = {name: (value, unit) for name, value, unit in p.detail} if p else {}
    low = found.get("smallest width accepted", found.get("smallest width taken"))
    high = found.get("largest width accepted", found.get("largest width taken"))
    if p is None or low is None or high is None:
        say = "; ".join(p.supply) if p else "no proof of it in this record"
        return Fact(
            "Size accepted", "unknown", "Sizes of incoming parts that go in and are held.", say, "unknown"
        )
    return Fact(
        "Size accepted",
        f"{r.value(*low).split(' ')[0]} to {r.value(*high)}",
        "Width across the jaws. Sort out parts outside this window before loading.",
        level=p.verdict if p.verdict != "pass" else "",
    )


def jaw_facts(record: Record) -> tuple[Fact, ...]:
    """Blanks, bolts, gap and pocket; nothing in hard jaws."""
    jaws = record.jaws
    if jaws is None:
        return ()
    r = Reader(record.job.units)
    out = []
    for jaw, text in ((jaws.fixed, jaws.text[0]), (jaws.floating, jaws.text[1])):
        b = jaw.blank
        size = f"{r.size(b.length, unit=False)} × {r.size(b.thickness, unit=False)} × {r.size(b.height)}"
        turned = ", turned end for end" if jaw.flipped else ""
        if b.reversible and not b.pair:
            turned += "; the back stays free for another pocket"
        out.append(
            Fact(
                f"{jaw.side.capitalize()} blank", f"{b.id}, {b.material}", note=f"{size}; cut: {text}{turned}"
            )
        )
    out += [
        Fact("Jaw bolts", f"{record.hold.vise.bolt}, 2 per jaw" if record.hold else "2 per jaw",
             note="push each jaw down on the bed while tightening; same order and torque every time"),
        Fact("Gap", r.size(jaws.gap), "Between the jaws with the spacer or a part clamped."),
        Fact("Pocket", f"{r.size(jaws.top - jaws.floor)} deep", note=f"finished with {jaws.cutter}"),
        Fact("Metal behind", r.near(jaws.metal_behind), note=jaws.metal_behind_where),
    ]  # fmt: skip
    if jaws.edge_break > 0:
        out.append(Fact("Edge break", r.size(jaws.edge_break), "Chamfer on the pocket's upper edge."))
    return tuple(out)


def zero_facts(record: Record) -> tuple[Fact, ...]:
    """Where X0 Y0 Z0 is, in words and in numbers to type or to check."""
    hold = record.hold
    assert hold is not None
    r = Reader(record.job.units)
    hole = record.jaws.tooling_hole if record.jaws is not None else None
    if record.program is None and record.reuse is not None and hole is None:
        return (Fact("Zero", "to be chosen: this pair has no tooling hole"),)
    if record.program is None and record.jaws is None:
        return (
            Fact("Zero", _hard_zero(hold)),
            Fact("Part top", f"Z{r.place(hold.part_top - hold.floor)}", "Finished face; the first to check."),
        )
    if record.program is not None:
        o, turned, words = record.program.origin, record.program.turned, record.program.origin_words
    else:
        assert hole is not None and record.jaws is not None
        fixed, turned = record.jaws.fixed, not hold.vise.fixed_jaw_rear
        o = (fixed.x1 if turned else fixed.x0, 0.0, record.jaws.top)  # as when the pair was cut
        words = "as when it was cut, brought back by the tooling hole; Z0 at the top of the fixed jaw"
    s = -1.0 if turned else 1.0
    out = [Fact("Zero", words)]
    if record.jaws is not None and record.jaws.tooling_hole is not None:
        t = record.jaws.tooling_hole
        at = f"X{r.place(s * (t.center[0] - o[0]))}, Y{r.place(s * (t.center[1] - o[1]))}"
        out.append(Fact("Tooling hole", f"Ø{r.place(t.diameter)}", note=at))
    for d in hold.datums:
        if d.seat == "fixed" and abs(d.normal[1]) > 0.999:
            out.append(Fact(f"Datum {d.letter}, fixed jaw", f"Y{r.place(s * (d.point[1] - o[1]))}"))
        if d.seat == "stop" and abs(d.normal[0]) > 0.999:
            out.append(Fact(f"Datum {d.letter}, stop", f"X{r.place(s * (d.point[0] - o[0]))}"))
    out += [
        *row_zero(hold, r, zero=o[0], sign=s),
        *_floors(record, r, o[2]),
        Fact("Part top", f"Z{r.place(hold.part_top - o[2])}", "Finished face; the first number to check."),
    ]
    return tuple(out)


def _floors(record: Record, r: Reader, zero: float) -> list[Fact]:
    """Z of the floor, and of what is cut below it for the rest of the underside."""
    hold = record.hold
    assert hold is not None
    if not hold.below:
        return [Fact("Floor", f"Z{r.place(hold.floor - zero)}", "The part's underside.")]
    out = [Fact("Floor", f"Z{r.place(hold.floor - zero)}", f"The upper level: {hold.level_reason}.")]
    jaws = record.jaws
    wells = [] if jaws is None else [w for w in jaws.wells if w.purpose in LOWER_LEVEL]
    for bottom, purpose in sorted({(w.bottom, w.purpose) for w in wells}, reverse=True):
        word = "Lower floor" if purpose == LOWER_FLOOR else "Room below the floor"
        note = "It carries too." if purpose == LOWER_FLOOR else "Nothing touches there."
        out.append(Fact(word, f"Z{r.place(bottom - zero)}", note))
    return out


def _hard_zero(hold: Hold) -> str:
    x = "X0 at the stop" if _stop_side(hold) else "X0 on the part itself, every time"
    return f"{x}, Y0 at the face of the fixed jaw, Z0 on top of the parallels"


def program_facts(record: Record) -> tuple[Fact, ...]:
    """The jaw program and what reading it back found."""
    p, v = record.program, record.verification
    if p is None:
        why = "Hard jaws are not cut." if record.reuse is None else "The pair is used as it is."
        return (Fact("Program for the jaws", "none needed", why),)
    r = Reader(record.job.units)
    digest = hashlib.sha256(p.text.encode("utf-8")).hexdigest()
    out = [
        Fact("Program", p.name, note=f"unit {p.units}; check sum {digest[:12]}"),
        Fact("Cutting time", r.value(p.minutes, "min", digits=1)),
    ]
    if v is None:
        out.append(
            Fact("Read back", "not done", "An independent reader runs the text.", "not ready", "unknown")
        )
        return tuple(out)
    out.append(
        Fact(
            "Read back",
            "agrees with the design" if v.verified else "DOES NOT AGREE",
            "An independent reader ran the text and removed the metal.",
            note=f"{v.moves} moves",
            level="" if v.verified else "fail",
        )
    )
    out += [
        Fact("Deepest gouge", r.place(v.gouge)),
        Fact("Thickest rest", r.place(v.rest)),
        Fact("Wall, floor error", f"{r.place(v.wall_error)}, {r.place(v.floor_error)}"),
        Fact("Nearest to spacer, vise", f"{r.near(v.spacer_gap)}, {r.near(v.vise_gap)}"),
    ]
    return tuple(out)


def folded(angle: float) -> float:
    """The same turn between half a turn back and half a turn on [rad]."""
    return math.remainder(angle, 2 * math.pi)
