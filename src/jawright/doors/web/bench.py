"""The worker's side of live answers: the last few plans taken up, and questions about them in numbers."""

from __future__ import annotations

from collections import OrderedDict
from collections.abc import Sequence
from dataclasses import asdict, replace
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from jawright import kernel, record_json
from jawright.doors.web.edit import draft_job
from jawright.errors import JawrightError
from jawright.geometry.finer import finer
from jawright.geometry.profile import Region, rectangle
from jawright.hold.model import Hold
from jawright.jaws.row import Spot, spots_of
from jawright.jaws.solid import build
from jawright.job.model import Job
from jawright.live import Bench, Left
from jawright.papers.front_view import front_view
from jawright.papers.plan_view import plan_view
from jawright.papers.questions import answers
from jawright.papers.rival_view import distinct
from jawright.part.read import read_part
from jawright.proof.elastic_bent import Bent
from jawright.proof.elastic_join import SIDES
from jawright.proof.elastic_shape import hard_jaw
from jawright.proof.elastic_walls import Side
from jawright.proof.model import QUESTIONS
from jawright.record import Record, Rival
from jawright.units import System
from jawright.verify.trace import trace

KEPT = 3
"""Plans that stay taken up, the last asked about."""

_benches: OrderedDict[tuple[str, int], Bench] = OrderedDict()


def _bench(folder: Path) -> Bench:
    path = folder / "result" / "record.json"
    key = (str(folder), path.stat().st_mtime_ns)
    if key not in _benches:
        record = record_json.load(path)
        part = next(iter(sorted(folder.glob("part.*"))), record.job.part_file)
        _benches[key] = Bench(replace(record, job=replace(record.job, part_file=part)))
    _benches.move_to_end(key)
    while len(_benches) > KEPT:
        _benches.popitem(last=False)
    return _benches[key]


def _left(x: Left) -> dict[str, Any]:
    return {**asdict(x), "taper": x.taper, "within": x.within}


def heights(folder: Path, _: dict[str, Any]) -> dict[str, Any]:
    """What a slider for the spacers' height needs: mm."""
    got = _bench(folder).heights()
    return {**asdict(got), "now": _left(got.now)}


def spacers(folder: Path, task: dict[str, Any]) -> dict[str, Any]:
    """Taper and shift for a height [mm] and a torque [N·m], each None as planned."""
    return _left(_bench(folder).spacers(height=task.get("height"), torque=task.get("torque")))


def turned(folder: Path, task: dict[str, Any]) -> dict[str, Any]:
    """The hold as the job text in ``task`` pins it: its drawings, and the proofs of the questions asked."""
    bench = _bench(folder)
    job: Job = replace(draft_job(task["job"], folder), units=task["units"])  # sentences as they are read
    got = bench.turned(job, asked=tuple(q for q in QUESTIONS if q in task.get("asked", ())))
    record: Record = got.record
    hold = record.hold
    assert hold is not None
    return {
        "plan": plan_view(record),
        "front": front_view(record, high=72.0),
        "answers": {q: asdict(a) for q, a in zip(QUESTIONS, answers(record), strict=True) if a.lines},
        "good": got.good,
        "margin": got.margin,
        "hold": {
            "kind": hold.kind,
            "turn": hold.stance.turn,
            "shift": hold.stance.shift,
            "grip_depth": hold.grip_depth,
            "spacer_height": record.jaws.stack.height if record.jaws else None,
        },
    }


SIDE_BY_SIDE = 4
"""Stances drawn beside each other."""


def rivals(folder: Path, task: dict[str, Any]) -> dict[str, Any]:
    """The best stances that are told apart, the chosen one first: each designed, drawn and asked quickly."""
    bench = _bench(folder)
    record = bench.record
    found = sorted(distinct(record), key=lambda v: not v.chosen)[:SIDE_BY_SIDE]
    return {"rivals": [_rival(bench, v, task["units"]) for v in found]}


def _rival(bench: Bench, v: Rival, system: System) -> dict[str, Any]:
    job = replace(bench.record.job, units=system)
    out: dict[str, Any] = {
        "rank": v.rank, "kind": v.kind, "turn": v.turn, "shift": v.shift, "up": list(v.up),
        "chosen": v.chosen, "reason": v.reason, "plan": "", "good": v.predicted_yield,
        "margin": v.grip_margin,        "answers": {}, "why_not": "",
    }  # fmt: skip
    pins = replace(job.hold, kind=v.kind, turn=v.turn, shift=v.shift)
    try:
        got = bench.turned(replace(job, up=v.up, hold=pins))
    except JawrightError as e:
        return out | {"why_not": e.what}
    seen: Record = got.record
    told = {q: asdict(a) for q, a in zip(QUESTIONS, answers(seen), strict=True) if a.lines}
    return out | {"plan": plan_view(seen), "good": got.good, "margin": got.margin, "answers": told}


CHORD, SIDE = 0.15, 14.0
"""Deviation of the meshes to look at, and their longest side where they bend [mm]."""


def solids(folder: Path, _: dict[str, Any]) -> dict[str, Any]:
    """Jaws and part as meshes in the vise frame [mm], and how far each point moves in use [µm].

    The jaws move against how they were cut; without walls whose give is known nothing is told to move.

    Raises ``hold-none`` when the plan holds nothing.
    """
    bench = _bench(folder)
    record = bench.record
    hold, job = record.hold, record.job
    if hold is None:
        raise JawrightError("hold-none", what="this plan holds nothing that could be shown")
    part = read_part(job.part_file, unit=job.part_unit, thickness=job.thickness, body=job.body)
    pair = build(record.jaws) if record.jaws is not None else tuple(_hard(hold, s) for s in SIDES)
    shapes = {"part": kernel.moved(part.shape, hold.stance.move)}
    shapes |= dict(zip(SIDES, pair, strict=True))
    try:
        bent, why = bench.bent(), ""
    except JawrightError as e:
        bent, why = None, e.what
    bodies = {name: _mesh(name, shape, bent) for name, shape in shapes.items()}
    spots = spots_of(hold)
    return {"bodies": bodies | ({"beside": _beside(bodies["part"], spots)} if spots else {}), "why_not": why}


def _beside(part: dict[str, Any], spots: Sequence[Spot]) -> dict[str, Any]:
    """The further parts of a row in one mesh: each moves as the part that the hold describes."""
    points = np.array(part["points_mm"]).reshape(-1, 3)
    corners = np.array(part["corners"]).reshape(-1, 3)
    moved = np.array(part.get("moved_um", [])).reshape(-1, 3)
    out: dict[str, list[Any]] = {"points_mm": [], "corners": [], "owner": []}
    if len(moved):
        out["moved_um"] = []
    for n, spot in enumerate(spots):
        way = np.array([-1.0 if spot.mirrored else 1.0, 1.0, 1.0])
        placed = points * way + [spot.along + (2 * spot.about if spot.mirrored else 0.0), 0.0, 0.0]
        own = corners[:, ::-1] if spot.mirrored else corners  # so that faces still look outward
        out["points_mm"] += [round(float(v), 3) for v in placed.ravel()]
        out["corners"] += [int(v) + n * len(points) for v in own.ravel()]
        out["owner"] += part["owner"]
        if len(moved):
            out["moved_um"] += [float(v) + 0.0 for v in (moved * way).ravel()]
    return out


def _hard(hold: Hold, side: Side) -> bytes:
    """A hard jaw as a block, without its screws."""
    jaw = hard_jaw(hold, side)
    return kernel.extrude(Region(rectangle(jaw.x0, jaw.y0, jaw.x1, jaw.y1)), 0.0, jaw.height)


def _mesh(name: str, shape: bytes, bent: Bent | None) -> dict[str, Any]:
    mesh = kernel.mesh(shape, CHORD)
    if bent is None:
        return _numbers(*mesh)
    points, corners, owner = finer(*mesh, longest=SIDE)
    moved = 1e3 * bent.at(name, points)
    return {**_numbers(points, corners, owner), "moved_um": [round(float(v), 2) for v in moved.ravel()]}


def _numbers(points: NDArray[Any], corners: NDArray[Any], owner: NDArray[Any]) -> dict[str, Any]:
    return {
        "points_mm": [round(float(v), 3) for v in points.ravel()],
        "corners": [int(v) for v in corners.ravel()],
        "owner": [int(v) for v in owner],
    }


def moves(folder: Path, _: dict[str, Any]) -> dict[str, Any]:
    """The jaw program as the independent reader carries it out: moves and blanks in the vise frame [mm].

    Raises ``hold-none`` when the plan has no program.
    """
    record = _bench(folder).record
    jaws, program = record.jaws, record.program
    if jaws is None or program is None:
        raise JawrightError("hold-none", what="this plan has no jaw program")
    steps = trace(program.text, origin=program.origin, turned=program.turned, jaws=jaws, shop=record.shop)
    return {
        "blanks": [[j.x0, j.y0, j.x1, j.y1, j.height] for j in (jaws.fixed, jaws.floating)],
        "spacers": [[a, -jaws.gap, b, 0.0, jaws.stack.high] for a, b in jaws.stack.x_runs],
        "floor": jaws.floor,
        "lines": program.text.splitlines(),
        "steps": [
            {
                "line": s.line,
                "rapid": s.rapid,
                "cutter": s.cutter,
                "diameter": s.diameter,
                "seconds": round(s.seconds, 3),
                "at": [round(v, 3) for p in s.points for v in p],
            }
            for s in steps
        ],
    }
