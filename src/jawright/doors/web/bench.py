"""The worker's side of live answers: the last few plans taken up, and questions about them in numbers."""

from __future__ import annotations

from collections import OrderedDict
from dataclasses import asdict, replace
from pathlib import Path
from typing import Any

from jawright import kernel, record_json
from jawright.doors.web.edit import draft_job
from jawright.errors import JawrightError
from jawright.geometry.profile import Region, rectangle
from jawright.hold.model import Hold
from jawright.jaws.solid import build
from jawright.job.model import Job
from jawright.live import Bench, Left
from jawright.papers.front_view import front_view
from jawright.papers.plan_view import plan_view
from jawright.papers.questions import answers
from jawright.part.read import read_part
from jawright.proof.elastic_join import SIDES
from jawright.proof.elastic_shape import hard_jaw
from jawright.proof.elastic_walls import Side
from jawright.record import Record
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
    """Drawings of the hold as the job text in ``task`` pins it, and, when asked, its quick proofs."""
    bench = _bench(folder)
    job: Job = draft_job(task["job"], folder)
    got = bench.turned(job, proofs=bool(task.get("proofs")))
    record: Record = replace(got.record, job=replace(got.record.job, units=task["units"]))
    hold = record.hold
    assert hold is not None
    return {
        "plan": plan_view(record),
        "front": front_view(record, high=72.0),
        "answers": [asdict(a) for a in answers(record) if a.lines],
        "good": got.good,
        "margin": got.margin,
        "asked": got.asked,
        "loose": got.loose,
        "hold": {
            "kind": hold.kind,
            "turn": hold.stance.turn,
            "shift": hold.stance.shift,
            "grip_depth": hold.grip_depth,
            "spacer_height": record.jaws.stack.height if record.jaws else None,
        },
    }


CHORD = 0.15
"""Deviation of the meshes to look at [mm]."""


def solids(folder: Path, _: dict[str, Any]) -> dict[str, Any]:
    """Jaws and part as meshes in the vise frame [mm], and how the walls stand under the clamp."""
    bench = _bench(folder)
    record = bench.record
    hold, job = record.hold, record.job
    if hold is None:
        raise JawrightError("hold-none", what="this plan holds nothing that could be shown")
    part = read_part(job.part_file, unit=job.part_unit, thickness=job.thickness, body=job.body)
    bodies = {"part": _mesh(kernel.moved(part.shape, hold.stance.move))}
    pair = build(record.jaws) if record.jaws is not None else tuple(_hard(hold, s) for s in SIDES)
    bodies |= dict(zip(SIDES, map(_mesh, pair), strict=True))
    try:
        leaning = [asdict(x) for x in bench.leaning()]
    except JawrightError:  # no walls whose give could be worked out: drawn as they are
        leaning = None
    return {"bodies": bodies, "leaning": leaning}


def _hard(hold: Hold, side: Side) -> bytes:
    """A hard jaw as a block, without its screws."""
    jaw = hard_jaw(hold, side)
    return kernel.extrude(Region(rectangle(jaw.x0, jaw.y0, jaw.x1, jaw.y1)), 0.0, jaw.height)


def _mesh(shape: bytes) -> dict[str, Any]:
    points, corners, owner = kernel.mesh(shape, CHORD)
    return {
        "points_mm": [round(float(v), 3) for v in points.ravel()],
        "corners": [int(v) for v in corners.ravel()],
        "owner": [int(v) for v in owner],
    }


def moves(folder: Path, _: dict[str, Any]) -> dict[str, Any]:
    """The jaw program as the independent reader carries it out: moves and blanks in the vise frame [mm]."""
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
