"""The program that cuts the pocket into both jaws, as text."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import replace

from jawright.cutting import operations, plans
from jawright.cutting.blocks import Block
from jawright.cutting.model import CutterUse, Program
from jawright.cutting.paths import minutes
from jawright.cutting.pick import NOSE
from jawright.cutting.words import LEAST_DECIMALS, Axes, Text, check_format
from jawright.jaws.model import Jaws
from jawright.job.model import Job
from jawright.shop.model import NcFormat, Shop, Vise
from jawright.units import show

SAFE_STATE = "G17 G40 G49 G80 G90 G94"


def write(
    jaws: Jaws,
    shop: Shop,
    job: Job,
    *,
    vise: Vise | None = None,
    torque: float | Callable[[], float | None] | None = None,
) -> Program:
    """The program that cuts the pocket in both jaws while they are clamped on the spacer stack.

    Parameters
    ----------
    jaws : the designed pair, vise frame [mm]
    shop : its cutters, machine limits and format of program text
    job : names the program and, where nothing else does, the vise and the torque; its unit is the text's
        unless the shop file gives one under ``[nc]``
    vise : the vise the jaws are cut in; None: the one named in the job, else the shop's first
    torque : clamping torque while the jaws are cut [N·m], or what gives it, asked once the paths are
        found: only the text needs it; None: the job's, else as on the sheet

    Returns
    -------
    the program; the same inputs give the same bytes

    Raises ``shop-no-cutter``, ``shop-no-spacer``, ``value-bad`` or ``geometry`` when no safe program exists.
    Valid for jaws whose pocket is open upward and a three-axis mill.
    """
    shop = replace(shop, nc=text_format(shop, job))
    check_format(shop.nc)
    vise = vise or _vise(shop, job.hold.vise)
    turned = vise is not None and not vise.fixed_jaw_rear
    axes = Axes((jaws.fixed.x1 if turned else jaws.fixed.x0, 0.0, jaws.top), turned)
    planned, notes = plans.blocks(jaws, shop, turned=turned)
    blocks = [b for b in planned if b.steps]  # a pass that meets no metal is none
    torque = torque() if callable(torque) else torque
    text = Text(shop.nc, axes)
    name = " ".join(w for w in (job.part_number or job.name, job.revision, job.operation, "jaws") if w)
    words = (
        f"X0 at the left end of the fixed blank, Y0 at the fixed jaw's front face{_seen(turned)}, "
        "Z0 at the top of the fixed jaw"
    )
    _head(
        text, jaws, blocks, name=name, words=words, torque=torque if torque is not None else job.hold.torque
    )
    cutter_list(text, blocks, notes, top=max(jaws.top, jaws.fixed.height, jaws.floating.height))
    text.comment("Mandatory stop: spacers in, jaws at torque, screws tight, loose parallels out, handle off?")
    text.block("M0")
    for k, block in enumerate(blocks):
        block_lines(text, block, last=k == len(blocks) - 1)
    text.block("G40 G49 G80 G90")
    if shop.nc.machine_top:
        text.machine_top()
    for line in shop.nc.end_lines:
        text.lines.append(line)
    text.block("M30")
    uses = tuple(use(b, shop) for b in blocks)
    total = math.fsum(u.minutes for u in uses) + len(blocks) * shop.machine.tool_change / 60.0
    return Program(
        name,
        "\n".join(text.lines) + "\n",
        shop.nc.units,
        uses,
        total,
        axes.origin,
        words,
        turned,
        tuple(sorted({n for b in blocks if (n := _compensated(b))})),
    )


def text_format(shop: Shop, job: Job) -> NcFormat:
    """How the text is written: in the job's unit, unless the shop file itself gives one for its programs."""
    nc = shop.nc
    chosen = not any(note.startswith("nc units:") for note in shop.defaults_used)
    if chosen or nc.units == job.units:
        return nc
    kept = any(note.startswith("nc decimals:") for note in shop.defaults_used)
    least = LEAST_DECIMALS[job.units]
    return replace(nc, units=job.units, decimals=least if kept else max(nc.decimals, least))


def _vise(shop: Shop, name: str) -> Vise | None:
    """The vise named, else the shop's first."""
    found = [v for v in shop.vises if v.id == name] or list(shop.vises)
    return found[0] if found else None


def _seen(turned: bool) -> str:
    return ", program axes turned half a turn because the fixed jaw is nearest the operator" if turned else ""


def _head(
    text: Text, jaws: Jaws, blocks: Sequence[Block], *, name: str, words: str, torque: float | None
) -> None:
    """Units alone in the first block, safe state, and what the operator must know before the first cut."""
    nc = text.nc
    text.block("G21" if nc.units == "mm" else "G20")
    text.lines += list(nc.start_lines)
    text.block(SAFE_STATE)
    system = nc.units
    text.comment(name)
    text.comment(f"Cuts the pocket in both jaws. All lengths in {nc.units}.")
    text.comment(f"{nc.work_offset}: {words}.")
    stack = jaws.stack
    runs = ", ".join(f"X {_x(text, a)} to {_x(text, b)}" for a, b in stack.x_runs)
    spacers = " + ".join(f"{p.id} ({text.say(p.thickness)} thick)" for p in stack.spacers)
    text.comment(f"Spacers clamped between the jaws: {spacers}, gap {text.say(stack.width)}, at {runs}.")
    if stack.risers:
        text.comment(
            "They stand on: " + " + ".join(f"{p.id} ({text.say(p.height)} high)" for p in stack.risers)
        )
    text.comment(
        f"Spacers reach {text.say(stack.high)} above the bed. "
        f"Spacers clear by {text.say(operations.spacer_air(jaws))}."
    )
    at = f"at {show(torque, 'torque', system)}" if torque is not None else "as the setup sheet says"
    text.comment(
        f"Clamp the jaws on the spacers {at}. Check the jaw screws for torque before, not only after."
    )
    text.comment("Jaw bottoms stand on the bed, pushed down while the screws are tightened.")
    for line in _wear(text, jaws, blocks):
        text.comment(line)
    text.comment(
        "First run: doors shut, rapids low, hand on feed hold, watch the first move of each cutter down."
    )


WEAR = 0.1
"""Most [mm] a worn or reground finish cutter may be under its size on a path made for the full size."""


def _wear(text: Text, jaws: Jaws, blocks: Sequence[Block]) -> list[str]:
    """What the operator must know of the finish cutter's size."""
    size = text.say(2 * jaws.cutter_radius)
    main = next(b for b in blocks if b.cutter.id == jaws.cutter)
    number = _compensated(main)
    if not number:
        lack = " No wall has room to turn it on and off." if main.wear_not else ""
        return [
            f"Finish cutter {jaws.cutter}: path is for a cutter of {size}, sharp corner, without radius "
            f"compensation.{lack} Measure it: a cutter that is small by some amount leaves the pocket small "
            "by that amount, half of it on each wall."
        ]
    out = [
        f"Finish cutter {jaws.cutter}: walls are finished under G41 with a wear offset. The path is for "
        f"a cutter of {size}; enter in D{number} how much larger the measured cutter is, 0 for a true one, "
        f"from -{text.say(WEAR)} to 0: the path has sharp inside corners, so a larger cutter is refused "
        "by the control. On controls whose D is a radius enter half."
    ]
    if main.wear_not:
        out.append(f"{main.wear_not} walls have no room to turn G41 on and off: as computed, without it.")
    return out


def _compensated(block: Block) -> int:
    """The D number that the block turns compensation on with; 0 when it does not."""
    return max((s.comp for s in block.steps), default=0)


def _x(text: Text, x: float) -> str:
    return text.length(text.axes.point((x, 0.0, 0.0))[0])


def cutter_list(text: Text, blocks: Sequence[Block], notes: Sequence[str], *, top: float) -> None:
    """One remark a cutter: what it is, how far it stands out and must, how deep it goes, and what for.

    ``top`` is the highest metal [mm]: the holder's nose stays above it.
    """
    for b in blocks:
        c = b.cutter
        corner = f", corner {text.say(c.corner_radius)}" if c.corner_radius > 0 else ""
        deepest = min(s.end[2] for s in b.steps)
        low = deepest - text.axes.origin[2]
        least = min(c.reach, max(0.0, top - deepest) + NOSE)
        text.comment(
            f"T{c.number} {c.id}: {c.kind} {text.say(c.diameter)}{corner}, out {text.say(c.reach)}, at "
            f"least {text.say(least)}, lowest Z {text.length(low)}. {'; '.join(dict.fromkeys(b.purposes))}."
        )
    for note in notes:
        text.comment(f"By hand: {note}." if "by hand" not in note else f"{note}.")


def block_lines(text: Text, block: Block, *, last: bool) -> None:
    """Cutter change, safe state, and all moves of one cutter."""
    c = block.cutter
    text.comment(f"T{c.number} {c.id}: {block.reason}")
    if text.nc.machine_top:
        text.machine_top()
    text.block(f"M6 T{c.number}")
    text.block(SAFE_STATE)
    text.block(text.nc.work_offset)
    text.block(f"S{block.spindle:.0f} M3")
    text.new_cutter()
    marks = dict(block.marks)
    at = None
    for k, step in enumerate(block.steps):
        if k in marks:
            text.comment(marks[k])
        if at is None:
            text.first(step, c.number)
            text.block("M8")
        else:
            text.write(at, step)
        at = step.end
    text.block("M9")
    text.block("M5")
    if not last:
        text.block("M1")


def use(block: Block, shop: Shop) -> CutterUse:
    """The cutter's row in the record."""
    return CutterUse(
        cutter=block.cutter.id,
        number=block.cutter.number,
        purpose="; ".join(dict.fromkeys(block.purposes)),
        spindle=block.spindle,
        feed=max(
            (s.feed for s in block.steps if s.kind != "rapid" and s.feed <= block.feed + 1e-9),
            default=block.feed,
        ),
        step_over=block.step_over,
        step_down=block.step_down,
        minutes=minutes(block.steps, rapid=shop.machine.rapid),
        reason=block.reason,
    )
