"""What the page shows of a part: faces and holes in words, the file's own print, and a mesh to pick from."""

from __future__ import annotations

import math
from collections.abc import Callable
from pathlib import Path
from typing import Any

from numpy.typing import NDArray

from jawright import kernel
from jawright.doors.web.edit import draft_job
from jawright.doors.web.inputs import part_key
from jawright.doors.web.store import keep, put
from jawright.job.model import Job
from jawright.papers.part_view import part_view
from jawright.part.model import Face, Part
from jawright.part.pick import direction, hole_words, words
from jawright.part.read import read_part

CHORD = 1 / 400
"""Deviation of the mesh as a share of the part's size: not seen on a screen."""


def look(folder: Path, read: Callable[[Job, Part], None] | None = None) -> dict[str, Any]:
    """Read the part a job names and write ``seen.json``; ``read`` is called once the part is there.

    Raises what ``read_part`` raises.
    """
    job = draft_job((folder / "job.toml").read_text("utf-8"), folder)
    part = read_part(job.part_file, unit=job.part_unit, thickness=job.thickness, body=job.body)
    if read is not None:
        read(job, part)
    mesh = kernel.mesh(part.shape, max(0.02, CHORD * math.hypot(*part.size)))
    put(folder / "sight.svg", part_view(*mesh).encode())
    keep(folder, "seen.json", {"key": part_key(folder), **seen(part, mesh)})
    return {"faces": len(part.faces)}


def seen(part: Part, mesh: tuple[NDArray[Any], NDArray[Any], NDArray[Any]]) -> dict[str, Any]:
    """The part as plain data with its mesh (points, corners, faces); lengths in mm."""
    points, corners, owner = mesh
    hole_of = {f: i for i, h in enumerate(part.holes) for f in h.faces}
    return {
        "file": part.file,
        "unit": part.unit,
        "size_mm": list(part.size),
        "box_mm": list(part.box),
        "faces": [_face(f, hole_of.get(f.index)) for f in part.faces],
        "holes": [
            {
                "words": hole_words(h),
                "faces": list(h.faces),
                "at_mm": _middle(h.mouth, h.axis, h.depth),
                "diameter_mm": h.diameter,
                "depth_mm": h.depth,
                "axis": list(h.axis),
                "through": h.through,
            }
            for h in part.holes
        ],
        "datums": [{"letter": d.letter, "faces": list(d.faces)} for d in part.datums],
        "tolerances": [
            {
                "kind": t.kind,
                "zone_mm": t.zone,
                "diametral": t.diametral,
                "datums": list(t.datums),
                "faces": list(t.faces),
            }
            for t in part.tolerances
        ],
        "tolerances_in_file": part.tolerances_in_file,
        "findings": [f.what for f in part.findings],
        "mesh": {
            "points_mm": [round(float(v), 4) for v in points.ravel()],
            "corners": [int(v) for v in corners.ravel()],
            "owner": [int(v) for v in owner],
        },
    }


def _face(face: Face, hole: int | None) -> dict[str, Any]:
    return {
        "index": face.index,
        "kind": face.kind,
        "words": words(face),
        "faces": direction(face.normal),
        "center_mm": [round(v, 4) for v in face.center],
        "box_mm": list(face.box),
        "normal": [round(v, 9) for v in face.normal],
        "hole": hole,
    }


def _middle(mouth: tuple[float, ...], axis: tuple[float, ...], depth: float) -> list[float]:
    return [round(m - 0.5 * depth * a, 4) for m, a in zip(mouth, axis, strict=True)]
