"""What a job leaves open: names the shop must know, answers that are missing, values that stand in."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from jawright.errors import JawrightError
from jawright.handbook import nearest
from jawright.job.model import Job


@dataclass(frozen=True, slots=True)
class Gap:
    """An answer the job does not give, and what follows from that."""

    key: str  # as written in a job file: "hold.up"
    follows: str


def check_names(
    job: Job,
    *,
    vises: Sequence[str],
    blanks: Sequence[str],
    cutters: Sequence[str],
    parallels: Sequence[str],
) -> None:
    """Every vise, blank, cutter and parallel the job names must be one of the shop's.

    Raises ``value-bad`` naming the nearest one.
    """
    asked = [("hold.vise", job.hold.vise, vises, "vise"), ("hold.blank", job.hold.blank, blanks, "blank")]
    asked += [("hold.jaw_cutter", job.hold.jaw_cutter, cutters, "cutter")]
    asked += [("hold.spacers", name, parallels, "parallel") for name in job.hold.spacers]
    asked += [(f'feature "{f.name}" cutter', f.cutter, cutters, "cutter") for f in job.features]
    for key, name, known, what in asked:
        if name and name not in known:
            near = nearest(name, list(known))
            hint = f'did you mean "{near}"? ' if near else ""
            raise JawrightError(
                "value-bad",
                what=f'the shop has no {what} called "{name}"',
                where=f"{job.source}: {key}",
                todo=f"{hint}the shop has: {', '.join(known) or 'none'}",
            )


def gaps(job: Job, *, datums_in_file: int = 0, tolerances_in_file: int = 0) -> tuple[Gap, ...]:
    """The questions a plan would like answered and is not, in the order they are asked."""
    found = []
    if job.up is None:
        found.append(Gap("hold.up", "which face is up is searched"))
    if not job.datums and not datums_in_file:
        found.append(
            Gap("datum", "no datums: where the part locates is chosen freely and locates stays unknown")
        )
    if job.features_assumed:
        found.append(Gap("feature", "no feature is named: facing the whole top stands in for the operation"))
    if not job.tolerances and not tolerances_in_file:
        found.append(Gap("tolerance", "no tolerance is named: there is nothing for locates to prove"))
    if not job.hold.vise:
        found.append(Gap("hold.vise", "the vise is chosen among the shop's"))
    return tuple(found)


def stand_ins(job: Job) -> tuple[tuple[str, float, str], ...]:
    """Values of [incoming] the job does not state: key, value [mm], basis."""
    i = job.incoming
    pairs = (
        ("incoming.profile", i.profile),
        ("incoming.wall_form", i.wall_form),
        ("incoming.squareness", i.squareness),
        ("incoming.thickness", i.thickness),
        ("incoming.edge_break", i.edge_break),
        ("incoming.edge_break_most", i.edge_break_most),
        ("incoming.stock_on_top", i.stock_on_top),
    )
    return tuple((key, g.value, g.basis) for key, g in pairs if not g.basis.startswith("job"))
