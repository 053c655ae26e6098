"""The re-use sheet: how a pair from the rack is put back, and what the indicator should read.

Lengths in mm, angles in rad.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Literal

from jawright.hold.model import Contact
from jawright.jaws.model import Jaws
from jawright.papers import facts
from jawright.papers.drawing import drawings
from jawright.papers.html import page
from jawright.papers.measure import Reader
from jawright.papers.questions import is_ready
from jawright.papers.sheet import foot, typeset
from jawright.papers.show import (
    Banner,
    Block,
    Fact,
    Facts,
    Grid,
    Lines,
    Masthead,
    Pair,
    Picture,
    Steps,
    Tiles,
)  # fmt: skip
from jawright.papers.steps import cautions, put_back
from jawright.record import Record, Reuse

WEAR = 0.025
"""Change of the distance from tooling hole to locating wall at which a pocket is skimmed or cut anew [mm]
(0.001 in; common practice, no source)."""

MANY = 3.0
"""Standard deviations within which a pair that sits as it should is found."""


@dataclass(frozen=True, slots=True)
class Expected:
    """Where a pair is expected when it is put back [mm]: one sigma, and what is still as it should be."""

    sigma: float
    most: float
    basis: str


def expected(record: Record) -> Expected:
    """From the pair's own history, else the shop's figure; at most three of its high standard deviations."""
    band = record.shop.jaw_reseat
    return Expected(band.set, MANY * band.high, band.basis)


def blocks(record: Record) -> tuple[Block, ...]:
    """The sheet, one page and a half; nothing for a plan that uses no pair of the rack."""
    reuse, jaws, hold = record.reuse, record.jaws, record.hold
    if reuse is None or jaws is None or hold is None:
        return ()
    svgs = drawings(record)
    r = Reader(record.job.units)
    words = "cut for this part" if reuse.same_part else f"cut for {reuse.cut_for}"
    out: list[Block] = [
        Masthead(
            reuse.pair, f"put back for {record.job.part_number or record.job.name}", _strip(reuse, record)
        ),
        Banner(
            "caution" if reuse.status != "usable" else "",
            f"Pair {reuse.pair}, {reuse.side} side, {words}",
            tuple(_state(reuse)),
        ),
        Tiles(
            (
                facts.torque_fact(record, r),
                facts.stop_fact(record),
                facts.offset_fact(record),
                _spread(record, r),
            )
        ),
        Steps("Putting the pair back", put_back(record)),
        checks(record),
        Lines("If it reads otherwise", _otherwise(record, r)),
    ]
    words = "The part in the jaws from above, as the operator sees it."
    seen = (Picture("plan", svgs["plan"], words),) if "plan" in svgs else ()
    beside = (Facts("The pair", _pair_facts(reuse, jaws, r)), Facts("Zero", facts.zero_facts(record)))
    out.append(Pair(seen, beside, 0.58))
    out += [Lines("Cautions", cautions(record)[0], "caution")]
    return tuple(out)


def _strip(reuse: Reuse, record: Record) -> tuple[Fact, ...]:
    return (
        Fact("Place", reuse.place or "unknown"),
        Fact("Vise", record.hold.vise.id if record.hold else "unknown"),
        Fact("Cut", reuse.made or "unknown"),
        Fact("Parts run", f"{reuse.parts_run}"),
        Fact("Put back before", f"{reuse.seatings} times measured"),
        Fact("Printed", record.made),
    )


def _state(reuse: Reuse) -> list[str]:
    if reuse.status == "usable":
        return ["Same jaw on the same side of the same vise, FIXED and FLOATING facing as they were cut."]
    return [f"Its status is {reuse.status}: {reuse.why or 'no reason given'}. Judge it before it is used."]


def _spread(record: Record, r: Reader) -> Fact:
    e = expected(record)
    return Fact("Comes back within", f"±{r.place(e.most)}", note=f"one sigma {r.place(e.sigma)}; {e.basis}")


def _pair_facts(reuse: Reuse, jaws: Jaws, r: Reader) -> tuple[Fact, ...]:
    opened = jaws.gap - reuse.cut_gap
    moved = "as cut" if abs(opened) < 0.05 else f"cut at {r.size(reuse.cut_gap)}: opened by {r.size(opened)}"
    torque = r.torque(reuse.cut_torque) if reuse.cut_torque is not None else "unknown"
    return (
        Fact("Gap with a part clamped", r.size(jaws.gap), note=moved),
        Fact("Cut at torque", torque),
        Fact("Jaws' top above the bed", r.size(jaws.top)),
        Fact("Pocket", f"{r.size(jaws.top - jaws.floor)} deep"),
    )


def checks(record: Record) -> Grid:
    """What to indicate, what it should read, and a place for what it reads."""
    assert record.jaws is not None and record.hold is not None
    jaws, r, e = record.jaws, Reader(record.job.units), expected(record)
    rows: list[tuple[str, str, str, str]] = []
    hole = jaws.tooling_hole
    if hole is not None:
        near = f"0 ± {r.place(e.most)}"
        rows += [
            (
                f"Tooling hole Ø{r.place(hole.diameter)}, X",
                "indicator in the spindle, at the kept work offset",
                near,
                "",
            ),
            ("Tooling hole, Y", "the same", near, ""),
            ("Top of the fixed jaw beside it, Z", "indicator or touch probe", f"0 ± {r.place(e.most)}", ""),
        ]
    wall = _wall(record)
    if wall is not None:
        a, b = wall
        length = abs(a.point[0] - b.point[0])
        tilt = math.sqrt(2.0) * e.most / jaws.fixed.blank.bolt_spacing * length
        rows.append(
            (
                f"Locating wall, along X over {r.size(length)}",
                "sweep it, part out",
                f"within {r.place(tilt)}",
                "",
            )
        )
        if hole is not None:
            away = r.place(abs(hole.center[1] - a.point[1]))
            rows.append(
                ("Tooling hole to locating wall, Y", "from the two readings", f"{away} ± {r.place(WEAR)}", "")
            )
    rows.append(
        ("Floor of the pocket above the bed", "height gauge or Z of the machine", r.place(jaws.floor), "")
    )
    rows.append(("Feeler under each jaw", "between jaw and bed", "none enters", ""))
    return Grid(
        "Indicate",
        ("What", "How", "Should read", "Reads"),
        tuple(rows),
        (4.2, 3.6, 2.6, 1.8),
        (2,),
        fill_in=(3,),
    )


def _wall(record: Record) -> tuple[Contact, Contact] | None:
    """The farthest two locating contacts on a wall of the fixed jaw that is square to the closing."""
    assert record.hold is not None
    square = [c for c in record.hold.contacts if c.on == "fixed" and c.locates and abs(c.normal[1]) > 0.9999]
    level = [c for c in square if abs(c.point[1] - square[0].point[1]) < 1e-3]
    if len(level) < 2:
        return None
    return min(level, key=lambda c: c.point[0]), max(level, key=lambda c: c.point[0])


def _otherwise(record: Record, r: Reader) -> tuple[str, ...]:
    e, reuse = expected(record), record.reuse
    assert reuse is not None
    return (
        f"Tooling hole off by up to {r.place(e.most)}: it is the usual return. Move the work offset by what "
        f"was found, and keep it: jawright rack seat {reuse.pair} --x ... --y ...",
        f"Off by more than {r.place(e.most)}, or a feeler enters: take the jaws off, stone and wipe, and "
        "seat them again.",
        f"Hole to wall changed by more than {r.place(WEAR)}: the wall is worn. Skim it or cut it anew; check "
        "the pair in as skim.",
    )


def pdf(record: Record) -> bytes:
    """The sheet as PDF; same record, same bytes."""
    return _set(record, "pdf")[0]


def pictures(record: Record, *, ppi: float = 110.0) -> list[bytes]:
    """The sheet's pages as PNG pictures."""
    return _set(record, "png", ppi=ppi)


def html(record: Record) -> str:
    """The sheet as one HTML page that needs nothing from outside."""
    return page(blocks(record), title=_foot(record), foot=_foot(record), ready=is_ready(record))


def _foot(record: Record) -> str:
    return f"re-use of {record.reuse.pair if record.reuse else '?'} · {foot(record)}"


def _set(record: Record, kind: Literal["pdf", "png"], *, ppi: float = 110.0) -> list[bytes]:
    return typeset(
        blocks(record),
        title=_foot(record),
        ready=is_ready(record),
        inch=record.job.units == "inch",
        kind=kind,
        ppi=ppi,
    )


__all__ = ["Expected", "blocks", "checks", "expected", "html", "pdf", "pictures"]
