"""The jaws of a record as STEP solids and as DXF outlines."""

from __future__ import annotations

from jawright import kernel
from jawright.files.dxf_out import dxf_text
from jawright.geometry.profile import Profile, circle, rectangle
from jawright.jaws.model import Jaw, Jaws
from jawright.jaws.solid import build
from jawright.record import Record


def jaw_files(record: Record) -> dict[str, bytes]:
    """``jaws.step`` and ``jaws.dxf`` of a record with soft jaws, nothing otherwise."""
    if record.jaws is None:
        return {}
    fixed, floating = build(record.jaws)
    step = kernel.step_text(
        {"fixed jaw": fixed, "floating jaw": floating}, title=f"jaws {record.job.part_number}"
    )
    return {"jaws.step": step, "jaws.dxf": dxf_text(_layers(record), inch=record.job.units == "inch")}


def _layers(record: Record) -> dict[str, list[Profile]]:
    jaws = record.jaws
    assert jaws is not None
    layers: dict[str, list[Profile]] = {
        "FIXED_JAW": [_plan(jaws.fixed)],
        "FLOATING_JAW": [_plan(jaws.floating)],
        "POCKET": [jaws.pocket.outer, *jaws.pocket.holes],
        "WELLS": [w.region.outer for w in jaws.wells],
        "TOOLING_HOLE": _hole(jaws),
    }
    if record.hold is not None:
        layers["PART"] = [record.hold.outline.outer, *(r.outer for r in record.hold.beside)]
    return {name: profiles for name, profiles in layers.items() if profiles}


def _plan(jaw: Jaw) -> Profile:
    return rectangle(jaw.x0, jaw.y0, jaw.x1, jaw.y1)


def _hole(jaws: Jaws) -> list[Profile]:
    hole = jaws.tooling_hole
    return [circle(hole.center, hole.diameter / 2)] if hole is not None else []
