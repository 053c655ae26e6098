"""The part as it comes in, as far as files show it: its broken lower edge, and the metal on its top.

Lengths in mm, angles in rad.
"""

from __future__ import annotations

from dataclasses import replace
from functools import lru_cache
from pathlib import Path

from jawright import kernel
from jawright.errors import JawrightError
from jawright.geometry.frame import Vec3, standing
from jawright.job.model import Given, Job
from jawright.part.breaks import seat_edges
from jawright.part.model import Part
from jawright.part.read import read_part

BY_JOB = "job"
BY_MODEL = "the model of the incoming part"
TOO_LITTLE = 0.05  # [mm] a stock lower than the part by more than this is another part


def stock_model(job: Job) -> Part | None:
    """The part as it comes from the first side, when the job names its file. Raises as ``read_part``."""
    path = job.incoming.model
    if path is None:
        return None
    try:
        stat = path.stat()
    except OSError:
        stat = None
    return _read(path, job.part_unit, job.thickness, (stat.st_mtime_ns, stat.st_size) if stat else None)


@lru_cache(maxsize=4)
def _read(path: Path, unit: str, thickness: float | None, _state: tuple[int, int] | None) -> Part:
    """The model, read once as long as its file stays the same."""
    drawing = path.suffix.lower() == ".dxf"
    return read_part(path, unit=unit if drawing else "", thickness=thickness if drawing else None)


def informed(job: Job, part: Part, up: Vec3) -> Job:
    """The job with what the models show where it says nothing: lower edge and metal on top.

    A value that the job states stays.
    """
    i = job.incoming
    stated = i.edge_break.basis.startswith(BY_JOB)
    edge = i.edge_break if stated else _lower_edge(part, up, i.edge_break)
    known = i.stock_on_top.basis.startswith((BY_JOB, BY_MODEL))
    stock = i.stock_on_top if known else _on_top(job, part, up)
    if (edge, stock) == (i.edge_break, i.stock_on_top):
        return job
    return replace(job, incoming=replace(i, edge_break=edge, stock_on_top=stock))


def _lower_edge(part: Part, up: Vec3, default: Given) -> Given:
    """The smallest break round the seating edge; the habit of the shop where the model shows a sharp one.

    Models seldom show the small break that every edge gets: a sharp edge in the model says nothing.
    """
    edges = [e for e in seat_edges(part, up) if e.kind != "undercut"]
    shown = [e for e in edges if e.kind != "sharp"]
    if not shown:
        return default
    least = min(shown, key=lambda e: e.size)
    told = Given(least.size, f"the part file: {least.kind} at the lower edge, the smallest round it")
    if len(shown) == len(edges):
        return told
    return min((told, default), key=lambda g: g.value)


def _on_top(job: Job, part: Part, up: Vec3) -> Given:
    """How much higher the incoming model is than the finished part."""
    stock = stock_model(job)
    if stock is None:
        return job.incoming.stock_on_top
    move = standing(up, turn=0.0, shift=(0.0, 0.0, 0.0))
    over = kernel.box(stock.shape, move)[5] - kernel.box(part.shape, move)[5]
    if over < -TOO_LITTLE:
        raise JawrightError(
            "value-bad",
            what=f"the part as it comes in ({stock.file}) is {-over:.3f} mm lower than the finished one",
            where="[incoming] model",
            todo="export both models in the same frame, the first side's as it leaves the vise",
        )
    return Given(max(over, 0.0), f"{BY_MODEL}, {stock.file}")
