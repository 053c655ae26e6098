"""All drawings of a record, by name."""

from __future__ import annotations

from jawright.papers.front_view import front_view
from jawright.papers.home_view import home_view
from jawright.papers.jaw_view import jaw_view
from jawright.papers.plan_view import plan_view
from jawright.papers.press_view import press_view
from jawright.papers.rival_view import rival_view
from jawright.papers.scatter_view import scatter_view
from jawright.papers.stack_view import stack_view
from jawright.record import Record


def drawings(record: Record) -> dict[str, str]:
    """SVG texts by name, in the order in which they are shown; empty when nothing is held."""
    if record.hold is None:
        return {}
    out = {
        "plan": plan_view(record),
        "front": front_view(record, high=72.0 if record.job.units == "mm" else 44.0),
    }  # letter paper is shorter
    if record.jaws is not None:
        out["stack"] = stack_view(record)
        out["jaw-fixed"] = jaw_view(record, "fixed")
        out["jaw-floating"] = jaw_view(record, "floating")
    home = home_view(record)
    if home is not None:
        out["home"] = home
    pressure = press_view(record)
    if pressure is not None:
        out["pressure"] = pressure
    scatter = scatter_view(record)
    if scatter is not None:
        out["scatter"] = scatter
    rivals = rival_view(record)
    if rivals is not None:
        out["rivals"] = rivals
    return out
