"""Pairs for the register: from a plan's record in one step, or by hand from an outline.

Lengths in mm, angles in rad.
"""

from __future__ import annotations

import hashlib
from dataclasses import replace

from jawright.errors import JawrightError
from jawright.geometry.profile import Region
from jawright.hold.outline import Outline, cut_at_levels
from jawright.hold.walls import choose_grips, choose_locators, choose_stop
from jawright.jaws.model import Jaw, Jaws, SpacerStack, Zone
from jawright.rack.model import Cut, Pair, Side
from jawright.record import Record
from jawright.shop.model import Blank


def from_record(record: Record, *, pair_id: str = "", place: str = "", side: Side = "front") -> Pair:
    """The pair a plan has designed. Raises ``rack-state`` when the plan has no soft jaws."""
    cut = cut_of(record, side)
    assert record.hold is not None and record.jaws is not None
    blank = record.jaws.fixed.blank
    return Pair(
        id=pair_id, blank=blank, height=record.jaws.top, vise=record.hold.vise.id, cuts=(cut,), place=place
    )


def cut_of(record: Record, side: Side) -> Cut:
    """What a plan cuts, as it is kept for one side of a pair.

    Raises ``rack-state`` when the plan has no soft jaws.
    """
    if record.jaws is None or record.hold is None:
        raise JawrightError(
            "rack-state",
            what=f"the plan has no soft jaws to keep: {record.decision.kind}",
            where=record.job.source,
            todo="only a plan with soft jaws can go on the rack",
        )
    program = record.program.text if record.program is not None else ""
    return Cut(
        side=side,
        part_number=record.job.part_number or record.job.name,
        revision=record.job.revision,
        operation=record.job.operation,
        made=record.made,
        jaws=_plain(record.jaws),
        outline=Region(record.hold.outline.outer),
        grip_depth=record.hold.grip_depth,
        torque=record.torque[1] if record.torque else None,
        program=hashlib.sha256(program.encode()).hexdigest() if program else "",
    )


def _plain(jaws: Jaws) -> Jaws:
    """The jaws without what is of no use once they are cut."""
    return replace(jaws, notes=())


def by_hand(
    outline: Region,
    *,
    blank: Blank,
    vise: str,
    gap: float,
    depth: float,
    made: str,
    part_number: str = "",
    revision: str = "",
    operation: str = "",
    side: Side = "front",
    height: float | None = None,
    pair_id: str = "",
    place: str = "",
    cutter_radius: float = 0.0,
) -> Pair:
    """A pair whose pocket was drawn or measured: ``outline`` in the vise frame at its ``gap``.

    Walls square enough to the closing direction are taken as bearing, the longest steep wall as
    the stop; the spacer stack is unknown. Raises ``value-bad`` when the numbers do not fit each other.
    """
    top = blank.height if height is None else height
    _check(outline, blank, gap=gap, depth=depth, top=top)
    half = blank.length / 2
    bolts = ((-blank.bolt_spacing / 2, blank.bolt_height), (blank.bolt_spacing / 2, blank.bolt_height))
    flipped = side == "back"
    jaws = Jaws(
        fixed=Jaw("fixed", blank, -half, half, 0.0, blank.thickness, top, bolts, flipped),
        floating=Jaw("floating", blank, -half, half, -gap - blank.thickness, -gap, top, bolts, flipped),
        gap=gap,
        pocket=outline,
        floor=top - depth,
        top=top,
        cutter="unknown",
        cutter_radius=cutter_radius,
        zones=_zones(outline, gap),
        reliefs=(),
        wells=(),
        tooling_hole=None,
        stack=SpacerStack((), (), gap, 0.0, 0.0, (), 0.0, 0.0, "unknown: entered by hand"),
        edge_break=0.0,
        text=("", ""),
        text_at=((0.0, 0.0), (0.0, 0.0)),
        text_height=0.0,
        metal_behind=min(
            blank.thickness - outline.outer.box[3], outline.outer.box[1] + gap + blank.thickness
        ),
        metal_behind_where="behind the pocket",
        notes=("entered by hand: wells, reliefs and spacers are not known",),
    )
    cut = Cut(side, part_number, revision, operation, made, jaws, None, depth, None, "")
    return Pair(id=pair_id, blank=blank, height=top, vise=vise, cuts=(cut,), place=place)


def _check(outline: Region, blank: Blank, *, gap: float, depth: float, top: float) -> None:
    x0, y0, x1, y1 = outline.outer.box
    wrong = ""
    if not 0 < depth < top <= blank.height + 1e-9:
        wrong = f"a pocket {depth:g} mm deep in a jaw {top:g} mm high of a blank of {blank.height:g} mm"
    elif gap <= 0:
        wrong = f"a gap of {gap:g} mm"
    elif not (y1 > 0 and y0 < -gap):
        wrong = (
            f"the outline spans Y {y0:.2f} to {y1:.2f} mm, so with a gap of {gap:g} mm it is not cut into "
            "both jaws: Y 0 is the fixed jaw's face, the floating jaw's lies at minus the gap"
        )
    elif y1 > blank.thickness or -y0 - gap > blank.thickness or max(-x0, x1) > blank.length / 2:
        wrong = f"the outline reaches beyond the blank {blank.id}"
    if wrong:
        raise JawrightError(
            "value-bad", what=wrong, where="pocket", todo="draw it as it lies in the vise, X 0 in the middle"
        )


def _zones(outline: Region, gap: float) -> tuple[Zone, ...]:
    n = len(outline.outer.curves)
    o = Outline(outline.outer, (-1,) * n, ("",) * n)
    locators = choose_locators(o, ())
    stop = choose_stop(o, ())
    walls = [*locators, *([stop] if stop else []), *choose_grips(o, locators, stop)]
    return tuple(
        Zone(w.purpose, w.side, (piece,), 0.0, "", -1, "from the drawing")
        for w in walls
        for piece in cut_at_levels(w.curve, (0.0, -gap))
        if _own(piece.at(0.5)[1], w.side, gap) and piece.length > 1e-3
    )


def _own(y: float, side: str, gap: float) -> bool:
    """Whether a run at this Y is in the jaw it belongs to, and not in the gap."""
    return y > 0 if side == "fixed" else y < -gap
