"""How much of its round a cutter has in metal, move by move, on a map of heights. Vise frame, mm.

The map is coarse and works on its own: what it finds is a cutter's load, never the shape that is
left. A rim a little inside the cutter is asked, so that a wall just passed is not taken for metal: light
cuts are understated by that little, deep ones are not.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from jawright.shop.model import Cutter
from jawright.verify.model import Load
from jawright.verify.place import Path
from jawright.verify.stage import Block
from jawright.verify.sweep import Run
from jawright.verify.tool import body
from jawright.verify.words import LIMITS

_ENGAGED: dict[str, float] = LIMITS["engagement"]
_CELL = _ENGAGED["cell"]
_RAYS = 36
_AHEAD = (np.arange(_RAYS) + 0.5) / _RAYS * math.pi - math.pi / 2
_STEPS = 24  # most places of one stretch that are looked at
_TURN = math.radians(40)  # arcs are walked in stretches of at most this
_DROP = 0.5  # and ramps in stretches that sink by at most this [mm]
_KINDS = ("end mill", "face mill")
Floats = NDArray[np.float64]


@dataclass(slots=True)
class _Map:
    """Height of metal at cell centers; below all metal where there is none."""

    x0: float
    y0: float
    h: Floats

    def index(self, x: Floats, y: Floats) -> tuple[NDArray[np.int64], NDArray[np.int64]]:
        nx, ny = self.h.shape
        i = np.clip(((x - self.x0) / _CELL).astype(np.int64), 0, nx - 1)
        j = np.clip(((y - self.y0) / _CELL).astype(np.int64), 0, ny - 1)
        return i, j

    def lower(self, run: Run, radius: float, z: float) -> None:
        """Take away what a flat cutter at height ``z`` sweeps along a short or straight run."""
        (ax, ay), (bx, by) = run.start, run.end
        nx, ny = self.h.shape
        i0 = max(0, int((min(ax, bx) - radius - self.x0) / _CELL))
        i1 = min(nx, int((max(ax, bx) + radius - self.x0) / _CELL) + 1)
        j0 = max(0, int((min(ay, by) - radius - self.y0) / _CELL))
        j1 = min(ny, int((max(ay, by) + radius - self.y0) / _CELL) + 1)
        if i0 >= i1 or j0 >= j1:
            return
        part = self.h[i0:i1, j0:j1]
        x = (self.x0 + (np.arange(i0, i1) + 0.5) * _CELL - ax)[:, None]
        y = (self.y0 + (np.arange(j0, j1) + 0.5) * _CELL - ay)[None, :]
        dx, dy = bx - ax, by - ay
        long = dx * dx + dy * dy
        t = np.clip((x * dx + y * dy) / long, 0.0, 1.0) if long > 0.0 else 0.0
        far = (x - t * dx) ** 2 + (y - t * dy) ** 2
        np.minimum(part, z, out=part, where=far <= radius * radius)

    def ahead(self, run: Run, radius: float, share: Floats) -> Floats:
        """Height of metal at the front half of the cutter's rim, shape (places, rays)."""
        if run.center is None:
            (ax, ay), (bx, by) = run.start, run.end
            x, y = ax + share * (bx - ax), ay + share * (by - ay)
            heading = np.full(len(share), math.atan2(by - ay, bx - ax))
        else:
            a = run.start_angle + share * run.sweep
            x, y = run.center[0] + run.radius * np.cos(a), run.center[1] + run.radius * np.sin(a)
            heading = a + math.copysign(math.pi / 2, run.sweep)
        angle = heading[:, None] + _AHEAD[None, :]
        rim = max(0.5 * radius, radius - _ENGAGED["inside"])
        i, j = self.index(x[:, None] + rim * np.cos(angle), y[:, None] + rim * np.sin(angle))
        return self.h[i, j]


def loads(
    paths: Sequence[Path], cutters: Sequence[Cutter], blocks: Sequence[Block]
) -> tuple[list[Load], list[Load]]:
    """Peak of each end mill and face mill, and its deepest full slot where it has one.

    ``paths`` are all moves whose place is known, in order, each with its cutter. The angle is counted
    where metal stands deeper than ``deep`` diameters on the rim, so that a thin ramp is no slot.
    """
    x0, y0 = min(j.x0 for j in blocks), min(j.y0 for j in blocks)
    nx = math.ceil((max(j.x1 for j in blocks) - x0) / _CELL)
    ny = math.ceil((max(j.y1 for j in blocks) - y0) / _CELL)
    air = -1.0
    grid = _Map(x0 - _CELL, y0 - _CELL, np.full((nx + 2, ny + 2), air))  # a rim of air about the blanks
    for j in blocks:
        i0, i1 = round((j.x0 - x0) / _CELL) + 1, round((j.x1 - x0) / _CELL) + 1
        k0, k1 = round((j.y0 - y0) / _CELL) + 1, round((j.y1 - y0) / _CELL) + 1
        grid.h[i0:i1, k0:k1] = j.height
    top = max(j.height for j in blocks)
    peaks: dict[int, Load] = {}
    slots: dict[int, Load] = {}
    for path, cutter in zip(paths, cutters, strict=True):
        if path.low >= top:
            continue
        b = body(cutter)
        for run in path.runs:
            for part in _stretches(run):
                if path.move.kind == "feed" and cutter.kind in _KINDS and part.length > _CELL:
                    for load in _load(grid, part, path.move.line, cutter):
                        _keep(load, peaks, slots)
                flat = part if b.full == 0.0 else _lifted(part, b.full)
                grid.lower(flat, b.radius, max(flat.z0, flat.z1))
    return [peaks[n] for n in sorted(peaks)], [slots[n] for n in sorted(slots)]


def _lifted(run: Run, by: float) -> Run:
    return Run(run.start, run.end, run.z0 + by, run.z1 + by, run.center, run.start_angle, run.sweep)


def _stretches(run: Run) -> list[Run]:
    """Stretches that are short in angle and in height."""
    n = 1
    if run.center is not None:
        n = math.ceil(abs(run.sweep) / _TURN)
    if run.length > 0.0:
        n = max(n, math.ceil(abs(run.z1 - run.z0) / _DROP))
    return [run] if n == 1 else [run.part(k / n, (k + 1) / n) for k in range(n)]


def _load(grid: _Map, run: Run, line: int, cutter: Cutter) -> list[Load]:
    """The largest bite of the stretch, and its deepest."""
    radius = cutter.diameter / 2
    n = max(1, min(_STEPS, math.ceil(run.length / (0.5 * radius))))
    share = (np.arange(n) + 0.5) / n
    tip = (run.z0 + share * (run.z1 - run.z0))[:, None]
    deep = grid.ahead(run, radius, share) - tip
    inside = deep > _ENGAGED["deep"] * cutter.diameter
    angles = inside.sum(axis=1) * (math.pi / _RAYS)
    widest = int(np.argmax(angles))
    if angles[widest] <= 0.0:
        return [Load(cutter.number, cutter.id, 0.0, 0.0, line)]
    depths = [float(np.median(d[i])) if i.any() else 0.0 for d, i in zip(deep, inside, strict=True)]
    slotted = [k for k in range(n) if angles[k] > _ENGAGED["slot"]]
    told = {widest, *([max(slotted, key=lambda k: depths[k])] if slotted else [])}
    return [Load(cutter.number, cutter.id, float(angles[k]), depths[k], line) for k in sorted(told)]


def _keep(load: Load, peaks: dict[int, Load], slots: dict[int, Load]) -> None:
    """Keep the load where it is worse than what was seen of its cutter."""
    was = peaks.get(load.tool)
    if was is None or (load.angle, load.depth) > (was.angle, was.depth):
        peaks[load.tool] = load
    if load.angle > _ENGAGED["slot"]:
        was = slots.get(load.tool)
        if was is None or load.depth > was.depth:
            slots[load.tool] = load
