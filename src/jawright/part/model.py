"""The part as read: one solid, its faces and holes, its print. Part frame, mm."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Literal

from jawright.files.findings import Finding
from jawright.geometry.frame import Vec3
from jawright.geometry.profile import Region

FaceKind = Literal["plane", "cylinder", "cone", "sphere", "torus", "other"]


@dataclass(frozen=True, slots=True)
class Face:
    """One face of the solid.

    ``normal`` is the outward normal at ``center`` (a point on the face); for a plane it
    holds everywhere. ``axis`` and ``radius`` are set for cylinders and cones (radius at
    ``center``). ``hollow`` is true where the material lies outside the curve (a bore).
    """

    index: int
    kind: FaceKind
    area: float  # [mm²]
    center: Vec3
    normal: Vec3
    box: tuple[float, float, float, float, float, float]  # x0 y0 z0 x1 y1 z1 [mm]
    axis: Vec3 | None = None
    axis_point: Vec3 | None = None
    radius: float | None = None
    hollow: bool = False
    step_id: int | None = None  # entity number of the face in the exchange file, when known


@dataclass(frozen=True, slots=True)
class Hole:
    """A round hole: ``axis`` points out of the part at ``mouth``; ``depth`` from there [mm]."""

    faces: tuple[int, ...]
    axis: Vec3
    mouth: Vec3
    diameter: float
    depth: float
    through: bool


@dataclass(frozen=True, slots=True)
class Projection:
    """A zone that stands out of the part: from ``offset`` beyond the end of the feature over ``length`` [mm].

    ``faces`` are face indices of where it begins; empty when the file names none. ``length`` is nan
    when the file does not say it in a way that can be read.
    """

    length: float
    offset: float = 0.0
    faces: tuple[int, ...] = ()


@dataclass(frozen=True, slots=True)
class Tolerance:
    """One tolerance as the print says it.

    ``kind`` is a word of ISO 1101 ("position", "profile of a surface", "flatness",
    "parallelism", "perpendicularity", ...). ``zone`` is the size of the zone [mm];
    ``diametral`` whether it is a diameter; ``datums`` in order; ``material`` is "maximum",
    "least" or "". ``faces`` are face indices of the feature it governs.
    """

    kind: str
    zone: float
    datums: tuple[str, ...]
    faces: tuple[int, ...]
    diametral: bool = False
    material: Literal["", "maximum", "least"] = ""
    source: str = ""  # "file #146", "job"
    modifiers: tuple[str, ...] = ()  # what else it says, in words: "statistical tolerance"
    boundary: tuple[str, ...] = ()  # letters of datums taken at their maximum material boundary
    projection: Projection | None = None
    middle: float = 0.0  # how far the middle of an unequal zone lies out of the metal [mm], nan when unread


@dataclass(frozen=True, slots=True)
class Dimension:
    """A dimension with limits as the print says them.

    ``kind`` is the file's own word: "diameter", "radius", "linear distance", "angle".
    ``lower`` and ``upper`` are deviations from ``nominal``, signed: a hole 10 +0.05/+0.02 has
    0.02 and 0.05. ``unit`` is "mm", or "rad" for an angle. ``faces`` are face indices of what it measures.
    """

    kind: str
    nominal: float
    lower: float
    upper: float
    faces: tuple[int, ...]
    source: str = ""
    unit: str = "mm"
    words: tuple[str, ...] = ()  # what else the print says of it: "statistical"


@dataclass(frozen=True, slots=True)
class Datum:
    """A datum letter and the face indices it sits on."""

    letter: str
    faces: tuple[int, ...]
    source: str = ""


@dataclass(frozen=True, slots=True)
class Part:
    """A part as read from its file.

    ``shape`` is the kernel's own serialization of the solid (bytes), opened only by
    ``jawright.kernel``. ``outline`` is set for plates made from a drawing.
    """

    name: str
    file: str  # base name only
    sha256: str
    format: Literal["step", "dxf"]
    unit: str  # length unit(s) written in the file, in words: "mm", "inch", "m"
    shape: bytes = field(repr=False)
    faces: tuple[Face, ...]
    holes: tuple[Hole, ...]
    box: tuple[float, float, float, float, float, float]
    volume: float  # [mm³] as read by the kernel
    area: float  # [mm²]
    file_volume: float | None  # the file's own validation property [mm³], None when absent
    file_area: float | None
    datums: tuple[Datum, ...] = ()
    tolerances: tuple[Tolerance, ...] = ()
    tolerances_in_file: int = 0  # counted in the text, read or not
    findings: tuple[Finding, ...] = ()
    outline: Region | None = None
    dimensions: tuple[Dimension, ...] = ()  # those with limits

    @property
    def size(self) -> Vec3:
        """Length of the box along X, Y, Z [mm]."""
        b = self.box
        return (b[3] - b[0], b[4] - b[1], b[5] - b[2])


BandKind = Literal["prismatic", "stepped", "drafted", "free-form"]


@dataclass(frozen=True, slots=True)
class Band:
    """The grip band in a face-up frame: outline the jaws meet between two heights.

    Coordinates are those of ``standing(up, turn=0, shift=0)``: XY in the plan, Z up.
    ``outline`` is the outermost profile(s) of the band; several when the part stands on
    separate feet. ``bottom`` is the profile of the part at its very lowest plane (what
    the floor can carry), empty when the part touches the floor in points or lines only.
    """

    z_low: float
    z_high: float
    kind: BandKind
    outline: tuple[Region, ...]
    bottom: tuple[Region, ...]
    fit_bound: float  # largest distance between a fitted arc and the true curve [mm], 0 when exact
    draft: float = 0.0  # largest wall angle from the closing plane's normal [rad], 0 when upright
    sources: tuple[
        tuple[int, ...], ...
    ] = ()  # per outline region, per curve of the outer profile: face index or -1


@dataclass(frozen=True, slots=True)
class Drilled:
    """Round holes that follow one another on one axis, the one at the mouth first.

    ``sink`` is the largest diameter [mm] of a cone at the mouth, 0 when there is none;
    ``sink_angle`` its whole angle [rad].
    """

    holes: tuple[Hole, ...]
    sink: float = 0.0
    sink_angle: float = 0.0

    @property
    def faces(self) -> tuple[int, ...]:
        """Faces of all its holes."""
        return tuple(sorted({i for h in self.holes for i in h.faces}))

    @property
    def through(self) -> bool:
        """Whether the last one comes out on the far side."""
        return self.holes[-1].through


@dataclass(frozen=True, slots=True)
class Recess:
    """A pocket, slot or step: its level floor and the walls that rise from it along ``opens``.

    ``depth`` is up to the lowest rim, ``length`` and ``width`` are those of the smallest rectangle
    round the floor, the fillets at its edge included [mm]. ``corner`` is the smallest radius between
    walls, 0 for a sharp one, None when no two walls meet in an inner corner; ``root`` that between
    floor and walls. A through one has no floor. A ``closed`` one has walls all round.
    """

    kind: Literal["pocket", "slot", "step"]
    opens: Vec3
    floor: tuple[int, ...]
    walls: tuple[int, ...]
    center: Vec3  # middle of the rectangle, on the floor or at the far end
    depth: float
    length: float
    width: float
    corner: float | None
    root: float
    through: bool
    closed: bool

    @property
    def faces(self) -> tuple[int, ...]:
        """Its floor and its walls."""
        return (*self.floor, *self.walls)


@dataclass(frozen=True, slots=True)
class EdgeBreak:
    """A chamfer or round between two faces: ``size`` is its smaller leg or its radius [mm].

    ``legs`` are how far it cuts into the first and the second face, measured square to the edge.
    """

    kind: Literal["chamfer", "round"]
    face: int
    between: tuple[int, int]
    size: float
    legs: tuple[float, float]


@dataclass(frozen=True, slots=True)
class Features:
    """Everything that was recognized, each in the order of its first face."""

    drilled: tuple[Drilled, ...]
    recesses: tuple[Recess, ...]
    breaks: tuple[EdgeBreak, ...]


@dataclass(frozen=True, slots=True)
class OutlineCorner:
    """A corner of an outline in the plan: where it is, its radius, and the angle between its walls [rad].

    ``radius`` is 0 for a sharp one; where arcs of several radii make the corner, the smallest.
    ``angle`` is measured in the material: less than pi for a convex corner. ``curve`` is the number
    of the curve it is, or of the one that ends there.
    """

    kind: Literal["convex", "concave"]
    at: tuple[float, float]
    radius: float
    angle: float
    curve: int


@dataclass(frozen=True, slots=True)
class SeatEdge:
    """One edge of the underside and the wall above it: ``size`` is what is broken off there [mm].

    ``size`` is 0 for a sharp edge; the smaller leg of a chamfer, the radius of a round. ``wall``
    is the face above the break.
    """

    wall: int
    kind: Literal["sharp", "chamfer", "round", "undercut"]
    size: float
    length: float  # of the edge [mm]
