"""The spacer stack on the setup sheet: its pieces, where they stand, what has to be made first.

Lengths in mm.
"""

from __future__ import annotations

from jawright.jaws.model import SpacerStack
from jawright.papers.measure import Reader
from jawright.papers.show import Fact
from jawright.record import Record
from jawright.shop.model import Parallel

MAKING = "both alike within 0.01 mm, edges broken"


def stack_facts(record: Record) -> tuple[Fact, ...]:
    """The spacer stack, piece by piece; nothing in hard jaws."""
    jaws = record.jaws
    if jaws is None:
        return ()
    r = Reader(record.job.units)
    s = jaws.stack
    out = [
        pieces("Clamp", s.spacers, r),
        pieces("Under it", s.risers, r) if s.risers else Fact("Under it", "nothing: it stands on the bed"),
        Fact("Spacer from", f"{r.size(s.low, unit=False)} to {r.size(s.high)} above bed"),
        Fact(
            "Force acts at",
            r.size(s.height),
            "Height above the bed at which the spacer pushes.",
            note=s.reason,
        ),
        Fact("Across the gap", r.size(s.width)),
        Fact("Along X", "; ".join(_run(record, a, b, r) for a, b in s.x_runs)),
        Fact("Cutter stays off", r.near(s.cutter_gap), "Least distance from a cutter to the spacer."),
    ]
    force = record.hold.vise.force if record.hold is not None else None
    if force is not None:
        out.append(
            Fact("Cut at clamp force", r.value(force.set, "N", digits=0), note="the same as for the parts")
        )
    if record.torque is not None:
        out.append(Fact("Cut at torque", r.torque(record.torque[1]), note="the same as for the parts"))
    return tuple(out)


def _run(record: Record, a: float, b: float, r: Reader) -> str:
    """A run along X counted from the left end of the fixed jaw as the operator sees it."""
    jaws, hold = record.jaws, record.hold
    assert jaws is not None and hold is not None
    if hold.vise.fixed_jaw_rear:
        lo, hi = a - jaws.fixed.x0, b - jaws.fixed.x0
    else:
        lo, hi = jaws.fixed.x1 - b, jaws.fixed.x1 - a
    return f"{r.size(lo, unit=False)} to {r.size(hi)} from the left end"


def pieces(label: str, parallels: tuple[Parallel, ...], r: Reader) -> Fact:
    """Parallels by name and count, with their sizes; or what is to be made, in the reader's unit."""
    sizes = "; ".join(parallel_words(p, r) for p in {p.id: p for p in parallels}.values())
    names = _named(parallels) or "nothing"
    if any(p.to_make for p in parallels):
        note = f"make two of flat stock: {sizes}; {MAKING}"
        return Fact(label, names, "No parallel of the shop is thin enough.", note=note)
    return Fact(label, names, "Loose parallels of the shop.", note=sizes)


def parallel_words(p: Parallel, r: Reader) -> str:
    """Height, thickness and length in the reader's unit."""
    return f"{r.size(p.height, unit=False)} high × {r.size(p.thickness, unit=False)} × {r.size(p.length)}"


def stack_words(s: SpacerStack, r: Reader) -> str:
    """The spacers, what they stand on, and the heights between which they do, in the reader's unit."""
    names = _named(s.spacers) + (f" on {_named(s.risers)}" if s.risers else "")
    return f"{names}, {r.size(s.low, unit=False)} to {r.size(s.high)} above the bed"


def _named(parallels: tuple[Parallel, ...]) -> str:
    """Parallels by name, those alike counted."""
    counts = {p.id: sum(q.id == p.id for q in parallels) for p in parallels}
    return " + ".join((f"{n} × " if n > 1 else "") + name for name, n in counts.items())
