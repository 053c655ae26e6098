"""A stance, what touches the part in it, and the whole hold the proofs look at. Vise frame, mm."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from jawright.geometry.frame import Move, Vec3
from jawright.geometry.profile import Region
from jawright.job.model import FeatureKind, ToleranceAsk
from jawright.shop.model import Cutter, Parallel, Vise

HoldKind = Literal["hard jaws", "soft jaws"]


@dataclass(frozen=True, slots=True)
class Stance:
    """How the part stands in the vise: which direction is up, its turn about Z, its shift along X."""

    up: Vec3
    turn: float  # [rad]
    shift: float  # [mm]
    move: Move  # part to vise, part seated at nominal, floor height included
    reason: str  # why this stance was tried: "edge of 42.0 mm on the fixed jaw", "sweep"


Where = Literal["fixed", "floating", "stop", "floor"]
DatumKind = Literal["plane", "bore", "round", "width", "other"]
Seat = Literal["floor", "fixed", "stop", "floating", "free"]


@dataclass(frozen=True, slots=True)
class Contact:
    """A place where the part may touch what holds it, at nominal.

    ``normal`` is the unit direction in which the touched body pushes the part (into the
    part). ``gap`` is the nominal gap [mm], positive air. ``share`` is the length of wall
    [mm] (or floor area [mm²]) the contact stands for. ``face`` is the part face touched,
    -1 when it is not one face. ``growth`` is how far the part's surface here moves
    outward per mm of perimeter growth (1 for walls, 0 for the floor). ``lean`` is the angle [rad] between
    the part's wall and the jaw's, above 0 where the part is wider at the top; such a wall touches on the
    line through ``point`` only.
    """

    name: str
    on: Where
    point: Vec3
    normal: Vec3
    gap: float
    share: float
    face: int
    locates: bool  # it is meant to locate; the others only push or carry
    radius_part: float = 0.0  # convex +, concave -, 0 flat, in plan [mm]
    radius_jaw: float = 0.0  # same sense as the part's for a conforming wall
    growth: float = 1.0
    lean: float = 0.0


@dataclass(frozen=True, slots=True)
class MadeFeature:
    """A feature this operation makes, resolved against the part. Vise frame, part seated at nominal.

    ``center`` is the middle of its mouth, ``axis`` the direction the cutter comes from
    (always +Z on a three-axis mill). ``bottom`` is the Z of its lowest point. ``path`` are
    points [mm] along the cut where the load is tried. ``region`` is the plan of a milled
    face, pocket or slot; None for holes. ``faces`` are part face indices made by it. ``window`` is
    the outline by which a pocket or slot right through the part comes out below, None when it is blind
    or that outline is not known.
    """

    name: str
    kind: FeatureKind
    center: Vec3
    axis: Vec3
    diameter: float | None
    bottom: float
    through: bool
    faces: tuple[int, ...]
    cutter: Cutter
    spindle: float  # [rev/min]
    feed_per_tooth: float  # [mm]
    radial: float  # radial engagement [mm]; for holes the metal taken per side
    axial: float  # axial engagement [mm]; for holes the depth
    path: tuple[Vec3, ...]
    region: Region | None
    assumed: tuple[str, ...]  # what about it was not given, in words
    window: Region | None = None
    across: float | None = None  # diameter of a whole round wall that is milled [mm]
    boss: bool = False  # its metal is inside
    wall: Region | None = None  # plan of the walls it mills all round, on which a profile is judged
    passes: int = 1  # in which its depth is cut: ``axial`` is that of one
    slowed: float = 1.0  # share of the feed first meant, where the search made it lighter


@dataclass(frozen=True, slots=True)
class DatumUse:
    """A datum of the print and what it rests on in this hold. Vise frame.

    ``point`` is on the datum surface, ``normal`` its outward unit normal there. ``kind`` is
    "plane", "bore" or "round" (an outside cylinder; axis along ``normal``) or "width" (the middle
    plane of the two walls in ``faces``, ``normal`` that of the first). ``seat`` says what carries it: the
    floor, the fixed jaw, the stop, the floating jaw, or nothing ("free").
    """

    letter: str
    kind: DatumKind
    faces: tuple[int, ...]
    point: Vec3
    normal: Vec3
    seat: Seat
    words: str  # "plane, 42.0 × 12.5 mm, faces -Y"
    size: float | None = None  # whole width of a bore's size tolerance [mm], where the file gives it


@dataclass(frozen=True, slots=True)
class SideStop:
    """A stop outside the pocket that ends the part's way along X. ``at`` is where it touches."""

    id: str  # of the shop's list, "" when one has to be got
    at: Vec3
    side: Literal["-X", "+X"]  # end of the part it touches
    where: Literal["above the jaws", "between the jaws"]
    reach: float  # from the jaw's end inward to the touch [mm], 0 when the part's end stands outside
    tip: float  # width and height of its tip [mm]
    away: bool = False  # swung away once the part is clamped, since what it touches is milled


@dataclass(frozen=True, slots=True)
class Below:
    """What of the part reaches below the floor it stands on: its plan and how deep [mm].

    ``soles`` are its level faces that stand on a second, lower floor, ``faces`` their numbers; without any it
    hangs clear.
    """

    region: Region
    depth: float
    soles: tuple[Region, ...] = ()
    faces: tuple[int, ...] = ()


@dataclass(frozen=True, slots=True)
class Hold:
    """One way to hold the part, complete enough to be proven.

    ``outline`` is the grip band's region in the vise frame, part seated at nominal, jaws
    closed. The part rests at ``floor``, only ``below`` reaches deeper; the jaws reach up to ``jaw_top``;
    the finished part reaches ``part_top``, with ``stock`` more as it comes in.
    """

    kind: HoldKind
    stance: Stance
    vise: Vise
    outline: Region
    face_of_curve: tuple[int, ...]  # per curve of outline.outer: part face index or -1
    contacts: tuple[Contact, ...]
    floor: float
    jaw_top: float
    grip_depth: float
    part_top: float
    stock: float
    part_mass: float  # [kg]
    gap: float  # between the jaws' front faces with the part clamped [mm]
    parallels: tuple[Parallel, ...] = ()  # hard jaws: what the part stands on
    features: tuple[MadeFeature, ...] = ()
    datums: tuple[DatumUse, ...] = ()
    tolerances: tuple[ToleranceAsk, ...] = ()  # typed in the job or read from the file, by feature name
    stop: Vec3 | None = None  # where a side stop touches, None when the pocket or nothing stops it
    notes: tuple[str, ...] = ()
    beside: tuple[Region, ...] = ()  # outlines of the further parts in the same jaws
    reused: bool = False  # the pair was cut before and is put back: it sits a little elsewhere
    side_stop: SideStop | None = None  # a stop outside the pocket, when nothing in the jaws stops the part
    no_stop: str = ""  # why there is none of these either, where one was looked for
    grip_reason: str = ""  # why the grip is as deep as it is
    torque: float | None = None  # [N·m] the search set it to; None: the middle of its window
    torque_why: str = ""  # why not the middle
    feet: tuple[Region, ...] = ()  # what stands within the grip, where that is several pieces: ``outline`` is
    # then the line round them all
    bridges: tuple[int, ...] = ()  # curves of outline.outer that are no wall: they join feet or lean too much
    below: tuple[Below, ...] = ()  # what reaches below the floor, in pockets of its own
    level_reason: str = ""  # why it stands on this level and not on its lowest
