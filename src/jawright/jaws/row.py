"""Several parts side by side in one pair of jaws: where each stands, and what is copied to it.

Lengths in mm, angles in rad.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

from jawright.geometry.curve import Arc, Curve, Line, Point
from jawright.geometry.curve import move as move_curve
from jawright.geometry.profile import Profile, Region
from jawright.hold.features import choose_cutter
from jawright.hold.model import Hold
from jawright.hold.narrow import FREE, Narrow
from jawright.hold.outline import Wall
from jawright.hold.resolve import Ask
from jawright.job.model import Job
from jawright.shop.model import Shop

FINGERS = 12.0  # [mm] between neighbors, for fingers and a brush (common practice, no source)
CUTTER_ROOM = 1.0  # [mm] a cutter that runs between neighbors has this much on both sides (same)
USUAL_MILL = 20.0  # [mm] cutter that room is left for where profiles are milled, or a larger one (same)
WEB_BETWEEN = 4.0  # [mm] metal between the pockets of neighbors (common practice, no source)


@dataclass(frozen=True, slots=True)
class Spot:
    """One place in the row: shifted by ``along`` [mm] from the part the hold describes.

    A mirrored one is first turned over about the line x = ``about`` [mm].
    """

    along: float
    mirrored: bool = False
    about: float = 0.0

    def point(self, p: Point) -> Point:
        """Where a point of the first part is on this one [mm]."""
        x = 2 * self.about - p[0] if self.mirrored else p[0]
        return (x + self.along, p[1])

    def curve(self, c: Curve) -> Curve:
        """The curve at this place; mirrored curves run backward, so that outlines stay counter-clockwise."""
        if not self.mirrored:
            return move_curve(c, shift=(self.along, 0.0))
        a, b = self.point(c.end), self.point(c.start)
        if isinstance(c, Line):
            return Line(a, b)
        return Arc(a, b, self.point(c.center), c.ccw)

    def profile(self, p: Profile) -> Profile:
        """An outline of the first part at this place, run the same way round."""
        curves = [self.curve(c) for c in p.curves]
        return Profile(tuple(reversed(curves) if self.mirrored else curves))

    def region(self, r: Region) -> Region:
        """A region of the first part at this place."""
        return Region(self.profile(r.outer), tuple(self.profile(h) for h in r.holes))

    def wall(self, w: Wall) -> Wall:
        """A wall of the first part at this place."""
        return replace(w, curve=self.curve(w.curve))

    def moved(self, shift: Point) -> Spot:
        """The same place after the part the hold describes was shifted by ``shift`` [mm]."""
        return replace(self, about=self.about + shift[0])


@dataclass(frozen=True, slots=True)
class Row:
    """The further parts beside the one the hold describes, and the free length between neighbors [mm]."""

    beside: tuple[Spot, ...] = ()
    spacing: float = 0.0
    why: str = ""

    @property
    def count(self) -> int:
        """How many parts there are."""
        return len(self.beside) + 1

    @property
    def ends(self) -> tuple[float, float]:
        """How far the row reaches to both sides of the described part's own place [mm]."""
        at = [0.0, *(s.along for s in self.beside)]
        return min(at), max(at)

    def moved(self, shift: Point) -> Row:
        """The row shifted as a whole [mm]."""
        return replace(self, beside=tuple(s.moved(shift) for s in self.beside))


ALONE = Row()


def spots_of(hold: Hold) -> tuple[Spot, ...]:
    """Where the further parts of a hold stand, from their outlines: ``Hold.beside`` keeps no more."""
    own = hold.outline.outer
    x0, _, x1, _ = own.box
    out = []
    for region in hold.beside:
        spot = Spot(region.outer.box[0] - x0)
        if not _same(spot.profile(own), region.outer):
            spot = replace(spot, mirrored=True, about=(x0 + x1) / 2)
        out.append(spot)
    return tuple(out)


def _same(a: Profile, b: Profile) -> bool:
    """Whether every curve of one outline begins and has its middle where one of the other does, in any order.

    Corners alone do not tell a hollow left end from a hollow right one.
    """
    theirs = [(c.start, c.at(0.5)) for c in b.curves]
    own = [(c.start, c.at(0.5)) for c in a.curves]
    return all(min(math.dist(p, q[k]) for q in theirs) < 1e-6 for ends in own for k, p in enumerate(ends))


def arrange(
    job: Job,
    ask: Ask,
    outline: Profile,
    *,
    cutter_diameter: float,
    allowance: float,
    shop: Shop,
    narrows: Mapping[str, Narrow],
) -> Row:
    """The row the job asks for; the part the hold describes is the one nearest the middle of the jaws.

    Neighbors stand apart far enough for fingers, for the largest cutter that mills a profile in this
    operation, and for metal between their pockets. ``cutter_diameter`` [mm] is that of the cutter that
    finishes the pockets, ``narrows`` say how wide one goes into what is milled (``hold.narrow``).
    """
    n = job.hold.parts
    if n == 1:
        return ALONE
    x0, _, x1, _ = outline.box
    free, why = _spacing(job, ask, narrows, cutter_diameter=cutter_diameter, allowance=allowance, shop=shop)
    pitch = x1 - x0 + free
    own = (n - 1) // 2
    about = (x0 + x1) / 2
    spots = tuple(
        Spot((k - own) * pitch, job.hold.mirrored and (k - own) % 2 == 1, about) for k in range(n) if k != own
    )
    return Row(spots, free, why)


def _spacing(
    job: Job,
    ask: Ask,
    narrows: Mapping[str, Narrow],
    *,
    cutter_diameter: float,
    allowance: float,
    shop: Shop,
) -> tuple[float, str]:
    if job.hold.spacing is not None:
        return job.hold.spacing, "given in the job"
    pockets = 2 * allowance + WEB_BETWEEN
    options = [
        (FINGERS, "room for fingers (common practice, no source)"),
        (pockets, f"{WEB_BETWEEN:g} mm of metal between the pockets (common practice, no source)"),
        (cutter_diameter + 2 * CUTTER_ROOM, "room for the cutter that finishes the pockets"),
    ]
    for f in (f.ask for f in ask.features if f.ask.kind == "profile"):
        mills = max(USUAL_MILL, choose_cutter(f, None, shop, within=narrows.get(f.name, FREE))[0].diameter)
        options.append((mills + 2 * CUTTER_ROOM, f"room for the cutter of {f.name}"))
    return max(options, key=lambda o: (o[0], o[1]))


def circles_over(box: tuple[float, float, float, float], room: float) -> list[tuple[float, float, float]]:
    """A row of circles (x, y, radius) over an upright box, wider than it by ``room`` [mm]."""
    x0, y0, x1, y1 = box
    wide, high = x1 - x0, y1 - y0
    n = max(1, math.ceil(max(wide, high) / min(wide, high)))
    r = min(wide, high) / 2 + room
    along = [(k + 0.5) / n for k in range(n)]
    if wide >= high:
        return [(x0 + t * wide, (y0 + y1) / 2, r) for t in along]
    return [((x0 + x1) / 2, y0 + t * high, r) for t in along]


def wells_beside(holes: Sequence[tuple[float, float, float]], row: Row) -> list[tuple[float, float, float]]:
    """Round clearances (x, y, radius) of the further parts [mm]."""
    return [(*s.point((x, y)), r) for s in row.beside for x, y, r in holes]


def trough(outlines: Sequence[Profile], gap: float, *, cutter_radius: float, low: float) -> Region:
    """The channel along the gap that joins the pockets of a row: chips leave by it.

    As wide as the finishing cutter needs. In a gap wide enough it is air; else it takes at least
    ``low`` [mm] from the face of each jaw.
    """
    x0 = min(p.box[0] for p in outlines)
    x1 = max(p.box[2] for p in outlines)
    half = cutter_radius + 0.25
    if half > gap / 2 - 0.5:
        half = max(half, gap / 2 + low)
    y = -gap / 2
    corners = ((x0, y - half), (x1, y - half), (x1, y + half), (x0, y + half))
    return Region(Profile(tuple(Line(corners[i], corners[(i + 1) % 4]) for i in range(4))))


def middle_of_row(row: Row, x: float) -> float:
    """The middle of the row when the described part's own grip is at ``x`` [mm]."""
    return math.fsum([x, *(s.point((x, 0.0))[0] for s in row.beside)]) / row.count
