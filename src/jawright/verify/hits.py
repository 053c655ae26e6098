"""What a cutter in its holder must not meet: spacers, risers, bolts, vise, bed; and metal at the wrong time.

Keep-out bodies are upright boxes. A cutter body is never narrower than given by
``Body.steps``, so a distance is never reported larger than it is. Vise frame, mm.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.geometry.base import BaseGeometry

from jawright.jaws.model import Jaws
from jawright.shop.model import Cutter, Vise
from jawright.verify.material import Cuts, Level
from jawright.verify.model import NcFinding
from jawright.verify.place import Path
from jawright.verify.sweep import Run, polygons, swept
from jawright.verify.tool import Body
from jawright.verify.words import LIMITS

_CUT = LIMITS["cutting"]
_AREA = 1e-4  # mm²; less than this is rounding
_BOLT_SLICES = 10
_BESIDE = 0.002  # chords of arcs where distances to bodies are measured [mm]
_RAMP_PARTS = 16
_DEPTH_OF_VISE = 80.0  # the vise's body is taken to reach this far behind the blanks


@dataclass(frozen=True, slots=True)
class KeepOut:
    """A box nothing may enter: plan rectangle up to ``high``."""

    name: str
    box: tuple[float, float, float, float]
    high: float


@dataclass(frozen=True, slots=True)
class Gaps:
    """Least distance from any cutter or holder to each kind of body; None where there is no such body."""

    spacer: float | None
    vise: float | None


def keep_outs(jaws: Jaws, vise: Vise | None) -> list[KeepOut]:
    """Spacers, risers, bolts with their heads, and the vise's body."""
    out: list[KeepOut] = []
    stack = jaws.stack
    if stack.spacers:
        out += [KeepOut("spacer", (a, -jaws.gap, b, 0.0), stack.high) for a, b in stack.x_runs]
    if stack.risers and stack.x_runs:
        runs = stack.x_runs
        if len(stack.risers) < len(runs):  # one that reaches from spacer to spacer
            runs = ((min(a for a, _ in runs), max(b for _, b in runs)),)
        out += [KeepOut("riser", (a, -jaws.gap, b, 0.0), stack.low) for a, b in runs]
    for jaw in (jaws.fixed, jaws.floating):
        b = jaw.blank
        front, back = (jaw.y0, jaw.y1) if jaw.side == "fixed" else (jaw.y1, jaw.y0)
        deep = front + math.copysign(b.counterbore_depth, back - front)
        for x, zc in jaw.bolts:
            for diameter, y0, y1 in ((b.counterbore, front, deep), (b.bolt_hole, deep, back)):
                out += _bolt(x, zc, diameter, b.slot_length, (min(y0, y1), max(y0, y1)))
    if vise is not None:
        half = max(vise.jaw_width / 2, jaws.fixed.x1, -jaws.fixed.x0)
        out += vise_bodies(vise, jaws.floating.y0, jaws.fixed.y1, half)
    return out


def vise_bodies(vise: Vise, y0: float, y1: float, half: float) -> list[KeepOut]:
    """The vise's body before ``y0`` and behind ``y1``, ``half`` as wide as given."""
    return [
        KeepOut("vise", (-half, y1, half, y1 + _DEPTH_OF_VISE), vise.body_height),
        KeepOut("vise", (-half, y0 - _DEPTH_OF_VISE, half, y0), vise.body_height),
    ]


def _bolt(x: float, zc: float, diameter: float, slot: float, y: tuple[float, float]) -> list[KeepOut]:
    """A bolt lies along Y: steps that hold the round."""
    r, out = diameter / 2, []
    for k in range(_BOLT_SLICES):
        low = r * k / _BOLT_SLICES
        w = math.sqrt(r * r - low * low) + slot / 2
        out.append(KeepOut("bolt", (x - w, y[0], x + w, y[1]), zc + r * (k + 1) / _BOLT_SLICES))
    return out


def _level_parts(run: Run) -> list[Run]:
    """A run as stretches that are nearly level, so that its lowest point speaks for it."""
    if run.z0 == run.z1 or run.length == 0.0:
        return [run]
    n = _RAMP_PARTS
    return [run.part(k / n, (k + 1) / n) for k in range(n)]


def bodies_met(
    paths: Sequence[Path], bodies: Sequence[Body], boxes: Sequence[KeepOut]
) -> tuple[Gaps, list[NcFinding]]:
    """Distances to the keep-out bodies and a fault for each line that meets one.

    ``paths`` are all moves whose place is known, high ones included.
    """
    parts = [(i, q) for i, p in enumerate(paths) for r in p.runs for q in _level_parts(r)]
    least: dict[str, float] = {}
    hits: dict[tuple[int, str], float] = {}
    if parts and boxes:
        owner = np.array([i for i, _ in parts])
        low = np.array([q.low for _, q in parts])
        lines = _lines([q for _, q in parts])
        kinds: dict[Body, list[int]] = {}
        for n, (i, _) in enumerate(parts):
            kinds.setdefault(bodies[i], []).append(n)
        for k in boxes:
            plan = shapely.box(*k.box)
            shapely.prepare(plan)
            for b, members in kinds.items():
                idx = np.array(members)
                if k.name not in _TOLD:  # whether it is met is asked, not how near
                    idx = idx[low[idx] < k.high]
                if len(idx) == 0:
                    continue
                aside = shapely.distance(lines[idx], plan)
                best, depth = np.full(len(idx), math.inf), np.zeros(len(idx))
                for h, r in b.steps():
                    rise = np.maximum(0.0, low[idx] + h - k.high)
                    side = np.maximum(0.0, aside - r)
                    best = np.minimum(best, np.hypot(rise, side))
                    deep = np.minimum(r - aside, k.high - (low[idx] + h))
                    depth = np.maximum(depth, np.where((rise == 0.0) & (aside < r), deep, 0.0))
                least[k.name] = min(least.get(k.name, math.inf), float(best.min()))
                for m in np.flatnonzero(depth > 1e-6):
                    key = (paths[int(owner[idx[m]])].move.line, k.name)
                    hits[key] = max(hits.get(key, 0.0), float(depth[m]))
    faults = [
        NcFinding(
            "fault", line, 0, f"{name}: the cutter or its holder goes {depth:.3f} mm into the {_WORDS[name]}"
        )
        for (line, name), depth in sorted(hits.items())
    ]
    for p in paths:
        if p.low < -1e-9:
            faults.append(
                NcFinding(
                    "fault", p.move.line, 0, f"vise: the cutter goes {-p.low:.3f} mm into the vise's bed"
                )
            )
    return Gaps(least.get("spacer"), least.get("vise")), faults


_WORDS = {
    "spacer": "spacer",
    "riser": "parallel under the spacer",
    "bolt": "bolt or its counterbore",
    "vise": "vise's body",
    "hard jaw": "hard jaw",
    "parallel": "parallel under the blank",
}


_TOLD = ("spacer", "vise")
"""Bodies whose least distance is reported."""


def _lines(runs: Sequence[Run]) -> NDArray[np.object_]:
    """The runs in plan."""
    chains = [r.points(_BESIDE) if r.center is not None else (r.start, r.end) for r in runs]
    index = np.repeat(np.arange(len(chains)), [len(c) for c in chains])
    lines: NDArray[np.object_] = shapely.linestrings(
        np.array([p for c in chains for p in c], dtype=float), indices=index
    )
    return lines


def metal_met(
    cuts: Cuts,
    tools: Sequence[Cutter],
    spans: Sequence[Level],
    metal: Sequence[BaseGeometry],
    *,
    fast: Sequence[str],
) -> list[NcFinding]:
    """Metal that a move meets though it must not: rapids, shanks, holders, cutters that cannot cut so.

    ``tools`` go with ``cuts.paths``, and so do the words of ``fast`` where a feed is faster than
    its cutter may cut: through air that is no fault. Moves are judged in the program's order, each
    against the metal that those before it have left.
    """
    out: list[NcFinding] = []
    for i, path in enumerate(cuts.paths):
        b = cuts.bodies[i]
        if path.move.kind == "rapid" and not _straight_up(path):
            met = _swept_metal(cuts, i, spans, metal)
            if met is not None:
                out.append(NcFinding("fault", path.move.line, 0, f"rapid: rapid motion through metal, {met}"))
        if fast[i]:
            met = _swept_metal(cuts, i, spans, metal)
            if met is not None:
                out.append(NcFinding("fault", path.move.line, 0, f"feed: {fast[i]}, metal {met}"))
        if path.move.kind == "feed":
            out += _cannot(cuts, i, tools[i], spans, metal)
        for height, radius, what in (
            (b.flute, b.radius + _CUT["rub"], "shank"),
            (b.reach, b.holder, "holder"),
        ):
            if path.low + height < cuts.top:
                met = _ring_metal(cuts, i, (path.low + height, radius), spans, metal)
                if met is not None:
                    out.append(
                        NcFinding("fault", path.move.line, 0, f"{what}: the {what} meets metal, {met}")
                    )
    return out


def _straight_up(path: Path) -> bool:
    return all(r.length == 0.0 and r.z1 >= r.z0 for r in path.runs)


def _shape(runs: Sequence[tuple[Run, float]]) -> BaseGeometry:
    rings = [g for r, radius in runs for g in swept(r, radius)]
    return shapely.union_all(polygons(rings)) if rings else shapely.Polygon()


def _found(cuts: Cuts, left: BaseGeometry, z: float) -> str | None:
    if left.is_empty or left.area <= _AREA:
        return None
    p = shapely.point_on_surface(left)
    return f"at {cuts.frame.words((p.x, p.y, z))}"


def _first(spans: Sequence[Level], z: float) -> int:
    """Index of the first level whose middle lies above ``z``."""
    return next((k for k, s in enumerate(spans) if s.at > z), len(spans))


def _swept_metal(cuts: Cuts, i: int, spans: Sequence[Level], metal: Sequence[BaseGeometry]) -> str | None:
    """Where a rapid's cutter meets metal; sides are let off by the touch limit."""
    path, b = cuts.paths[i], cuts.bodies[i]
    start = _first(spans, path.low + _CUT["touch"])
    for k in range(start, len(spans)):
        z = spans[k].at
        level = all(r.z0 == r.z1 or r.length == 0.0 for r in path.runs)
        runs = []
        for r in path.runs:
            low = r.below(z)
            if low is None:
                continue
            if r.length == 0.0:
                low = Run(r.start, r.start, r.low, r.low)
            runs.append((low, max(0.0, b.at(z - low.low) - _CUT["touch"])))
        shape = _shape(runs)
        met = _found(cuts, cuts.left(shape, metal[k], z, i), z)
        if met is not None:
            return met
        if level and z - path.low >= b.full and k > start:
            return None
    return None


def _ring_metal(
    cuts: Cuts, i: int, body: tuple[float, float], spans: Sequence[Level], metal: Sequence[BaseGeometry]
) -> str | None:
    """Where a part of the body that does not cut meets metal; ``body`` is its lowest height and radius."""
    height, radius = body
    k = _first(spans, height)
    if k == len(spans):
        return None
    z, lift = spans[k].at, height - cuts.paths[i].low
    runs = [(low, radius) for r in cuts.paths[i].runs if (low := r.below(z - lift)) is not None]
    return _found(cuts, cuts.left(_shape(runs), metal[k], z, i), z)


def _cannot(
    cuts: Cuts, i: int, tool: Cutter, spans: Sequence[Level], metal: Sequence[BaseGeometry]
) -> list[NcFinding]:
    """Feeds the cutter is not made for: plunging without cutting at the center, drills sideways."""
    path, b = cuts.paths[i], cuts.bodies[i]
    down = all(r.length == 0.0 and r.z1 < r.z0 for r in path.runs)
    if down and not tool.center_cutting:
        k = _first(spans, path.low)
        if k < len(spans):
            z = spans[k].at
            core = [(Run(r.start, r.start, r.low, r.low), b.radius * _CUT["plunge_core"]) for r in path.runs]
            met = _found(cuts, cuts.left(_shape(core), metal[k], z, i), z)
            if met:
                return [
                    NcFinding(
                        "fault",
                        path.move.line,
                        0,
                        f"plunge: {tool.id} does not cut at its center, metal {met}",
                    )
                ]
    if tool.kind in ("drill", "reamer", "boring bar") and any(r.length > 1e-6 for r in path.runs):
        k = _first(spans, path.low + b.full)
        if k < len(spans):
            z = spans[k].at
            met = _found(
                cuts, cuts.left(_shape([(r, b.radius - _CUT["touch"]) for r in path.runs]), metal[k], z, i), z
            )
            if met:
                return [
                    NcFinding(
                        "fault",
                        path.move.line,
                        0,
                        f"sideways: a {tool.kind} cannot cut sideways, metal {met}",
                    )
                ]
    return []
