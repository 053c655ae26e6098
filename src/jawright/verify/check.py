"""Check a program against the jaws it is to cut, trusting nothing but its text.

The text is read by this room's own reader, metal is taken from the real blanks with
spacers, bolts and vise in place, and what is left is compared with the design.

Lengths in mm, feeds in mm/min, speeds in rev/min.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from jawright.geometry.frame import Vec3
from jawright.jaws.model import Bar, Jaws
from jawright.shop.model import Cutter, Shop, Vise
from jawright.verify import clock
from jawright.verify.compare import Comparison, Scene, compare
from jawright.verify.engaged import loads
from jawright.verify.gone import Gone
from jawright.verify.hits import Gaps, bodies_met, metal_met
from jawright.verify.log import Level
from jawright.verify.marks import marks
from jawright.verify.material import Cuts, levels
from jawright.verify.model import Load, NcFinding, Verification
from jawright.verify.place import Frame, Path, place
from jawright.verify.reader import Reading, read
from jawright.verify.stage import Stage, lying, pair
from jawright.verify.tool import body
from jawright.verify.words import LIMITS

_CUT = LIMITS["cutting"]
_METAL = LIMITS["metal"]
_ENGAGED = LIMITS["engagement"]


@dataclass(frozen=True, slots=True)
class _Job:
    """All that stays the same while one text is checked."""

    stage: Stage
    shop: Shop
    vise: Vise | None
    frame: Frame
    diameters: Mapping[int, float]
    cutters: Mapping[int, Cutter]


def check(
    text: str,
    *,
    origin: Vec3,
    turned: bool,
    jaws: Jaws,
    shop: Shop,
    vise: Vise | None = None,
    diameters: Mapping[int, float] | None = None,
    wear: Sequence[int] = (),
) -> Verification:
    """Carry out a program on the blanks in the vise and compare with the design.

    Parameters
    ----------
    text : the program.
    origin : the program's zero in the vise frame [mm].
    turned : True when program axes are turned half a turn about Z against the vise frame.
    jaws, shop : the design, and the cutters and machine limits.
    vise : the vise; None: the shop's only one, else its body is not checked and a caution says so.
    diameters : the control's diameter table for D numbers [mm]; None: each cutter's own diameter.
    wear : D numbers that hold a wear offset, 0 for a cutter of true size, where ``diameters`` is None.

    Returns
    -------
    Verification : ``verified`` only when every word was understood, no fault was found and
        every limit of ``data/verify_limits.toml`` holds.
    """
    if vise is None and len(shop.vises) == 1:
        vise = shop.vises[0]
    if diameters is None:
        diameters = {c.number: c.diameter for c in shop.cutters} | dict.fromkeys(wear, 0.0)
    return _checked(text, pair(jaws, shop, vise), shop, vise, frame=(origin, turned), diameters=diameters)


def check_blank(text: str, *, origin: Vec3, turned: bool, bar: Bar, shop: Shop, vise: Vise) -> Verification:
    """Carry out a program on a bar in hard jaws and compare with the blank it is to become.

    Parameters and result as of ``check``; ``wall_error`` and ``spacer_gap`` are not asked: 0 and None.
    """
    diameters = {c.number: c.diameter for c in shop.cutters}
    return _checked(text, lying(bar, vise), shop, vise, frame=(origin, turned), diameters=diameters)


def _checked(
    text: str,
    stage: Stage,
    shop: Shop,
    vise: Vise | None,
    *,
    frame: tuple[Vec3, bool],
    diameters: Mapping[int, float],
) -> Verification:
    """With the block delete switch off, and on too where the text asks for it."""
    cutters = {c.number: c for c in shop.cutters}
    job = _Job(stage, shop, vise, Frame(*frame, max(stage.top, stage.design.top)), dict(diameters), cutters)
    first, deletes = _once(job, text, block_delete=False)
    if not deletes:
        return first
    second, _ = _once(job, text, block_delete=True)
    return _worse(first, second)


def _worse(a: Verification, b: Verification) -> Verification:
    """A text with block delete marks must hold with the switch on and off."""
    worse = a if not a.verified or b.verified else b
    note = NcFinding(
        "caution", 0, 0, "lines start with the block delete character: checked with the switch off and on"
    )
    return Verification(
        a.verified and b.verified,
        worse.moves,
        max(a.minutes, b.minutes),
        worse.gouge,
        worse.gouge_at,
        worse.rest,
        worse.rest_at,
        worse.wall_error,
        worse.floor_error,
        worse.spacer_gap,
        worse.vise_gap,
        (*worse.findings, note),
        worse.levels,
        worse.loads,
    )


def _once(job: _Job, text: str, *, block_delete: bool) -> tuple[Verification, bool]:
    reading = read(text, diameters=job.diameters, block_delete=block_delete)
    findings = list(reading.findings)
    paths = [place(m, job.frame) for m in reading.moves]
    findings += _rates(job, paths)
    findings += _changes(job, reading)
    findings += _offsets(job, reading)
    findings += _travel(job, reading)
    findings += _unknown_places(job, paths)
    if job.vise is None:
        findings.append(NcFinding("caution", 0, 0, "no vise was named: its body was not checked"))
    gaps, result, spans = _metal(job, paths, findings, reading.remarks)
    found = _loads(job, paths, findings)
    ordered = sorted(set(findings), key=lambda f: (_RANK[f.level], f.line, f.column, f.what))
    gouge = max(result.gouges, key=lambda s: s.depth, default=None)
    rest = max(result.rests, key=lambda s: s.depth, default=None)
    clean = not any(f.level in ("refused", "fault") for f in ordered)
    limits = result.wall_error <= _METAL["wall"] and result.floor_error <= _METAL["floor"]
    verification = Verification(
        verified=clean and limits and bool(reading.moves),
        moves=len(reading.moves),
        minutes=_minutes(job, reading),
        gouge=gouge.depth if gouge else 0.0,
        gouge_at=job.frame.of(gouge.at) if gouge else None,
        rest=rest.depth if rest else 0.0,
        rest_at=job.frame.of(rest.at) if rest else None,
        wall_error=result.wall_error,
        floor_error=result.floor_error,
        spacer_gap=gaps.spacer,
        vise_gap=gaps.vise,
        findings=tuple(ordered),
        levels=tuple(spans),
        loads=tuple(found),
    )
    return verification, reading.deletes


_RANK = {"refused": 0, "fault": 1, "caution": 2, "noted": 3}


def _metal(
    job: _Job, paths: Sequence[Path], findings: list[NcFinding], remarks: Sequence[str]
) -> tuple[Gaps, Comparison, list[float]]:
    """Take the metal away, and judge every place the cutter goes."""
    known = [(p, c) for p in paths if p.known and (c := job.cutters.get(p.move.tool or -1)) is not None]
    bodies = [body(c) for _, c in known]
    gaps, faults = bodies_met([p for p, _ in known], bodies, job.stage.bodies)
    findings += faults
    plan, top = job.stage.design, job.stage.top
    deep = [(p, c, b) for (p, c), b in zip(known, bodies, strict=True) if p.low < top]
    cuts = Cuts([p for p, _, _ in deep], [b for _, _, b in deep], top, job.frame)
    low = min([p.low for p, _, _ in deep] + list(plan.heights) + [plan.floor]) - 1.0
    spans = levels(cuts, [*plan.heights, *job.stage.heights], max(0.0, low))
    metal = job.stage.uncut(spans)
    fast = [_too_fast(p.move.feed, p.move.spindle, c) if p.move.kind == "feed" else "" for p, c, _ in deep]
    findings += metal_met(cuts, [c for _, c, _ in deep], spans, metal, fast=fast)
    scene = Scene(plan, cuts, spans, metal, Gone(cuts, spans))
    result = compare(scene)
    findings += result.findings
    if job.stage.jaws is not None:
        findings += marks(job.stage.jaws, job.shop, scene, turned=job.frame.turned, remarks=remarks)
    return gaps, result, [s.at for s in spans]


def _loads(job: _Job, paths: Sequence[Path], findings: list[NcFinding]) -> list[Load]:
    """Peak engagement of each cutter; a slot deeper than the cutter stands is a fault."""
    known = [(p, c) for p in paths if p.known and (c := job.cutters.get(p.move.tool or -1)) is not None]
    found, slots = loads([p for p, _ in known], [c for _, c in known], job.stage.blocks)
    for q in slots:
        share = q.depth / job.cutters[q.tool].diameter
        if share > _ENGAGED["slot_caution"]:
            level: Level = "fault" if share > _ENGAGED["slot_depth"] else "caution"
            words = f"engagement: {q.cutter} in a full slot {q.depth:.2f} mm deep, {share:.1f} diameters"
            findings.append(NcFinding(level, q.line, 0, words))
    return found


def _rates(job: _Job, paths: Sequence[Path]) -> list[NcFinding]:
    """Feeds, speeds and turning sense against machine and cutter, once per line."""
    out: list[NcFinding] = []
    machine = job.shop.machine
    for p in paths:
        m = p.move
        if abs(m.spindle) > machine.spindle_max + 1e-6:
            out.append(
                NcFinding(
                    "fault",
                    m.line,
                    0,
                    f"speed: S{abs(m.spindle):g} is over the machine's {machine.spindle_max:g}",
                )
            )
        if m.kind != "feed":
            continue
        if m.feed > machine.feed_max + 1e-6:
            out.append(
                NcFinding(
                    "fault",
                    m.line,
                    0,
                    f"feed: {m.feed:.0f} mm/min is over the machine's {machine.feed_max:.0f}",
                )
            )
        if m.tool is None or m.tool not in job.cutters:
            name = "no tool" if m.tool is None else f"T{m.tool}, which the shop does not have,"
            out.append(NcFinding("fault", m.line, 0, f"tool: feed motion with {name} in the spindle"))
            continue
        if p.low < job.frame.top and m.spindle < 0:
            words = f"spindle: {job.cutters[m.tool].id} cuts turning the wrong way (M4)"
            out.append(NcFinding("fault", m.line, 0, words))
    return out


def _too_fast(feed: float, spindle: float, cutter: Cutter) -> str:
    """Words when the cutter is fed faster than it may cut, else ""; a fault only where it meets metal."""
    if spindle <= 0:
        return ""
    least = _CUT["feed_per_tooth_min"]
    if cutter.kind in ("drill", "spot drill", "reamer"):
        turn, limit = feed / spindle, max(_CUT["drill_feed_share"] * cutter.diameter, least)
        return f"{turn:.3f} mm per turn for {cutter.id} (limit {limit:.3f})" if turn > limit else ""
    tooth = feed / spindle / max(1, cutter.flutes)
    limit = min(_CUT["feed_per_tooth_max"], max(least, _CUT["feed_per_tooth_share"] * cutter.diameter))
    return f"{tooth:.3f} mm per tooth for {cutter.id} (limit {limit:.3f})" if tooth > limit else ""


def _changes(job: _Job, reading: Reading) -> list[NcFinding]:
    out, low = [], []
    for c in reading.changes:
        if c.tool and c.tool not in job.cutters:
            out.append(NcFinding("fault", c.line, 0, f"tool: the shop has no cutter number T{c.tool}"))
        z = c.position[2]
        if z is not None and job.frame.height(z) < job.frame.top + _CUT["change_clear"]:
            out.append(
                NcFinding("fault", c.line, 0, "tool: tool change while the cutter is down at the jaws")
            )
        elif z is not None and c.line > reading.changes[0].line:
            low.append(c.line)
    last = reading.moves[-1] if reading.moves else None
    if (
        last is not None
        and last.end[2] is not None
        and job.frame.height(last.end[2]) < job.frame.top + _CUT["change_clear"]
    ):
        out.append(NcFinding("fault", last.line, 0, "end: the program ends with the cutter down at the jaws"))
    if low and job.shop.nc.machine_top:
        more = f", {len(low)} times in all" if len(low) > 1 else ""
        words = f"tool change without going to the machine's top (G53 G0 Z0) first{more}"
        out.append(NcFinding("caution", low[0], 0, words))
    return out


def _offsets(job: _Job, reading: Reading) -> list[NcFinding]:
    """The work offset must be the one the setup sheet names."""
    want = job.shop.nc.work_offset.upper()
    out: dict[str, NcFinding] = {}
    for line, system in reading.systems:
        if system != want and system not in out:
            out[system] = NcFinding(
                "fault", line, 0, f"offset: work offset {system} is used, the setup has {want}"
            )
    return list(out.values())


def _travel(job: _Job, reading: Reading) -> list[NcFinding]:
    """The span of all known places must fit the machine's travel."""
    out = []
    travel = job.shop.machine.travel
    for k, axis in enumerate("XYZ"):
        seen = [(v, m.line) for m in reading.moves for v in (m.start[k], m.end[k]) if v is not None]
        if not seen:
            continue
        (low, _), (high, _) = min(seen), max(seen)
        if high - low > travel[k]:
            far = max(seen, key=lambda s: abs(s[0]))
            out.append(
                NcFinding(
                    "fault",
                    far[1],
                    0,
                    f"travel: the program spans {high - low:.1f} mm in {axis}, the machine {travel[k]:.1f}",
                )
            )
    return out


def _unknown_places(job: _Job, paths: Sequence[Path]) -> list[NcFinding]:
    """Motion from or to a place that is not known may not come down among the metal."""
    clear = max(job.frame.top, job.vise.body_height if job.vise else 0.0)
    out = []
    for p in (p for p in paths if not p.known):
        leaves = p.move.end[2] is None
        if p.low < clear + leaves * _CUT["change_clear"]:
            words = (
                "approach: the cutter leaves for a place that is not known, and starts too low for that"
                if leaves
                else "approach: the cutter comes down from a place in X or Y that is not known"
            )
            out.append(NcFinding("fault", p.move.line, 0, words))
    return out + [
        NcFinding("fault", p.move.line, 0, "height: feed motion where the height of the cutter is not known")
        for p in paths
        if p.move.kind == "feed" and p.move.end[2] is None
    ]


def _minutes(job: _Job, reading: Reading) -> float:
    """Feed, rapid, tool change and dwell time [min], with the time to speed up and slow down."""
    machine = job.shop.machine
    total = clock.minutes(reading.moves, rapid=machine.rapid)
    return total + len(reading.changes) * machine.tool_change / 60 + reading.dwell / 60
