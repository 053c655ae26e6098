"""Something is wrong at the machine: eight pictures, two readings each, one answer from the record's numbers.

Each answer names what it rests on, and says so when two readings cannot tell. The rules are common
practice of the trade, no source, unless a line says otherwise; the numbers are the record's own.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass
from typing import Literal

from jawright import handbook
from jawright.papers.figures import of_proof
from jawright.papers.measure import Reader
from jawright.proof.model import Proof
from jawright.record import Record

SAME = 0.3
"""Two readings count as alike when they differ by less than this share of the larger."""
FELT = 0.005
"""A gap or step below this is not found with a feeler [mm]."""
OTHER_MM, OTHER_SHARE = 1.5, 0.05
"""A width beyond the window by more than both [mm, share of the window's end] was read across something
else: no first side is that far off."""
WARM_MIN = 60.0
"""The first minutes after a cold start are no data [min]."""


@dataclass(frozen=True, slots=True)
class Answer:
    """What it is, what to do now, what not to do, and the numbers it was judged by."""

    cause: str
    do: str
    leave: str
    by: tuple[str, ...]


def answer(record: Record, key: str, readings: tuple[float, float], units: Literal["mm", "inch"]) -> Answer:
    """What two readings say.

    Parameters
    ----------
    record : of the plan that is being run.
    key : of a symptom.
    readings : in mm, N·m or s, as the symptom's kinds say.
    units : what the reader reads.

    Raises ``KeyError`` for an unknown key.
    """
    return _ANSWERS[key](record, readings[0], readings[1], Reader(units))


def _proof(record: Record, name: str) -> Proof | None:
    return next((p for p in record.proofs if p.name == name or p.name.startswith(name)), None)


def _tells(p: Proof | None, r: Reader) -> tuple[str, ...]:
    """A proof as a line to judge by."""
    if p is None or p.value is None:
        return ()
    limit = f", limit {of_proof(p, p.limit, r)}" if p.limit is not None else ""
    return (f"{p.name} in the plan: {of_proof(p, p.value, r)}{limit}",)


def _rocks(record: Record, first: float, second: float, r: Reader) -> Answer:
    by = _tells(_proof(record, "chip under"), r) + _tells(_proof(record, "corners free"), r)
    if first < FELT:
        return Answer(
            "Nothing is felt: it does not rock by these readings.",
            "Load it again with paper under each corner; none may pull.",
            "Do not move an offset.",
            by,
        )
    if second < first / 2:
        return Answer(
            "A chip or a burr was under it.",
            "Wipe floor and walls for every part, break the lower edges, and look where the chip came from.",
            "Do not move an offset: the setting did not change.",
            by,
        )
    root, edge = _corner_lift(record)
    if root is not None and root > FELT and abs(second - root) < SAME * max(second, root):
        return Answer(
            "The lower edge stands on the fillet that the cutter left between wall and floor.",
            f"Break the lower edge more than {r.size(edge)}, or undercut the root with a sharp cutter.",
            "Do not tap harder.",
            (f"fillet less edge break lifts {r.place(root)}", *by),
        )
    return Answer(
        "It stands on something other than the floor, and two readings do not say on what.",
        "Mark the floor and walls with blue, load, tap and look: a shiny dot at a corner wants a relief, "
        "a line along a wall wants that wall cut again.",
        "Do not cut this part.",
        by,
    )


def _corner_lift(record: Record) -> tuple[float | None, float]:
    """Lift from the floor corner: the cutter's corner radius less the part's edge break, not below 0."""
    edge = record.job.incoming.edge_break.value
    cutter = next((c for c in record.shop.cutters if record.jaws and c.id == record.jaws.cutter), None)
    return (None if cutter is None else max(0.0, cutter.corner_radius - edge)), edge


def _lifts(record: Record, fixed: float, floating: float, r: Reader) -> Answer:
    assert record.hold is not None
    lift = record.hold.vise.lift
    by: tuple[str, ...] = (
        f"the floating jaw is taken to rise {r.place(lift.low)} to {r.place(lift.high)} ({lift.basis})",
    )
    box = record.hold.outline.outer.box
    width = box[3] - box[1]
    tilt = math.degrees(math.atan2(floating - fixed, width)) if width > 0 else 0.0
    by = (*by, f"the part tilts by {tilt:.3f}° over its {r.size(width)}")
    if fixed > max(FELT * 2, lift.set):
        return Answer(
            "The fixed side rises too: its jaw hangs on its bolts instead of standing on the bed.",
            "Loosen the bolts of that jaw, push it down on the bed, tighten, and read again.",
            "Do not cut until the fixed side stays within a hundredth."
            if r.units == "mm"
            else "Do not cut until the fixed side stays within half a thou.",
            by,
        )
    if floating > lift.high:
        return Answer(
            "The floating jaw rises more than this vise is said to.",
            "See that its jaw stands on the ways and its bolts are tight; then adjust or repair the vise, or "
            "enter its real rise on the vise's page and plan again.",
            "Do not make up for it with the Z offset: it differs from part to part.",
            by,
        )
    return Answer(
        "This is the usual rise of the floating jaw.",
        "Snug, tap the part down, then tighten; read once more.",
        "Leave the offset alone if the second reading is within the rise above.",
        by,
    )


def _chip(record: Record, first: float, second: float, r: Reader) -> Answer:
    by = _tells(_proof(record, "chip under"), r)
    if abs(first) < FELT:
        return Answer(
            "It is no higher than its neighbors.", "Go on, and measure the next one.",
            "Do not move an offset.", by,
        )  # fmt: skip
    if abs(second) < abs(first) / 3:
        return Answer(
            "It was a chip.",
            "Wipe every part's place; give closed corners and blind pockets a way out for chips and coolant.",
            "Leave the offset alone: one part was high, not the setting.",
            by,
        )
    return Answer(
        "It stays high: it is the part, or something that sticks to the floor.",
        "Look for a burr on the lower edges and a dent in the floor; measure the part's height by itself.",
        "Do not move an offset for one part.",
        by,
    )


def _marks(record: Record, torque: float, depth: float, r: Reader) -> Answer:
    by = _tells(_proof(record, "bruise"), r)
    if record.torque is None:
        return Answer(
            "The plan has no torque window, so the torque cannot be judged.",
            "Break all jaw edges, deburr the pocket, and lower the torque only after a new plan.",
            "Do not lower it by feel.",
            by,
        )
    low, sett, high = record.torque
    by = (f"torque window: least {r.torque(low)}, set {r.torque(sett)}, most {r.torque(high)}", *by)
    if torque > high:
        return Answer(
            "The vise was tightened beyond what part and jaws bear.",
            f"Set {r.torque(sett)}. Look at the other parts of this lot.",
            "Never pull the handle with a pipe or a hammer.",
            by,
        )
    if torque < low:
        return Answer(
            "The torque was below what holds, so the part moved: marks of sliding, not of pressure.",
            f"Set {r.torque(sett)} and check the part's place against the stop.",
            "Do not go on with this torque.",
            by,
        )
    return Answer(
        f"The torque was right; a mark of {r.place(depth)} comes from an edge, a burr or a chip.",
        "Break the jaw edges, stone the walls, wipe them, and try with a clean part.",
        f"Do not go below {r.torque(low)}.",
        by,
    )


def _window(record: Record) -> tuple[float, float] | None:
    """Smallest and largest width of incoming parts that the pocket takes [mm]."""
    p = next((p for p in record.proofs if p.model.startswith("acceptance-window")), None)
    found = {name: value for name, value, _ in p.detail} if p else {}
    low, high = found.get("smallest width taken"), found.get("largest width taken")
    if low is None or high is None:
        return None
    least, most = found.get("smallest width accepted"), found.get("largest width accepted")
    if least is not None and most is not None:
        low = max(low, least - (most - least))  # a pocket grips what is far below the print, and holds it off
    return (low, high)


def _misread(window: tuple[float, float], widths: tuple[float, ...], r: Reader) -> Answer | None:
    """Says so when a width cannot be one across the jaws."""
    low, high = window
    for width in widths:
        off = max(width - high, low - width)
        if off > max(OTHER_MM, OTHER_SHARE * (high if width > high else low)):
            return Answer(
                f"{r.place(width)} is not the width across the jaws: it is {r.place(off)} beyond what "
                "fits there.",
                "Measure once more across the two walls that the jaws touch, and type that.",
                "Do not judge the part by this reading.",
                (f"the pocket takes widths {r.span(*window)}",),
            )
    return None


def _tight(record: Record, width: float, other: float, r: Reader) -> Answer:
    window = _window(record)
    if window is None:
        return _no_window()
    misread = _misread(window, (width, other), r)
    if misread is not None:
        return misread
    by = (f"the pocket takes widths {r.span(*window)}",)
    if max(width, other) > window[1]:
        over = r.place(max(width, other) - window[1])
        return Answer(
            f"The part is {over} larger than the pocket takes.",
            "Sort it out, and look at the first side's size; the jaws are not at fault.",
            "Do not press it in.",
            by,
        )
    if abs(width - other) > 0.02:
        return Answer(
            f"The part is tapered by {r.place(abs(width - other))} from end to end.",
            "Square up the first side; check how it was clamped there.",
            "Do not open the pocket for it.",
            by,
        )
    return Answer(
        "The part is inside the window, so the pocket is smaller than drawn: the cutter bent, or was larger.",
        f"Run the finish pass once more as it is; if it still binds, open it by its wear offset, "
        f"{r.place(0.01)} at a time.",
        "Do not file the walls.",
        by,
    )


def _loose(record: Record, width: float, feeler: float, r: Reader) -> Answer:
    window = _window(record)
    if window is None:
        return _no_window()
    misread = _misread(window, (width,), r)
    if misread is not None:
        return misread
    by = (f"the pocket takes widths {r.span(*window)}", *_tells(_proof(record, "flush on"), r))
    if width < window[0]:
        return Answer(
            f"The part is {r.place(window[0] - width)} smaller than the pocket takes.",
            "Sort it out, and look at the first side's size.",
            "Do not shim it.",
            by,
        )
    if feeler > FELT:
        return Answer(
            f"The part is inside the window but stands {r.place(feeler)} off the fixed jaw.",
            "Look for a chip or burr behind it and at the corners; see that the vise was at its torque.",
            "Do not cut while a feeler enters at the fixed jaw.",
            by,
        )
    return Answer(
        "The part is inside the window and touches the fixed jaw: it is where it should be.",
        "A looseness across the jaws before tightening is meant; push it to the stop, then tighten.",
        "Leave the offset alone.",
        by,
    )


def _no_window() -> Answer:
    return Answer(
        "The record does not say which sizes this hold takes.",
        "Measure five parts, enter the incoming profile on the page of questions, and plan again.",
        "Do not cut this part.",
        (),
    )


def _mismatch(record: Record, left: float, right: float, r: Reader) -> Answer:
    assert record.hold is not None
    mean, difference = (left + right) / 2, abs(left - right)
    larger = max(abs(left), abs(right))
    box = record.hold.outline.outer.box
    by = _tells(_proof(record, "wall shift"), r)
    if larger < FELT:
        return Answer("No step worth a move.", "Go on.", "Leave the offset alone.", by)
    if difference < SAME * larger:
        return Answer(
            f"Both ends step alike: the zero is off by {r.place(mean)} square to this wall.",
            f"Check three parts; when they agree, move the offset by {r.place(-mean)} square to this wall.",
            "Do not move it for one part.",
            by,
        )
    angle = math.degrees(math.atan2(left - right, box[2] - box[0]))
    return Answer(
        f"The steps differ from end to end: the part is turned by {angle:.3f}°.",
        "Look for a chip at the fixed jaw, then sweep the fixed jaw along X.",
        "An offset does not cure a turn: leave it alone.",
        (f"over the part's {r.size(box[2] - box[0])}", *by),
    )


def _drifts(record: Record, change: float, seconds: float, r: Reader) -> Answer:
    assert record.hold is not None
    box = record.hold.outline.outer.box
    length = max(box[2] - box[0], box[3] - box[1])
    swing = record.shop.temperature_swing
    grown = handbook.material(record.job.material).cte * swing.high * length
    by = (
        f"{r.size(length)} of {record.job.material} grows {r.place(grown)} with the shop's temperature swing",
    )
    if seconds < 60.0 * WARM_MIN:
        return Answer(
            "Too early to tell: the machine is still warming up.",
            "Let it run, measure on, and judge the parts made after the first hour.",
            "Leave the offset alone until then.",
            by,
        )
    if abs(change) <= grown:
        return Answer(
            "Heat explains it: part, jaws or machine changed temperature.",
            "Let part and gauge come to the same temperature, then measure; keep the coolant running.",
            "Leave the offset alone.",
            by,
        )
    return Answer(
        "More than heat explains: wear of the cutter, or something that moves.",
        "Look at the cutter and the vise's place; move the offset on the mean of three parts.",
        "Do not follow single parts.",
        by,
    )


_ANSWERS: dict[str, Callable[[Record, float, float, Reader], Answer]] = {
    "rocks": _rocks,
    "lifts": _lifts,
    "chip": _chip,
    "marks": _marks,
    "tight": _tight,
    "loose": _loose,
    "mismatch": _mismatch,
    "drifts": _drifts,
}
