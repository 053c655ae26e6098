"""The job: one part, one operation, one quantity. mm, N, rad inside."""

from __future__ import annotations

from dataclasses import dataclass, field
from pathlib import Path
from typing import Literal

from jawright.geometry.frame import Vec3
from jawright.units import System

USUAL_OPERATION = "second operation"
"""What a job is called whose operation is not named."""


@dataclass(frozen=True, slots=True)
class Given:
    """A value with its basis: ``job``, ``shop``, or ``default`` with the reason it stands there.

    ``shape`` is how it varies, "" as it usually does; ``values`` are measured deviations.
    """

    value: float
    basis: str
    shape: Literal["", "normal", "uniform", "measured"] = ""
    values: tuple[float, ...] = ()


@dataclass(frozen=True, slots=True)
class Pick:
    """A face or hole of the part named by a point on it (part frame [mm])."""

    at: Vec3
    key: str  # where in the job file, for messages: "datum A"
    units: System = field(default="mm", compare=False)  # of plain numbers in that file, for messages


@dataclass(frozen=True, slots=True)
class DatumPick:
    """A datum letter and the point at which its surface is picked [mm]."""

    letter: str
    pick: Pick
    size: float | None = None  # whole width of its size tolerance [mm], limits alike either way
    opposite: Pick | None = None  # on the wall across, when the datum is the middle of a width


FeatureKind = Literal["face", "drill", "bore", "ream", "profile", "pocket", "slot", "chamfer"]


@dataclass(frozen=True, slots=True)
class Feature:
    """One thing this operation makes.

    ``pick`` names the finished face or hole in the model; for ``face`` it may be None: the
    whole top. ``depth`` is how much is taken below the surface as it comes in [mm];
    ``cutter`` names a cutter of the shop or is empty: chosen by the tool. ``feed_per_tooth``,
    ``radial`` and ``axial`` engagement [mm] are None when left to the defaults.
    """

    name: str
    kind: FeatureKind
    pick: Pick | None
    depth: float | None = None
    diameter: float | None = None
    through: bool | None = None
    cutter: str = ""
    feed_per_tooth: float | None = None
    radial: float | None = None
    axial: float | None = None
    pilot: float | None = None  # diameter of the hole already there before this cutter [mm]
    decimals: int | None = None  # with which its dimensions are printed, for a plain ± by decimals


@dataclass(frozen=True, slots=True)
class ToleranceAsk:
    """A tolerance of the print: ``kind`` as in ISO 1101, or "distance" or "size" for a plain ±.

    ``zone`` is the whole width: ± 0.1 has 0.2. ``middle`` is how far the middle of unequal limits lies
    over the nominal: a hole +0.05/+0.02 has 0.035; of a profile zone how far it lies out of the metal.
    A ``projected`` zone stands out of the part that far, beginning ``beyond`` an end of the feature.
    ``basis`` says where it comes from, "" when typed; ``unread`` why it cannot be judged. ``composite``: the
    lower line of a composite frame, whose datums turn and tilt its pattern and do not place it.
    """

    feature: str  # name of a Feature
    kind: str
    zone: float
    datums: tuple[str, ...]
    diametral: bool
    material: Literal["", "maximum", "least"] = ""
    middle: float = 0.0  # [mm]
    basis: str = ""
    along: str = ""  # a zone of one direction only: letter of the datum it is measured square to
    boundary: tuple[str, ...] = ()  # letters of datums taken at their maximum material boundary
    projected: float = 0.0  # [mm]
    beyond: float = 0.0  # [mm]
    from_end: Literal["top", "bottom", "either"] = "top"  # as the part stands in this operation
    unread: str = ""
    composite: bool = False

    @property
    def limits(self) -> tuple[float, float]:
        """Lower and upper deviation from the nominal of a plain ± [mm]."""
        return self.middle - 0.5 * self.zone, self.middle + 0.5 * self.zone


@dataclass(frozen=True, slots=True)
class GeneralTolerances:
    """What the print's title block says of dimensions without a tolerance of their own.

    ``grade`` is a class of ISO 2768-1, or "" when ``decimals`` says the ± [mm] by how many
    decimals a dimension is printed with.
    """

    grade: Literal["", "f", "m", "c", "v"] = ""
    decimals: tuple[tuple[int, float], ...] = ()


@dataclass(frozen=True, slots=True)
class Incoming:
    """The part as it comes from the first side."""

    profile: Given  # width of the perimeter's profile zone [mm], shared equally inside and out
    wall_form: Given  # independent deviation of each wall, ± [mm]
    edge_break: Given  # chamfer or radius at the lower edge [mm], smallest
    stock_on_top: Given  # metal above the finished up face [mm]
    squareness: Given = Given(0.0, "not given")  # lean of each wall over the part's height, ± [mm]
    thickness: Given = Given(0.0, "not given")  # floor to a datum that lies and is not on it, ± [mm]
    edge_break_most: Given = Given(0.0, "not given")  # largest chamfer or radius at the lower edge [mm]
    model: Path | None = None  # the part as it comes from the first side, in the frame of the finished one

    @property
    def growth(self) -> float:
        """How far a wall of the largest part lies outside the nominal one [mm]."""
        return self.profile.value / 2 + self.wall_form.value


@dataclass(frozen=True, slots=True)
class HoldAsk:
    """What the user pins about the hold; None or "" leaves it to the search."""

    kind: Literal["", "hard jaws", "soft jaws"] = ""
    turn: float | None = None  # [rad]
    shift: float | None = None  # [mm]
    vise: str = ""
    blank: str = ""
    grip_depth: float | None = None  # [mm]
    torque: float | None = None  # [N·m]
    stop: Literal["", "-X", "+X"] = ""
    spacer_height: float | None = None  # middle of the spacers above the bed while the jaws are cut [mm]
    spacers: tuple[str, ...] = ()  # ids of the parallels the stack is made of, risers included
    fixed_jaw_datum: str = ""  # letter of the datum that lies on the fixed jaw
    jaw_cutter: str = ""  # id of the cutter that finishes the pocket
    jaw_material: str = ""  # name in the handbook
    wrong_way: Literal["", "leave a corner"] = ""  # what the jaws themselves do against a wrong way round
    floor: Literal["", "one level", "two levels"] = ""  # where the underside has several levels
    parts: int = 1  # held side by side in one pair of jaws
    mirrored: bool = False  # every second of them is the mirror image
    spacing: float | None = None  # free length between neighbors [mm]


@dataclass(frozen=True, slots=True)
class Job:
    """Everything the user asks about one operation."""

    name: str
    part_number: str
    revision: str
    operation: str
    quantity: int
    units: Literal["mm", "inch"]  # what papers and NC are written in
    part_file: Path
    part_unit: str  # "" or "mm"/"inch"/"m": answers a drawing that does not say
    thickness: float | None  # plates from a drawing [mm]
    body: int | None  # which solid, 1-based
    material: str  # name in the handbook
    up: Vec3 | None  # direction in the part frame that ends up on top; None: search
    datums: tuple[DatumPick, ...]
    features: tuple[Feature, ...]
    features_assumed: bool  # true when the user named no feature and the default operation stands in
    tolerances: tuple[ToleranceAsk, ...]
    incoming: Incoming
    hold: HoldAsk
    marks_allowed: bool = True
    notes: tuple[str, ...] = ()
    source: str = "job"  # base name of the job file
    sha256: str = ""
    reachable: bool = False  # besides ``features``, everything that is reached from above is made here
    general: GeneralTolerances | None = None
    projection: Literal["third angle", "first angle"] = "third angle"  # of the jaw drawings
