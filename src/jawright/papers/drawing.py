"""All drawings of a record, by name."""

from __future__ import annotations

from jawright.papers.front_view import front_view
from jawright.papers.plan_view import plan_view
from jawright.record import Record


def drawings(record: Record) -> dict[str, str]:
    """SVG texts by name, in the order in which they are shown; empty when nothing is held."""
    if record.hold is None:
        return {}
    return {"plan": plan_view(record), "front": front_view(record)}
