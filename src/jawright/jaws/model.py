"""A designed pair of soft jaws. Vise frame at the opening in which they are cut, mm."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from jawright.geometry.curve import Curve, Point
from jawright.geometry.profile import Region
from jawright.shop.model import Blank, Parallel

Purpose = Literal["locate", "grip", "clear", "stop"]

BURR_GROOVE = "burr groove along the wall"
UNDERCUT = "undercut of the floor corner"
CHIP_SLOT = "slot for chips"
LOWER_FLOOR = "lower floor"
ROOM_BELOW = "room for what reaches below the floor"
LOWER_LEVEL = (LOWER_FLOOR, ROOM_BELOW)
"""Wells that lead the pocket's walls further down."""
AFTER_WALLS = (BURR_GROOVE, UNDERCUT, *LOWER_LEVEL)
"""Wells that are cut once walls and floor are finished: before, their cutter would meet the walls' stock."""


@dataclass(frozen=True, slots=True)
class Zone:
    """A run of the part's outline with one purpose, and the wall that faces it.

    ``curves`` are the part's own curves (counter-clockwise, part seated); the wall lies
    ``allowance`` [mm] outside them: 0 where it locates or grips.
    """

    purpose: Purpose
    jaw: Literal["fixed", "floating"]
    curves: tuple[Curve, ...]
    allowance: float
    datum: str  # letter, or ""
    face: int  # part face index, -1 when several
    reason: str


@dataclass(frozen=True, slots=True)
class Relief:
    """A corner relief: a circle [mm] cut through the wall at a corner of the part."""

    center: Point
    radius: float
    corner: Point
    part_radius: float  # radius of the part's corner [mm], 0 sharp
    stand_off_without: float  # what the pinch would cost without it [mm]


@dataclass(frozen=True, slots=True)
class Well:
    """Metal taken out below or beside the pocket: ``region`` from ``bottom`` up to ``top`` [mm]."""

    region: Region
    bottom: float
    top: float
    purpose: str  # "clearance under pivot bore", "burr groove", "finger notch"
    width: float = 0.0  # of a groove [mm], else 0
    corner: float = 0.0  # radius its cutter may leave at the bottom [mm]


@dataclass(frozen=True, slots=True)
class Left:
    """Metal left standing in the pocket, where the part never is and a wrong way round would be.

    ``at`` is the middle and ``radius`` the radius [mm] of the round that fits in it; ``region`` is the plan
    of what is not cut, from there to the pocket's wall and the jaw's face.
    """

    at: Point
    radius: float
    region: Region


@dataclass(frozen=True, slots=True)
class ToolingHole:
    """Drilled then bored in the fixed jaw: where the work offset is picked up again."""

    center: Point
    diameter: float
    drill: float  # drilled first [mm]
    depth: float
    top: float


@dataclass(frozen=True, slots=True)
class SpacerStack:
    """The parallels clamped between the jaws while they are cut, and what they stand on."""

    spacers: tuple[Parallel, ...]  # clamped: thickness across the gap
    risers: tuple[Parallel, ...]  # under them, loose
    width: float  # across Y: the gap [mm]
    low: float  # Z of the lower edge of the clamped faces [mm]
    high: float  # Z of their upper edge [mm]
    x_runs: tuple[tuple[float, float], ...]  # X ranges they cover [mm]
    height: float  # effective height of the force [mm]
    cutter_gap: float  # least distance from cutter to spacer [mm]
    reason: str

    @property
    def to_make(self) -> bool:
        """Whether its spacers are made for it, as no parallel of the shop is thin enough."""
        return any(p.to_make for p in self.spacers)


@dataclass(frozen=True, slots=True)
class Jaw:
    """One jaw: the blank where it stands when the pair is cut."""

    side: Literal["fixed", "floating"]
    blank: Blank
    x0: float
    x1: float
    y0: float
    y1: float
    height: float
    bolts: tuple[Point, ...]  # (x, z) of the bolt axes [mm]
    flipped: bool = False


@dataclass(frozen=True, slots=True)
class Jaws:
    """The designed pair.

    ``pocket`` is the region cut into both jaws (and the air between them) from ``top``
    down to ``floor``. It can be cut with a cutter of radius ``cutter_radius`` exactly:
    no inside corner is tighter.
    """

    fixed: Jaw
    floating: Jaw
    gap: float
    pocket: Region
    floor: float
    top: float
    cutter: str  # id of the cutter that finishes walls and floor
    cutter_radius: float
    zones: tuple[Zone, ...]
    reliefs: tuple[Relief, ...]
    wells: tuple[Well, ...]
    tooling_hole: ToolingHole | None
    stack: SpacerStack
    edge_break: float  # chamfer on the pocket's upper edge [mm], 0 none
    text: tuple[str, str]  # identification on the fixed and on the floating jaw
    text_at: tuple[Point, Point]  # lower left corner [mm]
    text_height: float
    metal_behind: float  # least metal between pocket and back or bolts [mm]
    metal_behind_where: str
    notes: tuple[str, ...] = ()
    zones_beside: tuple[Zone, ...] = ()  # walls of the further parts in the same jaws
    left: Left | None = None  # a corner left standing against a wrong way round


@dataclass(frozen=True, slots=True)
class Bar:
    """A blank as it is made from bar: on two parallels in hard jaws, its front face up.

    Vise frame, X = 0 in the middle: the blank's bottom edge is on the fixed jaw, so that it lies at Y in
    [-height, 0]; its back face is at ``back``.
    """

    blank: Blank
    stock: float  # thickness of the bar, at least the blank's [mm]
    parallel: Parallel
    jaw_top: float  # of the hard jaws, above the bed [mm]

    @property
    def back(self) -> float:
        """Z of the back face [mm]."""
        return self.parallel.height

    @property
    def front(self) -> float:
        """Z of the finished front face [mm]."""
        return self.back + self.blank.thickness

    @property
    def top(self) -> float:
        """Z of the bar's upper face [mm]."""
        return self.back + self.stock

    @property
    def floor(self) -> float:
        """Z of the counterbores' floors [mm]."""
        return self.front - self.blank.counterbore_depth

    @property
    def box(self) -> tuple[float, float, float, float]:
        """Plan (x0, y0, x1, y1) [mm]."""
        return (-self.blank.length / 2, -self.blank.height, self.blank.length / 2, 0.0)

    @property
    def bolts(self) -> tuple[Point, ...]:
        """(x, y) of the bolt axes [mm]."""
        half = self.blank.bolt_spacing / 2
        return ((-half, -self.blank.bolt_height), (half, -self.blank.bolt_height))
