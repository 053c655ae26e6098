"""Grooves in the pocket's floor: along the wall for a burr or for a sharp corner, and out for chips.

Lengths in mm, angles in rad.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

from jawright.errors import JawrightError
from jawright.geometry.boolean import difference, intersection
from jawright.geometry.curve import Point
from jawright.geometry.offset import offset, opening
from jawright.geometry.profile import Region, rectangle
from jawright.jaws.model import BURR_GROOVE, CHIP_SLOT, UNDERCUT, Well
from jawright.jaws.needs import Needs
from jawright.jaws.place import LEDGE, LEDGE_LEAST
from jawright.job.model import Job
from jawright.shop.model import Cutter

SHARP = 0.05  # [mm] a corner radius up to this is called sharp
BURR = 0.1  # [mm] an edge that is broken by less may still carry a burr (common practice, no source)
DEPTH = 1.0  # [mm] below the floor (0.03 to 0.06 in; common practice, no source)
WIDEST = 4.0  # [mm] largest cutter for a burr groove: the part needs floor too (common practice, no source)
WIDEST_UNDER = 8.0  # [mm] largest cutter that undercuts the corner (common practice, no source)
OVER = 0.3  # [mm] a groove is this much wider than its cutter, so that the cutter can go round in it
OFF = 0.1  # [mm] a burr groove stays this far off the finished wall, so that its cutter does not rub there
REACH_PAST = 0.5  # [mm] flutes longer than wall and groove together by this (common practice, no source)
BELOW_CORNER = 0.2  # [mm] an undercut goes this much deeper than its own cutter's corner radius
LONG_FLOOR = 20.0  # [mm] floors deeper than this behind the jaw's face get a slot for chips (common practice)
SLOT_DEPTH = 1.5  # [mm] (common practice, no source)
LEAST = 4.0  # [mm²] smaller pieces of groove are not worth a move
FAR = 1e4  # [mm] beyond any jaw


@dataclass(frozen=True, slots=True)
class Groove:
    """A groove along the wall: made by ``cutter``, ``depth`` below the floor, ``off`` the wall [mm].

    ``up`` is how far above the floor the fillet of the finishing cutter is taken off with it, 0 when
    that cutter is sharp.
    """

    cutter: Cutter
    depth: float
    off: float
    up: float
    why: str

    @property
    def width(self) -> float:
        """Width of the groove [mm]."""
        return self.cutter.diameter + OVER

    @property
    def floor_lost(self) -> float:
        """Width of floor [mm] along the wall that carries nothing."""
        return self.off + self.width


def beside(needs: Needs, groove: Groove) -> Needs:
    """What the outline asks of the jaws with a groove: floor beside it in each jaw, and air under it."""
    lost = groove.floor_lost
    a, b = needs.least
    return replace(
        needs,
        fixed_depth=max(needs.fixed_depth, LEDGE + lost),
        floating_depth=max(needs.floating_depth, LEDGE + lost),
        least=(max(a, LEDGE_LEAST + lost), max(b, LEDGE_LEAST + lost)),
        groove=groove.depth,
    )


def undercutter(cutters: Sequence[Cutter], depth: float, *, widest: float) -> Cutter | None:
    """The smallest end mill that reaches the root of a pocket ``depth`` [mm] deep and a groove below it."""
    able = [
        c
        for c in cutters
        if c.kind == "end mill"
        and c.center_cutting
        and c.diameter <= widest
        and c.flute_length >= depth + _depth(c) + REACH_PAST
    ]
    return min(able, key=lambda c: (c.diameter, c.corner_radius, c.id)) if able else None


def _depth(c: Cutter) -> float:
    return max(DEPTH, c.corner_radius + BELOW_CORNER)


def known_break(job: Job) -> bool:
    """Whether the job or the part file says how the part's lower edge is broken."""
    return job.incoming.edge_break.basis.startswith(("job", "the part file"))


def along_wall(
    job: Job, cutters: Sequence[Cutter], finish: Cutter, *, depth: float
) -> tuple[Groove | None, str]:
    """The groove this job needs along the root of the pocket's walls, or None; and what to say of it.

    A sharp-cornered finishing cutter leaves a sharp root; one whose corner radius is larger than the
    part's edge break leaves a fillet that would lift the part, and the corner is undercut instead. Where
    nothing says that the lower edge is broken, the first side may have left a burr: it hangs in the groove.
    """
    edge = job.incoming.edge_break
    if finish.corner_radius > edge.value + 1e-9 and finish.corner_radius > SHARP:
        made = undercutter(cutters, depth, widest=WIDEST_UNDER)
        if made is None:
            return None, ""
        why = (
            f"the root of the walls is undercut with {made.id}: the {finish.corner_radius:g} mm corner of "
            f"{finish.id} would lift a part whose edge is broken by {edge.value:g} mm"
        )
        return Groove(made, _depth(made), 0.0, finish.corner_radius, why), why
    if known_break(job) and edge.value >= BURR:
        return None, f"no burr groove: the part's lower edge is broken by {edge.value:g} mm ({edge.basis})"
    made = undercutter(cutters, depth, widest=WIDEST)
    said = "is broken by less than 0.1 mm" if known_break(job) else "is not known to be broken"
    if made is None:
        return None, (
            f"no burr groove: no end mill of {WIDEST:g} mm or less reaches the root of the walls; the part's "
            f"lower edge {said}, so stone it before loading"
        )
    why = f"burr groove along the walls: the part's lower edge {said}, and the first side may leave a burr"
    return Groove(made, _depth(made), OFF, 0.0, why), why


def wall_wells(g: Groove, pocket: Region, floor: float, gap: float) -> tuple[Well, ...]:
    """The groove in each jaw as wells. It runs out into the gap, so that chips and coolant leave by it."""
    outer = offset(pocket, -g.off) if g.off else (pocket,)
    ring = difference(outer, [q for r in outer for q in offset(r, -g.width)])
    purpose = UNDERCUT if g.up else BURR_GROOVE
    out = []
    for side in _halves(gap, g.cutter.diameter / 2 + OVER):
        for piece in opening(intersection(ring, side), g.cutter.diameter / 2):
            if piece.area >= LEAST:
                out.append(
                    Well(piece, floor - g.depth, floor + g.up, purpose, g.width, g.cutter.corner_radius)
                )
    return tuple(out)


def _halves(gap: float, run: float) -> tuple[Region, Region]:
    """The fixed and the floating jaw with so much of the gap that a cutter runs out into it."""
    out = min(run, gap / 2)
    return Region(rectangle(-FAR, -out, FAR, FAR)), Region(rectangle(-FAR, -FAR, FAR, -gap + out))


def chip_slots(pocket: Region, finish: Cutter, floor: float, gap: float) -> tuple[Well, ...]:
    """A slot in each long floor, from the far wall into the gap: a chip in a far corner has a way out."""
    x0, y0, x1, y1 = pocket.outer.box
    r = finish.diameter / 2
    wide = finish.diameter + OVER
    out = []
    for side, depth, far in zip(_halves(gap, r + OVER), (y1, -gap - y0), (y1, y0), strict=True):
        if depth <= LONG_FLOOR:
            continue
        at = _deepest(pocket, far, (x0, x1))
        band = Region(rectangle(at[0] - wide / 2, y0 - 1.0, at[0] + wide / 2, y1 + 1.0))
        inside = [q for p in offset(pocket, -OFF) for q in intersection(p, band)]
        pieces = opening([q for p in inside for q in intersection(p, side)], r)
        if pieces and pieces[0].area >= LEAST:
            out.append(Well(pieces[0], floor - SLOT_DEPTH, floor, CHIP_SLOT, wide, finish.corner_radius))
    return tuple(out)


def _deepest(pocket: Region, far: float, x: tuple[float, float]) -> Point:
    """A place on the wall farthest from the gap, nearest the pocket's middle."""
    middle = (x[0] + x[1]) / 2
    spots = [c.at(t / 8) for c in pocket.outer.curves for t in range(9)]
    near = [p for p in spots if abs(p[1] - far) < 0.5]
    if not near:
        raise JawrightError("geometry", what="the pocket has no wall at its own edge", todo="report this")
    low, high = min(p[0] for p in near), max(p[0] for p in near)
    return (min(max(middle, low), high), far)
