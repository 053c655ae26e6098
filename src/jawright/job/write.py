"""A job as the text of a job file, which ``read_job`` reads back to the same job.

Numbers are in millimeters and degrees, whatever the papers are written in.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Any

from jawright.files.toml_out import dump
from jawright.job.model import DatumPick, Feature, Given, Incoming, Job, ToleranceAsk
from jawright.job.schema import HOLES

Data = dict[str, Any]
VARIES = ("normal", "uniform")


def job_text(job: Job, *, part: str, model: str = "") -> str:
    """The job file of a job whose features are all named.

    Parameters
    ----------
    part, model : names of the part's file and of the incoming part's, beside the job file; ``model`` "": none

    Values that stand there by default are left out, and so are those of a first choice that is the
    reader's. A measured distribution is written by the one number that stands for it.
    """
    head: Data = {
        "name": job.name,
        "part_number": job.part_number,
        "revision": job.revision,
        "operation": job.operation,
        "quantity": job.quantity,
        "units": job.units,
        "notes": list(job.notes),
        "projection": job.projection,
    }
    data: Data = {
        "units": "mm",
        "job": _without_empty(head),
        "part": {"file": part, "material": job.material},
        "hold": _hold(job),
        "datum": [_datum(d) for d in job.datums],
        "feature": [_feature(f) for f in job.features],
        "tolerance": [_tolerance(t) for t in job.tolerances],
        "incoming": _incoming(job.incoming, model),
    }
    return dump(_without_empty(data))


def _without_empty(data: Data) -> Data:
    return {k: v for k, v in data.items() if v not in ("", None, [], {})}


def _hold(job: Job) -> Data:
    h = job.hold
    return _without_empty(
        {
            "up": None if job.up is None else list(job.up),
            "vise": h.vise,
            "kind": h.kind,
            "turn": None if h.turn is None else f"{math.degrees(h.turn):.9g} deg",
            "shift": h.shift,
            "blank": h.blank,
            "grip_depth": h.grip_depth,
            "torque": None if h.torque is None else f"{h.torque!r} N·m",
            "stop": h.stop,
            "fixed_jaw_datum": h.fixed_jaw_datum,
            "jaw_cutter": h.jaw_cutter,
            "jaw_material": h.jaw_material,
            "wrong_way": h.wrong_way,
            "floor": h.floor,
            "marks_allowed": None if job.marks_allowed else False,
        }
    )


def _datum(d: DatumPick) -> Data:
    across = None if d.opposite is None else list(d.opposite.at)
    return _without_empty({"letter": d.letter, "at": list(d.pick.at), "size": d.size, "opposite": across})


def _feature(f: Feature) -> Data:
    hole = f.kind in HOLES
    return _without_empty(
        {
            "name": f.name,
            "kind": f.kind,
            "at": None if f.pick is None else list(f.pick.at),
            "diameter": f.diameter if hole else None,
            "depth": f.depth,
            "through": f.through,
            "cutter": f.cutter,
            "pilot": f.pilot if hole else None,
            "feed_per_tooth": f.feed_per_tooth,
            "radial": f.radial,
            "axial": f.axial,
            "decimals": f.decimals,
        }
    )


def _tolerance(t: ToleranceAsk) -> Data:
    profile = t.kind.startswith("profile")
    data = _without_empty(
        {
            "feature": t.feature,
            "kind": t.kind,
            "zone": t.zone,
            "datums": [f"{d}(M)" if d in t.boundary else d for d in t.datums],
            "along": t.along,
            "composite": t.composite or None,
            "material": t.material,
            "projected": t.projected or None,
            "projected_from": t.from_end if t.projected and t.from_end != "either" else "",
            "outside": t.middle + 0.5 * t.zone if profile and t.middle else None,
        }
    )
    return {**data, "diametral": t.diametral}


def writable(t: ToleranceAsk) -> bool:
    """Whether a job file can say this tolerance: limits that are unequal it cannot, but of a profile."""
    return not t.unread and (t.middle == 0.0 or t.kind.startswith("profile"))


def _incoming(i: Incoming, model: str) -> Data:
    names: Sequence[tuple[str, Given]] = (
        ("profile", i.profile),
        ("wall_form", i.wall_form),
        ("squareness", i.squareness),
        ("thickness", i.thickness),
        ("edge_break", i.edge_break),
        ("edge_break_most", i.edge_break_most),
        ("stock_on_top", i.stock_on_top),
    )
    data: Data = {name: _given(g) for name, g in names if _stated(g)}
    return {**data, "model": model} if model else data


def _stated(g: Given) -> bool:
    """Whether the job says it itself, and not by the depth of its facing cut."""
    return g.basis.startswith("job") and "depth of feature" not in g.basis


def _given(g: Given) -> Any:
    return {"value": g.value, "distribution": g.shape} if g.shape in VARIES else g.value
