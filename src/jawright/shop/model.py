"""What the shop owns. mm, N, N·m, rad inside; each default carries its basis."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal


@dataclass(frozen=True, slots=True)
class Band3:
    """A number known as low / set / high with its basis.

    ``shape`` is how what it stands for varies, "" as it usually does; ``values`` are measured deviations.
    """

    low: float
    set: float
    high: float
    basis: str
    shape: Literal["", "normal", "uniform", "measured"] = ""
    values: tuple[float, ...] = ()


@dataclass(frozen=True, slots=True)
class Vise:
    """A milling vise. Heights are above its bed (Z = 0 of the vise frame)."""

    id: str
    jaw_width: float  # along X [mm]
    opening: float  # largest opening between the vise's own jaw faces, without jaws mounted [mm]
    hard_jaw_height: float  # top of its hard jaws [mm]
    body_height: float  # top of the metal that backs a soft jaw: above it the jaw stands free [mm]
    bolt_spacing: float  # between the two jaw bolts [mm]
    bolt_height: float  # bolt axis above the bed [mm]
    bolt: str  # thread, "M12"
    screw_lead: float  # [mm]
    screw_mean_diameter: float  # [mm]
    collar_mean_diameter: (
        float  # thrust collar or bearing friction diameter [mm]; 0: rolling bearing, no collar friction
    )
    flank_angle: float  # half flank angle of the thread [rad]
    screw_friction: Band3
    torque_table: tuple[tuple[float, float], ...]  # measured (N·m, N) pairs, empty when not measured
    torque_max: float  # [N·m]
    tilt_stiffness: Band3  # jaw mount rotation about X, moment per angle [N·mm/rad], one jaw
    push_stiffness: Band3  # jaw mount translation in Y [N/mm], one jaw
    lift: Band3  # rise of the floating jaw when clamped [mm]
    yaw: Band3  # yaw play of the floating jaw [rad], ±
    side_play: Band3  # side play of the floating jaw along X [mm], ±
    repeat: Band3  # repeat spread of a clamped part, one sigma [mm]
    in_line: int = 1  # so many alike vises side by side work as one with long jaws
    pitch: float = 0.0  # from the middle of one to the middle of the next [mm]
    fixed_jaw_rear: bool = True  # False: fixed jaw nearest the operator; only drawings and NC turn
    force: Band3 | None = None  # clamp force of a vise no wrench closes: hydraulic, air, pull stud [N]
    table_scatter: float = 0.0  # of the measured clamp force, ± share; 0: the usual one

    @property
    def span(self) -> float:
        """From end to end of the jaws of all vises in line [mm]."""
        return self.jaw_width + (self.in_line - 1) * self.pitch

    @property
    def middles(self) -> tuple[float, ...]:
        """X of the middle of each vise in line [mm], about the middle of all."""
        return tuple((k - (self.in_line - 1) / 2) * self.pitch for k in range(self.in_line))

    @property
    def bolt_places(self) -> tuple[float, ...]:
        """X of the bolts of one long jaw [mm]."""
        half = self.bolt_spacing / 2
        return tuple(m + s * half for m in self.middles for s in (-1.0, 1.0))


@dataclass(frozen=True, slots=True)
class Blank:
    """A jaw blank: ``length`` along X, ``thickness`` along Y, ``height`` along Z [mm]."""

    id: str
    material: str
    length: float
    thickness: float
    height: float
    bolt_spacing: float
    bolt_height: float
    slot_length: float  # of the bolt slots along X: 0 for round holes
    bolt_hole: float  # diameter or slot width [mm]
    counterbore: float  # diameter [mm], opens toward the part side
    counterbore_depth: float  # from the front face [mm]
    reversible: bool
    price: float  # each
    stock: int  # pieces
    bar_thickness: float = 0.0  # of the bar the shop makes it from [mm]; 0: bought as it is
    pair: str = ""  # of the rack, when it is the metal of a pair that exists
    faced_from: float = 0.0  # height before that pair's top is faced clean [mm]; 0: it is not faced


@dataclass(frozen=True, slots=True)
class Parallel:
    """Ground parallels: ``count`` pieces alike."""

    id: str
    height: float
    thickness: float
    length: float
    count: int
    to_make: bool = False  # not owned: two strips of flat stock, made as spacers for one pair of jaws


@dataclass(frozen=True, slots=True)
class Stop:
    """A side stop that is clamped to the vise or to the end of a jaw."""

    id: str
    low: float  # lowest and highest touch above the bed [mm]
    high: float
    reach: float  # from the jaw's end inward to the touch, at most [mm]
    tip: float  # width and height of the tip [mm]


CutterKind = Literal["end mill", "face mill", "spot drill", "drill", "boring bar", "reamer", "engraver"]


@dataclass(frozen=True, slots=True)
class Cutter:
    """A cutter in its holder. ``reach`` is from the holder's nose to the tip [mm]."""

    id: str
    number: int  # pocket in the machine
    kind: CutterKind
    diameter: float
    corner_radius: float
    flutes: int
    flute_length: float
    reach: float
    holder_diameter: float
    tip_angle: float  # drills: full point angle [rad]; 0 for flat
    helix: float  # [rad]
    center_cutting: bool
    material: Literal["carbide", "HSS"] = "carbide"
    runout: float = 0.01  # [mm]


@dataclass(frozen=True, slots=True)
class Machine:
    """Limits of the mill."""

    id: str
    travel: tuple[float, float, float]  # X, Y, Z [mm]
    spindle_max: float  # [rev/min]
    feed_max: float  # [mm/min]
    rapid: float  # [mm/min]
    power: float  # [kW]
    tool_change: float  # [s]
    repeat: float  # one sigma [mm]
    repeat_shape: Literal["", "normal", "uniform", "measured"] = ""
    repeat_values: tuple[float, ...] = ()  # measured deviations [mm]


@dataclass(frozen=True, slots=True)
class NcFormat:
    """How program text is written, in plain words."""

    units: Literal["mm", "inch"]
    decimals: int
    line_numbers: bool
    split_arcs: bool  # at quadrants
    work_offset: str  # "G54"
    start_lines: tuple[str, ...]
    end_lines: tuple[str, ...]
    machine_top: bool = True  # G53 G0 Z0 before each cutter change and at the end
    compensation: bool = False  # finish walls under G41 by a wear offset; False: as computed


@dataclass(frozen=True, slots=True)
class Rates:
    """Money and minutes."""

    currency: str
    machine_hour: float
    programmer_hour: float
    setup_minutes_hard: float
    setup_minutes_soft: float
    jaw_design_minutes: float
    load_seconds: float  # in soft jaws
    load_seconds_hard: float = 60.0
    setup_minutes_kept: float = 25.0  # a pair that was cut before: find, mount, align, indicate
    jaw_handling_minutes: float = 10.0  # of a pair that is cut: edges, wash, mark, put away


@dataclass(frozen=True, slots=True)
class Shop:
    """What the user owns."""

    name: str
    vises: tuple[Vise, ...]
    blanks: tuple[Blank, ...]
    parallels: tuple[Parallel, ...]
    cutters: tuple[Cutter, ...]
    machine: Machine
    nc: NcFormat
    rates: Rates
    friction: Band3  # part on jaw, wet
    bored_position: Band3  # one sigma of a bored hole's place [mm]
    drilled_position: Band3  # one sigma of a drilled hole's place [mm]
    offset_pickup: Band3  # one sigma of the work offset pick-up [mm]
    jaw_cut: Band3  # one sigma of a cut wall [mm]
    temperature_swing: Band3  # part against jaws, ± [K]
    source: str = "shop"
    sha256: str = ""
    defaults_used: tuple[str, ...] = ()  # "vise V1 tilt_stiffness: ... (common practice, no source)"
    jaw_reseat: Band3 = Band3(0.0, 0.0, 0.0, "not given")  # one sigma of a used pair put back, per bolt [mm]
    edge_pickup: Band3 | None = None  # one sigma of an offset picked up at an edge [mm]; None: offset_pickup
    bore_pickup: Band3 | None = None  # the same in a bored tooling hole [mm]
    jaw_temperature: Band3 = Band3(0.0, 0.0, 0.0, "not given")  # jaws against when they were cut, ± [K]
    machine_temperature: Band3 = Band3(
        0.0, 0.0, 0.0, "not given"
    )  # machine against when the offset was set, ± [K]
    stops: tuple[Stop, ...] = ()
