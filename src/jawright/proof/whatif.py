"""What other spacers, another torque at the cutting, or lower jaws would leave of the taper."""

from __future__ import annotations

from dataclasses import replace

from jawright.beside import one_thread
from jawright.hold.model import Hold
from jawright.jaws.model import Jaw, Jaws, SpacerStack
from jawright.job.model import Job
from jawright.mechanics import beam
from jawright.part.model import Part
from jawright.proof import advice, elastic
from jawright.proof.elastic_body import COARSE
from jawright.proof.taper import walls

Detail = list[tuple[str, float, str]]
LOWER = 5.0
"""How much lower the jaws are made to see what that buys [mm]."""
LEAST_UNDER = 6.0
"""Metal that must stay under the pocket of a lower jaw [mm] (common practice: a quarter inch)."""


def spacers(hold: Hold, jaws: Jaws, job: Job, force: float, part: Part) -> Detail:
    """Taper [mm] with other spacers or another torque at the cutting, set values; none that do not fit."""
    h = jaws.stack.height
    tries = [
        ("taper if the spacers were 5 mm higher", beam.Cut(force, h + 5.0)),
        ("taper if the spacers were 5 mm lower", beam.Cut(force, h - 5.0)),
        ("taper if the jaws were cut at half the torque", beam.Cut(force / 2, h)),
        ("taper if the jaws were cut free", beam.Cut(0.0, h)),
    ]
    half = (jaws.stack.high - jaws.stack.low) / 2
    room = (half - 1e-9, advice.highest(jaws) - half + 1e-9)
    out = []
    for name, cut in tries:
        if cut.height != h and not room[0] <= cut.height <= room[1]:
            continue
        got = walls(hold, jaws, job, force=force, cut=cut, part=part)
        assert got is not None
        out.append((name, got.taper, "mm"))
    return out


def stacks(hold: Hold, jaws: Jaws, job: Job, force: float, part: Part) -> Detail:
    """Taper [mm] with spacers on the bed, and with one bar right across under the pocket."""
    m = elastic.model(hold, jaws, part, job.material)
    if m is None:
        return []
    mounts = elastic.ends(hold.vise, "set")
    tries = [("taper if the spacers stood on the bed", _moved(jaws.stack, -jaws.stack.low))]
    whole = ((max(jaws.fixed.x0, jaws.floating.x0), min(jaws.fixed.x1, jaws.floating.x1)),)
    top = min(jaws.stack.high, advice.under(jaws))
    if top - (jaws.stack.high - jaws.stack.low) >= 0:
        bar = replace(_moved(jaws.stack, top - jaws.stack.high), x_runs=whole)
        tries.append(("taper with one bar across under the pocket", bar))
    out = []
    with one_thread():
        for name, stack in tries:
            got = advice.leaves(m, mounts, stack, cut_force=force, force=force)
            if got is not None and stack != jaws.stack:
                out.append((name, got.taper, "mm"))
    return out


def _moved(stack: SpacerStack, up: float) -> SpacerStack:
    return replace(stack, low=stack.low + up, high=stack.high + up, height=stack.height + up)


def lower_jaws(hold: Hold, jaws: Jaws, job: Job, force: float, part: Part) -> float | None:
    """Change of the taper [mm] by jaws ``LOWER`` mm less high, pocket and spacers lowered with them.

    None where the vise backs the jaws to their top already, or too little metal would stay under the pocket.
    By both heights on the coarser mesh.
    """
    above = jaws.top - hold.vise.body_height
    deepest = min([jaws.floor, *(w.bottom for w in jaws.wells)])
    if above < LOWER or deepest - LOWER < LEAST_UNDER:
        return None
    stack = jaws.stack if jaws.stack.low < LOWER else _moved(jaws.stack, -LOWER)
    other = replace(
        jaws,
        fixed=_cut_down(jaws.fixed),
        floating=_cut_down(jaws.floating),
        floor=jaws.floor - LOWER,
        top=jaws.top - LOWER,
        wells=tuple(replace(w, bottom=w.bottom - LOWER, top=w.top - LOWER) for w in jaws.wells),
        tooling_hole=None,
        stack=stack,
    )
    down = replace(
        hold,
        floor=hold.floor - LOWER,
        jaw_top=hold.jaw_top - LOWER,
        part_top=hold.part_top - LOWER,
        contacts=tuple(replace(c, point=(*c.point[:2], c.point[2] - LOWER)) for c in hold.contacts),
        stance=replace(hold.stance, move=replace(
            hold.stance.move, shift=(*hold.stance.move.shift[:2], hold.stance.move.shift[2] - LOWER)
        )),
    )  # fmt: skip
    mounts = elastic.ends(hold.vise, "set")
    tapers = []
    with one_thread():
        for h, j in ((hold, jaws), (down, other)):
            m = elastic.model(h, j, part, job.material, COARSE)
            got = None if m is None else advice.leaves(m, mounts, j.stack, cut_force=force, force=force)
            if got is None:
                return None
            tapers.append(got.taper)
    return abs(tapers[1]) - abs(tapers[0])


def _cut_down(jaw: Jaw) -> Jaw:
    height = jaw.height - LOWER
    return replace(jaw, height=height, blank=replace(jaw.blank, height=height))
